//! Student's t for whole degrees of freedom, in closed form.
use crate::force::math;

/// P(T ≤ t) with `df` ≥ 1 degrees of freedom: the finite trigonometric sums of Abramowitz & Stegun 1964, 26.7.3–4.
pub fn t_below(t: f64, df: usize) -> f64 {
    if t.is_nan() {
        return f64::NAN;
    }
    if t.is_infinite() {
        return if t > 0.0 { 1.0 } else { 0.0 };
    }
    let n = df.max(1) as f64;
    let cosine = 1.0 / (1.0 + t * t / n).sqrt();
    let sine = t.abs() / n.sqrt() * cosine;
    let squared = cosine * cosine;
    // A = P(−t < T < t).
    let inside = if df % 2 == 1 {
        let (mut term, mut sum) = (cosine, 0.0);
        for k in 1..=(df.max(1) - 1) / 2 {
            sum += term;
            let k = k as f64;
            term *= squared * (2.0 * k) / (2.0 * k + 1.0);
        }
        2.0 / core::f64::consts::PI * (math::acos(cosine) + sine * sum)
    } else {
        let (mut term, mut sum) = (1.0, 0.0);
        for k in 1..=df / 2 {
            sum += term;
            let k = k as f64;
            term *= squared * (2.0 * k - 1.0) / (2.0 * k);
        }
        sine * sum
    };
    let half = (inside / 2.0).min(0.5);
    if t < 0.0 { 0.5 - half } else { 0.5 + half }
}

/// P(|T| ≥ |t|).
pub fn two_sided(t: f64, df: usize) -> f64 {
    2.0 * t_below(-t.abs(), df)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn agrees_with_tables() {
        // Critical values printed in every table of t (Fisher & Yates 1938); from memory, and equal to scipy.stats.t.ppf.
        for (p, df, t) in
            [(0.975, 1, 12.706), (0.975, 2, 4.303), (0.975, 10, 2.228), (0.95, 19, 1.729), (0.995, 30, 2.750), (0.9, 5, 1.476)]
        {
            assert!((t_below(t, df) - p).abs() < 1e-4, "{p} {df}: {}", t_below(t, df));
        }
        assert!((two_sided(2.228, 10) - 0.05).abs() < 2e-5);
        assert_eq!(t_below(0.0, 7), 0.5);
    }
}
