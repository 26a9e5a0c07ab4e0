//! One window → one trial: what test it is, zero level, weighing, events, figures, sides, doubts.
use super::clean::{Clean, clean, gravity_of, quantum, saturated, total};
use super::doubts::{Look, look};
use super::drop::{self, DropU};
use super::uncertainty::{Reread, figures_with_u};
use super::verdict::{Facts, judge};
use super::weigh::{Weighed, weigh_drop, weigh_jump, weigh_pull, weigh_squat, weigh_still, weigh_typed};
use super::{ContactRow, EditedEvent, Figure, Options, PhaseSpan, RunnerUp, Side, SideFigure, TestKind, Trial, Valued, Verdict, Weighing};
use crate::figures::{self, Plates, side_figures};
use crate::force::filter;
use crate::force::stats::{mean, sd};
use crate::movement::kinds::drop_landing::DropVelocities;
use crate::movement::kinds::{Drop, Events, Inputs, Kind, NotThisKind, kind};
use crate::movement::{Approach, Bout, Motion, Shape, Weight, approach, bouts, scores, survey};
use crate::recording::{Recording, Role};
use core::ops::Range;
use indexmap::IndexMap;

/// One figure of both sides for the document. An impulse grows with its phase: what the phase's length is uncertain by, in
/// proportion, both sides are too (their difference is not: both move alike).
fn side_answer(side: figures::Side, figures: &IndexMap<String, Figure>) -> SideFigure {
    let length = figures.get(&side.id.replace("impulse", "duration")).filter(|_| side.id.ends_with("impulse"));
    let stretched = length.and_then(|f| Some(f.u? / f.value?)).filter(|r| r.is_finite()).unwrap_or(0.0);
    let whole = |value: f64, own: f64| Some((own * own + value * stretched * value * stretched).sqrt()).filter(|u| u.is_finite());
    let (left, right) = (side.left, side.right);
    SideFigure {
        left,
        right,
        unit: side.unit.into(),
        share_right_percent: 100.0 * right / (left + right),
        difference_of_total_percent: 100.0 * (right - left) / (right + left),
        u_left: whole(left, side.u_each[0]),
        u_right: whole(right, side.u_each[1]),
        covariance: Some(left * right * stretched * stretched).filter(|c| c.is_finite()),
        u: side.u,
    }
}

/// A trial read from its window, with what drawing needs.
pub(crate) struct Reading {
    pub trial: Trial,
    pub motion: Motion,
    pub clean: Clean,
}

/// What was decided before reading: which test, how it was weighed, where it rests.
struct Plan {
    test: TestKind,
    runner_up: Option<RunnerUp>,
    weighed: Option<Weighed>,
    /// Rest that velocity is integrated from, and the spread of force in it.
    quiet: Range<usize>,
    quiet_sd_n: f64,
    /// Whether somebody stood still before the movement.
    before: bool,
}

/// Reads the one trial of a window.
///
/// # Errors
/// Why the window holds none, in words for `left_out`.
pub(crate) fn read_trial(window: &Recording, options: &Options) -> Result<Reading, String> {
    let rate = window.clock.rate_hz;
    let g = gravity_of(options);
    let raw = total(window);
    let seen = survey(&raw, rate);
    let (found, left) = bouts(&raw, rate, &seen);
    let bout =
        main_bout(&found, options.test).ok_or_else(|| left.first().map_or_else(|| "nobody left the plate".to_string(), |l| l.1.clone()))?;
    let bout = &as_asked(bout, options.test)?;
    let longest = |ranges: &[Range<usize>]| ranges.iter().max_by_key(|r| r.len()).cloned();
    let empty = longest(&bout.flights).or_else(|| longest(&seen.unloaded));
    let clean = clean(window, empty.as_ref());
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
        flights: bout.flights.clone(),
        begin: bout.begin,
        rest: None,
        lands: bout.lands,
        end: bout.end,
        motion_end: bout.end,
        v0_m_s: 0.0,
        shift: [0.0; 3],
        drop: Drop { box_m: options.box_m, ..Drop::default() },
        by_hand: by_hand.clone(),
    };

    let mut plan = plan(force, bout, &seen.stance_n, rate, g, options, &inputs)?;
    // A cut top takes so much from the push-off that it looks like no jump known: it is read, and refused for the cause.
    if plan.test == TestKind::Unrecognised && plan.before && bout.shape == Shape::Jumps && !saturated(window).is_empty() {
        plan.test = TestKind::CountermovementJump;
    }
    let kind = kind(plan.test).ok_or_else(|| unrecognised(bout, &plan))?;
    // Rounding to coarse steps averages out only where noise spreads over more than half a step; else each plate's mean is
    // off by up to half a step, uniformly [JCGM 100:2008, 4.3.7], for as long as somebody stands still.
    if let Some(weighed) = &mut plan.weighed
        && weighed.weight.sd_n < 0.5 * quantum_n
    {
        let rounding = quantum_n * (window.channels.len().min(2) as f64 / 12.0).sqrt();
        weighed.combined.u = (weighed.combined.u * weighed.combined.u + rounding * rounding).sqrt();
    }
    let weighed = plan.weighed.as_ref();
    let combined = weighed.map_or(Valued { value: f64::NAN, u: 0.0 }, |w| w.combined);
    let mut p = inputs(plan.quiet.clone(), plan.quiet_sd_n, combined.value);
    p.rest = weighed.and_then(|w| w.rest.clone());
    let drops = bout.shape == Shape::Drop || matches!(plan.test, TestKind::DropJump | TestKind::DropLanding);
    // Over a rest of a second the sway's velocity averages out.
    let sway_m_s = weighed.map_or(0.0, |w| w.weight.sway_m_s) * if drops { 0.7 } else { 1.0 };
    let (velocities, velocity_u) = if drops && combined.value.is_finite() {
        drop::settle(force, &mut p, &DropU { weight_u_n: combined.u, zero_u_n: clean.zero.u_n, sway_m_s })
    } else {
        (DropVelocities::default(), [0.0; 2])
    };

    let before = plan.before;
    let (events, motion) = match kind.read(force, &p) {
        Ok(found) if before || drops => found,
        _ if !before && !drops && bout.shape == Shape::Jumps => (flight_only(kind, force, &p), Motion::default()),
        Ok(found) => found,
        Err(why) => return Err(not_this(why, plan.test)),
    };
    let needs_stance = needs_stance(plan.test);
    let off = events.at(kind.last_take_off());
    let mut velocity_known = if needs_stance { before && plan.quiet.len() as f64 >= 0.5 * rate - 1.0 } else { true };
    if needs_stance && before {
        let v = motion.velocity_at(events.at("take_off"));
        if velocity_known && !(v > 0.5) && by_hand.is_empty() && saturated(window).is_empty() {
            return Err(format!("off the plate, not a jump: the centre of mass rose at {v:.2} m/s only"));
        }
    }
    if needs_stance || (drops && off.is_finite()) {
        velocity_known &= motion.velocity_at(off).is_finite();
    } else if drops {
        velocity_known &= motion.velocity_at(events.at("touchdown")).is_finite();
    }

    let smooth = options.low_pass_hz.map(|hz| filter::low_pass(force, rate, hz));
    // Where nobody ever left the plates, noise is seen in the steps of quiet standing.
    let noise_n = match (&empty, weighed) {
        (None, Some(w)) => white(force.get(w.weight.stretch.clone()).unwrap_or_default()),
        _ => clean.zero.sd_n,
    };
    let reread = Reread {
        kind,
        force_n: force,
        smooth_n: smooth.as_deref().unwrap_or(force),
        inputs: &p,
        weight_u_n: combined.u,
        zero_u_n: clean.zero.u_n,
        noise_n: if p.weight_n.is_finite() { noise_n.min(0.02 * p.weight_n) } else { noise_n },
        sway_m_s,
        load_kg: options.load_kg.unwrap_or(0.0),
        velocity_known,
        drop: drops.then_some((velocities.backward.is_some(), velocities.from_flight.is_some())),
    };
    let (mut figures, mut shared) = figures_with_u(&reread, &events, &motion);
    let side = side_of(window, &clean, &events, p.weight_n, options);
    let mut sides = IndexMap::new();
    if let Some([l, r]) = &clean.plates
        && side == Side::Both
    {
        let zero_u_n = [clean.zeros.first().map_or(0.0, |z| z.u_n), clean.zeros.get(1).map_or(0.0, |z| z.u_n)];
        if velocity_known {
            let standing = weighed.map_or(0..0, |w| w.weight.stretch.clone());
            let plates = Plates { left_n: l, right_n: r, zero_u_n };
            for side in side_figures(&plates, &standing, rate, &events, kind.phases()) {
                sides.insert(side.id.to_string(), side_answer(side, &figures));
            }
        }
        if !p.flights.is_empty() {
            super::uncertainty::push_lags(&mut figures, l, r, &p, &events);
        }
    }

    let drop_answer = drops.then(|| {
        let combined = figures.get("touchdown_velocity").and_then(|f| Some(Valued { value: f.value?, u: f.u? }));
        drop::tell(&p.drop, &velocities, velocity_u, combined)
    });
    let unweighed = Weight { stretch: 0..0, mean_n: f64::NAN, sd_n: 0.0, u_n: 0.0, sway_m_s: 0.0 };
    let seen = look(&Look {
        test: plan.test,
        clean: &clean,
        weighed,
        inputs: &p,
        events: &events,
        last_take_off: off,
        last_touchdown: events.at(kind.last_touchdown()),
        figures: &figures,
        from_stance: needs_stance && before && velocity_known,
    });
    let facts = Facts {
        seen: &seen,
        test: plan.test,
        needs_stance,
        has_flight: !p.flights.is_empty(),
        rate_hz: rate,
        weight: weighed.map_or(&unweighed, |w| &w.weight),
        known_weight_n: options.mass_kg.map(|m| (m + options.load_kg.unwrap_or(0.0)) * g),
        combined,
        weighed: weighed.is_some(),
        closure: weighed.and_then(|w| w.closure),
        weighed_before: before,
        velocity_known,
        final_velocity_m_s: if needs_stance { weighed.and_then(|w| w.rest.as_ref()).and_then(|r| mean_velocity(&motion, r)) } else { None },
        figures: &figures,
        standing_share_right: sides.get("standing_force").map(|s: &SideFigure| s.share_right_percent),
        events: &events,
        last_take_off: off,
        last_touchdown: events.at(kind.last_touchdown()),
        lands: bout.lands,
        after_landing_s: (bout.end as f64 - events.at(kind.last_touchdown())) / rate,
        box_m: options.box_m,
        drop_apart_m: drop::apart(&velocities, velocity_u, g),
        drop_from_box: drops && velocities.backward.is_none() && velocities.from_flight.is_none(),
        zero: clean.zero,
        zero_unknown: empty.is_none(),
        threshold_capped: capped,
        quantum_n,
        gaps: &window.clock.gaps,
        // A pull held steady meets its highest value again and again; one cut off stays there.
        saturated: saturated(window).into_iter().filter(|r| plan.test != TestKind::Isometric || r.len() as f64 >= 0.1 * rate).collect(),
        start_s: window.start_s,
    };
    let (verdict, notices) = judge(&facts);
    if verdict == Verdict::Unusable {
        for figure in figures.values_mut() {
            (figure.value, figure.u, figure.mostly_from) = (None, None, None);
            figure.why.get_or_insert_with(|| "the trial is unusable: see its notices".into());
        }
        sides.clear();
        shared = None;
    }
    let at_s = |at: f64| window.start_s + at / rate;
    let contacts = contacts(kind, force, &p, &events, &at_s);
    let system = weighed.map(|_| Valued { value: combined.value / g, u: combined.u / g });
    let trial = Trial {
        test: plan.test,
        runner_up: plan.runner_up,
        side: side.word().into(),
        protocol: None,
        start_s: window.start_s,
        end_s: window.start_s + window.duration_s(),
        verdict,
        system_mass_kg: system,
        body_mass_kg: system.map(|s| s.value - options.load_kg.unwrap_or(0.0)),
        load_kg: options.load_kg.unwrap_or(0.0),
        weighing: weighed.map(|w| Weighing {
            from_s: at_s(w.weight.stretch.start as f64),
            to_s: at_s(w.weight.stretch.end as f64),
            sd_n: w.weight.sd_n,
            window_n: w.weight.mean_n,
            closure_n: w.closure.map(|c| c.0),
            weight_n: w.combined,
            source: w.source.into(),
        }),
        events: events.named().map(|(name, at)| (name.to_string(), at_s(at))).collect(),
        phases: phases(kind, &events, &contacts, &at_s),
        drop: drop_answer.flatten(),
        contacts,
        height_source: height_source(plan.test, velocity_known),
        figures,
        sides,
        shared,
        edited_events: edited(kind, force, &p, &at_s),
        notices,
    };
    Ok(Reading { trial, motion, clean })
}

/// Kinds whose velocity is integrated from a stance before the movement.
fn needs_stance(test: TestKind) -> bool {
    matches!(test, TestKind::CountermovementJump | TestKind::SquatJump | TestKind::CountermovementReboundJump)
}

/// What the height in an index of height for time is from.
fn height_source(test: TestKind, velocity_known: bool) -> Option<String> {
    match test {
        TestKind::DropJump | TestKind::CountermovementReboundJump | TestKind::CountermovementJump if velocity_known => {
            Some("take_off_velocity".into())
        }
        TestKind::ReboundJumps => Some("flight_time".into()),
        _ => None,
    }
}

/// The bout that a window is about: jumps before landings before pulls before standing; of the kind asked for, where one was.
fn main_bout(found: &[Bout], asked: Option<TestKind>) -> Option<&Bout> {
    let rank = |b: &Bout| {
        let flight = b.flights.iter().map(Range::len).max().unwrap_or(0);
        let shape = match b.shape {
            Shape::Jumps | Shape::Drop if flight > 0 => 3,
            Shape::Jumps | Shape::Drop => 2,
            Shape::Pull => 1,
            Shape::Standing => 0,
        };
        let wanted = match asked {
            Some(TestKind::Isometric) => b.shape == Shape::Pull,
            Some(TestKind::QuietStanding) => b.shape == Shape::Standing,
            Some(TestKind::DropLanding) => b.shape == Shape::Drop && flight == 0,
            _ => false,
        };
        (wanted, shape, flight, b.end - b.begin)
    };
    found.iter().max_by_key(|b| rank(b))
}

/// The bout as the reader's word for it takes it: a drop needs empty plates before it, a jump a stance.
fn as_asked(bout: &Bout, asked: Option<TestKind>) -> Result<Bout, String> {
    let mut bout = bout.clone();
    let jumps = |test| matches!(test, TestKind::CountermovementJump | TestKind::SquatJump | TestKind::CountermovementReboundJump);
    match asked {
        Some(TestKind::DropJump) if bout.shape == Shape::Jumps && bout.flights.len() > 1 => {
            // Stepping up and off again was taken for a flight.
            bout.begin = bout.flights.remove(0).end;
            bout.shape = Shape::Drop;
        }
        Some(test @ (TestKind::DropJump | TestKind::DropLanding)) if bout.shape != Shape::Drop => {
            let name = if test == TestKind::DropJump { "drop jump" } else { "drop landing" };
            return Err(format!("asked to be read as a {name}, but nobody comes down onto empty plates here"));
        }
        Some(test) if jumps(test) && !bout.flights.is_empty() => bout.shape = Shape::Jumps,
        Some(TestKind::Isometric) if bout.shape != Shape::Pull => {
            return Err("asked to be read as a push or pull, but nobody presses beyond weight without leaving the plates here".into());
        }
        _ => {}
    }
    Ok(bout)
}

/// Decides the test, weighs, and finds the rest to integrate from.
#[allow(clippy::too_many_arguments)] // each is one thing the window gives
fn plan(
    force: &[f64],
    bout: &Bout,
    stance_n: &f64,
    rate: f64,
    g: f64,
    options: &Options,
    inputs: &dyn Fn(Range<usize>, f64, f64) -> Inputs,
) -> Result<Plan, String> {
    let typed = || options.mass_kg.map(|m| weigh_typed(m + options.load_kg.unwrap_or(0.0), g));
    let decide = |seen: Option<&Approach>, settles: bool, weight_n: f64| {
        let scored = scores(bout, seen.copied(), settles, force, weight_n, rate);
        choose(&scored, options.test)
    };
    match bout.shape {
        Shape::Jumps => {
            let jump = kind(TestKind::CountermovementJump).ok_or("not a test that can be read")?;
            let sets = bout.flights.len() > 2 || options.test == Some(TestKind::ReboundJumps);
            let weighed = match weigh_jump(jump, force, bout, rate, *stance_n, inputs) {
                Ok(weighed) => weighed,
                Err(why) => match typed() {
                    Some(typed) => typed,
                    // A set of rebounds is read from its times; only its stiffness needs a weight.
                    None if sets => {
                        let (test, runner_up) = decide(None, false, f64::NAN);
                        return Ok(Plan { test, runner_up, weighed: None, quiet: 0..0, quiet_sd_n: 0.0, before: false });
                    }
                    None => return Err(why),
                },
            };
            let stretch = weighed.weight.stretch.clone();
            let first = bout.flights.first().map_or(0, |f| f.start);
            let before = !stretch.is_empty() && stretch.end <= first;
            let seen = before.then(|| {
                let p = Inputs {
                    motion_end: first + (0.05 * rate) as usize,
                    ..inputs(stretch.clone(), weighed.weight.sd_n, weighed.combined.value)
                };
                approach(&jump.motion(force, &p), stretch.clone(), first as f64, rate)
            });
            let seen = seen.flatten();
            let (test, runner_up) = decide(seen.as_ref(), weighed.rest.is_some(), weighed.combined.value);
            let mut plan = Plan { test, runner_up, quiet: stretch, quiet_sd_n: weighed.weight.sd_n, weighed: None, before };
            if test == TestKind::SquatJump && before {
                let held = seen.filter(|s| s.held_s > 0.3).map(|s| s.hold.0..s.hold.1);
                let (weighed, hold) = weigh_squat(force, bout, rate, *stance_n, weighed, held);
                plan.quiet_sd_n = force.get(hold.clone()).map_or(weighed.weight.sd_n, sd);
                plan.quiet = hold;
                plan.weighed = Some(weighed);
            } else {
                plan.weighed = Some(weighed);
            }
            Ok(plan)
        }
        Shape::Drop => {
            let weighed = weigh_drop(force, bout, rate, *stance_n).or_else(typed);
            let settles = weighed.as_ref().is_some_and(|w| w.rest.is_some());
            let level = weighed.as_ref().map_or(*stance_n, |w| w.combined.value);
            let (test, runner_up) = decide(None, settles, level);
            let quiet = weighed.as_ref().map_or(0..0, |w| w.weight.stretch.clone());
            let quiet_sd_n = weighed.as_ref().map_or(0.0, |w| w.weight.sd_n);
            if test == TestKind::DropLanding && weighed.is_none() {
                return Err("a landing that never comes to rest, and no weight from elsewhere".into());
            }
            Ok(Plan { test, runner_up, weighed, quiet, quiet_sd_n, before: false })
        }
        Shape::Pull | Shape::Standing => {
            let weighed = match bout.shape {
                Shape::Pull => weigh_pull(force, bout, rate).or_else(typed),
                _ => weigh_still(force, bout, rate, *stance_n),
            };
            let weighed = weighed.ok_or("no moment of standing before the pull or after it: weight unknown")?;
            let still = weighed.weight.stretch.len() as f64 >= 0.8 * rate || weighed.weight.stretch.is_empty();
            let (test, runner_up) = decide(None, still, weighed.combined.value);
            let (quiet, quiet_sd_n) = (weighed.weight.stretch.clone(), weighed.weight.sd_n);
            let before = quiet.end <= bout.begin || bout.shape == Shape::Standing;
            Ok(Plan { test, runner_up, weighed: Some(weighed), quiet, quiet_sd_n, before })
        }
    }
}

/// Below this score nothing is recognised.
const LEAST_SCORE: f64 = 0.2;

/// The best test and the next best with how far behind it is; the reader's word overrules both.
fn choose(scored: &[(TestKind, f64)], asked: Option<TestKind>) -> (TestKind, Option<RunnerUp>) {
    let best = scored.first().copied().unwrap_or((TestKind::Unrecognised, 0.0));
    if let Some(asked) = asked {
        // What it would have been called, when that is another name.
        let own = scored.iter().find(|s| s.0 == asked).map_or(0.0, |s| s.1);
        let other = scored.iter().find(|s| s.0 != asked);
        return (asked, other.map(|s| RunnerUp { test: s.0, margin: (own - s.1).clamp(0.0, 1.0) }));
    }
    if best.1 < LEAST_SCORE {
        return (TestKind::Unrecognised, None);
    }
    (best.0, scored.get(1).map(|s| RunnerUp { test: s.0, margin: (best.1 - s.1).clamp(0.0, 1.0) }))
}

/// Why no kind fits.
fn unrecognised(bout: &Bout, plan: &Plan) -> String {
    match bout.shape {
        Shape::Jumps if plan.before => "a jump without a countermovement and from no squat: none of the tests known here".into(),
        Shape::Drop => "a slow step onto the plates and off the ground again: none of the tests known here".into(),
        Shape::Standing => "stepping on or off, and standing; no jump and no pull".into(),
        _ => "none of the tests known here".into(),
    }
}

/// Why a bout cannot be read as a test.
fn not_this(why: NotThisKind, test: TestKind) -> String {
    match (why, test) {
        (NotThisKind::NoFlight, TestKind::DropJump) => "read as a drop jump: nobody leaves the plates after the drop".into(),
        (NotThisKind::NoFlight, _) => "read as another test than it looks like: it needs a second flight, and there is none".into(),
        (NotThisKind::NoMovement, TestKind::CountermovementJump | TestKind::CountermovementReboundJump) => {
            "no dip and rise between quiet standing and flight: not a countermovement jump".into()
        }
        (NotThisKind::NoMovement, _) => "read as another test than it looks like: its movement is not there".into(),
        (NotThisKind::NoRise, _) => "no force beyond weight: not a push or a pull".into(),
    }
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
    all.retain(|(name, _)| name.ends_with("take_off") || name.ends_with("touchdown"));
    Events { all, signs: Vec::new() }
}

/// The leg or legs it was done on: as told; else both, unless one plate carries nearly nothing all along and still lives
/// (a plate that reads one and the same number is off, not unloaded).
fn side_of(window: &Recording, clean: &Clean, events: &Events, weight_n: f64, options: &Options) -> Side {
    if let Some(side) = options.side {
        return side;
    }
    let Some([left, right]) = &clean.plates else { return Side::Both };
    let (first, last) = events.span();
    let loaded = |x: &[f64]| -> f64 {
        let part = x.get(first.max(0.0) as usize..last.max(0.0) as usize).unwrap_or_default();
        mean(part)
    };
    let (l, r) = (loaded(left), loaded(right));
    let share = r / (l + r);
    let lives = |role| window.channel(role).is_some_and(|x| x.windows(2).any(|w| w.first() != w.last()));
    match share {
        s if s > 0.95 && l + r > 0.2 * weight_n && lives(Role::Left) => Side::Right,
        s if s < 0.05 && l + r > 0.2 * weight_n && lives(Role::Right) => Side::Left,
        _ => Side::Both,
    }
}

/// The phases as drawn: those of the kind whose two events exist; for repeated jumps each contact and each flight.
fn phases(kind: &dyn Kind, events: &Events, contacts: &[ContactRow], at_s: &dyn Fn(f64) -> f64) -> Vec<PhaseSpan> {
    let span = |name: &str, from_s: f64, to_s: f64| (to_s > from_s).then(|| PhaseSpan { name: name.into(), from_s, to_s });
    if contacts.is_empty() {
        let one = |p: &crate::movement::kinds::Phase| span(p.name, at_s(events.at(p.from)), at_s(events.at(p.to)));
        return kind.phases().iter().filter_map(one).collect();
    }
    let opening = span("flight", at_s(events.at("take_off")), at_s(events.at("touchdown")));
    let each = contacts.iter().flat_map(|c| {
        let flight = c.flight_time.and_then(|t| span("flight", c.take_off, c.take_off + t));
        span("contact", c.touchdown, c.take_off).into_iter().chain(flight)
    });
    opening.into_iter().chain(each).collect()
}

fn contacts(kind: &dyn Kind, force: &[f64], p: &Inputs, events: &Events, at_s: &dyn Fn(f64) -> f64) -> Vec<ContactRow> {
    let row = |c: &crate::movement::kinds::Contact| {
        let contact_time = (c.take_off - c.touchdown) / p.rate_hz;
        let flight_time = c.next.is_finite().then(|| (c.next - c.take_off) / p.rate_hz);
        ContactRow {
            touchdown: at_s(c.touchdown),
            take_off: at_s(c.take_off),
            contact_time,
            flight_time,
            reactive_strength_index: flight_time.map(|t| p.gravity * t * t / 8.0 / contact_time),
            counted: c.counted,
        }
    };
    kind.contacts(force, p, events).iter().map(row).collect()
}

/// Standard deviation of white noise, from the steps between neighbouring samples.
fn white(x: &[f64]) -> f64 {
    let steps: Vec<f64> = x.windows(2).map(|w| w[1] - w[0]).collect();
    sd(&steps) / core::f64::consts::SQRT_2
}

fn mean_velocity(motion: &Motion, r: &Range<usize>) -> Option<f64> {
    let from = r.start.checked_sub(motion.start)?;
    motion.velocity_m_s.get(from..from + r.len()).map(mean)
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
