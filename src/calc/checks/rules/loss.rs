//! What was lost before the car came, and how its leak is looked for.
use super::{Due, Found, Rule, RuleCode, Section, Task, leak_limit};
use crate::{
    checks::{case::Case, explain::steps, figures, remedy::Remedy, state::Inside, timeline::live},
    record::answer::{Weight, WorkStep},
    units::{LeakRate, Mass, show},
};

/// The row of `loss-unexplained`.
pub const LOSS_UNEXPLAINED: Rule = Rule {
    code: RuleCode::LossUnexplained,
    weights: &[Weight::Concession],
    section: Section::Recovery,
    task: Task::Leaks,
    short: "loss not explained",
    law: "What a circuit lost went somewhere. More than the scale and a tight circuit explain, with no leak found, means that the leak is still there.",
    doubt: "The charge’s give or take, {loss_margin} and what a car may lose in the years since the last charge are allowed for.",
    change: "The leak found and entered, or the last charge’s mass or date corrected.",
    source: "common practice; Directive 2006/40/EC",
    due: Due::WhenCharged,
    find: loss,
    why: steps::of_loss,
};

fn loss(case: &Case<'_>) -> Vec<Found> {
    let r = case.record;
    let leak_known = live(&r.leaks, "leaks").next().is_some() || live(&r.leak_checks, "leak_checks").any(|(_, _, c)| !c.found.is_empty());
    if r.open_since.is_some() || leak_known || case.recoveries.is_empty() {
        return Vec::new();
    }
    let Some(loss) = figures::loss(case) else { return Vec::new() };
    let tolerance = case.target.map_or(0.0, |t| t.tolerance_kg);
    let limit = leak_limit(case);
    let beyond = match loss.years {
        Some(years) => loss.lost_kg > limit * years,
        None => loss.lost_kg > case.limits.loss_share.one() * loss.charged_kg,
    };
    if loss.lost_kg <= tolerance + case.limits.loss_margin.kg() || !beyond {
        return Vec::new();
    }
    let rate = loss.kg_per_year.map(|rate| format!(", {}", show::leak_rate(LeakRate::new(rate), case.units))).unwrap_or_default();
    let says = format!("{} of refrigerant was lost{rate}, and no leak was found.", show::mass(Mass::new(loss.lost_kg), case.units));
    vec![
        Found::new("recovery", Weight::Concession, says, find_the_leak(case))
            .resting_on(case.recoveries.iter().map(|r| r.id.clone()))
            .value("lost_kg", loss.lost_kg)
            .maybe("kg_per_year", loss.kg_per_year),
    ]
}

/// How a leak is looked for from where the circuit stands: with a detector only where there is refrigerant that it sees, else with nitrogen.
pub fn find_the_leak(case: &Case<'_>) -> Remedy {
    if matches!(case.state().inside, Inside::Charged { .. }) {
        Remedy::new(WorkStep::Check, "Look for the leak with an electronic detector or dye, also at the evaporator’s drain.")
    } else {
        Remedy::new(
            WorkStep::Nitrogen,
            "Look for the leak with dry nitrogen and soapy water or an ultrasonic detector, or a trace gas that the detector responds to.",
        )
    }
}
