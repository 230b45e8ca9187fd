//! Lines and levelling curves through readings.
use super::table::{Largest, number, rows};
use chillwright_calc::physics::curve::{fit_levelling, fit_line};

/// By scipy.
#[test]
fn fits_agree_with_scipy() {
    let (mut slope, mut level, mut tau, mut rss) = (
        Largest::new("slope", 1e-6),
        Largest::new("p_inf", 1e-6),
        Largest::new("tau", 1e-6),
        Largest::new("sum of squares", 1e-6),
    );
    for (i, row) in rows(include_str!("tables/curves.csv")).iter().enumerate() {
        let points: Vec<(f64, f64)> = row[0]
            .split(' ')
            .map(|pair| {
                pair.split_once(':')
                    .map(|(t, p)| (number(t), number(p)))
                    .expect("a pair")
            })
            .collect();
        let at = format!("row {i}");
        slope.see(
            fit_line(&points).expect("a line").slope,
            number(row[1]),
            &at,
        );
        let fit = fit_levelling(&points).expect("a curve");
        level.see(fit.p_inf, number(row[3]), &at);
        tau.see(fit.tau, number(row[4]), &at);
        // Without noise nothing is left but rounding.
        if number(row[5]) > 1e-3 {
            rss.see(fit.rss, number(row[5]), &at);
        }
    }
    for largest in [slope, level, tau, rss] {
        largest.end();
    }
}
