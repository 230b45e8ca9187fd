//! For each rule a record that fires it, and one that does not: the worked scenario with one thing changed.
use super::support::{answer, scenario, weight, with};
use chillwright_calc::record::answer::Weight::{self, Blocks, Concession, Note};
use serde_json::{Value, json};

/// The change that fires the rule, and its weight then. Without the change the scenario does not fire it.
fn fires(code: &str, expected: Weight, changes: &[(&str, Value)]) {
    assert_eq!(weight(&scenario(), code), None, "{code} without the change");
    assert_eq!(
        weight(&with(changes), code),
        Some(expected),
        "{code} with the change"
    );
}

/// The scenario fires it; the change takes it away.
fn cured(code: &str, expected: Weight, changes: &[(&str, Value)]) {
    assert_eq!(
        weight(&scenario(), code),
        Some(expected),
        "{code} without the change"
    );
    assert_eq!(weight(&with(changes), code), None, "{code} with the change");
}

#[test]
fn what_gas_and_where_it_went() {
    fires(
        "wrong-refrigerant",
        Blocks,
        &[("/charging/0/refrigerant", json!("R-1234yf"))],
    );
    fires(
        "recovered-other",
        Note,
        &[("/recovery/0/refrigerant", json!("R-12"))],
    );
    fires("recovery-missing", Concession, &[("/recovery", json!([]))]);
    let empty = with(&[
        ("/recovery", json!([])),
        ("/standing/0/pressure", json!("0 psig")),
    ]);
    assert_eq!(
        weight(&empty, "recovery-missing"),
        None,
        "an empty circuit has nothing to recover"
    );
    fires(
        "standing-pressure-high",
        Note,
        &[("/standing/0/pressure", json!("90 psig"))],
    );
    fires(
        "mixture-unidentified",
        Concession,
        &[("/identification/0/sealant", json!(true))],
    );
    let wrong = json!({ "R-134a": "95 %", "hydrocarbon": "4 %" });
    fires(
        "wrong-gas-found",
        Note,
        &[("/identification/0/gases", wrong.clone())],
    );
    let not_evacuated = with(&[
        ("/identification/0/gases", wrong),
        ("/evacuations", json!([])),
    ]);
    assert_eq!(weight(&not_evacuated, "wrong-gas-found"), Some(Blocks));
    fires(
        "contaminated-cylinder",
        Blocks,
        &[("/charging/0/contaminated", json!(true))],
    );
    fires(
        "conversion-incomplete",
        Concession,
        &[("/system/converted_from", json!("R-12"))],
    );
    fires("loss-unexplained", Concession, &[("/leaks", json!([]))]);
    fires(
        "overcharge-found",
        Note,
        &[("/recovery/0/after", json!("11.88 kg"))],
    );
    fires(
        "recovery-doubtful",
        Note,
        &[("/recovery/0/after", json!("11.22 kg"))],
    );
}

#[test]
fn parts() {
    fires(
        "provenance-incomplete",
        Concession,
        &[("/parts/0/donor/receipt", Value::Null)],
    );
    fires(
        "provenance-incomplete",
        Note,
        &[("/parts/0/donor/pulled_on", Value::Null)],
    );
    fires(
        "donor-vin-doubtful",
        Note,
        &[("/parts/0/donor/vin", json!("1G4AH59H45G118331"))],
    );
    fires(
        "desiccant-salvaged",
        Concession,
        &[("/parts/0/contains_desiccant", json!(true))],
    );
    fires(
        "desiccant-salvaged",
        Blocks,
        &[("/parts/1/source", json!("salvaged"))],
    );
    fires(
        "desiccant-not-renewed",
        Concession,
        &[("/parts/1/role", json!("pipe"))],
    );
    fires("ports-open", Note, &[("/parts/0/ports", json!("open"))]);
    fires(
        "compressor-debris-unflushed",
        Blocks,
        &[("/system/compressor_failed", json!({ "debris": true }))],
    );
    fires(
        "part-seen-before",
        Note,
        &[("/parts/0/seen_before", json!(true))],
    );
    fires(
        "isolation-missing",
        Blocks,
        &[("/system/compressor_drive", json!("electric"))],
    );
    let live = json!([{ "id": "hv1", "at": "2026-05-11T09:10:00Z", "measured": "400 V" }]);
    fires(
        "isolation-not-proved",
        Blocks,
        &[
            ("/system/compressor_drive", json!("electric")),
            ("/isolation", live),
        ],
    );
    cured(
        "improvised-fixing",
        Concession,
        &[("/fixings/0/kind", json!("standard"))],
    );
}

const DEBRIS: [&str; 3] = [
    "compressor to condenser",
    "condenser to evaporator",
    "evaporator to compressor",
];

/// The sections that debris may still be in after a flush of this one.
fn debris_after(section: &str, by: Option<&str>) -> Vec<String> {
    let mut flush = json!({ "section": section, "at": "2026-05-12T08:00:00Z" });
    if let Some(by) = by {
        flush["by"] = json!(by);
    }
    let record = with(&[
        ("/system/compressor_failed", json!({ "debris": true })),
        ("/flushes", json!([flush])),
    ]);
    answer(&record)
        .findings
        .into_iter()
        .filter(|f| f.code == "compressor-debris-unflushed")
        .map(|f| f.about)
        .collect()
}

/// One section at a time: its own name clears it and no other.
#[test]
fn debris_is_asked_for_in_each_section() {
    for done in DEBRIS {
        let left: Vec<&str> = DEBRIS.into_iter().filter(|s| *s != done).collect();
        for by in ["flushed", "renewed", "filtered"] {
            assert_eq!(debris_after(done, Some(by)), left, "{done}");
        }
        assert_eq!(
            debris_after(&format!(" {} ", done.to_uppercase()), Some("flushed")),
            left,
            "{done}"
        );
        assert_eq!(
            debris_after(done, None),
            DEBRIS,
            "{done}, and nobody knows how"
        );
    }
    assert_eq!(debris_after("whole circuit", Some("flushed")), [""; 0]);
}

/// Words of one's own: what names a section by its ends or its line clears that one; what may mean two clears none.
#[test]
fn debris_in_other_words() {
    for (words, cleared) in [
        ("condenser", Some(0)),
        ("discharge hose", Some(0)),
        ("compressor - condenser", Some(0)),
        ("from the condenser to the evaporator", Some(1)),
        ("liquid line", Some(1)),
        ("condenser, liquid line", Some(1)),
        ("evaporator/compressor", Some(2)),
        ("suction hose", Some(2)),
        ("evaporator", None),
        ("compressor, condenser and evaporator", None),
        ("the hose", None),
    ] {
        let left: Vec<&str> = DEBRIS
            .into_iter()
            .enumerate()
            .filter(|(i, _)| cleared != Some(*i))
            .map(|(_, s)| s)
            .collect();
        assert_eq!(debris_after(words, Some("flushed")), left, "{words}");
    }
    assert_eq!(
        debris_after(
            "condenser to evaporator, evaporator to compressor",
            Some("flushed")
        ),
        ["compressor to condenser"]
    );
}

/// Desiccant of half a year and an opening of half an hour excuse a drier that was refitted, and no new desiccant; a circuit that had stood open
/// excuses neither.
#[test]
fn young_desiccant_is_excused_unless_it_stood_open() {
    let refitted = |more: &[(&str, Value)]| {
        let mut changes = vec![
            ("/parts/1/source", json!("refitted")),
            ("/desiccant_last_renewed", json!("2025-11-01")),
            ("/evacuations/0/started_at", json!("2026-05-11T10:00:00Z")),
        ];
        // Everything within one hour of the first opening.
        changes.extend([
            ("/parts/0/fitted_at", json!("2026-05-11T09:50:00Z")),
            ("/parts/1/fitted_at", json!("2026-05-11T09:50:00Z")),
        ]);
        changes.extend((0..3).map(|i| {
            (
                [
                    "/joints/0/seals/0/at",
                    "/joints/1/seals/0/at",
                    "/joints/2/seals/0/at",
                ][i],
                json!("2026-05-11T09:50:00Z"),
            )
        }));
        changes.extend(more.iter().cloned());
        let record = with(&changes);
        (
            weight(&record, "desiccant-salvaged"),
            weight(&record, "desiccant-not-renewed"),
        )
    };
    assert_eq!(refitted(&[]), (None, None));
    assert_eq!(
        refitted(&[("/desiccant_last_renewed", json!("2024-01-01"))]),
        (Some(Blocks), None),
        "too old"
    );
    assert_eq!(
        refitted(&[("/open_since", json!("2026-05-11T09:30:00Z"))]),
        (Some(Blocks), None)
    );
    let pipe = ("/parts/1/role", json!("pipe"));
    assert_eq!(refitted(std::slice::from_ref(&pipe)), (None, None));
    assert_eq!(
        refitted(&[pipe, ("/open_since", json!("2026-05-11T09:30:00Z"))]),
        (None, Some(Concession))
    );
}

#[test]
fn seals() {
    let seal = |s: Value| vec![("/joints/3/seals", json!([s]))];
    cured(
        "seal-not-inspected",
        Blocks,
        &seal(json!({ "at": "2026-05-12T08:13:00Z", "renewed": true, "lubricant": "mineral oil" })),
    );
    fires(
        "seal-unsound",
        Blocks,
        &seal(
            json!({ "at": "2026-05-12T08:13:00Z", "condition": "nicked", "lubricant": "mineral oil" }),
        ),
    );
    fires(
        "seal-reused",
        Note,
        &seal(
            json!({ "at": "2026-05-12T08:13:00Z", "condition": "sound", "renewed": false, "lubricant": "mineral oil" }),
        ),
    );
    fires(
        "seal-reused",
        Blocks,
        &seal(
            json!({ "at": "2026-05-12T08:13:00Z", "condition": "sound", "renewed": false, "from_donor": true, "lubricant": "mineral oil" }),
        ),
    );
    fires(
        "seal-dry",
        Note,
        &seal(json!({ "at": "2026-05-12T08:13:00Z", "condition": "sound", "renewed": true })),
    );
    let no_joint = with(&[("/parts/1/joints", json!([]))]);
    assert_eq!(
        weight(&no_joint, "seal-not-inspected"),
        Some(Blocks),
        "a fitted part that names no joint"
    );
}

#[test]
fn oil() {
    fires(
        "oil-type-mismatch",
        Concession,
        &[(
            "/oil_added",
            json!([{ "type": "PAG 100", "volume": "10 mL" }]),
        )],
    );
    fires(
        "oil-type-mismatch",
        Blocks,
        &[(
            "/oil_added",
            json!([{ "type": "POE 68", "volume": "10 mL" }]),
        )],
    );
    // The evaporator calls for 20 mL, which drained, to 90; the drier for 6 to 30; 10 came out; the leak took up to 30: 36 mL and no more than the whole, 120.
    let added = |ml: i32| {
        [(
            "/oil_added",
            json!([{ "type": "PAG 46", "volume": format!("{ml} mL") }]),
        )]
    };
    assert_eq!(
        weight(&with(&added(110)), "oil-balance"),
        None,
        "140 mL: 20 too much, as well as oil is measured"
    );
    fires("oil-balance", Concession, &added(120));
    let whole = |ml: i32| [("/system/oil_total", json!("300 mL")), added(ml)[0].clone()];
    assert_eq!(
        weight(&with(&whole(130)), "oil-balance"),
        None,
        "160 mL, all that is called for"
    );
    fires(
        "oil-not-recorded",
        Concession,
        &[("/parts/0/oil_added", Value::Null)],
    );
}

#[test]
fn evacuation() {
    fires("evacuation-missing", Blocks, &[("/evacuations", json!([]))]);
    let electronic = json!({ "id": "e1", "started_at": "2026-05-12T09:00:00Z", "ended_at": "2026-05-12T09:42:00Z", "coldest_metal": "22 degC", "gauge": { "resolution": "10 micron" }, "readings": [{ "at": "2026-05-12T09:42:00Z", "pressure": "400 micron" }] });
    cured(
        "evacuation-does-not-dry",
        Concession,
        &[("/evacuations/0", electronic)],
    );
    fires(
        "dryness-not-shown",
        Note,
        &[("/evacuations/0/coldest_metal", Value::Null)],
    );
    fires(
        "evacuation-short",
        Note,
        &[("/evacuations/0/started_at", json!("2026-05-12T09:20:00Z"))],
    );
    fires(
        "gauge-impossible",
        Note,
        &[(
            "/evacuations/0/readings/0/pressure",
            json!("31 inHg vacuum"),
        )],
    );
    fires("elevation-missing", Note, &[("/site", json!({}))]);
    fires(
        "barometer-doubtful",
        Note,
        &[(
            "/site",
            json!({ "barometer": "101.3 kPa abs", "elevation": "1500 m" }),
        )],
    );
}

#[test]
fn holds() {
    fires("hold-missing", Blocks, &[("/holds", json!([]))]);
    fires(
        "hold-failed",
        Blocks,
        &[("/holds/0/readings/1/pressure", json!("26 inHg vacuum"))],
    );
    fires(
        "hold-too-short",
        Concession,
        &[("/holds/0/readings/1/at", json!("2026-05-12T09:50:00Z"))],
    );
    let deep = json!({ "id": "h1", "kind": "vacuum", "ended_at": "2026-05-12T10:03:00Z", "gauge": { "resolution": "1 micron" }, "readings": [
        { "at": "2026-05-12T09:43:00Z", "pressure": "300 micron", "temperature": "22 degC" }, { "at": "2026-05-12T10:03:00Z", "pressure": "700 micron", "temperature": "22 degC" }] });
    fires("hold-inconclusive", Concession, &[("/holds/0", deep)]);
    let water = json!({ "id": "h1", "kind": "vacuum", "ended_at": "2026-05-12T10:03:00Z", "gauge": { "resolution": "10 micron" }, "readings": [
        { "at": "2026-05-12T09:43:00Z", "pressure": "19840 micron", "temperature": "22 degC" }, { "at": "2026-05-12T10:03:00Z", "pressure": "19840 micron", "temperature": "22 degC" }] });
    fires("hold-moisture", Concession, &[("/holds/0", water)]);
    let nitrogen = json!({ "id": "h0", "kind": "pressure", "ended_at": "2026-05-12T08:59:00Z", "gauge": { "resolution": "1 psi" }, "readings": [
        { "at": "2026-05-12T08:26:00Z", "pressure": "150 psig" }, { "at": "2026-05-12T08:58:00Z", "pressure": "150 psig" }] });
    fires(
        "hold-temperature-missing",
        Note,
        &[("/holds/-", nitrogen.clone())],
    );
    let changed = |key: &str, value: Value| {
        let mut hold = nitrogen.clone();
        hold[key] = value;
        hold
    };
    fires(
        "test-gas-unsafe",
        Blocks,
        &[("/holds/-", changed("gas", json!("oxygen")))],
    );
    let too_high = json!([{ "at": "2026-05-12T08:26:00Z", "pressure": "260 psig" }, { "at": "2026-05-12T08:58:00Z", "pressure": "260 psig" }]);
    fires(
        "test-pressure-high",
        Blocks,
        &[("/holds/-", changed("readings", too_high))],
    );
    let check = json!([{ "method": "electronic", "at": "2026-05-12T11:40:00Z", "sensitivity": "4 g/yr", "proved_on": "reference leak", "places": ["j1", "j2", "j3", "j4"] }]);
    cured("hold-not-sensitive", Concession, &[("/leak_checks", check)]);
}

#[test]
fn leaks() {
    fires(
        "leak-found",
        Blocks,
        &[("/leaks/0/repaired_at", Value::Null)],
    );
    let found = json!({ "method": "electronic", "at": "2026-05-12T11:40:00Z", "sensitivity": "4 g/yr", "places": ["j1"], "found": ["j1"] });
    fires(
        "leak-found",
        Blocks,
        &[("/leak_checks", json!([found.clone()]))],
    );
    let coarser = json!({ "method": "electronic", "at": "2026-05-12T12:40:00Z", "sensitivity": "14 g/yr", "places": ["j1"], "found": [] });
    assert_eq!(
        weight(
            &with(&[("/leak_checks", json!([found.clone(), coarser]))]),
            "leak-found"
        ),
        Some(Blocks),
        "a coarser check clears nothing"
    );
    let finer = json!({ "method": "electronic", "at": "2026-05-12T12:40:00Z", "sensitivity": "4 g/yr", "places": ["drier inlet"], "found": [] });
    assert_eq!(
        weight(
            &with(&[("/leak_checks", json!([found, finer]))]),
            "leak-found"
        ),
        None
    );
}

#[test]
fn charge() {
    fires(
        "charged-before-hold",
        Concession,
        &[("/charging/0/at", json!("2026-05-12T09:50:00Z"))],
    );
    fires("charge-missing", Blocks, &[("/charging", json!([]))]);
    fires(
        "charge-missing",
        Blocks,
        &[("/charging", json!([])), ("/performance", json!([]))],
    );
    fires(
        "charge-unweighed",
        Concession,
        &[("/charging/0/after", Value::Null)],
    );
    fires(
        "charge-unspecified",
        Concession,
        &[("/system/charge", Value::Null)],
    );
    cured(
        "charge-mismatch",
        Concession,
        &[("/charging/0/after", json!("9.235 kg"))],
    );
    assert_eq!(
        weight(
            &with(&[("/charging/0/after", json!("9.4 kg"))]),
            "charge-mismatch"
        ),
        Some(Blocks),
        "more than a fifth short"
    );
    assert_eq!(
        weight(
            &with(&[("/charging/0/after", json!("9.15 kg"))]),
            "charge-mismatch"
        ),
        Some(Blocks),
        "more than a tenth too much"
    );
    fires(
        "hose-not-recorded",
        Note,
        &[("/charging/0/left_in_hose", Value::Null)],
    );
    fires(
        "charge-unknown",
        Concession,
        &[
            ("/evacuations", json!([])),
            ("/holds", json!([])),
            ("/joints", json!([])),
            ("/parts", json!([])),
        ],
    );
    fires(
        "charge-not-shown",
        Note,
        &[("/charging/0/scale/resolution", json!("50 g"))],
    );
    fires(
        "air-left",
        Note,
        &[("/holds/0/readings/1/pressure", json!("24 inHg vacuum"))],
    );
}

#[test]
fn performance() {
    fires(
        "performance-missing",
        Blocks,
        &[("/performance", json!([]))],
    );
    fires(
        "performance-missing",
        Concession,
        &[
            ("/performance", json!([])),
            ("/performance_omitted", json!("too cold outside")),
        ],
    );
    fires(
        "vent-warm",
        Concession,
        &[("/performance/0/vent", json!("16 degC"))],
    );
    fires(
        "vent-warm",
        Blocks,
        &[("/performance/0/vent", json!("22 degC"))],
    );
    let side = |low: &str, high: &str| {
        [
            ("/performance/0/low_side", json!(low)),
            ("/performance/0/high_side", json!(high)),
        ]
    };
    fires("cooling-fault", Concession, &side("48 psig", "100 psig"));
    fires(
        "liquid-at-compressor",
        Concession,
        &[("/performance/0/suction_line", json!("3 degC"))],
    );
    let orifice = with(&[
        ("/performance/0/suction_line", json!("3 degC")),
        ("/system/metering", json!("orifice-tube")),
    ]);
    assert_eq!(
        weight(&orifice, "liquid-at-compressor"),
        None,
        "an accumulator keeps it back"
    );
    fires(
        "high-side-limit",
        Blocks,
        &[("/performance/0/high_side", json!("412 psig"))],
    );
    assert_eq!(
        weight(
            &with(&[("/performance/0/high_side", json!("409 psig"))]),
            "high-side-limit"
        ),
        None
    );
    fires(
        "freeze-risk",
        Note,
        &[("/performance/0/low_side", json!("18 psig"))],
    );
    for not_flooded in [
        vec![
            ("/performance/0/low_side", json!("18 psig")),
            ("/performance/0/vent", json!("14 degC")),
        ],
        vec![
            ("/performance/0/low_side", json!("18 psig")),
            ("/performance/0/suction_line", json!("12 degC")),
        ],
        vec![("/performance/0/low_side", json!("24 inHg vacuum"))],
    ] {
        assert_eq!(
            weight(&with(&not_flooded), "freeze-risk"),
            None,
            "{not_flooded:?}"
        );
    }
    fires(
        "condensing-high",
        Note,
        &[("/performance/0/high_side", json!("240 psig"))],
    );
    fires(
        "condensing-high",
        Concession,
        &[("/performance/0/high_side", json!("300 psig"))],
    );
    fires("cap-missing", Note, &[("/ports/0/cap", json!(false))]);
}

/// Two gauges on one hold: a dial of 0.5 inHg and an electronic gauge that stand 6 inHg apart.
#[test]
fn two_gauges() {
    let reading = |at: &str, pressure: &str, gauge: Option<Value>| {
        let mut r = json!({ "at": at, "pressure": pressure, "temperature": "22 degC" });
        if let Some(gauge) = gauge {
            r["gauge"] = gauge;
        }
        r
    };
    let fine = || Some(json!({ "id": "V-1", "resolution": "10 micron" }));
    let hold = |micron: &str| {
        json!({ "id": "h1", "kind": "vacuum", "ended_at": "2026-05-12T10:03:00Z", "gauge": { "id": "G-1", "resolution": "0.5 inHg" }, "readings": [
            reading("2026-05-12T09:43:00Z", "29.5 inHg vacuum", None), reading("2026-05-12T09:43:30Z", micron, fine()),
            reading("2026-05-12T10:03:00Z", "29.5 inHg vacuum", None), reading("2026-05-12T10:02:30Z", micron, fine())] })
    };
    fires(
        "gauges-disagree",
        Concession,
        &[("/holds/0", hold("150000 micron"))],
    );
    assert_eq!(
        weight(
            &with(&[("/holds/0", hold("6000 micron"))]),
            "gauges-disagree"
        ),
        None,
        "within both graduations and the weather"
    );
}

/// Without any work there is one finding only.
#[test]
fn nothing_done_yet() {
    let record = json!({ "version": 1, "system": { "refrigerant": "R-134a" } });
    let found: Vec<_> = answer(&record)
        .findings
        .into_iter()
        .map(|f| (f.code, f.weight))
        .collect();
    assert_eq!(found, [("nothing-done".to_owned(), Blocks)]);
}

/// Every rule of the table is fired by a test above.
#[test]
fn no_rule_is_forgotten() {
    let here = include_str!("rules.rs");
    for rule in chillwright_calc::checks::rules::ALL {
        assert!(
            here.contains(&format!("\"{}\"", rule.code.word())),
            "{}",
            rule.code.word()
        );
    }
}
