//! One window → one trial: what test it is, zero level, weighing, events, figures, sides, doubts.
use super::clean::{Clean, Total, clean, quantum, saturated, stuck};
use super::doubts::hum::hum;
use super::doubts::{Look, look};
use super::drop::{self, DropU};
use super::facts::Facts;
use super::plan::{as_asked, main_bout, not_this, plan, unrecognised};
use super::sides::{push_lags, side_answer, side_of};
use super::uncertainty::{Reread, WeighedOver, figures_with_u};
use super::verdict::judge;
use super::weigh::{AFTER_LANDING, Ground};
use super::{ContactRow, EditedEvent, Options, PhaseSpan, Side, SideFigure, TestKind, Trial, Valued, Verdict, Weighing};
use crate::figures::{Plates, side_figures};
use crate::force::filter;
use crate::force::stats::mean;
use crate::movement::kinds::drop_landing::DropVelocities;
use crate::movement::kinds::{Drop, Events, Inputs, Kind, kind};
use crate::movement::{Motion, Shape, Weight, bouts, survey};
use crate::recording::Recording;
use core::ops::Range;
use indexmap::IndexMap;

/// A trial read from its window, with what drawing needs.
pub(crate) struct Reading {
    pub trial: Trial,
    pub motion: Motion,
    pub clean: Clean,
}

/// Reads the one trial of a window.
///
/// # Errors
/// Why the window holds none, in words for `left_out`.
pub(crate) fn read_trial(window: &Recording, options: &Options) -> Result<Reading, String> {
    let rate = window.clock.rate_hz;
    let g = options.local_gravity();
    let raw = Total::of(window);
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
    let quantum_n = quantum(window);
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

    let mut plan = plan(&Ground::new(window, force, seen.stance_n), bout, g, options, &inputs)?;
    // A cut top takes so much from the push-off that it looks like no jump known: it is read, and refused for the cause.
    if plan.test == TestKind::Unrecognised && plan.before && bout.shape == Shape::Jumps && !saturated(window).is_empty() {
        plan.test = TestKind::CountermovementJump;
    }
    let kind = kind(plan.test).ok_or_else(|| unrecognised(bout, &plan, rate))?;
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
        Err(why) => return Err(not_this(why, plan.test, bout)),
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
        (None, Some(w)) => quick(force.get(w.weight.stretch.clone()).unwrap_or_default(), rate),
        _ => clean.zero.sd_n,
    };
    let hum = weighed.and_then(|w| hum(force.get(w.weight.stretch.clone())?, rate));
    // Of a drop weighed twice only one stance is known here; its ties are left out.
    let weighed_here = weighed.is_some_and(|w| !w.weight.stretch.is_empty());
    let weighed_over = weighed.filter(|w| (!drops || w.source == AFTER_LANDING) && !w.weight.stretch.is_empty()).map(|w| WeighedOver {
        window: w.weight.stretch.clone(),
        rest: w.rest.clone().unwrap_or(0..0),
        across_share: w.closure_share,
    });
    let reread = Reread {
        kind,
        force_n: force,
        smooth_n: smooth.as_deref().unwrap_or(force),
        inputs: &p,
        weight_u_n: combined.u,
        zero_u_n: clean.zero.u_n,
        noise_n: if p.weight_n.is_finite() { noise_n.min(0.02 * p.weight_n) } else { noise_n },
        hum: hum.map(|h| (h.hz, h.amplitude_n)),
        weighed_over,
        sway_m_s,
        load_kg: options.load_kg.unwrap_or(0.0),
        velocity_known,
        drop: drops.then_some((velocities.backward.is_some(), velocities.from_flight.is_some())),
        weighed_here,
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
            push_lags(&mut figures, l, r, &p, &events);
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
        hum,
        weighed,
        inputs: &p,
        events: &events,
        last_take_off: off,
        last_touchdown: events.at(kind.last_touchdown()),
        figures: &figures,
        from_stance: needs_stance && before && velocity_known,
        both_legs: side == Side::Both,
    });
    let recognised = options.test.and_then(|_| super::asked::overruled(window, options, plan.test));
    let facts = Facts {
        seen: &seen,
        test: plan.test,
        recognised,
        needs_stance,
        has_flight: !p.flights.is_empty(),
        rate_hz: rate,
        weight: weighed.map_or(&unweighed, |w| &w.weight),
        known_weight_n: options.mass_kg.map(|m| (m + options.load_kg.unwrap_or(0.0)) * g),
        combined,
        load_kg: options.load_kg.unwrap_or(0.0),
        system_kg: combined.value / g,
        weighed: weighed.is_some(),
        closure: weighed.and_then(|w| w.closure),
        weighed_before: before,
        velocity_known,
        final_velocity_m_s: if needs_stance { weighed.and_then(|w| w.rest.as_ref()).and_then(|r| mean_velocity(&motion, r)) } else { None },
        final_place_m: weighed.filter(|_| needs_stance).and_then(|w| {
            let rest = w.rest.as_ref()?;
            let s = rest_place(&motion, rest, rate)?;
            let t = (rest.start as f64 - motion.start as f64) / rate;
            let (drift, fall) = (t * w.weight.sway_m_s, 0.5 * t * t * g * w.combined.u / w.combined.value);
            Some((s, (drift * drift + fall * fall).sqrt()))
        }),
        besides: if window.clock.gaps.is_empty() { Vec::new() } else { besides(kind, force, &p, &events) },
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
        stuck: stuck(window),
        gaps: &window.clock.gaps,
        // A pull held steady meets its highest value again and again; one cut off stays there.
        saturated: saturated(window).into_iter().filter(|r| plan.test != TestKind::Isometric || r.len() as f64 >= 0.1 * rate).collect(),
        start_s: window.start_s,
        last: force.len().saturating_sub(1) as f64,
        rest: weighed.and_then(|w| w.rest.clone()),
        empty,
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
    // The plates' zero level stands under whoever was weighed on them. Figures are moved by it beside the weighing: only what is
    // told of weight itself takes both together.
    let zero_u_n = if weighed_here { clean.zero.u_n } else { 0.0 };
    let told = Valued { value: combined.value, u: (combined.u * combined.u + zero_u_n * zero_u_n).sqrt() };
    let system = weighed.map(|_| Valued { value: told.value / g, u: told.u / g });
    let trial = Trial {
        test: plan.test,
        runner_up: plan.runner_up,
        recognised,
        side: side.word().into(),
        protocol: None,
        start_s: window.start_s,
        end_s: window.start_s + window.duration_s(),
        verdict,
        system_mass_kg: system,
        body_mass_kg: system.map(|s| s.value - options.load_kg.unwrap_or(0.0)).filter(|kg| *kg > 0.0),
        load_kg: options.load_kg.unwrap_or(0.0),
        weighing: weighed.map(|w| Weighing {
            from_s: at_s(w.weight.stretch.start as f64),
            to_s: at_s(w.weight.stretch.end as f64),
            sd_n: w.weight.sd_n,
            window_n: w.weight.mean_n,
            closure_n: w.closure.map(|c| c.0),
            weight_n: told,
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

/// Standard deviation of what is quicker than a person: about the means of 20 ms, in which white noise all but stays and mains
/// hum stays whole, and a body's own movement goes.
fn quick(x: &[f64], rate_hz: f64) -> f64 {
    let block = ((0.02 * rate_hz).round() as usize).max(2);
    let rest = x.chunks_exact(block).flat_map(|b| {
        let m = mean(b);
        b.iter().map(move |f| (f - m) * (f - m))
    });
    let (sum, n) = rest.fold((0.0, 0.0), |(sum, n), r| (sum + r, n + 1.0));
    let free = n * (1.0 - 1.0 / block as f64);
    if free > 0.0 { (sum / free).sqrt() } else { 0.0 }
}

/// Mean displacement over the first half second of a rest, m.
fn rest_place(motion: &Motion, rest: &Range<usize>, rate_hz: f64) -> Option<f64> {
    let from = rest.start.checked_sub(motion.start)?;
    let n = rest.len().min((0.5 * rate_hz) as usize);
    motion.displacement_m.get(from..from + n).filter(|s| !s.is_empty()).map(mean)
}

/// Where single contacts begin and end, and where force is highest in each phase.
fn besides(kind: &dyn Kind, force: &[f64], p: &Inputs, events: &Events) -> Vec<f64> {
    let edges = kind.contacts(force, p, events).into_iter().flat_map(|c| [c.touchdown, c.take_off]);
    let peaks = kind.phases().iter().filter_map(|phase| {
        let (from, to) = (events.at(phase.from), events.at(phase.to));
        let part = force.get(from.max(0.0) as usize..to.max(0.0) as usize)?;
        let peak = part.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1))?.0;
        Some(from.floor() + peak as f64)
    });
    edges.chain(peaks).collect()
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
