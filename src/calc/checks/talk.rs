//! What is said at the car: good, not good, or cannot tell; why; what to do next; and what a test could have shown.
use super::{
    case::Case,
    evacuation::Evacuated,
    hold::{Doubt, Held},
    rules::{needed, pressure_test, rules_out, scope},
    voice::Voice,
};
use crate::units::PSI;
use crate::{
    physics::{refrigerant::Fluid, water},
    record::{HoldKind, answer::Verdict},
    units::{AbsolutePressure, LeakRate, Seconds, Temperature, show},
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

/// How soon a leak empties the system, with no more digits than one feels: "40 min", "8.1 hours", "17 hours", "12 days", "3 years".
pub fn empties_in(hours: f64) -> String {
    let told = show::duration(Seconds::new(hours * 3600.0));
    match told.strip_suffix(" hours") {
        Some(_) if hours >= 9.95 => format!("{} hours", show::decimals(hours, 0)),
        Some(number) => format!(
            "{} hours",
            number.trim_end_matches('0').trim_end_matches('.')
        ),
        None => told,
    }
}

/// A rate that was converted from a test into refrigerant in service: of R-744 the least that it may be, see [`real_vapour`].
pub fn leak(case: &Case<'_>, kg_per_year: f64) -> String {
    let rate = show::leak_rate(LeakRate::new(kg_per_year), case.units);
    if real_vapour(case).is_some() {
        format!("at least {rate}")
    } else {
        rate
    }
}

/// Why a converted rate is the least that it may be: at 25 degC R-744 is nearly critical, and its vapour is denser than the ideal gas that the
/// conversion reckons with.
pub fn real_vapour(case: &Case<'_>) -> Option<&'static str> {
    (case.bench.fluid == Some(Fluid::R744))
        .then_some("the real vapour of R-744 carries up to a third more than is calculated here")
}

/// A hold's answer.
pub fn hold(case: &Case<'_>, held: &Held) -> Answer {
    if let Some(stop) = pressure_test::stop(case, held) {
        return stop;
    }
    let minimum = show::duration(case.limits.least_hold(held.kind));
    let (verdict, why, next) = verdict(case, held, &minimum);
    if held.ended {
        return Answer {
            says: format!("{verdict}."),
            why,
            next,
        };
    }
    running(held, verdict, why, next, &minimum)
}

/// The verdict in a word or two, why, and what to do next.
fn verdict(case: &Case<'_>, held: &Held, minimum: &str) -> (&'static str, String, String) {
    let voice = case.voice_of_hold(held);
    let took = Seconds::new(held.figures.duration_s.unwrap_or(0.0));
    let (duration, so_far) = (show::duration(took), show::duration_so_far(took));
    let moved = voice.difference(held.figures.change_pa.unwrap_or(0.0).abs());
    let bound = voice.difference(held.figures.bound_pa.unwrap_or(0.0));
    let pressure = held.kind == Some(HoldKind::Pressure);
    match held.says {
        Verdict::Held => {
            let next = if pressure { "Let the pressure off, then evacuate." } else { "Charge by weight; then check the joints with an electronic detector." };
            ("Good", format!("The gauge stood still for {so_far}. {}", rules_out(case, held).unwrap_or_default()), next.to_owned())
        }
        Verdict::TooShort => (
            "OK so far, but too short to count",
            format!("Nothing moved in {so_far}; a hold counts from {minimum}."),
            format!("Hold again for at least {minimum}."),
        ),
        Verdict::Leak => (
            "Not good",
            format!("The pressure {} by {moved} in {duration}; gauge and temperature explain at most {bound}.", if pressure { "fell" } else { "rose" }),
            "Find the leak before anything else: dry nitrogen with soapy water or an ultrasonic detector.".to_owned(),
        ),
        Verdict::Moisture => (
            "Not good: water inside",
            "The vacuum stands where water holds it at the temperature of the metal.".to_owned(),
            "Warm the metal with air or a lamp, evacuate longer and deeper, and hold again.".to_owned(),
        ),
        Verdict::Inconclusive => inconclusive(case, held, &moved, &duration),
        Verdict::NotReadable | Verdict::Running => {
            let why = held.why(case.voice_of_hold(held)).unwrap_or_default();
            let next = if held.ended { "Hold again." } else { "Read the gauge again." };
            ("Cannot tell", format!("This hold shows nothing: {why}."), next.to_owned())
        }
    }
}

/// What keeps the hold from a verdict, and what would give one.
fn inconclusive(
    case: &Case<'_>,
    held: &Held,
    moved: &str,
    duration: &str,
) -> (&'static str, String, String) {
    let more = format!(
        "Evacuate for {} more and hold again.",
        show::duration(case.limits.outgassing_evacuation)
    );
    let (why, next) = match held.doubt {
        Some(Doubt::Temperature) => (
            format!("The gauge moved by {moved} in {duration}; the temperature may have done that, or hidden a leak."),
            "Hold again with the temperature steady, and read the metal temperature at the start and the end.".to_owned(),
        ),
        Some(Doubt::Levelling) => {
            (format!("The vacuum rose by {moved} and settled, not where water settles: gas from oil or desiccant, or water in the oil."), more)
        }
        Some(Doubt::Outgassing) => (format!("The deep vacuum rose by {moved}: a leak, or gas from oil and rubber."), more),
        Some(Doubt::Gauge) | None => {
            (format!("The gauge moved by {moved} in {duration}: that may be how it was read, or a leak."), what_would_tell(case, held))
        }
    };
    ("Cannot tell", why, next)
}

/// For how long to hold, or how fine a gauge to read, so that stillness and a leak can be told apart.
pub fn what_would_tell(case: &Case<'_>, held: &Held) -> String {
    let finer = held.figures.tells_at_resolution_pa.map(|pa| {
        format!(
            "read a gauge with a resolution of {}",
            case.voice_of_hold(held).difference(pa)
        )
    });
    let again = if held.ended { "Hold again" } else { "Go on" };
    match (held.figures.tells_after_s, finer) {
        (Some(s), finer) => {
            let or = finer.map(|f| format!(", or {f}")).unwrap_or_default();
            format!(
                "{again} for {} in all and read the gauge several times{or}.",
                show::duration(Seconds::new(s))
            )
        }
        (None, Some(finer)) => format!("{again}, and {finer} or finer."),
        (None, None) => {
            format!("{again}, and read the gauge at least eight times, or read a finer one.")
        }
    }
}

/// Whether a running hold waits for nothing but its next reading.
pub fn waits_for_a_reading(held: &Held) -> bool {
    let one_reading = held.says == Verdict::NotReadable
        && held.first_pa.is_some()
        && held.figures.duration_s.is_none_or(|d| d <= 0.0);
    !held.ended && (held.says == Verdict::TooShort || one_reading)
}

fn running(held: &Held, verdict: &str, why: String, next: String, minimum: &str) -> Answer {
    match held.says {
        Verdict::Held => Answer {
            says: "OK so far. If you stop now it counts as a passed hold.".into(),
            why,
            next: "End the hold, or go on: a longer hold shows smaller leaks.".into(),
        },
        Verdict::TooShort => Answer {
            says: "OK so far, but too short to count.".into(),
            why,
            next: format!("Read the gauge at least {minimum} after the first reading."),
        },
        Verdict::NotReadable
            if held.first_pa.is_some() && held.figures.duration_s.is_none_or(|d| d <= 0.0) =>
        {
            Answer {
                says: "Cannot tell yet.".into(),
                why: "One reading so far.".into(),
                next: format!("Read the gauge at least {minimum} after the first reading."),
            }
        }
        Verdict::NotReadable if held.first_pa.is_none() => Answer {
            says: "Cannot tell yet.".into(),
            why: "No reading yet.".into(),
            next: "Read the gauge now.".into(),
        },
        Verdict::Leak | Verdict::Moisture => Answer {
            says: "Failing so far. If you stop now it counts as a failed hold.".into(),
            why,
            next,
        },
        _ => Answer {
            says: format!("{verdict} yet. If you stop now it does not count."),
            why,
            next,
        },
    }
}

/// What a hold rules out so far, at the usual length and after an hour, if nothing moves.
pub fn hold_rows(case: &Case<'_>, held: &Held) -> Vec<RulesOut> {
    let (Some(duration), Some(smallest)) = (
        held.figures.duration_s.filter(|d| *d > 0.0),
        held.figures.smallest_leak_shown_kg_per_year,
    ) else {
        return Vec::new();
    };
    let minimum = case.limits.least_hold(held.kind).s();
    let row = |seconds: f64, now: bool| {
        let rate = smallest * duration / seconds;
        let time = show::duration(Seconds::new(seconds));
        RulesOut {
            held_for: if now {
                format!("{}{time}", if held.ended { "" } else { "so far, " })
            } else {
                time
            },
            empties_in: case.target.map_or_else(
                || "—".to_owned(),
                |t| show::duration(Seconds::new(t.kg / rate * crate::physics::leak::YEAR_S)),
            ),
            in_a_year: leak(case, rate).trim_end_matches(" a year").to_owned(),
            now,
        }
    };
    let mut rows = vec![row(duration, true)];
    rows.extend(
        [minimum, 3600.0]
            .into_iter()
            .filter(|s| *s > duration * 1.02)
            .map(|s| row(s, false)),
    );
    rows
}

/// Longer than this nobody watches a gauge (practice).
const NOBODY_WAITS_S: f64 = 3.0 * 3600.0;

/// What would show a smaller leak; a time that nobody would wait is not proposed. And what the figure speaks of.
pub fn hold_beyond(case: &Case<'_>, held: &Held) -> Option<String> {
    let (duration, smallest) = (
        held.figures.duration_s.filter(|d| *d > 0.0)?,
        held.figures.smallest_leak_shown_kg_per_year?,
    );
    let limit = super::rules::leak_limit(case);
    let limit_told = show::leak_rate(LeakRate::new(limit), case.units);
    let needed = duration * smallest / limit;
    let this = match needed {
        n if n <= duration => String::new(),
        n if n <= NOBODY_WAITS_S => {
            let least = if real_vapour(case).is_some() {
                "at least "
            } else {
                ""
            };
            format!(
                " For {limit_told} this gauge would take {least}{}.",
                show::duration(Seconds::new(n))
            )
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
    let air = case.site.air;
    let most = pressure_test::most(case).map_or(f64::MAX, |p| p.pa());
    let pa = super::outlook::NITROGEN_USUAL.pa().min(most);
    let rate = case
        .bench
        .nitrogen_would_show(PSI, air.pressure.pa() + pa, 3600.0, air)?;
    let voice = Voice::gauge(case.units);
    let at = voice.pressure(air.pressure.pa() + pa, air.pressure.pa());
    Some(format!(
        " Dry nitrogen at {at} for an hour, on a gauge with a resolution of {}, shows {}.",
        voice.difference(PSI),
        leak(case, rate)
    ))
}

/// An evacuation's answer.
pub fn evacuation(case: &Case<'_>, e: &Evacuated) -> Answer {
    if let Some(pa) = e.impossible_pa {
        let why = format!(
            "A reading is {} below perfect vacuum, which cannot be.",
            case.voice_of_evacuation(e).difference(-pa)
        );
        return Answer {
            says: "Cannot tell.".into(),
            why,
            next: "Check the gauge’s zero and the barometer, then read again.".into(),
        };
    }
    let Some(lowest) = e.figures.lowest_pa else {
        return Answer {
            says: "Cannot tell yet.".into(),
            why: "No reading yet.".into(),
            next: "Read the gauge once the needle has come to rest.".into(),
        };
    };
    let at_limit = lowest <= 0.0;
    let voice = case.voice_of_evacuation(e);
    let depth = voice.depth(lowest, e.air.pressure.pa());
    let boils = e
        .figures
        .water_boils_at_k
        .map(|k| show::temperature(Temperature::new(k), case.units));
    let metal = e.metal.map(|t| show::temperature(t, case.units));
    let dial = needed(case, e).and_then(|needed| needed.on_gauge);
    match (e.figures.dries, boils, metal) {
        (Some(true), Some(boils), Some(metal)) => {
            let subliming = if lowest < water::TRIPLE_PRESSURE.pa() { " Ice does not melt at that depth, it turns to vapour." } else { "" };
            Answer {
                says: "Deep enough to dry.".into(),
                why: format!("At {depth} water boils at {boils}; the metal is {metal}.{subliming}"),
                next: "Go on long enough for the water to leave, then close off and hold.".into(),
            }
        }
        (Some(true), None, Some(metal)) => {
            let most = e.figures.uncertainty_pa.unwrap_or(0.0);
            let there = water::saturation_temperature(AbsolutePressure::new(most)).map(|t| show::temperature(t, case.units));
            let there = there.map(|t| format!(": even if it is off by {}, water boils at {t}", voice.difference(most)));
            Answer {
                says: "Deep enough to dry.".into(),
                why: format!("The reading is at the limit of the gauge{}; the metal is {metal}.", there.unwrap_or_default()),
                next: "Go on long enough for the water to leave, then close off and hold.".into(),
            }
        }
        (Some(false), Some(boils), Some(metal)) => Answer {
            says: "Not deep enough to dry.".into(),
            why: format!("At {depth} water boils only at {boils}; the metal is {metal}."),
            next: dial.map_or_else(|| "Evacuate deeper.".to_owned(), |d| format!("Evacuate deeper: here and today it takes {d} on this gauge.")),
        },
        (_, _, None) => Answer {
            says: "Cannot tell.".into(),
            why: "The temperature of the coldest metal is not recorded.".into(),
            next: "Measure the coldest metal and enter its temperature.".into(),
        },
        _ => Answer {
            says: "Cannot tell.".into(),
            why: match at_limit {
                true => "The reading is at the limit of the gauge, and its error may be larger than what is left to the boiling point of water.".into(),
                false => format!("At {depth} this gauge is too coarse to tell whether water boils."),
            },
            next: "Read an electronic vacuum gauge, or the barometer in the workshop.".into(),
        },
    }
}
