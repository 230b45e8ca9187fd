//! Contamination follows the cylinder from order to order; what a circuit may be tested with and at; a conversion's list.
use super::{
    job::{DAY, kept, task, with_order},
    kit::{Answer, Shop},
    money::INTAKE,
};
use axum::http::StatusCode;
use serde_json::Value;
use sqlx::Row;

async fn cylinder(shop: &mut Shop, mark: &str, refrigerant: &str, purpose: &str) {
    let fields = [
        ("mark", mark),
        ("refrigerant", refrigerant),
        ("purpose", purpose),
    ];
    assert_eq!(
        shop.browser.post("/shop/cylinders", &fields).await.location,
        "/shop/cylinders?kept=1"
    );
}

async fn purpose(shop: &Shop, mark: &str) -> String {
    let mut conn = shop.app.store.read().await.expect("a connection");
    sqlx::query_scalar!("SELECT purpose FROM cylinder WHERE mark = ?", mark)
        .fetch_one(&mut *conn)
        .await
        .expect("a cylinder")
}

/// What the audit trail tells of cylinders that were marked.
async fn marked(shop: &Shop) -> Vec<String> {
    let mut conn = shop.app.store.read().await.expect("a connection");
    let rows = sqlx::raw_sql("SELECT content FROM audit_entry ORDER BY seq")
        .fetch_all(&mut *conn)
        .await
        .expect("entries");
    let contents = rows
        .iter()
        .map(|r| serde_json::from_str::<Value>(&r.get::<String, _>(0)).expect("JSON"));
    contents
        .filter_map(|c| {
            Some(
                c.as_array()?
                    .iter()
                    .find_map(|t| t.get("contaminated"))?
                    .as_str()?
                    .to_owned(),
            )
        })
        .collect()
}

async fn task_of(
    shop: &mut Shop,
    order: u32,
    word: &str,
    clock: &str,
    fields: &[(&str, &str)],
) -> Answer {
    let at = format!("{DAY}{clock}");
    let mut all = fields.to_vec();
    all.push(("at", &at));
    shop.browser
        .post(&format!("/orders/{order}/bench/{word}"), &all)
        .await
}

async fn record(shop: &mut Shop, order: u32) -> Value {
    serde_json::from_str(
        &shop
            .browser
            .get(&format!("/orders/{order}/record.json"))
            .await
            .body,
    )
    .expect("JSON")
}

fn recovery(refrigerant: &'static str) -> [(&'static str, &'static str); 5] {
    [
        ("cylinder", "C-03"),
        ("refrigerant", refrigerant),
        ("before", "11.20"),
        ("after", "11.58"),
        ("mass_unit", "kg"),
    ]
}

const CHARGE: [(&str, &str); 6] = [
    ("cylinder", "C-03"),
    ("refrigerant", "R-134a"),
    ("before", "11.0"),
    ("after", "10.4"),
    ("hose", "0"),
    ("mass_unit", "kg"),
];

/// A second car, opened at once.
async fn second(shop: &mut Shop) {
    let mut fields = INTAKE.to_vec();
    fields[0] = ("plate", "KD 77 TVL");
    assert_eq!(
        shop.browser.post("/intake", &fields).await.location,
        "/orders/413"
    );
}

#[tokio::test]
async fn what_took_a_mixture_is_marked_and_other_orders_know_it() {
    let mut shop = with_order().await;
    cylinder(&mut shop, "C-03", "R-134a", "recovery").await;
    second(&mut shop).await;
    // Charged from it before, and after, another order put a mixture into it.
    assert_eq!(
        task_of(&mut shop, 413, "charging", "06:00", &CHARGE)
            .await
            .status,
        StatusCode::SEE_OTHER
    );
    kept(
        &mut shop,
        "identification",
        "06:40",
        &[
            ("gas", "R-134a"),
            ("share", "90"),
            ("air", "0"),
            ("sealant", "no"),
        ],
    )
    .await;
    assert_eq!(purpose(&shop, "C-03").await, "recovery");
    kept(&mut shop, "recovery", "07:00", &recovery("R-134a")).await;
    assert_eq!(
        (purpose(&shop, "C-03").await.as_str(), marked(&shop).await),
        ("contaminated", vec!["C-03".to_owned()])
    );
    assert_eq!(
        record(&mut shop, 412).await["recovery"][0]["_spoils"],
        Value::Null,
        "the shop's own note is no part of the record"
    );
    assert_eq!(
        record(&mut shop, 413).await["charging"][0]["contaminated"],
        Value::Null,
        "it was clean then"
    );
    assert_eq!(
        task_of(&mut shop, 413, "charging", "07:30", &CHARGE)
            .await
            .status,
        StatusCode::SEE_OTHER
    );
    let charging = record(&mut shop, 413).await["charging"].clone();
    assert_eq!(
        (&charging[0]["contaminated"], &charging[1]["contaminated"]),
        (&Value::Null, &Value::Bool(true))
    );
    let page = shop.browser.get("/orders/413").await.body;
    assert!(page.contains("/why/contaminated-cylinder/"), "{page}");
}

/// The identifier is read later than the refrigerant was recovered, and entered later still: the cylinder is marked all the same.
#[tokio::test]
async fn an_identification_entered_later_marks_it_too() {
    let mut shop = with_order().await;
    cylinder(&mut shop, "C-03", "R-134a", "recovery").await;
    kept(&mut shop, "recovery", "07:00", &recovery("R-134a")).await;
    assert_eq!(
        purpose(&shop, "C-03").await,
        "recovery",
        "pure as far as anybody knows"
    );
    kept(
        &mut shop,
        "identification",
        "06:40",
        &[("gas", "other"), ("share", "100")],
    )
    .await;
    assert_eq!(purpose(&shop, "C-03").await, "contaminated");
}

/// Another refrigerant than the circuit's, or than the cylinder's.
#[tokio::test]
async fn another_refrigerant_marks_it() {
    let mut shop = with_order().await;
    cylinder(&mut shop, "C-03", "R-1234yf", "recovery").await;
    kept(&mut shop, "recovery", "07:00", &recovery("R-134a")).await;
    assert_eq!(
        purpose(&shop, "C-03").await,
        "contaminated",
        "R-134a in a cylinder for R-1234yf"
    );
    let mut shop = with_order().await;
    cylinder(&mut shop, "C-03", "R-134a", "recovery").await;
    kept(
        &mut shop,
        "recovery",
        "07:00",
        &[
            ("cylinder", "C-03"),
            ("refrigerant", "R-134a"),
            ("before", "11.2"),
            ("after", "11.2"),
            ("mass_unit", "kg"),
        ],
    )
    .await;
    kept(&mut shop, "recovery", "07:10", &recovery("R-134a")).await;
    assert_eq!(purpose(&shop, "C-03").await, "recovery");
}

/// A cylinder that the shop marked by hand, nobody knows since when.
#[tokio::test]
async fn a_mark_by_hand_counts() {
    let mut shop = with_order().await;
    cylinder(&mut shop, "C-03", "R-134a", "contaminated").await;
    kept(&mut shop, "charging", "09:00", &CHARGE).await;
    assert_eq!(
        record(&mut shop, 412).await["charging"][0]["contaminated"],
        Value::Bool(true)
    );
}

/// Too much pressure, and a gas that must not be: the page of the hold says so at once, and no volume is offered to be entered.
#[tokio::test]
async fn a_circuit_under_too_much_pressure_is_told_at_once() {
    let mut shop = with_order().await;
    let gauge = [
        ("mark", "P-1"),
        ("kind", "digital-gauge"),
        ("unit", "psi"),
        ("resolution", "1"),
    ];
    assert_eq!(
        shop.browser.post("/shop/instruments", &gauge).await.status,
        StatusCode::SEE_OTHER
    );
    let hold = kept(
        &mut shop,
        "hold",
        "08:10",
        &[("kind", "pressure"), ("gas", "nitrogen"), ("gauge", "P-1")],
    )
    .await;
    let at = format!("{DAY}08:10");
    assert_eq!(
        shop.browser
            .post(
                &format!("{hold}/readings"),
                &[("reading", "290"), ("metal", "22"), ("at", &at)]
            )
            .await
            .location,
        hold
    );
    let page = shop.browser.get(&hold).await.body;
    for says in [
        "Stop: too much pressure.",
        "The gauge shows 290 psig; this circuit may be tested at no more than 250 psig.",
        "Let it off slowly",
    ] {
        assert!(page.contains(says), "{says}: {page}");
    }
    let air = kept(
        &mut shop,
        "hold",
        "08:20",
        &[("kind", "pressure"), ("gas", "oxygen"), ("gauge", "P-1")],
    )
    .await;
    assert!(
        shop.browser
            .get(&air)
            .await
            .body
            .contains("Stop: unsafe test gas.")
    );
    let ask = |before: &str, after: &str| {
        format!(
            "/orders/412/volume?vessel=1&unit=kPa&resolution=1&vessel_before=9000&circuit_before={before}&after={after}"
        )
    };
    let page = shop.browser.get(&ask("2000", "4000")).await.body;
    assert!(
        page.contains("Too much pressure in the circuit.")
            && page.contains("no more than 1724 kPa gauge"),
        "{page}"
    );
    assert!(
        !page.contains("Save it below") && !page.contains("Enter this volume"),
        "{page}"
    );
    assert!(
        shop.browser
            .get(&ask("0", "1500"))
            .await
            .body
            .contains("Save it below")
    );
}

/// The label's own test pressure, and what a conversion took: entered, shown again, kept through another correction.
#[tokio::test]
async fn test_pressure_and_conversion_are_entered_under_the_details() {
    let mut shop = with_order().await;
    let label = |seen: &'static str| {
        vec![
            ("refrigerant", "R-134a"),
            ("charge", "600"),
            ("charge_unit", "g"),
            ("seen", seen),
        ]
    };
    let mut fields = label("1");
    fields.extend([
        ("test_pressure", "200"),
        ("converted_from", "R-12"),
        ("conversion", "label"),
        ("conversion", "cut_out"),
    ]);
    let refused = shop.browser.post("/orders/412/label", &fields).await;
    assert!(
        refused.status == StatusCode::UNPROCESSABLE_ENTITY
            && refused
                .body
                .contains("Choose the unit of the test pressure."),
        "{}",
        refused.body
    );
    fields.push(("test_pressure_unit", "psi"));
    assert_eq!(
        shop.browser.post("/orders/412/label", &fields).await.status,
        StatusCode::SEE_OTHER
    );
    let system = record(&mut shop, 412).await["system"].clone();
    assert_eq!(
        (
            system["test_pressure_most"].as_str(),
            system["converted_from"].as_str()
        ),
        (Some("200 psi gauge"), Some("R-12"))
    );
    assert_eq!(
        system["conversion"],
        serde_json::json!({ "label": true, "cut_out": true })
    );
    kept(
        &mut shop,
        "charging",
        "09:00",
        &[
            ("cylinder", "C-01"),
            ("refrigerant", "R-134a"),
            ("before", "9"),
            ("after", "8.4"),
            ("hose", "0"),
            ("mass_unit", "kg"),
        ],
    )
    .await;
    let page = shop.browser.get("/orders/412").await.body;
    assert!(page.contains("not on record: the service-port fittings, oil that suits it, a desiccant that suits it."), "{page}");
    let details = shop.browser.get("/orders/412/details").await.body;
    assert!(details.contains("value=\"200\""), "{details}");
}

/// The voltage and the wait are both asked for; a live one is kept and told.
#[tokio::test]
async fn an_isolation_has_its_wait_and_its_voltage() {
    let mut shop = with_order().await;
    for (fields, says) in [
        (&[("measured", "0")][..], "Enter how long was waited"),
        (&[("waited", "10")][..], "Enter the voltage measured."),
        (&[("waited", "-1"), ("measured", "0")][..], "Enter minutes"),
    ] {
        let refused = task(&mut shop, "isolation", "07:00", fields).await;
        assert!(
            refused.status == StatusCode::UNPROCESSABLE_ENTITY && refused.body.contains(says),
            "{fields:?}: {}",
            refused.body
        );
    }
    kept(
        &mut shop,
        "isolation",
        "07:00",
        &[("waited", "12.5"), ("measured", "400")],
    )
    .await;
    let isolation = record(&mut shop, 412).await["isolation"][0].clone();
    assert_eq!(
        (isolation["waited"].as_str(), isolation["measured"].as_str()),
        (Some("PT750S"), Some("400 V"))
    );
    let page = shop.browser.get("/orders/412/bench/isolation").await.body;
    assert!(
        page.contains(
            "400 V were measured after a wait of 12 min: the compressor’s circuit is still live."
        ),
        "{page}"
    );
}
