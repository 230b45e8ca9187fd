//! What the technician says of the work: ready, or at work again. Rows are added; the latest counts.
use super::{Conn, Result};
use crate::shop::{Instant, OrderId, PersonId};
use chillwright_calc::record::Stage;

/// What was said of an order.
#[derive(Debug, Clone)]
pub struct Told {
    /// Ready, or at work.
    pub stage: Stage,
    /// Who said so.
    pub name: String,
    /// When.
    pub at: Instant,
}

/// What was said last; `None` where nothing was, and work goes on.
pub async fn last(conn: &mut Conn, order: OrderId) -> Result<Option<Told>> {
    let row = sqlx::query!(
        r#"SELECT s.stage, p.name, s.at AS "at: Instant" FROM work_stage s JOIN person p ON p.id = s.person WHERE s.work_order = ? ORDER BY s.rowid DESC LIMIT 1"#,
        order
    )
    .fetch_optional(conn)
    .await?;
    Ok(row.map(|row| Told {
        stage: if row.stage == Stage::Ready.word() {
            Stage::Ready
        } else {
            Stage::InWork
        },
        name: row.name,
        at: row.at,
    }))
}

/// The stage of an order.
pub async fn of_order(conn: &mut Conn, order: OrderId) -> Result<Stage> {
    Ok(last(conn, order)
        .await?
        .map_or(Stage::InWork, |told| told.stage))
}

/// Says it.
pub async fn add(
    conn: &mut Conn,
    order: OrderId,
    stage: Stage,
    why: &str,
    person: PersonId,
    now: Instant,
) -> Result<()> {
    let (id, stage) = (uuid::Uuid::now_v7(), stage.word());
    sqlx::query!(
        "INSERT INTO work_stage (id, work_order, stage, why, person, at) VALUES (?, ?, ?, ?, ?, ?)",
        id,
        order,
        stage,
        why,
        person,
        now
    )
    .execute(conn)
    .await?;
    Ok(())
}
