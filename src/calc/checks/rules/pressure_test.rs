//! What a circuit is tested with, and how high: dry nitrogen, and no more than its low side stands.
use super::{Due, Found, Rule, RuleCode, Section, Task};
use crate::{
    checks::{
        case::Case,
        explain::steps,
        gauge,
        hold::Held,
        remedy::Remedy,
        state::Inside,
        talk::Answer,
        timeline::{Rank, Stamp, live},
        voice::Voice,
    },
    record::{
        Gas, HoldKind, Refrigerant,
        answer::{Weight, WorkStep},
    },
    units::GaugePressure,
};

/// The row of `test-gas-unsafe`.
pub const TEST_GAS_UNSAFE: Rule = Rule {
    code: RuleCode::TestGasUnsafe,
    weights: &[Weight::Blocks],
    section: Section::Hold,
    task: Task::Entry,
    short: "unsafe test gas",
    law: "Oxygen under pressure explodes with oil. Compressed air under pressure can burn with refrigerant and oil, and brings water in. A circuit is tested with dry nitrogen, through a regulator.",
    doubt: "None: the gas is on record.",
    change: "The gas let off, and the test made again with dry nitrogen; or the entry corrected, where it was nitrogen.",
    source: "40 CFR 82 subpart B, appendix C, 5.2: no compressed air in an HFC-134a circuit; makers’ service manuals; oxygen with oil: common safety practice",
    due: Due::Now,
    find: unsafe_gas,
    why: steps::of_evidence,
};

fn unsafe_gas(case: &Case<'_>) -> Vec<Found> {
    let holds = live(&case.record.holds, "holds")
        .filter(|(_, _, h)| h.kind == Some(HoldKind::Pressure))
        .filter_map(|(_, id, h)| {
            let start = case
                .holds
                .iter()
                .find(|held| held.id == id)
                .and_then(|held| held.start);
            Some((
                id,
                h.gas.filter(|g| matches!(g, Gas::Air | Gas::Oxygen))?,
                start,
            ))
        });
    // Air that came in otherwise is no test; oxygen has no place in a circuit at all.
    let let_in = live(&case.record.gas_let_in, "gas_let_in").filter_map(|(i, id, g)| {
        Some((
            id,
            g.gas.filter(|g| *g == Gas::Oxygen)?,
            g.at.map(|at| Stamp::new(at, Rank::PressureHold, i)),
        ))
    });
    holds
        .chain(let_in)
        .filter(|(_, _, start)| !tested_again(case, *start))
        .map(|(id, gas, _)| {
            let (name, danger) = match gas {
                Gas::Oxygen => ("oxygen", "Oxygen under pressure explodes with oil."),
                _ => ("compressed air", "Air under pressure can burn with refrigerant and oil, and brings water in."),
            };
            let now = format!("Stop. No flame, no spark, nobody leans over it. Let the {name} off slowly outdoors or well ventilated, goggles on.");
            let remedy = Remedy::new(WorkStep::Depressurise, now).then(WorkStep::Nitrogen, "Test again with dry nitrogen through a regulator.");
            Found::new(id.clone(), Weight::Blocks, format!("The circuit was tested with {name}. {danger}"), remedy).resting_on([id]).word("gas", gas.word())
        })
        .collect()
}

/// The test was made again as it should be: with dry nitrogen, no higher than allowed, and passed.
fn tested_again(case: &Case<'_>, after: Option<Stamp>) -> bool {
    case.holds.iter().any(|h| {
        let good = h.kind == Some(HoldKind::Pressure)
            && h.gas == Gas::Nitrogen
            && h.passed()
            && too_high(case, h).is_none();
        good && after.is_some() && h.start > after
    })
}

/// The row of `test-pressure-high`.
pub const TEST_PRESSURE_HIGH: Rule = Rule {
    code: RuleCode::TestPressureHigh,
    weights: &[Weight::Blocks],
    section: Section::Hold,
    task: Task::Entry,
    short: "pressure too high",
    law: "A pressure test reaches the low side too, and an evaporator, a hose or a compressor’s shaft seal that never sees more in service can burst or be strained. The limit is what the circuit’s label or maker allows, else {test_pressure_most} above the air.",
    doubt: "The gauge’s own error is not counted in. R-744 works at pressures far above that: its limit is only what is recorded for the circuit.",
    change: "The pressure let off, the low side looked over, and a test within the limit that holds.",
    source: "US Army TM 5-3810-307-24-1-2: at most 200 to 250 psi for leak finding; the circuit’s label",
    due: Due::Now,
    find: high,
    why: steps::of_evidence,
};

fn high(case: &Case<'_>) -> Vec<Found> {
    case.holds
        .iter()
        .filter_map(|h| {
            let (reached, most) = too_high(case, h)?;
            if tested_again(case, h.start) {
                return None;
            }
            let voice = case.voice_of_hold(h);
            let (reached_told, most_told) =
                (voice.pressure(reached, h.air.pressure.pa()), voice.pressure(h.air.pressure.pa() + most.pa(), h.air.pressure.pa()));
            let whose = if case.record.system.test_pressure_most.is_some() { "the circuit’s greatest test pressure" } else { "the shop’s limit" };
            let under_pressure = case.state().inside == Inside::Nitrogen;
            let now = "Keep clear. Let the gas off slowly through the regulator’s hose, goggles on, nobody near the evaporator and the hoses.";
            let again = format!("Look over the evaporator, the hoses and the compressor’s shaft seal, then test again at no more than {most_told}.");
            let remedy =
                if under_pressure { Remedy::new(WorkStep::Depressurise, now).then(WorkStep::Nitrogen, again) } else { Remedy::new(WorkStep::Nitrogen, again) };
            let says = format!("The circuit was put under {reached_told}; {whose} is {most_told}.");
            Some(
                Found::new(h.id.clone(), Weight::Blocks, says, remedy)
                    .resting_on([h.id.clone()])
                    .value("reached_pa_gauge", reached - h.air.pressure.pa())
                    .value("most_pa_gauge", most.pa()),
            )
        })
        .collect()
}

/// The greatest pressure above the air for a test of this circuit: its own, else the shop's. `None` for R-744 where its own is not recorded.
pub fn most(case: &Case<'_>) -> Option<GaugePressure> {
    match (
        &case.record.system.test_pressure_most,
        case.record.system.refrigerant,
    ) {
        (Some(own), _) => Some(own.si()),
        (None, Refrigerant::R744) => None,
        (None, _) => Some(GaugePressure::new(case.limits.test_pressure_most.pa())),
    }
}

/// The greatest pressure of a pressure hold (Pa absolute) and what it may be, where it is more than that. Its own refrigerant is no test pressure.
fn too_high(case: &Case<'_>, held: &Held) -> Option<(f64, GaugePressure)> {
    let most = most(case)?;
    if held.kind != Some(HoldKind::Pressure) || held.gas == Gas::Refrigerant {
        return None;
    }
    let (_, _, hold) = live(&case.record.holds, "holds").find(|(_, id, _)| *id == held.id)?;
    let readings = hold
        .readings
        .iter()
        .filter(|r| !r.superseded)
        .filter_map(|r| r.pressure.as_ref());
    let reached = readings
        .map(|p| gauge::loose(p, held.air, case.limits).raw_pa)
        .fold(None, |m: Option<f64>, p| Some(m.map_or(p, |m| m.max(p))))?;
    // What stands on the limit by rounding is on it.
    (reached - held.air.pressure.pa() > most.pa() * (1.0 + 1e-9)).then_some((reached, most))
}

/// What stands above everything else while a pressure hold is watched: the wrong gas, or too much of it.
pub fn stop(case: &Case<'_>, held: &Held) -> Option<Answer> {
    if held.ended || held.kind != Some(HoldKind::Pressure) {
        return None;
    }
    if matches!(held.gas, Gas::Air | Gas::Oxygen) {
        return Some(Answer {
            says: "Stop: unsafe test gas.".into(),
            why: "Oxygen explodes with oil; compressed air can burn with refrigerant, and brings water in.".into(),
            next: "No flame, no spark. Let it off slowly, goggles on, and test again with dry nitrogen.".into(),
        });
    }
    let (reached, most) = too_high(case, held)?;
    let voice: Voice = case.voice_of_hold(held);
    let air = held.air.pressure.pa();
    Some(Answer {
        says: "Stop: too much pressure.".into(),
        why: format!(
            "The gauge shows {}; this circuit may be tested at no more than {}.",
            voice.pressure(reached, air),
            voice.pressure(air + most.pa(), air)
        ),
        next: "Keep clear. Let it off slowly through the regulator’s hose, goggles on.".into(),
    })
}
