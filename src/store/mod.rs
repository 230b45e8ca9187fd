//! SQLite: the only room with SQL. One file for each aggregate; rows become domain types at this border.
//!
//! One writer connection, a pool of readers. Every function takes a connection, so that a deed strings several into one transaction.
pub mod assessment;
pub mod attachments;
pub mod audit;
pub mod backup;
pub mod contaminated;
pub mod customers;
pub mod evidence;
pub mod handovers;
pub mod lines;
pub mod money;
pub mod orders;
pub mod parts;
pub mod people;
pub mod record;
pub mod sent_back;
pub mod sessions;
pub mod shop;
pub mod stages;
pub mod things;

use crate::shop::OrderId;
use sqlx::{
    Sqlite, SqlitePool, Transaction,
    pool::PoolConnection,
    sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePoolOptions, SqliteSynchronous},
};
use std::{path::Path, time::Duration};
use tokio::sync::broadcast;

/// What can go wrong between the house and its file.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// The database refused or could not be reached.
    #[error("the database: {0}")]
    Database(#[from] sqlx::Error),
    /// The migrations could not be brought up.
    #[error("the database's migrations: {0}")]
    Migration(#[from] sqlx::migrate::MigrateError),
    /// A copy cannot be made or put in place; a sentence that says why.
    #[error("{0}")]
    Refused(String),
    /// Something stored could not be read back.
    #[error("stored {what} cannot be read: {why}")]
    Stored {
        /// What it was.
        what: String,
        /// What was wrong with it.
        why: String,
    },
}

impl StoreError {
    /// A copy that cannot be made or put in place.
    pub fn refused(says: impl Into<String>) -> Self {
        Self::Refused(says.into())
    }

    /// Something stored that cannot be read back.
    pub fn stored(what: impl Into<String>, why: impl std::fmt::Display) -> Self {
        Self::Stored {
            what: what.into(),
            why: why.to_string(),
        }
    }
}

/// The answer of the store.
pub type Result<T> = std::result::Result<T, StoreError>;
/// A connection, inside a transaction or not.
pub type Conn = sqlx::SqliteConnection;

/// The shop's file.
#[derive(Debug, Clone)]
pub struct Store {
    writer: SqlitePool,
    readers: SqlitePool,
    news: broadcast::Sender<OrderId>,
}

/// So many orders may be told of before somebody who listens looks for himself.
const NEWS: usize = 256;

fn options(file: &Path) -> SqliteConnectOptions {
    SqliteConnectOptions::new()
        .filename(file)
        // Every write that a user sees acknowledged survives a pulled plug.
        .synchronous(SqliteSynchronous::Full)
        .foreign_keys(true)
        // Else INSERT OR REPLACE would slip past the append-only triggers.
        .pragma("recursive_triggers", "ON")
        .busy_timeout(Duration::from_secs(10))
}

impl Store {
    /// Opens the file, makes it where there is none, and brings its migrations up.
    pub async fn open(file: &Path) -> Result<Self> {
        let options = options(file)
            .create_if_missing(true)
            .journal_mode(SqliteJournalMode::Wal);
        let writer = SqlitePoolOptions::new()
            .max_connections(1)
            .idle_timeout(None)
            .max_lifetime(None)
            .connect_with(options.clone())
            .await?;
        sqlx::migrate!("./migrations").run(&writer).await?;
        let readers = SqlitePoolOptions::new()
            .max_connections(4)
            .connect_with(options.pragma("query_only", "ON"))
            .await?;
        Ok(Self {
            writer,
            readers,
            news: broadcast::channel(NEWS).0,
        })
    }

    /// Opens a file only to look at it: it is not made, not brought up and not written, so that a newer program may copy or verify what an
    /// older one serves.
    pub async fn look(file: &Path) -> Result<Self> {
        let readers = SqlitePoolOptions::new()
            .max_connections(1)
            .connect_with(options(file).pragma("query_only", "ON"))
            .await?;
        Ok(Self {
            writer: readers.clone(),
            readers,
            news: broadcast::channel(NEWS).0,
        })
    }

    /// A connection for reading.
    pub async fn read(&self) -> Result<PoolConnection<Sqlite>> {
        Ok(self.readers.acquire().await?)
    }

    /// The writer's transaction, begun so that no other writer comes between.
    pub async fn write(&self) -> Result<Transaction<'static, Sqlite>> {
        Ok(self.writer.begin_with("BEGIN IMMEDIATE").await?)
    }

    /// The writer's connection outside a transaction: for its pragmas in tests and for `VACUUM INTO`.
    pub async fn writer(&self) -> Result<PoolConnection<Sqlite>> {
        Ok(self.writer.acquire().await?)
    }

    /// Tells whoever listens that something was kept of this order. Nobody may be listening.
    pub fn tell(&self, order: OrderId) {
        let _ = self.news.send(order);
    }

    /// The orders of which something is kept from now on.
    pub fn listen(&self) -> broadcast::Receiver<OrderId> {
        self.news.subscribe()
    }

    /// Closes all connections, so that the log is merged into the file.
    pub async fn close(&self) {
        self.readers.close().await;
        self.writer.close().await;
    }
}
