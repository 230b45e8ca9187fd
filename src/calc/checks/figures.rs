//! The figures: what can be computed from what is recorded; `null` where it cannot.
use super::{case::Case, circuit, gauge, hose::Known, loss, oil, timeline::live};
use crate::{
    physics::leak::R,
    record::{
        Performance, Standing,
        answer::{
            Assumed, ChargeFigures, Figures, LossFigures, PerformanceFigures, StandingFigures,
        },
    },
    units::{AbsolutePressure, Mass, Temperature, TemperatureDifference, UnitSystem, show},
};

/// All figures.
pub fn of(case: &Case<'_>) -> Figures {
    Figures {
        site: case.site.figures(),
        standing: live(&case.record.standing, "standing")
            .map(|(_, _, s)| {
                standing_of(case, s).map_or_else(StandingFigures::default, |f| StandingFigures {
                    saturation_pressure_pa: Some(f.saturation_pa),
                    excess_pa: Some(f.excess_pa),
                })
            })
            .collect(),
        recovered_kg: recovered(case),
        loss: lost(case),
        evacuations: case.evacuations.iter().map(|e| e.figures.clone()).collect(),
        holds: case.holds.iter().map(|h| h.figures.clone()).collect(),
        charge: charge(case),
        oil: oil::figures(case),
        performance: live(&case.record.performance, "performance")
            .map(|(_, _, p)| performance_of(case, p))
            .collect(),
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
    let pressure = gauge::loose(
        s.pressure.as_ref()?,
        case.site.air(s.barometer.as_ref()).0,
        case.limits,
    );
    let warmer = Temperature::new(ambient.k() + case.limits.standing_excess_temperature.k());
    let two_kelvin = fluid
        .saturation_pressure(warmer)
        .map_or(0.0, |p| p.pa() - saturation_pa);
    Some(StandingFacts {
        saturation_pa,
        excess_pa: pressure.raw_pa - saturation_pa,
        allowed_pa: case.limits.standing_excess.pa().max(two_kelvin),
    })
}

/// All refrigerant recovered, kg; `None` where nothing was, or not all of it was weighed.
pub fn recovered(case: &Case<'_>) -> Option<f64> {
    if case.recoveries.is_empty() {
        None
    } else {
        case.recoveries.iter().map(|r| r.kg).sum()
    }
}

/// What had been lost before the car came: by weight, else as far as a standing pressure bounds it.
fn lost(case: &Case<'_>) -> LossFigures {
    if let Some(l) = loss::loss(case) {
        return LossFigures {
            lost_kg: Some(l.lost_kg),
            kg_per_year: l.kg_per_year,
            charged_kg: Some(l.charged_kg),
            at_least_kg: Some(l.lost.low),
            at_most_kg: Some(l.lost.high),
            over_kg: Some(l.recovered.kg - l.charged_kg).filter(|over| *over > 0.0),
        };
    }
    let bounded = if case.recoveries.is_empty() {
        loss::by_pressure(case)
    } else {
        None
    };
    bounded.map_or_else(LossFigures::default, |b| LossFigures {
        charged_kg: Some(b.charged_kg),
        at_least_kg: Some(b.least_kg),
        at_most_kg: Some(b.most_kg),
        ..LossFigures::default()
    })
}

/// The charge, and the air that the vacuum left.
pub fn charge(case: &Case<'_>) -> ChargeFigures {
    let span = case.net();
    let net = span.map(|n| n.kg);
    let air = air_left(case).map(|a| a.kg);
    let of = net
        .filter(|n| *n > 0.0)
        .or(case.target.map(|t| t.kg))
        .filter(|kg| *kg > 0.0);
    ChargeFigures {
        net_in_kg: net,
        net_uncertainty_kg: span.map(|n| n.uncertainty()),
        net_low_kg: span.map(|n| n.low),
        net_high_kg: span.map(|n| n.high),
        is: case.charge_is(),
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
    let holds = case
        .holds
        .iter()
        .filter(|h| h.kind == Some(crate::record::HoldKind::Vacuum) && h.impossible_pa.is_none())
        .filter_map(|h| {
            let (last, pa) = (h.last?, h.last_pa?);
            let key = || format!("holds.{}.{}.temperature", h.id, h.ends[1]);
            before(last.ms).then(|| (last.ms, 1, pa, h.last_temperature.map(|t| t.k()), key()))
        });
    let metal = case.last_evacuation().and_then(|e| e.metal).map(|t| t.k());
    let evacuations = case
        .evacuations
        .iter()
        .filter(|e| e.counts())
        .filter_map(|e| {
            let (ms, pa) = e
                .pressures
                .iter()
                .copied()
                .filter(|(ms, _)| before(*ms))
                .max_by_key(|(ms, _)| *ms)?;
            Some((
                ms,
                0,
                pa,
                e.metal.map(|t| t.k()),
                format!("evacuations.{}.coldest_metal", e.id),
            ))
        });
    let (_, _, pa, t, key) = holds.chain(evacuations).max_by_key(|x| (x.0, x.1))?;
    // 0 K is no temperature that metal was read at.
    let known = t.or(metal).filter(|t| *t > 0.0);
    let at_k = known.unwrap_or(case.limits.assumed_temperature.k());
    let molar_mass = crate::physics::gas::Gas::Air.properties().molar_mass;
    let kg = pa * case.bench.volume.middle * molar_mass / (R * at_k);
    Some(AirLeft {
        kg,
        at_k,
        assumed: if known.is_none() { Some(key) } else { None },
    })
}

/// A performance reading's figures.
pub fn performance_of(case: &Case<'_>, p: &Performance) -> PerformanceFigures {
    let air = case.site.air(p.barometer.as_ref()).0;
    let absolute = |q: &Option<crate::units::Quantity<crate::units::Pressure>>| {
        q.as_ref()
            .map(|q| gauge::loose(q, air, case.limits))
            .filter(|a| !a.impossible)
            .map(|a| a.pa)
    };
    let (low, high) = (absolute(&p.low_side), absolute(&p.high_side));
    let fluid = circuit::fluid(case.record.system.refrigerant);
    let saturation = |pa: Option<f64>| {
        fluid
            .zip(pa)
            .and_then(|(f, pa)| f.saturation_temperature(AbsolutePressure::new(pa)))
            .map(|t| t.k())
    };
    let (evaporating_k, condensing_k) = (saturation(low), saturation(high));
    let kelvin = |t: &Option<crate::units::Quantity<Temperature>>| t.as_ref().map(|t| t.si().k());
    let difference = |a: Option<f64>, b: Option<f64>| {
        a.zip(b).map(|(a, b)| TemperatureDifference::new(a - b).k())
    };
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
        .map(|r| {
            (
                r.humidity_from.si().one(),
                r.humidity_to.si().one(),
                r.ambient.si().k(),
                r.vent.si().k(),
            )
        })
        .filter(|(from, to, ..)| humidity >= from - 1e-9 && humidity <= to + 1e-9)
        .collect();
    // Where two bands meet, the drier one holds.
    let from = rows.iter().map(|r| r.0).fold(f64::INFINITY, f64::min);
    rows.retain(|r| r.0 <= from + 1e-9);
    rows.sort_by(|a, b| a.2.total_cmp(&b.2));
    let pair = rows
        .windows(2)
        .find(|w| ambient_k >= w[0].2 - 1e-9 && ambient_k <= w[1].2 + 1e-9)?;
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
    all.extend(
        case.evacuations
            .iter()
            .filter(|e| e.resolution_assumed)
            .map(|e| resolution("evacuations", &e.id)),
    );
    all.extend(
        case.holds
            .iter()
            .filter(|h| h.resolution_assumed)
            .map(|h| resolution("holds", &h.id)),
    );
    // The bound takes the first reading's temperature, and with the bound the smallest leak.
    let bound = case
        .holds
        .iter()
        .filter(|h| h.figures.bound_pa.is_some() && h.first_temperature.is_none());
    all.extend(bound.map(|h| {
        temperature(
            format!("holds.{}.{}.temperature", h.id, h.ends[0]),
            "the bound and the smallest leak rest",
        )
    }));
    all.extend(
        air_left(case)
            .and_then(|a| a.assumed)
            .map(|key| temperature(key, "the air left rests")),
    );
    all.extend(
        case.holds
            .iter()
            .filter(|h| h.gas_assumed && h.start.is_some())
            .map(|h| Assumed {
                key: format!("holds.{}.gas", h.id),
                value: h.gas.word().into(),
                span: None,
                why: "not recorded; a pressure hold is usually made with it".into(),
            }),
    );
    all.extend(weighing(case));
    all
}

/// What the weighing rests on that is not recorded.
fn weighing(case: &Case<'_>) -> Vec<Assumed> {
    let typed = &case.record.limits;
    let assumed = |key: String, limit: &str, why: &str| Assumed {
        key,
        value: typed.in_force(limit).to_owned(),
        span: None,
        why: why.into(),
    };
    let scale = |section: &str, id: &str| {
        assumed(
            format!("{section}.{id}.scale.resolution"),
            "assumed_scale_resolution",
            "not recorded; that of a common refrigerant scale",
        )
    };
    let mut all: Vec<Assumed> = case
        .recoveries
        .iter()
        .filter(|r| r.resolution_assumed)
        .map(|r| scale("recovery", &r.id))
        .collect();
    all.extend(
        case.charges
            .iter()
            .filter(|c| c.resolution_assumed)
            .map(|c| scale("charging", &c.id)),
    );
    for c in &case.charges {
        match c.hose.how {
            Known::NotRecorded => {
                let most = show::mass(Mass::new(c.hose.kg.high), UnitSystem::Si);
                all.push(Assumed {
                    key: format!("charging.{}.left_in_hose", c.id),
                    value: "0 g".into(),
                    span: Some(format!("0 g to {most}")),
                    why: "not recorded: emptied, or a common hose full of liquid".into(),
                });
            }
            Known::Hose(_, false) => all.push(assumed(
                format!("charging.{}.hose.temperature", c.id),
                "assumed_temperature",
                "no temperature is on record before it; what the hose holds rests on it",
            )),
            Known::Hose(_, true) | Known::Weighed => {}
        }
    }
    all
}
