//! Every rule as a list, for people and programs that ask what is checked.
use super::{ALL, Due, Rule};
use crate::{
    RULES_VERSION, UnitSystem,
    checks::limits::{self, LimitSettings, Limits},
};
use serde::Serialize;
use std::fmt::Write;

/// All rules of this version.
#[derive(Debug, Serialize)]
pub struct RuleList {
    /// The version of the rules.
    pub rules_version: &'static str,
    /// Each rule, in the order of the work.
    pub rules: Vec<RuleLine>,
}

/// One rule.
#[derive(Debug, Serialize)]
pub struct RuleLine {
    /// Its name.
    pub code: &'static str,
    /// What it may mean for the handover, the gravest first.
    pub weights: Vec<&'static str>,
    /// The section of the record sheet.
    pub section: &'static str,
    /// The task at the bench.
    pub task: &'static str,
    /// In a few words.
    pub short: &'static str,
    /// When it becomes a finding while work goes on.
    pub due: &'static str,
    /// The limits that it goes by, as they are by default.
    pub limits: Vec<LimitLine>,
    /// The law or the practice behind it.
    pub reason: String,
    /// How sure that is.
    pub certainty: String,
    /// What would change it.
    pub what_would_change_it: String,
    /// What it rests on.
    pub source: &'static str,
}

/// A limit of a rule.
#[derive(Debug, Serialize)]
pub struct LimitLine {
    /// Its key in a record's `limits`.
    pub key: &'static str,
    /// Its default.
    pub default: &'static str,
    /// What it is for, and what the default rests on.
    pub why: &'static str,
}

impl RuleList {
    /// All rules, their reasons with the default limits in these units.
    pub fn of(units: UnitSystem) -> Self {
        let limits = Limits::of(&LimitSettings::default());
        Self {
            rules_version: RULES_VERSION,
            rules: ALL
                .iter()
                .map(|rule| RuleLine::of(rule, &limits, units))
                .collect(),
        }
    }

    /// As plain text.
    pub fn text(&self) -> String {
        let mut out = format!("Rules {}\n", self.rules_version);
        for r in &self.rules {
            let _ = write!(
                out,
                "\n{} ({}): {}\n  Section: {}. Task: {}. Becomes a finding: {}\n",
                r.code,
                r.weights.join(" or "),
                r.short,
                r.section,
                r.task,
                r.due
            );
            let _ = write!(
                out,
                "  Reason: {}\n  Certainty: {}\n  What would change it: {}\n  Based on: {}\n",
                r.reason, r.certainty, r.what_would_change_it, r.source
            );
            for l in &r.limits {
                let _ = writeln!(out, "  Limit {}: {}. {}", l.key, l.default, l.why);
            }
        }
        out
    }
}

impl RuleLine {
    fn of(rule: &Rule, limits: &Limits, units: UnitSystem) -> Self {
        let line = |key| {
            limits::ALL
                .iter()
                .find(|spec| spec.key == key)
                .map(|spec| LimitLine {
                    key: spec.key,
                    default: spec.default,
                    why: spec.why,
                })
        };
        Self {
            code: rule.code.word(),
            weights: rule.weights.iter().map(|w| w.word()).collect(),
            section: rule.section.title(),
            task: rule.task.title(),
            short: rule.short,
            due: due(rule.due),
            limits: rule.limits().into_iter().filter_map(line).collect(),
            reason: rule.law(limits, units),
            certainty: rule.doubt(limits, units),
            what_would_change_it: rule.change(limits, units),
            source: rule.source,
        }
    }
}

const fn due(due: Due) -> &'static str {
    match due {
        Due::Now => "at once",
        Due::WhenClosed => "when the circuit is closed without it",
        Due::WhenEvacuated => "when it is evacuated, held or charged without it",
        Due::WhenHeld => "when a hold or a charge begins without it",
        Due::WhenCharged => "when charging begins without it",
        Due::AtReady => "when the work is ready, or at the handover",
    }
}
