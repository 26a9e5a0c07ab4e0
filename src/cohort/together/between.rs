//! The means of two tests of one day against each other.
use super::ratio::{Measured, ratio};
use crate::cohort::distributions::{normal_quantile, t_quantile};
use crate::cohort::{Interval, LEVEL};

/// The mean of some trials.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DayMean {
    /// Mean.
    pub value: f64,
    /// Its standard error: of the trials' spread, never below what the measurement alone leaves.
    pub u: f64,
    /// Of how many trials.
    pub trials: usize,
}

impl From<DayMean> for Measured {
    fn from(mean: DayMean) -> Self {
        Self { value: mean.value, u: mean.u }
    }
}

/// The mean of values with their standard uncertainties; none of none.
pub fn day_mean(values: &[(f64, f64)]) -> Option<DayMean> {
    let n = values.len() as f64;
    let mean = values.iter().map(|v| v.0).sum::<f64>() / n;
    let own = values.iter().map(|v| v.1 * v.1).sum::<f64>() / n;
    let between = values.iter().map(|v| (v.0 - mean) * (v.0 - mean)).sum::<f64>() / (n - 1.0).max(1.0);
    (n > 0.0).then(|| DayMean { value: mean, u: (own.max(between) / n).sqrt(), trials: values.len() })
}

/// The ratio of two means with its 95 % interval [Fieller 1954]; degrees of freedom after Welch 1947 (Biometrika 34:28) and
/// Satterthwaite 1946 (Biometrics Bull. 2:110), each mean counting by its relative error. A mean of one trial has no spread
/// to estimate: it counts with the measurement's uncertainty, which is known.
///
/// # Errors
/// Why it is withheld, in words.
pub fn between(above: DayMean, below: DayMean) -> Result<Interval, &'static str> {
    let part = |m: DayMean| (m.u / m.value) * (m.u / m.value);
    let (a, b) = (part(above), part(below));
    let share = |p: f64, m: DayMean| if m.trials > 1 { p * p / (m.trials - 1) as f64 } else { 0.0 };
    let df = (a + b) * (a + b) / (share(a, above) + share(b, below));
    let p = 0.5 + 0.5 * LEVEL;
    let t = if df.is_finite() { t_quantile(p, df.max(1.0)) } else { normal_quantile(p) };
    ratio(above.into(), below.into(), t).ok_or("too few trials that agree too little: its interval has no end")
}
