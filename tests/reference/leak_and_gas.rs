//! A leak told from gas that comes to rest.
use super::table::{Largest, number, rows};
use chillwright_calc::physics::leak_and_gas::{fit, leak_bounds};

/// By scipy: the constants, and between which bounds the leak lies.
#[test]
fn leak_and_gas_agree_with_scipy() {
    let mut rss = Largest::new("sum of squares", 1e-6);
    let (mut leak, mut gas, mut tau) = (
        Largest::new("leak in its bounds", 1e-3),
        Largest::new("gas", 1e-3),
        Largest::new("tau", 1e-3),
    );
    let (mut low, mut high) = (
        Largest::new("lower bound in the bounds", 0.02),
        Largest::new("upper bound in the bounds", 0.02),
    );
    let mut with_leak = 0;
    for (i, row) in rows(include_str!("tables/leak_and_gas.csv"))
        .iter()
        .enumerate()
    {
        let points: Vec<(f64, f64)> = row[0]
            .split(' ')
            .map(|pair| {
                pair.split_once(':')
                    .map(|(t, p)| (number(t), number(p)))
                    .expect("a pair")
            })
            .collect();
        let wanted: Vec<f64> = row[1..].iter().map(|cell| number(cell)).collect();
        let at = format!("row {i}");
        let found = fit(&points).expect("a fit");
        rss.see(found.rss, wanted[3], &at);
        let wide = wanted[6] - wanted[5];
        leak.see_difference(found.leak / wide, wanted[0] / wide, &at);
        if found.gas > 0.0 {
            gas.see(found.gas, wanted[1], &at);
            tau.see(found.tau, wanted[2], &at);
        }
        let bounds = leak_bounds(&points, wanted[4]).expect("bounds");
        low.see_difference(bounds.low / wide, wanted[5] / wide, &at);
        high.see_difference(bounds.high / wide, wanted[6] / wide, &at);
        with_leak += usize::from(bounds.low > 0.0);
    }
    assert!(with_leak >= 4, "some of them surely leak: {with_leak}");
    for largest in [rss, leak, gas, tau, low, high] {
        largest.end();
    }
}

/// Too few readings, or no time between them: nothing is told.
#[test]
fn too_few_readings_tell_no_two() {
    let five: Vec<(f64, f64)> = (0..5).map(|i| (f64::from(i), f64::from(i * i))).collect();
    assert!(
        fit(&five).is_none()
            && leak_bounds(&five, 1.0).is_none()
            && fit(&[(1.0, 2.0); 8]).is_none()
    );
}
