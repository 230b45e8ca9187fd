//! The audit chain: each entry carries the hash of the one before and of its own content.
use super::{Conn, Result, StoreError};
use crate::shop::{DeedId, DeviceId, Instant, OrderId, PersonId};
use sha2::{Digest, Sha256};

/// An entry to be written.
#[derive(Debug)]
pub struct Entry<'a> {
    /// The deed's id, made by the client.
    pub deed: DeedId,
    /// What kind of deed: `reading-taken`.
    pub kind: &'a str,
    /// The order that it concerns.
    pub order: Option<OrderId>,
    /// Who did it.
    pub person: Option<PersonId>,
    /// At which tablet.
    pub device: Option<DeviceId>,
    /// When.
    pub at: Instant,
    /// What; nothing personal but hashes.
    pub content: &'a serde_json::Value,
}

/// Version of the hashed form: the first byte that is hashed.
const FORM: u8 = 1;

/// Adds an entry at the end of the chain; gives the new head.
pub async fn add(conn: &mut Conn, entry: &Entry<'_>) -> Result<[u8; 32]> {
    let last = sqlx::query!(r#"SELECT seq, hash FROM audit_entry ORDER BY seq DESC LIMIT 1"#)
        .fetch_optional(&mut *conn)
        .await?;
    let (seq, before) = last.map_or((1, vec![0; 32]), |row| (row.seq + 1, row.hash));
    let content = canonical(entry.content);
    let hash = hash_of(seq, entry, &content, &before);
    let (deed, kind, order, person, device, at) = (
        entry.deed,
        entry.kind,
        entry.order,
        entry.person,
        entry.device,
        entry.at,
    );
    let bytes = hash.to_vec();
    sqlx::query!(
        "INSERT INTO audit_entry (seq, deed, kind, work_order, person, device, at, content, before, hash) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        seq,
        deed,
        kind,
        order,
        person,
        device,
        at,
        content,
        before,
        bytes
    )
    .execute(conn)
    .await?;
    Ok(hash)
}

/// The head of the chain; zeros where nothing was done yet.
pub async fn head(conn: &mut Conn) -> Result<String> {
    let row = sqlx::query!("SELECT hash FROM audit_entry ORDER BY seq DESC LIMIT 1")
        .fetch_optional(conn)
        .await?;
    Ok(row.map_or_else(|| "0".repeat(64), |r| hex::encode(r.hash)))
}

/// The number of the last deed that concerned an order; 0 where there is none.
pub async fn last_of(conn: &mut Conn, order: OrderId) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        r#"SELECT coalesce(max(seq), 0) AS "seq!: i64" FROM audit_entry WHERE work_order = ?"#,
        order
    )
    .fetch_one(conn)
    .await?)
}

/// Walks the whole chain; gives the number of entries, or says which one does not fit.
pub async fn verify(conn: &mut Conn) -> Result<i64> {
    let rows = sqlx::query!(
        r#"SELECT seq, deed AS "deed: DeedId", kind, work_order AS "order: OrderId", person AS "person: PersonId", device AS "device: DeviceId",
           at AS "at: Instant", content, before, hash FROM audit_entry ORDER BY seq"#
    )
    .fetch_all(conn)
    .await?;
    let mut before = vec![0; 32];
    for (index, row) in rows.iter().enumerate() {
        let broken = |why: &str| StoreError::stored(format!("audit entry {}", row.seq), why);
        let content: serde_json::Value =
            serde_json::from_str(&row.content).map_err(|e| broken(&e.to_string()))?;
        let entry = Entry {
            deed: row.deed,
            kind: &row.kind,
            order: row.order,
            person: row.person,
            device: row.device,
            at: row.at,
            content: &content,
        };
        if row.seq != index as i64 + 1
            || row.before != before
            || row.hash != hash_of(row.seq, &entry, &row.content, &before)
        {
            return Err(broken("it does not follow from the one before"));
        }
        before.clone_from(&row.hash);
    }
    Ok(rows.len() as i64)
}

/// The kind of an earlier deed with this id, and whether its form said the same.
pub async fn seen(conn: &mut Conn, deed: DeedId, form: &str) -> Result<Option<Seen>> {
    let row = sqlx::query!(
        r#"SELECT a.kind, s.salt AS "salt?", s.hash AS "hash?" FROM audit_entry a LEFT JOIN deed_seen s ON s.deed = a.deed WHERE a.deed = ?"#,
        deed
    )
    .fetch_optional(conn)
    .await?;
    Ok(row.map(|row| Seen {
        same: row
            .salt
            .zip(row.hash)
            .is_some_and(|(salt, hash)| salted(&salt, form).as_slice() == hash),
        kind: row.kind,
    }))
}

/// An earlier deed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seen {
    /// What kind.
    pub kind: String,
    /// Whether its form had the same content.
    pub same: bool,
}

/// What the audit trail tells of a deed, and when it was.
#[derive(Debug, Clone)]
pub struct Told {
    /// What kind: `line-added`.
    pub kind: String,
    /// The order that it concerned.
    pub order: Option<OrderId>,
    /// When.
    pub at: Instant,
    /// What.
    pub content: serde_json::Value,
}

/// The entry of a deed.
pub async fn told(conn: &mut Conn, deed: DeedId) -> Result<Option<Told>> {
    let row = sqlx::query!(r#"SELECT kind, work_order AS "order: OrderId", at AS "at: Instant", content FROM audit_entry WHERE deed = ?"#, deed)
        .fetch_optional(conn)
        .await?;
    row.map(|row| {
        let content =
            serde_json::from_str(&row.content).map_err(|e| StoreError::stored("audit entry", e))?;
        Ok(Told {
            kind: row.kind,
            order: row.order,
            at: row.at,
            content,
        })
    })
    .transpose()
}

/// What the audit trail tells of a deed.
pub async fn content(conn: &mut Conn, deed: DeedId) -> Result<Option<serde_json::Value>> {
    Ok(told(conn, deed).await?.map(|told| told.content))
}

/// The number of the last deed that concerned no order in particular: people, instruments, settings; 0 where there is none.
pub async fn last_of_shop(conn: &mut Conn) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        r#"SELECT coalesce(max(seq), 0) AS "seq!: i64" FROM audit_entry WHERE work_order IS NULL"#
    )
    .fetch_one(conn)
    .await?)
}

/// The last deed of each open order.
pub async fn last_of_open(conn: &mut Conn) -> Result<Vec<(i64, i64)>> {
    let rows = sqlx::query!(
        r#"SELECT o.number AS "number!: i64", coalesce(max(a.seq), 0) AS "seq!: i64"
           FROM work_order o LEFT JOIN audit_entry a ON a.work_order = o.id WHERE o.state = 'open' GROUP BY o.id ORDER BY o.number"#
    )
    .fetch_all(conn)
    .await?;
    Ok(rows.into_iter().map(|r| (r.number, r.seq)).collect())
}

/// Remembers what a deed's form said, as a salted hash.
pub async fn remember(conn: &mut Conn, deed: DeedId, form: &str) -> Result<()> {
    let salt: [u8; 16] = rand::random();
    let (salt, hash) = (salt.to_vec(), salted(&salt, form).to_vec());
    sqlx::query!(
        "INSERT INTO deed_seen (deed, salt, hash) VALUES (?, ?, ?)",
        deed,
        salt,
        hash
    )
    .execute(conn)
    .await?;
    Ok(())
}

/// SHA-256 of salt and text: how something personal enters the chain.
pub fn salted(salt: &[u8], text: &str) -> [u8; 32] {
    Sha256::new()
        .chain_update(salt)
        .chain_update(text)
        .finalize()
        .into()
}

fn hash_of(seq: i64, entry: &Entry<'_>, content: &str, before: &[u8]) -> [u8; 32] {
    let head = serde_json::json!([
        seq,
        entry.deed,
        entry.kind,
        entry.order,
        entry.person,
        entry.device,
        entry.at
    ])
    .to_string();
    Sha256::new()
        .chain_update([FORM])
        .chain_update((head.len() as u64).to_be_bytes())
        .chain_update(head)
        .chain_update((content.len() as u64).to_be_bytes())
        .chain_update(content)
        .chain_update(before)
        .finalize()
        .into()
}

/// JSON with the keys of every object in order, so that the same content always hashes alike.
pub fn canonical(value: &serde_json::Value) -> String {
    let mut sorted = value.clone();
    sorted.sort_all_objects();
    sorted.to_string()
}
