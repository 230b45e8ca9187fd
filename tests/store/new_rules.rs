//! A program with other rules assesses the open orders anew before it serves them, and leaves alone what was handed over.
use chillwright::{
    shop::Instant,
    store::{Store, assessment, audit, orders},
    work::{assess::with_new_rules, codes::Codes},
};
use chillwright_calc::RULES_VERSION;
use sqlx::Row;

#[tokio::test]
async fn open_orders_are_assessed_with_the_rules_of_the_day() {
    let folder = tempfile::tempdir().expect("a folder");
    let store = Store::open(&folder.path().join("shop.db"))
        .await
        .expect("a store");
    let now = Instant::parse("2026-05-12T14:00:00Z").expect("a time");
    chillwright::demo::make(&store, &Codes::cheap(), &folder.path().join("files"), now)
        .await
        .expect("an invented shop");
    assert_eq!(
        with_new_rules(&store, now).await.expect("looked"),
        0,
        "nothing to do"
    );
    let frozen = async || {
        let mut conn = store.read().await.expect("a connection");
        let rows = sqlx::raw_sql("SELECT rules, answer FROM handover ORDER BY rowid")
            .fetch_all(&mut *conn)
            .await
            .expect("handovers");
        rows.iter()
            .map(|r| (r.get::<String, _>(0), r.get::<String, _>(1)))
            .collect::<Vec<_>>()
    };
    let (open, entries, handed_over) = {
        let mut conn = store.read().await.expect("a connection");
        (
            orders::open(&mut conn).await.expect("orders"),
            audit::verify(&mut conn).await.expect("a chain"),
            frozen().await,
        )
    };
    assert!(open.len() > 3 && handed_over.len() == 2);
    sqlx::raw_sql(
        "UPDATE assessment SET rules = '0.9.0'; UPDATE finding SET says = 'as it was said once'",
    )
    .execute(&mut *store.writer().await.expect("the writer"))
    .await
    .expect("an older program's");
    assert_eq!(
        with_new_rules(&store, now).await.expect("assessed"),
        open.len()
    );
    let mut conn = store.read().await.expect("a connection");
    for order in &open {
        let stored = assessment::get(&mut conn, order.id)
            .await
            .expect("read")
            .expect("an assessment");
        assert_eq!(stored.rules, RULES_VERSION);
        let says: Vec<String> = assessment::findings(&mut conn, order.id)
            .await
            .expect("findings")
            .into_iter()
            .map(|f| f.says)
            .collect();
        let answer: Vec<String> = stored
            .answer
            .findings
            .into_iter()
            .chain(stored.answer.to_do)
            .map(|f| f.says)
            .collect();
        assert_eq!(says, answer, "order {}", order.number);
    }
    assert_eq!(
        audit::verify(&mut conn).await.expect("a chain"),
        entries + 1
    );
    assert_eq!(frozen().await, handed_over);
}
