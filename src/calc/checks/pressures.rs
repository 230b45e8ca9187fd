//! What a performance reading points to: the pair of pressures, superheat, subcooling, the water in the air. In words, each with its source.
//!
//! Nothing here is a finding, and nothing decides: the same pair can have several causes, and weight is the only measure of charge.
use super::{case::Case, circuit, figures};
use crate::{
    physics::{moist_air::MoistAir, refrigerant::Fluid},
    record::{Metering, Performance, answer::PerformanceFigures},
    units::{AbsolutePressure, Fraction, Temperature, TemperatureDifference, UnitSystem, show},
};

/// One thing that a reading points to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pointer {
    /// What was read, against what is expected, in a sentence.
    pub read: String,
    /// What that points to, in a sentence.
    pub points: &'static str,
    /// It points to something that is wrong.
    pub fault: bool,
    /// Where that reading of it comes from, in a word.
    pub from: &'static str,
    /// The same in full.
    pub source: &'static str,
}

impl Pointer {
    /// Both sentences.
    pub fn says(&self) -> String {
        format!("{} {}", self.read, self.points)
    }
}

/// The low side of R-134a by ambient, degF and psig: US Army TM 5-3805-291-23-1, table 1, a guide only.
pub const LOW_SIDE_R134A: [(f64, f64, f64); 5] = [(70.0, 10.0, 20.0), (80.0, 10.0, 25.0), (90.0, 15.0, 30.0), (100.0, 15.0, 30.0), (110.0, 15.0, 30.0)];
/// The least that condensing runs above the air outside in makers' tables; the most that is not remarked on is `limits.condensing_note`.
pub const LEAST_CONDENSING: TemperatureDifference = TemperatureDifference::new(13.0);

const GUIDE: &str = "Low side: US Army TM 5-3805-291-23-1, table 1, for R-134a and a guide only, carried over to other refrigerants by their \
                     boiling temperature. High side: condensing 13 to 39 K above the air outside in makers’ tables. Causes: makers’ diagnosis tables.";
const LINES: &str = "Practice: superheat and subcooling as refrigeration texts read them.";

const NO_FAULT: &str = "That points to no fault.";
const IMPOSSIBLE: &str =
    "That cannot be: a line does not stand on the wrong side of boiling. Put the probe on bare metal, insulate it, and look at the gauge’s zero.";

// ---- superheat and subcooling at the compressor and before the expansion device, K: practice ----
const LITTLE_SUPERHEAT: f64 = 2.0;
const MUCH_SUPERHEAT: f64 = 15.0;
/// Behind an accumulator, which feeds nothing but vapour that is hardly superheated.
const MUCH_SUPERHEAT_ORIFICE: f64 = 10.0;
const LITTLE_SUBCOOLING: f64 = 2.0;
const MUCH_SUBCOOLING: f64 = 12.0;
/// A line cannot be this far on the wrong side of saturation: then a thermometer or a gauge is wrong.
const CANNOT_BE: f64 = -2.0;

/// Where a value lies against what is expected.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Level {
    Low,
    Within,
    High,
}

impl Level {
    fn of(value: f64, least: f64, most: f64) -> Self {
        match value {
            v if v < least => Self::Low,
            v if v > most => Self::High,
            _ => Self::Within,
        }
    }
}

/// What a performance reading points to; nothing where too little of it is recorded, or the refrigerant has no saturation there.
pub fn points_to(case: &Case<'_>, p: &Performance) -> Vec<Pointer> {
    let figures = figures::performance_of(case, p);
    let pair = circuit::fluid(case.record.system.refrigerant).and_then(|fluid| pair(case, fluid, p, &figures));
    pair.into_iter().chain(lines(case.record.system.metering, &figures, case.units)).collect()
}

/// What is expected of both sides at an ambient temperature, K: boiling from, to; condensing from, to. `None` beyond the rows of the guide.
fn expected(case: &Case<'_>, ambient: Temperature) -> Option<[f64; 4]> {
    let f = ambient.k() * 1.8 - 459.67;
    let rows = LOW_SIDE_R134A.windows(2).find(|w| (w[0].0 - 1e-9..=w[1].0 + 1e-9).contains(&f))?;
    let share = (f - rows[0].0) / (rows[1].0 - rows[0].0);
    let boils = |from: f64, to: f64| {
        let pa = 101_325.0 + (from + share * (to - from)) * 6894.757;
        Fluid::R134a.saturation_temperature(AbsolutePressure::new(pa)).map(Temperature::k)
    };
    let [least, most] = [LEAST_CONDENSING, case.limits.condensing_note].map(|above| ambient.k() + above.k());
    Some([boils(rows[0].1, rows[1].1)?, boils(rows[0].2, rows[1].2)?, least, most])
}

/// The pair of pressures against the guide.
fn pair(case: &Case<'_>, fluid: Fluid, p: &Performance, figures: &PerformanceFigures) -> Option<Pointer> {
    let (evaporating, condensing, ambient) = (figures.evaporating_k?, figures.condensing_k?, p.ambient.as_ref()?.si());
    let expected = expected(case, ambient)?;
    let air = case.site.air(p.barometer.as_ref()).0.pressure;
    let gauge = |k: f64| fluid.saturation_pressure(Temperature::new(k)).map(|s| s.pa() - air.pa());
    let [low_from, low_to, high_from, high_to] = [gauge(expected[0])?, gauge(expected[1])?, gauge(expected[2])?, gauge(expected[3])?];
    let low = Level::of(evaporating, expected[0], expected[1]);
    let high = Level::of(condensing, expected[2], expected[3]);
    let (size, unit, above) = match case.units {
        UnitSystem::Si => (1e3, "kPa", " (all above the air)"),
        UnitSystem::Us => (6894.757, "psig", ""),
    };
    let shown = |pa: f64| show::decimals(pa / size, 0);
    let read = format!(
        "At {} outside the guide has {} to {} {unit} on the low side and {} to {} {unit} on the high side; {} and {} {unit} were read{above}.",
        show::temperature(ambient, case.units),
        shown(low_from),
        shown(low_to),
        shown(high_from),
        shown(high_to),
        shown(gauge(evaporating)?),
        shown(gauge(condensing)?),
    );
    let in_vacuum = gauge(evaporating)? <= 0.0;
    let fault = in_vacuum || (low != Level::Within && high != Level::Within);
    Some(Pointer { read, points: cause(low, high, in_vacuum), fault, from: "makers’ diagnosis tables", source: GUIDE })
}

/// What makers' diagnosis tables say of a pair.
fn cause(low: Level, high: Level, in_vacuum: bool) -> &'static str {
    use Level::{High, Low, Within};
    match (low, high) {
        _ if in_vacuum => {
            "A low side at the surrounding air’s pressure or below points to a blockage before the evaporator; where it comes and goes, to ice at the \
             expansion device, which means moisture."
        }
        (High, High) => "Both high points to too much refrigerant, too little air through the condenser, or air in the circuit.",
        (Low, Low) => "Both low points to too little refrigerant, or to a restriction after the condenser.",
        (High, Low) => "A high low side with a low high side points to the compressor: it does not pump as it should, or is not driven.",
        (Low, High) => "A low low side with a high high side points to a blockage between the two.",
        (Within, Within) => {
            "Both lie where they should. That points to no fault, and does not show that the charge is right: weight is the only measure of charge."
        }
        (High, Within) => "The low side is above the guide, the high side within: by itself that points to nothing.",
        (Low, Within) => "The low side is below the guide, the high side within: by itself that points to nothing.",
        (Within, High) => "The high side is above the guide, the low side within: by itself that points to nothing; look at the condenser all the same.",
        (Within, Low) => "The high side is below the guide, the low side within: by itself that points to nothing.",
    }
}

/// Superheat and subcooling, together where both are there.
fn lines(metering: Option<Metering>, figures: &PerformanceFigures, units: UnitSystem) -> Option<Pointer> {
    let orifice = metering == Some(Metering::OrificeTube);
    let most = if orifice { MUCH_SUPERHEAT_ORIFICE } else { MUCH_SUPERHEAT };
    let superheat = figures.superheat_k.map(|k| (k, Level::of(k, LITTLE_SUPERHEAT, most)));
    let subcooling = figures.subcooling_k.map(|k| (k, Level::of(k, LITTLE_SUBCOOLING, MUCH_SUBCOOLING)));
    let difference = |k: f64| show::temperature_difference(TemperatureDifference::new(k), units);
    let told = [superheat.map(|(k, _)| format!("superheat {}", difference(k))), subcooling.map(|(k, _)| format!("subcooling {}", difference(k)))];
    let told: Vec<String> = told.into_iter().flatten().collect();
    let mut letters = told.join(", ");
    letters.get_mut(..1)?.make_ascii_uppercase();
    let impossible = [superheat, subcooling].into_iter().flatten().any(|(k, _)| k < CANNOT_BE);
    let points = if impossible { IMPOSSIBLE } else { of_lines(superheat.map(|s| s.1), subcooling.map(|s| s.1), orifice) };
    Some(Pointer { read: format!("{letters}."), points, fault: points != NO_FAULT, from: "practice", source: LINES })
}

fn of_lines(superheat: Option<Level>, subcooling: Option<Level>, orifice: bool) -> &'static str {
    use Level::{High, Low, Within};
    match (superheat, subcooling) {
        (Some(High), Some(Low)) => "Much superheat with little subcooling points to too little refrigerant: weigh it.",
        (Some(High), Some(High)) => "Much of both points to a restriction after the condenser, where liquid is held back.",
        (Some(Low), Some(High)) if !orifice => "Little superheat with much subcooling points to too much refrigerant: weigh it.",
        (Some(Low), Some(Low)) if !orifice => {
            "Little of both points to an expansion valve that opens too far, or to a compressor that does not pump as it should."
        }
        (Some(High), _) => {
            "Much superheat points to an evaporator that gets too little: too little refrigerant, a restriction, or a valve that opens too little."
        }
        (Some(Low), _) if !orifice => "Little superheat points to liquid on its way to the compressor: a valve that opens too far, or its bulb loose.",
        (_, Some(Low)) => "Little subcooling points to vapour in the liquid line: too little refrigerant, or a condenser that does not get rid of its heat.",
        (_, Some(High)) => "Much subcooling points to liquid held back in the condenser: too much refrigerant, or a restriction after it.",
        (Some(Within | Low), _) | (_, Some(Within)) => NO_FAULT,
        // Not asked: there is nothing to read then.
        (None, None) => NO_FAULT,
    }
}

/// The air outside with its water; `None` where temperature or humidity is not recorded.
pub fn outside(case: &Case<'_>, p: &Performance) -> Option<MoistAir> {
    let (ambient, humidity) = (p.ambient.as_ref()?.si(), p.humidity.as_ref()?.si());
    MoistAir::new(ambient, humidity, case.site.air(p.barometer.as_ref()).0.pressure)
}

/// Dew point and wet bulb of the air outside, in a sentence; and, where fresh air leaves the vent colder than that, how much water it left behind.
pub fn water_in_the_air(case: &Case<'_>, p: &Performance) -> Option<String> {
    let air = outside(case, p)?;
    let dew = air.dew_point()?;
    let shown = |t: Temperature| show::temperature_to(t, 1, case.units);
    let says = format!("The air outside has its dew point at {} and its wet bulb at {}.", shown(dew), shown(air.wet_bulb()));
    let vent = p.vent.as_ref().map(crate::units::Quantity::si).filter(|vent| *vent < dew && p.recirculation == Some(false));
    // What leaves the vent holds at most what saturated air of that temperature does.
    let leaves = vent.and_then(|vent| MoistAir::new(vent, Fraction::new(1.0), case.site.air(p.barometer.as_ref()).0.pressure));
    let left = leaves.map(|v| (air.humidity_ratio() - v.humidity_ratio()) * 1e3);
    let runs =
        left.map(|g| format!(" At least {} g of water from each kilogram of it run off the evaporator: its drain must be open.", show::significant(g, 2)));
    Some(says + &runs.unwrap_or_default())
}
