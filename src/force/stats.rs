//! Small sums over force: mean, standard deviation, quantile, and the standard error of a correlated mean.

/// Sum over a slice in eight lanes: a single running sum waits for its own last addition at every value. The order is fixed,
/// so that both targets give the same bits.
pub fn sum_of<T>(x: &[T], value: impl Fn(&T) -> f64) -> f64 {
    let mut lanes = [0.0; 8];
    let (eights, rest) = x.as_chunks::<8>();
    for eight in eights {
        for (lane, v) in lanes.iter_mut().zip(eight) {
            *lane += value(v);
        }
    }
    let [a, b, c, d, e, f, g, h] = lanes;
    ((a + e) + (b + f)) + ((c + g) + (d + h)) + rest.iter().map(value).sum::<f64>()
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
