//! Small sums over sampled signals between fractional samples: what every figure is made of.

/// Trapezoid integral of a sampled signal between two fractional samples, in value · samples; NaN outside `0 … last`.
/// `x` gives the value at a whole sample. Costs the samples between and allocates nothing: the uncertainty comes here
/// some two dozen times a trial.
pub fn integral(x: impl Fn(usize) -> f64, from: f64, to: f64, len: usize) -> f64 {
    let last = len.saturating_sub(1) as f64;
    if !(from >= 0.0 && to >= from && to <= last) {
        return f64::NAN;
    }
    let between = |at: f64| {
        let i = at.floor() as usize;
        let part = at - i as f64;
        if part == 0.0 { x(i) } else { x(i) + part * (x(i + 1) - x(i)) }
    };
    let (first, end) = (from.ceil() as usize, to.floor() as usize);
    let (a, b) = (between(from), between(to));
    if first > end {
        return 0.5 * (a + b) * (to - from);
    }
    let whole: f64 = (first..=end).map(&x).sum::<f64>() - 0.5 * (x(first) + x(end));
    0.5 * (a + x(first)) * (first as f64 - from) + whole + 0.5 * (x(end) + b) * (to - end as f64)
}

/// Largest sample between two fractional samples, with its index; NaN where there is none.
pub fn peak(x: impl Fn(usize) -> f64, from: f64, to: f64, len: usize) -> (f64, f64) {
    if !(from >= 0.0 && to >= from) || len == 0 {
        return (f64::NAN, f64::NAN);
    }
    let (a, b) = (from.ceil() as usize, (to.floor() as usize).min(len - 1));
    let mut best = (f64::NAN, f64::NAN);
    for i in a..=b {
        let v = x(i);
        if !(v <= best.0) {
            best = (v, i as f64);
        }
    }
    best
}

/// The value at a whole sample; NaN outside.
pub fn sample(x: &[f64]) -> impl Fn(usize) -> f64 + '_ {
    |i| x.get(i).copied().unwrap_or(f64::NAN)
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
