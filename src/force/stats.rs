//! Small sums over force: mean, standard deviation, quantile, and the standard error of a correlated mean.

/// Sum over a slice in four lanes: a single running sum waits for its own last addition at every value. Written out, since a
/// build for size unrolls nothing; the order is fixed, so that both targets give the same bits.
pub fn sum_of<T>(x: &[T], value: impl Fn(&T) -> f64) -> f64 {
    let (mut s, mut t, mut u, mut v) = (0.0, 0.0, 0.0, 0.0);
    let (fours, rest) = x.as_chunks::<4>();
    for [a, b, c, d] in fours {
        s += value(a);
        t += value(b);
        u += value(c);
        v += value(d);
    }
    rest.iter().fold((s + u) + (t + v), |sum, x| sum + value(x))
}

/// The same over three slices side by side, as far as the shortest goes.
pub fn sum_of_three(x: &[f64], y: &[f64], z: &[f64], value: impl Fn(f64, f64, f64) -> f64) -> f64 {
    let n = x.len().min(y.len()).min(z.len());
    let whole = n / 4 * 4;
    let cut = |all| <[f64]>::split_at(all, whole);
    let ((x, x_rest), (y, y_rest), (z, z_rest)) = (cut(x), cut(y), cut(z));
    let (mut s, mut t, mut u, mut v) = (0.0, 0.0, 0.0, 0.0);
    for (([a, b, c, d], [e, f, g, h]), [i, j, k, l]) in x.as_chunks::<4>().0.iter().zip(y.as_chunks::<4>().0).zip(z.as_chunks::<4>().0) {
        s += value(*a, *e, *i);
        t += value(*b, *f, *j);
        u += value(*c, *g, *k);
        v += value(*d, *h, *l);
    }
    x_rest.iter().zip(y_rest).zip(z_rest).fold((s + u) + (t + v), |sum, ((x, y), z)| sum + value(*x, *y, *z))
}

/// A number that [`least_of`] compares.
pub trait Number: Copy + PartialOrd {
    /// The largest there is.
    const MOST: Self;
}
impl Number for f64 {
    const MOST: Self = Self::MAX;
}
impl Number for f32 {
    const MOST: Self = Self::MAX;
}

/// The least of some values of a slice, in four lanes as [`sum_of`]; the largest number there is for an empty one.
pub fn least_of<T, N: Number>(x: &[T], value: impl Fn(&T) -> N) -> N {
    let least = |a: N, b: N| if b < a { b } else { a };
    let (mut s, mut t, mut u, mut v) = (N::MOST, N::MOST, N::MOST, N::MOST);
    let (fours, rest) = x.as_chunks::<4>();
    for [a, b, c, d] in fours {
        s = least(s, value(a));
        t = least(t, value(b));
        u = least(u, value(c));
        v = least(v, value(d));
    }
    rest.iter().fold(least(least(s, u), least(t, v)), |low, x| least(low, value(x)))
}

/// Mean; 0 for an empty slice.
pub fn mean(x: &[f64]) -> f64 {
    if x.is_empty() { 0.0 } else { sum_of(x, |v| *v) / x.len() as f64 }
}

/// Sample standard deviation (n − 1); 0 below two values.
pub fn sd(x: &[f64]) -> f64 {
    if x.len() < 2 {
        return 0.0;
    }
    let m = mean(x);
    (sum_of(x, |v| (v - m) * (v - m)) / (x.len() - 1) as f64).sqrt()
}

/// The `q`-quantile (0 … 1, nearest rank) of finite values; 0 for an empty slice.
pub fn quantile(x: &[f64], q: f64) -> f64 {
    let mut v = x.to_vec();
    if v.is_empty() {
        return 0.0;
    }
    let k = (((v.len() - 1) as f64) * q).round() as usize;
    let k = k.min(v.len() - 1);
    *v.select_nth_unstable_by(k, f64::total_cmp).1
}

/// Median (nearest rank).
pub fn median(x: &[f64]) -> f64 {
    quantile(x, 0.5)
}

/// Standard error of the mean by batch means: the values are correlated (sway, hum), so the spread of a few long
/// batches speaks for the whole. `batches` ≥ 2.
pub fn batch_standard_error(x: &[f64], batches: usize) -> f64 {
    let size = x.len() / batches.max(2);
    if size == 0 {
        return sd(x);
    }
    let means: Vec<f64> = x.chunks_exact(size).map(mean).collect();
    sd(&means) / (means.len() as f64).sqrt()
}

/// Intercept and slope of a least-squares line over 0, 1, 2, …
pub fn line(x: &[f64]) -> (f64, f64) {
    let n = x.len() as f64;
    if x.len() < 2 {
        return (mean(x), 0.0);
    }
    let (t_mean, y_mean) = ((n - 1.0) / 2.0, mean(x));
    let (mut sxy, mut sxx) = (0.0, 0.0);
    for (i, y) in x.iter().enumerate() {
        let t = i as f64 - t_mean;
        sxy += t * (y - y_mean);
        sxx += t * t;
    }
    let slope = sxy / sxx;
    (y_mean - slope * t_mean, slope)
}

/// Standard deviation about the least-squares line.
pub fn sd_about_line(x: &[f64]) -> f64 {
    let (a, b) = line(x);
    let rest: Vec<f64> = x.iter().enumerate().map(|(i, y)| y - a - b * i as f64).collect();
    sd(&rest)
}
