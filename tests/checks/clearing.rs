//! What is named to clear a failed hold does clear it.
use super::support::answer;
use chillwright_calc::{
    UnitSystem,
    checks::{
        outlook::{Test, clearing},
        with_case,
    },
    parse,
};
use serde_json::{Value, json};

fn hold(id: &str, kind: &str, gauge: &Value, minutes: f64, first: &str, last: &str) -> Value {
    let at = |seconds: f64| {
        format!(
            "2026-05-12T{:02}:{:02}:{:02}Z",
            10 + (seconds / 3600.0) as u32,
            (seconds / 60.0) as u32 % 60,
            seconds as u32 % 60
        )
    };
    json!({ "id": id, "kind": kind, "ended_at": "2026-05-12T19:00:00Z", "gauge": gauge, "readings": [
        { "at": at(0.0), "pressure": first, "temperature": "22 degC" }, { "at": at(60.0 * minutes), "pressure": last, "temperature": "22 degC" }] })
}

/// The same on the next day.
fn later(hold: Value) -> Value {
    serde_json::from_str(&hold.to_string().replace("2026-05-12", "2026-05-13")).expect("JSON")
}

fn record(refrigerant: &str, holds: Vec<Value>, evacuations: Value) -> Value {
    json!({ "version": 1, "site": { "barometer": "101.325 kPa abs" }, "system": { "refrigerant": refrigerant, "charge": "600 g" }, "evacuations": evacuations, "holds": holds })
}

fn next(record: &Value) -> Option<String> {
    answer(record)
        .findings
        .into_iter()
        .find(|f| f.code == "hold-failed")
        .map(|f| f.do_next)
}

/// The named test, made in so many times the named time, nothing moving.
fn made(record: &Value, share: f64) -> Value {
    let (test, _) = with_case(
        &parse(&record.to_string()).expect("a record"),
        UnitSystem::Si,
        |case| clearing(case, &case.holds[0]),
    )
    .expect("a test");
    let gauge = |g: chillwright_calc::record::Gauge| serde_json::to_value(g).expect("JSON");
    let mut record = record.clone();
    let hold = match test {
        Test::Vacuum(g, from, held) => {
            let p = format!("{} Pa abs", from.pa());
            hold(
                "again",
                "vacuum",
                &gauge(g),
                share * held.s() / 60.0,
                &p,
                &p,
            )
        }
        Test::Nitrogen(g, from, held) => {
            let p = format!("{} Pa gauge", from.pa());
            hold(
                "again",
                "pressure",
                &gauge(g),
                share * held.s() / 60.0,
                &p,
                &p,
            )
        }
        Test::Check(_) => panic!("a check clears no hold"),
    };
    record["holds"]
        .as_array_mut()
        .expect("a list")
        .push(later(hold));
    record
}

fn dial() -> Value {
    json!({ "id": "G-2", "resolution": "0.5 inHg" })
}

fn cylinder_gauge() -> Value {
    json!({ "id": "P-1", "resolution": "1 psi" })
}

#[test]
fn the_named_test_clears_what_failed() {
    let vacuum =
        |last: &str, minutes: f64| hold("h1", "vacuum", &dial(), minutes, "28 inHg vacuum", last);
    let pressure = |last: &str, minutes: f64| {
        hold(
            "h1",
            "pressure",
            &cylinder_gauge(),
            minutes,
            "150 psig",
            last,
        )
    };
    for (failed, named) in [
        (
            vacuum("26 inHg vacuum", 20.0),
            "then evacuate. To prove the repair: hold 28 inHg vacuum for 15 min on gauge G-2 (resolution 0.5 inHg), and read",
        ),
        (
            vacuum("27 inHg vacuum", 120.0),
            "then evacuate. To prove the repair: hold 28 inHg vacuum for 70 min on gauge G-2 (resolution 0.5 inHg),",
        ),
        (
            pressure("140 psig", 30.0),
            "repair it. To prove the repair: hold dry nitrogen at 150 psig for 30 min on gauge P-1 (resolution 1 psi),",
        ),
        (
            pressure("145 psig", 600.0),
            "dry nitrogen at 150 psig for 3.5 hours on gauge P-1",
        ),
    ] {
        for refrigerant in ["R-134a", "R-744", "other"] {
            let record = record(refrigerant, vec![failed.clone()], json!([]));
            let said = next(&record).expect("a failed hold");
            // Of one without properties slopes are compared, to which the mean pressure is nothing: it may take one step less or more.
            assert!(
                refrigerant == "other" || said.contains(named),
                "{refrigerant}: {said}"
            );
            assert_eq!(next(&made(&record, 1.0)), None, "{refrigerant}: {said}");
        }
    }
    // It is not named longer than it takes: half of it rules out too little.
    let slow = record("R-134a", vec![vacuum("27 inHg vacuum", 120.0)], json!([]));
    assert!(next(&made(&slow, 0.5)).is_some());
}

/// A finer gauge that is on record clears it sooner, wherever it was read.
#[test]
fn a_finer_gauge_of_the_record_is_named() {
    let failed = hold(
        "h1",
        "vacuum",
        &dial(),
        120.0,
        "28 inHg vacuum",
        "27 inHg vacuum",
    );
    let fine = json!({ "id": "V-1", "resolution": "10 micron" });
    let evacuated = json!([{ "id": "e1", "ended_at": "2026-05-12T09:30:00Z", "gauge": fine, "readings": [{ "at": "2026-05-12T09:30:00Z", "pressure": "400 micron" }] }]);
    let on_evacuation = record("R-134a", vec![failed.clone()], evacuated);
    assert!(
        next(&on_evacuation)
            .expect("a failed hold")
            .contains("hold 400 micron for 15 min on gauge V-1 (resolution 10 micron),"),
        "{:?}",
        next(&on_evacuation)
    );
    assert_eq!(next(&made(&on_evacuation, 1.0)), None);
    let on_hold = record(
        "R-134a",
        vec![
            failed,
            hold(
                "h0",
                "pressure",
                &cylinder_gauge(),
                31.0,
                "150 psig",
                "150 psig",
            ),
        ],
        json!([]),
    );
    assert!(
        next(&on_hold)
            .expect("a failed hold")
            .contains("for 30 min on gauge P-1 (resolution 1 psi),"),
        "{:?}",
        next(&on_hold)
    );
    assert_eq!(next(&made(&on_hold, 1.0)), None);
}

/// A seal can hold against a vacuum and leak under pressure: after a failed pressure hold only a pressure is named, however fine the vacuum gauge is, and
/// no vacuum clears it.
#[test]
fn no_vacuum_clears_a_failed_pressure_hold() {
    let failed = hold(
        "h1",
        "pressure",
        &cylinder_gauge(),
        60.0,
        "150 psig",
        "140 psig",
    );
    let fine = json!({ "id": "V-1", "resolution": "1 micron" });
    let vacuum = |last: &str| later(hold("v1", "vacuum", &fine, 60.0, "300 micron", last));
    let with_vacuum = record(
        "R-134a",
        vec![failed.clone(), vacuum("300 micron")],
        json!([]),
    );
    let figures = answer(&with_vacuum).figures;
    assert!(
        figures.holds[1].smallest_leak_shown_kg_per_year < figures.holds[0].leak_low_kg_per_year,
        "the vacuum hold shows far smaller leaks"
    );
    let said = next(&with_vacuum).expect("it still stands");
    assert!(
        said.contains("hold dry nitrogen at 150 psig for")
            && said.contains("gauge P-1")
            && !said.contains("V-1"),
        "{said}"
    );
    assert_eq!(next(&made(&with_vacuum, 1.0)), None);
    // The other way round a pressure hold that shows as much clears a failed vacuum hold.
    let leaky = hold(
        "h1",
        "vacuum",
        &dial(),
        20.0,
        "28 inHg vacuum",
        "24 inHg vacuum",
    );
    let pressure = later(hold(
        "n1",
        "pressure",
        &cylinder_gauge(),
        60.0,
        "150 psig",
        "150 psig",
    ));
    assert_eq!(
        next(&record("R-134a", vec![leaky, pressure], json!([]))),
        None
    );
}

/// A check of every joint clears a failed hold where it was proved, is as fine as the leak, found nothing, and was made with something inside to find.
#[test]
fn a_proved_check_of_every_joint_clears_a_failed_hold() {
    let made = |changes: &[(&str, Value)]| {
        let mut record = record(
            "R-134a",
            vec![hold(
                "h1",
                "pressure",
                &cylinder_gauge(),
                60.0,
                "150 psig",
                "140 psig",
            )],
            json!([]),
        );
        record["joints"] = json!([{ "id": "j1", "place": "drier inlet" }, { "id": "j2", "place": "drier outlet" }]);
        record["charging"] = json!([{ "refrigerant": "R-134a", "at": "2026-05-13T08:00:00Z", "before": "9 kg", "after": "8.4 kg", "left_in_hose": "0 g" }]);
        record["evacuations"] = json!([{ "started_at": "2026-05-13T07:00:00Z", "ended_at": "2026-05-13T07:40:00Z", "readings": [{ "at": "2026-05-13T07:40:00Z", "pressure": "400 micron" }] }]);
        record["leak_checks"] = json!([{ "method": "electronic", "at": "2026-05-13T09:00:00Z", "sensitivity": "14 g/yr", "proved_on": "reference leak", "places": ["j1", "drier outlet"] }]);
        for (pointer, value) in changes {
            *record
                .pointer_mut(pointer)
                .unwrap_or_else(|| panic!("{pointer}")) = value.clone();
        }
        next(&record)
    };
    assert_eq!(made(&[]), None);
    for (change, value) in [
        ("/leak_checks/0/places", json!(["j1"])),
        ("/leak_checks/0/proved_on", json!("none")),
        ("/leak_checks/0/method", json!("bubbles")),
        ("/leak_checks/0/sensitivity", json!("400000000 g/yr")),
        ("/leak_checks/0/at", json!("2026-05-12T09:00:00Z")),
        // Nothing was inside to find.
        ("/leak_checks/0/at", json!("2026-05-13T07:50:00Z")),
        ("/joints", json!([])),
    ] {
        assert!(
            made(&[(change, value.clone())]).is_some(),
            "{change} {value}"
        );
    }
    let said = made(&[("/leak_checks/0/places", json!(["j1"]))]).expect("a finding");
    assert_eq!(
        said,
        "Check every joint with an electronic detector set to 14 g a year or finer, proved on a reference leak. Repair what it finds."
    );
}

/// Where the record knows no gauge, the kind of test is told; in either system of units.
#[test]
fn without_a_gauge_the_kind_of_test_is_told() {
    let mut failed = hold(
        "h1",
        "vacuum",
        &dial(),
        20.0,
        "28 inHg vacuum",
        "26 inHg vacuum",
    );
    failed.as_object_mut().expect("an object").remove("gauge");
    let record = record("R-134a", vec![failed], json!([]));
    assert!(
        next(&record).expect("a failed hold").contains("hold the vacuum again for at least 20 min on a gauge with a resolution of 0.5 inHg or finer"),
        "{:?}",
        next(&record)
    );
    let us = chillwright_calc::assess(
        &parse(&record.to_string()).expect("a record"),
        UnitSystem::Us,
    );
    let said = us
        .findings
        .into_iter()
        .find(|f| f.code == "hold-failed")
        .expect("a finding")
        .do_next;
    assert!(said.contains("resolution of 0.5 inHg or finer"), "{said}");
}
