//! Build script: runs the migrations into a database that `sqlx::query!` is checked against.
use std::{env, error::Error, path::Path};

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo::rerun-if-changed=migrations");
    let file = Path::new(&env::var("OUT_DIR")?).join("schema.db");
    // A fresh file each time: a migration that was edited before it shipped must not meet its own past.
    for end in ["", "-wal", "-shm"] {
        let _ = std::fs::remove_file(format!("{}{end}", file.display()));
    }
    let url = format!("sqlite://{}?mode=rwc", file.display());
    tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()?
        .block_on(async {
            let pool = sqlx::SqlitePool::connect(&url).await?;
            sqlx::migrate::Migrator::new(Path::new("migrations"))
                .await?
                .run(&pool)
                .await?;
            pool.close().await;
            Ok::<_, Box<dyn Error>>(())
        })?;
    println!("cargo::rustc-env=DATABASE_URL=sqlite://{}", file.display());
    Ok(())
}
