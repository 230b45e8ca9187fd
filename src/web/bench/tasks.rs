//! The tasks of the bench, in the order of the work: one row each.
use super::{
    super::{Ctx, Fault, Field, Fieldset, Form, Kind as FieldKind},
    Scene, charging, diagnosis, hold, joints, parts, proving,
};
use crate::{
    shop::{CylinderId, EvidenceId, Instant, InstrumentId, YardId},
    store::evidence::Kind,
};
use chillwright_calc::checks::rules::{Task as RuleTask, rule_of};
use serde_json::{Map, Value, json};

/// A task.
pub struct Task {
    /// In the address.
    pub word: &'static str,
    /// On the page.
    pub title: &'static str,
    /// On the button.
    pub button: &'static str,
    /// What the audit trail calls it.
    pub kind: &'static str,
    /// The record sheet's section.
    pub section: &'static str,
    /// Pieces that are listed under it.
    pub kinds: &'static [Kind],
    /// A sentence before the form.
    pub intro: fn(&Ctx, &Scene) -> String,
    /// The form.
    pub fields: fn(&Ctx, &Scene, &Form) -> Vec<Fieldset>,
    /// Reads the form.
    pub read: fn(&Ctx, &Scene, &mut Form) -> Option<Vec<Draft>>,
}

/// What a form says, before it is kept.
pub struct Draft {
    /// Its id, if it becomes a piece of its own.
    pub id: EvidenceId,
    /// What it is.
    pub kind: Kind,
    /// The joint that it belongs to.
    pub parent: Option<EvidenceId>,
    /// The record's entry.
    pub body: Map<String, Value>,
    /// Its time.
    pub at: Option<Instant>,
    /// The time is "about".
    pub approximate: bool,
    /// Instrument used.
    pub instrument: Option<InstrumentId>,
    /// Cylinder used.
    pub cylinder: Option<CylinderId>,
    /// Yard.
    pub yard: Option<YardId>,
    /// A new version of this piece, seen at this version.
    pub revises: Option<(EvidenceId, i64)>,
    /// Keeps the form for a correction.
    pub keeps_form: bool,
}

impl Draft {
    /// A piece with this body.
    pub fn new(kind: Kind, body: Value) -> Self {
        let body = match body {
            // Keys without a value say nothing and are left out.
            Value::Object(map) => map.into_iter().filter(|(_, v)| !v.is_null() && v.as_str() != Some("")).collect(),
            other => [("value".to_owned(), other)].into_iter().collect(),
        };
        Self {
            id: EvidenceId::fresh(),
            kind,
            parent: None,
            body,
            at: None,
            approximate: false,
            instrument: None,
            cylinder: None,
            yard: None,
            revises: None,
            keeps_form: false,
        }
    }

    /// At this time, which also goes into the body under `key`.
    pub fn at(mut self, key: &str, at: Instant, form: &Form) -> Self {
        self.body.insert(key.into(), json!(at.rfc3339()));
        self.at = Some(at);
        self.approximate = form.about();
        self
    }

    /// Belonging to a joint.
    pub fn under(mut self, parent: EvidenceId) -> Self {
        self.parent = Some(parent);
        self
    }
}

macro_rules! tasks {
    ($($word:literal, $title:literal, $button:literal, $kind:literal, $section:literal, [$($k:ident),*], $module:ident::$intro:ident, $fields:ident, $read:ident;)+) => {
        /// All tasks.
        pub const ALL: &[Task] = &[$(Task {
            word: $word, title: $title, button: $button, kind: $kind, section: $section, kinds: &[$(Kind::$k),*],
            intro: $module::$intro, fields: $fields, read: $read,
        },)+];
    };
}

tasks! {
    "standing", "Standing pressure", "Save reading", "standing-read", "standing", [Standing], diagnosis::no_intro, standing_fields, read_standing;
    "identification", "Gas identification", "Save identification", "gas-identified", "", [Identification], diagnosis::no_intro, identification_fields, read_identification;
    "isolation", "High-voltage isolation", "Save voltage", "isolation-recorded", "", [Isolation], diagnosis::no_intro, isolation_fields, read_isolation;
    "recovery", "Recovery", "Save recovery", "refrigerant-recovered", "recovery", [Recovery, OpenSince], diagnosis::recovery_intro, recovery_fields, read_recovery;
    "leaks", "Leaks found", "Save leak", "leak-recorded", "leaks", [Leak], diagnosis::no_intro, leak_fields, read_leak;
    "joints", "Joints opened", "Save opened joints", "joints-opened", "joints", [Opening], joints::opening_intro, opening_fields, read_opening;
    "parts", "Parts", "Save part", "part-recorded", "parts", [Part, Desiccant], diagnosis::no_intro, part_fields, read_part;
    "seals", "Seals", "Save seals", "seals-inspected", "joints", [Seal], joints::seal_intro, seal_fields, read_seals;
    "fixings", "Fixings", "Save fixing", "fixing-recorded", "", [Fixing], diagnosis::no_intro, fixing_fields, read_fixing;
    "flush", "Debris and flushing", "Save", "debris-recorded", "", [Flush], diagnosis::no_intro, flush_fields, read_flush;
    "oil", "Oil", "Save oil", "oil-added", "oil", [Oil], diagnosis::no_intro, oil_fields, read_oil;
    "evacuation", "Evacuation", "Start evacuation", "evacuation-begun", "evacuation", [Evacuation], hold::evacuation_intro, evacuation_fields, read_evacuation;
    "hold", "Hold", "Start hold", "hold-begun", "hold", [Hold], hold::hold_intro, hold_fields, read_hold;
    "gas", "Gas let in", "Save", "gas-let-in", "", [GasLetIn], diagnosis::no_intro, gas_fields, read_gas;
    "charging", "Charge", "Save charge", "refrigerant-charged", "charge", [Charging], charging::charge_intro, charge_fields, read_charge;
    "performance", "Performance", "Save readings", "performance-measured", "performance", [Performance, PerformanceOmitted], diagnosis::no_intro, performance_fields, read_performance;
    "checks", "Leak checks", "Save check", "leak-check-made", "leaks", [LeakCheck], proving::check_intro, check_fields, read_check;
    "ports", "Caps and cores", "Save caps and cores", "ports-recorded", "ports", [Port], diagnosis::no_intro, port_fields, read_ports;
}

use charging::{charge_fields, performance_fields, port_fields, read_charge, read_performance, read_ports};
use diagnosis::{
    gas_fields, identification_fields, isolation_fields, leak_fields, read_gas, read_identification, read_isolation, read_leak, read_recovery, read_standing,
    recovery_fields, standing_fields,
};
use hold::{evacuation_fields, hold_fields, read_evacuation, read_hold};
use joints::{opening_fields, read_opening, read_seals, seal_fields};
use parts::{fixing_fields, flush_fields, oil_fields, part_fields, read_fixing, read_flush, read_oil, read_part};
use proving::{check_fields, read_check};

/// The task of an address.
pub fn find(word: &str) -> Result<&'static Task, Fault> {
    ALL.iter().find(|t| t.word == word).ok_or_else(|| Fault::missing(format!("task {word}")))
}

/// The task under which a kind of evidence is entered.
pub fn task_of_kind(kind: Kind) -> Option<&'static Task> {
    ALL.iter().find(|t| t.kinds.contains(&kind))
}

/// The task that settles a finding: what its rule's row says, or where the entry that it is about was made. What a rule that is no more has found leads to
/// the first task.
pub fn task_of(code: &str, about: &str) -> &'static str {
    match rule_of(code).map(|rule| rule.task) {
        Some(RuleTask::Entry) => Kind::of_mark(about).and_then(task_of_kind).map_or("checks", |task| task.word),
        Some(RuleTask::Details) => "details",
        Some(task) => task.word(),
        None => ALL[0].word,
    }
}

/// The fields for a time: empty is now; exact or about.
pub fn time_fields(form: &Form, label: &str) -> Vec<Field> {
    vec![form.field("at", label).kind(FieldKind::DateTime).hint("Blank = now."), form.tick("about", "The time is approximate")]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_finding_leads_to_where_it_is_settled() {
        for (code, about, task) in [
            ("gauge-impossible", "h2", "hold"),
            ("gauge-impossible", "e1", "evacuation"),
            ("gauge-impossible", "sp1", "standing"),
            ("gauge-impossible", "pf1", "performance"),
            ("leak-found", "l1", "leaks"),
            ("leak-found", "j3", "checks"),
            ("leak-found", "left hose", "checks"),
            ("seal-not-inspected", "j4", "seals"),
        ] {
            assert_eq!(task_of(code, about), task, "{code} {about}");
            assert!(find(task).is_ok());
        }
    }
}
