//! The oil that parts, flushes and recovery call for, against the worked examples of makers' service data and amounts by hand.
use super::support::{answer, weight};
use chillwright_calc::{
    Assessment,
    checks::oil::{compressor_share, drain_from_new},
    record::answer::Weight::{Concession, Note},
};
use serde_json::{Value, json};

fn part(role: &str, source: &str, drained: Option<&str>) -> Value {
    let mut part = json!({ "role": role, "source": source, "fitted_at": "2026-05-12T08:20:00Z" });
    if let Some(drained) = drained {
        part["oil_drained"] = json!(drained);
    }
    part
}

fn record(
    parts: &[Value],
    recovered: Option<&str>,
    added: Option<&str>,
    more: &[(&str, Value)],
) -> Value {
    let mut record = json!({ "version": 1, "site": { "elevation": "0 m" }, "system": { "refrigerant": "R-134a", "oil_type": "PAG 46" }, "parts": parts });
    if let Some(oil) = recovered {
        record["recovery"] = json!([{ "before": "10 kg", "after": "10.4 kg", "oil": oil, "at": "2026-05-12T08:00:00Z" }]);
    }
    if let Some(volume) = added {
        record["oil_added"] = json!([{ "type": "PAG 46", "volume": volume }]);
    }
    for (key, value) in more {
        record[*key] = value.clone();
    }
    record
}

/// Low, usual, high in mL; `None` where nothing is called for.
fn due(record: &Value) -> Option<[f64; 3]> {
    let oil = answer(record).figures.oil;
    Some([oil.due_low_m3?, oil.due_usual_m3?, oil.due_high_m3?].map(|v| (v * 1e7).round() / 10.0))
}

fn says(answer: &Assessment, code: &str) -> String {
    answer
        .findings
        .iter()
        .find(|f| f.code == code)
        .expect(code)
        .says
        .clone()
}

/// Two worked examples of makers' service data. Whole circuit 150 mL, of which the evaporator takes 60 and the condenser 30: 60 stay in the compressor. A new
/// compressor is shipped with 150 mL; 60 drained out of the old one, 20 are in the rest of the system, 5 were recovered: 65 have to be drained.
#[test]
fn the_worked_examples() {
    assert!((compressor_share(150.0, 60.0 + 30.0) - 60.0).abs() < 1e-12);
    assert_eq!(compressor_share(150.0, 200.0), 0.0);
    let job = record(
        &[
            part("compressor", "new", Some("60 mL")),
            part("pipe", "refitted", Some("20 mL")),
        ],
        Some("5 mL"),
        Some("85 mL"),
        &[],
    );
    let called = due(&job).expect("some oil");
    assert_eq!(called, [85.0, 85.0, 85.0]);
    assert!((drain_from_new(150.0, called[1]) - 65.0).abs() < 1e-9);
    assert_eq!(weight(&job, "oil-balance"), None);
}

/// Each part by itself, low, usual and high, as makers print them.
#[test]
fn each_part_calls_for_what_makers_print() {
    for (role, expected) in [
        ("condenser", [15.0, 35.0, 80.0]),
        ("evaporator", [30.0, 57.5, 90.0]),
        ("receiver-drier", [6.0, 12.5, 30.0]),
        ("accumulator", [30.0, 45.0, 60.0]),
        ("hose", [0.0, 10.0, 30.0]),
    ] {
        assert_eq!(
            due(&record(&[part(role, "new", None)], None, None, &[])),
            Some(expected),
            "{role}"
        );
        assert_eq!(
            due(&record(&[part(role, "salvaged", None)], None, None, &[])),
            Some(expected),
            "{role}"
        );
        assert_eq!(
            due(&record(&[part(role, "refitted", None)], None, None, &[])),
            None,
            "{role}"
        );
    }
    assert_eq!(
        due(&record(
            &[part("pressure-sensor", "new", None)],
            None,
            None,
            &[]
        )),
        None
    );
    // What drained was in it; a film stayed. An accumulator calls for what drained and 30 to 60 more.
    assert_eq!(
        due(&record(
            &[part("condenser", "new", Some("20 mL"))],
            None,
            None,
            &[]
        )),
        Some([20.0, 35.0, 80.0])
    );
    assert_eq!(
        due(&record(
            &[part("condenser", "new", Some("95 mL"))],
            None,
            None,
            &[]
        )),
        Some([95.0, 95.0, 95.0])
    );
    assert_eq!(
        due(&record(
            &[part("accumulator", "new", Some("40 mL"))],
            None,
            None,
            &[]
        )),
        Some([70.0, 85.0, 100.0])
    );
    // Not fitted yet: nothing is called for.
    let mut waiting = part("condenser", "new", None);
    waiting
        .as_object_mut()
        .expect("an object")
        .remove("fitted_at");
    assert_eq!(due(&record(&[waiting], None, None, &[])), None);
}

/// Missing is not zero: parts, a flush or recovered oil call for an entry.
#[test]
fn nothing_recorded_is_not_none() {
    let open = record(
        &[
            part("condenser", "new", None),
            part("receiver-drier", "new", None),
        ],
        Some("10 mL"),
        None,
        &[],
    );
    assert_eq!(weight(&open, "oil-not-recorded"), Some(Concession));
    let told = says(&answer(&open), "oil-not-recorded");
    assert_eq!(
        told,
        "No oil is recorded as put in. Called for: 31 mL to 120 mL (new condenser, new receiver-drier, recovered with the refrigerant)."
    );
    assert_eq!(weight(&open, "oil-balance"), None, "one cause, one finding");
    let none = record(&[part("condenser", "new", None)], None, Some("0 mL"), &[]);
    assert_eq!(
        (
            weight(&none, "oil-not-recorded"),
            weight(&none, "oil-balance")
        ),
        (None, None),
        "15 mL too little is less than oil is measured to"
    );
    let two = record(
        &[
            part("condenser", "new", None),
            part("evaporator", "new", None),
        ],
        None,
        Some("0 mL"),
        &[],
    );
    assert_eq!(
        (
            weight(&two, "oil-not-recorded"),
            weight(&two, "oil-balance")
        ),
        (None, Some(Concession)),
        "0 of 45 mL"
    );
    assert_eq!(
        weight(
            &record(&[part("compressor", "new", None)], None, None, &[]),
            "oil-not-recorded"
        ),
        Some(Concession),
        "what it came with is not on record"
    );
    assert_eq!(
        weight(&record(&[], Some("20 mL"), None, &[]), "oil-not-recorded"),
        Some(Concession)
    );
    assert_eq!(
        weight(&record(&[], Some("5 mL"), None, &[]), "oil-not-recorded"),
        None,
        "a spoonful"
    );
    assert_eq!(
        weight(
            &record(&[part("hose", "new", None)], None, None, &[]),
            "oil-not-recorded"
        ),
        None,
        "makers print 0 to 30 mL"
    );
    let flush = json!([{ "section": "evaporator to compressor", "by": "flushed", "at": "2026-05-12T08:10:00Z" }]);
    assert_eq!(
        weight(
            &record(&[], None, None, &[("flushes", flush)]),
            "oil-not-recorded"
        ),
        Some(Concession)
    );
}

/// Evaporator, 30 to 90 mL, usually 57.5, of which 30 % are 17.25; 20 mL are what oil is measured to (40 CFR 82 subpart B, appendix C). With the drier,
/// condenser and 40 mL recovered 91 to 240, usually 145, of which 30 % are 43.5, and 30 mL are remarked on.
#[test]
fn too_much_and_too_little() {
    let evaporator = |added: &str| {
        weight(
            &record(&[part("evaporator", "new", None)], None, Some(added), &[]),
            "oil-balance",
        )
    };
    for (added, expected) in [
        ("30 mL", None),
        ("90 mL", None),
        ("10 mL", None),
        ("9 mL", Some(Concession)),
        ("110 mL", None),
        ("111 mL", Some(Concession)),
    ] {
        assert_eq!(evaporator(added), expected, "{added}");
    }
    let all = [
        part("evaporator", "new", None),
        part("condenser", "new", None),
        part("receiver-drier", "new", None),
    ];
    let whole = |added: &str| record(&all, Some("40 mL"), Some(added), &[]);
    assert_eq!(due(&whole("100 mL")), Some([91.0, 145.0, 240.0]));
    for (added, expected) in [
        ("62 mL", None),
        ("60 mL", Some(Note)),
        ("48 mL", Some(Note)),
        ("47 mL", Some(Concession)),
        ("271 mL", Some(Note)),
        ("284 mL", Some(Concession)),
    ] {
        assert_eq!(weight(&whole(added), "oil-balance"), expected, "{added}");
    }
    let much = answer(&whole("300 mL"));
    assert_eq!(
        says(&much, "oil-balance"),
        "300 mL of oil went in; parts and recovery call for 91 mL to 240 mL: 60 mL too much."
    );
    // The circuit takes no more than its whole oil.
    let small = |added: &str| {
        record(
            &all,
            Some("40 mL"),
            Some(added),
            &[(
                "system",
                json!({ "refrigerant": "R-134a", "oil_total": "120 mL" }),
            )],
        )
    };
    assert_eq!(due(&small("100 mL")), Some([91.0, 120.0, 120.0]));
    assert_eq!(weight(&small("160 mL"), "oil-balance"), Some(Concession));
    // Nothing is called for: 60 mL is remarked on, by the older limits.
    assert_eq!(
        weight(
            &record(&[], Some("0 mL"), Some("60 mL"), &[]),
            "oil-balance"
        ),
        Some(Note)
    );
}

/// A flushed section calls for all oil of the parts in it, each part once; the whole circuit for all but the compressor's. A found leak and a discharge raise
/// the most.
#[test]
fn after_a_flush() {
    let flush = |section: &str, by: &str| {
        (
            "flushes",
            json!([{ "section": section, "by": by, "at": "2026-05-12T08:10:00Z" }]),
        )
    };
    let of = |parts: &[Value], more: (&str, Value)| due(&record(parts, None, None, &[more]));
    assert_eq!(
        of(&[], flush("compressor to condenser", "flushed")),
        Some([15.0, 45.0, 110.0])
    );
    assert_eq!(
        of(&[], flush("evaporator to compressor", "flushed")),
        Some([30.0, 67.5, 120.0])
    );
    assert_eq!(
        of(&[], flush("whole circuit", "flushed")),
        Some([45.0, 122.5, 260.0])
    );
    assert_eq!(
        of(
            &[part("condenser", "new", None)],
            flush("compressor to condenser", "flushed")
        ),
        Some([15.0, 45.0, 110.0]),
        "once"
    );
    assert_eq!(
        of(&[], flush("compressor to condenser", "filtered")),
        None,
        "its oil stayed in it"
    );
    assert_eq!(
        of(
            &[part("evaporator", "new", None)],
            ("open_since", json!("2026-05-01"))
        ),
        Some([30.0, 57.5, 180.0])
    );
}
