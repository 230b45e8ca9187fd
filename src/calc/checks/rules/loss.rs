//! What was lost before the car came, and how its leak is looked for.
use super::{Due, Found, Rule, RuleCode, Section, Task, leak_limit};
use crate::{
    checks::{
        case::Case,
        explain::steps,
        ledger::Before,
        loss::{self, Loss},
        remedy::Remedy,
        state::Inside,
        timeline::{Stamp, live},
    },
    record::answer::{Weight, WorkStep},
    units::{Instant, LeakRate, Mass, show},
};

/// The row of `loss-unexplained`.
pub const LOSS_UNEXPLAINED: Rule = Rule {
    code: RuleCode::LossUnexplained,
    weights: &[Weight::Concession],
    section: Section::Recovery,
    task: Task::Leaks,
    short: "loss not explained",
    law: "What a circuit lost went somewhere. More than the scale and a tight circuit explain, with no leak found, means that the leak is still there. Where nothing was recovered, a standing pressure that shows no liquid bounds what was left: its density by the equation of state, times the volume.",
    doubt: "The charge’s give or take, {loss_margin} and what a car may lose in the years since the last charge are allowed for.",
    change: "The leak found and entered, or the last charge’s mass or date corrected.",
    source: "common practice; Directive 2006/40/EC",
    due: Due::WhenCharged,
    find: unexplained,
    why: steps::of_loss,
};

fn unexplained(case: &Case<'_>) -> Vec<Found> {
    if case.record.open_since.is_some() {
        return Vec::new();
    }
    let by_weight: Vec<Found> = loss::losses(case)
        .iter()
        .filter(|l| !leak_known(case, l))
        .filter_map(|l| by_weight(case, l))
        .collect();
    // What was recovered says more than the pressure before.
    let recovered = case
        .ledger
        .runs
        .iter()
        .any(|run| run.before == Before::AsItCame && run.total.is_some());
    let leaks = live(&case.record.leaks, "leaks").next().is_some()
        || live(&case.record.leak_checks, "leak_checks").any(|(_, _, c)| !c.found.is_empty());
    if !by_weight.is_empty() || leaks || !case.work_begun() {
        return by_weight;
    }
    let found = if recovered {
        nothing_came_out(case)
    } else {
        by_pressure(case)
    };
    found.into_iter().collect()
}

/// A leak that was found after the charge of this record that was lost; of what the car came with, any.
fn leak_known(case: &Case<'_>, l: &Loss) -> bool {
    let since = if l.own {
        l.run
            .iter()
            .filter_map(|i| case.recoveries[*i].at)
            .min()
            .and_then(|at| last_charge_before(case, at))
    } else {
        None
    };
    let later = |at: Option<Instant>| {
        since.is_none_or(|since| at.is_some_and(|at| at.millis() >= since.ms))
    };
    live(&case.record.leaks, "leaks").any(|(_, _, leak)| later(leak.at.or(leak.repaired_at)))
        || live(&case.record.leak_checks, "leak_checks")
            .any(|(_, _, c)| !c.found.is_empty() && later(c.at))
}

fn last_charge_before(case: &Case<'_>, at: Stamp) -> Option<Stamp> {
    case.charges.iter().filter_map(|c| c.at).rfind(|c| *c < at)
}

/// More than a tight car may lose in that time.
fn beyond(case: &Case<'_>, lost_kg: f64, charged_kg: f64, years: Option<f64>) -> bool {
    let tolerance = case.target.map_or(0.0, |t| t.tolerance_kg);
    let limit = match years {
        Some(years) => leak_limit(case) * years,
        None => case.limits.loss_share.one() * charged_kg,
    };
    lost_kg > tolerance + case.limits.loss_margin.kg() && lost_kg > limit
}

fn by_weight(case: &Case<'_>, l: &Loss) -> Option<Found> {
    // Of a charge that was weighed in here, the tolerance of the label says nothing: what is known of both weighings does.
    let lost = if l.own { l.lost.low } else { l.lost_kg };
    if !beyond(case, lost, l.charged_kg, l.years) {
        return None;
    }
    let rate = l
        .kg_per_year
        .map(|rate| format!(", {}", show::leak_rate(LeakRate::new(rate), case.units)))
        .unwrap_or_default();
    let says = format!(
        "{} of refrigerant was lost{rate}, and no leak was found.",
        show::mass(Mass::new(l.lost_kg), case.units)
    );
    let evidence = l.run.iter().map(|i| case.recoveries[*i].id.clone());
    let found =
        Found::new("recovery", Weight::Concession, says, find_the_leak(case)).resting_on(evidence);
    Some(
        found
            .value("lost_kg", l.lost_kg)
            .maybe("kg_per_year", l.kg_per_year),
    )
}

/// Nothing was recovered: a standing pressure that shows no liquid bounds what was lost.
fn by_pressure(case: &Case<'_>) -> Option<Found> {
    let Some(b) = loss::by_pressure(case) else {
        return found_empty(case);
    };
    if !beyond(case, b.least_kg, b.charged_kg, b.years) {
        return None;
    }
    let mass = |kg: f64| show::mass(Mass::new(kg), case.units);
    let (least, most) = (mass(b.left.0), mass(b.left.1));
    let left = match b.left.0 > 0.0 {
        true if least == most => format!("about {least}"),
        true => format!("{least} to {most}"),
        false => format!("at most {most}"),
    };
    let found = if b.empty {
        "The circuit was found empty"
    } else {
        "The standing pressure shows no liquid"
    };
    let says = format!(
        "{found}: {left} of {} was left, and no leak was found.",
        mass(b.charged_kg)
    );
    let found = Found::new("recovery", Weight::Concession, says, find_the_leak(case))
        .resting_on([b.standing.clone()]);
    Some(
        found
            .value("lost_least_kg", b.least_kg)
            .value("lost_most_kg", b.most_kg),
    )
}

/// Found empty where nobody knows what it held once.
fn found_empty(case: &Case<'_>) -> Option<Found> {
    let opening = case.openings.iter().find(|o| o.found)?;
    let says = "The circuit was found empty, and no leak was found.";
    Some(
        Found::new("recovery", Weight::Concession, says, find_the_leak(case))
            .resting_on([opening.about.clone()]),
    )
}

/// A recovery of nothing where nobody knows what it held once.
fn nothing_came_out(case: &Case<'_>) -> Option<Found> {
    let run = case
        .ledger
        .runs
        .iter()
        .find(|run| run.before == Before::AsItCame)?;
    if loss::came_with(case).is_some() || run.total?.kg > case.limits.loss_margin.kg() {
        return None;
    }
    let says = "Nothing was left to recover, and no leak was found.";
    Some(
        Found::new("recovery", Weight::Concession, says, find_the_leak(case)).resting_on(
            run.recoveries
                .iter()
                .map(|i| case.recoveries[*i].id.clone()),
        ),
    )
}

/// The row of `overcharge-found`.
pub const OVERCHARGE_FOUND: Rule = Rule {
    code: RuleCode::OverchargeFound,
    weights: &[Weight::Note],
    section: Section::Recovery,
    task: Task::Recovery,
    short: "overcharge found",
    law: "More than the label’s charge raises the pressures and may have done harm already; a complaint of poor cooling may have come from it.",
    doubt: "The label’s tolerance, the scale’s steps and {loss_margin} are allowed for. Air or another gas that came out with it was weighed too.",
    change: "The weights or the label’s charge corrected. Charged to the label, it is put right.",
    source: "the label; 40 CFR 82 subpart B, appendix C: recovered mass within 30 g",
    due: Due::Now,
    find: overcharge,
    why: steps::of_loss,
};

fn overcharge(case: &Case<'_>) -> Vec<Found> {
    let should = case
        .target
        .map(|t| (t.kg, t.tolerance_kg))
        .or_else(|| loss::came_with(case).map(|(kg, _)| (kg, 0.0)));
    let Some((should, tolerance)) = should else {
        return Vec::new();
    };
    let Some(run) = case
        .ledger
        .runs
        .iter()
        .find(|run| run.before == Before::AsItCame)
    else {
        return Vec::new();
    };
    let Some(out) = run.total else {
        return Vec::new();
    };
    if out.low <= should + tolerance + case.limits.loss_margin.kg() {
        return Vec::new();
    }
    let mass = |kg: f64| show::mass(Mass::new(kg), case.units);
    let says = format!(
        "{} came out of a circuit that should hold {}: it was overcharged by {}.",
        mass(out.kg),
        mass(should),
        mass(out.kg - should)
    );
    let remedy = Remedy::new(
        WorkStep::Charge,
        format!("Charge {} by weight, not what came out.", mass(should)),
    );
    vec![
        Found::new("recovery", Weight::Note, says, remedy)
            .resting_on(
                run.recoveries
                    .iter()
                    .map(|i| case.recoveries[*i].id.clone()),
            )
            .value("recovered_kg", out.kg)
            .value("in_force_kg", should)
            .value("over_kg", out.kg - should),
    ]
}

/// How a leak is looked for from where the circuit stands: with a detector only where there is refrigerant that it sees, else with nitrogen.
pub fn find_the_leak(case: &Case<'_>) -> Remedy {
    if matches!(case.state().inside, Inside::Charged { .. }) {
        Remedy::new(
            WorkStep::Check,
            "Look for the leak with an electronic detector or dye, also at the evaporator’s drain.",
        )
    } else {
        Remedy::new(
            WorkStep::Nitrogen,
            "Look for the leak with dry nitrogen and soapy water or an ultrasonic detector, or a trace gas that the detector responds to.",
        )
    }
}
