//! One simulated hold: what is in the circuit, how it is watched, and the record that comes of it.
use super::{
    circuit::{Circuit, Warmth, in_service, water_pa},
    gauge::{Gauge, Kind},
    noise::Noise,
};
use serde_json::{Value, json};

/// What kind of circuit is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Nature {
    Tight,
    Leaking,
    Wet,
    Outgassing,
    /// Not in the grid's shares: it is no hold.
    Pumped,
}

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

    /// By how many kelvins the metal may have drifted unseen.
    fn doubt(self) -> f64 {
        if matches!(self, Self::None | Self::Last) { 3.0 } else { 1.0 }
    }
}

/// A hold with the truth about it.
pub struct Simulated {
    pub nature: Nature,
    pub circuit: Circuit,
    pub gauge: Gauge,
    pub readings: usize,
    pub temperatures: Temperatures,
    pub duration: f64,
    /// How far leak, water or outgassing truly moved it, Pa.
    pub moved: f64,
    /// True pressure in the end, Pa.
    pub end_pa: f64,
    /// The leak in service, kg a year.
    pub leak: Option<f64>,
    pub record: Value,
}

const NATURES: [Nature; 20] = {
    use Nature::*;
    [
        Tight, Leaking, Wet, Outgassing, Leaking, Tight, Leaking, Wet, Outgassing, Leaking, Tight, Leaking, Wet, Outgassing, Leaking, Tight, Leaking, Wet,
        Outgassing, Tight,
    ]
};

impl Simulated {
    /// The number decides nature and gauge, so that their shares are fixed: tight 5, leaking 7, wet 4, outgassing 4 of 20; each gauge a third.
    pub fn draw(number: usize, noise: &mut Noise) -> Self {
        Self::of(NATURES[number % 20], [Kind::Dial, Kind::Digital, Kind::Micron][number / 20 % 3], noise)
    }

    /// One of this nature on such a gauge.
    pub fn of(nature: Nature, kind: Kind, noise: &mut Noise) -> Self {
        let gauge = Gauge::draw(noise, kind);
        let readings = 2 + noise.below(29);
        let shortest = if noise.chance(0.1) { 300.0 } else { 900.0 };
        let duration = noise.log_between(shortest, 3600.0).round();
        let temperatures = Temperatures::draw(noise);
        let warmth = Warmth::draw(noise, duration);
        let air = noise.between(84e3, 102e3);
        let (circuit, p0) = circuit(nature, &gauge, temperatures, &warmth, noise);
        let circuit = match circuit {
            Circuit::Leaking { pa_per_s } => Circuit::Leaking { pa_per_s: pa_per_s / duration },
            other => other,
        };
        let times = times(readings, duration, noise);
        let course = circuit.course(p0, air, &warmth, &times);
        let end_pa = course.pa[readings - 1];
        let recorded = noise.chance(0.5);
        let litres = if recorded { 2.5 } else { noise.between(1.5, 3.5) };
        // Each leak is a path of one kind, and loses by that.
        let path = noise.below(3);
        let leak = (nature == Nature::Leaking).then(|| in_service(course.moved / duration * litres * 1e-3, air, p0 + 0.5 * course.moved)[path]);
        let list: Vec<Value> = (0..readings)
            .map(|i| {
                let mut reading = json!({ "at": at(times[i]), "pressure": gauge.read(course.pa[i], air, noise) });
                let given = match temperatures {
                    Temperatures::All => true,
                    Temperatures::Ends => i == 0 || i + 1 == readings,
                    Temperatures::Last => i + 1 == readings,
                    Temperatures::None => false,
                };
                if given {
                    let celsius = warmth.metal(times[i]) + noise.normal(0.1);
                    reading["temperature"] = json!(format!("{celsius:.1} degC"));
                }
                reading
            })
            .collect();
        let mut record = json!({
            "version": 1, "site": { "barometer": format!("{air:.0} Pa abs") }, "system": { "refrigerant": "R-134a", "charge": "600 g" },
            "holds": [{ "kind": "vacuum", "ended_at": "2026-05-12T12:00:00Z", "gauge": { "resolution": gauge.resolution() }, "readings": list }]
        });
        if recorded {
            record["system"]["internal_volume"] = json!("2.5 L");
        }
        Self { nature, circuit, gauge, readings, temperatures, duration, moved: course.moved, end_pa, leak, record }
    }
}

/// What is in it and where it begins; a leak's rise still over the whole hold.
fn circuit(nature: Nature, gauge: &Gauge, temperatures: Temperatures, warmth: &Warmth, noise: &mut Noise) -> (Circuit, f64) {
    let p0 = gauge.depth(noise);
    match nature {
        Nature::Tight => (Circuit::Tight, p0),
        Nature::Leaking => {
            let shown = gauge.resolution_pa() + p0 * temperatures.doubt() / warmth.gas_k(0.0);
            (Circuit::Leaking { pa_per_s: shown * noise.log_between(1.0 / 3.0, 30.0) }, p0)
        }
        Nature::Wet => {
            let psat = water_pa(warmth.metal(0.0));
            let tau = noise.log_between(60.0, 420.0);
            // A quarter stands at saturation from the beginning, a quarter runs out of water below it.
            match noise.below(4) {
                0 => (Circuit::Wet { at_first: psat, most: f64::INFINITY, tau }, psat + noise.between(0.0, 0.02 * psat)),
                1 => (Circuit::Wet { at_first: p0.min(0.2 * psat), most: noise.between(0.3, 1.0) * psat, tau }, p0.min(0.2 * psat) * noise.between(1.0, 1.2)),
                _ => {
                    let at_first = p0.min(noise.between(0.1, 0.7) * psat);
                    (Circuit::Wet { at_first, most: f64::INFINITY, tau }, at_first * noise.between(1.0, 1.2))
                }
            }
        }
        Nature::Outgassing => {
            // It shows only in a deep vacuum, which a dial cannot tell from a middling one.
            let p0 = if gauge.kind == Kind::Dial { p0 } else { noise.log_between(15.0, 100.0) };
            let rise = noise.log_between(3.0, 110.0);
            let circuit = if noise.chance(0.5) { Circuit::Levelling { rise, tau: noise.log_between(90.0, 1200.0) } } else { Circuit::Diffusing { rise } };
            (circuit, p0)
        }
        Nature::Pumped => {
            let shown = gauge.resolution_pa() + p0 * temperatures.doubt() / warmth.gas_k(0.0);
            let p0 = p0.max(3.0 * shown);
            let fall = (shown * noise.log_between(1.0, 30.0)).min(0.9 * p0);
            (Circuit::Pumped { fall, tau: warmth.duration * noise.log_between(0.05, 2.0) }, p0)
        }
    }
}

/// From 0 to the end, about evenly, as somebody who does other things between.
fn times(readings: usize, duration: f64, noise: &mut Noise) -> Vec<f64> {
    let step = duration / (readings - 1) as f64;
    (0..readings).map(|i| if i == 0 || i + 1 == readings { step * i as f64 } else { step * (i as f64 + noise.between(-0.3, 0.3)) }.round()).collect()
}

fn at(seconds: f64) -> String {
    let s = seconds as u64;
    format!("2026-05-12T{:02}:{:02}:{:02}Z", 10 + s / 3600, s / 60 % 60, s % 60)
}
