//! A quantity as it was typed, together with its value in SI.
use super::si::*;
use super::table::{self, Row};
use super::{parse_number, time};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use std::borrow::Cow;
use std::fmt;
use std::str::FromStr;

/// Why a typed quantity was refused, in one line that says what to write instead.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct QuantityError(String);

impl QuantityError {
    /// An error with this sentence.
    pub fn new(sentence: impl Into<String>) -> Self {
        Self(sentence.into())
    }
}

/// What a [`Quantity`] can be a quantity of: a value in SI that knows how it is written.
pub trait Dimension: Copy + fmt::Debug + PartialEq {
    /// The dimension's name in the schema.
    const NAME: &'static str;
    /// What may be written, for the schema and for an error.
    const WRITTEN: &'static str;
    /// Reads the text of a quantity, trimmed; also answers with the unit's symbol.
    ///
    /// # Errors
    /// The text is not a number with a unit of this dimension, or the value cannot be.
    fn read(text: &str) -> Result<(Self, &'static str), QuantityError>;
}

/// A quantity that keeps its text as typed beside its value in SI; it serialises back to that text.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantity<D> {
    text: String,
    value: D,
    unit: &'static str,
}

impl<D: Dimension> Quantity<D> {
    /// The value in SI.
    pub const fn si(&self) -> D {
        self.value
    }
    /// The unit's symbol as typed, without a pressure's reference: `inHg` of `28 inHg vacuum`.
    pub const fn unit(&self) -> &'static str {
        self.unit
    }
    /// The text as typed.
    pub fn text(&self) -> &str {
        &self.text
    }
}

impl<D: Dimension> FromStr for Quantity<D> {
    type Err = QuantityError;
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        let text = text.trim();
        let (value, unit) = D::read(text)?;
        Ok(Self {
            text: text.to_owned(),
            value,
            unit,
        })
    }
}

impl<D> fmt::Display for Quantity<D> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

impl<D> Serialize for Quantity<D> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.text)
    }
}

impl<'de, D: Dimension> Deserialize<'de> for Quantity<D> {
    fn deserialize<T: Deserializer<'de>>(deserializer: T) -> Result<Self, T::Error> {
        struct Text<D>(std::marker::PhantomData<D>);
        impl<D: Dimension> de::Visitor<'_> for Text<D> {
            type Value = Quantity<D>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "a string with {}", D::WRITTEN)
            }
            fn visit_str<E: de::Error>(self, text: &str) -> Result<Quantity<D>, E> {
                text.parse().map_err(E::custom)
            }
        }
        deserializer.deserialize_str(Text(std::marker::PhantomData))
    }
}

impl<D: Dimension> schemars::JsonSchema for Quantity<D> {
    fn schema_name() -> Cow<'static, str> {
        D::NAME.into()
    }
    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({ "type": "string", "description": D::WRITTEN })
    }
}

/// Parts `28 inHg` into the number and what follows it.
pub(super) fn split(text: &str) -> Result<(f64, &str), QuantityError> {
    match text.split_once(char::is_whitespace) {
        Some((number, unit)) => Ok((parse_number(number)?, unit.trim())),
        None => {
            let digits = text.trim_end_matches(|c: char| c.is_alphabetic() || c == '%');
            Err(match parse_number(digits) {
                Ok(_) if digits.len() < text.len() => QuantityError::new(format!(
                    "{text:?}: write a space between the number and the unit"
                )),
                Ok(_) => QuantityError::new(format!("{text:?}: which unit?")),
                Err(_) => QuantityError::new(format!("{text:?}: not a number with a unit")),
            })
        }
    }
}

fn unknown_unit(unit: &str, of: &str, rows: &[Row]) -> QuantityError {
    QuantityError::new(format!(
        "{unit:?} is no unit of {of}; use one of {}",
        table::symbols(rows)
    ))
}

fn finite(value: f64, text: &str) -> Result<f64, QuantityError> {
    if value.is_finite() {
        Ok(value)
    } else {
        Err(QuantityError::new(format!(
            "{text:?}: the number is too large"
        )))
    }
}

macro_rules! linear {
    ($type:ident, $name:literal, $rows:expr, $written:literal, $negative:literal) => {
        impl Dimension for $type {
            const NAME: &'static str = stringify!($type);
            const WRITTEN: &'static str = $written;
            fn read(text: &str) -> Result<(Self, &'static str), QuantityError> {
                let (number, unit) = split(text)?;
                let (symbol, size) =
                    table::find($rows, unit).ok_or_else(|| unknown_unit(unit, $name, $rows))?;
                if number < 0.0 && !$negative {
                    return Err(QuantityError::new(format!(
                        concat!("{:?}: ", $name, " below zero cannot be"),
                        text
                    )));
                }
                Ok((Self::new(finite(number * size, text)?), symbol))
            }
        }
    };
}

linear!(
    Mass,
    "a mass",
    table::MASS,
    "a mass: a number, a space and kg, g, lb or oz, such as \"600 g\"",
    false
);
linear!(
    Volume,
    "a volume",
    table::VOLUME,
    "a volume: a number, a space and L, mL, floz (US fluid ounce) or m3, such as \"120 mL\"",
    false
);
linear!(
    Length,
    "a length",
    table::LENGTH,
    "a length: a number, a space and m, ft, mm or in, such as \"120 m\"",
    true
);
linear!(
    Fraction,
    "a fraction",
    table::FRACTION,
    "a fraction: a number, a space and %, such as \"50 %\"",
    false
);
linear!(
    LeakRate,
    "a leak rate",
    table::LEAK_RATE,
    "a leak rate: a number, a space and g/yr or oz/yr, such as \"14 g/yr\"",
    false
);
linear!(
    Torque,
    "a torque",
    table::TORQUE,
    "a torque: a number, a space and N m or lbf ft, such as \"10 N m\"",
    false
);
linear!(
    TemperatureDifference,
    "a temperature difference",
    table::TEMPERATURE_DIFFERENCE,
    "a temperature difference: a number, a space and K or degF, such as \"33 K\"",
    true
);
linear!(
    PressureDifference,
    "a pressure difference",
    table::PRESSURE,
    "a pressure difference: a number, a space and a bare unit of pressure, such as \"0.5 inHg\"",
    true
);
linear!(
    Resolution,
    "a resolution",
    table::PRESSURE,
    "a gauge's resolution: a number, a space and a bare unit of pressure, such as \"0.5 inHg\"",
    false
);

impl Dimension for Temperature {
    const NAME: &'static str = "Temperature";
    const WRITTEN: &'static str =
        "a temperature: a number, a space and degC, degF or K, such as \"22 degC\"";
    fn read(text: &str) -> Result<(Self, &'static str), QuantityError> {
        let (number, unit) = split(text)?;
        let (kelvin, symbol) = match unit {
            "degC" => (number + 273.15, "degC"),
            "degF" => ((number + 459.67) / 1.8, "degF"),
            "K" => (number, "K"),
            _ => {
                return Err(QuantityError::new(format!(
                    "{unit:?} is no unit of a temperature; use one of degC, degF, K"
                )));
            }
        };
        if kelvin < 0.0 {
            return Err(QuantityError::new(format!("{text:?}: below absolute zero")));
        }
        Ok((Self::new(finite(kelvin, text)?), symbol))
    }
}

impl Dimension for Seconds {
    const NAME: &'static str = "Duration";
    const WRITTEN: &'static str = "a duration in ISO 8601, such as \"PT15M\"";
    fn read(text: &str) -> Result<(Self, &'static str), QuantityError> {
        Ok((time::read_duration(text)?, ""))
    }
}
