//! The bench at the tablet: what is half typed comes back, somebody else takes over, gloves, a running hold.
use super::{
    begin::begin,
    scenario::{barometer_and_intake, enter, reading},
    support::{Browser, House, PIN},
};
use thirtyfour::prelude::*;

const STANDING: &str = "form[action='/orders/412/bench/standing']";

async fn open(now: &str) -> (House, Browser) {
    let house = House::open(now).await;
    let b = Browser::open(&house, 820, 1180).await;
    begin(&b).await;
    barometer_and_intake(&b).await;
    (house, b)
}

async fn asks(b: &Browser, script: &str) -> serde_json::Value {
    b.driver
        .execute(script, vec![])
        .await
        .expect("an answer")
        .json()
        .clone()
}

async fn has(b: &Browser, selector: &str) -> bool {
    !b.driver
        .find_all(By::Css(selector))
        .await
        .expect("a list")
        .is_empty()
}

/// Until a script says true; ten seconds at most: other builds may be at work.
async fn comes_true(b: &Browser, script: &str) {
    for _ in 0..400 {
        if asks(b, script).await == true {
            return;
        }
        tokio::time::sleep(std::time::Duration::from_millis(25)).await;
    }
    panic!("{script}: {}", b.text().await);
}

/// Milliseconds until the browser's own database says that this was written: what it says is on the disk.
async fn until_written(b: &Browser, value: &str) -> u128 {
    const ALL: &str = "const done = arguments[arguments.length - 1];
        let where = 'opening';
        setTimeout(() => done(`slow at ${where}`), 3000);
        const request = indexedDB.open('chillwright');
        request.onerror = () => done('cannot be opened');
        request.onsuccess = () => {
            where = 'reading';
            if (!request.result.objectStoreNames.contains('drafts')) { request.result.close(); done('no drafts yet'); return; }
            const all = request.result.transaction('drafts').objectStore('drafts').getAll();
            all.onsuccess = () => { request.result.close(); done(JSON.stringify(all.result)); };
        };";
    let begun = std::time::Instant::now();
    while begun.elapsed() < std::time::Duration::from_secs(10) {
        let all = b
            .driver
            .execute_async(ALL, vec![])
            .await
            .expect("an answer")
            .json()
            .as_str()
            .expect("text")
            .to_owned();
        if all != "[]" && !all.contains(value) {
            println!("{all}");
        }
        if all.contains(value) {
            return begun.elapsed().as_millis();
        }
    }
    panic!("{value} was never written");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_is_half_typed_survives_a_flat_battery_and_is_gone_once_kept() {
    let (_house, b) = open("2026-05-12T10:50:00Z").await;
    b.go("/orders/412/bench/standing").await;
    b.fill(STANDING, "pressure", "7").await;
    b.tap(STANDING, "unit", "psi").await;
    let ms = until_written(&b, r#""unit":["psi"]"#).await;
    println!("half a form is on the disk after {ms} ms");
    let b = b.battery_dies().await;
    b.go("/orders/412/bench/standing").await;
    comes_true(&b, "return document.querySelector('.draft') !== null").await;
    let line = b.one(".draft").await.text().await.expect("text");
    assert!(
        line.starts_with("What you typed at ") && line.contains("is back."),
        "{line}"
    );
    b.picture("draft").await;
    let back = "return [document.querySelector('[name=pressure]').value, document.querySelector('[name=unit]:checked').value]";
    assert_eq!(asks(&b, back).await, serde_json::json!(["7", "psi"]));
    // Another task of the order, and another form, begin empty.
    b.go("/orders/412/bench/oil").await;
    assert!(!has(&b, ".draft").await);

    // Completed and kept: gone.
    b.go("/orders/412/bench/standing").await;
    comes_true(&b, "return document.querySelector('.draft') !== null").await;
    b.one(&format!("{STANDING} [name=pressure]"))
        .await
        .send_keys("0")
        .await
        .expect("typed");
    b.fill(STANDING, "ambient", "21").await;
    b.tap(STANDING, "cold", "yes").await;
    b.send(STANDING).await;
    assert!(
        b.text().await.contains("Saved.") && b.text().await.contains("70 psi"),
        "{}",
        b.text().await
    );
    b.go("/orders/412/bench/standing").await;
    tokio::time::sleep(std::time::Duration::from_millis(500)).await;
    assert!(!has(&b, ".draft").await, "{}", b.text().await);
    assert_eq!(
        asks(&b, "return document.querySelector('[name=pressure]').value").await,
        ""
    );

    // Refused: the server's answer carries it, and after that the tablet.
    b.fill(STANDING, "pressure", "x7").await;
    b.send(STANDING).await;
    assert!(
        b.text().await.contains("Please check the marked fields") && !has(&b, ".draft").await,
        "{}",
        b.text().await
    );
    until_written(&b, "x7").await;
    b.go("/orders/412/bench/standing").await;
    comes_true(
        &b,
        "return document.querySelector('[name=pressure]').value === 'x7'",
    )
    .await;

    // At intake, a reload; then discarded, and it does not come back.
    b.go("/intake").await;
    let intake = "form[action='/intake'][method=post]";
    b.fill(intake, "complaint", "It blows war").await;
    until_written(&b, "It blows war").await;
    b.driver.refresh().await.expect("again");
    comes_true(
        &b,
        "return document.querySelector('[name=complaint]').value === 'It blows war'",
    )
    .await;
    b.one(".draft button").await.click().await.expect("pressed");
    comes_true(&b, "return document.querySelector('[name=complaint]').value === '' && document.querySelector('.draft') === null").await;
    b.driver.refresh().await.expect("again");
    tokio::time::sleep(std::time::Duration::from_millis(500)).await;
    assert!(!has(&b, ".draft").await);
    b.close().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn somebody_else_takes_the_tablet_and_finds_what_was_typed() {
    let (_house, b) = open("2026-05-12T10:50:00Z").await;
    b.go("/shop/people").await;
    let people = "form[action='/shop/people']";
    b.fill(people, "name", "Ines Aldous").await;
    b.tap(people, "roles", "technician").await;
    b.fill(people, "pin", "719402").await;
    b.send(people).await;
    b.go("/orders/412/bench/standing").await;
    b.fill(STANDING, "pressure", "70").await;
    b.one("[data-change-person]")
        .await
        .click()
        .await
        .expect("pressed");
    comes_true(&b, "return location.pathname === '/sign-in'").await;
    b.picture("change-person").await;
    let code = "form[action='/sign-in']";
    b.driver
        .find(By::XPath("//label[contains(., 'Ines Aldous')]"))
        .await
        .expect("her name")
        .click()
        .await
        .expect("tapped");
    assert_eq!(
        asks(&b, "return document.activeElement.name").await,
        "pin",
        "the code is next"
    );
    b.fill(code, "pin", "719402").await;
    b.send(code).await;
    assert_eq!(b.path().await, "/orders/412/bench/standing");
    comes_true(
        &b,
        "return document.querySelector('[name=pressure]').value === '70'",
    )
    .await;
    assert!(
        b.one(".who")
            .await
            .text()
            .await
            .expect("text")
            .contains("Ines Aldous")
    );
    // And back again: what is on the page goes along, to and fro.
    b.one("[data-change-person]")
        .await
        .click()
        .await
        .expect("pressed");
    comes_true(&b, "return location.pathname === '/sign-in'").await;
    b.driver
        .find(By::XPath("//label[contains(., 'Perrin Hask')]"))
        .await
        .expect("the name")
        .click()
        .await
        .expect("tapped");
    b.fill(code, "pin", PIN).await;
    b.send(code).await;
    assert_eq!(b.path().await, "/orders/412/bench/standing");
    assert!(
        b.one(".who")
            .await
            .text()
            .await
            .expect("text")
            .contains("Perrin Hask")
    );
    comes_true(
        &b,
        "return document.querySelector('[name=pressure]').value === '70'",
    )
    .await;
    // Kept by whoever is there in the end, and the entry says who.
    b.fill(STANDING, "ambient", "21").await;
    b.tap(STANDING, "unit", "psi").await;
    b.tap(STANDING, "cold", "yes").await;
    b.send(STANDING).await;
    let entry = b
        .one("[data-live=entries]")
        .await
        .text()
        .await
        .expect("text");
    assert!(
        entry.contains("70 psi") && entry.contains("Perrin Hask") && !entry.contains("Ines"),
        "{entry}"
    );
    b.close().await;
}

/// Whatever can be touched on a page: what it is, and how large, where that is less than 56 px either way. An input inside a label is as large as the label.
const TOO_SMALL: &str = "
    const found = document.querySelectorAll('a[href], button, input:not([type=hidden]), select, textarea, summary');
    const small = [];
    let n = 0;
    for (const e of found) {
        const target = e.closest('label') ?? e;
        const r = target.getBoundingClientRect();
        if (r.width === 0 && r.height === 0 || e.classList.contains('skip')) continue;
        n += 1;
        if (Math.min(r.width, r.height) < 55.99) small.push(`${e.tagName} ${e.name || e.textContent.trim().slice(0, 30)} ${r.width.toFixed(1)} x ${r.height.toFixed(1)}`);
    }
    return { n, small };";

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn everything_on_the_bench_is_large_enough_for_gloves() {
    let (house, b) = open("2026-05-12T10:50:00Z").await;
    enter(
        &b,
        "standing",
        "06:30",
        &[("pressure", "70"), ("ambient", "21")],
        &[("unit", "psi"), ("cold", "yes")],
    )
    .await;
    enter(
        &b,
        "joints",
        "07:10",
        &[],
        &[
            ("joints", "new:drier inlet"),
            ("joints", "new:evaporator outlet"),
        ],
    )
    .await;
    enter(
        &b,
        "hold",
        "10:43",
        &[],
        &[("kind", "vacuum"), ("gauge", "G-2")],
    )
    .await;
    let hold = b.path().await;
    reading(&b, "10:43", "28", "22").await;
    let mut pages = vec![hold, "/sign-in".to_owned(), "/orders/412/bench".to_owned()];
    b.go("/orders/412/bench").await;
    for link in b.driver.find_all(By::Css(".tasks a")).await.expect("tasks") {
        pages.push(
            link.attr("href")
                .await
                .expect("an attribute")
                .expect("an address"),
        );
    }
    assert_eq!(pages.len(), 21);
    let (mut measured, mut small) = (0, Vec::new());
    for page in &pages {
        b.go(page).await;
        let found = asks(&b, TOO_SMALL).await;
        measured += found["n"].as_i64().expect("a number");
        small.extend(
            found["small"]
                .as_array()
                .expect("a list")
                .iter()
                .map(|s| format!("{page}: {s}")),
        );
    }
    println!(
        "{measured} targets on {} pages, {} smaller than 56 px",
        pages.len(),
        small.len()
    );
    assert!(
        measured > 300 && small.is_empty(),
        "{measured}\n{}",
        small.join("\n")
    );
    drop(house);
    b.close().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_running_hold_keeps_the_screen_awake_and_reminds_once() {
    let (house, b) = open("2026-05-12T10:50:00Z").await;
    let watched = "window.buzzed = 0; navigator.vibrate = () => { window.buzzed += 1; return true; };
        Object.defineProperty(navigator, 'wakeLock', { value: { request: async (what) => { window.awake = what; return { addEventListener() {}, release() { window.awake = ''; } }; } } });";
    b.driver
        .cdp()
        .send_raw(
            "Page.addScriptToEvaluateOnNewDocument",
            serde_json::json!({ "source": watched }),
        )
        .await
        .expect("watched");
    enter(
        &b,
        "hold",
        "10:43",
        &[],
        &[("kind", "vacuum"), ("gauge", "G-2")],
    )
    .await;
    let hold = b.path().await;
    reading(&b, "10:43", "28", "22").await;
    let next = b.one(".next").await.text().await.expect("text");
    let from = next
        .split("from ")
        .nth(1)
        .and_then(|s| s.split(' ').next())
        .expect("a clock time")
        .to_owned();
    let curve = b
        .one(".curve")
        .await
        .attr("aria-label")
        .await
        .expect("an attribute")
        .expect("words");
    assert!(
        asks(&b, &format!("return document.querySelector('.curve').textContent.includes('next useful reading from {from}')")).await == true,
        "{next} {curve}"
    );
    // Two seconds before that.
    let minutes: i64 = from[3..].parse::<i64>().expect("minutes") - 1;
    house.it_is(&format!("2026-05-12T{}:{minutes:02}:58Z", &from[..2]));
    b.go(&hold).await;
    assert_eq!(asks(&b, "return window.awake").await, "screen");
    assert!(
        !b.driver
            .title()
            .await
            .expect("a title")
            .starts_with("Read the gauge")
    );
    comes_true(
        &b,
        "return document.title.startsWith('Read the gauge · Vacuum hold') && window.buzzed === 1",
    )
    .await;
    tokio::time::sleep(std::time::Duration::from_millis(300)).await;
    assert_eq!(asks(&b, "return window.buzzed").await, 1);
    assert!(
        !asks(&b, "return document.querySelector('main').textContent")
            .await
            .as_str()
            .expect("text")
            .contains("seconds left")
    );
    // From the bench, and from any other task, it is two taps to the next reading: the graduation, then keep.
    for page in ["/orders/412/bench", "/orders/412/bench/oil"] {
        b.go(page).await;
        assert!(
            b.one(".run")
                .await
                .text()
                .await
                .expect("text")
                .contains("Vacuum hold since 10:43"),
            "{}",
            b.text().await
        );
        let before = asks(&b, "return document.body.dataset.now").await;
        b.tap(".run form", "tile", "28").await;
        b.send(".run form").await;
        assert_eq!(b.path().await, hold, "{before}");
        if page == "/orders/412/bench" {
            b.picture("bench-running").await;
            assert_eq!(b.axe().await, Vec::<String>::new());
        }
    }
    assert_eq!(
        asks(
            &b,
            "return document.querySelectorAll('[data-live=readings] li').length"
        )
        .await,
        3
    );
    b.go("/orders/412/bench/seals").await;
    b.picture("seals-meanwhile").await;
    assert_eq!(b.axe().await, Vec::<String>::new());
    b.go(&hold).await;
    house.it_is("2026-05-12T11:30:00Z");
    b.fill("form#end", "ended", "2026-05-12T11:20").await;
    b.send("form#end").await;
    assert_eq!(
        asks(&b, "return [window.awake ?? '', window.buzzed]").await,
        serde_json::json!(["", 0])
    );
    b.close().await;
}
