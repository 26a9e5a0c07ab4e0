//! What is wrong with standing: moving or talking while being weighed, stepping off too soon after the landing.
use crate::force::stats::{mean, sd};

/// Spread of force over quarters of a second while being weighed, N, where it is above 1 % of weight.
///
/// Noise and hum vanish in means over 0.25 s and a heartbeat nearly does; what is left is the body moving. A mean over
/// movement is weight only if the body ends as fast as it began, so `u` of weight grows with it — by more than its own
/// estimate can promise once the movement is large.
pub(crate) fn restless(quiet_n: &[f64], rate_hz: f64) -> Option<f64> {
    let block = ((0.25 * rate_hz) as usize).max(1);
    let means: Vec<f64> = quiet_n.chunks_exact(block).map(mean).collect();
    let spread = sd(&means);
    (means.len() >= 3 && spread > 0.01 * mean(quiet_n)).then_some(spread)
}

/// Fractional sample at which somebody steps off after the landing, where that is less than 1.5 s after its end.
///
/// Without a second and a half of standing there is no final rest: nothing checks the weighing, and stabilisation is cut off.
/// Rising from a deep landing unweights, too, but then the body is carried again: who steps off leaves force below half of
/// weight from there to the trial's end.
pub(crate) fn stepped_off(force_n: &[f64], landing_end: f64, end: usize, rate_hz: f64, weight_n: f64) -> Option<f64> {
    if !(landing_end >= 0.0) {
        return None;
    }
    let from = landing_end.ceil() as usize;
    let part = force_n.get(from..end)?;
    let lasting = ((0.03 * rate_hz) as usize).max(2);
    let gone = part.get(part.iter().rposition(|f| *f >= 0.5 * weight_n).map_or(0, |last| last + 1)..)?;
    let at = gone.iter().position(|f| *f < 0.35 * weight_n)?;
    let off = from + part.len() - gone.len() + at;
    (gone.len() >= lasting && ((off - from) as f64) < 1.5 * rate_hz).then_some(off as f64)
}

/// The largest departure from weight in the second and a half before onset (fractional sample, N), where means over 40 ms
/// reach 15 % of weight: a hop, a step, a dip that was thought better of.
///
/// Integration from rest needs rest: a body still moving when it is weighed carries a velocity into the jump that nothing in
/// the weighing shows. `begin` is where the stance begins (stepping on, or the landing before).
pub(crate) fn stirred(force_n: &[f64], begin: usize, onset: f64, rate_hz: f64, weight_n: f64) -> Option<(f64, f64)> {
    if !(onset >= 0.0) {
        return None;
    }
    let to = (onset - 0.05 * rate_hz).max(0.0) as usize;
    let from = to.saturating_sub((1.5 * rate_hz) as usize).max(begin);
    let block = ((0.04 * rate_hz) as usize).max(1);
    let part = force_n.get(from..to)?;
    let departures = part.chunks_exact(block).enumerate().map(|(k, x)| ((from + k * block) as f64, mean(x) - weight_n));
    departures.filter(|(_, by)| by.abs() > 0.15 * weight_n).max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
}
