//! Holds: made, passed, able to show what matters.
use super::{Due, Found, PRACTICE, Rule, RuleCode, Section, Task, loss::leak_limit};
use crate::{
    checks::{
        case::Case,
        explain::steps,
        hold::Held,
        outlook::{self, Test},
        remedy::Remedy,
        talk::{leak, real_vapour},
        timeline::{Rank, Stamp, live},
    },
    record::{
        HoldKind, Method, ProvedOn,
        answer::{Verdict, Weight, WorkStep},
    },
    units::{LeakRate, PressureDifference, Seconds, show},
};

/// The row of `hold-missing`.
pub const HOLD_MISSING: Rule = Rule {
    code: RuleCode::HoldMissing,
    weights: &[Weight::Blocks],
    section: Section::Hold,
    task: Task::Hold,
    short: "no hold",
    law: "A vacuum or a pressure that is closed off and watched is the only sign that the circuit is tight before it is filled.",
    doubt: "A hold that a later opening or gas made stale counts as none.",
    change: "A hold begun after the last opening, read twice at least, and ended.",
    source: PRACTICE,
    due: Due::WhenCharged,
    find: missing,
    why: steps::of_evidence,
};

fn missing(case: &Case<'_>) -> Vec<Found> {
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
        true => Remedy::new(WorkStep::Hold, "Finish the hold that is running."),
        false => {
            Remedy::new(WorkStep::Hold, format!("Close off, and read the gauge at the start and after at least {}.", show::duration(case.limits.hold_minimum)))
        }
    };
    let evidence: Vec<String> = case.last_opening().map(|o| o.about.clone()).into_iter().chain(unreadable.or(stale).map(|h| h.id.clone())).collect();
    vec![Found::new("holds", Weight::Blocks, says, next).resting_on(evidence)]
}

/// The row of `hold-failed`.
pub const HOLD_FAILED: Rule = Rule {
    code: RuleCode::HoldFailed,
    weights: &[Weight::Blocks],
    section: Section::Hold,
    task: Task::Hold,
    short: "hold failed",
    law: "A closed volume at one temperature keeps its pressure. What moved it beyond the gauge’s graduation and the temperature’s doubt is a leak.",
    doubt: "The bound is one graduation and what {temperature_doubt} makes of the pressure ({temperature_doubt_missing} where a temperature is missing). The leak is a range: the path’s kind and the volume are not known.",
    change: "The leak found and repaired, and a later hold that could have shown it.",
    source: "gas law: a pressure that moves by more than the gauge and the temperature explain",
    due: Due::Now,
    find: failed,
    why: steps::of_evidence,
};

fn failed(case: &Case<'_>) -> Vec<Found> {
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
fn what_clears(case: &Case<'_>, h: &Held) -> Remedy {
    let proof = match outlook::clearing(case, h) {
        None => format!(
            "hold again for at least {} on a gauge with a resolution of {} or finer",
            show::duration(Seconds::new(h.figures.duration_s.unwrap_or(0.0))),
            show::pressure_difference(PressureDifference::new(h.resolution_pa), case.units)
        ),
        Some((test, gauge)) => format!("hold {}, and read the metal temperature at the start and the end", outlook::words(case, &test, &gauge)),
    };
    let search = "Find the leak with dry nitrogen and soapy water or an ultrasonic detector, repair it";
    let vacuum = matches!(outlook::clearing(case, h), Some((Test::Vacuum(..), _)) | None);
    let then = if vacuum { ", then evacuate" } else { "" };
    Remedy::new(WorkStep::Nitrogen, format!("{search}{then}. To prove the repair: {proof}.")).then(WorkStep::OpenRepair, "Repair it.")
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

/// The row of `hold-moisture`.
pub const HOLD_MOISTURE: Rule = Rule {
    code: RuleCode::HoldMoisture,
    weights: &[Weight::Concession],
    section: Section::Hold,
    task: Task::Hold,
    short: "water inside",
    law: "Water that boils in a closed vacuum raises its pressure until that is the vapour pressure, and no further; a leak goes on to the pressure of the air.",
    doubt: "The curve is told apart by least squares; a leak and water together can look like water for a while.",
    change: "Warmed, evacuated longer and deeper, with dry nitrogen between, and held again.",
    source: "IAPWS-IF97: water holds its own vapour pressure",
    due: Due::Now,
    find: moisture,
    why: steps::of_evidence,
};

fn moisture(case: &Case<'_>) -> Vec<Found> {
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
        Found::new(
            h.id.clone(),
            Weight::Concession,
            says,
            Remedy::new(WorkStep::Evacuate, "Warm the circuit with air or a lamp, evacuate longer and deeper with dry nitrogen in between, and hold again."),
        )
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

/// The row of `hold-too-short`.
pub const HOLD_TOO_SHORT: Rule = Rule {
    code: RuleCode::HoldTooShort,
    weights: &[Weight::Concession],
    section: Section::Hold,
    task: Task::Hold,
    short: "hold too short",
    law: "The smallest leak that a hold rules out shrinks with its length.",
    doubt: "{hold_minimum} for a vacuum and {pressure_hold_minimum} for a pressure are the shop’s limits, and practice, not physics.",
    change: "A hold of full length.",
    source: PRACTICE,
    due: Due::WhenCharged,
    find: too_short,
    why: steps::of_evidence,
};

fn too_short(case: &Case<'_>) -> Vec<Found> {
    let Some(h) = last_unpassed(case).filter(|h| h.says == Verdict::TooShort) else { return Vec::new() };
    let minimum = case.limits.least_hold(h.kind);
    let took = h.figures.duration_s.unwrap_or(0.0);
    let says = format!("The hold took {}; it counts from {}.", show::duration_so_far(Seconds::new(took)), show::duration(minimum));
    vec![
        Found::new(h.id.clone(), Weight::Concession, says, Remedy::new(WorkStep::Hold, format!("Hold again for at least {}.", show::duration(minimum))))
            .since(h.start)
            .resting_on([h.id.clone()])
            .value("duration_s", took)
            .value("minimum_s", minimum.s()),
    ]
}

/// The row of `hold-inconclusive`.
pub const HOLD_INCONCLUSIVE: Rule = Rule {
    code: RuleCode::HoldInconclusive,
    weights: &[Weight::Concession, Weight::Note],
    section: Section::Hold,
    task: Task::Hold,
    short: "cannot tell",
    law: "A deep vacuum rises from gas that leaves oil and rubber as it does from a leak; the first grows less from hold to hold, the second does not.",
    doubt: "One hold cannot tell them apart. On a coarse gauge that is read a few times, a needle that moved by a graduation may have been misread, or may hide a rise of nearly two.",
    change: "A second hold after more evacuation, more readings or a finer gauge, or an electronic check of every joint once it is charged.",
    source: "gas that leaves oil and rubber raises a deep vacuum as a leak does",
    due: Due::WhenCharged,
    find: inconclusive,
    why: steps::of_evidence,
};

fn inconclusive(case: &Case<'_>) -> Vec<Found> {
    let Some(h) = last_unpassed(case).filter(|h| h.says == Verdict::Inconclusive) else { return Vec::new() };
    let weight = if checked_all_joints(case) { Weight::Note } else { Weight::Concession };
    let moved = show::pressure_difference(PressureDifference::new(h.figures.change_pa.unwrap_or(0.0)), case.units);
    let (says, next) = if h.stillness_not_shown() {
        (
            format!("The gauge moved by {moved}: that may be how it was read, or a leak; these readings cannot tell."),
            Remedy::new(WorkStep::Hold, "Hold again, and read the gauge eight times or more, or read a finer one."),
        )
    } else {
        (
            format!("The deep vacuum rose by {moved}: a leak, or gas that leaves oil and rubber; one hold cannot tell them apart."),
            Remedy::new(
                WorkStep::Evacuate,
                format!(
                    "Evacuate for {} more and hold again: gas from oil and rubber grows less, a leak does not.",
                    show::duration(case.limits.outgassing_evacuation)
                ),
            ),
        )
    };
    vec![
        Found::new(h.id.clone(), weight, says, next)
            .since(h.start)
            .resting_on([h.id.clone()])
            .maybe("change_pa", h.figures.change_pa)
            .maybe("slope_pa_per_s", h.figures.slope_pa_per_s),
    ]
}

/// The row of `hold-temperature-missing`.
pub const HOLD_TEMPERATURE_MISSING: Rule = Rule {
    code: RuleCode::HoldTemperatureMissing,
    weights: &[Weight::Note],
    section: Section::Hold,
    task: Task::Hold,
    short: "no temperatures",
    law: "The pressure of a closed gas follows its absolute temperature: 1 K is a third of a percent.",
    doubt: "{temperature_doubt_missing} are allowed for instead of {temperature_doubt}.",
    change: "The metal’s temperature at the first and the last reading.",
    source: "ideal gas law",
    due: Due::Now,
    find: temperature_missing,
    why: steps::of_evidence,
};

fn temperature_missing(case: &Case<'_>) -> Vec<Found> {
    let doubt = show::temperature_difference_short(case.limits.temperature_doubt_missing, case.units);
    case.holds
        .iter()
        .filter(|h| h.counts() && h.temperature_missing)
        .map(|h| {
            Found::new(
                h.id.clone(),
                Weight::Note,
                format!("The pressure hold has no temperature at both ends: a change of {doubt} looks like a leak, or hides one."),
                Remedy::new(WorkStep::Measure, "Read the metal temperature at the first and the last reading."),
            )
            .resting_on([h.id.clone()])
        })
        .collect()
}

/// The row of `hold-not-sensitive`.
pub const HOLD_NOT_SENSITIVE: Rule = Rule {
    code: RuleCode::HoldNotSensitive,
    weights: &[Weight::Concession],
    section: Section::Leaks,
    task: Task::Checks,
    short: "slow leak not excluded",
    law: "No hold of usual length on a usual gauge shows a leak as small as the law lets a new car have (Directive 2006/40/EC: 40 g a year, 60 with two evaporators). A detector does.",
    doubt: "The smallest leak is reckoned at the worst: largest volume, the form of flow that makes most of it.",
    change: "An electronic check of {check_sensitivity} or finer, proved on a reference leak, of every opened joint after the last charging.",
    source: "Directive 2006/40/EC: 40 g a year, 60 g with two evaporators; SAE J2791 and J2913 for detectors",
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
