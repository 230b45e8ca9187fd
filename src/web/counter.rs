//! The counter sheet: for a car at the desk, what it lost, what would show the leak, and how deep a vacuum has to be today. Nothing is kept.
use super::{
    Ctx, Fault, Fieldset, Form, Kind, Page,
    access::Access,
    form::amount,
    intake::{label_into, limits_set, volumes_taken},
    outlook::{self, Outlook},
    route::{Route, get},
};
use crate::shop::InstrumentKind;
use crate::{
    shop::VehicleId,
    store::{customers, shop, things},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::RawQuery,
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chillwright_calc::record::Refrigerant;
use chillwright_calc::{
    JobRecord, UnitSystem,
    checks::{
        limits::Limits,
        outlook::{Lost, depth_needed, lost, reads_vacuum},
        with_case,
    },
    record::Gauge,
    units::{Quantity, Temperature, show},
};
use serde_json::{Value, json};

/// The address.
pub fn routes() -> Vec<Route> {
    vec![get("/counter", Access::STAFF, show_sheet)]
}

#[derive(Template, WebTemplate)]
#[template(path = "counter.html")]
struct CounterPage {
    page: Page,
    form: Form,
    sets: Vec<Fieldset>,
    found: Vec<customers::Seen>,
    typed: String,
    answer: Option<Answer>,
}

struct Answer {
    car: String,
    today: String,
    facts: String,
    lost: Lost,
    outlook: Outlook,
    /// Gauge, what it has to show exactly, and on its graduations.
    depths: Vec<(String, String, String)>,
    metal: String,
    boils: String,
}

async fn show_sheet(ctx: Ctx, RawQuery(query): RawQuery) -> Result<Response, Fault> {
    let pairs = form_urlencoded::parse(query.unwrap_or_default().as_bytes())
        .into_owned()
        .filter(|(k, _)| k != "kept")
        .collect();
    let mut form = Form::of("/counter".into(), pairs);
    let typed = form.get("q").to_owned();
    let mut conn = ctx.app.store.read().await?;
    let found = if typed.is_empty() {
        Vec::new()
    } else {
        customers::find(&mut conn, &typed).await?
    };
    let asked = !form.get("refrigerant").is_empty();
    if let (Ok(id), false) = (form.get("vehicle").parse::<VehicleId>(), asked) {
        let car = customers::vehicle(&mut conn, id)
            .await?
            .ok_or_else(|| Fault::missing("car"))?;
        form.set(
            "car",
            format!("{} {}", car.plate, car.description)
                .trim()
                .to_owned(),
        );
        label_into(&super::intake::label(&mut conn, &car).await?, &mut form);
    }
    let instruments: Vec<_> = things::instruments(&mut conn)
        .await?
        .into_iter()
        .filter(|i| i.retired_at.is_none())
        .collect();
    let barometer = shop::barometer(&mut conn, ctx.now).await?;
    let limits = limits_set(&mut conn).await?;
    drop(conn);
    let record = if asked {
        record(&ctx, &mut form, barometer.map(|b| b.site))
    } else {
        None
    };
    // The shop's own limits hold here as they do on an order.
    let record = record.map(|record| JobRecord {
        limits: limits.clone(),
        ..record
    });
    let answer = record.map(|record| answer(&ctx, &record, &instruments, &mut form));
    let status = if form.is_right() {
        StatusCode::OK
    } else {
        StatusCode::UNPROCESSABLE_ENTITY
    };
    let page = CounterPage {
        page: Page::of(&ctx, "Counter", "/counter"),
        sets: sets(&ctx, &form, &Limits::of(&limits)),
        found,
        typed,
        answer,
        form,
    };
    Ok((status, page).into_response())
}

fn sets(ctx: &Ctx, form: &Form, limits: &Limits) -> Vec<Fieldset> {
    let (degrees, pressure) = if ctx.units == UnitSystem::Us {
        ("°F", "psig")
    } else {
        ("°C", "kPa gauge")
    };
    let set = |legend: &str, fields| Fieldset {
        legend: legend.into(),
        intro: String::new(),
        fields,
    };
    let metal = form
        .field("metal", "Coldest metal")
        .number(degrees)
        .hint(format!(
            "Blank = the temperature above; {} if there is none.",
            show::temperature_short(limits.assumed_temperature, ctx.units)
        ));
    vec![
        set(
            "The car",
            vec![
                form.field("car", "Plate and model"),
                form.refrigerants("refrigerant", "Refrigerant").required(),
                form.field("charge", "Charge on the label").number(""),
                form.select(
                    "charge_unit",
                    "in",
                    [("g", "g"), ("kg", "kg"), ("oz", "oz"), ("lb", "lb")],
                ),
                form.field("volume", "Internal volume of the circuit")
                    .number("L")
                    .hint(format!(
                        "Only if known. Otherwise {}",
                        volumes_taken(limits)
                    )),
                form.field("previous_on", "Last charged on")
                    .kind(Kind::Date),
            ],
        ),
        Fieldset {
            intro: "Enter one of the two.".into(),
            ..set(
                "Refrigerant left",
                vec![
                    form.field("standing", "Standing pressure").number(pressure),
                    form.field("ambient", "At a temperature of")
                        .number(degrees)
                        .hint("For a cold-soaked car: the air temperature."),
                    form.field("recovered", "Or recovered").number("g"),
                ],
            )
        },
        set(
            "The test",
            outlook::fields(ctx, form)
                .into_iter()
                .chain([metal])
                .collect(),
        ),
    ]
}

/// What was typed, as a job record of its own.
fn record(ctx: &Ctx, form: &mut Form, barometer: Option<String>) -> Option<JobRecord> {
    let refrigerant = form.choice("refrigerant", "Choose the refrigerant.", |r| {
        r.parse::<Refrigerant>().ok().map(|r| r.word().to_owned())
    });
    let unit = match form.get("charge_unit") {
        unit @ ("g" | "kg" | "oz" | "lb") => unit.to_owned(),
        _ => "g".into(),
    };
    let us = ctx.units == UnitSystem::Us;
    let (charge, volume) = (amount(form, "charge", &unit), amount(form, "volume", "L"));
    let recovered = amount(form, "recovered", "g");
    let standing = form.quantity("standing", if us { "psi gauge" } else { "kPa gauge" });
    let ambient = form.quantity("ambient", if us { "degF" } else { "degC" });
    form.quantity("metal", if us { "degF" } else { "degC" });
    let previous = form
        .date("previous_on")
        .and_then(|on| ctx.zone.parse_field(&format!("{on}T12:00")));
    if previous.is_some_and(|at| at > ctx.now) {
        form.wrong("previous_on", "That date is in the future.");
    }
    if standing.is_some() && ambient.is_none() && form.error("ambient").is_none() {
        form.wrong(
            "ambient",
            "Enter the temperature. The pressure means nothing without it.",
        );
    }
    if standing.is_none() && recovered.is_none() && form.is_right() {
        form.wrong(
            "standing",
            "Enter the standing pressure or the mass recovered.",
        );
    }
    if !form.is_right() {
        return None;
    }
    let now = ctx.now.rfc3339();
    let mut site = json!({ "elevation": ctx.shop.elevation });
    if let Some(barometer) = barometer {
        site["barometer"] = json!(barometer);
    }
    let mut system = json!({ "refrigerant": refrigerant? });
    for (key, value) in [("charge", charge), ("internal_volume", volume)] {
        if let Some(value) = value {
            system[key] = json!(value);
        }
    }
    let mut record = json!({ "version": 1, "site": site, "system": system });
    if let Some(pressure) = standing {
        record["standing"] =
            json!([{ "pressure": pressure, "ambient": ambient, "cold_soak": true, "at": now }]);
    }
    if let Some(mass) = recovered {
        record["recovery"] = json!([{ "before": "0 g", "after": mass, "at": now }]);
    }
    if let Some(at) = previous {
        record["previous_charge"] = json!({ "at": at.rfc3339() });
    }
    match chillwright_calc::parse_value(record) {
        Ok(record) => Some(record),
        Err(e) => {
            let field = [
                ("standing[0].pressure", "standing"),
                ("standing[0].ambient", "ambient"),
                ("system.charge", "charge"),
                ("system.internal_volume", "volume"),
            ];
            form.wrong(
                field.iter().find(|f| f.0 == e.path).map_or("", |f| f.1),
                e.reason,
            );
            None
        }
    }
}

fn answer(
    ctx: &Ctx,
    record: &JobRecord,
    instruments: &[things::Instrument],
    form: &mut Form,
) -> Answer {
    with_case(record, ctx.units, |case| {
        let lost = lost(case);
        let outlook = outlook::of(ctx, case, instruments, form, &lost);
        let unit = if ctx.units == UnitSystem::Us {
            "degF"
        } else {
            "degC"
        };
        let mut typed = |name: &str| {
            Some(
                form.quantity(name, unit)?
                    .parse::<Quantity<Temperature>>()
                    .ok()?
                    .si(),
            )
        };
        let metal = typed("metal")
            .or_else(|| typed("ambient"))
            .unwrap_or(case.limits.assumed_temperature);
        let depths = instruments
            .iter()
            .filter(|i| i.is_gauge() && reads_vacuum(&i.unit))
            .filter_map(|i| {
                let gauge = Gauge {
                    resolution: i.resolution.parse().ok(),
                    error: i.error.parse().ok(),
                    ..Gauge::default()
                };
                let needed = depth_needed(
                    case,
                    &gauge,
                    &i.unit,
                    i.kind == InstrumentKind::VacuumGauge,
                    metal,
                )?;
                Some((
                    format!("{} ({})", i.mark, i.resolution),
                    needed.exact,
                    needed
                        .on_gauge
                        .unwrap_or_else(|| "this gauge cannot show it".to_owned()),
                ))
            })
            .collect();
        let air = case.site.air;
        let water = chillwright_calc::physics::water::saturation_pressure(metal)
            .map(|p| show::pressure(p, ctx.units))
            .unwrap_or_default();
        Answer {
            car: form.get("car").to_owned(),
            today: ctx.zone.date_and_clock(ctx.now),
            facts: format!(
                "{}; air pressure here {}.",
                facts(record),
                show::pressure_within(
                    air.pressure,
                    chillwright_calc::units::PressureDifference::new(air.uncertainty_pa),
                    ctx.units
                )
            ),
            lost,
            outlook,
            depths,
            metal: show::temperature(metal, ctx.units),
            boils: water,
        }
    })
}

/// What the answer rests on, as typed.
fn facts(record: &JobRecord) -> String {
    let value = serde_json::to_value(record).unwrap_or_default();
    let text = |pointer: &str| {
        value
            .pointer(pointer)
            .and_then(Value::as_str)
            .map(crate::shop::written::told)
    };
    let charge = text("/system/charge")
        .map(|c| format!(", charge {c}"))
        .unwrap_or_default();
    let standing = text("/standing/0/pressure")
        .map(|p| format!(", standing pressure {p}"))
        .unwrap_or_default();
    let recovered = text("/recovery/0/after")
        .map(|m| format!(", recovered {m}"))
        .unwrap_or_default();
    format!(
        "{}{charge}{standing}{recovered}",
        text("/system/refrigerant").unwrap_or_default()
    )
}
