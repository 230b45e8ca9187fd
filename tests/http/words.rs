//! What people read: entries in words, cautions above the button, limits as people write them, money that is owed back, a report that is closed.
use super::{
    job::{kept, reading, task, with_order},
    kit::{Browser, Shop},
    money::{INTAKE, line},
};
use axum::http::StatusCode;
use chillwright::web::bench::cautions::{Drive, caution};

/// A task, what is typed into its form, and how the entry is told then.
type Told = (
    &'static str,
    &'static [(&'static str, &'static str)],
    &'static str,
);

/// Every task with every field of its form, and how the list under it tells the entry.
const TOLD: &[Told] = &[
    (
        "standing",
        &[
            ("pressure", "70"),
            ("unit", "psi"),
            ("ambient", "21"),
            ("cold", "yes"),
        ],
        "06:30: 70 psig, car and air at 21 °C, cold soaked",
    ),
    (
        "standing",
        &[
            ("pressure", "0"),
            ("unit", "kPa"),
            ("ambient", "-4"),
            ("cold", "no"),
        ],
        "06:30: 0 kPa gauge, car and air at −4 °C, not cold soaked",
    ),
    (
        "identification",
        &[
            ("gas", "R-134a"),
            ("share", "99.6"),
            ("air", "0.3"),
            ("sealant", "no"),
            ("instrument", "I-1"),
        ],
        "06:30: R-134a 99.6 %, air 0.3 %, no sealant found, identifier I-1",
    ),
    (
        "identification",
        &[("gas", "R-12"), ("share", "80"), ("sealant", "yes")],
        "06:30: R-12 80 %, leak sealant found",
    ),
    (
        "isolation",
        &[("waited", "10"), ("measured", "0")],
        "06:30: waited 10 min, 0 V between HV+ and HV−, isolated",
    ),
    (
        "isolation",
        &[("waited", "0"), ("measured", "400")],
        "06:30: waited 0 s, 400 V between HV+ and HV−, NOT isolated",
    ),
    (
        "recovery",
        &[
            ("cylinder", "C-03"),
            ("refrigerant", "R-134a"),
            ("before", "11.20"),
            ("after", "11.58"),
            ("mass_unit", "kg"),
            ("scale", "S-1"),
            ("oil", "10"),
        ],
        "06:30: R-134a into cylinder C-03, cylinder 11.20 kg before, 11.58 kg after, 10 mL of oil recovered, scale S-1 (5 g)",
    ),
    (
        "recovery",
        &[("open_since", "2026-05-01")],
        "open since 1 May 2026",
    ),
    (
        "leaks",
        &[
            ("place", "evaporator core"),
            ("found_by", "dye"),
            ("repaired", "2026-05-12T07:00"),
        ],
        "06:30: evaporator core, found by dye, repaired 07:00",
    ),
    (
        "leaks",
        &[("place", "hose"), ("found_by", "looking")],
        "06:30: hose, found by visual inspection, not repaired",
    ),
    (
        "joints",
        &[
            ("joints", "new:drier inlet"),
            ("other", "left hose"),
            ("type", "block"),
        ],
        "06:30: drier inlet: opened",
    ),
    (
        "parts",
        &[
            ("role", "evaporator"),
            ("source", "salvaged"),
            ("fitted", "yes"),
            ("joints", "j1"),
            ("other_joint", ""),
            ("desiccant", "no"),
            ("desiccant_renewed", "no"),
            ("ports", "capped"),
            ("oil_drained", "20"),
            ("oil_added", "30"),
            ("yard", ""),
            ("yard_other", "Northfell Dismantlers"),
            ("vehicle", "2010 Tarn Vela"),
            ("vin", "11111111111111111"),
            ("stock", "N-20417"),
            ("pulled_on", "2026-05-04"),
            ("receipt", "5531"),
            ("desiccant_since", ""),
        ],
        "06:30: used evaporator, fitted, no desiccant, desiccant not renewed, ports capped on arrival, 20 mL of oil drained from the old part, \
         30 mL of oil put in, from a 2010 Tarn Vela, VIN 11111111111111111, yard Northfell Dismantlers, stock no. N-20417, pulled 4 May 2026, \
         receipt 5531, joints: drier inlet (1)",
    ),
    (
        "parts",
        &[
            ("role", "receiver-drier"),
            ("source", "new"),
            ("fitted", "no"),
            ("desiccant", "yes"),
            ("ports", "unknown"),
        ],
        "new receiver-drier, not fitted yet, contains desiccant, ports on arrival not known",
    ),
    (
        "parts",
        &[("desiccant_since", "2024-06-01")],
        "desiccant last renewed 1 Jun 2024",
    ),
    (
        "seals",
        &[
            ("seal.j1.state", "new"),
            ("lubricant", "mineral oil"),
            ("lubricant_other", ""),
            ("torque", "10"),
            ("part", ""),
        ],
        "06:30: drier inlet: new seal, lubricant mineral oil",
    ),
    (
        "seals",
        &[("seal.j1.state", "donor")],
        "06:30: drier inlet: seal sound, refitted, came with the used part",
    ),
    (
        "seals",
        &[("seal.j1.state", "not"), ("seal.j1.condition", "nicked")],
        "06:30: drier inlet: seal nicked, not renewed",
    ),
    (
        "fixings",
        &[
            ("part", "p1"),
            ("place", "case, lower left"),
            ("kind", "improvised"),
            ("note", "clip nut"),
            ("look_again_on", "2026-11-12"),
        ],
        "case, lower left, improvised fixing, on used evaporator, clip nut, recheck by 12 Nov 2026",
    ),
    (
        "flush",
        &[
            ("section", "whole circuit"),
            ("section_other", ""),
            ("how", "filtered"),
            ("failed", ""),
        ],
        "06:30: whole circuit: in-line filter fitted",
    ),
    (
        "oil",
        &[("type", "PAG 46"), ("volume", "15")],
        "06:30: 15 mL of PAG 46",
    ),
    (
        "evacuation",
        &[("gauge", "G-1"), ("metal", "22")],
        "06:30: gauge G-1 (0.5 inHg), coldest metal 22 °C, running",
    ),
    (
        "hold",
        &[("kind", "vacuum"), ("gas", ""), ("gauge", "G-1")],
        "06:30: vacuum hold, gauge G-1 (0.5 inHg), running",
    ),
    (
        "hold",
        &[("kind", "pressure"), ("gas", "nitrogen"), ("gauge", "G-1")],
        "06:30: pressure hold with dry nitrogen, gauge G-1 (0.5 inHg), running",
    ),
    (
        "hold",
        &[("kind", "pressure"), ("gas", "air"), ("gauge", "G-1")],
        "06:30: pressure hold with compressed air, gauge G-1 (0.5 inHg), running",
    ),
    ("gas", &[("gas", "nitrogen")], "06:30: dry nitrogen let in"),
    (
        "charging",
        &[
            ("refrigerant", "R-134a"),
            ("cylinder", "C-01"),
            ("before", "9.845"),
            ("after", "9.240"),
            ("hose", "0.01"),
            ("mass_unit", "kg"),
            ("scale", "S-1"),
            ("can1", ""),
            ("left1", ""),
            ("can2", ""),
            ("left2", ""),
            ("can3", ""),
            ("left3", ""),
            ("unweighed", ""),
        ],
        "06:30: R-134a from cylinder C-01, cylinder 9.845 kg before, 9.240 kg after, 0.01 kg left in hose, scale S-1 (5 g)",
    ),
    (
        "charging",
        &[
            ("refrigerant", "R-134a"),
            ("mass_unit", "g"),
            ("can1", "340"),
            ("left1", "12"),
            ("can2", "340"),
            ("left2", "0"),
        ],
        "06:30: R-134a, cans: 340 g less 12 g left in it; 340 g less 0 g left in it",
    ),
    (
        "charging",
        &[
            ("refrigerant", "R-134a"),
            ("before", "2000"),
            ("after", "1400"),
            ("mass_unit", "g"),
            ("hose_length", "1.8"),
            ("hose_bore", "4.8"),
            ("hose_state", "liquid"),
        ],
        "06:30: R-134a, cylinder 2000 g before, 1400 g after, hose 1.8 m long, 4.8 mm bore, filled with liquid",
    ),
    (
        "charging",
        &[("refrigerant", "R-134a"), ("unweighed", "yes")],
        "06:30: R-134a, not weighed",
    ),
    (
        "performance",
        &[
            ("ambient", "27"),
            ("humidity", "50"),
            ("low", "32"),
            ("high", "190"),
            ("unit", "psi"),
            ("vent", "7"),
            ("suction", "8"),
            ("liquid", "40"),
            ("froze", "30"),
            ("engine", "1500"),
            ("blower", "high"),
            ("recirculation", "yes"),
            ("doors", "no"),
            ("omitted", ""),
        ],
        "06:30: low side 32 psig, high side 190 psig, outside air 27 °C, 50 % relative humidity, vent air 7 °C, suction line 8 °C, liquid line 40 °C, \
         low side below freezing for 30 s, 1500 rpm, blower high, recirculation on, doors and windows closed",
    ),
    (
        "performance",
        &[("omitted", "4 °C outside, too cold")],
        "not measured: 4 °C outside, too cold",
    ),
    (
        "checks",
        &[
            ("method", "electronic"),
            ("instrument", "D-1"),
            ("sensitivity", "4"),
            ("proved", "reference leak"),
            ("places", "j1"),
            ("other_places", "condenser"),
            ("found", ""),
            ("other_found", ""),
        ],
        "06:30: electronic check, shows 4 g/year, proved on a reference leak that day, checked: drier inlet (1); condenser, no leak found",
    ),
    (
        "checks",
        &[("method", "bubbles"), ("proved", "none"), ("found", "j1")],
        "06:30: bubbles check, not proved that day, checked: drier inlet (1), leak found at: drier inlet (1)",
    ),
    (
        "ports",
        &[
            ("low.cap", "yes"),
            ("low.core", "tight"),
            ("high.cap", "no"),
            ("high.core", "leaks"),
        ],
        "low side: cap on, core tight",
    ),
];

/// The shop with an instrument of each kind that a form asks for, and cylinders.
async fn equipped() -> Shop {
    let mut shop = with_order().await;
    let tools = [
        ("S-1", "scale", "g", "5", ""),
        ("D-1", "detector", "", "", "4"),
        ("I-1", "identifier", "", "", ""),
    ];
    for (mark, kind, unit, resolution, sensitivity) in tools {
        let fields = [
            ("mark", mark),
            ("kind", kind),
            ("unit", unit),
            ("resolution", resolution),
            ("sensitivity", sensitivity),
        ];
        assert_eq!(
            shop.browser.post("/shop/instruments", &fields).await.status,
            StatusCode::SEE_OTHER,
            "{mark}"
        );
    }
    for (mark, purpose) in [("C-01", "charge"), ("C-03", "recovery")] {
        let fields = [
            ("mark", mark),
            ("refrigerant", "R-134a"),
            ("purpose", purpose),
        ];
        assert_eq!(
            shop.browser.post("/shop/cylinders", &fields).await.status,
            StatusCode::SEE_OTHER,
            "{mark}"
        );
    }
    shop
}

/// The items of the list under a task's form, less the links behind them.
fn entries(page: &str) -> Vec<String> {
    let list = page.split("<h2>On record</h2>").nth(1).unwrap_or_default();
    let items = list.split("<li>").skip(1).map(|item| {
        item.split("<div class=\"also\">")
            .next()
            .unwrap_or_default()
    });
    items
        .map(|item| {
            item.split(" <span class=\"s nb\">")
                .next()
                .unwrap_or_default()
                .trim()
                .to_owned()
        })
        .collect()
}

/// Names of the fields of a task's form that a person fills in.
fn asked(page: &str, action: &str) -> Vec<String> {
    let form = page
        .split(&format!("<form action=\"{action}\" method=\"post\""))
        .nth(1)
        .and_then(|f| f.split("</form>").next())
        .unwrap_or_default();
    let names = form
        .split(" name=\"")
        .skip(1)
        .filter_map(|f| f.split('"').next());
    let ours = ["deed", "units", "by", "at", "about", "piece", "seen"];
    names
        .filter(|n| !ours.contains(n) && !n.contains("__place__") && !n.contains(".new:"))
        .map(str::to_owned)
        .collect()
}

#[tokio::test]
async fn every_entry_is_told_in_words_with_all_its_form_asks() {
    let mut shop = equipped().await;
    let mut filled: Vec<String> = Vec::new();
    for (word, fields, says) in TOLD {
        let action = format!("/orders/412/bench/{word}");
        let page = shop.browser.get(&action).await.body;
        if !filled.iter().any(|w| w == word) {
            filled.push((*word).to_owned());
            for name in asked(&page, &action) {
                let known = TOLD
                    .iter()
                    .filter(|t| t.0 == *word)
                    .flat_map(|t| t.1)
                    .any(|f| f.0 == name)
                    || name.starts_with("seal.j2");
                assert!(
                    known,
                    "{word}: nothing is typed into “{name}”: say here how it is told"
                );
            }
        }
        let typed: Vec<(&str, &str)> = fields.iter().copied().filter(|f| !f.1.is_empty()).collect();
        // What has no time of its own is not told with one.
        let clock = if page.contains(" name=\"at\"") {
            "06:30"
        } else {
            ""
        };
        kept(&mut shop, word, clock, &typed).await;
        let told = entries(&shop.browser.get(&action).await.body);
        assert!(
            told.iter().any(|t| t == says),
            "{word}: “{says}” is not in\n{told:#?}"
        );
        for entry in &told {
            for raw in [
                "_",
                "degC",
                "degF",
                "psi gauge",
                "g/yr",
                "PT",
                "+00:00",
                "00Z",
                " id ",
                "salvaged",
                "customers-own",
                ": true",
                ": false",
            ] {
                assert!(!entry.contains(raw), "{word}: {raw:?} in {entry}");
            }
        }
        for hold in ["e1", "h1", "h2", "h3"] {
            let running = shop
                .browser
                .get(&format!("/orders/412/holds/{hold}"))
                .await
                .body
                .contains(&format!("/holds/{hold}/end\""));
            if running {
                shop.browser
                    .post(
                        &format!("/orders/412/holds/{hold}/end"),
                        &[("ended", "2026-05-12T06:50")],
                    )
                    .await;
            }
        }
    }
    let all = [
        "standing",
        "identification",
        "isolation",
        "recovery",
        "leaks",
        "joints",
        "parts",
        "seals",
        "fixings",
        "flush",
        "oil",
        "evacuation",
        "hold",
        "gas",
        "charging",
        "performance",
        "checks",
        "ports",
    ];
    assert_eq!(filled, all, "each task once");
    for (word, says) in [
        (
            "evacuation",
            "06:30: gauge G-1 (0.5 inHg), coldest metal 22 °C, finished 06:50",
        ),
        (
            "hold",
            "06:30: vacuum hold, gauge G-1 (0.5 inHg), finished 06:50",
        ),
    ] {
        let told = entries(
            &shop
                .browser
                .get(&format!("/orders/412/bench/{word}"))
                .await
                .body,
        );
        assert!(told.iter().any(|t| t == says), "{told:#?}");
    }
    assert!(
        entries(&shop.browser.get("/orders/412/bench/ports").await.body)
            .iter()
            .any(|t| t == "high side: no cap, core leaks")
    );
}

/// Opens an order for a car with this refrigerant and drive.
async fn car(browser: &mut Browser, refrigerant: &str, drive: &str, number: i64) {
    let mut fields: Vec<(&str, &str)> = INTAKE
        .iter()
        .copied()
        .filter(|f| !matches!(f.0, "refrigerant" | "compressor_drive" | "plate"))
        .collect();
    let plate = format!("LM 20 A{number}");
    fields.extend([
        ("plate", plate.as_str()),
        ("refrigerant", refrigerant),
        ("compressor_drive", drive),
    ]);
    let answer = browser.post("/intake", &fields).await;
    assert_eq!(
        answer.location,
        format!("/orders/{number}"),
        "{}",
        answer.body
    );
}

#[tokio::test]
async fn cautions_stand_above_the_button_of_their_task() {
    let mut shop = equipped().await;
    car(&mut shop.browser, "R-1234yf", "electric", 413).await;
    car(&mut shop.browser, "R-744", "belt", 414).await;
    let tasks = [
        "standing",
        "identification",
        "isolation",
        "recovery",
        "leaks",
        "joints",
        "parts",
        "seals",
        "fixings",
        "flush",
        "oil",
        "evacuation",
        "hold",
        "gas",
        "charging",
        "performance",
        "checks",
        "ports",
    ];
    for (number, refrigerant, drive) in [
        (412, "R-134a", "belt"),
        (413, "R-1234yf", "electric"),
        (414, "R-744", "belt"),
    ] {
        for task in tasks {
            let page = shop
                .browser
                .get(&format!("/orders/{number}/bench/{task}"))
                .await
                .body;
            stand_above(
                &page,
                task,
                refrigerant,
                drive,
                "class=\"btn main\" type=\"submit\"",
            );
        }
        let volume = shop
            .browser
            .get(&format!("/orders/{number}/volume"))
            .await
            .body;
        stand_above(&volume, "volume", refrigerant, drive, "id=\"reckon\"");
        for (task, fields, name) in [
            (
                "evacuation",
                [
                    ("gauge", "G-1"),
                    ("metal", "22"),
                    ("at", "2026-05-12T09:00"),
                ],
                "evacuation",
            ),
            (
                "hold",
                [
                    ("kind", "vacuum"),
                    ("gauge", "G-1"),
                    ("at", "2026-05-12T09:50"),
                ],
                "vacuum hold",
            ),
            (
                "hold",
                [
                    ("kind", "pressure"),
                    ("gauge", "G-1"),
                    ("at", "2026-05-12T10:10"),
                ],
                "pressure hold",
            ),
        ] {
            let answer = shop
                .browser
                .post(&format!("/orders/{number}/bench/{task}"), &fields)
                .await;
            assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.body);
            let page = shop.browser.get(&answer.location).await.body;
            stand_above(
                &page,
                name,
                refrigerant,
                drive,
                "class=\"btn main\" type=\"submit\"",
            );
        }
    }
}

fn stand_above(page: &str, task: &str, refrigerant: &str, drive: &str, button: &str) {
    let button = page
        .find(button)
        .unwrap_or_else(|| panic!("{task}: no button in {page}"));
    let list = page
        .find("class=\"cautions\"")
        .unwrap_or_else(|| panic!("{task}: no cautions in {page}"));
    let end = list + page[list..].find("</ul>").expect("a list that ends");
    assert!(end < button, "{task}: the cautions stand below the button");
    let told = caution(task, refrigerant, Drive::of(drive));
    let items: Vec<&str> = page[list..end]
        .split("<li>")
        .skip(1)
        .filter_map(|li| li.split("</li>").next())
        .collect();
    assert_eq!(items, told, "{task}, {refrigerant}");
}

#[tokio::test]
async fn a_measured_high_voltage_is_answered_at_once() {
    let mut shop = equipped().await;
    car(&mut shop.browser, "R-1234yf", "electric", 413).await;
    let page = "/orders/413/bench/isolation";
    let empty = shop
        .browser
        .post(page, &[("waited", "10"), ("measured", "")])
        .await;
    assert!(
        empty.status == StatusCode::UNPROCESSABLE_ENTITY
            && empty.body.contains(
                "Enter the voltage measured. Without it the car does not count as isolated."
            ),
        "{}",
        empty.body
    );
    // UN Regulation No. 100 calls a circuit high voltage above 60 V DC.
    for (volts, clock, isolated) in [
        ("400", "09:00", false),
        ("60.5", "09:10", false),
        ("-400", "09:20", false),
        ("60", "09:30", true),
        ("0", "09:40", true),
    ] {
        let answer = shop
            .browser
            .post(
                page,
                &[
                    ("waited", "10"),
                    ("measured", volts),
                    ("at", &format!("2026-05-12T{clock}")),
                ],
            )
            .await;
        assert_eq!(
            answer.status,
            StatusCode::SEE_OTHER,
            "{volts}: it is evidence: {}",
            answer.body
        );
        let told = shop.browser.get(&answer.location).await.body;
        let not = format!(
            "Not isolated: {} V measured at {clock}, above 60 V DC. Stop.",
            volts.replace('-', "−")
        );
        assert_eq!(told.contains(&not), !isolated, "{volts}: {told}");
        assert_eq!(
            told.contains(&format!(
                "Isolated: {volts} V measured at {clock}, not above 60 V DC."
            )),
            isolated,
            "{volts}: {told}"
        );
        // It stands where the car is touched, too; on no car without high voltage.
        let joints = shop.browser.get("/orders/413/bench/joints").await.body;
        assert_eq!(
            joints.contains("Not isolated: "),
            !isolated,
            "{volts}: {joints}"
        );
    }
    task(
        &mut shop,
        "isolation",
        "09:00",
        &[("waited", "10"), ("measured", "400")],
    )
    .await;
    assert!(
        !shop
            .browser
            .get("/orders/412/bench/joints")
            .await
            .body
            .contains("Not isolated: ")
    );
}

#[tokio::test]
async fn limits_are_shown_and_typed_as_people_write_them() {
    let mut shop = Shop::begun().await;
    let page = shop.browser.get("/shop/limits").await.body;
    for says in [
        "Default: 30 min.",
        "Default: 24 months.",
        "Default: 33.3 %.",
        "Default: 22 °C.",
        "Default: 40 g/year.",
        "Usual practice. Default: 15 min.",
    ] {
        assert!(page.contains(says), "{says}");
    }
    for raw in [
        "PT",
        "P24M",
        "33.33",
        "degC",
        "g/yr",
        "from memory",
        " Practice.",
    ] {
        assert!(!page.contains(raw), "{raw}: {page}");
    }
    let seen = |page: &str| {
        page.split("name=\"seen\" value=\"")
            .nth(1)
            .and_then(|s| s.split('"').next())
            .unwrap_or_default()
            .to_owned()
    };
    for (typed, shown) in [("45 min", "45 min"), ("PT45M", "45 min"), ("1 h", "1 h")] {
        let now = seen(&shop.browser.get("/shop/limits").await.body);
        let answer = shop
            .browser
            .post(
                "/shop/limits",
                &[
                    ("seen", &now),
                    ("evacuation_minimum", typed),
                    ("desiccant_age", "36 months"),
                    ("assumed_temperature", "−5 °C"),
                ],
            )
            .await;
        assert_eq!(
            answer.status,
            StatusCode::SEE_OTHER,
            "{typed}: {}",
            answer.body
        );
        let page = shop.browser.get("/shop/limits").await.body;
        for value in [shown, "36 months", "−5 °C"] {
            assert!(
                page.contains(&format!("value=\"{value}\"")),
                "{typed}: {value}"
            );
        }
        // Sent as it is shown, it stays.
        let again = [
            ("seen", &*seen(&page)),
            ("evacuation_minimum", shown),
            ("desiccant_age", "36 months"),
            ("assumed_temperature", "−5 °C"),
        ];
        assert_eq!(
            shop.browser.post("/shop/limits", &again).await.status,
            StatusCode::SEE_OTHER
        );
    }
    let mut conn = shop.app.store.read().await.expect("a connection");
    let stored = chillwright::store::shop::limits(&mut conn)
        .await
        .expect("limits");
    let text = |key: &str| {
        stored
            .get(key)
            .and_then(|v| v.as_str())
            .unwrap_or_default()
            .to_owned()
    };
    assert_eq!(
        (
            text("evacuation_minimum"),
            text("desiccant_age"),
            text("assumed_temperature")
        ),
        ("PT1H".into(), "P36M".into(), "-5 degC".into())
    );
    drop(conn);
    let refused = shop
        .browser
        .post(
            "/shop/limits",
            &[
                ("evacuation_minimum", "soon"),
                ("assumed_temperature", "warm"),
            ],
        )
        .await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        refused
            .body
            .contains("Enter a time with its unit, for example 30 min, 2 h or 24 months.")
            && refused.body.contains("For example: 22 °C."),
        "{}",
        refused.body
    );
}

#[tokio::test]
async fn what_was_paid_too_much_is_called_overpaid() {
    let mut shop = with_order().await;
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
    let pay = [("kind", "payment"), ("amount", "20"), ("how", "card")];
    for (says, not) in [
        ("Balance due: <b>EUR 26.20</b>", "Overpaid"),
        ("Balance due: <b>EUR 6.20</b>", "Overpaid"),
        ("Overpaid, to refund: <b>EUR 13.80</b>", "Balance due"),
    ] {
        assert_eq!(
            shop.browser.post("/orders/412/payments", &pay).await.status,
            StatusCode::SEE_OTHER
        );
        let page = shop.browser.get("/orders/412/estimate").await.body;
        assert!(
            page.contains(says)
                && !page.contains(not)
                && page.contains("Paid by card 12 May 2026: 20.00"),
            "{says}: {page}"
        );
    }
    let invoice = shop.browser.get("/orders/412/invoice").await.body;
    assert!(
        invoice.contains("Overpaid, to refund</th><td class=\"num\">13.80</td>")
            && !invoice.contains(">-")
            && !invoice.contains("Still to pay"),
        "{invoice}"
    );
}

#[tokio::test]
async fn a_closed_report_says_nothing_of_yet() {
    let mut shop = with_order().await;
    let draft = shop.browser.get("/orders/412/report").await.body;
    assert!(draft.contains("Nothing recorded yet."), "{draft}");
    let fields = [
        ("way", "diagnosed-only"),
        ("sentence", "Diagnosis only. No tests were recorded."),
    ];
    assert_eq!(
        shop.browser
            .post("/orders/412/handover", &fields)
            .await
            .location,
        "/orders/412/report"
    );
    let report = shop.browser.get("/orders/412/report").await.body;
    let leaf = report
        .split("<article")
        .nth(1)
        .and_then(|a| a.split("</article>").next())
        .expect("a report");
    assert!(
        leaf.contains("Handed over: diagnosis only.")
            && leaf.contains("No work was recorded.")
            && leaf.contains("Nothing: no tests were recorded."),
        "{leaf}"
    );
    assert!(!leaf.contains("yet"), "{leaf}");
    assert!(
        leaf.contains("The AC system may be under pressure even with the engine off."),
        "{leaf}"
    );
}

#[tokio::test]
async fn a_hold_asks_for_a_pressure_with_its_reference() {
    let mut shop = with_order().await;
    let hold = kept(
        &mut shop,
        "hold",
        "09:00",
        &[("kind", "vacuum"), ("gauge", "G-1")],
    )
    .await;
    assert!(
        shop.browser
            .get(&hold)
            .await
            .body
            .contains("Gauge reading, inHg vacuum")
    );
    let page = reading(&mut shop, &hold, "09:01", "28", "22").await;
    assert!(
        page.contains("Needle reading, inHg vacuum")
            && page.contains("28 inHg vacuum, metal 22 °C"),
        "{page}"
    );
}
