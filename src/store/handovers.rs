//! Handovers: the way out, with everything that was printed, frozen.
use super::{Conn, Result, StoreError};
use crate::shop::{HandoverId, Instant, OrderId, PersonId, Way};
use serde_json::Value;

/// A handover.
#[derive(Debug, Clone)]
pub struct Handover {
    /// Identity.
    pub id: HandoverId,
    /// The order.
    pub order: OrderId,
    /// Which of the order's.
    pub seq: i64,
    /// The way out.
    pub way: Way,
    /// The sentence for the driver.
    pub sentence: String,
    /// The day to look again.
    pub look_again_on: Option<String>,
    /// Every printed sentence.
    pub report: Value,
    /// Version of the rules.
    pub rules: String,
    /// Head of the audit chain then.
    pub audit_head: String,
    /// Who.
    pub name: String,
    /// When.
    pub at: Instant,
}

/// What is frozen besides.
#[derive(Debug, Clone)]
pub struct Frozen {
    /// The job record.
    pub record: String,
    /// The assessment.
    pub answer: String,
}

/// The handovers of an order, the last one first.
pub async fn of_order(conn: &mut Conn, order: OrderId) -> Result<Vec<Handover>> {
    let rows = sqlx::query!(
        r#"SELECT h.id AS "id: HandoverId", h.work_order AS "order: OrderId", h.seq, h.way, h.sentence, h.look_again_on, h.report, h.rules, h.audit_head,
           p.name, h.at AS "at: Instant" FROM handover h JOIN person p ON p.id = h.person WHERE h.work_order = ? ORDER BY h.seq DESC"#,
        order
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter()
        .map(|r| {
            Ok(Handover {
                id: r.id,
                order: r.order,
                seq: r.seq,
                way: Way::from_word(&r.way).ok_or_else(|| StoreError::stored("way out", &r.way))?,
                sentence: r.sentence,
                look_again_on: r.look_again_on,
                report: serde_json::from_str(&r.report)
                    .map_err(|e| StoreError::stored("report", e))?,
                rules: r.rules,
                audit_head: r.audit_head,
                name: r.name,
                at: r.at,
            })
        })
        .collect()
}

/// The job record that was frozen with the last handover.
pub async fn last_record(conn: &mut Conn, order: OrderId) -> Result<Option<String>> {
    Ok(sqlx::query_scalar!(
        "SELECT record FROM handover WHERE work_order = ? ORDER BY seq DESC LIMIT 1",
        order
    )
    .fetch_optional(conn)
    .await?)
}

/// The answer that was frozen with the last handover, as it was written then.
pub async fn last_answer(conn: &mut Conn, order: OrderId) -> Result<Option<String>> {
    Ok(sqlx::query_scalar!(
        "SELECT answer FROM handover WHERE work_order = ? ORDER BY seq DESC LIMIT 1",
        order
    )
    .fetch_optional(conn)
    .await?)
}

/// Adds a handover.
pub async fn add(conn: &mut Conn, h: &Handover, frozen: &Frozen, by: PersonId) -> Result<()> {
    let (way, report) = (h.way.word(), h.report.to_string());
    sqlx::query!(
        "INSERT INTO handover (id, work_order, seq, way, sentence, look_again_on, record, answer, rules, report, audit_head, person, at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        h.id, h.order, h.seq, way, h.sentence, h.look_again_on, frozen.record, frozen.answer, h.rules, report, h.audit_head, by, h.at
    )
    .execute(conn)
    .await?;
    Ok(())
}

/// Records why an order was opened again.
pub async fn reopen(
    conn: &mut Conn,
    order: OrderId,
    handover: HandoverId,
    reason: &str,
    by: PersonId,
    now: Instant,
) -> Result<()> {
    let id = uuid::Uuid::now_v7();
    sqlx::query!("INSERT INTO reopening (id, work_order, handover, reason, person, at) VALUES (?, ?, ?, ?, ?, ?)", id, order, handover, reason, by, now)
        .execute(conn)
        .await?;
    Ok(())
}
