//! High voltage: isolated and measured dead before anybody works near an electric compressor.
use super::{Due, Found, Rule, RuleCode, Section, Task};
use crate::{
    checks::{
        case::{Case, Opening},
        explain::steps,
        isolation::{self, Proved},
        remedy::Remedy,
        state::{HighVoltage, State},
        timeline::{Rank, Stamp, live},
    },
    record::{
        Isolation,
        answer::{Weight, WorkStep},
    },
    units::show,
};

/// What both rules rest on.
// The regulation from memory; 49 CFR read.
const SOURCE: &str = "UN Regulation No. 100 and 49 CFR 571.305 S3: high voltage is above 60 V DC or 30 V AC; local rules on high voltage";

/// The row of `isolation-missing`.
pub const ISOLATION_MISSING: Rule = Rule {
    code: RuleCode::IsolationMissing,
    weights: &[Weight::Blocks],
    section: Section::Recovery,
    task: Task::Isolation,
    short: "not isolated",
    law: "The compressor of a hybrid or electric car is driven by a voltage that kills. The circuit is opened only after the high voltage is isolated and measured dead, and again so after it was switched on to measure how the car cools.",
    doubt: "None: it is on record before the opening, or it is not.",
    change: "Only that it was done, and is entered with its time and the measured voltage.",
    source: SOURCE,
    due: Due::Now,
    find: missing,
    why: steps::of_evidence,
};

fn missing(case: &Case<'_>) -> Vec<Found> {
    if !isolation::has_high_voltage(case.record) {
        return Vec::new();
    }
    let Some(opened) = opened_live(case).find(|o| not_proved_before(case, o).is_none()) else {
        return still_to_isolate(case);
    };
    let on_again = last_performance(case, opened.at).is_some();
    let says = match on_again {
        false => format!(
            "The compressor runs on high voltage, and no isolation is on record before {}.",
            opened.says
        ),
        true => {
            format!(
                "The high voltage was switched on for the performance reading, and no new isolation is on record before {}.",
                opened.says
            )
        }
    };
    if case.state().high_voltage != HighVoltage::Live {
        let remedy =
            "Enter the isolation that was made before it, with its time and the measured voltage.";
        return vec![
            Found::new(
                "isolation",
                Weight::Blocks,
                says,
                Remedy::new(WorkStep::Record, remedy),
            )
            .resting_on([opened.about.clone()]),
        ];
    }
    let remedy = "Stop work near the compressor. Somebody trained for it switches the high voltage off, locks it out, waits the maker’s discharge time, proves it dead and enters the measured voltage.";
    vec![
        Found::new(
            "isolation",
            Weight::Blocks,
            says,
            Remedy::new(WorkStep::Isolate, remedy),
        )
        .resting_on([opened.about.clone()]),
    ]
}

/// Openings while the high voltage was on.
fn opened_live<'c>(case: &'c Case<'_>) -> impl Iterator<Item = &'c Opening> {
    case.openings
        .iter()
        .filter(|o| !o.found && State::at(case, Some(o.at)).high_voltage == HighVoltage::Live)
}

fn last_performance(case: &Case<'_>, before: Stamp) -> Option<Stamp> {
    live(&case.record.performance, "performance")
        .filter_map(|(i, _, p)| Some(Stamp::new(p.at?, Rank::Performance, i)))
        .filter(|at| *at < before)
        .max()
}

/// The last isolation before an opening, since the high voltage was last switched on; it is there where it was not measured dead.
fn not_proved_before<'c>(case: &'c Case<'_>, opening: &Opening) -> Option<(String, &'c Isolation)> {
    let on = last_performance(case, opening.at);
    let mut before: Vec<_> = live(&case.record.isolation, "isolation")
        .filter_map(|(i, id, x)| Some((Stamp::new(x.at?, Rank::Found, i), id, x)))
        .filter(|(at, ..)| *at < opening.at && on.is_none_or(|on| *at > on))
        .collect();
    before.sort_by_key(|(at, ..)| *at);
    before
        .pop()
        .filter(|(_, _, x)| isolation::proved(x) != Proved::Dead)
        .map(|(_, id, x)| (id, x))
}

/// While work goes on, and before anything is opened: it comes first.
fn still_to_isolate(case: &Case<'_>) -> Vec<Found> {
    let entered = not_proved(case).next().is_some();
    let opened = case.openings.iter().any(|o| !o.found);
    if !case.in_work()
        || opened
        || entered
        || case.state().high_voltage != HighVoltage::Live
        || !case.charges.is_empty()
    {
        return Vec::new();
    }
    let says = "The compressor runs on high voltage, and it is not isolated yet.";
    let remedy = "Before the circuit is opened, somebody trained for it switches the high voltage off, locks it out, waits the maker’s discharge time, proves it dead and enters the measured voltage.";
    vec![
        Found::new(
            "isolation",
            Weight::Blocks,
            says,
            Remedy::new(WorkStep::Isolate, remedy),
        )
        .prospect(),
    ]
}

/// The row of `isolation-not-proved`.
pub const ISOLATION_NOT_PROVED: Rule = Rule {
    code: RuleCode::IsolationNotProved,
    weights: &[Weight::Blocks],
    section: Section::Recovery,
    task: Task::Isolation,
    short: "not proved dead",
    law: "Switched off is not dead: capacitors stay charged for minutes. Only a voltage that was measured, at most 60 V DC (30 V AC), says that the circuit can be touched.",
    doubt: "The figure is as good as the meter, which is proved on a known voltage before and after (practice).",
    change: "A measurement of 60 V DC or less after the maker’s discharge time, entered with its time.",
    source: SOURCE,
    due: Due::Now,
    find: unproved,
    why: steps::of_evidence,
};

fn unproved(case: &Case<'_>) -> Vec<Found> {
    not_proved(case)
        .map(|(id, x)| {
            let waited = x.waited.as_ref().map(|w| format!(" after a wait of {}", show::duration_short(w.si()))).unwrap_or_default();
            let (says, volts) = match isolation::proved(x) {
                Proved::Live(v) => (format!("{} V were measured{waited}: the compressor’s circuit is still live.", show::significant(v.abs(), 3)), Some(v)),
                _ => match x.measured.as_deref().filter(|text| !text.trim().is_empty()) {
                    Some(text) => (format!("“{text}” is no measured voltage: nothing shows that the compressor’s circuit is dead."), None),
                    None => ("The isolation has no measured voltage: nothing shows that the compressor’s circuit is dead.".to_owned(), None),
                },
            };
            if case.state().high_voltage == HighVoltage::Isolated {
                let remedy = Remedy::new(WorkStep::Record, "Correct the voltage if it was entered wrongly; the circuit was opened under it.");
                return Found::new(id.clone(), Weight::Blocks, says, remedy).resting_on([id]).maybe("measured_v", volts);
            }
            let remedy = "Do not touch it. Somebody trained for it checks that the high voltage is switched off and locked out, waits the maker’s discharge time, measures between HV+ and HV− and enters the voltage.";
            Found::new(id.clone(), Weight::Blocks, says, Remedy::new(WorkStep::Isolate, remedy)).resting_on([id]).maybe("measured_v", volts)
        })
        .collect()
}

/// Isolations that show nothing: the last one where no later one was measured dead, and that under which the circuit was opened.
fn not_proved<'c>(case: &'c Case<'_>) -> impl Iterator<Item = (String, &'c Isolation)> {
    let all: Vec<_> = live(&case.record.isolation, "isolation")
        .map(|(i, id, x)| (x.at.map(|at| Stamp::new(at, Rank::Found, i)), id, x))
        .collect();
    let later_dead = |at: Option<Stamp>| {
        all.iter().any(|(later, _, x)| {
            later.is_some() && *later > at && isolation::proved(x) == Proved::Dead
        })
    };
    let measured = |x: &Isolation| matches!(isolation::proved(x), Proved::Live(_));
    let known = isolation::has_high_voltage(case.record);
    let opened: Vec<String> = opened_live(case)
        .filter_map(|o| not_proved_before(case, o))
        .map(|(id, _)| id)
        .collect();
    let told: Vec<_> = all
        .iter()
        .filter(|(at, id, x)| {
            let open = isolation::proved(x) != Proved::Dead && !later_dead(*at);
            // A belt-driven one has no high voltage, unless somebody measured it.
            open && (known || measured(x)) || opened.contains(id)
        })
        .map(|(_, id, x)| (id.clone(), *x))
        .collect();
    told.into_iter()
}
