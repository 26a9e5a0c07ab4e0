//! Seeded draws for what is answered by chance: the same on every machine. (The generator of invented recordings lies
//! in a later room and draws its normals roughly; a band's quantile needs them exact.)
use crate::force::math::{cos, ln};

/// SplitMix64 [Steele, Lea & Flood 2014, OOPSLA: "Fast splittable pseudorandom number generators"].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Draws(u64);

impl Draws {
    /// Draws from a seed.
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }
    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }
    /// Uniform, above 0 and at most 1.
    pub fn unit(&mut self) -> f64 {
        ((self.bits() >> 11) + 1) as f64 / (1u64 << 53) as f64
    }
    /// Standard normal [Box & Muller 1958, Ann. Math. Stat. 29:610; one of the pair].
    pub fn normal(&mut self) -> f64 {
        let (radius, turn) = ((-2.0 * ln(self.unit())).sqrt(), self.unit());
        radius * cos(core::f64::consts::TAU * turn)
    }
}
