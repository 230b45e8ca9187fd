//! The figures: what can be computed from what is recorded; `null` where it cannot.
use super::{case::Case, gauge, timeline::live};
use crate::{
    checks::circuit,
    physics::leak::R,
    record::{
        Performance, Standing,
        answer::{Assumed, ChargeFigures, Figures, LossFigures, OilFigures, PerformanceFigures, StandingFigures},
    },
    units::{AbsolutePressure, Temperature, TemperatureDifference},
};

/// Seconds of a year of 365.25 days.
const YEAR_S: f64 = crate::physics::leak::YEAR_S;

/// All figures.
pub fn of(case: &Case<'_>) -> Figures {
    Figures {
        site: case.site.figures(),
        standing: live(&case.record.standing, "standing")
            .map(|(_, _, s)| {
                standing_of(case, s)
                    .map_or_else(StandingFigures::default, |f| StandingFigures { saturation_pressure_pa: Some(f.saturation_pa), excess_pa: Some(f.excess_pa) })
            })
            .collect(),
        recovered_kg: recovered(case),
        loss: loss(case).map_or_else(LossFigures::default, |l| LossFigures { lost_kg: Some(l.lost_kg), kg_per_year: l.kg_per_year }),
        evacuations: case.evacuations.iter().map(|e| e.figures.clone()).collect(),
        holds: case.holds.iter().map(|h| h.figures.clone()).collect(),
        charge: charge(case),
        oil: oil(case),
        performance: live(&case.record.performance, "performance").map(|(_, _, p)| performance_of(case, p)).collect(),
        assumed: assumed(case),
    }
}

/// A standing pressure against the refrigerant's own.
pub struct StandingFacts {
    /// Saturation at the ambient temperature, Pa.
    pub saturation_pa: f64,
    /// The standing pressure above that, Pa.
    pub excess_pa: f64,
    /// How much may be, Pa.
    pub allowed_pa: f64,
}

/// A standing pressure's figures; `None` where pressure or temperature is not recorded, or the refrigerant has no saturation there.
pub fn standing_of(case: &Case<'_>, s: &Standing) -> Option<StandingFacts> {
    let fluid = circuit::fluid(case.record.system.refrigerant)?;
    let ambient = s.ambient.as_ref()?.si();
    let saturation_pa = fluid.saturation_pressure(ambient)?.pa();
    let pressure = gauge::loose(s.pressure.as_ref()?, case.site.air(s.barometer.as_ref()).0, case.limits);
    let warmer = Temperature::new(ambient.k() + case.limits.standing_excess_temperature.k());
    let two_kelvin = fluid.saturation_pressure(warmer).map_or(0.0, |p| p.pa() - saturation_pa);
    Some(StandingFacts { saturation_pa, excess_pa: pressure.raw_pa - saturation_pa, allowed_pa: case.limits.standing_excess.pa().max(two_kelvin) })
}

/// All refrigerant recovered, kg; `None` where nothing was, or not all of it was weighed.
pub fn recovered(case: &Case<'_>) -> Option<f64> {
    if case.recoveries.is_empty() { None } else { case.recoveries.iter().map(|r| r.kg).sum() }
}

/// What had been lost before the car came.
pub struct Loss {
    /// kg.
    pub lost_kg: f64,
    /// What was in it once, kg.
    pub charged_kg: f64,
    /// Years since the previous charge.
    pub years: Option<f64>,
    /// kg a year.
    pub kg_per_year: Option<f64>,
}

/// Found charge: the previous charge, else the label's, less what was recovered before the first charging.
pub fn loss(case: &Case<'_>) -> Option<Loss> {
    let previous = case.record.previous_charge.as_ref().filter(|p| !p.superseded);
    let charged_kg = previous.and_then(|p| p.mass.as_ref()).or(case.record.system.charge.as_ref())?.si().kg();
    let first_charge = case.charges.iter().filter_map(|c| c.at).min();
    let before: Vec<_> = case.recoveries.iter().filter(|r| first_charge.is_none_or(|c| r.at.is_some_and(|at| at < c))).collect();
    if before.is_empty() {
        return None;
    }
    let recovered: f64 = before.iter().map(|r| r.kg).sum::<Option<f64>>()?;
    let lost_kg = charged_kg - recovered;
    let years = previous
        .and_then(|p| p.at)
        .zip(before.iter().filter_map(|r| r.at).min())
        .map(|(then, now)| (now.ms - then.millis()) as f64 / 1e3 / YEAR_S)
        .filter(|y| *y > 0.0);
    Some(Loss { lost_kg, charged_kg, years, kg_per_year: years.map(|y| lost_kg / y) })
}

/// The charge, and the air that the vacuum left.
pub fn charge(case: &Case<'_>) -> ChargeFigures {
    let net = case.net_kg();
    let air = air_left(case).map(|a| a.kg);
    let of = net.filter(|n| *n > 0.0).or(case.target.map(|t| t.kg)).filter(|kg| *kg > 0.0);
    ChargeFigures {
        net_in_kg: net,
        difference_kg: net.zip(case.target).map(|(n, t)| n - t.kg),
        air_left_kg: air,
        air_left_ppm: air.zip(of).map(|(air, of)| air / of * 1e6),
    }
}

/// The air that the vacuum left.
pub struct AirLeft {
    /// kg.
    pub kg: f64,
    /// The temperature that it was reckoned at, K.
    pub at_k: f64,
    /// The key that would have said that temperature, where it is assumed.
    pub assumed: Option<String>,
}

/// p V M/(R T) with the last vacuum pressure recorded before charging and the temperature there.
pub fn air_left(case: &Case<'_>) -> Option<AirLeft> {
    // After the first charge since that vacuum there is no vacuum any more.
    let charged = case.net_charges().first().and_then(|c| c.at).map(|c| c.ms);
    let before = |ms: i64| charged.is_none_or(|c| ms <= c);
    let holds = case.holds.iter().filter(|h| h.kind == Some(crate::record::HoldKind::Vacuum) && h.impossible_pa.is_none()).filter_map(|h| {
        let (last, pa) = (h.last?, h.last_pa?);
        let key = || format!("holds.{}.{}.temperature", h.id, h.ends[1]);
        before(last.ms).then(|| (last.ms, 1, pa, h.last_temperature.map(|t| t.k()), key()))
    });
    let metal = case.last_evacuation().and_then(|e| e.metal).map(|t| t.k());
    let evacuations = case.evacuations.iter().filter(|e| e.counts()).filter_map(|e| {
        let (ms, pa) = e.pressures.iter().copied().filter(|(ms, _)| before(*ms)).max_by_key(|(ms, _)| *ms)?;
        Some((ms, 0, pa, e.metal.map(|t| t.k()), format!("evacuations.{}.coldest_metal", e.id)))
    });
    let (_, _, pa, t, key) = holds.chain(evacuations).max_by_key(|x| (x.0, x.1))?;
    // 0 K is no temperature that metal was read at.
    let known = t.or(metal).filter(|t| *t > 0.0);
    let at_k = known.unwrap_or(case.limits.assumed_temperature.k());
    let molar_mass = crate::physics::gas::Gas::Air.properties().molar_mass;
    let kg = pa * case.bench.volume.middle * molar_mass / (R * at_k);
    Some(AirLeft { kg, at_k, assumed: if known.is_none() { Some(key) } else { None } })
}

/// The oil's way out and in; `None` where nothing is recorded.
pub fn oil(case: &Case<'_>) -> OilFigures {
    let parts: Vec<_> = live(&case.record.parts, "parts").map(|(_, _, p)| p).collect();
    let sum = |values: Vec<f64>| if values.is_empty() { None } else { Some(values.iter().sum()) };
    let removed = parts.iter().filter_map(|p| p.oil_drained.as_ref()).map(|v| v.si().m3());
    let removed = removed.chain(live(&case.record.recovery, "recovery").filter_map(|(_, _, r)| r.oil.as_ref().map(|v| v.si().m3()))).collect();
    let added = parts.iter().filter_map(|p| p.oil_added.as_ref()).map(|v| v.si().m3());
    let added = added.chain(live(&case.record.oil_added, "oil_added").filter_map(|(_, _, o)| o.volume.as_ref().map(|v| v.si().m3()))).collect();
    OilFigures { removed_m3: sum(removed), added_m3: sum(added) }
}

/// A performance reading's figures.
pub fn performance_of(case: &Case<'_>, p: &Performance) -> PerformanceFigures {
    let air = case.site.air(p.barometer.as_ref()).0;
    let absolute = |q: &Option<crate::units::Quantity<crate::units::Pressure>>| {
        q.as_ref().map(|q| gauge::loose(q, air, case.limits)).filter(|a| !a.impossible).map(|a| a.pa)
    };
    let (low, high) = (absolute(&p.low_side), absolute(&p.high_side));
    let fluid = circuit::fluid(case.record.system.refrigerant);
    let saturation = |pa: Option<f64>| fluid.zip(pa).and_then(|(f, pa)| f.saturation_temperature(AbsolutePressure::new(pa))).map(|t| t.k());
    let (evaporating_k, condensing_k) = (saturation(low), saturation(high));
    let kelvin = |t: &Option<crate::units::Quantity<Temperature>>| t.as_ref().map(|t| t.si().k());
    let difference = |a: Option<f64>, b: Option<f64>| a.zip(b).map(|(a, b)| TemperatureDifference::new(a - b).k());
    PerformanceFigures {
        evaporating_k,
        condensing_k,
        pressure_ratio: high.zip(low).filter(|(_, l)| *l > 0.0).map(|(h, l)| h / l),
        superheat_k: difference(kelvin(&p.suction_line), evaporating_k),
        subcooling_k: difference(condensing_k, kelvin(&p.liquid_line)),
        condensing_above_ambient_k: difference(condensing_k, kelvin(&p.ambient)),
    }
}

/// The warmest air at the vent that is right, K: by the shop's table, straight between its rows; `None` beyond them, where
/// [`super::performance::vent`] goes on.
pub fn vent_allowed(case: &Case<'_>, ambient_k: f64, humidity: f64) -> Option<f64> {
    let mut rows: Vec<_> = case
        .limits
        .vent_table
        .iter()
        .map(|r| (r.humidity_from.si().one(), r.humidity_to.si().one(), r.ambient.si().k(), r.vent.si().k()))
        .filter(|(from, to, ..)| humidity >= from - 1e-9 && humidity <= to + 1e-9)
        .collect();
    // Where two bands meet, the drier one holds.
    let from = rows.iter().map(|r| r.0).fold(f64::INFINITY, f64::min);
    rows.retain(|r| r.0 <= from + 1e-9);
    rows.sort_by(|a, b| a.2.total_cmp(&b.2));
    let pair = rows.windows(2).find(|w| ambient_k >= w[0].2 - 1e-9 && ambient_k <= w[1].2 + 1e-9)?;
    let share = (ambient_k - pair[0].2) / (pair[1].2 - pair[0].2);
    Some(pair[0].3 + share * (pair[1].3 - pair[0].3))
}

fn assumed(case: &Case<'_>) -> Vec<Assumed> {
    let mut all: Vec<Assumed> = case.site.assumed().into_iter().collect();
    if !case.holds.is_empty() || case.evacuations.iter().any(|e| !e.pressures.is_empty()) {
        all.extend(case.bench.volume.assumption());
    }
    let typed = &case.record.limits;
    let resolution = |section: &str, id: &str| Assumed {
        key: format!("{section}.{id}.gauge.resolution"),
        value: typed.in_force("assumed_resolution").to_owned(),
        span: None,
        why: "not recorded; that of a common dial".into(),
    };
    let temperature = |key: String, what: &str| Assumed {
        key,
        value: typed.in_force("assumed_temperature").to_owned(),
        span: None,
        why: format!("not recorded; {what} on it"),
    };
    all.extend(case.evacuations.iter().filter(|e| e.resolution_assumed).map(|e| resolution("evacuations", &e.id)));
    all.extend(case.holds.iter().filter(|h| h.resolution_assumed).map(|h| resolution("holds", &h.id)));
    // The bound takes the first reading's temperature, and with the bound the smallest leak.
    let bound = case.holds.iter().filter(|h| h.figures.bound_pa.is_some() && h.first_temperature.is_none());
    all.extend(bound.map(|h| temperature(format!("holds.{}.{}.temperature", h.id, h.ends[0]), "the bound and the smallest leak rest")));
    all.extend(air_left(case).and_then(|a| a.assumed).map(|key| temperature(key, "the air left rests")));
    all.extend(case.holds.iter().filter(|h| h.gas_assumed && h.start.is_some()).map(|h| Assumed {
        key: format!("holds.{}.gas", h.id),
        value: h.gas.word().into(),
        span: None,
        why: "not recorded; a pressure hold is usually made with it".into(),
    }));
    all.extend(case.charges.iter().filter(|c| c.entry.before.is_some() && c.entry.left_in_hose.is_none()).map(|c| Assumed {
        key: format!("charging.{}.left_in_hose", c.id),
        value: "0 g".into(),
        span: Some("0 g to 69 g".into()),
        why: "not recorded".into(),
    }));
    all
}
