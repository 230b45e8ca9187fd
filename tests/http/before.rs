//! A shop of version 0.1, as that version's program made it (the invented shop with an order in every state), opened by this one.
use super::kit::{PIN, Shop};
use chillwright::{
    shop::Instant,
    store::{audit, orders},
    work::assess::with_new_rules,
};
use chillwright_calc::RULES_VERSION;
use serde_json::Value;
use sqlx::Row;

/// The code that its terminal printed, and when its last deed was done.
const ADMISSION: &str = "GZZ3Z-3ZCZH";
const LAST_DEED: Instant = Instant(1_795_790_288_015);

/// Rows of a statement as text.
async fn rows(shop: &Shop, statement: &'static str) -> Vec<Vec<String>> {
    let mut conn = shop.app.store.read().await.expect("a connection");
    let rows = sqlx::raw_sql(statement)
        .fetch_all(&mut *conn)
        .await
        .expect("rows");
    rows.iter()
        .map(|r| (0..r.len()).map(|i| r.get::<String, _>(i)).collect())
        .collect()
}

const CLOSED: &str = "SELECT hex(id), record, answer, report, rules FROM handover ORDER BY rowid";

async fn opened() -> Shop {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(
        folder.path().join("shop.db"),
        include_bytes!("../fixtures/shop-0-1.sqlite"),
    )
    .expect("written");
    Shop::on(folder, Instant(LAST_DEED.0 + 60_000)).await
}

/// Open orders are judged by the rules of the day, in both systems of units; what was handed over stays byte for byte, and the chain of deeds verifies.
#[tokio::test]
async fn a_shop_of_version_0_1_goes_on() {
    let mut shop = opened().await;
    let (closed, before) = (
        rows(&shop, CLOSED).await,
        audit::verify(&mut shop.app.store.read().await.expect("a connection"))
            .await
            .expect("a chain"),
    );
    assert_eq!(closed.len(), 2);
    let now = Instant(LAST_DEED.0 + 60_000);
    let open = orders::open(&mut shop.app.store.read().await.expect("a connection"))
        .await
        .expect("orders");
    assert_eq!(
        with_new_rules(&shop.app.store, now)
            .await
            .expect("assessed"),
        open.len()
    );
    assert_eq!(rows(&shop, CLOSED).await, closed, "what was handed over");
    let judged = rows(
        &shop,
        "SELECT a.rules, o.state FROM assessment a JOIN work_order o ON o.id = a.work_order",
    )
    .await;
    for row in &judged {
        assert_eq!(row[0] == RULES_VERSION, row[1] == "open", "{row:?}");
    }
    assert_eq!(
        audit::verify(&mut shop.app.store.read().await.expect("a connection"))
            .await
            .expect("a chain"),
        before + 1
    );

    let answer = shop.browser.post("/device", &[("code", ADMISSION)]).await;
    assert_eq!(answer.location, "/", "{}", answer.body);
    let people = shop.browser.get("/sign-in").await.body;
    let person = people
        .split("Perrin Hask")
        .next()
        .and_then(|s| s.rsplit("value=\"").next())
        .and_then(|s| s.split('"').next())
        .expect("a person")
        .to_owned();
    assert_eq!(
        shop.browser
            .post(
                "/sign-in",
                &[("person", &person), ("pin", PIN), ("back", "/orders")]
            )
            .await
            .location,
        "/orders"
    );
    // Every page of every order answers, and the frozen report is printed as it was written.
    let mut pages = 0;
    for (number, open) in rows(&shop, "SELECT CAST(number AS TEXT), state FROM work_order")
        .await
        .iter()
        .map(|r| (r[0].clone(), r[1] == "open"))
    {
        let pages_of_all = [
            "",
            "/report",
            "/estimate",
            "/invoice",
            "/photographs",
            "/record.json",
            "/details",
        ];
        let bench = [
            "/bench",
            "/bench/seals",
            "/bench/hold",
            "/bench/charging",
            "/bench/evacuation",
            "/handover",
        ];
        for page in pages_of_all.iter().chain(bench.iter().filter(|_| open)) {
            let answer = shop.browser.get(&format!("/orders/{number}{page}")).await;
            assert!(
                answer.status.is_success(),
                "{number}{page}: {} {}",
                answer.status,
                answer.body
            );
            pages += 1;
        }
    }
    for page in ["/", "/review", "/orders", "/parts", "/shop", "/counter"] {
        assert!(shop.browser.get(page).await.status.is_success(), "{page}");
    }
    assert!(pages > 80, "{pages}");
    for (number, row) in ["412", "420"].iter().zip(&closed) {
        let report: Value = serde_json::from_str(&row[3]).expect("a frozen report");
        let page = shop
            .browser
            .get(&format!("/orders/{number}/report"))
            .await
            .body;
        let told: Vec<&str> = ["proves", "does_not", "measured"]
            .iter()
            .flat_map(|k| report[*k].as_array().into_iter().flatten())
            .filter_map(Value::as_str)
            .collect();
        assert!(!told.is_empty());
        for sentence in told {
            assert!(
                page.contains(&super::why::escaped(sentence)),
                "{number}: {sentence}\n{page}"
            );
        }
    }
}
