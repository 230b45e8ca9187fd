//! After each deed the order is assessed anew; what was conceded of a finding that has changed lapses, and says why.
use super::DeedError;
use crate::{
    shop::{Actor, Instant, OrderId},
    store::{Conn, assessment, orders, record, sent_back},
};
use chillwright_calc::{UnitSystem, assess};

/// Assesses an open order and stores the answer; a closed one keeps what was frozen.
pub async fn anew(conn: &mut Conn, order: OrderId, _by: &Actor, now: Instant) -> Result<(), DeedError> {
    if !orders::find(conn, order).await?.is_some_and(|o| o.is_open()) {
        return Ok(());
    }
    let record = record::order_record(conn, order).await?;
    let answer = assess(&record, UnitSystem::Si);
    let text = serde_json::to_string(&record).map_err(|e| crate::store::StoreError::stored("job record", e))?;
    assessment::put(conn, order, &text, &answer, now).await?;
    lapse_what_changed(conn, order, now).await?;
    answer_what_is_settled(conn, order, now).await
}

/// What the owner sent back is answered by new evidence once the finding is gone or says something else.
async fn answer_what_is_settled(conn: &mut Conn, order: OrderId, now: Instant) -> Result<(), DeedError> {
    let findings = assessment::findings(conn, order).await?;
    for back in sent_back::open(conn, order).await? {
        let stands = findings.iter().any(|f| f.code == back.code && f.about == back.about && f.says == back.says);
        if !stands {
            sent_back::answer(conn, back.id, "New evidence answered it.", None, now).await?;
        }
    }
    Ok(())
}

async fn lapse_what_changed(conn: &mut Conn, order: OrderId, now: Instant) -> Result<(), DeedError> {
    let findings = assessment::findings(conn, order).await?;
    for concession in assessment::concessions(conn, order).await?.iter().filter(|c| c.lapsed.is_none()) {
        let why = match findings.iter().find(|f| f.code == concession.code && f.about == concession.about) {
            Some(finding) if finding.binding == concession.binding => continue,
            Some(finding) => format!("What it rests on has changed: it said “{}”, now it says “{}”", concession.says, finding.says),
            None => "What was accepted is not found any more.".to_owned(),
        };
        assessment::lapse(conn, concession.id, &why, now).await?;
    }
    Ok(())
}
