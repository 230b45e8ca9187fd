//! Jobs entered by forms: the scenario and what can happen to it.
use super::{
    kit::{Answer, Shop},
    money::INTAKE,
    program::says_the_same,
};
use axum::http::StatusCode;
use chillwright::{
    demo::car::{CAPPED, CHARGED, FITTED, LABEL, MEASURED, OPENED, Step, but},
    store::{assessment, orders},
};

pub const DAY: &str = "2026-05-12T";

/// The shop at 10:50 with barometer and order 412, whose label is that of the scenario.
pub async fn with_order() -> Shop {
    let mut shop = Shop::begun().await;
    shop.minutes_pass(170);
    let barometer = shop
        .browser
        .post(
            "/shop/barometer",
            &[
                ("pressure", "100.9"),
                ("unit", "kPa"),
                ("reduced", "here"),
                ("at", "2026-05-12T06:00"),
            ],
        )
        .await;
    assert_eq!(
        barometer.status,
        StatusCode::SEE_OTHER,
        "{}",
        barometer.body
    );
    let fields = but(INTAKE.as_slice(), LABEL);
    let answer = shop.browser.post("/intake", &fields).await;
    assert_eq!(answer.location, "/orders/412", "{}", answer.body);
    shop
}

/// Posts a task of the bench.
pub async fn task(shop: &mut Shop, word: &str, clock: &str, fields: &[(&str, &str)]) -> Answer {
    let at = format!("{DAY}{clock}");
    let mut all = fields.to_vec();
    if !clock.is_empty() {
        all.push(("at", &at));
    }
    shop.browser
        .post(&format!("/orders/412/bench/{word}"), &all)
        .await
}

pub async fn kept(shop: &mut Shop, word: &str, clock: &str, fields: &[(&str, &str)]) -> String {
    let answer = task(shop, word, clock, fields).await;
    assert_eq!(
        answer.status,
        StatusCode::SEE_OTHER,
        "{word}: {}",
        answer.body
    );
    answer.location
}

/// Takes a reading; gives the page that answers it.
pub async fn reading(
    shop: &mut Shop,
    hold: &str,
    clock: &str,
    number: &str,
    metal: &str,
) -> String {
    let at = format!("{DAY}{clock}");
    let mut fields = vec![("reading", number), ("at", at.as_str())];
    // The coldest metal is a matter of the whole evacuation.
    if !hold.contains("/holds/e") {
        fields.push(("metal", metal));
    }
    let answer = shop
        .browser
        .post(&format!("{hold}/readings"), &fields)
        .await;
    assert_eq!(answer.location, hold, "{}", answer.body);
    shop.browser.get(hold).await.body
}

async fn end(shop: &mut Shop, hold: &str, clock: &str) {
    let at = format!("{DAY}{clock}");
    assert_eq!(
        shop.browser
            .post(&format!("{hold}/end"), &[("ended", &at)])
            .await
            .location,
        hold
    );
}

/// Enters a step of the car.
pub async fn step(shop: &mut Shop, step: &Step) {
    let clock = |minute: i64| format!("{:02}:{:02}", 6 + (30 + minute) / 60, (30 + minute) % 60);
    let times: Vec<(&str, String)> = step
        .times
        .iter()
        .map(|(name, minute)| (*name, format!("{DAY}{}", clock(*minute))))
        .collect();
    let mut fields = step.fields.to_vec();
    fields.extend(times.iter().map(|(name, at)| (*name, at.as_str())));
    kept(
        shop,
        step.task,
        &step.minute.map(clock).unwrap_or_default(),
        &fields,
    )
    .await;
}

/// Everything up to the opened circuit with its parts.
pub async fn until_parts(shop: &mut Shop) {
    for each in OPENED.iter().chain(FITTED) {
        step(shop, each).await;
    }
}

/// The scenario as it stands after the performance reading.
pub async fn scenario() -> Shop {
    let mut shop = with_order().await;
    until_parts(&mut shop).await;
    let evacuation = kept(
        &mut shop,
        "evacuation",
        "09:00",
        &[("gauge", "G-1"), ("metal", "22")],
    )
    .await;
    reading(&mut shop, &evacuation, "09:42", "28", "").await;
    end(&mut shop, &evacuation, "09:42").await;
    let hold = kept(
        &mut shop,
        "hold",
        "09:43",
        &[("kind", "vacuum"), ("gauge", "G-1")],
    )
    .await;
    reading(&mut shop, &hold, "09:43", "28", "22").await;
    reading(&mut shop, &hold, "10:03", "28", "22").await;
    end(&mut shop, &hold, "10:03").await;
    for each in [CHARGED, MEASURED, CAPPED] {
        step(&mut shop, &each).await;
    }
    shop
}

pub async fn charge(shop: &mut Shop, clock: &str, before: &str, after: &str) {
    kept(
        shop,
        "charging",
        clock,
        &but(CHARGED.fields, &[("before", before), ("after", after)]),
    )
    .await;
}

pub async fn measure(shop: &mut Shop, clock: &str) {
    kept(shop, "performance", clock, MEASURED.fields).await;
}

/// What blocks or waits, as stored; and the program's answer to the order's own record is the same.
pub async fn in_the_way(shop: &mut Shop) -> Vec<String> {
    let stored = {
        let mut conn = shop.app.store.read().await.expect("a connection");
        let order = orders::by_number(&mut conn, 412)
            .await
            .expect("read")
            .expect("order");
        assessment::findings(&mut conn, order.id)
            .await
            .expect("findings")
    };
    let answer = says_the_same(shop).await;
    let text = |f: &serde_json::Value, key: &str| f[key].as_str().unwrap_or_default().to_owned();
    let told: Vec<_> = ["findings", "to_do"]
        .iter()
        .flat_map(|key| answer[*key].as_array().into_iter().flatten())
        .map(|f| (text(f, "code"), text(f, "about"), text(f, "says")))
        .collect();
    let kept: Vec<_> = stored
        .iter()
        .map(|f| (f.code.clone(), f.about.clone(), f.says.clone()))
        .collect();
    assert_eq!(told, kept, "the lists and the program");
    let mut all: Vec<String> = stored
        .into_iter()
        .filter(|f| f.weight.word() != "note")
        .map(|f| {
            format!(
                "{}{}",
                f.code,
                if f.weight.word() == "blocks" {
                    " blocks"
                } else {
                    ""
                }
            )
        })
        .collect();
    all.sort();
    all
}

#[tokio::test]
async fn the_scenario_finds_exactly_this() {
    let mut shop = scenario().await;
    assert_eq!(
        in_the_way(&mut shop).await,
        [
            "charge-mismatch",
            "evacuation-does-not-dry",
            "hold-not-sensitive",
            "improvised-fixing",
            "seal-not-inspected blocks"
        ]
    );
    let tag = shop.browser.get("/parts/1").await.body;
    for says in [
        "Northfell Dismantlers",
        "N-20417",
        "5531",
        "KD 41 TVL",
        "Odile Brandt",
    ] {
        assert!(tag.contains(says), "{says}");
    }
    assert_eq!(
        shop.browser.get("/search?q=kd41").await.location,
        "/orders/412"
    );
    assert_eq!(
        shop.browser.get("/search?q=05550199").await.location,
        "/orders/412"
    );
}

/// Branch b: the seal is looked at now. Recovered first; then hold and evacuation are stale, and all of it is done again.
#[tokio::test]
async fn looked_at_now_it_is_all_done_again() {
    let mut shop = scenario().await;
    shop.minutes_pass(240);
    kept(
        &mut shop,
        "recovery",
        "11:00",
        &[
            ("cylinder", "C-03"),
            ("refrigerant", "R-134a"),
            ("before", "11.0"),
            ("after", "11.555"),
            ("mass_unit", "kg"),
        ],
    )
    .await;
    let asked = task(
        &mut shop,
        "seals",
        "11:10",
        &[("seal.j4.state", "new"), ("lubricant", "mineral oil")],
    )
    .await;
    assert_eq!(asked.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        asked.body.contains("or was the joint reopened now?"),
        "{}",
        asked.body
    );
    kept(
        &mut shop,
        "seals",
        "11:10",
        &[
            ("seal.j4.state", "new"),
            ("seal.j4.late", "again"),
            ("lubricant", "mineral oil"),
        ],
    )
    .await;
    let way = in_the_way(&mut shop).await;
    assert!(
        way.contains(&"hold-missing blocks".to_owned())
            && !way.iter().any(|w| w.starts_with("seal")),
        "{way:?}"
    );
    assert!(
        shop.browser
            .get("/orders/412")
            .await
            .body
            .contains("It began before the joint evaporator outlet was opened")
    );
    let evacuation = kept(
        &mut shop,
        "evacuation",
        "11:20",
        &[("gauge", "G-1"), ("metal", "22")],
    )
    .await;
    let deep = reading(&mut shop, &evacuation, "12:00", "29.5", "").await;
    assert!(deep.contains("Deep enough to dry"), "{deep}");
    end(&mut shop, &evacuation, "12:00").await;
    let hold = kept(
        &mut shop,
        "hold",
        "12:01",
        &[("kind", "vacuum"), ("gauge", "G-1")],
    )
    .await;
    reading(&mut shop, &hold, "12:01", "29.5", "22").await;
    reading(&mut shop, &hold, "12:25", "29.5", "22").await;
    end(&mut shop, &hold, "12:25").await;
    charge(&mut shop, "12:30", "9.0", "8.39").await;
    measure(&mut shop, "12:50").await;
    kept(
        &mut shop,
        "checks",
        "13:00",
        &[
            ("method", "electronic"),
            ("sensitivity", "4"),
            ("proved", "reference leak"),
            ("places", "j1"),
            ("places", "j2"),
            ("places", "j3"),
            ("places", "j4"),
        ],
    )
    .await;
    assert_eq!(in_the_way(&mut shop).await, ["improvised-fixing"]);
}

/// One reading changes the verdict: the same hold with the needle at 26.
#[tokio::test]
async fn a_reading_changes_the_verdict_on_its_own_page() {
    let mut shop = with_order().await;
    until_parts(&mut shop).await;
    let hold = kept(
        &mut shop,
        "hold",
        "09:43",
        &[("kind", "vacuum"), ("gauge", "G-1")],
    )
    .await;
    reading(&mut shop, &hold, "09:43", "28", "22").await;
    let still = reading(&mut shop, &hold, "10:03", "28", "22").await;
    assert!(
        still.contains("OK so far. If you stop now it counts as a passed hold."),
        "{still}"
    );
    let fallen = reading(&mut shop, &hold, "10:05", "26", "22").await;
    assert!(
        fallen.contains("Failing so far. If you stop now it counts as a failed hold."),
        "{fallen}"
    );
    end(&mut shop, &hold, "10:05").await;
    assert!(
        in_the_way(&mut shop)
            .await
            .contains(&"hold-failed blocks".to_owned())
    );
    // Withdrawn, the reading does not count any more; it stays on record.
    let withdrawn = shop
        .browser
        .post_from(
            "/orders/412/pieces/m3/withdraw",
            "/orders/412/holds/h1",
            &[],
        )
        .await;
    assert_eq!(
        withdrawn.status,
        StatusCode::SEE_OTHER,
        "{}",
        withdrawn.body
    );
    assert!(
        !in_the_way(&mut shop)
            .await
            .contains(&"hold-failed blocks".to_owned())
    );
    let mut conn = shop.app.store.writer().await.expect("the writer");
    let versions: i64 = sqlx::query_scalar("SELECT count(*) FROM evidence_version v JOIN evidence e ON e.id = v.evidence WHERE e.mark = 'm3'")
        .fetch_one(&mut *conn)
        .await
        .expect("counted");
    assert_eq!(versions, 2);
}

/// An electronic gauge of 10 micron sees water: 1.3 mbar rising by 25.1 mbar with tau 5 min, to the 26.4 mbar of water at 22 °C (IAPWS), 7 readings over 20 min.
#[tokio::test]
async fn water_is_seen_on_an_electronic_gauge() {
    let mut shop = with_order().await;
    until_parts(&mut shop).await;
    let gauge = shop
        .browser
        .post(
            "/shop/instruments",
            &[
                ("mark", "V-1"),
                ("kind", "vacuum-gauge"),
                ("unit", "micron"),
                ("resolution", "10"),
            ],
        )
        .await;
    assert_eq!(gauge.status, StatusCode::SEE_OTHER, "{}", gauge.body);
    let hold = kept(
        &mut shop,
        "hold",
        "09:30",
        &[("kind", "vacuum"), ("gauge", "V-1")],
    )
    .await;
    let mut page = String::new();
    for i in 0..7 {
        let minutes = 20.0 * f64::from(i) / 6.0;
        let micron = (1.3 + 25.1 * (1.0 - (-minutes / 5.0_f64).exp())) * 750.0617;
        let seconds = (minutes * 60.0).round() as i64;
        page = reading(
            &mut shop,
            &hold,
            &format!("09:{:02}:{:02}", 30 + seconds / 60, seconds % 60),
            &format!("{micron:.0}"),
            "22",
        )
        .await;
    }
    assert!(
        page.contains("Failing so far. If you stop now it counts as a failed hold."),
        "{page}"
    );
    end(&mut shop, &hold, "10:01").await;
    assert!(
        in_the_way(&mut shop)
            .await
            .contains(&"hold-moisture".to_owned())
    );
    // The gauge is exchanged for a coarser one: what was recorded keeps its own copy.
    let list = shop.browser.get("/shop/instruments").await.body;
    let id = list
        .split("/shop/instruments?id=")
        .nth(2)
        .and_then(|s| s.split('"').next())
        .expect("an id")
        .to_owned();
    let change = [
        ("id", id.as_str()),
        ("version", "1"),
        ("mark", "V-1"),
        ("kind", "vacuum-gauge"),
        ("unit", "micron"),
        ("resolution", "1000"),
    ];
    assert_eq!(
        shop.browser.post("/shop/instruments", &change).await.status,
        StatusCode::SEE_OTHER
    );
    assert!(
        in_the_way(&mut shop)
            .await
            .contains(&"hold-moisture".to_owned())
    );
    assert!(
        shop.browser
            .get("/orders/412/record.json")
            .await
            .body
            .contains("\"resolution\": \"10 micron\"")
    );
}

/// Made safe: recovered and closed. Nothing printed says or implies that it was repaired.
#[tokio::test]
async fn a_car_leaves_made_safe() {
    let mut shop = with_order().await;
    kept(
        &mut shop,
        "recovery",
        "07:00",
        &[
            ("cylinder", "C-03"),
            ("refrigerant", "R-134a"),
            ("before", "11.20"),
            ("after", "11.58"),
            ("mass_unit", "kg"),
        ],
    )
    .await;
    let as_repaired = shop
        .browser
        .post(
            "/orders/412/handover",
            &[("way", "repaired"), ("sentence", "All is well.")],
        )
        .await;
    assert!(
        as_repaired.status == StatusCode::UNPROCESSABLE_ENTITY
            && as_repaired
                .body
                .contains("Not ready to hand over as repaired")
    );
    let word = shop
        .browser
        .post(
            "/orders/412/handover",
            &[("way", "made-safe"), ("sentence", "It is repaired.")],
        )
        .await;
    assert_eq!(word.status, StatusCode::UNPROCESSABLE_ENTITY);
    let done = shop
        .browser
        .post(
            "/orders/412/handover",
            &[
                ("way", "made-safe"),
                (
                    "sentence",
                    "The refrigerant was taken out; the air conditioning must not be used.",
                ),
            ],
        )
        .await;
    assert_eq!(done.location, "/orders/412/report", "{}", done.body);
    let report = shop.browser.get("/orders/412/report").await.body;
    assert!(report.contains("Handed over: made safe.") && report.contains("380 g"));
    says_the_same(&mut shop).await;
    let printed = report
        .split("<article")
        .nth(1)
        .expect("a report")
        .split("</article>")
        .next()
        .expect("its end");
    assert!(!printed.to_lowercase().contains("repaired"), "{printed}");
    // A closed order takes no evidence; the owner opens it again with a reason, and the first report stays.
    let refused = task(
        &mut shop,
        "standing",
        "10:00",
        &[("pressure", "0"), ("unit", "psi"), ("ambient", "21")],
    )
    .await;
    assert!(
        refused.body.contains("This order is closed"),
        "{}",
        refused.body
    );
    assert_eq!(
        shop.browser
            .post(
                "/orders/412/reopen",
                &[("reason", "The customer wants it repaired after all.")]
            )
            .await
            .location,
        "/orders/412"
    );
    kept(
        &mut shop,
        "standing",
        "10:00",
        &[("pressure", "0"), ("unit", "psi"), ("ambient", "21")],
    )
    .await;
    shop.browser
        .post(
            "/orders/412/handover",
            &[
                ("way", "diagnosed-only"),
                ("sentence", "Looked at once more."),
            ],
        )
        .await;
    assert!(
        shop.browser
            .get("/orders/412/report?handover=1")
            .await
            .body
            .contains("Replaced</b> by a later handover")
    );
    assert!(
        shop.browser
            .get("/orders/412/report")
            .await
            .body
            .contains("Looked at once more.")
    );
}

/// A concession holds for exactly what was shown: when a value changes it lapses, and says why.
#[tokio::test]
async fn a_concession_lapses_when_its_figures_change() {
    let mut shop = scenario().await;
    shop.browser.ready(412).await;
    let review = shop.browser.get("/review").await.body;
    let form = review
        .split("/review/412/charge-mismatch/charging")
        .nth(1)
        .expect("the form");
    let binding = form
        .split("name=\"binding\" value=\"")
        .nth(1)
        .and_then(|s| s.split('"').next())
        .expect("a binding")
        .replace("&#34;", "\"");
    let concede = [
        ("binding", binding.as_str()),
        ("decision", "accept"),
        ("words", "It cools well as it is."),
    ];
    let path = "/review/412/charge-mismatch/charging";
    assert_eq!(
        shop.browser.post(path, &concede).await.location,
        "/review?kept=1"
    );
    assert!(
        shop.browser
            .get("/orders/412")
            .await
            .body
            .contains("It cools well as it is.")
    );
    shop.minutes_pass(60);
    // 2 g more: still short, whatever the scale’s steps.
    charge(&mut shop, "11:00", "9.280", "9.268").await;
    let page = shop.browser.get("/orders/412").await.body;
    assert!(
        page.contains("The earlier acceptance is no longer valid.")
            && page.contains("The entries behind it have changed"),
        "{page}"
    );
    // What the owner saw then cannot be conceded now.
    let late = shop.browser.post_raw(path, &concede).await;
    assert!(
        late.body.contains("has changed since the page was shown"),
        "{}",
        late.body
    );
    // What blocks cannot be conceded at all.
    let blocked = shop
        .browser
        .post_raw(
            "/review/412/seal-not-inspected/j4",
            &[
                ("binding", "{\"evidence\":[\"j4\"],\"values\":{}}"),
                ("decision", "accept"),
                ("words", "I trust them."),
            ],
        )
        .await;
    assert!(
        blocked
            .body
            .contains("A blocking finding cannot be accepted")
            || blocked.status == StatusCode::UNPROCESSABLE_ENTITY,
        "{}",
        blocked.body
    );
}

/// Sent back with a reason it stands on top of the bench and on Today until it is answered.
#[tokio::test]
async fn what_is_sent_back_stands_until_it_is_answered() {
    let mut shop = scenario().await;
    shop.browser.ready(412).await;
    let review = shop.browser.get("/review").await.body;
    let form = review
        .split("/review/412/evacuation-does-not-dry/e1")
        .nth(1)
        .expect("the form");
    let binding = form
        .split("name=\"binding\" value=\"")
        .nth(1)
        .and_then(|s| s.split('"').next())
        .expect("a binding")
        .replace("&#34;", "\"");
    let back = [
        ("binding", binding.as_str()),
        ("decision", "back"),
        ("words", "Borrow the electronic gauge."),
    ];
    assert_eq!(
        shop.browser
            .post("/review/412/evacuation-does-not-dry/e1", &back)
            .await
            .location,
        "/review?kept=1"
    );
    shop.browser
        .post(
            "/orders/412/authorisations",
            &[
                ("amount", "640"),
                ("given_by", "Odile Brandt"),
                ("how", "telephone"),
            ],
        )
        .await;
    assert!(
        shop.browser
            .get("/")
            .await
            .body
            .contains("Borrow the electronic gauge.")
    );
    let bench = shop.browser.get("/orders/412/bench").await.body;
    let action = bench
        .split("action=\"/orders/412/sent-back/")
        .nth(1)
        .and_then(|s| s.split('"').next())
        .expect("a form");
    let answered = shop
        .browser
        .post_from(
            &format!("/orders/412/sent-back/{action}"),
            "/orders/412/bench",
            &[("says", "It is lent out until Monday.")],
        )
        .await;
    assert_eq!(
        answered.location, "/orders/412/bench?kept=1",
        "{}",
        answered.body
    );
    assert!(
        !shop
            .browser
            .get("/orders/412/bench")
            .await
            .body
            .contains("Borrow the electronic gauge.")
    );
}

/// One limit changed: order page, Today's findings, Review, a new report, JSON and command line alike.
#[tokio::test]
async fn a_changed_limit_changes_every_place() {
    let mut shop = scenario().await;
    shop.browser.ready(412).await;
    let says = "600 g ± 25 g";
    for path in ["/orders/412", "/review"] {
        assert!(shop.browser.get(path).await.body.contains(says), "{path}");
    }
    let mut fields: Vec<(&str, &str)> = chillwright_calc::checks::limits::ALL
        .iter()
        .map(|l| (l.key, ""))
        .collect();
    fields
        .iter_mut()
        .find(|f| f.0 == "leak_limit")
        .expect("the limit")
        .1 = "50 g/yr";
    assert_eq!(
        shop.browser.post("/shop/limits", &fields).await.status,
        StatusCode::SEE_OTHER
    );
    for path in ["/orders/412", "/review", "/orders/412/report"] {
        let body = shop.browser.get(path).await.body;
        assert!(body.contains("The limit is 50 g a year"), "{path}: {body}");
    }
    assert!(
        shop.browser
            .get("/orders/412/record.json")
            .await
            .body
            .contains("\"leak_limit\": \"50 g/yr\"")
    );
    in_the_way(&mut shop).await;
    let refused = shop
        .browser
        .post("/shop/limits", &[("leak_limit", "a little")])
        .await;
    assert!(
        refused.status == StatusCode::UNPROCESSABLE_ENTITY && refused.body.contains("a little")
    );
}

/// The resolution of the gauge stands in the report's sentence.
#[tokio::test]
async fn a_finer_gauge_says_another_sentence_on_the_report() {
    let mut shop = scenario().await;
    assert!(
        shop.browser
            .get("/orders/412/report")
            .await
            .body
            .contains("309 kg a year")
    );
    let change = [
        ("mark", "G-5"),
        ("kind", "dial-gauge"),
        ("unit", "inHg"),
        ("resolution", "0.1"),
    ];
    assert_eq!(
        shop.browser.post("/shop/instruments", &change).await.status,
        StatusCode::SEE_OTHER
    );
    let corrected = task(
        &mut shop,
        "hold",
        "09:43",
        &[
            ("kind", "vacuum"),
            ("gauge", "G-5"),
            ("piece", "h1"),
            ("seen", "2"),
            ("why", "It was the finer dial."),
        ],
    )
    .await;
    assert_eq!(
        corrected.status,
        StatusCode::SEE_OTHER,
        "{}",
        corrected.body
    );
    let report = shop.browser.get("/orders/412/report").await.body;
    assert!(
        !report.contains("309 kg a year") && report.contains("64.7 kg a year"),
        "{report}"
    );
}

/// The ring says what the text says, in two layouts: every joint that is marked on it is told in the sheet too.
#[tokio::test]
async fn the_ring_agrees_with_the_text() {
    for (metering, opened, other) in [
        ("expansion-valve", "drier outlet", "orifice tube inlet"),
        ("orifice-tube", "accumulator inlet", "drier inlet"),
    ] {
        let mut shop = Shop::begun().await;
        let mut fields = INTAKE.to_vec();
        fields.push(("metering", metering));
        assert_eq!(
            shop.browser.post("/intake", &fields).await.location,
            "/orders/412"
        );
        let choice = format!("new:{opened}");
        kept(
            &mut shop,
            "joints",
            "07:10",
            &[
                ("joints", choice.as_str()),
                ("other", "behind the glove box"),
            ],
        )
        .await;
        let page = shop.browser.get("/orders/412").await.body;
        let ring = page
            .split("<svg")
            .nth(1)
            .and_then(|s| s.split("</svg>").next())
            .expect("a ring");
        let text = page.split("id=\"sheet\"").nth(1).expect("a sheet");
        for place in [opened, "behind the glove box"] {
            assert!(
                ring.contains(&format!("no seal on record: {place}\"")),
                "{metering} {place}: {ring}"
            );
            assert!(text.contains(place), "{metering} {place}");
        }
        // A joint that only the other layout has is on neither; one left alone is on the ring with its place.
        assert!(
            !ring.contains(other) && ring.contains("compressor outlet: not opened"),
            "{metering}"
        );
        let usual = chillwright::shop::layout::joints(metering.parse().ok(), 1).len();
        assert_eq!(
            ring.matches(": not opened\"").count(),
            usual - 1,
            "{metering}"
        );
    }
}

/// A running hold is the house's, not the tablet's: another device goes on with it.
#[tokio::test]
async fn another_tablet_goes_on_with_a_running_hold() {
    let mut shop = with_order().await;
    let hold = kept(
        &mut shop,
        "hold",
        "10:00",
        &[("kind", "vacuum"), ("gauge", "G-1")],
    )
    .await;
    reading(&mut shop, &hold, "10:00", "28", "22").await;
    let page = shop
        .browser
        .post("/shop/devices", &[("name", "bench 2")])
        .await
        .body;
    let code = page
        .split("class=\"code\">")
        .nth(1)
        .and_then(|s| s.split('<').next())
        .expect("a code")
        .to_owned();
    let mut tablet = shop.browser.stranger();
    tablet.post("/device", &[("code", &code)]).await;
    let person = tablet
        .get("/sign-in")
        .await
        .body
        .split("name=\"person\" value=\"")
        .nth(1)
        .and_then(|s| s.split('"').next())
        .expect("a person")
        .to_owned();
    tablet
        .post("/sign-in", &[("person", &person), ("pin", super::kit::PIN)])
        .await;
    assert!(
        tablet
            .get("/orders/412/bench")
            .await
            .body
            .contains("Vacuum hold since")
    );
    let kept = tablet
        .post(
            &format!("{hold}/readings"),
            &[("tile", "28"), ("metal", "22"), ("at", "2026-05-12T10:20")],
        )
        .await;
    assert_eq!(kept.location, hold, "{}", kept.body);
    assert!(
        shop.browser
            .get(&hold)
            .await
            .body
            .contains("OK so far. If you stop now it counts as a passed hold.")
    );
}

/// A car that was handed over is shown as it was, whatever the limits and instruments are today.
#[tokio::test]
async fn a_frozen_report_and_its_order_stay_as_they_were() {
    let mut shop = scenario().await;
    let done = shop
        .browser
        .post(
            "/orders/412/handover",
            &[
                ("way", "partly-repaired"),
                ("sentence", "The customer stopped the work."),
            ],
        )
        .await;
    // Nothing may imply a repair, but the way itself is called so.
    assert_eq!(done.location, "/orders/412/report", "{}", done.body);
    let (report, order) = (
        shop.browser.get("/orders/412/report").await.body,
        shop.browser.get("/orders/412/record.json").await.body,
    );
    let mut fields: Vec<(&str, &str)> = chillwright_calc::checks::limits::ALL
        .iter()
        .map(|l| (l.key, ""))
        .collect();
    fields
        .iter_mut()
        .find(|f| f.0 == "hold_minimum")
        .expect("the limit")
        .1 = "PT30M";
    assert_eq!(
        shop.browser.post("/shop/limits", &fields).await.status,
        StatusCode::SEE_OTHER
    );
    let deeds = |page: &str| {
        page.split("<article")
            .nth(1)
            .and_then(|s| s.split("</article>").next())
            .expect("a report")
            .to_owned()
    };
    assert_eq!(
        deeds(&shop.browser.get("/orders/412/report").await.body),
        deeds(&report)
    );
    assert_eq!(
        shop.browser.get("/orders/412/record.json").await.body,
        order
    );
    assert!(
        shop.browser
            .post("/orders/412/reopen", &[("reason", "once more")])
            .await
            .status
            .is_redirection()
    );
    for word in ["It cools again.", "All fixed."] {
        let refused = shop
            .browser
            .post(
                "/orders/412/handover",
                &[("way", "made-safe"), ("sentence", word)],
            )
            .await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{word}");
    }
}

/// The rear evaporator's joint stands at the rear evaporator, also where it alone is on record.
#[tokio::test]
async fn front_and_rear_are_told_apart_on_the_ring() {
    let mut shop = Shop::begun().await;
    let mut fields = INTAKE.to_vec();
    fields.extend([("metering", "expansion-valve"), ("evaporators", "2")]);
    assert_eq!(
        shop.browser.post("/intake", &fields).await.location,
        "/orders/412"
    );
    kept(
        &mut shop,
        "joints",
        "07:10",
        &[("joints", "new:rear evaporator inlet")],
    )
    .await;
    let page = shop.browser.get("/orders/412").await.body;
    let joint = page
        .split("no seal on record: rear evaporator inlet\"")
        .nth(1)
        .expect("the joint");
    let front = page
        .split("evaporator inlet: not opened\"")
        .nth(1)
        .expect("the other");
    let x = |s: &str| {
        s.split("x=\"")
            .nth(1)
            .and_then(|s| s.split('"').next())
            .and_then(|n| n.parse::<i32>().ok())
            .expect("a number")
    };
    assert!(x(joint) < x(front), "{} {}", x(joint), x(front));
}
