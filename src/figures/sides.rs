//! Left against right: gross impulses and peaks per plate, over phases cut on the total force. (A net per-plate
//! impulse would turn a lean into a difference.) Power per side is not given: force times whole-body velocity is not
//! a leg's power.
use crate::movement::kinds::{Events, Phase};
use crate::movement::sums::{integral, peak};
use core::ops::Range;

/// Zero-corrected force of both plates, N.
pub struct Plates<'a> {
    /// Left.
    pub left_n: &'a [f64],
    /// Right.
    pub right_n: &'a [f64],
    /// Standard uncertainty of each plate's zero level, N.
    pub zero_u_n: [f64; 2],
}

/// One figure on both sides.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Side {
    /// Its id.
    pub id: &'static str,
    /// Left, SI.
    pub left: f64,
    /// Right, SI.
    pub right: f64,
    /// SI unit.
    pub unit: &'static str,
    /// Standard uncertainty of left and of right from each plate's gain and zero level.
    pub u_each: [f64; 2],
    /// Standard uncertainty of 100·(R−L)/(R+L).
    pub u: f64,
}

/// Standard uncertainty of one plate's gain until a plate check says better (*ours*): 0.25 %.
const GAIN_U: f64 = 0.002_5;

/// The figures of a phase on each side: impulse, and peak force where the phase has one.
const OF_PHASE: &[(&str, &str, &str)] = &[
    ("unweighting", "unweighting_impulse", ""),
    ("braking", "braking_impulse", "peak_braking_force"),
    ("propulsion", "propulsion_impulse", "peak_propulsion_force"),
    ("pull", "pull_impulse", "peak_pull_force"),
    ("rebound braking", "rebound_braking_impulse", ""),
    ("rebound propulsion", "rebound_propulsion_impulse", ""),
    ("landing", "landing_impulse", "peak_landing_force"),
];

/// Figures of both sides in the order shown, over the phases of the trial's kind; those that cannot be given are left out.
/// `standing` is the stretch that was weighed.
pub fn side_figures(plates: &Plates<'_>, standing: &Range<usize>, rate_hz: f64, e: &Events, phases: &[Phase]) -> Vec<Side> {
    let (left, right) = (plates.left_n, plates.right_n);
    let mut out = Vec::new();
    let mut impulse = |id, from: f64, to: f64, mean: bool| {
        let seconds = (to - from) / rate_hz;
        let per = if mean { seconds } else { 1.0 };
        let unit = if mean { "N" } else { "N·s" };
        let l = integral(left, from, to) / rate_hz / per;
        let r = integral(right, from, to) / rate_hz / per;
        push(&mut out, id, l, r, unit, plates.zero_u_n.map(|u| u * seconds / per));
    };
    impulse("standing_force", standing.start as f64, standing.end.saturating_sub(1) as f64, true);
    let found = || OF_PHASE.iter().filter_map(|f| Some((f, phases.iter().find(|phase| phase.name == f.0)?)));
    for (figure, phase) in found() {
        impulse(figure.1, e.at(phase.from), e.at(phase.to), false);
    }
    for (figure, phase) in found().filter(|(figure, _)| !figure.2.is_empty()) {
        let (from, to) = (e.at(phase.from), e.at(phase.to));
        push(&mut out, figure.2, peak(left, from, to).0, peak(right, from, to).0, "N", plates.zero_u_n);
    }
    out
}

fn push(out: &mut Vec<Side>, id: &'static str, l: f64, r: f64, unit: &'static str, zero: [f64; 2]) {
    let sum = l + r;
    if !(sum.is_finite() && sum > 0.0) {
        return;
    }
    // d = 100 (R − L)/(R + L): its slopes in L and R, gain and zero level independent on each plate.
    let (by_l, by_r) = (200.0 * r / (sum * sum), 200.0 * l / (sum * sum));
    let u_l = (GAIN_U * l) * (GAIN_U * l) + zero[0] * zero[0];
    let u_r = (GAIN_U * r) * (GAIN_U * r) + zero[1] * zero[1];
    let u = (by_l * by_l * u_l + by_r * by_r * u_r).sqrt();
    out.push(Side { id, left: l, right: r, unit, u_each: [u_l.sqrt(), u_r.sqrt()], u });
}
