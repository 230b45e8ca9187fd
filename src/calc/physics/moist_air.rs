//! Moist air as a mixture of ideal gases (ASHRAE Handbook, Fundamentals, ch. 1): dew point, humidity ratio, wet bulb, heat content.
//!
//! Saturation is that of [`super::water`]: below 0.01 degC over ice, so that a dew point down there is a frost point.
use super::water;
use crate::units::{AbsolutePressure, Fraction, Temperature};

/// Molar mass of water over that of dry air (ASHRAE Fundamentals, ch. 1).
const MASS_RATIO: f64 = 0.621_945;
/// The coldest air for which an answer is given; no shop works in it.
const COLDEST: Temperature = Temperature::from_celsius(-60.0);
/// The warmest.
const WARMEST: Temperature = Temperature::from_celsius(80.0);

/// Air with a temperature, a relative humidity and a pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MoistAir {
    dry_bulb: Temperature,
    pressure: AbsolutePressure,
    vapour_pa: f64,
}

impl MoistAir {
    /// Air by its dry-bulb temperature (-60 to 80 degC), its relative humidity (0 to 1) and the barometer. `None` outside of these, and where
    /// water boils: there is no air left then.
    pub fn new(
        dry_bulb: Temperature,
        humidity: Fraction,
        pressure: AbsolutePressure,
    ) -> Option<Self> {
        if !(COLDEST..=WARMEST).contains(&dry_bulb) || !(0.0..=1.0).contains(&humidity.one()) {
            return None;
        }
        let saturation = water::saturation_pressure(dry_bulb)?.pa();
        (saturation < pressure.pa()).then(|| Self {
            dry_bulb,
            pressure,
            vapour_pa: humidity.one() * saturation,
        })
    }

    /// Where its water begins to condense (or to freeze out, below 0.01 degC); `None` where there is none in it.
    pub fn dew_point(self) -> Option<Temperature> {
        water::saturation_temperature(AbsolutePressure::new(self.vapour_pa))
    }

    /// Mass of water per mass of dry air, kg/kg (ASHRAE Fundamentals, ch. 1: W = 0.621945 pw/(p - pw)).
    pub fn humidity_ratio(self) -> f64 {
        ratio(self.vapour_pa, self.pressure)
    }

    /// Its heat content: enthalpy per mass of dry air, J/kg, counted from dry air and liquid water at 0 degC (ASHRAE Fundamentals, ch. 1:
    /// h = 1.006 t + W (2501 + 1.86 t), kJ/kg).
    pub fn enthalpy(self) -> f64 {
        enthalpy(self.dry_bulb.celsius(), self.humidity_ratio())
    }

    /// The same air, no water gained or lost, at another temperature; `None` where it could not hold its water there, or outside of what is told here.
    pub fn at_temperature(self, dry_bulb: Temperature) -> Option<Self> {
        let fits = (COLDEST..=WARMEST).contains(&dry_bulb)
            && water::saturation_pressure(dry_bulb)?.pa() >= self.vapour_pa;
        fits.then_some(Self { dry_bulb, ..self })
    }

    /// The temperature at which this air leaves a cold surface that took so much heat out of it, J per kg of dry air: its water stays in it as long as
    /// it is not saturated, and what condenses leaves it at 100 % humidity. The heat that runs off with the condensate (under 1 % of the whole) is not
    /// counted. `None` where the answer is colder than any air here.
    pub fn cooled_by(self, heat: f64) -> Option<Temperature> {
        let (wanted, water) = (self.enthalpy() - heat, self.humidity_ratio());
        let dry = (wanted / 1e3 - 2501.0 * water) / (1.006 + 1.86 * water);
        let holds = |celsius: f64| {
            Some(ratio(
                water::saturation_pressure(Temperature::from_celsius(celsius))?.pa(),
                self.pressure,
            ))
        };
        if dry < COLDEST.celsius() {
            return None;
        }
        if holds(dry).is_some_and(|most| most >= water) {
            return Some(Temperature::from_celsius(dry));
        }
        let (mut low, mut high) = (COLDEST.celsius(), self.dry_bulb.celsius());
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            match holds(middle) {
                Some(w) if enthalpy(middle, w) < wanted => low = middle,
                _ => high = middle,
            }
        }
        Some(Temperature::from_celsius(0.5 * (low + high)))
    }

    /// What a thermometer in a wet wick shows in moving air: the thermodynamic wet-bulb temperature. Where air would suit a wick of ice a little
    /// below 0 degC as well as one of water a little above, it is water: a wick that is still wet has not frozen.
    pub fn wet_bulb(self) -> Temperature {
        let wanted = self.humidity_ratio();
        let dry = self.dry_bulb.celsius();
        let wet = dry >= 0.0
            && self
                .ratio_at_wet_bulb(0.0, Wick::Water)
                .is_some_and(|w| w <= wanted);
        let (mut low, mut high, wick) = if wet {
            (0.0, dry, Wick::Water)
        } else {
            (dry - 60.0, dry.min(0.0), Wick::Ice)
        };
        // On either the ratio rises with the wet bulb, so that halving the interval arrives.
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            match self.ratio_at_wet_bulb(middle, wick) {
                Some(w) if w < wanted => low = middle,
                _ => high = middle,
            }
        }
        Temperature::from_celsius(0.5 * (low + high))
    }

    /// The humidity ratio of air of this dry bulb whose wet bulb is `wet` degC: the energy balance of the wick (ASHRAE Fundamentals, ch. 1; enthalpies
    /// in kJ/kg, temperatures in degC).
    fn ratio_at_wet_bulb(self, wet: f64, wick: Wick) -> Option<f64> {
        let dry = self.dry_bulb.celsius();
        let saturated = ratio(
            water::saturation_pressure(Temperature::from_celsius(wet))?.pa(),
            self.pressure,
        );
        Some(match wick {
            Wick::Water => {
                ((2501.0 - 2.326 * wet) * saturated - 1.006 * (dry - wet))
                    / (2501.0 + 1.86 * dry - 4.186 * wet)
            }
            Wick::Ice => {
                ((2830.0 - 0.24 * wet) * saturated - 1.006 * (dry - wet))
                    / (2830.0 + 1.86 * dry - 2.1 * wet)
            }
        })
    }
}

/// What the wick of a wet-bulb thermometer holds.
#[derive(Debug, Clone, Copy)]
enum Wick {
    Water,
    Ice,
}

/// J per kg of dry air.
fn enthalpy(celsius: f64, ratio: f64) -> f64 {
    (1.006 * celsius + ratio * (2501.0 + 1.86 * celsius)) * 1e3
}

fn ratio(vapour_pa: f64, pressure: AbsolutePressure) -> f64 {
    MASS_RATIO * vapour_pa / (pressure.pa() - vapour_pa)
}
