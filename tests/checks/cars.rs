//! A corpus of cars: job records of situations as a workshop meets them, each with what an expert of the trade would want to be found, which verdicts, and
//! which step first. The expectations were written before the records were assessed; where the two differed, each was judged by itself.
use chillwright_calc::{UnitSystem, assess, parse};
use serde_json::Value;
use std::{collections::BTreeSet, fmt::Write, path::Path};

/// A car of the corpus.
struct Car {
    title: String,
    record: Value,
    expect: Value,
}

fn cars() -> Vec<Car> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/checks/cars");
    let mut files: Vec<_> = std::fs::read_dir(folder).expect("the corpus").map(|f| f.expect("a file").path()).collect();
    files.sort();
    files
        .iter()
        .flat_map(|file| serde_json::from_str::<Vec<Value>>(&std::fs::read_to_string(file).expect("text")).unwrap_or_else(|e| panic!("{}: {e}", file.display())))
        .map(|car| Car { title: car["car"].as_str().expect("a title").to_owned(), record: car["record"].clone(), expect: car["expect"].clone() })
        .collect()
}

fn words(list: &Value) -> BTreeSet<String> {
    list.as_array().into_iter().flatten().filter_map(|w| w.as_str().map(str::to_owned)).collect()
}

/// Codes of a list of findings at these weights; with what they are about where the expectation says so.
fn found(list: &Value, weights: &[&str], expected: &BTreeSet<String>) -> BTreeSet<String> {
    let told = |f: &Value| {
        let (code, about) = (f["code"].as_str().unwrap_or_default(), f["about"].as_str().unwrap_or_default());
        let both = format!("{code} {about}");
        if expected.contains(&both) { both } else { code.to_owned() }
    };
    list.as_array().into_iter().flatten().filter(|f| weights.contains(&f["weight"].as_str().unwrap_or_default())).map(told).collect()
}

/// What differs from the expectation, a line each.
fn deviations(car: &Car, units: UnitSystem) -> Vec<String> {
    let record = parse(&car.record.to_string()).unwrap_or_else(|e| panic!("{}: {e}", car.title));
    let answer = serde_json::to_value(assess(&record, units)).expect("JSON");
    let mut all = Vec::new();
    let mut differ = |what: &str, expected: &dyn std::fmt::Debug, got: &dyn std::fmt::Debug| all.push(format!("{what}: expected {expected:?}, got {got:?}"));
    for (key, weights) in [("findings", &["blocks", "concession"][..]), ("blocks", &["blocks"][..])] {
        let expected = words(&car.expect[key]);
        let got = found(&answer["findings"], weights, &expected);
        if got != expected {
            differ(key, &expected, &got);
        }
    }
    let every: BTreeSet<String> = answer["findings"].as_array().into_iter().flatten().filter_map(|f| f["code"].as_str().map(str::to_owned)).collect();
    let missing: Vec<String> = words(&car.expect["notes"]).difference(&every).cloned().collect();
    if !missing.is_empty() {
        differ("notes", &missing, &every);
    }
    let wrong: Vec<String> = words(&car.expect["not"]).intersection(&every).cloned().collect();
    if !wrong.is_empty() {
        differ("not", &"none of them", &wrong);
    }
    let ids: Vec<&str> = car.record["holds"].as_array().into_iter().flatten().filter(|h| h["superseded"] != true).filter_map(|h| h["id"].as_str()).collect();
    for (id, verdict) in car.expect["verdicts"].as_object().into_iter().flatten() {
        let at = ids.iter().position(|i| i == id).unwrap_or_else(|| panic!("{}: no hold {id}", car.title));
        if answer["figures"]["holds"][at]["verdict"] != *verdict {
            differ(id, verdict, &answer["figures"]["holds"][at]["verdict"]);
        }
    }
    if let Some(step) = car.expect.get("next").filter(|n| **n != answer["next"]["step"]) {
        differ("next", step, &answer["next"]);
    }
    if let Some(to_do) = car.expect.get("to_do").map(words) {
        let got = found(&answer["to_do"], &["blocks", "concession"], &to_do);
        if got != to_do {
            differ("to_do", &to_do, &got);
        }
    }
    for part in words(&car.expect["says"]) {
        if !answer["findings"].as_array().into_iter().flatten().any(|f| format!("{} {}", f["says"], f["do_next"]).contains(&part)) {
            differ("says", &part, &answer["findings"]);
        }
    }
    all
}

#[test]
fn every_car_is_judged_as_an_expert_would() {
    let cars = cars();
    let titles: BTreeSet<&str> = cars.iter().map(|c| c.title.as_str()).collect();
    assert!(cars.len() >= 150 && titles.len() == cars.len(), "{} cars, {} titles", cars.len(), titles.len());
    let mut report = String::new();
    for car in &cars {
        for (units, name) in [(UnitSystem::Si, "si"), (UnitSystem::Us, "us")] {
            for line in deviations(car, units) {
                let _ = writeln!(report, "{} [{name}] {line}", car.title);
            }
        }
    }
    assert!(report.is_empty(), "\n{report}");
}
