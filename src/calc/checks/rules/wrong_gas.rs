//! Another gas than the label's, and where it went.
use super::{Due, Found, Rule, RuleCode, Section, Task};
use crate::{
    checks::{
        case::Case,
        contamination::{self, Identified},
        explain::steps,
        remedy::Remedy,
        timeline::{Rank, Stamp, live},
    },
    record::{
        Refrigerant,
        answer::{Weight, WorkStep},
    },
    units::{Fraction, show},
};

/// The row of `wrong-gas-found`.
pub const WRONG_GAS_FOUND: Rule = Rule {
    code: RuleCode::WrongGasFound,
    weights: &[Weight::Blocks, Weight::Note],
    section: Section::Standing,
    task: Task::Identification,
    short: "wrong gas inside",
    law: "A circuit is made for one gas: its oil, its seals, its pressures, and what may burn near an engine. Refrigerant charged on top of another gas makes a mixture that no table knows; hydrocarbons, R-152a and R-1234yf burn.",
    doubt: "An identifier tells shares to about a percent: hydrocarbons and gases that it cannot name count from {foreign_gas}. A circuit that is being converted may hold what it was made for.",
    change: "Everything recovered into a cylinder kept for mixtures, and the circuit evacuated.",
    // SAE J639 and ASHRAE 34 from memory.
    source: "40 CFR 82 subpart B; the label by SAE J639; ASHRAE 34 for what burns",
    due: Due::Now,
    find: wrong,
    why: steps::of_standing,
};

fn wrong(case: &Case<'_>) -> Vec<Found> {
    live(&case.record.identification, "identification")
        .filter_map(|(i, id, x)| {
            let shown = contamination::identified(case, x);
            if !shown.is_wrong() {
                return None;
            }
            let at = x.at.map(|at| Stamp::new(at, Rank::Found, i));
            let gone = recovered_and_evacuated(case, at);
            let (weight, remedy) = if gone.is_some() {
                (Weight::Note, keep_apart(case, at))
            } else {
                (Weight::Blocks, take_it_out(&shown))
            };
            let main = shown.main.as_ref().map(|(_, share)| *share);
            Some(
                Found::new(id.clone(), weight, says(case, &shown), remedy)
                    .resting_on([id])
                    .maybe("main_gas", main)
                    .maybe("hydrocarbons", shown.hydrocarbons)
                    .maybe("unknown", shown.unknown),
            )
        })
        .collect()
}

/// The evacuation that emptied it for good after it was recovered.
pub(super) fn recovered_and_evacuated(case: &Case<'_>, after: Option<Stamp>) -> Option<Stamp> {
    let recovered = case
        .recoveries
        .iter()
        .filter_map(|r| r.at)
        .find(|at| after.is_none_or(|a| *at > a))?;
    case.evacuations
        .iter()
        .filter(|e| e.counts())
        .filter_map(|e| e.start)
        .find(|start| *start > recovered)
}

fn says(case: &Case<'_>, shown: &Identified) -> String {
    let percent = |share: f64| show::fraction(Fraction::new(share));
    let label = case.record.system.refrigerant;
    let foreign: Vec<String> = [
        (shown.hydrocarbons, "hydrocarbons"),
        (shown.burning, "another refrigerant that burns"),
        (shown.unknown, "a gas that it cannot name"),
    ]
    .into_iter()
    .filter_map(|(share, what)| share.map(|s| format!("{} of {what}", percent(s))))
    .collect();
    let burns = if shown.flammable { " It may burn." } else { "" };
    match &shown.main {
        Some((name, share)) if shown.other_main => {
            let name = if name == "other" {
                "a gas that it cannot name"
            } else {
                name
            };
            format!(
                "The identifier shows {} of {name}, and the label says {label}.{burns}",
                percent(*share)
            )
        }
        _ => format!(
            "The identifier shows {} in a circuit labelled {label}.{burns}",
            foreign.join(" and ")
        ),
    }
}

fn take_it_out(shown: &Identified) -> Remedy {
    let rated = if shown.flammable {
        ", with equipment rated for flammable gas, good ventilation and nothing near that can light it"
    } else {
        ""
    };
    Remedy::new(
        WorkStep::Recover,
        format!(
            "Do not add refrigerant. Recover all of it into a cylinder kept for mixtures{rated}."
        ),
    )
    .then(
        WorkStep::Evacuate,
        "Evacuate, so that nothing of the other gas is left.",
    )
}

fn keep_apart(case: &Case<'_>, after: Option<Stamp>) -> Remedy {
    let cylinders: Vec<&str> = live(&case.record.recovery, "recovery")
        .filter(|(i, _, r)| {
            r.at.is_some_and(|at| after.is_none_or(|a| Stamp::new(at, Rank::Recovered, *i) > a))
        })
        .filter_map(|(_, _, r)| r.cylinder.as_deref())
        .collect();
    let which = cylinders.first().map_or_else(
        || "the cylinder that took it".to_owned(),
        |c| format!("cylinder {c}"),
    );
    Remedy::new(
        WorkStep::Record,
        format!("Keep {which} for mixtures and do not charge from it."),
    )
}

/// The row of `contaminated-cylinder`.
pub const CONTAMINATED_CYLINDER: Rule = Rule {
    code: RuleCode::ContaminatedCylinder,
    weights: &[Weight::Blocks],
    section: Section::Charge,
    task: Task::Charging,
    short: "from a mixed cylinder",
    law: "What a mixture or another gas was recovered into is a mixture from then on, and so is every charge out of it.",
    doubt: "The cylinder is told by what is written on it. What went into it on other orders is known where the shop marked it.",
    change: "The charge recovered into a cylinder kept for mixtures, the circuit evacuated, and a charge from a clean cylinder.",
    source: "40 CFR 82 subpart B",
    due: Due::Now,
    find: contaminated,
    why: steps::of_charge,
};

fn contaminated(case: &Case<'_>) -> Vec<Found> {
    contamination::traced(case)
        .tainted
        .into_iter()
        .filter_map(|tainted| {
            let charge = case.charges.iter().find(|c| c.id == tainted.charge)?;
            // Without a time nothing can be said to have come after it.
            if charge.at.is_some() && recovered_and_evacuated(case, charge.at).is_some() {
                return None;
            }
            let cylinder = charge.entry.cylinder.as_deref().map_or_else(|| "a cylinder".to_owned(), |c| format!("cylinder {c}"));
            let since = match &tainted.by {
                Some(recovery) => format!(", into which a mixture or another gas was recovered on this order ({recovery})"),
                None => ", which is marked as contaminated".to_owned(),
            };
            let remedy = Remedy::new(WorkStep::Recover, format!("Recover the charge into a cylinder kept for mixtures, and keep {cylinder} apart."))
                .then(WorkStep::Evacuate, "Evacuate.")
                .then(WorkStep::Charge, "Charge by weight from a clean cylinder.");
            Some(
                Found::new(tainted.charge.clone(), Weight::Blocks, format!("It was charged from {cylinder}{since}."), remedy)
                    .resting_on([tainted.charge])
                    .resting_on(tainted.by),
            )
        })
        .collect()
}

/// Whether something of this refrigerant is a conversion's old gas, recovered before the first charging.
pub(super) fn is_converted_away(
    case: &Case<'_>,
    refrigerant: Refrigerant,
    at: Option<Stamp>,
) -> bool {
    let first_charge = case.charges.iter().filter_map(|c| c.at).min();
    case.record.system.converted_from == Some(refrigerant)
        && at
            .zip(first_charge)
            .is_none_or(|(at, charged)| at < charged)
}
