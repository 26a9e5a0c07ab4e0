//! What the athlete weighs in each kind of trial, and where that is from.
use super::{DayMass, Valued};
use crate::force::stats::{mean, sd};
use crate::movement::kinds::{Inputs, Kind};
use crate::movement::{Bout, Weight, closure, quiet_stretches, weigh, weight_of};
use core::ops::Range;

/// Weight with what it rests on.
#[derive(Debug, Clone)]
pub(crate) struct Weighed {
    pub weight: Weight,
    pub closure: Option<(f64, f64)>,
    pub combined: Valued,
    /// The closure's share in the combined weight, 0 … 1.
    pub closure_share: f64,
    /// Quiet stretch after the landing.
    pub rest: Option<Range<usize>>,
    pub source: &'static str,
}

/// The longest quiet stretch after a landing, from 0.3 s after touchdown on; half a second at least.
fn rest_after(force: &[f64], touchdown: usize, end: usize, rate: f64, stance_n: f64) -> Option<Range<usize>> {
    let from = touchdown + (0.3 * rate) as usize;
    let rests = quiet_stretches(force, from.min(end)..end, rate, stance_n);
    rests.into_iter().filter(|r| r.len() as f64 >= 0.5 * rate).max_by_key(Range::len)
}

/// The part of a rest that weighs best: from each quarter of a second on, a second at least. A landing settles for longer
/// than force leaves a band of 3 %, and a body still sinking is not weighed by what it stands on.
fn settled(force: &[f64], rest: Range<usize>, rate: f64) -> Range<usize> {
    let (step, least) = (((0.25 * rate) as usize).max(1), rate as usize);
    let starts = (rest.start..rest.end.saturating_sub(least)).step_by(step);
    let weighed = starts.filter_map(|from| Some((weight_of(force, from..rest.end, rate)?.u_n, from)));
    // Only where it weighs twice as well: a shorter stretch is chosen for looking quiet, which sway does by chance as well.
    let whole = weight_of(force, rest.clone(), rate).map_or(0.0, |w| w.u_n);
    let best = weighed.min_by(|a, b| a.0.total_cmp(&b.0)).filter(|b| b.0 < 0.5 * whole);
    best.map_or(rest.clone(), |(_, from)| from..rest.end)
}

/// Fifty milliseconds into the flight that begins at a sample: what leads to the take-off lies before.
pub(crate) fn just_off(air: usize, rate: f64) -> usize {
    air + (0.05 * rate) as usize
}

/// Weighs in two rounds, since the weighing must end before an onset that depends on it; then from rest to rest.
pub(crate) fn weigh_jump(
    kind: &dyn Kind,
    force: &[f64],
    bout: &Bout,
    rate: f64,
    stance_n: f64,
    inputs: &dyn Fn(Range<usize>, f64, f64) -> Inputs,
) -> Result<Weighed, String> {
    let (Some(first_air), Some(last_air)) = (bout.flights.first(), bout.flights.last()) else {
        return Err("nobody left the plate".into());
    };
    let stretches = quiet_stretches(force, bout.begin..first_air.start, rate, stance_n);
    // A stretch ends where force leaves 3 % of weight, which is already inside the movement.
    let ended = |guard_s: f64| -> Vec<Range<usize>> {
        let guard = (guard_s * rate).round() as usize;
        stretches.iter().map(|s| s.start..s.end.saturating_sub(guard).max(s.start)).collect()
    };
    let rest = if bout.lands { rest_after(force, last_air.end, bout.end, rate, stance_n) } else { None };

    let first = weigh(force, &ended(0.1), first_air.start, rate);
    // A glimpse of standing weighs the person, though nothing can be integrated from it.
    let Some(mut weight) = first.or_else(|| weigh(force, &ended(0.03), first_air.start, rate)) else {
        let rest = rest.ok_or("no moment of quiet standing before the jump or after it: weight unknown")?;
        let weight = weigh(force, &[rest], force.len(), rate).ok_or("the stance after the jump is too short to weigh")?;
        let combined = Valued { value: weight.mean_n, u: weight.u_n };
        return Ok(Weighed { weight, closure: None, closure_share: 0.0, combined, rest: None, source: AFTER_LANDING });
    };
    // Only its onset is asked for.
    let rising = Inputs { motion_end: just_off(first_air.start, rate), ..inputs(weight.stretch.clone(), weight.sd_n, weight.mean_n) };
    if let Ok((events, _)) = kind.read(force, &rising)
        && let Some(again) = weigh(force, &stretches, events.at("onset").max(0.0) as usize, rate)
    {
        weight = again;
    }
    Ok(with_closure(force, weight, rest, rate, ["before the jump", "before the jump, and from rest to rest across it"]))
}

/// The window's weight, made better by the closure from it to the rest after the landing where the two agree.
fn with_closure(force: &[f64], weight: Weight, rest: Option<Range<usize>>, rate: f64, sources: [&'static str; 2]) -> Weighed {
    let combined = Valued { value: weight.mean_n, u: weight.u_n.max(LEAST_U_N) };
    let near = |mean_n: f64| (mean_n - weight.mean_n).abs() < 0.05 * weight.mean_n;
    let rest = rest.filter(|r| force.get(r.clone()).is_some_and(|x| near(mean(x))));
    let Some((across_n, across_u_n, both)) = rest.as_ref().and_then(|r| closure(force, &weight.stretch, r, rate)) else {
        return Weighed { weight, closure: None, closure_share: 0.0, combined, rest, source: sources[0] };
    };
    let found = (across_n, across_u_n);
    let apart = (across_n - weight.mean_n).abs();
    let joint = (combined.u * combined.u + across_u_n * across_u_n).sqrt();
    if closure_disagrees(apart, joint, weight.mean_n) {
        // Something was touched or drifted between: keep the window, and own up to half of what parts the two.
        let combined = Valued { value: weight.mean_n, u: combined.u.max(apart / 2.0) };
        return Weighed { weight, closure: Some(found), closure_share: 0.0, combined, rest, source: sources[0] };
    }
    // The mean of least variance of two that share a part [JCGM 100:2008, 5.2.2; Lagrange's multiplier gives the shares].
    let (a, b) = (combined.u * combined.u, (across_u_n * across_u_n).max(LEAST_U_N * LEAST_U_N));
    let differing = a + b - 2.0 * both;
    let share = ((a - both) / differing).clamp(0.0, 1.0);
    let value = combined.value + share * (across_n - combined.value);
    let variance = (a * b - both * both) / differing;
    // Two values more than two joint uncertainties apart make their mean less certain in proportion
    // [after Birge 1932, Phys. Rev. 40:207].
    let combined = Valued { value, u: (0.5 * apart / joint).max(1.0) * variance.max(0.0).sqrt() };
    Weighed { weight, closure: Some(found), closure_share: share, combined, rest, source: sources[1] }
}

/// Nobody is weighed better than this, N (*ours*; 1 g).
const LEAST_U_N: f64 = 0.01;

/// Whether window and closure weights are further apart than chance: beyond four joint uncertainties and 0.15 % of
/// weight (about a newton, 5–9 mm of height).
pub(crate) fn closure_disagrees(apart_n: f64, joint_u_n: f64, weight_n: f64) -> bool {
    apart_n > (4.0 * joint_u_n).max(0.0015 * weight_n)
}

/// A squat jump is weighed on the standing before the squat, and across the jump from there; the held squat stays the rest
/// that velocity is integrated from. Without a stance before it, weight is from the held squat, where a slow sinking hides.
/// Returns the weight and the held squat.
pub(crate) fn weigh_squat(
    force: &[f64],
    bout: &Bout,
    rate: f64,
    stance_n: f64,
    jump: Weighed,
    held: Option<Range<usize>>,
) -> (Weighed, Range<usize>) {
    let first = bout.flights.first().map_or(0, |f| f.start);
    let stretches = quiet_stretches(force, bout.begin..first, rate, stance_n);
    let samples = |s: f64| (s * rate) as usize;
    // The last quiet stretch before the push, clear of the movements at its ends; where the squat was too unsteady to be
    // one, the time that the body stayed down.
    let last = stretches.iter().rfind(|s| s.len() as f64 >= 0.3 * rate);
    let inside = last.filter(|s| held.as_ref().is_none_or(|h| s.start < h.end && h.start < s.end));
    let hold = match (inside, &held) {
        (Some(s), _) => (s.start + samples(0.05)).min(s.end)..s.end.saturating_sub(samples(0.1)).max(s.start + samples(0.1)),
        (None, Some(h)) if h.len() > samples(0.5) => h.start + samples(0.15)..h.end - samples(0.15),
        _ => jump.weight.stretch.clone(),
    };
    let before: Vec<Range<usize>> = stretches
        .into_iter()
        .filter(|s| s.end as f64 <= hold.start as f64 - 0.3 * rate && s.len() as f64 >= 0.5 * rate)
        .map(|s| s.start..s.end.saturating_sub((0.1 * rate) as usize))
        .collect();
    let Some(standing) = weigh(force, &before, hold.start, rate) else {
        let source = if jump.closure.is_some() { "in the held squat, and from rest to rest across the jump" } else { "in the held squat" };
        let source = if hold.start <= jump.weight.stretch.end && jump.weight.stretch.start <= hold.end { source } else { jump.source };
        return (Weighed { source, ..jump }, hold);
    };
    let sources = ["standing before the squat", "standing before the squat, and from rest to rest across the jump"];
    (with_closure(force, standing, jump.rest, rate, sources), hold)
}

/// After a drop there is no stance before the movement: weight is from the stance after the landing, made better by a
/// stance before stepping up where the recording has one and the two agree. `None` where there is neither.
pub(crate) fn weigh_drop(force: &[f64], bout: &Bout, rate: f64, stance_n: f64) -> Option<Weighed> {
    let touchdown = bout.flights.last().map_or(bout.begin, |f| f.end);
    let rest = if bout.lands { rest_after(force, touchdown, bout.end, rate, stance_n) } else { None };
    let rest = rest.map(|r| settled(force, r, rate));
    let after = rest.as_ref().and_then(|r| weigh(force, core::slice::from_ref(r), force.len(), rate));
    let before: Vec<Range<usize>> = quiet_stretches(force, 0..bout.begin, rate, stance_n);
    let before = weigh(force, &before, bout.begin, rate).filter(|w| w.stretch.len() as f64 >= 0.5 * rate);
    let valued = |w: &Weight| Valued { value: w.mean_n, u: w.u_n.max(LEAST_U_N) };
    match (after, before) {
        (Some(after), Some(before)) if (after.mean_n - before.mean_n).abs() < 0.01 * after.mean_n => {
            let (a, b) = (valued(&after), valued(&before));
            let (wa, wb) = (1.0 / (a.u * a.u), 1.0 / (b.u * b.u));
            let apart = (a.value - b.value).abs();
            let joint = (a.u * a.u + b.u * b.u).sqrt();
            let combined =
                Valued { value: (wa * a.value + wb * b.value) / (wa + wb), u: (0.5 * apart / joint).max(1.0) / (wa + wb).sqrt() };
            Some(Weighed {
                weight: after,
                closure: None,
                closure_share: 0.0,
                combined,
                rest,
                source: "after the landing, and before stepping up",
            })
        }
        (Some(after), _) => {
            Some(Weighed { combined: valued(&after), weight: after, closure: None, closure_share: 0.0, rest, source: AFTER_LANDING })
        }
        (None, Some(before)) => Some(Weighed {
            combined: valued(&before),
            weight: before,
            closure: None,
            closure_share: 0.0,
            rest: None,
            source: "before stepping up",
        }),
        (None, None) => None,
    }
}

/// Weight in standing for a pull: the quiet stretch of the lowest level before it, else after it. Not the pre-tension.
pub(crate) fn weigh_pull(force: &[f64], bout: &Bout, rate: f64) -> Option<Weighed> {
    let still = |range: Range<usize>| -> Option<Weight> {
        let block = ((0.02 * rate).round() as usize).max(1);
        let part = force.get(range.clone())?;
        let blocks: Vec<f64> = part.chunks_exact(block).map(mean).collect();
        let base = blocks
            .windows(20)
            .map(|w| (mean(w), sd(w)))
            .filter(|(m, s)| *m > 150.0 && *s < 0.01 * m)
            .map(|b| b.0)
            .min_by(f64::total_cmp)?;
        // All of the stretch at that level, in one piece.
        let near = |b: &f64| (b - base).abs() < (0.015 * base).max(8.0);
        let (mut best, mut start) = (0..0, None);
        for (i, b) in blocks.iter().chain(core::iter::once(&f64::MAX)).enumerate() {
            match (near(b), start) {
                (true, None) => start = Some(i),
                (false, Some(s)) => {
                    if i - s > best.len() {
                        best = s..i;
                    }
                    start = None;
                }
                _ => {}
            }
        }
        // A block at either end may already be moving.
        let (from, to) = (best.start + 1, best.end.checked_sub(3)?);
        if to <= from {
            return None;
        }
        weight_of(force, range.start + from * block..range.start + to * block, rate)
    };
    let valued = |w: &Weight| Valued { value: w.mean_n, u: w.u_n.max(LEAST_U_N) };
    if let Some(weight) = still(0..bout.begin) {
        return Some(Weighed {
            combined: valued(&weight),
            weight,
            closure: None,
            closure_share: 0.0,
            rest: None,
            source: "standing before the pull",
        });
    }
    let weight = still(bout.end..force.len())?;
    Some(Weighed { combined: valued(&weight), weight, closure: None, closure_share: 0.0, rest: None, source: "standing after the pull" })
}

/// Weight of quiet standing as a test.
pub(crate) fn weigh_still(force: &[f64], bout: &Bout, rate: f64, stance_n: f64) -> Option<Weighed> {
    let stretch = quiet_stretches(force, bout.begin..bout.end, rate, stance_n).into_iter().max_by_key(Range::len)?;
    let weight = weight_of(force, stretch, rate)?;
    let combined = Valued { value: weight.mean_n, u: weight.u_n.max(LEAST_U_N) };
    Some(Weighed { weight, closure: None, closure_share: 0.0, combined, rest: None, source: "standing" })
}

/// Where weight is from when only the stance after the landing gave it.
pub(crate) const AFTER_LANDING: &str = "after the landing";

/// Where weight is from when another trial of the day gave it.
pub const BY_DAY: &str = "in another trial of the same day";

/// Weight as another trial of the same athlete and day found it. Between two trials of a day people drink, sweat and take a
/// shoe's mud in: a tenth of a kilogram (*ours*), beside what that trial's own weighing was uncertain by.
pub(crate) fn weigh_by_day(day: &DayMass, load_kg: f64, gravity: f64) -> Weighed {
    const BETWEEN_KG: f64 = 0.1;
    let value = (day.mass_kg + load_kg) * gravity;
    let combined = Valued { value, u: (day.u_kg * day.u_kg + BETWEEN_KG * BETWEEN_KG).sqrt() * gravity };
    let weight = Weight { stretch: 0..0, mean_n: value, sd_n: 0.0, u_n: combined.u, sway_m_s: 0.0 };
    Weighed { weight, closure: None, closure_share: 0.0, combined, rest: None, source: BY_DAY }
}

/// Where weight is from when the reader gave it.
pub const TYPED: &str = "as typed in";

/// Weight as given by the reader, where the recording holds no standing at all.
pub(crate) fn weigh_typed(mass_kg: f64, gravity: f64) -> Weighed {
    let value = mass_kg * gravity;
    // A bathroom scale and a day's drinking: a quarter of a kilogram (*ours*).
    let combined = Valued { value, u: 0.25 * gravity };
    let weight = Weight { stretch: 0..0, mean_n: value, sd_n: 0.0, u_n: combined.u, sway_m_s: 0.0 };
    Weighed { weight, closure: None, closure_share: 0.0, combined, rest: None, source: TYPED }
}
