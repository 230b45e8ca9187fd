//! Evacuation: done, deep enough, long enough.
use super::Found;
use crate::{
    checks::{
        case::Case,
        evacuation::{Evacuated, needed_on},
        talk::depth,
        timeline::Stamp,
    },
    record::answer::Weight,
    units::{Seconds, Temperature, show},
};

pub fn missing(case: &Case<'_>) -> Vec<Found> {
    let Some(charge) = case.last_charge() else { return Vec::new() };
    let Some(charged_at) = charge.at else { return Vec::new() };
    let opening = case.openings.iter().rfind(|o| o.at < charged_at).map(|o| (o.at, o.says.clone(), o.about.clone()));
    let gas = case.gas_in.iter().rfind(|(at, _)| *at < charged_at).map(|(at, id)| (*at, "gas was let in".to_owned(), id.clone()));
    let Some((at, says, about)) = opening.into_iter().chain(gas).max_by_key(|x| x.0) else { return Vec::new() };
    let first_after = case.charges.iter().filter_map(|c| c.at).find(|c| *c > at).unwrap_or(charged_at);
    let between = |from: Stamp, to: Stamp| case.evacuations.iter().any(|e| e.counts() && e.start.is_some_and(|s| s > from && s < to));
    if between(at, charged_at.max(first_after)) {
        return Vec::new();
    }
    vec![
        Found::new(
            "evacuations",
            Weight::Blocks,
            format!("The circuit was charged after {says}, with no evacuation between."),
            "Recover the charge, evacuate, hold, and charge again.",
        )
        .resting_on([about, charge.id.clone()]),
    ]
}

/// The evacuation that tells whether the circuit is dry: any that dries, else the last.
fn deciding<'a>(case: &'a Case<'_>) -> Option<&'a Evacuated> {
    let current = case.current_evacuations();
    current.iter().find(|e| e.figures.dries == Some(true)).or(current.last()).copied()
}

/// What the gauge has to show before the circuit surely dries, its uncertainty reckoned in: exactly, and on its own graduations.
/// `None` where nothing is known of the metal; a gauge that cannot show it says so.
pub fn needed(e: &Evacuated) -> Option<(String, String)> {
    needed_on(e.water_pa?, e.figures.uncertainty_pa?, e.resolution_pa, e.air, e.unit.unwrap_or("kPa"), e.absolute_gauge)
}

fn reached(case: &Case<'_>, e: &Evacuated) -> String {
    depth(e.figures.lowest_pa.unwrap_or(0.0), case.units)
}

pub fn does_not_dry(case: &Case<'_>) -> Vec<Found> {
    let Some(e) = deciding(case).filter(|e| e.figures.dries == Some(false)) else { return Vec::new() };
    let (Some(boils), Some(metal)) = (e.figures.water_boils_at_k, e.metal) else { return Vec::new() };
    let need = needed(e)
        .map(|(need, dial)| match dial.starts_with("which") {
            true => format!(" It takes {need}, {dial}."),
            false => format!(" It takes {need}, {dial} on this gauge."),
        })
        .unwrap_or_default();
    let says = format!(
        "An evacuation to {} does not dry this car: water boils at {} at that depth, and the metal was at {}.{need}",
        reached(case, e),
        show::temperature(Temperature::new(boils), case.units),
        show::temperature(metal, case.units)
    );
    let next = match needed(e) {
        Some((_, dial)) if !dial.starts_with("which") => format!("Evacuate further, to {dial} or deeper, or warm the metal."),
        Some(_) => "Read a finer gauge, and evacuate further or warm the metal.".into(),
        None => "Evacuate further, or warm the metal.".into(),
    };
    vec![
        Found::new(e.id.clone(), Weight::Concession, says, next)
            .resting_on([e.id.clone()])
            .maybe("lowest_pa", e.figures.lowest_pa)
            .maybe("uncertainty_pa", e.figures.uncertainty_pa)
            .value("water_boils_at_k", boils)
            .value("coldest_metal_k", metal.k())
            .maybe("needed_below_pa", e.water_pa),
    ]
}

pub fn not_shown(case: &Case<'_>) -> Vec<Found> {
    let Some(e) = deciding(case).filter(|e| e.figures.dries.is_none()) else { return Vec::new() };
    let why = if e.figures.lowest_pa.is_none() {
        "no pressure is recorded"
    } else if e.metal.is_none() {
        "the temperature of the coldest metal is not recorded"
    } else if !e.absolute_gauge && e.air.uncertainty_pa > e.resolution_pa {
        "without a barometer in the workshop the depth is not known well enough"
    } else {
        "the gauge is too coarse"
    };
    let says = format!("Whether the evacuation dried the circuit cannot be told: {why}.");
    vec![
        Found::new(e.id.clone(), Weight::Note, says, "Read an electronic vacuum gauge, the barometer and the metal’s temperature.")
            .resting_on([e.id.clone()])
            .maybe("lowest_pa", e.figures.lowest_pa)
            .maybe("uncertainty_pa", e.figures.uncertainty_pa),
    ]
}

pub fn short(case: &Case<'_>) -> Vec<Found> {
    let current = case.current_evacuations();
    let longest = current.iter().filter_map(|e| Some((e.figures.duration_s?, *e))).max_by(|a, b| a.0.total_cmp(&b.0));
    let Some((seconds, e)) = longest.filter(|(s, _)| *s < case.limits.evacuation_minimum.s()) else { return Vec::new() };
    let says = format!("The evacuation took {}.", show::duration(Seconds::new(seconds)));
    vec![
        Found::new(
            e.id.clone(),
            Weight::Note,
            says,
            format!("Evacuate for {} at least; water takes time to leave.", show::duration(case.limits.evacuation_minimum)),
        )
        .resting_on([e.id.clone()])
        .value("duration_s", seconds),
    ]
}
