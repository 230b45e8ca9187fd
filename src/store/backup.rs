//! Backup while serving: a whole copy of the database, verified, with the photographs.
use super::{Result, Store, StoreError, attachments, audit};
use sha2::{Digest, Sha256};
use sqlx::Row;
use std::path::{Path, PathBuf};

/// What was copied.
#[derive(Debug)]
pub struct Copied {
    /// The folder that holds the copy.
    pub folder: PathBuf,
    /// Audit entries in it.
    pub entries: i64,
    /// Head of the audit chain.
    pub head: String,
    /// Photographs in it.
    pub photographs: usize,
}

/// Name of the database inside a backup.
pub const DATABASE: &str = "chillwright.db";
/// Folder of the photographs inside a backup.
pub const FILES: &str = "chillwright.files";

fn disk(what: &str) -> impl Fn(std::io::Error) -> StoreError + '_ {
    move |e| StoreError::refused(format!("{what}: {e}"))
}

/// Copies the shop into `into/name`. The copy is made under another name, verified, and only then given its own.
pub async fn backup(file: &Path, files: &Path, into: &Path, name: &str) -> Result<Copied> {
    let target = into.join(name);
    if target.exists() {
        return Err(StoreError::refused(format!(
            "{} already exists",
            target.display()
        )));
    }
    let temporary = into.join(format!("{name}.part"));
    let _ = std::fs::remove_dir_all(&temporary);
    std::fs::create_dir_all(temporary.join(FILES)).map_err(disk("backup folder"))?;
    let store = Store::look(file).await?;
    let copy = temporary.join(DATABASE);
    {
        let mut conn = store.read().await?;
        // A reader may not write; VACUUM INTO writes to another file only, so that this connection alone is let.
        sqlx::raw_sql("PRAGMA query_only = OFF")
            .execute(&mut *conn)
            .await?;
        let path = copy.to_string_lossy().into_owned();
        sqlx::query!("VACUUM INTO ?", path)
            .execute(&mut *conn)
            .await?;
        sqlx::raw_sql("PRAGMA query_only = ON")
            .execute(&mut *conn)
            .await?;
    }
    store.close().await;
    let (entries, head, names) = verify(&copy).await?;
    for name in &names {
        copy_photograph(files, &temporary.join(FILES), name)?;
    }
    for path in [
        copy.as_path(),
        temporary.join(FILES).as_path(),
        temporary.as_path(),
    ] {
        std::fs::File::open(path)
            .and_then(|f| f.sync_all())
            .map_err(disk("backup"))?;
    }
    std::fs::rename(&temporary, &target).map_err(disk("backup"))?;
    std::fs::File::open(into)
        .and_then(|f| f.sync_all())
        .map_err(disk("backup"))?;
    Ok(Copied {
        folder: target,
        entries,
        head,
        photographs: names.len(),
    })
}

/// Copies a photograph, and looks whether it is the one that its name says.
fn copy_photograph(from: &Path, to: &Path, name: &str) -> Result<()> {
    let file = format!("{name}.jpg");
    let bytes = std::fs::read(from.join(&file)).map_err(disk("photograph"))?;
    if hex::encode(Sha256::digest(&bytes)) != name {
        return Err(StoreError::refused(format!(
            "photograph {name} is damaged: its content does not match its name"
        )));
    }
    std::fs::write(to.join(&file), &bytes).map_err(disk("photograph"))?;
    std::fs::File::open(to.join(&file))
        .and_then(|f| f.sync_all())
        .map_err(disk("photograph"))
}

/// Opens a copy, checks every page of it and the audit chain.
async fn verify(copy: &Path) -> Result<(i64, String, Vec<String>)> {
    let store = Store::look(copy).await?;
    let found = {
        let mut conn = store.read().await?;
        let said: String = sqlx::raw_sql("PRAGMA integrity_check")
            .fetch_one(&mut *conn)
            .await?
            .try_get(0)?;
        if said != "ok" {
            return Err(StoreError::refused(format!("the copy is damaged: {said}")));
        }
        (
            audit::verify(&mut conn).await?,
            audit::head(&mut conn).await?,
            attachments::all_files(&mut conn).await?,
        )
    };
    store.close().await;
    Ok(found)
}

/// Puts a backup in place. Never over a file that is there.
pub async fn restore(from: &Path, file: &Path, files: &Path) -> Result<(i64, String)> {
    if file.exists() {
        return Err(StoreError::refused(format!(
            "{} already exists; move it first",
            file.display()
        )));
    }
    let source = from.join(DATABASE);
    if !source.exists() {
        return Err(StoreError::refused(format!(
            "{} is not a backup",
            from.display()
        )));
    }
    let temporary = file.with_extension("part");
    std::fs::copy(&source, &temporary).map_err(disk("database"))?;
    let (entries, head, names) = verify(&temporary).await?;
    std::fs::create_dir_all(files).map_err(disk("photographs"))?;
    for name in names {
        copy_photograph(&from.join(FILES), files, &name)?;
    }
    std::fs::File::open(&temporary)
        .and_then(|f| f.sync_all())
        .map_err(disk("database"))?;
    std::fs::rename(&temporary, file).map_err(disk("database"))?;
    Ok((entries, head))
}
