//! Deeds about the shop's settings and what it holds in its hands.
use super::{Command, Deed, DeedError};
use crate::{
    shop::{Actor, DeedId, Instant, Role},
    store::{
        Store, orders,
        shop::{self, Barometer},
        things::{self, Cylinder, Instrument, Yard},
    },
};
use serde_json::json;

const ANYBODY: &[Role] = &[Role::Desk, Role::Technician, Role::Owner];
const HANDS: &[Role] = &[Role::Technician, Role::Owner];

/// Keeps a barometer reading.
pub async fn keep_barometer(
    store: &Store,
    by: &Actor,
    deed: DeedId,
    form: String,
    reading: &Barometer,
    now: Instant,
) -> Result<(), DeedError> {
    let command = Command {
        deed,
        kind: "barometer-read",
        roles: ANYBODY,
        order: None,
        form,
    };
    let mut deed = Deed::begin(store, by, command, now).await?;
    shop::add_barometer(&mut deed.tx, uuid::Uuid::now_v7(), reading, by.person, now).await?;
    deed.keep(json!({ "typed": reading.typed, "reduced": reading.reduced, "site": reading.site, "at": reading.at })).await
}

/// A mark that is there already is refused beside its field.
fn taken(e: crate::store::StoreError, what: &str) -> DeedError {
    match &e {
        crate::store::StoreError::Database(sqlx::Error::Database(d)) if d.is_unique_violation() => {
            DeedError::refused("mark", format!("There is already {what} with this mark."))
        }
        _ => DeedError::Store(e),
    }
}

/// Adds an instrument, or changes it where `is_new` is not set.
pub async fn keep_instrument(
    store: &Store,
    by: &Actor,
    deed: DeedId,
    form: String,
    i: &Instrument,
    is_new: bool,
    now: Instant,
) -> Result<(), DeedError> {
    let command = Command {
        deed,
        kind: if is_new {
            "instrument-added"
        } else {
            "instrument-changed"
        },
        roles: HANDS,
        order: None,
        form,
    };
    let mut deed = Deed::begin(store, by, command, now).await?;
    if is_new {
        things::add_instrument(&mut deed.tx, i)
            .await
            .map_err(|e| taken(e, "an instrument"))?;
    } else if !things::update_instrument(&mut deed.tx, i)
        .await
        .map_err(|e| taken(e, "an instrument"))?
    {
        return Err(DeedError::Outdated);
    }
    deed.keep(json!({ "id": i.id, "mark": i.mark, "kind": i.kind, "resolution": i.resolution, "error": i.error, "compared_on": i.compared_on, "retired": i.retired_at.is_some() })).await
}

/// Adds a cylinder, or changes it.
pub async fn keep_cylinder(
    store: &Store,
    by: &Actor,
    deed: DeedId,
    form: String,
    c: &Cylinder,
    is_new: bool,
    now: Instant,
) -> Result<(), DeedError> {
    let command = Command {
        deed,
        kind: if is_new {
            "cylinder-added"
        } else {
            "cylinder-changed"
        },
        roles: HANDS,
        order: None,
        form,
    };
    let mut deed = Deed::begin(store, by, command, now).await?;
    if is_new {
        things::add_cylinder(&mut deed.tx, c)
            .await
            .map_err(|e| taken(e, "a cylinder"))?;
    } else if !things::update_cylinder(&mut deed.tx, c)
        .await
        .map_err(|e| taken(e, "a cylinder"))?
    {
        return Err(DeedError::Outdated);
    }
    deed.keep(json!({ "id": c.id, "mark": c.mark, "refrigerant": c.refrigerant, "purpose": c.purpose, "retired": c.retired_at.is_some() })).await
}

/// Adds a yard, or changes it.
pub async fn keep_yard(
    store: &Store,
    by: &Actor,
    deed: DeedId,
    form: String,
    y: &Yard,
    is_new: bool,
    now: Instant,
) -> Result<(), DeedError> {
    let command = Command {
        deed,
        kind: if is_new { "yard-added" } else { "yard-changed" },
        roles: ANYBODY,
        order: None,
        form,
    };
    let mut deed = Deed::begin(store, by, command, now).await?;
    if is_new {
        things::add_yard(&mut deed.tx, y).await?;
    } else if !things::update_yard(&mut deed.tx, y).await? {
        return Err(DeedError::Outdated);
    }
    deed.keep(json!({ "id": y.id, "name": y.name, "return_days": y.return_days, "retired": y.retired_at.is_some() })).await
}

/// Changes the shop's settings, not its counters.
pub async fn change_shop(
    store: &Store,
    by: &Actor,
    deed: DeedId,
    form: String,
    settings: &shop::Shop,
    now: Instant,
) -> Result<(), DeedError> {
    let command = Command {
        deed,
        kind: "settings-changed",
        roles: &[Role::Owner],
        order: None,
        form,
    };
    let mut deed = Deed::begin(store, by, command, now).await?;
    let before = shop::get(&mut deed.tx).await?.map(|shop| shop.units);
    if !shop::update(&mut deed.tx, settings).await? {
        return Err(DeedError::Outdated);
    }
    // What is told of open orders follows the shop's units.
    if before.is_some_and(|units| units != settings.units) {
        for order in orders::open(&mut deed.tx).await? {
            super::assess::anew(&mut deed.tx, order.id, now).await?;
        }
    }
    deed.keep(json!({ "name": settings.name, "elevation": settings.elevation, "zone": settings.zone, "currency": settings.currency, "units": settings.units, "tax_rate": settings.tax_rate,
        "server_address": settings.server_address, "tag": [settings.tag_width, settings.tag_height], "cylinder_label": [settings.cylinder_width, settings.cylinder_height] })).await
}

/// What the limits were when a page showed them: of two owners the second is told.
pub fn limits_seen(limits: &serde_json::Map<String, serde_json::Value>) -> String {
    hex::encode(crate::store::audit::salted(
        b"limits",
        &crate::store::audit::canonical(&serde_json::Value::Object(limits.clone())),
    ))
}

/// Changes limits (`None`: back to the default), and assesses every open order anew in the same transaction. `seen` is
/// [`limits_seen`] of the page that was filled in; empty, nothing is compared.
pub async fn change_limits(
    store: &Store,
    by: &Actor,
    deed: DeedId,
    form: String,
    limits: &[(&str, Option<serde_json::Value>)],
    seen: &str,
    now: Instant,
) -> Result<(), DeedError> {
    let command = Command {
        deed,
        kind: "limits-changed",
        roles: &[Role::Owner],
        order: None,
        form,
    };
    let mut deed = Deed::begin(store, by, command, now).await?;
    if !seen.is_empty() && seen != limits_seen(&shop::limits(&mut deed.tx).await?) {
        return Err(DeedError::Outdated);
    }
    for (key, value) in limits {
        shop::set_limit(&mut deed.tx, key, value.as_ref()).await?;
    }
    for order in orders::open(&mut deed.tx).await? {
        super::assess::anew(&mut deed.tx, order.id, now).await?;
    }
    let told: serde_json::Map<String, serde_json::Value> = limits
        .iter()
        .filter_map(|(k, v)| Some(((*k).to_owned(), v.clone()?)))
        .collect();
    deed.keep(json!({ "limits": told })).await
}
