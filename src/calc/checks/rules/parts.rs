//! Parts: where they come from, what is in them, how they are held.
use super::{Due, Found, PRACTICE, Rule, RuleCode, Section, Task};
use crate::{
    checks::{
        case::{Case, part_name},
        explain::steps,
        remedy::Remedy,
        timeline::live,
        vin,
    },
    record::{
        FixingKind, Flush, Part, PartPorts, Role, Source,
        answer::{Weight, WorkStep},
    },
    units::{Seconds, show},
};

fn parts<'a>(case: &'a Case<'_>) -> impl Iterator<Item = (usize, String, &'a Part)> {
    live(&case.record.parts, "parts")
}

fn blank(text: &Option<String>) -> bool {
    text.as_deref().is_none_or(|t| t.trim().is_empty())
}

/// The row of `provenance-incomplete`.
pub const PROVENANCE_INCOMPLETE: Rule = Rule {
    code: RuleCode::ProvenanceIncomplete,
    weights: &[Weight::Concession, Weight::Note],
    section: Section::Parts,
    task: Task::Parts,
    short: "papers missing",
    law: "A used part is sold as what it is: where it comes from can be shown to the customer, the yard and the law.",
    doubt: "None: the papers are there, or they are not.",
    change: "The missing papers entered with the part.",
    source: "consumer law on used parts",
    due: Due::AtReady,
    find: provenance,
    why: steps::of_evidence,
};

fn provenance(case: &Case<'_>) -> Vec<Found> {
    parts(case)
        .filter(|(_, _, p)| p.source == Some(Source::Salvaged))
        .filter_map(|(_, id, p)| {
            let d = p.donor.clone().unwrap_or_default();
            let missing: Vec<&str> = [
                (blank(&d.yard), "the yard"),
                (
                    blank(&d.vehicle) && blank(&d.vin),
                    "the donor car or its VIN",
                ),
                (blank(&d.stock), "the stock number"),
                (blank(&d.receipt), "the receipt"),
            ]
            .into_iter()
            .filter_map(|(missing, what)| missing.then_some(what))
            .collect();
            let (weight, missing) = match (missing.is_empty(), d.pulled_on) {
                (false, _) => (Weight::Concession, missing.join(", ")),
                (true, None) => (
                    Weight::Note,
                    "the day it was removed from the donor".to_owned(),
                ),
                (true, Some(_)) => return None,
            };
            let says = format!(
                "The papers of the {} are incomplete: {missing} missing.",
                part_name(p)
            );
            Some(
                Found::new(
                    id.clone(),
                    weight,
                    says,
                    Remedy::new(
                        WorkStep::Record,
                        "Ask the yard, and enter them with the part.",
                    ),
                )
                .resting_on([id])
                .word("missing", &missing),
            )
        })
        .collect()
}

/// The row of `donor-vin-doubtful`.
pub const DONOR_VIN_DOUBTFUL: Rule = Rule {
    code: RuleCode::DonorVinDoubtful,
    weights: &[Weight::Note],
    section: Section::Parts,
    task: Task::Parts,
    short: "donor’s VIN",
    law: "The ninth character of a North American VIN follows from the others (49 CFR 565.15).",
    doubt: "Elsewhere the digit need not fit; the number may be right all the same.",
    change: "The VIN read again.",
    source: "49 CFR 565.15 (North America)",
    due: Due::Now,
    find: donor_vin,
    why: steps::of_evidence,
};

fn donor_vin(case: &Case<'_>) -> Vec<Found> {
    parts(case)
        .filter_map(|(_, id, p)| {
            let vin = p.donor.as_ref()?.vin.as_deref()?.trim().to_uppercase();
            (vin.chars().count() == 17 && !vin::check_digit_fits(&vin)).then(|| {
                let says = format!("The donor VIN {vin} fails its check digit.");
                Found::new(
                    id.clone(),
                    Weight::Note,
                    says,
                    Remedy::new(
                        WorkStep::Record,
                        "Read the VIN again; outside North America it may be right all the same.",
                    ),
                )
                .resting_on([id])
            })
        })
        .collect()
}

fn is_drier(p: &Part) -> bool {
    matches!(p.role, Some(Role::ReceiverDrier | Role::Accumulator))
}

fn has_desiccant(p: &Part) -> bool {
    p.contains_desiccant.unwrap_or_else(|| is_drier(p))
}

/// The row of `desiccant-salvaged`.
pub const DESICCANT_SALVAGED: Rule = Rule {
    code: RuleCode::DesiccantSalvaged,
    weights: &[Weight::Blocks, Weight::Concession],
    section: Section::Parts,
    task: Task::Parts,
    short: "old desiccant",
    law: "Desiccant takes up water from the air until it is full; a part that stood open in a yard brings its water along.",
    doubt: "How long it stood is rarely known; it is taken for full.",
    change: "New desiccant, or a new drier.",
    source: PRACTICE,
    due: Due::Now,
    find: desiccant_salvaged,
    why: steps::of_evidence,
};

pub fn desiccant_salvaged(case: &Case<'_>) -> Vec<Found> {
    let excused = young_and_quick(case);
    parts(case)
        .filter(|(_, _, p)| {
            p.fitted_at.is_some() && has_desiccant(p) && p.desiccant_renewed != Some(true)
        })
        .filter(|(_, _, p)| {
            p.source == Some(Source::Salvaged) || (p.source == Some(Source::Refitted) && !excused)
        })
        .map(|(_, id, p)| {
            let weight = if is_drier(p) {
                Weight::Blocks
            } else {
                Weight::Concession
            };
            let says = format!(
                "The {} was fitted with its old desiccant, which has taken up water from the air.",
                part_name(p)
            );
            Found::new(
                id.clone(),
                weight,
                says,
                Remedy::new(
                    WorkStep::RenewDesiccant,
                    "Renew the desiccant, or fit a new receiver-drier.",
                ),
            )
            .resting_on([id])
        })
        .collect()
}

/// The row of `desiccant-not-renewed`.
pub const DESICCANT_NOT_RENEWED: Rule = Rule {
    code: RuleCode::DesiccantNotRenewed,
    weights: &[Weight::Concession],
    section: Section::Parts,
    task: Task::Parts,
    short: "desiccant not renewed",
    law: "While a circuit is open its desiccant takes up water from the air; after some hours it is full, and can take none from the circuit.",
    doubt: "How fast depends on the air; desiccant of less than {desiccant_age} and an opening under {desiccant_open} are excused.",
    change: "New desiccant on record, or the date when it was last renewed.",
    source: PRACTICE,
    due: Due::WhenEvacuated,
    find: desiccant_not_renewed,
    why: steps::of_evidence,
};

fn desiccant_not_renewed(case: &Case<'_>) -> Vec<Found> {
    if !case.was_opened() || !desiccant_salvaged(case).is_empty() {
        return Vec::new();
    }
    let renewed = parts(case).any(|(_, _, p)| {
        p.fitted_at.is_some()
            && has_desiccant(p)
            && (p.desiccant_renewed == Some(true) || matches!(p.source, Some(Source::New)))
    });
    if renewed || young_and_quick(case) {
        return Vec::new();
    }
    let open = opening_lasted(case);
    let how_long = open
        .map(|s| format!(" for {}", show::duration(Seconds::new(s))))
        .unwrap_or_default();
    let says = format!("The system was open{how_long} and got no new desiccant.");
    let evidence: Vec<String> = case
        .first_opening()
        .map(|o| o.about.clone())
        .into_iter()
        .collect();
    vec![
        Found::new(
            "parts",
            Weight::Concession,
            says,
            Remedy::new(
                WorkStep::RenewDesiccant,
                "Fit a new receiver-drier or accumulator, or renew the desiccant bag.",
            ),
        )
        .resting_on(evidence)
        .maybe("open_s", open),
    ]
}

/// Desiccant renewed not long ago, and the circuit open for a short while only; never of a circuit that had stood open when it came, of which
/// nobody knows what got in.
fn young_and_quick(case: &Case<'_>) -> bool {
    if case.record.open_since.is_some() {
        return false;
    }
    let (Some(renewed), Some(first)) = (
        case.record.desiccant_last_renewed.and_then(|d| d.start()),
        case.first_opening(),
    ) else {
        return false;
    };
    let age = (first.at.ms - renewed.millis()) as f64 / 1e3;
    // A day at each end: a date is no instant.
    // Nothing on record closes it again: that is the missing hold, which is reported.
    let quick =
        opening_lasted(case).map_or(case.hold_missing(), |s| s < case.limits.desiccant_open.s());
    age <= case.limits.desiccant_age.s() + 86_400.0 && quick
}

/// From the first opening to the start of the first evacuation or hold after the last one, s.
fn opening_lasted(case: &Case<'_>) -> Option<f64> {
    let (first, last) = (case.first_opening()?, case.last_opening()?);
    let evacuations = case
        .evacuations
        .iter()
        .filter(|e| e.counts())
        .filter_map(|e| e.start);
    let closed = evacuations
        .chain(case.holds.iter().filter_map(|h| h.start))
        .filter(|at| *at > last.at)
        .min()?;
    Some((closed.ms - first.at.ms) as f64 / 1e3)
}

/// The row of `ports-open`.
pub const PORTS_OPEN: Rule = Rule {
    code: RuleCode::PortsOpen,
    weights: &[Weight::Concession, Weight::Note],
    section: Section::Parts,
    task: Task::Parts,
    short: "open ports",
    law: "Dirt and damp air go into an open part and stay in its oil.",
    doubt: "What got in is not known; a compressor, drier or condenser suffers most from it.",
    change: "The part flushed and looked into; the owner’s word for the parts that suffer most.",
    source: PRACTICE,
    due: Due::Now,
    find: ports_open,
    why: steps::of_evidence,
};

fn ports_open(case: &Case<'_>) -> Vec<Found> {
    parts(case)
        .filter(|(_, _, p)| p.source == Some(Source::Salvaged))
        .filter_map(|(_, id, p)| {
            let ports = p.ports.filter(|x| *x != PartPorts::Capped)?;
            let weight = match p.role {
                Some(Role::Compressor | Role::ReceiverDrier | Role::Accumulator | Role::Condenser) => Weight::Concession,
                _ => Weight::Note,
            };
            let how = match ports {
                PartPorts::Open => "came with open ports",
                PartPorts::Cut => "came with its pipes cut",
                _ => "came, and it is not known whether its ports were closed",
            };
            Some(
                Found::new(
                    id.clone(),
                    weight,
                    format!("The {} {how}: dirt and damp air could get in.", part_name(p)),
                    if p.fitted_at.is_some() {
                        Remedy::new(WorkStep::Accept, "It is fitted: if nobody flushed it and looked into its ports, the owner decides whether it stays.")
                    } else {
                        Remedy::new(WorkStep::Flush, "Flush it and look into its ports before it is fitted.")
                    },
                )
                .resting_on([id]),
            )
        })
        .collect()
}

/// The row of `compressor-debris-unflushed`.
pub const COMPRESSOR_DEBRIS_UNFLUSHED: Rule = Rule {
    code: RuleCode::CompressorDebrisUnflushed,
    weights: &[Weight::Blocks],
    section: Section::Parts,
    task: Task::Flush,
    short: "debris",
    law: "A compressor that came apart sheds metal into each section of the circuit, and the next one takes it in.",
    doubt: "How far it went is not known; every section is asked for.",
    change: "Each section flushed, renewed or filtered, and entered.",
    source: PRACTICE,
    due: Due::WhenEvacuated,
    find: debris,
    why: steps::of_evidence,
};

fn debris(case: &Case<'_>) -> Vec<Found> {
    if case
        .record
        .system
        .compressor_failed
        .as_ref()
        .and_then(|c| c.debris)
        != Some(true)
    {
        return Vec::new();
    }
    let dealt_with: Vec<&str> = live(&case.record.flushes, "flushes")
        .filter(|(_, _, f)| f.by.is_some())
        .flat_map(|(_, _, f)| sections_named(f))
        .collect();
    let new_part = |role: Role| {
        parts(case).any(|(_, _, p)| {
            p.fitted_at.is_some() && p.role == Some(role) && p.source == Some(Source::New)
        })
    };
    SECTIONS
        .iter()
        .filter(|(section, role)| !(dealt_with.contains(section) || new_part(*role)))
        .map(|(section, _)| {
            let says = format!("The compressor shed debris, and this section was not flushed, renewed or filtered: {section}.");
            Found::new(*section, Weight::Blocks, says, Remedy::new(WorkStep::Flush, format!("Flush, renew or filter it: {section}.")))
        })
        .collect()
}

/// The sections of a circuit that debris reaches, in the way of the flow, and the part whose renewal deals with each.
const SECTIONS: [(&str, Role); 3] = [
    ("compressor to condenser", Role::Condenser),
    ("condenser to evaporator", Role::ExpansionDevice),
    ("evaporator to compressor", Role::Hose),
];

/// The sections that a flush names: by their own names where it has them, and only else by what its words may mean. What may mean two of them
/// names none, so that it is asked for.
pub fn sections_named(flush: &Flush) -> Vec<&'static str> {
    let words: Vec<String> = flush
        .section
        .as_deref()
        .unwrap_or_default()
        .split_whitespace()
        .map(str::to_lowercase)
        .collect();
    let text = words.join(" ");
    if matches!(text.as_str(), "whole circuit" | "all" | "circuit") {
        return SECTIONS.iter().map(|(section, _)| *section).collect();
    }
    let named: Vec<&str> = SECTIONS
        .iter()
        .map(|(section, _)| *section)
        .filter(|section| text.contains(section))
        .collect();
    if !named.is_empty() {
        return named;
    }
    let has = |word: &str| text.contains(word);
    let [discharge, liquid, suction] = SECTIONS.map(|(section, _)| section);
    // What lies between condenser and evaporator names that section.
    if !has("compressor")
        && ["receiver-drier", "receiver drier", "expansion", "orifice"]
            .iter()
            .any(|w| has(w))
    {
        return vec![liquid];
    }
    match (has("compressor"), has("condenser"), has("evaporator")) {
        (true, true, true) => return Vec::new(),
        (true, true, false) => return vec![discharge],
        (false, true, true) => return vec![liquid],
        (true, false, true) => return vec![suction],
        _ => {}
    }
    let lines: Vec<&str> = [
        ("discharge", discharge),
        ("liquid", liquid),
        ("suction", suction),
    ]
    .into_iter()
    .filter(|(word, _)| has(word))
    .map(|l| l.1)
    .collect();
    // The condenser by itself is the end of the section that the compressor blows into.
    if lines.is_empty() && has("condenser") {
        vec![discharge]
    } else {
        lines
    }
}

/// The row of `part-seen-before`.
pub const PART_SEEN_BEFORE: Rule = Rule {
    code: RuleCode::PartSeenBefore,
    weights: &[Weight::Note],
    section: Section::Parts,
    task: Task::Parts,
    short: "seen before",
    law: "What came back once may come back again: the shop’s own record of the part, its donor or its yard.",
    doubt: "One comeback proves little.",
    change: "Nothing; it is a reminder.",
    source: "the shop’s own record",
    due: Due::Now,
    find: seen_before,
    why: steps::of_evidence,
};

fn seen_before(case: &Case<'_>) -> Vec<Found> {
    parts(case)
        .filter(|(_, _, p)| p.fitted_at.is_some() && p.seen_before == Some(true))
        .map(|(_, id, p)| {
            let says = format!(
                "The {}, its donor or its yard is on the shop’s record with a comeback.",
                part_name(p)
            );
            Found::new(
                id.clone(),
                Weight::Note,
                says,
                Remedy::new(
                    WorkStep::Record,
                    "Look at what came back, and check this part once more.",
                ),
            )
            .resting_on([id])
        })
        .collect()
}

/// The row of `improvised-fixing`.
pub const IMPROVISED_FIXING: Rule = Rule {
    code: RuleCode::ImprovisedFixing,
    weights: &[Weight::Concession],
    section: Section::Parts,
    task: Task::Fixings,
    short: "improvised fixing",
    law: "What was not made for the place may loosen, chafe and leak later: the owner accepts it in writing, the customer is told, and it is looked at again.",
    doubt: "How long it holds is not known.",
    change: "A standard fixing; or the owner’s words, and a date to look again.",
    source: PRACTICE,
    due: Due::Now,
    find: improvised,
    why: steps::of_evidence,
};

fn improvised(case: &Case<'_>) -> Vec<Found> {
    live(&case.record.fixings, "fixings")
        .filter(|(_, _, f)| f.kind == Some(FixingKind::Improvised))
        .map(|(_, id, f)| {
            let place = f
                .place
                .as_deref()
                .map(|p| format!(" at {p}"))
                .unwrap_or_default();
            let again = f.look_again_on.map_or_else(
                || " No recheck date is set.".to_owned(),
                |d| format!(" Recheck by {}.", d.told()),
            );
            let next = if f.look_again_on.is_some() {
                Remedy::new(
                    WorkStep::Accept,
                    "Repair it properly, or ask the owner to accept it.",
                )
            } else {
                Remedy::new(
                    WorkStep::Record,
                    "Set a day to recheck it, or repair it properly.",
                )
            };
            let mut found = Found::new(
                id.clone(),
                Weight::Concession,
                format!("Improvised fixing{place}.{again}"),
                next,
            )
            .resting_on([id]);
            if let Some(day) = f.look_again_on {
                found = found.word("look_again_on", &day.to_string());
            }
            found
        })
        .collect()
}
