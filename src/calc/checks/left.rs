//! What a standing pressure says of the charge that is left.
use super::{
    case::Case,
    figures, gauge,
    timeline::{Rank, Stamp, live},
};
use crate::{
    record::Standing,
    units::{AbsolutePressure, Temperature},
};

/// What a standing pressure says of the charge that is left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Left {
    /// There may be liquid: the pressure is the refrigerant's own, whatever the mass; this much vapour at least, kg.
    Liquid(f64),
    /// All of it is vapour: between these masses, kg. At the air's own pressure and below it may as well be air: then the least is nothing.
    Vapour(f64, f64),
}

/// What is left in a circuit at rest, by its pressure: from 97 % of saturation there may be liquid, below all of it is vapour, whose density the equation
/// of state gives. `None` where the refrigerant's properties are not known, or it has no saturation at that temperature.
pub fn left(case: &Case<'_>, pressure: AbsolutePressure, temperature: Temperature) -> Option<Left> {
    between(case, pressure.pa(), pressure.pa(), temperature)
}

/// The same for a pressure between these two, Pa.
pub fn between(
    case: &Case<'_>,
    low_pa: f64,
    high_pa: f64,
    temperature: Temperature,
) -> Option<Left> {
    let fluid = case.bench.fluid?;
    let volume = case.bench.volume;
    let liquid_from = case.limits.liquid_share.one() * fluid.saturation_pressure(temperature)?.pa();
    let density = |pa: f64| {
        if pa > 0.0 {
            fluid
                .vapour_density(temperature, AbsolutePressure::new(pa))
                .map(|d| d.kg_per_m3())
        } else {
            Some(0.0)
        }
    };
    let least = |pa: f64| density(pa.min(liquid_from)).map(|d| d * volume.low);
    if high_pa >= liquid_from {
        return Some(Left::Liquid(least(low_pa)?));
    }
    // What is not above the air's own pressure may be air.
    let low = if low_pa <= case.site.air.pressure.pa() {
        0.0
    } else {
        least(low_pa)?
    };
    Some(Left::Vapour(low, density(high_pa)? * volume.high))
}

/// A standing pressure that tells what is left.
#[derive(Debug, Clone, PartialEq)]
pub struct Told {
    /// Its id.
    pub id: String,
    /// When it was read.
    pub at: Option<Stamp>,
    /// What is left.
    pub left: Left,
    /// It is so near to the air's own pressure that the circuit counts as empty.
    pub empty: bool,
}

/// What each standing pressure tells, in the order of time. A car that is known not to have stood until it had one temperature tells
/// nothing, nor does a pressure above the refrigerant's own.
pub fn told(case: &Case<'_>) -> Vec<Told> {
    let mut all: Vec<Told> = live(&case.record.standing, "standing")
        .filter_map(|(i, id, s)| one(case, i, id, s))
        .collect();
    all.sort_by_key(|t| t.at);
    all
}

fn one(case: &Case<'_>, position: usize, id: String, s: &Standing) -> Option<Told> {
    if s.cold_soak == Some(false) {
        return None;
    }
    let air = case.site.air(s.barometer.as_ref()).0;
    let read = gauge::loose(s.pressure.as_ref()?, air, case.limits);
    // A pressure above the refrigerant's own is that of air or another gas too: it says nothing of the mass.
    if read.impossible || figures::standing_of(case, s).is_some_and(|f| f.excess_pa > f.allowed_pa)
    {
        return None;
    }
    // What a temperature that was not read would change is little against the volume.
    let temperature = s
        .ambient
        .as_ref()
        .map_or(case.limits.assumed_temperature, |t| t.si());
    let left = between(
        case,
        (read.raw_pa - read.below_pa).max(0.0),
        read.raw_pa.max(0.0) + read.uncertainty_pa,
        temperature,
    )?;
    let empty = (read.raw_pa - air.pressure.pa()).abs() <= case.limits.empty_within.pa();
    Some(Told {
        id,
        at: s.at.map(|at| Stamp::new(at, Rank::Found, position)),
        left,
        empty,
    })
}
