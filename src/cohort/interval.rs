//! A value with the limits of its interval.

/// The share of intervals that hold the truth: 95 % everywhere in this room.
pub const LEVEL: f64 = 0.95;
/// Upper quantile of a two-sided 95 % interval.
pub(crate) const UPPER: f64 = 0.975;
/// Lower quantile of a two-sided 95 % interval.
pub(crate) const LOWER: f64 = 0.025;

/// A value and its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// The value.
    pub value: f64,
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
}

impl Interval {
    /// `value ± half`.
    pub fn about(value: f64, half: f64) -> Self {
        Self { value, low: value - half, high: value + half }
    }
    /// Each of the three through a rising function.
    pub fn map(self, f: impl Fn(f64) -> f64) -> Self {
        Self { value: f(self.value), low: f(self.low), high: f(self.high) }
    }
    /// Whether the interval holds `x`.
    pub fn holds(&self, x: f64) -> bool {
        self.low <= x && x <= self.high
    }
}
