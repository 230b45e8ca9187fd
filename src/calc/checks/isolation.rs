//! Whether an isolation was measured dead.
use crate::{
    JobRecord,
    checks::timeline::live,
    record::{Drive, Isolation},
};

/// The greatest direct voltage that is not high voltage, V: UN Regulation No. 100 calls a circuit high voltage above 60 V DC or 30 V AC (its wording
/// from memory); 49 CFR 571.305, S3, has the same two figures.
pub const HIGH_VOLTAGE_ABOVE_V: f64 = 60.0;
/// The same of an alternating voltage, V.
pub const HIGH_VOLTAGE_ABOVE_V_AC: f64 = 30.0;

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

/// What an isolation shows. The voltage alone decides: how long was waited is on record beside it, but capacitors that are empty are empty, and
/// no wait proves that they are.
pub fn proved(isolation: &Isolation) -> Proved {
    let Some(text) = isolation.measured.as_deref() else {
        return Proved::NotMeasured;
    };
    match volts(text) {
        Some(v) if v.abs() <= bound(text) => Proved::Dead,
        Some(v) => Proved::Live(v),
        None => Proved::NotMeasured,
    }
}

/// A voltage is direct unless it says that it alternates.
fn bound(text: &str) -> f64 {
    if text.to_lowercase().contains("ac") {
        HIGH_VOLTAGE_ABOVE_V_AC
    } else {
        HIGH_VOLTAGE_ABOVE_V
    }
}

/// Whether the compressor runs on high voltage: it is recorded so, or somebody isolated one whose drive nobody recorded.
pub fn has_high_voltage(record: &JobRecord) -> bool {
    match record.system.compressor_drive {
        Some(drive) => drive == Drive::Electric,
        None => live(&record.isolation, "isolation").next().is_some(),
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
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '+')))
        .unwrap_or(text.len());
    let number: f64 = text[..end].parse().ok()?;
    let rest: String = text[end..]
        .to_lowercase()
        .split_whitespace()
        .filter(|w| !matches!(*w, "dc" | "ac" | "=" | "⎓"))
        .collect();
    let factor = match rest.as_str() {
        "" | "v" | "vdc" | "vac" | "volt" | "volts" => 1.0,
        "kv" => 1e3,
        "mv" => 1e-3,
        _ => return None,
    };
    Some(number * factor).filter(|v| v.is_finite())
}
