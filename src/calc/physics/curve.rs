//! Curves through readings: a straight line, and a levelling-off p = pinf - (pinf - p0) exp(-t/tau), both by least squares.
use argmin::{
    core::{CostFunction, Error, Executor, State},
    solver::brent::BrentOpt,
};

/// A straight line, value = intercept + slope t.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Value at t = 0.
    pub intercept: f64,
    /// Value per second.
    pub slope: f64,
    /// Sum of squared residuals.
    pub rss: f64,
}

/// A levelling-off, value = p_inf - (p_inf - p0) exp(-t/tau).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Levelling {
    /// Value at t = 0.
    pub p0: f64,
    /// Value that it approaches.
    pub p_inf: f64,
    /// Time constant, s.
    pub tau: f64,
    /// Sum of squared residuals.
    pub rss: f64,
}

impl Line {
    /// Value at t.
    pub fn at(&self, t: f64) -> f64 {
        self.intercept + self.slope * t
    }
}

impl Levelling {
    /// Value at t.
    pub fn at(&self, t: f64) -> f64 {
        self.p_inf - (self.p_inf - self.p0) * (-t / self.tau).exp()
    }
}

/// The line through points (t in s, value). `None` for fewer than two points or no time between them.
pub fn fit_line(points: &[(f64, f64)]) -> Option<Line> {
    let (intercept, slope, rss) = linear(points.iter().copied())?;
    Some(Line { intercept, slope, rss })
}

/// The levelling-off through points (t in s, value). `None` for fewer than four points or no time between them.
///
/// For a fixed tau the fit is linear in exp(-t/tau); tau is sought between duration/30 and 3 x duration, first on a grid, since the
/// sum of squares may have more than one valley, then by Brent's method in the best valley.
pub fn fit_levelling(points: &[(f64, f64)]) -> Option<Levelling> {
    if points.len() < 4 {
        return None;
    }
    let first = points.iter().map(|p| p.0).fold(f64::INFINITY, f64::min);
    let last = points.iter().map(|p| p.0).fold(f64::NEG_INFINITY, f64::max);
    let duration = last - first;
    if !(duration > 0.0 && duration.is_finite()) {
        return None;
    }
    let problem = Levels { points, first };
    let (low, high) = ((duration / 30.0).ln(), (3.0 * duration).ln());
    let step = (high - low) / f64::from(GRID);
    let best = (0..=GRID).map(|i| low + step * f64::from(i)).min_by(|a, b| problem.rss(*a).total_cmp(&problem.rss(*b)))?;
    let (left, right) = ((best - step).max(low), (best + step).min(high));
    let log_tau = Executor::new(Levels { points, first }, BrentOpt::new(left, right))
        .configure(|state| state.max_iters(200))
        .timer(false)
        .run()
        .ok()
        .and_then(|found| found.state.get_best_param().copied())
        .filter(|found| problem.rss(*found) <= problem.rss(best))
        .unwrap_or(best);
    let tau = log_tau.exp();
    let (p_inf, minus_rise, rss) = problem.at(tau)?;
    // Back from the first reading's time to t = 0.
    Some(Levelling { p0: p_inf + minus_rise * (first / tau).exp(), p_inf, tau, rss })
}

const GRID: u32 = 40;

struct Levels<'a> {
    points: &'a [(f64, f64)],
    first: f64,
}

impl Levels<'_> {
    /// p_inf, -(p_inf - p at the first reading), rss for this tau.
    fn at(&self, tau: f64) -> Option<(f64, f64, f64)> {
        linear(self.points.iter().map(|(t, p)| ((-(t - self.first) / tau).exp(), *p)))
    }

    fn rss(&self, log_tau: f64) -> f64 {
        self.at(log_tau.exp()).map_or(f64::INFINITY, |fit| fit.2)
    }
}

impl CostFunction for Levels<'_> {
    type Param = f64;
    type Output = f64;
    fn cost(&self, log_tau: &f64) -> Result<f64, Error> {
        Ok(self.rss(*log_tau))
    }
}

/// Least squares of y = a + b x: a, b and the sum of squared residuals. Sums are taken about the means, so that large offsets cost no digits.
fn linear(points: impl Iterator<Item = (f64, f64)> + Clone) -> Option<(f64, f64, f64)> {
    let n = points.clone().count();
    if n < 2 {
        return None;
    }
    let count = n as f64;
    let (sx, sy) = points.clone().fold((0.0, 0.0), |(sx, sy), (x, y)| (sx + x, sy + y));
    let (mx, my) = (sx / count, sy / count);
    let (sxx, sxy) = points.clone().fold((0.0, 0.0), |(sxx, sxy), (x, y)| (sxx + (x - mx).powi(2), sxy + (x - mx) * (y - my)));
    if !(sxx > 0.0 && sxx.is_finite() && sxy.is_finite()) {
        return None;
    }
    let b = sxy / sxx;
    let a = my - b * mx;
    let rss = points.map(|(x, y)| (y - a - b * x).powi(2)).sum();
    Some((a, b, rss))
}
