//! Holds: made, passed, able to show what matters.
use super::{Found, refrigerant::leak_limit};
use crate::{
    checks::{
        case::Case,
        hold::Held,
        outlook::{self, Test},
        talk::{leak, real_vapour},
        timeline::{Rank, Stamp, live},
    },
    record::{
        HoldKind, Method, ProvedOn,
        answer::{Verdict, Weight},
    },
    units::{LeakRate, PressureDifference, Seconds, show},
};

pub fn missing(case: &Case<'_>) -> Vec<Found> {
    if !case.hold_missing() {
        return Vec::new();
    }
    let stale = case.holds.iter().filter(|h| h.counts()).max_by_key(|h| h.start);
    let unreadable = case.holds.iter().filter(|h| h.ended && !h.counts() && case.after_opening(h.start)).max_by_key(|h| h.start);
    let running = case.holds.iter().any(|h| !h.ended);
    let says = match (unreadable, stale.and_then(|h| h.figures.stale_because.as_deref())) {
        (Some(h), _) => format!("There is no hold that can be read: {}.", h.why(case.units).unwrap_or_else(|| "it shows nothing".into())),
        (None, Some(why)) => format!("The hold does not count any more. {why}"),
        (None, None) if case.was_opened() => "The circuit was opened, and no hold was made since.".into(),
        (None, None) => "The circuit was evacuated, and no hold was made.".into(),
    };
    let next = match running {
        true => "Finish the hold that is running.".to_owned(),
        false => format!("Evacuate, close off, and read the gauge at the beginning and after {} or more.", show::duration(case.limits.hold_minimum)),
    };
    let evidence: Vec<String> = case.last_opening().map(|o| o.about.clone()).into_iter().chain(unreadable.or(stale).map(|h| h.id.clone())).collect();
    vec![Found::new("holds", Weight::Blocks, says, next).resting_on(evidence)]
}

pub fn failed(case: &Case<'_>) -> Vec<Found> {
    case.holds
        .iter()
        .filter(|h| h.ended && h.says == Verdict::Leak && !cleared(case, h))
        .map(|h| {
            let moved = h.figures.change_pa.unwrap_or(0.0);
            let low = h.figures.leak_low_kg_per_year.map(|r| leak(case, r));
            let high = h.figures.leak_high_kg_per_year.map(|r| show::leak_rate(LeakRate::new(r), case.units));
            let how = if h.kind == Some(HoldKind::Pressure) { "lost" } else { "rose by" };
            let rate = low.zip(high).map(|(low, high)| format!(": a leak of {low} to {high}")).unwrap_or_default();
            let says = format!(
                "The {} hold {how} {} in {}{rate}.",
                h.kind.map_or("", HoldKind::word),
                show::pressure_difference(PressureDifference::new(moved), case.units),
                show::duration(Seconds::new(h.figures.duration_s.unwrap_or(0.0)))
            );
            Found::new(h.id.clone(), Weight::Blocks, says, what_clears(case, h))
                .resting_on([h.id.clone()])
                .value("change_pa", moved)
                .maybe("duration_s", h.figures.duration_s)
                .maybe("leak_low_kg_per_year", h.figures.leak_low_kg_per_year)
                .maybe("leak_high_kg_per_year", h.figures.leak_high_kg_per_year)
        })
        .collect()
}

/// What to do about a failed hold, and which test of the shop's own clears it.
fn what_clears(case: &Case<'_>, h: &Held) -> String {
    let Some((test, gauge)) = outlook::clearing(case, h) else {
        return format!(
            "Find the leak with nitrogen and a detector, repair it, evacuate, and hold again for {} or longer on a gauge that reads to {} or finer: that can show it.",
            show::duration(Seconds::new(h.figures.duration_s.unwrap_or(0.0))),
            show::pressure_difference(PressureDifference::new(h.resolution_pa), case.units)
        );
    };
    let first = if matches!(test, Test::Vacuum(..)) { "repair it and evacuate" } else { "repair it" };
    format!(
        "Find the leak with nitrogen and a detector, {first}; then {}, can show it if the metal’s temperature is read at both ends.",
        outlook::words(case, &test, &gauge)
    )
}

/// Cleared only by a later hold that could have shown it.
fn cleared(case: &Case<'_>, failed: &Held) -> bool {
    case.holds.iter().filter(|h| h.passed() && h.start > failed.start).any(|h| match failed.figures.leak_high_kg_per_year {
        Some(high) => h.figures.smallest_leak_shown_kg_per_year.is_some_and(|shown| shown <= high),
        None => {
            let slope = failed.figures.slope_pa_per_s.map(f64::abs);
            h.kind == failed.kind && h.shown_pa_per_s.zip(slope).is_some_and(|(shown, slope)| shown <= slope)
        }
    })
}

pub fn moisture(case: &Case<'_>) -> Vec<Found> {
    let current = case.current_holds();
    let Some(h) = current.iter().rfind(|h| h.kind == Some(HoldKind::Vacuum)).filter(|h| h.says == Verdict::Moisture) else { return Vec::new() };
    let says = match h.level_pa() {
        Some(level) => format!(
            "The vacuum rose and came to rest at {}, as water makes it: there is water in the circuit.",
            show::pressure(crate::units::AbsolutePressure::new(level), case.units)
        ),
        None => "The vacuum stands where water holds it: there is water in the circuit.".into(),
    };
    vec![
        Found::new(h.id.clone(), Weight::Concession, says, "Warm the circuit, evacuate longer and deeper, with dry nitrogen in between, and hold again.")
            .resting_on([h.id.clone()])
            .maybe("change_pa", h.figures.change_pa)
            .maybe("levels_off_at_pa", h.level_pa()),
    ]
}

/// No hold after the last opening was passed; the last one that counts.
fn last_unpassed<'a>(case: &'a Case<'_>) -> Option<&'a Held> {
    let current = case.current_holds();
    if current.iter().any(|h| h.passed()) { None } else { current.last().copied() }
}

pub fn too_short(case: &Case<'_>) -> Vec<Found> {
    let Some(h) = last_unpassed(case).filter(|h| h.says == Verdict::TooShort) else { return Vec::new() };
    let minimum = case.limits.least_hold(h.kind);
    let took = h.figures.duration_s.unwrap_or(0.0);
    let says = format!("The hold took {}; it counts from {}.", show::duration_so_far(Seconds::new(took)), show::duration(minimum));
    vec![
        Found::new(h.id.clone(), Weight::Concession, says, format!("Hold again for {} or longer.", show::duration(minimum)))
            .resting_on([h.id.clone()])
            .value("duration_s", took)
            .value("minimum_s", minimum.s()),
    ]
}

pub fn inconclusive(case: &Case<'_>) -> Vec<Found> {
    let Some(h) = last_unpassed(case).filter(|h| h.says == Verdict::Inconclusive) else { return Vec::new() };
    let weight = if checked_all_joints(case) { Weight::Note } else { Weight::Concession };
    let moved = show::pressure_difference(PressureDifference::new(h.figures.change_pa.unwrap_or(0.0)), case.units);
    let (says, next) = if h.stillness_not_shown() {
        (
            format!("The gauge moved by {moved}: that may be how it was read, or a leak; these readings cannot tell."),
            "Hold again, and read the gauge eight times or more, or read a finer one.".to_owned(),
        )
    } else {
        (
            format!("The deep vacuum rose by {moved}: a leak, or gas that leaves oil and rubber; one hold cannot tell them apart."),
            format!(
                "Evacuate for {} more and hold again: gas from oil and rubber grows less, a leak does not.",
                show::duration(case.limits.outgassing_evacuation)
            ),
        )
    };
    vec![
        Found::new(h.id.clone(), weight, says, next)
            .resting_on([h.id.clone()])
            .maybe("change_pa", h.figures.change_pa)
            .maybe("slope_pa_per_s", h.figures.slope_pa_per_s),
    ]
}

pub fn temperature_missing(case: &Case<'_>) -> Vec<Found> {
    let doubt = show::temperature_difference_short(case.limits.temperature_doubt_missing, case.units);
    case.holds
        .iter()
        .filter(|h| h.counts() && h.temperature_missing)
        .map(|h| {
            Found::new(
                h.id.clone(),
                Weight::Note,
                format!("The pressure hold has no temperature at both ends: a change of {doubt} looks like a leak, or hides one."),
                "Read the metal’s temperature at the first and the last reading.",
            )
            .resting_on([h.id.clone()])
        })
        .collect()
}

pub fn not_sensitive(case: &Case<'_>) -> Vec<Found> {
    if case.charges.is_empty() || checked_all_joints(case) {
        return Vec::new();
    }
    let current = case.current_holds();
    let shown = |h: &&&Held| h.figures.smallest_leak_shown_kg_per_year;
    let Some(h) =
        current.iter().filter(|h| h.passed() && shown(h).is_some()).min_by(|a, b| shown(a).unwrap_or(f64::MAX).total_cmp(&shown(b).unwrap_or(f64::MAX)))
    else {
        return Vec::new();
    };
    let (smallest, limit) = (shown(&h).unwrap_or(f64::MAX), leak_limit(case));
    if smallest <= limit {
        return Vec::new();
    }
    let says = format!(
        "Nothing done so far would find a slow leak. {} The limit is {}.",
        rules_out(case, h).unwrap_or_default(),
        show::leak_rate(LeakRate::new(limit), case.units)
    );
    let next = format!(
        "Check every opened joint with an electronic detector of {} or finer, proved on a reference leak, now that it is charged.",
        show::leak_rate(case.limits.check_sensitivity, case.units)
    );
    vec![
        Found::new("leak_checks", Weight::Concession, says, next)
            .resting_on([h.id.clone()])
            .value("smallest_leak_shown_kg_per_year", smallest)
            .maybe("hours_to_empty_at_smallest", h.figures.hours_to_empty_at_smallest)
            .value("limit_kg_per_year", limit),
    ]
}

/// What a hold rules out, in one sentence: "The hold rules out a leak of 309 kg a year and more, one that would empty the car within 17.0 hours."
/// Of R-744 the figure is the least that it may be, and the sentence says so.
pub fn rules_out(case: &Case<'_>, h: &Held) -> Option<String> {
    let smallest = h.figures.smallest_leak_shown_kg_per_year?;
    let kind = h.kind.map_or("", HoldKind::word);
    let empty = h
        .figures
        .hours_to_empty_at_smallest
        .map(|hours| format!(", one that would empty the car within {}", show::duration(Seconds::new(hours * 3600.0))))
        .unwrap_or_default();
    let rate = leak(case, smallest);
    Some(match real_vapour(case) {
        None => format!("The {kind} hold rules out a leak of {rate} and more{empty}, and nothing smaller."),
        Some(why) => format!("The smallest leak that the {kind} hold rules out is {rate}{empty}; {why}."),
    })
}

/// An electronic check, fine enough and proved on a reference leak, of every opened joint after the last charging.
fn checked_all_joints(case: &Case<'_>) -> bool {
    let Some(charged) = case.last_charge().and_then(|c| c.at) else { return false };
    let mut covered: Vec<String> = Vec::new();
    let mut any = false;
    for (i, _, check) in live(&case.record.leak_checks, "leak_checks") {
        let later = check.at.is_some_and(|at| Stamp::new(at, Rank::LeakCheck, i) > charged);
        let fine = check.sensitivity.as_ref().is_some_and(|s| s.si().kg_per_year() <= case.limits.check_sensitivity.kg_per_year() + 1e-12);
        if later && fine && check.method == Some(Method::Electronic) && check.proved_on == Some(ProvedOn::ReferenceLeak) {
            any = true;
            covered.extend(check.places.iter().map(|p| case.place_key(p)));
        }
    }
    any && case.joints.iter().filter(|j| j.opened.is_some()).all(|j| covered.contains(&j.id))
}
