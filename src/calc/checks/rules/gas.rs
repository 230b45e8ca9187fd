//! What gas is in the circuit, and where it went.
use super::{Due, Found, Rule, RuleCode, Section, Task};
use crate::{
    checks::{
        case::Case,
        explain::steps,
        figures,
        remedy::Remedy,
        timeline::{Rank, Stamp, live},
    },
    record::{
        Refrigerant,
        answer::{Weight, WorkStep},
    },
    units::{Fraction, PressureDifference, show},
};

/// The row of `standing-pressure-high`.
pub const STANDING_PRESSURE_HIGH: Rule = Rule {
    code: RuleCode::StandingPressureHigh,
    weights: &[Weight::Note],
    section: Section::Standing,
    task: Task::Standing,
    short: "pressure too high",
    law: "A liquid and its vapour at rest have one pressure at one temperature, the saturation pressure. More than that inside a circuit that rested is air, or another refrigerant.",
    doubt: "The circuit has to have the temperature of the air around it: hence after a cold soak only. {standing_excess} or what {standing_excess_temperature} make, whichever is more, is allowed for.",
    change: "The gas identified; or a reading after a longer rest.",
    source: "vapour pressure: more than that is air or another refrigerant",
    due: Due::Now,
    find: standing_high,
    why: steps::of_standing,
};

pub fn standing_high(case: &Case<'_>) -> Vec<Found> {
    live(&case.record.standing, "standing")
        .filter(|(_, _, s)| s.cold_soak == Some(true))
        .filter_map(|(_, id, s)| {
            let facts = figures::standing_of(case, s)?;
            let (excess, allowed) = (facts.excess_pa, facts.allowed_pa);
            (excess > allowed).then(|| {
                let says = format!(
                    "The circuit stands {} above what {} has at that temperature: air or another refrigerant is in there.",
                    show::pressure_difference(PressureDifference::new(excess), case.units),
                    case.record.system.refrigerant
                );
                Found::new(id.clone(), Weight::Note, says, Remedy::new(WorkStep::Identify, "Identify the gas before recovering it."))
                    .resting_on([id])
                    .value("excess_pa", excess)
                    .value("allowed_pa", allowed)
            })
        })
        .collect()
}

/// The row of `mixture-unidentified`.
pub const MIXTURE_UNIDENTIFIED: Rule = Rule {
    code: RuleCode::MixtureUnidentified,
    weights: &[Weight::Concession, Weight::Note],
    section: Section::Standing,
    task: Task::Identification,
    short: "gas not pure",
    law: "What is not one gas spoils the cylinder that it is recovered into and the machine that recovers it; it is recycled or charged only when it is known to be pure.",
    doubt: "An identifier tells shares to about a percent; it does not see every sealant.",
    change: "The mixture recovered into a cylinder kept for such, and the circuit evacuated. Sealant stays a matter for the owner.",
    source: "40 CFR 82 subpart B, appendices; common practice",
    due: Due::Now,
    find: mixture,
    why: steps::of_standing,
};

fn mixture(case: &Case<'_>) -> Vec<Found> {
    let first_recovery = case.recoveries.iter().filter_map(|r| r.at).min();
    let cured = |after: Option<Stamp>| {
        let recovered = case.recoveries.iter().filter_map(|r| r.at).find(|at| after.is_none_or(|a| *at > a));
        recovered.is_some_and(|r| case.evacuations.iter().any(|e| e.counts() && e.start.is_some_and(|s| s > r)))
    };
    let mut all: Vec<Found> = live(&case.record.identification, "identification")
        .filter_map(|(i, id, x)| {
            let most = x.gases.values().map(|f| f.si().one()).fold(None, |m: Option<f64>, v| Some(m.map_or(v, |m| m.max(v))));
            let impure = most.is_some_and(|m| m < case.limits.purity.one());
            let air = x.air.as_ref().map(|a| a.si().one());
            let airy = air.is_some_and(|a| a > case.limits.air_in_refrigerant.one());
            let sealant = x.sealant == Some(true);
            if !(impure || airy || sealant) {
                return None;
            }
            let weight = if !sealant && cured(x.at.map(|at| Stamp::new(at, Rank::Found, i))) { Weight::Note } else { Weight::Concession };
            let mut what = Vec::new();
            if let Some(most) = most.filter(|_| impure) {
                what.push(format!("only {} of one gas", show::fraction(Fraction::new(most))));
            }
            if let Some(air) = air.filter(|_| airy) {
                what.push(format!("{} of air", show::fraction(Fraction::new(air))));
            }
            if sealant {
                what.push("leak sealant".into());
            }
            let says = format!("The identification shows {}.", what.join(" and "));
            let next = if sealant {
                "Use the machine and the cylinder that are kept for sealant, and renew what it has fouled."
            } else {
                "Recover it into a cylinder kept for mixtures, then evacuate."
            };
            Some(Found::new(id.clone(), weight, says, Remedy::new(WorkStep::Recover, next)).resting_on([id]).maybe("most_of_one_gas", most).maybe("air", air))
        })
        .collect();
    let identified = live(&case.record.identification, "identification").any(|(_, _, x)| match (x.at, first_recovery) {
        (Some(at), Some(recovery)) => at.millis() <= recovery.ms,
        (_, None) => true,
        (None, Some(_)) => false,
    });
    if !identified {
        all.extend(standing_high(case).into_iter().map(|f| {
            let weight = if cured(None) { Weight::Note } else { Weight::Concession };
            Found {
                weight,
                says: "The standing pressure is higher than the refrigerant’s own, and nobody identified the gas before recovery.".into(),
                remedy: Remedy::new(WorkStep::Identify, "Treat what was recovered as a mixture until it is identified."),
                ..f
            }
        }));
    }
    all
}

/// The row of `recovery-missing`.
pub const RECOVERY_MISSING: Rule = Rule {
    code: RuleCode::RecoveryMissing,
    weights: &[Weight::Concession],
    section: Section::Recovery,
    task: Task::Recovery,
    short: "no recovery",
    law: "Refrigerant is recovered before a circuit is opened, never let out (40 CFR 82.154; other countries have the like). A recovery of 0 g or a pressure near the air’s shows that there was none.",
    doubt: "Within {empty_within} of the air’s pressure a circuit counts as empty.",
    change: "The recovery entered, also one of 0 g, or the standing pressure that showed it empty.",
    source: "40 CFR 82.154: refrigerant is recovered, never let out",
    due: Due::Now,
    find: recovery_missing,
    why: steps::of_evidence,
};

fn recovery_missing(case: &Case<'_>) -> Vec<Found> {
    if case.record.system.refrigerant == Refrigerant::R744 {
        return Vec::new();
    }
    let mut all = Vec::new();
    let mut charged: Option<Stamp> = None;
    let mut charges = case.charges.iter().filter_map(|c| c.at).peekable();
    let mut open = false;
    for opening in case.openings.iter().filter(|o| !o.found) {
        while let Some(at) = charges.next_if(|at| *at < opening.at) {
            (charged, open) = (Some(at), false);
        }
        // Only the first opening after a charge lets refrigerant out.
        if std::mem::replace(&mut open, true) {
            continue;
        }
        let since = |at: Stamp| charged.is_none_or(|c| at > c) && at < opening.at;
        let recovered = case.recoveries.iter().any(|r| r.at.is_some_and(since));
        let empty = case.standing_empty().any(|(at, _)| since(at)) || (charged.is_none() && case.record.open_since.is_some());
        if !recovered && !empty {
            let says = format!("Nothing was recovered before {}, and nothing shows that the circuit was empty.", opening.says);
            all.push(
                Found::new(
                    "recovery",
                    Weight::Concession,
                    says,
                    Remedy::new(WorkStep::Record, "Enter what was recovered, also where it was 0 g, or the standing pressure that showed it empty."),
                )
                .resting_on([opening.about.clone()]),
            );
        }
    }
    all.truncate(1);
    all
}

/// The row of `recovered-other`.
pub const RECOVERED_OTHER: Rule = Rule {
    code: RuleCode::RecoveredOther,
    weights: &[Weight::Note],
    section: Section::Recovery,
    task: Task::Recovery,
    short: "cylinder mixed",
    law: "A cylinder is for one refrigerant. What another one was recovered into is a mixture from then on.",
    doubt: "None: the two names differ.",
    change: "Nothing undoes it; the cylinder goes to reclaim.",
    source: "40 CFR 82 subpart B",
    due: Due::Now,
    find: recovered_other,
    why: steps::of_evidence,
};

fn recovered_other(case: &Case<'_>) -> Vec<Found> {
    let system = case.record.system.refrigerant;
    live(&case.record.recovery, "recovery")
        .filter_map(|(_, id, r)| {
            let other = r.refrigerant.filter(|x| *x != system)?;
            let cylinder = r.cylinder.as_deref().unwrap_or("that cylinder");
            let says = format!("{other} was recovered from a circuit labelled {system}: what is in {cylinder} is contaminated.");
            Some(
                Found::new(
                    id.clone(),
                    Weight::Note,
                    says,
                    Remedy::new(WorkStep::Record, format!("Mark {cylinder} as contaminated and do not charge from it.")),
                )
                .resting_on([id]),
            )
        })
        .collect()
}
