//! Explanations: there is one for each rule, and it tells the figures that the answer has.
use chillwright_calc::{
    UnitSystem, assess,
    checks::{
        explain::{REASONS, text, why},
        rules, with_case,
    },
    parse,
};
use std::collections::BTreeSet;

#[test]
fn every_rule_has_a_reason_and_no_reason_is_left_over() {
    let rules: BTreeSet<&str> = rules::ALL.iter().map(|r| r.code).chain(["nothing-done"]).collect();
    let reasons: BTreeSet<&str> = REASONS.iter().map(|r| r.code).collect();
    assert_eq!(rules, reasons);
    assert_eq!(reasons.len(), REASONS.len(), "a rule has two");
    for r in REASONS {
        assert!([r.law, r.doubt, r.change].iter().all(|t| t.len() > 4 && t.ends_with('.')), "{}", r.code);
    }
}

/// The worked case of checks.md: 28 inHg on a dial of 0.5 inHg, 20 min, 2.5 L, 600 g R-134a, 0 m, 22 degC: 306.4 kg a year, 17.2 hours.
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
        "101.3 kPa, give or take 1.5 kPa",
        "ISO 2533",
        "one graduation, 1.7 kPa, and what 1 K make of the first pressure at 22 °C",
        "smallest leak that it rules out: 306 kg a year",
        "laminar 306 kg a year",
        "such a leak would empty the car in: 17.2 hours",
        "verdict: held",
    ] {
        assert!(told.contains(part), "{part}\n{told}");
    }
    let us = with_case(&record, UnitSystem::Us, text);
    assert!(us.contains("0.50 inHg") && !us.contains(" kPa"), "{us}");
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
                let steps: Vec<String> = why.steps.iter().map(|s| format!("{}: {}", s.name, s.value)).collect();
                let expected: &[&str] = match (finding.code.as_str(), units) {
                    ("charge-mismatch", UnitSystem::Si) => &["net charge: 555 g", "it should be: 600 g, give or take 25 g", "difference: -45 g"],
                    ("charge-mismatch", UnitSystem::Us) => &["net charge: 19.6 oz", "it should be: 21.2 oz, give or take 0.88 oz", "difference: -1.6 oz"],
                    ("evacuation-does-not-dry", UnitSystem::Si) => {
                        &["there water boils at: 36.4 °C", "it has to be below: 2.6 kPa", "the gauge has to show: more than 29.3 inHg"]
                    }
                    ("hold-not-sensitive", UnitSystem::Si) => &["smallest leak that it rules out: 309 kg a year", "limit: 40 g a year"],
                    _ => &[],
                };
                for e in expected {
                    assert!(steps.iter().any(|s| s == e), "{e} {steps:?}");
                }
            }
        });
    }
}
