//! What gas is in the circuit, and where it went.
use super::Found;
use crate::{
    checks::{
        case::Case,
        figures,
        timeline::{Rank, Stamp, live},
    },
    record::{Refrigerant, answer::Weight},
    units::{Fraction, LeakRate, Mass, PressureDifference, show},
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
                Found::new(id.clone(), Weight::Note, says, "Identify the gas before recovering it.")
                    .resting_on([id])
                    .value("excess_pa", excess)
                    .value("allowed_pa", allowed)
            })
        })
        .collect()
}

pub fn mixture(case: &Case<'_>) -> Vec<Found> {
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
            Some(Found::new(id.clone(), weight, says, next).resting_on([id]).maybe("most_of_one_gas", most).maybe("air", air))
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
                do_next: "Treat what was recovered as a mixture until it is identified.".into(),
                ..f
            }
        }));
    }
    all
}

pub fn recovery_missing(case: &Case<'_>) -> Vec<Found> {
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
                    "Record what was recovered, also where it was 0 g, or the standing pressure that showed it empty.",
                )
                .resting_on([opening.about.clone()]),
            );
        }
    }
    all.truncate(1);
    all
}

pub fn recovered_other(case: &Case<'_>) -> Vec<Found> {
    let system = case.record.system.refrigerant;
    live(&case.record.recovery, "recovery")
        .filter_map(|(_, id, r)| {
            let other = r.refrigerant.filter(|x| *x != system)?;
            let cylinder = r.cylinder.as_deref().unwrap_or("that cylinder");
            let says = format!("{other} was recovered from a circuit labelled {system}: what is in {cylinder} is contaminated.");
            Some(Found::new(id.clone(), Weight::Note, says, format!("Mark {cylinder} as contaminated and do not charge from it.")).resting_on([id]))
        })
        .collect()
}

pub fn loss(case: &Case<'_>) -> Vec<Found> {
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
        Found::new("recovery", Weight::Concession, says, "Look for the leak: nitrogen with an electronic detector, dye, the evaporator’s drain.")
            .resting_on(case.recoveries.iter().map(|r| r.id.clone()))
            .value("lost_kg", loss.lost_kg)
            .maybe("kg_per_year", loss.kg_per_year),
    ]
}

/// What a car may lose, kg a year.
pub fn leak_limit(case: &Case<'_>) -> f64 {
    let two = case.record.system.evaporators.is_some_and(|n| n >= 2);
    if two { case.limits.leak_limit_two_evaporators.kg_per_year() } else { case.limits.leak_limit.kg_per_year() }
}
