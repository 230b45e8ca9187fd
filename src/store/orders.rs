//! Work orders with their customer and car.
use super::{Conn, Result};
use crate::shop::{CustomerId, Instant, OrderId, OrderState, PersonId, VehicleId};

/// What every page about an order needs to know of it.
#[derive(Debug, Clone)]
pub struct Order {
    /// Identity.
    pub id: OrderId,
    /// The number that people know.
    pub number: i64,
    /// Where it stands.
    pub state: OrderState,
    /// Customer.
    pub customer: CustomerId,
    /// The customer's name.
    pub customer_name: String,
    /// The customer's telephone.
    pub telephone: String,
    /// Car.
    pub vehicle: VehicleId,
    /// Plate.
    pub plate: String,
    /// VIN, may be empty.
    pub vin: String,
    /// Make, model.
    pub car: String,
    /// Year.
    pub year: Option<i64>,
    /// In the customer's words.
    pub complaint: String,
    /// Visible damage, earlier repairs.
    pub damage: String,
    /// Odometer at arrival.
    pub odometer: Option<i64>,
    /// `km` or `mi`.
    pub odometer_unit: String,
    /// Where the keys are.
    pub keys: String,
    /// Promised for.
    pub promised_at: Option<Instant>,
    /// Who works on it.
    pub technician: Option<PersonId>,
    /// That person's name.
    pub technician_name: Option<String>,
    /// Opened.
    pub opened_at: Instant,
    /// Why it was cancelled.
    pub cancelled_why: Option<String>,
    /// For optimistic locking.
    pub version: i64,
}

impl Order {
    /// `Tarn Vela 1.4, 2009`.
    pub fn car_and_year(&self) -> String {
        self.year
            .map_or_else(|| self.car.clone(), |y| format!("{}, {y}", self.car))
    }

    /// Whether work goes on.
    pub fn is_open(&self) -> bool {
        self.state == OrderState::Open
    }
}

macro_rules! select {
    ($rest:literal $(, $arg:expr)*) => {
        sqlx::query_as!(
            Order,
            r#"SELECT o.id AS "id: OrderId", o.number, o.state AS "state: OrderState", c.id AS "customer: CustomerId", c.name AS customer_name, c.telephone,
               v.id AS "vehicle: VehicleId", v.plate, v.vin, v.description AS car, v.year, o.complaint, o.damage, o.odometer, o.odometer_unit, o.keys,
               o.promised_at AS "promised_at: Instant", o.technician AS "technician: PersonId", t.name AS "technician_name?",
               o.opened_at AS "opened_at: Instant", o.cancelled_why, o.version
               FROM work_order o JOIN customer c ON c.id = o.customer JOIN vehicle v ON v.id = o.vehicle LEFT JOIN person t ON t.id = o.technician "#
                + $rest
            $(, $arg)*
        )
    };
}

/// The order with this number.
pub async fn by_number(conn: &mut Conn, number: i64) -> Result<Option<Order>> {
    Ok(select!("WHERE o.number = ?", number)
        .fetch_optional(conn)
        .await?)
}

/// The order with this id.
pub async fn find(conn: &mut Conn, id: OrderId) -> Result<Option<Order>> {
    Ok(select!("WHERE o.id = ?", id).fetch_optional(conn).await?)
}

/// All open orders, by number.
pub async fn open(conn: &mut Conn) -> Result<Vec<Order>> {
    Ok(select!("WHERE o.state = 'open' ORDER BY o.number")
        .fetch_all(conn)
        .await?)
}

/// Earlier and open orders of a car, the newest first.
pub async fn of_vehicle(conn: &mut Conn, vehicle: VehicleId) -> Result<Vec<Order>> {
    Ok(
        select!("WHERE o.vehicle = ? ORDER BY o.number DESC", vehicle)
            .fetch_all(conn)
            .await?,
    )
}

/// Open and closed orders that fit what was typed: plate, VIN, name, telephone, number; thirty at most, the newest first.
pub async fn search(conn: &mut Conn, typed: &str) -> Result<Vec<Order>> {
    let Some(like) = super::customers::Like::of(typed) else {
        return Ok(Vec::new());
    };
    Ok(select!(
        r#"WHERE o.number = ? OR v.plate_key LIKE ? ESCAPE '\' OR v.vin LIKE ? ESCAPE '\' OR c.name LIKE ? ESCAPE '\' OR (? <> '' AND c.telephone_digits LIKE ? ESCAPE '\')
           ORDER BY o.number DESC LIMIT 30"#,
        like.number,
        like.plate,
        like.plate,
        like.name,
        like.digits,
        like.telephone
    )
    .fetch_all(conn)
    .await?)
}

/// The newest orders, open and closed.
pub async fn newest(conn: &mut Conn) -> Result<Vec<Order>> {
    Ok(select!("ORDER BY o.number DESC LIMIT 60")
        .fetch_all(conn)
        .await?)
}

/// Handed-over orders of cars with this make and model (of all cars where it is empty), the newest first, eight at most: what a new order may begin like.
pub async fn closed_like(conn: &mut Conn, description: &str) -> Result<Vec<Order>> {
    Ok(select!(
        "WHERE o.state = 'handed-over' AND (? = '' OR lower(trim(v.description)) = lower(trim(?))) ORDER BY o.number DESC LIMIT 8",
        description,
        description
    )
    .fetch_all(conn)
    .await?)
}

/// A dated note.
#[derive(Debug, Clone)]
pub struct Note {
    /// What it says.
    pub says: String,
    /// Who wrote it.
    pub name: String,
    /// When.
    pub at: Instant,
}

/// The notes of an order, oldest first.
pub async fn notes(conn: &mut Conn, order: OrderId) -> Result<Vec<Note>> {
    Ok(sqlx::query_as!(
        Note,
        r#"SELECT n.says, p.name, n.at AS "at: Instant" FROM order_note n JOIN person p ON p.id = n.person WHERE n.work_order = ? ORDER BY n.at, n.rowid"#,
        order
    )
    .fetch_all(conn)
    .await?)
}

/// Adds a note.
pub async fn add_note(
    conn: &mut Conn,
    id: uuid::Uuid,
    order: OrderId,
    says: &str,
    by: PersonId,
    now: Instant,
) -> Result<()> {
    sqlx::query!(
        "INSERT INTO order_note (id, work_order, says, person, at) VALUES (?, ?, ?, ?, ?)",
        id,
        order,
        says,
        by,
        now
    )
    .execute(conn)
    .await?;
    Ok(())
}

/// Writes a new order.
pub async fn add(conn: &mut Conn, order: &Order, by: PersonId) -> Result<()> {
    sqlx::query!(
        "INSERT INTO work_order (id, number, customer, vehicle, state, complaint, damage, odometer, odometer_unit, keys, promised_at, technician, opened_at, opened_by)
         VALUES (?, ?, ?, ?, 'open', ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        order.id, order.number, order.customer, order.vehicle, order.complaint, order.damage, order.odometer, order.odometer_unit, order.keys,
        order.promised_at, order.technician, order.opened_at, by
    )
    .execute(conn)
    .await?;
    Ok(())
}

/// Writes what is not evidence, and the state, if the version still fits; says whether it did.
pub async fn update(conn: &mut Conn, order: &Order, now: Instant) -> Result<bool> {
    let cancelled_at = order.cancelled_why.as_ref().map(|_| now);
    let done = sqlx::query!(
        "UPDATE work_order SET state = ?, complaint = ?, damage = ?, odometer = ?, odometer_unit = ?, keys = ?, promised_at = ?, technician = ?,
         cancelled_at = ?, cancelled_why = ?, version = version + 1 WHERE id = ? AND version = ?",
        order.state,
        order.complaint,
        order.damage,
        order.odometer,
        order.odometer_unit,
        order.keys,
        order.promised_at,
        order.technician,
        cancelled_at,
        order.cancelled_why,
        order.id,
        order.version
    )
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}
