//! One cause, one finding: what follows from a missing hold is not reported again.
use super::support::in_the_way;
use serde_json::{Value, json};

/// A circuit that was recovered from and opened, its joint and seal in order, with something more on record.
fn opened(more: &[(&str, Value)]) -> Vec<String> {
    let mut record = json!({
        "version": 1, "site": { "elevation": "0 m" },
        "system": { "refrigerant": "R-134a", "charge": "600 g", "metering": "expansion-valve", "compressor_drive": "belt" },
        "desiccant_last_renewed": "2026-01-01",
        "previous_charge": { "at": "2026-01-01T09:00:00Z", "mass": "600 g" },
        "recovery": [{ "refrigerant": "R-134a", "before": "11.0 kg", "after": "11.6 kg", "at": "2026-05-12T08:00:00Z" }],
        "joints": [{ "id": "j1", "place": "drier inlet", "opened": ["2026-05-12T08:30:00Z"], "seals": [{ "at": "2026-05-12T08:40:00Z", "renewed": true, "lubricant": "mineral oil" }] }]
    });
    for (key, value) in more {
        record[*key] = value.clone();
    }
    in_the_way(&record)
}

fn charge() -> Value {
    json!([{ "refrigerant": "R-134a", "at": "2026-05-12T10:00:00Z", "before": "9.0 kg", "after": "8.4 kg", "left_in_hose": "0 g" }])
}

fn performance() -> Value {
    json!([{ "at": "2026-05-12T10:30:00Z", "ambient": "27 degC", "humidity": "50 %", "low_side": "32 psig", "high_side": "190 psig", "vent": "7 degC" }])
}

fn evacuation() -> Value {
    json!([{ "id": "e1", "started_at": "2026-05-12T08:50:00Z", "ended_at": "2026-05-12T09:30:00Z", "coldest_metal": "22 degC", "gauge": { "resolution": "10 micron" },
             "readings": [{ "at": "2026-05-12T09:30:00Z", "pressure": "400 micron" }] }])
}

const MISSING: &str = "hold-missing holds blocks";

#[test]
fn opened_only() {
    assert_eq!(opened(&[]), [MISSING]);
    let found_empty = [
        ("recovery", json!([])),
        (
            "standing",
            json!([{ "pressure": "0 psig", "at": "2026-05-12T07:00:00Z" }]),
        ),
    ];
    assert_eq!(
        opened(&found_empty),
        [MISSING, "loss-unexplained recovery"],
        "found empty, and nobody found where it went"
    );
    let stood_open = [
        ("joints", json!([])),
        ("open_since", json!("2026-05-12T07:00:00Z")),
    ];
    assert_eq!(
        opened(&stood_open),
        ["desiccant-not-renewed parts", MISSING],
        "found open, and for how long nobody knows"
    );
    assert_eq!(
        opened(&[("evacuations", evacuation())]),
        [MISSING],
        "and evacuated"
    );
}

/// A leak that was repaired waits for the same hold.
#[test]
fn opened_for_a_leak() {
    assert_eq!(
        opened(&[(
            "leaks",
            json!([{ "id": "l1", "place": "drier inlet", "repaired_at": "2026-05-12T08:45:00Z" }])
        )]),
        [MISSING]
    );
    let still_there = json!([{ "id": "l1", "place": "drier inlet" }]);
    assert_eq!(
        opened(&[("leaks", still_there)]),
        [MISSING, "leak-found l1 blocks"],
        "a leak that is still there is a cause of its own"
    );
}

/// Charged without evacuation or hold: two causes, and whether it cools is a third that waits for them.
#[test]
fn opened_and_charged() {
    assert_eq!(
        opened(&[
            ("evacuations", evacuation()),
            ("charging", charge()),
            ("performance", performance())
        ]),
        [MISSING]
    );
    assert_eq!(
        opened(&[("evacuations", evacuation()), ("charging", charge())]),
        [MISSING, "performance-missing performance blocks"]
    );
    assert_eq!(
        opened(&[("charging", charge()), ("performance", performance())]),
        ["evacuation-missing evacuations blocks", MISSING]
    );
}

/// A hold that is there but cannot be read, or was made before the opening, is one that is missing.
#[test]
fn a_hold_that_counts_as_none() {
    let hold = |from: &str, to: &str, first: &str| {
        json!([{ "id": "h1", "kind": "vacuum", "ended_at": to, "gauge": { "resolution": "10 micron" }, "readings": [
            { "at": from, "pressure": first, "temperature": "22 degC" }, { "at": to, "pressure": "400 micron", "temperature": "22 degC" }] }])
    };
    let full = |holds: Value| {
        opened(&[
            ("evacuations", evacuation()),
            ("holds", holds),
            ("charging", charge()),
            ("performance", performance()),
        ])
    };
    assert_eq!(
        full(hold(
            "2026-05-12T09:31:00Z",
            "2026-05-12T09:51:00Z",
            "2000 micron"
        )),
        [MISSING],
        "it was still being pumped"
    );
    assert_eq!(
        full(hold(
            "2026-05-12T07:31:00Z",
            "2026-05-12T07:51:00Z",
            "400 micron"
        )),
        [MISSING],
        "before the opening"
    );
    // And one that counts: what is left is what only an electronic check shows.
    assert_eq!(
        full(hold(
            "2026-05-12T09:31:00Z",
            "2026-05-12T09:51:00Z",
            "400 micron"
        )),
        ["hold-not-sensitive leak_checks"]
    );
}
