//! The charge: of the right refrigerant, by weight, as much as it should be, at the right time.
use super::{Due, Found, PRACTICE, Rule, RuleCode, Section, Task, holds, leaks};
use crate::{
    checks::{
        case::Case,
        explain::steps,
        figures,
        hose::{self, Known},
        remedy::Remedy,
        state::Inside,
        timeline::Stamp,
    },
    record::answer::{Weight, WorkStep},
    units::{Fraction, Mass, UnitSystem, show},
};

pub(super) fn mass(kg: f64, units: UnitSystem) -> String {
    show::mass(Mass::new(kg), units)
}

/// The row of `charged-before-hold`.
pub const CHARGED_BEFORE_HOLD: Rule = Rule {
    code: RuleCode::ChargedBeforeHold,
    weights: &[Weight::Concession],
    section: Section::Charge,
    task: Task::Checks,
    short: "charged before hold",
    law: "A leak that is found after charging costs the charge.",
    doubt: "Nothing says that there is a leak.",
    change: "Nothing undoes the order; the owner’s word.",
    source: PRACTICE,
    due: Due::Now,
    find: before_hold,
    why: steps::of_evidence,
};

fn before_hold(case: &Case<'_>) -> Vec<Found> {
    let asked = case.was_opened() || case.evacuations.iter().any(|e| e.counts());
    if case.hold_missing() || !asked {
        return Vec::new();
    }
    let Some(charge) = case
        .charges
        .iter()
        .find(|c| c.at.is_some() && case.after_opening(c.at))
    else {
        return Vec::new();
    };
    let passed_before = |at: Stamp| {
        case.current_holds()
            .iter()
            .any(|h| h.passed() && h.last.is_some_and(|l| l < at))
    };
    if charge.at.is_some_and(passed_before) {
        return Vec::new();
    }
    vec![
        Found::new(
            "charging",
            Weight::Concession,
            "Charging began before any hold was passed.",
            Remedy::new(
                WorkStep::Check,
                "Check every joint with an electronic detector; next time hold before charging.",
            ),
        )
        .resting_on([charge.id.clone()]),
    ]
}

/// The row of `wrong-refrigerant`.
pub const WRONG_REFRIGERANT: Rule = Rule {
    code: RuleCode::WrongRefrigerant,
    weights: &[Weight::Blocks],
    section: Section::Charge,
    task: Task::Charging,
    short: "wrong refrigerant",
    law: "Oil, seals, valve and pressures are made for one refrigerant; another one is a mixture, and the law forbids it.",
    doubt: "None: the two names differ.",
    change: "Recovered, evacuated, and charged with what the label says.",
    source: "40 CFR 82 subpart B; the label by SAE J639",
    due: Due::Now,
    find: wrong,
    why: steps::of_evidence,
};

fn wrong(case: &Case<'_>) -> Vec<Found> {
    let system = case.record.system.refrigerant;
    case.charges
        .iter()
        .filter_map(|c| {
            let other = c.entry.refrigerant.filter(|r| *r != system)?;
            let recovered = case.recoveries.iter().any(|r| r.at.zip(c.at).is_some_and(|(r, c)| r > c));
            (!recovered).then(|| {
                let says = format!("{other} was charged into a circuit labelled {system}.");
                Found::new(
                    c.id.clone(),
                    Weight::Blocks,
                    says,
                    Remedy::new(WorkStep::Recover, "Recover it into a cylinder kept for mixtures, evacuate, and charge what the label says."),
                )
                .resting_on([c.id.clone()])
            })
        })
        .collect()
}

/// Nothing is inside, although something is due: recovered, opened, evacuated or under nitrogen, and not charged since.
pub(super) fn nothing_charged(case: &Case<'_>) -> bool {
    let recovered: f64 = case.recoveries.iter().filter_map(|r| r.kg).sum();
    let on_record = || {
        case.charges
            .iter()
            .any(|c| c.at.is_some() && case.after_opening(c.at))
    };
    (recovered > 0.0 || case.was_opened())
        && !(matches!(case.state().inside, Inside::Charged { .. }) && on_record())
}

/// The row of `charge-missing`.
pub const CHARGE_MISSING: Rule = Rule {
    code: RuleCode::ChargeMissing,
    weights: &[Weight::Blocks],
    section: Section::Charge,
    task: Task::Charging,
    short: "not charged",
    law: "A circuit that was emptied or opened does not cool until it is charged.",
    doubt: "None: it is on record, or it is not.",
    change: "A charge by weight.",
    source: PRACTICE,
    due: Due::AtReady,
    find: missing,
    why: steps::of_evidence,
};

fn missing(case: &Case<'_>) -> Vec<Found> {
    // Nobody charges a circuit that is not known to be tight: that is what is told then.
    if !nothing_charged(case)
        || case.hold_missing()
        || !holds::failed(case).is_empty()
        || leaks::still_there(case)
    {
        return Vec::new();
    }
    let evidence: Vec<String> = case
        .last_opening()
        .map(|o| o.about.clone())
        .into_iter()
        .collect();
    // It ran under pressure: something was put in that nobody entered.
    let (says, remedy) = match case.state().inside {
        Inside::Charged { .. } => (
            "The system ran under pressure, and no charge is on record since it was opened or emptied.",
            Remedy::new(
                WorkStep::Record,
                "Enter the charge by its weights; if it was not weighed, recover and charge again by weight.",
            ),
        ),
        _ => (
            "Not charged since the system was opened or emptied.",
            Remedy::new(WorkStep::Charge, "Charge by weight."),
        ),
    };
    vec![Found::new("charging", Weight::Blocks, says, remedy).resting_on(evidence)]
}

/// The row of `charge-unweighed`.
pub const CHARGE_UNWEIGHED: Rule = Rule {
    code: RuleCode::ChargeUnweighed,
    weights: &[Weight::Concession],
    section: Section::Charge,
    task: Task::Charging,
    short: "not weighed",
    law: "Pressure and temperature do not tell the mass in a circuit; weight is the only measure of a charge.",
    doubt: "How much is in it is not known at all.",
    change: "The scale’s figures entered, or recovered and charged by weight.",
    source: PRACTICE,
    due: Due::Now,
    find: unweighed,
    why: steps::of_charge,
};

fn unweighed(case: &Case<'_>) -> Vec<Found> {
    case.charges
        .iter()
        .filter(|c| c.net_kg.is_none())
        .map(|c| {
            let (says, next) = if c.backwards {
                let next = "Correct the cylinder’s weights, before and after; if they were not taken, recover and charge again by weight.";
                ("The cylinder is heavier after charging than before: one of the two weights is wrong, and nobody can say how much went in.", next)
            } else {
                let next = "Enter the cylinder’s weight before and after; if it was not taken, recover and charge again by weight.";
                ("A charge was not weighed: nobody can say how much is in the circuit.", next)
            };
            Found::new(c.id.clone(), Weight::Concession, says, Remedy::new(WorkStep::Record, next)).resting_on([c.id.clone()])
        })
        .collect()
}

/// The row of `charge-unspecified`.
pub const CHARGE_UNSPECIFIED: Rule = Rule {
    code: RuleCode::ChargeUnspecified,
    weights: &[Weight::Concession],
    section: Section::Charge,
    task: Task::Charging,
    short: "no label charge",
    law: "What is right is what the label says, or what was put in force instead, with its reason.",
    doubt: "Without it nothing can be compared.",
    change: "The label’s charge entered.",
    source: "the label by SAE J639",
    due: Due::Now,
    find: unspecified,
    why: steps::of_charge,
};

fn unspecified(case: &Case<'_>) -> Vec<Found> {
    if case.charges.is_empty() || case.target.is_some() {
        return Vec::new();
    }
    vec![
        Found::new(
            "charging",
            Weight::Concession,
            "The circuit was charged, and no charge is on record that it should have.",
            Remedy::new(
                WorkStep::Record,
                "Enter the charge from the label under the bonnet.",
            ),
        )
        .resting_on(case.charges.iter().map(|c| c.id.clone())),
    ]
}

/// The row of `hose-not-recorded`.
pub const HOSE_NOT_RECORDED: Rule = Rule {
    code: RuleCode::HoseNotRecorded,
    weights: &[Weight::Note],
    section: Section::Charge,
    task: Task::Charging,
    short: "hose not recorded",
    law: "What stays in the hose was weighed and is not in the car: its length times the area of its bore times the density of what fills it.",
    doubt: "A common hose is {hose_length} long, {hose_bore_narrow} to {hose_bore_wide} wide inside. Full of vapour it holds very little.",
    change: "What stayed in it entered, also where it is 0 g; or the hose’s length, bore and what filled it.",
    source: "geometry, and the liquid’s density at 25 °C by the refrigerant’s equation of state",
    due: Due::Now,
    find: hose_missing,
    why: steps::of_charge,
};

fn hose_missing(case: &Case<'_>) -> Vec<Found> {
    case.charges
        .iter()
        .filter(|c| c.hose.how == Known::NotRecorded)
        .map(|c| {
            let (least, most) = hose::usual(case, c.entry);
            let says = format!(
                "It is not recorded what stayed in the hose. A common one full of liquid holds {} to {} of {}.",
                mass(least, case.units),
                mass(most, case.units),
                c.entry.refrigerant.unwrap_or(case.record.system.refrigerant)
            );
            let next = Remedy::new(WorkStep::Record, "Enter what stayed in the hose, or 0 if it was emptied into the system.");
            Found::new(c.id.clone(), Weight::Note, says, next).resting_on([c.id.clone()]).value("liquid_low_kg", least).value("liquid_high_kg", most)
        })
        .collect()
}

/// The row of `air-left`.
pub const AIR_LEFT: Rule = Rule {
    code: RuleCode::AirLeft,
    weights: &[Weight::Note],
    section: Section::Charge,
    task: Task::Charging,
    short: "air left",
    law: "What the vacuum left of air stays in the circuit: p V M / (R T).",
    doubt: "The volume is known only roughly where it is not recorded.",
    change: "A deeper vacuum before charging.",
    // From memory.
    source: "SAE J2099 (150 ppm in recycled HFC-134a) as a yardstick",
    due: Due::Now,
    find: air_left,
    why: steps::of_air,
};

fn air_left(case: &Case<'_>) -> Vec<Found> {
    let figures = figures::charge(case);
    let (Some(ppm), Some(kg)) = (figures.air_left_ppm, figures.air_left_kg) else {
        return Vec::new();
    };
    let limit = case.limits.air_left.one() * 1e6;
    if case.charges.is_empty() || ppm <= limit {
        return Vec::new();
    }
    let says = format!(
        "The vacuum left {} of air, {} of the charge; {} is the limit.",
        mass(kg, case.units),
        show::fraction(Fraction::new((ppm / 1e6).max(0.0))),
        show::fraction(Fraction::new(case.limits.air_left.one()))
    );
    vec![
        Found::new(
            "charging",
            Weight::Note,
            says,
            Remedy::new(WorkStep::Measure, "Watch the high side: a condensing pressure that is too high points to air. Evacuate deeper next time."),
        )
        .value("air_left_kg", kg)
        .value("air_left_ppm", ppm),
    ]
}
