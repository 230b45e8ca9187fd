//! Seals: each joint that was opened is looked at.
use super::{Due, Found, PRACTICE, Rule, RuleCode, Section, Task};
use crate::{
    checks::{
        case::{Case, JointCase, part_name},
        explain::steps,
        remedy::Remedy,
        state::Inside,
        timeline::live,
    },
    record::{
        Condition, Role, Seal,
        answer::{Weight, WorkStep},
    },
};

fn joint_evidence(joint: &JointCase<'_>) -> Vec<String> {
    let seal = joint.seal.as_ref().map(|(id, _)| id.clone());
    [joint.id.clone()].into_iter().chain(seal).collect()
}

/// The row of `seal-not-inspected`.
pub const SEAL_NOT_INSPECTED: Rule = Rule {
    code: RuleCode::SealNotInspected,
    weights: &[Weight::Blocks],
    section: Section::Joints,
    task: Task::Seals,
    short: "no seal on record",
    law: "A joint that was opened is tight only if its seal is: it is looked at or renewed each time.",
    doubt: "None: an inspection after the last opening is on record, or it is not.",
    change: "The seal entered: seen while it was open, with that time, or opened again now, which makes evacuation and hold start again.",
    source: PRACTICE,
    due: Due::WhenClosed,
    find: not_inspected,
    why: steps::of_evidence,
};

fn not_inspected(case: &Case<'_>) -> Vec<Found> {
    let joints = case
        .joints
        .iter()
        .filter(|j| j.concerned && j.seal.is_none())
        .map(|j| {
            let says = format!(
                "{}: no seal on record since the joint was {}.",
                capitalised(&j.place),
                if j.opened.is_some() {
                    "opened"
                } else {
                    "fitted"
                }
            );
            Found::new(
                j.id.clone(),
                Weight::Blocks,
                says,
                seal_remedy(case, &j.place),
            )
            .since(j.opened)
            .resting_on([j.id.clone()])
        });
    let parts = live(&case.record.parts, "parts")
        .filter(|(_, _, p)| {
            p.fitted_at.is_some() && p.role != Some(Role::Other) && p.joints.is_empty()
        })
        .map(|(_, id, p)| {
            let says = format!(
                "The {} was fitted, and none of its joints is on record.",
                part_name(p)
            );
            Found::new(
                id.clone(),
                Weight::Blocks,
                says,
                Remedy::new(
                    WorkStep::Record,
                    "Name its joints, and enter what was found at each seal.",
                ),
            )
            .resting_on([id])
        });
    joints.chain(parts).collect()
}

fn current<'a>(case: &'a Case<'_>) -> impl Iterator<Item = (&'a JointCase<'a>, &'a Seal)> {
    case.joints
        .iter()
        .filter(|j| j.concerned)
        .filter_map(|j| Some((j, j.seal.as_ref()?.1)))
}

/// The row of `seal-unsound`.
pub const SEAL_UNSOUND: Rule = Rule {
    code: RuleCode::SealUnsound,
    weights: &[Weight::Blocks],
    section: Section::Joints,
    task: Task::Seals,
    short: "seal not sound",
    law: "A nicked, flattened or hardened seal does not fill its groove.",
    doubt: "The judgement is the eye’s of the person who saw it.",
    change: "A new seal.",
    source: PRACTICE,
    due: Due::WhenClosed,
    find: unsound,
    why: steps::of_evidence,
};

fn unsound(case: &Case<'_>) -> Vec<Found> {
    current(case)
        .filter(|(_, s)| {
            s.renewed != Some(true) && s.condition.is_some_and(|c| c != Condition::Sound)
        })
        .map(|(j, s)| {
            let condition = s.condition.map_or("not sound", Condition::word);
            let says = format!(
                "{}: the seal was {condition} and was not replaced.",
                capitalised(&j.place)
            );
            Found::new(
                j.id.clone(),
                Weight::Blocks,
                says,
                Remedy::new(
                    WorkStep::OpenRepair,
                    format!("Open the joint {} and fit a new seal.", j.place),
                ),
            )
            .since(j.opened)
            .resting_on(joint_evidence(j))
        })
        .collect()
}

/// The row of `seal-reused`.
pub const SEAL_REUSED: Rule = Rule {
    code: RuleCode::SealReused,
    weights: &[Weight::Blocks, Weight::Note],
    section: Section::Joints,
    task: Task::Seals,
    short: "old seal",
    law: "A seal takes the shape of its groove and does not take another; one from a donor has a history that nobody knows.",
    doubt: "It may hold; a hold after it says more.",
    change: "A new seal.",
    source: PRACTICE,
    due: Due::Now,
    find: reused,
    why: steps::of_evidence,
};

fn reused(case: &Case<'_>) -> Vec<Found> {
    current(case)
        .filter(|(_, s)| s.renewed != Some(true) && s.condition == Some(Condition::Sound))
        .map(|(j, s)| {
            let (weight, says) = if s.from_donor == Some(true) {
                (
                    Weight::Blocks,
                    format!(
                        "{}: the seal that came with the used part was refitted.",
                        capitalised(&j.place)
                    ),
                )
            } else {
                (
                    Weight::Note,
                    format!(
                        "{}: the old seal was refitted; it looked sound.",
                        capitalised(&j.place)
                    ),
                )
            };
            Found::new(
                j.id.clone(),
                weight,
                says,
                Remedy::new(
                    WorkStep::OpenRepair,
                    format!("Open the joint {} and fit a new seal.", j.place),
                ),
            )
            .resting_on(joint_evidence(j))
        })
        .collect()
}

/// The row of `seal-dry`.
pub const SEAL_DRY: Rule = Rule {
    code: RuleCode::SealDry,
    weights: &[Weight::Note],
    section: Section::Joints,
    task: Task::Seals,
    short: "no lubricant",
    law: "A seal that goes in dry is rolled or cut.",
    doubt: "It may have been lubricated and not entered.",
    change: "The lubricant entered.",
    source: PRACTICE,
    due: Due::WhenClosed,
    find: dry,
    why: steps::of_evidence,
};

fn dry(case: &Case<'_>) -> Vec<Found> {
    current(case)
        .filter(|(_, s)| {
            (s.renewed == Some(true) || s.condition == Some(Condition::Sound))
                && s.lubricant.as_deref().is_none_or(|l| l.trim().is_empty())
        })
        .map(|(j, _)| {
            let says = format!(
                "{}: no lubricant is recorded for the seal.",
                capitalised(&j.place)
            );
            Found::new(
                j.id.clone(),
                Weight::Note,
                says,
                Remedy::new(WorkStep::Record, "Enter what the seal was lubricated with."),
            )
            .since(j.opened)
            .resting_on(joint_evidence(j))
        })
        .collect()
}

/// While the joint is open its seal is seen and entered. Once the circuit is closed again nobody can see it: it is entered as it was seen then, or the joint is opened
/// again.
fn seal_remedy(case: &Case<'_>, place: &str) -> Remedy {
    let closed = !matches!(case.state().inside, Inside::Open | Inside::Empty);
    Remedy::new(
        WorkStep::Record,
        match closed {
            false => format!("Enter the seal at {place}: how it was, and that a new one is in."),
            true => format!(
                "Enter the seal at {place} if somebody saw it while the joint was open; otherwise it takes a new seal, and for that the refrigerant has to be recovered first."
            ),
        },
    )
}

/// With a capital at its beginning.
fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(letters).collect())
}
