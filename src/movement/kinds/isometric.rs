//! Isometric push or pull (mid-thigh, squat, ankle): force against something that does not move. Net force is gross force
//! less the weight in standing; times run from an onset five standard deviations above the pre-tension
//! [Dos'Santos et al. 2017, J. Strength Cond. Res. 31:3463], without a step back: 30 ms are a third of the first rates.
use super::super::motion::Motion;
use super::super::sums::{integral, peak, value_at};
use super::blocks::steepest;
use super::{Events, Inputs, Kind, NotThisKind, Phase, TestKind, Values};
use crate::force::stats::{line, mean, sd_about_line};

/// The kind.
pub struct Isometric;

const PHASES: &[Phase] = &[
    Phase { name: "pre-tension", from: "pre_tension_start", to: "onset" },
    Phase { name: "rise", from: "onset", to: "peak_force" },
    Phase { name: "pull", from: "onset", to: "release" },
];

/// More than this above weight before the pull is told, N.
pub const HIGH_PRE_TENSION_N: f64 = 50.0;

impl Kind for Isometric {
    fn test(&self) -> TestKind {
        TestKind::Isometric
    }
    fn phases(&self) -> &'static [Phase] {
        PHASES
    }
    fn without_velocity(&self) -> &'static [&'static str] {
        FIGURES
    }
    /// None: nothing moves.
    fn motion(&self, _force_n: &[f64], _p: &Inputs) -> Motion {
        Motion::default()
    }

    /// [`Inputs::begin`] … [`Inputs::end`] is the coarse stretch of the effort.
    fn find(&self, force_n: &[f64], p: &Inputs, _motion: &Motion) -> Result<Events, NotThisKind> {
        let value = |i: usize| force_n.get(i).copied().unwrap_or(f64::NAN);
        let width = ((0.02 * p.rate_hz).round() as usize).max(1);
        let end = p.end.min(force_n.len());
        let (_, top_at) = peak(force_n, p.begin as f64, end.saturating_sub(1) as f64);
        if !top_at.is_finite() {
            return Err(NotThisKind::NoRise);
        }
        let top = top_at as usize;
        // The pull: from the steepest 20 ms before the peak backwards to the last sample inside the pre-tension's band.
        let reach = (1.0 * p.rate_hz) as usize;
        let first = p.begin.saturating_sub(reach).max(p.quiet.end.min(p.begin));
        let rise = |i: &usize| value(i + width) - value(*i);
        let steep =
            (first..top.saturating_sub(width).max(first + 1)).max_by(|a, b| rise(a).total_cmp(&rise(b))).ok_or(NotThisKind::NoRise)?;
        // Backwards from there to where force is flat: two neighbouring 50 ms differ by less than a twentieth of what the
        // steepest rate would make of them. The second before that, a quarter of a second clear of it (a dip may lie there), is
        // the pre-tension.
        let guard = (0.05 * p.rate_hz) as usize;
        let level_at = |i: usize| force_n.get(i.saturating_sub(guard)..i).map_or(f64::NAN, mean);
        let flat_n = (0.05 * rise(&steep) * guard as f64 / width as f64).max(4.0);
        let stride = (guard / 5).max(1);
        let flat = |i: &usize| (level_at(*i) - level_at(i.saturating_sub(guard))).abs() < flat_n;
        let coarse = (p.quiet.start + 2 * guard..steep + 1).rev().step_by(stride).find(flat).unwrap_or(steep);
        let before_end = coarse.saturating_sub(5 * guard).max(1);
        let before_start = before_end.saturating_sub(reach);
        let before = force_n.get(before_start..before_end).filter(|b| b.len() >= 4).ok_or(NotThisKind::NoRise)?;
        // Level and slope of the half of it right before the rise; the slack may still be taken up in the other.
        let late = before.get(before.len() / 2..).unwrap_or(before);
        let (level, spread) = (mean(late), sd_about_line(late));
        let band = (p.onset_sd * spread.max(p.quiet_sd_n)).max(p.quantum_n).max(2.0);
        let left = (before_start..steep + width).rev().find(|i| value(*i) <= level + band).unwrap_or(steep);
        let onset = p.hand("onset").unwrap_or(left as f64) + p.shift[0];
        // Letting go: force back under half of the net peak, for good.
        let floor = p.weight_n + 0.5 * (value(top) - p.weight_n);
        let release = p.hand("release").unwrap_or_else(|| (top..end).find(|i| value(*i) < floor).unwrap_or(end.saturating_sub(1)) as f64);

        let mut signs = Vec::new();
        let slope = line(late).1 * p.rate_hz;
        if (slope * late.len() as f64 / p.rate_hz).abs() > 4.0 * spread.max(2.0) {
            signs.push(("unsteady_pre_tension", slope, before_end as f64));
        }
        if level - p.weight_n > HIGH_PRE_TENSION_N {
            signs.push(("high_pre_tension", level - p.weight_n, before_end as f64));
        }
        if let Some((depth, at)) = dip(force_n, before_end, before_start..before_end, left, p, level - p.weight_n) {
            signs.push(("dip_before_pull", depth, at as f64));
        }
        let all = vec![("pre_tension_start", before_start as f64), ("onset", onset), ("peak_force", top_at), ("release", release)];
        Ok(Events { all, signs })
    }

    fn figures(&self, force_n: &[f64], smooth_n: &[f64], p: &Inputs, e: &Events, _motion: &Motion) -> Values {
        let (rate, w) = (p.rate_hz, p.weight_n);
        let (onset, release) = (e.at("onset"), e.at("release"));
        let (top, top_at) = peak(smooth_n, onset, release);
        // A time is only given where the pull still lasts.
        let at = |ms: f64| {
            let t = onset + ms / 1000.0 * rate;
            if t <= release { value_at(force_n, t) - w } else { f64::NAN }
        };
        let slope = |ms: f64| (at(ms) - at(0.0)) / (ms / 1000.0);
        let impulse = |ms: f64| {
            let to = onset + ms / 1000.0 * rate;
            if to <= release { integral(force_n, onset, to) / rate - w * ms / 1000.0 } else { f64::NAN }
        };
        let before = (e.at("pre_tension_start"), onset - 0.05 * rate);
        let half = before.0.max(before.1 - 0.5 * rate);
        let pre_tension = integral(force_n, half, before.1) / (before.1 - half) - w;
        let values = [
            top - w,
            top,
            (top_at - onset) / rate,
            pre_tension,
            at(50.0),
            at(100.0),
            at(150.0),
            at(200.0),
            at(250.0),
            slope(50.0),
            slope(100.0),
            slope(150.0),
            slope(200.0),
            slope(250.0),
            steepest(force_n, onset, top_at, rate),
            impulse(100.0),
            impulse(200.0),
            impulse(300.0),
        ];
        FIGURES.iter().copied().zip(values).collect()
    }

    fn why_not(&self, _id: &str, _e: &Events) -> Option<&'static str> {
        Some("the pull ends before that, or was not found")
    }
}

/// A countermovement before the pull: where force dips between the pre-tension and the onset, its depth and place.
///
/// Letting go and pulling again stores and gives back what a pull from rest must make, as a dip does in a jump; it takes 50 ms
/// or more, so it is looked for in means over 10 ms, where noise and hum are small. It is told beyond four of the spreads that
/// such means have in the pre-tension itself, 15 N, and a tenth of the pre-tension: whoever hangs on a bar with 300 N lets go
/// of some of it unawares. Level is the pre-tension's own line carried on, or its mean, whichever is lower, so that a slow
/// creep makes no dip.
fn dip(force_n: &[f64], from: usize, before: core::ops::Range<usize>, onset: usize, p: &Inputs, above_n: f64) -> Option<(f64, usize)> {
    let block = ((0.01 * p.rate_hz).round() as usize).max(1);
    let late = force_n.get(before.start + before.len() / 2..before.end)?;
    let steady: Vec<f64> = late.chunks_exact(block).map(mean).collect();
    if steady.len() < 4 {
        return None;
    }
    let (at_start, a_block) = line(&steady);
    let (spread, level) = (sd_about_line(&steady), mean(late));
    let part = force_n.get(from..onset.max(from))?;
    let gone = steady.len() as f64;
    let depth = |(k, x): (usize, &[f64])| (level.min(at_start + a_block * (gone + k as f64)) - mean(x), from + k * block + block / 2);
    let deepest = part.chunks_exact(block).enumerate().map(depth).max_by(|a, b| a.0.total_cmp(&b.0))?;
    (deepest.0 > (4.0 * spread).max(15.0).max(0.1 * above_n)).then_some(deepest)
}

const FIGURES: &[&str] = &[
    "peak_force",
    "gross_peak_force",
    "time_to_peak_force",
    "pre_tension",
    "force_at_50_ms",
    "force_at_100_ms",
    "force_at_150_ms",
    "force_at_200_ms",
    "force_at_250_ms",
    "rate_of_force_development_50_ms",
    "rate_of_force_development_100_ms",
    "rate_of_force_development_150_ms",
    "rate_of_force_development_200_ms",
    "rate_of_force_development_250_ms",
    "peak_rate_of_force_development",
    "impulse_100_ms",
    "impulse_200_ms",
    "impulse_300_ms",
];
