//! What a gauge's reading means in absolute pressure, and how far it may be off (checks: physics, item 2).
use super::{limits::Limits, site::Air};
use crate::{
    record::Gauge,
    units::{Pressure, Quantity},
};

/// How a gauge reads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GaugeFacts {
    /// One graduation or the last digit, Pa.
    pub resolution_pa: f64,
    /// Recorded zero error, Pa.
    pub error_pa: f64,
    /// The resolution is not recorded.
    pub assumed: bool,
}

impl GaugeFacts {
    /// From the record; a resolution that is not recorded is that of a common dial.
    pub fn of(gauge: Option<&Gauge>, limits: &Limits) -> Self {
        let resolution = gauge
            .and_then(|g| g.resolution.as_ref())
            .map(|r| r.si().pa());
        let error_pa = gauge
            .and_then(|g| g.error.as_ref())
            .map_or(0.0, |e| e.si().pa().abs());
        Self {
            resolution_pa: resolution.unwrap_or(limits.assumed_resolution.pa()),
            error_pa,
            assumed: resolution.is_none(),
        }
    }

    /// A reading, absolute: U = r/2 + error + w (w = 0 for an absolute gauge; upwards and downwards where the place is not known).
    pub fn read(&self, pressure: Pressure, air: Air, limits: &Limits) -> Absolute {
        let (above, below) = if pressure.is_absolute() {
            (0.0, 0.0)
        } else {
            (air.uncertainty_pa, air.below_pa)
        };
        let own = 0.5 * self.resolution_pa + self.error_pa;
        let (uncertainty_pa, below_pa) = (own + above, own + below);
        let raw_pa = pressure.absolute(air.pressure).pa();
        Absolute {
            pa: raw_pa.max(0.0),
            raw_pa,
            uncertainty_pa,
            below_pa,
            impossible: raw_pa < -uncertainty_pa.max(limits.impossible.pa()),
        }
    }
}

/// A reading in absolute pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Absolute {
    /// Pa, 0 where the gauge shows a little less than nothing.
    pub pa: f64,
    /// Pa as it comes out, perhaps below zero.
    pub raw_pa: f64,
    /// How far it may be above that, Pa; and below, but where nothing of the place is recorded.
    pub uncertainty_pa: f64,
    /// How far it may be below that, Pa.
    pub below_pa: f64,
    /// It cannot be: the gauge or the barometer is wrong.
    pub impossible: bool,
}

/// A pressure that belongs to no gauge of the shop's list (standing, performance): read as from a common dial.
pub fn loose(pressure: &Quantity<Pressure>, air: Air, limits: &Limits) -> Absolute {
    GaugeFacts::of(None, limits).read(pressure.si(), air, limits)
}
