//! Oil: the right kind, and as much as left.
use super::{Due, Found, Rule, RuleCode, Section, Task};
use crate::{
    checks::{case::Case, explain::steps, oil, remedy::Remedy, timeline::live},
    record::{
        Drive,
        answer::{Weight, WorkStep},
    },
    units::{Volume, show},
};

/// Families of oil that do not mix.
fn family(oil: &str) -> Option<&'static str> {
    let oil = oil.to_lowercase();
    ["pag", "poe", "mineral", "pve"]
        .into_iter()
        .find(|f| oil.contains(f))
        .or_else(|| oil.contains("ester").then_some("poe"))
}

fn same(a: &str, b: &str) -> bool {
    let tidy = |s: &str| {
        s.chars()
            .filter(|c| c.is_alphanumeric())
            .collect::<String>()
            .to_lowercase()
    };
    tidy(a) == tidy(b)
}

/// The row of `oil-type-mismatch`.
pub const OIL_TYPE_MISMATCH: Rule = Rule {
    code: RuleCode::OilTypeMismatch,
    weights: &[Weight::Blocks, Weight::Concession],
    section: Section::Oil,
    task: Task::Oil,
    short: "wrong oil",
    law: "Oils of other families do not mix, foam or attack insulation; as little as 1 % PAG in a high-voltage compressor’s POE lowers its insulation.",
    doubt: "The names are compared, not the oils; a maker may allow another.",
    change: "The right oil, after a flush; or the label corrected.",
    source: "insulation of high-voltage compressors; makers’ oils do not mix",
    due: Due::Now,
    find: mismatch,
    why: steps::of_evidence,
};

fn mismatch(case: &Case<'_>) -> Vec<Found> {
    let Some(system) = case.record.system.oil_type.as_deref() else {
        return Vec::new();
    };
    live(&case.record.oil_added, "oil_added")
        .filter_map(|(_, id, o)| {
            let added = o.oil_type.as_deref().filter(|a| !same(a, system))?;
            let families = family(added)
                .zip(family(system))
                .is_some_and(|(a, b)| a != b);
            let electric = case.record.system.compressor_drive == Some(Drive::Electric);
            let weight = if electric || families {
                Weight::Blocks
            } else {
                Weight::Concession
            };
            let why = if electric {
                ": on a high-voltage compressor even a little of it lowers the insulation"
            } else {
                ""
            };
            let says = format!("{added} went in where the label says {system}{why}.");
            Some(
                Found::new(
                    id.clone(),
                    weight,
                    says,
                    Remedy::new(
                        WorkStep::Flush,
                        "Take the oil out, flush, and put in what the label says.",
                    ),
                )
                .resting_on([id]),
            )
        })
        .collect()
}

/// The row of `oil-balance`.
pub const OIL_BALANCE: Rule = Rule {
    code: RuleCode::OilBalance,
    weights: &[Weight::Concession, Weight::Note],
    section: Section::Oil,
    task: Task::Oil,
    short: "oil amount",
    law: "Oil that left with old parts and recovered refrigerant goes back in: too little wears the compressor, too much floods the evaporator.",
    doubt: "What clings to the parts is not measured, so that each part calls for a range. Outside it by {oil_balance} or {oil_balance_share} of the whole, whichever is more, is remarked on; by more than {oil_off_share} of what is usual, and more than the {oil_measured} that oil is measured to, it is for the owner.",
    change: "The missing amount added or taken out, or an entry corrected.",
    source: "makers’ service data for each part; 40 CFR 82 subpart B, appendix C: recovered oil within 20 mL",
    due: Due::WhenCharged,
    find: balance,
    why: steps::of_oil,
};

fn balance(case: &Case<'_>) -> Vec<Found> {
    let Some(b) = oil::balance(case) else {
        return Vec::new();
    };
    let share = case
        .record
        .system
        .oil_total
        .as_ref()
        .map_or(0.0, |t| t.si().m3() * case.limits.oil_balance_share.one());
    let (off, rounding) = (b.off.abs(), 1e-12);
    let far = b.due.usual > 0.0
        && off > case.limits.oil_off_share.one() * b.due.usual + rounding
        && off > case.limits.oil_measured.m3() + rounding;
    if !far && off <= case.limits.oil_balance.m3().max(share) + rounding {
        return Vec::new();
    }
    let volume = |v: f64| show::volume(Volume::new(v), case.units);
    let called = if b.due.high > 0.0 {
        format!("parts and recovery call for {}", between(b.due, case))
    } else {
        "nothing on record calls for any".to_owned()
    };
    let much = b.off > 0.0;
    let says = format!(
        "{} of oil went in; {called}: {} too {}.",
        volume(b.added),
        volume(off),
        if much { "much" } else { "little" }
    );
    let remedy = match (far, much) {
        (false, _) => Remedy::new(
            WorkStep::Record,
            "Check the oil entries: what left with the old parts and the recovered refrigerant, and what went in.",
        ),
        (true, false) => Remedy::new(
            WorkStep::Oil,
            format!(
                "Put in {} of oil, unless an entry is wrong: then correct it.",
                volume(off)
            ),
        ),
        (true, true) => Remedy::new(
            WorkStep::Oil,
            format!(
                "Take {} of oil out, unless an entry is wrong: then correct it.",
                volume(off)
            ),
        ),
    };
    vec![
        Found::new(
            "oil_added",
            if far {
                Weight::Concession
            } else {
                Weight::Note
            },
            says,
            remedy,
        )
        .value("added_m3", b.added)
        .value("due_low_m3", b.due.low)
        .value("due_usual_m3", b.due.usual)
        .value("due_high_m3", b.due.high)
        .maybe("removed_m3", oil::figures(case).removed_m3),
    ]
}

fn between(due: oil::Due, case: &Case<'_>) -> String {
    let volume = |v: f64| show::volume(Volume::new(v), case.units);
    if due.high - due.low < 1e-9 {
        volume(due.usual)
    } else {
        format!("{} to {}", volume(due.low), volume(due.high))
    }
}

/// The row of `oil-not-recorded`.
pub const OIL_NOT_RECORDED: Rule = Rule {
    code: RuleCode::OilNotRecorded,
    weights: &[Weight::Concession],
    section: Section::Oil,
    task: Task::Oil,
    short: "oil not recorded",
    law: "A part that is renewed, a section that is flushed and refrigerant that is recovered take oil with them. Nothing recorded is not the same as none.",
    doubt: "A new part may have come with its oil in it; nothing on record says so. Less than {oil_least} is not asked for.",
    change: "The oil that went in entered, also what a part came with, and also where it was 0.",
    source: "makers’ service data for each part",
    due: Due::WhenCharged,
    find: not_recorded,
    why: steps::of_oil,
};

fn not_recorded(case: &Case<'_>) -> Vec<Found> {
    if oil::figures(case).added_m3.is_some() || !oil::asks_for_an_entry(case) {
        return Vec::new();
    }
    let called = oil::called_for(case);
    let by: Vec<&str> = called
        .iter()
        .filter(|c| c.due.usual > 0.0)
        .map(|c| c.by.as_str())
        .collect();
    let due = oil::due(case).unwrap_or_default();
    let says = format!(
        "No oil is recorded as put in. Called for: {} ({}).",
        between(due, case),
        by.join(", ")
    );
    vec![
        Found::new(
            "oil_added",
            Weight::Concession,
            says,
            Remedy::new(
                WorkStep::Record,
                "Enter how much oil went in, with what parts came with; 0 if there was none.",
            ),
        )
        .value("due_low_m3", due.low)
        .value("due_usual_m3", due.usual)
        .value("due_high_m3", due.high),
    ]
}
