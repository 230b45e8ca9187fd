//! The rows of evidence: identities, their versions, and what of them counts now.
use super::{Body, Entry, Kind, Own, Place, Stored, body};
use crate::{
    shop::{CylinderId, DeviceId, EvidenceId, Instant, InstrumentId, OrderId, PersonId, YardId},
    store::{Conn, Result, StoreError},
};

/// A piece as it counts now.
#[derive(Debug, Clone)]
pub struct Piece {
    /// Identity.
    pub id: EvidenceId,
    /// Short name within the order: `j4`.
    pub mark: String,
    /// The joint, hold or evacuation that it belongs to.
    pub parent: Option<EvidenceId>,
    /// Which version.
    pub seq: i64,
    /// The record's entry, less its id and what belongs to it.
    pub body: Body,
    /// The shop's own beside it.
    pub own: Own,
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
    /// What it is.
    pub const fn kind(&self) -> Kind {
        self.body.kind()
    }

    /// Its entry, where it is of this kind.
    pub fn get<T: Entry>(&self) -> Option<&T> {
        self.body.get()
    }
}

/// A version to be written.
#[derive(Debug, Clone)]
pub struct Version {
    /// The record's entry, less its id.
    pub body: Body,
    /// The shop's own beside it.
    pub own: Own,
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

impl Version {
    /// A version that says this and nothing else.
    pub fn new(body: impl Into<Body>) -> Self {
        let (body, own) = (body.into(), Own::default());
        Self {
            body,
            own,
            at: None,
            approximate: false,
            withdrawn: false,
            why: String::new(),
            instrument: None,
            cylinder: None,
            yard: None,
        }
    }

    /// As it is stored, and as the audit trail tells it.
    pub const fn stored(&self) -> Stored<'_> {
        Stored {
            body: &self.body,
            own: &self.own,
        }
    }
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
pub async fn add(
    conn: &mut Conn,
    id: EvidenceId,
    order: OrderId,
    parent: Option<EvidenceId>,
    version: &Version,
    by: Entering,
) -> Result<String> {
    let kind = version.body.kind();
    let (word, letter) = (kind.word(), kind.letter());
    let count = sqlx::query_scalar!(
        "SELECT count(*) FROM evidence WHERE work_order = ? AND kind = ?",
        order,
        word
    )
    .fetch_one(&mut *conn)
    .await?;
    let mark = match kind.place() {
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
    add_version(conn, id, version, by).await?;
    Ok(mark)
}

/// Adds a version to a piece: a correction, a withdrawal, the end of a hold.
pub async fn add_version(
    conn: &mut Conn,
    id: EvidenceId,
    version: &Version,
    by: Entering,
) -> Result<()> {
    let word = version.body.kind().word();
    let body =
        serde_json::to_string(&version.stored()).map_err(|e| StoreError::stored("evidence", e))?;
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

/// What is stored of a piece, by the word of its kind.
pub fn read(word: &str, stored: &str) -> Result<(Body, Own)> {
    let kind = Kind::from_word(word)
        .ok_or_else(|| StoreError::stored("evidence", format!("no kind is called {word}")))?;
    let wrong = |e| StoreError::stored(format!("evidence ({word})"), e);
    body::read(kind, serde_json::from_str(stored).map_err(wrong)?).map_err(wrong)
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
            let (body, own) = read(&row.kind, &row.body)?;
            Ok(Piece {
                id: row.id,
                mark: row.mark,
                parent: row.parent,
                seq: row.seq,
                body,
                own,
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
