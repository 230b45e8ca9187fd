//! The voice of a sentence: the unit and the reference of the gauge that was read.
//!
//! A technician who reads 28 inHg of vacuum on a dial is told inHg of vacuum, one who reads micron on an electronic gauge is told micron, and nitrogen is told in
//! psig or kPa gauge as its gauge shows it. Only where the reader has switched to the other system of units than the shop's is it carried over, to the
//! unit of the same kind. No sentence mixes two references or two systems.
use crate::{
    UnitSystem,
    record::{Gauge, HoldKind, Reading},
    units::{Pressure, Quantity, show},
};

/// What a pressure is counted from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum From {
    /// Perfect vacuum.
    Nothing,
    /// The surrounding air, upwards; below it the same scale tells a vacuum.
    Air,
    /// The surrounding air, downwards.
    Vacuum,
}

/// How pressures of one gauge are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Voice {
    unit: &'static str,
    from: From,
}

impl Voice {
    /// Of a pressure as typed; carried over to `switched` where the reader has switched to that system.
    pub fn of(pressure: &Quantity<Pressure>, switched: Option<UnitSystem>) -> Self {
        let from = match pressure.si() {
            Pressure::Absolute(_) => From::Nothing,
            Pressure::Gauge(_) => From::Air,
            Pressure::Vacuum(_) => From::Vacuum,
        };
        Self {
            unit: pressure.unit(),
            from,
        }
        .carried_over(switched)
    }

    /// Of a series of readings: that of the first which has a pressure.
    pub fn of_readings<'a>(
        readings: impl IntoIterator<Item = &'a Reading>,
        switched: Option<UnitSystem>,
    ) -> Option<Self> {
        readings
            .into_iter()
            .find_map(|r| r.pressure.as_ref())
            .map(|p| Self::of(p, switched))
    }

    /// Of a gauge by the unit on it; `None` for a unit that is none.
    pub fn named(unit: &str, absolute: bool, switched: Option<UnitSystem>) -> Option<Self> {
        let unit = show::unit_symbol(unit)?;
        Some(
            Self {
                unit,
                from: if absolute {
                    From::Nothing
                } else {
                    From::Vacuum
                },
            }
            .carried_over(switched),
        )
    }

    /// Of a gauge by the unit of its graduations, in which a vacuum or a pressure is to be read; in the reader's units where its graduations are not known.
    pub fn of_gauge(
        gauge: &Gauge,
        kind: HoldKind,
        units: UnitSystem,
        switched: Option<UnitSystem>,
    ) -> Self {
        let Some(unit) = gauge.resolution.as_ref().map(Quantity::unit) else {
            return if kind == HoldKind::Vacuum {
                Self::vacuum(units)
            } else {
                Self::gauge(units)
            };
        };
        let from = match (kind, unit) {
            (HoldKind::Pressure, _) => From::Air,
            (HoldKind::Vacuum, "micron" | "Torr" | "Pa") => From::Nothing,
            (HoldKind::Vacuum, _) => From::Vacuum,
        };
        Self { unit, from }.carried_over(switched)
    }

    /// For a vacuum that no gauge of the record has read: a dial's, in the reader's units.
    pub const fn vacuum(units: UnitSystem) -> Self {
        match units {
            UnitSystem::Si => Self {
                unit: "kPa",
                from: From::Vacuum,
            },
            UnitSystem::Us => Self {
                unit: "inHg",
                from: From::Vacuum,
            },
        }
    }

    /// For a pressure above the air that no gauge of the record has read, in the reader's units.
    pub const fn gauge(units: UnitSystem) -> Self {
        match units {
            UnitSystem::Si => Self {
                unit: "kPa",
                from: From::Air,
            },
            UnitSystem::Us => Self {
                unit: "psi",
                from: From::Air,
            },
        }
    }

    /// Of an electronic vacuum gauge.
    pub const fn electronic() -> Self {
        Self {
            unit: "micron",
            from: From::Nothing,
        }
    }

    /// The unit alone: `inHg`.
    pub const fn unit(self) -> &'static str {
        self.unit
    }

    fn carried_over(self, to: Option<UnitSystem>) -> Self {
        let unit = match (to, self.unit, self.from) {
            (Some(UnitSystem::Si), "inHg" | "psi", _) => "kPa",
            (Some(UnitSystem::Si), "micron", _) => "Pa",
            (Some(UnitSystem::Us), "kPa" | "mbar" | "bar" | "MPa" | "mmHg", From::Vacuum) => "inHg",
            (Some(UnitSystem::Us), "kPa" | "bar" | "MPa" | "mbar", From::Air) => "psi",
            (Some(UnitSystem::Us), "Pa" | "mbar", From::Nothing) => "micron",
            (Some(UnitSystem::Us), "kPa" | "bar" | "MPa", From::Nothing) => "psi",
            (_, unit, _) => unit,
        };
        Self { unit, ..self }
    }

    /// An absolute pressure (Pa) as the gauge shows it in air of that pressure (Pa): `28 inHg vacuum`, `400 micron`, `150 psig`, `1034 kPa gauge`.
    pub fn pressure(self, pa: f64, air_pa: f64) -> String {
        match self.from {
            From::Nothing if pa <= 0.0 => format!("0 {}", self.absolute_unit()),
            From::Nothing => format!("{} {}", self.number(pa), self.absolute_unit()),
            From::Vacuum if pa > air_pa => Self {
                unit: if self.unit == "inHg" {
                    "psi"
                } else {
                    self.unit
                },
                from: From::Air,
            }
            .pressure(pa, air_pa),
            From::Vacuum => format!("{} {} vacuum", self.number(air_pa - pa), self.unit),
            From::Air if pa < air_pa && self.unit == "psi" => Self {
                unit: "inHg",
                from: From::Vacuum,
            }
            .pressure(pa, air_pa),
            From::Air if pa < air_pa => Self {
                from: From::Vacuum,
                ..self
            }
            .pressure(pa, air_pa),
            From::Air if self.unit == "psi" => format!("{} psig", self.number(pa - air_pa)),
            From::Air => format!("{} {} gauge", self.number(pa - air_pa), self.unit),
        }
    }

    /// The same of what is only usual, to two digits: `70 kPa gauge`, `230 psig`.
    pub fn about(self, pa: f64, air_pa: f64) -> String {
        let size = show::unit_size(self.unit).unwrap_or(1.0);
        let from = if self.from == From::Nothing {
            0.0
        } else {
            air_pa
        };
        let above = (pa - from) / size;
        let rounded = show::significant(above, 2).parse().unwrap_or(above);
        self.pressure(from + rounded * size, air_pa)
    }

    /// The same gauge's voice in the system of units that another speaks in.
    pub fn beside(self, other: Self) -> Self {
        if self.system() == other.system() {
            self
        } else {
            self.carried_over(Some(other.system()))
        }
    }

    /// What the gauge shows where its reading is as deep as it can be told: below that nothing is known.
    pub fn depth(self, pa: f64, air_pa: f64) -> String {
        if pa > 0.0 {
            self.pressure(pa, air_pa)
        } else {
            "the limit of the gauge".to_owned()
        }
    }

    /// A difference of pressures (Pa): `0.5 inHg`, `90 micron`, `3 psi`.
    pub fn difference(self, pa: f64) -> String {
        format!("{} {}", self.number(pa), self.unit)
    }

    /// The pressure of the surrounding air (Pa), for a sentence about this gauge: `101.3 kPa abs`, `14.7 psia`.
    pub fn air(self, air_pa: f64) -> String {
        show::pressure(crate::units::AbsolutePressure::new(air_pa), self.system())
    }

    /// The same with how far it may be off (Pa): `101.3 ± 1.2 kPa abs`.
    pub fn air_within(self, air_pa: f64, by_pa: f64) -> String {
        show::pressure_within(
            crate::units::AbsolutePressure::new(air_pa),
            crate::units::PressureDifference::new(by_pa),
            self.system(),
        )
    }

    /// The system of units that the gauge's unit belongs to; the metric one where it belongs to both.
    fn system(self) -> UnitSystem {
        if matches!(self.unit, "inHg" | "psi" | "micron") {
            UnitSystem::Us
        } else {
            UnitSystem::Si
        }
    }

    fn absolute_unit(self) -> String {
        // Torr and micron count from perfect vacuum by what they are.
        if matches!(self.unit, "micron" | "Torr") {
            self.unit.to_owned()
        } else {
            format!("{} abs", self.unit)
        }
    }

    /// With the decimals that a gauge of the unit has, more where the number is small, and no zeros behind them.
    fn number(self, pa: f64) -> String {
        let value = pa / show::unit_size(self.unit).unwrap_or(1.0);
        let usual = match self.unit {
            "inHg" | "kPa" | "Torr" => 1,
            "bar" => 2,
            "MPa" => 3,
            _ => 0,
        };
        let usual = if self.from == From::Air && self.unit == "kPa" && value.abs() >= 100.0 {
            0
        } else {
            usual
        };
        // What would be told as nothing, and is something, has two digits that count.
        let small = value.abs() < 10f64.powi(1 - usual) && value != 0.0;
        let text = if small {
            show::significant(value, 2)
        } else {
            show::decimals(value, usual as usize)
        };
        if text.contains('.') {
            text.trim_end_matches('0').trim_end_matches('.').to_owned()
        } else {
            text
        }
    }
}
