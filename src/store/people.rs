//! People, their roles and codes; devices and the codes that admit them.
use super::{Conn, Result};
use crate::shop::{DeviceId, Instant, PersonId, Role, Roles};

/// Somebody who works here.
#[derive(Debug, Clone)]
pub struct Person {
    /// Identity.
    pub id: PersonId,
    /// As it is printed.
    pub name: String,
    /// What this person may do.
    pub roles: Roles,
    /// The Argon2 hash of the code.
    pub code_hash: String,
    /// Certificate for refrigerants, its number.
    pub certificate: String,
    /// Valid until, a date.
    pub certificate_until: Option<String>,
    /// No longer works here since.
    pub retired_at: Option<Instant>,
    /// For optimistic locking.
    pub version: i64,
}

/// A tablet or computer that was admitted.
#[derive(Debug, Clone)]
pub struct Device {
    /// Identity.
    pub id: DeviceId,
    /// What people call it.
    pub name: String,
    /// Since when.
    pub admitted_at: Instant,
    /// Until when.
    pub ended_at: Option<Instant>,
}

macro_rules! person {
    ($row:expr) => {
        Person {
            id: $row.id,
            roles: Roles::from_words($row.roles.as_deref().unwrap_or_default().split(',')),
            name: $row.name,
            code_hash: $row.code_hash,
            certificate: $row.certificate,
            certificate_until: $row.certificate_until,
            retired_at: $row.retired_at,
            version: $row.version,
        }
    };
}

/// Everybody, those who left last.
pub async fn all(conn: &mut Conn) -> Result<Vec<Person>> {
    let rows = sqlx::query!(
        r#"SELECT id AS "id: PersonId", name, code_hash, certificate, certificate_until, retired_at AS "retired_at: Instant", version,
           (SELECT group_concat(role) FROM person_role WHERE person = person.id) AS "roles: String"
           FROM person ORDER BY retired_at IS NOT NULL, name COLLATE NOCASE"#
    )
    .fetch_all(conn)
    .await?;
    Ok(rows.into_iter().map(|row| person!(row)).collect())
}

/// One person.
pub async fn find(conn: &mut Conn, id: PersonId) -> Result<Option<Person>> {
    let row = sqlx::query!(
        r#"SELECT id AS "id: PersonId", name, code_hash, certificate, certificate_until, retired_at AS "retired_at: Instant", version,
           (SELECT group_concat(role) FROM person_role WHERE person = person.id) AS "roles: String"
           FROM person WHERE id = ?"#,
        id
    )
    .fetch_optional(conn)
    .await?;
    Ok(row.map(|row| person!(row)))
}

/// Adds a person.
pub async fn add(conn: &mut Conn, person: &Person, now: Instant) -> Result<()> {
    let salt: [u8; 16] = rand::random();
    let salt = salt.to_vec();
    sqlx::query!(
        "INSERT INTO person (id, name, code_hash, certificate, certificate_until, salt, made_at) VALUES (?, ?, ?, ?, ?, ?, ?)",
        person.id,
        person.name,
        person.code_hash,
        person.certificate,
        person.certificate_until,
        salt,
        now
    )
    .execute(&mut *conn)
    .await?;
    set_roles(conn, person.id, person.roles).await
}

/// Writes a person's particulars if the version is still `person.version`; says whether it was.
pub async fn update(conn: &mut Conn, person: &Person) -> Result<bool> {
    let done = sqlx::query!(
        "UPDATE person SET name = ?, code_hash = ?, certificate = ?, certificate_until = ?, retired_at = ?, version = version + 1 WHERE id = ? AND version = ?",
        person.name,
        person.code_hash,
        person.certificate,
        person.certificate_until,
        person.retired_at,
        person.id,
        person.version
    )
    .execute(&mut *conn)
    .await?
    .rows_affected();
    if done == 1 {
        set_roles(conn, person.id, person.roles).await?;
    }
    Ok(done == 1)
}

async fn set_roles(conn: &mut Conn, person: PersonId, roles: Roles) -> Result<()> {
    sqlx::query!("DELETE FROM person_role WHERE person = ?", person)
        .execute(&mut *conn)
        .await?;
    for role in roles.list().map(Role::word) {
        sqlx::query!(
            "INSERT INTO person_role (person, role) VALUES (?, ?)",
            person,
            role
        )
        .execute(&mut *conn)
        .await?;
    }
    Ok(())
}

/// All devices, the ended ones last.
pub async fn devices(conn: &mut Conn) -> Result<Vec<Device>> {
    Ok(sqlx::query_as!(
        Device,
        r#"SELECT id AS "id: DeviceId", name, admitted_at AS "admitted_at: Instant", ended_at AS "ended_at: Instant"
           FROM device ORDER BY ended_at IS NOT NULL, name COLLATE NOCASE"#
    )
    .fetch_all(conn)
    .await?)
}

/// The admitted device with this token's hash.
pub async fn device_by_token(conn: &mut Conn, token_hash: &[u8]) -> Result<Option<Device>> {
    Ok(sqlx::query_as!(
        Device,
        r#"SELECT id AS "id: DeviceId", name, admitted_at AS "admitted_at: Instant", ended_at AS "ended_at: Instant"
           FROM device WHERE token_hash = ? AND ended_at IS NULL"#,
        token_hash
    )
    .fetch_optional(conn)
    .await?)
}

/// Admits a device.
pub async fn admit(
    conn: &mut Conn,
    id: DeviceId,
    name: &str,
    token_hash: &[u8],
    by: PersonId,
    now: Instant,
) -> Result<()> {
    sqlx::query!("INSERT INTO device (id, name, token_hash, admitted_at, admitted_by) VALUES (?, ?, ?, ?, ?)", id, name, token_hash, now, by)
        .execute(conn)
        .await?;
    Ok(())
}

/// Shuts a device out, and ends what ran on it.
pub async fn end_device(conn: &mut Conn, id: DeviceId, now: Instant) -> Result<()> {
    sqlx::query!(
        "UPDATE device SET ended_at = ? WHERE id = ? AND ended_at IS NULL",
        now,
        id
    )
    .execute(&mut *conn)
    .await?;
    sqlx::query!(
        "UPDATE session SET ended_at = ? WHERE device = ? AND ended_at IS NULL",
        now,
        id
    )
    .execute(conn)
    .await?;
    Ok(())
}

/// Keeps a code that admits one device until it expires.
pub async fn add_admission(
    conn: &mut Conn,
    code_hash: &[u8],
    device_name: &str,
    by: PersonId,
    now: Instant,
    until: Instant,
) -> Result<()> {
    sqlx::query!("INSERT INTO admission (code_hash, device_name, made_by, made_at, expires_at) VALUES (?, ?, ?, ?, ?)", code_hash, device_name, by, now, until)
        .execute(conn)
        .await?;
    Ok(())
}

/// Uses an admission code up; gives the device's name and who made the code, or nothing where it does not hold.
pub async fn use_admission(
    conn: &mut Conn,
    code_hash: &[u8],
    now: Instant,
) -> Result<Option<(String, PersonId)>> {
    let row = sqlx::query!(
        r#"UPDATE admission SET used_at = ? WHERE code_hash = ? AND used_at IS NULL AND expires_at > ?
           RETURNING device_name, made_by AS "made_by: PersonId""#,
        now,
        code_hash,
        now
    )
    .fetch_optional(conn)
    .await?;
    Ok(row.map(|r| (r.device_name, r.made_by)))
}
