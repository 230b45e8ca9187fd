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
    /// From the record; else as large as a circuit of its charge is.
    pub fn of(record: &JobRecord, limits: &Limits) -> Self {
        match record
            .system
            .internal_volume
            .as_ref()
            .map(|v| v.si().m3())
            .filter(|v| *v > 0.0)
        {
            Some(v) => Self {
                low: v,
                middle: v,
                high: v,
                assumed: false,
            },
            None => Self::assumed(record, limits),
        }
    }

    /// Running, much the same share of any circuit is liquid, in the condenser, the drier and the liquid line, and the rest is vapour: the volume goes
    /// with the charge over the liquid's density. The assumed volumes are those of a car with 600 g of R-134a, from which another circuit's are scaled.
    /// A further evaporator and its long pipes hold more vapour for the same charge: they add to the most that it may be. Where no charge is recorded,
    /// they add to all three.
    fn assumed(record: &JobRecord, limits: &Limits) -> Self {
        let further = f64::from(record.system.evaporators.unwrap_or(1).clamp(1, 4) - 1)
            * limits.assumed_volume_evaporator.m3();
        let (low, middle, high) = (
            limits.assumed_volume_low.m3(),
            limits.assumed_volume.m3(),
            limits.assumed_volume_high.m3(),
        );
        let charge = target(record, limits).map(|t| t.kg).filter(|kg| *kg > 0.0);
        let Some(charge) = charge else {
            return Self {
                low: low + further,
                middle: middle + further,
                high: high + further,
                assumed: true,
            };
        };
        let liquid = |fluid: Fluid| {
            fluid
                .liquid_density(limits.assumed_temperature)
                .map(|d| d.kg_per_m3())
        };
        let lighter = fluid(record.system.refrigerant)
            .and_then(liquid)
            .zip(liquid(Fluid::R134a))
            .map_or(1.0, |(own, usual)| usual / own);
        let scale = charge / limits.assumed_volume_charge.kg() * lighter;
        let scale = if scale.is_finite() && scale > 0.0 {
            scale
        } else {
            1.0
        };
        Self {
            low: scale * low,
            middle: scale * middle,
            high: scale * high + further,
            assumed: true,
        }
    }

    /// What was assumed.
    pub fn assumption(&self) -> Option<Assumed> {
        let litres = |v: f64| format!("{} L", show::decimals(v * 1e3, 1));
        self.assumed.then(|| Assumed {
            key: "system.internal_volume".into(),
            value: litres(self.middle),
            span: Some(format!("{} to {}", litres(self.low), litres(self.high))),
            why: "not recorded: a usual circuit's, scaled by charge and evaporators".into(),
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
    let (mass, tolerance, instead) = match record
        .system
        .charge_in_force
        .as_ref()
        .and_then(|c| c.mass.as_ref().map(|m| (m, c.tolerance.as_ref())))
    {
        Some((mass, tolerance)) => (mass, tolerance, true),
        None => (
            record.system.charge.as_ref()?,
            record.system.charge_tolerance.as_ref(),
            false,
        ),
    };
    let kg = mass.si().kg();
    let default = limits
        .charge_tolerance
        .kg()
        .max(limits.charge_tolerance_share.one() * kg);
    Some(Target {
        kg,
        tolerance_kg: tolerance.map_or(default, |t: &Quantity<_>| t.si().kg()),
        instead,
    })
}
