//! Evacuation: done, deep enough, long enough.
use super::{Due, Found, PRACTICE, Rule, RuleCode, Section, Task};
use crate::{
    checks::{
        case::Case,
        evacuation::{Evacuated, Needed, needed_on},
        explain::steps,
        remedy::Remedy,
        timeline::Stamp,
    },
    record::answer::{Weight, WorkStep},
    units::{Seconds, Temperature, show},
};

/// The row of `evacuation-missing`.
pub const EVACUATION_MISSING: Rule = Rule {
    code: RuleCode::EvacuationMissing,
    weights: &[Weight::Blocks],
    section: Section::Evacuation,
    task: Task::Evacuation,
    short: "no evacuation",
    law: "Air and water in a circuit stay in it unless they are pumped out; air raises the pressure, water makes acid.",
    doubt: "None: an evacuation between opening and charging is on record, or it is not.",
    change: "Recovered, evacuated, held and charged again.",
    source: PRACTICE,
    due: Due::Now,
    find: missing,
    why: steps::of_evidence,
};

pub fn missing(case: &Case<'_>) -> Vec<Found> {
    let Some(charge) = case.last_charge() else {
        return Vec::new();
    };
    let Some(charged_at) = charge.at else {
        return Vec::new();
    };
    let opening = case
        .openings
        .iter()
        .rfind(|o| o.at < charged_at)
        .map(|o| (o.at, o.says.clone(), o.about.clone()));
    let gas = case
        .gas_in
        .iter()
        .rfind(|(at, _)| *at < charged_at)
        .map(|(at, id)| (*at, "gas was let in".to_owned(), id.clone()));
    let Some((at, says, about)) = opening.into_iter().chain(gas).max_by_key(|x| x.0) else {
        return Vec::new();
    };
    let first_after = case
        .charges
        .iter()
        .filter_map(|c| c.at)
        .find(|c| *c > at)
        .unwrap_or(charged_at);
    let between = |from: Stamp, to: Stamp| {
        case.evacuations
            .iter()
            .any(|e| e.counts() && e.start.is_some_and(|s| s > from && s < to))
    };
    if between(at, charged_at.max(first_after)) {
        return Vec::new();
    }
    vec![
        Found::new(
            "evacuations",
            Weight::Blocks,
            format!("The system was charged after {says}, with no evacuation in between."),
            Remedy::new(
                WorkStep::Recover,
                "Recover the charge, evacuate, hold, and charge again.",
            )
            .then(WorkStep::Evacuate, "Evacuate."),
        )
        .resting_on([about, charge.id.clone()]),
    ]
}

/// The evacuation that tells whether the circuit is dry: any that dries, else the last.
fn deciding<'a>(case: &'a Case<'_>) -> Option<&'a Evacuated> {
    let current = case.current_evacuations();
    current
        .iter()
        .find(|e| e.figures.dries == Some(true))
        .or(current.last())
        .copied()
}

/// What the gauge has to show before the circuit surely dries, its uncertainty included. `None` where nothing is known of the metal.
pub fn needed(case: &Case<'_>, e: &Evacuated) -> Option<Needed> {
    Some(needed_on(
        e.water_pa?,
        e.figures.uncertainty_pa?,
        e.resolution_pa,
        e.air,
        e.absolute_gauge,
        case.voice_of_evacuation(e),
    ))
}

/// The row of `evacuation-does-not-dry`.
pub const EVACUATION_DOES_NOT_DRY: Rule = Rule {
    code: RuleCode::EvacuationDoesNotDry,
    weights: &[Weight::Concession],
    section: Section::Evacuation,
    task: Task::Evacuation,
    short: "not deep enough",
    law: "Water leaves when it boils, and it boils where the pressure is below its vapour pressure at the temperature of the metal (IAPWS-IF97; below 0.01 °C ice sublimes, IAPWS R14-08).",
    doubt: "The gauge’s half graduation, its zero error and the uncertainty of the air pressure are included: even the lowest pressure that the reading allows is too high.",
    change: "A deeper vacuum, a warmer circuit, a finer gauge that shows it was deeper.",
    source: "IAPWS-IF97 and IAPWS R14-08: the pressure at which water boils",
    due: Due::WhenHeld,
    find: does_not_dry,
    why: steps::of_evidence,
};

fn does_not_dry(case: &Case<'_>) -> Vec<Found> {
    let Some(e) = deciding(case).filter(|e| e.figures.dries == Some(false)) else {
        return Vec::new();
    };
    let (Some(boils), Some(metal)) = (e.figures.water_boils_at_k, e.metal) else {
        return Vec::new();
    };
    let needed = needed(case, e);
    let says = format!(
        "Not deep enough to dry the system. At {} water boils only at {}, and the metal was {}.",
        case.voice_of_evacuation(e)
            .depth(e.figures.lowest_pa.unwrap_or(0.0), e.air.pressure.pa()),
        show::temperature(Temperature::new(boils), case.units),
        show::temperature(metal, case.units)
    );
    let deeper = if e.absolute_gauge {
        "or less"
    } else {
        "or more"
    };
    let next = match needed {
        Some(Needed {
            exact,
            on_gauge: Some(dial),
        }) if dial == exact => {
            format!("Evacuate to {dial} {deeper}, or warm the metal with air or a lamp.")
        }
        Some(Needed {
            exact,
            on_gauge: Some(dial),
        }) => {
            format!(
                "Evacuate to {dial} {deeper} on this gauge (calculated: {exact}), or warm the metal with air or a lamp."
            )
        }
        Some(Needed {
            exact,
            on_gauge: None,
        }) => {
            format!(
                "Evacuate to {exact} {deeper}, which this gauge cannot show: read an electronic vacuum gauge, or warm the metal with air or a lamp."
            )
        }
        None => "Evacuate deeper, or warm the metal with air or a lamp.".into(),
    };
    let next = Remedy::new(WorkStep::Evacuate, next);
    vec![
        Found::new(e.id.clone(), Weight::Concession, says, next)
            .since(e.start)
            .resting_on([e.id.clone()])
            .maybe("lowest_pa", e.figures.lowest_pa)
            .maybe("uncertainty_pa", e.figures.uncertainty_pa)
            .value("water_boils_at_k", boils)
            .value("coldest_metal_k", metal.k())
            .maybe("needed_below_pa", e.water_pa),
    ]
}

/// The row of `dryness-not-shown`.
pub const DRYNESS_NOT_SHOWN: Rule = Rule {
    code: RuleCode::DrynessNotShown,
    weights: &[Weight::Note],
    section: Section::Evacuation,
    task: Task::Evacuation,
    short: "dryness not shown",
    law: "Water leaves when it boils. Whether the vacuum was deep enough lies within what gauge and barometer cannot tell.",
    doubt: "The uncertainty of the reading is larger than its distance from the vapour pressure of water.",
    change: "An electronic vacuum gauge, the barometer of the workshop, or the temperature of the coldest metal.",
    source: "IAPWS-IF97 and IAPWS R14-08: the pressure at which water boils",
    due: Due::WhenHeld,
    find: not_shown,
    why: steps::of_evidence,
};

fn not_shown(case: &Case<'_>) -> Vec<Found> {
    let Some(e) = deciding(case).filter(|e| e.figures.dries.is_none()) else {
        return Vec::new();
    };
    let why = if e.figures.lowest_pa.is_none() {
        "no pressure is recorded"
    } else if e.metal.is_none() {
        "the temperature of the coldest metal is not recorded"
    } else if !e.absolute_gauge && e.air.uncertainty_pa > e.resolution_pa {
        "without the workshop’s barometer the depth is not known well enough"
    } else {
        "the gauge is too coarse"
    };
    let says = format!("Cannot tell whether the evacuation dried the system: {why}.");
    vec![
        Found::new(
            e.id.clone(),
            Weight::Note,
            says,
            Remedy::new(
                WorkStep::Measure,
                "Read an electronic vacuum gauge, the barometer and the metal’s temperature.",
            ),
        )
        .resting_on([e.id.clone()])
        .since(e.start)
        .maybe("lowest_pa", e.figures.lowest_pa)
        .maybe("uncertainty_pa", e.figures.uncertainty_pa),
    ]
}

/// The row of `evacuation-short`.
pub const EVACUATION_SHORT: Rule = Rule {
    code: RuleCode::EvacuationShort,
    weights: &[Weight::Note],
    section: Section::Evacuation,
    task: Task::Evacuation,
    short: "short evacuation",
    law: "Water takes time to boil off and to reach the pump, and the depth alone does not show that it is gone.",
    doubt: "How much there was is not known; {evacuation_minimum} are the shop’s limit, and practice.",
    change: "A longer evacuation.",
    source: PRACTICE,
    due: Due::WhenHeld,
    find: short,
    why: steps::of_evidence,
};

fn short(case: &Case<'_>) -> Vec<Found> {
    let current = case.current_evacuations();
    let longest = current
        .iter()
        .filter_map(|e| Some((e.figures.duration_s?, *e)))
        .max_by(|a, b| a.0.total_cmp(&b.0));
    let Some((seconds, e)) = longest.filter(|(s, _)| *s < case.limits.evacuation_minimum.s())
    else {
        return Vec::new();
    };
    let says = format!(
        "The evacuation took {}; the shop’s minimum is {}.",
        show::duration_so_far(Seconds::new(seconds)),
        show::duration(case.limits.evacuation_minimum)
    );
    vec![
        Found::new(
            e.id.clone(),
            Weight::Note,
            says,
            Remedy::new(
                WorkStep::Evacuate,
                format!(
                    "Evacuate for at least {}; water takes time to leave.",
                    show::duration(case.limits.evacuation_minimum)
                ),
            ),
        )
        .since(e.start)
        .resting_on([e.id.clone()])
        .value("duration_s", seconds),
    ]
}
