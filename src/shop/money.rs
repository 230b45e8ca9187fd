//! Money: integer minor units of the shop's currency; binary fractions never touch it.
use rust_decimal::{Decimal, RoundingStrategy, prelude::ToPrimitive};

/// An amount in minor units (cents). May be negative for a balance.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Default,
    Hash,
    serde::Serialize,
    serde::Deserialize,
    sqlx::Type,
)]
#[serde(transparent)]
#[sqlx(transparent)]
pub struct Money(pub i64);

impl Money {
    /// `1234.50`, without the currency.
    pub fn plain(self, currency: &str) -> String {
        Decimal::new(self.0, minor_digits(currency)).to_string()
    }

    /// `EUR 1234.50`.
    pub fn with_currency(self, currency: &str) -> String {
        format!("{currency} {}", self.plain(currency))
    }

    /// From what a person types: `12`, `12.50`, `12,50`; the error is a sentence for the field.
    pub fn parse(text: &str, currency: &str) -> Result<Self, String> {
        let digits = minor_digits(currency);
        let number = decimal(text)?;
        if number.is_sign_negative() && !number.is_zero() {
            return Err("Enter an amount of zero or more.".into());
        }
        if number > Decimal::from(1_000_000_000) {
            return Err("That amount is too large.".into());
        }
        let minor = number * Decimal::from(10_i64.pow(digits));
        if minor.fract().is_zero() {
            Ok(Self(minor.to_i64().unwrap_or(0)))
        } else {
            Err(format!("Enter at most {digits} digits after the point."))
        }
    }

    /// This price times a quantity in thousandths, rounded half up.
    pub fn times_thousandths(self, quantity: i64) -> Self {
        Self(round(Decimal::from(self.0) * Decimal::new(quantity, 3)))
    }

    /// The tax on this net amount at a rate in hundredths of a percent, rounded half up.
    pub fn tax_on_net(self, rate: i64) -> Self {
        Self(round(Decimal::from(self.0) * Decimal::new(rate, 4)))
    }

    /// The tax inside this gross amount at a rate in hundredths of a percent, rounded half up.
    pub fn tax_in_gross(self, rate: i64) -> Self {
        let rate = Decimal::new(rate, 4);
        Self(round(Decimal::from(self.0) * rate / (Decimal::ONE + rate)))
    }
}

impl std::ops::Add for Money {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}
impl std::ops::Sub for Money {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}
impl std::iter::Sum for Money {
    fn sum<I: Iterator<Item = Self>>(amounts: I) -> Self {
        amounts.fold(Self(0), |a, b| a + b)
    }
}

fn round(amount: Decimal) -> i64 {
    amount
        .round_dp_with_strategy(0, RoundingStrategy::MidpointAwayFromZero)
        .to_i64()
        .unwrap_or(i64::MAX)
}

/// Digits after the point, by ISO 4217.
fn minor_digits(currency: &str) -> u32 {
    match currency {
        "JPY" | "KRW" | "CLP" | "ISK" | "VND" | "XAF" | "XOF" | "PYG" | "UGX" | "RWF" => 0,
        "KWD" | "BHD" | "OMR" | "JOD" | "TND" | "IQD" | "LYD" => 3,
        _ => 2,
    }
}

/// A decimal number as people type it: `1.5` and `1,5` are the same; `1,200` is refused, since it means two things.
/// The error is a sentence for the field.
pub fn decimal(text: &str) -> Result<Decimal, String> {
    let text = text.trim();
    let plain = one_number(text)?;
    let digits = plain
        .chars()
        .all(|c| c.is_ascii_digit() || matches!(c, '.' | '-' | '+'));
    plain
        .parse()
        .ok()
        .filter(|_| digits)
        .ok_or_else(|| format!("“{text}” is not a number."))
}

/// The text with a decimal point, or why it cannot be read as one number.
fn one_number(text: &str) -> Result<String, String> {
    let commas = text.matches(',').count();
    if commas > 1 || (commas == 1 && text.contains('.')) {
        return Err(format!(
            "“{text}” can be read in two ways. Enter it without separators, 1200.5."
        ));
    }
    let Some((whole, part)) = text.split_once(',') else {
        return Ok(text.to_owned());
    };
    let leading_zero = whole
        .trim_start_matches(['-', '+'])
        .trim_start_matches('0')
        .is_empty();
    if part.len() == 3 && !leading_zero {
        let short = format!("{whole}.{}", part.trim_end_matches('0'));
        return Err(format!(
            "“{text}” can be read in two ways; enter {} or {whole}{part}.",
            short.trim_end_matches('.')
        ));
    }
    Ok(format!("{whole}.{part}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_comma_is_a_point_unless_it_could_be_a_thousand() {
        assert_eq!(Money::parse("1,5", "EUR"), Ok(Money(150)));
        assert_eq!(Money::parse("0,125", "KWD"), Ok(Money(125)));
        assert!(
            Money::parse("1,200", "EUR")
                .unwrap_err()
                .contains("enter 1.2 or 1200")
        );
        assert!(Money::parse("1,200.00", "EUR").is_err());
        assert!(Money::parse("-3", "EUR").is_err());
        assert!(Money::parse("1e3", "EUR").is_err());
        assert!(
            Money::parse("twelve", "EUR")
                .unwrap_err()
                .contains("not a number")
        );
        assert!(Money::parse("1.005", "EUR").is_err());
        assert!(Money::parse("99999999999999999999", "EUR").is_err());
    }

    #[test]
    fn tax_is_rounded_half_up() {
        // 580.98 at 10 % is 58.098.
        assert_eq!(Money(58_098).tax_on_net(1000), Money(5810));
        assert_eq!(Money(11_000).tax_in_gross(1000), Money(1000));
        assert_eq!(Money(850).times_thousandths(5950), Money(5058));
    }
}
