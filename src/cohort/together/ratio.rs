//! One value against another: left and right leg, two legs and one, countermovement and squat jump. Each with what its
//! uncertainty is.
use crate::cohort::Interval;

/// A value with its standard uncertainty (of a mean: its standard error, the measurement's share included).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// Value.
    pub value: f64,
    /// Standard uncertainty.
    pub u: f64,
}

/// `100·(R − L)/max`, %, of two one-leg trials or sets [Bishop et al. 2018, Strength Cond. J. 40(4):1, as remembered]. None
/// where the larger is not above zero.
pub fn difference_of_larger(left: Measured, right: Measured) -> Option<Measured> {
    let (large, small) = if right.value >= left.value { (right, left) } else { (left, right) };
    if !(large.value > 0.0 && small.value.is_finite()) {
        return None;
    }
    let part = small.value / large.value;
    let value = if right.value >= left.value { 100.0 * (1.0 - part) } else { 100.0 * (part - 1.0) };
    // 100 (1 − s/l): slopes −100/l in s and 100 s/l² in l.
    let (by_small, by_large) = (100.0 / large.value * small.u, 100.0 * part / large.value * large.u);
    Some(Measured { value, u: (by_small * by_small + by_large * by_large).sqrt() })
}

/// Two-leg deficit `100·two/(L + R) − 100`, %: negative where both legs together do less than one and one. None where the
/// sum is not above zero.
pub fn two_leg_deficit(left: Measured, right: Measured, two: Measured) -> Option<Measured> {
    let sum = left.value + right.value;
    if !(sum > 0.0 && two.value.is_finite()) {
        return None;
    }
    let by_sum = (left.u * left.u + right.u * right.u).sqrt() * 100.0 * two.value / (sum * sum);
    let by_two = 100.0 / sum * two.u;
    Some(Measured { value: 100.0 * two.value / sum - 100.0, u: (by_sum * by_sum + by_two * by_two).sqrt() })
}

/// Ratio of two independent values with its interval (countermovement to squat jump height [McGuigan et al. 2006]; not
/// scored). `t` is the quantile of the interval. None where the lower value is not surely away from zero: the interval would
/// have no end.
pub fn ratio(above: Measured, below: Measured, t: f64) -> Option<Interval> {
    fieller(above.value, below.value, [above.u * above.u, below.u * below.u, 0.0], t)
}

/// Interval of `a/b` from the variances of `a` and `b` and their covariance [Fieller 1954, J. R. Stat. Soc. B 16:175]. None
/// where `b` is less than `t` standard errors from zero.
pub fn fieller(a: f64, b: f64, [var_a, var_b, cov]: [f64; 3], t: f64) -> Option<Interval> {
    let t2 = t * t;
    let (qa, qb, qc) = (b * b - t2 * var_b, a * b - t2 * cov, a * a - t2 * var_a);
    let inside = qb * qb - qa * qc;
    if !(qa > 0.0 && inside >= 0.0) {
        return None;
    }
    let root = inside.sqrt();
    Some(Interval { value: a / b, low: (qb - root) / qa, high: (qb + root) / qa })
}
