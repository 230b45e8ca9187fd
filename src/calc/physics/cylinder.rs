//! Refrigerant cylinders: how much may be in one, when liquid fills it, and whether there is air above the liquid.
use super::refrigerant::Fluid;
use crate::units::PSI;
use crate::units::{AbsolutePressure, GaugePressure, Mass, PressureDifference, Temperature};

/// Density of water that a water capacity is told by, kg/m3, at 77 degF (AHRI Guideline K).
pub const WATER_KG_PER_M3: f64 = 997.05;
/// The temperature at which a fill limit is told: 77 degF.
pub const FILL_TEMPERATURE: Temperature = Temperature::new(298.15);
/// The share of a cylinder that liquid may take at 77 degF (AHRI Guideline K).
pub const FILL_SHARE: f64 = 0.80;
/// Below this temperature liquid must not fill a cylinder (49 CFR 173.304(b)).
pub const LIQUID_FULL: Temperature = Temperature::from_celsius(55.0);
/// How far a standing cylinder may be above saturation: 5 psi (SAE J2211, table 1, from memory: its rows are saturation + 5 psi, rounded down).
pub const ALLOWED_EXCESS: PressureDifference = PressureDifference::new(5.0 * PSI);
/// The same for CFC-12: 10 psi, which gives the 80 psig at 70 degF of 40 CFR 82 subpart B, appendix A (SAE J1989, 5.4).
pub const ALLOWED_EXCESS_R12: PressureDifference = PressureDifference::new(10.0 * PSI);

/// Highest pressure allowed in a standing cylinder of HFC-134a, degF and psig: SAE J2211, table 1, from memory.
pub const PRINTED_R134A: [(f64, f64); 12] = [
    (65.0, 69.0),
    (70.0, 76.0),
    (75.0, 83.0),
    (80.0, 91.0),
    (85.0, 100.0),
    (90.0, 109.0),
    (95.0, 118.0),
    (100.0, 129.0),
    (105.0, 139.0),
    (110.0, 151.0),
    (115.0, 163.0),
    (120.0, 176.0),
];

/// The largest mass of a substance of this specific gravity (liquid at 77 degF against water of 997.05 kg/m3): 0.80 x water capacity x specific
/// gravity (AHRI Guideline K).
pub fn largest_net_of(specific_gravity: f64, water_capacity: Mass) -> Mass {
    Mass::new(FILL_SHARE * water_capacity.kg() * specific_gravity)
}

/// The largest mass of a refrigerant. `None` for R-744: above 31 degC there is no liquid whose level could be limited; its cylinders are filled by
/// the ratio that is stamped on them.
pub fn largest_net(fluid: Fluid, water_capacity: Mass) -> Option<Mass> {
    if fluid.critical_temperature() <= LIQUID_FULL {
        return None;
    }
    Some(largest_net_of(
        fluid.liquid_density(FILL_TEMPERATURE)?.kg_per_m3() / WATER_KG_PER_M3,
        water_capacity,
    ))
}

/// The largest gross mass that is safe: tare and [`largest_net`].
pub fn largest_gross(fluid: Fluid, tare: Mass, water_capacity: Mass) -> Option<Mass> {
    Some(tare + largest_net(fluid, water_capacity)?)
}

/// Where this mass of refrigerant fills the cylinder with liquid: warmer, it bursts or blows off. `None` where that does not come before the
/// critical point, or where it would be full below -40 degC.
pub fn liquid_full_at(fluid: Fluid, net: Mass, water_capacity: Mass) -> Option<Temperature> {
    let full = net.kg() / (water_capacity.kg() / WATER_KG_PER_M3);
    let density = |k: f64| {
        fluid
            .liquid_density(Temperature::new(k))
            .map(|d| d.kg_per_m3())
    };
    let (mut low, mut high) = (
        233.15_f64.max(fluid.triple_temperature().k()),
        fluid.critical_temperature().k() - 0.1,
    );
    if !(density(low)? >= full && density(high)? <= full) {
        return None;
    }
    // The density of a saturated liquid falls all the way.
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        if density(middle)? > full {
            low = middle
        } else {
            high = middle
        }
    }
    Some(Temperature::new(0.5 * (low + high)))
}

/// What a standing cylinder's pressure says about air in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AirSays {
    /// No more than is allowed.
    Clear,
    /// There is more gas above the liquid than the refrigerant's own vapour.
    Excess,
    /// Less than the refrigerant's own pressure: no liquid is left, or the thermometer is wrong. Then the pressure says nothing of air.
    NoLiquid,
}

/// A standing cylinder's pressure against its refrigerant's own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandingCylinder {
    /// The refrigerant's own pressure at that temperature.
    pub saturation: AbsolutePressure,
    /// The pressure above that; negative below it.
    pub excess: PressureDifference,
    /// How much above is allowed.
    pub allowed: PressureDifference,
    /// What one kelvin more moves the refrigerant's own pressure by.
    pub per_kelvin: PressureDifference,
    /// What that says.
    pub says: AirSays,
}

impl StandingCylinder {
    /// The share of the gas above the liquid that is not the refrigerant's own vapour, by amount; 0 where there is none (Dalton's law).
    pub fn share_of_air(self) -> f64 {
        let excess = self.excess.pa().max(0.0);
        excess / (self.saturation.pa() + excess)
    }

    /// Whether a thermometer that is wrong by one kelvin would turn the answer.
    pub fn is_close(self) -> bool {
        let away = |limit: f64| (self.excess.pa() - limit).abs() < self.per_kelvin.pa();
        away(self.allowed.pa()) || away(-self.allowed.pa())
    }
}

/// How far above its refrigerant's own pressure a cylinder may stand.
pub fn allowed_excess(fluid: Fluid) -> PressureDifference {
    if fluid == Fluid::R12 {
        ALLOWED_EXCESS_R12
    } else {
        ALLOWED_EXCESS
    }
}

/// Judges a cylinder that stood until it had the temperature of its surroundings (12 h at 65 degF or warmer, out of the sun: SAE J2211, from memory).
/// `None` where the refrigerant has no saturation at that temperature.
pub fn standing(
    fluid: Fluid,
    temperature: Temperature,
    pressure: AbsolutePressure,
) -> Option<StandingCylinder> {
    let saturation = fluid.saturation_pressure(temperature)?;
    let warmer = fluid.saturation_pressure(Temperature::new(temperature.k() + 1.0))?;
    let excess = PressureDifference::new(pressure.pa() - saturation.pa());
    let allowed = allowed_excess(fluid);
    let says = match excess.pa() {
        e if e > allowed.pa() => AirSays::Excess,
        e if e < -allowed.pa() => AirSays::NoLiquid,
        _ => AirSays::Clear,
    };
    Some(StandingCylinder {
        saturation,
        excess,
        allowed,
        per_kelvin: PressureDifference::new(warmer.pa() - saturation.pa()),
        says,
    })
}

/// The printed table for HFC-134a at a temperature, straight between its rows; `None` beyond them (65 to 120 degF).
pub fn printed_limit(temperature: Temperature) -> Option<GaugePressure> {
    let f = temperature.k() * 1.8 - 459.67;
    let pair = PRINTED_R134A
        .windows(2)
        .find(|w| (w[0].0 - 1e-9..=w[1].0 + 1e-9).contains(&f))?;
    let share = (f - pair[0].0) / (pair[1].0 - pair[0].0);
    Some(GaugePressure::new(
        (pair[0].1 + share * (pair[1].1 - pair[0].1)) * PSI,
    ))
}
