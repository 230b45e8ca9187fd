//! Records mutated from a real one: never a panic, every refusal names a path, every figure is finite or null.
use super::support::{answer, scenario, with};
use chillwright_calc::{
    UnitSystem, assess,
    checks::{explain, with_case},
    parse,
};
use serde_json::{Value, json};

/// A small generator with a seed: the same cases on every machine (xorshift64*).
pub struct Seeded(pub u64);

impl Seeded {
    pub fn next(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_f491_4f6c_dd1d)
    }
    pub fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }
    pub fn pick<'a, T>(&mut self, list: &'a [T]) -> &'a T {
        &list[self.below(list.len())]
    }
}

fn pointers(value: &Value, at: String, all: &mut Vec<String>) {
    match value {
        Value::Object(map) => map.iter().for_each(|(k, v)| {
            all.push(format!("{at}/{k}"));
            pointers(v, format!("{at}/{k}"), all);
        }),
        Value::Array(list) => list.iter().enumerate().for_each(|(i, v)| {
            all.push(format!("{at}/{i}"));
            pointers(v, format!("{at}/{i}"), all);
        }),
        _ => {}
    }
}

/// Something else of the same kind, mostly: so that many records are still accepted.
fn instead(old: &Value, random: &mut Seeded) -> Value {
    const TIMES: [&str; 6] = [
        "2026-05-11T08:00:00Z",
        "2026-05-12T09:00:00Z",
        "2026-05-12T10:03:00Z",
        "2026-05-12T11:00:00Z",
        "0001-01-01T00:00:00Z",
        "9999-12-30T00:00:00Z",
    ];
    const PRESSURES: [&str; 9] = [
        "28 inHg vacuum",
        "31 inHg vacuum",
        "0 psig",
        "70 psig",
        "400 micron",
        "1e-300 Pa abs",
        "1e12 bar gauge",
        "-5 kPa gauge",
        "101 kPa abs",
    ];
    const TEMPERATURES: [&str; 6] = [
        "22 degC",
        "0 K",
        "-40 degF",
        "101 degC",
        "1e6 K",
        "21.9 degC",
    ];
    const MASSES: [&str; 6] = ["0 g", "600 g", "9.3 kg", "1e9 kg", "1e-12 g", "20 oz"];
    match old.as_str() {
        Some(s) if s.contains('T') && s.ends_with('Z') => json!(random.pick(&TIMES)),
        Some(s)
            if ["psi", "inHg", "micron", "kPa", "Torr"]
                .iter()
                .any(|u| s.contains(u)) =>
        {
            json!(random.pick(&PRESSURES))
        }
        Some(s) if s.ends_with("degC") => json!(random.pick(&TEMPERATURES)),
        Some(s) if s.ends_with(" g") || s.ends_with(" kg") => json!(random.pick(&MASSES)),
        Some(_) => json!(random.pick(&[
            "R-134a", "R-744", "other", "vacuum", "pressure", "sound", "new", "salvaged", "", "j1",
            "ü"
        ])),
        None => random
            .pick(&[
                json!(true),
                json!(false),
                json!(null),
                json!(0),
                json!(-1),
                json!([]),
                json!({}),
            ])
            .clone(),
    }
}

fn mutate(record: &mut Value, random: &mut Seeded) {
    let mut all = Vec::new();
    pointers(record, String::new(), &mut all);
    let pointer = random.pick(&all).clone();
    let (parent, key) = pointer.rsplit_once('/').expect("a pointer");
    let old = record.pointer(&pointer).cloned().unwrap_or_default();
    let new = instead(&old, random);
    let kind = random.below(10);
    match record.pointer_mut(parent) {
        Some(Value::Object(map)) => match kind {
            0..3 => drop(map.remove(key)),
            3 => drop(map.insert("superseded".into(), json!(true))),
            _ => drop(map.insert(key.into(), new)),
        },
        Some(Value::Array(list)) => {
            let i: usize = key.parse().expect("an index");
            match kind {
                0..3 => drop(list.remove(i)),
                3..6 => list.push(old),
                _ if i + 1 < list.len() => list.swap(i, i + 1),
                _ => {}
            }
        }
        _ => {}
    }
}

fn finite(value: &Value) -> bool {
    match value {
        Value::Number(n) => n.as_f64().is_some_and(f64::is_finite),
        Value::Array(list) => list.iter().all(finite),
        Value::Object(map) => map.values().all(finite),
        _ => true,
    }
}

/// A key's path, or that of the document as a whole.
fn names_a_place(path: &str) -> bool {
    path == "record"
        || (path.starts_with(|c: char| c.is_ascii_lowercase()) && !path.contains(['?', ' ']))
}

#[test]
fn mutated_records_never_panic() {
    let cases = if std::env::var("CHILLWRIGHT_LONG").is_ok() {
        100_000
    } else {
        2_000
    };
    let (mut random, mut accepted) = (Seeded(20_260_512), 0);
    for case in 0..cases {
        let mut record = scenario();
        for _ in 0..=random.below(4) {
            mutate(&mut record, &mut random);
        }
        match parse(&record.to_string()) {
            Ok(parsed) => {
                accepted += 1;
                let units = if case % 2 == 0 {
                    UnitSystem::Si
                } else {
                    UnitSystem::Us
                };
                let answer = assess(&parsed, units);
                let json = serde_json::to_value(&answer).expect("JSON");
                // serde_json writes a number that is not finite as null: ask the figures themselves too.
                assert!(
                    finite(&json)
                        && !format!("{:?}", answer.figures).contains("inf")
                        && !format!("{:?}", answer.figures).contains("NaN"),
                    "{record}\n{:?}",
                    answer.figures
                );
                let told = with_case(&parsed, units, explain::text);
                assert!(
                    !told.contains("NaN")
                        && !told.contains("inf ")
                        && answer.findings.iter().all(|f| told.contains(&f.says)),
                    "{record}\n{told}"
                );
                assert!(
                    answer.findings.iter().all(|f| !f.says.is_empty()
                        && !f.do_next.is_empty()
                        && !f.says.contains("NaN")),
                    "{record}"
                );
            }
            Err(e) => assert!(
                names_a_place(&e.path) && !e.reason.is_empty() && !e.to_string().contains('\n'),
                "{e}"
            ),
        }
    }
    println!("{accepted} of {cases} accepted");
    assert!(accepted * 10 >= cases * 3, "{accepted} of {cases}");
}

/// Properties of the answer, each over many mutated records.
#[test]
fn what_must_hold_of_every_answer() {
    let mut random = Seeded(7);
    let mut seen = 0;
    while seen < 300 {
        let mut record = scenario();
        for _ in 0..=random.below(3) {
            mutate(&mut record, &mut random);
        }
        let Ok(parsed) = parse(&record.to_string()) else {
            continue;
        };
        seen += 1;
        let before = assess(&parsed, UnitSystem::Si);
        // The unit system changes sentences alone.
        let us = assess(&parsed, UnitSystem::Us);
        let keys = |a: &chillwright_calc::Assessment| {
            a.findings
                .iter()
                .map(|f| (f.code.clone(), f.about.clone(), f.weight, f.values.clone()))
                .collect::<Vec<_>>()
        };
        assert_eq!(keys(&before), keys(&us), "{record}");
        assert_eq!(before.figures, us.figures, "{record}");
        // What is written again is the same record.
        let again = parse(&serde_json::to_string(&parsed).expect("JSON")).expect("its own text");
        assert_eq!(again, parsed);
        // Superseded evidence changes nothing.
        let mut more = record.clone();
        if let Some(list) = more.get_mut("holds").and_then(Value::as_array_mut) {
            list.push(json!({ "id": "gone", "kind": "vacuum", "superseded": true, "ended_at": "2026-05-12T12:00:00Z", "readings": [{ "at": "2026-05-12T11:00:00Z", "pressure": "28 inHg vacuum" }, { "at": "2026-05-12T11:30:00Z", "pressure": "10 inHg vacuum" }] }));
            assert_eq!(answer(&more), before, "{record}");
        }
        // An electronic check that found nothing never adds what blocks.
        let mut checked = record.clone();
        checked["leak_checks"] = record
            .get("leak_checks")
            .cloned()
            .filter(Value::is_array)
            .unwrap_or_else(|| json!([]));
        checked["leak_checks"].as_array_mut().expect("a list").push(json!({ "method": "electronic", "at": "2026-05-12T13:00:00Z", "sensitivity": "4 g/yr", "proved_on": "reference leak", "places": ["j1", "j2", "j3", "j4"] }));
        assert!(
            answer(&checked).gate.blocks <= before.gate.blocks,
            "{record}"
        );
    }
}

/// The order in which readings are entered does not matter where their times differ.
#[test]
fn the_order_of_readings_does_not_matter() {
    let readings = |order: &[usize]| {
        let all = [
            ("09:43", "28"),
            ("09:48", "27.5"),
            ("09:53", "27.5"),
            ("09:58", "27"),
            ("10:03", "27"),
        ];
        let list: Vec<Value> = order
            .iter()
            .map(|i| json!({ "at": format!("2026-05-12T{}:00Z", all[*i].0), "pressure": format!("{} inHg vacuum", all[*i].1), "temperature": "22 degC" }))
            .collect();
        answer(&with(&[("/holds/0/readings", json!(list))]))
            .figures
            .holds[0]
            .clone()
    };
    assert_eq!(readings(&[0, 1, 2, 3, 4]), readings(&[4, 2, 0, 3, 1]));
}

/// For fewer than five readings a finer gauge never shows a larger smallest leak; more leak never gives a smaller leak figure.
#[test]
fn finer_shows_more_and_more_leaks_more() {
    let hold = |resolution: &str, end: f64| {
        let readings = json!([{ "at": "2026-05-12T09:43:00Z", "pressure": "28 inHg vacuum", "temperature": "22 degC" }, { "at": "2026-05-12T10:03:00Z", "pressure": format!("{end} inHg vacuum"), "temperature": "22 degC" }]);
        answer(&with(&[
            ("/holds/0/readings", readings),
            ("/holds/0/gauge/resolution", json!(resolution)),
        ]))
        .figures
        .holds[0]
            .clone()
    };
    let mut last = f64::INFINITY;
    for resolution in ["2 inHg", "1 inHg", "0.5 inHg", "0.1 inHg", "10 micron"] {
        let shown = hold(resolution, 28.0)
            .smallest_leak_shown_kg_per_year
            .expect("a figure");
        assert!(shown <= last, "{resolution}: {shown} after {last}");
        last = shown;
    }
    let mut least = 0.0;
    for end in [26.0, 25.0, 22.0, 15.0] {
        let high = hold("0.5 inHg", end)
            .leak_high_kg_per_year
            .expect("a figure");
        assert!(high > least, "{end}: {high} after {least}");
        least = high;
    }
}

/// What a hundred thousand cases found: metal at 0 K, by which the air left in the circuit was divided.
#[test]
fn metal_at_absolute_zero_leaves_no_infinite_air() {
    let figures = answer(&with(&[
        ("/evacuations/0/coldest_metal", json!("0 K")),
        ("/holds", json!([])),
    ]))
    .figures;
    assert!(
        figures.charge.air_left_kg.is_some_and(f64::is_finite),
        "{:?}",
        figures.charge
    );
}
