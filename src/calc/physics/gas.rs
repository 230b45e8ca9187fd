//! Gases that go through a leak: viscosity, molar mass and heat capacity ratio at 298.15 K, from data/gases.csv (sources there).
use super::refrigerant::Fluid;
use std::sync::LazyLock;

/// A gas in the circuit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Gas {
    /// Air.
    Air,
    /// Dry nitrogen.
    Nitrogen,
    /// A refrigerant's vapour.
    Refrigerant(Fluid),
}

/// What a leak asks of a gas.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Properties {
    /// Pa s.
    pub viscosity: f64,
    /// kg/mol.
    pub molar_mass: f64,
    /// cp/cv.
    pub heat_capacity_ratio: f64,
}

impl Gas {
    /// Properties at 298.15 K.
    pub fn properties(self) -> Properties {
        TABLE
            .iter()
            .find(|(name, _)| *name == self.name())
            .expect("every gas is in data/gases.csv, which is part of the program")
            .1
    }

    /// The name in the table.
    pub fn name(self) -> &'static str {
        match self {
            Gas::Air => "air",
            Gas::Nitrogen => "nitrogen",
            Gas::Refrigerant(fluid) => fluid.name(),
        }
    }
}

static TABLE: LazyLock<Vec<(&str, Properties)>> = LazyLock::new(|| {
    include_str!("data/gases.csv")
        .lines()
        .skip(1)
        .map(|line| {
            let mut cells = line.splitn(5, ',');
            let name = cells.next().unwrap_or_default();
            let mut number = || {
                cells
                    .next()
                    .and_then(|c| c.parse::<f64>().ok())
                    .expect("data/gases.csv, part of the program, has numbers in its columns")
            };
            let (viscosity, molar_mass, heat_capacity_ratio) =
                (number() * 1e-6, number() * 1e-3, number());
            (
                name,
                Properties {
                    viscosity,
                    molar_mass,
                    heat_capacity_ratio,
                },
            )
        })
        .collect()
});
