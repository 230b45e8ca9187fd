//! How it cools, entered by the form and told on bench and report.
use super::{
    job::{kept, scenario},
    kit::Shop,
};

async fn measured(shop: &mut Shop, clock: &str, changes: &[(&str, &str)]) {
    let usual = [
        ("ambient", "27"),
        ("humidity", "50"),
        ("low", "32"),
        ("high", "190"),
        ("unit", "psi"),
        ("vent", "7"),
        ("engine", "1500"),
        ("blower", "high"),
    ];
    let kept_of_usual = usual
        .into_iter()
        .filter(|(name, _)| !changes.iter().any(|(changed, _)| changed == name));
    let fields: Vec<_> = kept_of_usual.chain(changes.iter().copied()).collect();
    kept(shop, "performance", clock, &fields).await;
}

async fn report(shop: &mut Shop) -> String {
    shop.browser.get("/orders/412/report").await.body
}

/// Whether doors stood open is asked for by the form, kept on record, and without it the report does not say that it cooled.
#[tokio::test]
async fn doors_are_asked_for_and_told() {
    let mut shop = scenario().await;
    let form = shop.browser.get("/orders/412/bench/performance").await.body;
    assert!(
        form.contains("Doors and windows") && form.contains("name=\"doors\""),
        "{form}"
    );
    measured(&mut shop, "10:45", &[("recirculation", "yes")]).await;
    let without = report(&mut shop).await;
    assert!(
        !without.contains("It cooled as it should on the day")
            && without.contains("doors open or closed was not recorded"),
        "{without}"
    );
    measured(
        &mut shop,
        "10:46",
        &[("recirculation", "yes"), ("doors", "no")],
    )
    .await;
    let with = report(&mut shop).await;
    assert!(
        with.contains("It cooled as it should on the day")
            && with.contains("recirculation on, doors closed"),
        "{with}"
    );
    assert!(
        shop.browser
            .get("/orders/412/record.json")
            .await
            .body
            .contains("\"doors_open\": false")
    );
}

/// The report's limit is that of the weather of the latest reading, also where an earlier one is entered after it: both temperature and humidity are of the same one.
#[tokio::test]
async fn the_reports_limit_goes_with_the_latest_reading() {
    let mut shop = scenario().await;
    measured(
        &mut shop,
        "10:48",
        &[("ambient", "25"), ("humidity", "65"), ("vent", "12")],
    )
    .await;
    // Entered later, read earlier.
    measured(
        &mut shop,
        "10:44",
        &[("ambient", "25"), ("humidity", "55"), ("vent", "11")],
    )
    .await;
    let page = report(&mut shop).await;
    assert!(
        page.contains("13.4 °C or less")
            && page.contains("25 °C outside, 65 % humidity")
            && !page.contains("10.9 °C or less"),
        "{page}"
    );
}

/// Beyond the makers' table both bounds stand on the report; the bench names the pattern with what else it could be.
#[tokio::test]
async fn a_pattern_is_told_at_the_bench() {
    let mut shop = scenario().await;
    measured(
        &mut shop,
        "10:48",
        &[
            ("ambient", "35"),
            ("humidity", "40"),
            ("low", "50"),
            ("high", "120"),
            ("vent", "25"),
        ],
    )
    .await;
    let page = report(&mut shop).await;
    assert!(
        page.contains("16.9 °C or less; warm above 19.9 °C"),
        "{page}"
    );
    let bench = shop.browser.get("/orders/412/bench/performance").await.body;
    assert!(
        bench.contains("That points to a compressor that does not pump as it should."),
        "{bench}"
    );
}
