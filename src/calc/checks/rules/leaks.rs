//! Leaks that were found.
use super::{Due, Found, PRACTICE, Rule, RuleCode, Section, Task};
use crate::{
    checks::{
        case::Case,
        explain::steps,
        remedy::Remedy,
        timeline::{Rank, Stamp, live},
    },
    record::{
        LeakCheck,
        answer::{Weight, WorkStep},
    },
};

/// The row of `leak-found`.
pub const LEAK_FOUND: Rule = Rule {
    code: RuleCode::LeakFound,
    weights: &[Weight::Blocks],
    section: Section::Leaks,
    task: Task::Entry,
    short: "leaks",
    law: "A leak that was found stays one until it is repaired, and until a hold or a check that could have shown it says otherwise.",
    doubt: "None: it is on record.",
    change: "The repair entered, and a passed hold after it, or a later check of the same place at least as fine.",
    source: PRACTICE,
    due: Due::WhenEvacuated,
    find: found,
    why: steps::of_evidence,
};

fn found(case: &Case<'_>) -> Vec<Found> {
    let mut all: Vec<Found> = live(&case.record.leaks, "leaks")
        .filter_map(|(i, id, leak)| {
            let place = case.place(leak.place.as_deref().unwrap_or("a place that is not recorded"));
            match leak.repaired_at {
                None => Some(
                    Found::new(
                        id.clone(),
                        Weight::Blocks,
                        format!("The leak at {place} is still there."),
                        Remedy::new(WorkStep::OpenRepair, format!("Repair the leak at {place} and enter when.")),
                    )
                    .since(leak.at.map(|at| Stamp::new(at, Rank::Found, i)))
                    .resting_on([id]),
                ),
                Some(at) => {
                    let repaired = Stamp::new(at, Rank::Opened, i);
                    let held = case.holds.iter().any(|h| h.passed() && h.start.is_some_and(|s| s > repaired));
                    // What follows from a missing hold is not reported again.
                    (!held && !case.hold_missing()).then(|| {
                        Found::new(
                            id.clone(),
                            Weight::Blocks,
                            format!("No hold was passed since the leak at {place} was dealt with."),
                            Remedy::new(WorkStep::Hold, "Evacuate and hold."),
                        )
                        .resting_on([id])
                    })
                }
            }
        })
        .collect();
    let checks: Vec<_> = live(&case.record.leak_checks, "leak_checks").collect();
    let mut told: Vec<String> = Vec::new();
    for (i, id, check) in &checks {
        for place in &check.found {
            let key = case.place_key(place);
            let cleared = checks.iter().any(|(j, _, later)| clears(case, (*i, check), (*j, later), &key));
            if !cleared && !told.contains(&key) {
                let says = format!("The leak check found a leak at {}.", case.place(place));
                // A joint by its id, another place by its words.
                let about = if case.joints.iter().any(|j| j.id == key) { key.clone() } else { place.clone() };
                all.push(
                    Found::new(
                        about,
                        Weight::Blocks,
                        says,
                        Remedy::new(WorkStep::OpenRepair, format!("Repair {}, and check it again at least as finely.", case.place(place))),
                    )
                    .resting_on([id.clone()]),
                );
                told.push(key);
            }
        }
    }
    all
}

/// A later check at the same place, at least as sensitive, that found nothing there.
fn clears(case: &Case<'_>, (i, check): (usize, &LeakCheck), (j, later): (usize, &LeakCheck), key: &str) -> bool {
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
    let there = |places: &[String]| places.iter().any(|p| case.place_key(p) == key);
    after && as_fine && there(&later.places) && !there(&later.found)
}
