//! Whether an isolation was measured dead.
use crate::record::Isolation;

/// The greatest voltage that is not high voltage, V DC: UN Regulation No. 100 calls a circuit high voltage above 60 V DC (and 30 V AC).
pub const HIGH_VOLTAGE_ABOVE_V: f64 = 60.0;

/// What an isolation's measurement shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Proved {
    /// Measured, and not high voltage.
    Dead,
    /// Measured, and high voltage: V.
    Live(f64),
    /// Nothing was measured, or it cannot be read as a voltage.
    NotMeasured,
}

/// What an isolation shows.
pub fn proved(isolation: &Isolation) -> Proved {
    match isolation.measured.as_deref().and_then(volts) {
        Some(v) if v.abs() <= HIGH_VOLTAGE_ABOVE_V => Proved::Dead,
        Some(v) => Proved::Live(v),
        None => Proved::NotMeasured,
    }
}

/// A voltage as people write it: `0 V`, `0.4 V DC`, `12,5 V`, `0.4 kV`, `350 mV`, a bare number. `None` for what is none, or begins with none.
///
/// ```
/// use chillwright_calc::checks::isolation::volts;
/// assert_eq!(volts("0 V"), Some(0.0));
/// assert_eq!(volts("0,4 kV"), Some(400.0));
/// assert_eq!(volts("dead"), None);
/// assert_eq!(volts("12 A"), None);
/// ```
pub fn volts(text: &str) -> Option<f64> {
    let text = text.trim().replace(',', ".");
    let end = text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '+'))).unwrap_or(text.len());
    let number: f64 = text[..end].parse().ok()?;
    let rest: String = text[end..].to_lowercase().split_whitespace().filter(|w| !matches!(*w, "dc" | "ac" | "=" | "⎓")).collect();
    let factor = match rest.as_str() {
        "" | "v" | "vdc" | "volt" | "volts" => 1.0,
        "kv" => 1e3,
        "mv" => 1e-3,
        _ => return None,
    };
    Some(number * factor).filter(|v| v.is_finite())
}
