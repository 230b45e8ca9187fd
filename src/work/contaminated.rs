//! Contamination follows the cylinder: what took a mixture or another gas is marked when that is kept, and nobody has to think of it.
use super::DeedError;
use crate::{
    shop::{CylinderId, EvidenceId, OrderId},
    store::{
        Conn, contaminated,
        evidence::{self, Entering, Kind, Piece, Version},
        record,
    },
};
use chillwright_calc::{
    JobRecord, UnitSystem,
    checks::{contamination, with_case},
    record::Recovery,
};
use serde_json::{Value, json};

/// Whether a kind of evidence tells what gas went where.
pub fn concerns(kind: Kind) -> bool {
    matches!(kind, Kind::Recovery | Kind::Identification | Kind::Standing)
}

/// The recoveries of a record that spoiled their cylinder.
fn spoiled(record: &JobRecord) -> Vec<String> {
    with_case(record, UnitSystem::Si, |case| {
        contamination::traced(case).spoiled
    })
    .into_iter()
    .map(|s| s.recovery)
    .collect()
}

/// Notes on a recovery that is about to be kept whether it spoils its cylinder, so that other orders know it with its time.
pub async fn note(
    conn: &mut Conn,
    order: OrderId,
    id: EvidenceId,
    version: &mut Version,
    by: Entering,
) -> Result<(), DeedError> {
    let mut pieces = evidence::of_order(conn, order).await?;
    pieces.retain(|p| p.id != id);
    // A mark that no form gives.
    let mark = "kept now".to_owned();
    pieces.push(as_piece(id, mark.clone(), version, by));
    version.own.spoils = spoiled(&record::of_pieces(conn, order, &pieces).await?).contains(&mark);
    Ok(())
}

fn as_piece(id: EvidenceId, mark: String, version: &Version, by: Entering) -> Piece {
    Piece {
        id,
        mark,
        parent: None,
        seq: 1,
        body: version.body.clone(),
        own: version.own.clone(),
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
    for (piece, recovery) in pieces
        .iter()
        .filter_map(|p| Some((p, p.get::<Recovery>()?)))
    {
        let Some(cylinder) = piece.cylinder else {
            continue;
        };
        let other = something_went_in(recovery) && is_for_another(conn, cylinder, recovery).await?;
        if (spoiled.contains(&piece.mark) || other)
            && let Some(written) = contaminated::mark(conn, cylinder).await?
        {
            told.push(json!({ "contaminated": written, "by": piece.mark }));
        }
    }
    Ok(told)
}

fn something_went_in(recovery: &Recovery) -> bool {
    recovery.before != recovery.after
}

async fn is_for_another(
    conn: &mut Conn,
    cylinder: CylinderId,
    recovery: &Recovery,
) -> Result<bool, DeedError> {
    let meant = contaminated::meant_for(conn, cylinder)
        .await?
        .unwrap_or_default();
    Ok(recovery
        .refrigerant
        .is_some_and(|r| !meant.is_empty() && meant != r.word()))
}
