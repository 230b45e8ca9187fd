//! Units either way, also of what was stored: Review, Today, the hand-over, lapses, and paper in the shop's units.
use super::{
    job::{kept, scenario, task},
    kit::Shop,
    why::escaped,
};
use axum::http::StatusCode;
use chillwright_calc::{UnitSystem, assess, parse, record::answer::Finding};

/// What is found on order 412, said in these units.
async fn found(shop: &mut Shop, units: UnitSystem) -> Vec<Finding> {
    let record = shop.browser.get("/orders/412/record.json").await.body;
    let answer = assess(&parse(&record).expect("a record"), units);
    answer.findings.into_iter().chain(answer.to_do).collect()
}

async fn said(shop: &mut Shop, code: &str, units: UnitSystem) -> String {
    escaped(
        &found(shop, units)
            .await
            .into_iter()
            .find(|f| f.code == code)
            .unwrap_or_else(|| panic!("{code} is not found"))
            .says,
    )
}

async fn look_in(shop: &mut Shop, units: &str) {
    shop.browser.look_in("/", units).await;
}

pub async fn decide(shop: &mut Shop, code: &str, decision: &str, words: &str) {
    shop.browser.ready(412).await;
    let review = shop.browser.get("/review").await.body;
    let action = review
        .split("action=\"")
        .filter_map(|s| s.split('"').next())
        .find(|a| a.contains(&format!("/{code}/")))
        .expect("the finding")
        .to_owned();
    let form = review
        .split(&format!("action=\"{action}\""))
        .nth(1)
        .expect("its form");
    let binding = form
        .split("name=\"binding\" value=\"")
        .nth(1)
        .and_then(|s| s.split('"').next())
        .expect("a binding")
        .replace("&#34;", "\"");
    let answer = shop
        .browser
        .post(
            &action,
            &[
                ("binding", &binding),
                ("decision", decision),
                ("words", words),
            ],
        )
        .await;
    assert_eq!(
        answer.status,
        StatusCode::SEE_OTHER,
        "{code}: {}",
        answer.body
    );
}

/// The forgotten seal was seen in time: what is left waits for the owner.
pub async fn waits_for_the_owner() -> Shop {
    let mut shop = scenario().await;
    let late = [
        ("seal.j4.state", "new"),
        ("seal.j4.late", "open"),
        ("seal.j4.seen", "2026-05-12T07:50"),
        ("lubricant", "mineral oil"),
    ];
    kept(&mut shop, "seals", "", &late).await;
    let allowed = [
        ("amount", "640"),
        ("given_by", "Odile Brandt"),
        ("how", "telephone"),
    ];
    assert!(
        shop.browser
            .post("/orders/412/authorisations", &allowed)
            .await
            .status
            .is_redirection()
    );
    shop.browser.ready(412).await;
    shop
}

#[tokio::test]
async fn lists_say_it_in_either_units() {
    let mut shop = waits_for_the_owner().await;
    for (units, system) in [("us", UnitSystem::Us), ("si", UnitSystem::Si)] {
        look_in(&mut shop, units).await;
        let other = if system == UnitSystem::Us {
            UnitSystem::Si
        } else {
            UnitSystem::Us
        };
        for page in ["/review", "/orders/412/handover", "/orders/412"] {
            let body = shop.browser.get(page).await.body;
            for code in ["charge-mismatch", "evacuation-does-not-dry"] {
                let (is, is_not) = (
                    said(&mut shop, code, system).await,
                    said(&mut shop, code, other).await,
                );
                assert!(
                    is != is_not && body.contains(&is) && !body.contains(&is_not),
                    "{page} {units}: {is}\n{body}"
                );
            }
        }
        let refused = shop
            .browser
            .post(
                "/orders/412/handover",
                &[("way", "repaired"), ("sentence", "All is well.")],
            )
            .await;
        let first = found(&mut shop, system)
            .await
            .into_iter()
            .find(|f| f.weight.word() == "concession")
            .expect("something waits");
        assert!(
            refused.body.contains(&format!(
                "Not ready to hand over as repaired: {}",
                escaped(&first.says)
            )),
            "{}",
            refused.body
        );
    }
    // What the owner sent back speaks the units of who reads it on the bench.
    decide(&mut shop, "charge-mismatch", "back", "Add what is missing.").await;
    for (units, system) in [("us", UnitSystem::Us), ("si", UnitSystem::Si)] {
        look_in(&mut shop, units).await;
        let says = said(&mut shop, "charge-mismatch", system).await;
        assert!(
            shop.browser
                .get("/orders/412/bench")
                .await
                .body
                .contains(&format!("About: {says}"))
        );
    }
}

/// With one finding left, Today says which, in the units on the page and with the tap to its reason.
#[tokio::test]
async fn today_says_it_in_either_units_and_leads_to_why() {
    let mut shop = waits_for_the_owner().await;
    for code in [
        "evacuation-does-not-dry",
        "hold-not-sensitive",
        "improvised-fixing",
    ] {
        decide(&mut shop, code, "accept", "It will do.").await;
    }
    for (units, system) in [("us", UnitSystem::Us), ("si", UnitSystem::Si)] {
        look_in(&mut shop, units).await;
        let (says, today) = (
            said(&mut shop, "charge-mismatch", system).await,
            shop.browser.get("/").await.body,
        );
        assert!(
            today.contains(&format!("Waiting for the owner’s decision: {says}")),
            "{units}: {says}\n{today}"
        );
        assert!(
            today.contains("href=\"/orders/412/why/charge-mismatch/charging\""),
            "{today}"
        );
    }
}

#[tokio::test]
async fn a_lapse_says_it_in_either_units() {
    let mut shop = waits_for_the_owner().await;
    decide(
        &mut shop,
        "charge-mismatch",
        "accept",
        "It cools well as it is.",
    )
    .await;
    let before = [
        said(&mut shop, "charge-mismatch", UnitSystem::Si).await,
        said(&mut shop, "charge-mismatch", UnitSystem::Us).await,
    ];
    shop.minutes_pass(60);
    let more = [
        ("refrigerant", "R-134a"),
        ("cylinder", "C-01"),
        ("before", "9.280"),
        ("after", "9.275"),
        ("hose", "0"),
        ("mass_unit", "kg"),
    ];
    assert!(
        task(&mut shop, "charging", "11:00", &more)
            .await
            .status
            .is_redirection()
    );
    shop.browser.ready(412).await;
    for (units, was) in [("si", &before[0]), ("us", &before[1])] {
        look_in(&mut shop, units).await;
        for page in ["/orders/412", "/review"] {
            let body = shop.browser.get(page).await.body;
            assert!(
                body.contains(&format!("Before: “{was}”")),
                "{page} {units}: {was}\n{body}"
            );
        }
    }
}

/// Paper has the shop's units, whoever looks at it in which: also what was accepted.
#[tokio::test]
async fn the_report_has_the_shops_units() {
    let mut shop = waits_for_the_owner().await;
    let settings = [
        ("name", "Hask & Marlow"),
        ("elevation", "120"),
        ("elevation_unit", "m"),
        ("zone", "UTC"),
        ("units", "us"),
        ("currency", "EUR"),
        ("tax", "10"),
        ("prices", "net"),
        ("version", "1"),
        ("tag_width", "62"),
        ("tag_height", "29"),
        ("cylinder_width", "100"),
        ("cylinder_height", "50"),
    ];
    let changed = shop.browser.post("/shop/settings", &settings).await;
    assert_eq!(changed.status, StatusCode::SEE_OTHER, "{}", changed.body);
    look_in(&mut shop, "si").await;
    for code in [
        "evacuation-does-not-dry",
        "hold-not-sensitive",
        "improvised-fixing",
        "charge-mismatch",
    ] {
        decide(&mut shop, code, "accept", "It will do.").await;
    }
    let (us, si) = (
        said(&mut shop, "charge-mismatch", UnitSystem::Us).await,
        said(&mut shop, "charge-mismatch", UnitSystem::Si).await,
    );
    assert!(
        shop.browser
            .get("/orders/412/report")
            .await
            .body
            .contains(&si),
        "a draft is looked at on the screen"
    );
    // One was accepted by a program that kept one system only.
    let older = "DROP TRIGGER concession_no_update; UPDATE concession SET says_us = '' WHERE code = 'evacuation-does-not-dry'";
    sqlx::raw_sql(older)
        .execute(&mut *shop.app.store.writer().await.expect("the writer"))
        .await
        .expect("written");
    let dry = said(&mut shop, "evacuation-does-not-dry", UnitSystem::Us).await;
    let done = shop
        .browser
        .post(
            "/orders/412/handover",
            &[("way", "repaired"), ("sentence", "It was repaired.")],
        )
        .await;
    assert_eq!(done.location, "/orders/412/report", "{}", done.body);
    let report = shop.browser.get("/orders/412/report").await.body;
    assert!(
        report.contains(&format!("{us} “It will do.”")) && !report.contains(&si),
        "{report}"
    );
    assert!(
        report.contains(&format!("{dry} “It will do.”")),
        "{dry}: {report}"
    );
}
