//! What each unit is in SI: the exact or conventional conversions of NIST SP 811, appendix B.8.

/// A unit's symbol and its size in SI.
pub type Row = (&'static str, f64);

/// A pound-force per square inch, Pa.
pub const PSI: f64 = 6894.757;
/// An inch of mercury, Pa.
pub const INHG: f64 = 3386.389;
/// A micron of mercury (a millitorr), Pa.
pub const MICRON: f64 = 101_325.0 / 760_000.0;
/// A pound, kg.
pub const POUND: f64 = 0.453_592_37;
/// An ounce, kg.
pub const OUNCE: f64 = 0.028_349_523_125;
/// A US fluid ounce, m3.
pub const FLUID_OUNCE: f64 = 29.573_529_562_5e-6;
/// A foot, m.
pub const FOOT: f64 = 0.3048;
/// An inch, m.
pub const INCH: f64 = 0.0254;

/// Pa per unit. psi, inHg and mmHg are the conventional values of NIST SP 811, Torr is 101325/760 Pa exactly.
pub const PRESSURE: &[Row] = &[
    ("Pa", 1.0),
    ("kPa", 1e3),
    ("MPa", 1e6),
    ("mbar", 100.0),
    ("bar", 1e5),
    ("psi", PSI),
    ("inHg", INHG),
    ("mmHg", 133.3224),
    ("Torr", 101_325.0 / 760.0),
    ("micron", MICRON),
];
/// kg per unit; the pound is exact.
pub const MASS: &[Row] = &[("kg", 1.0), ("g", 1e-3), ("lb", POUND), ("oz", OUNCE)];
/// m3 per unit; the US fluid ounce is exact.
pub const VOLUME: &[Row] = &[
    ("L", 1e-3),
    ("mL", 1e-6),
    ("floz", FLUID_OUNCE),
    ("m3", 1.0),
];
/// m per unit; foot and inch are exact.
pub const LENGTH: &[Row] = &[("m", 1.0), ("ft", FOOT), ("mm", 1e-3), ("in", INCH)];
/// One per unit.
pub const FRACTION: &[Row] = &[("%", 0.01)];
/// kg per year of 365.25 days, per unit.
pub const LEAK_RATE: &[Row] = &[("g/yr", 1e-3), ("oz/yr", OUNCE)];
/// N m per unit; the pound-force foot is 0.45359237 kg x 9.80665 m/s2 x 0.3048 m.
pub const TORQUE: &[Row] = &[("N m", 1.0), ("lbf ft", POUND * 9.806_65 * FOOT)];
/// K per unit of a difference.
pub const TEMPERATURE_DIFFERENCE: &[Row] = &[("K", 1.0), ("degF", 5.0 / 9.0)];

/// The row of a symbol, exactly as it is spelt.
pub fn find(rows: &'static [Row], symbol: &str) -> Option<Row> {
    rows.iter().copied().find(|row| row.0 == symbol)
}

/// The symbols of a table as a reader lists them: "kg, g, lb, oz".
pub fn symbols(rows: &[Row]) -> String {
    rows.iter().map(|row| row.0).collect::<Vec<_>>().join(", ")
}
