//! Curves through readings: a straight line, and a levelling-off p = pinf - (pinf - p0) exp(-t/tau), both by least squares.
use argmin::{
    core::{CostFunction, Error, Executor, State},
    solver::brent::{BrentOpt, BrentRoot},
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
    Some(Line {
        intercept,
        slope,
        rss,
    })
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
    let best = (0..=GRID)
        .map(|i| low + step * f64::from(i))
        .min_by(|a, b| problem.rss(*a).total_cmp(&problem.rss(*b)))?;
    let (left, right) = ((best - step).max(low), (best + step).min(high));
    let log_tau = Executor::new(Levels { points, first }, BrentOpt::new(left, right))
        .configure(|state| state.max_iters(200))
        .timer(false)
        .run()
        .ok()
        .and_then(|found| found.state.get_best_param().copied())
        .filter(|found| problem.rss(*found) <= problem.rss(best))
        .unwrap_or(best);
    let tau = settled(&problem, log_tau).exp();
    let (p_inf, minus_rise, rss) = problem.at(tau)?;
    // Back from the first reading's time to t = 0.
    Some(Levelling {
        p0: p_inf + minus_rise * (first / tau).exp(),
        p_inf,
        tau,
        rss,
    })
}

/// A sum of squares is flat at its least, so that a minimiser finds tau to half its digits; where its slope is zero tells the rest.
fn settled(problem: &Levels<'_>, log_tau: f64) -> f64 {
    let (left, right) = (log_tau - 1e-3, log_tau + 1e-3);
    if problem.slope(left).signum() == problem.slope(right).signum() {
        return log_tau;
    }
    Executor::new(Slope(problem), BrentRoot::new(left, right, 1e-13))
        .configure(|state| state.max_iters(60))
        .timer(false)
        .run()
        .ok()
        .and_then(|found| found.state.get_best_param().copied())
        .filter(|found| problem.slope(*found).abs() <= problem.slope(log_tau).abs())
        .unwrap_or(log_tau)
}

/// The least sum of squared residuals that a curve leaves which rises by exactly `rise` from the first to the last time: a levelling-off with
/// any tau of [`fit_levelling`]'s, or a straight line. Only the height is free; tau is taken from a grid. `INFINITY` where there is no time between the points.
pub fn least_rss_rising_by(points: &[(f64, f64)], rise: f64) -> f64 {
    let first = points.iter().map(|p| p.0).fold(f64::INFINITY, f64::min);
    let duration = points.iter().map(|p| p.0).fold(f64::NEG_INFINITY, f64::max) - first;
    if !(duration > 0.0 && duration.is_finite()) {
        return f64::INFINITY;
    }
    let (low, high) = ((1.0 / 30.0_f64).ln(), 3.0_f64.ln());
    let taus = (0..=GRID).map(|i| (low + (high - low) * f64::from(i) / f64::from(GRID)).exp());
    let rss = |shape: &dyn Fn(f64) -> f64| {
        let left = |(t, p): &(f64, f64)| p - rise * shape((t - first) / duration);
        let mean = points.iter().map(left).sum::<f64>() / points.len() as f64;
        points.iter().map(|p| (left(p) - mean).powi(2)).sum::<f64>()
    };
    let levelling = taus.map(|tau| rss(&|x| (1.0 - (-x / tau).exp()) / (1.0 - (-1.0 / tau).exp())));
    levelling.fold(rss(&|x| x), f64::min)
}

const GRID: u32 = 40;

struct Levels<'a> {
    points: &'a [(f64, f64)],
    first: f64,
}

impl Levels<'_> {
    /// p_inf, -(p_inf - p at the first reading), rss for this tau.
    fn at(&self, tau: f64) -> Option<(f64, f64, f64)> {
        linear(
            self.points
                .iter()
                .map(|(t, p)| ((-(t - self.first) / tau).exp(), *p)),
        )
    }

    fn rss(&self, log_tau: f64) -> f64 {
        self.at(log_tau.exp()).map_or(f64::INFINITY, |fit| fit.2)
    }

    /// The slope of the sum of squares with tau, less a factor that has one sign: with the other two at their best it is the sum of
    /// residual times t exp(-t/tau).
    fn slope(&self, log_tau: f64) -> f64 {
        let tau = log_tau.exp();
        let Some((a, b, _)) = self.at(tau) else {
            return 0.0;
        };
        self.points
            .iter()
            .map(|(t, p)| {
                let (t, e) = (t - self.first, (-(t - self.first) / tau).exp());
                (p - a - b * e) * t * e
            })
            .sum()
    }
}

struct Slope<'a>(&'a Levels<'a>);

impl CostFunction for Slope<'_> {
    type Param = f64;
    type Output = f64;
    fn cost(&self, log_tau: &f64) -> Result<f64, Error> {
        Ok(self.0.slope(*log_tau))
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
    let (sx, sy) = points
        .clone()
        .fold((0.0, 0.0), |(sx, sy), (x, y)| (sx + x, sy + y));
    let (mx, my) = (sx / count, sy / count);
    let (sxx, sxy) = points.clone().fold((0.0, 0.0), |(sxx, sxy), (x, y)| {
        (sxx + (x - mx).powi(2), sxy + (x - mx) * (y - my))
    });
    if !(sxx > 0.0 && sxx.is_finite() && sxy.is_finite()) {
        return None;
    }
    let b = sxy / sxx;
    let a = my - b * mx;
    let rss = points.map(|(x, y)| (y - a - b * x).powi(2)).sum();
    Some((a, b, rss))
}
