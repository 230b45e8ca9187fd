//! The trade's rules: a job record becomes figures and findings.
//!
//! [`assess`] reads the record once into a [`case::Case`] (what happened in which order, what each hold says), from which the figures
//! and each rule of [`rules::ALL`] are worked out. It knows no clock: the same record always gives the same answer.
pub mod case;
pub mod circuit;
pub mod clears;
pub mod compared;
pub mod contamination;
pub mod course;
pub mod evacuation;
pub mod explain;
pub mod figures;
pub mod gauge;
pub mod hold;
pub mod hose;
pub mod isolation;
pub mod ledger;
pub mod left;
pub mod limits;
pub mod loss;
pub mod oil;
pub mod outlook;
pub mod performance;
pub mod pressure_hold;
pub mod readings;
pub mod remedy;
pub mod rules;
pub mod series;
pub mod settling;
pub mod sheet;
pub mod shown;
pub mod site;
pub mod state;
pub mod stillness;
pub mod talk;
pub mod timeline;
pub mod vacuum_hold;
pub mod vin;
pub mod voice;

use crate::{
    Assessment, JobRecord, RULES_VERSION, UnitSystem,
    record::answer::{Gate, Weight},
};
use case::Case;
use limits::Limits;
use site::Site;

/// Assesses a record: figures in SI, findings with their sentences in the given units.
pub fn assess(record: &JobRecord, units: UnitSystem) -> Assessment {
    with_case(record, units, assess_case)
}

/// The answer of a case that is worked out already, for a page that asks more of it.
pub fn assess_case(case: &Case<'_>) -> Assessment {
    let said = rules::said(case);
    let count = |weight| said.findings.iter().filter(|f| f.weight == weight).count();
    // The gate is as strict while work goes on: what is still to do counts as what it is once it is due.
    let (blocks, awaiting_concession) = (
        count(Weight::Blocks) + said.counted.0,
        count(Weight::Concession) + said.counted.1,
    );
    Assessment {
        version: 1,
        rules: RULES_VERSION.into(),
        gate: Gate {
            repaired: blocks == 0 && awaiting_concession == 0,
            blocks,
            awaiting_concession,
        },
        next: rules::next(&said),
        findings: said.findings,
        to_do: said.to_do,
        figures: figures::of(case),
    }
}

/// Works a record out and asks something of it.
pub fn with_case<T>(record: &JobRecord, units: UnitSystem, ask: impl FnOnce(&Case<'_>) -> T) -> T {
    let limits = Limits::of(&record.limits);
    let site = Site::of(record, &limits);
    ask(&Case::of(record, &limits, &site, units))
}
