//! What is said at the car: good, not good, or cannot tell; why; what to do next; and what a test could have shown.
use super::{
    case::Case,
    evacuation::Evacuated,
    hold::Held,
    rules::{needed, pressure_test, rules_out, scope},
    voice::Voice,
};
use crate::{
    physics::{refrigerant::Fluid, water},
    record::{HoldKind, answer::Verdict},
    units::{AbsolutePressure, LeakRate, PressureDifference, Seconds, Temperature, UnitSystem, show},
};

/// The answer that stands above an entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// Good, not good, or cannot tell; a running hold says also whether it would count.
    pub says: String,
    /// One sentence of why.
    pub why: String,
    /// One sentence of what to do next.
    pub next: String,
}

/// What a hold rules out for a time that it is held.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RulesOut {
    /// "so far, 12 min".
    pub held_for: String,
    /// "10 hours"; a dash where no charge is known.
    pub empties_in: String,
    /// "511 kg".
    pub in_a_year: String,
    /// This is where the hold stands.
    pub now: bool,
}

/// A depth of vacuum in a sentence; what a gauge shows as no more than nothing counts as 0 Pa, and is told as such.
pub fn depth(pa: f64, units: UnitSystem) -> String {
    if pa > 0.0 { show::pressure(AbsolutePressure::new(pa), units) } else { "the limit of the gauge".to_owned() }
}

/// How soon a leak empties the system, with no more digits than one feels: "40 min", "8.1 hours", "17 hours", "12 days", "3 years".
pub fn empties_in(hours: f64) -> String {
    let told = show::duration(Seconds::new(hours * 3600.0));
    match told.strip_suffix(" hours") {
        Some(_) if hours >= 9.95 => format!("{} hours", show::decimals(hours, 0)),
        Some(number) => format!("{} hours", number.trim_end_matches('0').trim_end_matches('.')),
        None => told,
    }
}

/// A rate that was converted from a test into refrigerant in service: of R-744 the least that it may be, see [`real_vapour`].
pub fn leak(case: &Case<'_>, kg_per_year: f64) -> String {
    let rate = show::leak_rate(LeakRate::new(kg_per_year), case.units);
    if real_vapour(case).is_some() { format!("at least {rate}") } else { rate }
}

/// Why a converted rate is the least that it may be: at 25 degC R-744 is nearly critical, and its vapour is denser than the ideal gas that the
/// conversion reckons with.
pub fn real_vapour(case: &Case<'_>) -> Option<&'static str> {
    (case.bench.fluid == Some(Fluid::R744)).then_some("the real vapour of R-744 carries up to a third more than is calculated here")
}

/// A hold's answer.
pub fn hold(case: &Case<'_>, held: &Held) -> Answer {
    if let Some(stop) = pressure_test::stop(case, held) {
        return stop;
    }
    let duration = show::duration(Seconds::new(held.figures.duration_s.unwrap_or(0.0)));
    let minimum = show::duration(case.limits.least_hold(held.kind));
    let moved = show::pressure_difference(PressureDifference::new(held.figures.change_pa.unwrap_or(0.0).abs()), case.units);
    let bound = show::pressure_difference(PressureDifference::new(held.figures.bound_pa.unwrap_or(0.0)), case.units);
    let rules = rules_out(case, held).unwrap_or_default();
    let way = if held.kind == Some(HoldKind::Pressure) { "fell" } else { "rose" };
    let (verdict, why, next) = match held.says {
        Verdict::Held => (
            "Good",
            format!("The gauge moved by less than it can show in {duration}. {rules}"),
            "Charge by weight; check the joints with an electronic detector afterwards.".to_owned(),
        ),
        Verdict::TooShort => (
            "Good so far, too short to count",
            format!("Nothing moved in {}; a hold counts from {minimum}.", show::duration_so_far(Seconds::new(held.figures.duration_s.unwrap_or(0.0)))),
            format!("Read the gauge again after {minimum}."),
        ),
        Verdict::Leak => (
            "Not good",
            format!("The pressure {way} by {moved} in {duration}; {bound} would be the gauge and the temperature."),
            "Find the leak with nitrogen and a detector before anything else.".to_owned(),
        ),
        Verdict::Moisture => (
            "Not good",
            "The vacuum stands as water makes it stand: there is water inside.".to_owned(),
            "Warm the circuit, evacuate longer and deeper, and hold again.".to_owned(),
        ),
        Verdict::Inconclusive if held.stillness_not_shown() => (
            "Cannot tell",
            format!("The gauge moved by {moved} in {duration}: that may be how it was read, or a leak."),
            match held.ended {
                true => "Hold again, and read the gauge eight times or more, or read a finer one.".to_owned(),
                false => "Go on reading: from eight readings on the two can be told apart; or read a finer gauge.".to_owned(),
            },
        ),
        Verdict::Inconclusive => (
            "Cannot tell",
            format!("The deep vacuum rose by {moved}: a leak, or gas out of oil and rubber."),
            format!("Evacuate for {} more and hold again.", show::duration(case.limits.outgassing_evacuation)),
        ),
        Verdict::NotReadable | Verdict::Running => {
            let why = held.why(case.units).unwrap_or_default();
            ("Cannot tell", format!("This hold shows nothing: {why}."), "Read the gauge again.".to_owned())
        }
    };
    if held.ended {
        return Answer { says: format!("{verdict}."), why, next };
    }
    running(held, verdict, why, next, &minimum)
}

/// Whether a running hold waits for nothing but its next reading.
pub fn waits_for_a_reading(held: &Held) -> bool {
    let one_reading = held.says == Verdict::NotReadable && held.first_pa.is_some() && held.figures.duration_s.is_none_or(|d| d <= 0.0);
    !held.ended && (held.says == Verdict::TooShort || one_reading)
}

fn running(held: &Held, verdict: &str, why: String, next: String, minimum: &str) -> Answer {
    match held.says {
        Verdict::Held => {
            Answer { says: "Good so far. It would count if it ended now.".into(), why, next: "End the hold, or go on: longer shows smaller leaks.".into() }
        }
        Verdict::TooShort => {
            Answer { says: "Good so far. It would not count yet.".into(), why, next: format!("Read the gauge {minimum} after the first reading or later.") }
        }
        Verdict::NotReadable if held.first_pa.is_some() && held.figures.duration_s.is_none_or(|d| d <= 0.0) => Answer {
            says: "Cannot tell yet.".into(),
            why: "There is one reading so far.".into(),
            next: format!("Read the gauge {minimum} after the first reading or later."),
        },
        Verdict::NotReadable if held.first_pa.is_none() => {
            Answer { says: "Cannot tell yet.".into(), why: "There is no reading so far.".into(), next: "Read the gauge now.".into() }
        }
        Verdict::Leak | Verdict::Moisture => Answer { says: "Not good so far. It would count if it ended now.".into(), why, next },
        _ => Answer { says: format!("{verdict} yet. It would not count if it ended now."), why, next },
    }
}

/// What a hold rules out so far, at the usual length and after an hour, if nothing moves.
pub fn hold_rows(case: &Case<'_>, held: &Held) -> Vec<RulesOut> {
    let (Some(duration), Some(smallest)) = (held.figures.duration_s.filter(|d| *d > 0.0), held.figures.smallest_leak_shown_kg_per_year) else {
        return Vec::new();
    };
    let minimum = case.limits.least_hold(held.kind).s();
    let row = |seconds: f64, now: bool| {
        let rate = smallest * duration / seconds;
        let time = show::duration(Seconds::new(seconds));
        RulesOut {
            held_for: if now { format!("{}{time}", if held.ended { "" } else { "so far, " }) } else { time },
            empties_in: case.target.map_or_else(|| "—".to_owned(), |t| show::duration(Seconds::new(t.kg / rate * crate::physics::leak::YEAR_S))),
            in_a_year: leak(case, rate).trim_end_matches(" a year").to_owned(),
            now,
        }
    };
    let mut rows = vec![row(duration, true)];
    rows.extend([minimum, 3600.0].into_iter().filter(|s| *s > duration * 1.02).map(|s| row(s, false)));
    rows
}

/// Longer than this nobody watches a gauge (practice).
const NOBODY_WAITS_S: f64 = 3.0 * 3600.0;

/// What would show a smaller leak; a time that nobody would wait is not proposed. And what the figure speaks of.
pub fn hold_beyond(case: &Case<'_>, held: &Held) -> Option<String> {
    let (duration, smallest) = (held.figures.duration_s.filter(|d| *d > 0.0)?, held.figures.smallest_leak_shown_kg_per_year?);
    let limit = super::rules::leak_limit(case);
    let limit_told = show::leak_rate(LeakRate::new(limit), case.units);
    let needed = duration * smallest / limit;
    let this = match needed {
        n if n <= duration => String::new(),
        n if n <= NOBODY_WAITS_S => {
            let least = if real_vapour(case).is_some() { "at least " } else { "" };
            format!(" For {limit_told} this gauge would take {least}{}.", show::duration(Seconds::new(n)))
        }
        _ => format!(" No hold on this gauge shows {limit_told} in a time that anybody waits."),
    };
    Some(format!(
        "A smaller leak would not have shown.{this}{} An electronic check of the joints after charging shows {}. {}",
        nitrogen_shows(case).unwrap_or_default(),
        show::leak_rate(case.limits.check_sensitivity, case.units),
        scope(held.kind)
    ))
}

/// What an hour of nitrogen shows on a gauge of 1 psi, at the usual pressure or the most that this circuit stands.
fn nitrogen_shows(case: &Case<'_>) -> Option<String> {
    const PSI: f64 = 6894.757;
    let air = case.site.air;
    let most = pressure_test::most(case).map_or(f64::MAX, |p| p.pa());
    let pa = super::outlook::NITROGEN_USUAL.pa().min(most);
    let rate = case.bench.nitrogen_would_show(PSI, air.pressure.pa() + pa, 3600.0, air)?;
    let voice = Voice::gauge(case.units);
    let at = voice.pressure(air.pressure.pa() + pa, air.pressure.pa());
    Some(format!(" Dry nitrogen at {at} for an hour, on a gauge with a resolution of {}, shows {}.", voice.difference(PSI), leak(case, rate)))
}

/// An evacuation's answer.
pub fn evacuation(case: &Case<'_>, e: &Evacuated) -> Answer {
    if let Some(pa) = e.impossible_pa {
        let why = format!("A reading lies {} below perfect vacuum.", show::pressure(AbsolutePressure::new(-pa), case.units));
        return Answer { says: "Cannot tell.".into(), why, next: "Look at the gauge’s zero and at the barometer, then read again.".into() };
    }
    let Some(lowest) = e.figures.lowest_pa else {
        return Answer {
            says: "Cannot tell yet.".into(),
            why: "There is no reading so far.".into(),
            next: "Read the gauge once the needle has come to rest.".into(),
        };
    };
    let at_limit = lowest <= 0.0;
    let depth = depth(lowest, case.units);
    let boils = e.figures.water_boils_at_k.map(|k| show::temperature(Temperature::new(k), case.units));
    let metal = e.metal.map(|t| show::temperature(t, case.units));
    let dial = needed(e).map(|(_, dial)| dial).filter(|d| !d.starts_with("which"));
    match (e.figures.dries, boils, metal) {
        (Some(true), Some(boils), Some(metal)) => {
            let subliming = if lowest < water::TRIPLE_PRESSURE.pa() { " Ice does not melt at that depth, it sublimes." } else { "" };
            Answer {
                says: "Deep enough to dry.".into(),
                why: format!("At {depth} water boils at {boils}; the metal is at {metal}.{subliming}"),
                next: "Go on long enough for the water to leave, then close off and hold.".into(),
            }
        }
        (Some(true), None, Some(metal)) => {
            let most = e.figures.uncertainty_pa.unwrap_or(0.0);
            let there = water::saturation_temperature(AbsolutePressure::new(most)).map(|t| show::temperature(t, case.units));
            let there = there.map(|t| {
                let off = show::pressure_difference(PressureDifference::new(most), case.units);
                format!(": even {off} above nothing, which is as far as it may be off, water boils at {t}")
            });
            Answer {
                says: "Deep enough to dry.".into(),
                why: format!("The reading stands at the limit of the gauge{}; the metal is at {metal}.", there.unwrap_or_default()),
                next: "Go on long enough for the water to leave, then close off and hold.".into(),
            }
        }
        (Some(false), Some(boils), Some(metal)) => Answer {
            says: "Not deep enough to dry.".into(),
            why: format!("At {depth} water boils at {boils}; the metal is at {metal}."),
            next: dial.map_or_else(|| "Evacuate further.".to_owned(), |d| format!("Evacuate further: here it takes {d} on this gauge.")),
        },
        (_, _, None) => Answer {
            says: "Cannot tell.".into(),
            why: "The temperature of the coldest metal is not recorded.".into(),
            next: "Measure the coldest metal and enter it.".into(),
        },
        _ => Answer {
            says: "Cannot tell.".into(),
            why: match at_limit {
                true => "The reading stands at the limit of the gauge, which may be off by more than lies between that and the boiling point of water.".into(),
                false => format!("At {depth}, on this gauge, it lies too near to the boiling point of water."),
            },
            next: "Read an electronic vacuum gauge, or the barometer in the workshop.".into(),
        },
    }
}
