//! Handing over: the gate, what is frozen, and opening again.
use super::{Command, Deed, DeedError, orders::DESK};
use crate::shop::OrderState;
use crate::{
    shop::{Actor, DeedId, HandoverId, Instant, OrderId, Role, Way},
    store::{
        Store,
        assessment::{self, Concession, Finding},
        audit, handovers, orders,
    },
};
use chillwright_calc::record::answer::Weight;
use chillwright_calc::{JobRecord, UnitSystem, assess};
use serde_json::{Value, json};

/// What stands between an order and a handover as repaired: findings that block, and concessions that are not granted.
pub fn in_the_way<'a>(findings: &'a [Finding], concessions: &[Concession]) -> Vec<&'a Finding> {
    findings
        .iter()
        .filter(|f| match f.weight {
            Weight::Blocks => true,
            Weight::Concession => !concessions.iter().any(|c| c.covers(&f.code, &f.about)),
            Weight::Note => false,
        })
        .collect()
}

/// A handover that is asked for.
#[derive(Debug, Clone)]
pub struct Asked {
    /// The order.
    pub order: OrderId,
    /// The way out.
    pub way: Way,
    /// The sentence for the driver.
    pub sentence: String,
    /// The day to look again.
    pub look_again_on: Option<String>,
    /// Every printed sentence.
    pub report: Value,
    /// The job record that the report was written from.
    pub record: String,
    /// The units on the page, for what is answered.
    pub units: UnitSystem,
}

/// Hands a car over; the assessment and the report are frozen with it.
pub async fn hand_over(
    store: &Store,
    by: &Actor,
    deed: DeedId,
    form: String,
    asked: Asked,
    now: Instant,
) -> Result<(), DeedError> {
    let command = Command {
        deed,
        kind: "handed-over",
        roles: DESK,
        order: Some(asked.order),
        form,
    };
    let mut deed = Deed::begin(store, by, command, now).await?;
    let order = orders::find(&mut deed.tx, asked.order)
        .await?
        .ok_or(DeedError::Missing("order"))?;
    let findings = assessment::findings(&mut deed.tx, asked.order).await?;
    let concessions = assessment::concessions(&mut deed.tx, asked.order).await?;
    if asked.way == Way::Repaired
        && let Some(first) = in_the_way(&findings, &concessions).first()
    {
        return Err(DeedError::refused(
            "way",
            format!(
                "Not ready to hand over as repaired: {}",
                first.said(asked.units)
            ),
        ));
    }
    let stored = assessment::get(&mut deed.tx, asked.order)
        .await?
        .ok_or(DeedError::Missing("assessment"))?;
    // Somebody entered something between the writing of the report and now.
    if stored.record != asked.record {
        return Err(DeedError::Outdated);
    }
    // At the gate everything is due: the record is frozen, and judged, as ready.
    let unreadable = |e: serde_json::Error| crate::store::StoreError::stored("job record", e);
    let in_work: JobRecord = serde_json::from_str(&stored.record).map_err(unreadable)?;
    let ready = JobRecord {
        stage: None,
        ..in_work
    };
    let answer = serde_json::to_string(&assess(&ready, UnitSystem::Si))
        .map_err(|e| crate::store::StoreError::stored("assessment", e))?;
    let record = serde_json::to_string(&ready).map_err(unreadable)?;
    let seq = handovers::of_order(&mut deed.tx, asked.order)
        .await?
        .first()
        .map_or(1, |h| h.seq + 1);
    let handover = handovers::Handover {
        id: HandoverId::fresh(),
        order: asked.order,
        seq,
        way: asked.way,
        sentence: asked.sentence,
        look_again_on: asked.look_again_on,
        report: asked.report,
        rules: stored.rules,
        audit_head: audit::head(&mut deed.tx).await?,
        name: by.name.clone(),
        at: now,
    };
    let frozen = handovers::Frozen { record, answer };
    handovers::add(&mut deed.tx, &handover, &frozen, by.person).await?;
    let closed = orders::Order {
        state: OrderState::HandedOver,
        ..order
    };
    if !orders::update(&mut deed.tx, &closed, now).await? {
        return Err(DeedError::Outdated);
    }
    deed.keep(json!({ "way": handover.way.word(), "seq": seq, "rules": handover.rules }))
        .await
}

/// The owner opens a closed order again, with a reason. The handover that was stays as it was.
pub async fn reopen(
    store: &Store,
    by: &Actor,
    deed: DeedId,
    form: String,
    order: OrderId,
    reason: &str,
    now: Instant,
) -> Result<(), DeedError> {
    let command = Command {
        deed,
        kind: "order-reopened",
        roles: &[Role::Owner],
        order: Some(order),
        form,
    };
    let mut deed = Deed::begin(store, by, command, now).await?;
    let closed = orders::find(&mut deed.tx, order)
        .await?
        .ok_or(DeedError::Missing("order"))?;
    let last = handovers::of_order(&mut deed.tx, order)
        .await?
        .into_iter()
        .next()
        .ok_or_else(|| DeedError::refused("", "This order was not handed over."))?;
    if closed.state != OrderState::HandedOver {
        return Err(DeedError::refused("", "This order is already open."));
    }
    handovers::reopen(&mut deed.tx, order, last.id, reason, by.person, now).await?;
    super::stage::resume(&mut deed, order, "reopened").await?;
    if !orders::update(
        &mut deed.tx,
        &orders::Order {
            state: OrderState::Open,
            ..closed
        },
        now,
    )
    .await?
    {
        return Err(DeedError::Outdated);
    }
    // A comeback speaks about the same yard's and donor's parts in other cars.
    for other in orders::open(&mut deed.tx)
        .await?
        .into_iter()
        .filter(|o| o.id != order)
    {
        super::assess::anew(&mut deed.tx, other.id, now).await?;
    }
    deed.keep(json!({ "reason": reason, "handover": last.seq }))
        .await
}
