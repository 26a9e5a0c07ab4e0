//! What a plate reads with nobody on it, and whether its output was cut at either end.
use super::stats::{batch_standard_error, least_of, mean, quantile, sd};
use serde::{Deserialize, Serialize};

/// Zero level of one channel or of the total.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Zero {
    /// Mean force with nobody on the plate, N.
    pub level_n: f64,
    /// Its standard uncertainty, N.
    pub u_n: f64,
    /// Standard deviation of force there, N.
    pub sd_n: f64,
    /// No negative sample and exact zeros: the device cuts its output at 0, which hides zero error and noise.
    pub clamped: bool,
}

/// Zero level from a stretch with nobody on the plate (at least two samples).
///
/// Clamped output says nothing of the zero error: it is then *unknown* with u = 2 N, not 0.
pub fn zero_level(unloaded_n: &[f64]) -> Zero {
    let exact_zeros = unloaded_n.iter().filter(|v| **v == 0.0).count();
    let clamped = !unloaded_n.iter().any(|v| *v < 0.0) && exact_zeros * 2 > unloaded_n.len();
    let sd_n = sd(unloaded_n);
    if clamped {
        return Zero { level_n: 0.0, u_n: 2.0, sd_n, clamped };
    }
    Zero { level_n: mean(unloaded_n), u_n: batch_standard_error(unloaded_n, 4), sd_n, clamped }
}

/// A stretch of samples stuck at a channel's upper end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Saturation {
    /// First sample.
    pub start: usize,
    /// Number of samples.
    pub len: usize,
}

/// Flat-topped runs of ≥ 3 equal samples at the channel's highest value.
///
/// A smooth peak read in steps of `q` also holds a few equal samples, but then falls away like a parabola; a cut
/// peak leaves its top steeply at both sides. So a run counts where, three samples outside it, force has fallen
/// more than three times what the parabola of its own width would give, and at more than 1.5 tops a second (a true
/// plateau is entered gently). Longer stays (≥ 10 samples) count as well when the same top is met twice.
pub fn saturation(force_n: &[f32], rate_hz: f64) -> Vec<Saturation> {
    let highest = -least_of(force_n, |f| -*f);
    let top = f64::from(highest);
    if !(top > 100.0) {
        return Vec::new();
    }
    // Where force but touches its top there is no run to look for; to count is quicker than to look.
    if force_n.iter().filter(|v| **v == highest).count() < 3 {
        return Vec::new();
    }
    let mut runs = Vec::new();
    let mut rest = force_n;
    while let Some(at) = rest.iter().position(|v| *v == highest) {
        let from = rest.get(at..).unwrap_or_default();
        let len = from.iter().position(|v| *v != highest).unwrap_or(from.len());
        if len >= 3 {
            runs.push(Saturation { start: force_n.len() - from.len(), len });
        }
        rest = from.get(len..).unwrap_or_default();
    }
    // An empty plate and a person standing still have tops too, made of noise in steps; no range ends there. The median is
    // the dearest question, and hardly any recording gets so far.
    if runs.is_empty() {
        return Vec::new();
    }
    let force_n: Vec<f64> = force_n.iter().map(|f| f64::from(*f)).collect();
    if !(top > 1.1 * quantile(&force_n, 0.5)) {
        return Vec::new();
    }
    let quantum = force_n.windows(2).map(|w| (w[1] - w[0]).abs()).filter(|d| *d > 0.0).fold(f64::MAX, f64::min);
    let cut = |r: &Saturation| {
        let half = r.len as f64 / 2.0;
        let natural = quantum * ((half + 3.0) / half) * ((half + 3.0) / half);
        let fall = |i: Option<usize>| i.and_then(|i| force_n.get(i)).map_or(f64::MAX, |v| top - v);
        let least = (3.0 * natural).max(1.5 * top * 3.0 / rate_hz);
        fall(r.start.checked_sub(3)) > least && fall(Some(r.start + r.len + 2)) > least
    };
    // In steps of a five-hundredth of the top a smooth peak meets it again by chance.
    let repeated = quantum < 0.002 * top && runs.len() >= 2 && runs.iter().map(|r| r.len).sum::<usize>() >= 10;
    runs.retain(|r| r.len < force_n.len() / 10 && (cut(r) || repeated));
    runs
}
