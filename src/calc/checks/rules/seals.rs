//! Seals: each joint that was opened is looked at.
use super::Found;
use crate::{
    checks::{
        case::{Case, JointCase, part_name},
        timeline::live,
    },
    record::{Condition, Role, Seal, answer::Weight},
};

fn joint_evidence(joint: &JointCase<'_>) -> Vec<String> {
    let seal = joint.seal.as_ref().map(|(id, _)| id.clone());
    [joint.id.clone()].into_iter().chain(seal).collect()
}

pub fn not_inspected(case: &Case<'_>) -> Vec<Found> {
    let joints = case.joints.iter().filter(|j| j.concerned && j.seal.is_none()).map(|j| {
        let says = format!("The joint {} has no seal on record since it was {}.", j.place, if j.opened.is_some() { "opened" } else { "fitted" });
        Found::new(j.id.clone(), Weight::Blocks, says, format!("Say what was found at {}, or renew the seal.", j.place)).resting_on([j.id.clone()])
    });
    let parts =
        live(&case.record.parts, "parts").filter(|(_, _, p)| p.fitted_at.is_some() && p.role != Some(Role::Other) && p.joints.is_empty()).map(|(_, id, p)| {
            let says = format!("The {} was fitted, and no joint of it is on record.", part_name(p));
            Found::new(id.clone(), Weight::Blocks, says, "Name its joints, and say what was found at each seal.").resting_on([id])
        });
    joints.chain(parts).collect()
}

fn current<'a>(case: &'a Case<'_>) -> impl Iterator<Item = (&'a JointCase<'a>, &'a Seal)> {
    case.joints.iter().filter(|j| j.concerned).filter_map(|j| Some((j, j.seal.as_ref()?.1)))
}

pub fn unsound(case: &Case<'_>) -> Vec<Found> {
    current(case)
        .filter(|(_, s)| s.renewed != Some(true) && s.condition.is_some_and(|c| c != Condition::Sound))
        .map(|(j, s)| {
            let condition = s.condition.map_or("not sound", Condition::word);
            let says = format!("The seal of the joint {} is {condition} and was not renewed.", j.place);
            Found::new(j.id.clone(), Weight::Blocks, says, format!("Open the joint {} and renew its seal.", j.place)).resting_on(joint_evidence(j))
        })
        .collect()
}

pub fn reused(case: &Case<'_>) -> Vec<Found> {
    current(case)
        .filter(|(_, s)| s.renewed != Some(true) && s.condition == Some(Condition::Sound))
        .map(|(j, s)| {
            let (weight, says) = if s.from_donor == Some(true) {
                (Weight::Blocks, format!("At the joint {} the seal that came with the used part went in again.", j.place))
            } else {
                (Weight::Note, format!("At the joint {} a sound seal went in again.", j.place))
            };
            Found::new(j.id.clone(), weight, says, format!("Renew the seal of the joint {}.", j.place)).resting_on(joint_evidence(j))
        })
        .collect()
}

pub fn dry(case: &Case<'_>) -> Vec<Found> {
    current(case)
        .filter(|(_, s)| (s.renewed == Some(true) || s.condition == Some(Condition::Sound)) && s.lubricant.as_deref().is_none_or(|l| l.trim().is_empty()))
        .map(|(j, _)| {
            let says = format!("No lubricant is recorded for the seal of the joint {}.", j.place);
            Found::new(j.id.clone(), Weight::Note, says, "Record what the seal was lubricated with.").resting_on(joint_evidence(j))
        })
        .collect()
}
