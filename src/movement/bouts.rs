//! A recording → what was done on the plates, piece by piece: jumps chained by short contacts, drops onto the plates,
//! pulls, standing; and what was none of these, with the reason.
use super::samples::{Samples, pieces};
use super::segment::{Flight, Survey};
use super::weighing::quiet_stretches;
use crate::force::stats::{mean, quantile, sd};
use core::ops::Range;

/// How a bout begins and what it is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Flights after a stance.
    Jumps,
    /// Onto empty plates, with flights after it or none.
    Drop,
    /// Force well above weight without leaving the plates.
    Pull,
    /// Nothing but standing.
    Standing,
}

/// One piece of a recording that may be a trial.
#[derive(Debug, Clone, PartialEq)]
pub struct Bout {
    /// What it is made of.
    pub shape: Shape,
    /// Its flights, in order, parted by short contacts.
    pub flights: Vec<Range<usize>>,
    /// Whether somebody lands after the last flight.
    pub lands: bool,
    /// Where its stance begins (jumps), feet meet the plate (drops), force rises (pulls).
    pub begin: usize,
    /// Where its last stance ends; force is back at weight (pulls).
    pub end: usize,
    /// Samples that a window of it needs.
    pub window: Range<usize>,
}

/// Longest contact between two flights of one bout, s: more than that is a stance of its own.
const LONGEST_REBOUND_S: f64 = 0.75;
/// Longest contact between a drop and the flight after it, s.
const LONGEST_DROP_CONTACT_S: f64 = 1.0;
/// Most of a window before the movement and after it, s: enough to weigh, small enough to keep.
const WINDOW_S: (f64, f64) = (8.0, 6.0);

/// A stretch that is no trial, and why.
pub type NotABout = (Range<usize>, String);

/// Every bout of a recording's total force, in order, and what was left out.
pub fn bouts(total_n: &dyn Samples, rate_hz: f64, seen: &Survey) -> (Vec<Bout>, Vec<NotABout>) {
    let samples = |s: f64| (s * rate_hz) as usize;
    let (mut out, mut left): (Vec<Bout>, Vec<NotABout>) = (Vec::new(), Vec::new());
    let mut chains: Vec<Vec<&Flight>> = Vec::new();
    for flight in &seen.flights {
        let contact = flight.air.start - flight.stance_from;
        match chains.last_mut() {
            Some(chain) if chain.last().is_some_and(|f| f.air.end == flight.stance_from) && contact < samples(LONGEST_REBOUND_S) => {
                chain.push(flight);
            }
            _ => chains.push(vec![flight]),
        }
    }
    let after_flight = |at: usize| seen.flights.iter().any(|f| f.air.end == at);
    for chain in &chains {
        let (Some(first), Some(last)) = (chain.first(), chain.last()) else { continue };
        let settle = if after_flight(first.stance_from) { (0.15 * rate_hz) as usize } else { 0 };
        let contact = first.air.start - first.stance_from;
        let dropped = first.stance_from > 0 && contact < samples(LONGEST_DROP_CONTACT_S);
        let to = last.stance_to.min(last.air.end + samples(WINDOW_S.1));
        if dropped && settle > 0 {
            let why = format!(
                "only {:.2} s on the plates between two flights: too long for a rebound, too short to stand still in",
                contact as f64 / rate_hz
            );
            left.push((first.stance_from + settle..to, why));
            continue;
        }
        let from = if dropped {
            before_drop(first.stance_from, seen, rate_hz)
        } else {
            (first.stance_from + settle).max(first.air.start.saturating_sub(samples(WINDOW_S.0)))
        };
        out.push(Bout {
            shape: if dropped { Shape::Drop } else { Shape::Jumps },
            flights: chain.iter().map(|f| f.air.clone()).collect(),
            lands: last.lands,
            begin: first.stance_from,
            end: last.stance_to,
            window: from..to,
        });
    }
    for stance in &seen.stances {
        let flight_after = seen.flights.iter().find(|f| f.stance_from == stance.start);
        let flight_before = after_flight(stance.start);
        if !flight_before && let Some(mut bout) = landing(total_n, rate_hz, stance, flight_after) {
            bout.window.start = before_drop(stance.start, seen, rate_hz);
            out.push(bout);
            continue;
        }
        // A pull may stand in the same stance as a landing before it or a jump after it, clear of both.
        let part = stance.start + if flight_before { samples(2.0) } else { 0 }
            ..flight_after.map_or(stance.end, |f| f.air.start.saturating_sub(samples(1.5)));
        let pulls = if part.len() > samples(2.0) { pulls(total_n, rate_hz, &part) } else { Vec::new() };
        if let (Some(first), Some(last)) = (pulls.first(), pulls.last()) {
            for bout in &mut out {
                if bout.end == stance.end {
                    bout.end = first.begin.saturating_sub(samples(0.5)).max(bout.begin);
                    bout.window.end = bout.window.end.min(bout.end);
                } else if bout.begin == stance.start {
                    bout.begin = last.end + samples(0.3);
                    bout.window.start = bout.window.start.max(bout.begin);
                }
            }
        } else if flight_after.is_none() && !flight_before {
            let whole = seen.unloaded.is_empty() && stance.len() == total_n.count();
            match standing_or_why(total_n, rate_hz, stance, whole) {
                Ok(bout) => out.push(bout),
                Err(why) => left.push((stance.clone(), why)),
            }
        }
        out.extend(pulls);
    }
    out.sort_by_key(|b| (b.begin, !b.flights.is_empty()));
    (out, left)
}

/// Where a window of a drop begins: with the stance before stepping up, where there is one, but after any earlier flight.
fn before_drop(touchdown: usize, seen: &Survey, rate_hz: f64) -> usize {
    let empty = seen.unloaded.iter().find(|u| u.end == touchdown).map_or(touchdown, |u| u.start);
    let stood = seen.stances.iter().find(|s| s.end == empty && empty > 0);
    let earliest = seen.flights.iter().filter(|f| f.air.end < touchdown).map(|f| f.air.end + (0.15 * rate_hz) as usize).max().unwrap_or(0);
    let wanted = match stood {
        Some(stance) => stance.start.max(touchdown.saturating_sub((WINDOW_S.0 * rate_hz) as usize)),
        None => touchdown.saturating_sub((0.5 * rate_hz) as usize).max(empty),
    };
    wanted.max(earliest)
}

/// A landing out of a drop: force climbs to well above weight within a quarter of a second of meeting empty plates.
fn landing(total_n: &dyn Samples, rate_hz: f64, stance: &Range<usize>, flight_after: Option<&Flight>) -> Option<Bout> {
    let samples = |s: f64| (s * rate_hz) as usize;
    let soon = flight_after.is_some_and(|f| f.air.start - stance.start < samples(LONGEST_DROP_CONTACT_S));
    if stance.start == 0 || soon || stance.len() < samples(0.3) {
        return None;
    }
    let looked = samples(4.0).max(samples(0.25));
    let part = total_n.part(stance.start..stance.end.min(stance.start + looked))?;
    let width = ((0.01 * rate_hz) as usize).max(1);
    let early = part.get(..samples(0.25).min(part.len()))?;
    let highest = early.chunks_exact(width).map(mean).fold(0.0, f64::max);
    // What comes after two seconds of a stance is standing, or nearly so.
    let later = part.get(samples(1.0).min(stance.len() / 2)..samples(4.0).min(part.len()))?;
    if highest < 1.6 * quantile(later, 0.5) {
        return None;
    }
    // A jump after it in the same stance needs its own second and a half to weigh on.
    let next = flight_after.map_or(stance.end, |f| f.air.start.saturating_sub(samples(2.0)).max(stance.start + samples(1.5)));
    let end = stance.end.min(next);
    let to = end.min(stance.start + samples(WINDOW_S.1));
    Some(Bout { shape: Shape::Drop, flights: Vec::new(), lands: true, begin: stance.start, end, window: stance.start..to })
}

/// The lowest level above 150 N that twenty blocks in a row keep to within a part of it, as a standard deviation.
fn lowest_still(blocks: &[f64], part: f64) -> Option<f64> {
    let lower = |lowest: Option<f64>, w: &[f64]| {
        let m = mean(w);
        // How still it is is asked of the few that lie lower than all before.
        if m > 150.0 && lowest.is_none_or(|low| m < low) && sd(w) < part * m { Some(m) } else { lowest }
    };
    blocks.windows(20).fold(None, lower)
}

/// Efforts against something that does not move: at least 0.7 s above a level of quiet standing, and never far below it, as
/// a moving body would be.
fn pulls(total_n: &dyn Samples, rate_hz: f64, stance: &Range<usize>) -> Vec<Bout> {
    let block = ((0.02 * rate_hz).round() as usize).max(1);
    let mut blocks = Vec::with_capacity(stance.len() / block);
    // Some seconds at a time.
    pieces(total_n, stance.clone(), block * 256).for_each(|(_, part)| blocks.extend(part.chunks_exact(block).map(mean)));
    // The lowest level at which somebody stood still for 0.4 s.
    let Some(base) = lowest_still(&blocks, 0.02) else { return Vec::new() };
    let above = base + (0.1 * base).max(80.0);
    let mut runs: Vec<Range<usize>> = Vec::new();
    let mut start = None;
    for (i, b) in blocks.iter().chain(core::iter::once(&0.0)).enumerate() {
        match (*b > above, start) {
            (true, None) => start = Some(i),
            (false, Some(s)) => {
                match runs.last_mut() {
                    Some(last) if s - last.end < 25 => last.end = i,
                    _ => runs.push(s..i),
                }
                start = None;
            }
            _ => {}
        }
    }
    let enough = |r: &Range<usize>| {
        let inside = blocks.get(r.clone()).unwrap_or_default();
        // A moving body is as much below weight as above it.
        let (a, b) = (r.start.saturating_sub(25), (r.end + 25).min(blocks.len()));
        let around = blocks.get(a..b).unwrap_or_default();
        let lowest = around.iter().copied().filter(|b| *b > 0.3 * base).fold(f64::MAX, f64::min);
        r.len() >= 35 && inside.iter().copied().fold(0.0, f64::max) > base + (0.2 * base).max(120.0) && lowest > 0.75 * base
    };
    runs.retain(enough);
    let at = |k: usize| stance.start + k * block;
    let second = |s: f64| (s * rate_hz) as usize;
    let bout = |(i, r): (usize, &Range<usize>)| {
        let earliest =
            i.checked_sub(1).and_then(|k| runs.get(k)).map_or(stance.start.saturating_sub(second(0.5)), |p| at(p.end) + second(0.2));
        let latest = runs.get(i + 1).map_or(stance.end, |n| at(n.start).saturating_sub(second(1.0)));
        let (begin, end) = (at(r.start), at(r.end).min(stance.end));
        let from = begin.saturating_sub(second(WINDOW_S.0)).max(earliest);
        let to = (end + second(2.0)).min(latest.max(end));
        Bout { shape: Shape::Pull, flights: Vec::new(), lands: false, begin, end, window: from..to }
    };
    runs.iter().enumerate().map(bout).collect()
}

/// Standing as a test of its own, or why a stance without a jump is none.
fn standing_or_why(total_n: &dyn Samples, rate_hz: f64, stance: &Range<usize>, whole: bool) -> Result<Bout, String> {
    let part = total_n.part(stance.clone()).unwrap_or_default();
    let level = quantile(&part, 0.5);
    if level < 150.0 {
        return Err("too little force for a person: a touch, or something put down".into());
    }
    let quiet = quiet_stretches(&part, 0..part.len(), rate_hz, level);
    let still: usize = quiet.iter().map(Range::len).sum();
    let share = still as f64 / stance.len().max(1) as f64;
    let block = ((0.02 * rate_hz) as usize).max(1);
    // Stepping on and off takes up to a second.
    let edge = (if whole { 0.3 } else { 1.0 } * rate_hz) as usize;
    let inner = part.get(edge..part.len().saturating_sub(edge)).unwrap_or_default();
    let lowest = inner.chunks_exact(block).map(mean).fold(f64::MAX, f64::min);
    // Standing that fills the recording is a test of its own; what begins or ends with stepping on or off is one only when
    // the reader says so, and its window shows the empty plates beside it.
    if still as f64 >= 2.0 * rate_hz && (if whole { share > 0.9 } else { share > 0.5 && lowest >= 0.85 * level }) {
        let beside = (0.5 * rate_hz) as usize;
        let window = stance.start.saturating_sub(beside)..(stance.end + beside).min(total_n.count());
        let (begin, end) = (stance.start, stance.end);
        return Ok(Bout { shape: Shape::Standing, flights: Vec::new(), lands: false, begin, end, window });
    }
    Err(if share > 0.5 && lowest < 0.85 * level {
        "a dip and up again without leaving the plates: a false start".into()
    } else if whole && share > 0.9 {
        "standing for less than two seconds".into()
    } else if share > 0.5 {
        "stepping on or off, and standing; no jump and no pull".into()
    } else if (stance.len() as f64) < 1.5 * rate_hz {
        "a step on the plates".into()
    } else {
        "moving about on the plates (steps, talk), never still; nobody jumped".into()
    })
}
