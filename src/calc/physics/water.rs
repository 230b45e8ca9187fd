//! When water boils, and when its ice sublimes: IAPWS-IF97 region 4 above the triple point, IAPWS R14-08 below it.
use crate::units::{AbsolutePressure, Temperature};

/// Pressure of the triple point (IAPWS R14-08).
pub const TRIPLE_PRESSURE: AbsolutePressure = AbsolutePressure::new(611.657);
/// Temperature of the triple point.
pub const TRIPLE_TEMPERATURE: Temperature = Temperature::new(273.16);
/// Temperature of the critical point (IAPWS-IF97).
const CRITICAL_K: f64 = 647.096;
/// Pressure of the critical point, Pa.
const CRITICAL_PA: f64 = 22.064e6;
/// Lowest temperature of the sublimation equation (IAPWS R14-08).
const COLDEST_K: f64 = 50.0;

/// Saturation pressure over water (over ice below 273.16 K); `None` below 50 K and above the critical point.
pub fn saturation_pressure(t: Temperature) -> Option<AbsolutePressure> {
    match t.k() {
        k if (COLDEST_K..TRIPLE_TEMPERATURE.k()).contains(&k) => {
            Some(AbsolutePressure::new(sublimation_pa(k)))
        }
        k if (TRIPLE_TEMPERATURE.k()..=CRITICAL_K).contains(&k) => Some(AbsolutePressure::new(
            1e6 * seuif97::tx(k - 273.15, 0.0, seuif97::OP),
        )),
        _ => None,
    }
}

/// The temperature at which water boils at this pressure (ice sublimes below 611.657 Pa); `None` at or below the pressure of ice at 50 K and above the critical one.
pub fn saturation_temperature(p: AbsolutePressure) -> Option<Temperature> {
    let pa = p.pa();
    if (TRIPLE_PRESSURE.pa()..=CRITICAL_PA).contains(&pa) {
        return Some(Temperature::new(
            seuif97::px(pa / 1e6, 0.0, seuif97::OT) + 273.15,
        ));
    }
    (pa > sublimation_pa(COLDEST_K) && pa < TRIPLE_PRESSURE.pa())
        .then(|| sublimation_temperature(pa))
}

/// Whether water does not boil at this pressure: its ice sublimes (below 4588 micron).
pub fn sublimes(p: AbsolutePressure) -> bool {
    p.pa() < TRIPLE_PRESSURE.pa()
}

/// IAPWS R14-08(2011), eq. 6.
fn sublimation_pa(k: f64) -> f64 {
    let theta = k / TRIPLE_TEMPERATURE.k();
    let terms = [
        (-0.212_144_006e2, 0.333_333_333e-2),
        (0.273_203_819e2, 0.120_666_667e1),
        (-0.610_598_130e1, 0.170_333_333e1),
    ];
    let sum: f64 = terms.iter().map(|(a, b)| a * theta.powf(*b)).sum();
    TRIPLE_PRESSURE.pa() * (sum / theta).exp()
}

/// The equation turned round by bisection in the logarithm: it rises everywhere, so that this always arrives.
fn sublimation_temperature(pa: f64) -> Temperature {
    let (mut low, mut high) = (COLDEST_K, TRIPLE_TEMPERATURE.k());
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if sublimation_pa(middle) < pa {
            low = middle
        } else {
            high = middle
        }
    }
    Temperature::new(0.5 * (low + high))
}
