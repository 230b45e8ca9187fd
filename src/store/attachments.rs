//! Photographs and papers: rows here, files beside the database under their SHA-256.
use super::{Conn, Result};
use crate::shop::{AttachmentId, AttachmentKind, EvidenceId, Instant, OrderId, PersonId};

/// A photograph.
#[derive(Debug, Clone)]
pub struct Attachment {
    /// Identity.
    pub id: AttachmentId,
    /// What it shows.
    pub kind: AttachmentKind,
    /// Name of the file.
    pub sha256: String,
    /// Size, bytes.
    pub bytes: i64,
    /// Pixels.
    pub width: i64,
    /// Pixels.
    pub height: i64,
    /// What it shows.
    pub says: String,
    /// The piece of evidence that it shows; `None` for the car.
    pub evidence: Option<EvidenceId>,
    /// When it was kept.
    pub at: Instant,
}

/// The photographs of an order, oldest first.
pub async fn of_order(conn: &mut Conn, order: OrderId) -> Result<Vec<Attachment>> {
    Ok(sqlx::query_as!(
        Attachment,
        r#"SELECT id AS "id: AttachmentId", kind AS "kind: AttachmentKind", sha256, bytes, width, height, says, evidence AS "evidence: EvidenceId", at AS "at: Instant" FROM attachment WHERE work_order = ? ORDER BY at, rowid"#,
        order
    )
    .fetch_all(conn)
    .await?)
}

/// The photographs of one piece of evidence, oldest first.
pub async fn of_piece(conn: &mut Conn, piece: EvidenceId) -> Result<Vec<Attachment>> {
    Ok(sqlx::query_as!(
        Attachment,
        r#"SELECT id AS "id: AttachmentId", kind AS "kind: AttachmentKind", sha256, bytes, width, height, says, evidence AS "evidence: EvidenceId", at AS "at: Instant"
           FROM attachment WHERE evidence = ? ORDER BY at, rowid"#,
        piece
    )
    .fetch_all(conn)
    .await?)
}

/// Adds one.
pub async fn add(conn: &mut Conn, order: OrderId, a: &Attachment, by: PersonId) -> Result<()> {
    sqlx::query!(
        "INSERT INTO attachment (id, work_order, evidence, kind, sha256, media_type, bytes, width, height, says, person, at) VALUES (?, ?, ?, ?, ?, 'image/jpeg', ?, ?, ?, ?, ?, ?)",
        a.id, order, a.evidence, a.kind, a.sha256, a.bytes, a.width, a.height, a.says, by, a.at
    )
    .execute(conn)
    .await?;
    Ok(())
}

/// Names of all files that rows speak of.
pub async fn all_files(conn: &mut Conn) -> Result<Vec<String>> {
    Ok(
        sqlx::query_scalar!("SELECT DISTINCT sha256 FROM attachment")
            .fetch_all(conn)
            .await?,
    )
}
