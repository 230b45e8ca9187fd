//! The technician says that the work is ready, or goes on again. While it goes on, what has simply not been done yet is to do, and nobody asks the owner.
use super::{Command, Deed, DeedError, who::BENCH};
use crate::{
    shop::{Actor, DeedId, Instant, OrderId},
    store::{Store, evidence::Kind, stages},
};
use chillwright_calc::record::Stage;
use serde_json::json;

/// Says how far the work is.
pub async fn say(
    store: &Store,
    by: &Actor,
    deed: DeedId,
    form: String,
    order: OrderId,
    stage: Stage,
    now: Instant,
) -> Result<(), DeedError> {
    let kind = if stage == Stage::Ready {
        "work-ready"
    } else {
        "work-resumed"
    };
    let mut deed = Deed::begin(
        store,
        by,
        Command {
            deed,
            kind,
            roles: BENCH,
            order: Some(order),
            form,
        },
        now,
    )
    .await?;
    if stages::of_order(&mut deed.tx, order).await? == stage {
        let says = if stage == Stage::Ready {
            "This order is marked as ready already."
        } else {
            "This order is in work already."
        };
        return Err(DeedError::refused("", says));
    }
    stages::add(&mut deed.tx, order, stage, "", by.person, now).await?;
    deed.keep(json!({ "stage": stage.word() })).await
}

/// Work goes on again because of something else that was done in this deed.
pub async fn resume(deed: &mut Deed, order: OrderId, why: &'static str) -> Result<(), DeedError> {
    if stages::of_order(&mut deed.tx, order).await? == Stage::Ready {
        let (person, now) = (deed.by.person, deed.now);
        stages::add(&mut deed.tx, order, Stage::InWork, why, person, now).await?;
    }
    Ok(())
}

/// Whether a new entry of this kind is work on the circuit, after which an order that was ready is not any more.
pub fn is_work(kind: Kind) -> bool {
    match kind {
        Kind::Recovery
        | Kind::Opening
        | Kind::Part
        | Kind::Flush
        | Kind::Evacuation
        | Kind::Hold
        | Kind::GasLetIn
        | Kind::Charging => true,
        // What is found, measured, checked or noted after the work.
        Kind::Site
        | Kind::System
        | Kind::PreviousCharge
        | Kind::OpenSince
        | Kind::Standing
        | Kind::Identification
        | Kind::Isolation
        | Kind::Leak => false,
        Kind::Desiccant
        | Kind::Joint
        | Kind::Seal
        | Kind::Fixing
        | Kind::Oil
        | Kind::Reading
        | Kind::LeakCheck
        | Kind::Performance => false,
        Kind::PerformanceOmitted | Kind::Port => false,
    }
}
