//! How warm the air at the vent may be: by makers' tables where they reach, beyond them by the heat that they take out of the air.
//!
//! A table's row says how warm the air comes out that went in at a temperature and a humidity. Both together say how much heat a healthy evaporator took out of
//! each kilogram of air. That much, the least and the most of all rows, is carried over to the weather of the day: the air that comes out is known then between two
//! bounds. At the same heat in the air it is known better, by the rows around it. It is taken for air that goes in as it is outside.
use crate::{
    checks::{case::Case, limits::VentRow},
    physics::moist_air::MoistAir,
    record::Performance,
    units::{AbsolutePressure, Fraction, Temperature},
};

/// What a limit of the vent rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// The makers' table, straight between its rows.
    Table,
    /// The heat that the table's rows take out of the air, carried over to this weather.
    Heat,
}

/// How warm the air at the vent may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Up to here it is right, K.
    pub right_k: f64,
    /// Above this it is warm, K. Between the two it cannot be told.
    pub warm_k: f64,
    /// What that rests on.
    pub basis: Basis,
}

/// What the vent says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cooling {
    /// As cold as a healthy system makes it.
    Right,
    /// Warmer than any healthy system leaves it.
    Warm,
    /// Between the bounds.
    Between,
    /// There is nothing to judge it by, or it was not measured.
    NotJudged,
}

/// What the vent of a reading says.
pub fn judged(case: &Case<'_>, p: &Performance) -> Cooling {
    let Some(vent) = p.vent.as_ref().map(|t| t.si().k()) else {
        return Cooling::NotJudged;
    };
    match bounds(case, p) {
        _ if hardly_cooled(case, p) => Cooling::Warm,
        None => Cooling::NotJudged,
        Some(b) if vent <= b.right_k + 1e-9 => Cooling::Right,
        Some(b) if vent > b.warm_k + 1e-9 => Cooling::Warm,
        Some(_) => Cooling::Between,
    }
}

/// On a warm day the air is hardly colder than outside, and not because it is so damp that no more can be had.
pub fn hardly_cooled(case: &Case<'_>, p: &Performance) -> bool {
    let kelvin = |t: &Option<crate::units::Quantity<Temperature>>| t.as_ref().map(|t| t.si().k());
    let right = |vent: f64| bounds(case, p).is_some_and(|b| vent <= b.right_k + 1e-9);
    let limits = case.limits;
    kelvin(&p.ambient)
        .zip(kelvin(&p.vent))
        .is_some_and(|(a, v)| {
            a >= limits.vent_drop_ambient.k() && a - v < limits.vent_drop.k() && !right(v)
        })
}

/// How warm the air at the vent may be at this reading; `None` where temperature or humidity is not recorded, or the weather is colder or warmer than anything
/// that can be told.
pub fn bounds(case: &Case<'_>, p: &Performance) -> Option<Bounds> {
    let (ambient, humidity) = (p.ambient.as_ref()?.si(), p.humidity.as_ref()?.si());
    if let Some(k) = crate::checks::figures::vent_allowed(case, ambient.k(), humidity.one()) {
        return Some(Bounds {
            right_k: k,
            warm_k: k,
            basis: Basis::Table,
        });
    }
    let weather = case.limits.weather_coldest.k() - 1e-9..=case.limits.weather_warmest.k() + 1e-9;
    if !weather.contains(&ambient.k()) {
        return None;
    }
    by_heat(
        &case.limits.vent_table,
        ambient,
        humidity,
        case.site.air(p.barometer.as_ref()).0.pressure,
    )
}

/// The heat that a row takes out, J per kg of dry air: its warmest vent belongs to air between the middle of its humidities and their damp end. And the
/// heat in the air that goes in, at the middle.
#[derive(Debug, Clone, Copy)]
struct Taken {
    inlet: f64,
    least: f64,
    most: f64,
    ambient_k: f64,
}

impl Taken {
    /// Of a row: the air comes out with its water, or saturated.
    fn of(row: &VentRow) -> Option<Self> {
        let sea_level = AbsolutePressure::new(101_325.0);
        let (ambient, vent) = (row.ambient.si(), row.vent.si());
        let (from, to) = (row.humidity_from.si().one(), row.humidity_to.si().one());
        let inlet = |humidity: f64| MoistAir::new(ambient, Fraction::new(humidity), sea_level);
        let taken = |humidity: f64| {
            let air = inlet(humidity)?;
            let saturated = MoistAir::new(vent, Fraction::new(1.0), sea_level)?;
            let drier = air.humidity_ratio() < saturated.humidity_ratio();
            Some(if drier {
                air.enthalpy() - air.at_temperature(vent)?.enthalpy()
            } else {
                air.enthalpy() - saturated.enthalpy()
            })
        };
        let middle = 0.5 * (from + to);
        let (a, b) = (taken(middle)?, taken(to)?);
        Some(Self {
            inlet: inlet(middle)?.enthalpy(),
            least: a.min(b),
            most: a.max(b),
            ambient_k: ambient.k(),
        })
    }
}

/// The bounds by the heat that the table's rows take out of the air.
pub fn by_heat(
    table: &[VentRow],
    ambient: Temperature,
    humidity: Fraction,
    air: AbsolutePressure,
) -> Option<Bounds> {
    let mut rows: Vec<Taken> = table.iter().filter_map(Taken::of).collect();
    rows.sort_by(|a, b| a.inlet.total_cmp(&b.inlet));
    let inside = MoistAir::new(ambient, humidity, air)?;
    let (least, most) = taken(&rows, inside.enthalpy(), ambient.k())?;
    // No evaporator is let get colder than it is in the mildest row: what that blows is right in any weather.
    let coldest = table
        .iter()
        .map(|row| row.vent.si().k())
        .fold(f64::INFINITY, f64::min);
    let leaves = |heat: f64| {
        inside
            .cooled_by(heat)
            .map_or(coldest, |t| t.k().max(coldest))
    };
    Some(Bounds {
        right_k: leaves(most),
        warm_k: leaves(least),
        basis: Basis::Heat,
    })
}

/// The least and the most heat that is taken out of air of this heat content: between the rows around it where the table reaches there, else of all rows.
fn taken(rows: &[Taken], inlet: f64, ambient_k: f64) -> Option<(f64, f64)> {
    let warmest = rows
        .iter()
        .map(|r| r.ambient_k)
        .fold(f64::NEG_INFINITY, f64::max);
    let around = rows
        .windows(2)
        .find(|w| (w[0].inlet..=w[1].inlet).contains(&inlet))
        .filter(|_| ambient_k <= warmest + 1e-9);
    let all = || {
        let least = rows.iter().map(|r| r.least).reduce(f64::min)?;
        Some((least, rows.iter().map(|r| r.most).reduce(f64::max)?))
    };
    match around {
        Some(w) if w[1].inlet > w[0].inlet => {
            let share = (inlet - w[0].inlet) / (w[1].inlet - w[0].inlet);
            let between = |a: f64, b: f64| a + share * (b - a);
            Some((
                between(w[0].least, w[1].least),
                between(w[0].most, w[1].most),
            ))
        }
        _ => all(),
    }
}
