//! Two occasions, value beside value: typical error and limits of agreement.
use super::distributions::{chi_square_quantile, t_quantile};
use super::interval::{Interval, LOWER, UPPER};
use crate::force::stats::{mean, sd};

/// What pairs of values say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Retest {
    /// Pairs.
    pub pairs: usize,
    /// Mean of second − first, with its interval.
    pub shift: Interval,
    /// Standard deviation of the differences.
    pub sd_difference: f64,
    /// `SD(diff)/√2` [Hopkins 2000, Sports Med. 30:1], with its chi-square interval.
    pub typical_error: Interval,
    /// Limits of agreement, mean ± 1.96 SD [Bland & Altman 1986, Lancet 327:307; they round 1.96 to 2].
    pub limits: (f64, f64),
    /// Repeatability coefficient of one instrument read twice: 1.96 times the root of the mean squared difference.
    pub repeatability_coefficient: f64,
}

impl Retest {
    /// From pairs (first, second); those with a value that is no number are left out; `None` below two.
    pub fn of(pairs: &[(f64, f64)]) -> Option<Self> {
        let differences: Vec<f64> = pairs.iter().map(|(a, b)| b - a).filter(|d| d.is_finite()).collect();
        let n = differences.len() as f64;
        if n < 2.0 {
            return None;
        }
        let (shift, spread) = (mean(&differences), sd(&differences));
        let root = mean(&differences.iter().map(|d| d * d).collect::<Vec<_>>()).sqrt();
        let reach = 1.959_963_984_540_054;
        Some(Self {
            pairs: differences.len(),
            shift: Interval::about(shift, t_quantile(UPPER, n - 1.0) * spread / n.sqrt()),
            sd_difference: spread,
            typical_error: sd_interval(spread / core::f64::consts::SQRT_2, n - 1.0),
            limits: (shift - reach * spread, shift + reach * spread),
            repeatability_coefficient: reach * root,
        })
    }
}

/// The chi-square interval of a standard deviation with `df` degrees of freedom.
pub fn sd_interval(sd: f64, df: f64) -> Interval {
    let limit = |p: f64| sd * (df / chi_square_quantile(p, df)).sqrt();
    Interval { value: sd, low: limit(UPPER), high: limit(LOWER) }
}
