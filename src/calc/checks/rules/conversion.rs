//! A circuit that was converted from one refrigerant to another: what has to be on record for that.
use super::{Due, Found, Rule, RuleCode, Section, Task};
use crate::{
    checks::{case::Case, explain::steps, remedy::Remedy, timeline::live},
    record::{
        Conversion, Refrigerant, Role, Source,
        answer::{Weight, WorkStep},
    },
};

/// The row of `conversion-incomplete`.
pub const CONVERSION_INCOMPLETE: Rule = Rule {
    code: RuleCode::ConversionIncomplete,
    weights: &[Weight::Concession],
    section: Section::Charge,
    task: Task::Details,
    short: "conversion incomplete",
    law: "R-134a in a circuit made for R-12 needs service-port fittings of its own and a label over the old one, so that nobody charges the wrong gas; oil that it carries, which mineral oil is not; a desiccant that stands it; and a switch that stops the compressor before the high side lets refrigerant off.",
    doubt: "Oil and desiccant also count where they are on record as put in on this order. Hoses and seals are not asked for here: the maker says whether they suit R-134a.",
    change: "What is missing, done and entered under the details of the order.",
    // SAE J1660, J1661 and the cut-out switch from memory.
    source: "40 CFR 82 subpart G, appendix B (HFC-134a in place of R-12: unique fittings, detailed labels, all R-12 removed first); SAE J1660 for fittings and label; SAE J1661 for oil and desiccant; the cut-out switch by EPA’s use conditions",
    due: Due::WhenCharged,
    find: incomplete,
    why: steps::of_evidence,
};

fn incomplete(case: &Case<'_>) -> Vec<Found> {
    if case.record.system.converted_from != Some(Refrigerant::R12)
        || case.record.system.refrigerant == Refrigerant::R12
    {
        return Vec::new();
    }
    let missing = missing(case);
    if missing.is_empty() {
        return Vec::new();
    }
    let says = format!(
        "Converted from R-12 to {}, and not on record: {}.",
        case.record.system.refrigerant,
        missing.join(", ")
    );
    let remedy = Remedy::new(
        WorkStep::Record,
        format!("Do what is missing and enter it: {}.", missing.join(", ")),
    );
    vec![
        Found::new("conversion", Weight::Concession, says, remedy)
            .word("missing", &missing.join(", ")),
    ]
}

/// What is not on record, in words.
fn missing(case: &Case<'_>) -> Vec<&'static str> {
    let none = Conversion::default();
    let done = case.record.system.conversion.as_ref().unwrap_or(&none);
    let said = |entry: Option<bool>, seen: bool| entry.unwrap_or(seen);
    [
        (said(done.label, false), "the new label"),
        (said(done.fittings, false), "the service-port fittings"),
        (said(done.oil, suitable_oil(case)), "oil that suits it"),
        (
            said(done.desiccant, new_desiccant(case)),
            "a desiccant that suits it",
        ),
        (
            said(done.cut_out, false),
            "the high-pressure cut-out switch",
        ),
    ]
    .into_iter()
    .filter_map(|(there, what)| (!there).then_some(what))
    .collect()
}

/// Oil of another family than mineral oil went in.
fn suitable_oil(case: &Case<'_>) -> bool {
    live(&case.record.oil_added, "oil_added").any(|(_, _, o)| {
        o.oil_type
            .as_deref()
            .is_some_and(|t| ["PAG", "POE"].iter().any(|f| t.to_uppercase().contains(f)))
    })
}

/// A new receiver-drier or accumulator, or new desiccant in one, was fitted.
fn new_desiccant(case: &Case<'_>) -> bool {
    live(&case.record.parts, "parts").any(|(_, _, p)| {
        let holds_it = matches!(p.role, Some(Role::ReceiverDrier | Role::Accumulator))
            || p.contains_desiccant == Some(true);
        p.fitted_at.is_some()
            && holds_it
            && (p.source == Some(Source::New) || p.desiccant_renewed == Some(true))
    })
}
