//! Evacuations: how deep, whether that dries, how long.
use super::{
    gauge::GaugeFacts,
    limits::Limits,
    site::{Air, Site},
    timeline::{Rank, Stamp, live},
    voice::Voice,
};
use crate::{
    JobRecord,
    physics::water,
    record::{Evacuation, answer::EvacuationFigures},
    units::{AbsolutePressure, Temperature},
};

/// An evacuation as it counts.
#[derive(Debug, Clone)]
pub struct Evacuated {
    /// What findings point to it by.
    pub id: String,
    /// When the pump was started (or first read).
    pub start: Option<Stamp>,
    /// When it was closed off (or last read), ms.
    pub end_ms: Option<i64>,
    /// Its figures.
    pub figures: EvacuationFigures,
    /// A reading that cannot be, Pa absolute: the evacuation counts as none.
    pub impossible_pa: Option<f64>,
    /// The air that this reading was taken against; else the evacuation's.
    pub impossible_air: Air,
    /// The coldest metal.
    pub metal: Option<Temperature>,
    /// Saturation pressure of water there, Pa.
    pub water_pa: Option<f64>,
    /// One graduation, Pa.
    pub resolution_pa: f64,
    /// The gauge's zero error, Pa.
    pub error_pa: f64,
    /// The unit of its readings.
    pub unit: Option<&'static str>,
    /// Its gauge counts from perfect vacuum.
    pub absolute_gauge: bool,
    /// The resolution is not recorded.
    pub resolution_assumed: bool,
    /// The air outside.
    pub air: Air,
    /// Readings with a time: ms, Pa.
    pub pressures: Vec<(i64, f64)>,
}

impl Evacuated {
    /// It happened, and no impossible reading voids it.
    pub fn counts(&self) -> bool {
        self.impossible_pa.is_none()
    }
}

/// All evacuations that are not superseded, in the order of the list.
pub fn all(record: &JobRecord, limits: &Limits, site: &Site<'_>) -> Vec<Evacuated> {
    live(&record.evacuations, "evacuations")
        .map(|(position, id, e)| one(position, id, e, limits, site))
        .collect()
}

fn one(position: usize, id: String, e: &Evacuation, limits: &Limits, site: &Site<'_>) -> Evacuated {
    let (air, _) = site.air(e.barometer.as_ref());
    let gauge = GaugeFacts::of(e.gauge.as_ref(), limits);
    let readings: Vec<_> = live(&e.readings, "readings")
        .filter_map(|(_, _, r)| {
            let pressure = r.pressure.as_ref()?;
            let air = r
                .barometer
                .as_ref()
                .map_or(air, |own| site.air(Some(own)).0);
            let gauge = r
                .gauge
                .as_ref()
                .map_or(gauge, |own| GaugeFacts::of(Some(own), limits));
            Some((
                r.at,
                gauge.read(pressure.si(), air, limits),
                pressure.unit(),
                pressure.si().is_absolute(),
                air,
            ))
        })
        .collect();
    let times = || readings.iter().filter_map(|r| r.0);
    let start = e.started_at.or_else(|| times().min());
    let end = e.ended_at.or_else(|| times().max());
    let impossible = readings.iter().find(|r| r.1.impossible);
    let lowest = if impossible.is_some() {
        None
    } else {
        readings.iter().min_by(|a, b| a.1.pa.total_cmp(&b.1.pa))
    };
    let metal = e.coldest_metal.as_ref().map(|t| t.si());
    let water_pa = metal.and_then(water::saturation_pressure).map(|p| p.pa());
    let figures = EvacuationFigures {
        lowest_pa: lowest.map(|l| l.1.pa),
        uncertainty_pa: lowest.map(|l| l.1.uncertainty_pa),
        water_boils_at_k: lowest
            .and_then(|l| water::saturation_temperature(AbsolutePressure::new(l.1.pa)))
            .map(|t| t.k()),
        dries: lowest.zip(water_pa).and_then(|(l, psat)| {
            if l.1.pa + l.1.uncertainty_pa < psat {
                Some(true)
            } else if l.1.pa - l.1.below_pa > psat {
                Some(false)
            } else {
                None
            }
        }),
        duration_s: start
            .zip(end)
            .map(|(start, end)| end.seconds_since(start))
            .filter(|d| *d >= 0.0),
        stale_because: None,
    };
    Evacuated {
        id,
        start: start.map(|at| Stamp::new(at, Rank::Evacuation, position)),
        end_ms: end.map(|at| at.millis()),
        figures,
        impossible_pa: impossible.map(|r| r.1.raw_pa),
        impossible_air: impossible.map_or(air, |r| r.4),
        metal,
        water_pa,
        resolution_pa: gauge.resolution_pa,
        error_pa: gauge.error_pa,
        unit: lowest.or(readings.last()).map(|r| r.2),
        absolute_gauge: readings.last().is_some_and(|r| r.3),
        resolution_assumed: gauge.assumed,
        air,
        pressures: readings
            .iter()
            .filter_map(|r| Some((r.0?.millis(), r.1.pa)))
            .collect(),
    }
}

/// What a gauge has to show before water surely boils.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Needed {
    /// As calculated.
    pub exact: String,
    /// On the gauge's own graduations; `None` where it cannot show so little.
    pub on_gauge: Option<String>,
}

/// What a gauge has to show before water at this vapour pressure (Pa) surely boils, its uncertainty (Pa) included.
pub fn needed_on(
    psat: f64,
    uncertainty: f64,
    resolution_pa: f64,
    air: Air,
    absolute: bool,
    voice: Voice,
) -> Needed {
    let (step, air_pa) = (resolution_pa.max(1e-6), air.pressure.pa());
    let told = |pa: f64| voice.pressure(pa, air_pa);
    if absolute {
        let exact = psat - uncertainty;
        let on_gauge = ((exact / step).ceil() - 1.0) * step;
        return Needed {
            exact: told(exact.max(0.0)),
            on_gauge: (on_gauge > 0.0).then(|| told(on_gauge)),
        };
    }
    let exact = air_pa - psat + uncertainty;
    let on_gauge = ((exact / step).floor() + 1.0) * step;
    Needed {
        exact: told((air_pa - exact).max(0.0)),
        on_gauge: (on_gauge < air_pa).then(|| told(air_pa - on_gauge)),
    }
}
