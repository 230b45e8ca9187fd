//! A small generator with a seed of its own: the same grid on every machine.

/// SplitMix64 (Steele, Lea and Flood, 2014).
pub struct Noise(u64);

impl Noise {
    pub fn seeded(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From 0 to below 1, even.
    pub fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Between two values, even.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Between two values, even in the logarithm.
    pub fn log_between(&mut self, low: f64, high: f64) -> f64 {
        self.between(low.ln(), high.ln()).exp()
    }

    /// With this chance.
    pub fn chance(&mut self, share: f64) -> bool {
        self.unit() < share
    }

    /// A whole number from 0 to below n.
    pub fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }

    /// Normal, by Box and Muller, cut at two standard deviations: a needle is not misread by more than half a graduation before it is rounded.
    pub fn normal(&mut self, deviation: f64) -> f64 {
        loop {
            let z = (-2.0 * (1.0 - self.unit()).ln()).sqrt()
                * (std::f64::consts::TAU * self.unit()).cos();
            if z.abs() <= 2.0 {
                return z * deviation;
            }
        }
    }
}
