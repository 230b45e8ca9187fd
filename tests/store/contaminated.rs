//! A charge out of a contaminated cylinder is told so in the job record, and only that one.
use chillwright::{
    shop::Instant,
    store::{Store, orders, record},
    work::codes::Codes,
};

#[tokio::test]
async fn a_charge_from_a_marked_cylinder_is_told_in_the_record() {
    let folder = tempfile::tempdir().expect("a folder");
    let store = Store::open(&folder.path().join("shop.db"))
        .await
        .expect("a store");
    let now = Instant::parse("2026-05-12T14:00:00Z").expect("a time");
    chillwright::demo::make(&store, &Codes::cheap(), &folder.path().join("files"), now)
        .await
        .expect("an invented shop");
    let open = orders::open(&mut store.read().await.expect("a connection"))
        .await
        .expect("orders");
    let charged = async || {
        let mut conn = store.read().await.expect("a connection");
        let mut all = Vec::new();
        for order in &open {
            let record = record::order_record(&mut conn, order.id)
                .await
                .expect("a record");
            all.extend(
                record
                    .charging
                    .into_iter()
                    .map(|c| (c.cylinder.unwrap_or_default(), c.contaminated)),
            );
        }
        all
    };
    let before = charged().await;
    assert!(
        !before.is_empty()
            && before
                .iter()
                .all(|(_, contaminated)| contaminated.is_none()),
        "{before:?}"
    );
    let mark = |cylinder: &'static str| {
        let store = store.clone();
        async move {
            let mut conn = store.writer().await.expect("the writer");
            sqlx::query!(
                "UPDATE cylinder SET purpose = 'contaminated' WHERE mark = ?",
                cylinder
            )
            .execute(&mut *conn)
            .await
            .expect("marked");
        }
    };
    // What is recovered into, and never charged from.
    mark("C-03").await;
    assert_eq!(charged().await, before);
    mark("C-01").await;
    let after = charged().await;
    assert!(after.iter().any(|c| c.0 == "C-01"), "{after:?}");
    for (cylinder, contaminated) in after {
        assert_eq!(
            contaminated,
            (cylinder == "C-01").then_some(true),
            "{cylinder}"
        );
    }
}
