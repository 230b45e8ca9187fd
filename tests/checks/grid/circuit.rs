//! The physics that the grid simulates: simple laws written here, none of them taken from the code under test.
use super::noise::Noise;

/// Saturation pressure over water, Pa, at degC: Buck (1981), J. Appl. Meteorol. 20, 1527, without the factor for moist air. Within 0.1 % of
/// the tables of the CRC Handbook from 10 to 40 degC.
pub fn water_pa(celsius: f64) -> f64 {
    611.21 * (17.502 * celsius / (celsius + 240.97)).exp()
}

/// Saturation pressure of R-134a, Pa, at K: the closed form of Tillner-Roth and Baehr (1994), its coefficients from memory.
pub fn r134a_pa(k: f64) -> f64 {
    let x = 1.0 - k / 374.18;
    4.056_29e6
        * (374.18 / k
            * (-7.686_556 * x + 2.311_791 * x.powf(1.5)
                - 2.039_554 * x.powi(2)
                - 3.583_758 * x.powi(4)))
        .exp()
}

/// What is inside and what it does to the pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Circuit {
    /// Nothing but the gas that the pump left.
    Tight,
    /// Air comes in, `pa_per_s` at first, less as the pressure nears the air's.
    Leaking { pa_per_s: f64 },
    /// Water boils toward its saturation pressure at the metal's temperature, or until none is left, within some `tau` seconds.
    Wet { at_first: f64, most: f64, tau: f64 },
    /// Gas leaves oil and rubber and levels off: `rise` Pa in the end, within some `tau` seconds.
    Levelling { rise: f64, tau: f64 },
    /// Gas diffuses out of rubber as the square root of time: `rise` Pa within the hold.
    Diffusing { rise: f64 },
    /// The pump still runs: `fall` Pa in the end, within some `tau` seconds.
    Pumped { fall: f64, tau: f64 },
    /// The pump runs until some second, then air comes in.
    Bounced {
        fall: f64,
        until: f64,
        pa_per_s: f64,
    },
}

/// The temperature of metal and gas over a hold, degC.
#[derive(Debug, Clone, Copy)]
pub struct Warmth {
    pub start: f64,
    /// How far it has drifted in the end, K.
    pub drift: f64,
    /// Straight, or quick at first.
    pub bent: bool,
    /// By how many seconds the gas follows the metal.
    pub lag: f64,
    pub duration: f64,
}

impl Warmth {
    pub fn draw(noise: &mut Noise, duration: f64) -> Self {
        let drift = if noise.chance(0.3) {
            0.0
        } else {
            noise.between(-4.0, 4.0)
        };
        Self {
            start: noise.between(12.0, 38.0),
            drift,
            bent: noise.chance(0.4),
            lag: noise.between(0.0, 120.0),
            duration,
        }
    }

    pub fn metal(&self, t: f64) -> f64 {
        let share = t.max(0.0) / self.duration;
        self.start
            + self.drift
                * if self.bent {
                    (1.0 - (-2.0 * share).exp()) / (1.0 - (-2.0_f64).exp())
                } else {
                    share
                }
    }

    pub fn gas_k(&self, t: f64) -> f64 {
        self.metal(t - self.lag) + 273.15
    }
}

/// The true pressure at some times, and what moved it.
pub struct Course {
    /// Absolute pressure at each time, Pa.
    pub pa: Vec<f64>,
    /// How far leak, water, outgassing or pump moved it by the end, at the first temperature, Pa; downwards too where water follows the cold.
    pub moved: f64,
    /// The same from the second time on.
    pub moved_since: f64,
}

impl Circuit {
    /// From `p0` Pa, in air of `air` Pa; times rise from 0.
    pub fn course(&self, p0: f64, air: f64, warmth: &Warmth, times: &[f64]) -> Course {
        let end = times.last().copied().unwrap_or(0.0);
        let source = |t: f64| -> f64 {
            match *self {
                Self::Tight | Self::Wet { .. } => 0.0,
                Self::Leaking { pa_per_s } => {
                    (air - p0) * (1.0 - (-pa_per_s * t / (air - p0)).exp())
                }
                Self::Levelling { rise, tau } => rise * (1.0 - (-t / tau).exp()),
                Self::Diffusing { rise } => rise * (t / end).sqrt(),
                Self::Pumped { fall, tau } => -fall * (1.0 - (-t / tau).exp()),
                Self::Bounced {
                    fall,
                    until,
                    pa_per_s,
                } => -fall * (t / until).min(1.0) + pa_per_s * (t - until).max(0.0),
            }
        };
        let water = self.water(warmth, times);
        let gas = p0 - water.first().copied().unwrap_or(0.0);
        let pa = times
            .iter()
            .zip(&water)
            .map(|(t, w)| (gas + source(*t)) * warmth.gas_k(*t) / warmth.gas_k(0.0) + w)
            .collect();
        let most = |list: &[f64]| {
            list.iter().map(|w| w - list[0]).fold(
                0.0,
                |most: f64, w| if w.abs() > most.abs() { w } else { most },
            )
        };
        let second = times.get(1).copied().unwrap_or(0.0);
        // A fall and rise has moved it by the greater of the two.
        let way = |from: f64| {
            let list: Vec<f64> = times
                .iter()
                .filter(|t| **t >= from)
                .map(|t| source(*t))
                .collect();
            if let Self::Bounced { .. } = self {
                most(&list)
            } else {
                list.last().copied().unwrap_or(0.0) - list.first().copied().unwrap_or(0.0)
            }
        };
        let (moved, moved_since) = (
            way(0.0) + most(&water),
            way(second) + water.get(1..).map_or(0.0, most),
        );
        Course {
            pa,
            moved,
            moved_since,
        }
    }

    /// The water's own pressure: dw/dt = (level - w)/tau, with the level moving with the metal, in steps of a fiftieth of tau.
    fn water(&self, warmth: &Warmth, times: &[f64]) -> Vec<f64> {
        let Self::Wet {
            at_first,
            most,
            tau,
        } = *self
        else {
            return vec![0.0; times.len()];
        };
        let (mut t, mut w, step) = (0.0, at_first, tau / 50.0);
        times
            .iter()
            .map(|until| {
                while t < *until {
                    let dt = step.min(until - t).max(1e-6);
                    let level = water_pa(warmth.metal(t)).min(most);
                    w = level + (w - level) * (-dt / tau).exp();
                    t += dt;
                }
                w
            })
            .collect()
    }
}

/// What a leak that lets in `pa_m3_per_s` of air would lose in service, kg of R-134a a year, by the three ways that a path lets gas through:
/// laminar, choked, molecular (Levenspiel 2014, 4.1.8). `mean` Pa absolute stood inside. Properties at 25 degC: viscosity 18.448 and
/// 11.819 uPa s (Lemmon and Jacobsen 2004; Huber, Laesecke and Perkins 2003), k 1.4017 and 1.1194.
pub fn in_service(pa_m3_per_s: f64, air: f64, mean: f64) -> [f64; 3] {
    converted(pa_m3_per_s, (air, mean), air, (28.9655, 18.448, 1.4017))
}

/// The same of a leak that lets nitrogen out from `high` Pa absolute: viscosity 17.80 uPa s, k 1.4013 (from memory).
pub fn nitrogen_in_service(pa_m3_per_s: f64, air: f64, high: f64) -> [f64; 3] {
    converted(pa_m3_per_s, (high, air), air, (28.0134, 17.80, 1.4013))
}

fn converted(
    pa_m3_per_s: f64,
    (high, low): (f64, f64),
    air: f64,
    (m_test, viscosity, k_test): (f64, f64, f64),
) -> [f64; 3] {
    let service = r134a_pa(298.15);
    let choked =
        |k: f64, m: f64| (k / m).sqrt() * (2.0 / (k + 1.0)).powf((k + 1.0) / (2.0 * (k - 1.0)));
    let m = 102.032;
    let laminar =
        (service.powi(2) - air.powi(2)) / (high.powi(2) - low.powi(2)) * viscosity / 11.819;
    let orifice = service * choked(1.1194, m) / (high * choked(k_test, m_test));
    let molecular = f64::sqrt(m_test / m) * (service - air) / (high - low);
    [laminar, orifice, molecular]
        .map(|factor| pa_m3_per_s * factor * m * 1e-3 / (8.314_462_6 * 298.15) * 365.25 * 86_400.0)
}
