//! What a tablet's worker asks the server: the pages that it keeps, and entries with the tablet's clock.
use super::{
    job::{kept, with_order},
    kit::{Answer, Browser, Shop, said, stored},
};
use axum::{
    body::Body,
    http::{Method, Request, StatusCode, header},
};
use chillwright::store::{
    evidence::{self, Kind, Piece},
    orders, people,
};

/// Sends an entry as the worker does.
async fn entry(browser: &mut Browser, path: &str, fields: &[(&str, &str)], clock: &str) -> Answer {
    let body = form_urlencoded::Serializer::new(String::new())
        .extend_pairs(fields)
        .finish();
    let request = Request::builder()
        .method(Method::POST)
        .uri(path)
        .header(
            header::CONTENT_TYPE,
            "application/x-www-form-urlencoded;charset=UTF-8",
        )
        .header(header::HOST, "shop.test")
        .header("sec-fetch-site", "same-origin")
        .header("chillwright-entry", clock);
    browser.send(request, Body::from(body)).await
}

async fn pieces(shop: &Shop) -> Vec<Piece> {
    let mut conn = shop.app.store.read().await.expect("a connection");
    let order = orders::by_number(&mut conn, 412)
        .await
        .expect("read")
        .expect("412");
    evidence::of_order(&mut conn, order.id)
        .await
        .expect("pieces")
}

async fn id_of(shop: &Shop, name: &str) -> String {
    let mut conn = shop.app.store.read().await.expect("a connection");
    people::all(&mut conn)
        .await
        .expect("people")
        .iter()
        .find(|p| p.name == name)
        .expect("somebody")
        .id
        .to_string()
}

const OIL: [(&str, &str); 2] = [("type", "PAG 46"), ("volume", "5")];

#[tokio::test]
async fn an_entry_is_kept_refused_or_waits_for_a_code() {
    let mut shop = with_order().await;
    let perrin = id_of(&shop, "Perrin Hask").await;
    let path = "/orders/412/bench/oil";
    let clock = |person: &str| format!("person={person}&entered=1000&sent=1100");
    let answer = entry(&mut shop.browser, path, &OIL, &clock(&perrin)).await;
    assert_eq!(
        (answer.status, answer.body.as_str()),
        (StatusCode::OK, r#"{"to":"/orders/412/bench/oil?kept=1"}"#)
    );
    let refused = entry(
        &mut shop.browser,
        path,
        &[("type", "PAG 46"), ("volume", "x")],
        &clock(&perrin),
    )
    .await;
    assert!(
        refused.status == StatusCode::UNPROCESSABLE_ENTITY
            && refused.body.contains("class=\"err\""),
        "{}",
        refused.body
    );
    // Another person than whoever is signed in now; nobody; a device that was never admitted.
    let other = entry(
        &mut shop.browser,
        path,
        &OIL,
        &clock("01890a5d-ac96-774b-bcce-b302099a8057"),
    )
    .await;
    assert_eq!(
        (other.status, other.body.as_str()),
        (StatusCode::UNAUTHORIZED, r#"{"signIn":"else"}"#)
    );
    shop.minutes_pass(13 * 60);
    let nobody = entry(&mut shop.browser, path, &OIL, &clock(&perrin)).await;
    assert_eq!(
        (nobody.status, nobody.body.as_str()),
        (StatusCode::UNAUTHORIZED, r#"{"signIn":"nobody"}"#)
    );
    let stranger = entry(&mut shop.browser.stranger(), path, &OIL, &clock(&perrin)).await;
    assert_eq!(stranger.status, StatusCode::UNAUTHORIZED);
    assert_eq!(
        pieces(&shop)
            .await
            .iter()
            .filter(|p| p.kind() == Kind::Oil)
            .count(),
        1
    );
}

#[tokio::test]
async fn an_entry_counts_from_when_it_was_made_and_keeps_the_units_in_which_it_was_typed() {
    let mut shop = with_order().await;
    let perrin = id_of(&shop, "Perrin Hask").await;
    let now = shop.app.now();
    let minutes = |n: i64| n * 60_000;
    // Made 20 minutes ago on a tablet whose clock shows 1970; the server was last heard 30 minutes ago.
    let heard = now.plus_minutes(-30).0;
    let clock = format!(
        "person={perrin}&entered={}&sent={}&server={heard}&tablet=0",
        minutes(10),
        minutes(30)
    );
    let standing = [
        ("pressure", "70"),
        ("unit", "psi"),
        ("ambient", "68"),
        ("cold", "yes"),
        ("units", "us"),
    ];
    let path = "/orders/412/bench/standing";
    assert_eq!(
        entry(&mut shop.browser, path, &standing, &clock)
            .await
            .status,
        StatusCode::OK
    );
    let kept = pieces(&shop)
        .await
        .into_iter()
        .find(|p| p.kind() == Kind::Standing)
        .expect("a piece");
    assert_eq!(
        (kept.at, kept.entered_at, kept.approximate),
        (Some(now.plus_minutes(-20)), now, false)
    );
    assert_eq!(
        (
            said(&kept, "ambient"),
            stored(&kept)["_tablet"]["entered"].as_str()
        ),
        ("68 degF".to_owned(), Some("1970-01-01T00:10:00Z"))
    );
    // The clock was set in between: about right, and says so.
    let set = format!(
        "person={perrin}&entered={}&sent={}&server={heard}&tablet=0",
        minutes(10),
        minutes(10_000)
    );
    let deed = ("deed", "01890a5d-ac96-774b-bcce-b302099a8057");
    let fields: Vec<_> = standing.into_iter().chain([deed]).collect();
    assert_eq!(
        entry(&mut shop.browser, path, &fields, &set).await.status,
        StatusCode::OK
    );
    let pieces_now = pieces(&shop).await;
    let about = pieces_now
        .iter()
        .filter(|p| p.kind() == Kind::Standing)
        .nth(1)
        .expect("a second");
    assert_eq!(
        (about.at, about.approximate),
        (Some(now.plus_minutes(-20)), true)
    );
    // Sent again later: the same deed, whatever the clock says then.
    shop.minutes_pass(5);
    assert_eq!(
        entry(&mut shop.browser, path, &fields, "person=&entered=0&sent=0")
            .await
            .status,
        StatusCode::OK
    );
    assert_eq!(
        pieces(&shop)
            .await
            .iter()
            .filter(|p| p.kind() == Kind::Standing)
            .count(),
        2
    );
}

#[tokio::test]
async fn a_hold_is_known_by_the_deed_that_began_it_and_a_joint_by_its_place() {
    let mut shop = with_order().await;
    let deed = "01890a5d-ac96-774b-bcce-b302099a8057";
    let hold = format!("/orders/412/holds/{deed}");
    assert_eq!(shop.browser.get(&hold).await.status, StatusCode::NOT_FOUND);
    kept(
        &mut shop,
        "hold",
        "07:00",
        &[("deed", deed), ("kind", "vacuum"), ("gauge", "G-1")],
    )
    .await;
    let page = shop.browser.get(&hold).await.body;
    assert!(
        page.contains("Vacuum hold") && page.contains(&format!("action=\"{hold}/readings\"")),
        "{page}"
    );
    let read = shop
        .browser
        .post(
            &format!("{hold}/readings"),
            &[("reading", "28"), ("metal", "22"), ("at", "07:10")],
        )
        .await;
    assert_eq!(read.location, "/orders/412/holds/h1");
    // A deed that began no hold, or one of another order, names none.
    let oil = "01890a5d-ac96-774b-bcce-b302099a8058";
    kept(
        &mut shop,
        "oil",
        "07:11",
        &[("deed", oil), ("type", "PAG 46"), ("volume", "5")],
    )
    .await;
    assert_eq!(
        shop.browser
            .get(&format!("/orders/412/holds/{oil}"))
            .await
            .status,
        StatusCode::NOT_FOUND
    );

    let seal = [("seal.new:drier inlet.state", "new"), ("lubricant", "PAG")];
    // The row of a joint that waits at the tablet is made by the tablet’s script.
    let early = shop
        .browser
        .post_raw("/orders/412/bench/seals", &seal)
        .await;
    assert_eq!(
        early.status,
        StatusCode::UNPROCESSABLE_ENTITY,
        "that joint is not on record yet"
    );
    kept(
        &mut shop,
        "joints",
        "07:12",
        &[("joints", "new:drier inlet")],
    )
    .await;
    let late = [seal[0], seal[1], ("at", "2026-05-12T07:13")];
    assert_eq!(
        shop.browser
            .post_raw("/orders/412/bench/seals", &late)
            .await
            .status,
        StatusCode::SEE_OTHER
    );
    let check = [
        ("method", "bubbles"),
        ("places", "new:Drier Inlet"),
        ("at", "2026-05-12T07:14"),
    ];
    assert_eq!(
        shop.browser
            .post_raw("/orders/412/bench/checks", &check)
            .await
            .status,
        StatusCode::SEE_OTHER
    );
    let all = pieces(&shop).await;
    let joint = all
        .iter()
        .find(|p| p.kind() == Kind::Joint)
        .expect("a joint");
    assert!(
        all.iter()
            .any(|p| p.kind() == Kind::Seal && p.parent == Some(joint.id))
    );
    assert_eq!(
        stored(
            all.iter()
                .find(|p| p.kind() == Kind::LeakCheck)
                .expect("a check")
        )["places"][0],
        joint.mark.as_str()
    );
}

#[tokio::test]
async fn a_tablet_fetches_what_has_changed_and_all_of_it_is_pages_of_the_bench() {
    let mut shop = with_order().await;
    let list = |body: &str| serde_json::from_str::<serde_json::Value>(body).expect("JSON");
    let first = list(&shop.browser.get("/away/orders").await.body);
    assert_eq!(
        (&first["name"], &first["orders"][0]["number"]),
        (&"Perrin Hask".into(), &412.into())
    );
    assert!(
        first["pages"]["/away"]
            .as_str()
            .is_some_and(|p| p.contains("Order 412")),
        "{first}"
    );
    assert_eq!(
        list(&shop.browser.get("/away/orders").await.body),
        first,
        "nothing has changed"
    );
    kept(
        &mut shop,
        "hold",
        "07:00",
        &[("kind", "vacuum"), ("gauge", "G-1")],
    )
    .await;
    let second = list(&shop.browser.get("/away/orders").await.body);
    assert_ne!(second["orders"], first["orders"], "the order has");
    let gauge = [
        ("mark", "V-1"),
        ("kind", "vacuum-gauge"),
        ("unit", "micron"),
        ("resolution", "10"),
    ];
    assert_eq!(
        shop.browser.post("/shop/instruments", &gauge).await.status,
        StatusCode::SEE_OTHER
    );
    assert_ne!(
        list(&shop.browser.get("/away/orders").await.body)["orders"],
        second["orders"],
        "the shop has"
    );

    let bundle = list(&shop.browser.get("/away/orders/412").await.body);
    let pages = bundle["pages"].as_object().expect("pages");
    assert_eq!(
        pages.len(),
        20,
        "all tasks, the bench, the hold: {:?}",
        pages.keys()
    );
    for (path, page) in pages {
        let live = shop.browser.get(path).await.body;
        let same = |html: &str| -> String {
            // Each form has an id of its own.
            html.split("name=\"deed\" value=\"")
                .map(|part| {
                    part.get(36..)
                        .filter(|_| part.chars().nth(8) == Some('-'))
                        .unwrap_or(part)
                })
                .collect()
        };
        assert_eq!(same(page.as_str().expect("a page")), same(&live), "{path}");
    }
    let blanks: Vec<(&str, &str)> = bundle["blanks"]
        .as_array()
        .expect("blanks")
        .iter()
        .map(|b| {
            (
                b["kind"].as_str().expect("a kind"),
                b["gauge"].as_str().expect("a gauge"),
            )
        })
        .collect();
    assert_eq!(
        blanks,
        [
            ("vacuum", "G-1"),
            ("pressure", "G-1"),
            ("evacuation", "G-1"),
            ("vacuum", "V-1"),
            ("evacuation", "V-1")
        ]
    );
    for blank in bundle["blanks"].as_array().expect("blanks") {
        let html = blank["html"].as_str().expect("a page");
        assert!(
            html.contains("action=\"/orders/412/holds/__deed__/readings\"")
                && html.contains("__begun__"),
            "{html}"
        );
        assert_eq!(
            html.contains("<template id=\"tiles\">"),
            blank["gauge"] == "G-1",
            "tiles for a dial"
        );
    }
    // The desk has no bench, and a stranger nothing.
    assert!(
        shop.browser
            .stranger()
            .get("/away/orders")
            .await
            .location
            .starts_with("/device")
    );
}
