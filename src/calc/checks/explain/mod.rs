//! Explanations: how each figure comes about, and why a finding stands. Page, command line and report take their text from here.
mod holds;
mod reasons;
mod steps;
mod text;

pub use holds::Curve;
pub use reasons::REASONS;
pub use text::text;

use super::{case::Case, limits::Limits};
use crate::{UnitSystem, record::answer::Finding};

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
    fn new(name: impl Into<String>, value: impl Into<String>, how: impl Into<String>, source: &'static str) -> Self {
        Self { name: name.into(), value: value.into(), how: how.into(), source }
    }
}

/// Why a rule speaks. Its sentences tell the limits that are in force.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reason {
    /// The rule.
    pub code: &'static str,
    law: &'static str,
    doubt: &'static str,
    change: &'static str,
}

impl Reason {
    /// The law or the practice behind it.
    pub fn law(&self, limits: &Limits, units: UnitSystem) -> String {
        limits.fill(self.law, units)
    }

    /// How sure that is.
    pub fn doubt(&self, limits: &Limits, units: UnitSystem) -> String {
        limits.fill(self.doubt, units)
    }

    /// What would change it.
    pub fn change(&self, limits: &Limits, units: UnitSystem) -> String {
        limits.fill(self.change, units)
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
    let reason = REASONS.iter().find(|r| r.code == finding.code);
    let told = |sentence: fn(&Reason, &Limits, UnitSystem) -> String| reason.map(|r| sentence(r, case.limits, case.units)).unwrap_or_default();
    Why { steps: steps::of_finding(case, finding), law: told(Reason::law), doubt: told(Reason::doubt), change: told(Reason::change) }
}
