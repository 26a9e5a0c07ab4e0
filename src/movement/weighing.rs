//! What the person weighs: from a quiet stretch, and from rest to rest with the jump between.
use crate::force::stats::{batch_standard_error, mean, sd, sd_about_line, sum_of_three};
use core::ops::Range;

/// A weight read from one quiet stretch.
#[derive(Debug, Clone, PartialEq)]
pub struct Weight {
    /// The stretch.
    pub stretch: Range<usize>,
    /// Mean force, N.
    pub mean_n: f64,
    /// Standard deviation of force, N.
    pub sd_n: f64,
    /// Standard uncertainty of the mean as a weight, N: batch means and sway together.
    pub u_n: f64,
    /// Typical vertical speed of the centre of mass while standing, m/s: its spread about a steady drift.
    pub sway_m_s: f64,
}

/// Stretches within 3 % of the quietest half second in `range` (of the quietest eighth of one where there is no such
/// half second), longest sensible pieces, in order.
///
/// Work is done on 20 ms means, so that noise and mains hum do not break a stretch that a person would call quiet.
/// The floor of half the stance (and 150 N) keeps the empty plate, which is quietest of all, from being weighed.
pub fn quiet_stretches(force_n: &[f64], range: Range<usize>, rate_hz: f64, stance_n: f64) -> Vec<Range<usize>> {
    let block = block(rate_hz);
    let Some(part) = force_n.get(range.clone()) else { return Vec::new() };
    let blocks: Vec<f64> = part.chunks_exact(block).map(mean).collect();
    let floor = (0.5 * stance_n).max(150.0);
    let quietest = |length: usize| {
        let windows = blocks.windows(length).filter(|w| w.iter().all(|b| *b > floor));
        let found = windows.map(|w| (sd(w), mean(w))).min_by(|a, b| a.0.total_cmp(&b.0));
        // Half a second that sways by more than 3 % is no standing.
        found.filter(|(sd, mean)| *sd < 0.03 * mean).map(|(_, mean)| mean)
    };
    let Some(reference) = quietest(25).or_else(|| quietest(6)) else { return Vec::new() };
    let mut out = Vec::new();
    let mut start = None;
    for (i, b) in blocks.iter().chain(core::iter::once(&f64::MAX)).enumerate() {
        let inside = (b - reference).abs() <= 0.03 * reference;
        match (inside, start) {
            (true, None) => start = Some(i),
            (false, Some(s)) => {
                if i - s >= 5 {
                    out.push(range.start + s * block..range.start + i * block);
                }
                start = None;
            }
            _ => {}
        }
    }
    out
}

/// The stretch to weigh on before a movement that starts at `before`: the last one whose variance is like the
/// quietest one's (F-ratio ≤ 2), all of it, ended 100 ms before the movement. `None` where there is none of 0.1 s.
pub fn weigh(force_n: &[f64], stretches: &[Range<usize>], before: usize, rate_hz: f64) -> Option<Weight> {
    let guard = (0.1 * rate_hz).round() as usize;
    let ended: Vec<Range<usize>> = stretches
        .iter()
        .map(|s| s.start..s.end.min(before.saturating_sub(guard)))
        .filter(|s| s.end > s.start && (s.end - s.start) as f64 >= 0.1 * rate_hz)
        .collect();
    let variance = |s: &Range<usize>| {
        let v = force_n.get(s.clone()).map_or(f64::MAX, sd);
        v * v
    };
    let long = ended.iter().filter(|s| s.len() as f64 >= 0.5 * rate_hz);
    let variances: Vec<(&Range<usize>, f64)> = long.map(|s| (s, variance(s))).collect();
    let quietest = variances.iter().map(|v| v.1).fold(f64::MAX, f64::min);
    // Rounding alone gives a spread; below a tenth of a newton squared, stretches are alike.
    let like = variances.iter().rfind(|v| v.1 <= 2.0 * quietest.max(0.1)).map(|v| v.0);
    let chosen = like.or_else(|| ended.iter().max_by_key(|s| s.len()))?;
    weight_of(force_n, chosen.clone(), rate_hz)
}

/// Weight of one stretch; none where it is too short or carries nobody.
pub fn weight_of(force_n: &[f64], stretch: Range<usize>, rate_hz: f64) -> Option<Weight> {
    let x = force_n.get(stretch.clone())?;
    let mean_n = mean(x);
    if !(mean_n > 0.0 && x.len() >= 4) {
        return None;
    }
    let mass = mean_n / 9.8;
    // Sway is slow: speed at the end of every 20 ms says as much as every sample's.
    let block = block(rate_hz);
    let mut v = 0.0;
    let speed: Vec<f64> = x
        .chunks_exact(block)
        .map(|part| {
            v += (part.iter().sum::<f64>() - mean_n * block as f64) / mass / rate_hz;
            v
        })
        .collect();
    let length_s = x.len() as f64 / rate_hz;
    // White noise alone makes velocity wander: a random walk's spread about its line has variance σ²·Δt·T/15. That
    // part belongs to noise, which is accounted for elsewhere; the rest is the body's own movement.
    let white_n = white_noise(x);
    let walk = white_n / mass * (length_s / rate_hz / 15.0).sqrt();
    let spread = sd_about_line(&speed);
    // A single walk's spread scatters by half about its expectation: only more than that is the body's.
    let sway_m_s = if spread < 1.6 * walk { 0.0 } else { (spread * spread - walk * walk).sqrt() };
    let batch = batch_standard_error(x, (length_s / 0.25).round().clamp(4.0, 20.0) as usize);
    // A few batches scatter by a third about what white noise alone gives, which the many steps say far better.
    let white = white_n / (x.len() as f64).sqrt();
    let batch = if batch < 1.6 * white { white } else { batch };
    // The mean over a stretch differs from weight by the change of momentum across it.
    let sway = mass * sway_m_s * core::f64::consts::SQRT_2 / length_s;
    let u_n = (batch * batch + sway * sway).sqrt();
    Some(Weight { stretch, mean_n, sd_n: sd(x), u_n, sway_m_s })
}

/// Closure weighing: between rest before and rest after, the jump included, momentum does not change, so mean force
/// is weight. The two rests are whole stretches: the weight is the one that gives the same mean velocity in both,
/// which averages the sway. Returns weight and standard uncertainty, N, and its covariance with the mean of the rest before, N²: the
/// same noise is in both. *Ours.*
pub fn closure(force_n: &[f64], before: &Range<usize>, after: &Range<usize>, rate_hz: f64) -> Option<(f64, f64, f64)> {
    let part = force_n.get(before.start..after.end)?;
    let reference = mean(force_n.get(before.clone())?);
    let block = block(rate_hz);
    let mut sum = 0.0;
    // Impulse about a reference weight, so that no large numbers cancel; by trapezoid, at the end of every 20 ms.
    let impulse: Vec<f64> = part
        .chunks_exact(block)
        .map(|part| {
            sum += part.iter().sum::<f64>() - reference * block as f64;
            (sum - 0.5 * (part.last().copied().unwrap_or(reference) - reference)) / rate_hz
        })
        .collect();
    let a = impulse.get(..before.len() / block)?;
    let first_after = (after.start - before.start) / block;
    let b = impulse.get(first_after..)?;
    let dt = (first_after as f64 + (b.len() as f64 - a.len() as f64) / 2.0) * block as f64 / rate_hz;
    if a.is_empty() || b.is_empty() || dt < 0.5 {
        return None;
    }
    let weight = reference + (mean(b) - mean(a)) / dt;
    // White noise is seen in the steps of quiet standing. Its impulse is a random walk: between the means of two
    // stretches of it lie the way between them and a third of each, and about its own line over a time T it spreads by
    // σ²·Δt·T/15, with half as much scatter. What spreads more is sway.
    let white_n = white_noise(force_n.get(before.clone())?);
    let per_second = white_n * white_n / rate_hz;
    let seconds = |blocks: usize| (blocks * block) as f64 / rate_hz;
    let sway = |x: &[f64]| {
        let length_s = seconds(x.len());
        let (spread, walk) = (sd_about_line(x), (per_second * length_s / 15.0).sqrt());
        // One independent half-swing of sway each half second.
        if spread < 1.6 * walk { 0.0 } else { (spread * spread - walk * walk) / (length_s / 0.5).max(1.0) }
    };
    let walked = per_second * (seconds(first_after.saturating_sub(a.len())) + seconds(a.len() + b.len()) / 3.0);
    // A sample of the rest before counts from nothing at its start to once at its end: half, on average.
    Some((weight, (sway(a) + sway(b) + walked).sqrt() / dt, 0.5 * per_second / dt))
}

/// Samples of 20 ms.
fn block(rate_hz: f64) -> usize {
    ((0.02 * rate_hz).round() as usize).max(1)
}

/// Standard deviation of white noise in a stretch, from its steps: what changes slowly does not enter.
fn white_noise(x: &[f64]) -> f64 {
    let steps = x.len().saturating_sub(1).max(1) as f64;
    let later = x.get(1..).unwrap_or_default();
    let squares = sum_of_three(x, later, later, |from, to, _| (to - from) * (to - from));
    (squares / steps / 2.0).sqrt()
}
