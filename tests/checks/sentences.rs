//! Every sentence that the rules say, in both systems of units and for three kinds of gauge: kept as a snapshot that is read line by line when it changes.
//! They are taken from the cars of the corpus, each as it stands and with its vacuum read on a dial in inHg, on an electronic gauge in micron and on a
//! dial in kPa. A sentence that differs from another only in its numbers stands once.
use super::cars::cars;
use chillwright_calc::{UnitSystem, assess, checks::rules, parse, record::answer::Weight};
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};

/// A vacuum gauge: its name, its unit, its graduation, whether it counts from perfect vacuum, its graduation in Pa.
const GAUGES: [(&str, &str, &str, bool, f64); 3] = [
    ("dial, inHg", "inHg", "0.5 inHg", false, 1693.0),
    ("electronic, micron", "micron", "10 micron", true, 1.333),
    ("dial, kPa", "kPa", "2 kPa", false, 2000.0),
];
const AIR_PA: f64 = 101_325.0;

/// A reading of a vacuum on another gauge, rounded to its graduation.
fn on(
    pressure: &str,
    (_, unit, _, absolute, graduation): (&str, &str, &str, bool, f64),
) -> Option<String> {
    let mut words = pressure.split(' ');
    let value: f64 = words.next()?.parse().ok()?;
    let size = |unit: &str| {
        Some(match unit {
            "inHg" => 3386.389,
            "kPa" => 1000.0,
            "mbar" => 100.0,
            "Pa" => 1.0,
            "micron" | "mTorr" => 0.133_322,
            "Torr" => 133.322,
            _ => return None,
        })
    };
    let from = words.next()?;
    let pa = match (words.next(), from) {
        (Some("vacuum"), _) => AIR_PA - value * size(from)?,
        (Some("abs"), _) | (None, "micron" | "Torr" | "mTorr") => value * size(from)?,
        _ => return None,
    };
    let counted = if absolute { pa } else { AIR_PA - pa };
    let read = (counted / graduation).round() * graduation / size(unit)?;
    Some(format!(
        "{:.1} {unit}{}",
        read.max(0.0),
        if absolute { "" } else { " vacuum" }
    ))
}

/// The record with every vacuum read on that gauge.
fn read_on(record: &Value, gauge: (&str, &str, &str, bool, f64)) -> Value {
    let mut record = record.clone();
    for kind in ["evacuations", "holds"] {
        for entry in record[kind].as_array_mut().into_iter().flatten() {
            if kind == "holds" && entry["kind"] != "vacuum" {
                continue;
            }
            let mut moved = false;
            for reading in entry["readings"].as_array_mut().into_iter().flatten() {
                if let Some(told) = reading["pressure"].as_str().and_then(|p| on(p, gauge)) {
                    reading["pressure"] = json!(told);
                    moved = true;
                }
            }
            if moved {
                entry["gauge"] = json!({ "resolution": gauge.2 });
            }
        }
    }
    record
}

/// A sentence without its numbers.
fn shape(sentence: &str) -> String {
    let mut out = String::new();
    for c in sentence.chars() {
        let number = c.is_ascii_digit() || (c == '.' && out.ends_with('#'));
        if !number {
            out.push(c);
        } else if !out.ends_with('#') {
            out.push('#');
        }
    }
    out
}

/// For each rule and gauge the sentences of one system of units, one for each shape.
fn sentences(units: UnitSystem) -> BTreeMap<(String, String), Vec<String>> {
    let mut said: BTreeMap<(String, String), Vec<String>> = BTreeMap::new();
    let mut seen = BTreeSet::new();
    for (_, car) in cars() {
        let asis = std::iter::once(("as recorded", car.record.clone()));
        let others = GAUGES
            .iter()
            .map(|gauge| (gauge.0, read_on(&car.record, *gauge)));
        for (gauge, record) in asis.chain(others) {
            let Ok(record) = parse(&record.to_string()) else {
                continue;
            };
            let answer = assess(&record, units);
            for f in answer.findings.iter().chain(&answer.to_do) {
                let weight = if f.weight == Weight::Note {
                    "note"
                } else if f.weight == Weight::Blocks {
                    "blocks"
                } else {
                    "owner"
                };
                let sentence = format!("{weight}: {} {}", f.says, f.do_next);
                if seen.insert((f.code.to_string(), shape(&sentence))) {
                    said.entry((f.code.to_string(), gauge.to_owned()))
                        .or_default()
                        .push(sentence);
                }
            }
        }
    }
    said
}

fn told(units: UnitSystem) -> String {
    let mut out = String::new();
    for ((code, gauge), sentences) in sentences(units) {
        out += &format!("\n{code}, {gauge}\n");
        for sentence in sentences {
            out += &format!("  {sentence}\n");
        }
    }
    out
}

#[test]
fn every_sentence_was_read() {
    insta::with_settings!({ snapshot_path => "snapshots", prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!("sentences-si", told(UnitSystem::Si));
        insta::assert_snapshot!("sentences-us", told(UnitSystem::Us));
    });
}

/// The corpus reaches every rule, so that none has a sentence that nobody reads.
#[test]
fn every_rule_speaks() {
    let said = sentences(UnitSystem::Si);
    let silent: Vec<&str> = rules::ALL
        .iter()
        .map(|rule| rule.code.word())
        .filter(|code| !said.keys().any(|(c, _)| c == code))
        .collect();
    assert!(silent.is_empty(), "{silent:?}");
}

/// No sentence mixes two systems of units, and none counts inches of mercury from perfect vacuum.
#[test]
fn a_sentence_speaks_in_one_system() {
    let has = |sentence: &str, units: &[&str]| {
        sentence
            .split(|c: char| !c.is_alphanumeric() && c != '°')
            .any(|word| units.contains(&word))
    };
    for units in [UnitSystem::Si, UnitSystem::Us] {
        for ((code, gauge), sentences) in sentences(units) {
            for sentence in sentences {
                let si = has(&sentence, &["kPa", "Pa", "bar", "MPa", "mbar"]);
                let us = has(&sentence, &["inHg", "psi", "psig", "psia", "micron"]);
                assert!(!(si && us), "{code}, {gauge}: {sentence}");
                assert!(
                    !sentence.contains("inHg abs"),
                    "{code}, {gauge}: {sentence}"
                );
            }
        }
    }
}
