//! What one tablet enters appears on the others, and leaves alone what is typed there.
use super::{
    begin::begin,
    scenario::{barometer_and_intake, enter, reading},
    support::{Browser, House, PIN},
};
use std::time::{Duration, Instant};

/// A second tablet: admitted by a code, signed in.
async fn second(house: &House, first: &Browser, width: u32, height: u32) -> Browser {
    first.go("/shop/devices").await;
    first
        .fill("form[action='/shop/devices']", "name", "bench 2")
        .await;
    first.send("form[action='/shop/devices']").await;
    let code = first.one(".code").await.text().await.expect("a code");
    let tablet = Browser::open(house, width, height).await;
    tablet.go("/device").await;
    tablet.fill("form[action='/device']", "code", &code).await;
    tablet.send("form[action='/device']").await;
    sign_in(&tablet).await;
    tablet
}

async fn sign_in(tablet: &Browser) {
    let form = "form[action='/sign-in']";
    tablet
        .one(&format!("{form} [name=person]"))
        .await
        .click()
        .await
        .expect("tapped");
    tablet.fill(form, "pin", PIN).await;
    tablet.send(form).await;
}

/// Takes a reading; gives the moment before the button was pressed.
async fn taken(b: &Browser, clock: &str, number: &str) -> Instant {
    b.fill("form#read", "reading", number).await;
    b.fill("form#read", "metal", "22").await;
    b.fill("form#read", "at", &format!("2026-05-12T{clock}"))
        .await;
    let pressed = Instant::now();
    b.send("form#read").await;
    pressed
}

/// Milliseconds from then until a browser shows some words in a part of its page.
async fn until_it_shows(begun: Instant, b: &Browser, part: &str, words: &str) -> u128 {
    while begun.elapsed() < Duration::from_secs(10) {
        if b.one(part)
            .await
            .text()
            .await
            .is_ok_and(|text| text.contains(words))
        {
            return begun.elapsed().as_millis();
        }
        tokio::time::sleep(Duration::from_millis(10)).await;
    }
    panic!("{words} did not come:\n{}", b.text().await);
}

async fn asks(b: &Browser, script: &str) -> serde_json::Value {
    b.driver
        .execute(script, vec![])
        .await
        .expect("an answer")
        .json()
        .clone()
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_reading_appears_on_the_other_tablet_and_moves_nothing_that_is_typed() {
    let house = House::open("2026-05-12T10:50:00Z").await;
    let one = Browser::open(&house, 820, 1180).await;
    begin(&one).await;
    barometer_and_intake(&one).await;
    let two = second(&house, &one, 820, 1180).await;
    enter(
        &one,
        "hold",
        "09:43",
        &[],
        &[("kind", "vacuum"), ("gauge", "G-2")],
    )
    .await;
    let hold = one.path().await;
    two.go(&hold).await;

    // Nobody types there: the whole page follows, the tiles too.
    let pressed = taken(&one, "09:43", "28").await;
    let first = until_it_shows(pressed, &two, "[data-live=readings]", "28 inHg").await;
    assert_eq!(
        asks(
            &two,
            "return document.querySelectorAll('[name=tile]').length"
        )
        .await,
        5
    );

    // Half a number is typed, and the page is scrolled; another reading comes from the first tablet.
    two.one("form#read [name=metal]")
        .await
        .send_keys("2")
        .await
        .expect("typed");
    let place =
        "const f = document.activeElement; return [f.name, f.value, f.getBoundingClientRect().top]";
    let before = asks(&two, place).await;
    assert_eq!((&before[0], &before[1]), (&"metal".into(), &"2".into()));
    let pressed = taken(&one, "10:03", "27").await;
    let second = until_it_shows(pressed, &two, "[data-live=readings]", "27 inHg").await;
    let after = asks(&two, place).await;
    assert_eq!(
        (&after[0], &after[1]),
        (&before[0], &before[1]),
        "what is typed"
    );
    let moved = after[2].as_f64().expect("a place") - before[2].as_f64().expect("a place");
    // A page scrolls by whole pixels.
    assert!(moved.abs() <= 1.0, "it moved by {moved} px");
    assert!(
        two.one("[data-live=answer]")
            .await
            .text()
            .await
            .expect("text")
            .contains("Failing so far")
    );
    // And it is sent as if nothing had been.
    two.one("form#read [name=metal]")
        .await
        .send_keys("3")
        .await
        .expect("typed");
    reading(&two, "10:08", "27", "").await;
    assert!(
        two.one("[data-live=readings]")
            .await
            .text()
            .await
            .expect("text")
            .contains("metal 23"),
        "{}",
        two.text().await
    );

    // The desk's page of the order.
    two.go("/orders/412").await;
    let pressed = taken(&one, "10:13", "26.5").await;
    let desk = until_it_shows(pressed, &two, "[data-live=sheet]", "10:13").await;
    println!("live, ms from the button: {first}, {second}, the desk {desk}");
    assert!(
        [first, second, desk].iter().all(|ms| *ms < 2000),
        "{first} {second} {desk} ms"
    );
    one.close().await;
    two.close().await;
}
