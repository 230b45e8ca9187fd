//! Explanations: how each figure comes about, and why a finding stands. Page, command line and report take their text from here.
mod amounts;
mod holds;
pub mod steps;
mod text;

pub use holds::Curve;
pub use text::text;

use super::{case::Case, rules::rule_of};
use crate::record::answer::Finding;

/// A figure, how it comes about, and what that rests on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// What it is: "lowest pressure".
    pub name: String,
    /// With its unit: "6.1 kPa".
    pub value: String,
    /// How it comes about, its figures included.
    pub how: String,
    /// Law, standard or publication; empty where it is plain arithmetic.
    pub source: &'static str,
}

impl Step {
    fn new(
        name: impl Into<String>,
        value: impl Into<String>,
        how: impl Into<String>,
        source: &'static str,
    ) -> Self {
        Self {
            name: name.into(),
            value: value.into(),
            how: how.into(),
            source,
        }
    }
}

/// Why a finding stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Why {
    /// The figures that it rests on.
    pub steps: Vec<Step>,
    /// The law or the practice behind it.
    pub law: String,
    /// How sure that is.
    pub doubt: String,
    /// What would change it.
    pub change: String,
}

/// Why this finding stands, in the case's units.
pub fn why(case: &Case<'_>, finding: &Finding) -> Why {
    let Some(rule) = rule_of(&finding.code) else {
        return Why {
            steps: steps::of_evidence(case, finding),
            law: String::new(),
            doubt: String::new(),
            change: String::new(),
        };
    };
    let (limits, units) = (case.limits, case.units);
    Why {
        steps: (rule.why)(case, finding),
        law: rule.law(limits, units),
        doubt: rule.doubt(limits, units),
        change: rule.change(limits, units),
    }
}
