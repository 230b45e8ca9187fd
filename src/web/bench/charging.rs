//! Charging by weight, performance, caps and cores.
use super::{
    super::{Ctx, Fieldset, Form},
    Scene,
    diagnosis::{
        MASSES, degrees, gauge_pressure, mass_unit, one, percent, pressure_units, scale, scales,
        temperature, yes_no,
    },
    draft::{Draft, time_fields},
};
use crate::shop::CylinderPurpose;
use crate::{
    store::evidence::Only,
    web::form::{measured, quantity, some},
};
use chillwright_calc::{
    UnitSystem,
    record::{Can, Charging, Hose, Performance, Port, Side},
};

pub fn charge_intro(ctx: &Ctx, scene: &Scene) -> String {
    use chillwright_calc::units::{Mass, show::mass};
    scene.ask(ctx, |case| {
        let Some(target) = case.target else {
            return "The label’s charge is not on record.".to_owned();
        };
        let says = format!(
            "{} of {}, ± {}",
            mass(Mass::new(target.kg), case.units),
            case.record.system.refrigerant,
            mass(Mass::new(target.tolerance_kg), case.units)
        );
        match case.net_kg() {
            Some(net) => format!(
                "Specified charge: {says}. Charged so far: {}.",
                mass(Mass::new(net), case.units)
            ),
            None => format!("Specified charge: {says}."),
        }
    })
}

/// The units of a hose's length and of its bore, as the record writes them.
fn hose_units(ctx: &Ctx) -> (&'static str, &'static str) {
    match ctx.units {
        UnitSystem::Si => ("m", "mm"),
        UnitSystem::Us => ("ft", "in"),
    }
}

/// Instead of weighing what stayed in the hose: its size, and what filled it.
fn hose_fields(ctx: &Ctx, form: &Form) -> Fieldset {
    let (length, bore) = hose_units(ctx);
    Fieldset {
        legend: "Or the hose itself".into(),
        intro: "If what stayed in the hose was not weighed, its size says how much it holds."
            .into(),
        fields: vec![
            form.field("hose_length", "Hose length").number(length),
            form.field("hose_bore", "Hose bore").number(bore),
            form.tiles(
                "hose_state",
                "Filled with",
                [
                    ("liquid", "liquid"),
                    ("vapour", "vapour"),
                    ("", "not known"),
                ],
            ),
        ],
    }
}

/// The hose as recorded; `None` where nothing of it was entered.
fn read_hose(ctx: &Ctx, form: &mut Form) -> Option<Hose> {
    let (length_unit, bore_unit) = hose_units(ctx);
    let (length, bore) = (
        measured(form, "hose_length", length_unit),
        measured(form, "hose_bore", bore_unit),
    );
    if length.is_some() != bore.is_some() {
        form.wrong(
            if length.is_none() {
                "hose_length"
            } else {
                "hose_bore"
            },
            "Enter both, the length and the bore.",
        );
    }
    Some(Hose {
        length: Some(length?),
        bore: Some(bore?),
        state: form.get("hose_state").parse().ok(),
    })
}

pub fn charge_fields(ctx: &Ctx, scene: &Scene, form: &Form) -> Vec<Fieldset> {
    let cylinders: Vec<_> = scene
        .cylinders
        .iter()
        .filter(|c| c.purpose != CylinderPurpose::Contaminated)
        .map(|c| (c.mark.clone(), format!("{}, {}", c.mark, c.refrigerant)))
        .collect();
    let cylinder = if cylinders.is_empty() {
        form.field("cylinder", "From cylinder")
            .hint("The mark on the cylinder.")
    } else {
        form.tiles("cylinder", "From cylinder", cylinders)
    };
    let mut fields = vec![
        form.refrigerants("refrigerant", "What was charged")
            .required(),
        cylinder,
        form.field("before", "Cylinder mass before").number(""),
        form.field("after", "Cylinder mass after").number(""),
        form.field("hose", "Left in the hose")
            .number("")
            .hint("Enter 0 if you emptied the hose into the circuit."),
        form.tiles("mass_unit", "in", MASSES),
    ];
    if !scales(scene).is_empty() {
        fields.push(
            form.select("scale", "Scale", scales(scene))
                .hint("Uses the scale’s unit unless you choose another."),
        );
    }
    fields.extend(time_fields(form, "Started at"));
    let mut sets = one(fields);
    sets.push(hose_fields(ctx, form));
    sets.push(Fieldset {
        legend: "Or out of cans".into(),
        intro: "Net mass on each can’s label, and what was left in the can.".into(),
        fields: (1..=3)
            .flat_map(|i| {
                [
                    form.field(&format!("can{i}"), &format!("Can {i}, net"))
                        .number(""),
                    form.field(&format!("left{i}"), &format!("Left in can {i}"))
                        .number(""),
                ]
            })
            .collect(),
    });
    sets.push(Fieldset {
        legend: String::new(),
        intro: String::new(),
        fields: vec![form.tick("unweighed", "Not weighed")],
    });
    sets
}

pub fn read_charge(ctx: &Ctx, scene: &Scene, form: &mut Form) -> Option<Vec<Draft>> {
    let refrigerant = form.choice("refrigerant", "Choose what was charged.", |r| {
        r.parse().ok()
    });
    let at = form.when("at", &ctx.zone, ctx.now)?;
    let cylinder = form.text("cylinder");
    let mut charging = Charging {
        refrigerant: Some(refrigerant?),
        cylinder: some(cylinder.as_str()),
        ..Charging::default()
    };
    if !form.ticked("unweighed") {
        let unit = mass_unit(scene, form)?;
        let from_cans = (1..=3).any(|i| !form.get(&format!("can{i}")).is_empty());
        for name in ["before", "after"] {
            if !from_cans && form.get(name).is_empty() {
                form.wrong(
                    name,
                    "Enter the scale reading, or tick that it was not weighed.",
                );
            }
        }
        let (before, after, hose) = (
            form.number("before"),
            form.number("after"),
            form.number("hose"),
        );
        if before.zip(after).is_some_and(|(b, a)| a > b) {
            form.wrong(
                "after",
                "The cylinder must be lighter after charging: this is more than before.",
            );
        }
        if let (Some(b), Some(a), Some(h)) = (before, after, hose)
            && a <= b
            && h > b - a
        {
            form.wrong(
                "hose",
                "That is more than left the cylinder. Check the figures.",
            );
        }
        charging.before = measured(form, "before", &unit);
        charging.after = measured(form, "after", &unit);
        charging.left_in_hose = measured(form, "hose", &unit);
        charging.hose = read_hose(ctx, form);
        charging.cans = (1..=3)
            .filter_map(|i| {
                let net = measured(form, &format!("can{i}"), &unit)?;
                let left = measured(form, &format!("left{i}"), &unit);
                if left.is_none() {
                    form.wrong(
                        &format!("left{i}"),
                        "Enter what was left in the can; 0 if it is empty.",
                    );
                }
                Some(Can {
                    net: Some(net),
                    left,
                    ..Can::default()
                })
            })
            .collect();
        charging.scale = scale(scene, form);
    }
    let mut draft = Draft::new(charging).at(at, form);
    draft.cylinder = scene.cylinder(&cylinder).map(|c| c.id);
    draft.instrument = scene.instrument(form.get("scale")).map(|i| i.id);
    Some(vec![draft])
}

pub fn performance_fields(ctx: &Ctx, scene: &Scene, form: &Form) -> Vec<Fieldset> {
    let t = degrees(ctx).1;
    let mut fields = vec![
        form.field("ambient", "Outside air temperature")
            .number(t)
            .required(),
        form.field("humidity", "Outside relative humidity")
            .number("%"),
        form.field("low", "Low side").number("").required(),
        form.field("high", "High side").number("").required(),
        form.tiles("unit", "in", pressure_units(scene)).required(),
        form.field("vent", "Air temperature at the centre vent")
            .number(t)
            .required(),
        form.field("suction", "Suction line temperature").number(t),
        form.field("liquid", "Liquid line temperature").number(t),
        form.field("froze", "Low side below freezing for")
            .number("s")
            .hint("Water freezes on an evaporator below 0 °C (32 °F)."),
        form.field("engine", "Engine speed").number("rpm"),
        form.tiles(
            "blower",
            "Blower",
            [("high", "high"), ("middle", "middle"), ("low", "low")],
        ),
        form.tiles(
            "recirculation",
            "Recirculation",
            [("yes", "on"), ("no", "off")],
        ),
        form.tiles(
            "doors",
            "Doors and windows",
            [("no", "closed"), ("yes", "open")],
        ),
    ];
    fields.extend(time_fields(form, "Measured at"));
    let mut sets = one(fields);
    sets.push(Fieldset {
        legend: "Or not measured".into(),
        intro: String::new(),
        fields: vec![
            form.field("omitted", "Reason")
                .hint("For example: too cold outside, 4 °C (39 °F)."),
        ],
    });
    sets
}

pub fn read_performance(ctx: &Ctx, _: &Scene, form: &mut Form) -> Option<Vec<Draft>> {
    let omitted = form.text("omitted");
    if !omitted.is_empty() && form.get("low").is_empty() {
        return Some(vec![Draft::new(Only { value: omitted })]);
    }
    for (name, says) in [
        ("ambient", "Enter the outside temperature."),
        ("low", "Enter the low-side pressure."),
        ("high", "Enter the high-side pressure."),
        ("vent", "Enter the vent temperature."),
    ] {
        if form.get(name).is_empty() {
            form.wrong(name, says);
        }
    }
    let ambient = temperature(ctx, form, "ambient");
    let humidity = percent(form, "humidity");
    let (low, high) = (
        gauge_pressure(form, "low", "unit"),
        gauge_pressure(form, "high", "unit"),
    );
    let (vent, suction, liquid) = (
        temperature(ctx, form, "vent"),
        temperature(ctx, form, "suction"),
        temperature(ctx, form, "liquid"),
    );
    let engine = match form.get("engine").replace(' ', "") {
        text if text.is_empty() => None,
        text => text
            .parse::<u32>()
            .ok()
            .filter(|n| *n <= 20_000)
            .or_else(|| {
                form.wrong("engine", "Enter the engine speed as a whole number of rpm.");
                None
            }),
    };
    let froze = form.number("froze").and_then(|s| {
        let fits = !s.is_sign_negative() && s <= rust_decimal::Decimal::from(86_400);
        if !fits {
            form.wrong("froze", "Enter seconds, up to one day.");
        }
        fits.then(|| format!("PT{}S", s.normalize()))
    });
    let froze = froze.and_then(|text| quantity(form, "froze", &text));
    let at = form.when("at", &ctx.zone, ctx.now)?;
    let performance = Performance {
        ambient: Some(ambient?),
        humidity,
        low_side: Some(low?),
        high_side: Some(high?),
        vent: Some(vent?),
        suction_line: suction,
        liquid_line: liquid,
        low_below_freezing_for: froze,
        engine,
        blower: some(form.get("blower")),
        recirculation: yes_no(form, "recirculation"),
        doors_open: yes_no(form, "doors"),
        ..Performance::default()
    };
    Some(vec![Draft::new(performance).at(at, form)])
}

/// The sides that a form asks about: both, or the one whose entry is corrected.
fn sides(scene: &Scene, form: &Form) -> Vec<Side> {
    let corrected = scene
        .piece(form.get("piece"))
        .and_then(|p| p.get::<Port>())
        .map(|port| port.side);
    Side::ALL
        .iter()
        .copied()
        .filter(|side| corrected.is_none_or(|c| c == Some(*side)))
        .collect()
}

pub fn port_fields(_: &Ctx, scene: &Scene, form: &Form) -> Vec<Fieldset> {
    let side = |side: &str, title: &str| Fieldset {
        legend: title.into(),
        intro: String::new(),
        fields: vec![
            form.tiles(
                &format!("{side}.cap"),
                "Cap",
                [("yes", "on, with its seal"), ("no", "none")],
            ),
            form.tiles(
                &format!("{side}.core"),
                "Core",
                [
                    ("tight", "tight"),
                    ("leaks", "leaks"),
                    ("renewed", "renewed"),
                ],
            ),
        ],
    };
    sides(scene, form)
        .into_iter()
        .map(|s| {
            side(
                s.word(),
                if s == Side::Low {
                    "Low side"
                } else {
                    "High side"
                },
            )
        })
        .collect()
}

pub fn read_ports(_: &Ctx, scene: &Scene, form: &mut Form) -> Option<Vec<Draft>> {
    let mut drafts = Vec::new();
    for side in sides(scene, form) {
        let (cap, core) = (
            yes_no(form, &format!("{side}.cap")),
            form.word(&format!("{side}.core")),
        );
        if cap.is_none() && core.is_none() {
            continue;
        }
        let mut draft = Draft::new(Port {
            side: Some(side),
            cap,
            core,
            ..Port::default()
        });
        // A port has one state: the last word about it.
        draft.revises = scene
            .each::<Port>()
            .find(|(_, port)| port.side == Some(side))
            .map(|(p, _)| (p.id, p.seq));
        draft.keeps_form = true;
        drafts.push(draft);
    }
    if drafts.is_empty() {
        form.wrong(
            &format!(
                "{}.cap",
                sides(scene, form).first().copied().unwrap_or(Side::Low)
            ),
            "Choose cap or core for at least one side.",
        );
    }
    Some(drafts)
}
