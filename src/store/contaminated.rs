//! Cylinders in which there is a mixture, and what was charged out of one.
use super::{Conn, Result, evidence::Piece};
use crate::shop::{CylinderId, EvidenceId, Instant, OrderId};
use chillwright_calc::record::{Charging, Refrigerant};
use std::collections::HashSet;

/// The charges among these pieces that came out of a cylinder in which there was a mixture or another gas: what another order recovered into it before,
/// or the shop's mark on it, where nothing that was recovered into it later explains that.
pub async fn charges(
    conn: &mut Conn,
    order: OrderId,
    pieces: &[Piece],
) -> Result<HashSet<EvidenceId>> {
    let mut all = HashSet::new();
    for (piece, charging) in pieces
        .iter()
        .filter_map(|p| Some((p, p.get::<Charging>()?)))
    {
        let Some(cylinder) = piece.cylinder else {
            continue;
        };
        let at = piece.at.unwrap_or(piece.entered_at);
        let marked = sqlx::query_scalar!("SELECT purpose FROM cylinder WHERE id = ?", cylinder)
            .fetch_optional(&mut *conn)
            .await?;
        let spoiled = spoiled(
            conn,
            order,
            cylinder,
            charging.refrigerant.map_or("", Refrigerant::word),
        )
        .await?;
        let before = spoiled.iter().any(|s| *s <= at);
        let by_hand = marked.as_deref() == Some("contaminated") && spoiled.iter().all(|s| *s <= at);
        if before || by_hand {
            all.insert(piece.id);
        }
    }
    Ok(all)
}

/// When other orders recovered into this cylinder what is none of this refrigerant, or no pure one. What came out of a circuit that is converted is
/// the refrigerant that it was made for.
async fn spoiled(
    conn: &mut Conn,
    order: OrderId,
    cylinder: CylinderId,
    refrigerant: &str,
) -> Result<Vec<Instant>> {
    Ok(sqlx::query_scalar!(
        r#"SELECT r.at AS "at!: Instant" FROM evidence_version v JOIN evidence_now r ON r.id = v.evidence AND r.seq = v.seq
           LEFT JOIN evidence_now s ON s.work_order = r.work_order AND s.kind = 'system'
           WHERE v.cylinder = ? AND v.kind = 'recovery' AND r.work_order <> ? AND r.at IS NOT NULL
             AND json_extract(r.body, '$.before') IS NOT json_extract(r.body, '$.after')
             AND (json_extract(r.body, '$._spoils') = 1
               OR json_extract(r.body, '$.refrigerant') <> ?
               OR (json_extract(r.body, '$.refrigerant') <> json_extract(s.body, '$.refrigerant')
                 AND json_extract(r.body, '$.refrigerant') IS NOT json_extract(s.body, '$.converted_from')))"#,
        cylinder,
        order,
        refrigerant
    )
    .fetch_all(conn)
    .await?)
}

/// Marks a cylinder as contaminated; gives what is written on it, or nothing where it was marked before.
pub async fn mark(conn: &mut Conn, cylinder: CylinderId) -> Result<Option<String>> {
    Ok(sqlx::query_scalar!(
        "UPDATE cylinder SET purpose = 'contaminated', version = version + 1 WHERE id = ? AND purpose <> 'contaminated' RETURNING mark",
        cylinder
    )
    .fetch_optional(conn)
    .await?)
}

/// The refrigerant that a cylinder is for.
pub async fn meant_for(conn: &mut Conn, cylinder: CylinderId) -> Result<Option<String>> {
    Ok(
        sqlx::query_scalar!("SELECT refrigerant FROM cylinder WHERE id = ?", cylinder)
            .fetch_optional(conn)
            .await?,
    )
}
