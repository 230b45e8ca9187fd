//! The pressure of the air at a place: ISO 2533 standard atmosphere.
use crate::units::{AbsolutePressure, Length};

/// The standard pressure at sea level (ISO 2533).
pub const STANDARD: AbsolutePressure = AbsolutePressure::new(101_325.0);

/// The lowest place for which an answer is given: below every shore and mine road.
const LOWEST_M: f64 = -1_000.0;
/// Top of the layer with the constant lapse rate.
const HIGHEST_M: f64 = 11_000.0;

/// Standard pressure at an elevation, p = 101325 Pa (1 - 0.0065 h / 288.15)^5.25588 (ISO 2533), from 1 000 m below the sea to 11 000 m; else `None`.
pub fn standard_pressure(elevation: Length) -> Option<AbsolutePressure> {
    let h = elevation.m();
    (LOWEST_M..=HIGHEST_M)
        .contains(&h)
        .then(|| AbsolutePressure::new(STANDARD.pa() * (1.0 - 0.0065 * h / 288.15).powf(5.255_88)))
}

/// A barometer reading reduced to sea level, brought back to the site by the ratio of the standard atmosphere.
pub fn site_from_sea_level(
    reduced: AbsolutePressure,
    elevation: Length,
) -> Option<AbsolutePressure> {
    standard_pressure(elevation)
        .map(|standard| AbsolutePressure::new(reduced.pa() * standard.pa() / STANDARD.pa()))
}
