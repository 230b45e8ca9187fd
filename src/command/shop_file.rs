//! The shop's file: copies, the audit trail, people's codes.
use super::{files_beside, runtime};
use crate::clock;
use anyhow::{Context, bail};
use chillwright::{store::Store, work::codes::Codes};
use std::path::Path;

pub fn backup(folder: &Path, file: &Path) -> anyhow::Result<()> {
    there(file)?;
    let name = format!(
        "chillwright-{}",
        clock().rfc3339().replace([':', '-'], "").replace('.', "-")
    );
    let copied = runtime()?.block_on(chillwright::store::backup::backup(
        file,
        &files_beside(file),
        folder,
        &name,
    ))?;
    println!(
        "{}: {}, {} photographs, audit head {}",
        copied.folder.display(),
        entries_told(copied.entries),
        copied.photographs,
        copied.head
    );
    Ok(())
}

pub fn restore(folder: &Path, file: &Path) -> anyhow::Result<()> {
    let (entries, head) = runtime()?.block_on(chillwright::store::backup::restore(
        folder,
        file,
        &files_beside(file),
    ))?;
    println!(
        "{}: {}, audit head {head}",
        file.display(),
        entries_told(entries)
    );
    Ok(())
}

pub fn audit(file: &Path) -> anyhow::Result<()> {
    there(file)?;
    runtime()?.block_on(async {
        let store = Store::look(file).await?;
        let (entries, head) = {
            let mut conn = store.read().await?;
            (
                chillwright::store::audit::verify(&mut conn).await?,
                chillwright::store::audit::head(&mut conn).await?,
            )
        };
        store.close().await;
        println!(
            "{}, each linked to the one before; audit head {head}",
            entries_told(entries)
        );
        Ok(())
    })
}

pub fn person(name: Option<&str>, file: &Path) -> anyhow::Result<()> {
    there(file)?;
    runtime()?.block_on(async {
        let store = Store::open(file).await?;
        let everybody = chillwright::store::people::all(&mut *store.read().await?).await?;
        match name {
            None => everybody.iter().for_each(|p| {
                println!(
                    "{}: {}{}",
                    p.name,
                    p.roles.words(),
                    if p.retired_at.is_some() {
                        "; no longer works here"
                    } else {
                        ""
                    }
                )
            }),
            Some(name) => {
                let person = everybody
                    .into_iter()
                    .find(|p| p.name == name)
                    .with_context(|| format!("there is nobody called {name}"))?;
                eprintln!("New code for {name}, six digits or more:");
                let mut code = String::new();
                std::io::stdin().read_line(&mut code)?;
                let code_hash = Codes::strong()
                    .hash(code.trim())
                    .map_err(anyhow::Error::msg)?;
                chillwright::work::people::reset_code(&store, person, code_hash, clock()).await?;
                println!("{name} has a new code and is signed out everywhere.");
            }
        }
        store.close().await;
        Ok(())
    })
}

/// A mistyped path must not make a new shop.
fn there(file: &Path) -> anyhow::Result<()> {
    if file.exists() {
        Ok(())
    } else {
        bail!("{} does not exist", file.display())
    }
}

/// Entries of the audit trail, counted.
fn entries_told(n: i64) -> String {
    if n == 1 {
        "1 audit entry".to_owned()
    } else {
        format!("{n} audit entries")
    }
}
