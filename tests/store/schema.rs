//! The schema: strict, append-only where it has to be.
use chillwright::store::Store;
use sqlx::Row;

async fn shop() -> (tempfile::TempDir, Store) {
    let folder = tempfile::tempdir().expect("a folder");
    let store = Store::open(&folder.path().join("shop.db")).await.expect("a store");
    (folder, store)
}

#[tokio::test]
async fn every_table_is_strict_and_none_has_dangling_keys() {
    let (_folder, store) = shop().await;
    let mut conn = store.writer().await.expect("the writer");
    let tables = sqlx::raw_sql(
        "SELECT name, strict FROM pragma_table_list WHERE schema = 'main' AND type = 'table' AND name NOT LIKE 'sqlite_%' AND name <> '_sqlx_migrations'",
    )
    .fetch_all(&mut *conn)
    .await
    .expect("tables");
    assert!(tables.len() > 25, "{}", tables.len());
    for table in tables {
        assert_eq!(table.get::<i64, _>("strict"), 1, "{}", table.get::<String, _>("name"));
    }
    assert!(sqlx::raw_sql("PRAGMA foreign_key_check").fetch_all(&mut *conn).await.expect("checked").is_empty());
}

/// One row in each append-only table, then every way to change it.
#[tokio::test]
async fn what_is_evidence_is_never_changed() {
    let (_folder, store) = shop().await;
    let mut conn = store.writer().await.expect("the writer");
    let tables: Vec<String> = sqlx::raw_sql("SELECT tbl_name FROM sqlite_master WHERE type = 'trigger' AND name LIKE '%_no_update'")
        .fetch_all(&mut *conn)
        .await
        .expect("triggers")
        .iter()
        .map(|r| r.get(0))
        .collect();
    for needed in [
        "evidence",
        "evidence_version",
        "authorisation",
        "order_note",
        "concession",
        "concession_lapse",
        "sent_back",
        "handover",
        "invoice",
        "payment",
        "attachment",
        "audit_entry",
        "barometer",
        "part_tag",
    ] {
        assert!(tables.iter().any(|t| t == needed), "{needed}");
    }
    sqlx::raw_sql("PRAGMA foreign_keys = OFF").execute(&mut *conn).await.expect("off");
    let insert = "INSERT INTO payment (id, work_order, kind, amount, how, at, person, entered_at) VALUES (x'00000000000000000000000000000001', x'00000000000000000000000000000002', 'payment', 5, 'cash', 1, x'00000000000000000000000000000003', 1)";
    sqlx::raw_sql(insert).execute(&mut *conn).await.expect("a payment");
    for change in ["UPDATE payment SET amount = 6".to_owned(), "DELETE FROM payment".to_owned(), insert.replace("INSERT", "INSERT OR REPLACE")] {
        let refused = sqlx::raw_sql(sqlx::AssertSqlSafe(change.clone())).execute(&mut *conn).await.unwrap_err().to_string();
        assert!(refused.contains("append-only"), "{change}: {refused}");
    }
    assert_eq!(sqlx::raw_sql("SELECT count(*) FROM payment WHERE amount = 5").fetch_one(&mut *conn).await.expect("counted").get::<i64, _>(0), 1);
}

#[tokio::test]
async fn what_cannot_be_is_refused_by_the_file() {
    let (_folder, store) = shop().await;
    let mut conn = store.writer().await.expect("the writer");
    sqlx::raw_sql("PRAGMA foreign_keys = OFF").execute(&mut *conn).await.expect("off");
    let id = "x'00000000000000000000000000000001'";
    for wrong in [
        format!("INSERT INTO payment (id, work_order, kind, amount, how, at, person, entered_at) VALUES ({id}, {id}, 'payment', -5, 'cash', 1, {id}, 1)"),
        format!("INSERT INTO payment (id, work_order, kind, amount, how, at, person, entered_at) VALUES ({id}, {id}, 'tip', 5, 'cash', 1, {id}, 1)"),
        format!("INSERT INTO evidence_version (evidence, kind, seq, body, person, entered_at) VALUES ({id}, 'seal', 1, '{{}}', {id}, 1)"),
        format!("INSERT INTO evidence_version (evidence, kind, seq, body, person, entered_at) VALUES ({id}, 'reading', 1, '{{\"pressure\":\"1 bar abs\"}}', {id}, 1)"),
        format!("INSERT INTO evidence_version (evidence, kind, seq, body, person, entered_at) VALUES ({id}, 'hold', 1, 'no json', {id}, 1)"),
        "INSERT INTO shop (id, name, elevation, zone, currency, units, prices_with_tax, tax_rate, next_order, next_invoice) VALUES (2, 'x', '0 m', 'UTC', 'EUR', 'si', 0, 0, 1, 1)".to_owned(),
    ] {
        assert!(sqlx::raw_sql(sqlx::AssertSqlSafe(wrong.clone())).execute(&mut *conn).await.is_err(), "{wrong}");
    }
}

#[tokio::test]
async fn two_writers_wait_for_each_other() {
    let (_folder, store) = shop().await;
    let first = store.write().await.expect("the first");
    let second = tokio::spawn({
        let store = store.clone();
        async move { store.write().await.expect("the second").commit().await.expect("kept") }
    });
    tokio::time::sleep(std::time::Duration::from_millis(100)).await;
    assert!(!second.is_finished());
    first.commit().await.expect("kept");
    second.await.expect("done");
}
