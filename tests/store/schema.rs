//! The schema: strict, append-only where it has to be.
use chillwright::store::Store;
use sqlx::Row;

async fn shop() -> (tempfile::TempDir, Store) {
    let folder = tempfile::tempdir().expect("a folder");
    let store = Store::open(&folder.path().join("shop.db"))
        .await
        .expect("a store");
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
        assert_eq!(
            table.get::<i64, _>("strict"),
            1,
            "{}",
            table.get::<String, _>("name")
        );
    }
    assert!(
        sqlx::raw_sql("PRAGMA foreign_key_check")
            .fetch_all(&mut *conn)
            .await
            .expect("checked")
            .is_empty()
    );
}

/// Tables that have a trigger against changes.
async fn append_only(conn: &mut sqlx::SqliteConnection) -> Vec<String> {
    let triggers = sqlx::raw_sql(
        "SELECT tbl_name FROM sqlite_master WHERE type = 'trigger' AND name LIKE '%_no_update'",
    );
    triggers
        .fetch_all(conn)
        .await
        .expect("triggers")
        .iter()
        .map(|r| r.get(0))
        .collect()
}

#[tokio::test]
async fn every_kind_of_evidence_is_append_only() {
    let (_folder, store) = shop().await;
    let mut conn = store.writer().await.expect("the writer");
    let tables = append_only(&mut conn).await;
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
}

/// Each append-only table of a shop in which everything happened refuses to change, to lose and to replace a row.
#[tokio::test]
async fn no_row_that_is_a_persons_word_changes() {
    let (folder, store) = shop().await;
    let now = chillwright::shop::Instant::parse("2026-05-12T14:00:00Z").expect("a time");
    chillwright::demo::make(
        &store,
        &chillwright::work::codes::Codes::cheap(),
        &folder.path().join("files"),
        now,
    )
    .await
    .expect("an invented shop");
    let mut conn = store.writer().await.expect("the writer");
    sqlx::raw_sql("PRAGMA foreign_keys = OFF")
        .execute(&mut *conn)
        .await
        .expect("off");
    let mut tried = Vec::new();
    for table in append_only(&mut conn).await {
        let count = async |conn: &mut sqlx::SqliteConnection| {
            let row = sqlx::raw_sql(sqlx::AssertSqlSafe(format!("SELECT count(*) FROM {table}")))
                .fetch_one(conn)
                .await
                .expect("counted");
            row.get::<i64, _>(0)
        };
        let before = count(&mut conn).await;
        if before == 0 {
            continue;
        }
        let columns = sqlx::raw_sql(sqlx::AssertSqlSafe(format!(
            "SELECT group_concat(name) FROM pragma_table_info('{table}')"
        )))
        .fetch_one(&mut *conn)
        .await;
        let columns: String = columns.expect("columns").get(0);
        let first = columns.split(',').next().expect("a column").to_owned();
        for change in [
            format!("UPDATE {table} SET {first} = {first}"),
            format!("DELETE FROM {table}"),
            format!("INSERT OR REPLACE INTO {table} ({columns}) SELECT {columns} FROM {table}"),
        ] {
            let refused = sqlx::raw_sql(sqlx::AssertSqlSafe(change.clone()))
                .execute(&mut *conn)
                .await
                .expect_err(&change)
                .to_string();
            assert!(refused.contains("append-only"), "{change}: {refused}");
        }
        assert_eq!(count(&mut conn).await, before, "{table}");
        tried.push(table);
    }
    for table in [
        "evidence",
        "evidence_version",
        "authorisation",
        "order_note",
        "concession",
        "handover",
        "invoice",
        "payment",
        "audit_entry",
        "barometer",
        "part_tag",
    ] {
        assert!(
            tried.iter().any(|t| t == table),
            "the invented shop has no {table}; tried {tried:?}"
        );
    }
}

#[tokio::test]
async fn what_cannot_be_is_refused_by_the_file() {
    let (_folder, store) = shop().await;
    let mut conn = store.writer().await.expect("the writer");
    sqlx::raw_sql("PRAGMA foreign_keys = OFF")
        .execute(&mut *conn)
        .await
        .expect("off");
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
        async move {
            store
                .write()
                .await
                .expect("the second")
                .commit()
                .await
                .expect("kept")
        }
    });
    tokio::time::sleep(std::time::Duration::from_millis(100)).await;
    assert!(!second.is_finished());
    first.commit().await.expect("kept");
    second.await.expect("done");
}
