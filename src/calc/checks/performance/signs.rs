//! What a performance reading shows, each thing put as low, usual or high, and what is known besides of the charge and of air inside.
use super::vent::{self, Cooling};
use crate::units::PSI;
use crate::{
    checks::{
        case::Case,
        figures,
        state::{Inside, State},
        timeline::{Rank, Stamp, live},
    },
    physics::{moist_air::MoistAir, refrigerant::Fluid},
    record::{Metering, Performance, Refrigerant, answer::ChargeIs, answer::PerformanceFigures},
    units::{AbsolutePressure, Fraction, Temperature},
};

/// The low side of R-134a by ambient, degF and psig. From: US Army TM 5-3805-291-23-1, table 1 (a guide only). To: the most in makers' tables of
/// pressures (their last rows: 45 psig at 110 degF; 52 psig at 104 degF in 50 to 70 % humidity; 43 psig at 86 degF in 70 %).
pub const LOW_SIDE_R134A: [(f64, f64, f64); 5] = [
    (70.0, 10.0, 28.0),
    (80.0, 10.0, 33.0),
    (90.0, 15.0, 40.0),
    (100.0, 15.0, 50.0),
    (110.0, 15.0, 56.0),
];
/// How far outside of the guide boiling must lie to count: the last digit of a gauge, K.
const EDGE: f64 = 0.3;
/// Condensing so far below the ambient air that no liquid is left: it would stand at saturation, K. Practice.
const NO_LIQUID: f64 = 10.0;
/// A line cannot be this far on the wrong side of saturation: then a thermometer or a gauge is wrong, K. Practice.
pub const CANNOT_BE: f64 = -2.0;
/// Up to here a pair is read; hotter weather no table and no car knows, degC.
const HOTTEST: f64 = 55.0;

/// Where a value lies against what is usual.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// Less.
    Low,
    /// As usual.
    Within,
    /// More.
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

/// The low side.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LowSide {
    /// At the surrounding air's pressure or below.
    Vacuum,
    /// Below what is usual.
    Low,
    /// As usual.
    Within,
    /// Above what is usual.
    High,
}

/// The high side, by how far condensing lies above the ambient air.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum HighSide {
    /// So low that no liquid can be left.
    Empty,
    /// Below makers' tables.
    Low,
    /// Within them.
    Within,
    /// At their upper end.
    Raised,
    /// Above all of them.
    High,
}

/// The charge, as the scale tells it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ByWeight {
    /// Not known.
    Unknown,
    /// Right.
    Right,
    /// So much is missing, kg.
    Short(f64),
    /// So much is too much, kg.
    Over(f64),
}

/// Air inside, as far as it is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AirInside {
    /// Not known.
    Unknown,
    /// None that shows.
    None,
    /// Identified, or charged without an evacuation.
    There,
}

/// What is usual at an ambient temperature, K.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Usual {
    /// Boiling from, to.
    pub boils: [f64; 2],
    /// Condensing from, to.
    pub condenses: [f64; 2],
}

impl Usual {
    /// At this ambient temperature. Below the guide's first row that row holds down to the coldest weather that is judged, above its last that one.
    pub fn at(case: &Case<'_>, ambient: Temperature) -> Option<Self> {
        if ambient.k() < case.limits.weather_coldest.k() - 1e-9 || ambient.celsius() > HOTTEST {
            return None;
        }
        let rows = LOW_SIDE_R134A;
        let f = (ambient.k() * 1.8 - 459.67).clamp(rows[0].0, rows[rows.len() - 1].0);
        let pair = rows.windows(2).find(|w| (w[0].0..=w[1].0).contains(&f))?;
        let share = (f - pair[0].0) / (pair[1].0 - pair[0].0);
        let boils = |from: f64, to: f64| {
            let pa = 101_325.0 + (from + share * (to - from)) * PSI;
            Fluid::R134a
                .saturation_temperature(AbsolutePressure::new(pa))
                .map(Temperature::k)
        };
        let condenses = [case.limits.condensing_least, case.limits.condensing_note]
            .map(|above| ambient.k() + above.k());
        Some(Self {
            boils: [boils(pair[0].1, pair[1].1)?, boils(pair[0].2, pair[1].2)?],
            condenses,
        })
    }
}

/// What a reading shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Signs {
    /// The low side.
    pub low: Option<LowSide>,
    /// The high side.
    pub high: Option<HighSide>,
    /// Superheat at the compressor.
    pub superheat: Option<Level>,
    /// Subcooling before the expansion device.
    pub subcooling: Option<Level>,
    /// What the vent says.
    pub vent: Cooling,
    /// The charge.
    pub charge: ByWeight,
    /// Air inside.
    pub air: AirInside,
    /// The expansion device.
    pub metering: Option<Metering>,
    /// More heat than makers' tables have: hotter, or hotter and damper than their last row, or the doors open on such a day.
    pub heavy: bool,
    /// The evaporator is cold, and the vent is not.
    pub coil_cold: bool,
    /// High side over low side, absolute.
    pub ratio: Option<f64>,
}

impl Signs {
    /// Of a reading.
    pub fn of(case: &Case<'_>, p: &Performance) -> Self {
        let f = figures::performance_of(case, p);
        let air = case.site.air(p.barometer.as_ref()).0.pressure;
        let usual = p.ambient.as_ref().and_then(|t| Usual::at(case, t.si()));
        let in_vacuum = p
            .low_side
            .as_ref()
            .is_some_and(|q| q.si().absolute(air).pa() <= air.pa());
        // Near its critical point and above R-744 does not condense at a temperature that tells anything.
        let judged = case.record.system.refrigerant != Refrigerant::R744;
        let low = usual.zip(f.evaporating_k).filter(|_| judged).map(|(u, k)| {
            match Level::of(k, u.boils[0] - EDGE, u.boils[1] + EDGE) {
                Level::Low => LowSide::Low,
                Level::Within => LowSide::Within,
                Level::High => LowSide::High,
            }
        });
        let high = usual
            .zip(f.condensing_above_ambient_k)
            .filter(|_| judged)
            .map(|(_, k)| high(case, k));
        let [superheat, subcooling] = lines(case, &f);
        Self {
            low: if in_vacuum {
                Some(LowSide::Vacuum)
            } else {
                low
            },
            high,
            superheat: superheat.filter(|_| !in_vacuum),
            subcooling: subcooling.filter(|_| judged),
            vent: vent::judged(case, p),
            charge: by_weight(case, stamp(case, p)),
            air: air_inside(case),
            metering: case.record.system.metering,
            heavy: heavy(case, p),
            coil_cold: f
                .evaporating_k
                .zip(p.vent.as_ref())
                .is_some_and(|(k, vent)| coil_cold(k, vent.si().k())),
            ratio: f.pressure_ratio,
        }
    }

    /// Whether the metering is an orifice tube.
    pub fn orifice(&self) -> bool {
        self.metering == Some(Metering::OrificeTube)
    }

    /// Whether it is an expansion valve.
    pub fn valve(&self) -> bool {
        self.metering == Some(Metering::ExpansionValve)
    }
}

fn high(case: &Case<'_>, above: f64) -> HighSide {
    match above {
        k if k < -NO_LIQUID => HighSide::Empty,
        k if k < case.limits.condensing_least.k() - EDGE => HighSide::Low,
        k if k <= case.limits.condensing_note.k() + EDGE => HighSide::Within,
        k if k <= case.limits.condensing_concession.k() + EDGE => HighSide::Raised,
        _ => HighSide::High,
    }
}

/// Superheat and subcooling; one that cannot be is not there.
pub fn lines(case: &Case<'_>, f: &PerformanceFigures) -> [Option<Level>; 2] {
    let limits = case.limits;
    let most = if case.record.system.metering == Some(Metering::OrificeTube) {
        limits.superheat_most_orifice
    } else {
        limits.superheat_most
    };
    let level = |k: Option<f64>, least: f64, most: f64| {
        k.filter(|k| *k >= CANNOT_BE)
            .map(|k| Level::of(k, least, most))
    };
    [
        level(f.superheat_k, limits.superheat_least.k(), most.k()),
        level(
            f.subcooling_k,
            limits.subcooling_least.k(),
            limits.subcooling_most.k(),
        ),
    ]
}

/// The evaporator boils colder than 8 degC, and the air comes more than 12 K warmer than that. Practice.
fn coil_cold(evaporating_k: f64, vent_k: f64) -> bool {
    evaporating_k < 281.15 && vent_k - evaporating_k > 12.0
}

/// More heat than makers' tables have: hotter than their last row of pressures (110 degF), or more heat in the air than in the vent table's last row; the cabin's own air
/// does not come from outside, so that counts only where fresh air is let in or the doors stand open.
fn heavy(case: &Case<'_>, p: &Performance) -> bool {
    let Some(ambient) = p.ambient.as_ref().map(|t| t.si()) else {
        return false;
    };
    let air = case.site.air(p.barometer.as_ref()).0.pressure;
    let heat = |t: Temperature, humidity: f64| {
        MoistAir::new(t, Fraction::new(humidity), air).map(MoistAir::enthalpy)
    };
    let most = case
        .limits
        .vent_table
        .iter()
        .filter_map(|row| heat(row.ambient.si(), row.humidity_to.si().one()))
        .fold(0.0, f64::max);
    let from_outside = p.recirculation == Some(false) || p.doors_open == Some(true);
    // Warm outside air through open doors and the fresh-air flap is more than any table was measured with.
    let open = p.recirculation == Some(false)
        && p.doors_open == Some(true)
        && ambient.k() >= case.limits.vent_drop_ambient.k();
    let more = p
        .humidity
        .as_ref()
        .and_then(|h| heat(ambient, h.si().one()))
        .is_some_and(|h| h > most);
    let (last, ..) = LOW_SIDE_R134A[LOW_SIDE_R134A.len() - 1];
    ambient.k() * 1.8 - 459.67 > last || (more && from_outside) || open
}

/// When this reading was taken.
fn stamp(case: &Case<'_>, p: &Performance) -> Option<Stamp> {
    live(&case.record.performance, "performance")
        .find(|(_, _, x)| std::ptr::eq(*x, p))
        .and_then(|(i, _, p)| Some(Stamp::new(p.at?, Rank::Performance, i)))
}

/// The charge at the time of a reading: known only where it was weighed into an evacuated circuit, the hose with it.
fn by_weight(case: &Case<'_>, at: Option<Stamp>) -> ByWeight {
    let after = case
        .last_charge()
        .and_then(|c| c.at)
        .zip(at)
        .is_some_and(|(charged, at)| at > charged);
    let known = at.is_some() && State::at(case, at).inside == Inside::Charged { known: true };
    let other = case.net_charges().iter().any(|c| {
        c.entry
            .refrigerant
            .is_some_and(|r| r != case.record.system.refrigerant)
    });
    let (Some(net), Some(target)) = (case.net_kg(), case.target) else {
        return ByWeight::Unknown;
    };
    let off = net - target.kg;
    match case.charge_is() {
        _ if !after || !known || other => ByWeight::Unknown,
        Some(ChargeIs::Right) => ByWeight::Right,
        Some(ChargeIs::Wrong) if off < 0.0 => ByWeight::Short(-off),
        Some(ChargeIs::Wrong) => ByWeight::Over(off),
        _ => ByWeight::Unknown,
    }
}

/// Air inside: by an identifier after the charging, by the vacuum before it, or by there having been none.
fn air_inside(case: &Case<'_>) -> AirInside {
    let (charged, limits) = (
        case.last_charge().and_then(|c| c.at).map(|at| at.ms),
        case.limits,
    );
    let evacuated = case
        .evacuations
        .iter()
        .filter_map(|e| e.start)
        .map(|at| at.ms)
        .max();
    let since = |at: Option<i64>| match (at, charged.max(evacuated)) {
        (_, None) => true,
        (None, Some(_)) => false,
        (Some(at), Some(since)) => at >= since,
    };
    let identified: Vec<bool> = live(&case.record.identification, "identification")
        .filter(|(_, _, x)| since(x.at.map(|at| at.millis())))
        .filter_map(|(_, _, x)| {
            x.air
                .as_ref()
                .map(|a| a.si().one() > limits.air_in_refrigerant.one())
        })
        .collect();
    let stands_high = live(&case.record.standing, "standing")
        .filter(|(_, _, s)| s.cold_soak == Some(true) && since(s.at.map(|at| at.millis())))
        .filter_map(|(_, _, s)| figures::standing_of(case, s))
        .any(|f| f.excess_pa > f.allowed_pa);
    let no_vacuum = charged.is_some()
        && case.was_opened()
        && case.after_opening(case.last_charge().and_then(|c| c.at))
        && case.current_evacuations().is_empty();
    let little = figures::charge(case)
        .air_left_ppm
        .is_some_and(|ppm| ppm <= limits.air_left.one() * 1e6);
    match identified.last() {
        Some(true) => AirInside::There,
        Some(false) => AirInside::None,
        None if stands_high || no_vacuum => AirInside::There,
        None if charged.is_some() && little => AirInside::None,
        None => AirInside::Unknown,
    }
}
