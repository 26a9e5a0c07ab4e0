//! Trials of one athlete that were read with different gravity. Velocity and height go with gravity, and so do force and power
//! per kilogram, for mass is weight over gravity: a place set wrongly, or only later, looks like a change.
use crate::people::Date;

/// Differences below this change nothing that could be seen, as a part of the whole (*ours*: 0.2 mm of a jump of 40 cm).
pub const SEEN: f64 = 0.0005;

/// Lowest and highest gravity among trials that are compared, m/s², each with the latest day on which it was used.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gravities {
    /// The lowest.
    pub low: (f64, Option<Date>),
    /// The highest.
    pub high: (f64, Option<Date>),
}

impl Gravities {
    /// Of some trials, where they differ by more than [`SEEN`].
    pub fn of(trials: impl Iterator<Item = (f64, Option<Date>)>) -> Option<Self> {
        let mut found: Option<Self> = None;
        for one in trials.filter(|t| t.0.is_finite() && t.0 > 1.0) {
            let Self { low, high } = found.get_or_insert(Self { low: one, high: one });
            if one.0 < low.0 || one.0 == low.0 && one.1 > low.1 {
                *low = one;
            }
            if one.0 > high.0 || one.0 == high.0 && one.1 > high.1 {
                *high = one;
            }
        }
        found.filter(|f| f.part() > SEEN)
    }
    /// By how much they differ, as a part of the lower one.
    pub fn part(&self) -> f64 {
        self.high.0 / self.low.0 - 1.0
    }
}
