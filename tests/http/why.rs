//! One text everywhere: page, Why, JSON and command line agree, for the scenario and for each order of the invented shop.
use super::{
    job::scenario,
    kit::{PIN, Shop},
    program::by_command_line,
};
use axum::http::StatusCode;
use chillwright::{shop::Instant, work::codes::Codes};
use chillwright_calc::{
    Assessment, UnitSystem, assess,
    checks::{explain::why, with_case},
    parse,
};

/// As it stands on a page.
pub fn escaped(text: &str) -> String {
    text.replace('&', "&#38;")
        .replace('<', "&#60;")
        .replace('>', "&#62;")
        .replace('"', "&#34;")
        .replace('\'', "&#39;")
}

async fn answer(shop: &mut Shop, number: i64, units: UnitSystem) -> (String, Assessment) {
    let record = shop
        .browser
        .get(&format!("/orders/{number}/record.json"))
        .await
        .body;
    let answer = assess(&parse(&record).expect("a record"), units);
    (record, answer)
}

/// From each finding one tap to its reason, in the units on the page; what is gone is said so.
#[tokio::test]
async fn each_finding_explains_itself() {
    let mut shop = scenario().await;
    for units in [UnitSystem::Si, UnitSystem::Us] {
        let word = if units == UnitSystem::Us { "us" } else { "si" };
        shop.browser.look_in("/orders/412", word).await;
        let (record, answer) = answer(&mut shop, 412, units).await;
        let all: Vec<_> = answer.findings.iter().chain(&answer.to_do).collect();
        assert!(all.len() >= 5);
        let order = shop.browser.get("/orders/412").await.body;
        for f in all {
            let link = format!("/orders/412/why/{}/{}", f.code, f.about);
            assert!(order.contains(&format!("href=\"{link}\"")), "{link}");
            let page = shop.browser.get(&link).await.body;
            let why = with_case(&parse(&record).expect("a record"), units, |case| {
                why(case, f)
            });
            let texts = [
                f.says.as_str(),
                f.do_next.as_str(),
                f.source.as_str(),
                &why.law,
                &why.doubt,
                &why.change,
            ];
            let steps = why
                .steps
                .iter()
                .flat_map(|s| [s.name.as_str(), s.value.as_str(), s.how.as_str(), s.source]);
            for text in texts.into_iter().chain(steps) {
                assert!(page.contains(&escaped(text)), "{link} lacks {text}\n{page}");
            }
        }
        assert!(
            order.contains("/why/hold-not-sensitive/leak_checks")
                && shop
                    .browser
                    .get("/orders/412/bench")
                    .await
                    .body
                    .contains("/why/")
        );
    }
    assert_eq!(
        shop.browser
            .get("/orders/412/why/hold-failed/h1")
            .await
            .status,
        StatusCode::NOT_FOUND
    );
}

/// Each order of the invented shop: its record, through the command line, gives what its page shows.
#[tokio::test]
async fn the_record_of_each_invented_order_gives_what_its_page_shows() {
    let mut shop = Shop::new().await;
    let now = Instant::parse("2026-05-12T15:00:00Z").expect("a time");
    let printed = chillwright::demo::make(&shop.app.store, &Codes::cheap(), &shop.app.files, now)
        .await
        .expect("an invented shop");
    shop.minutes_pass(7 * 60);
    assert_eq!(
        shop.browser
            .post("/device", &[("code", &printed.admission)])
            .await
            .location,
        "/"
    );
    let owner = printed
        .people
        .iter()
        .find(|p| p.roles.contains("owner"))
        .expect("an owner");
    let people = shop.browser.get("/sign-in").await.body;
    let person = people
        .split(owner.name)
        .next()
        .and_then(|s| s.rsplit("value=\"").next())
        .and_then(|s| s.split('"').next())
        .expect("a person")
        .to_owned();
    assert_eq!(owner.code, PIN);
    assert_eq!(
        shop.browser
            .post(
                "/sign-in",
                &[
                    ("person", &person),
                    ("pin", owner.code),
                    ("back", "/orders")
                ]
            )
            .await
            .location,
        "/orders"
    );
    let list = shop.browser.get("/orders").await.body;
    let numbers: Vec<i64> = list
        .split("href=\"/orders/")
        .skip(1)
        .filter_map(|s| s.split('"').next()?.parse().ok())
        .collect();
    assert!(numbers.len() >= 8, "{numbers:?}");
    let (mut told, mut orders) = (0, 0);
    for number in numbers {
        let (record, answer) = answer(&mut shop, number, UnitSystem::Si).await;
        assert_eq!(
            by_command_line(&record),
            serde_json::to_value(&answer).expect("JSON"),
            "order {number}"
        );
        let page = shop.browser.get(&format!("/orders/{number}")).await.body;
        for f in answer.findings.iter().chain(&answer.to_do) {
            assert!(
                page.contains(&escaped(&f.says)),
                "order {number}: {}\n{page}",
                f.says
            );
            told += 1;
        }
        let shown = page.matches("/why/").count();
        assert_eq!(
            shown,
            answer.findings.len() + answer.to_do.len(),
            "order {number}: the page shows no other finding"
        );
        orders += 1;
    }
    assert!(told >= 10, "{told} findings on {orders} orders");
}

/// A used part of a yard whose part came back once is told so on the next car, and a part of another yard is not.
#[tokio::test]
async fn a_part_of_a_yard_that_came_back_is_seen_before() {
    let mut shop = scenario().await;
    let mut second = super::money::INTAKE.to_vec();
    second[0] = ("plate", "MR 07 OST");
    assert_eq!(
        shop.browser.post("/intake", &second).await.location,
        "/orders/413"
    );
    let part = |yard: &'static str| {
        [
            ("role", "condenser"),
            ("source", "salvaged"),
            ("fitted", "yes"),
            ("ports", "capped"),
            ("yard_other", yard),
            ("vehicle", "2011 Tarn Vela"),
            ("stock", "X-2"),
            ("receipt", "77"),
            ("pulled_on", "2026-05-01"),
            ("at", "2026-05-12T09:00"),
        ]
    };
    for yard in ["Northfell Dismantlers", "Sallow Yard"] {
        let kept = shop
            .browser
            .post("/orders/413/bench/parts", &part(yard))
            .await;
        assert_eq!(kept.status, StatusCode::SEE_OTHER, "{}", kept.body);
    }
    let seen = |a: &Assessment| {
        a.findings
            .iter()
            .filter(|f| f.code == "part-seen-before")
            .map(|f| f.about.clone())
            .collect::<Vec<_>>()
    };
    assert_eq!(
        seen(&answer(&mut shop, 413, UnitSystem::Si).await.1),
        Vec::<String>::new()
    );
    let out = [("way", "diagnosed-only"), ("sentence", "We looked at it.")];
    assert_eq!(
        shop.browser
            .post("/orders/412/handover", &out)
            .await
            .location,
        "/orders/412/report"
    );
    assert_eq!(
        shop.browser
            .post("/orders/412/reopen", &[("reason", "it leaks again")])
            .await
            .location,
        "/orders/412"
    );
    assert_eq!(
        seen(&answer(&mut shop, 413, UnitSystem::Si).await.1),
        ["p1"]
    );
    let page = shop.browser.get("/orders/413").await.body;
    assert!(
        page.contains("is on the shop’s record with a comeback")
            && page.contains("/why/part-seen-before/p1"),
        "{page}"
    );
    // Its own comeback is no reason against itself.
    assert_eq!(
        seen(&answer(&mut shop, 412, UnitSystem::Si).await.1),
        Vec::<String>::new()
    );
}
