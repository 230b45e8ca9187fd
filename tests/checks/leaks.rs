//! What proves the repair of a leak that was found, and by what limit leaks are judged.
use super::support::{answer, weight, with};
use chillwright_calc::record::answer::Weight::Blocks;
use serde_json::{Value, json};

/// The scenario with the leak at a joint whose seal was renewed, and something more.
fn at_a_joint(more: &[(&str, Value)]) -> Value {
    let mut changes = vec![
        ("/leaks/0/place", json!("j3")),
        (
            "/joints/3/seals",
            json!([{ "at": "2026-05-12T08:13:00Z", "renewed": true, "lubricant": "mineral oil" }]),
        ),
    ];
    changes.extend(more.iter().cloned());
    with(&changes)
}

fn check(places: Value, proved: &str, at: &str) -> Value {
    json!([{ "method": "electronic", "at": at, "sensitivity": "4 g/yr", "proved_on": proved, "places": places }])
}

/// The evaporator that leaked was replaced: a vacuum hold is enough. A joint with a new seal is another matter.
#[test]
fn a_vacuum_hold_proves_no_seal() {
    assert_eq!(
        weight(&with(&[]), "leak-found"),
        None,
        "the evaporator core went out with the evaporator"
    );
    let record = at_a_joint(&[]);
    let found = answer(&record)
        .findings
        .into_iter()
        .find(|f| f.code == "leak-found")
        .expect("a finding");
    assert_eq!((found.weight, found.about.as_str()), (Blocks, "l1"));
    assert_eq!(
        found.says,
        "The repair at evaporator inlet is not proved: only a vacuum was held since, and a seal can hold against a vacuum and leak under pressure."
    );
    assert_eq!(
        found.do_next,
        "Check evaporator inlet with an electronic detector set to 14 g a year or finer, proved on a reference leak."
    );
}

#[test]
fn a_clean_proved_check_of_the_joint_clears_it() {
    let after = "2026-05-12T11:40:00Z";
    assert_eq!(
        weight(
            &at_a_joint(&[(
                "/leak_checks",
                check(json!(["evaporator inlet"]), "reference leak", after)
            )]),
            "leak-found"
        ),
        None
    );
    for (what, check) in [
        (
            "another place",
            check(json!(["j1"]), "reference leak", after),
        ),
        ("not proved", check(json!(["j3"]), "none", after)),
        (
            "before anything was inside",
            check(json!(["j3"]), "reference leak", "2026-05-12T08:30:00Z"),
        ),
    ] {
        assert_eq!(
            weight(&at_a_joint(&[("/leak_checks", check)]), "leak-found"),
            Some(Blocks),
            "{what}"
        );
    }
    // Repaired, held under nitrogen, and the loss was never known to be smaller.
    let nitrogen = json!({ "id": "n1", "kind": "pressure", "gas": "nitrogen", "ended_at": "2026-05-12T08:59:00Z", "gauge": { "resolution": "1 psi" }, "readings": [
        { "at": "2026-05-12T08:26:00Z", "pressure": "150 psig", "temperature": "22 degC" }, { "at": "2026-05-12T08:58:00Z", "pressure": "150 psig", "temperature": "22 degC" }] });
    assert_eq!(
        weight(&at_a_joint(&[("/holds/-", nitrogen.clone())]), "leak-found"),
        None
    );
    // A car that lost 220 g in a year has a leak that this hold (some 9 kg a year) could not have shown.
    let slow = [
        ("/holds/-", nitrogen),
        (
            "/previous_charge",
            json!({ "at": "2025-05-11T09:05:00Z", "mass": "600 g" }),
        ),
    ];
    assert_eq!(weight(&at_a_joint(&slow), "leak-found"), Some(Blocks));
}

/// Whoever forgot to enter the repair, and checked the joint after opening it, is not asked to repair it again.
#[test]
fn a_check_after_the_opening_stands_for_the_repair() {
    let forgotten = |checks: Value| {
        at_a_joint(&[
            ("/leaks/0/repaired_at", Value::Null),
            ("/leak_checks", checks),
        ])
    };
    assert_eq!(
        weight(
            &forgotten(check(
                json!(["j3"]),
                "reference leak",
                "2026-05-12T11:40:00Z"
            )),
            "leak-found"
        ),
        None
    );
    let said = answer(&forgotten(json!([])))
        .findings
        .into_iter()
        .find(|f| f.code == "leak-found")
        .expect("a finding");
    assert_eq!(
        (said.says.as_str(), said.do_next.as_str()),
        (
            "The leak at evaporator inlet is still there.",
            "Enter when the leak at evaporator inlet was repaired, if it was."
        )
    );
}

/// What a proved check found is cleared by no check that was not proved.
#[test]
fn as_well_proved_as_what_found_it() {
    let found = json!({ "method": "electronic", "at": "2026-05-12T11:40:00Z", "sensitivity": "4 g/yr", "proved_on": "reference leak", "places": ["j1"], "found": ["j1"] });
    let later = |proved: &str| json!({ "method": "electronic", "at": "2026-05-12T12:40:00Z", "sensitivity": "4 g/yr", "proved_on": proved, "places": ["j1"] });
    assert_eq!(
        weight(
            &with(&[("/leak_checks", json!([found, later("none")]))]),
            "leak-found"
        ),
        Some(Blocks)
    );
    assert_eq!(
        weight(
            &with(&[("/leak_checks", json!([found, later("reference leak")]))]),
            "leak-found"
        ),
        None
    );
}

/// Directive 2006/40/EC is about gases with a GWP above 150. IPCC, fourth report: R-134a 1430, R-12 10900; R-152a 124, R-744 1 (the open data set
/// globalwarmingpotentials); R-1234yf below 1 (from memory).
#[test]
fn the_directive_s_limit_is_for_a_gwp_above_150() {
    let said = |refrigerant: &str, evaporators: u8| {
        let record = with(&[
            ("/system/refrigerant", json!(refrigerant)),
            ("/charging/0/refrigerant", json!(refrigerant)),
            ("/system/evaporators", json!(evaporators)),
            (
                "/limits",
                json!({ "leak_limit_low_gwp": "10 g/yr", "leak_limit_low_gwp_two_evaporators": "15 g/yr" }),
            ),
        ]);
        let found = answer(&record)
            .findings
            .into_iter()
            .find(|f| f.code == "hold-not-sensitive")
            .expect("a finding");
        (
            found.says,
            found.values["limit_kg_per_year"].as_f64().expect("a limit"),
        )
    };
    for (refrigerant, one, two) in [
        ("R-134a", 0.040, 0.060),
        ("R-12", 0.040, 0.060),
        ("R-1234yf", 0.010, 0.015),
        ("R-152a", 0.010, 0.015),
        ("R-744", 0.010, 0.015),
    ] {
        for (evaporators, limit) in [(1, one), (2, two)] {
            let (says, got) = said(refrigerant, evaporators);
            assert!(
                (got - limit).abs() < 1e-12,
                "{refrigerant} {evaporators}: {got}"
            );
            assert_eq!(
                says.contains(&format!("The shop’s own limit for {refrigerant} is ")),
                limit < 0.02,
                "{says}"
            );
        }
    }
}
