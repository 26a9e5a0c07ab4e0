//! Zero-lag Butterworth low-pass: second order, run both ways, its cut-off corrected for the two passes
//! [Winter 2009, Biomechanics and Motor Control of Human Movement, ch. 2].
use super::math::tan;

/// `force_n` low-passed at `cut_hz` (−3 dB of the two passes together), same length. The ends are padded by odd
/// reflection. A cut-off at or above half the rate returns the input.
pub fn low_pass(force_n: &[f64], rate_hz: f64, cut_hz: f64) -> Vec<f64> {
    if !(cut_hz > 0.0 && cut_hz < 0.45 * rate_hz) || force_n.len() < 2 {
        return force_n.to_vec();
    }
    // Two passes of second order: divide by (2^(1/2) − 1)^(1/4).
    let correction = super::math::fourth_root(core::f64::consts::SQRT_2 - 1.0);
    let k = tan(core::f64::consts::PI * cut_hz / rate_hz) / correction;
    let norm = 1.0 / (1.0 + core::f64::consts::SQRT_2 * k + k * k);
    let b = [k * k * norm, 2.0 * k * k * norm, k * k * norm];
    let a = [2.0 * (k * k - 1.0) * norm, (1.0 - core::f64::consts::SQRT_2 * k + k * k) * norm];
    let pad = (3.0 * rate_hz / cut_hz) as usize;
    let pad = pad.min(force_n.len() - 1);
    let (first, last) = (force_n[0], force_n[force_n.len() - 1]);
    let mut x: Vec<f64> = force_n[1..=pad].iter().rev().map(|v| 2.0 * first - v).collect();
    x.extend_from_slice(force_n);
    x.extend(force_n[force_n.len() - 1 - pad..force_n.len() - 1].iter().rev().map(|v| 2.0 * last - v));
    for _ in 0..2 {
        pass(&mut x, b, a);
        x.reverse();
    }
    x[pad..pad + force_n.len()].to_vec()
}

/// One causal pass in place (transposed direct form II), started as if the first value had stood for ever.
fn pass(x: &mut [f64], b: [f64; 3], a: [f64; 2]) {
    let x0 = x[0];
    let mut z2 = (b[2] - a[1]) * x0;
    let mut z1 = (b[1] - a[0]) * x0 + z2;
    for v in x.iter_mut() {
        let y = b[0] * *v + z1;
        z1 = b[1] * *v - a[0] * y + z2;
        z2 = b[2] * *v - a[1] * y;
        *v = y;
    }
}
