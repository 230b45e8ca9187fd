//! Evidence: an identity row and its versions. A correction is a new version; nothing is overwritten.
use super::{Conn, Result, StoreError};
use crate::shop::{CylinderId, DeviceId, EvidenceId, Instant, InstrumentId, OrderId, PersonId, YardId};
use serde_json::{Map, Value};

/// What a piece of evidence is; its body is that entry of the job record, with the shop's own keys beginning with `_`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Kind {
    /// `site`.
    Site,
    /// `system`: the label.
    System,
    /// `previous_charge`.
    PreviousCharge,
    /// `open_since`; body `{"value": …}`.
    OpenSince,
    /// An entry of `gas_let_in`.
    GasLetIn,
    /// An entry of `standing`.
    Standing,
    /// An entry of `identification`.
    Identification,
    /// An entry of `isolation`.
    Isolation,
    /// An entry of `recovery`.
    Recovery,
    /// An entry of `leaks`.
    Leak,
    /// An entry of `parts`.
    Part,
    /// `desiccant_last_renewed`; body `{"value": …}`.
    Desiccant,
    /// An entry of `flushes`.
    Flush,
    /// An entry of `joints`, less its openings and seals.
    Joint,
    /// An item of a joint's `opened`; body `{"at": …}`.
    Opening,
    /// An item of a joint's `seals`.
    Seal,
    /// An entry of `fixings`.
    Fixing,
    /// An entry of `oil_added`.
    Oil,
    /// An entry of `evacuations`, less its readings.
    Evacuation,
    /// An entry of `holds`, less its readings.
    Hold,
    /// A reading of an evacuation or hold.
    Reading,
    /// An entry of `leak_checks`.
    LeakCheck,
    /// An entry of `charging`.
    Charging,
    /// An entry of `performance`.
    Performance,
    /// `performance_omitted`; body `{"value": …}`.
    PerformanceOmitted,
    /// An entry of `ports`.
    Port,
}

/// Word in the database, letter of the mark, key in the record, and how it stands there.
const KINDS: [(Kind, &str, &str, &str, Place); 26] = {
    use Kind::*;
    use Place::*;
    [
        (Site, "site", "site", "site", Single),
        (System, "system", "system", "system", Single),
        (PreviousCharge, "previous_charge", "before", "previous_charge", Single),
        (OpenSince, "open_since", "open", "open_since", Scalar),
        (GasLetIn, "gas_let_in", "g", "gas_let_in", Listed),
        (Standing, "standing", "sp", "standing", Listed),
        (Identification, "identification", "id", "identification", Listed),
        (Isolation, "isolation", "hv", "isolation", Listed),
        (Recovery, "recovery", "r", "recovery", Listed),
        (Leak, "leak", "l", "leaks", Listed),
        (Part, "part", "p", "parts", Listed),
        (Desiccant, "desiccant", "dry", "desiccant_last_renewed", Scalar),
        (Flush, "flush", "fl", "flushes", Listed),
        (Joint, "joint", "j", "joints", Listed),
        (Opening, "opening", "o", "opened", Child),
        (Seal, "seal", "s", "seals", Child),
        (Fixing, "fixing", "f", "fixings", Listed),
        (Oil, "oil", "oil", "oil_added", Listed),
        (Evacuation, "evacuation", "e", "evacuations", Listed),
        (Hold, "hold", "h", "holds", Listed),
        (Reading, "reading", "m", "readings", Child),
        (LeakCheck, "leak_check", "c", "leak_checks", Listed),
        (Charging, "charging", "ch", "charging", Listed),
        (Performance, "performance", "pf", "performance", Listed),
        (PerformanceOmitted, "performance_omitted", "nopf", "performance_omitted", Scalar),
        (Port, "port", "port", "ports", Listed),
    ]
};

/// How a kind stands in the job record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// One object.
    Single,
    /// One value, in the body's `value`.
    Scalar,
    /// An entry of a list.
    Listed,
    /// An entry of its parent's list.
    Child,
}

impl Kind {
    fn row(self) -> &'static (Kind, &'static str, &'static str, &'static str, Place) {
        // Every kind is in the table, in the order of its declaration; the test below walks it.
        &KINDS[self as usize]
    }

    /// The word in the database.
    pub fn word(self) -> &'static str {
        self.row().1
    }

    /// The key in the job record.
    pub fn key(self) -> &'static str {
        self.row().3
    }

    /// How it stands there.
    pub fn place(self) -> Place {
        self.row().4
    }

    /// Of a piece with this mark: `h2` is a hold, `system` the label. `None` for words that are no mark.
    pub fn of_mark(mark: &str) -> Option<Self> {
        let letters = mark.trim_end_matches(|c: char| c.is_ascii_digit());
        let once = |place| matches!(place, Place::Single | Place::Scalar);
        KINDS.iter().find(|k| k.2 == letters && (letters.len() < mark.len() || once(k.4))).map(|k| k.0)
    }

    /// From the database's word.
    pub fn from_word(word: &str) -> Option<Self> {
        KINDS.iter().find(|k| k.1 == word).map(|k| k.0)
    }
}

/// A piece as it counts now.
#[derive(Debug, Clone)]
pub struct Piece {
    /// Identity.
    pub id: EvidenceId,
    /// Short name within the order: `j4`.
    pub mark: String,
    /// What it is.
    pub kind: Kind,
    /// The joint, hold or evacuation that it belongs to.
    pub parent: Option<EvidenceId>,
    /// Which version.
    pub seq: i64,
    /// The record's entry, less `id`, plus the shop's own keys.
    pub body: Map<String, Value>,
    /// Its time.
    pub at: Option<Instant>,
    /// The time is "about".
    pub approximate: bool,
    /// Instrument used.
    pub instrument: Option<InstrumentId>,
    /// Cylinder used.
    pub cylinder: Option<CylinderId>,
    /// Yard that a part came from.
    pub yard: Option<YardId>,
    /// Who entered this version.
    pub person: PersonId,
    /// When it was entered.
    pub entered_at: Instant,
}

impl Piece {
    /// A text of the body, empty where it is not there.
    pub fn text(&self, key: &str) -> &str {
        self.body.get(key).and_then(Value::as_str).unwrap_or_default()
    }
}

/// A version to be written.
#[derive(Debug, Clone, Default)]
pub struct Version {
    /// The record's entry, less `id`.
    pub body: Map<String, Value>,
    /// Its time.
    pub at: Option<Instant>,
    /// The time is "about".
    pub approximate: bool,
    /// Does not count any more.
    pub withdrawn: bool,
    /// Why it was corrected, where a reason was given.
    pub why: String,
    /// Instrument used.
    pub instrument: Option<InstrumentId>,
    /// Cylinder used.
    pub cylinder: Option<CylinderId>,
    /// Yard.
    pub yard: Option<YardId>,
}

/// Who enters, where, when.
#[derive(Debug, Clone, Copy)]
pub struct Entering {
    /// Who.
    pub person: PersonId,
    /// Where.
    pub device: Option<DeviceId>,
    /// When.
    pub at: Instant,
}

/// Adds a new piece; gives its mark.
pub async fn add(conn: &mut Conn, id: EvidenceId, order: OrderId, kind: Kind, parent: Option<EvidenceId>, version: &Version, by: Entering) -> Result<String> {
    let (_, word, letter, _, place) = *kind.row();
    let count = sqlx::query_scalar!("SELECT count(*) FROM evidence WHERE work_order = ? AND kind = ?", order, word).fetch_one(&mut *conn).await?;
    let mark = match place {
        Place::Single | Place::Scalar if count == 0 => letter.to_owned(),
        _ => format!("{letter}{}", count + 1),
    };
    sqlx::query!(
        "INSERT INTO evidence (id, work_order, mark, kind, parent, position)
         VALUES (?, ?, ?, ?, ?, (SELECT coalesce(max(position), 0) + 1 FROM evidence WHERE work_order = ?))",
        id,
        order,
        mark,
        word,
        parent,
        order
    )
    .execute(&mut *conn)
    .await?;
    add_version(conn, id, kind, version, by).await?;
    Ok(mark)
}

/// Adds a version to a piece: a correction, a withdrawal, the end of a hold.
pub async fn add_version(conn: &mut Conn, id: EvidenceId, kind: Kind, version: &Version, by: Entering) -> Result<()> {
    let (word, body) = (kind.word(), Value::Object(version.body.clone()).to_string());
    sqlx::query!(
        "INSERT INTO evidence_version (evidence, kind, seq, body, at, approximate, withdrawn, why, instrument, cylinder, yard, person, device, entered_at)
         VALUES (?, ?, (SELECT coalesce(max(seq), 0) + 1 FROM evidence_version WHERE evidence = ?), ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        id,
        word,
        id,
        body,
        version.at,
        version.approximate,
        version.withdrawn,
        version.why,
        version.instrument,
        version.cylinder,
        version.yard,
        by.person,
        by.device,
        by.at
    )
    .execute(conn)
    .await?;
    Ok(())
}

/// All pieces of an order that count now, in the order in which they were first entered.
pub async fn of_order(conn: &mut Conn, order: OrderId) -> Result<Vec<Piece>> {
    let rows = sqlx::query!(
        r#"SELECT id AS "id!: EvidenceId", mark AS "mark!", kind AS "kind!", parent AS "parent?: EvidenceId", seq AS "seq!: i64", body AS "body!: String",
           at AS "at?: Instant", approximate AS "approximate!: bool", instrument AS "instrument?: InstrumentId", cylinder AS "cylinder?: CylinderId",
           yard AS "yard?: YardId", person AS "person!: PersonId", entered_at AS "entered_at!: Instant"
           FROM evidence_now WHERE work_order = ? ORDER BY position"#,
        order
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter()
        .map(|row| {
            Ok(Piece {
                id: row.id,
                kind: Kind::from_word(&row.kind).ok_or_else(|| StoreError::stored("evidence", &row.kind))?,
                mark: row.mark,
                parent: row.parent,
                seq: row.seq,
                body: serde_json::from_str(&row.body).map_err(|e| StoreError::stored("evidence", e))?,
                at: row.at,
                approximate: row.approximate,
                instrument: row.instrument,
                cylinder: row.cylinder,
                yard: row.yard,
                person: row.person,
                entered_at: row.entered_at,
            })
        })
        .collect()
}

/// The piece with this mark, if it counts now.
pub async fn by_mark(conn: &mut Conn, order: OrderId, mark: &str) -> Result<Option<Piece>> {
    Ok(of_order(conn, order).await?.into_iter().find(|p| p.mark == mark))
}

/// How often each person entered evidence on an order: who did the work.
pub async fn workers(conn: &mut Conn, order: OrderId) -> Result<Vec<(PersonId, String)>> {
    let rows = sqlx::query!(
        r#"SELECT v.person AS "person!: PersonId", p.name AS "name!" FROM evidence e JOIN evidence_version v ON v.evidence = e.id JOIN person p ON p.id = v.person
           WHERE e.work_order = ? AND e.kind NOT IN ('site', 'system', 'previous_charge') GROUP BY v.person ORDER BY count(*) DESC, p.name"#,
        order
    )
    .fetch_all(conn)
    .await?;
    Ok(rows.into_iter().map(|r| (r.person, r.name)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_of_kinds_follows_the_declaration() {
        for (index, row) in KINDS.iter().enumerate() {
            assert_eq!(row.0 as usize, index);
            assert_eq!(Kind::from_word(row.1), Some(row.0));
        }
    }
}
