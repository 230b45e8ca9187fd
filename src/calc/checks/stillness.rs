//! What noise of the gauge can do, and what it cannot: a fall where nothing falls.
//!
//! The noise is the gauge's own, rounding to a graduation and a quarter of one in reading it, and the thermometer's. It is never taken from how ill a
//! curve fits: one early reading, taken while it was pumped, would then excuse all the others.

/// The standard deviation of a thermometer's reading, with the contact it has, K (practice).
const THERMOMETER_K: f64 = 0.15;

/// How many graduations a pressure may fall back by and still be misread: two readings of a pressure that stands still lie one apart at most where
/// a needle is misread by no more than half a graduation, and two are a fall.
const FALLS_BY: f64 = 1.6;
/// How far, in standard deviations, a sum of squares may lie above what noise makes it.
const NOISE_SIGMAS: f64 = 3.7;

/// The variance of one reading, Pa²: of rounding to a graduation and of a quarter of one in reading it; and of the thermometer where its reading
/// corrects this one.
pub fn variance(resolution_pa: f64, pa: f64, metal_k: Option<f64>) -> f64 {
    let own = resolution_pa * resolution_pa / 12.0 + (resolution_pa / 4.0).powi(2);
    own + metal_k.map_or(0.0, |k| (pa * THERMOMETER_K / k).powi(2))
}

/// Whether values that never fall (leak, water, gas out of oil: all only come in) cannot have been read so. `allowance` is what the temperature may
/// do to each.
pub fn falls_back(values: &[f64], allowance: &[f64], resolution_pa: f64, variance: f64) -> bool {
    let mut highest: Option<(f64, f64)> = None;
    for (value, allowed) in values.iter().zip(allowance) {
        // The highest before it, less what the temperature may have made of that.
        if highest.is_some_and(|(top, top_allowed)| {
            top - value > FALLS_BY * resolution_pa + top_allowed.max(*allowed)
        }) {
            return true;
        }
        if highest.is_none_or(|(top, _)| *value > top) {
            highest = Some((*value, *allowed));
        }
    }
    let freedom = values.len() as f64 - 1.0;
    if freedom < 2.0 || variance <= 0.0 {
        return false;
    }
    let fit = never_falling(values);
    let rss: f64 = values
        .iter()
        .zip(&fit)
        .zip(allowance)
        .map(|((v, f), a)| ((v - f).abs() - a).max(0.0).powi(2))
        .sum();
    rss / variance > noise_reaches(freedom)
}

/// How far, in chi-square, noise alone takes readings from their true course, of so many degrees of freedom; one in ten thousand goes farther.
pub fn noise_reaches(freedom: f64) -> f64 {
    quantile(freedom.max(1.0), NOISE_SIGMAS)
}

/// The values nearest to these, by least squares, that never fall: neighbours that do are pooled (Ayer and others, 1955, Ann. Math. Stat. 26, 641).
pub fn never_falling(values: &[f64]) -> Vec<f64> {
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for value in values {
        pools.push((*value, 1));
        while let [.., (a, n), (b, m)] = pools[..]
            && a > b
        {
            pools.truncate(pools.len() - 2);
            pools.push(((a * n as f64 + b * m as f64) / (n + m) as f64, n + m));
        }
    }
    pools
        .into_iter()
        .flat_map(|(mean, n)| std::iter::repeat_n(mean, n))
        .collect()
}

/// The chi-square of so many degrees of freedom that lies so many standard deviations of the normal distribution up (Wilson and Hilferty, 1931).
fn quantile(freedom: f64, sigmas: f64) -> f64 {
    let a = 2.0 / (9.0 * freedom);
    freedom * (1.0 - a + sigmas * a.sqrt()).powi(3)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// scipy.stats.chi2.isf(norm.sf(3.7), n), scipy 1.17.1; the formula is within 3 % from four degrees of freedom on, on the far side.
    #[test]
    fn the_quantile_is_chi_square_s() {
        for (freedom, wanted) in [(4.0, 23.3497), (10.0, 35.3735), (29.0, 65.9051)] {
            let off = quantile(freedom, 3.7) / wanted - 1.0;
            assert!(
                (0.0..0.03).contains(&off),
                "{freedom}: {}",
                quantile(freedom, 3.7)
            );
        }
    }

    #[test]
    fn falls_are_pooled() {
        assert_eq!(never_falling(&[1.0, 3.0, 2.0, 4.0]), [1.0, 2.5, 2.5, 4.0]);
        assert_eq!(never_falling(&[3.0, 2.0, 1.0]), [2.0; 3]);
    }
}
