//! Parts with their donors, fixings, flushes, oil.
use super::{
    super::{Ctx, Fieldset, Form, Kind as FieldKind},
    Scene,
    diagnosis::{NO_DATE, yes_no},
    draft::{Draft, time_fields},
    joints::{choices, chosen},
};
use crate::{
    shop::{instant::is_date, vin},
    store::evidence::{Kind, Only},
    web::form::{measured, some},
};
use chillwright_calc::{
    record::{
        CompressorFailed, Donor, Fixing, FixingKind, Flush, FlushedBy, OilAdded, Part, Role,
        Source, System,
    },
    units::Day,
};

const ROLES: [(&str, &str); 11] = [
    ("compressor", "compressor"),
    ("condenser", "condenser"),
    ("evaporator", "evaporator"),
    ("receiver-drier", "receiver-drier"),
    ("accumulator", "accumulator"),
    ("expansion-device", "expansion valve or orifice tube"),
    ("hose", "hose"),
    ("pipe", "pipe"),
    ("pressure-sensor", "pressure sensor"),
    ("service-valve", "service valve"),
    ("other", "something else"),
];
const SOURCES: [(&str, &str); 7] = [
    ("new", "new"),
    ("salvaged", "used, from a dismantler"),
    ("reconditioned", "reconditioned"),
    ("refitted", "the car’s own, refitted"),
    ("repaired", "the car’s own, repaired"),
    ("made", "made up"),
    ("customers-own", "the customer’s own"),
];

pub fn part_fields(_: &Ctx, scene: &Scene, form: &Form) -> Vec<Fieldset> {
    let set = |legend: &str, fields| Fieldset {
        legend: legend.into(),
        intro: String::new(),
        fields,
    };
    let yards: Vec<_> = scene
        .yards
        .iter()
        .filter(|y| y.retired_at.is_none())
        .map(|y| (y.name.clone(), y.name.clone()))
        .collect();
    let vin_hint = vin::judge(&form.get("vin").to_uppercase())
        .says()
        .filter(|_| !form.get("vin").is_empty())
        .unwrap_or("17 characters.");
    let mut first = vec![
        form.tiles("role", "Part", ROLES).required(),
        form.tiles("source", "Source", SOURCES).required(),
        form.tiles("fitted", "Fitted?", [("yes", "fitted"), ("no", "not yet")])
            .required(),
    ];
    first.extend(time_fields(form, "Fitted at"));
    let yard = if yards.is_empty() {
        form.field("yard", "Yard")
    } else {
        form.select("yard", "Yard", yards)
    };
    vec![
        set("The part", first),
        set("Its joints", vec![form.many("joints", "Joints that connect it", choices(scene)), form.field("other_joint", "Another place")]),
        set(
            "What is in it",
            vec![
                form.tiles("desiccant", "Contains desiccant", [("yes", "yes"), ("no", "no")]),
                form.tiles("desiccant_renewed", "Desiccant renewed", [("yes", "yes"), ("no", "no")]),
                form.tiles("ports", "Ports on arrival", [("capped", "capped"), ("open", "open"), ("cut", "cut"), ("unknown", "not known")]),
                form.field("oil_drained", "Oil drained from the old part").number("mL"),
                form.field("oil_added", "Oil put into this part").number("mL"),
            ],
        ),
        Fieldset {
            intro: "For a used part. It gets a tag number by which it can be traced.".into(),
            ..set(
                "Its donor",
                vec![
                    yard,
                    form.field("yard_other", "or another yard"),
                    form.field("vehicle", "Donor car").hint("Make, model, year."),
                    form.field("vin", "Donor’s VIN").hint(vin_hint),
                    form.field("stock", "Stock number"),
                    form.field("pulled_on", "Pulled on").kind(FieldKind::Date),
                    form.field("receipt", "Receipt"),
                ],
            )
        },
        Fieldset {
            intro: "If the old drier stays: recent desiccant and a short opening time may be enough. Leave the rest blank.".into(),
            ..set("Or only the age of the drier", vec![form.field("desiccant_since", "Desiccant last renewed on").kind(FieldKind::Date)])
        },
    ]
}

pub fn read_part(ctx: &Ctx, scene: &Scene, form: &mut Form) -> Option<Vec<Draft>> {
    if !form.get("desiccant_since").is_empty() && form.get("role").is_empty() {
        let since = form.date("desiccant_since")?;
        if since > ctx.zone.iso_date(ctx.now) {
            form.wrong("desiccant_since", "That date is in the future.");
        }
        // There is one date; a later word about it corrects it.
        let known = scene
            .of_kinds(&[Kind::Desiccant])
            .next()
            .map(|p| (p.id, p.seq));
        let value: Day = since
            .parse()
            .map_err(|_| form.wrong("desiccant_since", NO_DATE))
            .ok()?;
        return Some(vec![Draft {
            revises: known,
            ..Draft::new(Only { value })
        }]);
    }
    let role: Option<Role> = form.choice("role", "Choose what it is.", |w| w.parse().ok());
    let source: Option<Source> =
        form.choice("source", "Choose where it comes from.", |w| w.parse().ok());
    let fitted = form.choice("fitted", "Choose whether it is fitted.", |f| match f {
        "yes" => Some(true),
        "no" => Some(false),
        _ => None,
    });
    let at = form.when("at", &ctx.zone, ctx.now)?;
    let (oil_drained, oil_added) = (
        measured(form, "oil_drained", "mL"),
        measured(form, "oil_added", "mL"),
    );
    let ports = form.word("ports");
    let donor = donor(ctx, form);
    let (mut drafts, joints) = chosen(scene, form, "joints", "other_joint");
    let (role, source) = (role?, source?);
    let yard = donor
        .yard
        .as_ref()
        .and_then(|name| scene.yards.iter().find(|y| y.name == *name))
        .map(|y| y.id);
    let mut part = Draft::new(Part {
        role: Some(role),
        source: Some(source),
        contains_desiccant: yes_no(form, "desiccant"),
        desiccant_renewed: yes_no(form, "desiccant_renewed"),
        ports,
        donor: Some(donor).filter(|d| *d != Donor::default()),
        oil_drained,
        oil_added,
        joints: joints.iter().map(|j| j.mark.clone()).collect(),
        ..Part::default()
    });
    if fitted? {
        part = part.at(at, form);
    }
    part.yard = yard;
    part.keeps_form = true;
    // The part comes first, so that a correction corrects it.
    drafts.insert(0, part);
    Some(drafts)
}

fn donor(ctx: &Ctx, form: &mut Form) -> Donor {
    let yard = if form.get("yard_other").is_empty() {
        form.text("yard")
    } else {
        form.text("yard_other")
    };
    let pulled = form.get("pulled_on").to_owned();
    if !pulled.is_empty() && !is_date(&pulled) {
        form.wrong("pulled_on", "Enter the date, for example 2026-05-12.");
    }
    if pulled > ctx.zone.iso_date(ctx.now) {
        form.wrong("pulled_on", "That date is in the future.");
    }
    Donor {
        yard: some(yard),
        vehicle: some(form.text("vehicle")),
        vin: some(form.text("vin").to_uppercase()),
        stock: some(form.text("stock")),
        pulled_on: pulled.parse().ok(),
        receipt: some(form.text("receipt")),
    }
}

fn parts(scene: &Scene) -> Vec<(String, String)> {
    let told = |part: &Part| {
        format!(
            "{} {}",
            part.source.map_or("", Source::word),
            part.role.map_or("", Role::word)
        )
    };
    scene
        .each::<Part>()
        .map(|(p, part)| (p.mark.clone(), told(part)))
        .collect()
}

pub fn fixing_fields(_: &Ctx, scene: &Scene, form: &Form) -> Vec<Fieldset> {
    let mut fields = vec![];
    if !parts(scene).is_empty() {
        fields.push(form.select("part", "Of", parts(scene)));
    }
    fields.extend([
        form.field("place", "Where")
            .hint("For example: case, lower left.")
            .required(),
        form.tiles(
            "kind",
            "How it is fixed",
            [
                ("standard", "standard, as the maker fixes it"),
                ("improvised", "improvised"),
            ],
        )
        .required(),
        form.field("note", "What was done"),
        form.field("look_again_on", "Recheck by")
            .kind(FieldKind::Date)
            .hint("For an improvised fixing."),
    ]);
    super::diagnosis::one(fields)
}

pub fn read_fixing(_: &Ctx, _: &Scene, form: &mut Form) -> Option<Vec<Draft>> {
    let place = form.need("place", "Enter where.");
    let kind: Option<FixingKind> =
        form.choice("kind", "Choose how it is fixed.", |k| k.parse().ok());
    let again: Option<Day> = form.date("look_again_on").and_then(|day| day.parse().ok());
    let kind = kind?;
    if kind == FixingKind::Improvised && again.is_none() && form.error("look_again_on").is_none() {
        form.wrong(
            "look_again_on",
            "An improvised fixing must be rechecked: enter a date.",
        );
    }
    let fixing = Fixing {
        part: some(form.get("part")),
        place: Some(place?),
        kind: Some(kind),
        note: some(form.text("note")),
        look_again_on: again,
        ..Fixing::default()
    };
    Some(vec![Draft::new(fixing)])
}

pub fn flush_fields(_: &Ctx, scene: &Scene, form: &Form) -> Vec<Fieldset> {
    let told = match scene
        .record
        .system
        .compressor_failed
        .as_ref()
        .map(|c| c.debris)
    {
        None => "nothing",
        Some(Some(true)) => "failed, debris in the circuit",
        Some(_) => "failed, no debris",
    };
    let found = form.tiles(
        "failed",
        "What was found",
        [
            ("debris", "failed, debris in the circuit"),
            ("clean", "failed, no debris"),
            ("no", "sound"),
        ],
    );
    let mut fields = vec![
        form.tiles(
            "section",
            "Section",
            [
                "compressor to condenser",
                "condenser to evaporator",
                "evaporator to compressor",
                "whole circuit",
            ]
            .map(|s| (s, s)),
        ),
        form.field("section_other", "or another"),
        // Not `by`: that is who stands at the tablet.
        form.tiles(
            "how",
            "What was done",
            [
                ("flushed", "flushed"),
                ("renewed", "renewed"),
                ("filtered", "in-line filter fitted"),
            ],
        ),
    ];
    fields.extend(time_fields(form, "At"));
    let set = |legend: &str, intro: &str, fields| Fieldset {
        legend: legend.into(),
        intro: intro.into(),
        fields,
    };
    vec![
        set(
            "The compressor",
            "Metal in the old oil, in the orifice tube’s screen or in the filter is debris. Then every section must be flushed, renewed or filtered.",
            vec![found.hint(format!("On record: {told}."))],
        ),
        set(
            "Section flushed, renewed or filtered",
            "Leave blank to record only the compressor.",
            fields,
        ),
    ]
}

pub fn read_flush(ctx: &Ctx, scene: &Scene, form: &mut Form) -> Option<Vec<Draft>> {
    let mut drafts: Vec<Draft> = compressor(scene, form).into_iter().collect();
    let section = if form.get("section_other").is_empty() {
        form.text("section")
    } else {
        form.text("section_other")
    };
    let how = form.get("how").to_owned();
    let at = form.when("at", &ctx.zone, ctx.now)?;
    match (section.is_empty(), how.parse::<FlushedBy>()) {
        (true, _) if how.is_empty() && !drafts.is_empty() => {}
        (true, _) => form.wrong("section", "Choose the section."),
        (false, Ok(by)) => drafts.push(
            Draft::new(Flush {
                section: Some(section),
                by: Some(by),
                ..Flush::default()
            })
            .at(at, form),
        ),
        (false, Err(_)) => form.wrong("how", "Choose how."),
    }
    Some(drafts)
}

/// What was found of the compressor, as a new version of the circuit's label; nothing where that is on record already.
fn compressor(scene: &Scene, form: &Form) -> Option<Draft> {
    let failed = match form.get("failed") {
        "debris" => Some(CompressorFailed { debris: Some(true) }),
        "clean" => Some(CompressorFailed {
            debris: Some(false),
        }),
        "no" => None,
        _ => return None,
    };
    let (piece, label) = scene.each::<System>().next()?;
    let judged = System {
        compressor_failed: failed,
        ..label.clone()
    };
    (judged != *label).then(|| Draft {
        revises: Some((piece.id, piece.seq)),
        own: piece.own.clone(),
        ..Draft::new(judged)
    })
}

pub fn oil_fields(_: &Ctx, scene: &Scene, form: &Form) -> Vec<Fieldset> {
    let label = scene
        .label()
        .and_then(|l| l.oil_type.as_deref())
        .unwrap_or_default();
    let hint = if label.is_empty() {
        "The oil on the label is not on record.".to_owned()
    } else {
        format!("The label says {label}.")
    };
    let mut fields = vec![
        form.field("type", "Oil").hint(hint).required(),
        form.field("volume", "Amount").number("mL").required(),
    ];
    fields.extend(time_fields(form, "Added at"));
    super::diagnosis::one(fields)
}

pub fn read_oil(ctx: &Ctx, _: &Scene, form: &mut Form) -> Option<Vec<Draft>> {
    let oil = form.need("type", "Enter which oil.");
    if form.get("volume").is_empty() {
        form.wrong("volume", "Enter how much.");
    }
    let volume = measured(form, "volume", "mL");
    let at = form.when("at", &ctx.zone, ctx.now)?;
    Some(vec![
        Draft::new(OilAdded {
            oil_type: Some(oil?),
            volume: Some(volume?),
            ..OilAdded::default()
        })
        .at(at, form),
    ])
}
