//! Bodies of evidence: what any version of this program stored is read by type and can be written back as it was.
use chillwright::{
    demo,
    shop::Instant,
    store::{
        Store,
        evidence::{self, Kind, Place, Stored},
        orders, record,
    },
    work::codes::Codes,
};
use serde_json::{Map, Value};
use sqlx::{Connection, Row, SqliteConnection};
use std::path::Path;

/// A shop of version 0.1 with an order in every state, as that version's program made it.
const SHOP_0_1: &[u8] = include_bytes!("../fixtures/shop-0-1.sqlite");

async fn plain(file: &Path) -> SqliteConnection {
    let options = sqlx::sqlite::SqliteConnectOptions::new().filename(file);
    SqliteConnection::connect_with(&options)
        .await
        .expect("a file")
}

/// All versions of all pieces: kind and body, as they are stored.
async fn versions(conn: &mut SqliteConnection) -> Vec<(String, String)> {
    let rows = sqlx::raw_sql("SELECT kind, body FROM evidence_version ORDER BY evidence, seq")
        .fetch_all(conn)
        .await
        .expect("versions");
    rows.iter().map(|r| (r.get(0), r.get(1))).collect()
}

/// Less the members that say nothing: null and empty lists, which a form used to leave where nobody had chosen anything (`"found": []`). The typed body
/// leaves them out, and the job record never knew the difference. Nothing else may differ, and inside `_form` nothing at all.
fn without_empty(value: &Value) -> Value {
    match value {
        Value::Object(members) => {
            let says = |v: &Value| !v.is_null() && v.as_array().is_none_or(|list| !list.is_empty());
            let kept = members.iter().filter(|(_, v)| says(v)).map(|(k, v)| {
                (
                    k.clone(),
                    if k == "_form" {
                        v.clone()
                    } else {
                        without_empty(v)
                    },
                )
            });
            Value::Object(kept.collect())
        }
        Value::Array(list) => Value::Array(list.iter().map(without_empty).collect()),
        other => other.clone(),
    }
}

/// Reads each body by its type and writes it back; gives the kinds that there were.
fn written_back(versions: &[(String, String)]) -> Vec<Kind> {
    let mut kinds = Vec::new();
    for (word, stored) in versions {
        let kind = Kind::from_word(word).expect("a kind");
        let was: Map<String, Value> = serde_json::from_str(stored).expect("an object");
        let (body, own) =
            evidence::read(kind, was.clone()).unwrap_or_else(|e| panic!("{word}: {e}\n{stored}"));
        assert_eq!(body.kind(), kind);
        let text = serde_json::to_string(&Stored {
            body: &body,
            own: &own,
        })
        .expect("written");
        let is: Map<String, Value> = serde_json::from_str(&text).expect("an object");
        // A map of this build compares its members in any order; the form's are compared as text, so that their order counts.
        assert_eq!(
            without_empty(&Value::Object(was.clone())),
            Value::Object(is.clone()),
            "{word}: {stored}"
        );
        let form = |body: &Map<String, Value>| body.get("_form").map(ToString::to_string);
        assert_eq!(form(&was), form(&is), "{word}");
        if !kinds.contains(&kind) {
            kinds.push(kind);
        }
    }
    kinds
}

/// What stands in a file of version 0.1 stands in it byte for byte after this version has opened it, and is read by type.
#[tokio::test]
async fn evidence_of_version_0_1_reads_and_writes_back() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("shop.db");
    std::fs::write(&file, SHOP_0_1).expect("written");
    let mut old = plain(&file).await;
    let before = versions(&mut old).await;
    old.close().await.expect("closed");
    let store = Store::open(&file).await.expect("brought up");
    let after = versions(&mut store.read().await.expect("a connection")).await;
    assert_eq!(before, after, "append-only");
    assert!(
        after.len() > 200 && after.iter().any(|(_, body)| body.contains("[]")),
        "{}",
        after.len()
    );
    assert!(written_back(&after).len() > 15);
}

/// The same of a shop that this version makes.
#[tokio::test]
async fn evidence_of_a_new_shop_reads_and_writes_back() {
    let folder = tempfile::tempdir().expect("a folder");
    let store = Store::open(&folder.path().join("shop.db"))
        .await
        .expect("a store");
    let now = Instant::parse("2026-05-12T14:00:00Z").expect("a time");
    demo::make(&store, &Codes::cheap(), &folder.path().join("files"), now)
        .await
        .expect("an invented shop");
    let all = versions(&mut store.read().await.expect("a connection")).await;
    assert!(written_back(&all).len() > 15);
}

/// The record as the stored bodies write it, put together by keys alone: the members that begin with `_` are the shop's own.
fn by_keys(rows: &[StoredPiece]) -> Value {
    let entry = |row: &StoredPiece| {
        let mut entry = Map::new();
        if row.kind != "opening" {
            entry.insert("id".into(), row.mark.clone().into());
        }
        entry.extend(
            row.body
                .iter()
                .filter(|(k, _)| !k.starts_with('_'))
                .map(|(k, v)| (k.clone(), v.clone())),
        );
        if row.approximate {
            entry.insert("approximate".into(), true.into());
        }
        entry
    };
    let mut record = Map::new();
    let push = |object: &mut Map<String, Value>, key: &str, value: Value| {
        if let Value::Array(list) = object
            .entry(key)
            .or_insert_with(|| Value::Array(Vec::new()))
        {
            list.push(value);
        }
    };
    record.insert("version".into(), 1.into());
    for row in rows.iter().filter(|r| r.parent.is_none()) {
        let kind = Kind::from_word(&row.kind).expect("a kind");
        match kind.place() {
            Place::Single => {
                let mut body = row.body.clone();
                body.retain(|k, _| !k.starts_with('_'));
                record.insert(kind.key().into(), Value::Object(body));
            }
            Place::Scalar => {
                record.insert(kind.key().into(), row.body["value"].clone());
            }
            Place::Listed | Place::Child => {
                let mut listed = entry(row);
                for child in rows.iter().filter(|c| c.parent.as_ref() == Some(&row.id)) {
                    push(
                        &mut listed,
                        Kind::from_word(&child.kind).expect("a kind").key(),
                        Value::Object(entry(child)),
                    );
                }
                push(&mut record, kind.key(), Value::Object(listed));
            }
        }
    }
    Value::Object(record)
}

/// A piece as it is stored.
struct StoredPiece {
    id: Vec<u8>,
    mark: String,
    kind: String,
    parent: Option<Vec<u8>>,
    body: Map<String, Value>,
    approximate: bool,
}

/// The record that is built out of typed bodies is the one that the stored keys write: of every order of both shops.
#[tokio::test]
async fn a_record_is_what_the_stored_bodies_say() {
    let folder = tempfile::tempdir().expect("a folder");
    let (old, new) = (folder.path().join("old.db"), folder.path().join("new.db"));
    std::fs::write(&old, SHOP_0_1).expect("written");
    let made = Store::open(&new).await.expect("a store");
    let now = Instant::parse("2026-05-12T14:00:00Z").expect("a time");
    demo::make(&made, &Codes::cheap(), &folder.path().join("files"), now)
        .await
        .expect("an invented shop");
    let mut told = 0;
    for store in [Store::open(&old).await.expect("brought up"), made] {
        let mut conn = store.read().await.expect("a connection");
        for order in orders::newest(&mut conn).await.expect("orders") {
            let mut record = record::order_record(&mut conn, order.id)
                .await
                .expect("a record");
            // What the shop says of the order, and knows from others, is in no body.
            (record.stage, record.shop_units, record.limits) = (None, None, Default::default());
            record
                .parts
                .iter_mut()
                .for_each(|part| part.seen_before = None);
            record
                .charging
                .iter_mut()
                .for_each(|charge| charge.contaminated = None);
            let pieces = format!(
                "SELECT id, mark, kind, parent, body, approximate FROM evidence_now
                 WHERE work_order = (SELECT id FROM work_order WHERE number = {}) ORDER BY position",
                order.number
            );
            let rows = sqlx::raw_sql(sqlx::AssertSqlSafe(pieces))
                .fetch_all(&mut *conn)
                .await
                .expect("pieces");
            let row = |r: &sqlx::sqlite::SqliteRow| StoredPiece {
                id: r.get(0),
                mark: r.get(1),
                kind: r.get(2),
                parent: r.get(3),
                body: serde_json::from_str(r.get::<&str, _>(4)).expect("an object"),
                approximate: r.get(5),
            };
            let rows: Vec<StoredPiece> = rows.iter().map(row).collect();
            told += rows.len();
            let by_keys = chillwright_calc::parse_value(by_keys(&rows)).expect("a record");
            assert_eq!(record, by_keys, "order {}", order.number);
        }
    }
    assert!(told > 300, "{told}");
}
