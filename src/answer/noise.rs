//! Noise and hum laid on a curve for the uncertainty's readings, and a curve with most of its noise taken off.
use crate::force::math::{cos, sin};
use core::ops::Range;

/// A curve with noise on it, the draw turned round: its tail first.
pub(super) fn lay(into: &mut [f64], curve: &[f64], head: &[f64], tail: &[f64]) -> Option<()> {
    // Two plain loops, which the compiler turns into vector ones; a chained iterator it does not.
    let (early, late) = into.split_at_mut(head.len().min(curve.len()));
    let (curve_early, curve_late) = curve.split_at_checked(early.len())?;
    early.iter_mut().zip(curve_early).zip(head).for_each(|((to, f), e)| *to = f + e);
    late.iter_mut().zip(curve_late).zip(tail).for_each(|((to, f), e)| *to = f + e);
    Some(())
}

/// A wave of `turns` a sample and the same a quarter turn later, by the recurrence of the sine.
pub(super) fn wave(turns: f64, n: usize) -> [Vec<f64>; 2] {
    let twice = 2.0 * cos(core::f64::consts::TAU * turns);
    let from = |first: f64, second: f64| {
        let (mut before, mut last) = (first, second);
        let next = |_| {
            let now = before;
            (before, last) = (last, twice * last - before);
            now
        };
        (0..n).map(next).collect()
    };
    [from(1.0, 0.5 * twice), from(0.0, sin(core::f64::consts::TAU * turns))]
}

/// Adds a wave at the `k`th of eight phases: hum's own is not known, and each is as likely.
pub(super) fn ride(on: &mut [f64], [even, odd]: &[Vec<f64>; 2], amplitude: f64, k: usize) {
    let phase = core::f64::consts::TAU * k as f64 / 8.0;
    let (a, b) = (amplitude * cos(phase), amplitude * sin(phase));
    on.iter_mut().zip(even).zip(odd).for_each(|((x, c), s)| *x += a * c + b * s);
}

/// What a curve looks like without most of its noise, between two places: at each sample the mean over 6 ms either side (five
/// samples at least). It makes a narrow top lower, but no top where there was none, as a fitted parabola does beside a plateau's
/// corner. Outside, and near the ends, the curve itself.
pub(super) fn calmed(force_n: &[f64], (from, to): (f64, f64), rate_hz: f64) -> Vec<f64> {
    let half = ((0.006 * rate_hz).round() as usize).max(5);
    let mut out = force_n.to_vec();
    if !(from >= 0.0 && to >= from) {
        return out;
    }
    let first = (from as usize).saturating_sub(1);
    let part = force_n.get(first..(to as usize).saturating_add(2 * half + 2).min(force_n.len())).unwrap_or_default();
    let width = (2 * half + 1) as f64;
    for (window, to) in part.windows(2 * half + 1).zip(out.get_mut(first + half..).unwrap_or_default()) {
        *to = window.iter().sum::<f64>() / width;
    }
    out
}

/// The curve where each sample of a range is as high as it or the curve half-way to a neighbour: a top between two samples is
/// lower in both, by as much as this shows. The value between is the cubic's through four samples.
pub(super) fn topped(calm: &[f64], range: &Range<usize>) -> Vec<f64> {
    let mut out = calm.to_vec();
    let (calm, out_part) = (calm.get(range.clone()).unwrap_or_default(), out.get_mut(range.clone()).unwrap_or_default());
    for (four, to) in calm.windows(4).zip(out_part.get_mut(1..).unwrap_or_default()) {
        if let [a, b, c, d] = four {
            *to = to.max((9.0 * (b + c) - a - d) / 16.0);
        }
    }
    out
}

/// Fixed, seeded, nearly normal noise (each value the sum of four uniforms): the same on every machine. Four generators take
/// turns: a single one would wait for its own last step.
pub(super) fn noise(seed: u64, sd: f64, n: usize) -> Vec<f64> {
    // Of four uniforms on 0…65535: their sum has mean 131070 and variance 4·65536²/12.
    let scale = sd / 37_837.2;
    let mut states: [u64; 4] =
        core::array::from_fn(|k| seed.wrapping_mul(4).wrapping_add(k as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    let mut out = vec![0.0; n];
    for four in out.chunks_mut(4) {
        for (value, state) in four.iter_mut().zip(&mut states) {
            *state ^= *state << 13;
            *state ^= *state >> 7;
            *state ^= *state << 17;
            let sum: u64 = (0..4).map(|k| (*state >> (16 * k)) & 0xFFFF).sum();
            *value = (sum as f64 - 131_070.0) * scale;
        }
    }
    out
}
