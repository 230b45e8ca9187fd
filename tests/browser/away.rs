//! The bench without the network: pages open, entries are kept and sent, none is lost, none is doubled.
use super::{
    begin::begin,
    net::{Net, Network},
    scenario::{barometer_and_intake, task},
    support::{Browser, House, PIN},
};
use chillwright::store::{
    evidence::{self, Kind, Piece},
    orders,
};
use std::time::{Duration, Instant};
use thirtyfour::prelude::*;

const KEPT: &str = "Everything entered here is saved. This page also works without the network.";

/// A shop with order 412 and one tablet that comes by a network which can be cut. The tablet's clock is months away from the server's.
async fn open() -> (House, Net, Browser) {
    let house = House::open_with_running_clock("2026-05-12T10:50:00Z").await;
    let net = Net::to(&house.address).await;
    let tablet = Browser::open_at(&net.address, 820, 1180, None, &[]).await;
    begin(&tablet).await;
    barometer_and_intake(&tablet).await;
    ready(&tablet).await;
    (house, net, tablet)
}

/// Waits until the tablet has all that it needs to go on alone.
async fn ready(b: &Browser) {
    b.go("/orders/412/bench").await;
    says(b, KEPT).await;
}

/// Until nothing waits at this tablet, and it could go on alone.
pub async fn says_kept(b: &Browser) {
    says(b, KEPT).await;
}

async fn asks(b: &Browser, script: &str) -> serde_json::Value {
    b.driver
        .execute(script, vec![])
        .await
        .expect("an answer")
        .json()
        .clone()
}

async fn comes_true(b: &Browser, seconds: u64, script: &str) {
    let begun = Instant::now();
    while begun.elapsed() < Duration::from_secs(seconds) {
        if asks(b, script).await == true {
            return;
        }
        tokio::time::sleep(Duration::from_millis(40)).await;
    }
    panic!(
        "{script}\n{}\n{}",
        b.text().await,
        everything_waiting(b).await
    );
}

/// Until the one line says this.
async fn says(b: &Browser, words: &str) {
    let words = serde_json::json!(words);
    comes_true(
        b,
        40,
        &format!("return (document.getElementById('here')?.textContent ?? '').includes({words})"),
    )
    .await;
}

/// The entries in the tablet's own database, for what a failed test prints.
async fn everything_waiting(b: &Browser) -> String {
    let script = "const done = arguments[arguments.length - 1];
        const request = indexedDB.open('chillwright');
        request.onsuccess = () => {
            if (!request.result.objectStoreNames.contains('entries')) { done('[]'); return; }
            const all = request.result.transaction('entries').objectStore('entries').getAll();
            all.onsuccess = () => { request.result.close(); done(JSON.stringify(all.result)); };
        };
        request.onerror = () => done('no database');";
    b.driver
        .execute_async(script, vec![])
        .await
        .expect("an answer")
        .json()
        .as_str()
        .unwrap_or_default()
        .to_owned()
}

/// What comes of an address that may not open.
async fn tried(b: &Browser, address: &str) -> String {
    match b.driver.goto(address).await {
        Ok(()) => b.text().await,
        Err(e) => e.to_string(),
    }
}

/// How many entries wait at the tablet.
async fn waiting(b: &Browser) -> usize {
    serde_json::from_str::<Vec<serde_json::Value>>(&everything_waiting(b).await)
        .expect("a list")
        .len()
}

/// Fills in a task and sends it; what the page says then is the caller's to look at.
async fn entered(b: &Browser, word: &str, fields: &[(&str, &str)], tiles: &[(&str, &str)]) {
    let (path, form) = task(word);
    b.go(&path).await;
    let form = format!("{form}[method=post]");
    for (name, value) in fields {
        b.fill(&form, name, value).await;
    }
    for (name, value) in tiles {
        b.tap(&form, name, value).await;
    }
    b.send(&form).await;
}

async fn read(b: &Browser, number: &str) {
    b.fill("form#read", "reading", number).await;
    b.fill("form#read", "metal", "22").await;
    b.send("form#read").await;
}

async fn pieces(house: &House) -> Vec<Piece> {
    let mut conn = house.app.store.read().await.expect("a connection");
    let order = orders::by_number(&mut conn, 412)
        .await
        .expect("read")
        .expect("order 412");
    evidence::of_order(&mut conn, order.id)
        .await
        .expect("pieces")
}

/// What is stored of a piece, as a map by keys.
fn stored(piece: &Piece) -> serde_json::Value {
    serde_json::to_value(evidence::Stored {
        body: &piece.body,
        own: &piece.own,
    })
    .expect("a body")
}

/// One text of it, empty where it is not there.
pub fn said(piece: &Piece, key: &str) -> String {
    stored(piece)[key].as_str().unwrap_or_default().to_owned()
}

fn of(pieces: &[Piece], kind: Kind) -> Vec<&Piece> {
    pieces.iter().filter(|p| p.kind() == kind).collect()
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_bench_goes_on_without_the_network_and_all_of_it_arrives() {
    let (house, net, b) = open().await;
    net.is(Network::Down);
    // Whatever is not kept at the tablet says so, and leads to what is.
    b.go("/orders").await;
    let text = b.text().await;
    assert!(
        text.contains("Without the network") && text.contains("Order 412"),
        "{text}"
    );
    assert_eq!(b.axe().await, Vec::<String>::new());
    b.picture("away").await;
    b.go("/orders/412/bench").await;
    says(
        &b,
        "The server does not answer; the server last answered at 10:5",
    )
    .await;
    assert!(
        b.one("#as-of")
            .await
            .text()
            .await
            .expect("text")
            .starts_with("The server’s answer of 10:5")
    );

    entered(
        &b,
        "standing",
        &[("pressure", "70"), ("ambient", "21")],
        &[("unit", "psi"), ("cold", "yes")],
    )
    .await;
    says(
        &b,
        "One entry is waiting on this tablet; the server last answered at 10:5",
    )
    .await;
    assert!(
        b.one("#as-of")
            .await
            .text()
            .await
            .expect("text")
            .contains("Waiting entries are not included")
    );
    entered(
        &b,
        "joints",
        &[("other", "drier \"inlet\"")],
        &[("joints", "new:evaporator outlet")],
    )
    .await;
    // Joints that the server knows nothing of yet have a row for their seals, and can be checked.
    entered(
        &b,
        "seals",
        &[],
        &[
            ("seal.new:evaporator outlet.state", "new"),
            ("seal.new:drier \"inlet\".state", "sound"),
            ("lubricant", "PAG"),
        ],
    )
    .await;
    says(&b, "3 entries are waiting").await;
    let now = house.app.now();
    entered(&b, "hold", &[], &[("kind", "vacuum"), ("gauge", "G-2")]).await;
    let hold = b.path().await;
    assert!(
        hold.starts_with("/orders/412/holds/") && hold.len() == "/orders/412/holds/".len() + 36,
        "{hold}"
    );
    assert!(
        b.text().await.contains("Closed off at 10:5"),
        "{}",
        b.text().await
    );
    read(&b, "28").await;
    // The tiles stand around what was entered, and take the second reading by themselves.
    b.tap("form#read", "tile", "28").await;
    b.fill("form#read", "metal", "22").await;
    b.send("form#read").await;
    comes_true(
        &b,
        10,
        "return document.querySelectorAll('.curve .dot.waits').length === 2",
    )
    .await;
    let text = b.text().await;
    assert!(text.contains("The server has not seen this yet. Waiting entries are not included; the result comes when the server is back."), "{text}");
    assert!(
        !text.contains("OK so far") && !text.contains("Failing so far"),
        "no verdict without the server"
    );
    assert_eq!(b.axe().await, Vec::<String>::new());
    b.picture("away-hold").await;
    // A reload and another page change nothing.
    b.driver.refresh().await.expect("again");
    says(&b, "6 entries are waiting").await;
    entered(
        &b,
        "checks",
        &[("sensitivity", "4")],
        &[
            ("method", "electronic"),
            ("places", "new:evaporator outlet"),
        ],
    )
    .await;
    b.go(&hold).await;
    says(&b, "7 entries are waiting").await;
    assert_eq!(
        of(&pieces(&house).await, Kind::Hold).len(),
        0,
        "nothing has arrived"
    );
    // Half a reading is being typed when the network comes back.
    b.one("form#read [name=metal]")
        .await
        .send_keys("2")
        .await
        .expect("typed");
    let mended = house.app.now();
    net.is(Network::Up);
    says(&b, KEPT).await;
    // Without a reload: the verdict, and what is typed stays.
    comes_true(
        &b,
        20,
        "return document.querySelector('.answer').textContent.includes('Nothing moved in')",
    )
    .await;
    comes_true(&b, 20, "return document.querySelector('[data-live=readings]').textContent.split('28 inHg').length === 3").await;
    assert_eq!(
        asks(
            &b,
            "return document.querySelector('form#read [name=metal]').value"
        )
        .await,
        "2"
    );
    assert_eq!(waiting(&b).await, 0);
    let all = pieces(&house).await;
    let count = |kind| of(&all, kind).len();
    assert_eq!(
        [
            Kind::Standing,
            Kind::Joint,
            Kind::Opening,
            Kind::Seal,
            Kind::Hold,
            Kind::Reading,
            Kind::LeakCheck
        ]
        .map(count),
        [1, 2, 2, 2, 1, 2, 1],
        "{all:#?}"
    );
    let seals = of(&all, Kind::Seal);
    let joint = |place: &str| {
        all.iter()
            .find(|p| p.kind() == Kind::Joint && said(p, "place") == place)
            .expect("a joint")
    };
    assert!(
        seals.iter().any(
            |s| s.parent == Some(joint("evaporator outlet").id) && stored(s)["renewed"] == true
        )
    );
    assert!(
        seals
            .iter()
            .any(|s| s.parent == Some(joint("drier \"inlet\"").id)
                && said(s, "condition") == "sound")
    );
    assert_eq!(
        stored(of(&all, Kind::LeakCheck)[0])["places"][0],
        joint("evaporator outlet").mark.as_str()
    );
    // Times are those of the entry, by the server's clock, though the tablet's is months ahead; both are noted.
    let order: Vec<_> = [
        Kind::Standing,
        Kind::Opening,
        Kind::Seal,
        Kind::Hold,
        Kind::Reading,
        Kind::LeakCheck,
    ]
    .map(|k| of(&all, k)[0].at.expect("a time"))
    .into();
    assert!(order.is_sorted(), "{order:?}");
    let begun = of(&all, Kind::Hold)[0];
    let at = begun.at.expect("a time");
    assert!(
        at >= now && at < mended,
        "{} {} {}",
        now.rfc3339(),
        at.rfc3339(),
        mended.rfc3339()
    );
    assert!(
        begun.entered_at > at
            && !begun.approximate
            && stored(begun)["_tablet"]["entered"]
                .as_str()
                .is_some_and(|t| !t.starts_with("2026-05")),
        "{begun:?}"
    );
    b.close().await;
}

/// A number out of a seed; the test's own.
struct Chance(u64);

impl Chance {
    fn below(&mut self, n: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % n
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn cuts_at_any_moment_lose_nothing_and_double_nothing() {
    let cuts = if std::env::var_os("CHILLWRIGHT_LONG").is_some() {
        50
    } else {
        5
    };
    let (house, net, b) = open().await;
    entered(&b, "hold", &[], &[("kind", "vacuum"), ("gauge", "G-2")]).await;
    let hold = b.path().await;
    let mut chance = Chance(0x5eed_2026_0512);
    let mut expected = Vec::new();
    let (mut told, mut most) = (std::collections::BTreeMap::new(), 0);
    for n in 0..cuts {
        let number = format!("{}", 28.0 - f64::from(n) * 0.1);
        expected.push(number.clone());
        b.fill("form#read", "reading", &number).await;
        let network =
            [Network::Down, Network::AnswersLost, Network::Silent][chance.below(3) as usize];
        let before = chance.below(3);
        let wait = Duration::from_millis(chance.below(60));
        *told
            .entry(format!(
                "{network:?} {}",
                [
                    "before it was sent",
                    "while it was on its way",
                    "after the answer"
                ][before as usize]
            ))
            .or_insert(0) += 1;
        match before {
            0 => {
                net.is(network);
                b.send("form#read").await;
            }
            1 => {
                let (cut, sent) = (
                    async {
                        tokio::time::sleep(wait).await;
                        net.is(network)
                    },
                    b.send("form#read"),
                );
                tokio::join!(cut, sent);
            }
            _ => {
                b.send("form#read").await;
                net.is(network);
                b.driver.refresh().await.expect("a page");
            }
        }
        assert!(b.text().await.contains("Vacuum hold"), "{}", b.text().await);
        most = most.max(waiting(&b).await);
        // Most stay cut for the next entry, so that several wait.
        if chance.below(3) == 0 {
            net.is(Network::Up);
        }
    }
    net.is(Network::Up);
    b.go(&hold).await;
    says(&b, KEPT).await;
    comes_true(
        &b,
        30,
        &format!("return document.querySelectorAll('[data-live=readings] li').length >= {cuts}"),
    )
    .await;
    let all = pieces(&house).await;
    let mut readings = of(&all, Kind::Reading);
    readings.sort_by_key(|r| r.at);
    let kept: Vec<String> = readings
        .iter()
        .map(|r| {
            said(r, "pressure")
                .trim_end_matches(" inHg vacuum")
                .to_owned()
        })
        .collect();
    println!(
        "{cuts} cuts, {} entries, most waiting at once {most}: {told:?}; lost {}, doubled {}",
        expected.len(),
        expected.iter().filter(|e| !kept.contains(e)).count(),
        kept.len().saturating_sub(expected.len())
    );
    assert_eq!(kept, expected, "in the order of the work, each once");
    assert!(
        most >= 2 && net.answers_lost() > 0,
        "{most} waited at once, {} answers were cut off",
        net.answers_lost()
    );
    b.close().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_flat_battery_and_an_expired_session_keep_what_waits() {
    let (house, net, b) = open().await;
    net.is(Network::Down);
    entered(&b, "oil", &[("type", "PAG 46"), ("volume", "10")], &[]).await;
    says(&b, "One entry is waiting").await;
    let b = b.battery_dies().await;
    // The day goes on without the network.
    b.go("/orders/412/bench/oil").await;
    says(&b, "One entry is waiting").await;
    entered(&b, "oil", &[("type", "PAG 46"), ("volume", "20")], &[]).await;
    says(&b, "2 entries are waiting").await;
    // When it is back, nobody is signed in any more.
    house.hours_pass(13);
    net.is(Network::Up);
    says(
        &b,
        "2 entries are waiting on this tablet for the code of Perrin Hask.",
    )
    .await;
    b.picture("away-code").await;
    assert_eq!(of(&pieces(&house).await, Kind::Oil).len(), 0);
    b.one("#here a").await.click().await.expect("pressed");
    comes_true(&b, 10, "return location.pathname === '/sign-in'").await;
    b.driver
        .find(By::XPath("//label[contains(., 'Perrin Hask')]"))
        .await
        .expect("the name")
        .click()
        .await
        .expect("tapped");
    b.fill("form[action='/sign-in']", "pin", PIN).await;
    b.send("form[action='/sign-in']").await;
    assert_eq!(b.path().await, "/orders/412/bench/oil");
    says(&b, KEPT).await;
    let all = pieces(&house).await;
    let volumes: Vec<_> = of(&all, Kind::Oil)
        .iter()
        .map(|p| said(p, "volume"))
        .collect();
    assert_eq!(volumes, ["10 mL", "20 mL"]);
    b.close().await;
}

/// Another tablet, admitted and signed in, by a network of its own.
async fn second(house: &House, first: &Browser, net: &Net, person: &str, pin: &str) -> Browser {
    first.go("/shop/devices").await;
    first
        .fill("form[action='/shop/devices']", "name", "bench 2")
        .await;
    first.send("form[action='/shop/devices']").await;
    let code = first.one(".code").await.text().await.expect("a code");
    let tablet = Browser::open_at(&net.address, 820, 1180, None, &[]).await;
    tablet.go("/device").await;
    tablet.fill("form[action='/device']", "code", &code).await;
    tablet.send("form[action='/device']").await;
    sign_in(&tablet, person, pin).await;
    ready(&tablet).await;
    let _ = house;
    tablet
}

async fn sign_in(b: &Browser, person: &str, pin: &str) {
    b.driver
        .find(By::XPath(format!("//label[contains(., '{person}')]")))
        .await
        .expect("the name")
        .click()
        .await
        .expect("tapped");
    b.fill("form[action='/sign-in']", "pin", pin).await;
    b.send("form[action='/sign-in']").await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn two_tablets_on_one_order_and_two_people_at_one() {
    let (house, net, one) = open().await;
    one.go("/shop/people").await;
    one.fill("form[action='/shop/people']", "name", "Ines Aldous")
        .await;
    one.tap("form[action='/shop/people']", "roles", "technician")
        .await;
    one.fill("form[action='/shop/people']", "pin", "719402")
        .await;
    one.send("form[action='/shop/people']").await;
    let other_net = Net::to(&house.address).await;
    let two = second(&house, &one, &other_net, "Ines Aldous", "719402").await;
    ready(&one).await;
    net.is(Network::Down);
    other_net.is(Network::Down);
    let fixing = |place: &'static str| [("place", place), ("note", "clip nut")];
    entered(
        &one,
        "fixings",
        &fixing("case, left"),
        &[("kind", "standard")],
    )
    .await;
    entered(
        &two,
        "fixings",
        &fixing("case, right"),
        &[("kind", "standard")],
    )
    .await;
    entered(&one, "fixings", &fixing("bracket"), &[("kind", "standard")]).await;
    says(&one, "2 entries are waiting").await;
    other_net.is(Network::Up);
    says(&two, KEPT).await;
    // Somebody else takes the first tablet before its entries could go: they wait for whoever made them.
    house.hours_pass(13);
    net.is(Network::Up);
    says(&one, "for the code of Perrin Hask").await;
    one.go("/sign-in?back=%2Forders%2F412%2Fbench%2Foil").await;
    sign_in(&one, "Ines Aldous", "719402").await;
    entered(&one, "oil", &[("type", "PAG 46"), ("volume", "5")], &[]).await;
    assert!(
        one.text().await.contains("5 mL of"),
        "hers goes: {}",
        one.text().await
    );
    says(
        &one,
        "2 entries are waiting on this tablet for the code of Perrin Hask.",
    )
    .await;
    one.go("/sign-in?back=%2Forders%2F412%2Fbench%2Foil").await;
    sign_in(&one, "Perrin Hask", PIN).await;
    says(&one, KEPT).await;
    let all = pieces(&house).await;
    let names = {
        let mut conn = house.app.store.read().await.expect("a connection");
        chillwright::store::people::all(&mut conn)
            .await
            .expect("people")
    };
    let mut kept: Vec<(&str, &str)> = of(&all, Kind::Fixing)
        .iter()
        .map(|p| {
            (
                p.body.place(),
                names
                    .iter()
                    .find(|n| n.id == p.person)
                    .map_or("", |n| n.name.as_str()),
            )
        })
        .collect();
    kept.sort_unstable();
    assert_eq!(
        kept,
        [
            ("bracket", "Perrin Hask"),
            ("case, left", "Perrin Hask"),
            ("case, right", "Ines Aldous")
        ]
    );
    one.close().await;
    two.close().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_refused_entry_holds_up_nothing_but_what_depends_on_it() {
    let (house, net, b) = open().await;
    net.is(Network::Down);
    // Refused later: a joint opened tomorrow. What is entered of its seal depends on it.
    entered(
        &b,
        "joints",
        &[("at", "2026-05-13T09:00")],
        &[("joints", "new:drier inlet")],
    )
    .await;
    entered(
        &b,
        "seals",
        &[],
        &[("seal.new:drier inlet.state", "new"), ("lubricant", "PAG")],
    )
    .await;
    entered(&b, "oil", &[("type", "PAG 46"), ("volume", "10")], &[]).await;
    // The same form sent again with another number, as a second window would: the same id with other content.
    let deed = serde_json::from_str::<Vec<serde_json::Value>>(&everything_waiting(&b).await)
        .expect("a list")[2]["deed"]
        .as_str()
        .expect("an id")
        .to_owned();
    b.go("/orders/412/bench/oil").await;
    asks(
        &b,
        &format!("document.querySelector('form.entry input[name=deed]').value = '{deed}'"),
    )
    .await;
    let (_, oil) = task("oil");
    b.fill(&oil, "type", "PAG 46").await;
    b.fill(&oil, "volume", "25").await;
    b.send(&oil).await;
    says(&b, "4 entries are waiting").await;
    net.is(Network::Up);
    says(
        &b,
        "One entry is waiting on this tablet for what it belongs to.",
    )
    .await;
    comes_true(
        &b,
        20,
        "return document.querySelectorAll('#waiting li').length === 2",
    )
    .await;
    let list = b.one("#waiting").await.text().await.expect("text");
    assert!(
        list.contains("Joints opened, order 412")
            && list.contains("Not saved: That is in the future"),
        "{list}"
    );
    assert!(
        list.contains("Oil, order 412")
            && list.contains("saved a moment ago with different content"),
        "{list}"
    );
    assert_eq!(b.axe().await, Vec::<String>::new());
    b.picture("away-refused").await;
    let all = pieces(&house).await;
    assert_eq!(
        (
            of(&all, Kind::Oil).len(),
            of(&all, Kind::Opening).len(),
            of(&all, Kind::Seal).len()
        ),
        (1, 0, 0)
    );

    // The first is looked at: the server's own page, filled, with the fault beside its field. Corrected, it goes, and so does what waited for it.
    let look = |what: &str| {
        format!("//ul[@id='waiting']/li[contains(., '{what}')]//button[. = 'Open it']")
    };
    b.driver
        .find(By::XPath(look("Joints opened")))
        .await
        .expect("a button")
        .click()
        .await
        .expect("pressed");
    let (_, joints) = task("joints");
    comes_true(&b, 10, "return document.querySelector('[name=at]')?.value === '2026-05-13T09:00' && document.querySelector('.err') !== null").await;
    b.fill(&joints, "at", "2026-05-12T10:40").await;
    b.send(&joints).await;
    comes_true(
        &b,
        20,
        "return document.querySelectorAll('#waiting li').length === 1",
    )
    .await;
    let mut all = pieces(&house).await;
    for _ in 0..100 {
        if of(&all, Kind::Seal).len() == 1 {
            break;
        }
        tokio::time::sleep(Duration::from_millis(100)).await;
        all = pieces(&house).await;
    }
    assert_eq!(
        (of(&all, Kind::Opening).len(), of(&all, Kind::Seal).len()),
        (1, 1)
    );
    // The conflict is a person's to see: both are shown, and it is a new entry.
    b.driver
        .find(By::XPath(look("Oil")))
        .await
        .expect("a button")
        .click()
        .await
        .expect("pressed");
    comes_true(
        &b,
        10,
        "return document.querySelector('[name=as]') !== null",
    )
    .await;
    let text = b.text().await;
    assert!(
        text.contains("Saved a moment ago") && text.contains("10 mL"),
        "{text}"
    );
    b.tap(&oil, "as", "new").await;
    b.send(&oil).await;
    says(&b, KEPT).await;
    let all = pieces(&house).await;
    assert_eq!(
        of(&all, Kind::Oil)
            .iter()
            .map(|p| said(p, "volume"))
            .collect::<Vec<_>>(),
        ["10 mL", "25 mL"]
    );
    b.close().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_has_waited_for_a_minute_can_be_corrected_and_a_page_is_good_for_a_day() {
    let (house, net, b) = open().await;
    net.is(Network::Down);
    entered(&b, "oil", &[("type", "PAG 46"), ("volume", "100")], &[]).await;
    assert_eq!(
        asks(&b, "return document.getElementById('waiting').hidden").await,
        true,
        "not yet a line of its own"
    );
    // As if it had been entered two minutes ago.
    let older = "const done = arguments[arguments.length - 1];
        const request = indexedDB.open('chillwright');
        request.onsuccess = () => {
            const store = request.result.transaction('entries', 'readwrite').objectStore('entries');
            store.getAll().onsuccess = (event) => { const [entry] = event.target.result; entry.entered -= 120e3; store.put(entry).onsuccess = () => { request.result.close(); done(true); }; };
        };";
    b.driver.execute_async(older, vec![]).await.expect("older");
    b.driver.refresh().await.expect("again");
    comes_true(
        &b,
        10,
        "return document.querySelectorAll('#waiting li').length === 1",
    )
    .await;
    assert!(
        b.one("#waiting")
            .await
            .text()
            .await
            .expect("text")
            .contains("Waiting for the server.")
    );
    b.driver
        .find(By::XPath("//ul[@id='waiting']//button[. = 'Correct']"))
        .await
        .expect("a button")
        .click()
        .await
        .expect("pressed");
    comes_true(&b, 10, "return document.querySelector('form.entry [name=volume]')?.value === '100' && document.querySelector('.draft') !== null").await;
    assert_eq!(
        waiting(&b).await,
        1,
        "it stays until its correction takes its place"
    );
    assert!(
        b.one("#waiting")
            .await
            .text()
            .await
            .expect("text")
            .contains("Being corrected; not sent.")
    );
    let (_, oil) = task("oil");
    b.fill(&oil, "volume", "10").await;
    b.send(&oil).await;
    says(&b, "One entry is waiting").await;
    // Not heard for 23 hours: the pages open. For 25: they do not; what waits stays.
    let heard = |hours: i64| {
        format!(
            "const done = arguments[arguments.length - 1];
            const request = indexedDB.open('chillwright');
            request.onsuccess = () => {{
                const store = request.result.transaction('facts', 'readwrite').objectStore('facts');
                store.get('heard').onsuccess = (event) => {{ const facts = event.target.result; facts.tablet = Date.now() - {hours} * 3600e3; store.put(facts).onsuccess = () => {{ request.result.close(); done(true); }}; }};
            }};"
        )
    };
    b.driver
        .execute_async(heard(23), vec![])
        .await
        .expect("set");
    b.go("/orders/412/bench").await;
    assert!(b.text().await.contains("Tasks"), "{}", b.text().await);
    b.driver
        .execute_async(heard(25), vec![])
        .await
        .expect("set");
    let text = tried(&b, &format!("{}/orders/412/bench", net.address)).await;
    assert!(text.contains("ERR_") && !text.contains("Tasks"), "{text}");
    net.is(Network::Up);
    ready(&b).await;
    assert_eq!(
        of(&pieces(&house).await, Kind::Oil)
            .iter()
            .map(|p| said(p, "volume"))
            .collect::<Vec<_>>(),
        ["10 mL"]
    );
    b.close().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_gauge_is_photographed_now_and_its_number_typed_later() {
    let (house, net, b) = open().await;
    entered(&b, "hold", &[], &[("kind", "vacuum"), ("gauge", "G-2")]).await;
    let hold = b.path().await;
    ready(&b).await;
    b.go(&hold).await;
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("gauge.png");
    std::fs::write(
        &file,
        b.driver.screenshot_as_png().await.expect("a picture"),
    )
    .expect("written");
    // Without the network as well.
    net.is(Network::Down);
    b.one("form#photograph [name=pictures]")
        .await
        .send_keys(file.display().to_string())
        .await
        .expect("chosen");
    let taken = house.app.now();
    b.send("form#photograph").await;
    says(&b, "One entry is waiting").await;
    tokio::time::sleep(Duration::from_secs(2)).await;
    let mended = house.app.now();
    net.is(Network::Up);
    says(&b, KEPT).await;
    b.go(&hold).await;
    assert!(
        b.text().await.contains("Photographs without a reading"),
        "{}",
        b.text().await
    );
    b.picture("hold-photograph").await;
    b.one("[data-live=photographs] a")
        .await
        .click()
        .await
        .expect("pressed");
    comes_true(&b, 10, "return document.querySelector('img.gauge')?.complete === true && document.querySelector('img.gauge').naturalWidth > 100").await;
    assert_eq!(b.axe().await, Vec::<String>::new());
    read(&b, "28").await;
    let text = b.text().await;
    assert!(
        text.contains("28 inHg vacuum, metal 22 °C, from the photograph")
            && !text.contains("Photographs without a reading"),
        "{text}"
    );
    let all = pieces(&house).await;
    let reading = of(&all, Kind::Reading)[0];
    let at = reading.at.expect("a time");
    assert!(
        at >= taken && at < mended,
        "the time of the photograph, not of the number: {} {} {}",
        taken.rfc3339(),
        at.rfc3339(),
        mended.rfc3339()
    );
    b.close().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_bench_page_is_small_on_a_cold_cache() {
    let (_house, net, b) = open().await;
    entered(&b, "hold", &[], &[("kind", "vacuum"), ("gauge", "G-2")]).await;
    read(&b, "28").await;
    read(&b, "28").await;
    let hold = b.path().await;
    let devtools = b.driver.cdp();
    devtools
        .send_raw("Network.enable", serde_json::json!({}))
        .await
        .expect("on");
    let mut most = 0.0;
    for page in [
        "/orders/412/bench",
        "/orders/412/bench/parts",
        "/orders/412/bench/hold",
        &hold,
    ] {
        devtools
            .send_raw("Network.clearBrowserCache", serde_json::json!({}))
            .await
            .expect("cold");
        devtools
            .send_raw(
                "Network.setBypassServiceWorker",
                serde_json::json!({ "bypass": true }),
            )
            .await
            .expect("past the worker");
        b.go(page).await;
        let all = asks(&b, "const all = [...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')]; return [all.reduce((sum, e) => sum + e.transferSize, 0), all.length, all.some((e) => e.name.endsWith('/static/app.css') && e.transferSize > 1000)]").await;
        println!(
            "{page}: {} bytes in {} files, {:.0} ms to the first paint",
            all[0],
            all[1],
            asks(
                &b,
                "return performance.getEntriesByType('paint')[0]?.startTime ?? -1"
            )
            .await
            .as_f64()
            .unwrap_or(-1.0)
        );
        assert_eq!(all[2], true, "the cache was cold: {all}");
        most = f64::max(most, all[0].as_f64().expect("a size"));
    }
    assert!(most > 5_000.0 && most < 100_000.0, "{most} bytes");
    drop(net);
    b.close().await;
}

/// Unencrypted, by another name than this machine's own, a browser lets no page work on without the network: everything works with it, as plain forms.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn without_encryption_everything_works_with_the_network() {
    let house = House::open_with_running_clock("2026-05-12T10:50:00Z").await;
    let port = house.address.rsplit_once(':').expect("a port").1.to_owned();
    let b = Browser::open_at(
        &format!("http://shop.test:{port}"),
        820,
        1180,
        None,
        &["--host-resolver-rules=MAP shop.test 127.0.0.1"],
    )
    .await;
    begin(&b).await;
    barometer_and_intake(&b).await;
    assert_eq!(
        asks(&b, "return [isSecureContext, 'serviceWorker' in navigator]").await,
        serde_json::json!([false, false])
    );
    entered(&b, "oil", &[("type", "PAG 46"), ("volume", "10")], &[]).await;
    assert!(
        b.text().await.contains("Saved.") && b.text().await.contains("10 mL"),
        "{}",
        b.text().await
    );
    assert_eq!(
        asks(&b, "return document.getElementById('here').hidden").await,
        true,
        "nothing is promised"
    );
    entered(&b, "hold", &[], &[("kind", "vacuum"), ("gauge", "G-2")]).await;
    read(&b, "28").await;
    assert!(
        b.text().await.contains("One reading so far."),
        "{}",
        b.text().await
    );
    b.go("/trust").await;
    assert!(
        b.text().await.contains("The connection is not encrypted")
            && b.text().await.contains("The bench needs the network"),
        "{}",
        b.text().await
    );
    b.close().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_hold_whose_beginning_was_kept_but_never_answered_is_one_hold() {
    let (house, net, b) = open().await;
    net.is(Network::AnswersLost);
    entered(&b, "hold", &[], &[("kind", "vacuum"), ("gauge", "G-2")]).await;
    let hold = b.path().await;
    assert_eq!(hold.len(), "/orders/412/holds/".len() + 36, "{hold}");
    // Read while its beginning is still on its way; and once more with a button pressed twice.
    read(&b, "28").await;
    b.fill("form#read", "reading", "27.9").await;
    asks(&b, "const form = document.getElementById('read'); form.requestSubmit(); setTimeout(() => form.requestSubmit(), 30); return 0").await;
    comes_true(
        &b,
        30,
        "return document.getElementById('read')?.elements.reading.value === ''",
    )
    .await;
    says(&b, "3 entries are waiting").await;
    net.is(Network::Up);
    says(&b, KEPT).await;
    let all = pieces(&house).await;
    assert_eq!(of(&all, Kind::Hold).len(), 1);
    let mut readings: Vec<_> = of(&all, Kind::Reading)
        .iter()
        .map(|r| (r.at, said(r, "pressure")))
        .collect();
    readings.sort();
    assert_eq!(
        readings.iter().map(|r| r.1.as_str()).collect::<Vec<_>>(),
        ["28 inHg vacuum", "27.9 inHg vacuum"]
    );
    // Without the network again, its address still leads to it.
    ready(&b).await;
    net.is(Network::Down);
    b.go(&hold).await;
    assert!(b.text().await.contains("27.9 inHg"), "{}", b.text().await);
    b.close().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn who_is_not_signed_in_sees_nothing_of_the_shop_without_the_network() {
    let (_house, net, b) = open().await;
    asks(
        &b,
        "const form = document.createElement('form'); form.method = 'post'; form.action = '/sign-out'; document.body.append(form); form.submit(); return 0",
    )
    .await;
    comes_true(
        &b,
        10,
        "return location.pathname === '/sign-in' && document.readyState === 'complete'",
    )
    .await;
    net.is(Network::Down);
    let text = tried(&b, &format!("{}/orders/412/bench", net.address)).await;
    assert!(
        text.contains("ERR_") && !text.contains("KD 41 TVL"),
        "{text}"
    );
    b.close().await;
}
