//! Slow leaks: what a hold rules out, and whether anything done would find one.
use super::{
    Due, Found, Rule, RuleCode, Section, Task, leak_limit, leak_limit::told as limit_told,
};
use crate::{
    checks::{
        case::Case,
        clears,
        explain::steps,
        hold::Held,
        remedy::Remedy,
        talk::{empties_in, leak, real_vapour},
        timeline::{Rank, Stamp, live},
    },
    record::{
        HoldKind,
        answer::{Weight, WorkStep},
    },
    units::show,
};

/// The row of `hold-not-sensitive`.
pub const HOLD_NOT_SENSITIVE: Rule = Rule {
    code: RuleCode::HoldNotSensitive,
    weights: &[Weight::Concession],
    section: Section::Leaks,
    task: Task::Checks,
    short: "slow leak not excluded",
    law: "No hold of usual length on a usual gauge shows a leak as small as the limit: {leak_limit}, or {leak_limit_two_evaporators} with two evaporators, for a refrigerant with a GWP above 150 (Directive 2006/40/EC); the shop’s own for others ({leak_limit_low_gwp}, {leak_limit_low_gwp_two_evaporators}). A detector does.",
    doubt: "The smallest leak is calculated at the worst: largest volume, the form of flow that makes most of it. A hold speaks of a hole that is open in both directions, in the part of the circuit that was on the gauge; not of gas that permeates hoses, and a vacuum not of what leaks only under pressure.",
    change: "An electronic check of {check_sensitivity} or finer, proved on a reference leak, of every opened joint after the last charging.",
    source: "Directive 2006/40/EC for a GWP above 150: 40 g a year, 60 g with two evaporators; the shop’s own limit for others; SAE J2791 and J2913 for detectors",
    due: Due::AtReady,
    find: not_sensitive,
    why: steps::of_limit,
};

fn not_sensitive(case: &Case<'_>) -> Vec<Found> {
    if case.charges.is_empty() || checked_all_joints(case) {
        return Vec::new();
    }
    let current = case.current_holds();
    let shown = |h: &&&Held| h.figures.smallest_leak_shown_kg_per_year;
    let Some(h) = current
        .iter()
        .filter(|h| h.passed() && shown(h).is_some())
        .min_by(|a, b| {
            shown(a)
                .unwrap_or(f64::MAX)
                .total_cmp(&shown(b).unwrap_or(f64::MAX))
        })
    else {
        return Vec::new();
    };
    let (smallest, limit) = (shown(&h).unwrap_or(f64::MAX), leak_limit(case));
    if smallest <= limit {
        return Vec::new();
    }
    let says = format!(
        "Nothing done so far would find a slow leak. {} {}",
        rules_out(case, h).unwrap_or_default(),
        limit_told(case)
    );
    let next = Remedy::new(
        WorkStep::Check,
        format!(
            "Check every opened joint with an electronic detector of {} or finer, proved on a reference leak.",
            show::leak_rate(case.limits.check_sensitivity, case.units)
        ),
    );
    vec![
        Found::new("leak_checks", Weight::Concession, says, next)
            .resting_on([h.id.clone()])
            .value("smallest_leak_shown_kg_per_year", smallest)
            .maybe(
                "hours_to_empty_at_smallest",
                h.figures.hours_to_empty_at_smallest,
            )
            .value("limit_kg_per_year", limit),
    ]
}

/// What a hold rules out: "The vacuum hold only rules out a very large leak, one that would empty the system in 17 hours or less (309 kg a year
/// or more). A smaller leak would not have shown." Of R-744 the figure is the least that it may be, and the sentence says so.
pub fn rules_out(case: &Case<'_>, h: &Held) -> Option<String> {
    let smallest = h.figures.smallest_leak_shown_kg_per_year?;
    let kind = h.kind.map_or("", HoldKind::word);
    let rate = leak(case, smallest);
    let only = if smallest > leak_limit(case) {
        " only"
    } else {
        ""
    };
    let size = match h.figures.hours_to_empty_at_smallest {
        Some(hours) => format!(
            "{}, one that would empty the system in {} or less ({rate} or more)",
            how_large(hours),
            empties_in(hours)
        ),
        None => format!("a leak of {rate} or more"),
    };
    let vapour = real_vapour(case)
        .map(|why| format!(" {}.", capital(why)))
        .unwrap_or_default();
    Some(format!(
        "The {kind} hold{only} rules out {size}. A smaller leak would not have shown.{vapour}"
    ))
}

/// A leak by how soon it empties the system: of one that takes longer than a season nobody would say that it is large.
fn how_large(hours: f64) -> &'static str {
    match hours / 24.0 {
        days if days < 7.0 => "a very large leak",
        days if days < 90.0 => "a large leak",
        _ => "a leak",
    }
}

fn capital(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(letters).collect())
}

/// What a hold's figure speaks of, and what not; once beside it.
pub fn scope(kind: Option<HoldKind>) -> &'static str {
    match kind {
        Some(HoldKind::Pressure) => {
            "That is for a hole in the part of the circuit that was on the gauge; not for gas that permeates hoses, nor for what leaks only against a vacuum or at a higher pressure."
        }
        _ => {
            "That is for a hole that is open in both directions, in the part of the circuit that was on the gauge; not for gas that permeates hoses, nor for a seal that leaks only under pressure."
        }
    }
}

/// An electronic check, fine enough and proved on a reference leak, of every opened joint after the last charging.
pub(super) fn checked_all_joints(case: &Case<'_>) -> bool {
    let Some(charged) = case.last_charge().and_then(|c| c.at) else {
        return false;
    };
    let mut covered: Vec<String> = Vec::new();
    let mut any = false;
    for (i, _, check) in live(&case.record.leak_checks, "leak_checks") {
        let later = check
            .at
            .is_some_and(|at| Stamp::new(at, Rank::LeakCheck, i) > charged);
        let fine = check.sensitivity.as_ref().is_some_and(|s| {
            s.si().kg_per_year() <= case.limits.check_sensitivity.kg_per_year() + 1e-12
        });
        if later && fine && clears::is_proved(check) {
            any = true;
            covered.extend(check.places.iter().map(|p| case.place_key(p)));
        }
    }
    any && case
        .joints
        .iter()
        .filter(|j| j.opened.is_some())
        .all(|j| covered.contains(&j.id))
}
