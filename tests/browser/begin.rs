//! First start, typed into the form; the pages that everybody meets first.
use super::support::{Browser, House, PIN, START_CODE};

/// Types the first start: 120 m, dial gauge of 0.5 inHg.
pub async fn begin(browser: &Browser) {
    begin_with(browser, START_CODE).await;
}

/// The same at a server that printed this code.
pub async fn begin_with(browser: &Browser, code: &str) {
    browser.go("/start").await;
    let form = "form[action='/start']";
    for (name, value) in [
        ("code", code),
        ("owner", "Perrin Hask"),
        ("pin", PIN),
        ("device", "bench 1"),
        ("name", "Hask & Marlow"),
        ("address", "3 Tannery Row, Wend"),
        ("telephone", "0555 0142"),
        ("elevation", "120"),
        ("elevation_unit", "m"),
        ("zone", "UTC"),
        ("currency", "EUR"),
        ("tax", "10"),
        ("next_order", "412"),
        ("next_invoice", "187"),
        ("mark", "G-2"),
        ("resolution", "0.5"),
        ("unit", "inHg"),
    ] {
        browser.fill(form, name, value).await;
    }
    for (name, value) in [
        ("roles", "desk"),
        ("roles", "technician"),
        ("units", "si"),
        ("prices", "net"),
        ("instrument", "dial-gauge"),
    ] {
        browser.tap(form, name, value).await;
    }
    browser.send(form).await;
    assert_eq!(browser.path().await, "/", "{}", browser.text().await);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_shop_begins_and_its_first_pages_are_accessible() {
    let house = House::open("2026-05-12T08:00:00Z").await;
    let browser = Browser::open(&house, 820, 1180).await;
    browser.go("/start").await;
    browser.picture("start").await;
    assert_eq!(browser.axe().await, Vec::<String>::new());
    begin(&browser).await;
    for path in ["/", "/shop/devices", "/sign-in"] {
        browser.go(path).await;
        assert_eq!(browser.axe().await, Vec::<String>::new(), "{path}");
    }
    browser.close().await;
}
