//! Holds: what a gauge that was watched says, and what it could have said.
use super::{
    circuit::{self, CircuitVolume},
    explain::Curve,
    limits::Limits,
    readings::{self, Point, both_temperatures, temperature_doubt},
    series::{self, Chosen, GaugesDisagree},
    settling::{Settled, settled},
    site::{Air, Site},
    timeline::{Rank, Stamp, live},
    voice::Voice,
};
use crate::{
    JobRecord,
    physics::{leak::Side, refrigerant::Fluid},
    record::{
        Gas as TestGas, Hold, HoldKind,
        answer::{HoldFigures, Verdict},
    },
    units::{PressureDifference, Temperature, TemperatureDifference},
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
    /// How far the temperature of the gas may be from what is known of it.
    pub temperature_doubt: TemperatureDifference,
    /// What keeps an inconclusive hold from a verdict.
    pub doubt: Option<Doubt>,
    /// It was read on two gauges that do not agree.
    pub gauges_disagree: Option<GaugesDisagree>,
    pub(super) level: Option<f64>,
    pub(super) short_of: Option<PressureDifference>,
    /// Why it cannot be read, or why its verdict is open.
    pub(super) reason: Option<String>,
}

/// What keeps a hold from a verdict.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Doubt {
    /// It moved by no more than the gauge may be misread: stillness or a leak.
    Gauge,
    /// A deep vacuum rose: a leak, or gas that leaves oil and rubber. A second hold tells.
    Outgassing,
    /// It rose and came to rest, not where water does or where nobody knows: gas out of oil or desiccant, water in oil, or water.
    Levelling,
    /// What the temperature may have done hides a leak.
    Temperature,
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

    /// Neither stillness nor a rise is shown: what it moved by may be the gauge's and the temperature's.
    pub fn stillness_not_shown(&self) -> bool {
        self.says == Verdict::Inconclusive
            && matches!(self.doubt, Some(Doubt::Gauge | Doubt::Temperature))
    }

    /// What the doubt of the temperature makes of the first pressure, Pa.
    pub(super) fn temperature_allows(&self, limits: &Limits) -> f64 {
        let t1 = self
            .first_temperature
            .unwrap_or(limits.assumed_temperature)
            .k();
        self.first_pa.unwrap_or(0.0) * self.temperature_doubt.k() / t1
    }

    /// Open for this reason.
    pub(super) fn open(&mut self, doubt: Doubt, reason: &str) -> Verdict {
        (self.doubt, self.reason) = (Some(doubt), Some(reason.to_owned()));
        Verdict::Inconclusive
    }

    /// From which reading to which it is judged.
    fn spans(&mut self, hold: &Hold, position: usize, points: &[Point], limits: &Limits) {
        let rank = if self.kind == Some(HoldKind::Pressure) {
            Rank::PressureHold
        } else {
            Rank::VacuumHold
        };
        let stamp = |r: &Point| Stamp {
            ms: r.ms,
            rank,
            position,
        };
        let called = |r: Option<&Point>| r.map_or_else(String::new, |r| readings::called(hold, r));
        let (first, last) = (points.first(), points.last());
        (self.start, self.last) = (first.map(stamp), last.map(stamp));
        (self.first_pa, self.last_pa) = (first.map(|r| r.pa), last.map(|r| r.pa));
        (self.first_temperature, self.last_temperature) = (
            first.and_then(|r| r.temperature),
            last.and_then(|r| r.temperature),
        );
        self.ends = [called(first), called(last)];
        self.temperature_known = both_temperatures(points);
        self.temperature_missing = self.kind == Some(HoldKind::Pressure) && !self.temperature_known;
        self.temperature_doubt = TemperatureDifference::new(temperature_doubt(points, limits));
    }

    /// Let air or nitrogen into the circuit.
    pub fn let_gas_in(&self) -> bool {
        self.kind == Some(HoldKind::Pressure) && self.gas != TestGas::Refrigerant
    }

    /// Why it cannot be read, or why its verdict is open; with the pressure that it lacked, where it lacked one. (The figure `why` is the same in
    /// both systems of units, and so has none.)
    pub fn why(&self, voice: Voice) -> Option<String> {
        let least = self
            .short_of
            .map(|least| format!(" ({} at least)", voice.difference(least.pa())));
        self.figures
            .why
            .as_ref()
            .map(|why| why.clone() + &least.unwrap_or_default())
    }

    /// Pressure at which a levelling-off comes to rest, Pa.
    pub fn level_pa(&self) -> Option<f64> {
        self.level
    }
}

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
        live(&record.holds, "holds")
            .map(|(position, id, hold)| self.hold(position, id, hold))
            .collect()
    }

    /// One hold.
    pub fn hold(&self, position: usize, id: String, hold: &Hold) -> Held {
        let (air, _) = self.site.air(hold.barometer.as_ref());
        let watched = readings::of(hold, air, self.site, self.limits);
        let chosen = series::choose(&watched, self.limits.least_hold(hold.kind).s(), self.limits);
        let mut held = self.unjudged(position, id, hold, air, &chosen);
        match self.judge(&mut held, hold, position, &chosen) {
            Ok(verdict) => held.says = verdict,
            Err(why) => held.reason = Some(why),
        }
        settle(&mut held);
        held
    }

    /// What is known of a hold before it is judged.
    fn unjudged(
        &self,
        position: usize,
        id: String,
        hold: &Hold,
        air: Air,
        chosen: &Chosen,
    ) -> Held {
        let (kind, gauge) = (hold.kind, chosen.facts);
        let impossible = readings::impossible(&chosen.points, gauge.resolution_pa);
        let mut held = Held {
            id,
            kind,
            gas: if kind == Some(HoldKind::Pressure) {
                hold.gas.unwrap_or(TestGas::Nitrogen)
            } else {
                TestGas::Air
            },
            start: None,
            last: None,
            ended: hold.ended_at.is_some(),
            says: Verdict::NotReadable,
            figures: blank(),
            gas_assumed: kind == Some(HoldKind::Pressure) && hold.gas.is_none(),
            impossible_pa: impossible.map(|r| r.raw_pa),
            impossible_air: impossible.map_or(air, |r| r.air),
            temperature_missing: false,
            resolution_pa: gauge.resolution_pa,
            resolution_assumed: gauge.assumed,
            first_pa: None,
            last_pa: None,
            last_temperature: None,
            air,
            shown_pa_per_s: None,
            test: None,
            curve: None,
            first_temperature: None,
            temperature_known: false,
            temperature_doubt: self.limits.temperature_doubt_missing,
            ends: [String::new(), String::new()],
            doubt: None,
            gauges_disagree: chosen.disagree.clone(),
            level: None,
            short_of: None,
            reason: None,
        };
        held.spans(hold, position, &chosen.points, self.limits);
        held
    }

    /// The verdict of a hold as if it had ended, with all its figures; or why it cannot be read.
    fn judge(
        &self,
        held: &mut Held,
        hold: &Hold,
        position: usize,
        chosen: &Chosen,
    ) -> Result<Verdict, String> {
        let kind = held
            .kind
            .ok_or("it is not recorded whether a vacuum or a pressure was held")?;
        let points = &chosen.points[..];
        if points.is_empty() {
            return Err("there is no reading".into());
        }
        if points.len() < 2 {
            return Err("there is only one reading".into());
        }
        if let Some(unfit) = &chosen.unfit {
            held.figures.duration_s = Some(lasts(points));
            return Err(unfit.clone());
        }
        let duration = self.measured(held, points);
        if duration <= 0.0 {
            return Err("there is no time between its readings".into());
        }
        if held.impossible_pa.is_some() {
            return Err(
                "a reading lies below absolute zero pressure: the gauge or the barometer is wrong"
                    .into(),
            );
        }
        let points = match settled(points, kind, held.resolution_pa, self.limits, |course| {
            kind == HoldKind::Vacuum
                && (self.water_holds(held, course).is_some() || course.falls_back_as_water())
        }) {
            Settled::All => points,
            Settled::ButTheFirst => {
                held.figures.left_out = vec![readings::told(hold, &points[0])];
                held.spans(hold, position, &points[1..], self.limits);
                &points[1..]
            }
            Settled::TooFew => return Err(too_early(kind)),
            Settled::Unsteady => {
                return Err(self.unsteady(kind, points, held.figures.bound_pa.unwrap_or(0.0)));
            }
        };
        let duration = self.measured(held, points);
        match kind {
            HoldKind::Vacuum => self.vacuum(held, points, duration),
            HoldKind::Pressure => self.pressure(held, points, duration),
        }
    }

    /// Its duration and its bound.
    fn measured(&self, held: &mut Held, points: &[Point]) -> f64 {
        let duration = lasts(points);
        held.figures.duration_s = Some(duration);
        held.figures.bound_pa = Some(held.resolution_pa + held.temperature_allows(self.limits));
        duration
    }

    /// Readings that no circuit makes by itself.
    fn unsteady(&self, kind: HoldKind, points: &[Point], bound: f64) -> String {
        let all = readings::corrected(points, self.limits);
        let moved = all
            .last()
            .zip(all.first())
            .map_or(0.0, |(last, first)| last.corrected - first.corrected);
        match kind {
            HoldKind::Vacuum if moved < -bound => PUMPED.into(),
            HoldKind::Vacuum => "the pressure fell and rose again: it was pumped meanwhile, a gauge was misread, or two were mixed".into(),
            HoldKind::Pressure if moved > bound => ROSE.into(),
            HoldKind::Pressure => "the pressure rose and fell again: gas was let in meanwhile, a gauge was misread, or two were mixed".into(),
        }
    }
}

/// A vacuum that fell.
pub(super) const PUMPED: &str =
    "the pressure fell: it was still being pumped, or a temperature is wrong";
/// A pressure that rose.
pub(super) const ROSE: &str =
    "the pressure rose: the regulator is open, or the temperature was not the metal’s";

fn too_early(kind: HoldKind) -> String {
    let while_what = if kind == HoldKind::Vacuum {
        "it was still being pumped"
    } else {
        "gas was still let in"
    };
    format!(
        "the first reading was taken while {while_what}, or before the gauge had settled, and fewer than four others remain"
    )
}

/// From the first to the last, s.
fn lasts(points: &[Point]) -> f64 {
    points
        .first()
        .zip(points.last())
        .map_or(0.0, |(a, b)| (b.ms - a.ms) as f64 / 1e3)
}

/// A hold that was not ended is running, and says what it would say.
pub(super) fn settle(held: &mut Held) {
    let early = (!held.figures.left_out.is_empty()).then(|| {
        "the first reading was taken before the pressure had settled and is left out".to_owned()
    });
    let why: Vec<String> = early.into_iter().chain(held.reason.clone()).collect();
    held.figures.why = (!why.is_empty()).then(|| why.join("; "));
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
        left_out: Vec::new(),
        tells_after_s: None,
        tells_at_resolution_pa: None,
        shape: None,
        slope_pa_per_s: None,
        leak_slope_low_pa_per_s: None,
        leak_slope_high_pa_per_s: None,
        leak_low_kg_per_year: None,
        leak_high_kg_per_year: None,
        smallest_leak_shown_kg_per_year: None,
        hours_to_empty_at_smallest: None,
        stale_because: None,
    }
}
