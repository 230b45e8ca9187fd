//! Gauges and how they are read.
use super::noise::Noise;

const INHG: f64 = 3386.389;
const MICRON: f64 = 101.325 / 760.0;

#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    Dial,
    Digital,
    Micron,
}

/// A gauge: what it counts in and how finely.
#[derive(Debug, Clone, Copy)]
pub struct Gauge {
    pub kind: Kind,
    /// The unit in Pa and as a record writes it.
    unit: (f64, &'static str),
    /// One graduation or the last digit, in the unit.
    step: f64,
}

impl Gauge {
    pub fn draw(noise: &mut Noise, kind: Kind) -> Self {
        let (unit, steps): (_, &[f64]) = match kind {
            Kind::Dial => ((INHG, "inHg"), &[0.5]),
            Kind::Digital => (
                [(INHG, "inHg"), (1e3, "kPa"), (100.0, "mbar")][noise.below(3)],
                &[0.1],
            ),
            Kind::Micron => ((MICRON, "micron"), &[1.0, 5.0, 10.0, 25.0]),
        };
        // A tenth of an inch, a tenth of a kilopascal, a whole millibar.
        let step = if unit.1 == "mbar" {
            1.0
        } else {
            steps[noise.below(steps.len())]
        };
        Self { kind, unit, step }
    }

    pub fn resolution_pa(&self) -> f64 {
        self.unit.0 * self.step
    }

    pub fn resolution(&self) -> String {
        format!("{} {}", self.step, self.unit.1)
    }

    /// What is written down for an absolute pressure in air of `air` Pa: a quarter of a graduation of unrest, then the nearest graduation.
    pub fn read(&self, pa: f64, air: f64, noise: &mut Noise) -> String {
        let shown = if self.kind == Kind::Micron {
            pa
        } else {
            air - pa
        } / self.unit.0
            + noise.normal(self.step / 4.0);
        let shown = ((shown / self.step).round() * self.step).max(0.0);
        let from = if self.kind == Kind::Micron {
            ""
        } else {
            " vacuum"
        };
        format!("{shown:.1} {}{from}", self.unit.1)
    }

    /// A depth that a pump reaches and this gauge is used for, Pa.
    pub fn depth(&self, noise: &mut Noise) -> f64 {
        match self.kind {
            Kind::Dial => noise.log_between(300.0, 8000.0),
            Kind::Digital => noise.log_between(100.0, 5000.0),
            Kind::Micron => noise.log_between(15.0, 600.0),
        }
    }
}
