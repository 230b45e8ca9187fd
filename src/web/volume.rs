//! The volume inside a circuit, by letting nitrogen expand into it: reckoned on the page, and entered where one wants it.
use super::{
    Ctx, Fault, Field, Fieldset, Form, Kind, Page,
    access::Access,
    bench::{Scene, cautions, diagnosis::gauge_unit},
    ending::finish,
    form::{again, amount, quantity, some},
    intake::volumes_taken,
    route::{Route, get, post},
};
use crate::{
    store::evidence::VolumeReadings,
    work::evidence::{Change, Entry, INTAKE, as_version, keep as keep_evidence},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, RawQuery},
    response::Response,
};
use chillwright_calc::{
    checks::{limits::Limits, rules::pressure_test},
    physics::expansion::{Expansion, Measured, NoVolume},
    record::System,
    units::{AbsolutePressure, Pressure, Quantity, Resolution, Volume, show},
};

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/orders/{number}/volume", Access::STAFF, show),
        post("/orders/{number}/volume", Access::STAFF, enter),
    ]
}

#[derive(Template, WebTemplate)]
#[template(path = "order/volume.html")]
struct VolumePage {
    page: Page,
    number: i64,
    /// What is on record now.
    on_record: String,
    form: Form,
    sets: Vec<Fieldset>,
    answer: Option<Answer>,
    enter_form: Form,
    enter_fields: Vec<Field>,
    /// What to take care of.
    cautions: Vec<&'static str>,
}

struct Answer {
    says: String,
    why: String,
    next: &'static str,
}

/// The readings, as they go along with the volume that is entered.
const READINGS: [&str; 6] = [
    "vessel",
    "unit",
    "resolution",
    "vessel_before",
    "circuit_before",
    "after",
];

async fn show(
    ctx: Ctx,
    Path(number): Path<i64>,
    RawQuery(query): RawQuery,
) -> Result<Response, Fault> {
    let values = query
        .map(|q| form_urlencoded::parse(q.as_bytes()).into_owned().collect())
        .unwrap_or_default();
    let mut form = Form::of(format!("/orders/{number}/volume"), values);
    let asked = READINGS
        .iter()
        .any(|name| form.pairs().iter().any(|(key, _)| key == name));
    let air = ctx.air().await?;
    let measured = if asked { reckon(&mut form, air) } else { None };
    let mut enter_form = Form::default();
    if let Some(m) = measured {
        enter_form.set("volume", format!("{:.2}", m.volume.m3() * 1e3));
        for name in READINGS {
            enter_form.set(name, form.get(name).to_owned());
        }
    }
    Ok(again(
        form.status(),
        page(&ctx, number, form, measured, enter_form).await?,
    ))
}

async fn page(
    ctx: &Ctx,
    number: i64,
    form: Form,
    measured: Option<Measured>,
    enter_form: Form,
) -> Result<VolumePage, Fault> {
    let scene = Scene::brief(ctx, number).await?;
    let fields = vec![
        form.field("vessel", "Volume of the vessel")
            .number("L")
            .hint("Including its hose, up to the valve that is opened.")
            .required(),
        form.tiles(
            "unit",
            "Unit of the gauge",
            ["psi", "bar", "kPa"].map(|u| (u, gauge_unit(u))),
        )
        .required(),
        form.field("resolution", "Resolution: one division, or the last digit")
            .number("")
            .required(),
        form.field("vessel_before", "Vessel pressure before, gauge")
            .number("")
            .hint("Read all three on the same gauge.")
            .required(),
        form.field("circuit_before", "Circuit pressure before, gauge")
            .number("")
            .hint("0 if it was open; a vacuum with a minus.")
            .required(),
        form.field("after", "Pressure in both after, gauge")
            .number("")
            .hint("Wait until it is steady: nitrogen is cold after expanding.")
            .required(),
    ];
    let stop = too_high(&scene, ctx, &form);
    let mut enter_fields = Vec::new();
    if !enter_form.is_empty() && stop.is_none() {
        enter_fields.push(
            enter_form
                .field("volume", "Internal volume of the circuit")
                .number("L")
                .required(),
        );
        enter_fields.extend(READINGS.map(|name| enter_form.field(name, "").kind(Kind::Hidden)));
        enter_fields.push(Field {
            value: scene
                .each::<System>()
                .next()
                .map_or(0, |(piece, _)| piece.seq)
                .to_string(),
            ..enter_form.field("seen", "").kind(Kind::Hidden)
        });
    }
    let on_record = match scene.label().and_then(|l| l.internal_volume.as_ref()) {
        None => format!(
            "Not on record. {}",
            volumes_taken(&Limits::of(&scene.record.limits))
        ),
        Some(volume) => format!("On record: {volume}."),
    };
    Ok(VolumePage {
        page: Page::of(ctx, format!("Internal volume, order {number}"), "/orders"),
        number,
        on_record,
        answer: measured.map(|m| stop.unwrap_or_else(|| told(ctx, m))),
        sets: vec![Fieldset {
            fields,
            ..Fieldset::default()
        }],
        form,
        cautions: cautions::of(&scene, cautions::VOLUME),
        enter_form,
        enter_fields,
    })
}

fn reckon(form: &mut Form, air: AbsolutePressure) -> Option<Measured> {
    let unit = form.choice("unit", "Choose the unit that the gauge shows.", |u| {
        matches!(u, "psi" | "bar" | "kPa").then(|| u.to_owned())
    });
    let unit = unit.as_deref().unwrap_or("psi");
    for name in ["vessel", "resolution"] {
        if form.get(name).is_empty() {
            form.wrong(name, "Enter a number. The volume depends on it.");
        }
    }
    let vessel = amount(form, "vessel", "L").and_then(|t| t.parse::<Quantity<Volume>>().ok());
    let resolution =
        amount(form, "resolution", unit).and_then(|t| t.parse::<Quantity<Resolution>>().ok());
    let mut absolute = |name: &str| {
        let text =
            form.need_quantity(name, &format!("{unit} gauge"), "Enter the gauge reading.")?;
        Some(text.parse::<Quantity<Pressure>>().ok()?.si().absolute(air))
    };
    let (vessel_before, circuit_before, after) = (
        absolute("vessel_before"),
        absolute("circuit_before"),
        absolute("after"),
    );
    if !form.is_right() {
        return None;
    }
    let expansion = Expansion {
        vessel: vessel?.si(),
        vessel_before: vessel_before?,
        circuit_before: circuit_before?,
        after: after?,
        resolution: resolution?.si(),
    };
    let wrong = |why: NoVolume| match why {
        NoVolume::Vessel => ("vessel", "Enter more than zero."),
        NoVolume::BelowVacuum => (
            "circuit_before",
            "No pressure can be below a perfect vacuum.",
        ),
        NoVolume::NotBelowVessel => (
            "after",
            "This must be less than the vessel pressure before.",
        ),
        NoVolume::NotAboveCircuit => (
            "after",
            "This must be more than the circuit pressure before.",
        ),
        NoVolume::TooNear => (
            "after",
            "The readings are too close together for this gauge. Start with more pressure, or use a gauge with a finer resolution.",
        ),
    };
    expansion
        .volume()
        .map_err(wrong)
        .map_err(|(name, says)| form.wrong(name, says))
        .ok()
}

/// More pressure in the circuit than it may be tested at, before or after the nitrogen went in: what is done about that comes before any volume.
fn too_high(scene: &Scene, ctx: &Ctx, form: &Form) -> Option<Answer> {
    let unit = form.get("unit").to_owned();
    let read = |name: &str| {
        format!("{} {unit} gauge", form.get(name))
            .parse::<Quantity<Pressure>>()
            .ok()
    };
    let gauge = |p: &Quantity<Pressure>| {
        if let Pressure::Gauge(p) = p.si() {
            p.pa()
        } else {
            0.0
        }
    };
    let most = scene.ask(ctx, pressure_test::most)?;
    let reached = ["circuit_before", "after"]
        .into_iter()
        .filter_map(read)
        .max_by(|a, b| gauge(a).total_cmp(&gauge(b)))?;
    let allowed = show::decimals(
        most.pa() / show::unit_size(&unit)?,
        if unit == "bar" { 1 } else { 0 },
    );
    (gauge(&reached) > most.pa()).then(|| Answer {
        says: "Too much pressure in the circuit.".into(),
        why: format!("It stands at {}; this circuit may be tested at no more than {allowed} {unit} gauge.", reached.text()),
        next: "Keep clear. Let it off slowly, goggles on, and look over the low side before you go on.",
    })
}

fn told(ctx: &Ctx, m: Measured) -> Answer {
    let litres = |v: Volume| match ctx.units {
        chillwright_calc::UnitSystem::Si => format!("{} L", show::decimals(v.m3() * 1e3, 2)),
        chillwright_calc::UnitSystem::Us => format!(
            "{} L ({})",
            show::decimals(v.m3() * 1e3, 2),
            show::volume(v, ctx.units)
        ),
    };
    // A tenth either way moves every leak by as much.
    let coarse = m.high.m3() - m.low.m3() > 0.2 * m.volume.m3();
    Answer {
        says: format!("Internal volume: {}.", litres(m.volume)),
        why: format!(
            "Between {} and {}, because each of the three readings may be off by half a division.",
            litres(m.low),
            litres(m.high)
        ),
        next: if coarse {
            "This is a rough figure. Start with more pressure in the vessel, use a larger vessel, or use a gauge with a finer resolution."
        } else {
            "Save it below."
        },
    }
}

async fn enter(ctx: Ctx, Path(number): Path<i64>, mut form: Form) -> Result<Response, Fault> {
    let scene = Scene::of(&ctx, number).await?;
    let (system, label) = scene
        .each::<System>()
        .next()
        .ok_or_else(|| Fault::missing("label of this order"))?;
    if form.get("volume").is_empty() {
        form.wrong("volume", "Enter the volume.");
    }
    let volume = form.number("volume");
    if volume.is_some_and(|v| v.is_zero() || v.is_sign_negative()) {
        form.wrong("volume", "Enter more than zero.");
    }
    let volume = volume.and_then(|v| quantity(&mut form, "volume", &format!("{v} L")));
    let mut done = None;
    if let (Some(volume), true) = (volume, form.is_right()) {
        let mut version = as_version(system);
        version.body = System {
            internal_volume: Some(volume),
            ..label.clone()
        }
        .into();
        // What it was reckoned from stays with it; it is no part of the job record.
        let [
            vessel,
            unit,
            resolution,
            vessel_before,
            circuit_before,
            after,
        ] = READINGS.map(|name| some(form.get(name)));
        version.own.volume = Some(VolumeReadings {
            vessel,
            unit,
            resolution,
            vessel_before,
            circuit_before,
            after,
        });
        let seen = form.get("seen").parse().unwrap_or(0);
        let entry = Entry {
            deed: form.deed,
            kind: "volume-entered",
            order: scene.order.id,
            form: form.fingerprint(),
            roles: INTAKE,
            tablet: None,
        };
        done = Some(
            keep_evidence(
                &ctx.app.store,
                &ctx.actor,
                entry,
                vec![Change::Revise {
                    id: system.id,
                    seen,
                    version,
                }],
                ctx.now,
            )
            .await,
        );
    }
    let mut readings = Form::of(format!("/orders/{number}/volume"), Vec::new());
    for name in READINGS {
        readings.set(name, form.get(name).to_owned());
    }
    finish(
        &ctx,
        form,
        done,
        format!("/orders/{number}/volume?kept=1"),
        async |form| page(&ctx, number, readings, None, form).await,
    )
    .await
}
