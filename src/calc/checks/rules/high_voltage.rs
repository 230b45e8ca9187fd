//! High voltage: isolated and measured dead before anybody works near an electric compressor.
use super::{Due, Found, Rule, RuleCode, Section, Task};
use crate::{
    checks::{
        case::Case,
        explain::steps,
        remedy::Remedy,
        state::HighVoltage,
        timeline::{Rank, Stamp, live},
    },
    record::{
        Drive,
        answer::{Weight, WorkStep},
    },
};

/// The row of `isolation-missing`.
pub const ISOLATION_MISSING: Rule = Rule {
    code: RuleCode::IsolationMissing,
    weights: &[Weight::Blocks],
    section: Section::Recovery,
    task: Task::Isolation,
    short: "not isolated",
    law: "The compressor of a hybrid or electric car is driven by a voltage that kills. Opening the circuit next to it comes after isolating it and measuring that it is dead.",
    doubt: "None: it is on record before the first opening, or it is not.",
    change: "Only that it was done, and is entered with its time.",
    source: "common practice; local rules on high voltage",
    due: Due::Now,
    find: isolation,
    why: steps::of_evidence,
};

fn isolation(case: &Case<'_>) -> Vec<Found> {
    if case.record.system.compressor_drive != Some(Drive::Electric) {
        return Vec::new();
    }
    let Some(first) = case.openings.iter().find(|o| !o.found) else { return still_to_isolate(case) };
    let isolated = live(&case.record.isolation, "isolation").any(|(i, _, x)| x.at.is_some_and(|at| Stamp::new(at, Rank::Found, i) < first.at));
    if isolated {
        return Vec::new();
    }
    let says = format!("The compressor runs on high voltage, and no isolation is on record before {}.", first.says);
    vec![
        Found::new("isolation", Weight::Blocks, says, Remedy::new(WorkStep::Isolate, "Stop work near the compressor. Somebody trained for it switches the high voltage off, locks it out, proves it dead and enters the measured voltage."))
            .resting_on([first.about.clone()]),
    ]
}

/// While work goes on, and before anything is opened: it comes first.
fn still_to_isolate(case: &Case<'_>) -> Vec<Found> {
    if !case.in_work() || case.state().high_voltage != HighVoltage::Live || !case.charges.is_empty() {
        return Vec::new();
    }
    let says = "The compressor runs on high voltage, and it is not isolated yet.";
    let remedy =
        "Before the circuit is opened, somebody trained for it switches the high voltage off, locks it out, proves it dead and enters the measured voltage.";
    vec![Found::new("isolation", Weight::Blocks, says, Remedy::new(WorkStep::Isolate, remedy)).prospect()]
}
