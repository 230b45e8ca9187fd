//! What stays in a charging hose: it left the cylinder, and is not in the car.
use super::{case::Case, circuit, ledger::Span, limits::Limits, timeline::live};
use crate::{
    JobRecord,
    physics::{cylinder::FILL_TEMPERATURE, refrigerant::Fluid},
    record::{Charging, Hose, HoseState, Refrigerant},
    units::{Length, Temperature},
};

/// What stayed in the hose of a charging.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InHose {
    /// How much, kg.
    pub kg: Span,
    /// How that is known.
    pub how: Known,
}

/// How it is known what stayed in a hose.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Known {
    /// It was weighed, or nothing was charged through a hose from a cylinder.
    Weighed,
    /// It follows from the hose, at this temperature; whether that is recorded.
    Hose(Temperature, bool),
    /// Nothing is recorded: between nothing and a common hose full of liquid.
    NotRecorded,
}

/// What stayed in the hose of this charging.
pub fn of(record: &JobRecord, charging: &Charging, limits: &Limits, resolution_kg: f64) -> InHose {
    let weighed = |kg: f64| InHose {
        kg: if kg == 0.0 {
            Span::exactly(0.0)
        } else {
            Span::give(kg, 0.5 * resolution_kg)
        },
        how: Known::Weighed,
    };
    if let Some(left) = &charging.left_in_hose {
        return weighed(left.si().kg());
    }
    let refrigerant = charging.refrigerant.unwrap_or(record.system.refrigerant);
    if let Some(volume) = charging.hose.as_ref().and_then(volume_of) {
        let (at, recorded) = temperature(record, charging, limits);
        if let Some(kg) = circuit::fluid(refrigerant)
            .and_then(|fluid| held(fluid, volume, charging.hose.as_ref()?.state, at, limits))
        {
            return InHose {
                kg,
                how: Known::Hose(at, recorded),
            };
        }
    }
    if charging.before.is_none() || charging.after.is_none() {
        return weighed(0.0);
    }
    InHose {
        kg: Span {
            kg: 0.0,
            low: 0.0,
            high: full(refrigerant, limits).1,
        },
        how: Known::NotRecorded,
    }
}

/// The volume of a hose, m3: its length times the area of its bore. `None` where one of them is not recorded, or not above zero.
pub fn volume_of(hose: &Hose) -> Option<f64> {
    let above_zero = |l: &crate::units::Quantity<Length>| Some(l.si().m()).filter(|m| *m > 0.0);
    Some(volume(
        above_zero(hose.length.as_ref()?)?,
        above_zero(hose.bore.as_ref()?)?,
    ))
}

fn volume(length_m: f64, bore_m: f64) -> f64 {
    0.25 * std::f64::consts::PI * bore_m * bore_m * length_m
}

/// What a hose of this volume (m3) holds, closed off at this temperature: liquid, saturated vapour, or somewhere between the two where nobody saw which.
/// `None` where the refrigerant has no saturation there.
pub fn held(
    fluid: Fluid,
    volume_m3: f64,
    state: Option<HoseState>,
    at: Temperature,
    limits: &Limits,
) -> Option<Span> {
    let liquid = fluid.liquid_density(at)?.kg_per_m3() * volume_m3;
    let vapour = fluid.saturated_vapour_density(at)?.kg_per_m3() * volume_m3;
    let share = limits.hose_share.one();
    Some(match state {
        Some(HoseState::Liquid) => Span::give(liquid, share * liquid),
        Some(HoseState::Vapour) => Span::give(vapour, share * vapour),
        None => {
            let (low, high) = (vapour * (1.0 - share), liquid * (1.0 + share));
            Span {
                kg: 0.5 * (low + high),
                low,
                high,
            }
        }
    })
}

/// What common hoses hold full of liquid at 25 degC, from the narrow one to the wide one, kg: 39 to 69 g of R-134a, 36 to 62 g of R-1234yf. Of a
/// refrigerant without properties as much as of the densest that has.
pub fn full(refrigerant: Refrigerant, limits: &Limits) -> (f64, f64) {
    let density = |fluid: Fluid| {
        fluid
            .liquid_density(FILL_TEMPERATURE)
            .map_or(0.0, |d| d.kg_per_m3())
    };
    let density = circuit::fluid(refrigerant).map_or_else(
        || Fluid::ALL.into_iter().map(density).fold(0.0, f64::max),
        density,
    );
    let of = |bore: Length| density * volume(limits.hose_length.m().max(0.0), bore.m());
    let (narrow, wide) = (of(limits.hose_bore_narrow), of(limits.hose_bore_wide));
    (narrow.min(wide), narrow.max(wide))
}

/// The temperature of the workshop when it was charged: the last one on record before, of the metal or of the air; whether there is one.
fn temperature(record: &JobRecord, charging: &Charging, limits: &Limits) -> (Temperature, bool) {
    let until = charging.at.map_or(i64::MAX, |at| at.millis());
    let standing = live(&record.standing, "standing")
        .filter_map(|(_, _, s)| Some((s.at?.millis(), s.ambient.as_ref()?.si())));
    let evacuations = live(&record.evacuations, "evacuations").filter_map(|(_, _, e)| {
        Some((
            e.ended_at.or(e.started_at)?.millis(),
            e.coldest_metal.as_ref()?.si(),
        ))
    });
    let holds = live(&record.holds, "holds").flat_map(|(_, _, h)| {
        live(&h.readings, "readings")
            .filter_map(|(_, _, r)| Some((r.at?.millis(), r.temperature.as_ref()?.si())))
            .collect::<Vec<_>>()
    });
    let last = standing
        .chain(evacuations)
        .chain(holds)
        .filter(|(ms, t)| *ms <= until && t.k() > 0.0)
        .max_by_key(|(ms, _)| *ms);
    last.map_or((limits.assumed_temperature, false), |(_, t)| (t, true))
}

/// What common hoses hold of this circuit's refrigerant, full of liquid, kg.
pub fn usual(case: &Case<'_>, charging: &Charging) -> (f64, f64) {
    full(
        charging
            .refrigerant
            .unwrap_or(case.record.system.refrigerant),
        case.limits,
    )
}
