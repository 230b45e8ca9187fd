//! Parts with a tag: from the donor to the car and back.
use super::{
    Conn, Result, StoreError,
    evidence::{self, Kind, Piece},
};
use crate::shop::{EvidenceId, Instant, LineId};
use chillwright_calc::record::{Donor, Part};
use std::collections::HashSet;

/// Gives a part its tag.
pub async fn add_tag(conn: &mut Conn, number: i64, part: EvidenceId) -> Result<()> {
    sqlx::query!(
        "INSERT INTO part_tag (number, evidence) VALUES (?, ?)",
        number,
        part
    )
    .execute(conn)
    .await?;
    Ok(())
}

/// Whether a part has its tag.
pub async fn has_tag(conn: &mut Conn, part: EvidenceId) -> Result<bool> {
    Ok(
        sqlx::query_scalar!("SELECT number FROM part_tag WHERE evidence = ?", part)
            .fetch_optional(conn)
            .await?
            .is_some(),
    )
}

/// A part with a tag, as it counts now.
#[derive(Debug, Clone)]
pub struct Tagged {
    /// On the tag.
    pub number: i64,
    /// The piece of evidence.
    pub id: EvidenceId,
    /// Its mark within the order.
    pub mark: String,
    /// The record's entry.
    pub part: Part,
    /// When it was fitted.
    pub fitted_at: Option<Instant>,
    /// The order.
    pub order: i64,
    /// The order's state.
    pub state: String,
    /// Whether the order was opened again after a handover: a comeback.
    pub came_back: bool,
    /// The car's plate.
    pub plate: String,
    /// The car.
    pub car: String,
    /// Whose.
    pub customer: String,
}

impl Tagged {
    /// The yard that it came from, empty where none is known.
    pub fn yard(&self) -> &str {
        self.part
            .donor
            .as_ref()
            .and_then(|d| d.yard.as_deref())
            .unwrap_or_default()
    }

    /// The car that it came from; one of which nothing is known where none is on record.
    pub fn donor(&self) -> Donor {
        self.part.donor.clone().unwrap_or_default()
    }
}

/// All parts with a tag, the newest first.
pub async fn all(conn: &mut Conn) -> Result<Vec<Tagged>> {
    let rows = sqlx::query!(
        r#"SELECT t.number AS "number!: i64", e.id AS "id!: EvidenceId", e.mark AS "mark!: String", e.body AS "body!: String", e.at AS "fitted_at?: Instant", o.number AS "order!: i64", o.state AS "state!: String",
           EXISTS (SELECT 1 FROM reopening r WHERE r.work_order = o.id) AS "came_back!: bool",
           v.plate AS "plate!: String", v.description AS "car!: String", c.name AS "customer!: String"
           FROM part_tag t JOIN evidence_now e ON e.id = t.evidence JOIN work_order o ON o.id = e.work_order
           JOIN vehicle v ON v.id = o.vehicle JOIN customer c ON c.id = o.customer ORDER BY t.number DESC"#
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter()
        .map(|r| {
            Ok(Tagged {
                number: r.number,
                id: r.id,
                mark: r.mark,
                part: the_part(&r.body)?,
                fitted_at: r.fitted_at,
                order: r.order,
                state: r.state,
                came_back: r.came_back,
                plate: r.plate,
                car: r.car,
                customer: r.customer,
            })
        })
        .collect()
}

fn the_part(stored: &str) -> Result<Part> {
    let (body, _) = evidence::stored(Kind::Part.word(), stored)?;
    body.get::<Part>()
        .cloned()
        .ok_or_else(|| StoreError::stored("part", "it is none"))
}

/// What the shop paid for used parts, by order: line and amount in minor units.
pub async fn paid_for_used(conn: &mut Conn) -> Result<Vec<(i64, i64)>> {
    let rows = sqlx::query!(
        r#"SELECT o.number AS "order!: i64", l.price_paid AS "paid!: i64", l.id AS "id: LineId" FROM order_line l JOIN work_order o ON o.id = l.work_order
           WHERE l.kind = 'part' AND l.source = 'salvaged' AND l.price_paid IS NOT NULL AND l.removed_at IS NULL"#
    )
    .fetch_all(conn)
    .await?;
    Ok(rows.into_iter().map(|r| (r.order, r.paid)).collect())
}

/// Yards and donors whose part was in a car that came back, on another order.
#[derive(Debug, Clone, Default)]
pub struct ComeBack {
    yards: HashSet<String>,
    donors: HashSet<String>,
}

impl ComeBack {
    /// Whether a part, its donor or its yard is among them.
    pub fn knows(&self, part: &Part) -> bool {
        let knows = |all: &HashSet<String>, text: &Option<String>| {
            text.as_deref().is_some_and(|t| all.contains(&key_of(t)))
        };
        part.donor
            .as_ref()
            .is_some_and(|d| knows(&self.yards, &d.yard) || knows(&self.donors, &d.vin))
    }
}

fn key_of(text: &str) -> String {
    text.trim().to_lowercase()
}

/// What came back, as far as these pieces ask for it: nothing is read where none of them is a part with a donor.
pub async fn come_back(conn: &mut Conn, pieces: &[Piece]) -> Result<ComeBack> {
    let Some(asked) = pieces
        .iter()
        .find(|p| p.get::<Part>().is_some_and(|part| part.donor.is_some()))
    else {
        return Ok(ComeBack::default());
    };
    let id = asked.id;
    let rows = sqlx::query!(
        r#"SELECT json_extract(e.body, '$.donor.yard') AS "yard?: String", json_extract(e.body, '$.donor.vin') AS "vin?: String"
           FROM evidence_now e WHERE e.kind = 'part' AND e.at IS NOT NULL
             AND e.work_order IN (SELECT work_order FROM reopening) AND e.work_order <> (SELECT work_order FROM evidence WHERE id = ?)"#,
        id
    )
    .fetch_all(conn)
    .await?;
    let mut back = ComeBack::default();
    for row in rows {
        back.yards
            .extend(row.yard.map(|y| key_of(&y)).filter(|y| !y.is_empty()));
        back.donors
            .extend(row.vin.map(|v| key_of(&v)).filter(|v| !v.is_empty()));
    }
    Ok(back)
}
