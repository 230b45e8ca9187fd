//! Customers and their cars.
use super::{Conn, Result, StoreError};
use crate::shop::{CustomerId, Instant, VehicleId};
use chillwright_calc::record::System;

/// A customer.
#[derive(Debug, Clone)]
pub struct Customer {
    /// Identity.
    pub id: CustomerId,
    /// Name.
    pub name: String,
    /// Telephone as written.
    pub telephone: String,
    /// Electronic mail.
    pub email: String,
    /// Address.
    pub address: String,
    /// With which personal fields enter the audit chain as hashes.
    pub salt: Vec<u8>,
    /// For optimistic locking.
    pub version: i64,
}

/// A car.
#[derive(Debug, Clone)]
pub struct Vehicle {
    /// Identity.
    pub id: VehicleId,
    /// Whose.
    pub customer: CustomerId,
    /// Plate as written.
    pub plate: String,
    /// VIN in capitals; may be empty.
    pub vin: String,
    /// Make, model.
    pub description: String,
    /// Year.
    pub year: Option<i64>,
    /// The under-bonnet label.
    pub label: System,
    /// For optimistic locking.
    pub version: i64,
}

/// Letters and digits alone, in capitals: how plates are compared.
pub fn plate_key(plate: &str) -> String {
    plate
        .chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_uppercase)
        .collect()
}

/// Digits alone: how telephone numbers are compared.
pub fn digits(telephone: &str) -> String {
    telephone.chars().filter(char::is_ascii_digit).collect()
}

/// Adds a customer.
pub async fn add_customer(conn: &mut Conn, c: &Customer, now: Instant) -> Result<()> {
    let digits = digits(&c.telephone);
    sqlx::query!(
        "INSERT INTO customer (id, name, telephone, telephone_digits, email, address, salt, made_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        c.id,
        c.name,
        c.telephone,
        digits,
        c.email,
        c.address,
        c.salt,
        now
    )
    .execute(conn)
    .await?;
    Ok(())
}

/// Changes a customer if the version still fits; says whether it did.
pub async fn update_customer(conn: &mut Conn, c: &Customer) -> Result<bool> {
    let digits = digits(&c.telephone);
    let done = sqlx::query!(
        "UPDATE customer SET name = ?, telephone = ?, telephone_digits = ?, email = ?, address = ?, version = version + 1 WHERE id = ? AND version = ?",
        c.name,
        c.telephone,
        digits,
        c.email,
        c.address,
        c.id,
        c.version
    )
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// One customer.
pub async fn customer(conn: &mut Conn, id: CustomerId) -> Result<Option<Customer>> {
    Ok(sqlx::query_as!(Customer, r#"SELECT id AS "id: CustomerId", name, telephone, email, address, salt, version FROM customer WHERE id = ?"#, id)
        .fetch_optional(conn)
        .await?)
}

/// Adds a car.
pub async fn add_vehicle(conn: &mut Conn, v: &Vehicle, now: Instant) -> Result<()> {
    let (key, label) = (plate_key(&v.plate), stored(&v.label)?);
    sqlx::query!(
        "INSERT INTO vehicle (id, customer, plate, plate_key, vin, description, year, label, made_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        v.id,
        v.customer,
        v.plate,
        key,
        v.vin,
        v.description,
        v.year,
        label,
        now
    )
    .execute(conn)
    .await?;
    Ok(())
}

/// Changes a car if the version still fits; says whether it did.
pub async fn update_vehicle(conn: &mut Conn, v: &Vehicle) -> Result<bool> {
    let (key, label) = (plate_key(&v.plate), stored(&v.label)?);
    let done = sqlx::query!(
        "UPDATE vehicle SET customer = ?, plate = ?, plate_key = ?, vin = ?, description = ?, year = ?, label = ?, version = version + 1 WHERE id = ? AND version = ?",
        v.customer, v.plate, key, v.vin, v.description, v.year, label, v.id, v.version
    )
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// One car.
pub async fn vehicle(conn: &mut Conn, id: VehicleId) -> Result<Option<Vehicle>> {
    let row = sqlx::query!(
        r#"SELECT id AS "id: VehicleId", customer AS "customer: CustomerId", plate, vin, description, year, label, version FROM vehicle WHERE id = ?"#,
        id
    )
    .fetch_optional(conn)
    .await?;
    row.map(|r| {
        let label = serde_json::from_str(&r.label).map_err(|e| StoreError::stored("label", e))?;
        Ok(Vehicle {
            id: r.id,
            customer: r.customer,
            plate: r.plate,
            vin: r.vin,
            description: r.description,
            year: r.year,
            label,
            version: r.version,
        })
    })
    .transpose()
}

/// A car that a search found.
#[derive(Debug, Clone)]
pub struct Seen {
    /// Identity.
    pub id: VehicleId,
    /// Plate.
    pub plate: String,
    /// Make, model.
    pub description: String,
    /// Year.
    pub year: Option<i64>,
    /// Whose.
    pub customer_name: String,
    /// How often it was here.
    pub orders: i64,
}

/// Cars whose plate, VIN, customer's name or telephone fits what was typed; ten at most.
pub async fn find(conn: &mut Conn, typed: &str) -> Result<Vec<Seen>> {
    let Some(like) = Like::of(typed) else {
        return Ok(Vec::new());
    };
    Ok(sqlx::query_as!(
        Seen,
        r#"SELECT v.id AS "id: VehicleId", v.plate, v.description, v.year, c.name AS customer_name,
           (SELECT count(*) FROM work_order o WHERE o.vehicle = v.id) AS "orders!: i64"
           FROM vehicle v JOIN customer c ON c.id = v.customer
           WHERE (? <> '' AND v.plate_key LIKE ? ESCAPE '\') OR (? <> '' AND v.vin LIKE ? ESCAPE '\') OR c.name LIKE ? ESCAPE '\' OR (? <> '' AND c.telephone_digits LIKE ? ESCAPE '\')
           ORDER BY v.made_at DESC LIMIT 10"#,
        like.key, like.plate, like.key, like.plate, like.name, like.digits, like.telephone
    )
    .fetch_all(conn)
    .await?)
}

/// What was typed, as patterns.
pub struct Like {
    /// Letters and digits in capitals.
    pub key: String,
    /// Anywhere in a plate or VIN.
    pub plate: String,
    /// Anywhere in a name.
    pub name: String,
    /// Digits; empty where there are fewer than three.
    pub digits: String,
    /// Anywhere in a telephone number.
    pub telephone: String,
    /// An order's number; -1 where it is none.
    pub number: i64,
}

impl Like {
    /// `None` where nothing was typed.
    pub fn of(typed: &str) -> Option<Self> {
        let typed = typed.trim();
        let key = plate_key(typed);
        if typed.is_empty() || key.is_empty() {
            return None;
        }
        let name = typed
            .replace('\\', "\\\\")
            .replace('%', "\\%")
            .replace('_', "\\_");
        let digits = Some(digits(typed))
            .filter(|d| d.len() >= 3 && typed.chars().all(|c| !c.is_alphabetic()))
            .unwrap_or_default();
        Some(Self {
            plate: format!("%{key}%"),
            name: format!("%{name}%"),
            telephone: format!("%{digits}%"),
            number: typed.parse().unwrap_or(-1),
            digits,
            key,
        })
    }
}

fn stored(label: &System) -> Result<String> {
    serde_json::to_string(label).map_err(|e| StoreError::stored("label", e))
}
