//! A hold's readings: absolute, in the order of time, brought to one temperature; and those among them that cannot be.
use super::{
    course::Reading,
    gauge::GaugeFacts,
    limits::Limits,
    site::{Air, Site},
    timeline::live,
};
use crate::{record::Hold, units::Temperature};

/// A reading with what it means.
#[derive(Debug, Clone, Copy)]
pub struct Point {
    /// When, ms.
    pub ms: i64,
    /// Its position in the hold's list.
    pub position: usize,
    /// Pa absolute, 0 where the gauge shows a little less than nothing.
    pub pa: f64,
    /// Pa as it comes out, perhaps below zero.
    pub raw_pa: f64,
    /// It cannot be, by itself.
    pub impossible: bool,
    /// The metal's temperature.
    pub temperature: Option<Temperature>,
    /// The air that it was read against.
    pub air: Air,
}

/// The readings that have a time and a pressure, in the order of time.
pub fn of(hold: &Hold, gauge: &GaugeFacts, air: Air, site: &Site<'_>, limits: &Limits) -> Vec<Point> {
    let mut points: Vec<Point> = live(&hold.readings, "readings")
        .filter_map(|(position, _, reading)| {
            let (at, pressure) = (reading.at?, reading.pressure.as_ref()?);
            let air = reading.barometer.as_ref().map_or(air, |own| site.air(Some(own)).0);
            let absolute = gauge.read(pressure.si(), air, limits);
            // 0 K is no temperature that metal was read at.
            let temperature = reading.temperature.as_ref().map(|t| t.si()).filter(|t| t.k() > 0.0);
            let (pa, raw_pa, impossible) = (absolute.pa, absolute.raw_pa, absolute.impossible);
            Some(Point { ms: at.millis(), position, pa, raw_pa, impossible, temperature, air })
        })
        .collect();
    points.sort_by_key(|p| (p.ms, p.position));
    points
}

/// The lowest reading that cannot be, so that the hold cannot be read.
///
/// Of five readings and more, those that lie a graduation below what can be are noise where the mean of all can be, that is, lies less than half a
/// graduation below nothing, which is within the uncertainty of any gauge: of thirty readings near a perfect vacuum one lies so low by chance.
/// Of 100,000 simulated holds (fifty seeds of the grid in `tests/checks/grid`) 98.81 % are called right so; where one such reading voids the hold, as it
/// does of fewer than five, 98.66 %.
pub fn impossible(readings: &[Point], resolution_pa: f64) -> Option<Point> {
    let possible = readings.iter().filter(|r| !r.impossible).map(|r| r.raw_pa).fold(f64::INFINITY, f64::min);
    let lowest = readings.iter().filter(|r| r.impossible).min_by(|a, b| a.raw_pa.total_cmp(&b.raw_pa))?;
    let mean = readings.iter().map(|r| r.raw_pa).sum::<f64>() / readings.len() as f64;
    let noise = readings.len() >= 5 && mean > -0.5 * resolution_pa && lowest.raw_pa > possible - 2.0 * resolution_pa;
    (!noise).then_some(*lowest)
}

/// Whether the first and the last of them have a temperature.
pub fn both_temperatures(readings: &[Point]) -> bool {
    readings.len() > 1 && readings.first().is_some_and(|r| r.temperature.is_some()) && readings.last().is_some_and(|r| r.temperature.is_some())
}

/// Each reading brought to the first one's temperature, p T1/T, where both have one. A reading without a temperature between two that have
/// one takes what lies straight between them: left as it is, it would bend the course of its neighbours.
pub fn corrected(readings: &[Point]) -> Vec<Reading> {
    let t1 = readings.first().and_then(|r| r.temperature);
    let start = readings.first().map_or(0, |r| r.ms);
    readings
        .iter()
        .enumerate()
        .map(|(i, r)| {
            let metal = r.temperature.or_else(|| between(&readings[..i], &readings[i + 1..], r.ms));
            let corrected = match (t1, metal) {
                (Some(t1), Some(t)) => r.pa * t1.k() / t.k(),
                _ => r.pa,
            };
            Reading { t: (r.ms - start) as f64 / 1e3, pa: r.pa, corrected, metal }
        })
        .collect()
}

fn between(before: &[Point], after: &[Point], ms: i64) -> Option<Temperature> {
    let a = before.iter().rev().find(|r| r.temperature.is_some())?;
    let b = after.iter().find(|r| r.temperature.is_some())?;
    let (ta, tb) = (a.temperature?.k(), b.temperature?.k());
    let share = if b.ms > a.ms { (ms - a.ms) as f64 / (b.ms - a.ms) as f64 } else { 0.0 };
    Some(Temperature::new(ta + share * (tb - ta)))
}
