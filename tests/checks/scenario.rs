//! The worked scenario of the main job, its two branches, and the three other jobs.
use super::support::{answer, in_the_way, scenario, with};
use chillwright_calc::record::answer::{Shape, Verdict};
use serde_json::{Value, json};

#[test]
fn the_scenario_finds_exactly_this() {
    assert_eq!(
        in_the_way(&scenario()),
        [
            "charge-mismatch charging",
            "evacuation-does-not-dry e1",
            "hold-not-sensitive leak_checks",
            "improvised-fixing f1",
            "seal-not-inspected j4 blocks"
        ]
    );
    let answer = answer(&scenario());
    let says = |code: &str| {
        answer
            .findings
            .iter()
            .find(|f| f.code == code)
            .expect(code)
            .says
            .clone()
    };
    assert_eq!(
        says("evacuation-does-not-dry"),
        "Not deep enough to dry the system. At 28 inHg vacuum water boils only at 36 °C, and the metal was 22 °C."
    );
    let dry = answer
        .findings
        .iter()
        .find(|f| f.code == "evacuation-does-not-dry")
        .expect("a finding");
    assert!(
        dry.do_next
            .contains("29.5 inHg vacuum or more on this gauge (calculated: 29.3 inHg vacuum)"),
        "{}",
        dry.do_next
    );
    assert_eq!(
        says("hold-not-sensitive"),
        "Nothing done so far would find a slow leak. The vacuum hold only rules out a very large leak, one that would empty the system in 17 hours or less (309 kg a year or more). A smaller leak would not have shown. The limit is 40 g a year."
    );
    assert!(
        says("charge-mismatch").contains("45 g short")
            && says("charge-mismatch").contains("555 g ± 7.5 g went in")
            && says("charge-mismatch").contains("600 g ± 25 g")
    );
    assert_eq!(answer.figures.holds[0].verdict, Verdict::Held);
    assert_eq!(
        (
            answer.gate.repaired,
            answer.gate.blocks,
            answer.gate.awaiting_concession
        ),
        (false, 1, 4)
    );
}

fn seal(at: &str) -> Value {
    json!([{ "at": at, "condition": "sound", "renewed": true, "lubricant": "mineral oil" }])
}

fn topped_up() -> Vec<(&'static str, Value)> {
    vec![
        (
            "/charging/-",
            json!({ "refrigerant": "R-134a", "at": "2026-05-12T11:00:00Z", "before": "9.28 kg", "after": "9.23 kg", "left_in_hose": "10 g" }),
        ),
        (
            "/performance/-",
            json!({ "at": "2026-05-12T11:20:00Z", "ambient": "27 degC", "humidity": "50 %", "low_side": "33 psig", "high_side": "192 psig", "vent": "7 degC" }),
        ),
        (
            "/leak_checks",
            json!([{ "method": "electronic", "at": "2026-05-12T11:40:00Z", "sensitivity": "4 g/yr", "proved_on": "reference leak", "places": ["j1", "j2", "j3", "evaporator outlet"], "found": [] }]),
        ),
    ]
}

/// Branch a: the seal was seen while the joint was open; 40 g more, measured again, checked.
#[test]
fn seen_while_it_was_open() {
    let mut changes = topped_up();
    changes.push(("/joints/3/seals", seal("2026-05-12T08:13:00Z")));
    assert_eq!(
        in_the_way(&with(&changes)),
        ["evacuation-does-not-dry e1", "improvised-fixing f1"]
    );
}

/// Branch b: it is looked at now; what came before does not count any more.
#[test]
fn looked_at_now_voids_the_hold() {
    let mut changes = topped_up();
    changes.push(("/joints/3/seals", seal("2026-05-12T12:00:00Z")));
    let record = with(&changes);
    assert!(
        in_the_way(&record).contains(&"hold-missing holds blocks".to_owned()),
        "{:?}",
        in_the_way(&record)
    );
    let figures = answer(&record).figures;
    assert!(
        figures.holds[0]
            .stale_because
            .as_deref()
            .is_some_and(|s| s.contains("evaporator outlet")),
        "{:?}",
        figures.holds[0].stale_because
    );
    assert!(figures.evacuations[0].stale_because.is_some());
}

/// Branch b, done again: recovered, opened, evacuated, held, charged, measured, checked.
#[test]
fn done_again_it_counts_again() {
    let record = with(&[
        (
            "/recovery/-",
            json!({ "cylinder": "C-03", "refrigerant": "R-134a", "before": "11 kg", "after": "11.555 kg", "at": "2026-05-12T11:50:00Z" }),
        ),
        ("/joints/3/opened/-", json!("2026-05-12T12:00:00Z")),
        ("/joints/3/seals", seal("2026-05-12T12:00:00Z")),
        (
            "/evacuations/-",
            json!({ "id": "e2", "started_at": "2026-05-12T12:10:00Z", "ended_at": "2026-05-12T12:50:00Z", "coldest_metal": "22 degC", "gauge": { "resolution": "10 micron" }, "readings": [{ "at": "2026-05-12T12:50:00Z", "pressure": "400 micron" }] }),
        ),
        (
            "/holds/-",
            json!({ "id": "h2", "kind": "vacuum", "ended_at": "2026-05-12T13:15:00Z", "gauge": { "resolution": "10 micron" }, "readings": [
            { "at": "2026-05-12T12:51:00Z", "pressure": "400 micron", "temperature": "22 degC" }, { "at": "2026-05-12T13:15:00Z", "pressure": "400 micron", "temperature": "22 degC" }] }),
        ),
        (
            "/charging/-",
            json!({ "refrigerant": "R-134a", "at": "2026-05-12T13:20:00Z", "before": "9 kg", "after": "8.39 kg", "left_in_hose": "10 g" }),
        ),
        (
            "/performance/-",
            json!({ "at": "2026-05-12T13:40:00Z", "ambient": "27 degC", "humidity": "50 %", "low_side": "33 psig", "high_side": "192 psig", "vent": "7 degC" }),
        ),
        (
            "/leak_checks",
            json!([{ "method": "electronic", "at": "2026-05-12T13:50:00Z", "sensitivity": "4 g/yr", "proved_on": "reference leak", "places": ["j1", "j2", "j3", "j4"] }]),
        ),
    ]);
    assert_eq!(in_the_way(&record), ["improvised-fixing f1"]);
}

/// A failed hold: a dial from 28 to 26 inHg in 20 minutes.
#[test]
fn a_dial_that_falls_two_inches_leaks() {
    let record = with(&[("/holds/0/readings/1/pressure", json!("26 inHg vacuum"))]);
    assert!(in_the_way(&record).contains(&"hold-failed h1 blocks".to_owned()));
    let hold = &answer(&record).figures.holds[0];
    assert_eq!((hold.verdict, hold.shape), (Verdict::Leak, None));
    assert!(hold.leak_low_kg_per_year.expect("low") < hold.leak_high_kg_per_year.expect("high"));
}

/// Moisture: an electronic gauge of 10 micron, 7 readings from 1.3 mbar rising by 25 mbar with tau 5 min over 20 min at 22 degC, where water has 26.4
/// mbar. (By 20 mbar it comes to rest at 0.8 of that, which is not water's.)
#[test]
fn a_rise_that_levels_off_is_water() {
    let hold = |rise: f64| {
        let readings: Vec<Value> = (0..7)
        .map(|i| {
            let minutes = 20.0 * f64::from(i) / 6.0;
            let mbar = 1.3 + rise * (1.0 - (-minutes / 5.0_f64).exp());
            let seconds = (minutes * 60.0).round() as i64;
            json!({ "at": format!("2026-05-12T09:{:02}:{:02}Z", 30 + seconds / 60, seconds % 60), "pressure": format!("{:.0} micron", mbar * 750.0617), "temperature": "22 degC" })
        })
        .collect();
        with(&[(
            "/holds/0",
            json!({ "id": "h1", "kind": "vacuum", "ended_at": "2026-05-12T09:51:00Z", "gauge": { "resolution": "10 micron" }, "readings": readings }),
        )])
    };
    let elsewhere = answer(&hold(20.0)).figures.holds.remove(0);
    assert_eq!(
        (elsewhere.verdict, elsewhere.shape),
        (Verdict::Inconclusive, Some(Shape::Levelling))
    );
    let record = hold(25.0);
    let hold = &answer(&record).figures.holds[0];
    assert_eq!(
        (hold.verdict, hold.shape),
        (Verdict::Moisture, Some(Shape::Levelling))
    );
    assert!(in_the_way(&record).contains(&"hold-moisture h1".to_owned()));
}

/// A record with nothing after the opening reports the missing hold, not what follows from it.
#[test]
fn one_cause_one_finding() {
    let nothing = with(&[
        ("/evacuations", json!([])),
        ("/holds", json!([])),
        ("/charging", json!([])),
        ("/performance", json!([])),
        ("/joints/3/seals", seal("2026-05-12T08:13:00Z")),
        ("/fixings", json!([])),
    ]);
    assert_eq!(in_the_way(&nothing), ["hold-missing holds blocks"]);
    let only: Value = json!({ "version": 1, "system": { "refrigerant": "R-134a" } });
    assert_eq!(in_the_way(&only), ["nothing-done order blocks"]);
}
