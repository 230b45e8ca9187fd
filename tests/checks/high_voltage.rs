//! High voltage counts as isolated only where it was measured dead.
use super::support::{answer, weight, with};
use chillwright_calc::{
    checks::isolation::{Proved, proved},
    record::{Isolation, answer::Weight::Blocks},
};
use serde_json::{Value, json};

fn electric(isolation: Value, more: &[(&str, Value)]) -> Value {
    let mut changes = vec![
        ("/system/compressor_drive", json!("electric")),
        ("/isolation", isolation),
    ];
    changes.extend(more.iter().cloned());
    with(&changes)
}

fn measured(text: &str) -> Value {
    json!([{ "id": "hv1", "at": "2026-05-11T09:10:00Z", "measured": text }])
}

/// 60 V DC and 30 V AC: UN Regulation No. 100 (from memory); 49 CFR 571.305, S3, prints the same two.
#[test]
fn at_most_sixty_volts_direct_and_thirty_alternating() {
    let of = |text: &str| {
        proved(&Isolation {
            measured: Some(text.into()),
            ..Isolation::default()
        })
    };
    for dead in [
        "0 V",
        "0",
        "0.4 V DC",
        "60 V",
        "60,0 V DC",
        "-12 V",
        "30 V AC",
        "350 mV",
    ] {
        assert_eq!(of(dead), Proved::Dead, "{dead}");
    }
    assert_eq!(
        (of("400 V"), of("0.4 kV"), of("60.1 V"), of("31 V AC")),
        (
            Proved::Live(400.0),
            Proved::Live(400.0),
            Proved::Live(60.1),
            Proved::Live(31.0)
        )
    );
    for nothing in ["", "  ", "dead", "ok", "V", "12 A"] {
        assert_eq!(of(nothing), Proved::NotMeasured, "{nothing:?}");
    }
    assert_eq!(proved(&Isolation::default()), Proved::NotMeasured);
}

#[test]
fn what_does_not_prove_blocks_and_is_told_once() {
    for (text, says) in [
        (
            "400 V",
            "400 V were measured: the compressor’s circuit is still live.",
        ),
        (
            "",
            "The isolation has no measured voltage: nothing shows that the compressor’s circuit is dead.",
        ),
        (
            "dead",
            "“dead” is no measured voltage: nothing shows that the compressor’s circuit is dead.",
        ),
    ] {
        let record = electric(measured(text), &[]);
        let found = answer(&record)
            .findings
            .into_iter()
            .find(|f| f.code == "isolation-not-proved")
            .expect("a finding");
        assert_eq!(
            (found.weight, found.about.as_str(), found.says.as_str()),
            (Blocks, "hv1", says)
        );
        assert_eq!(
            weight(&record, "isolation-missing"),
            None,
            "one cause, one finding"
        );
    }
    for text in ["0 V", "60 V"] {
        let record = electric(measured(text), &[]);
        assert_eq!(
            (
                weight(&record, "isolation-not-proved"),
                weight(&record, "isolation-missing")
            ),
            (None, None),
            "{text}"
        );
    }
    assert_eq!(
        weight(&electric(json!([]), &[]), "isolation-missing"),
        Some(Blocks)
    );
    assert_eq!(
        weight(&with(&[]), "isolation-missing"),
        None,
        "a belt-driven compressor"
    );
}

/// Measured dead after the circuit was opened comes too late for that opening; a second measurement before it does not.
#[test]
fn it_comes_before_the_opening() {
    let twice = |second: &str| json!([{ "id": "hv1", "at": "2026-05-11T09:10:00Z", "measured": "390 V" }, { "id": "hv2", "at": second, "measured": "3 V", "waited": "PT10M" }]);
    assert_eq!(
        weight(
            &electric(twice("2026-05-11T09:25:00Z"), &[]),
            "isolation-not-proved"
        ),
        None
    );
    assert_eq!(
        weight(
            &electric(twice("2026-05-11T12:00:00Z"), &[]),
            "isolation-not-proved"
        ),
        Some(Blocks),
        "opened at 09:40 under 390 V"
    );
    let late = json!([{ "id": "hv1", "at": "2026-05-11T12:00:00Z", "measured": "0 V" }]);
    assert_eq!(
        weight(&electric(late, &[]), "isolation-missing"),
        Some(Blocks)
    );
}

/// The performance reading switches it on: an opening after it needs an isolation of its own.
#[test]
fn switched_on_it_is_isolated_anew() {
    let reopened = [("/joints/3/opened/-", json!("2026-05-12T12:00:00Z"))];
    let once = electric(measured("0 V"), &reopened);
    assert_eq!(weight(&once, "isolation-missing"), Some(Blocks));
    let says = answer(&once)
        .findings
        .into_iter()
        .find(|f| f.code == "isolation-missing")
        .expect("a finding")
        .says;
    assert!(
        says.contains("switched on for the performance reading"),
        "{says}"
    );
    let again = json!([{ "id": "hv1", "at": "2026-05-11T09:10:00Z", "measured": "0 V" }, { "id": "hv2", "at": "2026-05-12T11:30:00Z", "measured": "1 V" }]);
    assert_eq!(
        weight(&electric(again, &reopened), "isolation-missing"),
        None
    );
    let unproved = json!([{ "id": "hv1", "at": "2026-05-11T09:10:00Z", "measured": "0 V" }, { "id": "hv2", "at": "2026-05-12T11:30:00Z" }]);
    let record = electric(unproved, &reopened);
    assert_eq!(
        (
            weight(&record, "isolation-not-proved"),
            weight(&record, "isolation-missing")
        ),
        (Some(Blocks), None)
    );
}

/// Before anything else is on record a live measurement is told already.
#[test]
fn a_live_measurement_is_told_at_once() {
    let record = json!({ "version": 1, "system": { "refrigerant": "R-1234yf", "compressor_drive": "electric" },
        "isolation": [{ "id": "hv1", "at": "2026-05-11T09:10:00Z", "measured": "400 V" }] });
    assert_eq!(weight(&record, "isolation-not-proved"), Some(Blocks));
}
