//! The charge: of the right refrigerant, by weight, as much as it should be, at the right time.
use super::Found;
use crate::{
    checks::{case::Case, figures, timeline::Stamp},
    record::answer::Weight,
    units::{Fraction, Mass, UnitSystem, show},
};

fn mass(kg: f64, units: UnitSystem) -> String {
    show::mass(Mass::new(kg), units)
}

pub fn before_hold(case: &Case<'_>) -> Vec<Found> {
    let asked = case.was_opened() || case.evacuations.iter().any(|e| e.counts());
    if case.hold_missing() || !asked {
        return Vec::new();
    }
    let Some(charge) = case.charges.iter().find(|c| c.at.is_some() && case.after_opening(c.at)) else { return Vec::new() };
    let passed_before = |at: Stamp| case.current_holds().iter().any(|h| h.passed() && h.last.is_some_and(|l| l < at));
    if charge.at.is_some_and(passed_before) {
        return Vec::new();
    }
    vec![
        Found::new(
            "charging",
            Weight::Concession,
            "Charging began before any hold was passed.",
            "Check every joint with an electronic detector; next time hold first.",
        )
        .resting_on([charge.id.clone()]),
    ]
}

pub fn wrong(case: &Case<'_>) -> Vec<Found> {
    let system = case.record.system.refrigerant;
    case.charges
        .iter()
        .filter_map(|c| {
            let other = c.entry.refrigerant.filter(|r| *r != system)?;
            let recovered = case.recoveries.iter().any(|r| r.at.zip(c.at).is_some_and(|(r, c)| r > c));
            (!recovered).then(|| {
                let says = format!("{other} was charged into a circuit labelled {system}.");
                Found::new(c.id.clone(), Weight::Blocks, says, "Recover it into a cylinder kept for mixtures, evacuate, and charge what the label says.")
                    .resting_on([c.id.clone()])
            })
        })
        .collect()
}

/// Nothing was charged after the last opening, although something is due.
fn nothing_charged(case: &Case<'_>) -> bool {
    let recovered: f64 = case.recoveries.iter().filter_map(|r| r.kg).sum();
    (recovered > 0.0 || case.was_opened()) && !case.charges.iter().any(|c| c.at.is_some() && case.after_opening(c.at))
}

pub fn missing(case: &Case<'_>) -> Vec<Found> {
    if !nothing_charged(case) || case.hold_missing() {
        return Vec::new();
    }
    let evidence: Vec<String> = case.last_opening().map(|o| o.about.clone()).into_iter().collect();
    vec![Found::new("charging", Weight::Blocks, "The circuit has not been charged since.", "Charge it by weight.").resting_on(evidence)]
}

pub fn unweighed(case: &Case<'_>) -> Vec<Found> {
    case.charges
        .iter()
        .filter(|c| c.net_kg.is_none())
        .map(|c| {
            Found::new(
                c.id.clone(),
                Weight::Concession,
                "A charge was not weighed: nobody can say how much is in the circuit.",
                "Record the cylinder’s mass before and after, or recover and charge by weight.",
            )
            .resting_on([c.id.clone()])
        })
        .collect()
}

pub fn unspecified(case: &Case<'_>) -> Vec<Found> {
    if case.charges.is_empty() || case.target.is_some() {
        return Vec::new();
    }
    vec![
        Found::new(
            "charging",
            Weight::Concession,
            "The circuit was charged, and no charge is on record that it should have.",
            "Enter the charge from the label under the bonnet.",
        )
        .resting_on(case.charges.iter().map(|c| c.id.clone())),
    ]
}

pub fn mismatch(case: &Case<'_>) -> Vec<Found> {
    let (Some(target), Some(net)) = (case.target, case.net_kg()) else { return Vec::new() };
    let difference = net - target.kg;
    if nothing_charged(case) || difference.abs() <= target.tolerance_kg + 1e-9 {
        return Vec::new();
    }
    let share = difference / target.kg;
    let far = share < -case.limits.charge_under.one() - 1e-9 || share > case.limits.charge_over.one() + 1e-9;
    let short = difference < 0.0;
    let says = format!(
        "The charge is {} {}. {} went in; {} says {}, give or take {}.",
        mass(difference.abs(), case.units),
        if short { "short" } else { "too much" },
        mass(net, case.units),
        if target.instead { "the charge in force" } else { "the label" },
        mass(target.kg, case.units),
        mass(target.tolerance_kg, case.units)
    );
    let next = if short { format!("Add {}.", mass(-difference, case.units)) } else { format!("Recover {}.", mass(difference, case.units)) };
    vec![
        Found::new("charging", if far { Weight::Blocks } else { Weight::Concession }, says, next)
            .resting_on(case.net_charges().iter().map(|c| c.id.clone()))
            .value("net_in_kg", net)
            .value("in_force_kg", target.kg)
            .value("tolerance_kg", target.tolerance_kg),
    ]
}

pub fn hose(case: &Case<'_>) -> Vec<Found> {
    let (least, most) = (mass(0.039, case.units), mass(0.069, case.units));
    case.charges
        .iter()
        .filter(|c| c.entry.before.is_some() && c.entry.left_in_hose.is_none())
        .map(|c| {
            Found::new(
                c.id.clone(),
                Weight::Note,
                format!("It is not recorded what stayed in the hose; filled with liquid it holds {least} to {most}."),
                "Record what stayed in the hose, or that it was emptied into the circuit.",
            )
            .resting_on([c.id.clone()])
        })
        .collect()
}

pub fn air_left(case: &Case<'_>) -> Vec<Found> {
    let figures = figures::charge(case);
    let (Some(ppm), Some(kg)) = (figures.air_left_ppm, figures.air_left_kg) else { return Vec::new() };
    let limit = case.limits.air_left.one() * 1e6;
    if case.charges.is_empty() || ppm <= limit {
        return Vec::new();
    }
    let says = format!(
        "The vacuum left {} of air, {} ppm of the charge; {} is the limit.",
        mass(kg, case.units),
        show::significant(ppm, 2),
        show::fraction(Fraction::new(case.limits.air_left.one()))
    );
    vec![
        Found::new("charging", Weight::Note, says, "Evacuate deeper next time; a condensing pressure that is too high points to air.")
            .value("air_left_kg", kg)
            .value("air_left_ppm", ppm),
    ]
}
