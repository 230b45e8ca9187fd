//! Cylinders: what is in which, how much it may hold, and whether there is air above the liquid.
use super::{
    super::{
        Ctx, Fault, Fieldset, Form, Page,
        access::Access,
        form::{Typed, again, amount},
        route::{Route, get, post},
    },
    things::{retired, version},
};
use crate::shop::CylinderPurpose;
use crate::web::ending::finish;
use crate::{
    shop::{CylinderId, Zone},
    store::things::{self, Cylinder, Weighing},
    work::settings::keep_cylinder,
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Query, RawQuery},
    response::Response,
};
use chillwright_calc::{
    UnitSystem,
    physics::{
        cylinder::{self, AirSays, StandingCylinder},
        refrigerant::Fluid,
    },
    units::{
        AbsolutePressure, Fraction, GaugePressure, Mass, Pressure, PressureDifference, Quantity,
        Temperature, show,
    },
};
use std::collections::HashMap;

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/shop/cylinders", Access::STAFF, cylinders),
        post("/shop/cylinders", Access::BENCH, keep),
        get("/shop/cylinders/air", Access::STAFF, air),
    ]
}

#[derive(Template, WebTemplate)]
#[template(path = "shop/cylinders.html")]
struct CylindersPage {
    page: Page,
    lines: Vec<Line>,
    form: Form,
    sets: Vec<Fieldset>,
    changing: bool,
    air_form: Form,
    air_sets: Vec<Fieldset>,
    answer: Option<Answer>,
}

struct Line {
    name: String,
    says: String,
    href: String,
    /// How much it may hold, and what it holds.
    fill: Vec<String>,
    /// It holds more than it may.
    over: Option<String>,
}

/// Whether there is air in a standing cylinder.
struct Answer {
    says: &'static str,
    why: String,
    next: &'static str,
}

const PURPOSES: [(&str, &str); 3] = [
    ("charge", "for charging"),
    ("recovery", "for recovery"),
    ("contaminated", "for contaminated gas only"),
];
const MASSES: [(&str, &str); 2] = [("kg", "kg"), ("lb", "lb")];

async fn cylinders(
    ctx: Ctx,
    Typed(kept): Typed,
    Query(query): Query<HashMap<String, String>>,
) -> Result<CylindersPage, Fault> {
    let mut form = kept.sent_to("/shop/cylinders");
    if let (Some(id), true) = (
        query.get("id").and_then(|i| i.parse::<CylinderId>().ok()),
        form.is_empty(),
    ) {
        let mut conn = ctx.app.store.read().await?;
        let c = things::cylinders(&mut conn)
            .await?
            .into_iter()
            .find(|c| c.id == id)
            .ok_or_else(|| Fault::missing("cylinder"))?;
        let (number, unit) = (
            |text: &str| text.split(' ').next().unwrap_or_default().to_owned(),
            |text: &str| text.split(' ').nth(1).map(str::to_owned),
        );
        for (name, value) in [
            ("id", c.id.to_string()),
            ("version", c.version.to_string()),
            ("mark", c.mark.clone()),
            ("refrigerant", c.refrigerant.clone()),
            ("purpose", c.purpose.word().to_owned()),
            ("tare", number(&c.tare)),
            ("water", number(&c.water_capacity)),
            (
                "mass_unit",
                unit(&c.tare)
                    .or_else(|| unit(&c.water_capacity))
                    .unwrap_or_default(),
            ),
            (
                "retired",
                if c.retired_at.is_some() {
                    "yes".into()
                } else {
                    String::new()
                },
            ),
        ] {
            form.set(name, value);
        }
    }
    page(&ctx, form, Form::default(), None).await
}

async fn page(
    ctx: &Ctx,
    form: Form,
    air_form: Form,
    answer: Option<Answer>,
) -> Result<CylindersPage, Fault> {
    let mut conn = ctx.app.store.read().await?;
    let (cylinders, weighings) = (
        things::cylinders(&mut conn).await?,
        things::last_weighings(&mut conn).await?,
    );
    let mut fields = vec![
        form.field("mark", "Mark on the cylinder")
            .hint("For example C-01.")
            .required(),
        form.refrigerants("refrigerant", "Refrigerant").required(),
        form.tiles("purpose", "Use", PURPOSES).required(),
        form.field("tare", "Tare (TW)")
            .number("")
            .hint("Empty mass, stamped on the cylinder."),
        form.field("water", "Water capacity (WC)")
            .number("")
            .hint("Stamped on the cylinder."),
        form.tiles("mass_unit", "in", MASSES),
    ];
    fields.extend(retired(&form, version(&form)));
    let standing = cylinders
        .iter()
        .filter(|c| c.retired_at.is_none())
        .map(|c| (c.mark.clone(), format!("{}, {}", c.mark, c.refrigerant)));
    let degrees = if ctx.units == UnitSystem::Us {
        "°F"
    } else {
        "°C"
    };
    let air_fields = vec![
        air_form.select("cylinder", "Cylinder", standing).required(),
        air_form
            .field("pressure", "Cylinder pressure")
            .number("")
            .required(),
        air_form
            .tiles(
                "unit",
                "in",
                ["psi", "bar", "kPa"].map(|u| (u, crate::web::bench::diagnosis::gauge_unit(u))),
            )
            .required(),
        air_form
            .field("temperature", "Cylinder wall temperature")
            .number(degrees)
            .required(),
    ];
    Ok(CylindersPage {
        page: Page::of(ctx, "Cylinders", "/shop"),
        lines: cylinders.iter().map(|c| line(c, weighings.iter().find(|w| w.cylinder == c.id), ctx.units, &ctx.zone)).collect(),
        changing: version(&form) > 0,
        sets: vec![Fieldset { fields, ..Fieldset::default() }],
        form,
        air_sets: vec![Fieldset {
            legend: "Check for air".into(),
            intro: "Let the cylinder stand for 12 hours at 18 °C (65 °F) or warmer, out of the sun. Do not shake it. Then read both.".into(),
            fields: air_fields,
        }],
        air_form,
        answer,
    })
}

/// One cylinder of the list.
fn line(c: &Cylinder, weighed: Option<&Weighing>, units: UnitSystem, zone: &Zone) -> Line {
    let purpose = PURPOSES
        .iter()
        .find(|p| p.0 == c.purpose.word())
        .map_or("", |p| p.1);
    let mass = |text: &str| text.parse::<Quantity<Mass>>().ok().map(|q| q.si());
    let shown = |kg: f64| show::mass(Mass::new(kg), units);
    let (tare, water) = (
        mass(&c.tare),
        mass(&c.water_capacity).filter(|w| w.kg() > 0.0),
    );
    let fluid =
        Fluid::from_name(&c.refrigerant).filter(|_| c.purpose != CylinderPurpose::Contaminated);
    let limit = fluid
        .zip(water)
        .and_then(|(fluid, water)| cylinder::largest_net(fluid, water));
    let gross = weighed.and_then(|w| Some((mass(&w.gross)?, zone.date(w.at))));
    let may = match (limit, tare) {
        (Some(net), Some(tare)) => {
            format!("Maximum gross {} (tare {} + {} {}).", shown(tare.kg() + net.kg()), shown(tare.kg()), shown(net.kg()), c.refrigerant)
        }
        (Some(net), None) => format!("Maximum net {} {}.", shown(net.kg()), c.refrigerant),
        (None, _) if c.purpose == CylinderPurpose::Contaminated => {
            "No fill limit is calculated for a mixture. SAE J1989, 7.2, stops at 60 % of the cylinder’s stamped gross mass.".into()
        }
        (None, _) if fluid.is_none() || water.is_some() => {
            format!("No fill limit is calculated for {}. Keep to the mass stamped on the cylinder.", c.refrigerant)
        }
        (None, _) => "Enter the water capacity to get the fill limit.".into(),
    };
    let net = gross
        .as_ref()
        .zip(tare)
        .map(|((gross, _), tare)| gross.kg() - tare.kg());
    let has = gross.as_ref().map(|(gross, on)| match net {
        Some(net) if net < 0.0 => format!(
            "On {on} it weighed {}, less than its tare. The tare or that mass is wrong.",
            shown(gross.kg())
        ),
        Some(net) => format!(
            "On {on} it weighed {}: contents {}.",
            shown(gross.kg()),
            shown(net)
        ),
        None => format!(
            "On {on} it weighed {}. Enter the tare to get the contents.",
            shown(gross.kg())
        ),
    });
    let over = limit
        .zip(net)
        .filter(|(limit, net)| *net > limit.kg() + 1e-9)
        .map(|(limit, net)| {
            let full = fluid
                .zip(water)
                .and_then(|(fluid, water)| cylinder::liquid_full_at(fluid, Mass::new(net), water));
            let full = full
                .map(|t| {
                    format!(
                        " At {} it is completely full of liquid and can burst or vent.",
                        show::temperature(t, units)
                    )
                })
                .unwrap_or_default();
            format!(
                "Overfilled by {}. Take that out before the cylinder gets warm.{full}",
                shown(net - limit.kg())
            )
        });
    Line {
        name: c.mark.clone(),
        says: format!(
            "{}, {purpose}{}",
            c.refrigerant,
            if c.retired_at.is_some() {
                ", no longer used"
            } else {
                ""
            }
        ),
        href: format!("/shop/cylinders?id={}", c.id),
        fill: if c.retired_at.is_some() {
            Vec::new()
        } else {
            [Some(may), has].into_iter().flatten().collect()
        },
        over: over.filter(|_| c.retired_at.is_none()),
    }
}

async fn keep(ctx: Ctx, mut form: Form) -> Result<Response, Fault> {
    let mark = form.need("mark", "Enter the mark.");
    let refrigerant = form.choice("refrigerant", "Choose the refrigerant.", |r| {
        (!r.is_empty()).then(|| r.to_owned())
    });
    let purpose = form.choice("purpose", "Choose the use.", CylinderPurpose::from_word);
    let unit = if form.get("mass_unit") == "lb" {
        "lb"
    } else {
        "kg"
    };
    let (tare, water) = (
        amount(&mut form, "tare", unit),
        amount(&mut form, "water", unit),
    );
    let mut done = None;
    if let (Some(mark), Some(refrigerant), Some(purpose), true) =
        (mark, refrigerant, purpose, form.is_right())
    {
        let id = form
            .get("id")
            .parse()
            .unwrap_or_else(|_| CylinderId::fresh());
        let c = Cylinder {
            id,
            mark,
            refrigerant,
            purpose,
            tare: tare.unwrap_or_default(),
            water_capacity: water.unwrap_or_default(),
            retired_at: form.ticked("retired").then_some(ctx.now),
            version: version(&form),
        };
        done = Some(
            keep_cylinder(
                &ctx.app.store,
                &ctx.actor,
                form.deed,
                form.fingerprint(),
                &c,
                version(&form) == 0,
                ctx.now,
            )
            .await,
        );
    }
    finish(&ctx, form, done, "/shop/cylinders?kept=1", async |form| {
        page(&ctx, form, Form::default(), None).await
    })
    .await
}

/// Answers on the page and keeps nothing.
async fn air(ctx: Ctx, RawQuery(query): RawQuery) -> Result<Response, Fault> {
    let values = query
        .map(|q| form_urlencoded::parse(q.as_bytes()).into_owned().collect())
        .unwrap_or_default();
    let mut form = Form::of("/shop/cylinders/air".into(), values);
    let answer = if form.is_empty() {
        None
    } else {
        asked(&ctx, &mut form).await?
    };
    Ok(again(
        form.status(),
        page(&ctx, Form::default(), form, answer).await?,
    ))
}

async fn asked(ctx: &Ctx, form: &mut Form) -> Result<Option<Answer>, Fault> {
    let cylinders = {
        let mut conn = ctx.app.store.read().await?;
        things::cylinders(&mut conn).await?
    };
    let air = ctx.air().await?;
    let refrigerant = form.choice("cylinder", "Choose the cylinder.", |mark| {
        cylinders
            .iter()
            .find(|c| c.mark == mark)
            .map(|c| c.refrigerant.clone())
    });
    let unit = form.choice("unit", "Choose the unit that the gauge shows.", |u| {
        matches!(u, "psi" | "bar" | "kPa").then(|| u.to_owned())
    });
    let degrees = if ctx.units == UnitSystem::Us {
        "degF"
    } else {
        "degC"
    };
    let pressure = form.need_quantity(
        "pressure",
        &format!("{} gauge", unit.as_deref().unwrap_or("psi")),
        "Enter the gauge reading.",
    );
    let temperature = form.need_quantity("temperature", degrees, "Enter the wall temperature.");
    let pressure = pressure
        .and_then(|p| p.parse::<Quantity<Pressure>>().ok())
        .map(|p| p.si().absolute(air));
    if pressure.is_some_and(|p| p.pa() < 0.0) {
        form.wrong("pressure", "No pressure can be below a perfect vacuum.");
    }
    let temperature = temperature.and_then(|text| match text.parse::<Quantity<Temperature>>() {
        Ok(t) => Some(t.si()),
        Err(_) => {
            form.wrong("temperature", "No temperature can be below absolute zero.");
            None
        }
    });
    let (Some(refrigerant), Some(pressure), Some(temperature), true) =
        (refrigerant, pressure, temperature, form.is_right())
    else {
        return Ok(None);
    };
    let Some(fluid) = Fluid::from_name(&refrigerant) else {
        form.wrong(
            "cylinder",
            "The saturation pressure of this refrigerant is not known here.",
        );
        return Ok(None);
    };
    let Some(found) = cylinder::standing(fluid, temperature, pressure) else {
        form.wrong(
            "temperature",
            format!("At that temperature {refrigerant} is not liquid and vapour together, so the pressure does not show whether there is air."),
        );
        return Ok(None);
    };
    Ok(Some(told(
        fluid,
        found,
        temperature,
        pressure,
        air,
        ctx.units,
    )))
}

fn told(
    fluid: Fluid,
    found: StandingCylinder,
    temperature: Temperature,
    pressure: AbsolutePressure,
    air: AbsolutePressure,
    units: UnitSystem,
) -> Answer {
    let gauge = |pa: f64| show::gauge_pressure(GaugePressure::new(pa - air.pa()), units);
    let difference = |p: PressureDifference| {
        show::pressure_difference(PressureDifference::new(p.pa().abs()), units)
    };
    let side = if found.excess.pa() < 0.0 {
        "below"
    } else {
        "above"
    };
    let mut why = format!(
        "Pure {} has {} at {}. The gauge shows {}: {} {side} that. {} above is allowed.",
        fluid.name(),
        gauge(found.saturation.pa()),
        show::temperature_to(temperature, 1, units),
        gauge(pressure.pa()),
        difference(found.excess),
        difference(found.allowed),
    );
    if found.says == AirSays::Excess {
        why += &format!(
            " About {} of the vapour space is air.",
            show::fraction(Fraction::new(found.share_of_air()))
        );
    }
    if found.is_close() {
        why += &format!(
            " This is close: ± {} on the thermometer makes {}.",
            show::temperature_difference(
                chillwright_calc::units::TemperatureDifference::new(1.0),
                units
            ),
            difference(found.per_kelvin)
        );
    }
    if let Some(printed) = cylinder::printed_limit(temperature).filter(|_| fluid == Fluid::R134a) {
        why += &format!(
            " The table in SAE J2211 (table 1) allows {} at that temperature, for a gauge at sea level.",
            show::gauge_pressure(printed, units)
        );
    }
    let (says, next) = match found.says {
        AirSays::Excess => (
            "There is air in the cylinder.",
            "Do not charge from it. Let it stand another night and read again. If it is still too high, have the air removed by a recycling machine or send the cylinder back.",
        ),
        AirSays::Clear => (
            "No more air than is allowed.",
            "This cylinder can be used for charging.",
        ),
        AirSays::NoLiquid => (
            "Cannot tell.",
            "Weigh the cylinder. If no liquid is left, the pressure does not show whether there is air. If there is liquid, it has not stood long enough, or the thermometer or gauge is wrong.",
        ),
    };
    Answer { says, why, next }
}
