//! At the bench: a new order that begins like a closed one, two holds side by side, who is at the tablet.
use super::{
    job::{kept, reading, until_parts, with_order},
    kit::{Shop, said, stored},
    money::INTAKE,
};
use axum::http::StatusCode;
use chillwright::store::{evidence, lines, orders};

/// Order 412 with all its evidence and an estimate, handed over.
async fn closed() -> Shop {
    let mut shop = with_order().await;
    until_parts(&mut shop).await;
    kept(
        &mut shop,
        "seals",
        "07:41",
        &[
            ("seal.j4.state", "new"),
            ("lubricant", "mineral oil"),
            ("torque", "10"),
        ],
    )
    .await;
    for (kind, source, says, unit, price) in [
        ("labour", "", "Evaporator out and in", "h", "56"),
        ("part", "salvaged", "Evaporator", "pieces", "70"),
        ("part", "new", "Receiver-drier", "pieces", "42"),
    ] {
        let line = [
            ("kind", kind),
            ("source", source),
            ("says", says),
            ("quantity", "1"),
            ("unit", unit),
            ("price", price),
            ("tax", "10"),
            ("paid", "30"),
        ];
        let answer = shop.browser.post("/orders/412/estimate/lines", &line).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.body);
    }
    let way = [
        ("way", "made-safe"),
        ("sentence", "The refrigerant was taken out."),
    ];
    let answer = shop.browser.post("/orders/412/handover", &way).await;
    assert_eq!(answer.location, "/orders/412/report", "{}", answer.body);
    shop
}

#[tokio::test]
async fn a_new_order_begins_like_a_closed_one_without_any_of_its_evidence() {
    let mut shop = closed().await;
    assert!(
        shop.browser
            .get("/intake")
            .await
            .body
            .contains("/intake?like=412")
    );
    let page = shop.browser.get("/intake?like=412").await.body;
    for says in [
        "name=\"like\" value=\"412\"",
        "value=\"Tarn Vela 1.4\"",
        "value=\"PAG 46\"",
        "4 joints and 3 estimate lines",
    ] {
        assert!(page.contains(says), "{says}: {page}");
    }
    for says in ["Odile Brandt", "KD 41 TVL"] {
        assert!(
            !page
                .split("method=\"post\"")
                .last()
                .expect("a form")
                .contains(says),
            "{says}"
        );
    }
    let mut fields = INTAKE.to_vec();
    (fields[0].1, fields[2].1) = ("LM 20 ABC", "Jonas Teel");
    fields.push(("like", "412"));
    let answer = shop.browser.post("/intake", &fields).await;
    assert_eq!(answer.location, "/orders/413", "{}", answer.body);

    let mut conn = shop.app.store.read().await.expect("a connection");
    let (old, new) = (
        orders::by_number(&mut conn, 412)
            .await
            .expect("read")
            .expect("412"),
        orders::by_number(&mut conn, 413)
            .await
            .expect("read")
            .expect("413"),
    );
    let pieces = evidence::of_order(&mut conn, new.id).await.expect("pieces");
    let mut kinds: Vec<&str> = pieces.iter().map(|p| p.kind().word()).collect();
    kinds.dedup();
    assert_eq!(
        kinds,
        ["site", "system", "joint"],
        "nothing that was found, done or measured"
    );
    let joints = |pieces: &[evidence::Piece]| -> Vec<String> {
        pieces
            .iter()
            .filter(|p| p.kind() == evidence::Kind::Joint)
            .map(|p| said(p, "place"))
            .collect()
    };
    let before = evidence::of_order(&mut conn, old.id).await.expect("pieces");
    assert_eq!(
        (joints(&pieces), joints(&pieces).len()),
        (joints(&before), 4)
    );
    assert!(
        before
            .iter()
            .any(|p| p.kind() == evidence::Kind::Joint && !said(p, "torque").is_empty()),
        "the old one has a torque"
    );
    for joint in pieces.iter().filter(|p| p.kind() == evidence::Kind::Joint) {
        let body = stored(joint);
        assert!(
            body.as_object()
                .expect("a map")
                .keys()
                .all(|k| matches!(k.as_str(), "place" | "type" | "_role" | "_side")),
            "{body}"
        );
    }
    let planned = lines::of_order(&mut conn, new.id).await.expect("lines");
    let says: Vec<_> = planned
        .iter()
        .map(|l| (l.says.as_str(), l.source.as_deref()))
        .collect();
    assert_eq!(
        says,
        [
            ("Evaporator out and in", None),
            ("Evaporator", Some("salvaged")),
            ("Receiver-drier", Some("new"))
        ]
    );
    assert!(
        planned
            .iter()
            .all(|l| l.price_paid.is_none() && l.ordered_on.is_none() && l.arrived_on.is_none())
    );
    let ids = lines::of_order(&mut conn, old.id).await.expect("lines");
    assert!(
        planned.iter().all(|l| ids.iter().all(|o| o.id != l.id)) && ids.len() == 3,
        "the old one keeps its own"
    );
    drop(conn);
    // No tag for a part that is not there, and the joints stand on the new order as left alone.
    assert_eq!(
        shop.browser.get("/parts/2").await.status,
        StatusCode::NOT_FOUND
    );
    assert!(
        shop.browser
            .get("/orders/413")
            .await
            .body
            .contains("Refrigerant circuit: 0 of ")
    );
    // One that is still open cannot be begun like.
    (fields[0].1, fields[8].1) = ("LM 21 ABC", "413");
    let refused = shop.browser.post("/intake", &fields).await;
    assert_eq!(
        refused.status,
        StatusCode::UNPROCESSABLE_ENTITY,
        "{}",
        refused.body
    );
}

#[tokio::test]
async fn a_second_hold_is_drawn_beside_the_first_until_a_joint_is_opened() {
    let mut shop = with_order().await;
    let first = kept(
        &mut shop,
        "hold",
        "07:00",
        &[("kind", "vacuum"), ("gauge", "G-1")],
    )
    .await;
    reading(&mut shop, &first, "07:02", "28", "22").await;
    let alone = reading(&mut shop, &first, "07:32", "26.5", "22").await;
    assert!(!alone.contains("line earlier"));
    let second = kept(
        &mut shop,
        "hold",
        "09:00",
        &[("kind", "vacuum"), ("gauge", "G-1")],
    )
    .await;
    let begun = reading(&mut shop, &second, "09:04", "28", "22").await;
    for says in [
        "line earlier",
        ">h1, 07:00<",
        ">h2, 09:00<",
        ">4 min<",
        "Dashed, for comparison, h1, 07:00",
    ] {
        assert!(begun.contains(says), "{says}: {begun}");
    }
    // The minimum counts from the first reading, and the clock time is in the sentence and on the curve.
    assert!(
        begun.contains("after the first reading: from 09:19 on.")
            && begun.contains("next useful reading from 09:19"),
        "{begun}"
    );
    // A pressure hold is another kind.
    let pressure = kept(
        &mut shop,
        "hold",
        "09:30",
        &[("kind", "pressure"), ("gauge", "G-1"), ("gas", "nitrogen")],
    )
    .await;
    assert!(
        !reading(&mut shop, &pressure, "09:31", "28", "22")
            .await
            .contains("line earlier")
    );
    kept(
        &mut shop,
        "joints",
        "10:00",
        &[("joints", "new:drier inlet")],
    )
    .await;
    let third = kept(
        &mut shop,
        "hold",
        "10:10",
        &[("kind", "vacuum"), ("gauge", "G-1")],
    )
    .await;
    assert!(
        !reading(&mut shop, &third, "10:11", "28", "22")
            .await
            .contains("line earlier"),
        "opened since"
    );
    assert!(
        shop.browser
            .get(&second)
            .await
            .body
            .contains("line earlier"),
        "what was compared before stays so"
    );
}

#[tokio::test]
async fn a_tablet_that_lost_the_answer_learns_what_became_of_a_form() {
    let mut shop = with_order().await;
    let deed = "01890a5d-ac96-774b-bcce-b302099a8057";
    let ask = format!("/deeds/{deed}");
    assert_eq!(shop.browser.get(&ask).await.body, "not kept");
    let refused = [("deed", deed), ("volume", "5")];
    assert_eq!(
        shop.browser
            .post("/orders/412/bench/oil", &refused)
            .await
            .status,
        StatusCode::UNPROCESSABLE_ENTITY
    );
    assert_eq!(shop.browser.get(&ask).await.body, "not kept");
    kept(
        &mut shop,
        "oil",
        "10:00",
        &[("deed", deed), ("type", "PAG 46"), ("volume", "5")],
    )
    .await;
    assert_eq!(shop.browser.get(&ask).await.body, "kept");
}

#[tokio::test]
async fn whoever_takes_the_tablet_signs_the_one_before_out_and_codes_are_not_tried_across_people() {
    let mut shop = with_order().await;
    for (name, pin) in [("Ines Aldous", "719402"), ("Tomas Rehn", "650318")] {
        let answer = shop
            .browser
            .post(
                "/shop/people",
                &[("name", name), ("roles", "technician"), ("pin", pin)],
            )
            .await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.body);
    }
    let people = {
        let mut conn = shop.app.store.read().await.expect("a connection");
        chillwright::store::people::all(&mut conn)
            .await
            .expect("people")
    };
    let id = |name: &str| {
        people
            .iter()
            .find(|p| p.name == name)
            .expect("somebody")
            .id
            .to_string()
    };
    let page = shop.browser.get("/orders/412/bench/standing").await.body;
    assert!(
        page.contains("/sign-in?back=%2Forders%2F412%2Fbench%2Fstanding"),
        "{page}"
    );
    let mut before = shop.browser.clone();
    let ines = id("Ines Aldous");
    let back = "/orders/412/bench/standing";
    let taken = shop
        .browser
        .post(
            "/sign-in",
            &[("person", &ines), ("pin", "719402"), ("back", back)],
        )
        .await;
    assert_eq!(taken.location, back, "{}", taken.body);
    assert!(shop.browser.get(back).await.body.contains("Ines Aldous"));
    assert!(
        before.get(back).await.location.starts_with("/sign-in"),
        "the one before is not signed in any more"
    );
    // Three people, few tries each: the device is stopped all the same, after five wrong codes (the right one before gave its try back).
    let mut statuses = Vec::new();
    for _ in 0..2 {
        for name in ["Perrin Hask", "Ines Aldous", "Tomas Rehn"] {
            statuses.push(
                shop.browser
                    .post("/sign-in", &[("person", &id(name)), ("pin", "000111")])
                    .await
                    .status,
            );
        }
    }
    assert_eq!(
        statuses
            .iter()
            .filter(|s| **s == StatusCode::TOO_MANY_REQUESTS)
            .count(),
        1,
        "{statuses:?}"
    );
}

#[tokio::test]
async fn the_shops_own_instruments_say_the_units() {
    let mut shop = with_order().await;
    for instrument in [
        [
            ("mark", "G-4"),
            ("kind", "digital-gauge"),
            ("unit", "bar"),
            ("resolution", "0.01"),
        ],
        [
            ("mark", "S-1"),
            ("kind", "scale"),
            ("unit", "g"),
            ("resolution", "5"),
        ],
    ] {
        assert_eq!(
            shop.browser
                .post("/shop/instruments", &instrument)
                .await
                .status,
            StatusCode::SEE_OTHER
        );
    }
    let page = shop.browser.get("/orders/412/bench/standing").await.body;
    let (bar, psi) = (
        page.find("bar gauge on G-4"),
        page.find("psig on another gauge"),
    );
    assert!(bar.is_some() && bar < psi, "the shop's own first: {page}");
    let weighed = [
        ("refrigerant", "R-134a"),
        ("cylinder", "C-03"),
        ("before", "9845"),
        ("after", "9280"),
        ("hose", "10"),
    ];
    let refused = shop
        .browser
        .post("/orders/412/bench/charging", &weighed)
        .await;
    assert!(
        refused
            .body
            .contains("Choose the unit that the scale shows."),
        "{}",
        refused.body
    );
    let with_scale: Vec<_> = weighed.into_iter().chain([("scale", "S-1")]).collect();
    kept(&mut shop, "charging", "10:00", &with_scale).await;
    let mut conn = shop.app.store.read().await.expect("a connection");
    let order = orders::by_number(&mut conn, 412)
        .await
        .expect("read")
        .expect("412");
    let pieces = evidence::of_order(&mut conn, order.id)
        .await
        .expect("pieces");
    let charge = pieces
        .iter()
        .find(|p| p.kind() == evidence::Kind::Charging)
        .expect("a charge");
    assert_eq!(
        (
            said(charge, "before"),
            stored(charge)["scale"]["resolution"].as_str()
        ),
        ("9845 g".to_owned(), Some("5 g"))
    );
}
