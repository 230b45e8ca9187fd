//! Sessions: who is at which tablet now; and what had been typed when one ended.
use super::{Conn, Result, StoreError};
use crate::shop::{Actor, DeviceId, Instant, PersonId, Roles};
use uuid::Uuid;

/// Begins a session; one on the same device ends.
pub async fn begin(
    conn: &mut Conn,
    token_hash: &[u8],
    person: PersonId,
    device: DeviceId,
    now: Instant,
) -> Result<()> {
    sqlx::query!(
        "UPDATE session SET ended_at = ? WHERE device = ? AND ended_at IS NULL",
        now,
        device
    )
    .execute(&mut *conn)
    .await?;
    sqlx::query!("INSERT INTO session (token_hash, person, device, began_at, seen_at) VALUES (?, ?, ?, ?, ?)", token_hash, person, device, now, now)
        .execute(conn)
        .await?;
    Ok(())
}

/// Ends a session; gives whose it was and where, unless it had ended before.
pub async fn end(
    conn: &mut Conn,
    token_hash: &[u8],
    now: Instant,
) -> Result<Option<(PersonId, DeviceId)>> {
    let row = sqlx::query!(
        r#"UPDATE session SET ended_at = ? WHERE token_hash = ? AND ended_at IS NULL RETURNING person AS "person: PersonId", device AS "device: DeviceId""#,
        now,
        token_hash
    )
    .fetch_optional(conn)
    .await?;
    Ok(row.map(|r| (r.person, r.device)))
}

/// Ends all sessions of a person: the code or the roles changed.
pub async fn end_of_person(conn: &mut Conn, person: PersonId, now: Instant) -> Result<()> {
    sqlx::query!(
        "UPDATE session SET ended_at = ? WHERE person = ? AND ended_at IS NULL",
        now,
        person
    )
    .execute(conn)
    .await?;
    Ok(())
}

/// Who is signed in with this token on this device, and when last seen.
pub async fn actor(
    conn: &mut Conn,
    token_hash: &[u8],
    device: DeviceId,
) -> Result<Option<(Actor, Instant)>> {
    let row = sqlx::query!(
        r#"SELECT p.id AS "id: PersonId", p.name, s.seen_at AS "seen_at: Instant",
           (SELECT group_concat(role) FROM person_role r WHERE r.person = p.id) AS "roles: String"
           FROM session s JOIN person p ON p.id = s.person
           WHERE s.token_hash = ? AND s.device = ? AND s.ended_at IS NULL AND p.retired_at IS NULL"#,
        token_hash,
        device
    )
    .fetch_optional(conn)
    .await?;
    Ok(row.map(|row| {
        let roles = Roles::from_words(row.roles.as_deref().unwrap_or_default().split(','));
        (
            Actor {
                person: row.id,
                name: row.name,
                roles,
                device: Some(device),
            },
            row.seen_at,
        )
    }))
}

/// Notes that a session was used.
pub async fn touch(conn: &mut Conn, token_hash: &[u8], now: Instant) -> Result<()> {
    sqlx::query!(
        "UPDATE session SET seen_at = ? WHERE token_hash = ?",
        now,
        token_hash
    )
    .execute(conn)
    .await?;
    Ok(())
}

/// Keeps what was typed into the form at `path` when nobody was signed in any more.
pub async fn keep_typed(
    conn: &mut Conn,
    id: Uuid,
    device: DeviceId,
    path: &str,
    fields: &[(String, String)],
    now: Instant,
) -> Result<()> {
    let fields = serde_json::to_string(fields).map_err(|e| StoreError::stored("typed form", e))?;
    sqlx::query!(
        "INSERT INTO typed_form (id, device, path, fields, kept_at) VALUES (?, ?, ?, ?, ?)",
        id,
        device,
        path,
        fields,
        now
    )
    .execute(&mut *conn)
    .await?;
    let old = now.plus_minutes(-24 * 60);
    sqlx::query!("DELETE FROM typed_form WHERE kept_at < ?", old)
        .execute(conn)
        .await?;
    Ok(())
}

/// Gives back what was typed: the form's path and its fields.
pub async fn typed(
    conn: &mut Conn,
    id: Uuid,
    device: DeviceId,
) -> Result<Option<(String, Vec<(String, String)>)>> {
    let row = sqlx::query!(
        "SELECT path, fields FROM typed_form WHERE id = ? AND device = ?",
        id,
        device
    )
    .fetch_optional(conn)
    .await?;
    row.map(|r| {
        serde_json::from_str(&r.fields)
            .map(|fields| (r.path, fields))
            .map_err(|e| StoreError::stored("typed form", e))
    })
    .transpose()
}
