//! The tasks of the bench, in the order of the work: one row each.
use super::{
    super::{Ctx, Fault, Fieldset, Form},
    charging, diagnosis,
    draft::Draft,
    hold::begin,
    joints, parts, proving,
    scene::Scene,
};
use crate::store::evidence::Kind;
use chillwright_calc::checks::rules::Section;

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
    /// A sentence before the form.
    pub intro: fn(&Ctx, &Scene) -> String,
    /// The form.
    pub fields: fn(&Ctx, &Scene, &Form) -> Vec<Fieldset>,
    /// Reads the form.
    pub read: fn(&Ctx, &Scene, &mut Form) -> Option<Vec<Draft>>,
}

impl Task {
    /// Whether pieces of this kind are listed under it.
    pub fn lists(&self, kind: Kind) -> bool {
        kind.task().is_some_and(|task| task.word() == self.word)
    }

    /// The record sheet's section that tells it in the list of tasks.
    pub fn section(&self) -> Option<Section> {
        Kind::ALL
            .iter()
            .filter(|k| self.lists(**k))
            .find_map(|k| k.section())
    }
}

macro_rules! tasks {
    ($($word:literal, $title:literal, $button:literal, $kind:literal, $module:ident::$intro:ident, $fields:ident, $read:ident;)+) => {
        /// All tasks.
        pub const ALL: &[Task] = &[$(Task {
            word: $word, title: $title, button: $button, kind: $kind,
            intro: $module::$intro, fields: $fields, read: $read,
        },)+];
    };
}

tasks! {
    "standing", "Standing pressure", "Save reading", "standing-read", diagnosis::no_intro, standing_fields, read_standing;
    "identification", "Gas identification", "Save identification", "gas-identified", diagnosis::no_intro, identification_fields, read_identification;
    "isolation", "High-voltage isolation", "Save voltage", "isolation-recorded", diagnosis::no_intro, isolation_fields, read_isolation;
    "recovery", "Recovery", "Save recovery", "refrigerant-recovered", diagnosis::recovery_intro, recovery_fields, read_recovery;
    "leaks", "Leaks found", "Save leak", "leak-recorded", diagnosis::no_intro, leak_fields, read_leak;
    "joints", "Joints opened", "Save opened joints", "joints-opened", joints::opening_intro, opening_fields, read_opening;
    "parts", "Parts", "Save part", "part-recorded", diagnosis::no_intro, part_fields, read_part;
    "seals", "Seals", "Save seals", "seals-inspected", joints::seal_intro, seal_fields, read_seals;
    "fixings", "Fixings", "Save fixing", "fixing-recorded", diagnosis::no_intro, fixing_fields, read_fixing;
    "flush", "Debris and flushing", "Save", "debris-recorded", diagnosis::no_intro, flush_fields, read_flush;
    "oil", "Oil", "Save oil", "oil-added", diagnosis::no_intro, oil_fields, read_oil;
    "evacuation", "Evacuation", "Start evacuation", "evacuation-begun", begin::evacuation_intro, evacuation_fields, read_evacuation;
    "hold", "Hold", "Start hold", "hold-begun", begin::hold_intro, hold_fields, read_hold;
    "gas", "Gas let in", "Save", "gas-let-in", diagnosis::no_intro, gas_fields, read_gas;
    "charging", "Charge", "Save charge", "refrigerant-charged", charging::charge_intro, charge_fields, read_charge;
    "performance", "Performance", "Save readings", "performance-measured", diagnosis::no_intro, performance_fields, read_performance;
    "checks", "Leak checks", "Save check", "leak-check-made", proving::check_intro, check_fields, read_check;
    "ports", "Caps and cores", "Save caps and cores", "ports-recorded", diagnosis::no_intro, port_fields, read_ports;
}

use begin::{evacuation_fields, hold_fields, read_evacuation, read_hold};
use charging::{
    charge_fields, performance_fields, port_fields, read_charge, read_performance, read_ports,
};
use diagnosis::{
    gas_fields, identification_fields, isolation_fields, leak_fields, read_gas,
    read_identification, read_isolation, read_leak, read_recovery, read_standing, recovery_fields,
    standing_fields,
};
use joints::{opening_fields, read_opening, read_seals, seal_fields};
use parts::{
    fixing_fields, flush_fields, oil_fields, part_fields, read_fixing, read_flush, read_oil,
    read_part,
};
use proving::{check_fields, read_check};

/// The task of an address.
pub fn find(word: &str) -> Result<&'static Task, Fault> {
    ALL.iter()
        .find(|t| t.word == word)
        .ok_or_else(|| Fault::missing(format!("task {word}")))
}

/// The task under which a kind of evidence is entered.
pub fn task_of_kind(kind: Kind) -> Option<&'static Task> {
    ALL.iter().find(|t| t.lists(kind))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::web::findings::task_of;

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
