//! The part of the label's form that few cars need: the greatest test pressure, and what a conversion took.
use super::{Fieldset, Form, form::amount};
use serde_json::{Map, Value, json};

/// What a conversion takes: its key in the record, and as the form asks for it.
const TAKES: [(&str, &str); 5] = [
    ("label", "label of the new refrigerant over the old one"),
    ("fittings", "service-port fittings of the new refrigerant"),
    ("oil", "oil that suits it"),
    ("desiccant", "receiver-drier or accumulator with a desiccant that suits it"),
    ("cut_out", "high-pressure cut-out switch for the compressor"),
];

/// The fields.
pub fn fields(form: &Form) -> Fieldset {
    Fieldset {
        legend: "Test pressure and conversion".into(),
        intro: "Only where the label or the maker says so. A conversion that is not complete on record is for the owner.".into(),
        fields: vec![
            form.field("test_pressure", "Greatest test pressure of the low side").number("above the air").hint("Blank = the shop’s limit."),
            form.select("test_pressure_unit", "in", [("psi", "psi"), ("kPa", "kPa"), ("bar", "bar")]),
            form.tiles("converted_from", "Converted from", [("", "not converted"), ("R-12", "R-12")]),
            form.many("conversion", "Done for the conversion", TAKES),
        ],
    }
}

/// Writes what is on record into the form's fields.
pub fn into(system: &Map<String, Value>, form: &mut Form) {
    let text = |key: &str| system.get(key).and_then(Value::as_str).unwrap_or_default();
    let mut words = text("test_pressure_most").split(' ');
    form.set("test_pressure", words.next().unwrap_or_default());
    form.set("test_pressure_unit", words.next().unwrap_or_default().replace("psig", "psi"));
    form.set("converted_from", text("converted_from"));
    let Some(done) = system.get("conversion").and_then(Value::as_object) else { return };
    for (key, _) in TAKES {
        if done.get(key) == Some(&Value::Bool(true)) {
            form.add("conversion", key);
        }
    }
}

/// Reads them, as keys of a job record's `system`.
pub fn read(form: &mut Form) -> Map<String, Value> {
    let mut system = Map::new();
    if !form.get("test_pressure").is_empty() {
        match form.get("test_pressure_unit").to_owned().as_str() {
            unit @ ("psi" | "kPa" | "bar") => {
                if let Some(pressure) = amount(form, "test_pressure", &format!("{unit} gauge")) {
                    system.insert("test_pressure_most".into(), json!(pressure));
                }
            }
            _ => form.wrong("test_pressure_unit", "Choose the unit of the test pressure."),
        }
    }
    if form.get("converted_from") == "R-12" {
        system.insert("converted_from".into(), json!("R-12"));
        let done: Map<String, Value> =
            TAKES.iter().filter(|(key, _)| form.all("conversion").any(|v| v == *key)).map(|(key, _)| ((*key).to_owned(), json!(true))).collect();
        system.insert("conversion".into(), Value::Object(done));
    }
    system
}
