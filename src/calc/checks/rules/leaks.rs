//! Leaks that were found, and whether their repair was proved.
use super::{Due, Found, PRACTICE, Rule, RuleCode, Section, Task};
use crate::{
    checks::{
        case::Case,
        clears::{hold_cleared, is_proved, names, place_checked, pressure_held_since},
        explain::steps,
        hold::Held,
        loss,
        remedy::Remedy,
        state::Inside,
        timeline::{Rank, Stamp, live},
    },
    record::{
        Leak, LeakCheck, Role,
        answer::{Verdict, Weight, WorkStep},
    },
    units::show,
};

/// The row of `leak-found`.
pub const LEAK_FOUND: Rule = Rule {
    code: RuleCode::LeakFound,
    weights: &[Weight::Blocks],
    section: Section::Leaks,
    task: Task::Entry,
    short: "leaks",
    law: "A leak that was found stays one until it is repaired, and until a test that could have shown it says otherwise. A seal can hold against a vacuum and leak under pressure: a vacuum hold proves a repair only where the leaking part itself was replaced.",
    doubt: "How much a leak lets through is seldom known; a proved check of {check_sensitivity} or finer at that place counts for any.",
    change: "The repair entered; then a clean check of that place at least as fine, proved on a reference leak, or a pressure hold that could have shown it.",
    source: PRACTICE,
    due: Due::WhenEvacuated,
    find: found,
    why: steps::of_evidence,
};

fn found(case: &Case<'_>) -> Vec<Found> {
    let mut all: Vec<Found> = live(&case.record.leaks, "leaks")
        .filter_map(|(i, id, leak)| entered(case, i, id, leak))
        .collect();
    all.extend(by_checks(case));
    all
}

/// A leak that was entered as such.
fn entered(case: &Case<'_>, position: usize, id: String, leak: &Leak) -> Option<Found> {
    let words = leak
        .place
        .as_deref()
        .unwrap_or("a place that is not recorded");
    let (place, key) = (case.place(words), case.place_key(words));
    let noticed = leak.at.map(|at| Stamp::new(at, Rank::Found, position));
    let Some(at) = leak.repaired_at else {
        let touched = worked_on(case, &key, noticed);
        if let Some(touched) = touched
            && is_clean(case, &key, touched)
        {
            return None;
        }
        let remedy = match touched {
            Some(_) => Remedy::new(
                WorkStep::Record,
                format!("Enter when the leak at {place} was repaired, if it was."),
            ),
            None => Remedy::new(
                WorkStep::OpenRepair,
                format!("Repair the leak at {place} and enter when."),
            ),
        };
        return Some(
            Found::new(
                id.clone(),
                Weight::Blocks,
                format!("The leak at {place} is still there."),
                remedy,
            )
            .since(noticed)
            .resting_on([id]),
        );
    };
    let repaired = Stamp::new(at, Rank::Opened, position);
    let since = |h: &&Held| h.ended && h.start.is_some_and(|s| s > repaired);
    // One that failed and was cleared by checks of every joint counts as passed.
    let held = case
        .holds
        .iter()
        .filter(since)
        .any(|h| h.passed() || (h.says == Verdict::Leak && hold_cleared(case, h)));
    let size = loss::loss(case)
        .and_then(|loss| loss.kg_per_year)
        .filter(|rate| *rate > 0.0);
    let proved = is_clean(case, &key, repaired)
        || pressure_held_since(case, repaired, size)
        || (held && was_replaced(case, words, &key, noticed));
    // What follows from a missing or a failed hold is not reported again.
    let failed = case
        .holds
        .iter()
        .filter(since)
        .any(|h| h.says == Verdict::Leak && !hold_cleared(case, h));
    (!proved && !case.hold_missing() && !failed).then(|| {
        let why = match held {
            true => "only a vacuum was held since, and a seal can hold against a vacuum and leak under pressure",
            false => "no hold was passed since",
        };
        let says = format!("The repair at {place} is not proved: {why}.");
        Found::new(id.clone(), Weight::Blocks, says, prove(case, &place)).since(last_closed_work(case)).resting_on([id])
    })
}

/// How a repair is proved from where the circuit stands.
fn prove(case: &Case<'_>, place: &str) -> Remedy {
    let fine = show::leak_rate(case.limits.check_sensitivity, case.units);
    let check = format!(
        "Check {place} with an electronic detector set to {fine} or finer, proved on a reference leak."
    );
    match case.state().inside {
        Inside::Nitrogen => {
            let hold = format!(
                "Watch the nitrogen for at least {}.",
                show::duration_short(case.limits.pressure_hold_minimum)
            );
            Remedy::new(
                WorkStep::Nitrogen,
                format!(
                    "{hold} Or, once it is charged, check {place} with a proved electronic detector."
                ),
            )
        }
        Inside::Charged { .. } | Inside::Evacuated => Remedy::new(WorkStep::Check, check),
        Inside::Empty | Inside::Open => Remedy::new(WorkStep::Hold, "Evacuate and hold.")
            .then(WorkStep::Charge, "Charge by weight.")
            .then(WorkStep::Check, check),
    }
}

/// After this it can be proved, and not before: while work goes on it is to do.
fn last_closed_work(case: &Case<'_>) -> Option<Stamp> {
    let starts = case
        .evacuations
        .iter()
        .map(|e| e.start)
        .chain(case.holds.iter().map(|h| h.start));
    starts
        .chain(case.charges.iter().map(|c| c.at))
        .flatten()
        .max()
        .or(case.last_opening().map(|o| o.at))
}

fn is_clean(case: &Case<'_>, key: &str, since: Stamp) -> bool {
    place_checked(
        case,
        key,
        since,
        case.limits.check_sensitivity.kg_per_year(),
    )
}

/// When the joint there was last opened after the leak was noticed.
fn worked_on(case: &Case<'_>, key: &str, noticed: Option<Stamp>) -> Option<Stamp> {
    let opened = case.joints.iter().find(|j| j.id == key)?.opened?;
    (Some(opened) > noticed).then_some(opened)
}

/// The part that leaked was replaced: one whose name is in the place's words was fitted after the leak was noticed. A joint is not replaced with its part.
fn was_replaced(case: &Case<'_>, words: &str, key: &str, noticed: Option<Stamp>) -> bool {
    let words = words.to_lowercase();
    let joint = case.joints.iter().any(|j| j.id == key)
        || ["inlet", "outlet", "joint", "fitting", "seal", "port"]
            .iter()
            .any(|w| words.contains(w));
    !joint
        && live(&case.record.parts, "parts").any(|(i, _, part)| {
            let named = part.role.is_some_and(|role| match role {
                Role::Other => false,
                Role::ReceiverDrier => words.contains("drier"),
                role => words.contains(role.word()),
            });
            named
                && part
                    .fitted_at
                    .is_some_and(|at| Some(Stamp::new(at, Rank::Fitted, i)) > noticed)
        })
}

/// Places that a leak check found leaking and that nothing has cleared since.
fn by_checks(case: &Case<'_>) -> Vec<Found> {
    let checks: Vec<_> = live(&case.record.leak_checks, "leak_checks").collect();
    let mut all = Vec::new();
    let mut told: Vec<String> = Vec::new();
    for (i, id, check) in &checks {
        for words in &check.found {
            let key = case.place_key(words);
            let checked = checks
                .iter()
                .any(|(j, _, later)| clears(case, (*i, check), (*j, later), &key));
            if checked || told.contains(&key) || proved_otherwise(case, (*i, check), words, &key) {
                continue;
            }
            let place = case.place(words);
            let at = check.at.map(|at| Stamp::new(at, Rank::LeakCheck, *i));
            let (says, remedy) = match worked_on(case, &key, at) {
                Some(_) => (
                    format!(
                        "The leak check found a leak at {place}, and nothing since shows that it is tight."
                    ),
                    prove(case, &place),
                ),
                None => (
                    format!("The leak check found a leak at {place}."),
                    Remedy::new(
                        WorkStep::OpenRepair,
                        format!("Repair {place}, and check it again at least as finely."),
                    ),
                ),
            };
            // A joint by its id, another place by its words.
            let about = if case.joints.iter().any(|j| j.id == key) {
                key.clone()
            } else {
                words.clone()
            };
            all.push(Found::new(about, Weight::Blocks, says, remedy).resting_on([id.clone()]));
            told.push(key);
        }
    }
    all
}

/// A pressure hold that could have shown it, or a hold after the leaking part was replaced.
fn proved_otherwise(
    case: &Case<'_>,
    (i, check): (usize, &LeakCheck),
    words: &str,
    key: &str,
) -> bool {
    let Some(at) = check.at.map(|at| Stamp::new(at, Rank::LeakCheck, i)) else {
        return false;
    };
    let size = check.sensitivity.as_ref().map(|s| s.si().kg_per_year());
    let held = case
        .holds
        .iter()
        .any(|h| h.passed() && h.kind.is_some() && h.start.is_some_and(|s| s > at));
    pressure_held_since(case, at, size) && worked_on(case, key, Some(at)).is_some()
        || (held && was_replaced(case, words, key, Some(at)))
}

/// A later check at the same place, at least as fine and as well proved, that found nothing there.
fn clears(
    case: &Case<'_>,
    (i, check): (usize, &LeakCheck),
    (j, later): (usize, &LeakCheck),
    key: &str,
) -> bool {
    let stamp = |i: usize, c: &LeakCheck| c.at.map(|at| Stamp::new(at, Rank::LeakCheck, i));
    let after = match (stamp(i, check), stamp(j, later)) {
        (Some(a), Some(b)) => b > a,
        _ => false,
    };
    let as_fine = match (&check.sensitivity, &later.sensitivity) {
        (None, _) => true,
        (Some(_), None) => false,
        (Some(a), Some(b)) => b.si().kg_per_year() <= a.si().kg_per_year() + 1e-12,
    };
    let as_proved = !is_proved(check) || is_proved(later);
    after
        && as_fine
        && as_proved
        && names(case, &later.places, key)
        && !names(case, &later.found, key)
}

/// Whether a leak is on record that nobody has repaired.
pub(super) fn still_there(case: &Case<'_>) -> bool {
    live(&case.record.leaks, "leaks").any(|(_, _, leak)| leak.repaired_at.is_none())
}
