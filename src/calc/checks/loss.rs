//! What was lost: by what a recovery brought out, else by a standing pressure; never less than nothing.
use super::{
    case::Case,
    contamination,
    ledger::{Before, Run, Span},
    left::{self, Left},
    outlook::Shows,
    timeline::live,
};
use crate::{
    physics::leak::YEAR_S,
    units::{LeakRate, Mass, show},
};

/// A charge that came out again before this long, s, was in the circuit while it was worked on: that is no loss of a car in use (practice).
const IN_USE_S: f64 = 86_400.0;

/// What was lost before a recovery.
#[derive(Debug, Clone, PartialEq)]
pub struct Loss {
    /// As weighed, kg; nothing where more came out than was in it.
    pub lost_kg: f64,
    /// With the weighing's uncertainty, kg; never less than nothing.
    pub lost: Span,
    /// What was in it once, kg: the last charge on record, else the label's.
    pub charged_kg: f64,
    /// What came out, kg.
    pub recovered: Span,
    /// Years since that charge.
    pub years: Option<f64>,
    /// kg a year.
    pub kg_per_year: Option<f64>,
    /// The charge is one of this record.
    pub own: bool,
    /// The recoveries, by their positions in the case's list.
    pub run: Vec<usize>,
}

/// What was lost before each recovery that can be measured by a charge.
pub fn losses(case: &Case<'_>) -> Vec<Loss> {
    case.ledger
        .runs
        .iter()
        .filter(|run| !run.partly)
        .filter_map(|run| of_run(case, run))
        .collect()
}

/// What had been lost before the car came the last time: of a charge that was in use, not of one that was taken out again while it was worked on.
pub fn loss(case: &Case<'_>) -> Option<Loss> {
    let all = losses(case);
    let in_use = |l: &&Loss| !l.own || l.years.is_some_and(|y| y * YEAR_S >= IN_USE_S);
    all.iter().rfind(in_use).or(all.last()).cloned()
}

fn of_run(case: &Case<'_>, run: &Run) -> Option<Loss> {
    let recovered = run.total?;
    let (charged, since, own) = match run.before {
        Before::AsItCame => {
            let (kg, since) = came_with(case)?;
            (Span::exactly(kg), since, false)
        }
        Before::Known(inside, at) => (inside, Some(at.ms), true),
        Before::Unknown => return None,
    };
    let lost = charged - recovered;
    let lost_kg = lost.kg.max(0.0);
    let years = since
        .zip(run.at)
        .map(|(then, now)| (now.ms - then) as f64 / 1e3 / YEAR_S)
        .filter(|y| *y > 0.0);
    Some(Loss {
        lost_kg,
        lost: Span {
            kg: lost_kg,
            low: lost.low.max(0.0),
            high: lost.high.max(0.0),
        },
        charged_kg: charged.kg,
        recovered,
        years,
        kg_per_year: years.map(|y| lost_kg / y),
        own,
        run: run.recoveries.clone(),
    })
}

/// The charge that a car came with once, kg: the previous charge, else the charge in force, else the label's; and when that was charged, ms.
pub fn came_with(case: &Case<'_>) -> Option<(f64, Option<i64>)> {
    let previous = case
        .record
        .previous_charge
        .as_ref()
        .filter(|p| !p.superseded);
    let in_force = case
        .record
        .system
        .charge_in_force
        .as_ref()
        .and_then(|c| c.mass.as_ref());
    let kg = previous
        .and_then(|p| p.mass.as_ref())
        .or(in_force)
        .or(case.record.system.charge.as_ref())?
        .si()
        .kg();
    Some((kg, previous.and_then(|p| p.at).map(|at| at.millis())))
}

/// What a standing pressure bounds, where nothing was recovered of what the car came with.
#[derive(Debug, Clone, PartialEq)]
pub struct Bounded {
    /// At least, kg.
    pub least_kg: f64,
    /// At most, kg.
    pub most_kg: f64,
    /// Of this charge, kg.
    pub charged_kg: f64,
    /// Years since that was charged.
    pub years: Option<f64>,
    /// Left, kg.
    pub left: (f64, f64),
    /// The standing pressure.
    pub standing: String,
    /// It counts as empty.
    pub empty: bool,
}

/// What the first standing pressure bounds: only where it shows that there was no liquid, and before anything was charged.
pub fn by_pressure(case: &Case<'_>) -> Option<Bounded> {
    let (charged_kg, since) = came_with(case)?;
    let told = found(case)?;
    let Left::Vapour(low, high) = told.left else {
        return None;
    };
    let years = since
        .zip(told.at)
        .map(|(then, now)| (now.ms - then) as f64 / 1e3 / YEAR_S)
        .filter(|y| *y > 0.0);
    Some(Bounded {
        least_kg: (charged_kg - high).max(0.0),
        most_kg: (charged_kg - low).max(0.0),
        charged_kg,
        years,
        left: (low, high),
        standing: told.id,
        empty: told.empty,
    })
}

/// What the standing pressure with which the car came tells: the first one, if nothing was charged or recovered before it.
pub fn found(case: &Case<'_>) -> Option<left::Told> {
    // A pressure tells how much is left only of the gas that the label names.
    if live(&case.record.identification, "identification")
        .any(|(_, _, x)| contamination::identified(case, x).is_mixed())
    {
        return None;
    }
    let first_work = case
        .charges
        .iter()
        .filter_map(|c| c.at)
        .chain(case.recoveries.iter().filter_map(|r| r.at))
        .min();
    left::told(case)
        .into_iter()
        .next()
        .filter(|t| t.at.zip(first_work).is_none_or(|(at, work)| at <= work))
}

/// What was lost before a car came, as far as a standing pressure or a recovered mass tells.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Lost {
    /// In sentences.
    pub says: Vec<String>,
    /// From this to this, kg a year, where the day of the last charge is known.
    pub kg_per_year: Option<(f64, f64)>,
}

impl Lost {
    /// Whether a test would show the leak: `Some(true)` surely, `Some(false)` surely not, `None` where it depends or nothing is known.
    pub fn shown_by(&self, shows: Shows) -> Option<bool> {
        let (low, high) = self.kg_per_year?;
        match shows.smallest.kg_per_year() {
            smallest if smallest <= low => Some(true),
            smallest if smallest > high => Some(false),
            _ => None,
        }
    }
}

/// What was lost: by a recovered mass where there is one, else by the first standing pressure.
pub fn lost(case: &Case<'_>) -> Lost {
    if let Some(loss) = loss(case) {
        return by_weight(case, &loss);
    }
    match (found(case).map(|t| t.left), by_pressure(case)) {
        (Some(Left::Liquid(vapour)), _) => Lost {
            says: vec![
                "The pressure is the refrigerant’s own at that temperature: there is liquid in the circuit, and no pressure tells how much.".into(),
                format!("At least {} are left; recover it to know what was lost.", mass(case, vapour)),
            ],
            kg_per_year: None,
        },
        (Some(Left::Vapour(low, high)), bounded) => by_vapour(case, low, high, bounded.as_ref()),
        (None, _) => Lost::default(),
    }
}

fn mass(case: &Case<'_>, kg: f64) -> String {
    show::mass(Mass::new(kg), case.units)
}

fn rate(case: &Case<'_>, kg: f64) -> String {
    show::leak_rate(LeakRate::new(kg), case.units)
}

fn by_weight(case: &Case<'_>, loss: &Loss) -> Lost {
    let (out, of) = (mass(case, loss.recovered.kg), mass(case, loss.charged_kg));
    let over = loss.recovered.kg - loss.charged_kg;
    let first = match over > 0.0 {
        true => format!(
            "{out} came out of a circuit that should hold {of}: nothing was lost, {} too much was in it.",
            mass(case, over)
        ),
        false => format!(
            "{out} of {of} came out: {} were lost.",
            mass(case, loss.lost_kg)
        ),
    };
    let a_year = loss.kg_per_year.filter(|r| *r > 0.0);
    let says = [first]
        .into_iter()
        .chain(a_year.map(|r| format!("That is {}.", rate(case, r))))
        .collect();
    Lost {
        says,
        kg_per_year: a_year.map(|r| (r, r)),
    }
}

fn by_vapour(case: &Case<'_>, low: f64, high: f64, bounded: Option<&Bounded>) -> Lost {
    let mut says = vec![match low > 0.0 {
        true => format!(
            "There is no liquid: {} to {} are left, all vapour.",
            mass(case, low),
            mass(case, high)
        ),
        false => format!(
            "There is no liquid: at most {} are left, all vapour, or air.",
            mass(case, high)
        ),
    }];
    let Some(b) = bounded else {
        return Lost {
            says,
            kg_per_year: None,
        };
    };
    says.push(format!(
        "{} to {} of {} were lost.",
        mass(case, b.least_kg),
        mass(case, b.most_kg),
        mass(case, b.charged_kg)
    ));
    let a_year = b
        .years
        .map(|y| (b.least_kg / y, b.most_kg / y))
        .filter(|(least, _)| *least > 0.0);
    let since = if b.empty {
        ", or more if it has been empty for a while"
    } else {
        ""
    };
    says.extend(a_year.map(|(least, most)| {
        format!(
            "That is {} to {}{since}.",
            rate(case, least),
            rate(case, most)
        )
    }));
    Lost {
        says,
        kg_per_year: a_year,
    }
}
