//! Holds: made, passed, able to show what matters.
use super::{Due, Found, PRACTICE, Rule, RuleCode, Section, Task, slow_leak::checked_all_joints};
use crate::{
    checks::{
        case::Case,
        clears,
        explain::steps,
        hold::{Doubt, Held},
        outlook::{self, Test},
        remedy::Remedy,
        state::Inside,
        talk::{empties_in, leak},
    },
    record::{
        HoldKind,
        answer::{Verdict, Weight, WorkStep},
    },
    units::{LeakRate, Seconds, show},
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
    let stale = case
        .holds
        .iter()
        .filter(|h| h.counts())
        .max_by_key(|h| h.start);
    let unreadable = case
        .holds
        .iter()
        .filter(|h| h.ended && !h.counts() && case.after_opening(h.start))
        .max_by_key(|h| h.start);
    let running = running(case);
    let says = match (
        unreadable,
        stale.and_then(|h| h.figures.stale_because.as_deref()),
    ) {
        (Some(h), _) => format!(
            "There is no hold that can be read: {}.",
            h.why(case.voice_of_hold(h))
                .unwrap_or_else(|| "it shows nothing".into())
        ),
        (None, Some(why)) => format!("The hold does not count any more. {why}"),
        (None, None) if case.was_opened() => {
            "The circuit was opened, and no hold was made since.".into()
        }
        (None, None) => "The circuit was evacuated, and no hold was made.".into(),
    };
    let next = match running {
        Some(HoldKind::Vacuum) => {
            Remedy::new(WorkStep::Hold, "Finish the vacuum hold that is running.")
        }
        Some(HoldKind::Pressure) => Remedy::new(
            WorkStep::Nitrogen,
            "Finish the pressure hold that is running.",
        ),
        None => Remedy::new(
            WorkStep::Hold,
            format!(
                "Close off, and read the gauge at the start and after at least {}.",
                show::duration(case.limits.hold_minimum)
            ),
        ),
    };
    let evidence: Vec<String> = case
        .last_opening()
        .map(|o| o.about.clone())
        .into_iter()
        .chain(unreadable.or(stale).map(|h| h.id.clone()))
        .collect();
    vec![Found::new("holds", Weight::Blocks, says, next).resting_on(evidence)]
}

/// The kind of the hold that is running, where the circuit still is what it was begun on.
fn running(case: &Case<'_>) -> Option<HoldKind> {
    let kind = case
        .holds
        .iter()
        .filter(|h| !h.ended)
        .max_by_key(|h| h.start)?
        .kind?;
    let fits = match kind {
        HoldKind::Vacuum => case.state().inside == Inside::Evacuated,
        HoldKind::Pressure => case.state().inside == Inside::Nitrogen,
    };
    fits.then_some(kind)
}

/// The row of `hold-failed`.
pub const HOLD_FAILED: Rule = Rule {
    code: RuleCode::HoldFailed,
    weights: &[Weight::Blocks],
    section: Section::Hold,
    task: Task::Hold,
    short: "hold failed",
    law: "A closed volume at one temperature keeps its pressure. Any change larger than one gauge division plus the temperature allowance counts as a leak. A seal can hold against a vacuum and leak under pressure: a failed pressure hold is cleared by no vacuum hold.",
    doubt: "The bound is one graduation and what {temperature_doubt} makes of the pressure ({temperature_doubt_missing} where a temperature is missing). The leak is a range: the path’s kind and the volume are not known.",
    change: "The leak found and repaired, and a later hold that could have shown it (after a failed pressure hold a pressure hold), or a check of every joint, proved on a reference leak and at least as fine as the leak.",
    source: "gas law: a pressure that moves by more than the gauge and the temperature explain",
    due: Due::Now,
    find: failed,
    why: steps::of_evidence,
};

pub(super) fn failed(case: &Case<'_>) -> Vec<Found> {
    case.holds
        .iter()
        .filter(|h| h.ended && h.says == Verdict::Leak && !clears::hold_cleared(case, h))
        .map(|h| {
            let moved = h.figures.change_pa.unwrap_or(0.0);
            let how = if h.kind == Some(HoldKind::Pressure) {
                "lost"
            } else {
                "rose by"
            };
            let says = format!(
                "The {} hold {how} {} in {}{}.",
                h.kind.map_or("", HoldKind::word),
                case.voice_of_hold(h).difference(moved),
                show::duration(Seconds::new(h.figures.duration_s.unwrap_or(0.0))),
                size_told(case, h)
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

/// How large a leak is, first as what it does: ": a leak that would empty the system in 8 to 41 hours (130 kg a year to 656 kg a year)".
fn size_told(case: &Case<'_>, h: &Held) -> String {
    let Some((low, high)) = h
        .figures
        .leak_low_kg_per_year
        .zip(h.figures.leak_high_kg_per_year)
    else {
        return String::new();
    };
    let (least, most) = (
        leak(case, low),
        show::leak_rate(LeakRate::new(high), case.units),
    );
    let rates = range(&least, &most);
    let Some(kg) = case.target.map(|t| t.kg).filter(|_| low > 0.0) else {
        return format!(": a leak of {rates}");
    };
    let hours = |rate: f64| empties_in(kg / rate * crate::physics::leak::YEAR_S / 3600.0);
    let (soonest, latest) = (hours(high), hours(low));
    let time = range(&soonest, &latest);
    format!(": a leak that would empty the system in {time} ({rates})")
}

/// "398 to 40100 kg a year", each with its unit where the two differ.
fn range(least: &str, most: &str) -> String {
    let unit = |text: &str| {
        text.rfind(|c: char| c.is_ascii_digit())
            .map(|i| text[i + 1..].to_owned())
            .unwrap_or_default()
    };
    match least.strip_suffix(&unit(most)) {
        _ if least == most => most.to_owned(),
        Some(number) if unit(least) == unit(most) => format!("{number} to {most}"),
        _ => format!("{least} to {most}"),
    }
}

fn finer(a: LeakRate, b: LeakRate) -> LeakRate {
    if a.kg_per_year() < b.kg_per_year() {
        a
    } else {
        b
    }
}

/// What to do about a failed hold, and which test of the shop's own clears it.
fn what_clears(case: &Case<'_>, h: &Held) -> Remedy {
    let fine = show::leak_rate(
        finer(clears::check_for(case, h), case.limits.check_sensitivity),
        case.units,
    );
    // With refrigerant inside a detector finds it, and if it finds nothing at any joint, that clears the hold.
    if matches!(case.state().inside, Inside::Charged { .. }) && !case.joints.is_empty() {
        let check = format!(
            "Check every joint with an electronic detector set to {fine} or finer, proved on a reference leak. Repair what it finds."
        );
        return Remedy::new(WorkStep::Check, check);
    }
    let test = outlook::clearing(case, h);
    let proof = match &test {
        None => format!(
            "hold {} again for at least {} on a gauge with a resolution of {} or finer",
            if h.kind == Some(HoldKind::Pressure) {
                "dry nitrogen at the same pressure"
            } else {
                "the vacuum"
            },
            show::duration(Seconds::new(h.figures.duration_s.unwrap_or(0.0))),
            case.voice_of_hold(h).difference(h.resolution_pa)
        ),
        Some((test, gauge)) => format!("hold {}", outlook::words(case, test, gauge)),
    };
    let search = "Find the leak with dry nitrogen and soapy water, an ultrasonic detector, or a trace gas that the detector responds to";
    let vacuum = matches!(test, Some((Test::Vacuum(..), _)))
        || (test.is_none() && h.kind != Some(HoldKind::Pressure));
    let then = if vacuum {
        "; repair it, then evacuate"
    } else {
        "; repair it"
    };
    let says = format!(
        "{search}{then}. To prove the repair: {proof}, and read the metal temperature at the start and the end."
    );
    Remedy::new(WorkStep::Nitrogen, says).then(WorkStep::OpenRepair, "Repair it.")
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
    let Some(h) = current
        .iter()
        .rfind(|h| h.kind == Some(HoldKind::Vacuum))
        .filter(|h| h.says == Verdict::Moisture)
    else {
        return Vec::new();
    };
    let says = match h.level_pa() {
        Some(level) => format!(
            "The vacuum rose and came to rest at {}, as water makes it: there is water in the circuit.",
            case.voice_of_hold(h).pressure(level, h.air.pressure.pa())
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
    if current.iter().any(|h| h.passed()) {
        None
    } else {
        current.last().copied()
    }
}

/// A hold of the same kind, made again.
fn hold_again(h: &Held, how: impl std::fmt::Display) -> Remedy {
    match h.kind {
        Some(HoldKind::Pressure) => Remedy::new(
            WorkStep::Nitrogen,
            format!("Hold dry nitrogen again {how}."),
        ),
        _ => Remedy::new(WorkStep::Hold, format!("Hold again {how}.")),
    }
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
    let Some(h) = last_unpassed(case).filter(|h| h.says == Verdict::TooShort) else {
        return Vec::new();
    };
    let minimum = case.limits.least_hold(h.kind);
    let took = h.figures.duration_s.unwrap_or(0.0);
    let kind = h.kind.map_or("", HoldKind::word);
    let says = format!(
        "The hold lasted {}. A {kind} hold counts from {}.",
        show::duration_so_far(Seconds::new(took)),
        show::duration(minimum)
    );
    vec![
        Found::new(
            h.id.clone(),
            Weight::Concession,
            says,
            hold_again(h, format!("for at least {}", show::duration(minimum))),
        )
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
    let Some(h) = last_unpassed(case).filter(|h| h.says == Verdict::Inconclusive) else {
        return Vec::new();
    };
    let weight = if checked_all_joints(case) {
        Weight::Note
    } else {
        Weight::Concession
    };
    let moved = case
        .voice_of_hold(h)
        .difference(h.figures.change_pa.unwrap_or(0.0).abs());
    // With refrigerant inside a detector settles it; another hold would take a recovery first.
    let charged = matches!(case.state().inside, Inside::Charged { .. });
    let detector = || {
        let fine = show::leak_rate(case.limits.check_sensitivity, case.units);
        Remedy::new(
            WorkStep::Check,
            format!(
                "Check every opened joint with an electronic detector of {fine} or finer, proved on a reference leak."
            ),
        )
    };
    let (says, next) = if h.doubt == Some(Doubt::Levelling) {
        (
            format!(
                "The vacuum rose by {moved} and settled, but not where water settles: gas from oil or desiccant, or water in the oil; this hold cannot tell which."
            ),
            if charged {
                detector()
            } else {
                Remedy::new(
                    WorkStep::Evacuate,
                    format!(
                        "Evacuate for {} more and hold again.",
                        show::duration(case.limits.outgassing_evacuation)
                    ),
                )
            },
        )
    } else if h.doubt == Some(Doubt::Temperature) {
        (
            format!(
                "The gauge moved by {moved}. The temperature may have done that, or hidden a leak: these readings cannot tell."
            ),
            if charged {
                detector()
            } else {
                hold_again(
                    h,
                    "with the metal temperature read at the start and the end",
                )
            },
        )
    } else if charged {
        (
            format!(
                "The gauge moved by {moved}. That may be how it was read, gas from oil and rubber, or a leak: this hold cannot tell."
            ),
            detector(),
        )
    } else if h.stillness_not_shown() {
        (
            format!(
                "The gauge moved by {moved}. That may be how it was read, or a leak: these readings cannot tell."
            ),
            hold_again(
                h,
                "and read the gauge eight times or more, or read a finer one",
            ),
        )
    } else {
        (
            format!(
                "The deep vacuum rose by {moved}. That is a leak, or gas that leaves oil and rubber: one hold cannot tell them apart."
            ),
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
    let doubt =
        show::temperature_difference_short(case.limits.temperature_doubt_missing, case.units);
    case.holds
        .iter()
        .filter(|h| h.counts() && h.temperature_missing)
        .map(|h| {
            Found::new(
                h.id.clone(),
                Weight::Note,
                format!("The pressure hold has no metal temperature at both ends. A change of {doubt} in between looks like a leak, or hides one."),
                Remedy::new(WorkStep::Measure, "Read the metal temperature at the first and the last reading."),
            )
            .resting_on([h.id.clone()])
        })
        .collect()
}
