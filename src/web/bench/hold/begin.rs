//! A hold or an evacuation is begun, with a gauge whose data are copied.
use super::super::{
    super::{Ctx, Field, Fieldset, Form, Kind as FieldKind},
    Scene,
    diagnosis::{degrees, one, temperature},
    tasks::Draft,
};
use crate::shop::InstrumentKind;
use crate::store::{evidence::Kind, things::Instrument};
use chillwright_calc::units::{PressureDifference, show};
use serde_json::{Value, json};

pub fn evacuation_intro(ctx: &Ctx, scene: &Scene) -> String {
    barometer_line(ctx, scene)
}

pub fn hold_intro(ctx: &Ctx, scene: &Scene) -> String {
    format!(
        "{} After closing off, wait a few minutes before the first reading of a pressure hold. Put the temperature probe on metal.",
        barometer_line(ctx, scene)
    )
}

fn barometer_line(ctx: &Ctx, scene: &Scene) -> String {
    match &scene.barometer {
        Some(b) => format!("Barometer {} at {}.", b.site, ctx.zone.short(b.at, ctx.now)),
        None => {
            let uncertain = scene.ask(ctx, |case| show::pressure_difference(PressureDifference::new(case.site.air.uncertainty_pa), case.units));
            format!(
                "No barometer reading of the last 12 hours. Air pressure is taken from the elevation, ± {uncertain}. Enter a reading under Shop, Barometer."
            )
        }
    }
}

fn gauges(scene: &Scene) -> Vec<(String, String)> {
    scene
        .instruments
        .iter()
        .filter(|i| i.is_gauge())
        .map(|i| (i.mark.clone(), format!("{}, {}, resolution {}", i.mark, kind_word(i.kind), i.resolution)))
        .collect()
}

pub fn kind_word(kind: InstrumentKind) -> &'static str {
    match kind {
        InstrumentKind::DialGauge => "dial",
        InstrumentKind::VacuumGauge => "electronic vacuum gauge",
        _ => "digital",
    }
}

/// A gauge as it goes into the evidence: its data are copied, so that a later change of it changes nothing.
fn gauge_body(i: &Instrument, vacuum: bool) -> (Value, &'static str) {
    let mut gauge = json!({ "id": i.mark });
    for (key, value) in [("resolution", &i.resolution), ("error", &i.error)] {
        if !value.is_empty() {
            gauge[key] = json!(value);
        }
    }
    if let Some(day) = &i.compared_on {
        gauge["compared_on"] = json!(day);
    }
    let reference = match (i.kind, vacuum) {
        (InstrumentKind::VacuumGauge, _) => "abs",
        (_, true) => "vacuum",
        (_, false) => "gauge",
    };
    (gauge, reference)
}

fn start_fields(form: &Form) -> Vec<Field> {
    vec![form.field("at", "Started at").kind(FieldKind::DateTime).hint("Blank = now."), form.tick("about", "The time is approximate")]
}

pub fn evacuation_fields(ctx: &Ctx, scene: &Scene, form: &Form) -> Vec<Fieldset> {
    let mut fields = vec![
        form.tiles("gauge", "Gauge", gauges(scene)).required(),
        form.field("metal", "Coldest metal temperature of the circuit").number(degrees(ctx).1).hint("Water only boils off where the metal is warm enough."),
    ];
    fields.extend(start_fields(form));
    one(fields)
}

pub fn read_evacuation(ctx: &Ctx, scene: &Scene, form: &mut Form) -> Option<Vec<Draft>> {
    let instrument = gauge(scene, form);
    let metal = temperature(ctx, form, "metal");
    let at = form.when("at", &ctx.zone, ctx.now)?;
    let instrument = instrument?;
    let (gauge, reference) = gauge_body(&instrument, true);
    let body = json!({ "gauge": gauge, "coldest_metal": metal, "_unit": instrument.unit, "_reference": reference, "_gauge_kind": instrument.kind });
    let mut draft = Draft::new(Kind::Evacuation, with_what_was(scene, form, body)).at("started_at", at, form);
    draft.instrument = Some(instrument.id);
    Some(vec![draft])
}

pub fn hold_fields(_: &Ctx, scene: &Scene, form: &Form) -> Vec<Fieldset> {
    let mut fields = vec![
        form.tiles("kind", "Kind of hold", [("vacuum", "vacuum"), ("pressure", "pressure")]).required(),
        form.tiles(
            "gas",
            "Gas of a pressure hold",
            [("nitrogen", "dry nitrogen"), ("refrigerant", "refrigerant"), ("air", "compressed air"), ("oxygen", "oxygen")],
        ),
        form.tiles("gauge", "Gauge", gauges(scene)).required(),
    ];
    fields.extend(start_fields(form));
    one(fields)
}

pub fn read_hold(ctx: &Ctx, scene: &Scene, form: &mut Form) -> Option<Vec<Draft>> {
    let kind = form.choice("kind", "Choose the kind of hold.", |k| matches!(k, "vacuum" | "pressure").then(|| k.to_owned()));
    let instrument = gauge(scene, form);
    let vacuum = kind.as_deref() == Some("vacuum");
    if !vacuum && instrument.as_ref().is_some_and(|i| i.kind == InstrumentKind::VacuumGauge) {
        form.wrong("gauge", "A vacuum gauge cannot be used for a pressure hold.");
    }
    let at = form.when("at", &ctx.zone, ctx.now)?;
    let (kind, instrument) = (kind?, instrument?);
    let (gauge, reference) = gauge_body(&instrument, vacuum);
    let gas = if vacuum {
        "air"
    } else {
        // What must not be is on record all the same where it was, and then it blocks.
        match form.get("gas") {
            gas @ ("refrigerant" | "air" | "oxygen") => gas,
            _ => "nitrogen",
        }
    };
    let body = json!({ "kind": kind, "gas": gas, "gauge": gauge, "_unit": instrument.unit, "_reference": reference, "_gauge_kind": instrument.kind, "_started_at": at.rfc3339() });
    let mut draft = Draft::new(Kind::Hold, with_what_was(scene, form, body));
    draft.at = Some(at);
    draft.approximate = form.about();
    draft.instrument = Some(instrument.id);
    Some(vec![draft])
}

/// A correction of the beginning keeps the end and the barometer that were recorded.
fn with_what_was(scene: &Scene, form: &Form, mut body: Value) -> Value {
    if let Some(piece) = scene.piece(form.get("piece")) {
        for key in ["ended_at", "barometer"] {
            if let Some(value) = piece.body.get(key) {
                body[key] = value.clone();
            }
        }
    }
    body
}

fn gauge(scene: &Scene, form: &mut Form) -> Option<Instrument> {
    let found = scene.instrument(form.get("gauge")).filter(|i| i.is_gauge()).cloned();
    if found.is_none() {
        form.wrong("gauge", "Choose the gauge.");
    }
    found.filter(|i| {
        let ready = !i.unit.is_empty() && !i.resolution.is_empty();
        if !ready {
            form.wrong("gauge", "This gauge has no unit or resolution on record. Enter them under Shop, Instruments.");
        }
        ready
    })
}
