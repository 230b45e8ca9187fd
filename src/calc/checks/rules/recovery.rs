//! A recovery that does not fit what must have been inside.
use super::{Due, Found, Rule, RuleCode, Section, Task};
use crate::{
    checks::{
        case::Case,
        explain::steps,
        ledger::{Before, Run, Span},
        left::{self, Left},
        remedy::Remedy,
        state::Inside,
        timeline::live,
    },
    record::answer::{Weight, WorkStep},
    units::{Mass, show},
};

/// A recovery within a day of the charge takes out what was charged; later than that, what is missing is a loss (practice).
const REWORK_MS: i64 = 86_400_000;

/// The row of `recovery-doubtful`.
pub const RECOVERY_DOUBTFUL: Rule = Rule {
    code: RuleCode::RecoveryDoubtful,
    weights: &[Weight::Note],
    section: Section::Recovery,
    task: Task::Recovery,
    short: "recovery doubtful",
    law: "What is inside a circuit at rest follows from its pressure, temperature and volume: where there is no liquid, between two masses; with liquid, at least the vapour above it. A recovery brings out {recovery_share} of what is inside and more.",
    doubt: "The volume is known only roughly where it is not recorded; the gauge, the scale’s steps and {loss_margin} are allowed for. Air inside makes a pressure say too much.",
    change: "Recovered again until the pressure stays down; a weight or the standing pressure corrected.",
    source: "the refrigerant’s equation of state; 40 CFR 82 subpart B, appendix C (SAE J2788): a recovery of at least 95 % at 21 to 24 °C, the mass shown within 30 g",
    due: Due::Now,
    find: doubtful,
    why: steps::of_recovery,
};

fn doubtful(case: &Case<'_>) -> Vec<Found> {
    let mut all: Vec<Found> = case
        .recoveries
        .iter()
        .filter(|r| r.backwards)
        .map(|r| backwards(&r.id))
        .collect();
    for run in case.ledger.runs.iter().filter(|run| !run.partly) {
        let Some(out) = run.total else { continue };
        all.extend(by_charge(case, run, out).or_else(|| by_pressure(case, run, out)));
    }
    all
}

fn backwards(id: &str) -> Found {
    let says =
        "The cylinder is lighter after the recovery than before: one of the two weights is wrong.";
    Found::new(
        id,
        Weight::Note,
        says,
        Remedy::new(
            WorkStep::Record,
            "Correct the cylinder’s weights, before and after.",
        ),
    )
    .resting_on([id])
}

fn mass(case: &Case<'_>, kg: f64) -> String {
    show::mass(Mass::new(kg), case.units)
}

/// Against what was known to be inside: while it is worked on too little, at any time too much.
fn by_charge(case: &Case<'_>, run: &Run, out: Span) -> Option<Found> {
    let Before::Known(inside, at) = run.before else {
        return None;
    };
    let margin = case.limits.loss_margin.kg();
    let (expected, too_much) = (
        case.limits.recovery_share.one() * inside.low,
        out.low > inside.high + margin,
    );
    let rework = run.at.is_some_and(|r| r.ms - at.ms < REWORK_MS);
    let leak = live(&case.record.leak_checks, "leak_checks")
        .any(|(_, _, c)| !c.found.is_empty() && c.at.is_some_and(|c| c.millis() >= at.ms))
        || live(&case.record.leaks, "leaks")
            .any(|(_, _, l)| l.at.is_some_and(|l| l.millis() >= at.ms));
    let too_little = rework && !leak && out.high < expected;
    if !too_much && !too_little {
        return None;
    }
    let says = format!(
        "{} came out, where {} was known to be inside: {}.",
        mass(case, out.kg),
        mass(case, inside.kg),
        if too_much {
            "more than went in"
        } else {
            "too little"
        }
    );
    Some(
        found(case, run, says, too_little)
            .value("recovered_kg", out.kg)
            .value("known_kg", inside.kg),
    )
}

/// Against the last standing pressure before it.
fn by_pressure(case: &Case<'_>, run: &Run, out: Span) -> Option<Found> {
    if case.mixed_inside() {
        return None;
    }
    let after = if let Before::Known(_, at) = run.before {
        Some(at)
    } else {
        None
    };
    let fits = |t: &left::Told| {
        t.at.zip(run.at).is_none_or(|(t, r)| t <= r)
            && after.is_none_or(|a| t.at.is_some_and(|t| t > a))
    };
    let told = left::told(case).into_iter().rfind(fits)?;
    let (share, margin) = (
        case.limits.recovery_share.one(),
        case.limits.loss_margin.kg(),
    );
    let says = match told.left {
        Left::Liquid(least) if out.high + margin < share * least => {
            format!(
                "Only {} came out, where the standing pressure shows liquid: {} at least must have been inside.",
                mass(case, out.kg),
                mass(case, least)
            )
        }
        Left::Vapour(least, _) if out.high + margin < share * least => {
            format!(
                "Only {} came out, where the standing pressure shows at least {} of vapour.",
                mass(case, out.kg),
                mass(case, least)
            )
        }
        Left::Vapour(_, most) if out.low > most + margin => {
            format!(
                "{} came out, where the standing pressure shows no liquid and {} of vapour at most.",
                mass(case, out.kg),
                mass(case, most)
            )
        }
        Left::Liquid(_) | Left::Vapour(..) => return None,
    };
    let (least, most, too_little) = match told.left {
        Left::Liquid(least) => (least, None, true),
        Left::Vapour(least, most) => (least, Some(most), out.kg < least),
    };
    let found = found(case, run, says, too_little).resting_on([told.id]);
    Some(
        found
            .value("recovered_kg", out.kg)
            .value("inside_least_kg", least)
            .maybe("inside_most_kg", most),
    )
}

fn found(case: &Case<'_>, run: &Run, says: String, too_little: bool) -> Found {
    let ids: Vec<String> = run
        .recoveries
        .iter()
        .map(|i| case.recoveries[*i].id.clone())
        .collect();
    let remedy = if too_little && case.state().inside == Inside::Empty {
        Remedy::new(
            WorkStep::Measure,
            "Wait five minutes and read the pressure again: if it rises, recover again. Then check the weights.",
        )
    } else {
        Remedy::new(
            WorkStep::Record,
            "Check the cylinder’s weights and the standing pressure, and correct what is wrong.",
        )
    };
    Found::new(
        ids.first().cloned().unwrap_or_else(|| "recovery".into()),
        Weight::Note,
        says,
        remedy,
    )
    .resting_on(ids)
}
