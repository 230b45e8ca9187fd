//! Oil: the right kind, and as much as left.
use super::{Due, Found, PRACTICE, Rule, RuleCode, Section, Task};
use crate::{
    checks::{case::Case, explain::steps, figures, remedy::Remedy, timeline::live},
    record::{
        Drive,
        answer::{Weight, WorkStep},
    },
    units::{UnitSystem, Volume, show},
};

/// Families of oil that do not mix.
fn family(oil: &str) -> Option<&'static str> {
    let oil = oil.to_lowercase();
    ["pag", "poe", "mineral", "pve"].into_iter().find(|f| oil.contains(f)).or_else(|| oil.contains("ester").then_some("poe"))
}

fn same(a: &str, b: &str) -> bool {
    let tidy = |s: &str| s.chars().filter(|c| c.is_alphanumeric()).collect::<String>().to_lowercase();
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
    let Some(system) = case.record.system.oil_type.as_deref() else { return Vec::new() };
    live(&case.record.oil_added, "oil_added")
        .filter_map(|(_, id, o)| {
            let added = o.oil_type.as_deref().filter(|a| !same(a, system))?;
            let families = family(added).zip(family(system)).is_some_and(|(a, b)| a != b);
            let electric = case.record.system.compressor_drive == Some(Drive::Electric);
            let weight = if electric || families { Weight::Blocks } else { Weight::Concession };
            let why = if electric { ": on a high-voltage compressor even a little of it lowers the insulation" } else { "" };
            let says = format!("{added} went in where the label says {system}{why}.");
            Some(
                Found::new(id.clone(), weight, says, Remedy::new(WorkStep::Flush, "Take the oil out, flush, and put in what the label says.")).resting_on([id]),
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
    doubt: "What clings to the parts is not measured; {oil_balance} or {oil_balance_share} of the whole, whichever is more, is allowed for.",
    change: "The missing amount added or taken out, or an entry corrected.",
    source: PRACTICE,
    due: Due::WhenCharged,
    find: balance,
    why: steps::of_oil,
};

fn balance(case: &Case<'_>) -> Vec<Found> {
    let oil = figures::oil(case);
    let (Some(removed), Some(added)) = (oil.removed_m3, oil.added_m3) else { return Vec::new() };
    let share = case.record.system.oil_total.as_ref().map_or(0.0, |t| t.si().m3() * case.limits.oil_balance_share.one());
    let off = added - removed;
    if off.abs() <= case.limits.oil_balance.m3().max(share) + 1e-12 {
        return Vec::new();
    }
    let volume = |v: f64, units: UnitSystem| show::volume(Volume::new(v), units);
    let says = format!(
        "{} of oil went in and {} came out: {} too {}.",
        volume(added, case.units),
        volume(removed, case.units),
        volume(off.abs(), case.units),
        if off > 0.0 { "much" } else { "little" }
    );
    vec![
        Found::new(
            "oil_added",
            Weight::Note,
            says,
            Remedy::new(WorkStep::Record, "Calculate again what left with the old parts and the recovered refrigerant."),
        )
        .value("removed_m3", removed)
        .value("added_m3", added),
    ]
}
