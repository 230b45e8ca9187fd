//! A hold or an evacuation is begun, with a gauge whose data are copied.
use super::super::{
    super::{Ctx, Field, Fieldset, Form, Kind as FieldKind},
    Scene,
    diagnosis::{degrees, one, temperature},
    draft::Draft,
};
use crate::shop::InstrumentKind;
use crate::{
    store::{
        evidence::{GaugeKind, Own, Reference},
        things::Instrument,
    },
    web::form::quantity,
};
use chillwright_calc::{
    record::{Evacuation, Gas, Gauge, Hold, HoldKind},
    units::{PressureDifference, show},
};

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
            let uncertain = scene.ask(ctx, |case| {
                show::pressure_difference(
                    PressureDifference::new(case.site.air.uncertainty_pa),
                    case.units,
                )
            });
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
        .map(|i| {
            (
                i.mark.clone(),
                format!(
                    "{}, {}, resolution {}",
                    i.mark,
                    kind_word(GaugeKind::from_word(i.kind.word())),
                    i.resolution
                ),
            )
        })
        .collect()
}

pub const fn kind_word(kind: Option<GaugeKind>) -> &'static str {
    match kind {
        Some(GaugeKind::DialGauge) => "dial",
        Some(GaugeKind::VacuumGauge) => "electronic vacuum gauge",
        Some(GaugeKind::DigitalGauge) | None => "digital",
    }
}

/// A gauge as it goes into the evidence: its data are copied, so that a later change of it changes nothing. `None` where they cannot be read.
fn copied(form: &mut Form, i: &Instrument) -> Option<Gauge> {
    Some(Gauge {
        id: Some(i.mark.clone()),
        resolution: if i.resolution.is_empty() {
            None
        } else {
            Some(quantity(form, "gauge", &i.resolution)?)
        },
        error: if i.error.is_empty() {
            None
        } else {
            Some(quantity(form, "gauge", &i.error)?)
        },
        compared_on: i.compared_on.as_deref().and_then(|day| day.parse().ok()),
    })
}

/// How it counts.
fn counts(i: &Instrument, vacuum: bool) -> Own {
    let kind = GaugeKind::from_word(i.kind.word());
    let reference = match (kind, vacuum) {
        (Some(GaugeKind::VacuumGauge), _) => Reference::Abs,
        (_, true) => Reference::Vacuum,
        (_, false) => Reference::Gauge,
    };
    Own {
        unit: Some(i.unit.clone()),
        reference: Some(reference),
        gauge_kind: kind,
        ..Own::default()
    }
}

fn start_fields(form: &Form) -> Vec<Field> {
    vec![
        form.field("at", "Started at")
            .kind(FieldKind::DateTime)
            .hint("Blank = now."),
        form.tick("about", "The time is approximate"),
    ]
}

pub fn evacuation_fields(ctx: &Ctx, scene: &Scene, form: &Form) -> Vec<Fieldset> {
    let mut fields = vec![
        form.tiles("gauge", "Gauge", gauges(scene)).required(),
        form.field("metal", "Coldest metal temperature of the circuit")
            .number(degrees(ctx).1)
            .hint("Water only boils off where the metal is warm enough."),
    ];
    fields.extend(start_fields(form));
    one(fields)
}

pub fn read_evacuation(ctx: &Ctx, scene: &Scene, form: &mut Form) -> Option<Vec<Draft>> {
    let instrument = gauge(scene, form);
    let metal = temperature(ctx, form, "metal");
    let at = form.when("at", &ctx.zone, ctx.now)?;
    let instrument = instrument?;
    let was = scene
        .piece(form.get("piece"))
        .and_then(|p| p.get::<Evacuation>());
    // A correction of the beginning keeps the end and the barometer that were recorded.
    let (ended_at, barometer) = was
        .map(|e| (e.ended_at, e.barometer.clone()))
        .unwrap_or_default();
    let gauge = Some(copied(form, &instrument)?);
    let evacuation = Evacuation {
        gauge,
        coldest_metal: metal,
        ended_at,
        barometer,
        ..Evacuation::default()
    };
    let mut draft = Draft {
        own: counts(&instrument, true),
        ..Draft::new(evacuation)
    }
    .at(at, form);
    draft.instrument = Some(instrument.id);
    Some(vec![draft])
}

pub fn hold_fields(_: &Ctx, scene: &Scene, form: &Form) -> Vec<Fieldset> {
    let mut fields = vec![
        form.tiles(
            "kind",
            "Kind of hold",
            [("vacuum", "vacuum"), ("pressure", "pressure")],
        )
        .required(),
        form.tiles(
            "gas",
            "Gas of a pressure hold",
            [
                ("nitrogen", "dry nitrogen"),
                ("refrigerant", "refrigerant"),
                ("air", "compressed air"),
                ("oxygen", "oxygen"),
            ],
        ),
        form.tiles("gauge", "Gauge", gauges(scene)).required(),
    ];
    fields.extend(start_fields(form));
    one(fields)
}

pub fn read_hold(ctx: &Ctx, scene: &Scene, form: &mut Form) -> Option<Vec<Draft>> {
    let kind: Option<HoldKind> =
        form.choice("kind", "Choose the kind of hold.", |k| k.parse().ok());
    let instrument = gauge(scene, form);
    let vacuum = kind == Some(HoldKind::Vacuum);
    if !vacuum
        && instrument
            .as_ref()
            .is_some_and(|i| i.kind == InstrumentKind::VacuumGauge)
    {
        form.wrong(
            "gauge",
            "A vacuum gauge cannot be used for a pressure hold.",
        );
    }
    let at = form.when("at", &ctx.zone, ctx.now)?;
    let (kind, instrument) = (kind?, instrument?);
    // What must not be is on record all the same where it was, and then it blocks.
    let gas = if vacuum {
        Gas::Air
    } else {
        form.get("gas").parse().unwrap_or(Gas::Nitrogen)
    };
    let was = scene.piece(form.get("piece")).and_then(|p| p.get::<Hold>());
    // A correction of the beginning keeps the end and the barometer that were recorded.
    let (ended_at, barometer) = was
        .map(|h| (h.ended_at, h.barometer.clone()))
        .unwrap_or_default();
    let gauge = Some(copied(form, &instrument)?);
    let hold = Hold {
        kind: Some(kind),
        gas: Some(gas),
        gauge,
        ended_at,
        barometer,
        ..Hold::default()
    };
    let mut draft = Draft {
        own: counts(&instrument, vacuum),
        ..Draft::new(hold)
    }
    .at(at, form);
    draft.instrument = Some(instrument.id);
    Some(vec![draft])
}

fn gauge(scene: &Scene, form: &mut Form) -> Option<Instrument> {
    let found = scene
        .instrument(form.get("gauge"))
        .filter(|i| i.is_gauge())
        .cloned();
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
