//! Explanations: there is one for each rule, and it tells the figures that the answer has.
use super::support::with;
use chillwright_calc::{
    JobRecord, UnitSystem, assess,
    checks::{
        explain::{text, why},
        limits::{ALL, LimitSettings, Limits},
        rules::{self, Rule, rule_of},
        talk, with_case,
    },
    parse,
};
use serde_json::{Value, json};

#[test]
fn every_rule_tells_its_reasons() {
    let limits = Limits::of(&LimitSettings::default());
    for rule in rules::ALL {
        for units in [UnitSystem::Si, UnitSystem::Us] {
            for text in sentences(rule, &limits, units) {
                assert!(
                    text.len() > 4 && text.ends_with('.') && !text.contains(['{', '}']),
                    "{text}"
                );
            }
        }
        assert!(
            rule.limits()
                .iter()
                .all(|key| ALL.iter().any(|limit| limit.key == *key)),
            "{:?}",
            rule.limits()
        );
        assert!(
            rule.weights.is_sorted()
                && !rule.weights.is_empty()
                && !rule.source.is_empty()
                && rule.short.len() < 24,
            "{}",
            rule.code.word()
        );
    }
}

fn sentences(r: &Rule, limits: &Limits, units: UnitSystem) -> [String; 3] {
    [
        r.law(limits, units),
        r.doubt(limits, units),
        r.change(limits, units),
    ]
}

/// What a reason tells of a limit is the shop's own, in the units of the page: each row another limit than the default, and what must be told of it.
#[test]
fn a_changed_limit_changes_its_reason() {
    for (code, key, set, si, us) in [
        (
            "barometer-doubtful",
            "elevation_uncertainty",
            "2 kPa",
            "about 2.0 kPa either way",
            "about 0.59 inHg either way",
        ),
        (
            "barometer-doubtful",
            "barometer_doubtful",
            "4 kPa",
            "4.0 kPa and more above",
            "1.18 inHg and more above",
        ),
        (
            "barometer-doubtful",
            "barometer_doubtful_elevation",
            "400 m",
            "more than 400 m",
            "more than 1312 ft",
        ),
        (
            "gauge-impossible",
            "impossible",
            "2 kPa",
            "never less than 2.0 kPa",
            "never less than 0.59 inHg",
        ),
        (
            "standing-pressure-high",
            "standing_excess",
            "20 kPa",
            "20.0 kPa or what 2 K make",
            "2.9 psi or what 3.6 °F make",
        ),
        (
            "standing-pressure-high",
            "standing_excess_temperature",
            "3 K",
            "what 3 K make",
            "what 5.4 °F make",
        ),
        (
            "recovery-missing",
            "empty_within",
            "20 kPa",
            "Within 20.0 kPa",
            "Within 2.9 psi",
        ),
        (
            "loss-unexplained",
            "loss_margin",
            "50 g",
            "50 g and what",
            "1.8 oz and what",
        ),
        (
            "desiccant-not-renewed",
            "desiccant_age",
            "P12M",
            "less than 12 months and an opening under 2 hours",
            "less than 12 months",
        ),
        (
            "desiccant-not-renewed",
            "desiccant_open",
            "PT45M",
            "under 45 min",
            "under 45 min",
        ),
        (
            "oil-balance",
            "oil_balance",
            "20 mL",
            "20 mL or 20 % of the whole",
            "0.7 fl oz or 20 % of the whole",
        ),
        (
            "oil-balance",
            "oil_balance_share",
            "25 %",
            "25 % of the whole",
            "25 % of the whole",
        ),
        (
            "evacuation-short",
            "evacuation_minimum",
            "PT45M",
            "45 min are",
            "45 min are",
        ),
        (
            "hold-failed",
            "temperature_doubt",
            "2 K",
            "what 2 K makes",
            "what 3.6 °F makes",
        ),
        (
            "hold-failed",
            "temperature_doubt_missing",
            "5 K",
            "(5 K where",
            "(9 °F where",
        ),
        (
            "hold-too-short",
            "hold_minimum",
            "PT20M",
            "20 min for a vacuum",
            "20 min for a vacuum",
        ),
        (
            "hold-too-short",
            "pressure_hold_minimum",
            "PT1H",
            "60 min for a pressure",
            "60 min for a pressure",
        ),
        (
            "hold-temperature-missing",
            "temperature_doubt_missing",
            "5 K",
            "5 K are allowed for instead of 1 K",
            "9 °F are allowed for instead of 1.8 °F",
        ),
        (
            "charge-mismatch",
            "charge_tolerance",
            "20 g",
            "20 g or 5 %",
            "0.71 oz or 5 %",
        ),
        (
            "charge-mismatch",
            "charge_tolerance_share",
            "4 %",
            "15 g or 4 %",
            "0.53 oz or 4 %",
        ),
        (
            "hold-not-sensitive",
            "check_sensitivity",
            "7 g/yr",
            "check of 7 g a year",
            "check of 0.247 oz a year",
        ),
    ] {
        let reason = rule_of(code).expect(code);
        let mut settings = LimitSettings::default();
        let told = |settings: &LimitSettings, units| {
            sentences(reason, &Limits::of(settings), units).join(" ")
        };
        let before = [
            told(&settings, UnitSystem::Si),
            told(&settings, UnitSystem::Us),
        ];
        settings.set(key, set).expect(key);
        for ((units, part), before) in [(UnitSystem::Si, si), (UnitSystem::Us, us)]
            .into_iter()
            .zip(before)
        {
            let after = told(&settings, units);
            assert!(
                after.contains(part) && after != before,
                "{key}: {part} {after}"
            );
        }
    }
}

/// A changed limit is told by each sentence that tells it.
#[test]
fn a_changed_limit_changes_every_sentence() {
    let set = |key: &str, text: &str, changes: &[(&str, Value)]| {
        let mut record = with(changes);
        record["limits"] = json!({ key: text });
        parse(&record.to_string()).expect("a record")
    };
    let next = |record: &JobRecord, code: &str| {
        let found = assess(record, UnitSystem::Us)
            .findings
            .into_iter()
            .find(|f| f.code == code)
            .expect(code);
        format!("{} {}", found.says, found.do_next)
    };
    let record = set("hold_minimum", "PT25M", &[("/holds", json!([]))]);
    assert!(
        next(&record, "hold-missing").contains("after at least 25 min"),
        "{}",
        next(&record, "hold-missing")
    );
    let nitrogen = json!({ "kind": "pressure", "ended_at": "2026-05-12T08:59:00Z", "gauge": { "resolution": "1 psi" }, "readings": [
        { "at": "2026-05-12T08:26:00Z", "pressure": "150 psig" }, { "at": "2026-05-12T08:58:00Z", "pressure": "150 psig" }] });
    let record = set(
        "temperature_doubt_missing",
        "5 K",
        &[("/holds/-", nitrogen)],
    );
    assert!(
        next(&record, "hold-temperature-missing").contains("A change of 9 °F"),
        "{}",
        next(&record, "hold-temperature-missing")
    );
    let deep = json!({ "id": "h1", "kind": "vacuum", "ended_at": "2026-05-12T10:03:00Z", "gauge": { "resolution": "1 micron" }, "readings": [
        { "at": "2026-05-12T09:43:00Z", "pressure": "300 micron", "temperature": "22 degC" }, { "at": "2026-05-12T10:03:00Z", "pressure": "700 micron", "temperature": "22 degC" }] });
    let record = set(
        "outgassing_evacuation",
        "PT45M",
        &[
            ("/holds/0", deep),
            ("/charging", json!([])),
            ("/leak_checks", json!([])),
            ("/performance", json!([])),
        ],
    );
    assert_eq!(
        with_case(&record, UnitSystem::Si, |case| talk::hold(
            case,
            &case.holds[0]
        )
        .next),
        "Evacuate for 45 min more and hold again."
    );
    assert!(
        next(&record, "hold-inconclusive").contains("vacuate for 45 min more"),
        "{}",
        next(&record, "hold-inconclusive")
    );
    let record = set(
        "assumed_resolution",
        "0.2 inHg",
        &[("/holds/0/gauge", Value::Null)],
    );
    let assumed = assess(&record, UnitSystem::Si).figures.assumed;
    assert_eq!(
        assumed
            .iter()
            .map(|a| (a.key.as_str(), a.value.as_str()))
            .collect::<Vec<_>>(),
        [("holds.h1.gauge.resolution", "0.2 inHg")]
    );
}

/// A pressure hold that began too low says by how much in the units of the page; the figure is the same in both.
#[test]
fn a_weak_pressure_hold_tells_its_limit_in_either_system() {
    let weak = json!({ "id": "n1", "kind": "pressure", "ended_at": "2026-05-12T10:59:00Z", "gauge": { "resolution": "1 psi" }, "readings": [
        { "at": "2026-05-12T10:10:00Z", "pressure": "10 psig", "temperature": "22 degC" }, { "at": "2026-05-12T10:58:00Z", "pressure": "10 psig", "temperature": "22 degC" }] });
    let record = parse(&with(&[("/holds", json!([weak]))]).to_string()).expect("a record");
    for (units, least) in [
        (UnitSystem::Si, "(15 psi at least)"),
        (UnitSystem::Us, "(15 psi at least)"),
    ] {
        let answer = assess(&record, units);
        assert_eq!(
            answer.figures.holds[0].why.as_deref(),
            Some("it began with less pressure above the air than it takes")
        );
        let missing = answer
            .findings
            .into_iter()
            .find(|f| f.code == "hold-missing")
            .expect("a finding")
            .says;
        let (spoken, told) = with_case(&record, units, |case| {
            (talk::hold(case, &case.holds[0]).why, text(case))
        });
        assert!(
            [&missing, &spoken, &told].iter().all(|t| t.contains(least)),
            "{missing} {spoken} {told}"
        );
    }
}

/// Every figure of the answer that is not null is told, by its name and with its number.
#[test]
fn every_figure_is_told() {
    let nitrogen = json!({ "id": "n1", "kind": "pressure", "gas": "nitrogen", "ended_at": "2026-05-12T08:59:00Z", "gauge": { "resolution": "1 psi" }, "readings": [
        { "at": "2026-05-12T08:28:00Z", "pressure": "150 psig", "temperature": "22 degC" }, { "at": "2026-05-12T08:58:00Z", "pressure": "145 psig", "temperature": "22 degC" }] });
    let told = |changes: &[(&str, Value)]| {
        with_case(
            &parse(&with(changes).to_string()).expect("a record"),
            UnitSystem::Si,
            text,
        )
    };
    let all = told(&[
        ("/holds/-", nitrogen),
        (
            "/previous_charge",
            json!({ "at": "2024-05-11T09:05:00Z", "mass": "600 g" }),
        ),
        ("/performance/0/suction_line", json!("9 degC")),
        ("/performance/0/liquid_line", json!("41 degC")),
    ]);
    for part in [
        "the air’s pressure: 100.9 ± 0.1 kPa abs",
        "standing pressure above saturation: ",
        "  recovered: 380 g\n      the cylinder after less before: 380 g ± 5.0 g\n",
        "lost: 220 g",
        "a year: 110 g a year",
        "lowest pressure: 28 inHg vacuum",
        "uncertainty: 0.28 inHg",
        "there water boils at: 36.4 °C",
        "does it dry: no",
        "it took: 42 min",
        // 5 psi in half an hour.
        "slope: -10 psi an hour",
        "slope: 0 inHg an hour",
        "drop: 5 psi",
        "rise: 0 inHg",
        "bound: ",
        "leak: ",
        "smallest leak that it rules out: ",
        "such a leak would empty the car in: ",
        "verdict: leak",
        "net charge: 555 g",
        "difference: -45 g",
        "air left: 0.2 g",
        "of the charge: ",
        "oil out: 30 mL",
        "oil in: 30 mL",
        // (190 psi + 100.9 kPa)/(32 psi + 100.9 kPa).
        "pressure ratio: 4.39",
        "evaporating at: ",
        "condensing at: ",
        "condensing above ambient: ",
        "superheat: ",
        "subcooling: ",
    ] {
        assert!(all.contains(part), "{part}\n{all}");
    }
    // Without a charge on record or on the label there are no ppm, and yet air.
    let uncharged = told(&[("/charging", json!([])), ("/system/charge", Value::Null)]);
    assert!(
        uncharged.contains("air left: 0.2 g") && !uncharged.contains("ppm"),
        "{uncharged}"
    );
}

/// A case worked before this code was written: 28 inHg on a dial of 0.5 inHg, 20 min, 2.5 L, 600 g R-134a, 0 m, 22 degC: 306.4 kg a year, 17.2 hours.
#[test]
fn the_worked_hold_is_explained_step_by_step() {
    let record = parse(
        r#"{ "version": 1, "site": { "elevation": "0 m" }, "system": { "refrigerant": "R-134a", "charge": "600 g", "internal_volume": "2.5 L" },
             "holds": [ { "id": "h1", "kind": "vacuum", "gauge": { "resolution": "0.5 inHg" }, "ended_at": "2026-05-12T10:03:00Z", "readings": [
               { "at": "2026-05-12T09:43:00Z", "pressure": "28 inHg vacuum", "temperature": "22 degC" },
               { "at": "2026-05-12T10:03:00Z", "pressure": "28 inHg vacuum", "temperature": "22 degC" } ] } ] }"#,
    )
    .expect("a record");
    let told = with_case(&record, UnitSystem::Si, text);
    for part in [
        "101.3 ± 1.5 kPa abs",
        "ISO 2533",
        "one graduation, 0.5 inHg, and what 1 K make of the first pressure at 22 °C",
        "smallest leak that it rules out: 306 kg a year",
        "laminar 306 kg a year",
        "such a leak would empty the car in: 17.2 hours",
        "verdict: held",
    ] {
        assert!(told.contains(part), "{part}\n{told}");
    }
    let us = with_case(&record, UnitSystem::Us, text);
    assert!(us.contains("0.5 inHg") && !us.contains(" kPa"), "{us}");
}

/// Each finding of the scenario: its figures are those of the answer, in either system.
#[test]
fn a_finding_tells_the_figures_of_the_answer() {
    let record = parse(include_str!("records/scenario.json")).expect("a record");
    for units in [UnitSystem::Si, UnitSystem::Us] {
        let answer = assess(&record, units);
        with_case(&record, units, |case| {
            for finding in &answer.findings {
                let why = why(case, finding);
                assert!(!why.law.is_empty(), "{}", finding.code);
                let steps: Vec<String> = why
                    .steps
                    .iter()
                    .map(|s| format!("{}: {}", s.name, s.value))
                    .collect();
                let expected: &[&str] = match (finding.code.as_str(), units) {
                    ("charge-mismatch", UnitSystem::Si) => &[
                        "net charge: 555 g",
                        "it should be: 600 g ± 25 g",
                        "difference: -45 g",
                    ],
                    ("charge-mismatch", UnitSystem::Us) => &[
                        "net charge: 19.6 oz",
                        "it should be: 21.2 oz ± 0.88 oz",
                        "difference: -1.6 oz",
                    ],
                    ("evacuation-does-not-dry", UnitSystem::Si) => &[
                        "there water boils at: 36.4 °C",
                        "it has to be below: 29 inHg vacuum",
                        "the gauge has to show: 29.3 inHg vacuum",
                    ],
                    ("hold-not-sensitive", UnitSystem::Si) => &[
                        "smallest leak that it rules out: 309 kg a year",
                        "limit: 40 g a year",
                    ],
                    _ => &[],
                };
                for e in expected {
                    assert!(steps.iter().any(|s| s == e), "{e} {steps:?}");
                }
            }
        });
    }
}
