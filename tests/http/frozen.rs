//! What was recorded and what was closed stays: later barometers, gauges, rules and corrections change nothing of it.
use super::{
    job::{DAY, kept, reading, scenario, task},
    kit::Shop,
    money::INTAKE,
    why::escaped,
};
use axum::http::StatusCode;
use chillwright_calc::{Assessment, UnitSystem, assess, parse};
use serde_json::Value;

async fn answer(shop: &mut Shop) -> Assessment {
    let record = shop.browser.get("/orders/412/record.json").await.body;
    assess(&parse(&record).expect("a record"), UnitSystem::Si)
}

async fn record(shop: &mut Shop) -> Value {
    serde_json::from_str(&shop.browser.get("/orders/412/record.json").await.body).expect("JSON")
}

async fn barometer(shop: &mut Shop, kpa: &str, clock: &str) {
    let at = format!("{DAY}{clock}");
    let kept = shop
        .browser
        .post(
            "/shop/barometer",
            &[
                ("pressure", kpa),
                ("unit", "kPa"),
                ("reduced", "here"),
                ("at", &at),
            ],
        )
        .await;
    assert_eq!(kept.status, StatusCode::SEE_OTHER, "{}", kept.body);
}

const STANDING: [(&str, &str); 4] = [
    ("pressure", "70"),
    ("unit", "psi"),
    ("ambient", "21"),
    ("cold", "yes"),
];

/// Recorded before any barometer was read, it rests on the elevation for good.
#[tokio::test]
async fn a_later_barometer_leaves_what_was_recorded_without_one() {
    let mut shop = Shop::begun().await;
    shop.minutes_pass(170);
    assert_eq!(
        shop.browser.post("/intake", &INTAKE).await.location,
        "/orders/412"
    );
    kept(&mut shop, "standing", "06:30", &STANDING).await;
    let before = answer(&mut shop).await.figures;
    barometer(&mut shop, "98.0", "07:00").await;
    kept(&mut shop, "standing", "07:30", &STANDING).await;
    let (after, record) = (answer(&mut shop).await.figures, record(&mut shop).await);
    assert_eq!(after.standing[0], before.standing[0]);
    assert_ne!(
        after.standing[1].excess_pa, before.standing[0].excess_pa,
        "the second has the barometer"
    );
    assert_eq!(record["standing"][1]["barometer"], "98.0 kPa abs");
    assert!(
        record["standing"][0].get("barometer").is_none()
            && record["site"].get("barometer").is_none(),
        "{record}"
    );
}

/// A correction of something else keeps the air and the gauge that were copied in when it was recorded.
#[tokio::test]
async fn a_correction_keeps_barometer_and_gauge() {
    let mut shop = scenario().await;
    let was = record(&mut shop).await;
    barometer(&mut shop, "97.0", "10:45").await;
    let list = shop.browser.get("/shop/instruments").await.body;
    let id = list
        .split("/shop/instruments?id=")
        .nth(1)
        .and_then(|s| s.split('"').next())
        .expect("an id")
        .to_owned();
    let gauge = [
        ("id", id.as_str()),
        ("version", "1"),
        ("mark", "G-1"),
        ("kind", "dial-gauge"),
        ("unit", "inHg"),
        ("resolution", "2"),
    ];
    assert_eq!(
        shop.browser.post("/shop/instruments", &gauge).await.status,
        StatusCode::SEE_OTHER
    );
    let performance = [
        ("ambient", "27"),
        ("humidity", "50"),
        ("low", "32"),
        ("high", "195"),
        ("unit", "psi"),
        ("vent", "7"),
        ("engine", "1600"),
    ];
    let hold = [("kind", "vacuum"), ("gauge", "G-1"), ("seen", "2")];
    let evacuation = [("gauge", "G-1"), ("metal", "21"), ("seen", "2")];
    for (word, mark, clock, fields) in [
        (
            "standing",
            "sp1",
            "06:30",
            [("pressure", "71"), ("unit", "psi"), ("ambient", "21")].as_slice(),
        ),
        ("performance", "pf1", "10:40", &performance),
        ("hold", "h1", "09:43", &hold),
        ("evacuation", "e1", "09:00", &evacuation),
    ] {
        let mut fields = fields.to_vec();
        fields.push(("piece", mark));
        if !fields.iter().any(|f| f.0 == "seen") {
            fields.push(("seen", "1"));
        }
        let corrected = task(&mut shop, word, clock, &fields).await;
        assert_eq!(
            corrected.status,
            StatusCode::SEE_OTHER,
            "{word}: {}",
            corrected.body
        );
    }
    let is = record(&mut shop).await;
    for entry in ["standing", "performance", "holds", "evacuations"] {
        let (was, is) = (&was[entry][0], &is[entry][0]);
        assert_eq!(
            (was["barometer"].as_str(), is["barometer"].as_str()),
            (Some("100.9 kPa abs"), Some("100.9 kPa abs")),
            "{entry}"
        );
        assert_eq!(is.get("gauge"), was.get("gauge"), "{entry}");
    }
    assert_eq!(
        (
            &is["standing"][0]["pressure"],
            &is["evacuations"][0]["coldest_metal"]
        ),
        (&"71 psi gauge".into(), &"21 degC".into())
    );
    // What is recorded now has the air and the gauge of now.
    let second = kept(
        &mut shop,
        "hold",
        "10:46",
        &[("kind", "vacuum"), ("gauge", "G-1")],
    )
    .await;
    reading(&mut shop, &second, "10:47", "28", "22").await;
    let is = record(&mut shop).await;
    assert_eq!(
        (
            &is["holds"][1]["barometer"],
            &is["holds"][1]["gauge"]["resolution"]
        ),
        (&"97.0 kPa abs".into(), &"2 inHg".into())
    );
}

/// A car that left under other rules: page, ring and Why tell what was found then, and by which rules.
#[tokio::test]
async fn a_closed_order_is_told_by_the_rules_that_closed_it() {
    let mut shop = scenario().await;
    let found = answer(&mut shop).await.findings;
    let out = [
        ("way", "partly-repaired"),
        ("sentence", "The customer stopped the work."),
    ];
    assert_eq!(
        shop.browser
            .post("/orders/412/handover", &out)
            .await
            .location,
        "/orders/412/report"
    );
    // The same rules: everything is worked out of the frozen record as it was then.
    let why = shop
        .browser
        .get("/orders/412/why/charge-mismatch/charging")
        .await
        .body;
    assert!(
        why.contains("How it is calculated")
            && why.contains(&format!("rules {}.", chillwright_calc::RULES_VERSION)),
        "{why}"
    );
    let mismatch = found
        .iter()
        .find(|f| f.code == "charge-mismatch")
        .expect("it is");
    as_by_other_rules(&shop, &mismatch.says).await;
    for (page, with) in [
        (
            "/orders/412/why/charge-mismatch/charging",
            "Rule charge-mismatch, rules 0.9.0.",
        ),
        ("/orders/412", "“"),
    ] {
        let body = shop.browser.get(page).await.body;
        assert!(
            body.contains("As rules 0.9.0 said it.") && body.contains(with),
            "{page}: {body}"
        );
        assert!(
            !body.contains(&escaped(&mismatch.says)) && !body.contains("How it is calculated"),
            "{page}: {body}"
        );
        assert!(
            body.contains("Findings of rules 0.9.0, as they were when the order was closed."),
            "{page}: {body}"
        );
    }
    let order = shop.browser.get("/orders/412").await.body;
    let sheet = order
        .split("id=\"sheet-charge\"")
        .nth(1)
        .and_then(|s| s.split("</tr>").next())
        .expect("its line");
    assert!(sheet.contains("As rules 0.9.0 said it."), "{sheet}");
    assert!(order.contains("id=\"sheet-ports\"") && order.contains("On record."));
    // What those rules did not find is not found by today's.
    assert_eq!(
        shop.browser
            .get("/orders/412/why/seal-not-inspected/j4")
            .await
            .status,
        StatusCode::NOT_FOUND
    );
    // Opened again, it is judged by the rules of the day.
    assert_eq!(
        shop.browser
            .post("/orders/412/reopen", &[("reason", "It warms up again.")])
            .await
            .location,
        "/orders/412"
    );
    let order = shop.browser.get("/orders/412").await.body;
    assert!(
        order.contains(&escaped(&mismatch.says)) && !order.contains("0.9.0"),
        "{order}"
    );
}

/// A cancelled order stands as it was last judged, whatever the limits are today.
#[tokio::test]
async fn a_cancelled_order_stays_as_it_was_judged() {
    let mut shop = scenario().await;
    let says = "The limit is 40 g a year";
    assert_eq!(
        shop.browser
            .post(
                "/orders/412/cancel",
                &[("why", "The customer takes it away.")]
            )
            .await
            .location,
        "/orders/412"
    );
    let fields: Vec<(&str, &str)> = chillwright_calc::checks::limits::ALL
        .iter()
        .map(|l| (l.key, if l.key == "leak_limit" { "50 g/yr" } else { "" }))
        .collect();
    assert!(
        shop.browser
            .post("/shop/limits", &fields)
            .await
            .status
            .is_redirection()
    );
    for page in [
        "/orders/412",
        "/orders/412/why/hold-not-sensitive/leak_checks",
    ] {
        let body = shop.browser.get(page).await.body;
        assert!(body.contains(says), "{page}: {body}");
    }
}

/// The frozen handover as a program with other rules would have written it: one sentence of its own, and the forgotten seal not found.
async fn as_by_other_rules(shop: &Shop, says: &str) {
    let mut conn = shop.app.store.writer().await.expect("the writer");
    sqlx::raw_sql("DROP TRIGGER handover_no_update")
        .execute(&mut *conn)
        .await
        .expect("dropped");
    let text: String = sqlx::query_scalar("SELECT answer FROM handover")
        .fetch_one(&mut *conn)
        .await
        .expect("an answer");
    let mut answer: Value = serde_json::from_str(&text).expect("JSON");
    answer["rules"] = "0.9.0".into();
    let findings = answer["findings"].as_array_mut().expect("findings");
    findings.retain(|f| f["code"] != "seal-not-inspected");
    findings
        .iter_mut()
        .filter(|f| f["says"] == says)
        .for_each(|f| f["says"] = "As rules 0.9.0 said it.".into());
    let quoted = answer.to_string().replace('\'', "''");
    let change = format!(
        "UPDATE handover SET rules = '0.9.0', answer = '{quoted}';
         DELETE FROM finding WHERE code = 'seal-not-inspected'; UPDATE finding SET says = 'As rules 0.9.0 said it.' WHERE code = 'charge-mismatch'"
    );
    sqlx::raw_sql(sqlx::AssertSqlSafe(change))
        .execute(&mut *conn)
        .await
        .expect("written");
}
