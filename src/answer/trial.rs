//! One window → one trial: zero level, weighing, events, figures, sides, doubts.
use super::uncertainty::{Reread, figures_with_u};
use super::verdict::{Facts, judge};
use super::{EditedEvent, Options, PhaseSpan, RunnerUp, SideFigure, TestKind, Trial, Valued, Verdict, Weighing};
use crate::figures::{Plates, side_figures};
use crate::force::stats::sd;
use crate::force::{Zero, filter, gravity, saturation, zero_level};
use crate::movement::kinds::{Drop, Events, Inputs, Kind, Phase, kind};
use crate::movement::{Flight, Motion, Weight, closure, quiet_stretches, survey, weigh};
use crate::recording::{Notice, Recording, Role};
use core::ops::Range;
use indexmap::IndexMap;

/// Zero-corrected force of a window.
pub(crate) struct Clean {
    pub total_n: Vec<f64>,
    /// Left and right, where both plates are in the recording.
    pub plates: Option<[Vec<f64>; 2]>,
    /// Zero level of each channel, in the recording's order.
    pub zeros: Vec<Zero>,
    /// Zero level of the total.
    pub zero: Zero,
}

/// The total of a recording as read: left + right where both are there, else the one channel.
pub(crate) fn total(recording: &Recording) -> Vec<f64> {
    match (recording.channel(Role::Left), recording.channel(Role::Right)) {
        (Some(l), Some(r)) => l.iter().zip(r).map(|(l, r)| f64::from(*l) + f64::from(*r)).collect(),
        _ => recording.channels.first().map_or_else(Vec::new, |c| c.force_n.iter().map(|f| f64::from(*f)).collect()),
    }
}

/// Gravity in force.
pub(crate) fn gravity_of(options: &Options) -> f64 {
    options.latitude_deg.map_or(options.gravity, |latitude| gravity::at(latitude, options.altitude_m.unwrap_or(0.0)))
}

/// The quiet middle of a flight: without its first and last 30 % (ringing, a late foot), at least 40 ms, and whole
/// mains periods where it is long enough, so that hum does not pull the mean.
fn middle(air: &Range<usize>, rate_hz: f64) -> Range<usize> {
    let skip = air.len() * 3 / 10;
    let mut range = air.start + skip..air.end - skip;
    let least = (0.04 * rate_hz).ceil() as usize;
    if range.len() < least {
        let centre = (air.start + air.end) / 2;
        range = centre.saturating_sub(least / 2).max(air.start)..(centre + least.div_ceil(2)).min(air.end);
    }
    // 100 ms is five periods of 50 Hz and six of 60 Hz.
    let periods = (0.1 * rate_hz).round() as usize;
    if periods > 0 && range.len() > periods {
        range.end = range.start + range.len() / periods * periods;
    }
    range
}

pub(crate) fn clean(recording: &Recording, flight: &Flight) -> Clean {
    let rate = recording.clock.rate_hz;
    let quiet = middle(&flight.air, rate);
    let part = |x: &[f64]| zero_level(x.get(quiet.clone()).unwrap_or_default());
    let channels: Vec<Vec<f64>> = recording.channels.iter().map(|c| c.force_n.iter().map(|f| f64::from(*f)).collect()).collect();
    let zeros: Vec<Zero> = channels.iter().map(|c| part(c)).collect();
    let corrected: Vec<Vec<f64>> = channels.into_iter().zip(&zeros).map(|(c, z)| c.into_iter().map(|f| f - z.level_n).collect()).collect();
    let place = |role| recording.channels.iter().position(|c| c.report.role == role);
    match (place(Role::Left).and_then(|i| corrected.get(i)), place(Role::Right).and_then(|i| corrected.get(i))) {
        (Some(l), Some(r)) => {
            let total_n: Vec<f64> = l.iter().zip(r).map(|(l, r)| l + r).collect();
            let u_n = zeros.iter().take(2).map(|z| z.u_n * z.u_n).sum::<f64>().sqrt();
            let zero = Zero {
                level_n: zeros.iter().take(2).map(|z| z.level_n).sum(),
                u_n,
                sd_n: sd(total_n.get(quiet).unwrap_or_default()),
                clamped: zeros.iter().take(2).any(|z| z.clamped),
            };
            Clean { plates: Some([l.clone(), r.clone()]), total_n, zeros, zero }
        }
        _ => {
            let zero = zeros.first().copied().unwrap_or(Zero { level_n: 0.0, u_n: 0.0, sd_n: 0.0, clamped: false });
            Clean { total_n: corrected.into_iter().next().unwrap_or_default(), plates: None, zeros, zero }
        }
    }
}

/// Weight with what it rests on.
struct Weighed {
    weight: Weight,
    closure: Option<(f64, f64)>,
    combined: Valued,
    /// Quiet stretch after the landing.
    rest: Option<Range<usize>>,
    source: &'static str,
}

/// A trial read from its window, with what drawing needs.
pub(crate) struct Reading {
    pub trial: Trial,
    pub motion: Motion,
    pub clean: Clean,
}

/// Reads the one jump of a window.
///
/// # Errors
/// Why the window holds no countermovement jump, in words for `left_out`.
pub(crate) fn read_trial(window: &Recording, options: &Options) -> Result<Reading, String> {
    if options.test.is_some_and(|test| test != TestKind::CountermovementJump) {
        return Err("asked to be read as another test: this version reads countermovement jumps".into());
    }
    let kind = kind(TestKind::CountermovementJump).ok_or("not a test that can be read")?;
    let rate = window.clock.rate_hz;
    let g = gravity_of(options);
    let seen = survey(&total(window), rate);
    let flight = seen.flights.iter().max_by_key(|f| f.air.len()).ok_or("nobody left the plate")?;
    let clean = clean(window, flight);
    let force = &clean.total_n;

    let mut threshold_n = (5.0 * clean.zero.sd_n).max(5.0);
    let capped = threshold_n > 0.03 * seen.stance_n;
    if capped {
        threshold_n = (0.03 * seen.stance_n).max(5.0);
    }
    let by_hand = by_hand(window, options);
    let quantum_n = quantum(force);
    let inputs = |quiet: Range<usize>, sd_n: f64, weight_n: f64| Inputs {
        rate_hz: rate,
        gravity: g,
        weight_n,
        quiet,
        quiet_sd_n: sd_n,
        quantum_n,
        onset_sd: options.onset_sd,
        threshold_n,
        flights: vec![flight.air.clone()],
        begin: 0,
        rest: None,
        lands: flight.lands,
        end: flight.stance_to,
        motion_end: flight.stance_to,
        v0_m_s: 0.0,
        shift: [0.0; 3],
        drop: Drop::default(),
        by_hand: by_hand.clone(),
    };

    let mut weighed = weigh_jump(kind, force, flight, rate, seen.stance_n, &inputs)?;
    // Rounding to coarse steps averages out only where noise spreads over more than half a step; else each plate's mean is
    // off by up to half a step, uniformly [JCGM 100:2008, 4.3.7], for as long as somebody stands still.
    if weighed.weight.sd_n < 0.5 * quantum_n {
        let rounding = quantum_n * (window.channels.len().min(2) as f64 / 12.0).sqrt();
        weighed.combined.u = (weighed.combined.u * weighed.combined.u + rounding * rounding).sqrt();
    }
    let p = inputs(weighed.weight.stretch.clone(), weighed.weight.sd_n, weighed.combined.value);
    let before = weighed.weight.stretch.end <= flight.air.start;
    let (events, motion) = match kind.read(force, &p) {
        Ok(found) if before => found,
        _ if !before => (flight_only(kind, force, &p), Motion::default()),
        _ => return Err("no dip and rise between quiet standing and flight: not a countermovement jump".into()),
    };
    let mut velocity_known = before && weighed.weight.stretch.len() as f64 >= 0.5 * rate - 1.0;
    if before {
        let v = motion.velocity_at(events.at("take_off"));
        if velocity_known && !(v > 0.5) && by_hand.is_empty() {
            return Err(format!("off the plate, not a jump: the centre of mass rose at {v:.2} m/s only"));
        }
        let shallow = -motion.displacement_at(events.at("lowest_point")) < 0.03;
        if velocity_known && shallow && by_hand.is_empty() && options.test.is_none() {
            return Err("a jump without a countermovement: this version reads countermovement jumps".into());
        }
    }
    velocity_known &= motion.velocity_at(events.at("take_off")).is_finite();

    let smooth = options.low_pass_hz.map(|hz| filter::low_pass(force, rate, hz));
    let reread = Reread {
        kind,
        force_n: force,
        smooth_n: smooth.as_deref().unwrap_or(force),
        inputs: &p,
        weight_u_n: weighed.combined.u,
        zero_u_n: clean.zero.u_n,
        noise_n: clean.zero.sd_n.min(0.02 * p.weight_n),
        sway_m_s: weighed.weight.sway_m_s,
        load_kg: options.load_kg.unwrap_or(0.0),
        velocity_known,
    };
    let mut figures = figures_with_u(&reread, &events, &motion);
    let mut sides = IndexMap::new();
    if let Some([l, r]) = &clean.plates {
        let zero_u_n = [clean.zeros.first().map_or(0.0, |z| z.u_n), clean.zeros.get(1).map_or(0.0, |z| z.u_n)];
        if velocity_known {
            for (id, left, right, unit, u) in side_figures(&Plates { left_n: l, right_n: r, zero_u_n }, &p, &events, kind.phases()) {
                let side = SideFigure {
                    left,
                    right,
                    unit: unit.into(),
                    share_right_percent: 100.0 * right / (left + right),
                    difference_of_total_percent: 100.0 * (right - left) / (right + left),
                    u,
                };
                sides.insert(id.to_string(), side);
            }
        }
        super::uncertainty::push_lags(&mut figures, l, r, &p, &events);
    }

    let facts = Facts {
        rate_hz: rate,
        weight: &weighed.weight,
        known_weight_n: options.mass_kg.map(|m| (m + options.load_kg.unwrap_or(0.0)) * g),
        combined: weighed.combined,
        closure: weighed.closure,
        weighed_before: before,
        velocity_known,
        final_velocity_m_s: weighed.rest.as_ref().and_then(|r| mean_velocity(&motion, r)),
        figures: &figures,
        standing_share_right: sides.get("standing_force").map(|s| s.share_right_percent),
        events: &events,
        lands: flight.lands,
        zero: clean.zero,
        threshold_capped: capped,
        quantum_n,
        gaps: &window.clock.gaps,
        saturated: saturated(window),
        start_s: window.start_s,
    };
    let (verdict, notices) = judge(&facts);
    if verdict == Verdict::Unusable {
        for figure in figures.values_mut() {
            (figure.value, figure.u, figure.mostly_from) = (None, None, None);
            figure.why.get_or_insert_with(|| "the trial is unusable: see its notices".into());
        }
        sides.clear();
    }
    let at_s = |at: f64| window.start_s + at / rate;
    let depth = -motion.displacement_at(events.at("lowest_point"));
    let system = Valued { value: weighed.combined.value / g, u: weighed.combined.u / g };
    let trial = Trial {
        test: TestKind::CountermovementJump,
        runner_up: depth
            .is_finite()
            .then(|| RunnerUp { test: TestKind::SquatJump, margin: ((depth - 0.03) / (depth + 0.03)).clamp(0.0, 1.0) }),
        side: "both".into(),
        protocol: None,
        start_s: window.start_s,
        end_s: window.start_s + window.duration_s(),
        verdict,
        system_mass_kg: Some(system),
        body_mass_kg: Some(system.value - options.load_kg.unwrap_or(0.0)),
        load_kg: options.load_kg.unwrap_or(0.0),
        weighing: Some(Weighing {
            from_s: at_s(weighed.weight.stretch.start as f64),
            to_s: at_s(weighed.weight.stretch.end as f64),
            sd_n: weighed.weight.sd_n,
            window_n: weighed.weight.mean_n,
            closure_n: weighed.closure.map(|c| c.0),
            weight_n: weighed.combined,
            source: weighed.source.into(),
        }),
        events: events.named().map(|(name, at)| (name.to_string(), at_s(at))).collect(),
        phases: phases(kind, &events, &at_s),
        drop: None,
        contacts: Vec::new(),
        height_source: None,
        figures,
        sides,
        edited_events: edited(kind, force, &p, &at_s),
        notices,
    };
    Ok(Reading { trial, motion, clean })
}

/// Weighs in two rounds, since the weighing must end before an onset that depends on it; then from rest to rest.
fn weigh_jump(
    kind: &dyn Kind,
    force: &[f64],
    flight: &Flight,
    rate: f64,
    stance_n: f64,
    inputs: &dyn Fn(Range<usize>, f64, f64) -> Inputs,
) -> Result<Weighed, String> {
    let stance = flight.stance_from..flight.air.start;
    let stretches = quiet_stretches(force, stance, rate, stance_n);
    // A stretch ends where force leaves 3 % of weight, which is already inside the movement.
    let ended = |guard_s: f64| -> Vec<Range<usize>> {
        let guard = (guard_s * rate).round() as usize;
        stretches.iter().map(|s| s.start..s.end.saturating_sub(guard).max(s.start)).collect()
    };
    let rests = if flight.lands {
        let from = flight.air.end + (0.3 * rate) as usize;
        quiet_stretches(force, from.min(flight.stance_to)..flight.stance_to, rate, stance_n)
    } else {
        Vec::new()
    };
    let rest = rests.into_iter().filter(|r| r.len() as f64 >= 0.5 * rate).max_by_key(Range::len);

    let first = weigh(force, &ended(0.1), flight.air.start, rate);
    // A glimpse of standing weighs the person, though nothing can be integrated from it.
    let Some(mut weight) = first.or_else(|| weigh(force, &ended(0.03), flight.air.start, rate)) else {
        let rest = rest.ok_or("no moment of quiet standing before the jump or after it: weight unknown")?;
        let weight = crate::movement::weigh(force, &[rest], force.len(), rate).ok_or("the stance after the jump is too short to weigh")?;
        let combined = Valued { value: weight.mean_n, u: weight.u_n };
        return Ok(Weighed { weight, closure: None, combined, rest: None, source: "after the landing" });
    };
    if let Ok((events, _)) = kind.read(force, &inputs(weight.stretch.clone(), weight.sd_n, weight.mean_n))
        && let Some(again) = weigh(force, &stretches, events.at("onset").max(0.0) as usize, rate)
    {
        weight = again;
    }
    let combined = Valued { value: weight.mean_n, u: weight.u_n.max(LEAST_U_N) };
    let near = |mean_n: f64| (mean_n - weight.mean_n).abs() < 0.02 * weight.mean_n;
    let rest = rest.filter(|r| force.get(r.clone()).is_some_and(|x| near(crate::force::stats::mean(x))));
    let Some(found) = rest.as_ref().and_then(|r| closure(force, &weight.stretch, r, rate)) else {
        return Ok(Weighed { weight, closure: None, combined, rest, source: "before the jump" });
    };
    let apart = (found.0 - weight.mean_n).abs();
    let joint = (combined.u * combined.u + found.1 * found.1).sqrt();
    if closure_disagrees(apart, joint, weight.mean_n) {
        // Something was touched or drifted between: keep the window, and own up to half of what parts the two.
        let combined = Valued { value: weight.mean_n, u: combined.u.max(apart / 2.0) };
        return Ok(Weighed { weight, closure: Some(found), combined, rest, source: "before the jump" });
    }
    let (a, b) = (1.0 / (combined.u * combined.u), 1.0 / (found.1 * found.1).max(LEAST_U_N * LEAST_U_N));
    let value = (a * combined.value + b * found.0) / (a + b);
    // Two values more than two joint uncertainties apart make their mean less certain in proportion
    // [after Birge 1932, Phys. Rev. 40:207].
    let combined = Valued { value, u: (0.5 * apart / joint).max(1.0) / (a + b).sqrt() };
    Ok(Weighed { weight, closure: Some(found), combined, rest, source: "before the jump, and from rest to rest across it" })
}

/// Nobody is weighed better than this, N (*ours*; 2 g).
const LEAST_U_N: f64 = 0.02;

/// Whether window and closure weights are further apart than chance: beyond four joint uncertainties and 0.15 % of
/// weight (about a newton, 5–9 mm of height).
pub(crate) fn closure_disagrees(apart_n: f64, joint_u_n: f64, weight_n: f64) -> bool {
    apart_n > (4.0 * joint_u_n).max(0.0015 * weight_n)
}

/// Take-off and touchdown alone, for a flight without a stance to integrate from.
fn flight_only(kind: &dyn Kind, force: &[f64], p: &Inputs) -> Events {
    // Reading from a made-up quiet stretch would give wrong phases; only the crossings of the threshold are kept.
    let found = kind.read(force, &Inputs { quiet: 0..1, ..p.clone() });
    let coarse = || {
        let air = p.air();
        vec![("take_off", air.start as f64), ("touchdown", if p.lands { air.end as f64 } else { f64::NAN })]
    };
    let mut all = found.map_or_else(|_| coarse(), |(e, _)| e.all);
    all.retain(|(name, _)| matches!(*name, "take_off" | "touchdown"));
    Events { all, signs: Vec::new() }
}

/// The phases as drawn: those of the kind whose two events exist.
fn phases(kind: &dyn Kind, events: &Events, at_s: &dyn Fn(f64) -> f64) -> Vec<PhaseSpan> {
    let span = |p: &Phase| {
        let (from, to) = (events.at(p.from), events.at(p.to));
        (to > from).then(|| PhaseSpan { name: p.name.into(), from_s: at_s(from), to_s: at_s(to) })
    };
    kind.phases().iter().filter_map(span).collect()
}

fn mean_velocity(motion: &Motion, r: &Range<usize>) -> Option<f64> {
    let from = r.start.checked_sub(motion.start)?;
    motion.velocity_m_s.get(from..from + r.len()).map(crate::force::stats::mean)
}

/// Smallest step between neighbouring samples: the reading's own resolution.
fn quantum(force: &[f64]) -> f64 {
    let step = force.windows(2).map(|w| (w[1] - w[0]).abs()).filter(|d| *d > 1e-6).fold(f64::MAX, f64::min);
    if step < f64::MAX { step } else { 0.0 }
}

/// The edits that fall into this window, as fractional samples.
fn by_hand(window: &Recording, options: &Options) -> Vec<(String, f64)> {
    let inside = |t: f64| t >= window.start_s && t <= window.start_s + window.duration_s();
    let edits = options.edits.iter().filter(|e| inside(e.near_s) && inside(e.time_s));
    edits.map(|e| (e.event.clone(), (e.time_s - window.start_s) * window.clock.rate_hz)).collect()
}

fn edited(kind: &dyn Kind, force: &[f64], p: &Inputs, at_s: &dyn Fn(f64) -> f64) -> Vec<EditedEvent> {
    if p.by_hand.is_empty() {
        return Vec::new();
    }
    let found = kind.read(force, &Inputs { by_hand: Vec::new(), ..p.clone() }).map(|(e, _)| e.all).unwrap_or_default();
    let place = |name: &str| found.iter().find(|(n, at)| *n == name && at.is_finite()).map(|(_, at)| at_s(*at));
    p.by_hand.iter().map(|(name, at)| EditedEvent { event: name.clone(), found_s: place(name), time_s: at_s(*at) }).collect()
}

/// Stretches where a channel is stuck at its upper end.
fn saturated(window: &Recording) -> Vec<Range<usize>> {
    let mut out = Vec::new();
    for channel in &window.channels {
        let force: Vec<f64> = channel.force_n.iter().map(|f| f64::from(*f)).collect();
        out.extend(saturation(&force, window.clock.rate_hz).into_iter().map(|s| s.start..s.start + s.len));
    }
    out
}

/// A notice the window itself cannot carry.
pub(crate) fn rate_notices(rate_hz: f64) -> Vec<Notice> {
    if rate_hz < 200.0 {
        vec![
            Notice::new(
                "low_rate",
                format!("{rate_hz:.0} samples a second are few: the sampling interval is a large part of every time's uncertainty."),
            )
            .next_time("Record at 1000 Hz where the plate allows it."),
        ]
    } else if rate_hz < 500.0 {
        vec![
            Notice::new("low_rate", format!("Recorded at {rate_hz:.0} Hz; 500 Hz or more resolves take-off and touchdown better."))
                .next_time("Record at 1000 Hz where the plate allows it."),
        ]
    } else {
        Vec::new()
    }
}
