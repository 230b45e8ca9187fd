//! What pages and papers tell, once and as it is: charges, parts beyond the sum, what was sent back, VINs, tags, dates, who was there.
use super::{
    ground::{as_role, person},
    job::{kept, scenario, with_order},
    kit::{Browser, PIN, Shop},
    money::{INTAKE, intake, line},
    units::{decide, waits_for_the_owner},
};
use axum::http::StatusCode;
use chillwright::shop::{Role, Roles};
use sqlx::Row;

async fn desk(shop: &Shop) -> Browser {
    as_role(shop, person(shop).await, Roles::default().with(Role::Desk)).await
}

const UNWEIGHED: [(&str, &str); 3] = [
    ("refrigerant", "R-134a"),
    ("cylinder", "C-01"),
    ("unweighed", "yes"),
];

#[tokio::test]
async fn a_charge_that_was_not_weighed_is_not_called_weighed() {
    let mut shop = with_order().await;
    kept(&mut shop, "charging", "09:00", &UNWEIGHED).await;
    let report = shop.browser.get("/orders/412/report").await.body;
    assert!(
        report.contains("charged, not weighed") && !report.contains("charged by weight"),
        "{report}"
    );
    let cans = [
        ("refrigerant", "R-134a"),
        ("can1", "340"),
        ("left1", "12"),
        ("mass_unit", "g"),
    ];
    kept(&mut shop, "charging", "09:30", &cans).await;
    let report = shop.browser.get("/orders/412/report").await.body;
    assert!(
        report.contains("charged, not weighed; charged by weight."),
        "{report}"
    );
}

const DRIER: [(&str, &str); 3] = [
    ("role", "receiver-drier"),
    ("source", "new"),
    ("fitted", "yes"),
];

/// A part goes beyond what is authorised as soon as it is in: with nothing authorised, and with a sum to which no line belongs.
#[tokio::test]
async fn a_part_without_a_line_is_told_at_once() {
    let mut shop = with_order().await;
    // The car's own part, and one that the customer brought, cost nothing.
    for source in ["refitted", "customers-own"] {
        kept(
            &mut shop,
            "parts",
            "08:00",
            &[("role", "hose"), ("source", source), ("fitted", "yes")],
        )
        .await;
    }
    for page in ["/orders/412", "/orders/412/bench"] {
        assert!(
            !shop.browser.get(page).await.body.contains("art was fitted"),
            "{page}"
        );
    }
    kept(&mut shop, "parts", "08:05", &DRIER).await;
    for page in ["/orders/412", "/orders/412/bench", "/orders/412/estimate"] {
        let body = shop.browser.get(page).await.body;
        assert!(body.contains("A part was fitted and nothing is authorised yet. Get authorisation before continuing."), "{page}: {body}");
    }
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
    for page in ["/orders/412", "/orders/412/bench"] {
        assert!(
            shop.browser
                .get(page)
                .await
                .body
                .contains("A fitted part is not on the estimate."),
            "{page}"
        );
    }
    line(
        &mut shop,
        "part",
        "new",
        "Receiver-drier",
        "1",
        "pieces",
        "42",
    )
    .await;
    assert!(
        !shop
            .browser
            .get("/orders/412")
            .await
            .body
            .contains("fitted part is not on")
    );
}

/// What the owner sent back stands first, also while nothing is authorised and a part is awaited.
#[tokio::test]
async fn what_was_sent_back_stands_on_today_whatever_else_is_awaited() {
    let mut shop = scenario().await;
    decide(&mut shop, "charge-mismatch", "back", "Add what is missing.").await;
    let ordered = [
        ("kind", "part"),
        ("source", "new"),
        ("says", "Expansion valve"),
        ("quantity", "1"),
        ("unit", "pieces"),
        ("price", "40"),
        ("tax", "10"),
        ("ordered_on", "2026-05-12"),
    ];
    assert_eq!(
        shop.browser
            .post("/orders/412/estimate/lines", &ordered)
            .await
            .status,
        StatusCode::SEE_OTHER
    );
    for authorised in [false, true] {
        if authorised {
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
        }
        let today = shop.browser.get("/").await.body;
        assert!(
            today.contains("Add what is missing.")
                && today.contains("/orders/412/why/charge-mismatch/charging"),
            "{authorised}: {today}"
        );
    }
}

/// A VIN is judged while it is typed and told on the order; it is never refused.
#[tokio::test]
async fn a_wrong_vin_is_told_and_taken() {
    let mut shop = Shop::begun().await;
    for (typed, says) in [
        ("1G4AH59H45G118331", "The check digit does not match."),
        ("1g4ah59h45g118341", ""),
        ("1G4AH 59H45 G118341", ""),
        ("1G4AH59H4", "A VIN has 17 characters."),
        ("1O4AH59H45G118341", "A VIN has no I, O or Q"),
        ("", ""),
    ] {
        let told = shop
            .browser
            .get(&format!("/vin?v={}", typed.replace(' ', "%20")))
            .await;
        assert!(
            told.status == StatusCode::OK
                && told.body.starts_with(says)
                && told.body.is_empty() == says.is_empty(),
            "{typed}: {told:?}"
        );
    }
    let with = |vin: &'static str| INTAKE.into_iter().chain([("vin", vin)]).collect::<Vec<_>>();
    assert_eq!(
        shop.browser
            .post("/intake", &with("1G4AH59H45G118331"))
            .await
            .location,
        "/orders/412"
    );
    assert!(
        shop.browser
            .get("/orders/412")
            .await
            .body
            .contains("1G4AH59H45G118331 <span class=\"s\">The check digit does not match.")
    );
    assert_eq!(
        shop.browser
            .post("/intake", &with("1G4AH59H45G118341"))
            .await
            .location,
        "/orders/413"
    );
    assert!(
        !shop
            .browser
            .get("/orders/413")
            .await
            .body
            .contains("check digit")
    );
}

/// The last charge is corrected where the other details are; what was lost follows it.
#[tokio::test]
async fn the_last_charge_can_be_corrected() {
    let mut shop = with_order().await;
    let address = "/orders/412/previous-charge";
    let empty = shop.browser.post(address, &[]).await;
    assert!(
        empty.status == StatusCode::UNPROCESSABLE_ENTITY
            && empty.body.contains("Enter the date, the charge, or both."),
        "{}",
        empty.body
    );
    let wrong = shop
        .browser
        .post(
            address,
            &[("previous_on", "2026-05-13"), ("previous_mass", "-3")],
        )
        .await;
    for says in [
        "That date is in the future.",
        "Enter zero or more.",
        "value=\"-3\"",
        "value=\"2026-05-13\"",
    ] {
        assert!(wrong.body.contains(says), "{says}: {}", wrong.body);
    }
    let entered = shop
        .browser
        .post(
            address,
            &[("previous_on", "2024-03-11"), ("previous_mass", "600")],
        )
        .await;
    assert_eq!(entered.location, "/orders/412?kept=1", "{}", entered.body);
    let details = shop.browser.get("/orders/412/details").await.body;
    assert!(
        details.contains("value=\"2024-03-11\"") && details.contains("value=\"600\""),
        "{details}"
    );
    let corrected = [
        ("previous_on", "2024-03-11"),
        ("previous_mass", "560"),
        ("seen", "1"),
    ];
    assert_eq!(
        shop.browser.post(address, &corrected).await.status,
        StatusCode::SEE_OTHER
    );
    let record = shop.browser.get("/orders/412/record.json").await.body;
    assert!(
        record.contains("\"mass\": \"560 g\"")
            && record.contains("\"at\": \"2024-03-11T12:00:00Z\""),
        "{record}"
    );
    let late = shop.browser.post(address, &corrected).await;
    assert!(
        late.status == StatusCode::CONFLICT && late.body.contains("Somebody else changed this"),
        "{}",
        late.body
    );
    assert_eq!(
        shop.browser
            .post(address, &[("previous_on", ""), ("previous_mass", "")])
            .await
            .status,
        StatusCode::SEE_OTHER
    );
    assert!(
        !shop
            .browser
            .get("/orders/412/record.json")
            .await
            .body
            .contains("previous_charge")
    );
}

/// A part that is found out to be used only by a correction gets its tag then, and keeps that one.
#[tokio::test]
async fn a_part_corrected_to_used_gets_its_tag() {
    let mut shop = with_order().await;
    kept(
        &mut shop,
        "parts",
        "08:05",
        &[("role", "condenser"), ("source", "new"), ("fitted", "yes")],
    )
    .await;
    assert!(!shop.browser.get("/parts").await.body.contains("condenser"));
    let used = |seen: &'static str, stock: &'static str| {
        let yard = [
            ("yard_other", "Sallow Yard"),
            ("vehicle", "2011 Tarn Vela"),
            ("receipt", "77"),
            ("pulled_on", "2026-05-01"),
            ("ports", "capped"),
        ];
        let part = [
            ("piece", "p1"),
            ("seen", seen),
            ("role", "condenser"),
            ("source", "salvaged"),
            ("fitted", "yes"),
            ("stock", stock),
        ];
        part.into_iter().chain(yard).collect::<Vec<_>>()
    };
    kept(&mut shop, "parts", "08:05", &used("1", "X-2")).await;
    let tag = shop.browser.get("/parts/1").await.body;
    assert!(
        shop.browser.get("/parts").await.body.contains("condenser")
            && tag.contains("Sallow Yard")
            && tag.contains("X-2"),
        "{tag}"
    );
    kept(&mut shop, "parts", "08:05", &used("2", "X-3")).await;
    assert!(shop.browser.get("/parts/1").await.body.contains("X-3"));
    assert_eq!(
        shop.browser.get("/parts/2").await.status,
        StatusCode::NOT_FOUND
    );
}

/// Whoever enters nothing at the bench is led from the ring to the sheet, and so is everybody once the order is closed.
#[tokio::test]
async fn the_ring_leads_where_one_may_go() {
    let mut shop = scenario().await;
    let ring = |page: &str| {
        page.split("<svg")
            .nth(1)
            .and_then(|s| s.split("</svg>").next())
            .expect("a ring")
            .to_owned()
    };
    assert!(
        ring(&shop.browser.get("/orders/412").await.body)
            .contains("href=\"/orders/412/bench/seals\"")
    );
    let mut desk = desk(&shop).await;
    let seen = desk.get("/orders/412").await.body;
    let out = [
        ("way", "partly-repaired"),
        ("sentence", "The customer stopped the work."),
    ];
    assert_eq!(
        shop.browser
            .post("/orders/412/handover", &out)
            .await
            .location,
        "/orders/412/report"
    );
    let closed = shop.browser.get("/orders/412").await.body;
    for page in [seen, closed] {
        assert!(!ring(&page).contains("/bench/"), "{page}");
        let anchors: Vec<String> = ring(&page)
            .split("href=\"/orders/412#")
            .skip(1)
            .filter_map(|s| Some(s.split('"').next()?.to_owned()))
            .collect();
        assert!(anchors.len() > 8, "{anchors:?}");
        for anchor in anchors {
            assert!(page.contains(&format!("id=\"{anchor}\"")), "{anchor}");
        }
    }
}

/// Declined is declined on that day, whatever else is changed of the line later.
#[tokio::test]
async fn declined_work_keeps_its_date() {
    let mut shop = Shop::begun().await;
    intake(&mut shop).await;
    line(
        &mut shop,
        "labour",
        "",
        "Condenser out and in",
        "3",
        "h",
        "56",
    )
    .await;
    let page = shop.browser.get("/orders/412/estimate").await.body;
    let id = page
        .split("?line=")
        .nth(1)
        .and_then(|s| s.split(['"', '&', '#']).next())
        .expect("a line")
        .to_owned();
    let change = |version: &'static str, hours: &'static str, declined: bool| {
        let mut fields = vec![
            ("line", id.clone()),
            ("version", version.to_owned()),
            ("quantity", hours.to_owned()),
        ];
        for (k, v) in [
            ("kind", "labour"),
            ("says", "Condenser out and in"),
            ("unit", "h"),
            ("price", "56"),
            ("tax", "10"),
        ] {
            fields.push((k, v.to_owned()));
        }
        fields.push(("declined", if declined { "yes" } else { "" }.to_owned()));
        fields
    };
    for (version, hours, declined, days, says) in [
        ("1", "3", true, 0, Some("declined 12 May 2026")),
        ("2", "4", true, 3, Some("declined 12 May 2026")),
        ("3", "4", false, 0, None),
        ("4", "4", true, 0, Some("declined 15 May 2026")),
    ] {
        // A session ends after hours; the day is what counts here.
        for _ in 0..days * 4 {
            shop.minutes_pass(360);
            shop.browser.get("/").await;
        }
        let fields = change(version, hours, declined);
        let fields: Vec<(&str, &str)> = fields.iter().map(|(k, v)| (*k, v.as_str())).collect();
        let answer = shop
            .browser
            .post("/orders/412/estimate/lines", &fields)
            .await;
        assert_eq!(
            answer.status,
            StatusCode::SEE_OTHER,
            "{version}: {}",
            answer.body
        );
        let page = shop.browser.get("/orders/412/estimate").await.body;
        assert!(
            says.map_or(!page.contains("declined 1"), |says| page.contains(says)),
            "{version}: {page}"
        );
    }
}

/// On a car that leaves otherwise than repaired each thing is told in one place.
#[tokio::test]
async fn the_report_tells_each_thing_once() {
    let mut shop = waits_for_the_owner().await;
    for code in ["charge-mismatch", "improvised-fixing"] {
        decide(&mut shop, code, "accept", "It will do.").await;
    }
    let out = [
        ("way", "partly-repaired"),
        ("sentence", "The customer stopped the work."),
        ("look_again_on", "2026-11-12"),
    ];
    assert_eq!(
        shop.browser
            .post("/orders/412/handover", &out)
            .await
            .location,
        "/orders/412/report"
    );
    let report = shop.browser.get("/orders/412/report").await.body;
    let section = |id: &str| {
        report
            .split(&format!("aria-labelledby=\"{id}\""))
            .nth(1)
            .and_then(|s| s.split("</section>").next())
            .unwrap_or_default()
    };
    let open = section("open");
    assert_eq!(
        open.matches("<li>").count(),
        2,
        "evacuation and hold: {open}"
    );
    assert!(
        !open.contains("improvised") && !open.contains("25 g") && section("acc").contains("25 g"),
        "{open}"
    );
    assert_eq!(report.matches("case, lower left").count(), 1, "{report}");
    assert!(section("fix").contains("It will do.") && !section("acc").contains("improvised"));
}

/// Order and plate stand on every side that is printed: in a head that the browser repeats.
#[tokio::test]
async fn papers_carry_order_and_plate() {
    let mut shop = scenario().await;
    let part = [
        ("kind", "labour"),
        ("says", "Diagnosis"),
        ("quantity", "1"),
        ("unit", "pieces"),
        ("price", "35"),
        ("tax", "10"),
    ];
    shop.browser.post("/orders/412/estimate/lines", &part).await;
    for (page, name) in [
        ("/orders/412/report", "Report"),
        ("/orders/412/invoice", "Invoice"),
        ("/orders/412/estimate/print", "Estimate"),
        ("/orders/412/card", "Order sheet"),
    ] {
        let body = shop.browser.get(page).await.body;
        assert!(body.contains(&format!("<div class=\"running\"><p>Hask &#38; Marlow · {name} · Order 412 · KD 41 TVL</p></div>")), "{page}: {body}");
    }
    let css = shop.browser.get("/static/print.css").await.body;
    let css = css.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        css.contains(".running { display: table-header-group; break-inside: avoid"),
        "{css}"
    );
}

/// Who came to a tablet and who left it stands in the audit chain, by ids alone.
#[tokio::test]
async fn signing_in_and_out_is_on_the_chain() {
    let mut shop = Shop::begun().await;
    let who = person(&shop).await.to_string();
    shop.browser.post("/sign-out", &[]).await;
    assert_eq!(
        shop.browser
            .post("/sign-in", &[("person", &who), ("pin", "000222")])
            .await
            .status,
        StatusCode::UNPROCESSABLE_ENTITY
    );
    assert_eq!(
        shop.browser
            .post("/sign-in", &[("person", &who), ("pin", PIN), ("back", "/")])
            .await
            .location,
        "/"
    );
    shop.browser.post("/sign-out", &[]).await;
    // A session that ended already ends no second time.
    shop.browser.post_raw("/sign-out", &[]).await;
    let mut conn = shop.app.store.read().await.expect("a connection");
    let chain = "SELECT kind, person IS NOT NULL AND device IS NOT NULL, content FROM audit_entry WHERE kind LIKE 'signed-%' ORDER BY seq";
    let rows = sqlx::raw_sql(chain)
        .fetch_all(&mut *conn)
        .await
        .expect("entries");
    let kinds: Vec<String> = rows.iter().map(|r| r.get(0)).collect();
    assert_eq!(kinds, ["signed-out", "signed-in", "signed-out"]);
    for row in &rows {
        assert_eq!(
            (row.get::<bool, _>(1), row.get::<String, _>(2)),
            (true, "{}".into())
        );
    }
    chillwright::store::audit::verify(&mut conn)
        .await
        .expect("a whole chain");
}

/// The same form with other content, away from the bench: what was kept first stands beside what is typed now, which is kept nowhere yet.
#[tokio::test]
async fn what_was_kept_first_is_shown_beside_what_is_typed() {
    let mut shop = Shop::begun().await;
    let deed = |n: u8| {
        (
            "deed".to_owned(),
            format!("01890a5d-ac96-774b-bcce-b302099a80{n:02}"),
        )
    };
    let intake: Vec<(&str, &str)> = INTAKE.to_vec();
    let labour = [
        ("kind", "labour"),
        ("says", "Dismantling"),
        ("quantity", "1"),
        ("unit", "h"),
        ("price", "56"),
        ("tax", "10"),
    ];
    let allowed = [
        ("amount", "500"),
        ("given_by", "Odile Brandt"),
        ("how", "telephone"),
    ];
    let paid = [("kind", "deposit"), ("amount", "100"), ("how", "cash")];
    let ines = [
        ("name", "Ines Marlow"),
        ("roles", "technician"),
        ("pin", "715902"),
    ];
    let details = [
        ("complaint", "Warm air since spring."),
        ("keys", "on hook 3"),
        ("version", "1"),
    ];
    let label = [
        ("refrigerant", "R-134a"),
        ("charge", "550"),
        ("charge_unit", "g"),
        ("tolerance", "25"),
        ("seen", "1"),
    ];
    // Where it is sent, what is typed, which field says what else the second time, and what is told of the first.
    type Case<'a> = (&'a str, &'a [(&'a str, &'a str)], &'a str, &'a str, &'a str);
    let cases: [Case<'_>; 8] = [
        (
            "/intake",
            &intake,
            "complaint",
            "It smells of oil.",
            "order 412, KD 41 TVL Tarn Vela 1.4, for Odile Brandt: “Warm air since spring.”",
        ),
        (
            "/orders/412/estimate/lines",
            &labour,
            "price",
            "65",
            "line added: Dismantling 1 h 56.00. To correct it instead of adding to it, change it on the estimate of order 412.",
        ),
        (
            "/orders/412/authorisations",
            &allowed,
            "amount",
            "600",
            "work authorised: EUR 500.00 with tax, by Odile Brandt, by phone",
        ),
        (
            "/orders/412/payments",
            &paid,
            "amount",
            "120",
            "payment taken: Deposit in cash 12 May 2026: 100.00",
        ),
        (
            "/orders/412/notes",
            &[("says", "The key sticks.")],
            "says",
            "The lock sticks.",
            "note added: “The key sticks.”",
        ),
        (
            "/orders/412/details",
            &details,
            "keys",
            "on hook 4",
            "order changed: complaint “Warm air since spring.”, keys on hook 3. To correct it",
        ),
        (
            "/orders/412/label",
            &label,
            "charge",
            "560",
            "label corrected: R-134a, 550 g ± 25 g. To correct it",
        ),
        (
            "/shop/people",
            &ines,
            "name",
            "Tomas Quill",
            "person added: Ines Marlow, technician",
        ),
    ];
    for (n, (path, fields, changed, to, first)) in cases.into_iter().enumerate() {
        let id = deed(n as u8);
        let mut fields: Vec<(&str, &str)> = fields.to_vec();
        fields.push((&id.0, &id.1));
        let kept = shop.browser.post(path, &fields).await;
        assert_eq!(kept.status, StatusCode::SEE_OTHER, "{path}: {}", kept.body);
        fields.retain(|f| f.0 != changed);
        fields.push((changed, to));
        let conflict = shop.browser.post(path, &fields).await;
        assert_eq!(conflict.status, StatusCode::CONFLICT, "{path}");
        for says in ["Saved first, 12 May 2026", first, to] {
            assert!(
                conflict.body.contains(says),
                "{path}: {says}\n{}",
                conflict.body
            );
        }
        assert!(
            !conflict.body.contains(&id.1),
            "{path}: the next sending is a deed of its own"
        );
    }
}
