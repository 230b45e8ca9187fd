//! Every kind of evidence on its whole way: it can be written, it stands in the job record, the bench tells it, and so does paper. A kind that is added does
//! not compile here before somebody says where it is told, or why not.
use super::{job::with_order, kit::Shop};
use axum::http::StatusCode;
use chillwright::{
    shop::{Actor, DeedId, EvidenceId, Instant},
    store::{
        evidence::{self, Kind, Place, Version},
        orders, people,
    },
    work::evidence::{BENCH, Change, Entry, NewPiece, keep},
};
use serde_json::{Value, json};

/// An entry, and where it is told.
struct Sample {
    /// As it is stored; null for what an order has from its beginning.
    body: Value,
    /// The page on which it is entered or read, and words of it there.
    bench: Told,
    /// The report, or the sheet of the order's page.
    paper: Told,
}

enum Told {
    On(&'static str, &'static str),
    /// Deliberately nowhere, and why.
    Not(&'static str),
}
use Told::{Not, On};

const REPORT: &str = "/report";
const ORDER: &str = "";

fn sample(kind: Kind) -> Sample {
    let (body, bench, paper) = match kind {
        Kind::Site => (
            Value::Null,
            Not("where the shop stands is set once, under Shop"),
            Not("figures rest on it; the report prints the barometer of each test"),
        ),
        Kind::System => (
            Value::Null,
            On("/details", "value=\"PAG 46\""),
            On(ORDER, "R-134a, 600 g ± 25 g, PAG 46"),
        ),
        Kind::PreviousCharge => (
            json!({ "at": "2024-05-12T10:00:00Z", "mass": "590 g" }),
            On("/details", "value=\"590\""),
            On(REPORT, "210 g had been lost"),
        ),
        Kind::OpenSince => (
            json!({ "value": "2026-05-01" }),
            On("/bench/recovery", "open since 1 May 2026"),
            Not("findings say what follows from it"),
        ),
        Kind::GasLetIn => (
            json!({ "gas": "nitrogen" }),
            On("/bench/gas", "dry nitrogen let in"),
            Not("a step between others: what was tested with it is told"),
        ),
        Kind::Standing => (
            json!({ "pressure": "71.5 psi gauge", "ambient": "21 degC" }),
            On("/bench/standing", "71.5 psig, car and air at 21 °C"),
            On(REPORT, "72 psig at 21 °C"),
        ),
        Kind::Identification => (
            json!({ "gases": { "R-134a": "99.6 %" } }),
            On("/bench/identification", "R-134a 99.6 %"),
            On(REPORT, "Identified: R-134a 99.6 %"),
        ),
        Kind::Isolation => (
            json!({ "measured": "0 V", "waited": "PT600S" }),
            On(
                "/bench/isolation",
                "waited 10 min, 0 V between HV+ and HV−, isolated",
            ),
            On(REPORT, "high voltage isolated"),
        ),
        Kind::Recovery => (
            json!({ "refrigerant": "R-134a", "before": "11.20 kg", "after": "11.58 kg" }),
            On(
                "/bench/recovery",
                "cylinder 11.20 kg before, 11.58 kg after",
            ),
            On(REPORT, "refrigerant recovered"),
        ),
        Kind::Leak => (
            json!({ "place": "drier flange", "found_by": "dye" }),
            On("/bench/leaks", "drier flange, found by dye"),
            On(REPORT, "drier flange"),
        ),
        Kind::Part => (
            json!({ "role": "condenser", "source": "salvaged", "fitted_at": "2026-05-12T09:00:00Z", "donor": { "vehicle": "2011 Tarn Vela" } }),
            On(
                "/bench/parts",
                "used condenser, fitted, from a 2011 Tarn Vela",
            ),
            On(REPORT, "Used condenser: from a 2011 Tarn Vela"),
        ),
        Kind::Desiccant => (
            json!({ "value": "2026-02-03" }),
            On("/bench/parts", "desiccant last renewed 3 Feb 2026"),
            Not("it settles a finding, which is told while it is missing"),
        ),
        Kind::Flush => (
            json!({ "section": "whole circuit", "by": "flushed" }),
            On("/bench/flush", "whole circuit: flushed"),
            On(REPORT, "flushed whole circuit"),
        ),
        Kind::Joint => (
            json!({ "place": "behind the glove box" }),
            On("/bench/checks", "1, behind the glove box"),
            On(ORDER, "behind the glove box"),
        ),
        Kind::Opening => (
            json!({}),
            On("/bench/joints", "behind the glove box: opened"),
            On(REPORT, "opened behind the glove box"),
        ),
        Kind::Seal => (
            json!({ "renewed": true, "lubricant": "PAG" }),
            On(
                "/bench/seals",
                "behind the glove box: new seal, lubricant PAG",
            ),
            On(REPORT, "new seals at behind the glove box"),
        ),
        Kind::Fixing => (
            json!({ "place": "case, lower left", "kind": "improvised", "look_again_on": "2027-05-12" }),
            On(
                "/bench/fixings",
                "case, lower left, improvised fixing, recheck by 12 May 2027",
            ),
            On(
                REPORT,
                "case, lower left. Please bring the car back by 12 May 2027",
            ),
        ),
        Kind::Oil => (
            json!({ "type": "PAG 46", "volume": "37 mL" }),
            On("/bench/oil", "37 mL of PAG 46"),
            On(REPORT, "oil added: 37 mL PAG 46"),
        ),
        Kind::Evacuation => (
            json!({ "gauge": { "id": "G-1", "resolution": "0.5 inHg" }, "coldest_metal": "19 degC" }),
            On(
                "/bench/evacuation",
                "gauge G-1 (0.5 inHg), coldest metal 19 °C, running",
            ),
            On(REPORT, "evacuated"),
        ),
        Kind::Hold => (
            json!({ "kind": "vacuum", "gas": "air", "gauge": { "id": "G-1", "resolution": "0.5 inHg" } }),
            On("/bench/hold", "vacuum hold, gauge G-1 (0.5 inHg), running"),
            On(REPORT, "vacuum hold"),
        ),
        Kind::Reading => (
            json!({ "pressure": "27.5 inHg vacuum", "temperature": "22 degC" }),
            On("/holds/h1", "27.5 inHg vacuum"),
            On(REPORT, "27.5 inHg vacuum"),
        ),
        Kind::LeakCheck => (
            json!({ "method": "ultrasonic", "places": ["j1"] }),
            On(
                "/bench/checks",
                "ultrasonic check, checked: behind the glove box (1), no leak found",
            ),
            On(REPORT, "ultrasonic leak check"),
        ),
        Kind::Charging => (
            json!({ "refrigerant": "R-134a", "before": "9845 g", "after": "9240 g", "left_in_hose": "5 g" }),
            On(
                "/bench/charging",
                "cylinder 9845 g before, 9240 g after, 5 g left in hose",
            ),
            On(REPORT, "charged by weight"),
        ),
        Kind::Performance => (
            json!({ "low_side": "33 psi gauge", "high_side": "192 psi gauge", "ambient": "27 degC", "vent": "9 degC" }),
            On("/bench/performance", "low side 33 psig, high side 192 psig"),
            On(REPORT, "cooling performance measured"),
        ),
        Kind::PerformanceOmitted => (
            json!({ "value": "4 °C outside" }),
            On("/bench/performance", "not measured: 4 °C outside"),
            On(REPORT, "How it cools was not measured: 4 °C outside."),
        ),
        Kind::Port => (
            json!({ "side": "low", "cap": true, "core": "tight" }),
            On("/bench/ports", "low side: cap on, core tight"),
            On(ORDER, "Low side: cap on, core tight."),
        ),
    };
    Sample { body, bench, paper }
}

async fn added(shop: &Shop) -> orders::Order {
    let mut conn = shop.app.store.read().await.expect("a connection");
    let order = orders::by_number(&mut conn, 412)
        .await
        .expect("read")
        .expect("412");
    let person = people::all(&mut conn).await.expect("people").remove(0);
    drop(conn);
    let by = Actor {
        person: person.id,
        name: person.name,
        roles: person.roles,
        device: None,
    };
    let now = Instant::parse("2026-05-12T10:40:00Z").expect("a time");
    let mut joint = EvidenceId::fresh();
    let mut hold = EvidenceId::fresh();
    let mut changes = Vec::new();
    for (i, kind) in Kind::ALL.iter().enumerate() {
        let Value::Object(body) = sample(*kind).body else {
            continue;
        };
        let (body, own) =
            evidence::read(*kind, body).unwrap_or_else(|e| panic!("{}: {e}", kind.word()));
        let at = now.plus_minutes(i64::try_from(i).expect("few") - 60);
        let version = Version {
            at: Some(at),
            own,
            ..Version::new(body)
        };
        let id = EvidenceId::fresh();
        let parent = match kind {
            Kind::Joint => {
                joint = id;
                None
            }
            Kind::Hold => {
                hold = id;
                None
            }
            Kind::Opening | Kind::Seal => Some(joint),
            Kind::Reading => Some(hold),
            _ => None,
        };
        assert_eq!(
            parent.is_some(),
            kind.place() == Place::Child,
            "{}",
            kind.word()
        );
        changes.push(Change::Add(NewPiece {
            id,
            parent,
            version,
        }));
    }
    let entry = Entry {
        deed: DeedId::fresh(),
        kind: "all-kinds",
        order: order.id,
        form: String::new(),
        roles: BENCH,
        tablet: None,
    };
    keep(&shop.app.store, &by, entry, changes, now)
        .await
        .expect("every kind can be written");
    order
}

#[tokio::test]
async fn every_kind_is_written_recorded_and_told() {
    let mut shop = with_order().await;
    let order = added(&shop).await;
    // The words of the table of kinds are those of the program, and children are children.
    let mut conn = shop.app.store.read().await.expect("a connection");
    let rows =
        sqlx::query!(r#"SELECT word, child AS "child: bool" FROM evidence_kind ORDER BY word"#)
            .fetch_all(&mut *conn)
            .await
            .expect("kinds");
    let mut kinds: Vec<_> = Kind::ALL
        .iter()
        .map(|k| (k.word().to_owned(), k.place() == Place::Child))
        .collect();
    kinds.sort();
    assert_eq!(
        rows.into_iter()
            .map(|r| (r.word, r.child))
            .collect::<Vec<_>>(),
        kinds
    );
    let pieces = evidence::of_order(&mut conn, order.id)
        .await
        .expect("pieces");
    drop(conn);
    let record: Value =
        serde_json::from_str(&shop.browser.get("/orders/412/record.json").await.body)
            .expect("a record");
    for kind in Kind::ALL {
        let word = kind.word();
        assert!(
            pieces.iter().any(|p| p.kind() == *kind),
            "{word} is not written"
        );
        let entry = match kind {
            Kind::Opening | Kind::Seal => &record["joints"][0][kind.key()],
            Kind::Reading => &record["holds"][0][kind.key()],
            _ => &record[kind.key()],
        };
        assert!(!entry.is_null(), "{word} is not in the record: {record}");
    }
    let mut missing = Vec::new();
    for kind in Kind::ALL {
        let Sample { bench, paper, .. } = sample(*kind);
        for told in [bench, paper] {
            match told {
                On(page, words) => {
                    let text = shop.browser.get(&format!("/orders/412{page}")).await.body;
                    if !text.contains(words) {
                        missing.push(format!("{}: “{words}” is not on {page}", kind.word()));
                    }
                }
                Not(why) => assert!(!why.is_empty()),
            }
        }
    }
    assert_eq!(missing, Vec::<String>::new());
}

/// Task, what is sent, what is said.
type Case = (
    &'static str,
    Vec<(&'static str, &'static str)>,
    &'static str,
);

/// What no page offers, as a page of an older or newer version may send it: said beside its field, and nothing is kept.
#[tokio::test]
async fn a_word_that_is_none_of_the_records_is_said_beside_its_field() {
    let mut shop = with_order().await;
    let at = ("at", "2026-05-12T10:00");
    let masses = [
        ("cylinder", "C-9"),
        ("before", "9.2"),
        ("after", "9.6"),
        ("mass_unit", "kg"),
        at,
    ];
    let water: Vec<_> = masses
        .into_iter()
        .chain([("refrigerant", "water")])
        .collect();
    let most = "79228162514264337593543950335";
    let cases: [Case; 9] = [
        ("recovery", water.clone(), "Choose the refrigerant."),
        ("charging", water, "Choose what was charged."),
        ("gas", vec![("gas", "steam"), at], "Choose what it was."),
        (
            "checks",
            vec![
                ("method", "electronic"),
                ("proved", "the moon"),
                ("other_places", "drier"),
                at,
            ],
            "Choose one of these.",
        ),
        (
            "checks",
            vec![("method", "listening"), ("other_places", "drier"), at],
            "Choose how.",
        ),
        (
            "ports",
            vec![("low.cap", "yes"), ("low.core", "loose")],
            "Choose one of these.",
        ),
        (
            "parts",
            vec![
                ("role", "hose"),
                ("source", "new"),
                ("fitted", "yes"),
                ("ports", "bent"),
                at,
            ],
            "Choose one of these.",
        ),
        (
            "parts",
            vec![
                ("role", "radiator"),
                ("source", "found"),
                ("fitted", "yes"),
                at,
            ],
            "Choose where it comes from.",
        ),
        (
            "isolation",
            vec![("measured", most), ("waited", "99999"), at],
            "from zero up to a week",
        ),
    ];
    let pieces = async |shop: &Shop| {
        let mut conn = shop.app.store.read().await.expect("a connection");
        let order = orders::by_number(&mut conn, 412)
            .await
            .expect("read")
            .expect("412");
        evidence::of_order(&mut conn, order.id)
            .await
            .expect("pieces")
            .len()
    };
    let before = pieces(&shop).await;
    for (task, fields, says) in cases {
        let action = format!("/orders/412/bench/{task}");
        let deed = DeedId::fresh().to_string();
        let pairs: Vec<_> = fields
            .into_iter()
            .chain([("deed", deed.as_str())])
            .collect();
        let answer = shop
            .browser
            .post_pairs(&action, &action, &pairs, false)
            .await;
        assert_eq!(
            answer.status,
            StatusCode::UNPROCESSABLE_ENTITY,
            "{task}: {}",
            answer.body
        );
        assert!(
            answer.refusals().iter().any(|f| f.contains(says)),
            "{task}: {:?}",
            answer.refusals()
        );
    }
    assert_eq!(pieces(&shop).await, before);
}
