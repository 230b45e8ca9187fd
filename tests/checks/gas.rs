//! What gas is inside, where it went, what a circuit is tested with, and what a conversion takes.
use super::support::{answer, weight, with};
use chillwright_calc::{
    Assessment, UnitSystem,
    checks::{contamination::traced, with_case},
    parse,
    record::answer::{
        Finding,
        Weight::{Blocks, Concession, Note},
        WorkStep,
    },
};
use serde_json::{Value, json};

fn found(answer: Assessment, code: &str) -> Finding {
    answer
        .findings
        .into_iter()
        .find(|f| f.code == code)
        .expect(code)
}

/// A car that came with its charge, identified, nothing done yet but a leak noted as repaired, so that work has begun.
fn came(label: &str, gases: Value) -> Value {
    json!({ "version": 1, "site": { "elevation": "0 m" }, "system": { "refrigerant": label, "charge": "600 g" },
        "identification": [{ "id": "id1", "at": "2026-05-11T08:40:00Z", "gases": gases }] })
}

#[test]
fn another_gas_than_the_label_s_blocks_before_anything_is_done() {
    for (label, gases, says, burns) in [
        (
            "R-1234yf",
            json!({ "R-134a": "99.5 %" }),
            "The identifier shows 99.5 % of R-134a, and the label says R-1234yf.",
            false,
        ),
        (
            "R-134a",
            json!({ "other": "100 %" }),
            "The identifier shows 100 % of a gas that it cannot name, and the label says R-134a. It may burn.",
            true,
        ),
        (
            "R-134a",
            json!({ "R-152a": "98 %" }),
            "The identifier shows 98 % of R-152a, and the label says R-134a. It may burn.",
            true,
        ),
        (
            "R-134a",
            json!({ "R-134a": "97 %", "hydrocarbon": "3 %" }),
            "The identifier shows 3 % of hydrocarbons in a circuit labelled R-134a. It may burn.",
            true,
        ),
        (
            "R-134a",
            json!({ "R-134a": "96 %", "R-290": "1 %", "R-600a": "3 %" }),
            "The identifier shows 4 % of hydrocarbons in a circuit labelled R-134a. It may burn.",
            true,
        ),
    ] {
        let f = found(answer(&came(label, gases.clone())), "wrong-gas-found");
        assert_eq!(
            (f.weight, f.about.as_str(), f.says.as_str()),
            (Blocks, "id1", says),
            "{gases}"
        );
        assert_eq!(f.steps.first(), Some(&WorkStep::Recover), "{:?}", f.steps);
        assert!(
            f.do_next.contains("into a cylinder kept for mixtures"),
            "{}",
            f.do_next
        );
        assert_eq!(
            f.do_next.contains("rated for flammable gas"),
            burns,
            "{}",
            f.do_next
        );
        assert_eq!(
            weight(&came(label, gases), "mixture-unidentified"),
            None,
            "one cause, one finding"
        );
    }
    for (label, gases) in [
        (
            "R-134a",
            json!({ "R-134a": "99.6 %", "hydrocarbon": "0.4 %" }),
        ),
        ("R-12", json!({ "R-12": "99 %" })),
        ("R-134a", json!({ "R-134a": "90 %", "R-12": "10 %" })),
        ("R-134a", json!({})),
        ("other", json!({ "other": "99 %" })),
    ] {
        assert_eq!(
            weight(&came(label, gases.clone()), "wrong-gas-found"),
            None,
            "{label} {gases}"
        );
    }
}

/// Recovered and evacuated it is a note; what recovered it is kept apart.
#[test]
fn once_it_is_out_it_is_a_note() {
    let with_wrong = |more: &[(&str, Value)]| {
        let mut changes = vec![("/identification/0/gases", json!({ "R-152a": "99 %" }))];
        changes.extend(more.iter().cloned());
        with(&changes)
    };
    let record = with_wrong(&[]);
    let f = found(answer(&record), "wrong-gas-found");
    assert_eq!(
        (f.weight, f.do_next.as_str()),
        (
            Note,
            "Keep cylinder C-03 for mixtures and do not charge from it."
        )
    );
    assert_eq!(
        weight(
            &with_wrong(&[("/evacuations", json!([]))]),
            "wrong-gas-found"
        ),
        Some(Blocks),
        "not evacuated"
    );
    assert_eq!(
        weight(&with_wrong(&[("/recovery", json!([]))]), "wrong-gas-found"),
        Some(Blocks),
        "charged on top"
    );
}

fn trace(record: &Value) -> (Vec<String>, Vec<String>, bool, bool) {
    let record = parse(&record.to_string()).expect("a record");
    with_case(&record, UnitSystem::Si, |case| {
        let t = traced(case);
        (
            t.spoiled.into_iter().map(|s| s.recovery).collect(),
            t.tainted.into_iter().map(|t| t.charge).collect(),
            t.contents.mixed,
            t.contents.flammable,
        )
    })
}

#[test]
fn contamination_follows_the_cylinder() {
    let none: (Vec<String>, Vec<String>) = (vec![], vec![]);
    let traced = |changes: &[(&str, Value)]| {
        let t = trace(&with(changes));
        (t.0, t.1)
    };
    let same = ("/charging/0/cylinder", json!(" c-03"));
    assert_eq!(traced(&[]), none);
    assert_eq!(
        traced(std::slice::from_ref(&same)),
        none,
        "out of a cylinder that took the same pure gas"
    );
    let (bad, tainted) = (vec!["r1".to_owned()], vec!["ch1".to_owned()]);
    for change in [
        ("/identification/0/gases", json!({ "R-134a": "90 %" })),
        ("/identification/0/gases", json!({ "R-12": "99 %" })),
        ("/identification/0/air", json!("5 %")),
        ("/identification/0/sealant", json!(true)),
        ("/recovery/0/refrigerant", json!("R-12")),
        ("/recovery/0/refrigerant", json!("other")),
    ] {
        assert_eq!(
            traced(std::slice::from_ref(&change)),
            (bad.clone(), vec![]),
            "{change:?}"
        );
        assert_eq!(
            traced(&[change.clone(), same.clone()]),
            (bad.clone(), tainted.clone()),
            "{change:?}"
        );
        assert_eq!(
            weight(
                &with(&[change.clone(), same.clone()]),
                "contaminated-cylinder"
            ),
            Some(Blocks),
            "{change:?}"
        );
    }
    // Nothing was in it.
    assert_eq!(
        traced(&[
            ("/recovery/0/refrigerant", json!("R-12")),
            ("/recovery/0/after", json!("11.20 kg"))
        ]),
        none
    );
    // A pressure above the refrigerant's own that nobody identified.
    assert_eq!(
        traced(&[
            ("/standing/0/pressure", json!("90 psig")),
            ("/identification", json!([]))
        ])
        .0,
        bad
    );
}

/// A charge out of such a cylinder is cured by taking it out and evacuating; the shop's own mark counts as what this order saw.
#[test]
fn what_was_charged_from_it_is_taken_out() {
    let known = ("/charging/0/contaminated", json!(true));
    let f = found(
        answer(&with(std::slice::from_ref(&known))),
        "contaminated-cylinder",
    );
    assert_eq!(
        f.says,
        "It was charged from cylinder C-01, which is marked as contaminated."
    );
    assert_eq!(
        f.do_next,
        "Recover the charge into a cylinder kept for mixtures, and keep cylinder C-01 apart."
    );
    let (_, _, mixed, flammable) = trace(&with(std::slice::from_ref(&known)));
    assert!(mixed && flammable, "what is inside is a mixture now");
    let out = (
        "/recovery/-",
        json!({ "refrigerant": "R-134a", "before": "1 kg", "after": "1.55 kg", "at": "2026-05-12T11:50:00Z" }),
    );
    let vacuum = json!({ "started_at": "2026-05-12T12:10:00Z", "ended_at": "2026-05-12T12:50:00Z", "readings": [{ "at": "2026-05-12T12:50:00Z", "pressure": "400 micron" }] });
    assert_eq!(
        weight(
            &with(&[known.clone(), out.clone()]),
            "contaminated-cylinder"
        ),
        Some(Blocks)
    );
    let cured = with(&[known, out, ("/evacuations/-", vacuum)]);
    assert_eq!(weight(&cured, "contaminated-cylinder"), None);
    assert!(!trace(&cured).2);
}

/// What is found in the steps of other rules: a mixture goes into its own cylinder, what may burn into rated equipment.
#[test]
fn the_way_out_names_the_right_cylinder() {
    let leaking = |gases: Value| {
        let mut record = came("R-134a", gases);
        record["leaks"] = json!([{ "id": "l1", "place": "hose" }]);
        record["flushes"] = json!([{ "section": "condenser", "at": "2026-05-11T09:00:00Z" }]);
        found(answer(&record), "leak-found").do_next
    };
    assert_eq!(
        leaking(json!({ "R-134a": "99.6 %" })),
        "Recover the refrigerant by weight. Then repair the leak at hose and enter when."
    );
    assert_eq!(
        leaking(json!({ "R-134a": "90 %", "R-12": "10 %" })),
        "Recover the refrigerant by weight into a cylinder kept for mixtures. Then repair the leak at hose and enter when."
    );
    assert_eq!(
        leaking(json!({ "R-134a": "90 %", "hydrocarbon": "10 %" })),
        "Recover the refrigerant by weight into a cylinder kept for mixtures, with equipment rated for flammable gas. Then repair the leak at hose and enter when."
    );
}

/// R-12 in a car that is being converted from it is what has to come out, and no mixture; afterwards it is another gas.
#[test]
fn a_conversion_may_begin_with_the_old_gas() {
    let old = [
        ("/system/converted_from", json!("R-12")),
        ("/identification/0/gases", json!({ "R-12": "99 %" })),
        ("/recovery/0/refrigerant", json!("R-12")),
        ("/recovery/0/cylinder", json!("C-12")),
    ];
    let record = with(&old);
    for code in [
        "wrong-gas-found",
        "recovered-other",
        "mixture-unidentified",
        "contaminated-cylinder",
    ] {
        assert_eq!(weight(&record, code), None, "{code}");
    }
    assert_eq!(trace(&record).0, [""; 0]);
    let mut from_it = old.to_vec();
    from_it.push(("/charging/0/cylinder", json!("C-12")));
    assert_eq!(
        weight(&with(&from_it), "contaminated-cylinder"),
        Some(Blocks),
        "R-134a out of the cylinder that took R-12"
    );
    let mut later = old.to_vec();
    later.push(("/identification/0/at", json!("2026-05-12T10:30:00Z")));
    assert_eq!(
        weight(&with(&later), "wrong-gas-found"),
        Some(Blocks),
        "R-12 after R-134a was charged"
    );
}

#[test]
fn a_conversion_has_its_own_list() {
    let conversion = |done: Value| {
        with(&[
            ("/system/converted_from", json!("R-12")),
            ("/system/conversion", done),
        ])
    };
    let all =
        json!({ "label": true, "fittings": true, "oil": true, "desiccant": true, "cut_out": true });
    assert_eq!(
        weight(&conversion(all.clone()), "conversion-incomplete"),
        None
    );
    for (key, words) in [
        ("label", "the new label"),
        ("fittings", "the service-port fittings"),
        ("oil", "oil that suits it"),
        ("desiccant", "a desiccant that suits it"),
        ("cut_out", "the high-pressure cut-out switch"),
    ] {
        let mut one = all.clone();
        one[key] = json!(false);
        let f = found(answer(&conversion(one)), "conversion-incomplete");
        assert_eq!(
            (f.weight, f.says.as_str()),
            (
                Concession,
                format!("Converted from R-12 to R-134a, and not on record: {words}.").as_str()
            )
        );
    }
    // The scenario's new drier counts as its desiccant; oil of a suitable kind as its oil.
    let f = found(
        answer(&conversion(
            json!({ "label": true, "fittings": true, "cut_out": true }),
        )),
        "conversion-incomplete",
    );
    assert!(
        f.says.ends_with("not on record: oil that suits it."),
        "{}",
        f.says
    );
    let still = with(&[
        ("/system/refrigerant", json!("R-12")),
        ("/system/converted_from", json!("R-12")),
    ]);
    assert_eq!(
        weight(&still, "conversion-incomplete"),
        None,
        "it still holds R-12"
    );
}

fn nitrogen(id: &str, gas: &str, psig: f64, from: &str, to: &str) -> Value {
    let pressure = format!("{psig} psig");
    json!({ "id": id, "kind": "pressure", "gas": gas, "ended_at": to, "gauge": { "id": "P-1", "resolution": "1 psi" }, "readings": [
        { "at": from, "pressure": pressure, "temperature": "22 degC" }, { "at": to, "pressure": pressure, "temperature": "22 degC" }] })
}

fn tested(gas: &str, psig: f64) -> Value {
    nitrogen(
        "n1",
        gas,
        psig,
        "2026-05-12T08:26:00Z",
        "2026-05-12T08:58:00Z",
    )
}

#[test]
fn air_and_oxygen_are_no_test_gas() {
    for (gas, says) in [
        (
            "air",
            "The circuit was tested with compressed air. Air under pressure can burn with refrigerant and oil, and brings water in.",
        ),
        (
            "oxygen",
            "The circuit was tested with oxygen. Oxygen under pressure explodes with oil.",
        ),
    ] {
        let record = with(&[("/holds/-", tested(gas, 150.0))]);
        let f = found(answer(&record), "test-gas-unsafe");
        assert_eq!(
            (f.weight, f.about.as_str(), f.says.as_str()),
            (Blocks, "n1", says)
        );
        // Tested again as it should be.
        let again = with(&[
            ("/holds/-", tested(gas, 150.0)),
            (
                "/holds/-",
                nitrogen(
                    "n2",
                    "nitrogen",
                    150.0,
                    "2026-05-12T13:00:00Z",
                    "2026-05-12T13:40:00Z",
                ),
            ),
        ]);
        assert_eq!(weight(&again, "test-gas-unsafe"), None);
    }
    assert_eq!(
        weight(
            &with(&[("/holds/-", tested("nitrogen", 150.0))]),
            "test-gas-unsafe"
        ),
        None
    );
    // Under it now: what to do at once.
    let now = with(&[
        ("/leaks/0/repaired_at", Value::Null),
        ("/evacuations", json!([])),
        ("/holds", json!([tested("oxygen", 150.0)])),
        ("/charging", json!([])),
        ("/performance", json!([])),
    ]);
    let f = found(answer(&now), "test-gas-unsafe");
    assert_eq!(f.steps[..2], [WorkStep::Depressurise, WorkStep::Nitrogen]);
    assert!(
        f.do_next.starts_with("Stop. No flame, no spark")
            && f.do_next.contains("Let the oxygen off slowly"),
        "{}",
        f.do_next
    );
    assert_eq!(
        found(answer(&now), "leak-found").do_next,
        "Let the oxygen off slowly, goggles on. Then repair the leak at evaporator core and enter when."
    );
}

/// US Army TM 5-3810-307-24-1-2: nitrogen at 200 to 250 psi at most for leak finding. A circuit's own limit goes before the shop's; R-744 has only its own.
#[test]
fn more_than_the_circuit_stands_blocks() {
    let high = |psig: f64, more: &[(&str, Value)]| {
        let mut changes = vec![("/holds/-", tested("nitrogen", psig))];
        changes.extend(more.iter().cloned());
        weight(&with(&changes), "test-pressure-high")
    };
    assert_eq!((high(250.0, &[]), high(251.0, &[])), (None, Some(Blocks)));
    for own in ["150 psig", "150 psi", "1034.2136 kPa gauge"] {
        let own = [("/system/test_pressure_most", json!(own))];
        assert_eq!(
            (high(150.0, &own), high(151.0, &own)),
            (None, Some(Blocks)),
            "{own:?}"
        );
    }
    let shop = [("/limits", json!({ "test_pressure_most": "100 psi" }))];
    assert_eq!(
        (high(100.0, &shop), high(101.0, &shop)),
        (None, Some(Blocks))
    );
    let carbon = [("/system/refrigerant", json!("R-744"))];
    assert_eq!(high(1000.0, &carbon), None);
    assert_eq!(
        high(
            1000.0,
            &[
                ("/system/refrigerant", json!("R-744")),
                ("/system/test_pressure_most", json!("900 psig"))
            ]
        ),
        Some(Blocks)
    );
    assert!(parse(r#"{ "version": 1, "system": { "refrigerant": "R-134a", "test_pressure_most": "250 psia" } }"#).is_err());
    let under = with(&[
        ("/evacuations", json!([])),
        ("/holds", json!([tested("nitrogen", 290.0)])),
        ("/charging", json!([])),
        ("/performance", json!([])),
    ]);
    let f = found(answer(&under), "test-pressure-high");
    assert_eq!(
        f.says,
        "The circuit was put under 290 psig; the shop’s limit is 250 psig."
    );
    assert_eq!(f.steps.first(), Some(&WorkStep::Depressurise));
    assert!(
        f.do_next.starts_with("Keep clear. Let the gas off slowly"),
        "{}",
        f.do_next
    );
}
