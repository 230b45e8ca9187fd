//! A closed order is shown as it was closed: with what was found then, and by which rules. Today's rules are not asked about it.
use crate::shop::OrderState;
use crate::{
    store::{StoreError, assessment, handovers},
    web::{Ctx, Fault, bench::Scene},
};
use chillwright_calc::{RULES_VERSION, checks::sheet::section_of, record::answer::Finding};
use serde::Deserialize;
use serde_json::Value;

/// What was answered last of an order before it was closed.
pub struct Frozen {
    /// The rules that answered.
    pub rules: String,
    /// What they found, said in the units on the page.
    pub findings: Vec<Finding>,
    /// What was in the circuit by their reckoning, kg.
    pub net_kg: Option<f64>,
}

/// An answer as another version of the program may have written it: of its figures only what is asked for.
#[derive(Deserialize)]
struct Written {
    rules: String,
    findings: Vec<Finding>,
    #[serde(default)]
    to_do: Vec<Finding>,
    figures: Value,
}

impl Frozen {
    /// Of an order that is closed; nothing of an open one.
    pub async fn of(ctx: &Ctx, scene: &Scene) -> Result<Option<Self>, Fault> {
        if scene.order.is_open() {
            return Ok(None);
        }
        let mut conn = ctx.app.store.read().await?;
        // An order that was cancelled has no handover; its last assessment stands.
        let text = match handovers::last_answer(&mut conn, scene.order.id).await? {
            Some(text) if scene.order.state == OrderState::HandedOver => Some(text),
            _ => assessment::answer_text(&mut conn, scene.order.id).await?,
        };
        let Some(text) = text else { return Ok(None) };
        let mut written: Written =
            serde_json::from_str(&text).map_err(|e| StoreError::stored("frozen assessment", e))?;
        // The answer is in SI; the same sentences in US units stand with the stored findings, which no deed changes after the handover.
        // Of an order that was cancelled while work went on, what was still to do is told as what was missing.
        written.findings.append(&mut written.to_do);
        for finding in &mut written.findings {
            if let Some(stored) = scene.findings.iter().find(|f| {
                f.code == finding.code && f.about == finding.about && f.says == finding.says
            }) {
                (finding.says, finding.do_next) = (
                    stored.said(ctx.units).to_owned(),
                    stored.next(ctx.units).to_owned(),
                );
            }
        }
        let net_kg = written
            .figures
            .pointer("/charge/net_in_kg")
            .and_then(Value::as_f64);
        Ok(Some(Self {
            rules: written.rules,
            findings: written.findings,
            net_kg,
        }))
    }

    /// Whether this program has the same rules, so that what it works out of the frozen record is what was worked out then.
    pub fn is_todays(&self) -> bool {
        self.rules == RULES_VERSION
    }

    /// What was said of a section of the record sheet.
    pub fn said_of(&self, section: &str, on_record: bool) -> String {
        let said: Vec<&str> = self
            .findings
            .iter()
            .filter(|f| section_of(&f.code).is_some_and(|s| s.word() == section))
            .map(|f| f.says.as_str())
            .collect();
        match said.is_empty() {
            false => said.join(" "),
            true if on_record => "On record.".into(),
            true => "Nothing on record.".into(),
        }
    }

    /// What to say where the rules are others now.
    pub fn says(&self) -> String {
        format!(
            "Findings of rules {}, as they were when the order was closed. This program has rules {RULES_VERSION}, which may calculate differently. Only the earlier findings are shown.",
            self.rules
        )
    }
}
