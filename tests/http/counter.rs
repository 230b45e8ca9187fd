//! The counter sheet and what tests would show, through the pages.
use super::{
    job::with_order,
    kit::{Answer, Shop},
};
use axum::http::StatusCode;

async fn instrument(shop: &mut Shop, fields: &[(&str, &str)]) {
    let answer = shop.browser.post("/shop/instruments", fields).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.body);
}

async fn equipped() -> Shop {
    let mut shop = with_order().await;
    instrument(
        &mut shop,
        &[
            ("mark", "V-1"),
            ("kind", "vacuum-gauge"),
            ("unit", "micron"),
            ("resolution", "10"),
        ],
    )
    .await;
    instrument(
        &mut shop,
        &[
            ("mark", "G-3"),
            ("kind", "digital-gauge"),
            ("unit", "psi"),
            ("resolution", "1"),
        ],
    )
    .await;
    instrument(
        &mut shop,
        &[("mark", "D-1"), ("kind", "detector"), ("sensitivity", "4")],
    )
    .await;
    shop
}

async fn ask(shop: &mut Shop, fields: &[(&str, &str)]) -> Answer {
    let query = form_urlencoded::Serializer::new(String::new())
        .extend_pairs(fields)
        .finish();
    shop.browser.get(&format!("/counter?{query}")).await
}

const CAR: [(&str, &str); 3] = [
    ("refrigerant", "R-134a"),
    ("charge", "600"),
    ("charge_unit", "g"),
];

#[tokio::test]
async fn a_car_at_the_desk_gets_its_sheet() {
    let mut shop = equipped().await;
    let mut fields = CAR.to_vec();
    fields.extend([
        ("recovered", "380"),
        ("previous_on", "2024-05-12"),
        ("metal", "22"),
    ]);
    let page = ask(&mut shop, &fields).await;
    assert_eq!(page.status, StatusCode::OK);
    for told in [
        "380 g of 600 g came out: 220 g were lost.",
        "That is 110 g a year.",
        "an electronic check of every joint with D-1 (4 g a year)",
        "dry nitrogen at 150 psig for 30 min on gauge G-3 (resolution 1 psi)",
        "500 micron for 15 min on gauge V-1 (resolution 10 micron)",
        // The scenario's own figures: 29.3 inHg, 29.5 on this dial.
        "<td>29.3 inHg vacuum</td>",
        "<td>29.5 inHg vacuum</td>",
        "100.9 ± 0.1 kPa abs",
        "class=\"reach\"",
    ] {
        assert!(page.body.contains(told), "{told}\n{}", page.body);
    }
    assert!(
        page.body.contains("no") && page.body.contains("<td>yes</td>"),
        "{}",
        page.body
    );
    // Longer holds show more: the figure follows what is asked.
    fields.push(("held", "60"));
    let longer = ask(&mut shop, &fields).await.body;
    assert!(
        longer.contains("500 micron for 60 min on gauge V-1")
            && longer.contains("150 psig for 60 min on gauge G-3"),
        "{longer}"
    );
}

#[tokio::test]
async fn a_known_car_brings_its_label_to_the_counter() {
    let mut shop = equipped().await;
    let found = shop.browser.get("/counter?q=KD41").await.body;
    let link = found
        .split("href=\"/counter?vehicle=")
        .nth(1)
        .and_then(|s| s.split('"').next())
        .expect("the car")
        .to_owned();
    let page = shop
        .browser
        .get(&format!("/counter?vehicle={link}"))
        .await
        .body;
    assert!(
        page.contains("value=\"600\"")
            && page.contains("value=\"2.5\"")
            && page.contains("KD 41 TVL"),
        "{page}"
    );
    assert!(!page.contains("<h3>What it lost"), "nothing was asked yet");
}

#[tokio::test]
async fn what_is_wrong_is_said_beside_its_field_and_stays() {
    let mut shop = equipped().await;
    for (field, value, says) in [
        ("standing", "two", "“two” is not a number"),
        ("recovered", "-5", "Enter zero or more."),
        ("charge", "1,200", "enter 1.2 or 1200"),
        ("previous_on", "2027-01-01", "That date is in the future."),
        (
            "held",
            "0",
            "Enter a time between 1 min and 3 days (4320 min).",
        ),
        (
            "nitrogen",
            "4000",
            "Enter 100.0 kPa gauge to 1723.7 kPa gauge.",
        ),
    ] {
        let mut fields: Vec<(&str, &str)> = CAR.iter().filter(|f| f.0 != field).copied().collect();
        fields.extend([("ambient", "21"), (field, value)]);
        if !matches!(field, "standing" | "recovered") {
            fields.push(("recovered", "380"));
        }
        let page = ask(&mut shop, &fields).await;
        assert_eq!(
            page.status,
            StatusCode::UNPROCESSABLE_ENTITY,
            "{field}: {}",
            page.body
        );
        assert!(
            page.body.contains(says) && page.body.contains(&format!("value=\"{value}\"")),
            "{field}: {}",
            page.body
        );
    }
    let mut fields = CAR.to_vec();
    fields.push(("standing", "480"));
    let page = ask(&mut shop, &fields).await;
    assert!(
        page.body
            .contains("Enter the temperature. The pressure means nothing without it."),
        "{}",
        page.body
    );
    assert!(
        ask(&mut shop, &CAR)
            .await
            .body
            .contains("Enter the standing pressure or the mass recovered.")
    );
    let cold = [CAR.as_slice(), &[("standing", "480"), ("ambient", "-300")]].concat();
    assert!(ask(&mut shop, &cold).await.body.contains("absolute zero"));
}

#[tokio::test]
async fn the_hold_tells_what_each_test_would_show_before_it_is_begun() {
    let mut shop = equipped().await;
    let page = shop
        .browser
        .get("/orders/412/bench/hold?held=20")
        .await
        .body;
    assert!(
        page.contains("What each test would show")
            && page.contains("inHg vacuum for 20 min on gauge G-1 (resolution 0.5 inHg)")
            && page.contains("class=\"reach\""),
        "{page}"
    );
    let wrong = shop
        .browser
        .get("/orders/412/bench/hold?nitrogen=9000")
        .await
        .body;
    assert!(wrong.contains("Enter 100.0 kPa gauge to"), "{wrong}");
    assert!(
        !shop
            .browser
            .get("/orders/412/bench/oil")
            .await
            .body
            .contains("What each test would show")
    );
}
