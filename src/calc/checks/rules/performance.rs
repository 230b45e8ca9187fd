//! Performance and the last things before handing over.
use super::{Due, Found, PRACTICE, Rule, RuleCode, Section, Task};
use crate::{
    checks::{
        case::Case,
        explain::steps,
        figures,
        performance::{self, Decided, pattern::Pattern},
        remedy::Remedy,
        timeline::live,
    },
    record::{
        PortCore, Side,
        answer::{Weight, WorkStep},
    },
    units::{Temperature, TemperatureDifference, show},
};

/// The row of `performance-missing`.
pub const PERFORMANCE_MISSING: Rule = Rule {
    code: RuleCode::PerformanceMissing,
    weights: &[Weight::Blocks, Weight::Concession],
    section: Section::Performance,
    task: Task::Performance,
    short: "not measured",
    law: "Whether it cools is what the customer came for.",
    doubt: "None: it was measured after the last charging, or it was not.",
    change: "Pressures and the vent’s temperature, with the day’s temperature and humidity; or the reason why it could not be measured.",
    source: PRACTICE,
    due: Due::AtReady,
    find: missing,
    why: steps::of_evidence,
};

fn missing(case: &Case<'_>) -> Vec<Found> {
    let Some(charge) = case.last_charge() else {
        return Vec::new();
    };
    let measured =
        performance::readings(case).any(|(at, ..)| at.zip(charge.at).is_some_and(|(at, c)| at > c));
    if measured {
        return Vec::new();
    }
    let found = match case
        .record
        .performance_omitted
        .as_deref()
        .filter(|w| !w.trim().is_empty())
    {
        Some(why) => Found::new(
            "performance",
            Weight::Concession,
            format!(
                "How it cools was not measured: {}.",
                why.trim().trim_end_matches('.')
            ),
            Remedy::new(
                WorkStep::Measure,
                "Measure it when the weather allows, or ask the owner to accept it.",
            ),
        ),
        None => Found::new(
            "performance",
            Weight::Blocks,
            "How it cools has not been measured since it was charged.",
            Remedy::new(
                WorkStep::Measure,
                "Measure both pressures, the vent, the air outside and its humidity.",
            ),
        ),
    };
    vec![found.resting_on([charge.id.clone()])]
}

/// The row of `freeze-risk`.
pub const FREEZE_RISK: Rule = Rule {
    code: RuleCode::FreezeRisk,
    weights: &[Weight::Note],
    section: Section::Performance,
    task: Task::Performance,
    short: "may freeze",
    law: "An evaporator full of refrigerant below freezing ices over and lets no air through. One that gets too little is not cold all over, however low its pressure.",
    doubt: "The pressure is read at the port, not in the evaporator: it evaporates a little warmer there. Told where the air at the vent is not above {freeze_vent}.",
    change: "The switch, sensor or valve that should have kept it from freezing set right, and measured again.",
    source: PRACTICE,
    due: Due::Now,
    find: freeze,
    why: steps::of_performance,
};

fn freeze(case: &Case<'_>) -> Vec<Found> {
    let Some((id, p)) = performance::counted(case) else {
        return Vec::new();
    };
    let figures = figures::performance_of(case, p);
    let Some(k) = figures.evaporating_k else {
        return Vec::new();
    };
    let long = p
        .low_below_freezing_for
        .as_ref()
        .is_some_and(|d| d.si().s() > case.limits.freeze_time.s());
    let cold = k < case.limits.freeze.k() || (long && k < case.limits.freeze_long.k());
    let air_cold = p
        .vent
        .as_ref()
        .is_some_and(|vent| vent.si().k() <= case.limits.freeze_vent.k());
    let starved =
        performance::signs::Signs::of(case, p).superheat == Some(performance::signs::Level::High);
    let other = Decided::of(case, p).is_some_and(|d| {
        matches!(
            d.pattern,
            Pattern::ChargeLow | Pattern::Blockage | Pattern::ValveClosed
        )
    });
    if !cold || !air_cold || starved || other {
        return Vec::new();
    }
    let says = format!(
        "The refrigerant in the evaporator boils at {}: it may freeze over.",
        show::temperature(Temperature::new(k), case.units)
    );
    vec![
        Found::new(
            id.clone(),
            Weight::Note,
            says,
            Remedy::new(
                WorkStep::Measure,
                "Check the evaporator’s sensor or switch, the blower and the cabin filter.",
            ),
        )
        .resting_on([id])
        .value("evaporating_k", k),
    ]
}

/// The row of `condensing-high`.
pub const CONDENSING_HIGH: Rule = Rule {
    code: RuleCode::CondensingHigh,
    weights: &[Weight::Concession, Weight::Note],
    section: Section::Performance,
    task: Task::Performance,
    short: "condenser hot",
    law: "Heat goes from the condenser to the air by their difference in temperature; makers’ tables span 13 to 39 K.",
    doubt: "Idling without wind widens it; so do air in the circuit and too much charge.",
    change: "Airflow, fans and charge set right, and measured again.",
    source: "makers’ tables span 13 to 39 K",
    due: Due::Now,
    find: condensing,
    why: steps::of_performance,
};

fn condensing(case: &Case<'_>) -> Vec<Found> {
    let Some((id, p)) = performance::counted(case) else {
        return Vec::new();
    };
    let Some(k) = figures::performance_of(case, p)
        .condensing_above_ambient_k
        .filter(|k| *k > case.limits.condensing_note.k())
    else {
        return Vec::new();
    };
    // Where the cause is told as a fault already, the owner is not asked about the figure again.
    let decided = Decided::of(case, p);
    let weight = if k > case.limits.condensing_concession.k() && decided.is_none() {
        Weight::Concession
    } else {
        Weight::Note
    };
    let says = format!(
        "The refrigerant condenses {} above the air outside.",
        show::temperature_difference(TemperatureDifference::new(k), case.units)
    );
    let remedy = decided.map_or_else(
        || Remedy::new(WorkStep::Measure, "Check that the fans run and the condenser is clean; then think of too much refrigerant or air inside."),
        |d| d.remedy(case),
    );
    vec![
        Found::new(id.clone(), weight, says, remedy)
            .resting_on([id])
            .value("condensing_above_ambient_k", k),
    ]
}

/// The row of `cap-missing`.
pub const CAP_MISSING: Rule = Rule {
    code: RuleCode::CapMissing,
    weights: &[Weight::Note],
    section: Section::Ports,
    task: Task::Ports,
    short: "cap or core",
    law: "The cap of a service port is its seal; the core under it only keeps it closed while one works.",
    doubt: "None: it was looked at.",
    change: "A cap with its ring, a tight core.",
    source: PRACTICE,
    due: Due::AtReady,
    find: caps,
    why: steps::of_evidence,
};

fn caps(case: &Case<'_>) -> Vec<Found> {
    live(&case.record.ports, "ports")
        .filter(|(_, _, p)| p.cap == Some(false) || p.core == Some(PortCore::Leaks))
        .map(|(_, id, p)| {
            let side = p.side.map_or("service", Side::word);
            let what = if p.core == Some(PortCore::Leaks) {
                "has a leaking core"
            } else {
                "has no cap"
            };
            Found::new(
                id.clone(),
                Weight::Note,
                format!("The {side} side port {what}."),
                Remedy::new(
                    if p.core == Some(PortCore::Leaks) {
                        WorkStep::OpenRepair
                    } else {
                        WorkStep::Record
                    },
                    if p.core == Some(PortCore::Leaks) {
                        "Renew the core and put a cap with its ring on."
                    } else {
                        "Put a cap with its ring on."
                    },
                ),
            )
            .resting_on([id])
        })
        .collect()
}
