//! What the calculation said of each open order, and what people decided about it.
use super::{Conn, Result, StoreError};
use crate::shop::{ConcessionId, Instant, OrderId, PersonId, VehicleId};
use chillwright_calc::record::answer::Weight;
use chillwright_calc::{UnitSystem, checks::rules::Said, record::answer::Assessment};
use serde_json::Value;

/// A stored assessment.
#[derive(Debug, Clone)]
pub struct Stored {
    /// The record that was assessed, as JSON.
    pub record: String,
    /// The answer.
    pub answer: Assessment,
    /// Version of the rules.
    pub rules: String,
    /// When.
    pub made_at: Instant,
}

/// The assessment of an order.
pub async fn get(conn: &mut Conn, order: OrderId) -> Result<Option<Stored>> {
    let row =
        sqlx::query!(r#"SELECT record, answer, rules, made_at AS "made_at: Instant" FROM assessment WHERE work_order = ?"#, order).fetch_optional(conn).await?;
    row.map(|row| {
        let answer =
            serde_json::from_str(&row.answer).map_err(|e| StoreError::stored("assessment", e))?;
        Ok(Stored {
            record: row.record,
            answer,
            rules: row.rules,
            made_at: row.made_at,
        })
    })
    .transpose()
}

/// The last answer about an order, as it was written then.
pub async fn answer_text(conn: &mut Conn, order: OrderId) -> Result<Option<String>> {
    Ok(
        sqlx::query_scalar!("SELECT answer FROM assessment WHERE work_order = ?", order)
            .fetch_optional(conn)
            .await?,
    )
}

/// A sentence in the units that are asked for; one that was kept before there were two stands as it was said.
pub fn in_units<'a>(units: UnitSystem, si: &'a str, us: &'a str) -> &'a str {
    if units == UnitSystem::Us && !us.is_empty() {
        us
    } else {
        si
    }
}

/// Puts an assessment in the place of the last one, with its findings for the lists. `answer` is in SI; `us` is the same as it is said in US units.
pub async fn put(
    conn: &mut Conn,
    order: OrderId,
    record: &str,
    answer: &Assessment,
    us: &Said,
    now: Instant,
) -> Result<()> {
    let text = serde_json::to_string(answer).map_err(|e| StoreError::stored("assessment", e))?;
    sqlx::query!(
        "INSERT INTO assessment (work_order, record, answer, rules, made_at) VALUES (?, ?, ?, ?, ?)
         ON CONFLICT (work_order) DO UPDATE SET record = excluded.record, answer = excluded.answer, rules = excluded.rules, made_at = excluded.made_at",
        order,
        record,
        text,
        answer.rules,
        now
    )
    .execute(&mut *conn)
    .await?;
    let before = findings(conn, order).await?;
    sqlx::query!("DELETE FROM finding WHERE work_order = ?", order)
        .execute(&mut *conn)
        .await?;
    let said = answer
        .findings
        .iter()
        .zip(&us.findings)
        .map(|said| (said, true))
        .chain(answer.to_do.iter().zip(&us.to_do).map(|said| (said, false)));
    for (position, ((finding, us), due)) in said.enumerate() {
        let binding = binding(finding);
        let same = |f: &&Finding| {
            f.code == finding.code
                && f.about == finding.about
                && f.binding == binding
                && f.due == due
        };
        let since = before.iter().find(same).map_or(now, |f| f.since);
        let (position, binding, weight) =
            (position as i64, binding.to_string(), finding.weight.word());
        sqlx::query!(
            "INSERT INTO finding (work_order, code, about, position, weight, says, do_next, says_us, do_next_us, binding, since, due)
             VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            order,
            finding.code,
            finding.about,
            position,
            weight,
            finding.says,
            finding.do_next,
            us.says,
            us.do_next,
            binding,
            since,
            due
        )
        .execute(&mut *conn)
        .await?;
    }
    Ok(())
}

/// The one that says what to do next: what blocks, else what is to do, else what is for the owner, else a note.
pub fn first(findings: &[Finding]) -> Option<&Finding> {
    let of = |weight: Weight| findings.iter().find(|f| f.due && f.weight == weight);
    of(Weight::Blocks)
        .or_else(|| findings.iter().find(|f| !f.due))
        .or_else(|| of(Weight::Concession))
        .or_else(|| findings.first())
}

/// Whether the owner can be asked about an order: nothing is left to do there that counts.
pub fn is_done(findings: &[Finding]) -> bool {
    findings.iter().all(|f| f.due || f.weight == Weight::Note)
}

/// What a concession is bound to: the evidence, and the values at the precision that is printed.
pub fn binding(finding: &chillwright_calc::record::answer::Finding) -> Value {
    let values = serde_json::to_value(&finding.values).unwrap_or(Value::Null);
    serde_json::json!({ "evidence": finding.evidence, "values": printed(&values) })
}

/// Numbers at four significant digits: nobody prints more, and a change below it lapses nothing.
fn printed(value: &Value) -> Value {
    match value {
        Value::Number(n) => n
            .as_f64()
            .map_or_else(|| value.clone(), |x| Value::String(format!("{x:.3e}"))),
        Value::Array(list) => Value::Array(list.iter().map(printed).collect()),
        Value::Object(map) => {
            Value::Object(map.iter().map(|(k, v)| (k.clone(), printed(v))).collect())
        }
        _ => value.clone(),
    }
}

/// A finding of an open order, as the lists show it.
#[derive(Debug, Clone)]
pub struct Finding {
    /// The order.
    pub order: OrderId,
    /// Rule.
    pub code: String,
    /// What it is about.
    pub about: String,
    /// `blocks`, `concession` or `note`.
    pub weight: Weight,
    /// The sentence, in SI.
    pub says: String,
    /// What to do, in SI.
    pub do_next: String,
    /// The sentence in US units.
    pub says_us: String,
    /// What to do, in US units.
    pub do_next_us: String,
    /// What a concession would be bound to.
    pub binding: Value,
    /// Since when it stands so.
    pub since: Instant,
    /// It is a finding; else it has simply not been done yet.
    pub due: bool,
}

impl Finding {
    /// The sentence in these units.
    pub fn said(&self, units: UnitSystem) -> &str {
        in_units(units, &self.says, &self.says_us)
    }

    /// What to do, in these units.
    pub fn next(&self, units: UnitSystem) -> &str {
        in_units(units, &self.do_next, &self.do_next_us)
    }
}

macro_rules! finding {
    ($row:expr) => {
        Ok(Finding {
            order: $row.order,
            code: $row.code,
            about: $row.about,
            weight: Weight::from_word(&$row.weight)
                .ok_or_else(|| StoreError::stored("finding", &$row.weight))?,
            says: $row.says,
            do_next: $row.do_next,
            says_us: $row.says_us,
            do_next_us: $row.do_next_us,
            binding: serde_json::from_str(&$row.binding)
                .map_err(|e| StoreError::stored("finding", e))?,
            since: $row.since,
            due: $row.due,
        })
    };
}

/// The findings of one order and what is to do, in the answer's order.
pub async fn findings(conn: &mut Conn, order: OrderId) -> Result<Vec<Finding>> {
    let rows = sqlx::query!(
        r#"SELECT work_order AS "order: OrderId", code, about, weight, says, do_next, says_us, do_next_us, binding, since AS "since: Instant", due AS "due: bool"
           FROM finding WHERE work_order = ? ORDER BY position"#,
        order
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter().map(|row| finding!(row)).collect()
}

/// The findings of all open orders and what is to do there, oldest first.
pub async fn open_findings(conn: &mut Conn) -> Result<Vec<Finding>> {
    let rows = sqlx::query!(
        r#"SELECT f.work_order AS "order: OrderId", code, about, weight, says, do_next, says_us, do_next_us, binding, since AS "since: Instant", due AS "due: bool"
           FROM finding f JOIN work_order o ON o.id = f.work_order WHERE o.state = 'open' ORDER BY since, o.number, f.position"#
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter().map(|row| finding!(row)).collect()
}

/// What the owner accepted in writing.
#[derive(Debug, Clone)]
pub struct Concession {
    /// Identity.
    pub id: ConcessionId,
    /// The order.
    pub order: OrderId,
    /// The finding's rule.
    pub code: String,
    /// What it is about.
    pub about: String,
    /// Evidence and printed values that it is bound to.
    pub binding: Value,
    /// The finding's sentence then, in SI.
    pub says: String,
    /// The same in US units.
    pub says_us: String,
    /// The owner's words.
    pub words: String,
    /// Accepted by the person who did the work.
    pub did_the_work: bool,
    /// Who.
    pub person: PersonId,
    /// The name as printed.
    pub name: String,
    /// When.
    pub at: Instant,
    /// Why it does not hold any more, in SI.
    pub lapsed: Option<String>,
    /// The same in US units.
    pub lapsed_us: Option<String>,
}

impl Concession {
    /// Whether it still holds and is about this finding.
    pub fn covers(&self, code: &str, about: &str) -> bool {
        self.lapsed.is_none() && self.code == code && self.about == about
    }

    /// The finding's sentence then, in these units.
    pub fn said(&self, units: UnitSystem) -> &str {
        in_units(units, &self.says, &self.says_us)
    }

    /// Why it does not hold any more, in these units.
    pub fn lapse(&self, units: UnitSystem) -> Option<&str> {
        Some(in_units(
            units,
            self.lapsed.as_deref()?,
            self.lapsed_us.as_deref().unwrap_or_default(),
        ))
    }
}

macro_rules! concession {
    ($row:expr) => {
        Ok(Concession {
            id: $row.id,
            order: $row.order,
            code: $row.code,
            about: $row.about,
            binding: serde_json::from_str(&$row.binding)
                .map_err(|e| StoreError::stored("concession", e))?,
            says: $row.says,
            says_us: $row.says_us,
            words: $row.words,
            did_the_work: $row.did,
            person: $row.person,
            name: $row.name,
            at: $row.at,
            lapsed: $row.lapsed,
            lapsed_us: $row.lapsed_us,
        })
    };
}

/// All concessions of an order, also those that lapsed.
pub async fn concessions(conn: &mut Conn, order: OrderId) -> Result<Vec<Concession>> {
    let rows = sqlx::query!(
        r#"SELECT c.id AS "id: ConcessionId", c.work_order AS "order: OrderId", c.code, c.about, c.binding, c.says, c.says_us, c.words, c.did_the_work AS "did: bool",
           c.person AS "person: PersonId", p.name, c.at AS "at: Instant", l.why AS "lapsed?", l.why_us AS "lapsed_us?"
           FROM concession c JOIN person p ON p.id = c.person LEFT JOIN concession_lapse l ON l.concession = c.id
           WHERE c.work_order = ? ORDER BY c.at, c.rowid"#,
        order
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter().map(|row| concession!(row)).collect()
}

/// Concessions of all open orders, also those that lapsed.
pub async fn all_concessions(conn: &mut Conn) -> Result<Vec<Concession>> {
    let rows = sqlx::query!(
        r#"SELECT c.id AS "id: ConcessionId", c.work_order AS "order: OrderId", c.code, c.about, c.binding, c.says, c.says_us, c.words, c.did_the_work AS "did: bool",
           c.person AS "person: PersonId", p.name, c.at AS "at: Instant", l.why AS "lapsed?", l.why_us AS "lapsed_us?"
           FROM concession c JOIN person p ON p.id = c.person JOIN work_order o ON o.id = c.work_order LEFT JOIN concession_lapse l ON l.concession = c.id
           WHERE o.state = 'open' ORDER BY c.at, c.rowid"#
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter().map(|row| concession!(row)).collect()
}

/// Concessions of a car that still hold, from the orders on which it was handed over: order number, the day on which it was to be looked at
/// again, the concession.
pub async fn concessions_of_vehicle(
    conn: &mut Conn,
    vehicle: VehicleId,
) -> Result<Vec<(i64, Option<String>, Concession)>> {
    let rows = sqlx::query!(
        r#"SELECT o.number AS "number!: i64", (SELECT h.look_again_on FROM handover h WHERE h.work_order = o.id ORDER BY h.seq DESC LIMIT 1) AS "look: String",
           c.id AS "id: ConcessionId", c.work_order AS "order: OrderId", c.code, c.about, c.binding, c.says, c.says_us, c.words, c.did_the_work AS "did: bool",
           c.person AS "person: PersonId", p.name, c.at AS "at: Instant", NULL AS "lapsed?: String", NULL AS "lapsed_us?: String"
           FROM concession c JOIN person p ON p.id = c.person JOIN work_order o ON o.id = c.work_order
           WHERE o.vehicle = ? AND o.state = 'handed-over' AND c.id NOT IN (SELECT concession FROM concession_lapse) ORDER BY c.at, c.rowid"#,
        vehicle
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter()
        .map(|row| {
            let (number, look) = (row.number, row.look.clone());
            let concession: Result<Concession> = concession!(row);
            Ok((number, look, concession?))
        })
        .collect()
}

/// Grants a concession.
pub async fn add_concession(conn: &mut Conn, c: &Concession) -> Result<()> {
    let binding = c.binding.to_string();
    sqlx::query!(
        "INSERT INTO concession (id, work_order, code, about, binding, says, says_us, words, did_the_work, person, at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        c.id,
        c.order,
        c.code,
        c.about,
        binding,
        c.says,
        c.says_us,
        c.words,
        c.did_the_work,
        c.person,
        c.at
    )
    .execute(conn)
    .await?;
    Ok(())
}

/// A concession does not hold any more; the reason in SI and in US units.
pub async fn lapse(
    conn: &mut Conn,
    id: ConcessionId,
    why: &str,
    why_us: &str,
    now: Instant,
) -> Result<()> {
    sqlx::query!(
        "INSERT INTO concession_lapse (concession, why, why_us, at) VALUES (?, ?, ?, ?)",
        id,
        why,
        why_us,
        now
    )
    .execute(conn)
    .await?;
    Ok(())
}
