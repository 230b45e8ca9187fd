//! Performance and the last things before handing over.
use super::{Due, Found, PRACTICE, Rule, RuleCode, Section, Task};
use crate::{
    checks::{
        case::Case,
        explain::steps,
        figures,
        remedy::Remedy,
        timeline::{Rank, Stamp, live},
    },
    record::{
        Performance, PortCore, Side,
        answer::{Weight, WorkStep},
    },
    units::{Temperature, TemperatureDifference, show},
};

fn readings<'a>(case: &'a Case<'_>) -> impl Iterator<Item = (Option<Stamp>, String, &'a Performance)> {
    live(&case.record.performance, "performance").map(|(i, id, p)| (p.at.map(|at| Stamp::new(at, Rank::Performance, i)), id, p))
}

/// The last reading after the last charging; it is the one that the customer gets.
fn last<'a>(case: &'a Case<'_>) -> Option<(String, &'a Performance)> {
    let charged = case.last_charge().and_then(|c| c.at);
    readings(case).filter(|(at, ..)| charged.is_none_or(|c| at.is_some_and(|at| at > c))).max_by_key(|(at, ..)| *at).map(|(_, id, p)| (id, p))
}

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
    let Some(charge) = case.last_charge() else { return Vec::new() };
    let measured = readings(case).any(|(at, ..)| at.zip(charge.at).is_some_and(|(at, c)| at > c));
    if measured {
        return Vec::new();
    }
    let found = match case.record.performance_omitted.as_deref().filter(|w| !w.trim().is_empty()) {
        Some(why) => Found::new(
            "performance",
            Weight::Concession,
            format!("How it cools was not measured: {why}"),
            Remedy::new(WorkStep::Measure, "Measure it when the weather allows, or ask the owner to accept it."),
        ),
        None => Found::new(
            "performance",
            Weight::Blocks,
            "How it cools has not been measured since it was charged.",
            Remedy::new(WorkStep::Measure, "Measure both pressures, the vent, the air outside and its humidity."),
        ),
    };
    vec![found.resting_on([charge.id.clone()])]
}

/// The row of `vent-warm`.
pub const VENT_WARM: Rule = Rule {
    code: RuleCode::VentWarm,
    weights: &[Weight::Blocks, Weight::Concession],
    section: Section::Performance,
    task: Task::Performance,
    short: "vent warm",
    law: "Makers give the warmest air that a sound system blows, for the outside temperature and humidity.",
    doubt: "The makers’ tables differ by some kelvins; the warm end of each is taken, straight between rows, and beyond them nothing is judged.",
    change: "What makes it warm found, or the table changed to the maker’s of this car.",
    source: "makers’ tables",
    due: Due::Now,
    find: vent_warm,
    why: steps::of_performance,
};

fn vent_warm(case: &Case<'_>) -> Vec<Found> {
    let Some((id, p)) = last(case) else { return Vec::new() };
    let (Some(vent), Some(ambient)) = (p.vent.as_ref().map(|t| t.si().k()), p.ambient.as_ref().map(|t| t.si().k())) else { return Vec::new() };
    let hot = ambient >= case.limits.vent_drop_ambient.k() && ambient - vent < case.limits.vent_drop.k();
    let allowed = p.humidity.as_ref().and_then(|h| figures::vent_allowed(case, ambient, h.si().one()));
    if !hot && allowed.is_none_or(|a| vent <= a + 1e-9) {
        return Vec::new();
    }
    let show_t = |k: f64| show::temperature_to(Temperature::new(k), 1, case.units);
    let right = allowed.map(|a| format!("; up to {} is right on a day like this", show_t(a))).unwrap_or_default();
    let says = format!("The air at the vent was {} at {} outside{right}.", show_t(vent), show_t(ambient));
    vec![
        Found::new(
            id.clone(),
            if hot { Weight::Blocks } else { Weight::Concession },
            says,
            Remedy::new(WorkStep::Measure, "Look at charge, condenser airflow, expansion device, blend door and cabin filter, then measure again."),
        )
        .resting_on([id])
        .value("vent_k", vent)
        .value("ambient_k", ambient)
        .maybe("allowed_k", allowed),
    ]
}

/// The row of `freeze-risk`.
pub const FREEZE_RISK: Rule = Rule {
    code: RuleCode::FreezeRisk,
    weights: &[Weight::Note],
    section: Section::Performance,
    task: Task::Performance,
    short: "may freeze",
    law: "Below freezing the evaporator ices over and lets no air through.",
    doubt: "The pressure is read at the port, not in the evaporator: it evaporates a little warmer there.",
    change: "The switch, sensor or valve that should have kept it from freezing set right, and measured again.",
    source: PRACTICE,
    due: Due::Now,
    find: freeze,
    why: steps::of_performance,
};

fn freeze(case: &Case<'_>) -> Vec<Found> {
    let Some((id, p)) = last(case) else { return Vec::new() };
    let Some(k) = figures::performance_of(case, p).evaporating_k else { return Vec::new() };
    let long = p.low_below_freezing_for.as_ref().is_some_and(|d| d.si().s() > case.limits.freeze_time.s());
    if k >= case.limits.freeze.k() && !(long && k < case.limits.freeze_long.k()) {
        return Vec::new();
    }
    let says = format!("The evaporator boils at {}: it may freeze over.", show::temperature(Temperature::new(k), case.units));
    vec![
        Found::new(id.clone(), Weight::Note, says, Remedy::new(WorkStep::Measure, "Look at the evaporator’s sensor or switch and at the blower."))
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
    let Some((id, p)) = last(case) else { return Vec::new() };
    let Some(k) = figures::performance_of(case, p).condensing_above_ambient_k.filter(|k| *k > case.limits.condensing_note.k()) else { return Vec::new() };
    let weight = if k > case.limits.condensing_concession.k() { Weight::Concession } else { Weight::Note };
    let says = format!("The condenser works {} above the air outside.", show::temperature_difference(TemperatureDifference::new(k), case.units));
    vec![
        Found::new(id.clone(), weight, says, Remedy::new(WorkStep::Measure, "Look at fans, dirt on the condenser, too much charge, air in the circuit."))
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
            let what = if p.core == Some(PortCore::Leaks) { "has a leaking core" } else { "has no cap" };
            Found::new(
                id.clone(),
                Weight::Note,
                format!("The {side} side port {what}."),
                Remedy::new(
                    if p.core == Some(PortCore::Leaks) { WorkStep::OpenRepair } else { WorkStep::Record },
                    if p.core == Some(PortCore::Leaks) { "Renew the core and put a cap with its ring on." } else { "Put a cap with its ring on." },
                ),
            )
            .resting_on([id])
        })
        .collect()
}
