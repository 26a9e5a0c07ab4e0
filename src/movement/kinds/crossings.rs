//! Crossings that several kinds look for: of the threshold, of weight, of velocity zero, and the start of a movement.
use super::super::motion::Motion;
use super::Inputs;
use core::ops::Range;

/// First time from sample `from` on that velocity, having been negative, reaches zero.
pub(super) fn first_upward_zero(motion: &Motion, from: usize, to: usize) -> Option<f64> {
    let v = &motion.velocity_m_s;
    let first = from.checked_sub(motion.start)?;
    let last = to.checked_sub(motion.start)?.min(v.len());
    (first + 1..last).find_map(|k| {
        let (a, b) = (v.get(k - 1)?, v.get(k)?);
        (*a < 0.0 && *b >= 0.0).then(|| (motion.start + k - 1) as f64 - a / (b - a))
    })
}

/// First sample below the threshold that stays below for 10 ms, interpolated (*ours*).
pub(super) fn take_off(force_n: &[f64], p: &Inputs, air: &Range<usize>) -> f64 {
    let from = air.start.saturating_sub((0.05 * p.rate_hz) as usize).max(1);
    let lasting = p.lasting();
    let below = |i: usize| force_n.get(i..i + lasting).is_some_and(|w| w.iter().all(|f| *f < p.threshold_n));
    let i = (from..air.end).find(|i| below(*i)).unwrap_or(air.start.max(1));
    crossing(force_n, i, p.threshold_n)
}

/// First sample from `from` on above the threshold that stays above for 10 ms, interpolated (*ours*); NaN where none.
pub(super) fn touchdown(force_n: &[f64], p: &Inputs, from: usize) -> f64 {
    let lasting = p.lasting();
    let above = |i: usize| force_n.get(i..i + lasting).is_some_and(|w| w.iter().all(|f| *f >= p.threshold_n));
    match (from..force_n.len()).find(|i| above(*i)) {
        Some(i) => crossing(force_n, i, p.threshold_n),
        None => f64::NAN,
    }
}

/// Where the straight line from the sample before `i` to `i` meets `level`.
pub(super) fn crossing(force_n: &[f64], i: usize, level: f64) -> f64 {
    match (i.checked_sub(1).and_then(|k| force_n.get(k)), force_n.get(i)) {
        (Some(a), Some(b)) if (a - level) * (b - level) <= 0.0 && a != b => (i - 1) as f64 + (level - a) / (b - a),
        _ => i as f64,
    }
}

/// Middle of a coarse flight, where the search for its touchdown starts.
pub(super) fn middle(air: &Range<usize>) -> usize {
    (air.start + air.end) / 2
}

/// Sample of the lowest velocity in a range.
pub(super) fn fastest_down(motion: &Motion, range: Range<usize>) -> Option<usize> {
    let velocity = |i: usize| i.checked_sub(motion.start).and_then(|k| motion.velocity_m_s.get(k)).copied().unwrap_or(f64::NAN);
    range.min_by(|a, b| velocity(*a).total_cmp(&velocity(*b)))
}

/// The lowest velocity lies where force crosses weight, within a sample or two of the lowest sampled velocity.
pub(super) fn peak_downward(force_n: &[f64], p: &Inputs, lowest: usize) -> f64 {
    let crosses = |i: &usize| matches!((force_n.get(*i), force_n.get(*i + 1)), (Some(a), Some(b)) if *a < p.weight_n && *b >= p.weight_n);
    let near = lowest.saturating_sub(2)..lowest + 2;
    near.filter(crosses).min_by_key(|i| i.abs_diff(lowest)).map_or(lowest as f64, |i| crossing(force_n, i + 1, p.weight_n))
}

/// Half-width of the onset's band, N: so many standard deviations of quiet standing, at least 2 N or one step.
pub(super) fn band(p: &Inputs) -> f64 {
    p.onset_sd * p.quiet_sd_n.max(p.quantum_n).max(2.0 / p.onset_sd)
}
