//! The rules: each one function and one row. A new rule is a new function and a new row.
mod charge;
mod evacuation;
pub use evacuation::needed;
pub use holds::rules_out;
pub use refrigerant::leak_limit;
mod gauges;
mod holds;
mod leaks;
mod oil;
mod parts;
mod performance;
mod refrigerant;
mod seals;

use super::case::Case;
use crate::record::answer::{Finding, Values, Weight};
use serde_json::Value;

/// A rule of the trade.
pub struct Rule {
    /// Its name.
    pub code: &'static str,
    /// What it rests on.
    pub source: &'static str,
    find: fn(&Case<'_>) -> Vec<Found>,
}

/// What a rule found, less what its row says.
#[derive(Debug)]
pub struct Found {
    about: String,
    weight: Weight,
    evidence: Vec<String>,
    values: Values,
    says: String,
    do_next: String,
}

impl Found {
    fn new(about: impl Into<String>, weight: Weight, says: impl Into<String>, do_next: impl Into<String>) -> Self {
        Self { about: about.into(), weight, evidence: Vec::new(), values: Values::new(), says: says.into(), do_next: do_next.into() }
    }
    fn resting_on(mut self, evidence: impl IntoIterator<Item = impl Into<String>>) -> Self {
        for id in evidence {
            let id = id.into();
            if !self.evidence.contains(&id) {
                self.evidence.push(id);
            }
        }
        self
    }
    /// A figure in SI, its unit in the key. One that is not finite is left out.
    fn value(mut self, key: &str, value: f64) -> Self {
        if let Some(number) = serde_json::Number::from_f64(value) {
            self.values.insert(key.into(), Value::Number(number));
        }
        self
    }
    fn maybe(self, key: &str, value: Option<f64>) -> Self {
        match value {
            Some(value) => self.value(key, value),
            None => self,
        }
    }
    fn word(mut self, key: &str, value: &str) -> Self {
        self.values.insert(key.into(), Value::String(value.into()));
        self
    }
}

const PRACTICE: &str = "common practice";

macro_rules! rules {
    ($($code:literal, $find:path, $source:expr;)+) => {
        /// All rules, in the order of the work.
        pub const ALL: &[Rule] = &[$(Rule { code: $code, source: $source, find: $find },)+];
    };
}

rules! {
    "barometer-doubtful", gauges::barometer_doubtful, "ISO 2533 standard atmosphere; weather services publish the barometer reduced to sea level";
    "gauge-impossible", gauges::impossible, "no pressure lies below perfect vacuum";
    "standing-pressure-high", refrigerant::standing_high, "vapour pressure: more than that is air or another refrigerant";
    "mixture-unidentified", refrigerant::mixture, "40 CFR 82 subpart B, appendices; common practice";
    "isolation-missing", parts::isolation, "common practice; local rules on high voltage";
    "recovery-missing", refrigerant::recovery_missing, "40 CFR 82.154: refrigerant is recovered, never let out";
    "recovered-other", refrigerant::recovered_other, "40 CFR 82 subpart B";
    "loss-unexplained", refrigerant::loss, "common practice; Directive 2006/40/EC";
    "provenance-incomplete", parts::provenance, "consumer law on used parts";
    "donor-vin-doubtful", parts::donor_vin, "49 CFR 565.15 (North America)";
    "desiccant-salvaged", parts::desiccant_salvaged, PRACTICE;
    "desiccant-not-renewed", parts::desiccant_not_renewed, PRACTICE;
    "ports-open", parts::ports_open, PRACTICE;
    "compressor-debris-unflushed", parts::debris, PRACTICE;
    "part-seen-before", parts::seen_before, "the shop’s own record";
    "seal-not-inspected", seals::not_inspected, PRACTICE;
    "seal-unsound", seals::unsound, PRACTICE;
    "seal-reused", seals::reused, PRACTICE;
    "seal-dry", seals::dry, PRACTICE;
    "improvised-fixing", parts::improvised, PRACTICE;
    "oil-type-mismatch", oil::mismatch, "insulation of high-voltage compressors; makers’ oils do not mix";
    "oil-balance", oil::balance, PRACTICE;
    "evacuation-missing", evacuation::missing, PRACTICE;
    "evacuation-does-not-dry", evacuation::does_not_dry, "IAPWS-IF97 and IAPWS R14-08: the pressure at which water boils";
    "dryness-not-shown", evacuation::not_shown, "IAPWS-IF97 and IAPWS R14-08: the pressure at which water boils";
    "evacuation-short", evacuation::short, PRACTICE;
    "hold-missing", holds::missing, PRACTICE;
    "hold-failed", holds::failed, "gas law: a pressure that moves by more than the gauge and the temperature explain";
    "hold-moisture", holds::moisture, "IAPWS-IF97: water holds its own vapour pressure";
    "hold-too-short", holds::too_short, PRACTICE;
    "hold-inconclusive", holds::inconclusive, "gas that leaves oil and rubber raises a deep vacuum as a leak does";
    "hold-temperature-missing", holds::temperature_missing, "ideal gas law";
    "leak-found", leaks::found, PRACTICE;
    "charged-before-hold", charge::before_hold, PRACTICE;
    "wrong-refrigerant", charge::wrong, "40 CFR 82 subpart B; the label by SAE J639";
    "charge-missing", charge::missing, PRACTICE;
    "charge-unweighed", charge::unweighed, PRACTICE;
    "charge-unspecified", charge::unspecified, "the label by SAE J639";
    "charge-mismatch", charge::mismatch, "the label; 40 CFR 82 subpart B, appendix C: within 15 g";
    "hose-not-recorded", charge::hose, "geometry and liquid density: a liquid-filled hose holds 39 to 69 g";
    "air-left", charge::air_left, "SAE J2099 (from memory: 150 ppm in recycled HFC-134a) as a yardstick";
    "hold-not-sensitive", holds::not_sensitive, "Directive 2006/40/EC: 40 g a year, 60 g with two evaporators; SAE J2791 and J2913 for detectors";
    "performance-missing", performance::missing, PRACTICE;
    "vent-warm", performance::vent_warm, "makers’ tables";
    "freeze-risk", performance::freeze, PRACTICE;
    "condensing-high", performance::condensing, "makers’ tables span 13 to 39 K";
    "cap-missing", performance::caps, PRACTICE;
}

/// What all rules find, those that block first; within a weight in the order of the work.
pub fn findings(case: &Case<'_>) -> Vec<Finding> {
    if !case.work_begun() {
        return vec![nothing_done()];
    }
    let mut all: Vec<Finding> = ALL.iter().flat_map(|rule| (rule.find)(case).into_iter().map(|f| finding(rule, f))).collect();
    all.sort_by_key(|f| f.weight);
    all
}

fn finding(rule: &Rule, f: Found) -> Finding {
    Finding {
        code: rule.code.into(),
        about: f.about,
        weight: f.weight,
        evidence: f.evidence,
        values: f.values,
        says: f.says,
        do_next: f.do_next,
        source: rule.source.into(),
    }
}

/// A state, not a warning.
fn nothing_done() -> Finding {
    Finding {
        code: "nothing-done".into(),
        about: "order".into(),
        weight: Weight::Blocks,
        evidence: Vec::new(),
        values: Values::new(),
        says: "Nothing has been done to this car yet.".into(),
        do_next: "Begin with the standing pressure and what gas is in the circuit, then recover it.".into(),
        source: "state of the record".into(),
    }
}
