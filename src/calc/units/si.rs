//! SI values as types of their own, so that a gauge pressure cannot stand where an absolute one is meant.

macro_rules! si {
    ($(#[$doc:meta])* $name:ident, $unit:literal, $get:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);
        impl $name {
            #[doc = concat!("From a number of ", $unit, ".")]
            pub const fn new(value: f64) -> Self {
                Self(value)
            }
            #[doc = concat!("The value in ", $unit, ".")]
            pub const fn $get(self) -> f64 {
                self.0
            }
        }
        impl std::ops::Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }
    };
}

si!(
    /// Pressure above perfect vacuum.
    AbsolutePressure, "Pa", pa
);
si!(
    /// Pressure above the surrounding air; below it, negative.
    GaugePressure, "Pa", pa
);
si!(
    /// A difference of two pressures: a resolution, an error, a rise.
    PressureDifference, "Pa", pa
);
si!(
    /// The smallest step that a gauge shows: one graduation or its last digit.
    Resolution, "Pa", pa
);
si!(
    /// Thermodynamic temperature.
    Temperature, "K", k
);
si!(
    /// A difference of two temperatures.
    TemperatureDifference, "K", k
);
si!(
    /// Mass.
    Mass, "kg", kg
);
si!(
    /// Volume.
    Volume, "m3", m3
);
si!(
    /// Length.
    Length, "m", m
);
si!(
    /// A fraction of one (0.5 is 50 %).
    Fraction, "one", one
);
si!(
    /// Mass per year of 365.25 days.
    LeakRate, "kg/yr", kg_per_year
);
si!(
    /// Torque.
    Torque, "N m", n_m
);
si!(
    /// Density.
    Density, "kg/m3", kg_per_m3
);
si!(
    /// A length of time.
    Seconds, "s", s
);
impl Temperature {
    /// From degrees Celsius.
    pub const fn from_celsius(degrees: f64) -> Self {
        Self(degrees + 273.15)
    }
    /// In degrees Celsius.
    pub const fn celsius(self) -> f64 {
        self.0 - 273.15
    }
}
