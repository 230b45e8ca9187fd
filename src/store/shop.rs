//! The shop itself: settings, limits, the barometer.
use super::{Conn, Result, StoreError};
use crate::shop::{Instant, LabelSize, PersonId, Zone};
use uuid::Uuid;

/// The shop's settings.
#[derive(Debug, Clone)]
pub struct Shop {
    /// As it is printed.
    pub name: String,
    /// Street and town.
    pub address: String,
    /// Telephone.
    pub telephone: String,
    /// Tax number, printed on invoices.
    pub tax_number: String,
    /// Elevation as typed with its unit, "120 m".
    pub elevation: String,
    /// IANA time zone.
    pub zone: String,
    /// ISO 4217.
    pub currency: String,
    /// `si` or `us`.
    pub units: String,
    /// Prices on the estimate contain tax.
    pub prices_with_tax: bool,
    /// Usual tax, hundredths of a percent.
    pub tax_rate: i64,
    /// Warranty as it is printed.
    pub warranty: String,
    /// What the codes on labels lead to: "https://shop.test:8470"; empty for the address by which the page was asked for.
    pub server_address: String,
    /// Of a part's tag, millimetres.
    pub tag_width: i64,
    /// Of a part's tag, millimetres.
    pub tag_height: i64,
    /// Of a cylinder's label, millimetres.
    pub cylinder_width: i64,
    /// Of a cylinder's label, millimetres.
    pub cylinder_height: i64,
    /// Number of the next order.
    pub next_order: i64,
    /// Number of the next invoice.
    pub next_invoice: i64,
    /// For optimistic locking.
    pub version: i64,
}

impl Shop {
    /// The units that the shop prints in.
    pub fn unit_system(&self) -> chillwright_calc::UnitSystem {
        self.units.parse().unwrap_or_default()
    }

    /// Size of a part's tag; the file's checks keep it within bounds.
    pub fn tag_size(&self) -> Option<LabelSize> {
        LabelSize::new(self.tag_width, self.tag_height)
    }

    /// Size of a cylinder's label.
    pub fn cylinder_label_size(&self) -> Option<LabelSize> {
        LabelSize::new(self.cylinder_width, self.cylinder_height)
    }

    /// The zone; UTC where the stored name is none (settings check it).
    pub fn zone(&self) -> Zone {
        Zone::named(&self.zone).unwrap_or_else(Zone::utc)
    }
}

/// The settings; nothing before the first start.
pub async fn get(conn: &mut Conn) -> Result<Option<Shop>> {
    Ok(sqlx::query_as!(
        Shop,
        r#"SELECT name, address, telephone, tax_number, elevation, zone, currency, units, prices_with_tax AS "prices_with_tax: bool", tax_rate, warranty,
           server_address, tag_width, tag_height, cylinder_width, cylinder_height, next_order, next_invoice, version FROM shop"#
    )
    .fetch_optional(conn)
    .await?)
}

/// Writes the settings of a new shop.
pub async fn add(conn: &mut Conn, shop: &Shop) -> Result<()> {
    sqlx::query!(
        "INSERT INTO shop (id, name, address, telephone, tax_number, elevation, zone, currency, units, prices_with_tax, tax_rate, warranty, next_order, next_invoice)
         VALUES (1, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        shop.name, shop.address, shop.telephone, shop.tax_number, shop.elevation, shop.zone, shop.currency, shop.units, shop.prices_with_tax,
        shop.tax_rate, shop.warranty, shop.next_order, shop.next_invoice
    )
    .execute(conn)
    .await?;
    Ok(())
}

/// Writes changed settings (not the counters) if the version still fits; says whether it did.
pub async fn update(conn: &mut Conn, shop: &Shop) -> Result<bool> {
    let done = sqlx::query!(
        "UPDATE shop SET name = ?, address = ?, telephone = ?, tax_number = ?, elevation = ?, zone = ?, currency = ?, units = ?, prices_with_tax = ?,
         tax_rate = ?, warranty = ?, server_address = ?, tag_width = ?, tag_height = ?, cylinder_width = ?, cylinder_height = ?, version = version + 1 WHERE version = ?",
        shop.name,
        shop.address,
        shop.telephone,
        shop.tax_number,
        shop.elevation,
        shop.zone,
        shop.currency,
        shop.units,
        shop.prices_with_tax,
        shop.tax_rate,
        shop.warranty,
        shop.server_address,
        shop.tag_width,
        shop.tag_height,
        shop.cylinder_width,
        shop.cylinder_height,
        shop.version
    )
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Takes the next order number.
pub async fn take_order_number(conn: &mut Conn) -> Result<i64> {
    Ok(
        sqlx::query_scalar!("UPDATE shop SET next_order = next_order + 1 RETURNING next_order - 1")
            .fetch_one(conn)
            .await?,
    )
}

/// Takes the next invoice number; gapless, since the transaction that takes it issues the invoice or is undone.
pub async fn take_invoice_number(conn: &mut Conn) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        "UPDATE shop SET next_invoice = next_invoice + 1 RETURNING next_invoice - 1"
    )
    .fetch_one(conn)
    .await?)
}

/// Takes the next number for a part's tag.
pub async fn take_tag_number(conn: &mut Conn) -> Result<i64> {
    Ok(
        sqlx::query_scalar!("UPDATE shop SET next_tag = next_tag + 1 RETURNING next_tag - 1")
            .fetch_one(conn)
            .await?,
    )
}

/// The limits that differ from their defaults, as the job record's `limits`.
pub async fn limits(conn: &mut Conn) -> Result<serde_json::Map<String, serde_json::Value>> {
    let rows = sqlx::query!("SELECT key, value FROM limit_setting ORDER BY key")
        .fetch_all(conn)
        .await?;
    rows.into_iter()
        .map(|r| {
            serde_json::from_str(&r.value)
                .map(|value| (r.key.clone(), value))
                .map_err(|e| StoreError::stored(format!("limit {}", r.key), e))
        })
        .collect()
}

/// Sets a limit (its value as JSON), or returns it to its default.
pub async fn set_limit(
    conn: &mut Conn,
    key: &str,
    value: Option<&serde_json::Value>,
) -> Result<()> {
    match value.map(ToString::to_string) {
        Some(value) => {
            sqlx::query!("INSERT INTO limit_setting (key, value) VALUES (?, ?) ON CONFLICT (key) DO UPDATE SET value = excluded.value", key, value)
                .execute(conn)
                .await?;
        }
        None => {
            sqlx::query!("DELETE FROM limit_setting WHERE key = ?", key)
                .execute(conn)
                .await?;
        }
    }
    Ok(())
}

/// A barometer reading that still holds.
#[derive(Debug, Clone)]
pub struct Barometer {
    /// At the site, absolute, as the job record writes it: "100.9 kPa abs".
    pub site: String,
    /// As it was typed.
    pub typed: String,
    /// Whether what was typed was reduced to sea level.
    pub reduced: bool,
    /// When it was read.
    pub at: Instant,
}

/// For how long a barometer reading holds.
pub const BAROMETER_HOLDS_MINUTES: i64 = 12 * 60;

/// The reading in force at `at`: the latest one before it that is not older than 12 hours.
pub async fn barometer(conn: &mut Conn, at: Instant) -> Result<Option<Barometer>> {
    let since = at.plus_minutes(-BAROMETER_HOLDS_MINUTES);
    Ok(sqlx::query_as!(
        Barometer,
        r#"SELECT site, typed, reduced AS "reduced: bool", at AS "at: Instant" FROM barometer WHERE at <= ? AND at >= ? ORDER BY at DESC, rowid DESC LIMIT 1"#,
        at,
        since
    )
    .fetch_optional(conn)
    .await?)
}

/// Keeps a barometer reading.
pub async fn add_barometer(
    conn: &mut Conn,
    id: Uuid,
    reading: &Barometer,
    by: PersonId,
    now: Instant,
) -> Result<()> {
    sqlx::query!(
        "INSERT INTO barometer (id, at, typed, reduced, site, person, entered_at) VALUES (?, ?, ?, ?, ?, ?, ?)",
        id,
        reading.at,
        reading.typed,
        reading.reduced,
        reading.site,
        by,
        now
    )
    .execute(conn)
    .await?;
    Ok(())
}
