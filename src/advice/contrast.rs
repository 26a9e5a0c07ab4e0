//! How unusual the distance between two of one person's standings is, against a small group.
use crate::cohort::distributions::t_two_sided;

/// What the test says about one person's difference.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Unusual {
    /// Difference of the two standings, first less second, in standard deviations of the group.
    pub gap: f64,
    /// Test statistic with n − 1 degrees of freedom, with the sign of the gap.
    pub t: f64,
    /// Two-sided p.
    pub p: f64,
    /// Estimated percentage of the group's population with a gap further out on this side.
    pub further_out_percent: f64,
    /// Members of the group.
    pub n: usize,
}

/// The revised standardised difference test [Crawford & Garthwaite 2005, Neuropsychology 19:318], solved for the
/// exact probability: `a·y⁴ + b·y² + c = 0`, `y` referred to Student's t with `n − 1` degrees of freedom.
///
/// `x` and `y` are standings (in the group's standard deviations, against its mean), `r` the correlation of the two
/// in the group of `n`, the person left out of it. `None` below three members or where something is not finite.
pub fn unusual(x: f64, y: f64, r: f64, n: usize) -> Option<Unusual> {
    if n < 3 || !(x.is_finite() && y.is_finite() && r.is_finite() && r.abs() < 1.0) {
        return None;
    }
    let (size, free) = (n as f64, (n - 1) as f64);
    let gap = x - y;
    let a = (1.0 + r) * (1.0 - r * r);
    let b = (1.0 - r) * (4.0 * free * free + 4.0 * (1.0 + r) * free + (1.0 + r) * (5.0 + r));
    let c = -2.0 * gap * gap * size * free * free / (size + 1.0);
    let squared = (-b + (b * b - 4.0 * a * c).sqrt()) / (2.0 * a);
    let size_of_t = squared.max(0.0).sqrt();
    let p = t_two_sided(size_of_t, free);
    let t = if gap < 0.0 { -size_of_t } else { size_of_t };
    Some(Unusual { gap, t, p, further_out_percent: 50.0 * p, n })
}
