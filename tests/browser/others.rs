//! The other ways that a job can go, typed into the forms: looked at now and done again; a failed hold; water; made safe.
use super::{
    begin::begin,
    scenario::{
        barometer_and_intake, diagnosis_and_parts, end, enter, evacuation_to_performance,
        in_the_way, performance, reading, task,
    },
    support::{Browser, House},
};

async fn open(now: &str) -> (House, Browser) {
    let house = House::open(now).await;
    let b = Browser::open(&house, 820, 1180).await;
    begin(&b).await;
    barometer_and_intake(&b).await;
    (house, b)
}

/// A shop at work: a car with its diagnosis and parts on record.
pub async fn open_at_the_bench(now: &str, width: u32, height: u32) -> (House, Browser) {
    let house = House::open(now).await;
    let b = Browser::open(&house, width, height).await;
    begin(&b).await;
    barometer_and_intake(&b).await;
    diagnosis_and_parts(&b).await;
    (house, b)
}

/// Branch b: the seal is looked at now. The form records an opening; hold and evacuation are stale; all of it is done again.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn looked_at_now_it_is_all_done_again() {
    let (house, b) = open("2026-05-12T10:50:00Z").await;
    diagnosis_and_parts(&b).await;
    evacuation_to_performance(&b).await;
    house.it_is("2026-05-12T15:00:00Z");
    enter(
        &b,
        "recovery",
        "11:00",
        &[
            ("cylinder", "C-03"),
            ("before", "11.0"),
            ("after", "11.555"),
        ],
        &[("refrigerant", "R-134a"), ("mass_unit", "kg")],
    )
    .await;
    let (path, form) = task("seals");
    b.go(&path).await;
    b.tap(&form, "seal.j4.state", "new").await;
    b.tap(&form, "lubricant", "mineral oil").await;
    b.fill(&form, "at", "2026-05-12T11:10").await;
    b.send(&form).await;
    b.tap(&form, "seal.j4.late", "again").await;
    b.send(&form).await;
    let way = in_the_way(&house).await;
    assert!(
        way.contains(&"hold-missing blocks".to_owned())
            && !way.iter().any(|w| w.starts_with("seal")),
        "{way:?}"
    );
    b.go("/orders/412/bench/hold").await;
    assert!(
        b.text().await.contains("The hold does not count any more"),
        "{}",
        b.text().await
    );
    enter(
        &b,
        "evacuation",
        "11:20",
        &[("metal", "22")],
        &[("gauge", "G-2")],
    )
    .await;
    reading(&b, "12:00", "29.5", "").await;
    assert!(
        b.text().await.contains("Deep enough to dry"),
        "{}",
        b.text().await
    );
    end(&b, "12:00").await;
    enter(
        &b,
        "hold",
        "12:01",
        &[],
        &[("kind", "vacuum"), ("gauge", "G-2")],
    )
    .await;
    reading(&b, "12:01", "29.5", "22").await;
    reading(&b, "12:25", "29.5", "22").await;
    end(&b, "12:25").await;
    enter(
        &b,
        "charging",
        "12:30",
        &[
            ("cylinder", "C-01"),
            ("before", "9.0"),
            ("after", "8.39"),
            ("hose", "0.01"),
        ],
        &[("refrigerant", "R-134a"), ("mass_unit", "kg")],
    )
    .await;
    performance(&b, "12:50", "191").await;
    enter(
        &b,
        "checks",
        "13:00",
        &[("sensitivity", "4")],
        &[
            ("method", "electronic"),
            ("proved", "reference leak"),
            ("places", "j1"),
            ("places", "j2"),
            ("places", "j3"),
            ("places", "j4"),
        ],
    )
    .await;
    assert_eq!(in_the_way(&house).await, ["improvised-fixing"]);
    b.close().await;
}

/// A dial from 28 to 26 inHg in 20 minutes; then water on an electronic gauge of 10 micron; then the car is made safe.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_leak_then_water_then_made_safe() {
    let (house, b) = open("2026-05-12T14:00:00Z").await;
    diagnosis_and_parts(&b).await;
    enter(
        &b,
        "hold",
        "09:43",
        &[],
        &[("kind", "vacuum"), ("gauge", "G-2")],
    )
    .await;
    reading(&b, "09:43", "28", "22").await;
    reading(&b, "10:03", "26", "22").await;
    assert!(
        b.text()
            .await
            .contains("Failing so far. If you stop now it counts as a failed hold."),
        "{}",
        b.text().await
    );
    b.picture("hold-failed").await;
    end(&b, "10:03").await;
    assert!(
        in_the_way(&house)
            .await
            .contains(&"hold-failed blocks".to_owned())
    );

    b.go("/shop/instruments").await;
    let form = "form[action='/shop/instruments']";
    for (name, value) in [("mark", "V-1"), ("unit", "micron"), ("resolution", "10")] {
        b.fill(form, name, value).await;
    }
    b.tap(form, "kind", "vacuum-gauge").await;
    b.send(form).await;
    enter(
        &b,
        "hold",
        "11:00",
        &[],
        &[("kind", "vacuum"), ("gauge", "V-1")],
    )
    .await;
    for minutes in [0, 3, 6, 10, 13, 16, 20] {
        let micron = (1.3 + 25.1 * (1.0 - (-f64::from(minutes) / 5.0).exp())) * 750.0617;
        reading(
            &b,
            &format!("11:{minutes:02}"),
            &format!("{micron:.0}"),
            "22",
        )
        .await;
    }
    assert!(
        b.text().await.contains("Failing so far") && b.text().await.contains("water"),
        "{}",
        b.text().await
    );
    b.picture("hold-water").await;
    end(&b, "11:20").await;
    let way = in_the_way(&house).await;
    assert!(way.contains(&"hold-moisture".to_owned()), "{way:?}");

    b.go("/orders/412/handover").await;
    let form = "form[action='/orders/412/handover']";
    b.tap(form, "way", "made-safe").await;
    b.fill(
        form,
        "sentence",
        "The refrigerant was taken out; the air conditioning must not be used.",
    )
    .await;
    b.send(form).await;
    assert_eq!(b.path().await, "/orders/412/report", "{}", b.text().await);
    let text = b.one("article").await.text().await.expect("text");
    assert!(
        text.contains("Handed over: made safe.") && !text.to_lowercase().contains("repaired"),
        "{text}"
    );
    b.picture("report-made-safe").await;
    b.close().await;
}
