//! Countermovement jump: weighing → unweighting → braking → propulsion → flight → landing
//! [phases: McMahon et al. 2018, Strength Cond. J. 40(4):96].
use super::super::motion::{Motion, integrate};
use core::ops::Range;

/// Everything a reading of one jump depends on; the uncertainty moves these one at a time and reads again.
#[derive(Debug, Clone, PartialEq)]
pub struct Inputs {
    /// Samples a second.
    pub rate_hz: f64,
    /// Gravity, m/s².
    pub gravity: f64,
    /// System weight, N.
    pub weight_n: f64,
    /// Quiet stretch used for weighing; integration starts at its end.
    pub quiet: Range<usize>,
    /// Standard deviation of force over it, N.
    pub quiet_sd_n: f64,
    /// Smallest step of force, N.
    pub quantum_n: f64,
    /// Onset threshold, standard deviations.
    pub onset_sd: f64,
    /// Take-off and touchdown threshold, N.
    pub threshold_n: f64,
    /// Coarse flight.
    pub air: Range<usize>,
    /// Whether somebody lands in the recording.
    pub lands: bool,
    /// Last sample that belongs to the trial, plus one.
    pub end: usize,
    /// Where integration stops at the latest; `end`, but for the uncertainty, which needs no motion after the landing.
    pub motion_end: usize,
    /// Velocity of the centre of mass taken as rest, m/s (0 but for the uncertainty).
    pub v0_m_s: f64,
    /// Shift of take-off, touchdown and peak downward velocity, samples (0 but for the uncertainty).
    pub shift: [f64; 3],
    /// Events put by hand, as fractional samples; they replace what would be found.
    pub by_hand: Vec<(String, f64)>,
}

/// Events as fractional samples.
#[derive(Debug, Clone, PartialEq)]
pub struct Events {
    /// Start of the movement, by rule.
    pub onset: f64,
    /// Peak downward velocity: unweighting → braking.
    pub peak_downward_velocity: f64,
    /// Velocity zero, lowest point: braking → propulsion.
    pub lowest_point: f64,
    /// Force falls below the threshold.
    pub take_off: f64,
    /// Force rises above it; NaN where nobody lands in the recording.
    pub touchdown: f64,
    /// Velocity zero after touchdown; NaN where not reached.
    pub landing_end: f64,
    /// Largest rise above weight right before the dip, N, and its time, when above the onset band.
    pub preload_rise: Option<(f64, f64)>,
}

impl Events {
    /// Name and place of each event that exists, in order of time.
    pub fn named(&self) -> Vec<(&'static str, f64)> {
        let all = [
            ("onset", self.onset),
            ("peak_downward_velocity", self.peak_downward_velocity),
            ("lowest_point", self.lowest_point),
            ("take_off", self.take_off),
            ("touchdown", self.touchdown),
            ("landing_end", self.landing_end),
        ];
        all.into_iter().filter(|(_, at)| at.is_finite()).collect()
    }
}

/// Why a stretch before a flight is not a countermovement jump.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotThisKind {
    /// No moment of going down and none of coming up before the flight.
    NoMovement,
}

/// Finds the events of one jump in zero-corrected total force.
///
/// # Errors
/// When there is no dip and rise between quiet standing and flight.
pub fn read(force_n: &[f64], p: &Inputs) -> Result<(Events, Motion), NotThisKind> {
    let mass_kg = p.weight_n / p.gravity;
    let motion = integrate(force_n, p.quiet.clone(), p.motion_end, p.weight_n, mass_kg, p.rate_hz, p.v0_m_s);
    Ok((find(force_n, p, &motion)?, motion))
}

/// Finds the events where the motion is already known.
///
/// # Errors
/// As [`read`].
pub fn find(force_n: &[f64], p: &Inputs, motion: &Motion) -> Result<Events, NotThisKind> {
    let hand = |name: &str| p.by_hand.iter().find(|(n, _)| n == name).map(|(_, at)| *at);
    let lasting = ((0.01 * p.rate_hz).ceil() as usize).max(2);

    let take_off = hand("take_off").unwrap_or_else(|| take_off(force_n, p, lasting)) + p.shift[0];
    let touchdown = match hand("touchdown") {
        Some(at) => at,
        None if p.lands => touchdown(force_n, p, lasting),
        None => f64::NAN,
    } + p.shift[1];

    // Peak downward velocity: the lowest velocity between quiet standing and take-off.
    let from = p.quiet.end;
    let to = (take_off.floor().max(0.0) as usize).min(force_n.len());
    let velocity = |i: usize| i.checked_sub(motion.start).and_then(|k| motion.velocity_m_s.get(k)).copied().unwrap_or(f64::NAN);
    let deepest_velocity = (from..to).min_by(|a, b| velocity(*a).total_cmp(&velocity(*b))).ok_or(NotThisKind::NoMovement)?;
    let peak_downward_velocity = hand("peak_downward_velocity").unwrap_or_else(|| {
        // Velocity is lowest where force crosses weight, within a sample or two of the lowest sampled velocity.
        let crosses =
            |i: &usize| matches!((force_n.get(*i), force_n.get(*i + 1)), (Some(a), Some(b)) if *a < p.weight_n && *b >= p.weight_n);
        let near = deepest_velocity.saturating_sub(2)..deepest_velocity + 2;
        near.filter(crosses)
            .min_by_key(|i| i.abs_diff(deepest_velocity))
            .map_or(deepest_velocity as f64, |i| crossing(force_n, i + 1, p.weight_n))
    }) + p.shift[2];
    let lowest_point = match hand("lowest_point") {
        Some(at) => at,
        None => first_upward_zero(motion, deepest_velocity, to).ok_or(NotThisKind::NoMovement)?,
    };

    // Onset: from the deepest unweighting backwards to the last sample inside the band, then 30 ms back
    // [Owen et al. 2014, J. Strength Cond. Res. 28:1552].
    let value = |i: usize| force_n.get(i).copied().unwrap_or(f64::NAN);
    let dip = (from..deepest_velocity + 1).min_by(|a, b| value(*a).total_cmp(&value(*b))).unwrap_or(deepest_velocity);
    let band = p.onset_sd * p.quiet_sd_n.max(p.quantum_n).max(2.0 / p.onset_sd);
    let inside = (p.quiet.start..dip).rev().find(|i| value(*i) >= p.weight_n - band).unwrap_or(p.quiet.start);
    let onset = hand("onset").unwrap_or(inside as f64 - 0.03 * p.rate_hz).max(0.0);
    let rise_from = inside.saturating_sub((0.3 * p.rate_hz) as usize).max(p.quiet.start);
    let preload_rise = (rise_from..inside + 1)
        .map(|i| (i as f64, value(i) - p.weight_n))
        .filter(|(_, rise)| *rise > band.max(0.03 * p.weight_n))
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(at, rise)| (rise, at));

    let landing_end = match hand("landing_end") {
        Some(at) => at,
        None if touchdown.is_finite() => first_upward_zero(motion, touchdown.ceil() as usize, p.end).unwrap_or(f64::NAN),
        None => f64::NAN,
    };
    Ok(Events { onset, peak_downward_velocity, lowest_point, take_off, touchdown, landing_end, preload_rise })
}

/// First time from sample `from` on that velocity, having been negative, reaches zero.
fn first_upward_zero(motion: &Motion, from: usize, to: usize) -> Option<f64> {
    let v = &motion.velocity_m_s;
    let first = from.checked_sub(motion.start)?;
    let last = to.checked_sub(motion.start)?.min(v.len());
    (first + 1..last).find_map(|k| {
        let (a, b) = (v.get(k - 1)?, v.get(k)?);
        (*a < 0.0 && *b >= 0.0).then(|| (motion.start + k - 1) as f64 - a / (b - a))
    })
}

/// First sample below the threshold that stays below for `lasting`, interpolated (*ours*).
fn take_off(force_n: &[f64], p: &Inputs, lasting: usize) -> f64 {
    let from = p.air.start.saturating_sub((0.05 * p.rate_hz) as usize).max(1);
    let below = |i: usize| force_n.get(i..i + lasting).is_some_and(|w| w.iter().all(|f| *f < p.threshold_n));
    let i = (from..p.air.end).find(|i| below(*i)).unwrap_or(p.air.start.max(1));
    crossing(force_n, i, p.threshold_n)
}

/// First sample after mid-flight above the threshold that stays above for `lasting`, interpolated (*ours*).
fn touchdown(force_n: &[f64], p: &Inputs, lasting: usize) -> f64 {
    let middle = (p.air.start + p.air.end) / 2;
    let above = |i: usize| force_n.get(i..i + lasting).is_some_and(|w| w.iter().all(|f| *f >= p.threshold_n));
    match (middle..force_n.len()).find(|i| above(*i)) {
        Some(i) => crossing(force_n, i, p.threshold_n),
        None => f64::NAN,
    }
}

/// Where the straight line from the sample before `i` to `i` meets `level`.
fn crossing(force_n: &[f64], i: usize, level: f64) -> f64 {
    match (i.checked_sub(1).and_then(|k| force_n.get(k)), force_n.get(i)) {
        (Some(a), Some(b)) if (a - level) * (b - level) <= 0.0 && a != b => (i - 1) as f64 + (level - a) / (b - a),
        _ => i as f64,
    }
}
