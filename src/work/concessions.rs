//! The owner's deeds: a finding is accepted in writing, or sent back with a reason.
use super::{Command, Deed, DeedError};
use crate::{
    shop::{Actor, ConcessionId, DeedId, Instant, OrderId, Role},
    store::{Store, assessment, evidence, sent_back},
};
use chillwright_calc::UnitSystem;
use chillwright_calc::record::answer::Weight;
use serde_json::{Value, json};

const OWNER: &[Role] = &[Role::Owner];

/// Which finding, as the page showed it.
#[derive(Debug, Clone)]
pub struct About {
    /// The order.
    pub order: OrderId,
    /// The rule.
    pub code: String,
    /// What it is about.
    pub about: String,
    /// Evidence and printed values, as the page showed them.
    pub binding: Value,
    /// The units on the page, for what is answered.
    pub units: UnitSystem,
}

async fn the_finding(deed: &mut Deed, about: &About) -> Result<assessment::Finding, DeedError> {
    let findings = assessment::findings(&mut deed.tx, about.order).await?;
    let finding = findings
        .into_iter()
        .find(|f| f.code == about.code && f.about == about.about)
        .ok_or_else(|| {
            DeedError::refused(
                "",
                "This finding no longer exists: the entries behind it have changed.",
            )
        })?;
    if finding.binding != about.binding {
        return Err(DeedError::refused(
            "",
            format!(
                "This finding has changed since the page was shown. It now says: {}",
                finding.said(about.units)
            ),
        ));
    }
    Ok(finding)
}

/// Accepts a finding in writing. It holds for exactly the evidence and the values that were shown.
pub async fn concede(
    store: &Store,
    by: &Actor,
    deed: DeedId,
    form: String,
    about: About,
    words: &str,
    now: Instant,
) -> Result<(), DeedError> {
    let command = Command {
        deed,
        kind: "concession-granted",
        roles: OWNER,
        order: Some(about.order),
        form,
    };
    let mut deed = Deed::begin(store, by, command, now).await?;
    let finding = the_finding(&mut deed, &about).await?;
    if finding.weight != Weight::Concession {
        return Err(DeedError::refused(
            "",
            "A blocking finding cannot be accepted in writing. It needs more work or a new entry.",
        ));
    }
    if !finding.due {
        return Err(DeedError::refused(
            "",
            "This has simply not been done yet. It can be accepted once the technician says that the work is ready.",
        ));
    }
    if assessment::concessions(&mut deed.tx, about.order)
        .await?
        .iter()
        .any(|c| c.covers(&about.code, &about.about))
    {
        return Err(DeedError::refused("", "This has already been accepted."));
    }
    let did_the_work = evidence::workers(&mut deed.tx, about.order)
        .await?
        .iter()
        .any(|(id, _)| *id == by.person);
    let concession = assessment::Concession {
        id: ConcessionId::fresh(),
        order: about.order,
        code: about.code,
        about: about.about,
        binding: about.binding,
        says: finding.says,
        says_us: finding.says_us,
        words: words.to_owned(),
        did_the_work,
        person: by.person,
        name: by.name.clone(),
        at: now,
        lapsed: None,
        lapsed_us: None,
    };
    assessment::add_concession(&mut deed.tx, &concession).await?;
    for back in sent_back::open(&mut deed.tx, concession.order)
        .await?
        .iter()
        .filter(|s| s.code == concession.code && s.about == concession.about)
    {
        sent_back::answer(
            &mut deed.tx,
            back.id,
            "The owner accepted it.",
            Some(by.person),
            now,
        )
        .await?;
    }
    deed.keep(json!({ "code": concession.code, "about": concession.about, "binding": concession.binding, "words": words })).await
}

/// Sends a finding back, with the reason.
pub async fn send_back(
    store: &Store,
    by: &Actor,
    deed: DeedId,
    form: String,
    about: About,
    reason: &str,
    now: Instant,
) -> Result<(), DeedError> {
    let command = Command {
        deed,
        kind: "finding-sent-back",
        roles: OWNER,
        order: Some(about.order),
        form,
    };
    let mut deed = Deed::begin(store, by, command, now).await?;
    let finding = the_finding(&mut deed, &about).await?;
    let back = sent_back::SentBack {
        id: uuid::Uuid::now_v7(),
        order: about.order,
        code: about.code,
        about: about.about,
        says: finding.says,
        says_us: finding.says_us,
        reason: reason.to_owned(),
        name: by.name.clone(),
        at: now,
    };
    sent_back::add(&mut deed.tx, &back, by.person).await?;
    deed.keep(json!({ "code": back.code, "about": back.about, "reason": reason }))
        .await
}

/// Answers what was sent back, in writing.
pub async fn answer(
    store: &Store,
    by: &Actor,
    deed: DeedId,
    form: String,
    order: OrderId,
    id: uuid::Uuid,
    says: &str,
    now: Instant,
) -> Result<(), DeedError> {
    let command = Command {
        deed,
        kind: "sent-back-answered",
        roles: super::evidence::BENCH,
        order: Some(order),
        form,
    };
    let mut deed = Deed::begin(store, by, command, now).await?;
    if !sent_back::open(&mut deed.tx, order)
        .await?
        .iter()
        .any(|s| s.id == id)
    {
        return Err(DeedError::refused("", "This has already been answered."));
    }
    sent_back::answer(&mut deed.tx, id, says, Some(by.person), now).await?;
    deed.keep(json!({ "sent_back": id, "says": says })).await
}
