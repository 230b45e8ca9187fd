//! Each migration after the first, run on a file of the version before with a shop in it.
use chillwright::store::{Store, shop};
use sqlx::{Connection, Row, migrate::Migrator};
use std::path::Path;

/// A file with the migrations below this version, and in it the settings of a shop as that version wrote them.
async fn before(version: i64, file: &Path) -> sqlx::SqliteConnection {
    let options = sqlx::sqlite::SqliteConnectOptions::new().filename(file).create_if_missing(true);
    let mut conn = sqlx::SqliteConnection::connect_with(&options).await.expect("a file");
    let all = Migrator::new(Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/migrations"))).await.expect("migrations");
    let older: Vec<_> = all.iter().filter(|m| m.version < version).cloned().collect();
    assert!(!older.is_empty());
    Migrator::with_migrations(older).run(&mut conn).await.expect("the version before");
    conn
}

#[tokio::test]
async fn labels_come_to_a_shop_that_had_none() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("shop.db");
    let mut old = before(2, &file).await;
    let insert = "INSERT INTO shop (id, name, elevation, zone, currency, units, prices_with_tax, tax_rate, next_order, next_invoice, version) VALUES (1, 'Hask & Marlow', '120 m', 'UTC', 'EUR', 'si', 0, 1000, 412, 187, 5)";
    sqlx::raw_sql(insert).execute(&mut old).await.expect("a shop");
    assert!(sqlx::raw_sql("SELECT tag_width FROM shop").fetch_all(&mut old).await.is_err(), "not yet");
    old.close().await.expect("closed");

    let store = Store::open(&file).await.expect("brought up");
    let mut conn = store.writer().await.expect("the writer");
    let shop = shop::get(&mut conn).await.expect("read").expect("a shop");
    assert_eq!((shop.name.as_str(), shop.next_order, shop.next_invoice, shop.version), ("Hask & Marlow", 412, 187, 5));
    assert_eq!((shop.server_address.as_str(), shop.tag_size().map(|s| s.to_string())), ("", Some("62x29".into())));
    assert_eq!(shop.cylinder_label_size().map(|s| s.to_string()), Some("100x50".into()));
    for wrong in ["server_address = 'shop.test'", "tag_width = 19", "tag_height = 301", "cylinder_width = 0", "cylinder_height = 12.5"] {
        let change = sqlx::AssertSqlSafe(format!("UPDATE shop SET {wrong}"));
        assert!(sqlx::raw_sql(change).execute(&mut *conn).await.is_err(), "{wrong}");
    }
    let checked = sqlx::raw_sql("PRAGMA integrity_check").fetch_all(&mut *conn).await.expect("checked");
    assert_eq!(checked[0].get::<String, _>(0), "ok");
}
