//! Deeds about orders: opened, changed, noted, cancelled.
use super::{
    Command, Deed, DeedError,
    evidence::{Change, INTAKE, NewPiece, apply},
    photographs::{Ready, Told, attach, write_all},
};
use crate::shop::OrderState;
use crate::{
    shop::{Actor, CustomerId, DeedId, Instant, OrderId, PersonId, Role, VehicleId},
    store::{Store, StoreError, audit, customers, orders, shop},
};
use chillwright_calc::record::{PreviousCharge, Site, System};
use serde_json::json;
use std::path::Path;

/// Who opens and changes orders.
pub const DESK: &[Role] = &[Role::Desk, Role::Owner];

/// What intake asks.
#[derive(Debug, Clone)]
pub struct Intake {
    /// A car that was here before.
    pub vehicle: Option<VehicleId>,
    /// Customer's name.
    pub name: String,
    /// Telephone.
    pub telephone: String,
    /// Electronic mail.
    pub email: String,
    /// Address.
    pub address: String,
    /// Plate.
    pub plate: String,
    /// VIN in capitals.
    pub vin: String,
    /// Make, model.
    pub description: String,
    /// Year.
    pub year: Option<i64>,
    /// The label.
    pub label: System,
    /// When and with how much it was charged last.
    pub previous_charge: Option<PreviousCharge>,
    /// Complaint in the customer's words.
    pub complaint: String,
    /// Visible damage, earlier repairs.
    pub damage: String,
    /// Odometer.
    pub odometer: Option<i64>,
    /// `km` or `mi`.
    pub odometer_unit: String,
    /// Where the keys are.
    pub keys: String,
    /// Promised for.
    pub promised_at: Option<Instant>,
    /// Who works on it.
    pub technician: Option<PersonId>,
    /// The closed order that it begins like.
    pub like: Option<i64>,
    /// Photographs taken before anything is touched.
    pub photographs: Vec<Ready>,
}

/// Opens an order; gives its number. `folder` is where photographs lie.
pub async fn open(
    store: &Store,
    folder: &Path,
    by: &Actor,
    deed: DeedId,
    form: String,
    intake: Intake,
    now: Instant,
) -> Result<i64, DeedError> {
    write_all(folder, &intake.photographs)?;
    let command = Command {
        deed,
        kind: "order-opened",
        roles: DESK,
        order: None,
        form,
    };
    let mut deed = Deed::begin(store, by, command, now).await?;
    let (customer, salt, vehicle) = customer_and_car(&mut deed, &intake, now).await?;
    let number = shop::take_order_number(&mut deed.tx).await?;
    let elevation = shop::get(&mut deed.tx)
        .await?
        .map(|s| s.elevation)
        .ok_or(DeedError::Missing("shop"))?;
    let order = orders::Order {
        id: OrderId::fresh(),
        number,
        state: OrderState::Open,
        customer,
        customer_name: String::new(),
        telephone: String::new(),
        vehicle,
        plate: String::new(),
        vin: String::new(),
        car: String::new(),
        year: None,
        complaint: intake.complaint,
        damage: intake.damage,
        odometer: intake.odometer,
        odometer_unit: intake.odometer_unit,
        keys: intake.keys,
        promised_at: intake.promised_at,
        technician: intake.technician,
        technician_name: None,
        opened_at: now,
        cancelled_why: None,
        version: 1,
    };
    orders::add(&mut deed.tx, &order, by.person).await?;
    deed.concerns(order.id);
    let elevation = elevation
        .parse()
        .map_err(|e| StoreError::stored("elevation of the shop", e))?;
    let site = Site {
        elevation: Some(elevation),
        ..Site::default()
    };
    let mut pieces = vec![
        Change::Add(NewPiece::new(site, None)),
        Change::Add(NewPiece::new(intake.label, None)),
    ];
    pieces.extend(
        intake
            .previous_charge
            .map(|p| Change::Add(NewPiece::new(p, None))),
    );
    let told = apply(&mut deed, order.id, pieces).await?;
    let like = match intake.like {
        Some(number) => Some(super::starters::bring(&mut deed, number, order.id).await?),
        None => None,
    };
    let told_of = Told {
        kind: crate::shop::AttachmentKind::Photograph,
        says: String::new(),
        evidence: None,
        at: None,
    };
    let photographs = attach(&mut deed, order.id, &told_of, &intake.photographs).await?;
    let sealed = hex::encode(audit::salted(&salt, &intake.name));
    deed.keep(json!({ "number": number, "customer": customer, "name": sealed, "vehicle": vehicle, "pieces": told, "like": like, "photographs": photographs }))
        .await?;
    Ok(number)
}

async fn customer_and_car(
    deed: &mut Deed,
    intake: &Intake,
    now: Instant,
) -> Result<(CustomerId, Vec<u8>, VehicleId), DeedError> {
    let known = match intake.vehicle {
        Some(id) => Some(
            customers::vehicle(&mut deed.tx, id)
                .await?
                .ok_or(DeedError::Missing("car"))?,
        ),
        None => None,
    };
    let before = match &known {
        Some(v) => customers::customer(&mut deed.tx, v.customer).await?,
        None => None,
    };
    // The same car with another name has changed hands.
    let same = before.filter(|c| c.name.trim().eq_ignore_ascii_case(intake.name.trim()));
    let fresh = same.is_none();
    let mut customer = same.unwrap_or_else(|| customers::Customer {
        id: CustomerId::fresh(),
        name: String::new(),
        telephone: String::new(),
        email: String::new(),
        address: String::new(),
        salt: rand::random::<[u8; 16]>().to_vec(),
        version: 1,
    });
    let keep_old = |new: &str, old: &str| {
        if new.is_empty() {
            old.to_owned()
        } else {
            new.to_owned()
        }
    };
    customer.name = intake.name.clone();
    customer.telephone = keep_old(&intake.telephone, &customer.telephone);
    customer.email = keep_old(&intake.email, &customer.email);
    customer.address = keep_old(&intake.address, &customer.address);
    if fresh {
        customers::add_customer(&mut deed.tx, &customer, now).await?;
    } else {
        customers::update_customer(&mut deed.tx, &customer).await?;
    }
    let mut vehicle = known.clone().unwrap_or_else(|| customers::Vehicle {
        id: VehicleId::fresh(),
        customer: customer.id,
        plate: String::new(),
        vin: String::new(),
        description: String::new(),
        year: None,
        label: intake.label.clone(),
        version: 1,
    });
    vehicle.customer = customer.id;
    (
        vehicle.plate,
        vehicle.vin,
        vehicle.description,
        vehicle.year,
    ) = (
        intake.plate.clone(),
        intake.vin.clone(),
        intake.description.clone(),
        intake.year,
    );
    vehicle.label = intake.label.clone();
    match known {
        Some(_) => {
            customers::update_vehicle(&mut deed.tx, &vehicle).await?;
        }
        None => customers::add_vehicle(&mut deed.tx, &vehicle, now).await?,
    }
    Ok((customer.id, customer.salt, vehicle.id))
}

/// Adds a dated note.
pub async fn note(
    store: &Store,
    by: &Actor,
    deed: DeedId,
    order: OrderId,
    form: String,
    says: &str,
    now: Instant,
) -> Result<(), DeedError> {
    let command = Command {
        deed,
        kind: "note-added",
        roles: INTAKE,
        order: Some(order),
        form,
    };
    let mut deed = Deed::begin(store, by, command, now).await?;
    orders::add_note(
        &mut deed.tx,
        uuid::Uuid::now_v7(),
        order,
        says,
        by.person,
        now,
    )
    .await?;
    deed.keep(json!({ "length": says.len() })).await
}

/// Changes what is not evidence; `changed.version` is the version that the page showed.
pub async fn change(
    store: &Store,
    by: &Actor,
    deed: DeedId,
    form: String,
    changed: &orders::Order,
    now: Instant,
) -> Result<(), DeedError> {
    let command = Command {
        deed,
        kind: "order-changed",
        roles: DESK,
        order: Some(changed.id),
        form,
    };
    let mut deed = Deed::begin(store, by, command, now).await?;
    if !orders::update(&mut deed.tx, changed, now).await? {
        return Err(DeedError::Outdated);
    }
    deed.keep(json!({ "promised_at": changed.promised_at, "technician": changed.technician, "odometer": changed.odometer })).await
}

/// Cancels an order, with the reason.
pub async fn cancel(
    store: &Store,
    by: &Actor,
    deed: DeedId,
    form: String,
    order: &orders::Order,
    why: &str,
    now: Instant,
) -> Result<(), DeedError> {
    let command = Command {
        deed,
        kind: "order-cancelled",
        roles: DESK,
        order: Some(order.id),
        form,
    };
    let mut deed = Deed::begin(store, by, command, now).await?;
    let cancelled = orders::Order {
        state: OrderState::Cancelled,
        cancelled_why: Some(why.to_owned()),
        ..order.clone()
    };
    if !orders::update(&mut deed.tx, &cancelled, now).await? {
        return Err(DeedError::Outdated);
    }
    deed.keep(json!({ "why": why })).await
}
