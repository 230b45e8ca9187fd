//! The course of a hold: what its readings, brought to one temperature, say of stillness, of a straight rise, of levelling off, of water. Of a
//! pressure hold the course is turned over, so that a leak rises in either.
//!
//! The decisions were chosen on the grid of simulated holds in `tests/checks/grid`, of which the truth is known; see each constant and function for what it
//! is for, and the grid for what they make of it.
use super::{
    explain::Curve,
    stillness::{self, falls_back},
};
use crate::{
    physics::{
        curve::{Levelling, Line, fit_levelling, fit_line, least_rss_rising_by},
        leak_and_gas::{self, Bounds, LeakAndGas},
        water,
    },
    units::Temperature,
};

/// A reading in Pa absolute.
#[derive(Debug, Clone, Copy)]
pub struct Reading {
    /// Seconds from the first one.
    pub t: f64,
    /// As read, Pa.
    pub pa: f64,
    /// Brought to the first reading's temperature, Pa.
    pub corrected: f64,
    /// The metal's temperature then.
    pub metal: Option<Temperature>,
    /// What the doubt of the temperature makes of it, Pa.
    pub allowance: f64,
}

/// By how much better than a straight line, in chi-square, a levelling curve must fit for the change to be read off it.
const CURVE_BETTER_BY: f64 = 4.0;
/// The same for it to be called levelling where nothing else speaks for it: a straight rise that noise bends is taken for water half as often.
const SHAPE_BETTER_BY: f64 = 6.0;
/// The same for readings that are brought to one temperature as water is, so that noise of the temperature counts too.
const WATER_BETTER_BY: f64 = 9.0;
/// How near to water's saturation pressure such a curve must come to rest.
const WATER_WITHIN: f64 = 0.1;
/// By how much more a kelvin makes of water's pressure than of a gas's: L/(R T), 44 kJ/mol at 295 K (CRC Handbook, from memory).
const WATER_STEEPER: f64 = 18.0;
/// From how many readings on curves are told apart.
const CURVES_FROM: usize = 5;

/// The rise that a passed hold must not hide: this many graduations, and this share of what the temperature's doubt makes of the pressure
/// (nearly all of it, since a drift that nobody saw may have hidden the rest).
const MUST_SHOW: (f64, f64) = (1.6, 1.0);
/// The fall that a passed hold must not hide, in bounds: a pump that still runs moves it by more.
const MUST_NOT_FALL: f64 = 1.6;
/// How much farther, in chi-square, such a fall must lie from the readings than the curve that fits them best: of fewer than five readings, where one
/// graduation down is no fall yet, and of more.
const FALL_WORSE_BY: (f64, f64) = (1.2, 2.2);
/// How much farther, in chi-square, such a rise must lie from the readings than the curve that fits them best.
const RISE_WORSE_BY: f64 = 1.5;
/// And by how much it may be nearer to them than stillness is: few readings of a still circuit lie askew by as much. Many readings tell
/// the two apart so well that this alone decides.
const STILL_WORSE_BY: f64 = 3.6;
/// By how much worse than the best curve stillness must fit for a fall to be more than noise, and for a rise to be a leak: three standard deviations.
const MOVED_BEYOND: f64 = 9.0;
/// By how much worse a levelling curve with a leak beneath it must fit, for the leak to be ruled out; and one without, for the leak to be there.
const LEAK_BENEATH_WORSE_BY: f64 = 6.0;
/// The same for a leak that is claimed beneath one.
const LEAK_BENEATH_CLAIMED: f64 = 9.0;
/// How far, in chi-square, the bounds of a leak lie from the best: two standard deviations.
const BOUNDS_AT: f64 = 4.0;
/// Of fewer readings than these one graduation of a coarse gauge is neither stillness nor a leak.
const FEW: usize = CURVES_FROM;

/// The course of a hold.
pub struct Course<'a> {
    readings: &'a [Reading],
    points: Vec<(f64, f64)>,
    duration: f64,
    resolution_pa: f64,
    variance: f64,
    level: Option<Levelling>,
    /// The straight line through the corrected readings.
    pub line: Option<Line>,
    /// From first to last: of the curve that fits better, since noise moves it less; of the readings themselves where they are fewer than five.
    pub change: f64,
    /// The curve that the change was read off.
    pub curve: Option<Curve>,
}

impl<'a> Course<'a> {
    /// Through readings in time order, of a vacuum. `None` for none.
    pub fn of_vacuum(readings: &'a [Reading], resolution_pa: f64) -> Option<Self> {
        Self::of(readings, resolution_pa, 1.0)
    }

    /// Through readings in time order, of a pressure: turned over, so that what it loses rises. `None` for none.
    pub fn of_pressure(readings: &'a [Reading], resolution_pa: f64) -> Option<Self> {
        Self::of(readings, resolution_pa, -1.0)
    }

    fn of(readings: &'a [Reading], resolution_pa: f64, turned: f64) -> Option<Self> {
        let (first, last) = (readings.first()?, readings.last()?);
        let points: Vec<(f64, f64)> = readings
            .iter()
            .map(|r| (r.t, turned * r.corrected))
            .collect();
        let metal = if first.metal.is_some() && last.metal.is_some() {
            first.metal.map(|t| t.k())
        } else {
            None
        };
        let mut course = Self {
            readings,
            duration: last.t - first.t,
            resolution_pa,
            variance: stillness::variance(resolution_pa, first.pa.max(last.pa), metal),
            level: if points.len() >= CURVES_FROM {
                fit_levelling(&points)
            } else {
                None
            },
            line: fit_line(&points),
            points,
            change: turned * (last.corrected - first.corrected),
            curve: None,
        };
        let duration = course.duration;
        if let Some(level) = course.better_level(CURVE_BETTER_BY) {
            course.change = level.at(duration) - level.at(0.0);
            course.curve = Some(Curve::Levelling(level.p_inf, level.tau));
        } else if let (Some(line), true) = (course.line, readings.len() >= CURVES_FROM) {
            course.change = line.at(duration) - line.at(0.0);
            course.curve = Some(Curve::Line(line.slope));
        }
        Some(course)
    }

    /// The most that it may be said to have risen by, before the bound: the greatest of what the curve, the straight line and the ends say. What a hold rules
    /// out rests on this.
    pub fn rises_at_most(&self) -> f64 {
        let line = self.line.map_or(0.0, |line| line.slope * self.duration);
        let ends = self
            .points
            .last()
            .zip(self.points.first())
            .map_or(0.0, |(last, first)| last.1 - first.1);
        self.change.max(line).max(ends).max(0.0)
    }

    /// Some of it falls (of a pressure hold rises) by more than noise and the temperature can do.
    pub fn falls_back(&self) -> bool {
        let values: Vec<f64> = self.points.iter().map(|p| p.1).collect();
        let allowance: Vec<f64> = self.readings.iter().map(|r| r.allowance).collect();
        falls_back(&values, &allowance, self.resolution_pa, self.variance)
    }

    /// Whether water makes it fall: it stood at water's saturation pressure, with what gas was there before, when it was highest, and went down with the metal
    /// from there on as water does.
    pub fn falls_back_as_water(&self) -> bool {
        let Some(psat) = self
            .readings
            .iter()
            .map(saturation)
            .collect::<Option<Vec<f64>>>()
        else {
            return false;
        };
        let Some(top) =
            (0..psat.len()).max_by(|a, b| self.readings[*a].pa.total_cmp(&self.readings[*b].pa))
        else {
            return false;
        };
        let gas = self.readings[0].pa.min(WATER_WITHIN * psat[top]);
        let stands = self.readings[top].pa >= (1.0 - 2.0 * WATER_WITHIN) * psat[top]
            && self.readings[top].pa <= (1.0 + WATER_WITHIN) * psat[top] + gas;
        let as_water: Vec<f64> = self
            .readings
            .iter()
            .zip(&psat)
            .map(|(r, p)| r.pa * psat[0] / p)
            .collect();
        // Water's pressure goes with the temperature about eighteen times as steeply as a gas's.
        let allowance: Vec<f64> = self
            .readings
            .iter()
            .map(|r| WATER_STEEPER * r.allowance)
            .collect();
        stands
            && psat.last() < psat.iter().max_by(|a, b| a.total_cmp(b))
            && !falls_back(&as_water, &allowance, self.resolution_pa, self.variance)
    }

    /// How far the first reading lies from the straight line through the others, in graduations beyond what the temperature may do.
    pub fn first_is_off_by(&self) -> f64 {
        let Some(line) = self.points.get(1..).and_then(fit_line) else {
            return 0.0;
        };
        let allowed = self.readings[0].allowance.max(self.readings[1].allowance);
        ((self.points[0].1 - line.at(self.points[0].0)).abs() - allowed) / self.resolution_pa
    }

    /// The first reading, Pa.
    pub fn first_pa(&self) -> f64 {
        self.readings[0].pa
    }

    /// Enough readings to tell curves apart.
    pub fn has_shape(&self) -> bool {
        self.readings.len() >= CURVES_FROM
    }

    /// The levelling curve where it is better than the line, rises, and comes to rest within the hold. One that comes to rest where water does (`psat`, where
    /// it is known, so `near` it), or below `low`, where none stands, needs less to be believed.
    pub fn levels_off(&self, psat: Option<f64>, near: f64, low: f64) -> Option<Levelling> {
        let likely = |level: &Levelling| {
            level.p_inf < low || psat.is_some_and(|psat| (level.p_inf - psat).abs() <= near)
        };
        let level = self
            .better_level(CURVE_BETTER_BY)
            .filter(|level| likely(level) || self.better_level(SHAPE_BETTER_BY).is_some())?;
        (level.p_inf > level.p0 && level.tau < self.duration).then_some(level)
    }

    /// Whether a fall beyond the bound is one: of fewer than five readings always, of more only where it is more than noise.
    pub fn falls(&self) -> bool {
        !self.has_shape()
            || self.rss_rising_by(0.0) - self.best_rss() > MOVED_BEYOND * self.variance
    }

    /// Whether the readings rule out a rise, or a fall, that nobody would call still. A dial that is read twice and has moved by one graduation does
    /// not: the pressure may have risen by nearly two.
    pub fn shows_stillness(&self, bound: f64) -> bool {
        let much = self.must_show(bound);
        let best = self.best_rss();
        // The temperature alone may have made half of what its doubt allows.
        let unseen = 0.5 * (bound - self.resolution_pa);
        let still = self
            .rss_rising_by(0.0)
            .min(self.rss_rising_by(self.change.clamp(-unseen, unseen)));
        let ruled_out = |rise: f64| {
            let with_rise = self.rss_rising_by(rise);
            with_rise - best > RISE_WORSE_BY * self.variance
                && with_rise - still > -STILL_WORSE_BY * self.variance
        };
        let fall = MUST_NOT_FALL * bound;
        let worse = if self.has_shape() {
            FALL_WORSE_BY.1
        } else {
            FALL_WORSE_BY.0
        };
        let no_fall =
            || self.change > -fall && self.rss_rising_by(-fall) - best > worse * self.variance;
        self.change < much && !self.one_graduation_of_few(bound) && ruled_out(much) && no_fall()
    }

    /// Fewer than five readings of a gauge that is coarser than the doubt of the temperature, and they end a graduation or more up; of two, or down.
    fn one_graduation_of_few(&self, bound: f64) -> bool {
        let moved = self
            .points
            .last()
            .zip(self.points.first())
            .map_or(0.0, |(last, first)| last.1 - first.1);
        let moved = if self.points.len() == 2 {
            moved.abs()
        } else {
            moved
        };
        self.points.len() < FEW
            && bound < 2.0 * self.resolution_pa
            && moved > (1.0 - 1e-6) * self.resolution_pa - (bound - self.resolution_pa)
    }

    /// Whether no still circuit can have been read so: one whose temperature made all of the rise that its doubt allows fits the readings worse than
    /// the best curve by three standard deviations. `allowed` is what that doubt makes, Pa.
    pub fn moved_beyond_doubt(&self, allowed: f64) -> bool {
        self.change > allowed
            && self.rss_rising_by(allowed) - self.best_rss() > MOVED_BEYOND * self.variance
    }

    /// Whether gas that comes to rest does not explain the rise by itself, and a leak beneath it does.
    pub fn leaks_beneath(&self, level: &Levelling) -> bool {
        // By more than the gauge and the temperature may make of the last pressure.
        let least =
            MUST_SHOW.0 * (self.resolution_pa + self.readings.last().map_or(0.0, |r| r.allowance));
        let worse = |both: &LeakAndGas| {
            both.leak * self.duration > least
                && level.rss - both.rss > LEAK_BENEATH_CLAIMED * self.variance
        };
        let course = |both: &LeakAndGas, t: f64| {
            both.start + both.leak * t + both.gas * -(-t / both.tau).exp_m1()
        };
        leak_and_gas::fit(&self.points)
            .is_some_and(|both| worse(&both) && self.fits(|t| course(&both, t), 4.0))
    }

    /// Whether the readings may have been read of such a curve, with so many constants, by the noise of the gauge and what the temperature may do.
    fn fits(&self, curve: impl Fn(f64) -> f64, constants: f64) -> bool {
        let off = self
            .points
            .iter()
            .zip(self.readings)
            .map(|((t, p), r)| ((p - curve(*t)).abs() - r.allowance).max(0.0).powi(2));
        off.sum::<f64>()
            <= self.variance * stillness::noise_reaches(self.points.len() as f64 - constants)
    }

    /// Between which slopes a leak lies, Pa/s, within two standard deviations: beside gas that comes to rest where `gas`, else all of it the leak's;
    /// and what the temperature may have made of it, `allowed` Pa. `None` of too few readings.
    pub fn leak_bounds(&self, gas: bool, allowed: f64) -> Option<Bounds> {
        if self.points.len() < leak_and_gas::FROM {
            return None;
        }
        let drift = allowed / self.duration;
        let bounds = if gas {
            let best = leak_and_gas::fit(&self.points)?.rss;
            leak_and_gas::leak_bounds(&self.points, best + BOUNDS_AT * self.variance)?
        } else {
            let line = self.line?;
            let mean = self.points.iter().map(|p| p.0).sum::<f64>() / self.points.len() as f64;
            let half = (BOUNDS_AT * self.variance
                / self
                    .points
                    .iter()
                    .map(|p| (p.0 - mean).powi(2))
                    .sum::<f64>())
            .sqrt();
            Bounds {
                low: line.slope - half,
                high: line.slope + half,
            }
        };
        Some(Bounds {
            low: (bounds.low - drift).max(0.0),
            high: (bounds.high + drift).max(0.0),
        })
    }

    /// Whether a levelling curve leaves no room for such a rise, of a leak, beneath it.
    pub fn rules_out_leak_beneath(&self, level: &Levelling, bound: f64) -> bool {
        if !self.fits(|t| level.at(t), 3.0) {
            return false;
        }
        let slope = self.must_show(bound) / self.duration;
        let rest: Vec<(f64, f64)> = self
            .points
            .iter()
            .map(|(t, p)| (*t, p - slope * t))
            .collect();
        fit_levelling(&rest).is_some_and(|with_leak| {
            with_leak.rss - level.rss > LEAK_BENEATH_WORSE_BY * self.variance
        })
    }

    /// Whether water holds the pressure: it stands at water's saturation pressure at the metal's temperature, within that share or a
    /// graduation, and follows the metal when that warms or cools. Gas would not; so a rise with the warmth is told from a leak, and a fall with the cold
    /// from a pump that was still running.
    pub fn is_held_by_water(&self, bound: f64, within: f64) -> bool {
        self.stands_on_water(bound, within)
            || (self.change < -bound && self.falls_with_water(within))
    }

    /// The later half (all of fewer than five) stands on water, each reading at its own temperature, and moves only as water does. A pressure
    /// that stood still is judged by the readings that have a temperature, if only the last one; one that moved needs each, for only so can its way be
    /// water's. (Of the grid's 3,000 holds that have the last temperature alone, 32 that water had moved by less than 1.6 bounds are no longer called held,
    /// and 3 tight ones that stand there by chance are called wet.)
    fn stands_on_water(&self, bound: f64, within: f64) -> bool {
        let from = if self.has_shape() {
            self.readings.len() / 2
        } else {
            0
        };
        let later = &self.readings[from..];
        let over: Vec<(f64, f64, f64)> = later
            .iter()
            .filter_map(|r| saturation(r).map(|psat| (r.t, r.pa - psat, psat)))
            .collect();
        let (Some(first), Some(last), Some(_)) =
            (over.first(), over.last(), later.last().and_then(saturation))
        else {
            return false;
        };
        if over.len() < later.len() && self.change.abs() > bound {
            return false;
        }
        let near = over
            .iter()
            .all(|(_, off, psat)| off.abs() <= self.resolution_pa.max(within * psat));
        let off: Vec<(f64, f64)> = over.iter().map(|(t, off, _)| (*t, *off)).collect();
        let moves = fit_line(&off).map_or(0.0, |line| (line.slope * (last.0 - first.0)).abs());
        near && moves <= self.resolution_pa.max(0.4 * within * last.2)
    }

    /// All of it lies between what water has at the warmest and at the coldest reading, while the metal cools.
    fn falls_with_water(&self, within: f64) -> bool {
        let Some(psat) = self
            .readings
            .iter()
            .map(saturation)
            .collect::<Option<Vec<f64>>>()
        else {
            return false;
        };
        let low = psat.iter().copied().fold(f64::INFINITY, f64::min) * (1.0 - within)
            - self.resolution_pa;
        let high = psat.iter().copied().fold(0.0, f64::max) * (1.0 + within) + self.resolution_pa;
        psat.last() < psat.first() && self.readings.iter().all(|r| r.pa >= low && r.pa <= high)
    }

    /// The readings brought to the first temperature as water's pressure is, not as a gas: the curve that levels off at water's saturation
    /// pressure and fits better than a straight rise of gas. It sees water whose level moves with the metal.
    pub fn levels_on_water(&self) -> Option<Levelling> {
        let psat: Vec<f64> = self
            .readings
            .iter()
            .map(saturation)
            .collect::<Option<_>>()?;
        let first = *psat.first()?;
        if !self.has_shape() {
            return None;
        }
        let as_water: Vec<(f64, f64)> = self
            .readings
            .iter()
            .zip(&psat)
            .map(|(r, p)| (r.t, r.pa * first / p))
            .collect();
        let level = fit_levelling(&as_water)?;
        let better = self.line?.rss - level.rss > WATER_BETTER_BY * self.variance;
        let there = (level.p_inf - first).abs() <= self.resolution_pa.max(WATER_WITHIN * first);
        (better && there && level.p_inf > level.p0 && level.tau < self.duration).then_some(level)
    }

    fn better_level(&self, by: f64) -> Option<Levelling> {
        let (line, level) = (self.line?, self.level?);
        (self.variance > 0.0 && line.rss - level.rss > by * self.variance).then_some(level)
    }

    fn best_rss(&self) -> f64 {
        let rss = |rss: Option<f64>| rss.unwrap_or(f64::INFINITY);
        rss(self.line.map(|l| l.rss)).min(rss(self.level.map(|l| l.rss)))
    }

    fn rss_rising_by(&self, rise: f64) -> f64 {
        least_rss_rising_by(&self.points, rise)
    }

    fn must_show(&self, bound: f64) -> f64 {
        MUST_SHOW.0 * self.resolution_pa + MUST_SHOW.1 * (bound - self.resolution_pa)
    }
}

/// Water's saturation pressure at the metal's temperature, Pa.
fn saturation(reading: &Reading) -> Option<f64> {
    Some(water::saturation_pressure(reading.metal?)?.pa())
}
