//! Intake: the shortest way to a work order.
use super::{
    Ctx, Fault, Fieldset, Form, Kind, Page,
    access::Access,
    form::{Typed, again, to},
    router::{Route, get, post},
};
use crate::{
    shop::{PersonId, Role, VehicleId, vin},
    store::{customers, orders, people},
    work::{
        DeedError,
        orders::{Intake, open},
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{extract::Query, response::Response};
use serde_json::{Map, Value, json};
use std::collections::HashMap;

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![get("/intake", Access::DESK, show), post("/intake", Access::DESK, keep), get("/find", Access::DESK, find)]
}

#[derive(Template, WebTemplate)]
#[template(path = "intake/page.html")]
struct IntakePage {
    page: Page,
    typed: String,
    found: Vec<customers::Seen>,
    history: Vec<String>,
    form: Form,
    sets: Vec<Fieldset>,
}

#[derive(Template, WebTemplate)]
#[template(path = "intake/found.html")]
struct Found {
    typed: String,
    found: Vec<customers::Seen>,
}

async fn find(ctx: Ctx, Query(query): Query<HashMap<String, String>>) -> Result<Found, Fault> {
    let typed = query.get("q").cloned().unwrap_or_default();
    let mut conn = ctx.app.store.read().await?;
    Ok(Found { found: customers::find(&mut conn, &typed).await?, typed })
}

async fn show(ctx: Ctx, Typed(kept): Typed, Query(query): Query<HashMap<String, String>>) -> Result<IntakePage, Fault> {
    let mut form = kept.sent_to("/intake");
    let typed = query.get("q").cloned().unwrap_or_default();
    if let (Some(id), true) = (query.get("vehicle").and_then(|v| v.parse::<VehicleId>().ok()), form.is_empty()) {
        known(&ctx, id, &mut form).await?;
    }
    page(&ctx, form, typed).await
}

/// A car that was here before brings its label and its owner.
async fn known(ctx: &Ctx, id: VehicleId, form: &mut Form) -> Result<(), Fault> {
    let mut conn = ctx.app.store.read().await?;
    let vehicle = customers::vehicle(&mut conn, id).await?.ok_or_else(|| Fault::missing("car"))?;
    let customer = customers::customer(&mut conn, vehicle.customer).await?.ok_or_else(|| Fault::missing("customer"))?;
    let year = vehicle.year.map(|y| y.to_string()).unwrap_or_default();
    for (name, value) in [
        ("vehicle", id.to_string()),
        ("name", customer.name),
        ("telephone", customer.telephone),
        ("email", customer.email),
        ("address", customer.address),
        ("plate", vehicle.plate),
        ("vin", vehicle.vin),
        ("description", vehicle.description),
        ("year", year),
    ] {
        form.set(name, value);
    }
    label_into(&vehicle.label, form);
    Ok(())
}

/// Writes a label into the form's fields.
pub fn label_into(label: &Map<String, Value>, form: &mut Form) {
    let text = |key: &str| label.get(key).and_then(Value::as_str).unwrap_or_default().to_owned();
    let number = |key: &str| text(key).split(' ').next().unwrap_or_default().to_owned();
    for key in ["refrigerant", "oil_type", "compressor_drive", "metering"] {
        form.set(key, text(key));
    }
    form.set("charge", number("charge"));
    form.set("charge_unit", text("charge").split(' ').nth(1).unwrap_or_default());
    form.set("tolerance", number("charge_tolerance"));
    form.set("oil_total", number("oil_total"));
    form.set("volume", number("internal_volume"));
    form.set("evaporators", label.get("evaporators").map(ToString::to_string).unwrap_or_default());
}

async fn page(ctx: &Ctx, mut form: Form, typed: String) -> Result<IntakePage, Fault> {
    form.path = "/intake".into();
    let mut conn = ctx.app.store.read().await?;
    let found = customers::find(&mut conn, &typed).await?;
    let history = match form.get("vehicle").parse::<VehicleId>() {
        Ok(id) => orders::of_vehicle(&mut conn, id)
            .await?
            .iter()
            .map(|o| format!("Order {}, {}: “{}” {}.", o.number, ctx.zone.date(o.opened_at), o.complaint, o.state))
            .collect(),
        Err(_) => Vec::new(),
    };
    let technicians: Vec<_> = people::all(&mut conn)
        .await?
        .into_iter()
        .filter(|p| p.retired_at.is_none() && p.roles.has(Role::Technician))
        .map(|p| (p.id.to_string(), p.name))
        .collect();
    let set = |legend: &str, fields| Fieldset { legend: legend.into(), intro: String::new(), fields };
    let vin_told = vin_told(form.get("vin"));
    let sets = vec![
        set(
            "The car",
            vec![
                form.field("vehicle", "").kind(Kind::Hidden),
                form.field("plate", "Plate"),
                form.field("vin", "VIN").hint(vin_told.unwrap_or("17 characters, under the windscreen or on the label.")),
                form.field("description", "Make and model").required(),
                form.field("year", "Year").number(""),
                form.field("odometer", "Odometer").number(""),
                form.tiles("odometer_unit", "in", [("km", "km"), ("mi", "miles")]),
            ],
        ),
        set(
            "The customer",
            vec![
                form.field("name", "Name").required().autocomplete("off"),
                form.field("telephone", "Telephone").kind(Kind::Tel),
                form.field("email", "E-mail").kind(Kind::Email),
                form.field("address", "Address"),
            ],
        ),
        set(
            "What is wrong",
            vec![
                form.field("complaint", "Complaint, in the customer’s words").kind(Kind::Long).required(),
                form.field("damage", "Visible damage and earlier repairs").kind(Kind::Long),
                form.field("keys", "Keys").hint("Where they hang."),
                form.field("promised", "Promised for").kind(Kind::DateTime),
                form.select("technician", "Who works on it", technicians),
            ],
        ),
        Fieldset { intro: "As the label says; what is not known stays empty.".into(), ..set("The label under the bonnet", label_fields(&form)) },
        set("Last charged, if it is known", vec![form.field("previous_on", "On").kind(Kind::Date), form.field("previous_mass", "Charge then").number("g")]),
    ];
    Ok(IntakePage { page: Page::of(ctx, "New order", "/"), typed, found, history, form, sets })
}

fn vin_told(typed: &str) -> Option<&'static str> {
    if typed.is_empty() { None } else { vin::judge(&typed.to_uppercase()).says() }
}

/// The fields of the label.
pub fn label_fields(form: &Form) -> Vec<super::Field> {
    vec![
        form.tiles("refrigerant", "Refrigerant", ["R-134a", "R-1234yf", "R-12", "R-152a", "R-744", "other"].map(|r| (r, r))).required(),
        form.field("charge", "Charge").number(""),
        form.field("tolerance", "give or take").number("the same unit"),
        form.select("charge_unit", "in", [("g", "g"), ("kg", "kg"), ("oz", "oz"), ("lb", "lb")]),
        form.field("oil_type", "Oil").hint("For example PAG 46."),
        form.field("oil_total", "Oil in all").number("mL"),
        form.field("volume", "Volume inside the circuit").number("L").hint("Only if it is known; else 1.5 to 3.5 L are taken."),
        form.tiles("compressor_drive", "Compressor", [("belt", "belt"), ("electric", "electric, high voltage")]),
        form.tiles("metering", "Metering", [("expansion-valve", "expansion valve"), ("orifice-tube", "orifice tube")]),
        form.tiles("evaporators", "Evaporators", [("1", "one"), ("2", "two")]),
    ]
}

/// Reads the label out of the form, as a job record's `system`.
pub fn read_label(form: &mut Form) -> Option<Map<String, Value>> {
    let mut label = Map::new();
    let refrigerant = form.choice("refrigerant", "Choose the refrigerant; the label tells it.", |r| {
        ["R-134a", "R-1234yf", "R-12", "R-152a", "R-744", "other"].contains(&r).then(|| r.to_owned())
    });
    label.insert("refrigerant".into(), json!(refrigerant.unwrap_or_default()));
    let unit = match form.get("charge_unit") {
        unit @ ("g" | "kg" | "oz" | "lb") => unit.to_owned(),
        _ => {
            if !form.get("charge").is_empty() {
                form.wrong("charge_unit", "Choose the unit of the charge.");
            }
            "g".into()
        }
    };
    for (name, key, unit) in [
        ("charge", "charge", unit.as_str()),
        ("tolerance", "charge_tolerance", unit.as_str()),
        ("oil_total", "oil_total", "mL"),
        ("volume", "internal_volume", "L"),
    ] {
        if let Some(number) = form.number(name) {
            if number.is_sign_negative() || (number.is_zero() && name != "tolerance") {
                form.wrong(name, "Write more than nothing, or leave it empty.");
            }
            label.insert(key.into(), json!(format!("{number} {unit}")));
        }
    }
    let oil = form.text("oil_type");
    if !oil.is_empty() {
        label.insert("oil_type".into(), json!(oil));
    }
    for (name, words) in [("compressor_drive", ["belt", "electric"]), ("metering", ["expansion-valve", "orifice-tube"])] {
        if words.contains(&form.get(name)) {
            label.insert(name.into(), json!(form.get(name)));
        }
    }
    if let Ok(n @ 1..=2) = form.get("evaporators").parse::<u8>() {
        label.insert("evaporators".into(), json!(n));
    }
    form.is_right().then_some(label)
}

async fn keep(ctx: Ctx, mut form: Form) -> Result<Response, Fault> {
    if let Some(intake) = read(&ctx, &mut form) {
        match open(&ctx.app.store, &ctx.actor, form.deed, form.fingerprint(), intake, ctx.now).await {
            Ok(number) => return Ok(to(format!("/orders/{number}"))),
            Err(DeedError::AlreadyKept) => return Ok(to("/orders")),
            Err(e) => form.settle(Err(e))?,
        };
    }
    let status = form.status();
    Ok(again(status, page(&ctx, form, String::new()).await?))
}

fn read(ctx: &Ctx, form: &mut Form) -> Option<Intake> {
    let name = form.need("name", "Write the customer’s name.");
    let description = form.need("description", "Write make and model.");
    let complaint = form.need("complaint", "Write what the customer says.");
    let (plate, vin) = (form.text("plate"), form.text("vin").to_uppercase().replace(' ', ""));
    if plate.is_empty() && vin.is_empty() {
        form.wrong("plate", "Write the plate or the VIN; one of them finds the car again.");
    }
    let whole = |form: &mut Form, name: &str, least: i64, most: i64| -> Option<i64> {
        let text = form.get(name).replace([' ', '\u{a0}'], "");
        if text.is_empty() {
            return None;
        }
        let number = text.parse().ok().filter(|n| (least..=most).contains(n));
        if number.is_none() {
            form.wrong(name, format!("Write a whole number between {least} and {most}."));
        }
        number
    };
    let year = whole(form, "year", 1950, 2100);
    let odometer = whole(form, "odometer", 0, 9_999_999);
    let promised_at = match form.get("promised").to_owned() {
        text if text.is_empty() => None,
        text => ctx.zone.parse_field(&text).or_else(|| {
            form.wrong("promised", "Write date and time, 2026-05-12 16:00.");
            None
        }),
    };
    let label = read_label(form);
    let previous_charge = read_previous(ctx, form);
    if !form.is_right() {
        return None;
    }
    Some(Intake {
        vehicle: form.get("vehicle").parse().ok(),
        name: name?,
        telephone: form.text("telephone"),
        email: form.text("email"),
        address: form.text("address"),
        plate,
        vin,
        description: description?,
        year,
        label: label?,
        previous_charge,
        complaint: complaint?,
        damage: form.text("damage"),
        odometer,
        odometer_unit: if form.get("odometer_unit") == "mi" { "mi".into() } else { "km".into() },
        keys: form.text("keys"),
        promised_at,
        technician: form.get("technician").parse::<PersonId>().ok(),
    })
}

fn read_previous(ctx: &Ctx, form: &mut Form) -> Option<Map<String, Value>> {
    let (on, mass) = (form.date("previous_on"), form.quantity("previous_mass", "g"));
    if mass.as_deref().is_some_and(|m| m.starts_with('-')) {
        form.wrong("previous_mass", "A charge is no less than nothing.");
    }
    if on.as_deref().is_some_and(|on| on > ctx.zone.iso_date(ctx.now).as_str()) {
        form.wrong("previous_on", "That is in the future.");
    }
    if on.is_none() && mass.is_none() {
        return None;
    }
    let mut previous = Map::new();
    if let Some(at) = on.and_then(|on| ctx.zone.parse_field(&format!("{on}T12:00"))) {
        previous.insert("at".into(), json!(at.rfc3339()));
    }
    if let Some(mass) = mass {
        previous.insert("mass".into(), json!(mass));
    }
    Some(previous)
}
