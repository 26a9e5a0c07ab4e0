//! Which test a bout is: every kind scored 0 … 1 on what tells it from its neighbours.
use super::bouts::{Bout, Shape};
use super::kinds::TestKind;
use super::motion::Motion;

/// What can be seen of the movement before the first flight, where somebody stood before it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Approach {
    /// How far the centre of mass goes below where it last was at rest, m.
    pub depth_m: f64,
    /// How far it is above there at take-off, m: a foot's length from standing, the whole squat from a held one.
    pub rise_m: f64,
    /// How long it stays near its lowest point, s.
    pub held_s: f64,
    /// Velocity at take-off, m/s.
    pub leaves_m_s: f64,
    /// How long somebody stood still before, s: below half a second the velocities mean little.
    pub quiet_s: f64,
    /// The last stretch there, samples from … to.
    pub hold: (usize, usize),
}

/// Measures the approach between the end of quiet standing and take-off (samples).
pub fn approach(motion: &Motion, quiet: core::ops::Range<usize>, take_off: f64, rate_hz: f64) -> Option<Approach> {
    let (to, quiet_end) = (take_off.floor() as usize, quiet.end);
    let s = |i: usize| motion.displacement_at(i as f64);
    let depth_m = -(quiet_end..to).map(s).fold(f64::MAX, f64::min);
    let rise_m = motion.displacement_at(take_off);
    let slow = |i: &usize| motion.velocity_at(*i as f64).abs() < 0.12 && s(*i) < -0.6 * depth_m;
    let (mut held, mut hold) = (0, (0, 0));
    for i in (quiet_end..to).filter(slow) {
        held += 1;
        hold = if i == hold.1 { (hold.0, i + 1) } else { (i, i + 1) };
    }
    (depth_m.is_finite() && rise_m.is_finite()).then_some(Approach {
        depth_m,
        rise_m,
        held_s: held as f64 / rate_hz,
        leaves_m_s: motion.velocity_at(take_off),
        quiet_s: quiet.len() as f64 / rate_hz,
        hold,
    })
}

/// 0 up to `low`, 1 from `high` on, straight between.
fn ramp(x: f64, low: f64, high: f64) -> f64 {
    ((x - low) / (high - low)).clamp(0.0, 1.0)
}

/// Whether the plate was left as by a jump: velocity at take-off and time in the air belong together. Where nobody lands and
/// nobody stood still before, nothing speaks for a jump.
fn ballistic(bout: &Bout, seen: Option<Approach>, flight_s: f64) -> f64 {
    match seen.filter(|a| a.quiet_s >= 0.5) {
        Some(a) if bout.lands => 1.0 - ramp((a.leaves_m_s - 0.5 * 9.81 * flight_s).abs(), 0.6, 1.2),
        None if !bout.lands => 0.0,
        _ => 1.0,
    }
}

/// Whether somebody stands still before and after an effort, as for a pull and not in talk or steps: the part of that time
/// that force is near weight, pre-tension allowed; and whether the effort is more than a shift of weight.
fn stands_but_for(bout: &Bout, total_n: &[f64], weight_n: f64, rate_hz: f64) -> f64 {
    let width = ((0.02 * rate_hz).round() as usize).max(1);
    let clear = (0.3 * rate_hz) as usize;
    let (mut near, mut all, mut highest) = (0.0, 0.0, 0.0_f64);
    for (k, block) in total_n.chunks_exact(width).map(crate::force::stats::mean).enumerate() {
        let at = k * width;
        if at + clear > bout.begin && at < bout.end + clear {
            highest = highest.max(block);
        } else if block > 0.5 * weight_n {
            all += 1.0;
            let above = (0.1 * weight_n).max(80.0);
            near += if block > 0.96 * weight_n && block < weight_n + above { 1.0 } else { 0.0 };
        }
    }
    if all == 0.0 { 0.5 } else { ramp(near / all, 0.6, 0.9) * ramp(highest / weight_n, 1.15, 1.3) }
}

/// Whether the contacts between the flights bounce: over a contact and the flights' halves beside it the mean force is
/// weight (who walks over the plates is not in the air between his steps). Without a weight, only that contacts are short.
fn bounces(bout: &Bout, total_n: &[f64], weight_n: f64, rate_hz: f64) -> f64 {
    let each = bout.flights.windows(2).filter_map(|w| match w {
        [a, b] => {
            let force: f64 = total_n.get(a.end..b.start)?.iter().sum();
            let cycle = (b.start - a.end) as f64 + 0.5 * (a.len() + b.len()) as f64;
            Some((force / (cycle * weight_n), (b.start - a.end) as f64 / rate_hz))
        }
        _ => None,
    });
    let (means, contacts): (Vec<f64>, Vec<f64>) = each.unzip();
    if means.is_empty() {
        return 1.0;
    }
    let apart = (crate::force::stats::median(&means) - 1.0).abs();
    if weight_n.is_finite() { 1.0 - ramp(apart, 0.15, 0.3) } else { 1.0 - ramp(crate::force::stats::median(&contacts), 0.35, 0.5) }
}

/// Every kind with its score, best first. `settles` tells whether somebody stands still at the end, `total_n` is force.
pub fn scores(bout: &Bout, seen: Option<Approach>, settles: bool, total_n: &[f64], weight_n: f64, rate_hz: f64) -> Vec<(TestKind, f64)> {
    let flight_s: Vec<f64> = bout.flights.iter().map(|f| f.len() as f64 / rate_hz).collect();
    // A second flight under 0.12 s is a bounce of the landing, from 0.2 s on a jump.
    let later: Vec<f64> = flight_s.iter().skip(1).map(|t| ramp(*t, 0.11, 0.18)).collect();
    let second = later.first().copied().unwrap_or(0.0);
    let third = later.get(1..).unwrap_or_default().iter().copied().fold(0.0, f64::max);
    let bounces = bounces(bout, total_n, weight_n, rate_hz);
    let (one, two, many) = (1.0 - second.max(third), second * (1.0 - third), third.max(if later.len() > 2 { 1.0 } else { 0.0 }));
    let mut out = match bout.shape {
        Shape::Jumps => {
            let (squat, counter) = seen.map_or((0.3, 0.5), |a| {
                let held = ramp(a.held_s, 0.2, 0.5).max(ramp(a.rise_m, 0.19, 0.28));
                let sank = ramp(a.depth_m, 0.015, 0.05);
                // From standing without sinking there is no way up but the ankles: neither of the two.
                (held, sank * (1.0 - held))
            });
            let one = one * ballistic(bout, seen, flight_s.first().copied().unwrap_or(0.0));
            vec![
                (TestKind::CountermovementJump, one * counter),
                (TestKind::SquatJump, one * squat),
                (TestKind::CountermovementReboundJump, two * bounces),
                (TestKind::ReboundJumps, many * bounces),
                (TestKind::DropJump, 0.0),
            ]
        }
        Shape::Drop => {
            let contact_s = bout.flights.first().map_or(f64::NAN, |f| f.start.saturating_sub(bout.begin) as f64 / rate_hz);
            let early = total_n.get(bout.begin..bout.begin + (0.25 * rate_hz) as usize).unwrap_or_default();
            let width = ((0.01 * rate_hz) as usize).max(1);
            let highest = early.chunks_exact(width).map(crate::force::stats::mean).fold(0.0, f64::max);
            let impact = ramp(highest / weight_n, 1.2, 1.7);
            if bout.flights.is_empty() {
                let settled = if settles { 1.0 } else { 0.4 };
                vec![(TestKind::DropLanding, impact * settled), (TestKind::QuietStanding, 0.3 * (1.0 - impact)), (TestKind::DropJump, 0.0)]
            } else {
                let quick = 1.0 - ramp(contact_s, 0.7, 1.0);
                let bounce = 1.0 - ramp(flight_s.first().copied().unwrap_or(0.0), 0.11, 0.18);
                vec![
                    (TestKind::DropJump, one * impact * quick * (1.0 - bounce)),
                    (TestKind::DropLanding, one * impact * bounce),
                    (TestKind::CountermovementJump, one * (1.0 - impact) * (1.0 - quick)),
                    (TestKind::ReboundJumps, two.max(many) * bounces),
                ]
            }
        }
        // Without a moment of standing still it is no pull that could be read.
        Shape::Pull if !settles => vec![(TestKind::Isometric, 0.1), (TestKind::QuietStanding, 0.0)],
        Shape::Pull => vec![(TestKind::Isometric, stands_but_for(bout, total_n, weight_n, rate_hz)), (TestKind::QuietStanding, 0.0)],
        Shape::Standing if bout.begin > 0 || bout.end < total_n.len() => vec![(TestKind::QuietStanding, 0.1), (TestKind::Isometric, 0.0)],
        Shape::Standing => vec![(TestKind::QuietStanding, 1.0), (TestKind::Isometric, 0.0)],
    };
    out.sort_by(|a, b| b.1.total_cmp(&a.1));
    out
}
