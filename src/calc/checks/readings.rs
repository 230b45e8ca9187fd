//! A hold's readings: absolute, in the order of time, brought to one temperature; and those among them that cannot be.
use super::{
    course::Reading,
    gauge::GaugeFacts,
    limits::Limits,
    site::{Air, Site},
    timeline::{live, name},
};
use crate::{
    record::{Gauge, Hold},
    units::Temperature,
};

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
    /// The gauge that it was read on, by its place in [`Watched::gauges`].
    pub gauge: usize,
    /// That gauge counts from perfect vacuum.
    pub absolute: bool,
}

/// A gauge of a hold.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// How it reads.
    pub facts: GaugeFacts,
    /// Which gauge of the shop's.
    pub id: Option<String>,
}

/// A hold's readings and the gauges that they were taken on.
#[derive(Debug, Clone)]
pub struct Watched {
    /// The readings that have a time and a pressure, in the order of time.
    pub points: Vec<Point>,
    /// The gauges; at least one.
    pub gauges: Vec<Seen>,
}

/// The readings that have a time and a pressure, in the order of time, each on its own gauge.
pub fn of(hold: &Hold, air: Air, site: &Site<'_>, limits: &Limits) -> Watched {
    let mut gauges: Vec<(Option<&Gauge>, Seen)> = Vec::new();
    let mut points: Vec<Point> = live(&hold.readings, "readings")
        .filter_map(|(position, _, reading)| {
            let (at, pressure) = (reading.at?, reading.pressure.as_ref()?);
            let gauge = placed(
                &mut gauges,
                reading.gauge.as_ref().or(hold.gauge.as_ref()),
                limits,
            );
            let air = reading
                .barometer
                .as_ref()
                .map_or(air, |own| site.air(Some(own)).0);
            let absolute = gauges[gauge].1.facts.read(pressure.si(), air, limits);
            // 0 K is no temperature that metal was read at.
            let temperature = reading
                .temperature
                .as_ref()
                .map(|t| t.si())
                .filter(|t| t.k() > 0.0);
            let (pa, raw_pa, impossible) = (absolute.pa, absolute.raw_pa, absolute.impossible);
            Some(Point {
                ms: at.millis(),
                position,
                pa,
                raw_pa,
                impossible,
                temperature,
                air,
                gauge,
                absolute: pressure.si().is_absolute(),
            })
        })
        .collect();
    points.sort_by_key(|p| (p.ms, p.position));
    if gauges.is_empty() {
        placed(&mut gauges, hold.gauge.as_ref(), limits);
    }
    Watched {
        points,
        gauges: gauges.into_iter().map(|(_, seen)| seen).collect(),
    }
}

/// The gauge's place in the list; it is the same gauge where its id is, or all of it where it has none.
fn placed<'a>(
    gauges: &mut Vec<(Option<&'a Gauge>, Seen)>,
    gauge: Option<&'a Gauge>,
    limits: &Limits,
) -> usize {
    let id = |g: Option<&Gauge>| g.and_then(|g| g.id.clone());
    let same = |known: Option<&Gauge>| {
        if id(known).is_some() || id(gauge).is_some() {
            id(known) == id(gauge)
        } else {
            known == gauge
        }
    };
    gauges
        .iter()
        .position(|(known, _)| same(*known))
        .unwrap_or_else(|| {
            gauges.push((
                gauge,
                Seen {
                    facts: GaugeFacts::of(gauge, limits),
                    id: id(gauge),
                },
            ));
            gauges.len() - 1
        })
}

/// What a reading of the hold is called.
pub fn called(hold: &Hold, point: &Point) -> String {
    name(&hold.readings[point.position], "readings", point.position)
}

/// The same for a sentence: its id, or its time, which does not depend on the order of entry.
pub fn told(hold: &Hold, point: &Point) -> String {
    let reading = &hold.readings[point.position];
    reading
        .id
        .clone()
        .or_else(|| reading.at.map(|at| at.to_string()))
        .unwrap_or_default()
}

/// The lowest reading that cannot be, so that the hold cannot be read.
///
/// Of five readings and more, those that lie a graduation below what can be are noise where the mean of all can be, that is, lies less than half a
/// graduation below nothing, which is within the uncertainty of any gauge: of thirty readings near a perfect vacuum one lies so low by chance.
/// Of 100,000 simulated holds of an earlier form of the grid in `tests/checks/grid` 98.81 % were called right so; where one such reading voids the
/// hold, as it does of fewer than five, 98.66 %.
pub fn impossible(readings: &[Point], resolution_pa: f64) -> Option<Point> {
    let possible = readings
        .iter()
        .filter(|r| !r.impossible)
        .map(|r| r.raw_pa)
        .fold(f64::INFINITY, f64::min);
    let lowest = readings
        .iter()
        .filter(|r| r.impossible)
        .min_by(|a, b| a.raw_pa.total_cmp(&b.raw_pa))?;
    let mean = readings.iter().map(|r| r.raw_pa).sum::<f64>() / readings.len() as f64;
    let noise = readings.len() >= 5
        && mean > -0.5 * resolution_pa
        && lowest.raw_pa > possible - 2.0 * resolution_pa;
    (!noise).then_some(*lowest)
}

/// Whether the first and the last of them have a temperature.
pub fn both_temperatures(readings: &[Point]) -> bool {
    readings.len() > 1
        && readings.first().is_some_and(|r| r.temperature.is_some())
        && readings.last().is_some_and(|r| r.temperature.is_some())
}

/// How far the temperature of the gas may be from what is known of it over a hold, K: with both temperatures a little, and a share of the change, which
/// the gas may not have followed; without, more with every hour.
pub fn temperature_doubt(readings: &[Point], limits: &Limits) -> f64 {
    let (Some(first), Some(last)) = (readings.first(), readings.last()) else {
        return limits.temperature_doubt_missing.k();
    };
    match (first.temperature, last.temperature) {
        (Some(t1), Some(t2)) if readings.len() > 1 => {
            limits.temperature_doubt.k()
                + limits.temperature_doubt_share.one() * (t2.k() - t1.k()).abs()
        }
        _ => {
            let missing = limits.temperature_doubt_missing.k();
            let hours = (last.ms - first.ms) as f64 / 3.6e6;
            (missing + limits.temperature_doubt_hour.k() * (hours - 1.0).max(0.0))
                .min(limits.temperature_doubt_most.k().max(missing))
        }
    }
}

/// Each reading brought to the first one's temperature, p T1/T, where both have one. A reading without a temperature between two that have
/// one takes what lies straight between them: left as it is, it would bend the course of its neighbours.
pub fn corrected(readings: &[Point], limits: &Limits) -> Vec<Reading> {
    let t1 = readings.first().and_then(|r| r.temperature);
    let start = readings.first().map_or(0, |r| r.ms);
    let doubt = temperature_doubt(readings, limits);
    readings
        .iter()
        .enumerate()
        .map(|(i, r)| {
            let metal = r
                .temperature
                .or_else(|| between(&readings[..i], &readings[i + 1..], r.ms));
            let corrected = match (t1, metal) {
                (Some(t1), Some(t)) => r.pa * t1.k() / t.k(),
                _ => r.pa,
            };
            let k = t1.unwrap_or(limits.assumed_temperature).k();
            let moved = t1.zip(metal).map_or(0.0, |(t1, t)| (t.k() - t1.k()).abs());
            let doubt = doubt
                .max(limits.temperature_doubt.k() + limits.temperature_doubt_share.one() * moved);
            Reading {
                t: (r.ms - start) as f64 / 1e3,
                pa: r.pa,
                corrected,
                metal,
                allowance: r.pa * doubt / k,
            }
        })
        .collect()
}

fn between(before: &[Point], after: &[Point], ms: i64) -> Option<Temperature> {
    let a = before.iter().rev().find(|r| r.temperature.is_some())?;
    let b = after.iter().find(|r| r.temperature.is_some())?;
    let (ta, tb) = (a.temperature?.k(), b.temperature?.k());
    let share = if b.ms > a.ms {
        (ms - a.ms) as f64 / (b.ms - a.ms) as f64
    } else {
        0.0
    };
    Some(Temperature::new(ta + share * (tb - ta)))
}
