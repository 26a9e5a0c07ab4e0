//! One thing over another: the least-squares line that standing, mass and drift ask for.
use crate::force::stats::mean;

/// A least-squares line with what is left about it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Pairs behind it.
    pub n: usize,
    /// Mean of x.
    pub x_mean: f64,
    /// Mean of y.
    pub y_mean: f64,
    /// Slope; 0 where x does not vary.
    pub slope: f64,
    /// Correlation; 0 where one of the two does not vary.
    pub r: f64,
    /// Sum of squares of x about its mean.
    pub x_squares: f64,
    /// Standard deviation about the line (n − 2); 0 below three pairs.
    pub about: f64,
}

impl Line {
    /// Of `y` over `x`, value beside value.
    pub fn of(x: &[f64], y: &[f64]) -> Self {
        let (x_mean, y_mean, n) = (mean(x), mean(y), x.len().min(y.len()));
        let sum = |f: fn(f64, f64) -> f64| x.iter().zip(y).map(|(a, b)| f(a - x_mean, b - y_mean)).sum::<f64>();
        let (xx, yy, xy) = (sum(|a, _| a * a), sum(|_, b| b * b), sum(|a, b| a * b));
        let varies = xx > 0.0 && yy > 0.0;
        let slope = if xx > 0.0 { xy / xx } else { 0.0 };
        let about = if n > 2 { ((yy - slope * xy).max(0.0) / (n as f64 - 2.0)).sqrt() } else { 0.0 };
        Self { n, x_mean, y_mean, slope, r: if varies { xy / (xx * yy).sqrt() } else { 0.0 }, x_squares: xx, about }
    }
    /// What is expected at `x`.
    pub fn at(&self, x: f64) -> f64 {
        self.y_mean + self.slope * (x - self.x_mean)
    }
}
