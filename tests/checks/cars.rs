//! Cars: job records of real situations, each with what an expert of the trade would want to be told. The records lie in `cars/`, one file for each group;
//! what is wanted was written down before any of them was assessed, from trade practice and the published values that the rules name.
//!
//! An expectation's keys: `findings`, every finding that blocks or waits for the owner, by its code or by `code about`; `blocks`, those of them that block;
//! `notes`, notes that must be there (others may); `not`, codes that must not be found at any weight; `may`, codes of which nothing is expected either way;
//! `verdicts` of holds by id; `next`, the first step of what to do (`a|b` where either is good practice); `to_do`, codes that must be due, in this order;
//! `pattern`, what the performance reading is taken for; `says`, fragments of the gravest finding's sentences in SI units; `why`, for who doubts.
use chillwright_calc::{UnitSystem, assess, parse};
use serde::Deserialize;
use serde_json::{Map, Value};
use std::{collections::BTreeSet, fs, path::Path};

/// Steps of a remedy, as the answer writes them.
const STEPS: [&str; 16] = [
    "record",
    "identify",
    "isolate",
    "recover",
    "depressurise",
    "open-repair",
    "flush",
    "renew-desiccant",
    "oil",
    "nitrogen",
    "evacuate",
    "hold",
    "charge",
    "check",
    "measure",
    "accept",
];
/// Verdicts of a hold, as the answer writes them.
const VERDICTS: [&str; 7] = [
    "held",
    "leak",
    "moisture",
    "inconclusive",
    "too-short",
    "not-readable",
    "running",
];
/// What a performance reading is taken for, as the answer writes it.
const PATTERNS: [&str; 10] = [
    "charge-low",
    "charge-high",
    "air-inside",
    "condenser-airflow",
    "blockage",
    "valve-open",
    "valve-closed",
    "compressor-weak",
    "heat-load",
    "blend-door",
];

/// Codes that an expectation may name, so that a slip of the pen is no expectation that is always met.
const CODES: &[&str] = &[
    "air-left",
    "barometer-doubtful",
    "cap-missing",
    "charge-mismatch",
    "charge-missing",
    "charge-not-shown",
    "charge-unknown",
    "charge-unspecified",
    "charge-unweighed",
    "charged-before-hold",
    "compressor-debris-unflushed",
    "condensing-high",
    "contaminated-cylinder",
    "conversion-incomplete",
    "cooling-fault",
    "desiccant-not-renewed",
    "desiccant-salvaged",
    "donor-vin-doubtful",
    "dryness-not-shown",
    "elevation-missing",
    "evacuation-does-not-dry",
    "evacuation-missing",
    "evacuation-short",
    "freeze-risk",
    "gauge-impossible",
    "gauges-disagree",
    "high-side-limit",
    "hold-failed",
    "hold-inconclusive",
    "hold-missing",
    "hold-moisture",
    "hold-not-sensitive",
    "hold-temperature-missing",
    "hold-too-short",
    "hose-not-recorded",
    "improvised-fixing",
    "isolation-missing",
    "isolation-not-proved",
    "leak-found",
    "liquid-at-compressor",
    "loss-unexplained",
    "mixture-unidentified",
    "nothing-done",
    "oil-balance",
    "oil-not-recorded",
    "oil-type-mismatch",
    "overcharge-found",
    "part-seen-before",
    "performance-missing",
    "ports-open",
    "provenance-incomplete",
    "recovered-other",
    "recovery-doubtful",
    "recovery-missing",
    "seal-dry",
    "seal-not-inspected",
    "seal-reused",
    "seal-unsound",
    "standing-pressure-high",
    "test-gas-unsafe",
    "test-pressure-high",
    "vent-warm",
    "wrong-gas-found",
    "wrong-refrigerant",
];

/// A record and what is expected of it.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Car {
    pub car: String,
    story: String,
    pub record: Value,
    pub expect: Expect,
}

/// What an expert would want.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Expect {
    findings: Vec<String>,
    blocks: Vec<String>,
    notes: Vec<String>,
    not: Vec<String>,
    #[serde(default)]
    may: Vec<String>,
    verdicts: Map<String, Value>,
    next: Option<String>,
    to_do: Option<Vec<String>>,
    pattern: Option<String>,
    #[serde(default)]
    says: Vec<String>,
    why: String,
}

/// Where an answer is not what was expected.
struct Deviation {
    what: &'static str,
    expected: String,
    got: String,
    sentence: String,
}

impl Deviation {
    fn new(
        what: &'static str,
        expected: impl Into<String>,
        got: impl Into<String>,
        sentence: impl Into<String>,
    ) -> Self {
        Self {
            what,
            expected: expected.into(),
            got: got.into(),
            sentence: sentence.into(),
        }
    }
}

/// All cars, with their group.
pub fn cars() -> Vec<(String, Car)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/checks/cars");
    let mut files: Vec<_> = fs::read_dir(&folder)
        .expect("the folder of cars")
        .map(|entry| entry.expect("an entry").path())
        .collect();
    files.sort();
    let mut all = Vec::new();
    for file in files
        .iter()
        .filter(|file| file.extension().is_some_and(|e| e == "json"))
    {
        let text = fs::read_to_string(file).expect("a file");
        let group: Vec<Car> =
            serde_json::from_str(&text).unwrap_or_else(|e| panic!("{}: {e}", file.display()));
        let name = file
            .file_stem()
            .expect("a name")
            .to_string_lossy()
            .into_owned();
        all.extend(group.into_iter().map(|car| (name.clone(), car)));
    }
    all
}

fn text<'a>(value: &'a Value, key: &str) -> &'a str {
    value[key].as_str().unwrap_or_default()
}

fn list<'a>(value: &'a Value, key: &str) -> &'a [Value] {
    value[key].as_array().map_or(&[], Vec::as_slice)
}

/// The code of `code` or `code about`.
fn code(named: &str) -> &str {
    named.split(' ').next().unwrap_or(named)
}

/// Whether a finding is the one that is named by `code` or `code about`.
fn is(finding: &Value, named: &str) -> bool {
    match named.split_once(' ') {
        Some((code, about)) => text(finding, "code") == code && text(finding, "about") == about,
        None => text(finding, "code") == named,
    }
}

fn sentence(finding: &Value) -> String {
    format!("{} {}", text(finding, "says"), text(finding, "do_next"))
}

/// Compares all findings, what blocks among them, notes and what must not be there.
fn findings(expect: &Expect, answer: &Value, out: &mut Vec<Deviation>) {
    let all = list(answer, "findings");
    let grave: Vec<&Value> = all.iter().filter(|f| text(f, "weight") != "note").collect();
    for named in expect
        .findings
        .iter()
        .filter(|named| !grave.iter().any(|f| is(f, named)))
    {
        let lighter = all.iter().find(|f| is(f, named));
        out.push(Deviation::new(
            "findings",
            named,
            lighter.map_or("nothing", |f| text(f, "weight")),
            lighter.map(sentence).unwrap_or_default(),
        ));
    }
    let may = |finding: &Value| expect.may.iter().any(|named| is(finding, named));
    for f in grave
        .iter()
        .filter(|f| !expect.findings.iter().any(|named| is(f, named)) && !may(f))
    {
        out.push(Deviation::new(
            "findings",
            "nothing",
            format!(
                "{} {} ({})",
                text(f, "code"),
                text(f, "about"),
                text(f, "weight")
            ),
            sentence(f),
        ));
    }
    for f in grave
        .iter()
        .filter(|f| expect.findings.iter().any(|named| is(f, named)))
    {
        let wanted = if expect.blocks.iter().any(|named| is(f, named)) {
            "blocks"
        } else {
            "concession"
        };
        if text(f, "weight") != wanted {
            out.push(Deviation::new(
                "weight",
                format!("{} {wanted}", text(f, "code")),
                text(f, "weight"),
                sentence(f),
            ));
        }
    }
    for named in expect.notes.iter().filter(|named| {
        !all.iter()
            .any(|f| is(f, named) && text(f, "weight") == "note")
    }) {
        let heavier = all.iter().find(|f| is(f, named));
        out.push(Deviation::new(
            "notes",
            named,
            heavier.map_or("nothing", |f| text(f, "weight")),
            heavier.map(sentence).unwrap_or_default(),
        ));
    }
    for f in all
        .iter()
        .filter(|f| expect.not.iter().any(|named| is(f, named)))
    {
        out.push(Deviation::new(
            "not",
            format!("no {}", text(f, "code")),
            text(f, "weight"),
            sentence(f),
        ));
    }
}

/// Compares the verdicts, by the holds' ids or positions.
fn verdicts(car: &Car, answer: &Value, out: &mut Vec<Deviation>) {
    let figures = list(&answer["figures"], "holds");
    let holds: Vec<(usize, &Value)> = list(&car.record, "holds").iter().enumerate().collect();
    let counted: Vec<(usize, &Value)> = if figures.len() == holds.len() {
        holds
    } else {
        holds
            .into_iter()
            .filter(|(_, h)| h["superseded"] != true)
            .collect()
    };
    for (id, wanted) in &car.expect.verdicts {
        let at = counted.iter().position(|(i, hold)| {
            hold["id"]
                .as_str()
                .map_or_else(|| format!("holds[{i}]"), str::to_owned)
                == *id
        });
        let got = at.and_then(|at| figures.get(at));
        let (verdict, why) = got.map_or(("none", ""), |hold| {
            (text(hold, "verdict"), text(hold, "why"))
        });
        let wanted = wanted.as_str().unwrap_or_default();
        if !wanted.split('|').any(|word| word == verdict) {
            out.push(Deviation::new(
                "verdicts",
                format!("{id} {wanted}"),
                verdict,
                why,
            ));
        }
    }
}

/// What to do next: of the gravest finding that is more than a note, else of what is due first.
fn first(answer: &Value) -> Option<&Value> {
    list(answer, "findings")
        .iter()
        .find(|f| text(f, "weight") != "note")
        .or_else(|| list(answer, "to_do").first())
}

/// Compares the first step, what is due, the pattern and fragments of the gravest finding's sentences.
fn what_to_do(expect: &Expect, answer: &Value, si: bool, out: &mut Vec<Deviation>) {
    let first = first(answer);
    let told = first.map(sentence).unwrap_or_default();
    if let Some(wanted) = &expect.next {
        let step = first
            .and_then(|f| list(f, "steps").first())
            .and_then(Value::as_str)
            .unwrap_or("none");
        if !wanted.split('|').any(|word| word == step) {
            out.push(Deviation::new("next", wanted, step, &told));
        }
    }
    if let Some(wanted) = &expect.to_do {
        let due: Vec<&str> = list(answer, "to_do")
            .iter()
            .map(|f| text(f, "code"))
            .collect();
        let mut rest = due.iter();
        if !wanted.iter().all(|code| rest.any(|d| d == code)) {
            out.push(Deviation::new(
                "to_do",
                wanted.join(", "),
                due.join(", "),
                "",
            ));
        }
    }
    if let Some(wanted) = &expect.pattern {
        let judged = list(answer, "findings")
            .iter()
            .find(|f| matches!(text(f, "code"), "vent-warm" | "cooling-fault"));
        let got = judged.map_or("none", |f| {
            f["values"]["pattern"].as_str().unwrap_or("none")
        });
        if !wanted.split('|').any(|word| word == got) {
            out.push(Deviation::new(
                "pattern",
                wanted,
                got,
                judged.map(sentence).unwrap_or_default(),
            ));
        }
    }
    for fragment in expect
        .says
        .iter()
        .filter(|fragment| si && !told.contains(fragment.as_str()))
    {
        out.push(Deviation::new("says", fragment, "not said", &told));
    }
}

/// All deviations of a car's answer, in one system of units.
fn deviations(car: &Car, units: UnitSystem) -> Vec<Deviation> {
    let record = match parse(&car.record.to_string()) {
        Ok(record) => record,
        Err(refused) => {
            return vec![Deviation::new(
                "record",
                "a record",
                refused.to_string(),
                "",
            )];
        }
    };
    let answer = serde_json::to_value(assess(&record, units)).expect("an answer");
    let mut out = Vec::new();
    findings(&car.expect, &answer, &mut out);
    verdicts(car, &answer, &mut out);
    what_to_do(
        &car.expect,
        &answer,
        matches!(units, UnitSystem::Si),
        &mut out,
    );
    out
}

#[test]
fn every_car_is_told_what_an_expert_would_want() {
    let mut table = Vec::new();
    let mut cars_off = BTreeSet::new();
    let all = cars();
    for (group, car) in &all {
        let mut seen = BTreeSet::new();
        for (units, of) in [(UnitSystem::Si, "SI"), (UnitSystem::Us, "US")] {
            for d in deviations(car, units) {
                // The same in both systems is told once.
                if seen.insert((d.what, d.expected.clone(), d.got.clone())) {
                    cars_off.insert(&car.car);
                    table.push(format!(
                        "{group} | {} | {of} {} | {} | {} | {} | {}",
                        car.car, d.what, d.expected, d.got, d.sentence, car.expect.why
                    ));
                }
            }
        }
    }
    if !table.is_empty() {
        println!(
            "group | car | what | expected | got | sentence | why that is expected\n{}",
            table.join("\n")
        );
        panic!(
            "{} deviations at {} of {} cars",
            table.len(),
            cars_off.len(),
            all.len()
        );
    }
}

/// The corpus itself: enough of it, each car once, each word a known one, and sound jobs among them, so that a rule that always fires is seen.
#[test]
fn the_corpus_is_well_made() {
    let all = cars();
    assert!(all.len() >= 150, "{} cars", all.len());
    let mut titles = BTreeSet::new();
    for (group, car) in &all {
        let at = format!("{group}: {}", car.car);
        let e = &car.expect;
        assert!(titles.insert(car.car.as_str()), "{at}: twice");
        assert!(
            !car.story.is_empty() && e.why.len() > 7,
            "{at}: story and why"
        );
        assert!(
            e.next
                .iter()
                .flat_map(|n| n.split('|'))
                .all(|step| STEPS.contains(&step)),
            "{at}: {:?}",
            e.next
        );
        assert!(
            e.pattern
                .iter()
                .flat_map(|p| p.split('|'))
                .all(|pattern| PATTERNS.contains(&pattern)),
            "{at}: {:?}",
            e.pattern
        );
        for (hold, verdict) in &e.verdicts {
            let verdict = verdict.as_str().unwrap_or_default();
            assert!(
                verdict.split('|').all(|word| VERDICTS.contains(&word)),
                "{at}: {hold} {verdict}"
            );
        }
        assert!(
            e.blocks.iter().all(|named| e.findings.contains(named)),
            "{at}: what blocks is a finding"
        );
        assert!(
            e.to_do.is_none() || car.record["stage"] == "in-work",
            "{at}: only work that goes on has something to do"
        );
        let named = [&e.findings, &e.blocks, &e.notes, &e.not, &e.may]
            .into_iter()
            .flatten()
            .chain(e.to_do.iter().flatten());
        let unknown: Vec<&str> = named
            .map(|named| code(named))
            .filter(|code| !CODES.contains(code))
            .collect();
        assert!(unknown.is_empty(), "{at}: {unknown:?} are no codes");
        let wanted: Vec<&str> = e
            .findings
            .iter()
            .chain(&e.notes)
            .map(|named| code(named))
            .collect();
        assert!(
            e.not.iter().all(|code| !wanted.contains(&code.as_str())),
            "{at}: wanted and not wanted"
        );
    }
    let sound = all
        .iter()
        .filter(|(_, car)| {
            car.record["stage"] != "in-work"
                && car.expect.findings.is_empty()
                && car.expect.may.is_empty()
        })
        .count();
    assert!(sound >= 15, "{sound} jobs in which nothing is in the way");
}
