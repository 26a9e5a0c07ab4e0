//! Crossings that several kinds look for: of the threshold, of weight, of velocity zero, and the start of a movement.
use super::super::motion::Motion;
use super::super::sums::lowest;
use super::Inputs;
use core::ops::Range;

/// First time from sample `from` on that velocity, having been negative, reaches zero.
pub(super) fn first_upward_zero(motion: &Motion, from: usize, to: usize) -> Option<f64> {
    let v = &motion.velocity_m_s;
    let first = from.checked_sub(motion.start)?;
    let last = to.checked_sub(motion.start)?.min(v.len());
    let part = v.get(first..last)?;
    let i = part.array_windows().position(|[a, b]| *a < 0.0 && *b >= 0.0)?;
    let (a, b) = (part.get(i)?, part.get(i + 1)?);
    Some((motion.start + first + i) as f64 - a / (b - a))
}

/// Take-off: where force, falling through the threshold to stay below it for 10 ms, reaches nothing if it goes on as it fell
/// over the last 2 ms above it; at most two samples on (*ours*).
///
/// Force ends in a corner at take-off, so a straight line between samples meets the threshold up to a whole interval late:
/// at 500 Hz that alone is 5 mm of height. The fall itself is straight for long before the corner. Where it is not, the foot
/// left with force still on it, and the line would run on past the end: see [`Edge`].
///
/// A plate that rings when it is let go crosses any low threshold again and again: there the fall is read above the ringing.
pub(super) fn take_off(force_n: &[f64], p: &Inputs, air: &Range<usize>) -> f64 {
    let from = air.start.saturating_sub((0.05 * p.rate_hz) as usize).max(1);
    let lasting = p.lasting();
    let ringing = ringing_after(force_n, air, p.rate_hz);
    let level = if ringing > p.threshold_n { (1.3 * ringing).min(0.1 * p.weight_n.max(10.0 * p.threshold_n)) } else { p.threshold_n };
    let below = |i: usize| force_n.get(i..i + lasting).is_some_and(|w| w.iter().all(|f| *f < level));
    let i = (from..air.end).find(|i| below(*i)).unwrap_or(air.start.max(1));
    let reach = ((0.002 * p.rate_hz).round() as usize).max(1);
    let last = i.saturating_sub(1);
    let inwards = |k: usize| last.checked_sub(k).and_then(|i| force_n.get(i)).copied();
    match (inwards(0), nothing_beyond(inwards, reach)) {
        (Some(a), Some(to_nothing)) if a >= level => {
            if level <= p.threshold_n
                && let Some(edge) = Edge::at(inwards, p)
            {
                return last as f64 - edge.outwards();
            }
            // The sample under the threshold may still be pressed on; read above the ringing, nothing may lie some samples on.
            let pressed = force_n.get(i).map_or(0.0, |f| (f / level).clamp(0.0, 1.0));
            if level > p.threshold_n {
                return last as f64 + to_nothing.clamp(0.0, (0.008 * p.rate_hz).max(2.0));
            }
            last as f64
                + refined(
                    |k| last.checked_add_signed(-k).and_then(|i| force_n.get(i)).copied(),
                    to_nothing.clamp(0.0, 1.0 + pressed),
                    reach_in(p, true),
                )
        }
        _ => crossing(force_n, i, p.threshold_n),
    }
}

/// How far beyond the outermost sample, in samples, the straight line of least squares through it and the `reach` samples
/// inwards of it meets nothing; none where force does not grow inwards.
fn nothing_beyond(inwards: impl Fn(usize) -> Option<f64> + Copy, reach: usize) -> Option<f64> {
    let middle = 0.5 * reach as f64;
    let (mut sum, mut slope, mut squares) = (0.0, 0.0, 0.0);
    for k in 0..=reach {
        let (f, x) = (inwards(k)?, k as f64 - middle);
        sum += f;
        slope += x * f;
        squares += x * x;
    }
    let (mean, slope) = (sum / (reach + 1) as f64, slope / squares);
    (slope > 0.0).then(|| mean / slope - middle)
}

/// How much of a fall or rise its line is laid through, samples: 4 ms of a take-off, 2 ms of the steeper touchdown, two samples
/// and a half at least.
fn reach_in(p: &Inputs, falling: bool) -> f64 {
    (if falling { 0.004 } else { 0.002 } * p.rate_hz).max(2.5)
}

/// The end of a fall found again (in samples beyond the outermost one above the threshold) by a line of weighted least squares
/// through everything less than `reach` inside it. Weights go to nothing at both ends, `τ(reach − τ)` at a distance `τ` from the
/// end: otherwise noise, by lifting one sample over the threshold or not, would choose the samples as well as move them.
fn refined(inwards: impl Fn(isize) -> Option<f64> + Copy, beyond: f64, reach: f64) -> f64 {
    let mut end = beyond;
    for _ in 0..2 {
        let (mut w, mut wx, mut wf, mut wxx, mut wxf) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for k in -2..reach.ceil() as isize + 1 {
            let tau = end + k as f64;
            let weight = tau * (reach - tau);
            let Some(f) = inwards(k).filter(|_| weight > 0.0) else { continue };
            w += weight;
            wx += weight * tau;
            wf += weight * f;
            wxx += weight * tau * tau;
            wxf += weight * tau * f;
        }
        let slope = (wxf * w - wx * wf) / (wxx * w - wx * wx);
        let off = (wf - slope * wx) / w / slope;
        if !(slope > 0.0 && off.abs() <= 1.0) {
            return end;
        }
        end += off;
    }
    end - bend(inwards, end, reach)
}

/// How far beyond the end of force the line of [`refined`] meets nothing, since no fall is straight, in samples.
///
/// Force that comes to nothing as a quarter of a sine does, `sin(ωτ)`, is a line but for its cubic part. Of that the weighted
/// line over `r` makes `0.23·r·(ωr)²/6` of the end's place; and twice as far inside, force is less than twice as large, by a part
/// `q = (ωr)²/2` of it: so `0.076·r·q`, whatever the sine. A force that tails off has a negative `q`, and ends later.
fn bend(inwards: impl Fn(isize) -> Option<f64>, end: f64, reach: f64) -> f64 {
    let at = |tau: f64| {
        let k = (tau - end).floor();
        let (a, b) = (inwards(k as isize)?, inwards(k as isize + 1)?);
        Some(a + (b - a) * (tau - end - k))
    };
    let (Some(once), Some(twice)) = (at(reach), at(2.0 * reach)) else { return 0.0 };
    if once > 0.0 { 0.076 * reach * (1.0 - 0.5 * twice / once).clamp(-0.5, 0.5) } else { 0.0 }
}

/// The end of force where it does not rise from nothing (or fall to it) in a line, but starts or stops at once: a foot that
/// is let go with force still on it, a stiff first touch.
///
/// A line through the first samples of a ramp meets nothing where the ramp begins. Laid through a step it runs far past it:
/// the samples after a step lie on a plateau of their own, and how much of it the first sample holds says where in its
/// interval the step was, since plates (and their low-pass) give means over an interval and not instants (*ours*). Samples are
/// counted inwards from the edge: `f0` is the outermost above the threshold.
struct Edge {
    /// How much of a whole interval's force the outermost sample holds.
    part: f64,
}

impl Edge {
    /// The edge, where the three outermost samples are no straight ramp beyond what noise could make of one; the threshold is
    /// five standard deviations of it. Three samples must lie within 7.5 ms: over longer the force of a jump bends by itself.
    fn at(inwards: impl Fn(usize) -> Option<f64>, p: &Inputs) -> Option<Self> {
        let threshold_n = p.threshold_n;
        if p.rate_hz < 400.0 {
            return None;
        }
        let (f0, f1, f2) = (inwards(0)?, inwards(1)?, inwards(2)?);
        let (first, second) = (f1 - f0, f2 - f1);
        // A second difference scatters by √6 standard deviations, which is half a threshold.
        // Growth that only gathers speed inwards is a force that tails off, not one that stops.
        let bent = first - second > (2.0 * threshold_n).max(0.5 * first);
        // Or more force in one interval than the next two bring on average, by half: one uneven step of a noisy rise is none.
        let beyond = f0 - 0.75 * (f2 - f0) > 2.0 * threshold_n;
        if !(bent || beyond) {
            return None;
        }
        // The plateau at the outermost sample: the line of the two inside it, where it is flat against the step; else half of
        // the step itself, since force bends on after it.
        let slope = if second < 0.5 * first { second } else { 0.5 * first };
        let plateau = (f1 - slope).max(f0.max(threshold_n));
        Some(Self { part: (f0 / plateau).clamp(0.0, 1.0) })
    }
    /// Where the edge lies inwards of the outermost sample's place, in samples (negative: outside).
    fn outwards(&self) -> f64 {
        0.5 - self.part
    }
}

/// Whether force starts or stops at once at a touchdown or take-off, see [`Edge`].
fn steps(force_n: &[f64], p: &Inputs, at: f64, falling: bool) -> bool {
    if !(at >= 0.0) {
        return false;
    }
    let near = at.round() as usize;
    let mut around = near.saturating_sub(2)..near + 3;
    let on = |i: &usize| force_n.get(*i).is_some_and(|f| *f >= p.threshold_n);
    // The outermost sample above the threshold lies within two of the edge.
    let Some(outermost) = (if falling { around.rfind(on) } else { around.find(on) }) else { return false };
    let inwards = |k: usize| if falling { outermost.checked_sub(k) } else { Some(outermost + k) };
    Edge::at(|k| force_n.get(inwards(k)?).copied(), p).is_some()
}

/// Standard uncertainty of where take-off or touchdown lies between samples, in samples. Along a ramp what was taken off for its
/// bend may be wrong by half, uniformly. In a step the place is known by one sample's share, which a low-pass or a second foot
/// spoils: half an interval either way, uniformly.
pub(crate) fn edge_u(force_n: &[f64], p: &Inputs, at: f64, falling: bool) -> f64 {
    if !(at >= 0.0) {
        return 0.0;
    }
    if steps(force_n, p, at, falling) {
        return 0.29;
    }
    let near = at.round() as usize;
    let beyond = if falling { at - near as f64 } else { near as f64 - at };
    let inwards = |k: isize| near.checked_add_signed(if falling { -k } else { k }).and_then(|i| force_n.get(i)).copied();
    let bent = 0.29 * bend(inwards, beyond, reach_in(p, falling)).abs();
    if p.rate_hz < FEW_HZ { (bent * bent + UNSEEN * UNSEEN).sqrt() } else { bent }
}

/// Below this rate the interval itself enters the uncertainty of every time (methods §1.7).
const FEW_HZ: f64 = 200.0;
/// What the force does between two samples of so few that no fit through them tells, in samples: by invented jumps at 80 to
/// 160 Hz, whose truth is known (`tests/few_samples.rs`).
const UNSEEN: f64 = 0.04;

/// Velocity at take-off. Along a ramp the sum between the two samples is right in proportion; a step's force is all in the
/// sums before the first sample in the air.
pub(super) fn velocity_leaving(force_n: &[f64], p: &Inputs, motion: &Motion, at: f64) -> f64 {
    if steps(force_n, p, at, true) { motion.velocity_leaving(at, p.gravity / p.rate_hz) } else { motion.velocity_at(at) }
}

/// Velocity at touchdown, see [`velocity_leaving`].
pub(super) fn velocity_meeting(force_n: &[f64], p: &Inputs, motion: &Motion, at: f64) -> f64 {
    if steps(force_n, p, at, false) { motion.velocity_meeting(at, p.gravity / p.rate_hz) } else { motion.velocity_at(at) }
}

/// Amplitude of ringing early in a flight, N: swings to both sides; 0 where force only presses or only noise is there.
fn ringing_after(force_n: &[f64], air: &Range<usize>, rate_hz: f64) -> f64 {
    let from = air.start + (0.004 * rate_hz) as usize;
    let to = (from + ((0.08 * rate_hz) as usize).max(2)).min(air.end);
    let early = force_n.get(from..to).unwrap_or_default();
    let (low, high) = early.iter().fold((0.0_f64, 0.0_f64), |(low, high), f| (low.min(*f), high.max(*f)));
    if -low > 0.4 * high && high > 0.4 * -low { high.max(-low) } else { 0.0 }
}

/// Touchdown: where force, having risen through the threshold to stay above it for 10 ms, left nothing if it had risen before
/// as it does over the next 2 ms; at most two samples earlier (*ours*, see [`take_off`]). NaN where none.
pub(super) fn touchdown(force_n: &[f64], p: &Inputs, from: usize) -> f64 {
    let lasting = p.lasting();
    let above = |i: usize| force_n.get(i..i + lasting).is_some_and(|w| w.iter().all(|f| *f >= p.threshold_n));
    let Some(i) = (from..force_n.len()).find(|i| above(*i)) else { return f64::NAN };
    let inwards = |k: usize| force_n.get(i + k).copied();
    if let Some(edge) = Edge::at(inwards, p) {
        return i as f64 + edge.outwards();
    }
    let reach = ((0.002 * p.rate_hz).round() as usize).max(1);
    let pressed = i.checked_sub(1).and_then(|k| force_n.get(k)).map_or(0.0, |f| (f / p.threshold_n).clamp(0.0, 1.0));
    match nothing_beyond(inwards, reach) {
        Some(to_nothing) => {
            i as f64
                - refined(
                    |k| i.checked_add_signed(k).and_then(|i| force_n.get(i)).copied(),
                    to_nothing.clamp(0.0, 1.0 + pressed),
                    reach_in(p, false),
                )
        }
        None => crossing(force_n, i, p.threshold_n),
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
    let within = range.start.saturating_sub(motion.start)..range.end.saturating_sub(motion.start);
    lowest(&motion.velocity_m_s, within).map(|k| motion.start + k)
}

/// The lowest velocity lies where force crosses weight, rising. Between which two samples it does, noise decides, and may do so
/// several times over; a body of some mass cannot change its force within a few milliseconds. So the crossing is read off the
/// parabola of least squares through force over 10 ms either side (*ours*; a period of mains hum, besides), found again about
/// where it lies. Without a rising crossing there, the nearest pair of samples is left.
pub(super) fn peak_downward(force_n: &[f64], p: &Inputs, lowest: usize) -> f64 {
    let crosses = |i: &usize| matches!((force_n.get(*i), force_n.get(*i + 1)), (Some(a), Some(b)) if *a < p.weight_n && *b >= p.weight_n);
    let near = lowest.saturating_sub(2)..lowest + 2;
    let nearest = near.filter(crosses).min_by_key(|i| i.abs_diff(lowest)).map_or(lowest as f64, |i| crossing(force_n, i + 1, p.weight_n));
    let half = ((0.01 * p.rate_hz).round() as usize).max(2);
    let mut at = nearest;
    for _ in 0..3 {
        let centre = at.round() as usize;
        let Some(off) = parabola_rises_through(force_n, centre, half, p.weight_n) else { return nearest };
        let moved = centre as f64 + off;
        if !((moved - nearest).abs() <= half as f64) {
            return nearest;
        }
        let still = moved.round() as usize == centre;
        at = moved;
        if still {
            break;
        }
    }
    at
}

/// Where the parabola of least squares through `half` samples either side of one rises through a level, in samples from it;
/// none where it does not, near by.
fn parabola_rises_through(force_n: &[f64], centre: usize, half: usize, level: f64) -> Option<f64> {
    let part = force_n.get(centre.checked_sub(half)?..=centre + half)?;
    let n = part.len() as f64;
    let (mut f0, mut f1, mut f2, mut s2, mut s4) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (i, f) in part.iter().enumerate() {
        let (x, y) = (i as f64 - half as f64, f - level);
        let square = x * x;
        f0 += y;
        f1 += x * y;
        f2 += square * y;
        s2 += square;
        s4 += square * square;
    }
    let bend = (n * f2 - s2 * f0) / (n * s4 - s2 * s2);
    let (height, slope) = ((f0 - bend * s2) / n, f1 / s2);
    if !(slope > 0.0) {
        return None;
    }
    // Newton's steps from the line's own crossing: the bend is small over so short a time.
    let mut x = -height / slope;
    for _ in 0..4 {
        let rise = slope + 2.0 * bend * x;
        if !(rise > 0.2 * slope) {
            return None;
        }
        x -= (height + slope * x + bend * x * x) / rise;
    }
    (x.abs() <= half as f64).then_some(x)
}

/// Half-width of the onset's band, N: so many standard deviations of quiet standing, at least 2 N or one step.
pub(super) fn band(p: &Inputs) -> f64 {
    (p.onset_sd * p.quiet_sd_n).max(p.quantum_n).max(2.0)
}
