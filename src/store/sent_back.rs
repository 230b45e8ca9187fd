//! Findings that the owner sent back, and the answers.
use super::{Conn, Result, assessment::in_units};
use crate::shop::{Instant, OrderId, PersonId};
use chillwright_calc::UnitSystem;
use uuid::Uuid;

/// A finding that was sent back.
#[derive(Debug, Clone)]
pub struct SentBack {
    /// Identity.
    pub id: Uuid,
    /// The order.
    pub order: OrderId,
    /// The finding's rule.
    pub code: String,
    /// What it is about.
    pub about: String,
    /// Its sentence then, in SI.
    pub says: String,
    /// The same in US units.
    pub says_us: String,
    /// The owner's reason.
    pub reason: String,
    /// Who.
    pub name: String,
    /// When.
    pub at: Instant,
}

impl SentBack {
    /// The finding's sentence then, in these units.
    pub fn said(&self, units: UnitSystem) -> &str {
        in_units(units, &self.says, &self.says_us)
    }
}

/// Those of an order that are not answered yet, oldest first.
pub async fn open(conn: &mut Conn, order: OrderId) -> Result<Vec<SentBack>> {
    Ok(sqlx::query_as!(
        SentBack,
        r#"SELECT s.id AS "id: Uuid", s.work_order AS "order: OrderId", s.code, s.about, s.says, s.says_us, s.reason, p.name, s.at AS "at: Instant"
           FROM sent_back s JOIN person p ON p.id = s.person WHERE s.work_order = ? AND s.id NOT IN (SELECT sent_back FROM sent_back_answer)
           ORDER BY s.at, s.rowid"#,
        order
    )
    .fetch_all(conn)
    .await?)
}

/// Those of all open orders.
pub async fn all_open(conn: &mut Conn) -> Result<Vec<SentBack>> {
    Ok(sqlx::query_as!(
        SentBack,
        r#"SELECT s.id AS "id: Uuid", s.work_order AS "order: OrderId", s.code, s.about, s.says, s.says_us, s.reason, p.name, s.at AS "at: Instant"
           FROM sent_back s JOIN person p ON p.id = s.person JOIN work_order o ON o.id = s.work_order
           WHERE o.state = 'open' AND s.id NOT IN (SELECT sent_back FROM sent_back_answer) ORDER BY s.at, s.rowid"#
    )
    .fetch_all(conn)
    .await?)
}

/// What a person at the bench answered to what was sent back.
#[derive(Debug, Clone)]
pub struct Answered {
    /// The order.
    pub order: OrderId,
    /// The finding's rule.
    pub code: String,
    /// What it is about.
    pub about: String,
    /// The owner's reason.
    pub reason: String,
    /// The answer.
    pub says: String,
    /// Who answered.
    pub name: String,
    /// When.
    pub at: Instant,
}

/// Answers by people on open orders, oldest first.
pub async fn answered(conn: &mut Conn) -> Result<Vec<Answered>> {
    Ok(sqlx::query_as!(
        Answered,
        r#"SELECT s.work_order AS "order: OrderId", s.code, s.about, s.reason, a.says, p.name, a.at AS "at: Instant"
           FROM sent_back_answer a JOIN sent_back s ON s.id = a.sent_back JOIN person p ON p.id = a.person JOIN work_order o ON o.id = s.work_order
           WHERE o.state = 'open' ORDER BY a.at, s.rowid"#
    )
    .fetch_all(conn)
    .await?)
}

/// Sends a finding back.
pub async fn add(conn: &mut Conn, s: &SentBack, by: PersonId) -> Result<()> {
    sqlx::query!(
        "INSERT INTO sent_back (id, work_order, code, about, says, says_us, reason, person, at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        s.id,
        s.order,
        s.code,
        s.about,
        s.says,
        s.says_us,
        s.reason,
        by,
        s.at
    )
    .execute(conn)
    .await?;
    Ok(())
}

/// Answers it; without a person where new evidence answered it by itself.
pub async fn answer(
    conn: &mut Conn,
    id: Uuid,
    says: &str,
    by: Option<PersonId>,
    now: Instant,
) -> Result<()> {
    sqlx::query!(
        "INSERT INTO sent_back_answer (sent_back, says, person, at) VALUES (?, ?, ?, ?)",
        id,
        says,
        by,
        now
    )
    .execute(conn)
    .await?;
    Ok(())
}
