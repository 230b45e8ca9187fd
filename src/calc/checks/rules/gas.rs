//! What gas is in the circuit, and where it went.
use super::{
    Due, Found, Rule, RuleCode, Section, Task,
    wrong_gas::{is_converted_away, recovered_and_evacuated},
};
use crate::{
    checks::{
        case::Case,
        contamination::{self, Identified},
        explain::steps,
        figures,
        remedy::Remedy,
        timeline::{Rank, Stamp, live},
    },
    record::{
        Refrigerant,
        answer::{Weight, WorkStep},
    },
    units::{Fraction, show},
};

/// The row of `standing-pressure-high`.
pub const STANDING_PRESSURE_HIGH: Rule = Rule {
    code: RuleCode::StandingPressureHigh,
    weights: &[Weight::Note],
    section: Section::Standing,
    task: Task::Standing,
    short: "pressure too high",
    law: "A liquid and its vapour at rest have one pressure at one temperature, the saturation pressure. More than that inside a circuit that rested is air, or another refrigerant.",
    doubt: "The circuit has to have the temperature of the air around it: hence after a cold soak only. {standing_excess} or what {standing_excess_temperature} make, whichever is more, is allowed for.",
    change: "The gas identified; or a reading after a longer rest.",
    source: "vapour pressure: more than that is air or another refrigerant",
    due: Due::Now,
    find: standing_high,
    why: steps::of_standing,
};

pub fn standing_high(case: &Case<'_>) -> Vec<Found> {
    live(&case.record.standing, "standing")
        .filter(|(_, _, s)| s.cold_soak == Some(true))
        .filter_map(|(_, id, s)| {
            let facts = figures::standing_of(case, s)?;
            let (excess, allowed) = (facts.excess_pa, facts.allowed_pa);
            let above = case.voice(s.pressure.as_ref()?).difference(excess);
            (excess > allowed).then(|| {
                let says = format!(
                    "The circuit stands {} above what {} has at that temperature: air or another refrigerant is in there.",
                    above, case.record.system.refrigerant
                );
                Found::new(id.clone(), Weight::Note, says, Remedy::new(WorkStep::Identify, "Identify the gas before recovering it."))
                    .resting_on([id])
                    .value("excess_pa", excess)
                    .value("allowed_pa", allowed)
            })
        })
        .collect()
}

/// The row of `mixture-unidentified`.
pub const MIXTURE_UNIDENTIFIED: Rule = Rule {
    code: RuleCode::MixtureUnidentified,
    weights: &[Weight::Concession, Weight::Note],
    section: Section::Standing,
    task: Task::Identification,
    short: "gas not pure",
    law: "What is not one gas spoils the cylinder that it is recovered into and the machine that recovers it; it is recycled or charged only when it is known to be pure.",
    doubt: "An identifier tells shares to about a percent; it does not see every sealant.",
    change: "The mixture recovered into a cylinder kept for such, and the circuit evacuated. Sealant stays a matter for the owner.",
    source: "40 CFR 82 subpart B, appendices; common practice",
    due: Due::Now,
    find: mixture,
    why: steps::of_standing,
};

fn mixture(case: &Case<'_>) -> Vec<Found> {
    let first_recovery = case.recoveries.iter().filter_map(|r| r.at).min();
    let cured = |after: Option<Stamp>| recovered_and_evacuated(case, after).is_some();
    let mut all: Vec<Found> = live(&case.record.identification, "identification")
        .filter_map(|(i, id, x)| {
            let shown = contamination::identified(case, x);
            // Another gas is a finding of its own, which tells all of it but the sealant.
            if !(shown.sealant || (shown.is_mixed() && !shown.is_wrong())) {
                return None;
            }
            let gone = cured(x.at.map(|at| Stamp::new(at, Rank::Found, i)));
            let weight = if !shown.sealant && gone {
                Weight::Note
            } else {
                Weight::Concession
            };
            let most = shown.main.as_ref().map(|(_, share)| *share);
            Some(
                Found::new(
                    id.clone(),
                    weight,
                    mixture_says(&shown),
                    mixture_remedy(&shown, gone),
                )
                .resting_on([id])
                .maybe("most_of_one_gas", most)
                .maybe("air", shown.air),
            )
        })
        .collect();
    let identified = live(&case.record.identification, "identification").any(|(_, _, x)| {
        match (x.at, first_recovery) {
            (Some(at), Some(recovery)) => at.millis() <= recovery.ms,
            (_, None) => true,
            (None, Some(_)) => false,
        }
    });
    // Before it is recovered it can still be identified: until then the pressure is told, and no more.
    if !identified && first_recovery.is_some() {
        all.extend(standing_high(case).into_iter().map(|f| {
            let weight = if cured(None) { Weight::Note } else { Weight::Concession };
            Found {
                weight,
                says: "The standing pressure is higher than the refrigerant’s own, and the gas was not identified before recovery.".into(),
                remedy: Remedy::new(WorkStep::Identify, "Treat what was recovered as a mixture until it is identified."),
                ..f
            }
        }));
    }
    all
}

fn mixture_says(shown: &Identified) -> String {
    let percent = |share: f64| show::fraction(Fraction::new(share));
    let mut what = Vec::new();
    if let Some((_, most)) = shown
        .main
        .as_ref()
        .filter(|_| shown.impure && !shown.is_wrong())
    {
        what.push(format!("only {} of one gas", percent(*most)));
    }
    what.extend(
        shown
            .air
            .filter(|_| !shown.is_wrong())
            .map(|air| format!("{} of air", percent(air))),
    );
    if shown.sealant {
        what.push("leak sealant".into());
    }
    format!("The identifier shows {}.", what.join(" and "))
}

fn mixture_remedy(shown: &Identified, gone: bool) -> Remedy {
    let rated = if shown.flammable {
        ", with equipment rated for flammable gas"
    } else {
        ""
    };
    match (shown.sealant, gone) {
        (true, true) => Remedy::new(
            WorkStep::Accept,
            "Renew what the sealant has fouled, or let the owner accept it.",
        ),
        (true, false) => Remedy::new(
            WorkStep::Recover,
            format!(
                "Recover it with the machine and the cylinder that are kept for sealant{rated}."
            ),
        )
        .then(WorkStep::OpenRepair, "Renew what the sealant has fouled."),
        (false, true) => Remedy::new(
            WorkStep::Record,
            "Keep the cylinder that took it for mixtures, and do not charge from it.",
        ),
        (false, false) => Remedy::new(
            WorkStep::Recover,
            format!("Recover it into a cylinder kept for mixtures{rated}."),
        )
        .then(WorkStep::Evacuate, "Evacuate."),
    }
}

/// The row of `recovery-missing`.
pub const RECOVERY_MISSING: Rule = Rule {
    code: RuleCode::RecoveryMissing,
    weights: &[Weight::Concession],
    section: Section::Recovery,
    task: Task::Recovery,
    short: "no recovery",
    law: "Refrigerant is recovered before a circuit is opened, never let out (40 CFR 82.154; other countries have the like). A recovery of 0 g or a pressure near the air’s shows that there was none.",
    doubt: "Within {empty_within} of the air’s pressure a circuit counts as empty.",
    change: "The recovery entered, also one of 0 g, or the standing pressure that showed it empty.",
    source: "40 CFR 82.154: refrigerant is recovered, never let out",
    due: Due::Now,
    find: recovery_missing,
    why: steps::of_evidence,
};

fn recovery_missing(case: &Case<'_>) -> Vec<Found> {
    if case.record.system.refrigerant == Refrigerant::R744 {
        return Vec::new();
    }
    let mut all = Vec::new();
    let mut charged: Option<Stamp> = None;
    let mut charges = case.charges.iter().filter_map(|c| c.at).peekable();
    let mut open = false;
    for opening in case.openings.iter().filter(|o| !o.found) {
        while let Some(at) = charges.next_if(|at| *at < opening.at) {
            (charged, open) = (Some(at), false);
        }
        // Only the first opening after a charge lets refrigerant out.
        if std::mem::replace(&mut open, true) {
            continue;
        }
        let since = |at: Stamp| charged.is_none_or(|c| at > c) && at < opening.at;
        let recovered = case.recoveries.iter().any(|r| r.at.is_some_and(since));
        let empty = case.standing_empty().any(|(at, _)| since(at))
            || (charged.is_none() && case.record.open_since.is_some());
        if !recovered && !empty {
            let says = format!(
                "Nothing was recovered before {}, and nothing shows that the circuit was empty.",
                opening.says
            );
            all.push(
                Found::new(
                    "recovery",
                    Weight::Concession,
                    says,
                    Remedy::new(WorkStep::Record, "Enter what was recovered, also where it was 0 g, or the standing pressure that showed it empty."),
                )
                .resting_on([opening.about.clone()]),
            );
        }
    }
    all.truncate(1);
    all
}

/// The row of `recovered-other`.
pub const RECOVERED_OTHER: Rule = Rule {
    code: RuleCode::RecoveredOther,
    weights: &[Weight::Note],
    section: Section::Recovery,
    task: Task::Recovery,
    short: "cylinder mixed",
    law: "A cylinder is for one refrigerant. What another one was recovered into is a mixture from then on.",
    doubt: "None: the two names differ. What a circuit held before it was converted is no other gas.",
    change: "Nothing undoes it; the cylinder goes to reclaim.",
    source: "40 CFR 82 subpart B",
    due: Due::Now,
    find: recovered_other,
    why: steps::of_evidence,
};

fn recovered_other(case: &Case<'_>) -> Vec<Found> {
    let system = case.record.system.refrigerant;
    live(&case.record.recovery, "recovery")
        .filter_map(|(i, id, r)| {
            let at = r.at.map(|at| Stamp::new(at, Rank::Recovered, i));
            let other = r.refrigerant.filter(|x| *x != system && !is_converted_away(case, *x, at))?;
            let name = if other == Refrigerant::Other { "Another gas".to_owned() } else { other.to_string() };
            let cylinder = r.cylinder.as_deref().map_or_else(|| "the cylinder that took it".to_owned(), |c| format!("cylinder {c}"));
            let says = format!("{name} was recovered from a circuit labelled {system}: what is in {cylinder} is contaminated.");
            Some(
                Found::new(
                    id.clone(),
                    Weight::Note,
                    says,
                    Remedy::new(WorkStep::Record, format!("Mark {cylinder} as contaminated and do not charge from it.")),
                )
                .resting_on([id]),
            )
        })
        .collect()
}
