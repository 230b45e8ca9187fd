//! Cylinders: what is in which, how much it may hold, and whether there is air above the liquid.
use super::{
    super::{
        Ctx, Fault, Fieldset, Form, Page,
        access::Access,
        form::{Typed, again, amount, to},
        router::{Route, get, post},
    },
    things::{retired, version},
};
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
    units::{AbsolutePressure, Fraction, GaugePressure, Mass, Pressure, PressureDifference, Quantity, Temperature, show},
};
use std::collections::HashMap;

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![get("/shop/cylinders", Access::STAFF, cylinders), post("/shop/cylinders", Access::BENCH, keep), get("/shop/cylinders/air", Access::STAFF, air)]
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

const PURPOSES: [(&str, &str); 3] = [("charge", "charged from"), ("recovery", "recovered into"), ("contaminated", "kept for mixtures")];
const MASSES: [(&str, &str); 2] = [("kg", "kg"), ("lb", "lb")];

async fn cylinders(ctx: Ctx, Typed(kept): Typed, Query(query): Query<HashMap<String, String>>) -> Result<CylindersPage, Fault> {
    let mut form = kept.sent_to("/shop/cylinders");
    if let (Some(id), true) = (query.get("id").and_then(|i| i.parse::<CylinderId>().ok()), form.is_empty()) {
        let mut conn = ctx.app.store.read().await?;
        let c = things::cylinders(&mut conn).await?.into_iter().find(|c| c.id == id).ok_or_else(|| Fault::missing("cylinder"))?;
        let (number, unit) = (|text: &str| text.split(' ').next().unwrap_or_default().to_owned(), |text: &str| text.split(' ').nth(1).map(str::to_owned));
        for (name, value) in [
            ("id", c.id.to_string()),
            ("version", c.version.to_string()),
            ("mark", c.mark.clone()),
            ("refrigerant", c.refrigerant.clone()),
            ("purpose", c.purpose.clone()),
            ("tare", number(&c.tare)),
            ("water", number(&c.water_capacity)),
            ("mass_unit", unit(&c.tare).or_else(|| unit(&c.water_capacity)).unwrap_or_default()),
            ("retired", if c.retired_at.is_some() { "yes".into() } else { String::new() }),
        ] {
            form.set(name, value);
        }
    }
    page(&ctx, form, Form::default(), None).await
}

async fn page(ctx: &Ctx, form: Form, air_form: Form, answer: Option<Answer>) -> Result<CylindersPage, Fault> {
    let mut conn = ctx.app.store.read().await?;
    let (cylinders, weighings) = (things::cylinders(&mut conn).await?, things::last_weighings(&mut conn).await?);
    let mut fields = vec![
        form.field("mark", "What is written on it").hint("For example C-01.").required(),
        form.tiles("refrigerant", "What is in it", ["R-134a", "R-1234yf", "R-12", "R-152a", "R-744", "other"].map(|r| (r, r))).required(),
        form.tiles("purpose", "It is", PURPOSES).required(),
        form.field("tare", "Empty it weighs").number("").hint("Its tare, stamped on it: TW."),
        form.field("water", "It holds of water").number("").hint("Its water capacity, stamped on it: WC."),
        form.tiles("mass_unit", "in", MASSES),
    ];
    fields.extend(retired(&form, version(&form)));
    let standing = cylinders.iter().filter(|c| c.retired_at.is_none()).map(|c| (c.mark.clone(), format!("{}, {}", c.mark, c.refrigerant)));
    let degrees = if ctx.units == UnitSystem::Us { "°F" } else { "°C" };
    let air_fields = vec![
        air_form.select("cylinder", "Cylinder", standing).required(),
        air_form.field("pressure", "Its pressure").number("").required(),
        air_form.tiles("unit", "in", ["psi", "bar", "kPa"].map(|u| (u, format!("{u} on the gauge")))).required(),
        air_form.field("temperature", "The temperature of its wall").number(degrees).required(),
    ];
    Ok(CylindersPage {
        page: Page::of(ctx, "Cylinders", "/shop"),
        lines: cylinders.iter().map(|c| line(c, weighings.iter().find(|w| w.cylinder == c.id), ctx.units, &ctx.zone)).collect(),
        changing: version(&form) > 0,
        sets: vec![Fieldset { fields, ..Fieldset::default() }],
        form,
        air_sets: vec![Fieldset {
            legend: "Is there air in it?".into(),
            intro: "Let it stand for 12 hours at 18 °C (65 °F) or warmer, out of the sun, and do not shake it; then read both.".into(),
            fields: air_fields,
        }],
        air_form,
        answer,
    })
}

/// One cylinder of the list.
fn line(c: &Cylinder, weighed: Option<&Weighing>, units: UnitSystem, zone: &Zone) -> Line {
    let purpose = PURPOSES.iter().find(|p| p.0 == c.purpose).map_or("", |p| p.1);
    let mass = |text: &str| text.parse::<Quantity<Mass>>().ok().map(|q| q.si());
    let shown = |kg: f64| show::mass(Mass::new(kg), units);
    let (tare, water) = (mass(&c.tare), mass(&c.water_capacity).filter(|w| w.kg() > 0.0));
    let fluid = Fluid::from_name(&c.refrigerant).filter(|_| c.purpose != "contaminated");
    let limit = fluid.zip(water).and_then(|(fluid, water)| cylinder::largest_net(fluid, water));
    let gross = weighed.and_then(|w| Some((mass(&w.gross)?, zone.date(w.at))));
    let may = match (limit, tare) {
        (Some(net), Some(tare)) => {
            format!("It may weigh {} at most: {} empty and {} of {}.", shown(tare.kg() + net.kg()), shown(tare.kg()), shown(net.kg()), c.refrigerant)
        }
        (Some(net), None) => format!("It may hold {} of {} at most.", shown(net.kg()), c.refrigerant),
        (None, _) if c.purpose == "contaminated" => {
            "How much a mixture may fill is not reckoned; SAE J1989, 7.2, stops at 60 % of what the cylinder may weigh by its stamp.".into()
        }
        (None, _) if fluid.is_none() || water.is_some() => {
            format!("How much it may hold is not reckoned for {}: keep to what is stamped on it.", c.refrigerant)
        }
        (None, _) => "Write what it holds of water, and it says how much it may hold.".into(),
    };
    let net = gross.as_ref().zip(tare).map(|((gross, _), tare)| gross.kg() - tare.kg());
    let has = gross.as_ref().map(|(gross, on)| match net {
        Some(net) if net < 0.0 => format!("On {on} it weighed {}, less than empty: its tare or that mass is wrong.", shown(gross.kg())),
        Some(net) => format!("On {on} it weighed {}: it holds {}.", shown(gross.kg()), shown(net)),
        None => format!("On {on} it weighed {}; without its tare nobody knows what it holds.", shown(gross.kg())),
    });
    let over = limit.zip(net).filter(|(limit, net)| *net > limit.kg() + 1e-9).map(|(limit, net)| {
        let full = fluid.zip(water).and_then(|(fluid, water)| cylinder::liquid_full_at(fluid, Mass::new(net), water));
        let full =
            full.map(|t| format!(" At {} liquid fills it to the brim, and then it bursts or blows off.", show::temperature(t, units))).unwrap_or_default();
        format!("It holds {} more than it may: take that out before it gets warm.{full}", shown(net - limit.kg()))
    });
    Line {
        name: c.mark.clone(),
        says: format!("{}, {purpose}{}", c.refrigerant, if c.retired_at.is_some() { ", not used any more" } else { "" }),
        href: format!("/shop/cylinders?id={}", c.id),
        fill: if c.retired_at.is_some() { Vec::new() } else { [Some(may), has].into_iter().flatten().collect() },
        over: over.filter(|_| c.retired_at.is_none()),
    }
}

async fn keep(ctx: Ctx, mut form: Form) -> Result<Response, Fault> {
    let mark = form.need("mark", "Write its mark.");
    let refrigerant = form.choice("refrigerant", "Tap what is in it.", |r| (!r.is_empty()).then(|| r.to_owned()));
    let purpose = form.choice("purpose", "Tap what it is for.", |p| PURPOSES.iter().any(|x| x.0 == p).then(|| p.to_owned()));
    let unit = if form.get("mass_unit") == "lb" { "lb" } else { "kg" };
    let (tare, water) = (amount(&mut form, "tare", unit), amount(&mut form, "water", unit));
    if let (Some(mark), Some(refrigerant), Some(purpose), true) = (mark, refrigerant, purpose, form.is_right()) {
        let id = form.get("id").parse().unwrap_or_else(|_| CylinderId::fresh());
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
        let done = keep_cylinder(&ctx.app.store, &ctx.actor, form.deed, form.fingerprint(), &c, version(&form) == 0, ctx.now).await;
        if form.settle(done)? {
            return Ok(to("/shop/cylinders?kept=1"));
        }
    }
    Ok(again(form.status(), page(&ctx, form, Form::default(), None).await?))
}

/// Answers on the page and keeps nothing.
async fn air(ctx: Ctx, RawQuery(query): RawQuery) -> Result<Response, Fault> {
    let values = query.map(|q| form_urlencoded::parse(q.as_bytes()).into_owned().collect()).unwrap_or_default();
    let mut form = Form::of("/shop/cylinders/air".into(), values);
    let answer = if form.is_empty() { None } else { asked(&ctx, &mut form).await? };
    Ok(again(form.status(), page(&ctx, Form::default(), form, answer).await?))
}

async fn asked(ctx: &Ctx, form: &mut Form) -> Result<Option<Answer>, Fault> {
    let cylinders = {
        let mut conn = ctx.app.store.read().await?;
        things::cylinders(&mut conn).await?
    };
    let air = ctx.air().await?;
    let refrigerant = form.choice("cylinder", "Choose the cylinder.", |mark| cylinders.iter().find(|c| c.mark == mark).map(|c| c.refrigerant.clone()));
    let unit = form.choice("unit", "Choose the unit that the gauge shows.", |u| matches!(u, "psi" | "bar" | "kPa").then(|| u.to_owned()));
    let degrees = if ctx.units == UnitSystem::Us { "degF" } else { "degC" };
    let pressure = form.need_quantity("pressure", &format!("{} gauge", unit.as_deref().unwrap_or("psi")), "Write what the gauge shows.");
    let temperature = form.need_quantity("temperature", degrees, "Write the temperature of its wall.");
    let pressure = pressure.and_then(|p| p.parse::<Quantity<Pressure>>().ok()).map(|p| p.si().absolute(air));
    if pressure.is_some_and(|p| p.pa() < 0.0) {
        form.wrong("pressure", "No pressure is below a perfect vacuum.");
    }
    let temperature = temperature.and_then(|text| match text.parse::<Quantity<Temperature>>() {
        Ok(t) => Some(t.si()),
        Err(_) => {
            form.wrong("temperature", "No temperature is below absolute zero.");
            None
        }
    });
    let (Some(refrigerant), Some(pressure), Some(temperature), true) = (refrigerant, pressure, temperature, form.is_right()) else { return Ok(None) };
    let Some(fluid) = Fluid::from_name(&refrigerant) else {
        form.wrong("cylinder", "What its own pressure is is not known here for that refrigerant.");
        return Ok(None);
    };
    let Some(found) = cylinder::standing(fluid, temperature, pressure) else {
        form.wrong("temperature", format!("{refrigerant} is not liquid and gas together at that temperature, so that its pressure says nothing of air."));
        return Ok(None);
    };
    Ok(Some(told(fluid, found, temperature, pressure, air, ctx.units)))
}

fn told(fluid: Fluid, found: StandingCylinder, temperature: Temperature, pressure: AbsolutePressure, air: AbsolutePressure, units: UnitSystem) -> Answer {
    let gauge = |pa: f64| show::gauge_pressure(GaugePressure::new(pa - air.pa()), units);
    let difference = |p: PressureDifference| show::pressure_difference(PressureDifference::new(p.pa().abs()), units);
    let side = if found.excess.pa() < 0.0 { "below" } else { "above" };
    let mut why = format!(
        "By itself {} has {} at {}; the gauge shows {}, that is {} {side} it, and {} above is allowed.",
        fluid.name(),
        gauge(found.saturation.pa()),
        show::temperature_to(temperature, 1, units),
        gauge(pressure.pa()),
        difference(found.excess),
        difference(found.allowed),
    );
    if found.says == AirSays::Excess {
        why += &format!(" About {} of the gas above the liquid is air.", show::fraction(Fraction::new(found.share_of_air())));
    }
    if found.is_close() {
        why += &format!(
            " It is close: {} more or less on the thermometer makes {}.",
            show::temperature_difference(chillwright_calc::units::TemperatureDifference::new(1.0), units),
            difference(found.per_kelvin)
        );
    }
    if let Some(printed) = cylinder::printed_limit(temperature).filter(|_| fluid == Fluid::R134a) {
        why +=
            &format!(" The printed table (SAE J2211, table 1, from memory) allows {} there, for a gauge at sea level.", show::gauge_pressure(printed, units));
    }
    let (says, next) = match found.says {
        AirSays::Excess => (
            "There is air in it.",
            "Do not charge from it. Let it stand another night and read again; if it stays so, have it recycled by a machine that takes air out, or send it back.",
        ),
        AirSays::Clear => ("No more air in it than is allowed.", "Charge from it."),
        AirSays::NoLiquid => (
            "It cannot be told.",
            "Weigh it: with no liquid left the pressure says nothing of air. If there is liquid, it has not stood long enough, or the thermometer or the gauge is wrong.",
        ),
    };
    Answer { says, why, next }
}
