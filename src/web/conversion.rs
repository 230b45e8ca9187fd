//! The part of the label's form that few cars need: the greatest test pressure, and what a conversion took.
use super::{Fieldset, Form, form::measured};
use chillwright_calc::{
    record::{Conversion, Refrigerant, System},
    units::Quantity,
};

/// What a conversion takes: its key in the record, and as the form asks for it. In the order of [`Conversion`].
const TAKES: [(&str, &str); 5] = [
    ("label", "label of the new refrigerant over the old one"),
    ("fittings", "service-port fittings of the new refrigerant"),
    ("oil", "oil that suits it"),
    (
        "desiccant",
        "receiver-drier or accumulator with a desiccant that suits it",
    ),
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
pub fn into(label: &System, form: &mut Form) {
    let pressure = label
        .test_pressure_most
        .as_ref()
        .map_or("", Quantity::text)
        .to_owned();
    let mut words = pressure.split(' ');
    form.set("test_pressure", words.next().unwrap_or_default());
    form.set(
        "test_pressure_unit",
        words.next().unwrap_or_default().replace("psig", "psi"),
    );
    form.set(
        "converted_from",
        label.converted_from.map_or("", Refrigerant::word),
    );
    let Some(Conversion {
        label,
        fittings,
        oil,
        desiccant,
        cut_out,
    }) = &label.conversion
    else {
        return;
    };
    for ((key, _), done) in TAKES.iter().zip([label, fittings, oil, desiccant, cut_out]) {
        if *done == Some(true) {
            form.add("conversion", *key);
        }
    }
}

/// Reads them into the label.
pub fn read(form: &mut Form, label: &mut System) {
    if !form.get("test_pressure").is_empty() {
        match form.get("test_pressure_unit").to_owned().as_str() {
            unit @ ("psi" | "kPa" | "bar") => {
                label.test_pressure_most = measured(form, "test_pressure", &format!("{unit} gauge"))
            }
            _ => form.wrong(
                "test_pressure_unit",
                "Choose the unit of the test pressure.",
            ),
        }
    }
    if form.get("converted_from") == Refrigerant::R12.word() {
        label.converted_from = Some(Refrigerant::R12);
        let [of_label, fittings, oil, desiccant, cut_out] =
            TAKES.map(|(key, _)| form.all("conversion").any(|v| v == key).then_some(true));
        label.conversion = Some(Conversion {
            label: of_label,
            fittings,
            oil,
            desiccant,
            cut_out,
        });
    }
}
