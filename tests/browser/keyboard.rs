//! The keyboard alone: from the sign-in page to a hold that is read and ended, and the owner's word, without a pointer.
use super::{
    others::open_at_the_bench,
    support::{Browser, PIN},
};
use thirtyfour::Key;

/// Presses a key where the focus is.
async fn press(b: &Browser, keys: impl AsRef<str>) {
    b.driver
        .action_chain()
        .send_keys(keys.as_ref())
        .perform()
        .await
        .expect("a key");
}

async fn key(b: &Browser, key: Key) {
    b.driver
        .action_chain()
        .send_keys(key)
        .perform()
        .await
        .expect("a key");
}

/// Goes on by Tab until the focus stands on what the script finds; gives up after one walk round the page.
async fn tab_to(b: &Browser, selector: &str) {
    for _ in 0..160 {
        let there = b
            .driver
            .execute(
                "return document.activeElement.matches(arguments[0])",
                vec![serde_json::json!(selector)],
            )
            .await
            .expect("a state");
        if there.json().as_bool() == Some(true) {
            let seen = b
                .driver
                .execute(
                    "const s = getComputedStyle(document.activeElement), l = getComputedStyle(document.activeElement.closest('label') ?? document.activeElement); return s.outlineStyle !== 'none' || l.outlineStyle !== 'none' || s.boxShadow !== 'none'",
                    vec![],
                )
                .await
                .expect("a style");
            assert_eq!(
                seen.json().as_bool(),
                Some(true),
                "the focus on {selector} is not seen"
            );
            return;
        }
        key(b, Key::Tab).await;
    }
    panic!(
        "{selector} is not reached by Tab at {}\n{}",
        b.path().await,
        b.text().await
    );
}

/// Presses Enter and waits for the next page.
async fn enter(b: &Browser) {
    let before = b
        .driver
        .execute("return performance.timeOrigin", vec![])
        .await
        .expect("a time")
        .json()
        .clone();
    key(b, Key::Enter).await;
    for _ in 0..200 {
        let state = b
            .driver
            .execute(
                "return document.readyState === 'complete' ? performance.timeOrigin : 0",
                vec![],
            )
            .await;
        if state.is_ok_and(|s| *s.json() != before && s.json().as_f64() != Some(0.0)) {
            return;
        }
        tokio::time::sleep(std::time::Duration::from_millis(25)).await;
    }
    panic!("no page came");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_hold_is_made_and_conceded_by_the_keyboard_alone() {
    let (house, b) = open_at_the_bench("2026-05-12T10:50:00Z", 1440, 900).await;
    b.driver
        .execute(
            "document.querySelector('[data-change-person]').focus()",
            vec![],
        )
        .await
        .expect("focus");
    enter(&b).await;
    // Somebody else takes over: the name and the code.
    tab_to(&b, "input[type=radio][name=person]").await;
    press(&b, " ").await;
    tab_to(&b, "input[name=pin]").await;
    press(&b, PIN).await;
    enter(&b).await;
    assert!(
        b.path().await.starts_with("/orders/412/bench/"),
        "back to where one was"
    );
    tab_to(&b, "a.mark").await;
    enter(&b).await;
    assert_eq!(b.path().await, "/");
    // The first Tab offers the way past the navigation.
    key(&b, Key::Tab).await;
    let skip = b
        .driver
        .execute("return document.activeElement.className", vec![])
        .await
        .expect("a state");
    assert_eq!(skip.json().as_str(), Some("skip"));
    tab_to(&b, "main a[href='/orders/412']").await;
    enter(&b).await;
    tab_to(&b, "a[href='/orders/412/bench']").await;
    enter(&b).await;
    tab_to(&b, "main a[href='/orders/412/bench/hold']").await;
    enter(&b).await;
    let form = "form[action='/orders/412/bench/hold'][method=post]";
    tab_to(&b, &format!("{form} [name=kind]")).await;
    press(&b, " ").await;
    tab_to(&b, &format!("{form} [name=gauge]")).await;
    press(&b, " ").await;
    tab_to(&b, &format!("{form} button[type=submit]")).await;
    enter(&b).await;
    assert_eq!(b.path().await, "/orders/412/holds/h1", "{}", b.text().await);
    for (clock, number) in [
        ("2026-05-12T10:50:00Z", "28"),
        ("2026-05-12T11:10:00Z", "28"),
    ] {
        house.it_is(clock);
        let read = "form[action='/orders/412/holds/h1/readings']";
        tab_to(&b, &format!("{read} [name=reading]")).await;
        press(&b, number).await;
        tab_to(&b, &format!("{read} [name=metal]")).await;
        press(&b, "22").await;
        enter(&b).await;
        assert!(
            !b.text().await.contains("Please check the marked fields"),
            "{}",
            b.text().await
        );
    }
    assert!(b.text().await.contains("OK so far"), "{}", b.text().await);
    tab_to(
        &b,
        "form[action='/orders/412/holds/h1/end'] button[type=submit]",
    )
    .await;
    enter(&b).await;
    // The technician says that this is all: what is left is for the owner.
    b.go("/orders/412/bench").await;
    tab_to(&b, "form[action='/orders/412/stage'] button[type=submit]").await;
    enter(&b).await;
    tab_to(&b, "a[href='/orders/412']").await;
    enter(&b).await;
    tab_to(&b, "a[href^='/orders/412/why/']").await;
    enter(&b).await;
    assert!(
        b.path().await.starts_with("/orders/412/why/")
            && b.text().await.contains("What would change it"),
        "{}",
        b.text().await
    );
    // The owner's word on the improvised fixing, by keyboard too.
    tab_to(&b, "nav a[href='/review']").await;
    enter(&b).await;
    let review = "form[action^='/review/412/improvised-fixing/']";
    tab_to(&b, &format!("{review} [name=decision]")).await;
    press(&b, " ").await;
    tab_to(&b, &format!("{review} [name=words]")).await;
    press(&b, "Firm by hand; looked at again in autumn.").await;
    tab_to(&b, &format!("{review} button[type=submit]")).await;
    enter(&b).await;
    b.go("/orders/412").await;
    assert!(
        b.text()
            .await
            .contains("Firm by hand; looked at again in autumn."),
        "{}",
        b.text().await
    );
    b.close().await;
}
