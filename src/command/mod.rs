//! What each command does.
mod record;
mod serve;
mod shop_file;

pub use record::{assess, list_rules, schema};
pub use serve::{demo, serve};
pub use shop_file::{audit, backup, person, restore};

use anyhow::Context;
use std::path::{Path, PathBuf};

fn runtime() -> anyhow::Result<tokio::runtime::Runtime> {
    tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .context("the runtime could not be started")
}

/// Where the photographs lie.
fn files_beside(file: &Path) -> PathBuf {
    file.with_extension("files")
}
