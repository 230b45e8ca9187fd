//! From what a test saw to what the car loses: the same path, another gas, other pressures.
//!
//! Which way a path lets gas through is not known, so the answer is a range over three forms (Levenspiel, Engineering Flow and Heat
//! Exchange, 2014, 4.1.8; regimes: NASA/JPL Leakage Testing Handbook).
use super::{gas::Gas, refrigerant::Fluid};
use crate::units::{AbsolutePressure, LeakRate, Temperature};

/// Molar gas constant, J/(mol K) (exact in the SI of 2019).
pub const R: f64 = 8.314_462_618_153_24;
/// Seconds of a year of 365.25 days.
pub const YEAR_S: f64 = 365.25 * 86_400.0;
/// The temperature at which rates are compared.
pub const REFERENCE: Temperature = Temperature::new(298.15);

/// One side of the comparison: a gas that flows from a high to a low absolute pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Side {
    /// The gas that flows.
    pub gas: Gas,
    /// Where it comes from.
    pub high: AbsolutePressure,
    /// Where it goes.
    pub low: AbsolutePressure,
}

impl Side {
    /// A refrigerant in service: vapour at rest at 25 degC against the air of the site. `None` where it has no saturation there.
    pub fn in_service(fluid: Fluid, site: AbsolutePressure) -> Option<Self> {
        Some(Self {
            gas: Gas::Refrigerant(fluid),
            high: fluid.saturation_pressure(REFERENCE)?,
            low: site,
        })
    }
}

/// A throughput by each of the three forms, Pa m3/s.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Forms {
    /// Laminar viscous flow.
    pub laminar: f64,
    /// Choked flow through an orifice.
    pub choked: f64,
    /// Molecular flow.
    pub molecular: f64,
}

impl Forms {
    /// The least of the three.
    pub fn least(self) -> f64 {
        self.laminar.min(self.choked).min(self.molecular)
    }

    /// The greatest of the three.
    pub fn greatest(self) -> f64 {
        self.laminar.max(self.choked).max(self.molecular)
    }
}

/// A throughput (Pa m3/s) seen on the test side, as it would be on the service side. `None` where the test side has no pressure to drive it.
pub fn convert(throughput: f64, test: Side, service: Side) -> Option<Forms> {
    let (a, b) = (test.gas.properties(), service.gas.properties());
    let (h1, l1, h2, l2) = (
        test.high.pa(),
        test.low.pa(),
        service.high.pa(),
        service.low.pa(),
    );
    if !(h1 > l1 && l1 >= 0.0 && h2 > l2) {
        return None;
    }
    let choked = |p: super::gas::Properties| {
        let k = p.heat_capacity_ratio;
        (k / p.molar_mass).sqrt() * (0.5 * (k + 1.0)).powf(-(k + 1.0) / (2.0 * (k - 1.0)))
    };
    Some(Forms {
        laminar: throughput * (h2 * h2 - l2 * l2) / (h1 * h1 - l1 * l1) * a.viscosity / b.viscosity,
        choked: throughput * (h2 * choked(b)) / (h1 * choked(a)),
        molecular: throughput * (a.molar_mass / b.molar_mass).sqrt() * (h2 - l2) / (h1 - l1),
    })
}

/// Mass that a throughput (Pa m3/s) carries in a year, Q M/(R T) at 298.15 K.
pub fn mass_flow(throughput: f64, gas: Gas) -> LeakRate {
    LeakRate::new(throughput * gas.properties().molar_mass / (R * REFERENCE.k()) * YEAR_S)
}
