//! Intake: the shortest way to a work order.
use super::{
    Ctx, Fault, Fieldset, Form, Kind, Page,
    access::Access,
    ending::settle,
    form::{Typed, again, measured, quantity, some, to},
    pictures::{Sent, wait},
    route::{Route, get, post},
};
use crate::shop::LineKind;
use crate::{
    shop::{PersonId, Role, VehicleId, instant::show_date, vin},
    store::{Conn, assessment, customers, evidence, lines, orders, people, shop},
    work::{
        DeedError,
        orders::{Intake, open},
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{extract::Query, response::Response};
use chillwright_calc::{
    checks::limits::{LimitSettings, Limits},
    record::{Drive, Metering, PreviousCharge, Refrigerant, System},
    units::{Dimension, Quantity, show},
};
use serde_json::Value;
use std::collections::HashMap;

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/intake", Access::DESK, show),
        post("/intake", Access::DESK, keep),
        get("/find", Access::DESK, find),
        get("/vin", Access::STAFF, vin),
    ]
}

#[derive(Template, WebTemplate)]
#[template(path = "intake/page.html")]
struct IntakePage {
    page: Page,
    typed: String,
    found: Vec<customers::Seen>,
    history: Vec<String>,
    conceded: Vec<String>,
    /// Closed orders that this one may begin like: address and words.
    starters: Vec<(String, String)>,
    /// What comes along from the one that was chosen.
    like: Option<String>,
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
    Ok(Found {
        found: customers::find(&mut conn, &typed).await?,
        typed,
    })
}

async fn show(
    ctx: Ctx,
    Typed(kept): Typed,
    Query(query): Query<HashMap<String, String>>,
) -> Result<IntakePage, Fault> {
    let mut form = kept.sent_to("/intake");
    let typed = query.get("q").cloned().unwrap_or_default();
    let fresh = form.is_empty();
    if let Some(id) = query
        .get("vehicle")
        .and_then(|v| v.parse::<VehicleId>().ok())
        .filter(|_| fresh)
    {
        known(&ctx, id, &mut form).await?;
    }
    if let Some(number) = query
        .get("like")
        .and_then(|n| n.parse().ok())
        .filter(|_| fresh)
    {
        begun_like(&ctx, number, &mut form).await?;
    }
    page(&ctx, form, typed).await
}

/// A closed order brings its label, and make and model where the car is a new one.
async fn begun_like(ctx: &Ctx, number: i64, form: &mut Form) -> Result<(), Fault> {
    let order = ctx.order(number).await?;
    let mut conn = ctx.app.store.read().await?;
    let pieces = evidence::of_order(&mut conn, order.id).await?;
    // A car that was here before has a label of its own.
    if let Some(label) = pieces
        .iter()
        .find_map(|p| p.get::<System>())
        .filter(|_| form.get("refrigerant").is_empty())
    {
        label_into(label, form);
    }
    if form.get("description").is_empty() {
        form.set("description", order.car);
    }
    form.set("like", number.to_string());
    Ok(())
}

/// The closed orders of cars like this one, less the one that was chosen.
async fn starters(conn: &mut Conn, form: &Form) -> Result<Vec<(String, String)>, Fault> {
    let car = form.get("vehicle");
    let with = if car.is_empty() {
        String::new()
    } else {
        format!("&vehicle={car}")
    };
    let mut starters = Vec::new();
    for order in orders::closed_like(conn, form.get("description")).await? {
        if order.number.to_string() == form.get("like") {
            continue;
        }
        let work = lines::of_order(conn, order.id)
            .await?
            .into_iter()
            .filter(|l| l.counts() && l.kind == LineKind::Labour)
            .map(|l| l.says);
        let work: Vec<String> = work.take(2).collect();
        let work = if work.is_empty() {
            String::new()
        } else {
            format!(": {}", work.join(", "))
        };
        starters.push((
            format!("/intake?like={}{with}", order.number),
            format!(
                "Start from order {}, {}{work}",
                order.number,
                order.car_and_year()
            ),
        ));
    }
    Ok(starters)
}

/// What comes along from a closed order.
async fn comes_along(conn: &mut Conn, form: &Form) -> Result<Option<String>, Fault> {
    let Ok(number) = form.get("like").parse::<i64>() else {
        return Ok(None);
    };
    let Some(order) = orders::by_number(conn, number).await? else {
        return Ok(None);
    };
    let joints = evidence::of_order(conn, order.id)
        .await?
        .iter()
        .filter(|p| p.kind() == evidence::Kind::Joint)
        .count();
    let lines = lines::of_order(conn, order.id)
        .await?
        .iter()
        .filter(|l| l.counts())
        .count();
    Ok(Some(format!(
        "Copied from order {number}: the label, {joints} joints and {lines} estimate lines. Nothing that was found, done or measured is copied."
    )))
}

/// A car that was here before brings its label and its owner.
async fn known(ctx: &Ctx, id: VehicleId, form: &mut Form) -> Result<(), Fault> {
    let mut conn = ctx.app.store.read().await?;
    let vehicle = customers::vehicle(&mut conn, id)
        .await?
        .ok_or_else(|| Fault::missing("car"))?;
    let customer = customers::customer(&mut conn, vehicle.customer)
        .await?
        .ok_or_else(|| Fault::missing("customer"))?;
    let label = label(&mut conn, &vehicle).await?;
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
    label_into(&label, form);
    Ok(())
}

/// The car's label as it was last recorded: corrections and a measured volume of the last order included, what failed then left out.
pub async fn label(conn: &mut Conn, vehicle: &customers::Vehicle) -> Result<System, Fault> {
    let Some(last) = orders::of_vehicle(conn, vehicle.id)
        .await?
        .into_iter()
        .next()
    else {
        return Ok(vehicle.label.clone());
    };
    let pieces = evidence::of_order(conn, last.id).await?;
    Ok(pieces
        .iter()
        .find_map(|p| p.get::<System>())
        .unwrap_or(&vehicle.label)
        .clone())
}

/// Writes a label into the form's fields.
pub fn label_into(label: &System, form: &mut Form) {
    form.set("refrigerant", label.refrigerant.word());
    form.set("oil_type", label.oil_type.as_deref().unwrap_or_default());
    form.set(
        "compressor_drive",
        label.compressor_drive.map_or("", Drive::word),
    );
    form.set("metering", label.metering.map_or("", Metering::word));
    form.set("charge", number_of(&label.charge));
    form.set("charge_unit", unit_of(&label.charge));
    form.set("tolerance", number_of(&label.charge_tolerance));
    form.set("oil_total", number_of(&label.oil_total));
    form.set("volume", number_of(&label.internal_volume));
    form.set(
        "evaporators",
        label.evaporators.map(|n| n.to_string()).unwrap_or_default(),
    );
}

/// The number of a quantity as it was typed, for a field that asks for it again; empty where there is none.
pub fn number_of<D: Dimension>(quantity: &Option<Quantity<D>>) -> &str {
    quantity
        .as_ref()
        .and_then(|q| q.text().split(' ').next())
        .unwrap_or_default()
}

/// Its unit.
pub fn unit_of<D: Dimension>(quantity: &Option<Quantity<D>>) -> &str {
    quantity
        .as_ref()
        .and_then(|q| q.text().split(' ').nth(1))
        .unwrap_or_default()
}

async fn page(ctx: &Ctx, mut form: Form, typed: String) -> Result<IntakePage, Fault> {
    form.path = "/intake".into();
    let mut conn = ctx.app.store.read().await?;
    let found = customers::find(&mut conn, &typed).await?;
    let (history, conceded) = match form.get("vehicle").parse::<VehicleId>() {
        Ok(id) => (
            history(ctx, &mut conn, id).await?,
            conceded(ctx, &mut conn, id).await?,
        ),
        Err(_) => (Vec::new(), Vec::new()),
    };
    let technicians: Vec<_> = people::all(&mut conn)
        .await?
        .into_iter()
        .filter(|p| p.retired_at.is_none() && p.roles.has(Role::Technician))
        .map(|p| (p.id.to_string(), p.name))
        .collect();
    let limits = Limits::of(&limits_set(&mut conn).await?);
    let (starters, like) = (
        starters(&mut conn, &form).await?,
        comes_along(&mut conn, &form).await?,
    );
    let set = |legend: &str, fields| Fieldset {
        legend: legend.into(),
        intro: String::new(),
        fields,
    };
    let vin_told = vin_told(form.get("vin"));
    let sets = vec![
        set(
            "The car",
            vec![
                form.field("vehicle", "").kind(Kind::Hidden),
                form.field("like", "").kind(Kind::Hidden),
                form.field("plate", "Plate"),
                form.field("vin", "VIN").hint(
                    vin_told
                        .unwrap_or("17 characters, at the base of the windscreen or on a label."),
                ),
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
                form.field("telephone", "Phone").kind(Kind::Tel),
                form.field("email", "Email").kind(Kind::Email),
                form.field("address", "Address"),
            ],
        ),
        set(
            "Complaint",
            vec![
                form.field("complaint", "In the customer’s words")
                    .kind(Kind::Long)
                    .required(),
                form.field("damage", "Visible damage and earlier repairs")
                    .kind(Kind::Long),
                form.field("keys", "Keys").hint("Where they are kept."),
                form.field("promised", "Promised for").kind(Kind::DateTime),
                form.select("technician", "Technician", technicians),
            ],
        ),
        Fieldset {
            intro: "As on the label. Leave blank what is not known.".into(),
            ..set("Label under the bonnet", label_fields(&form, &limits))
        },
        Fieldset {
            intro: "Before anything is touched. They protect the shop and the customer.".into(),
            ..set("Photographs", vec![super::photographs::files_field(&form)])
        },
        set("Last charged, if known", previous_fields(&form)),
    ];
    Ok(IntakePage {
        page: Page::of(ctx, "New order", "/"),
        typed,
        found,
        history,
        conceded,
        starters,
        like,
        form,
        sets,
    })
}

async fn history(ctx: &Ctx, conn: &mut Conn, car: VehicleId) -> Result<Vec<String>, Fault> {
    let said = |o: &orders::Order| {
        format!(
            "Order {}, {}: “{}” {}.",
            o.number,
            ctx.zone.date(o.opened_at),
            o.complaint,
            super::parts::state(o.state.word())
        )
    };
    Ok(orders::of_vehicle(conn, car)
        .await?
        .iter()
        .map(said)
        .collect())
}

/// What was accepted in writing on this car and has not lapsed: it drives around with it.
async fn conceded(ctx: &Ctx, conn: &mut Conn, car: VehicleId) -> Result<Vec<String>, Fault> {
    let all = assessment::concessions_of_vehicle(conn, car).await?;
    Ok(all
        .into_iter()
        .map(|(order, look_again, c)| {
            let look = look_again
                .map(|day| format!(" Recheck by {}.", show_date(&day)))
                .unwrap_or_default();
            format!(
                "Order {order}: {} Accepted by {}, {}: “{}”.{look}",
                c.said(ctx.units),
                c.name,
                ctx.zone.date(c.at),
                c.words
            )
        })
        .collect())
}

/// What the check digit says of a VIN as it is typed; nothing of an empty or a right one.
pub fn vin_told(typed: &str) -> Option<&'static str> {
    let vin = typed.to_uppercase().replace(' ', "");
    if vin.is_empty() {
        None
    } else {
        vin::judge(&vin).says()
    }
}

/// The same while one types: a sentence, or nothing.
async fn vin(_: Ctx, Query(query): Query<HashMap<String, String>>) -> &'static str {
    query.get("v").and_then(|v| vin_told(v)).unwrap_or_default()
}

/// The shop's limits, those that it set.
pub async fn limits_set(conn: &mut Conn) -> Result<LimitSettings, Fault> {
    serde_json::from_value(Value::Object(shop::limits(conn).await?))
        .map_err(|e| Fault::Own(Box::new(e)))
}

/// What is taken for a circuit's volume that nobody knows, by the shop's limits: "1.5 to 3.5 L are taken."
pub fn volumes_taken(limits: &Limits) -> String {
    let litres = |v: chillwright_calc::units::Volume| show::decimals(v.m3() * 1e3, 1);
    format!(
        "{} to {} L is assumed.",
        litres(limits.assumed_volume_low),
        litres(limits.assumed_volume_high)
    )
}

/// The fields of the label.
pub fn label_fields(form: &Form, limits: &Limits) -> Vec<super::Field> {
    vec![
        form.refrigerants("refrigerant", "Refrigerant").required(),
        form.field("charge", "Charge").number(""),
        form.field("tolerance", "Tolerance ±")
            .number("in the same unit"),
        form.select(
            "charge_unit",
            "in",
            [("g", "g"), ("kg", "kg"), ("oz", "oz"), ("lb", "lb")],
        ),
        form.field("oil_type", "Oil").hint("For example PAG 46."),
        form.field("oil_total", "Total oil").number("mL"),
        form.field("volume", "Internal volume of the circuit")
            .number("L")
            .hint(format!(
                "Only if known. Otherwise {}",
                volumes_taken(limits)
            )),
        form.tiles(
            "compressor_drive",
            "Compressor",
            [("belt", "belt"), ("electric", "electric, high voltage")],
        ),
        form.tiles(
            "metering",
            "Metering device",
            [
                ("expansion-valve", "expansion valve"),
                ("orifice-tube", "orifice tube"),
            ],
        ),
        form.tiles("evaporators", "Evaporators", [("1", "one"), ("2", "two")]),
    ]
}

/// Reads the label out of the form.
pub fn read_label(form: &mut Form) -> Option<System> {
    let refrigerant: Option<Refrigerant> = form.choice(
        "refrigerant",
        "Choose the refrigerant shown on the label.",
        |r| r.parse().ok(),
    );
    let unit = match form.get("charge_unit") {
        unit @ ("g" | "kg" | "oz" | "lb") => unit.to_owned(),
        _ => {
            if !form.get("charge").is_empty() {
                form.wrong("charge_unit", "Choose the unit of the charge.");
            }
            "g".into()
        }
    };
    let charge = on_label(form, "charge", &unit);
    let charge_tolerance = on_label(form, "tolerance", &unit);
    let oil_total = on_label(form, "oil_total", "mL");
    let internal_volume = on_label(form, "volume", "L");
    let oil_type = some(form.text("oil_type"));
    let (compressor_drive, metering) = (
        form.get("compressor_drive").parse().ok(),
        form.get("metering").parse().ok(),
    );
    let evaporators = form
        .get("evaporators")
        .parse::<u8>()
        .ok()
        .filter(|n| (1..=2).contains(n));
    if !form.is_right() {
        return None;
    }
    let of = System::new(refrigerant?);
    Some(System {
        charge,
        charge_tolerance,
        oil_type,
        oil_total,
        internal_volume,
        compressor_drive,
        metering,
        evaporators,
        ..of
    })
}

/// A quantity of the label: more than zero, but for a tolerance.
fn on_label<D: Dimension>(form: &mut Form, name: &str, unit: &str) -> Option<Quantity<D>> {
    let number = form.number(name)?;
    if number.is_sign_negative() || (number.is_zero() && name != "tolerance") {
        form.wrong(name, "Enter more than zero, or leave it blank.");
        return None;
    }
    quantity(form, name, &format!("{number} {unit}"))
}

async fn keep(ctx: Ctx, mut sent: Sent) -> Result<Response, Fault> {
    let pictures = sent.pictures(&ctx.app).await?;
    let mut form = sent.form;
    wait(&ctx.app, &mut form, &pictures)?;
    if let Some(intake) = read(&ctx, &mut form) {
        let intake = Intake {
            photographs: pictures,
            ..intake
        };
        match open(
            &ctx.app.store,
            &ctx.app.files,
            &ctx.actor,
            form.deed,
            form.fingerprint(),
            intake,
            ctx.now,
        )
        .await
        {
            Ok(number) => return Ok(to(format!("/orders/{number}"))),
            Err(DeedError::AlreadyKept) => return Ok(to("/orders")),
            Err(e) => settle(&ctx, &mut form, Err(e)).await?,
        };
    }
    let status = form.status();
    Ok(again(status, page(&ctx, form, String::new()).await?))
}

fn read(ctx: &Ctx, form: &mut Form) -> Option<Intake> {
    let name = form.need("name", "Enter the customer’s name.");
    let description = form.need("description", "Enter make and model.");
    let complaint = form.need("complaint", "Enter the customer’s complaint.");
    let (plate, vin) = (
        form.text("plate"),
        form.text("vin").to_uppercase().replace(' ', ""),
    );
    if plate.is_empty() && vin.is_empty() {
        form.wrong(
            "plate",
            "Enter the plate or the VIN so that the car can be found again.",
        );
    }
    let whole = |form: &mut Form, name: &str, least: i64, most: i64| -> Option<i64> {
        let text = form.get(name).replace([' ', '\u{a0}'], "");
        if text.is_empty() {
            return None;
        }
        let number = text.parse().ok().filter(|n| (least..=most).contains(n));
        if number.is_none() {
            form.wrong(
                name,
                format!("Enter a whole number between {least} and {most}."),
            );
        }
        number
    };
    let year = whole(form, "year", 1950, 2100);
    let odometer = whole(form, "odometer", 0, 9_999_999);
    let promised_at = match form.get("promised").to_owned() {
        text if text.is_empty() => None,
        text => ctx.zone.parse_field(&text).or_else(|| {
            form.wrong(
                "promised",
                "Enter date and time, for example 2026-05-12 16:00.",
            );
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
        odometer_unit: if form.get("odometer_unit") == "mi" {
            "mi".into()
        } else {
            "km".into()
        },
        keys: form.text("keys"),
        promised_at,
        technician: form.get("technician").parse::<PersonId>().ok(),
        like: form.get("like").parse().ok(),
        photographs: Vec::new(),
    })
}

/// When and with how much it was charged last.
pub fn previous_fields(form: &Form) -> Vec<super::Field> {
    vec![
        form.field("previous_on", "On").kind(Kind::Date),
        form.field("previous_mass", "Charge at that time")
            .number("g"),
    ]
}

/// Writes the last charge into the form's fields.
pub fn previous_into(ctx: &Ctx, previous: &PreviousCharge, form: &mut Form) {
    form.set(
        "previous_on",
        previous
            .at
            .map(|at| ctx.zone.iso_date(at.into()))
            .unwrap_or_default(),
    );
    form.set("previous_mass", number_of(&previous.mass));
}

/// Reads the last charge out of the form; nothing where neither is known.
pub fn read_previous(ctx: &Ctx, form: &mut Form) -> Option<PreviousCharge> {
    let (on, mass) = (
        form.date("previous_on"),
        measured(form, "previous_mass", "g"),
    );
    if on
        .as_deref()
        .is_some_and(|on| on > ctx.zone.iso_date(ctx.now).as_str())
    {
        form.wrong("previous_on", "That date is in the future.");
    }
    if on.is_none() && mass.is_none() {
        return None;
    }
    let at = on
        .and_then(|on| ctx.zone.parse_field(&format!("{on}T12:00")))
        .map(Into::into);
    Some(PreviousCharge {
        at,
        mass,
        ..PreviousCharge::default()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_changed_limit_changes_what_is_taken() {
        let mut settings = LimitSettings::default();
        assert_eq!(
            volumes_taken(&Limits::of(&settings)),
            "1.5 to 3.5 L is assumed."
        );
        settings.set("assumed_volume_low", "2 L").expect("a volume");
        settings
            .set("assumed_volume_high", "140 floz")
            .expect("a volume");
        assert_eq!(
            volumes_taken(&Limits::of(&settings)),
            "2.0 to 4.1 L is assumed."
        );
    }
}
