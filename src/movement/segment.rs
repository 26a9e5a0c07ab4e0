//! Where somebody stood on the plates and where he was in the air.
use super::samples::{Samples, pieces};
use crate::force::parallel::in_order;
use crate::force::stats::{least_of, mean, quantile};
use core::ops::Range;

/// The coarse picture of a recording.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Survey {
    /// Typical force under a standing person, N, above the unloaded level.
    pub stance_n: f64,
    /// Coarse unloaded level, N (refined per flight later).
    pub floor_n: f64,
    /// Stretches in the air, 0.1 … 1.2 s, with somebody on the plate before; in order.
    pub flights: Vec<Flight>,
    /// Longer stretches with nobody on the plate, short ones at the recording's start, and those that somebody stepped into.
    pub unloaded: Vec<Range<usize>>,
    /// Stretches between those in the air, with somebody on the plate; in order.
    pub stances: Vec<Range<usize>>,
}

/// One coarse flight.
#[derive(Debug, Clone, PartialEq)]
pub struct Flight {
    /// Samples under the coarse threshold.
    pub air: Range<usize>,
    /// Whether somebody lands in the recording.
    pub lands: bool,
    /// Where the stance before begins: after the previous flight or unloaded stretch.
    pub stance_from: usize,
    /// Where the stance after ends: before the next flight or unloaded stretch.
    pub stance_to: usize,
}

/// Longest flight taken for a jump, s: 1.2 s would be 1.77 m.
const LONGEST_FLIGHT_S: f64 = 1.2;
/// Shortest, s: 0.1 s is 1.2 cm.
const SHORTEST_FLIGHT_S: f64 = 0.1;
/// Blocks of 40 ms looked at together: some ten kilobytes, which stay in a processor's nearest memory, and few enough that
/// most hold no flight.
const PIECE: usize = 32;
/// Pieces that one thread looks at in one go: no window of a single trial is shared out.
const AT_ONCE: usize = 256;

/// Surveys total force. Empty where nobody stands on the plate.
pub fn survey(total_n: &dyn Samples, rate_hz: f64) -> Survey {
    let block = ((0.04 * rate_hz) as usize).max(2);
    let size = block * PIECE;
    // The mean of each block; the least of each piece tells which need be looked at again: most of a recording is spent standing.
    let (mut blocks, mut least) = (Vec::with_capacity(total_n.count() / block), Vec::with_capacity(total_n.count() / size + 1));
    let look = |from: &usize| {
        let (mut blocks, mut least) = (Vec::with_capacity(AT_ONCE * PIECE), Vec::with_capacity(AT_ONCE));
        for (_, piece) in pieces(total_n, *from..from + AT_ONCE * size, size) {
            blocks.extend(piece.chunks_exact(block).map(mean));
            least.push(least_of(&piece, |v| *v));
        }
        (blocks, least)
    };
    let parts: Vec<usize> = (0..total_n.count()).step_by(AT_ONCE * size).collect();
    in_order(&parts, look, |_, (means, leasts)| {
        blocks.extend(means);
        least.extend(leasts);
    });
    if blocks.is_empty() {
        return Survey::default();
    }
    let lowest = quantile(&blocks, 0.0);
    let loaded: Vec<f64> = blocks.iter().copied().filter(|b| *b > 150.0).collect();
    if loaded.is_empty() {
        return Survey::default();
    }
    let stance = quantile(&loaded, 0.5);
    // With nobody ever off the plate the lowest block is no unloaded level.
    let floor_n = if lowest.abs() < 0.25 * stance { lowest } else { 0.0 };
    let stance_n = stance - floor_n;
    let threshold = floor_n + 0.05 * stance_n;

    let low = least.iter().enumerate().filter(|(_, least)| **least < threshold).map(|(k, _)| k * size..(k + 1) * size);
    let air = merged_runs(total_n, low, threshold, (0.01 * rate_hz) as usize);
    let shortest = (SHORTEST_FLIGHT_S * rate_hz) as usize;
    let longest = (LONGEST_FLIGHT_S * rate_hz) as usize;
    let mut out = Survey { stance_n, floor_n, ..Survey::default() };
    let mut stance_from = 0;
    let air: Vec<Range<usize>> = air.into_iter().filter(|r| r.len() >= shortest).collect();
    for (k, run) in air.iter().enumerate() {
        if run.start > stance_from {
            out.stances.push(stance_from..run.start);
        }
        if run.start == 0 || run.len() > longest || stepped_off(total_n, run.start, &out, rate_hz) {
            out.unloaded.push(run.clone());
        } else {
            let stance_to = air.get(k + 1).map_or(total_n.count(), |next| next.start);
            out.flights.push(Flight { air: run.clone(), lands: run.end < total_n.count(), stance_from, stance_to });
        }
        stance_from = run.end;
    }
    if stance_from < total_n.count() {
        out.stances.push(stance_from..total_n.count());
    }
    out
}

/// Who jumps is off the plate within a tenth of a second of pushing hard; who steps off lets go of it slowly: 0.2 s before
/// the plate is empty it already carries less than four fifths of a stance.
fn stepped_off(total_n: &dyn Samples, at: usize, seen: &Survey, rate_hz: f64) -> bool {
    let level = seen.floor_n + 0.8 * seen.stance_n;
    let from = at.saturating_sub((0.2 * rate_hz).ceil() as usize);
    let part = total_n.part(from..at).unwrap_or_default();
    from > 0 && part.iter().all(|f| *f < level)
}

/// Runs below `threshold` in some parts of the whole, in order; runs parted by no more than `bridge` samples above it are one
/// (ringing after take-off, the end of a part).
fn merged_runs(total_n: &dyn Samples, parts: impl Iterator<Item = Range<usize>>, threshold: f64, bridge: usize) -> Vec<Range<usize>> {
    let mut runs: Vec<Range<usize>> = Vec::new();
    for part in parts {
        let part = part.start..part.end.min(total_n.count());
        let mut start = None;
        for (i, v) in (part.start..).zip(total_n.part(part.clone()).unwrap_or_default().iter()) {
            match (*v < threshold, start) {
                (true, None) => start = Some(i),
                (false, Some(s)) => {
                    push_or_merge(&mut runs, s..i, bridge);
                    start = None;
                }
                _ => {}
            }
        }
        if let Some(s) = start {
            push_or_merge(&mut runs, s..part.end, bridge);
        }
    }
    runs
}

fn push_or_merge(runs: &mut Vec<Range<usize>>, run: Range<usize>, bridge: usize) {
    match runs.last_mut() {
        Some(last) if run.start - last.end <= bridge => last.end = run.end,
        _ => runs.push(run),
    }
}
