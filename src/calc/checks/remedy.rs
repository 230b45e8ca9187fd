//! What puts a finding right, as steps of work from where the circuit stands now.
//!
//! A rule names the steps that its remedy is about. What has to come before them follows from what is inside the circuit and is put in
//! front here, once for all rules: nothing opens, pressurises or evacuates a circuit with refrigerant in it, nothing opens one under nitrogen, nothing
//! is done near a high-voltage compressor that is not isolated.
use super::{
    case::Case,
    contamination,
    state::{HighVoltage, Inside, State},
};
use crate::record::{Refrigerant, answer::WorkStep};

/// The steps that a remedy is about, each with its sentence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Remedy {
    steps: Vec<(WorkStep, String)>,
    partly: bool,
}

impl Remedy {
    /// This step, told by this sentence.
    pub fn new(step: WorkStep, says: impl Into<String>) -> Self {
        Self {
            steps: vec![(step, says.into())],
            partly: false,
        }
    }

    /// A recovery in it takes only a part out: the rest stays inside.
    pub fn partly(self) -> Self {
        Self {
            partly: true,
            ..self
        }
    }

    /// And then this one.
    pub fn then(mut self, step: WorkStep, says: impl Into<String>) -> Self {
        self.steps.push((step, says.into()));
        self
    }
}

/// All steps from the present state of the circuit, and the sentence that tells the first of them and what it is for.
pub fn complete(case: &Case<'_>, remedy: &Remedy) -> (Vec<WorkStep>, String) {
    let mut state = case.state();
    let (mut steps, mut before, mut told): (Vec<WorkStep>, Vec<String>, Option<String>) =
        (Vec::new(), Vec::new(), None);
    let mut works = false;
    for (step, says) in &remedy.steps {
        if is_done(*step, state) {
            continue;
        }
        while let Some(first) = missing(*step, state) {
            steps.push(first);
            state = after(first, state);
            if told.is_none() {
                before.push(clause(case, first));
            }
        }
        steps.push(*step);
        let partly = remedy.partly && *step == WorkStep::Recover;
        state = if partly { state } else { after(*step, state) };
        told.get_or_insert_with(|| says.clone());
        works |= !partly && works_on_the_circuit(*step);
    }
    // What was opened or emptied is closed, proved and filled again.
    while works && let Some(next) = on_the_way_back(state, &steps) {
        steps.push(next);
        state = after(next, state);
    }
    // There is nothing left to take out or to let off: what is left is the way back.
    while told.is_none()
        && !matches!(remedy.steps.last(), Some((WorkStep::Isolate, _)) | None)
        && let Some(next) = on_the_way_back(state, &steps)
    {
        if before.is_empty() {
            before.push(clause(case, next));
        }
        steps.push(next);
        state = after(next, state);
    }
    if steps.is_empty() {
        steps.extend(remedy.steps.last().map(|(step, _)| *step));
        told = remedy.steps.last().map(|(_, says)| says.clone());
    }
    let Some(told) = told else {
        return (
            steps,
            before.into_iter().map(|clause| clause + ".").collect(),
        );
    };
    let says = match before.split_first() {
        None => told,
        Some((first, rest)) => {
            let rest: String = rest
                .iter()
                .map(|clause| format!("; {}", uncapitalised(clause)))
                .collect();
            format!("{first}{rest}. Then {}", uncapitalised(&told))
        }
    };
    (steps, says)
}

/// The step that must come before this one, in this state.
pub fn missing(step: WorkStep, state: State) -> Option<WorkStep> {
    match step {
        WorkStep::OpenRepair | WorkStep::Flush | WorkStep::RenewDesiccant | WorkStep::Oil => {
            no_pressure(state).or(isolated(state))
        }
        WorkStep::Nitrogen if state.inside == Inside::Nitrogen => None,
        WorkStep::Nitrogen | WorkStep::Evacuate => no_pressure(state),
        WorkStep::Hold => evacuated(state),
        // A circuit of which it is known what it holds may be topped up.
        WorkStep::Charge if state.inside == (Inside::Charged { known: true }) => None,
        WorkStep::Charge => evacuated(state),
        // A detector sees what is inside, or nothing at all.
        WorkStep::Check if !matches!(state.inside, Inside::Charged { .. } | Inside::Nitrogen) => {
            evacuated(state).or(Some(WorkStep::Charge))
        }
        WorkStep::Check
        | WorkStep::Measure
        | WorkStep::Identify
        | WorkStep::Isolate
        | WorkStep::Recover => None,
        WorkStep::Depressurise | WorkStep::Record | WorkStep::Accept => None,
    }
}

/// What the circuit is after a step.
pub fn after(step: WorkStep, state: State) -> State {
    let inside = match step {
        WorkStep::Recover | WorkStep::Depressurise => Inside::Empty,
        WorkStep::OpenRepair | WorkStep::Flush | WorkStep::RenewDesiccant => Inside::Open,
        WorkStep::Nitrogen => Inside::Nitrogen,
        WorkStep::Evacuate => Inside::Evacuated,
        WorkStep::Charge => Inside::Charged { known: true },
        _ => state.inside,
    };
    let high_voltage = match (step, state.high_voltage) {
        (WorkStep::Isolate, HighVoltage::Live) => HighVoltage::Isolated,
        (_, other) => other,
    };
    State {
        inside,
        high_voltage,
    }
}

fn no_pressure(state: State) -> Option<WorkStep> {
    match state.inside {
        Inside::Charged { .. } => Some(WorkStep::Recover),
        Inside::Nitrogen => Some(WorkStep::Depressurise),
        Inside::Empty | Inside::Open | Inside::Evacuated => None,
    }
}

fn isolated(state: State) -> Option<WorkStep> {
    (state.high_voltage == HighVoltage::Live).then_some(WorkStep::Isolate)
}

fn evacuated(state: State) -> Option<WorkStep> {
    no_pressure(state).or((state.inside != Inside::Evacuated).then_some(WorkStep::Evacuate))
}

/// There is nothing to take out, to let off or to isolate.
fn is_done(step: WorkStep, state: State) -> bool {
    match step {
        WorkStep::Recover => !matches!(state.inside, Inside::Charged { .. }),
        WorkStep::Depressurise => state.inside != Inside::Nitrogen,
        WorkStep::Isolate => state.high_voltage != HighVoltage::Live,
        _ => false,
    }
}

fn works_on_the_circuit(step: WorkStep) -> bool {
    use WorkStep::{
        Charge, Depressurise, Evacuate, Flush, Hold, Nitrogen, OpenRepair, Recover, RenewDesiccant,
    };
    matches!(
        step,
        OpenRepair
            | Flush
            | RenewDesiccant
            | Nitrogen
            | Evacuate
            | Hold
            | Charge
            | Recover
            | Depressurise
    )
}

fn on_the_way_back(state: State, steps: &[WorkStep]) -> Option<WorkStep> {
    match state.inside {
        Inside::Charged { .. } => None,
        Inside::Nitrogen => Some(WorkStep::Depressurise),
        Inside::Empty | Inside::Open => Some(WorkStep::Evacuate),
        Inside::Evacuated if steps.last() == Some(&WorkStep::Hold) => Some(WorkStep::Charge),
        Inside::Evacuated => Some(WorkStep::Hold),
    }
}

/// A step that comes first, as a clause: a capital, no full stop.
fn clause(case: &Case<'_>, step: WorkStep) -> String {
    let flammable = contamination::burns(case.record.system.refrigerant) || case.flammable_inside();
    match step {
        WorkStep::Recover if case.record.system.refrigerant == Refrigerant::R744 => {
            "Let the R-744 out as the maker and local law say, slowly and well ventilated".into()
        }
        WorkStep::Recover => {
            let into = if case.mixed_inside() { " into a cylinder kept for mixtures" } else { "" };
            let with = if flammable { ", with equipment rated for flammable gas" } else { "" };
            format!("Recover the refrigerant by weight{into}{with}")
        }
        WorkStep::Isolate => "Have the high voltage switched off, locked out and proved dead by somebody trained for it".into(),
        WorkStep::Depressurise => format!("Let the {} off slowly, goggles on", case.test_gas()),
        WorkStep::Evacuate => "Evacuate".into(),
        WorkStep::Hold => "Close off and hold".into(),
        WorkStep::Charge => "Charge by weight".into(),
        other => other.title().into(),
    }
}

/// A sentence as it goes on after another word; a name that is written in capitals keeps them.
fn uncapitalised(sentence: &str) -> String {
    let mut letters = sentence.chars();
    match (letters.next(), sentence.chars().nth(1)) {
        (Some(first), Some(second)) if second.is_lowercase() => {
            first.to_lowercase().chain(letters).collect()
        }
        _ => sentence.to_owned(),
    }
}
