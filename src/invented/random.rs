//! A fixed, seeded generator: the same draws on every machine.

/// SplitMix64 [Steele, Lea & Flood 2014, OOPSLA: "Fast splittable pseudorandom number generators"].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Random(u64);

impl Random {
    /// A generator from a seed.
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }
    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }
    /// Uniform in `0 … 1`.
    pub fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }
    /// Uniform in a range.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }
    /// Standard normal to three decimals of its tails: the sum of twelve uniforms less six.
    pub fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.unit()).sum::<f64>() - 6.0
    }
}
