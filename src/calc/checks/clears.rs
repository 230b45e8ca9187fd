//! What a later test clears: a failed hold, a leak that was found.
//!
//! A seal can hold against a vacuum and leak under pressure: a vacuum hold clears nothing that was found under pressure. A detector clears a place where it
//! was put, if it is fine enough and was proved on a reference leak that day.
use super::{
    case::Case,
    hold::Held,
    state::{Inside, State},
    timeline::{Rank, Stamp, live},
};
use crate::{
    record::{HoldKind, LeakCheck, Method, ProvedOn},
    units::LeakRate,
};

/// Whether a failed hold is cleared: by a later hold that could have shown its leak, of a failed pressure hold only by a pressure hold; or by a proved
/// check of every joint that is at least as fine as its leak.
pub fn hold_cleared(case: &Case<'_>, failed: &Held) -> bool {
    case.holds
        .iter()
        .any(|h| h.passed() && h.start > failed.start && could_have_shown(h, failed))
        || checked_since(case, failed)
}

/// Whether a kind of hold can clear a failed one at all.
pub fn kind_can_clear(kind: Option<HoldKind>, failed: &Held) -> bool {
    failed.kind != Some(HoldKind::Pressure) || kind == Some(HoldKind::Pressure)
}

fn could_have_shown(h: &Held, failed: &Held) -> bool {
    if !kind_can_clear(h.kind, failed) {
        return false;
    }
    match failed.figures.leak_high_kg_per_year {
        Some(high) => h
            .figures
            .smallest_leak_shown_kg_per_year
            .is_some_and(|shown| shown <= high),
        // Of a gas or a refrigerant without properties there is no rate: the same kind, and a slope.
        None => {
            let slope = failed.figures.slope_pa_per_s.map(f64::abs);
            h.kind == failed.kind
                && h.shown_pa_per_s
                    .zip(slope)
                    .is_some_and(|(shown, slope)| shown <= slope)
        }
    }
}

/// How fine a check has to be for a failed hold: as the least that its leak may be; as any check where that is not known.
pub fn check_for(case: &Case<'_>, failed: &Held) -> LeakRate {
    failed
        .figures
        .leak_low_kg_per_year
        .filter(|rate| *rate > 0.0)
        .map_or(case.limits.check_sensitivity, LeakRate::new)
}

fn checked_since(case: &Case<'_>, failed: &Held) -> bool {
    let Some(since) = failed.last.or(failed.start) else {
        return false;
    };
    let as_fine = check_for(case, failed).kg_per_year();
    !case.joints.is_empty()
        && case
            .joints
            .iter()
            .all(|j| place_checked(case, &j.id, since, as_fine))
}

/// Whether the last check of a place after this point is a proved one, fine enough, that found nothing there.
pub fn place_checked(case: &Case<'_>, key: &str, since: Stamp, at_most_kg_per_year: f64) -> bool {
    let mut of_place: Vec<(Stamp, &LeakCheck)> = live(&case.record.leak_checks, "leak_checks")
        .filter_map(|(i, _, check)| Some((Stamp::new(check.at?, Rank::LeakCheck, i), check)))
        .filter(|(at, check)| {
            *at > since && (names(case, &check.places, key) || names(case, &check.found, key))
        })
        .collect();
    of_place.sort_by_key(|(at, _)| *at);
    of_place.pop().is_some_and(|(at, check)| {
        let fine = check
            .sensitivity
            .as_ref()
            .is_some_and(|s| s.si().kg_per_year() <= at_most_kg_per_year + 1e-12);
        is_proved(check) && fine && sees(case, at) && !names(case, &check.found, key)
    })
}

/// An electronic check that was proved on a reference leak that day.
pub fn is_proved(check: &LeakCheck) -> bool {
    check.method == Some(Method::Electronic) && check.proved_on == Some(ProvedOn::ReferenceLeak)
}

/// There was something inside that a detector can see: refrigerant, or a test gas with a trace in it.
fn sees(case: &Case<'_>, at: Stamp) -> bool {
    matches!(
        State::at(case, Some(at)).inside,
        Inside::Charged { .. } | Inside::Nitrogen
    )
}

/// Whether a place is in a list of places, by the joint's id or in words.
pub fn names(case: &Case<'_>, places: &[String], key: &str) -> bool {
    places.iter().any(|p| case.place_key(p) == key)
}

/// Whether a pressure hold was passed after this point that could have shown a leak of this size; of one of unknown size any.
pub fn pressure_held_since(case: &Case<'_>, since: Stamp, leak_kg_per_year: Option<f64>) -> bool {
    case.holds.iter().any(|h| {
        let shown = h.figures.smallest_leak_shown_kg_per_year;
        let fine = leak_kg_per_year.is_none_or(|leak| shown.is_some_and(|shown| shown <= leak));
        h.kind == Some(HoldKind::Pressure)
            && h.passed()
            && h.start.is_some_and(|s| s > since)
            && fine
    })
}
