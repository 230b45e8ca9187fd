//! What is found before anything is opened, and what is taken out.
use super::{
    super::{Ctx, Field, Fieldset, Form, Kind as FieldKind},
    Scene,
    draft::{Draft, time_fields},
};
use crate::shop::{CylinderPurpose, InstrumentKind};
use crate::store::evidence::{Kind, Only};
use crate::web::form::{measured, quantity, some};
use chillwright_calc::{
    UnitSystem,
    checks::isolation::{Proved, proved},
    record::{Gas, GasLetIn, Identification, Isolation, Leak, Recovery, Scale, Standing},
    units::{Fraction, Moment, Pressure, Quantity, Temperature},
};

/// Nothing to say before the form.
pub fn no_intro(_: &Ctx, _: &Scene) -> String {
    String::new()
}

/// One fieldset without a name.
pub fn one(fields: Vec<Field>) -> Vec<Fieldset> {
    vec![Fieldset {
        legend: String::new(),
        intro: String::new(),
        fields,
    }]
}

/// Units of pressure above the air, those of the shop's own gauges first and by their names.
pub fn pressure_units(scene: &Scene) -> Vec<(String, String)> {
    let mut units: Vec<&str> = scene
        .instruments
        .iter()
        .filter(|i| i.is_gauge() && i.kind != InstrumentKind::VacuumGauge)
        .map(|i| i.unit.as_str())
        .filter(|u| matches!(*u, "psi" | "bar" | "kPa"))
        .collect();
    units.extend(["psi", "bar", "kPa"]);
    let mut seen = Vec::new();
    for unit in units {
        if !seen.contains(&unit) {
            seen.push(unit);
        }
    }
    let gauges = |unit: &str| -> Vec<&str> {
        scene
            .instruments
            .iter()
            .filter(|i| i.is_gauge() && i.unit == unit)
            .map(|i| i.mark.as_str())
            .collect()
    };
    let on = |unit: &str| match gauges(unit) {
        marks if marks.is_empty() => "another gauge".to_owned(),
        marks => marks.join(", "),
    };
    seen.into_iter()
        .map(|u| (u.to_owned(), format!("{} on {}", gauge_unit(u), on(u))))
        .collect()
}

/// A unit of a pressure above the air, with its reference.
pub fn gauge_unit(unit: &str) -> String {
    if unit == "psi" {
        "psig".to_owned()
    } else {
        format!("{unit} gauge")
    }
}

/// A pressure above the air out of a number and a unit field.
pub fn gauge_pressure(form: &mut Form, name: &str, unit_name: &str) -> Option<Quantity<Pressure>> {
    let number = form.number(name)?;
    match form.get(unit_name) {
        unit @ ("psi" | "bar" | "kPa") => {
            let text = format!("{number} {unit} gauge");
            quantity(form, name, &text)
        }
        _ => {
            form.wrong(unit_name, "Choose the unit that the gauge shows.");
            None
        }
    }
}

/// The unit of temperatures that this person looks at.
pub fn degrees(ctx: &Ctx) -> (&'static str, &'static str) {
    match ctx.units {
        UnitSystem::Si => ("degC", "°C"),
        UnitSystem::Us => ("degF", "°F"),
    }
}

/// A temperature out of a number field, checked against absolute zero.
pub fn temperature(ctx: &Ctx, form: &mut Form, name: &str) -> Option<Quantity<Temperature>> {
    let text = form.quantity(name, degrees(ctx).0)?;
    text.parse()
        .map_err(|_| form.wrong(name, "No temperature can be below absolute zero."))
        .ok()
}

/// What is said of a date that is none.
pub const NO_DATE: &str = "Enter the date, for example 2026-05-12.";

/// Yes, no or not said.
pub fn yes_no(form: &Form, name: &str) -> Option<bool> {
    match form.get(name) {
        "yes" => Some(true),
        "no" => Some(false),
        _ => None,
    }
}

pub fn standing_fields(ctx: &Ctx, scene: &Scene, form: &Form) -> Vec<Fieldset> {
    let mut fields = vec![
        form.field("pressure", "Gauge reading")
            .number("")
            .required(),
        form.tiles("unit", "in", pressure_units(scene)).required(),
        form.field("ambient", "Temperature of car and air")
            .number(degrees(ctx).1)
            .required(),
        form.tiles(
            "cold",
            "Cold soaked (same temperature throughout as the air)?",
            [("yes", "yes"), ("no", "no")],
        ),
    ];
    fields.extend(time_fields(form, "Read at"));
    one(fields)
}

pub fn read_standing(ctx: &Ctx, _: &Scene, form: &mut Form) -> Option<Vec<Draft>> {
    if form.get("pressure").is_empty() {
        form.wrong(
            "pressure",
            "Enter the gauge reading; 0 for an empty circuit.",
        );
    }
    let pressure = gauge_pressure(form, "pressure", "unit");
    if form.get("ambient").is_empty() {
        form.wrong(
            "ambient",
            "Enter the temperature. The pressure means nothing without it.",
        );
    }
    let ambient = temperature(ctx, form, "ambient");
    let at = form.when("at", &ctx.zone, ctx.now)?;
    let standing = Standing {
        pressure: Some(pressure?),
        ambient: Some(ambient?),
        cold_soak: yes_no(form, "cold"),
        ..Standing::default()
    };
    Some(vec![Draft::new(standing).at(at, form)])
}

pub fn identification_fields(_: &Ctx, scene: &Scene, form: &Form) -> Vec<Fieldset> {
    let identifiers: Vec<_> = scene
        .instruments
        .iter()
        .filter(|i| i.kind == InstrumentKind::Identifier)
        .map(|i| (i.mark.clone(), i.mark.clone()))
        .collect();
    let mut fields = vec![
        form.refrigerants("gas", "Main gas").required(),
        form.field("share", "Share of it").number("%").required(),
        form.field("air", "Air").number("%"),
        form.tiles(
            "sealant",
            "Leak sealant",
            [("no", "none found"), ("yes", "found")],
        ),
    ];
    if !identifiers.is_empty() {
        fields.push(form.select("instrument", "Identifier", identifiers));
    }
    fields.extend(time_fields(form, "Identified at"));
    one(fields)
}

pub fn read_identification(ctx: &Ctx, _: &Scene, form: &mut Form) -> Option<Vec<Draft>> {
    let gas = form.choice("gas", "Choose the gas.", |g| {
        (!g.is_empty()).then(|| g.to_owned())
    });
    if form.get("share").is_empty() {
        form.wrong("share", "Enter the share that the identifier shows.");
    }
    let share = percent(form, "share");
    let air = percent(form, "air");
    let at = form.when("at", &ctx.zone, ctx.now)?;
    let found = Identification {
        instrument: some(form.get("instrument")),
        gases: [(gas?, share?)].into_iter().collect(),
        air,
        sealant: yes_no(form, "sealant"),
        ..Identification::default()
    };
    Some(vec![Draft::new(found).at(at, form)])
}

/// A share of 100 %.
pub fn percent(form: &mut Form, name: &str) -> Option<Quantity<Fraction>> {
    let number = form.number(name)?;
    if number.is_sign_negative() || number > rust_decimal::Decimal::ONE_HUNDRED {
        form.wrong(name, "Enter a share between 0 and 100 %.");
        return None;
    }
    quantity(form, name, &format!("{number} %"))
}

pub fn isolation_fields(_: &Ctx, _: &Scene, form: &Form) -> Vec<Fieldset> {
    let mut fields = vec![
        form.field("waited", "Waited after switching off").number("min").hint("The maker’s discharge time, or longer.").required(),
        form.field("measured", "Voltage measured between HV+ and HV−")
            .number("V")
            .required()
            .hint("Enter the reading. Do not go on unless it is 0 V. Above 60 V DC the car is not isolated."),
    ];
    fields.extend(time_fields(form, "Measured at"));
    one(fields)
}

pub fn read_isolation(ctx: &Ctx, _: &Scene, form: &mut Form) -> Option<Vec<Draft>> {
    let measured = form.need_quantity(
        "measured",
        "V",
        "Enter the voltage measured. Without it the car does not count as isolated.",
    );
    if form.get("waited").is_empty() {
        form.wrong(
            "waited",
            "Enter how long was waited after switching off; 0 if nobody waited.",
        );
    }
    let waited = form
        .number("waited")
        .filter(|w| !w.is_sign_negative() && *w <= rust_decimal::Decimal::from(7 * 24 * 60));
    if waited.is_none() && form.error("waited").is_none() {
        form.wrong("waited", "Enter minutes, from zero up to a week.");
    }
    let at = form.when("at", &ctx.zone, ctx.now)?;
    let waited = (waited? * rust_decimal::Decimal::from(60)).round();
    let waited = quantity(form, "waited", &format!("PT{waited}S"));
    Some(vec![
        Draft::new(Isolation {
            measured: Some(measured?),
            waited: Some(waited?),
            ..Isolation::default()
        })
        .at(at, form),
    ])
}

/// What the last measurement means: at the task itself, and where something of a high-voltage car is touched that was not measured dead.
pub fn isolated(ctx: &Ctx, scene: &Scene, task: &str) -> Option<String> {
    let (last, isolation) = scene
        .each::<Isolation>()
        .max_by_key(|(p, _)| (p.at, p.entered_at))?;
    let at = last
        .at
        .map(|at| format!(" at {}", ctx.zone.short(at, ctx.now)))
        .unwrap_or_default();
    let here = task == "isolation";
    match proved(isolation) {
        Proved::Dead => here.then(|| format!("Isolated: {} measured{at}, not above 60 V DC.", isolation.measured.as_deref().unwrap_or_default())),
        Proved::Live(volts) => (here || scene.is_electric()).then(|| {
            format!(
                "Not isolated: {} V measured{at}, above 60 V DC. Stop. Touch nothing. Switch off, lock out, wait the maker’s discharge time and measure again.",
                short(volts)
            )
        }),
        Proved::NotMeasured => {
            (here || scene.is_electric()).then(|| "Not isolated: no voltage on record. Stop. Touch nothing until it is measured dead.".to_owned())
        }
    }
}

/// A voltage with no more digits than were measured.
fn short(volts: f64) -> String {
    format!("{volts:.1}")
        .trim_end_matches(".0")
        .replacen('-', "−", 1)
}

pub fn recovery_intro(_: &Ctx, scene: &Scene) -> String {
    format!(
        "The label says {}. If the circuit was empty, enter a recovery of 0 g.",
        scene.refrigerant()
    )
}

/// Units of mass.
pub const MASSES: [(&str, &str); 4] = [("kg", "kg"), ("g", "g"), ("lb", "lb"), ("oz", "oz")];

/// Scales of the shop.
pub fn scales(scene: &Scene) -> Vec<(String, String)> {
    scene
        .instruments
        .iter()
        .filter(|i| i.kind == InstrumentKind::Scale)
        .map(|i| (i.mark.clone(), format!("{}, {}", i.mark, i.resolution)))
        .collect()
}

/// The scale that was chosen, as the record writes it.
pub fn scale(scene: &Scene, form: &mut Form) -> Option<Scale> {
    let i = scene.instrument(form.get("scale"))?;
    let resolution = if i.resolution.is_empty() {
        None
    } else {
        Some(quantity(form, "scale", &i.resolution)?)
    };
    Some(Scale {
        id: Some(i.mark.clone()),
        resolution,
    })
}

/// The unit that masses were typed in; that of the scale that was chosen, where nothing else was said.
pub fn mass_unit(scene: &Scene, form: &mut Form) -> Option<String> {
    let of_scale = scene
        .instrument(form.get("scale"))
        .map(|i| i.unit.clone())
        .filter(|u| MASSES.iter().any(|m| m.0 == u));
    if let Some(unit) = of_scale.filter(|_| form.get("mass_unit").is_empty()) {
        form.set("mass_unit", unit);
    }
    form.choice("mass_unit", "Choose the unit that the scale shows.", |u| {
        MASSES.iter().any(|m| m.0 == u).then(|| u.to_owned())
    })
}

pub fn recovery_fields(_: &Ctx, scene: &Scene, form: &Form) -> Vec<Fieldset> {
    let cylinders: Vec<_> = scene
        .cylinders
        .iter()
        .filter(|c| c.purpose != CylinderPurpose::Charge)
        .map(|c| (c.mark.clone(), format!("{}, {}", c.mark, c.refrigerant)))
        .collect();
    let mut fields = vec![];
    if cylinders.is_empty() {
        fields.push(
            form.field("cylinder", "Into cylinder")
                .hint("The mark on the cylinder.")
                .required(),
        );
    } else {
        fields.push(
            form.tiles("cylinder", "Into cylinder", cylinders)
                .required(),
        );
    }
    fields.extend([
        form.refrigerants("refrigerant", "Refrigerant").required(),
        form.field("before", "Cylinder mass before")
            .number("")
            .required(),
        form.field("after", "Cylinder mass after")
            .number("")
            .required(),
        form.tiles("mass_unit", "in", MASSES).required(),
    ]);
    if !scales(scene).is_empty() {
        fields.push(
            form.select("scale", "Scale", scales(scene))
                .hint("Uses the scale’s unit unless you choose another."),
        );
    }
    fields.push(form.field("oil", "Oil recovered with it").number("mL"));
    fields.extend(time_fields(form, "Recovered at"));
    let mut sets = one(fields);
    if scene.of_kinds(&[Kind::OpenSince]).next().is_none() {
        sets.push(Fieldset {
            legend: "Or the circuit was open on arrival".into(),
            intro: "Then nothing can be recovered. Leave the rest blank.".into(),
            fields: vec![form.field("open_since", "Open since").kind(FieldKind::Date)],
        });
    }
    sets
}

pub fn read_recovery(ctx: &Ctx, scene: &Scene, form: &mut Form) -> Option<Vec<Draft>> {
    if !form.get("open_since").is_empty() && form.get("before").is_empty() {
        let since = form.date("open_since")?;
        if since > ctx.zone.iso_date(ctx.now) {
            form.wrong("open_since", "That date is in the future.");
        }
        let value: Moment = since
            .parse()
            .map_err(|_| form.wrong("open_since", NO_DATE))
            .ok()?;
        return Some(vec![Draft::new(Only { value })]);
    }
    let cylinder = form.need("cylinder", "Choose the cylinder.");
    let refrigerant = form.choice("refrigerant", "Choose the refrigerant.", |r| r.parse().ok());
    let unit = mass_unit(scene, form);
    for name in ["before", "after"] {
        if form.get(name).is_empty() {
            form.wrong(name, "Enter the scale reading.");
        }
    }
    let (before, after) = (form.number("before"), form.number("after"));
    if before.zip(after).is_some_and(|(b, a)| a < b) {
        form.wrong(
            "after",
            "The cylinder must be heavier after recovery: this is less than before.",
        );
    }
    let unit = unit?;
    let (before, after, oil) = (
        measured(form, "before", &unit),
        measured(form, "after", &unit),
        measured(form, "oil", "mL"),
    );
    let at = form.when("at", &ctx.zone, ctx.now)?;
    let cylinder = cylinder?;
    let recovery = Recovery {
        cylinder: Some(cylinder.clone()),
        refrigerant: Some(refrigerant?),
        before: Some(before?),
        after: Some(after?),
        scale: scale(scene, form),
        oil,
        ..Recovery::default()
    };
    let mut draft = Draft::new(recovery).at(at, form);
    draft.cylinder = scene.cylinder(&cylinder).map(|c| c.id);
    draft.instrument = scene.instrument(form.get("scale")).map(|i| i.id);
    Some(vec![draft])
}

pub fn leak_fields(_: &Ctx, _: &Scene, form: &Form) -> Vec<Fieldset> {
    let mut fields = vec![
        form.field("place", "Where it leaks")
            .hint("For example: evaporator core, drier outlet.")
            .required(),
        form.tiles(
            "found_by",
            "Found by",
            [
                ("electronic detector", "electronic detector"),
                ("dye", "dye"),
                ("bubbles", "bubbles"),
                ("looking", "visual inspection"),
            ],
        ),
    ];
    fields.extend(time_fields(form, "Found at"));
    fields.push(
        form.field("repaired", "Repaired at")
            .kind(FieldKind::DateTime)
            .hint("Leave blank until the leak is repaired, then come back and fill it in."),
    );
    one(fields)
}

pub fn read_leak(ctx: &Ctx, _: &Scene, form: &mut Form) -> Option<Vec<Draft>> {
    let place = form.need("place", "Enter where.");
    let at = form.when("at", &ctx.zone, ctx.now);
    let repaired = if form.get("repaired").is_empty() {
        None
    } else {
        form.when("repaired", &ctx.zone, ctx.now)
    };
    if at
        .zip(repaired)
        .is_some_and(|(found, repaired)| repaired < found)
    {
        form.wrong("repaired", "That is before the leak was found.");
    }
    let leak = Leak {
        place: Some(place?),
        found_by: some(form.get("found_by")),
        repaired_at: repaired.map(Into::into),
        ..Leak::default()
    };
    Some(vec![Draft::new(leak).at(at?, form)])
}

pub fn gas_fields(_: &Ctx, _: &Scene, form: &Form) -> Vec<Fieldset> {
    let mut fields = vec![
        form.tiles(
            "gas",
            "Gas let in",
            [
                ("nitrogen", "dry nitrogen"),
                ("air", "air"),
                ("refrigerant", "refrigerant"),
                ("oxygen", "oxygen"),
            ],
        )
        .required(),
    ];
    fields.extend(time_fields(form, "At"));
    one(fields)
}

pub fn read_gas(ctx: &Ctx, _: &Scene, form: &mut Form) -> Option<Vec<Draft>> {
    let gas: Option<Gas> = form.choice("gas", "Choose what it was.", |g| g.parse().ok());
    let at = form.when("at", &ctx.zone, ctx.now)?;
    Some(vec![
        Draft::new(GasLetIn {
            gas: Some(gas?),
            ..GasLetIn::default()
        })
        .at(at, form),
    ])
}
