//! Holds: what a gauge that was watched says, and what it could have said.
use super::{
    circuit::{self, CircuitVolume},
    course::Course,
    explain::Curve,
    gauge::GaugeFacts,
    limits::Limits,
    readings::{self, Point, both_temperatures, corrected},
    site::{Air, Site},
    timeline::{Rank, Stamp, live, name},
};
use crate::{
    JobRecord,
    physics::{
        gas::Gas,
        leak::{Side, YEAR_S, convert, mass_flow},
        refrigerant::Fluid,
        water,
    },
    record::{
        Gas as TestGas, Hold, HoldKind,
        answer::{HoldFigures, Shape, Verdict},
    },
    units::{AbsolutePressure, PressureDifference, Temperature, UnitSystem, show},
};

/// A hold as it counts: its figures and what the rules need of it.
#[derive(Debug, Clone)]
pub struct Held {
    /// What findings point to it by.
    pub id: String,
    /// Vacuum or pressure; `None` where it is not said.
    pub kind: Option<HoldKind>,
    /// Gas of a pressure hold; nitrogen where it is not recorded.
    pub gas: TestGas,
    /// That gas is not recorded.
    pub gas_assumed: bool,
    /// When it was closed off: its first reading.
    pub start: Option<Stamp>,
    /// Its last reading.
    pub last: Option<Stamp>,
    /// It was ended.
    pub ended: bool,
    /// The verdict, also of a running hold.
    pub says: Verdict,
    /// Its figures.
    pub figures: HoldFigures,
    /// A reading that cannot be: Pa absolute.
    pub impossible_pa: Option<f64>,
    /// The air that the reading was taken against that cannot be; else the hold's.
    pub impossible_air: Air,
    /// A pressure hold lacks a temperature at one end.
    pub temperature_missing: bool,
    /// One graduation, Pa.
    pub resolution_pa: f64,
    /// The resolution is not recorded.
    pub resolution_assumed: bool,
    /// First absolute pressure, Pa.
    pub first_pa: Option<f64>,
    /// Last absolute pressure as read, Pa.
    pub last_pa: Option<f64>,
    /// Temperature of the last reading.
    pub last_temperature: Option<Temperature>,
    /// The air that it was held against.
    pub air: Air,
    /// Pa/s against which a hold of refrigerant `other` is compared: (max(change, 0) + bound)/duration.
    pub shown_pa_per_s: Option<f64>,
    /// What drove the gas in the test.
    pub test: Option<Side>,
    /// The curve that gave the change, where five readings or more did.
    pub curve: Option<Curve>,
    /// Temperature of the first reading.
    pub first_temperature: Option<Temperature>,
    /// Both ends have a temperature.
    pub temperature_known: bool,
    /// What its first and its last reading are called; empty where there is none.
    pub ends: [String; 2],
    level: Option<f64>,
    short_of: Option<PressureDifference>,
}

impl Held {
    /// Ended and readable: it counts.
    pub fn counts(&self) -> bool {
        self.ended && self.says != Verdict::NotReadable
    }

    /// Ended and passed.
    pub fn passed(&self) -> bool {
        self.ended && self.says == Verdict::Held
    }

    /// It did not move beyond the bound, but its readings are too few or too coarse to call that stillness.
    pub fn stillness_not_shown(&self) -> bool {
        self.says == Verdict::Inconclusive && self.figures.shape == Some(Shape::Flat)
    }

    /// Let air or nitrogen into the circuit.
    pub fn let_gas_in(&self) -> bool {
        self.kind == Some(HoldKind::Pressure) && self.gas != TestGas::Refrigerant
    }

    /// Why it cannot be read, or why its verdict is open; with the pressure that it lacked, where it lacked one. (The figure `why` is the same in
    /// both systems of units, and so has none.)
    pub fn why(&self, units: UnitSystem) -> Option<String> {
        let least = self.short_of.map(|least| format!(" ({} at least)", show::pressure_difference(least, units)));
        self.figures.why.as_ref().map(|why| why.clone() + &least.unwrap_or_default())
    }

    /// Pressure at which a levelling-off comes to rest, Pa.
    pub fn level_pa(&self) -> Option<f64> {
        self.level
    }
}

/// Why a hold that moved by less than the bound is not called held.
const STILL_NOT_SHOWN: &str = "it moved by less than the gauge and the temperature may, but its readings are too few or too coarse to tell that from a rise";

/// What all holds of a circuit share.
pub struct Bench<'a> {
    /// The limits.
    pub limits: &'a Limits,
    /// The site.
    pub site: &'a Site<'a>,
    /// The circuit's volume.
    pub volume: CircuitVolume,
    /// The refrigerant, where its properties are known.
    pub fluid: Option<Fluid>,
    /// The charge in force, kg.
    pub charge_kg: Option<f64>,
}

impl<'a> Bench<'a> {
    /// From the record.
    pub fn of(record: &JobRecord, limits: &'a Limits, site: &'a Site<'a>) -> Self {
        Self {
            limits,
            site,
            volume: CircuitVolume::of(record, limits),
            fluid: circuit::fluid(record.system.refrigerant),
            charge_kg: circuit::target(record, limits).map(|t| t.kg),
        }
    }

    /// All holds that are not superseded, in the order of the list; each judged by itself (two holds are compared afterwards).
    pub fn holds(&self, record: &JobRecord) -> Vec<Held> {
        live(&record.holds, "holds").map(|(position, id, hold)| self.hold(position, id, hold)).collect()
    }

    /// One hold.
    pub fn hold(&self, position: usize, id: String, hold: &Hold) -> Held {
        let (air, _) = self.site.air(hold.barometer.as_ref());
        let gauge = GaugeFacts::of(hold.gauge.as_ref(), self.limits);
        let readings = readings::of(hold, &gauge, air, self.site, self.limits);
        let kind = hold.kind;
        let rank = if kind == Some(HoldKind::Pressure) { Rank::PressureHold } else { Rank::VacuumHold };
        let stamp = |r: &Point| Stamp { ms: r.ms, rank, position };
        let called = |r: Option<&Point>| r.map_or_else(String::new, |r| name(&hold.readings[r.position], "readings", r.position));
        let impossible = readings::impossible(&readings, gauge.resolution_pa);
        let mut held = Held {
            id,
            kind,
            gas: if kind == Some(HoldKind::Pressure) { hold.gas.unwrap_or(TestGas::Nitrogen) } else { TestGas::Air },
            start: readings.first().map(stamp),
            last: readings.last().map(stamp),
            ended: hold.ended_at.is_some(),
            says: Verdict::NotReadable,
            figures: blank(),
            gas_assumed: kind == Some(HoldKind::Pressure) && hold.gas.is_none(),
            impossible_pa: impossible.map(|r| r.raw_pa),
            impossible_air: impossible.map_or(air, |r| r.air),
            temperature_missing: kind == Some(HoldKind::Pressure) && !both_temperatures(&readings),
            resolution_pa: gauge.resolution_pa,
            resolution_assumed: gauge.assumed,
            first_pa: readings.first().map(|r| r.pa),
            last_pa: readings.last().map(|r| r.pa),
            last_temperature: readings.last().and_then(|r| r.temperature),
            air,
            shown_pa_per_s: None,
            test: None,
            curve: None,
            first_temperature: readings.first().and_then(|r| r.temperature),
            temperature_known: both_temperatures(&readings),
            ends: [called(readings.first()), called(readings.last())],
            level: None,
            short_of: None,
        };
        match self.judge(&mut held, &readings) {
            Ok(verdict) => held.says = verdict,
            Err(why) => held.figures.why = Some(why),
        }
        settle(&mut held);
        held
    }

    /// The verdict of a hold as if it had ended, with all its figures; or why it cannot be read.
    fn judge(&self, held: &mut Held, readings: &[Point]) -> Result<Verdict, String> {
        let kind = held.kind.ok_or("it is not recorded whether a vacuum or a pressure was held")?;
        let (Some(first), Some(last)) = (readings.first(), readings.last()) else { return Err("there is no reading".into()) };
        if readings.len() < 2 {
            return Err("there is only one reading".into());
        }
        let duration = (last.ms - first.ms) as f64 / 1e3;
        held.figures.duration_s = Some(duration);
        let t1 = first.temperature.unwrap_or(self.limits.assumed_temperature).k();
        let doubt = if both_temperatures(readings) { self.limits.temperature_doubt.k() } else { self.limits.temperature_doubt_missing.k() };
        let bound = held.resolution_pa + first.pa * doubt / t1;
        held.figures.bound_pa = Some(bound);
        if duration <= 0.0 {
            return Err("there is no time between its readings".into());
        }
        if held.impossible_pa.is_some() {
            return Err("a reading lies below absolute zero pressure: the gauge or the barometer is wrong".into());
        }
        match kind {
            HoldKind::Vacuum => self.vacuum(held, readings, duration, bound),
            HoldKind::Pressure => self.pressure(held, first, last, duration, bound),
        }
    }

    fn vacuum(&self, held: &mut Held, readings: &[Point], duration: f64, bound: f64) -> Result<Verdict, String> {
        let corrected = corrected(readings);
        let (first, last) = (&corrected[0], &corrected[corrected.len() - 1]);
        let Some(course) = Course::of(&corrected, held.resolution_pa) else { return Err("there is no reading".into()) };
        let change = course.change;
        held.figures.change_pa = Some(change);
        held.curve = course.curve;
        held.figures.slope_pa_per_s = course.line.map(|l| l.slope);
        if first.pa > self.limits.vacuum_share.one() * held.air.pressure.pa() {
            return Err("its first pressure is no vacuum".into());
        }
        let psat = held.last_temperature.and_then(water::saturation_pressure).map(|p| p.pa());
        let sees_water = psat.is_some_and(|psat| held.resolution_pa <= self.limits.moisture_resolution_share.one() * psat);
        let water_holds = sees_water && course.is_held_by_water(bound, self.limits.moisture_within.one());
        if change < -bound && !water_holds && course.falls() {
            return Err("the pressure fell: it was still being pumped, or a temperature is wrong".into());
        }
        let mean = 0.5 * (first.corrected + last.corrected);
        let test = Side { gas: Gas::Air, high: held.air.pressure, low: AbsolutePressure::new(mean.max(0.0)) };
        self.shown(held, test, change, bound, duration);
        let short = duration < self.limits.hold_minimum.s();
        if change.abs() > bound && water_holds {
            return Ok(Verdict::Moisture);
        }
        if change <= bound {
            held.figures.shape = Some(Shape::Flat);
            return Ok(if short {
                Verdict::TooShort
            } else if water_holds {
                Verdict::Moisture
            } else if course.shows_stillness(bound) {
                Verdict::Held
            } else {
                if change > 0.0 {
                    self.leaks(held, test, change / duration);
                }
                held.figures.why = Some(STILL_NOT_SHOWN.into());
                Verdict::Inconclusive
            });
        }
        let level = psat.and_then(|psat| course.levels_off(self.limits.levelling_share.one() * psat, psat, self.limits.outgassing.pa()));
        if let Some(level) = level.or_else(|| if sees_water { course.levels_on_water() } else { None }) {
            held.figures.shape = Some(Shape::Levelling);
            held.level = Some(level.p_inf);
            if level.p_inf >= self.limits.outgassing.pa() {
                return Ok(Verdict::Moisture);
            }
            if short {
                return Ok(Verdict::TooShort);
            }
            if course.rules_out_leak_beneath(&level, bound) {
                return Ok(Verdict::Held);
            }
        } else {
            // Fewer than five readings tell no shape but flat.
            held.figures.shape = course.has_shape().then_some(Shape::Linear);
        }
        self.leaks(held, test, course.line.map_or(change / duration, |l| l.slope));
        Ok(if last.pa < self.limits.outgassing.pa() { Verdict::Inconclusive } else { Verdict::Leak })
    }

    fn pressure(&self, held: &mut Held, first: &Point, last: &Point, duration: f64, bound: f64) -> Result<Verdict, String> {
        let expected = match (first.temperature, last.temperature) {
            (Some(t1), Some(t2)) => first.pa * t2.k() / t1.k(),
            _ => first.pa,
        };
        let drop = expected - last.pa;
        held.figures.change_pa = Some(drop);
        held.figures.slope_pa_per_s = Some(-drop / duration);
        if first.pa - held.air.pressure.pa() < self.limits.pressure_hold_least.pa() {
            held.short_of = Some(self.limits.pressure_hold_least);
            return Err("it began with less pressure above the air than it takes".into());
        }
        if drop < -bound {
            return Err("the pressure rose: the regulator is open, or the temperature was not the metal’s".into());
        }
        let gas = match (held.gas, self.fluid) {
            (TestGas::Air, _) => Some(Gas::Air),
            (TestGas::Nitrogen, _) => Some(Gas::Nitrogen),
            // No properties of it here: a rate is not worked out, the verdict stands.
            (TestGas::Oxygen, _) => None,
            (TestGas::Refrigerant, Some(fluid)) => {
                let t1 = first.temperature.unwrap_or(self.limits.assumed_temperature);
                if fluid.saturation_pressure(t1).is_some_and(|psat| first.pa >= self.limits.liquid_share.one() * psat.pa()) {
                    return Err("there may be liquid refrigerant inside, which keeps the pressure up whatever leaks".into());
                }
                Some(Gas::Refrigerant(fluid))
            }
            (TestGas::Refrigerant, None) => None,
        };
        held.shown_pa_per_s = Some((drop.max(0.0) + bound) / duration);
        if let Some(gas) = gas {
            let test = Side { gas, high: AbsolutePressure::new(first.pa), low: held.air.pressure };
            self.shown(held, test, drop, bound, duration);
            if drop > bound {
                self.leaks(held, test, drop / duration);
            }
        }
        if drop > bound {
            held.figures.shape = Some(Shape::Linear);
            return Ok(Verdict::Leak);
        }
        held.figures.shape = Some(Shape::Flat);
        Ok(if duration < self.limits.pressure_hold_minimum.s() { Verdict::TooShort } else { Verdict::Held })
    }

    /// The smallest leak that the hold rules out, and how soon such a leak would empty the car.
    fn shown(&self, held: &mut Held, test: Side, change: f64, bound: f64, duration: f64) {
        let rise = (change.max(0.0) + bound) / duration;
        held.shown_pa_per_s = Some(rise);
        held.test = Some(test);
        let smallest = self.in_service(self.volume.high * rise, test, held.air.pressure).map(|(_, greatest)| greatest);
        held.figures.smallest_leak_shown_kg_per_year = smallest;
        held.figures.hours_to_empty_at_smallest = smallest.zip(self.charge_kg).map(|(rate, kg)| kg / rate * YEAR_S / 3600.0).filter(|h| h.is_finite());
    }

    fn leaks(&self, held: &mut Held, test: Side, slope: f64) {
        let rate = |volume: f64| self.in_service(volume * slope.max(0.0), test, held.air.pressure);
        held.figures.leak_low_kg_per_year = rate(self.volume.low).map(|r| r.0);
        held.figures.leak_high_kg_per_year = rate(self.volume.high).map(|r| r.1);
    }

    /// A throughput on the test side as refrigerant in service, kg a year: the least and the greatest of the three forms.
    fn in_service(&self, throughput: f64, test: Side, site: AbsolutePressure) -> Option<(f64, f64)> {
        let fluid = self.fluid?;
        let forms = convert(throughput, test, Side::in_service(fluid, site)?)?;
        let rate = |q: f64| mass_flow(q, Gas::Refrigerant(fluid)).kg_per_year();
        Some((rate(forms.least()), rate(forms.greatest())))
    }

    /// The smallest leak (kg a year) that a vacuum hold on a gauge would rule out if nothing moved.
    pub fn vacuum_would_show(&self, resolution_pa: f64, pressure_pa: f64, seconds: f64, air: Air) -> Option<f64> {
        let bound = resolution_pa + pressure_pa * self.limits.temperature_doubt.k() / self.limits.assumed_temperature.k();
        let test = Side { gas: Gas::Air, high: air.pressure, low: AbsolutePressure::new(pressure_pa) };
        self.in_service(self.volume.high * bound / seconds, test, air.pressure).map(|r| r.1)
    }

    /// The same of a pressure hold with nitrogen.
    pub fn nitrogen_would_show(&self, resolution_pa: f64, pressure_pa: f64, seconds: f64, air: Air) -> Option<f64> {
        let bound = resolution_pa + pressure_pa * self.limits.temperature_doubt.k() / self.limits.assumed_temperature.k();
        let test = Side { gas: Gas::Nitrogen, high: AbsolutePressure::new(pressure_pa), low: air.pressure };
        self.in_service(self.volume.high * bound / seconds, test, air.pressure).map(|r| r.1)
    }
}

/// A hold that was not ended is running, and says what it would say.
pub(super) fn settle(held: &mut Held) {
    if held.ended {
        held.figures.verdict = held.says;
    } else {
        held.figures.verdict = Verdict::Running;
        held.figures.would_be = Some(held.says);
    }
}

fn blank() -> HoldFigures {
    HoldFigures {
        duration_s: None,
        change_pa: None,
        bound_pa: None,
        verdict: Verdict::NotReadable,
        would_be: None,
        why: None,
        shape: None,
        slope_pa_per_s: None,
        leak_low_kg_per_year: None,
        leak_high_kg_per_year: None,
        smallest_leak_shown_kg_per_year: None,
        hours_to_empty_at_smallest: None,
        stale_because: None,
    }
}
