//! A leak and gas that comes to rest, told apart: p = a + b t + c (1 - exp(-t/tau)), by least squares, with bounds on b.
//!
//! For a fixed tau it is linear in a, b and c; tau is sought between duration/30 and the duration itself, beyond which the exponential is too
//! nearly a straight line to be told from the leak.
use super::curve::fit_line;
use argmin::{
    core::{CostFunction, Error, Executor, State},
    solver::brent::BrentOpt,
};

/// From how many readings on the two are told apart: four constants, and two to spare.
pub const FROM: usize = 6;

/// A leak and gas that comes to rest, value = start + leak t + gas (1 - exp(-t/tau)), with gas >= 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeakAndGas {
    /// Value at the first reading.
    pub start: f64,
    /// Value per second.
    pub leak: f64,
    /// How far the gas rises in the end; never below 0.
    pub gas: f64,
    /// Time constant of the gas, s.
    pub tau: f64,
    /// Sum of squared residuals.
    pub rss: f64,
}

/// Between which values the leak lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// At least, per second.
    pub low: f64,
    /// At most, per second.
    pub high: f64,
}

/// The fit through points (t in s, value). `None` for fewer than [`FROM`] points or no time between them.
pub fn fit(points: &[(f64, f64)]) -> Option<LeakAndGas> {
    let problem = Problem::of(points)?;
    let line = fit_line(points)?;
    let straight = LeakAndGas {
        start: line.at(problem.first),
        leak: line.slope,
        gas: 0.0,
        tau: problem.duration,
        rss: line.rss,
    };
    let best = problem
        .taus()
        .into_iter()
        .min_by(|a, b| problem.rss(*a).total_cmp(&problem.rss(*b)))?;
    let (low, high) = problem.range();
    let step = (high - low) / f64::from(GRID);
    let log_tau = Executor::new(
        &problem,
        BrentOpt::new((best - step).max(low), (best + step).min(high)),
    )
    .configure(|state| state.max_iters(200))
    .timer(false)
    .run()
    .ok()
    .and_then(|found| found.state.get_best_param().copied())
    .filter(|found| problem.rss(*found) <= problem.rss(best))
    .unwrap_or(best);
    let found = problem.at(log_tau.exp()).filter(|at| at.gas > 0.0);
    let both = found.map(|at| LeakAndGas {
        start: at.start,
        leak: at.leak,
        gas: at.gas,
        tau: log_tau.exp(),
        rss: at.rss,
    });
    Some(
        both.filter(|both| both.rss < straight.rss)
            .unwrap_or(straight),
    )
}

/// Between which values the leak lies, so that the sum of squares, with all else at its best, is at most `rss`; gas only ever comes in.
/// `None` where no such curve leaves so little, for fewer than [`FROM`] points, or no time between them.
pub fn leak_bounds(points: &[(f64, f64)], rss: f64) -> Option<Bounds> {
    let problem = Problem::of(points)?;
    let line = fit_line(points)?;
    let mean = points.iter().map(|p| p.0).sum::<f64>() / points.len() as f64;
    let spread: f64 = points.iter().map(|p| (p.0 - mean).powi(2)).sum();
    let half = (rss - line.rss).max(0.0).sqrt() / spread.sqrt();
    let straight = (line.rss <= rss).then_some((line.slope - half, line.slope + half));
    let best = fit(points)?.tau.ln();
    let low = problem
        .least_end(best, rss, -1.0)
        .into_iter()
        .chain(straight.map(|s| s.0))
        .fold(f64::INFINITY, f64::min);
    let high = problem
        .least_end(best, rss, 1.0)
        .map(|end| -end)
        .into_iter()
        .chain(straight.map(|s| s.1))
        .fold(f64::NEG_INFINITY, f64::max);
    (low <= high).then_some(Bounds { low, high })
}

const GRID: u32 = 60;

struct Problem<'a> {
    points: &'a [(f64, f64)],
    first: f64,
    duration: f64,
}

/// The best a, b and c of one tau.
struct At {
    start: f64,
    leak: f64,
    gas: f64,
    rss: f64,
    /// The square of b's doubt for a variance of 1.
    leak_spread: f64,
    /// How c has to follow b.
    gas_by_leak: f64,
}

impl<'a> Problem<'a> {
    fn of(points: &'a [(f64, f64)]) -> Option<Self> {
        let first = points.iter().map(|p| p.0).fold(f64::INFINITY, f64::min);
        let duration = points.iter().map(|p| p.0).fold(f64::NEG_INFINITY, f64::max) - first;
        (points.len() >= FROM && duration > 0.0 && duration.is_finite()).then_some(Self {
            points,
            first,
            duration,
        })
    }

    fn range(&self) -> (f64, f64) {
        ((self.duration / 30.0).ln(), self.duration.ln())
    }

    fn taus(&self) -> Vec<f64> {
        let (low, high) = self.range();
        (0..=GRID)
            .map(|i| low + (high - low) * f64::from(i) / f64::from(GRID))
            .collect()
    }

    /// The least b that leaves this sum of squares, over all taus (`way` -1), or less the greatest (`way` 1): from a grid and the best tau on, by halves.
    /// Where there would have to be less than no gas there is none: the straight line counts then.
    fn least_end(&self, best: f64, rss: f64, way: f64) -> Option<f64> {
        let end = |log_tau: f64| {
            let at = self.at(log_tau.exp()).filter(|at| at.rss <= rss)?;
            let half = way * ((rss - at.rss) * at.leak_spread).sqrt();
            (at.gas + at.gas_by_leak * half >= 0.0).then_some(-way * (at.leak + half))
        };
        let (low, high) = self.range();
        let start = self
            .taus()
            .into_iter()
            .chain([best])
            .filter_map(|log_tau| Some((end(log_tau)?, log_tau)));
        let (mut least, mut at) = start.min_by(|a, b| a.0.total_cmp(&b.0))?;
        let mut step = (high - low) / f64::from(GRID);
        while step > 1e-7 {
            let near = [at - step, at + step]
                .into_iter()
                .filter(|x| (low..=high).contains(x))
                .filter_map(|x| Some((end(x)?, x)));
            match near
                .min_by(|a, b| a.0.total_cmp(&b.0))
                .filter(|near| near.0 < least)
            {
                Some(near) => (least, at) = near,
                None => step *= 0.5,
            }
        }
        Some(least)
    }

    fn rss(&self, log_tau: f64) -> f64 {
        self.at(log_tau.exp())
            .filter(|at| at.gas >= 0.0)
            .map_or(f64::INFINITY, |at| at.rss)
    }

    /// Least squares about the means, so that large offsets cost no digits.
    fn at(&self, tau: f64) -> Option<At> {
        let n = self.points.len() as f64;
        let row = |(t, p): &(f64, f64)| {
            let x = t - self.first;
            (x, -(-x / tau).exp_m1(), *p)
        };
        let sum = self
            .points
            .iter()
            .map(row)
            .fold((0.0, 0.0, 0.0), |s, r| (s.0 + r.0, s.1 + r.1, s.2 + r.2));
        let mean = (sum.0 / n, sum.1 / n, sum.2 / n);
        let (mut xx, mut xe, mut ee, mut xy, mut ey) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for (x, e, y) in self.points.iter().map(row) {
            let (x, e, y) = (x - mean.0, e - mean.1, y - mean.2);
            (xx, xe, ee, xy, ey) = (xx + x * x, xe + x * e, ee + e * e, xy + x * y, ey + e * y);
        }
        let determinant = xx * ee - xe * xe;
        if !(determinant > 1e-12 * xx * ee && determinant.is_finite()) {
            return None;
        }
        let (leak, gas) = (
            (xy * ee - ey * xe) / determinant,
            (ey * xx - xy * xe) / determinant,
        );
        let rss = self
            .points
            .iter()
            .map(row)
            .map(|(x, e, y)| (y - mean.2 - leak * (x - mean.0) - gas * (e - mean.1)).powi(2))
            .sum();
        Some(At {
            start: mean.2 - leak * mean.0 - gas * mean.1,
            leak,
            gas,
            rss,
            leak_spread: ee / determinant,
            gas_by_leak: -xe / ee,
        })
    }
}

impl CostFunction for &Problem<'_> {
    type Param = f64;
    type Output = f64;
    fn cost(&self, log_tau: &f64) -> Result<f64, Error> {
        // A minimiser that works with differences has no use for the infinite.
        Ok(self.rss(*log_tau).min(1e300))
    }
}
