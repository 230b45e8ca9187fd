//! Nothing done yet: a state, not a warning.
use super::{Due, Found, Rule, RuleCode, Section, Task};
use crate::{
    checks::{case::Case, explain::steps, remedy::Remedy, timeline::live},
    record::answer::{Weight, WorkStep},
};

/// The row of `nothing-done`.
pub const NOTHING_DONE: Rule = Rule {
    code: RuleCode::NothingDone,
    weights: &[Weight::Blocks],
    section: Section::Standing,
    task: Task::Standing,
    short: "nothing yet",
    law: "This is the state of a record on which no work stands yet, not a fault.",
    doubt: "None.",
    change: "The first recovery, opening, part, evacuation, hold or charge.",
    source: "state of the record",
    due: Due::AtReady,
    find: nothing_done,
    why: steps::of_evidence,
};

fn nothing_done(case: &Case<'_>) -> Vec<Found> {
    if case.work_begun() {
        return Vec::new();
    }
    let r = case.record;
    let remedy = if live(&r.standing, "standing").next().is_none() {
        Remedy::new(
            WorkStep::Measure,
            "Read the standing pressure with the system cold, and identify the gas before anything is recovered.",
        )
    } else if case.standing_empty().next().is_some() || r.open_since.is_some() {
        Remedy::new(
            WorkStep::Nitrogen,
            "Find where it leaked: dry nitrogen with soapy water or an ultrasonic detector.",
        )
    } else if live(&r.identification, "identification").next().is_none() {
        Remedy::new(
            WorkStep::Identify,
            "Identify the gas, then recover it by weight.",
        )
    } else {
        Remedy::new(WorkStep::Recover, "Recover the refrigerant by weight.")
    };
    vec![Found::new(
        "order",
        Weight::Blocks,
        "No work is on record for this car.",
        remedy,
    )]
}
