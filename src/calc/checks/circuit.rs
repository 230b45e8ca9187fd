//! The circuit's own facts: volume, charge in force, what gas is in it.
use super::limits::Limits;
use crate::{
    JobRecord,
    physics::refrigerant::Fluid,
    record::{Refrigerant, answer::Assumed},
    units::{Quantity, show},
};

/// The refrigerant with an equation of state; `None` for one whose properties are not known here.
pub fn fluid(refrigerant: Refrigerant) -> Option<Fluid> {
    Fluid::from_name(refrigerant.word())
}

/// The circuit's volume, m3: as recorded, or between the assumed bounds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CircuitVolume {
    /// The least it may be.
    pub low: f64,
    /// What is taken where one value is needed.
    pub middle: f64,
    /// The most it may be.
    pub high: f64,
    /// Not recorded.
    pub assumed: bool,
}

impl CircuitVolume {
    /// From the record.
    pub fn of(record: &JobRecord, limits: &Limits) -> Self {
        match record.system.internal_volume.as_ref().map(|v| v.si().m3()).filter(|v| *v > 0.0) {
            Some(v) => Self { low: v, middle: v, high: v, assumed: false },
            None => Self { low: limits.assumed_volume_low.m3(), middle: limits.assumed_volume.m3(), high: limits.assumed_volume_high.m3(), assumed: true },
        }
    }

    /// What was assumed.
    pub fn assumption(&self) -> Option<Assumed> {
        let litres = |v: f64| format!("{} L", show::decimals(v * 1e3, 1));
        self.assumed.then(|| Assumed {
            key: "system.internal_volume".into(),
            value: litres(self.middle),
            span: Some(format!("{} to {}", litres(self.low), litres(self.high))),
            why: "not recorded".into(),
        })
    }
}

/// The charge that holds, with its give or take, kg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Target {
    /// kg.
    pub kg: f64,
    /// kg either way.
    pub tolerance_kg: f64,
    /// It is not the label's.
    pub instead: bool,
}

/// The charge in force, else the label's.
pub fn target(record: &JobRecord, limits: &Limits) -> Option<Target> {
    let (mass, tolerance, instead) = match record.system.charge_in_force.as_ref().and_then(|c| c.mass.as_ref().map(|m| (m, c.tolerance.as_ref()))) {
        Some((mass, tolerance)) => (mass, tolerance, true),
        None => (record.system.charge.as_ref()?, record.system.charge_tolerance.as_ref(), false),
    };
    let kg = mass.si().kg();
    let default = limits.charge_tolerance.kg().max(limits.charge_tolerance_share.one() * kg);
    Some(Target { kg, tolerance_kg: tolerance.map_or(default, |t: &Quantity<_>| t.si().kg()), instead })
}
