//! Quantities as sentences print them, in either system, with a precision that the reader can use.
use super::{
    si::*,
    table::{FLUID_OUNCE, FOOT, INCH, INHG, MICRON, OUNCE, POUND, PSI},
};

/// The units that sentences are written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash)]
pub enum UnitSystem {
    /// kPa, degrees Celsius, grams, millilitres.
    #[default]
    Si,
    /// psi and inches of mercury, degrees Fahrenheit, ounces and pounds, fluid ounces.
    Us,
}

impl UnitSystem {
    /// The word for it: `si` or `us`.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Si => "si",
            Self::Us => "us",
        }
    }

    /// The other one.
    pub const fn other(self) -> Self {
        match self {
            Self::Si => Self::Us,
            Self::Us => Self::Si,
        }
    }
}

impl std::str::FromStr for UnitSystem {
    type Err = super::QuantityError;
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        match text {
            "si" => Ok(Self::Si),
            "us" => Ok(Self::Us),
            _ => Err(super::QuantityError::new(format!(
                "{text:?}: units are si or us"
            ))),
        }
    }
}

/// A number with so many significant digits, never in powers of ten: `309`, `4.93`, `0.0121`.
pub fn significant(value: f64, digits: i32) -> String {
    if value == 0.0 || !value.is_finite() {
        return "0".into();
    }
    let magnitude = |v: f64| v.abs().log10().floor() as i32;
    let scale = 10f64.powi(digits - 1 - magnitude(value));
    let rounded = (value * scale).round() / scale;
    let decimals = (digits - 1 - magnitude(rounded)).max(0);
    format!("{rounded:.*}", decimals as usize)
}

/// A number with so many decimals, and without a minus before a zero.
pub fn decimals(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        _ => text,
    }
}

/// An absolute pressure among the figures of an explanation: `6.1 kPa abs`, `45 Pa abs`; `340 micron`, `0.88 psia`, `96.6 psia`. A sentence about what a
/// gauge showed speaks in that gauge's unit instead (`checks::voice`).
pub fn pressure(p: AbsolutePressure, units: UnitSystem) -> String {
    let pa = p.pa();
    match units {
        UnitSystem::Si => format!("{} abs", in_si(pa)),
        UnitSystem::Us if pa.abs() < 1000.0 => micron(pa),
        UnitSystem::Us if pa.abs() < 50_000.0 => format!("{:.2} psia", pa / PSI),
        UnitSystem::Us => format!("{:.1} psia", pa / PSI),
    }
}

fn in_si(pa: f64) -> String {
    match pa.abs() {
        p if p < 1000.0 => format!("{} Pa", decimals(pa, 0)),
        p if p >= 1e6 => format!("{:.2} MPa", pa / 1e6),
        _ => format!("{:.1} kPa", pa / 1e3),
    }
}

fn micron(pa: f64) -> String {
    format!("{} micron", decimals(pa / MICRON, 0))
}

/// A difference of pressures: `1.7 kPa`, `45 Pa`; `0.50 inHg`, `340 micron`, `12.0 psi`.
pub fn pressure_difference(p: PressureDifference, units: UnitSystem) -> String {
    let pa = p.pa();
    match units {
        UnitSystem::Si => in_si(pa),
        UnitSystem::Us if pa.abs() < 1000.0 => micron(pa),
        UnitSystem::Us if pa.abs() < 20_000.0 => format!("{:.2} inHg", pa / INHG),
        UnitSystem::Us => format!("{:.1} psi", pa / PSI),
    }
}

/// A pressure and how far it may be off either way, in one unit: `101.3 ± 1.2 kPa abs`, `14.7 ± 0.2 psia`.
pub fn pressure_within(p: AbsolutePressure, by: PressureDifference, units: UnitSystem) -> String {
    let told = pressure(p, units);
    let (number, unit) = told.split_once(' ').unwrap_or((&told, ""));
    let size = p.pa() / number.parse::<f64>().unwrap_or(1.0);
    let decimals_of = number.split_once('.').map_or(0, |(_, d)| d.len());
    let off = by.pa() / size;
    let off = if off < 10f64.powi(-(decimals_of as i32)) {
        significant(off, 1)
    } else {
        decimals(off, decimals_of)
    };
    format!("{number} ± {off} {unit}")
}

/// A pressure against the surrounding air: `482 kPa gauge`, `70 psig`, `28.0 inHg vacuum`.
pub fn gauge_pressure(p: GaugePressure, units: UnitSystem) -> String {
    match units {
        UnitSystem::Si if p.pa() < 0.0 => format!("{} kPa vacuum", decimals(-p.pa() / 1e3, 1)),
        UnitSystem::Si => format!("{} kPa gauge", decimals(p.pa() / 1e3, 0)),
        UnitSystem::Us if p.pa() < 0.0 => format!("{:.1} inHg vacuum", -p.pa() / INHG),
        UnitSystem::Us => format!("{} psig", decimals(p.pa() / PSI, 0)),
    }
}

/// A temperature to the degree: `36 °C`, `97 °F`.
pub fn temperature(t: Temperature, units: UnitSystem) -> String {
    temperature_to(t, 0, units)
}

/// A temperature with so many decimals.
pub fn temperature_to(t: Temperature, places: usize, units: UnitSystem) -> String {
    match units {
        UnitSystem::Si => format!("{} °C", decimals(t.celsius(), places)),
        UnitSystem::Us => format!("{} °F", decimals(t.k() * 1.8 - 459.67, places)),
    }
}

/// A difference of temperatures: `26 K`, `47 °F`.
pub fn temperature_difference(t: TemperatureDifference, units: UnitSystem) -> String {
    match units {
        UnitSystem::Si => format!("{} K", decimals(t.k(), 0)),
        UnitSystem::Us => format!("{} °F", decimals(t.k() * 1.8, 0)),
    }
}

/// A temperature with no more digits than it needs: `22 °C`, `24.8 °F`.
pub fn temperature_short(t: Temperature, units: UnitSystem) -> String {
    match units {
        UnitSystem::Si => format!("{} °C", short(t.celsius())),
        UnitSystem::Us => format!("{} °F", short(t.k() * 1.8 - 459.67)),
    }
}

/// A difference of temperatures with no more digits than it needs: `1 K`, `1.8 °F`.
pub fn temperature_difference_short(t: TemperatureDifference, units: UnitSystem) -> String {
    match units {
        UnitSystem::Si => format!("{} K", short(t.k())),
        UnitSystem::Us => format!("{} °F", short(t.k() * 1.8)),
    }
}

/// A mass: `45 g`, `1.25 kg`, `0.2 g`; `1.6 oz`, `2.76 lb`.
pub fn mass(m: Mass, units: UnitSystem) -> String {
    let (kg, oz) = (m.kg(), m.kg() / OUNCE);
    match units {
        UnitSystem::Si if kg == 0.0 => "0 g".to_owned(),
        UnitSystem::Us if kg == 0.0 => "0 oz".to_owned(),
        UnitSystem::Si if kg.abs() < 0.01 => format!("{} g", decimals(kg * 1e3, 1)),
        UnitSystem::Si if kg.abs() < 1.0 => format!("{} g", decimals(kg * 1e3, 0)),
        UnitSystem::Si => format!("{kg:.2} kg"),
        UnitSystem::Us if oz.abs() < 1.0 => format!("{} oz", decimals(oz, 2)),
        UnitSystem::Us if oz.abs() < 64.0 => format!("{} oz", decimals(oz, 1)),
        UnitSystem::Us => format!("{:.2} lb", oz / 16.0),
    }
}

/// A volume: `30 mL`, `2.5 L`; `1.0 fl oz`.
pub fn volume(v: Volume, units: UnitSystem) -> String {
    let ml = v.m3() * 1e6;
    match units {
        UnitSystem::Si if ml.abs() < 1000.0 => format!("{} mL", decimals(ml, 0)),
        UnitSystem::Si => format!("{} L", decimals(ml / 1e3, 1)),
        UnitSystem::Us => format!("{} fl oz", decimals(ml / (FLUID_OUNCE * 1e6), 1)),
    }
}

/// A leak rate: `309 kg a year`, `40 g a year`; `681 lb a year`, `1.4 oz a year`.
pub fn leak_rate(rate: LeakRate, units: UnitSystem) -> String {
    let kg = rate.kg_per_year();
    let lb = kg / POUND;
    match units {
        UnitSystem::Si if kg < 0.9995 => format!("{} g a year", short(kg * 1e3)),
        UnitSystem::Si => format!("{} kg a year", short(kg)),
        UnitSystem::Us if lb < 4.0 => format!("{} oz a year", short(lb * 16.0)),
        UnitSystem::Us => format!("{} lb a year", short(lb)),
    }
}

/// Three significant digits, whole numbers without decimals behind them: `40`, `4.93`, `309`, `12300`.
fn short(value: f64) -> String {
    let text = significant(value, 3);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A fraction of one: `0.3 %`, `50 %`.
pub fn fraction(f: Fraction) -> String {
    format!("{} %", short(f.one() * 100.0))
}

/// A duration: `45 s`, `20 min`, `1 h 30 min`, `17.0 hours`, `106 days`, `3 years`.
pub fn duration(d: Seconds) -> String {
    let s = d.s();
    match s {
        _ if s < 100.0 => format!("{} s", decimals(s, 0)),
        _ if s < 5400.0 => format!("{} min", decimals(s / 60.0, 0)),
        _ if s < 48.0 * 3600.0 => format!("{} hours", decimals(s / 3600.0, 1)),
        _ if s < 1000.0 * 86_400.0 => format!("{} days", decimals(s / 86_400.0, 0)),
        _ => format!("{} years", short(s / (365.25 * 86_400.0))),
    }
}

/// A duration that falls short of another: whole minutes are not rounded up to it.
pub fn duration_so_far(d: Seconds) -> String {
    let s = d.s();
    if (120.0..5400.0).contains(&s) {
        duration(Seconds::new((s / 60.0).floor() * 60.0))
    } else {
        duration(d)
    }
}

/// A duration that somebody set, with no more digits than it needs: `15 min`, `2 hours`, `24 months`.
pub fn duration_short(d: Seconds) -> String {
    const MONTH_S: f64 = 365.25 * 86_400.0 / 12.0;
    let s = d.s();
    match s {
        _ if (5400.0..48.0 * 3600.0).contains(&s) => format!("{} hours", short(s / 3600.0)),
        _ if (2.0 * MONTH_S..60.0 * MONTH_S).contains(&s)
            && (s / MONTH_S - (s / MONTH_S).round()).abs() < 1e-9 =>
        {
            format!("{} months", short(s / MONTH_S))
        }
        _ => duration(d),
    }
}

/// A length: `120 m`, `394 ft`; `1.8 m`, `5.9 ft`; `6.3 mm`, `0.25 in`.
pub fn length(l: Length, units: UnitSystem) -> String {
    match units {
        UnitSystem::Si if l.m() != 0.0 && l.m().abs() < 0.1 => format!("{} mm", short(l.m() * 1e3)),
        UnitSystem::Us if l.m() != 0.0 && l.m().abs() < 0.1 => {
            format!("{} in", short(l.m() / INCH))
        }
        UnitSystem::Si if l.m() != 0.0 && l.m().abs() < 10.0 => format!("{} m", decimals(l.m(), 1)),
        UnitSystem::Us if l.m() != 0.0 && l.m().abs() < 10.0 => {
            format!("{} ft", decimals(l.m() / FOOT, 1))
        }
        UnitSystem::Si => format!("{} m", decimals(l.m(), 0)),
        UnitSystem::Us => format!("{} ft", decimals(l.m() / FOOT, 0)),
    }
}

/// A pressure in a gauge's own unit, with the decimals that a gauge of that unit has: `29.3 inHg`.
pub fn in_unit(pa: f64, unit: &str) -> String {
    let Some((symbol, size)) = super::table::find(super::table::PRESSURE, unit) else {
        return pressure(AbsolutePressure::new(pa), UnitSystem::Si);
    };
    let places = match symbol {
        "inHg" | "kPa" | "psi" | "Torr" | "mbar" => 1,
        "MPa" => 4,
        "bar" => 3,
        _ => 0,
    };
    format!("{} {symbol}", decimals(pa / size, places))
}

/// The symbol of a pressure unit, where it is one.
pub fn unit_symbol(unit: &str) -> Option<&'static str> {
    super::table::find(super::table::PRESSURE, unit).map(|row| row.0)
}

/// The size of a pressure unit in Pa, by its symbol.
pub fn unit_size(unit: &str) -> Option<f64> {
    super::table::find(super::table::PRESSURE, unit).map(|row| row.1)
}
