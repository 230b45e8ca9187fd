//! Lines of an order's estimate.
use super::{Conn, Result};
use crate::shop::{Instant, LineId, LineKind, Money, OrderId};

/// A line.
#[derive(Debug, Clone)]
pub struct Line {
    /// Identity.
    pub id: LineId,
    /// What sort of line.
    pub kind: LineKind,
    /// What it is.
    pub says: String,
    /// For a part, where it comes from, in the record's words.
    pub source: Option<String>,
    /// Thousandths of the unit.
    pub quantity: i64,
    /// Unit; empty for pieces.
    pub unit: String,
    /// Price of one unit, with or without tax as the shop has it.
    pub price: Money,
    /// Hundredths of a percent.
    pub tax_rate: i64,
    /// What the shop paid for it.
    pub price_paid: Option<Money>,
    /// Dates.
    pub ordered_on: Option<String>,
    /// Expected.
    pub expected_on: Option<String>,
    /// Arrived.
    pub arrived_on: Option<String>,
    /// The customer did not want it.
    pub declined_at: Option<Instant>,
    /// Taken off the estimate.
    pub removed_at: Option<Instant>,
    /// For optimistic locking.
    pub version: i64,
}

impl Line {
    /// Quantity times price.
    pub fn amount(&self) -> Money {
        self.price.times_thousandths(self.quantity)
    }

    /// Whether it is billed.
    pub fn counts(&self) -> bool {
        self.declined_at.is_none() && self.removed_at.is_none()
    }

    /// Ordered, and not there yet.
    pub fn awaited(&self) -> bool {
        self.kind == LineKind::Part
            && self.counts()
            && self.ordered_on.is_some()
            && self.arrived_on.is_none()
    }
}

/// The lines of an order that were not taken off.
pub async fn of_order(conn: &mut Conn, order: OrderId) -> Result<Vec<Line>> {
    Ok(sqlx::query_as!(
        Line,
        r#"SELECT id AS "id: LineId", kind AS "kind: LineKind", says, source, quantity, unit, price AS "price: Money", tax_rate, price_paid AS "price_paid: Money", ordered_on, expected_on, arrived_on,
           declined_at AS "declined_at: Instant", removed_at AS "removed_at: Instant", version
           FROM order_line WHERE work_order = ? AND removed_at IS NULL ORDER BY position"#,
        order
    )
    .fetch_all(conn)
    .await?)
}

/// Adds a line at the end.
pub async fn add(conn: &mut Conn, order: OrderId, l: &Line, now: Instant) -> Result<()> {
    sqlx::query!(
        "INSERT INTO order_line (id, work_order, position, kind, says, source, quantity, unit, price, tax_rate, price_paid, ordered_on, expected_on, arrived_on, declined_at, added_at)
         VALUES (?, ?, (SELECT coalesce(max(position), 0) + 1 FROM order_line WHERE work_order = ?), ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        l.id, order, order, l.kind, l.says, l.source, l.quantity, l.unit, l.price, l.tax_rate, l.price_paid, l.ordered_on, l.expected_on, l.arrived_on, l.declined_at, now
    )
    .execute(conn)
    .await?;
    Ok(())
}

/// Changes a line if the version still fits; says whether it did.
pub async fn update(conn: &mut Conn, l: &Line) -> Result<bool> {
    let done = sqlx::query!(
        "UPDATE order_line SET kind = ?, says = ?, source = ?, quantity = ?, unit = ?, price = ?, tax_rate = ?, price_paid = ?, ordered_on = ?, expected_on = ?, arrived_on = ?,
         declined_at = ?, removed_at = ?, version = version + 1 WHERE id = ? AND version = ?",
        l.kind, l.says, l.source, l.quantity, l.unit, l.price, l.tax_rate, l.price_paid, l.ordered_on, l.expected_on, l.arrived_on, l.declined_at, l.removed_at, l.id, l.version
    )
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Orders with a part that was ordered and is not there yet.
pub async fn awaiting(conn: &mut Conn) -> Result<Vec<(OrderId, String)>> {
    let rows = sqlx::query!(
        r#"SELECT work_order AS "order: OrderId", says FROM order_line
           WHERE kind = 'part' AND ordered_on IS NOT NULL AND arrived_on IS NULL AND declined_at IS NULL AND removed_at IS NULL"#
    )
    .fetch_all(conn)
    .await?;
    Ok(rows.into_iter().map(|r| (r.order, r.says)).collect())
}
