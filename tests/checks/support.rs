//! Records for the tests: the worked scenario, and changes to it.
use chillwright_calc::{Assessment, UnitSystem, assess, parse, record::answer::Weight};
use serde_json::Value;

/// The worked scenario: one seal forgotten, 45 g short, not deep enough, one improvised fixing.
pub fn scenario() -> Value {
    serde_json::from_str(include_str!("records/scenario.json")).expect("JSON")
}

/// The scenario with values set at JSON pointers; `null` removes.
pub fn with(changes: &[(&str, Value)]) -> Value {
    let mut record = scenario();
    for (pointer, value) in changes {
        let (parent, key) = pointer.rsplit_once('/').expect("a pointer");
        match record
            .pointer_mut(parent)
            .unwrap_or_else(|| panic!("{parent}"))
        {
            Value::Object(map) if value.is_null() => {
                map.remove(key);
            }
            Value::Object(map) => {
                map.insert(key.into(), value.clone());
            }
            Value::Array(list) if key == "-" => list.push(value.clone()),
            Value::Array(list) => list[key.parse::<usize>().expect("an index")] = value.clone(),
            _ => panic!("{pointer}"),
        }
    }
    record
}

/// Assesses a record written as JSON.
pub fn answer(record: &Value) -> Assessment {
    assess(
        &parse(&record.to_string()).unwrap_or_else(|e| panic!("{e}")),
        UnitSystem::Si,
    )
}

/// Code and key of everything that blocks or waits.
pub fn in_the_way(record: &Value) -> Vec<String> {
    let mut all: Vec<String> = answer(record)
        .findings
        .iter()
        .filter(|f| f.weight != Weight::Note)
        .map(|f| {
            format!(
                "{} {}{}",
                f.code,
                f.about,
                if f.weight == Weight::Blocks {
                    " blocks"
                } else {
                    ""
                }
            )
        })
        .collect();
    all.sort();
    all
}

/// The weight of a rule's finding, if there is one.
pub fn weight(record: &Value, code: &str) -> Option<Weight> {
    answer(record)
        .findings
        .iter()
        .find(|f| f.code == code)
        .map(|f| f.weight)
}
