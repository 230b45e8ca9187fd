//! Instruments, cylinders, yards.
use super::{Conn, Result};
use crate::shop::{CylinderId, CylinderPurpose, Instant, InstrumentId, InstrumentKind, YardId};

/// A gauge, scale, thermometer, detector.
#[derive(Debug, Clone)]
pub struct Instrument {
    /// Identity.
    pub id: InstrumentId,
    /// What is written on it.
    pub mark: String,
    /// What it is.
    pub kind: InstrumentKind,
    /// A name besides.
    pub name: String,
    /// The unit that it shows.
    pub unit: String,
    /// One graduation or the last digit, with its unit: "0.5 inHg".
    pub resolution: String,
    /// Recorded zero error, with its unit.
    pub error: String,
    /// A detector's sensitivity: "4 g/yr".
    pub sensitivity: String,
    /// Date of the last comparison.
    pub compared_on: Option<String>,
    /// Not used any more since.
    pub retired_at: Option<Instant>,
    /// For optimistic locking.
    pub version: i64,
}

impl Instrument {
    /// A gauge with nothing more known of it.
    pub fn gauge(mark: String, kind: InstrumentKind, unit: String, resolution: String) -> Self {
        Self {
            id: InstrumentId::fresh(),
            mark,
            kind,
            name: String::new(),
            unit,
            resolution,
            error: String::new(),
            sensitivity: String::new(),
            compared_on: None,
            retired_at: None,
            version: 1,
        }
    }

    /// Whether it measures pressure.
    pub fn is_gauge(&self) -> bool {
        self.kind.is_gauge()
    }
}

/// All instruments, the retired ones last.
pub async fn instruments(conn: &mut Conn) -> Result<Vec<Instrument>> {
    Ok(sqlx::query_as!(
        Instrument,
        r#"SELECT id AS "id: InstrumentId", mark, kind AS "kind: InstrumentKind", name, unit, resolution, error, sensitivity, compared_on, retired_at AS "retired_at: Instant", version
           FROM instrument ORDER BY retired_at IS NOT NULL, mark"#
    )
    .fetch_all(conn)
    .await?)
}

/// Adds an instrument.
pub async fn add_instrument(conn: &mut Conn, i: &Instrument) -> Result<()> {
    sqlx::query!(
        "INSERT INTO instrument (id, mark, kind, name, unit, resolution, error, sensitivity, compared_on) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        i.id,
        i.mark,
        i.kind,
        i.name,
        i.unit,
        i.resolution,
        i.error,
        i.sensitivity,
        i.compared_on
    )
    .execute(conn)
    .await?;
    Ok(())
}

/// Changes an instrument if the version still fits; says whether it did. Recorded evidence keeps its own copy.
pub async fn update_instrument(conn: &mut Conn, i: &Instrument) -> Result<bool> {
    let done = sqlx::query!(
        "UPDATE instrument SET mark = ?, kind = ?, name = ?, unit = ?, resolution = ?, error = ?, sensitivity = ?, compared_on = ?, retired_at = ?,
         version = version + 1 WHERE id = ? AND version = ?",
        i.mark,
        i.kind,
        i.name,
        i.unit,
        i.resolution,
        i.error,
        i.sensitivity,
        i.compared_on,
        i.retired_at,
        i.id,
        i.version
    )
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// A refrigerant cylinder.
#[derive(Debug, Clone)]
pub struct Cylinder {
    /// Identity.
    pub id: CylinderId,
    /// What is written on it.
    pub mark: String,
    /// What is in it: "R-134a".
    pub refrigerant: String,
    /// What it is for.
    pub purpose: CylinderPurpose,
    /// Empty mass with its unit.
    pub tare: String,
    /// Mass of water that it holds, with its unit.
    pub water_capacity: String,
    /// Not used any more since.
    pub retired_at: Option<Instant>,
    /// For optimistic locking.
    pub version: i64,
}

/// All cylinders, the retired ones last.
pub async fn cylinders(conn: &mut Conn) -> Result<Vec<Cylinder>> {
    Ok(sqlx::query_as!(
        Cylinder,
        r#"SELECT id AS "id: CylinderId", mark, refrigerant, purpose AS "purpose: CylinderPurpose", tare, water_capacity, retired_at AS "retired_at: Instant", version
           FROM cylinder ORDER BY retired_at IS NOT NULL, mark"#
    )
    .fetch_all(conn)
    .await?)
}

/// Adds a cylinder.
pub async fn add_cylinder(conn: &mut Conn, c: &Cylinder) -> Result<()> {
    sqlx::query!(
        "INSERT INTO cylinder (id, mark, refrigerant, purpose, tare, water_capacity) VALUES (?, ?, ?, ?, ?, ?)",
        c.id,
        c.mark,
        c.refrigerant,
        c.purpose,
        c.tare,
        c.water_capacity
    )
    .execute(conn)
    .await?;
    Ok(())
}

/// Changes a cylinder if the version still fits; says whether it did.
pub async fn update_cylinder(conn: &mut Conn, c: &Cylinder) -> Result<bool> {
    let done = sqlx::query!(
        "UPDATE cylinder SET mark = ?, refrigerant = ?, purpose = ?, tare = ?, water_capacity = ?, retired_at = ?, version = version + 1 WHERE id = ? AND version = ?",
        c.mark, c.refrigerant, c.purpose, c.tare, c.water_capacity, c.retired_at, c.id, c.version
    )
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// What a cylinder weighed when it was last used.
#[derive(Debug, Clone)]
pub struct Weighing {
    /// Which.
    pub cylinder: CylinderId,
    /// Gross mass after that, with its unit.
    pub gross: String,
    /// When.
    pub at: Instant,
}

/// The last weighing of each cylinder that refrigerant came out of or went into.
pub async fn last_weighings(conn: &mut Conn) -> Result<Vec<Weighing>> {
    // With max() alone in a grouped query SQLite takes the other columns from the row that has it.
    Ok(sqlx::query_as!(
        Weighing,
        r#"SELECT cylinder AS "cylinder!: CylinderId", json_extract(body, '$.after') AS "gross!: String", max(at) AS "at!: Instant"
           FROM evidence_now
           WHERE cylinder IS NOT NULL AND kind IN ('recovery', 'charging') AND json_extract(body, '$.after') IS NOT NULL AND at IS NOT NULL
           GROUP BY cylinder"#
    )
    .fetch_all(conn)
    .await?)
}

/// A dismantler's yard.
#[derive(Debug, Clone)]
pub struct Yard {
    /// Identity.
    pub id: YardId,
    /// Name.
    pub name: String,
    /// Address.
    pub address: String,
    /// Telephone.
    pub telephone: String,
    /// Days within which it takes a part back.
    pub return_days: Option<i64>,
    /// Not bought from any more since.
    pub retired_at: Option<Instant>,
    /// For optimistic locking.
    pub version: i64,
}

/// All yards, the retired ones last.
pub async fn yards(conn: &mut Conn) -> Result<Vec<Yard>> {
    Ok(sqlx::query_as!(
        Yard,
        r#"SELECT id AS "id: YardId", name, address, telephone, return_days, retired_at AS "retired_at: Instant", version
           FROM yard ORDER BY retired_at IS NOT NULL, name COLLATE NOCASE"#
    )
    .fetch_all(conn)
    .await?)
}

/// Adds a yard.
pub async fn add_yard(conn: &mut Conn, y: &Yard) -> Result<()> {
    sqlx::query!(
        "INSERT INTO yard (id, name, address, telephone, return_days) VALUES (?, ?, ?, ?, ?)",
        y.id,
        y.name,
        y.address,
        y.telephone,
        y.return_days
    )
    .execute(conn)
    .await?;
    Ok(())
}

/// Changes a yard if the version still fits; says whether it did.
pub async fn update_yard(conn: &mut Conn, y: &Yard) -> Result<bool> {
    let done = sqlx::query!(
        "UPDATE yard SET name = ?, address = ?, telephone = ?, return_days = ?, retired_at = ?, version = version + 1 WHERE id = ? AND version = ?",
        y.name,
        y.address,
        y.telephone,
        y.return_days,
        y.retired_at,
        y.id,
        y.version
    )
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}
