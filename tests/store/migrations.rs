//! Each migration after the first, run on a file of the version before with a shop in it.
use chillwright::store::{Store, shop};
use sqlx::{Connection, Row, migrate::Migrator};
use std::path::Path;

/// A file with the migrations below this version, and in it the settings of a shop as that version wrote them.
async fn before(version: i64, file: &Path) -> sqlx::SqliteConnection {
    let options = sqlx::sqlite::SqliteConnectOptions::new()
        .filename(file)
        .create_if_missing(true);
    let mut conn = sqlx::SqliteConnection::connect_with(&options)
        .await
        .expect("a file");
    let all = Migrator::new(Path::new(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/migrations"
    )))
    .await
    .expect("migrations");
    let older: Vec<_> = all
        .iter()
        .filter(|m| m.version < version)
        .cloned()
        .collect();
    assert!(!older.is_empty());
    Migrator::with_migrations(older)
        .run(&mut conn)
        .await
        .expect("the version before");
    conn
}

#[tokio::test]
async fn labels_come_to_a_shop_that_had_none() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("shop.db");
    let mut old = before(2, &file).await;
    let insert = "INSERT INTO shop (id, name, elevation, zone, currency, units, prices_with_tax, tax_rate, next_order, next_invoice, version) VALUES (1, 'Hask & Marlow', '120 m', 'UTC', 'EUR', 'si', 0, 1000, 412, 187, 5)";
    sqlx::raw_sql(insert)
        .execute(&mut old)
        .await
        .expect("a shop");
    assert!(
        sqlx::raw_sql("SELECT tag_width FROM shop")
            .fetch_all(&mut old)
            .await
            .is_err(),
        "not yet"
    );
    old.close().await.expect("closed");

    let store = Store::open(&file).await.expect("brought up");
    let mut conn = store.writer().await.expect("the writer");
    let shop = shop::get(&mut conn).await.expect("read").expect("a shop");
    assert_eq!(
        (
            shop.name.as_str(),
            shop.next_order,
            shop.next_invoice,
            shop.version
        ),
        ("Hask & Marlow", 412, 187, 5)
    );
    assert_eq!(
        (
            shop.server_address.as_str(),
            shop.tag_size().map(|s| s.to_string())
        ),
        ("", Some("62x29".into()))
    );
    assert_eq!(
        shop.cylinder_label_size().map(|s| s.to_string()),
        Some("100x50".into())
    );
    for wrong in [
        "server_address = 'shop.test'",
        "tag_width = 19",
        "tag_height = 301",
        "cylinder_width = 0",
        "cylinder_height = 12.5",
    ] {
        let change = sqlx::AssertSqlSafe(format!("UPDATE shop SET {wrong}"));
        assert!(
            sqlx::raw_sql(change).execute(&mut *conn).await.is_err(),
            "{wrong}"
        );
    }
    let checked = sqlx::raw_sql("PRAGMA integrity_check")
        .fetch_all(&mut *conn)
        .await
        .expect("checked");
    assert_eq!(checked[0].get::<String, _>(0), "ok");
}

/// What was said in one system of units is said in the other as soon as the program starts; what was accepted then stays as it was said.
#[tokio::test]
async fn both_units_come_to_orders_that_had_one() {
    use chillwright::{
        shop::Instant,
        store::{assessment, orders},
        work::{assess::with_new_rules, codes::Codes},
    };
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("shop.db");
    let mut old = before(3, &file).await;
    assert!(
        sqlx::raw_sql("SELECT says_us FROM finding")
            .fetch_all(&mut old)
            .await
            .is_err(),
        "not yet"
    );
    // Rows as the version before wrote them; what they belong to does not matter here.
    sqlx::raw_sql(
        "PRAGMA foreign_keys = OFF;
         INSERT INTO finding VALUES (x'00', 'charge-mismatch', 'charging', 0, 'concession', '45 g short.', 'Add it.', '{}', 1);
         INSERT INTO concession VALUES (randomblob(16), x'00', 'charge-mismatch', 'charging', '{}', '45 g short.', 'It will do.', 0, x'00', 1)",
    )
    .execute(&mut old)
    .await
    .expect("old rows");
    old.close().await.expect("closed");
    let store = Store::open(&file).await.expect("brought up");
    for table in ["finding", "concession"] {
        let row = sqlx::raw_sql(sqlx::AssertSqlSafe(format!(
            "SELECT says, says_us FROM {table}"
        )))
        .fetch_one(&mut *store.writer().await.expect("the writer"))
        .await;
        let row = row.expect("a row");
        let (si, us) = (row.get::<String, _>(0), row.get::<String, _>(1));
        assert_eq!((si.as_str(), us.as_str()), ("45 g short.", ""), "{table}");
        assert_eq!(
            assessment::in_units(chillwright_calc::UnitSystem::Us, &si, &us),
            "45 g short.",
            "{table}: it stands as it was said"
        );
    }
    let now = Instant::parse("2026-05-12T14:00:00Z").expect("a time");
    chillwright::demo::make(&store, &Codes::cheap(), &folder.path().join("files"), now)
        .await
        .expect("an invented shop");
    // As the version before left it: a column with its default.
    sqlx::raw_sql("UPDATE finding SET says_us = '', do_next_us = ''")
        .execute(&mut *store.writer().await.expect("the writer"))
        .await
        .expect("emptied");
    let mut conn = store.read().await.expect("a connection");
    let mut told = 0;
    for order in orders::open(&mut conn).await.expect("orders") {
        told += assessment::findings(&mut conn, order.id)
            .await
            .expect("findings")
            .len();
    }
    assert!(told > 3 && with_new_rules(&store, now).await.expect("assessed") > 0);
    assert_eq!(
        with_new_rules(&store, now).await.expect("looked"),
        0,
        "nothing is left to do"
    );
    let us = chillwright_calc::UnitSystem::Us;
    let findings = assessment::open_findings(&mut conn)
        .await
        .expect("findings");
    assert_eq!(findings.len(), told);
    for f in &findings {
        assert!(
            !f.says_us.is_empty() && f.said(us) == f.says_us,
            "{}",
            f.code
        );
    }
    assert!(
        findings
            .iter()
            .any(|f| f.says_us != f.says && f.says_us.contains("oz")),
        "none with a mass"
    );
}

/// The stage comes to a shop that knew none: what was found stays due, and an order's word is added, never changed.
#[tokio::test]
async fn the_stage_comes_to_orders_that_had_none() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("shop.db");
    let mut old = before(4, &file).await;
    assert!(
        sqlx::raw_sql("SELECT due FROM finding")
            .fetch_all(&mut old)
            .await
            .is_err(),
        "not yet"
    );
    sqlx::raw_sql(
        "PRAGMA foreign_keys = OFF;
         INSERT INTO finding (work_order, code, about, position, weight, says, do_next, binding, since) VALUES (x'00', 'charge-mismatch', 'charging', 0, 'concession', '45 g short.', 'Add it.', '{}', 1)",
    )
    .execute(&mut old)
    .await
    .expect("an old row");
    old.close().await.expect("closed");
    let store = Store::open(&file).await.expect("brought up");
    let mut conn = store.writer().await.expect("the writer");
    let row = sqlx::raw_sql("SELECT due FROM finding")
        .fetch_one(&mut *conn)
        .await
        .expect("a row");
    assert_eq!(row.get::<i64, _>(0), 1);
    for (stage, kept) in [("ready", true), ("done", false)] {
        let insert = format!(
            "PRAGMA foreign_keys = OFF; INSERT INTO work_stage (id, work_order, stage, person, at) VALUES (randomblob(16), x'00', '{stage}', x'00', 1)"
        );
        assert_eq!(
            sqlx::raw_sql(sqlx::AssertSqlSafe(insert))
                .execute(&mut *conn)
                .await
                .is_ok(),
            kept,
            "{stage}"
        );
    }
    for change in [
        "UPDATE work_stage SET stage = 'in-work'",
        "DELETE FROM work_stage",
    ] {
        assert!(
            sqlx::raw_sql(change).execute(&mut *conn).await.is_err(),
            "{change}"
        );
    }
}

/// Everything that stands in a table, as text, oldest first.
async fn all_of(conn: &mut sqlx::SqliteConnection, statement: &'static str) -> Vec<String> {
    sqlx::raw_sql(statement)
        .fetch_all(conn)
        .await
        .expect("rows")
        .iter()
        .map(|r| r.get(0))
        .collect()
}

const PIECES: &str = "SELECT rowid || hex(id) || hex(work_order) || mark || kind || coalesce(hex(parent), '-') || position FROM evidence ORDER BY rowid";
const VERSIONS: &str = "SELECT hex(evidence) || kind || seq || body || entered_at FROM evidence_version ORDER BY evidence, seq";
const NOW: &str =
    "SELECT hex(id) || mark || kind || seq || body FROM evidence_now ORDER BY work_order, position";
/// What hangs on the table that is made anew, and what leads to it.
const AROUND: &str = "SELECT type || ' ' || name || ': ' || sql FROM sqlite_master WHERE sql IS NOT NULL AND (tbl_name IN ('evidence', 'evidence_version', 'evidence_now', 'part_tag', 'attachment')) AND name <> 'evidence' ORDER BY name";

/// Kinds become rows: a file of version 0.1 keeps every piece, and the table that was made anew keeps its index, its triggers and its view.
#[tokio::test]
async fn kinds_of_evidence_become_rows() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("shop.db");
    std::fs::write(&file, include_bytes!("../fixtures/shop-0-1.sqlite")).expect("written");
    let mut old = before(5, &file).await;
    assert!(
        sqlx::raw_sql("SELECT word FROM evidence_kind")
            .fetch_all(&mut old)
            .await
            .is_err(),
        "not yet"
    );
    let mut stood = Vec::new();
    for statement in [PIECES, VERSIONS, NOW, AROUND] {
        stood.push(all_of(&mut old, statement).await);
    }
    assert!(stood.iter().all(|rows| rows.len() > 5), "{stood:?}");
    old.close().await.expect("closed");

    let store = Store::open(&file).await.expect("brought up");
    let mut conn = store.writer().await.expect("the writer");
    for (statement, stood) in [PIECES, VERSIONS, NOW, AROUND].into_iter().zip(stood) {
        assert_eq!(all_of(&mut conn, statement).await, stood, "{statement}");
    }
    assert_eq!(
        all_of(&mut conn, "SELECT \"table\" FROM pragma_foreign_key_check").await,
        Vec::<String>::new()
    );
    assert_eq!(
        all_of(
            &mut conn,
            "SELECT integrity_check FROM pragma_integrity_check"
        )
        .await,
        ["ok"]
    );
    let held = sqlx::raw_sql("PRAGMA foreign_keys")
        .fetch_one(&mut *conn)
        .await
        .expect("told")
        .get::<i64, _>(0);
    assert_eq!(held, 1, "held again on the connection that let them go");
    for change in [
        "UPDATE evidence SET mark = mark",
        "DELETE FROM evidence",
        "UPDATE evidence_version SET seq = seq",
        "DELETE FROM evidence_kind",
    ] {
        assert!(
            sqlx::raw_sql(change).execute(&mut *conn).await.is_err(),
            "{change}"
        );
    }
    // A kind that is none, a seal that belongs to nothing, a hold that belongs to something.
    for (kind, parent) in [
        ("dye", "NULL"),
        ("seal", "NULL"),
        ("hold", "(SELECT id FROM evidence LIMIT 1)"),
        ("hold", "NULL"),
    ] {
        let add = format!(
            "INSERT INTO evidence (id, work_order, mark, kind, parent, position) SELECT randomblob(16), work_order, 'x', '{kind}', {parent}, 9999 FROM evidence LIMIT 1"
        );
        let kept = sqlx::raw_sql(sqlx::AssertSqlSafe(add))
            .execute(&mut *conn)
            .await;
        assert_eq!(
            kept.is_ok(),
            (kind, parent) == ("hold", "NULL"),
            "{kind} {parent}: {kept:?}"
        );
    }
    // The next kind is an INSERT.
    let next = "INSERT INTO evidence_kind VALUES ('dye', 0);
         INSERT INTO evidence (id, work_order, mark, kind, position) SELECT randomblob(16), work_order, 'd1', 'dye', 9998 FROM evidence LIMIT 1";
    sqlx::raw_sql(next)
        .execute(&mut *conn)
        .await
        .expect("a kind of tomorrow");
}

/// Where the program ended after the table was made anew and before that was noted, the next start does it again; a file in which something leads nowhere is
/// left as it was.
#[tokio::test]
async fn kinds_of_evidence_become_rows_once_more_or_not_at_all() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("shop.db");
    std::fs::write(&file, include_bytes!("../fixtures/shop-0-1.sqlite")).expect("written");
    let store = Store::open(&file).await.expect("brought up");
    let mut conn = store.writer().await.expect("the writer");
    let (pieces, around) = (
        all_of(&mut conn, PIECES).await,
        all_of(&mut conn, AROUND).await,
    );
    sqlx::raw_sql("DELETE FROM _sqlx_migrations WHERE version = 5")
        .execute(&mut *conn)
        .await
        .expect("not noted");
    drop((conn, store));
    let store = Store::open(&file).await.expect("brought up again");
    let mut conn = store.writer().await.expect("the writer");
    assert_eq!(
        (
            all_of(&mut conn, PIECES).await,
            all_of(&mut conn, AROUND).await
        ),
        (pieces, around)
    );

    let broken = folder.path().join("broken.db");
    std::fs::write(&broken, include_bytes!("../fixtures/shop-0-1.sqlite")).expect("written");
    let mut old = before(5, &broken).await;
    let stray = "PRAGMA foreign_keys = OFF; INSERT INTO part_tag (number, evidence) VALUES (900, randomblob(16))";
    sqlx::raw_sql(stray)
        .execute(&mut old)
        .await
        .expect("a tag of no part");
    let pieces = all_of(&mut old, PIECES).await;
    old.close().await.expect("closed");
    let refused = Store::open(&broken)
        .await
        .expect_err("a tag of no part")
        .to_string();
    assert!(refused.contains("CHECK constraint failed"), "{refused}");
    let options = sqlx::sqlite::SqliteConnectOptions::new().filename(&broken);
    let mut left = sqlx::SqliteConnection::connect_with(&options)
        .await
        .expect("a file");
    assert_eq!(all_of(&mut left, PIECES).await, pieces);
    assert!(
        sqlx::raw_sql("SELECT word FROM evidence_kind")
            .fetch_all(&mut left)
            .await
            .is_err(),
        "all or nothing"
    );
}
