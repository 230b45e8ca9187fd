//! The net charge: known or not, right, wrong, or more finely asked than it was weighed.
use super::{
    Due, Found, PRACTICE, Rule, RuleCode, Section, Task,
    charge::{mass, nothing_charged},
    evacuation,
};
use crate::{
    checks::{
        case::Case,
        circuit::Target,
        explain::steps,
        hose::Known,
        ledger::{Span, Why},
        remedy::Remedy,
    },
    record::answer::{ChargeIs, Weight, WorkStep},
};

/// The row of `charge-unknown`.
pub const CHARGE_UNKNOWN: Rule = Rule {
    code: RuleCode::ChargeUnknown,
    weights: &[Weight::Concession],
    section: Section::Charge,
    task: Task::Charging,
    short: "charge not known",
    law: "What is inside is known only where it was empty before: all of it recovered, the circuit evacuated, and the charge weighed in. What is added to a charge that nobody knows makes another that nobody knows.",
    doubt: "Neither pressures nor a sight glass tell the mass.",
    change: "All of it recovered by weight, the circuit evacuated, and charged by weight.",
    source: PRACTICE,
    due: Due::Now,
    find: unknown,
    why: steps::of_charge,
};

fn unknown(case: &Case<'_>) -> Vec<Found> {
    let weighed: Vec<_> = case.charges.iter().filter(|c| c.net.is_some()).collect();
    let Some(last) = weighed.last() else {
        return Vec::new();
    };
    let went_in = mass(weighed.iter().filter_map(|c| c.net_kg).sum(), case.units);
    let again = || {
        Remedy::new(
            WorkStep::Recover,
            "Recover all of it by weight, evacuate, then charge by weight.",
        )
        .then(WorkStep::Hold, "Close off and hold.")
        .then(WorkStep::Charge, "Charge by weight.")
    };
    let (says, remedy) = match case.ledger.unknown() {
        // One that was not weighed, or charged after an opening without evacuation, is a finding of its own.
        Some(Why::NotWeighed) => return Vec::new(),
        Some(Why::NotEvacuated) if !evacuation::missing(case).is_empty() => return Vec::new(),
        Some(Why::NotEvacuated) => (format!("{went_in} went in without an evacuation before: nobody can say how much is in the circuit."), again()),
        Some(Why::ToppedUp) => (format!("{went_in} was added to a charge that was not recovered first: nobody can say how much is in the circuit."), again()),
        None if weighed.iter().all(|c| c.at.is_none()) => (
            "It is not on record when it was charged: nobody can say whether the circuit was empty before.".to_owned(),
            Remedy::new(WorkStep::Record, "Enter when it was charged."),
        ),
        None => return Vec::new(),
    };
    vec![Found::new("charging", Weight::Concession, says, remedy).resting_on([last.id.clone()])]
}

/// The row of `charge-mismatch`.
pub const CHARGE_MISMATCH: Rule = Rule {
    code: RuleCode::ChargeMismatch,
    weights: &[Weight::Blocks, Weight::Concession],
    section: Section::Charge,
    task: Task::Charging,
    short: "charge differs",
    law: "Too little charge cools badly and starves the compressor of oil; too much raises its pressures. A service machine has to come within 15 g (40 CFR 82 subpart B, appendix C).",
    doubt: "All that the scale’s steps, the hose and cans allow lies outside of the tolerance: the label’s, or without one {charge_tolerance} or {charge_tolerance_share}, whichever is more.",
    change: "Added or recovered by weight, or another charge put in force with its reason.",
    source: "the label; 40 CFR 82 subpart B, appendix C: within 15 g",
    due: Due::Now,
    find: mismatch,
    why: steps::of_charge,
};

fn mismatch(case: &Case<'_>) -> Vec<Found> {
    let (Some(target), Some(net)) = (case.target, case.net()) else {
        return Vec::new();
    };
    if nothing_charged(case) || case.charge_is() != Some(ChargeIs::Wrong) {
        return Vec::new();
    }
    let short = net.high < target.kg;
    // What it is off by at least decides whether it is far off.
    let (difference, at_least) = (
        net.kg - target.kg,
        if short {
            net.high - target.kg
        } else {
            net.low - target.kg
        },
    );
    let share = at_least / target.kg;
    let far = share < -case.limits.charge_under.one() - 1e-9
        || share > case.limits.charge_over.one() + 1e-9;
    let says = format!(
        "The charge is {} {}. {}",
        mass(difference.abs(), case.units),
        if short { "short" } else { "too much" },
        went_in(case, net, target)
    );
    let open_hose = case
        .net_charges()
        .into_iter()
        .any(|c| c.hose.how == Known::NotRecorded);
    let remedy = match (open_hose, short) {
        (true, true) => Remedy::new(
            WorkStep::Record,
            format!(
                "Enter what stayed in the hose, then add what is missing: {} at least.",
                mass(-at_least, case.units)
            ),
        ),
        (true, false) => Remedy::new(
            WorkStep::Record,
            format!(
                "Enter what stayed in the hose, then recover what is too much: {} at least.",
                mass(at_least, case.units)
            ),
        ),
        (false, true) => Remedy::new(
            WorkStep::Charge,
            format!("Add {}.", mass(-difference, case.units)),
        ),
        (false, false) => Remedy::new(
            WorkStep::Recover,
            format!("Recover {} by weight.", mass(difference, case.units)),
        )
        .partly(),
    };
    vec![
        Found::new(
            "charging",
            if far {
                Weight::Blocks
            } else {
                Weight::Concession
            },
            says,
            remedy,
        )
        .resting_on(case.net_charges().iter().map(|c| c.id.clone()))
        .value("net_in_kg", net.kg)
        .value("net_low_kg", net.low)
        .value("net_high_kg", net.high)
        .value("in_force_kg", target.kg)
        .value("tolerance_kg", target.tolerance_kg),
    ]
}

/// What went in, and what should have: "555 g ± 8 g went in; the label says 600 g ± 25 g."
fn went_in(case: &Case<'_>, net: Span, target: Target) -> String {
    let what = if target.instead {
        "the charge in force is"
    } else {
        "the label says"
    };
    format!(
        "{} went in; {what} {} ± {}.",
        weighed_in(case, net),
        mass(target.kg, case.units),
        mass(target.tolerance_kg, case.units)
    )
}

/// A net charge with its uncertainty: "555 g ± 8 g"; where it may be off much further one way, "306 g to 380 g".
pub fn weighed_in(case: &Case<'_>, net: Span) -> String {
    let (below, above) = (net.kg - net.low, net.high - net.kg);
    match (below - above).abs() < 1e-6 {
        true if below > 0.0 => {
            format!("{} ± {}", mass(net.kg, case.units), mass(below, case.units))
        }
        true => mass(net.kg, case.units),
        false => format!(
            "{} to {}",
            mass(net.low.max(0.0), case.units),
            mass(net.high, case.units)
        ),
    }
}

/// The row of `charge-not-shown`.
pub const CHARGE_NOT_SHOWN: Rule = Rule {
    code: RuleCode::ChargeNotShown,
    weights: &[Weight::Note],
    section: Section::Charge,
    task: Task::Charging,
    short: "charge not shown",
    law: "A weighing shows a charge to be right only where all that it allows lies within the tolerance, and wrong only where all of it lies outside.",
    doubt: "The scale is known to half of its last digit at each weighing; a hose that is not recorded may hold nothing, or be full of liquid.",
    change: "What stayed in the hose entered; the scale’s resolution entered; a finer scale.",
    source: "common practice: the uncertainty of a difference of two weighings",
    due: Due::Now,
    find: not_shown,
    why: steps::of_charge,
};

fn not_shown(case: &Case<'_>) -> Vec<Found> {
    let (Some(target), Some(net)) = (case.target, case.net()) else {
        return Vec::new();
    };
    if nothing_charged(case) || case.charge_is() != Some(ChargeIs::CannotTell) {
        return Vec::new();
    }
    let charges = case.net_charges();
    let remedy = if charges.iter().any(|c| c.hose.how == Known::NotRecorded) {
        Remedy::new(
            WorkStep::Record,
            "Enter what stayed in the hose, or its length, bore and what filled it.",
        )
    } else if charges.iter().any(|c| c.resolution_assumed) {
        Remedy::new(WorkStep::Record, "Enter what the scale reads to.")
    } else {
        Remedy::new(
            WorkStep::Measure,
            "Weigh the next charge on a finer scale. To know this one, recover it and charge again.",
        )
    };
    let says = format!(
        "{} Whether that is right cannot be told.",
        went_in(case, net, target)
    );
    vec![
        Found::new("charging", Weight::Note, capital(&says), remedy)
            .resting_on(charges.iter().map(|c| c.id.clone()))
            .value("net_in_kg", net.kg)
            .value("net_low_kg", net.low)
            .value("net_high_kg", net.high)
            .value("in_force_kg", target.kg)
            .value("tolerance_kg", target.tolerance_kg),
    ]
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(letters).collect())
}
