//! Small sums over sampled signals between fractional samples: what every figure is made of.
use crate::force::stats::{least_of, sum_of};
use core::ops::Range;

/// Trapezoid integral of a sampled signal between two fractional samples, in value · samples; NaN outside `0 … last`.
/// Costs the samples between and allocates nothing: the uncertainty comes here some two dozen times a trial.
pub fn integral(x: &[f64], from: f64, to: f64) -> f64 {
    let last = x.len().saturating_sub(1) as f64;
    if !(from >= 0.0 && to >= from && to <= last) {
        return f64::NAN;
    }
    let (first, end) = (from.ceil() as usize, to.floor() as usize);
    let (a, b) = (value_at(x, from), value_at(x, to));
    let Some(whole) = x.get(first..=end) else { return 0.5 * (a + b) * (to - from) };
    let (Some(x_first), Some(x_end)) = (whole.first(), whole.last()) else { return 0.5 * (a + b) * (to - from) };
    let sum = sum_of(whole, |v| *v) - 0.5 * (x_first + x_end);
    0.5 * (a + x_first) * (first as f64 - from) + sum + 0.5 * (x_end + b) * (to - end as f64)
}

/// Largest value between two fractional samples, the ends included as they lie between samples, with its place; NaN where
/// there is none. A contact is hardest at its lowest point, where one phase ends and the next begins: the whole samples inside
/// alone would miss up to one interval's rise there.
pub fn peak(x: &[f64], from: f64, to: f64) -> (f64, f64) {
    if !(from >= 0.0 && to >= from) {
        return (f64::NAN, f64::NAN);
    }
    let (a, b) = (from.ceil() as usize, (to.floor() as usize).saturating_add(1).min(x.len()));
    let inside = x.get(a..b).unwrap_or_default();
    let highest = -least_of(inside, |v| -v);
    let mut best = match inside.iter().position(|v| *v == highest) {
        Some(i) => (highest, (a + i) as f64),
        // Nothing but what is no number.
        None => (f64::NAN, f64::NAN),
    };
    for at in [from, to] {
        let v = value_at(x, at);
        if v > best.0 {
            best = (v, at);
        }
    }
    best
}

/// Index of the first lowest value in a range, as far as there are values.
pub fn lowest(x: &[f64], range: Range<usize>) -> Option<usize> {
    let inside = x.get(range.start..range.end.min(x.len()))?;
    // Twice over the values, but in lanes: a running lowest waits for itself at each of them.
    let least = least_of(inside, |v| *v);
    inside.iter().position(|v| *v == least).map(|i| range.start + i)
}

/// The value at a fractional sample; NaN outside.
pub fn value_at(x: &[f64], at: f64) -> f64 {
    if !(at >= 0.0) {
        return f64::NAN;
    }
    let i = at.floor() as usize;
    match (x.get(i), x.get(i + 1)) {
        (Some(a), Some(b)) => a + (b - a) * (at - i as f64),
        (Some(a), None) => *a,
        _ => f64::NAN,
    }
}
