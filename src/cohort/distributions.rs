//! Normal, t, chi-square, F and beta: probabilities and quantiles.
//!
//! Written here, over `force::math`, and not taken from a statistics crate: those reach `exp`, `ln` and `powf` through
//! a trait whose backing (the standard library or `libm`) is switched by a feature that any other crate of the build
//! may turn on, and then the page and the native program would part in the last bits. Rounding the quantiles would only
//! move the parting to the rounding's edges. SciPy's values are the check (`tests/cohort_numbers.rs`).
//!
//! Method: incomplete beta and gamma by continued fraction or series [Abramowitz & Stegun 1964, 26.5.8, 6.5.29, 6.5.31;
//! modified Lentz evaluation, Thompson & Barnett 1986, J. Comput. Phys. 64:490]; quantiles by a
//! bracketed search on the probability, which cannot run away. Relative error about 1e-12 for degrees of freedom up to 1e5. A quantile costs
//! some microseconds: fine a thousand times a view, not in an inner loop.
use crate::force::math::{erfc, exp, ln, ln_1p, ln_gamma};

const TINY: f64 = 1e-300;

/// P(Z ≤ z).
pub fn normal_cdf(z: f64) -> f64 {
    0.5 * erfc(-z * core::f64::consts::FRAC_1_SQRT_2)
}

/// The z below which the share `p` of a standard normal lies.
pub fn normal_quantile(p: f64) -> f64 {
    symmetric_quantile(p, normal_cdf)
}

/// P(T ≤ t) with `df` degrees of freedom; infinite `df` is the normal.
pub fn t_cdf(t: f64, df: f64) -> f64 {
    if !(df > 0.0) || t.is_nan() {
        return f64::NAN;
    }
    if df > 1e7 {
        return normal_cdf(t);
    }
    let tail = 0.5 * beta_share(df / 2.0, 0.5, df / (df + t * t), t * t / (df + t * t));
    if t > 0.0 { 1.0 - tail } else { tail }
}

/// P(|T| ≥ |t|): the two-sided p-value.
pub fn t_two_sided(t: f64, df: f64) -> f64 {
    2.0 * t_cdf(-t.abs(), df)
}

/// The t below which the share `p` lies.
pub fn t_quantile(p: f64, df: f64) -> f64 {
    symmetric_quantile(p, |t| t_cdf(t, df))
}

/// P(χ² ≤ x).
pub fn chi_square_cdf(x: f64, df: f64) -> f64 {
    if df > 0.0 { gamma_share(df / 2.0, x.max(0.0) / 2.0) } else { f64::NAN }
}

/// The χ² below which the share `p` lies.
pub fn chi_square_quantile(p: f64, df: f64) -> f64 {
    positive_quantile(p, |x| chi_square_cdf(x, df))
}

/// P(F ≤ x).
pub fn f_cdf(x: f64, df_above: f64, df_below: f64) -> f64 {
    let (a, b) = (df_above * x.max(0.0), df_below);
    beta_share(df_above / 2.0, df_below / 2.0, a / (a + b), b / (a + b))
}

/// The F below which the share `p` lies.
pub fn f_quantile(p: f64, df_above: f64, df_below: f64) -> f64 {
    positive_quantile(p, |x| f_cdf(x, df_above, df_below))
}

/// The share of a beta variable below which the share `p` lies.
pub fn beta_quantile(p: f64, a: f64, b: f64) -> f64 {
    if !((0.0..=1.0).contains(&p) && a > 0.0 && b > 0.0) {
        return f64::NAN;
    }
    zero(0.0, 1.0, |x| beta_share(a, b, x, 1.0 - x) - p)
}

/// Regularised incomplete beta; `y` is `1 − x`, given apart so that neither loses digits near the ends.
fn beta_share(a: f64, b: f64, x: f64, y: f64) -> f64 {
    if !(a > 0.0 && b > 0.0 && x >= 0.0 && y >= 0.0) {
        return f64::NAN;
    }
    if x == 0.0 || y == 0.0 {
        return if x == 0.0 { 0.0 } else { 1.0 };
    }
    let ln_x = if x > 0.5 { ln_1p(-y) } else { ln(x) };
    let ln_y = if y > 0.5 { ln_1p(-x) } else { ln(y) };
    let front = exp(ln_gamma(a + b) - ln_gamma(a) - ln_gamma(b) + a * ln_x + b * ln_y);
    if x < (a + 1.0) / (a + b + 2.0) { front * beta_fraction(a, b, x) / a } else { 1.0 - front * beta_fraction(b, a, y) / b }
}

fn away_from_zero(x: f64) -> f64 {
    if x.abs() < TINY { TINY } else { x }
}

fn beta_fraction(a: f64, b: f64, x: f64) -> f64 {
    let mut c = 1.0;
    let mut d = 1.0 / away_from_zero(1.0 - (a + b) * x / (a + 1.0));
    let mut h = d;
    for m in 1..20_000 {
        let m = f64::from(m);
        for term in
            [m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m)), -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0))]
        {
            d = 1.0 / away_from_zero(1.0 + term * d);
            c = away_from_zero(1.0 + term / c);
            h *= d * c;
        }
        if (d * c - 1.0).abs() < 1e-15 {
            break;
        }
    }
    h
}

/// Regularised lower incomplete gamma.
fn gamma_share(a: f64, x: f64) -> f64 {
    if !(a > 0.0 && x >= 0.0) {
        return f64::NAN;
    }
    if x == 0.0 {
        return 0.0;
    }
    let front = exp(a * ln(x) - x - ln_gamma(a));
    if x < a + 1.0 {
        let (mut term, mut sum) = (1.0 / a, 1.0 / a);
        for k in 1..100_000 {
            term *= x / (a + f64::from(k));
            sum += term;
            if term < sum * 1e-16 {
                break;
            }
        }
        return front * sum;
    }
    let mut b = x + 1.0 - a;
    let mut c = 1.0 / TINY;
    let mut d = 1.0 / away_from_zero(b);
    let mut h = d;
    for k in 1..100_000 {
        let k = f64::from(k);
        let term = -k * (k - a);
        b += 2.0;
        d = 1.0 / away_from_zero(term * d + b);
        c = away_from_zero(b + term / c);
        h *= d * c;
        if (d * c - 1.0).abs() < 1e-15 {
            break;
        }
    }
    1.0 - front * h
}

/// The zero of a function that rises from `low` to `high`: false position with the Illinois rule [Dowell & Jarratt 1971,
/// BIT 11:168], every third step a halving, so that it is quick where the function is smooth and never worse than
/// three times a bisection.
fn zero(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let (mut at_low, mut at_high) = (f(low), f(high));
    if !(at_low < 0.0) {
        return low;
    }
    for step in 0..400 {
        if high - low <= 1e-15 * high.abs().max(low.abs()) || !(at_high > 0.0) {
            break;
        }
        let halving = 0.5 * (low + high);
        let secant = low - at_low * (high - low) / (at_high - at_low);
        let x = if step % 3 == 2 || !(secant > low && secant < high) { halving } else { secant };
        if x <= low || x >= high {
            break;
        }
        let y = f(x);
        if y < 0.0 {
            (low, at_low) = (x, y);
            at_high *= 0.5;
        } else if y > 0.0 {
            (high, at_high) = (x, y);
            at_low *= 0.5;
        } else {
            return x;
        }
    }
    0.5 * (low + high)
}

fn positive_quantile(p: f64, cdf: impl Fn(f64) -> f64) -> f64 {
    if !(0.0..=1.0).contains(&p) || cdf(1.0).is_nan() {
        return f64::NAN;
    }
    if p == 0.0 || p == 1.0 {
        return if p == 0.0 { 0.0 } else { f64::INFINITY };
    }
    let mut high = 1.0;
    while cdf(high) < p && high < 1e300 {
        high *= 2.0;
    }
    zero(0.0, high, |x| cdf(x) - p)
}

/// A quantile of a distribution that mirrors about zero; only the lower half is asked, where tails keep their digits.
fn symmetric_quantile(p: f64, cdf: impl Fn(f64) -> f64) -> f64 {
    if !(0.0..=1.0).contains(&p) || cdf(0.0).is_nan() {
        return f64::NAN;
    }
    let tail = p.min(1.0 - p);
    if tail == 0.5 {
        return 0.0;
    }
    let size = if tail == 0.0 {
        f64::INFINITY
    } else {
        let mut high = 1.0;
        while cdf(-high) > tail && high < 1e300 {
            high *= 2.0;
        }
        zero(0.0, high, |x| tail - cdf(-x))
    };
    if p < 0.5 { -size } else { size }
}

/// P(T ≤ t) of the noncentral t with noncentrality `shift`: the normal's probability averaged over the spread of the
/// estimated standard deviation (Simpson's rule on 400 steps of that spread, error below 1e-7, from ten degrees of freedom on below 1e-9).
pub fn noncentral_t_cdf(t: f64, df: f64, shift: f64) -> f64 {
    if !(df >= 1.0) || !t.is_finite() || !shift.is_finite() {
        return f64::NAN;
    }
    // s = χ/√df has density 2 (df/2)^(df/2) / Γ(df/2) · s^(df−1) · exp(−df s²/2); nearly all of it within 10 / √(2 df) of 1.
    let reach = 10.0 / (2.0 * df).sqrt();
    let (low, high) = ((1.0 - reach).max(0.0), 1.0 + reach);
    let ln_front = core::f64::consts::LN_2 + df / 2.0 * ln(df / 2.0) - ln_gamma(df / 2.0);
    let density = |s: f64| {
        if s > 0.0 {
            exp(ln_front + (df - 1.0) * ln(s) - df * s * s / 2.0)
        } else if df == 1.0 {
            exp(ln_front)
        } else {
            0.0
        }
    };
    let step = (high - low) / 400.0;
    let sum: f64 = (0..=400)
        .map(|i| {
            let s = low + f64::from(i) * step;
            let weight = if i == 0 || i == 400 {
                1.0
            } else if i % 2 == 1 {
                4.0
            } else {
                2.0
            };
            weight * density(s) * normal_cdf(t * s - shift)
        })
        .sum();
    sum * step / 3.0
}

/// The noncentrality under which `t` is the `p` quantile: a limit of an interval for a standardised difference.
pub fn noncentrality(t: f64, df: f64, p: f64) -> f64 {
    if !t.is_finite() {
        return f64::NAN;
    }
    // The probability falls as the shift grows; the limit lies within a generous multiple of t's own spread.
    let reach = 12.0 + 2.0 * t.abs();
    zero(t - reach, t + reach, |shift| p - noncentral_t_cdf(t, df, shift))
}
