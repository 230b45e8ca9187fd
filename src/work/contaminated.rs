//! Contamination follows the cylinder: what took a mixture or another gas is marked when that is kept, and nobody has to think of it.
use super::DeedError;
use crate::{
    shop::{EvidenceId, OrderId},
    store::{
        Conn, contaminated,
        evidence::{self, Entering, Kind, Piece, Version},
        record,
    },
};
use chillwright_calc::{
    JobRecord, UnitSystem,
    checks::{contamination, with_case},
};
use serde_json::{Value, json};

/// What stands in a recovery's body that spoiled its cylinder; the shop's own, and no part of the job record.
const SPOILS: &str = "_spoils";

/// Whether a kind of evidence tells what gas went where.
pub fn concerns(kind: Kind) -> bool {
    matches!(kind, Kind::Recovery | Kind::Identification | Kind::Standing)
}

/// The recoveries of a record that spoiled their cylinder.
fn spoiled(record: &JobRecord) -> Vec<String> {
    with_case(record, UnitSystem::Si, |case| contamination::traced(case).spoiled).into_iter().map(|s| s.recovery).collect()
}

/// Notes on a recovery that is about to be kept whether it spoils its cylinder, so that other orders know it with its time.
pub async fn note(conn: &mut Conn, order: OrderId, id: EvidenceId, version: &mut Version, by: Entering) -> Result<(), DeedError> {
    let mut pieces = evidence::of_order(conn, order).await?;
    pieces.retain(|p| p.id != id);
    // A mark that no form gives.
    let mark = "kept now".to_owned();
    pieces.push(as_piece(id, mark.clone(), version, by));
    version.body.remove(SPOILS);
    if spoiled(&record::of_pieces(conn, order, &pieces).await?).contains(&mark) {
        version.body.insert(SPOILS.into(), json!(true));
    }
    Ok(())
}

fn as_piece(id: EvidenceId, mark: String, version: &Version, by: Entering) -> Piece {
    Piece {
        id,
        mark,
        kind: Kind::Recovery,
        parent: None,
        seq: 1,
        body: version.body.clone(),
        at: version.at,
        approximate: version.approximate,
        instrument: version.instrument,
        cylinder: version.cylinder,
        yard: version.yard,
        person: by.person,
        entered_at: by.at,
    }
}

/// Marks the cylinders that this order spoiled: by what was inside, or by another refrigerant than the cylinder is for. Gives what the audit trail
/// tells of those that were not marked before.
pub async fn mark(conn: &mut Conn, order: OrderId) -> Result<Vec<Value>, DeedError> {
    let pieces = evidence::of_order(conn, order).await?;
    let spoiled = spoiled(&record::of_pieces(conn, order, &pieces).await?);
    let mut told = Vec::new();
    for piece in pieces.iter().filter(|p| p.kind == Kind::Recovery) {
        let Some(cylinder) = piece.cylinder else { continue };
        let other = something_went_in(piece) && is_for_another(conn, piece).await?;
        if (spoiled.contains(&piece.mark) || other)
            && let Some(written) = contaminated::mark(conn, cylinder).await?
        {
            told.push(json!({ "contaminated": written, "by": piece.mark }));
        }
    }
    Ok(told)
}

fn something_went_in(piece: &Piece) -> bool {
    piece.body.get("before") != piece.body.get("after")
}

async fn is_for_another(conn: &mut Conn, piece: &Piece) -> Result<bool, DeedError> {
    let Some(cylinder) = piece.cylinder else { return Ok(false) };
    let meant = contaminated::meant_for(conn, cylinder).await?.unwrap_or_default();
    let recovered = piece.text("refrigerant");
    Ok(!meant.is_empty() && !recovered.is_empty() && meant != recovered)
}
