//! Pressure with its reference: a dial's number means nothing until it is said from where it counts.
use super::quantity::split;
use super::si::{AbsolutePressure, GaugePressure, PressureDifference};
use super::{Dimension, QuantityError, table};

/// A pressure as read, with what it is counted from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Pressure {
    /// Above perfect vacuum.
    Absolute(AbsolutePressure),
    /// Above the surrounding air.
    Gauge(GaugePressure),
    /// Below the surrounding air: positive in a vacuum.
    Vacuum(PressureDifference),
}

impl Pressure {
    /// The absolute pressure where the surrounding air has the pressure `site`. May be below zero: then the
    /// gauge or the barometer is wrong.
    pub fn absolute(self, site: AbsolutePressure) -> AbsolutePressure {
        match self {
            Self::Absolute(p) => p,
            Self::Gauge(p) => AbsolutePressure::new(site.pa() + p.pa()),
            Self::Vacuum(p) => AbsolutePressure::new(site.pa() - p.pa()),
        }
    }

    /// Whether the gauge counts from perfect vacuum, so that the surrounding air does not matter.
    pub const fn is_absolute(self) -> bool {
        matches!(self, Self::Absolute(_))
    }
}

impl Dimension for Pressure {
    const NAME: &'static str = "Pressure";
    const WRITTEN: &'static str = "a pressure: a number, a space, a unit (Pa, kPa, MPa, mbar, bar, psi, inHg, mmHg, Torr, micron) and abs, gauge or vacuum, such as \"28 inHg vacuum\"; psia, psig and a bare Torr or micron (absolute) are accepted";
    fn read(text: &str) -> Result<(Self, &'static str), QuantityError> {
        let (number, rest) = split(text)?;
        let mut words = rest.split_whitespace();
        let (unit, said) = (words.next().unwrap_or_default(), words.next());
        if let Some(extra) = words.next() {
            return Err(QuantityError::new(format!("{text:?}: what is {extra:?}?")));
        }
        let (unit, reference) = match (unit, said) {
            ("psia", None) => ("psi", "abs"),
            ("psig", None) => ("psi", "gauge"),
            ("Torr" | "micron", None) => (unit, "abs"),
            (_, Some(word @ ("abs" | "gauge" | "vacuum"))) => (unit, word),
            (_, Some(word)) => {
                return Err(QuantityError::new(format!(
                    "{text}: {word:?} is no reference; write vacuum, gauge or abs"
                )));
            }
            (_, None) => (unit, ""),
        };
        let Some((symbol, size)) = table::find(table::PRESSURE, unit) else {
            return Err(QuantityError::new(format!(
                "{unit:?} is no unit of a pressure; use one of {}",
                table::symbols(table::PRESSURE)
            )));
        };
        let pa = number * size;
        if !pa.is_finite() {
            return Err(QuantityError::new(format!(
                "{text:?}: the number is too large"
            )));
        }
        let pressure = match reference {
            "abs" => Self::Absolute(AbsolutePressure::new(pa)),
            "gauge" => Self::Gauge(GaugePressure::new(pa)),
            "vacuum" => Self::Vacuum(PressureDifference::new(pa)),
            _ => return Err(QuantityError::new(format!("{text}: vacuum, gauge or abs?"))),
        };
        Ok((pressure, symbol))
    }
}

impl Dimension for GaugePressure {
    const NAME: &'static str = "PressureAboveTheAir";
    const WRITTEN: &'static str = "a pressure above the surrounding air: a number, a space and a unit, such as \"250 psig\", \"1700 kPa gauge\" or \"250 psi\"";
    fn read(text: &str) -> Result<(Self, &'static str), QuantityError> {
        // What a circuit may be tested at is always told above the air: a bare unit is no doubt here.
        if let Ok((bare, unit)) = PressureDifference::read(text) {
            return Ok((Self::new(bare.pa()), unit));
        }
        match Pressure::read(text)? {
            (Pressure::Gauge(p), unit) => Ok((p, unit)),
            _ => Err(QuantityError::new(format!(
                "{text}: it is told above the surrounding air; write psig or gauge"
            ))),
        }
    }
}
