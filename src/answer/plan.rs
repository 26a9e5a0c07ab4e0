//! What a window is read as, before it is read: which bout, which test, weighed how, at rest where.
use super::weigh::{Ground, Weighed, just_off, weigh_by_day, weigh_drop, weigh_jump, weigh_pull, weigh_squat, weigh_still, weigh_typed};
use super::{Options, RunnerUp, TestKind};
use crate::force::stats::sd;
use crate::movement::kinds::{Inputs, NotThisKind, kind};
use crate::movement::{Approach, Bout, Shape, approach, scores};
use core::ops::Range;

/// What was decided before reading: which test, how it was weighed, where it rests.
pub(crate) struct Plan {
    pub test: TestKind,
    pub runner_up: Option<RunnerUp>,
    pub weighed: Option<Weighed>,
    /// Rest that velocity is integrated from, and the spread of force in it.
    pub quiet: Range<usize>,
    pub quiet_sd_n: f64,
    /// Whether somebody stood still before the movement.
    pub before: bool,
}

/// The bout that a window is about: jumps before landings before pulls before standing; of the kind asked for, where one was.
pub(crate) fn main_bout(found: &[Bout], asked: Option<TestKind>) -> Option<&Bout> {
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
pub(crate) fn as_asked(bout: &Bout, asked: Option<TestKind>) -> Result<Bout, String> {
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
        Some(TestKind::QuietStanding) if bout.shape != Shape::Standing => {
            return Err("asked to be read as quiet standing, but here somebody moves".into());
        }
        Some(TestKind::Isometric) if bout.shape != Shape::Pull => {
            return Err("asked to be read as a push or pull, but nobody presses beyond weight without leaving the plates here".into());
        }
        _ => {}
    }
    Ok(bout)
}

/// Decides the test, weighs, and finds the rest to integrate from.
pub(crate) fn plan(
    ground: &Ground<'_>,
    bout: &Bout,
    g: f64,
    options: &Options,
    inputs: &dyn Fn(Range<usize>, f64, f64) -> Inputs,
) -> Result<Plan, String> {
    let (force, rate) = (ground.force, ground.rate);
    let load_kg = options.load_kg.unwrap_or(0.0);
    let by_day = || options.day_mass.as_ref().map(|day| weigh_by_day(day, load_kg, g));
    let typed = || by_day().or_else(|| options.mass_kg.map(|m| weigh_typed(m + load_kg, g)));
    let decide = |seen: Option<&Approach>, settles: bool, weight_n: f64| {
        let scored = scores(bout, seen.copied(), settles, force, weight_n, rate);
        choose(&scored, options.test)
    };
    match bout.shape {
        Shape::Jumps => {
            let jump = kind(TestKind::CountermovementJump).ok_or("not a test that can be read")?;
            let sets = bout.flights.len() > 2 || options.test == Some(TestKind::ReboundJumps);
            let weighed = match weigh_jump(jump, ground, bout, inputs) {
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
                let p =
                    Inputs { motion_end: just_off(first, rate), ..inputs(stretch.clone(), weighed.weight.sd_n, weighed.combined.value) };
                approach(&jump.motion(force, &p), stretch.clone(), first as f64, rate)
            });
            let seen = seen.flatten();
            let (test, runner_up) = decide(seen.as_ref(), weighed.rest.is_some(), weighed.combined.value);
            let mut plan = Plan { test, runner_up, quiet: stretch, quiet_sd_n: weighed.weight.sd_n, weighed: None, before };
            if test == TestKind::SquatJump && before {
                let held = seen.filter(|s| s.held_s > 0.3).map(|s| s.hold.0..s.hold.1);
                let (weighed, hold) = weigh_squat(ground, bout, weighed, held);
                plan.quiet_sd_n = force.get(hold.clone()).map_or(weighed.weight.sd_n, sd);
                plan.quiet = hold;
                plan.weighed = Some(weighed);
            } else {
                plan.weighed = Some(weighed);
            }
            Ok(plan)
        }
        Shape::Drop => {
            let weighed = weigh_drop(ground, bout).or_else(typed);
            let settles = weighed.as_ref().is_some_and(|w| w.rest.is_some());
            let level = weighed.as_ref().map_or(ground.stance_n, |w| w.combined.value);
            let (test, runner_up) = decide(None, settles, level);
            let quiet = weighed.as_ref().map_or(0..0, |w| w.weight.stretch.clone());
            let quiet_sd_n = weighed.as_ref().map_or(0.0, |w| w.weight.sd_n);
            Ok(Plan { test, runner_up, weighed, quiet, quiet_sd_n, before: false })
        }
        Shape::Pull | Shape::Standing => {
            let here = match bout.shape {
                Shape::Pull => weigh_pull(ground, bout),
                _ => weigh_still(ground, bout),
            };
            // How somebody stands is seen at the level that he stands at here, whatever he weighs.
            let level = here.as_ref().map(|w| w.combined.value);
            let weighed = match bout.shape {
                // What stands before a pull may already hang on the bar: the day's weight is then asked for, and goes first.
                Shape::Pull => by_day().or(here).or_else(typed),
                _ => here,
            };
            let weighed = weighed.ok_or("no moment of standing before the pull or after it: weight unknown")?;
            let still = weighed.weight.stretch.len() as f64 >= 0.8 * rate || weighed.weight.stretch.is_empty();
            let (test, runner_up) = decide(None, still, level.unwrap_or(weighed.combined.value));
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
pub(crate) fn unrecognised(bout: &Bout, plan: &Plan, rate_hz: f64) -> String {
    match bout.shape {
        // From a glimpse of standing nothing can be integrated: what was done before the flight cannot be told.
        Shape::Jumps if plan.before && (plan.quiet.len() as f64) < 0.5 * rate_hz => {
            "less than half a second of quiet standing before a flight and none after it: which jump it is cannot be told".into()
        }
        Shape::Jumps if plan.before => "a jump without a countermovement and from no squat: none of the tests known here".into(),
        Shape::Drop => "a slow step onto the plates and off the ground again: none of the tests known here".into(),
        Shape::Standing => "stepping on or off, and standing; no jump and no pull".into(),
        _ => "none of the tests known here".into(),
    }
}

/// Why a bout cannot be read as a test.
pub(crate) fn not_this(why: NotThisKind, test: TestKind, bout: &Bout) -> String {
    match (why, test) {
        (NotThisKind::NoMovement, TestKind::CountermovementJump | TestKind::CountermovementReboundJump) if !bout.lands => {
            "leaving the plates without a dip and a push, and not landing on them: stepping off, no jump".into()
        }
        (NotThisKind::NoFlight, TestKind::DropJump) => "read as a drop jump: nobody leaves the plates after the drop".into(),
        (NotThisKind::NoFlight, _) => "read as another test than it looks like: it needs a second flight, and there is none".into(),
        (NotThisKind::NoMovement, TestKind::CountermovementJump | TestKind::CountermovementReboundJump) => {
            "no dip and rise between quiet standing and flight: not a countermovement jump".into()
        }
        (NotThisKind::NoMovement, _) => "read as another test than it looks like: its movement is not there".into(),
        (NotThisKind::NoRise, _) => "no force beyond weight: not a push or a pull".into(),
    }
}
