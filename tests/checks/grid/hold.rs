//! One simulated vacuum hold: what is in the circuit, how it is watched, and the record that comes of it.
use super::{
    circuit::{Circuit, Warmth, in_service, water_pa},
    gauge::{Gauge, Kind},
    nature::{NATURES, Nature},
    nitrogen,
    noise::Noise,
};
use serde_json::{Value, json};

/// Where temperatures are recorded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Temperatures {
    All,
    Ends,
    /// The last reading alone: who did not think of it before.
    Last,
    None,
}

impl Temperatures {
    fn draw(noise: &mut Noise) -> Self {
        match noise.unit() {
            u if u < 0.05 => Self::None,
            u if u < 0.15 => Self::Ends,
            u if u < 0.18 => Self::Last,
            _ => Self::All,
        }
    }

    /// The first or the last is missing.
    pub fn doubtful(self) -> bool {
        matches!(self, Self::None | Self::Last)
    }

    /// By how many kelvins the metal may have drifted unseen.
    fn doubt(self) -> f64 {
        if self.doubtful() { 3.0 } else { 1.0 }
    }

    pub fn given(self, i: usize, of: usize) -> bool {
        match self {
            Self::All => true,
            Self::Ends => i == 0 || i + 1 == of,
            Self::Last => i + 1 == of,
            Self::None => false,
        }
    }
}

/// A hold with the truth about it.
pub struct Simulated {
    pub nature: Nature,
    pub circuit: Circuit,
    pub resolution_pa: f64,
    pub readings: usize,
    pub temperatures: Temperatures,
    pub duration: f64,
    /// How far leak, water, gas or pump truly moved it, Pa.
    pub moved: f64,
    /// The same from the second reading on.
    pub moved_since: f64,
    /// True pressure in the end, Pa.
    pub end_pa: f64,
    /// Water's saturation pressure in the end, Pa.
    pub psat: f64,
    /// The leak in service, kg a year.
    pub leak: Option<f64>,
    /// It was left overnight.
    pub overnight: bool,
    /// The first reading was early and too low, not too high.
    pub early_low: bool,
    /// One gauge's own readings are two and more, over half the time.
    pub one_suffices: bool,
    /// Of two gauges each was read after the other.
    pub both_ways: bool,
    pub record: Value,
}

/// What a hold is watched with, beside its own gauge.
struct Second {
    gauge: Gauge,
    /// By how much the coarser one of the two shows more, Pa.
    offset: f64,
    /// Which readings are its own.
    own: Vec<bool>,
    on_record: bool,
}

impl Simulated {
    /// The number decides nature and gauge, so that their shares are fixed; each gauge a third.
    pub fn draw(number: usize, noise: &mut Noise) -> Self {
        Self::of(
            NATURES[number % 60],
            [Kind::Dial, Kind::Digital, Kind::Micron][number / 60 % 3],
            noise,
        )
    }

    /// One of this nature on such a gauge.
    pub fn of(nature: Nature, kind: Kind, noise: &mut Noise) -> Self {
        if nature.nitrogen() {
            return nitrogen::draw(nature, noise);
        }
        let gauge = Gauge::draw(noise, kind);
        let readings = 2 + noise.below(29);
        let shortest = if noise.chance(0.1) { 300.0 } else { 900.0 };
        let duration = noise.log_between(shortest, 3600.0).round();
        let temperatures = Temperatures::draw(noise);
        let warmth = Warmth::draw(noise, duration);
        let air = noise.between(84e3, 102e3);
        let second = second(nature, &gauge, readings, noise);
        // A fine gauge is not read where only a coarse one can tell anything.
        let finer = second
            .as_ref()
            .map(|s| s.gauge)
            .filter(|g| g.resolution_pa() < gauge.resolution_pa())
            .unwrap_or(gauge);
        let (circuit, p0) = circuit(nature, &finer, temperatures, &warmth, noise);
        let times = times(readings, duration, noise);
        let mut course = circuit.course(p0, air, &warmth, &times);
        let shown = gauge.resolution_pa() + p0 * temperatures.doubt() / warmth.gas_k(0.0);
        let early_low = matches!(nature, Nature::Unsettled | Nature::UnsettledLeak)
            && noise.chance(0.2)
            && p0 > 5.0 * shown;
        if matches!(nature, Nature::Unsettled | Nature::UnsettledLeak) {
            let early = shown * noise.log_between(4.0, 200.0);
            course.pa[0] += if early_low {
                -early.min(0.9 * p0)
            } else {
                early.min(0.25 * air)
            };
        }
        let second = second.map(|s| Second {
            offset: if p0 + s.offset < 0.0 {
                -s.offset
            } else {
                s.offset
            },
            ..s
        });
        let recorded = noise.chance(0.5);
        let litres = if recorded {
            2.5
        } else {
            noise.between(1.5, 3.5)
        };
        // Each leak is a path of one kind, and loses by that.
        let path = noise.below(3);
        let leak = nature.leaks().then(|| {
            in_service(
                course.moved / duration * litres * 1e-3,
                air,
                p0 + 0.5 * course.moved,
            )[path]
        });
        let list = written(
            &times,
            &course.pa,
            air,
            &gauge,
            second.as_ref(),
            temperatures,
            &warmth,
            noise,
        );
        let mut record = json!({
            "version": 1, "site": { "barometer": format!("{air:.0} Pa abs") }, "system": { "refrigerant": "R-134a", "charge": "600 g" },
            "holds": [{ "kind": "vacuum", "ended_at": "2026-05-12T12:00:00Z", "gauge": { "id": "own", "resolution": gauge.resolution() }, "readings": list }]
        });
        if recorded {
            record["system"]["internal_volume"] = json!("2.5 L");
        }
        let turns = second.as_ref().map_or([0, 0], |s| {
            [false, true].map(|own| {
                s.own
                    .windows(2)
                    .filter(|w| w[0] == own && w[1] != own)
                    .count()
            })
        });
        let end_pa = course.pa[readings - 1];
        Self {
            nature,
            circuit,
            resolution_pa: gauge.resolution_pa(),
            readings,
            temperatures,
            duration,
            moved: course.moved,
            moved_since: course.moved_since,
            end_pa,
            psat: water_pa(warmth.metal(times[readings - 1])),
            leak,
            overnight: false,
            early_low,
            one_suffices: second.is_none_or(|s| suffices(&times, &s, gauge.resolution_pa())),
            both_ways: turns[0] > 0 && turns[1] > 0,
            record,
        }
    }

    /// How far it moved over the readings that count, which last `watched` seconds.
    pub fn moved_by(&self, left_out: bool, watched: f64) -> f64 {
        match self.nature {
            // One gauge's own readings need not reach from the beginning to the end.
            Nature::TwoGaugesLeak if !left_out => self.moved * (watched / self.duration),
            _ if left_out => self.moved_since,
            _ => self.moved,
        }
    }

    /// The temperature is missing at the first reading that counts, or at the last.
    pub fn first_unknown(&self) -> bool {
        self.temperatures.doubtful()
            || self.nature == Nature::NitrogenUnsettled && self.temperatures == Temperatures::Ends
    }

    /// Nothing keeps it from being called still.
    pub fn could_be_called_still(&self) -> bool {
        match self.nature {
            Nature::Tight | Nature::TwoGauges | Nature::Disagreeing => self.one_suffices,
            Nature::Unsettled => self.readings >= 5 && !self.early_low,
            Nature::Nitrogen => !(self.overnight && self.temperatures.doubtful()),
            Nature::NitrogenUnsettled => {
                self.readings >= 5 && !(self.overnight && self.first_unknown())
            }
            _ => false,
        }
    }

    /// It came to rest while it was watched, by enough readings and by far more than the gauge can be misread.
    pub fn shape_shows(&self, duration: f64) -> bool {
        matches!(self.circuit, Circuit::Levelling { rise, tau } if self.readings >= 5 && tau < 0.4 * duration && rise > 8.0 * self.resolution_pa)
    }

    /// It is water at its saturation pressure, on a gauge that is fine enough to see that.
    pub fn water_shows(&self) -> bool {
        matches!(self.circuit, Circuit::Wet { most, tau, .. } if most.is_infinite() && tau < 0.4 * self.duration)
            && self.resolution_pa <= 0.2 * self.psat
    }
}

/// What is in it and where it begins.
fn circuit(
    nature: Nature,
    gauge: &Gauge,
    temperatures: Temperatures,
    warmth: &Warmth,
    noise: &mut Noise,
) -> (Circuit, f64) {
    let p0 = gauge.depth(noise);
    let shown = |p0: f64| gauge.resolution_pa() + p0 * temperatures.doubt() / warmth.gas_k(0.0);
    match nature {
        Nature::Leaking | Nature::UnsettledLeak | Nature::TwoGaugesLeak => (
            Circuit::Leaking {
                pa_per_s: shown(p0) * noise.log_between(1.0 / 3.0, 30.0) / warmth.duration,
            },
            p0,
        ),
        Nature::Wet => wet(p0, warmth, noise),
        Nature::Outgassing => {
            // It shows only in a deep vacuum, which a dial cannot tell from a middling one.
            let p0 = if gauge.kind == Kind::Dial {
                p0
            } else {
                noise.log_between(15.0, 100.0)
            };
            let rise = noise.log_between(3.0, 110.0);
            let circuit = if noise.chance(0.5) {
                Circuit::Levelling {
                    rise,
                    tau: noise.log_between(90.0, 1200.0),
                }
            } else {
                Circuit::Diffusing { rise }
            };
            (circuit, p0)
        }
        Nature::Gassing => {
            let p0 = p0.min(1000.0);
            let psat = water_pa(warmth.metal(warmth.duration));
            // Well under water's pressure, or well over what water and the gas before it make together.
            let level = if noise.chance(0.6) {
                noise.log_between(300.0, 0.7 * psat)
            } else {
                (1.4 * psat + p0) * noise.between(1.0, 2.0)
            };
            (
                Circuit::Levelling {
                    rise: (level - p0).max(100.0),
                    tau: noise.log_between(60.0, 600.0),
                },
                p0,
            )
        }
        Nature::Pumped => {
            let p0 = p0.max(3.0 * shown(p0));
            let fall = (shown(p0) * noise.log_between(1.0, 30.0)).min(0.9 * p0);
            (
                Circuit::Pumped {
                    fall,
                    tau: warmth.duration * noise.log_between(0.05, 2.0),
                },
                p0,
            )
        }
        Nature::Bounced => {
            let p0 = p0.max(6.0 * shown(p0));
            let (fall, until) = (
                noise.between(0.5, 0.95) * p0,
                warmth.duration * noise.between(0.1, 0.6),
            );
            (
                Circuit::Bounced {
                    fall,
                    until,
                    pa_per_s: shown(p0) * noise.log_between(2.0, 20.0) / (warmth.duration - until),
                },
                p0,
            )
        }
        _ => (Circuit::Tight, p0),
    }
}

fn wet(p0: f64, warmth: &Warmth, noise: &mut Noise) -> (Circuit, f64) {
    let psat = water_pa(warmth.metal(0.0));
    let tau = noise.log_between(60.0, 420.0);
    // A quarter stands at saturation from the beginning, a quarter runs out of water below it.
    match noise.below(4) {
        0 => (
            Circuit::Wet {
                at_first: psat,
                most: f64::INFINITY,
                tau,
            },
            psat + noise.between(0.0, 0.02 * psat),
        ),
        1 => (
            Circuit::Wet {
                at_first: p0.min(0.2 * psat),
                most: noise.between(0.3, 1.0) * psat,
                tau,
            },
            p0.min(0.2 * psat) * noise.between(1.0, 1.2),
        ),
        _ => {
            let at_first = p0.min(noise.between(0.1, 0.7) * psat);
            (
                Circuit::Wet {
                    at_first,
                    most: f64::INFINITY,
                    tau,
                },
                at_first * noise.between(1.0, 1.2),
            )
        }
    }
}

/// Another gauge for some of the readings, at least one of them, and never for all.
fn second(nature: Nature, own: &Gauge, readings: usize, noise: &mut Noise) -> Option<Second> {
    let (agree, on_record) = match nature {
        Nature::TwoGauges | Nature::TwoGaugesLeak => (true, true),
        Nature::Disagreeing => (false, true),
        Nature::Mixed => (false, false),
        _ => return None,
    };
    let kind = [Kind::Dial, Kind::Digital, Kind::Micron][noise.below(3)];
    let gauge = if on_record {
        Gauge::draw(noise, kind)
    } else {
        *own
    };
    let both = own.resolution_pa() + gauge.resolution_pa();
    let offset = if agree {
        noise.between(-0.2, 0.2) * both
    } else {
        both * noise.log_between(2.0, 10.0) * if noise.chance(0.5) { 1.0 } else { -1.0 }
    };
    let mut list: Vec<bool> = (0..readings).map(|_| noise.chance(0.4)).collect();
    if list.iter().all(|b| *b == list[0]) {
        list[readings / 2] = !list[0];
    }
    Some(Second {
        gauge,
        offset,
        own: list,
        on_record,
    })
}

/// The finer gauge has two readings and more of its own, over half the time.
fn suffices(times: &[f64], second: &Second, own_pa: f64) -> bool {
    let finer = second.gauge.resolution_pa() < own_pa;
    let list: Vec<f64> = times
        .iter()
        .zip(&second.own)
        .filter(|(_, own)| **own == finer)
        .map(|(t, _)| *t)
        .collect();
    list.len() >= 2 && list[list.len() - 1] - list[0] >= 0.5 * times[times.len() - 1]
}

fn written(
    times: &[f64],
    pa: &[f64],
    air: f64,
    gauge: &Gauge,
    second: Option<&Second>,
    temperatures: Temperatures,
    warmth: &Warmth,
    noise: &mut Noise,
) -> Value {
    let one = |i: usize| {
        let other = second.filter(|s| s.own[i]);
        let with = other.map_or(gauge, |s| &s.gauge);
        // Of two equal ones the other.
        let off = |s: &Second| {
            if s.gauge.resolution_pa() >= gauge.resolution_pa() {
                s.own[i]
            } else {
                !s.own[i]
            }
        };
        let offset = second.filter(|s| off(s)).map_or(0.0, |s| s.offset);
        let mut reading = json!({ "at": at(times[i]), "pressure": with.read((pa[i] + offset).max(0.0), air, noise) });
        if let Some(other) = other.filter(|s| s.on_record) {
            reading["gauge"] = json!({ "id": "other", "resolution": other.gauge.resolution() });
        }
        if temperatures.given(i, times.len()) {
            let celsius = warmth.metal(times[i]) + noise.normal(0.1);
            reading["temperature"] = json!(format!("{celsius:.1} degC"));
        }
        reading
    };
    (0..times.len()).map(one).collect::<Vec<_>>().into()
}

/// From 0 to the end, about evenly, as somebody who does other things between.
pub fn times(readings: usize, duration: f64, noise: &mut Noise) -> Vec<f64> {
    let step = duration / (readings - 1) as f64;
    (0..readings)
        .map(|i| {
            if i == 0 || i + 1 == readings {
                step * i as f64
            } else {
                step * (i as f64 + noise.between(-0.3, 0.3))
            }
            .round()
        })
        .collect()
}

pub fn at(seconds: f64) -> String {
    let s = seconds as u64;
    format!(
        "2026-05-{:02}T{:02}:{:02}:{:02}Z",
        12 + (10 + s / 3600) / 24,
        (10 + s / 3600) % 24,
        s / 60 % 60,
        s % 60
    )
}
