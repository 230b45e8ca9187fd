//! After each deed the order is assessed anew; what was conceded of a finding that has changed lapses, and says why.
use super::DeedError;
use crate::{
    shop::{DeedId, Instant, OrderId},
    store::{Conn, Store, assessment, audit, orders, record, sent_back},
};
use chillwright_calc::{
    RULES_VERSION, UnitSystem, assess,
    checks::{rules, with_case},
};

/// Assesses an open order and stores the answer; a closed one keeps what was frozen.
pub async fn anew(conn: &mut Conn, order: OrderId, now: Instant) -> Result<(), DeedError> {
    if !orders::find(conn, order)
        .await?
        .is_some_and(|o| o.is_open())
    {
        return Ok(());
    }
    let record = record::order_record(conn, order).await?;
    let answer = assess(&record, UnitSystem::Si);
    let us = with_case(&record, UnitSystem::Us, rules::said);
    let text = serde_json::to_string(&record)
        .map_err(|e| crate::store::StoreError::stored("job record", e))?;
    assessment::put(conn, order, &text, &answer, &us, now).await?;
    lapse_what_changed(conn, order, now).await?;
    answer_what_is_settled(conn, order, now).await
}

/// The rules have another version than at the last start, or what they said was kept in one system of units only: every such open order is assessed anew, in one
/// transaction, before the first page is served. Those that were handed over stay as they were frozen. Gives how many.
pub async fn with_new_rules(store: &Store, now: Instant) -> Result<usize, DeedError> {
    let mut tx = store.write().await?;
    let mut changed = Vec::new();
    for order in orders::open(&mut tx).await? {
        let stored = assessment::get(&mut tx, order.id).await?;
        let one_system = assessment::findings(&mut tx, order.id)
            .await?
            .iter()
            .any(|f| f.says_us.is_empty());
        if one_system || stored.is_none_or(|s| s.rules != RULES_VERSION) {
            anew(&mut tx, order.id, now).await?;
            changed.push(order.number);
        }
    }
    if changed.is_empty() {
        return Ok(0);
    }
    let content = serde_json::json!({ "rules": RULES_VERSION, "orders": changed });
    let entry = audit::Entry {
        deed: DeedId::fresh(),
        kind: "rules-changed",
        order: None,
        person: None,
        device: None,
        at: now,
        content: &content,
    };
    audit::add(&mut tx, &entry).await?;
    tx.commit().await?;
    Ok(changed.len())
}

/// What the owner sent back is answered by new evidence once the finding is gone or says something else.
async fn answer_what_is_settled(
    conn: &mut Conn,
    order: OrderId,
    now: Instant,
) -> Result<(), DeedError> {
    let findings = assessment::findings(conn, order).await?;
    for back in sent_back::open(conn, order).await? {
        let stands = findings
            .iter()
            .any(|f| f.code == back.code && f.about == back.about && f.says == back.says);
        if !stands {
            sent_back::answer(conn, back.id, "Answered by a new entry.", None, now).await?;
        }
    }
    Ok(())
}

async fn lapse_what_changed(
    conn: &mut Conn,
    order: OrderId,
    now: Instant,
) -> Result<(), DeedError> {
    let findings = assessment::findings(conn, order).await?;
    for concession in assessment::concessions(conn, order)
        .await?
        .iter()
        .filter(|c| c.lapsed.is_none())
    {
        let why = match findings
            .iter()
            .find(|f| f.code == concession.code && f.about == concession.about)
        {
            Some(finding) if finding.binding == concession.binding => continue,
            Some(finding) => [UnitSystem::Si, UnitSystem::Us].map(|units| {
                format!(
                    "The entries behind it have changed. Before: “{}” Now: “{}”",
                    concession.said(units),
                    finding.said(units)
                )
            }),
            None => ["The finding that was accepted no longer exists."; 2].map(str::to_owned),
        };
        assessment::lapse(conn, concession.id, &why[0], &why[1], now).await?;
    }
    Ok(())
}
