//! Whether one uniform clock explains the stamps once the gaps are known: what is left may scatter, but not run away (methods §1.2).
//!
//! Compared are the middle stamps of stretches of rows, so that single late ones, bursts and packets count for nothing.
use super::Notice;

/// Stretches that are compared, rows of the shortest, and rows looked at in one.
const STRETCHES: usize = 16;
const FEWEST: usize = 10;
const LOOKED_AT: usize = 1000;
/// Intervals by which stretches may lie off one clock.
const BOUND: f64 = 2.0;
/// Part by which the interval may differ within a file: half a percent moves a height by one (*ours*).
const CHANGE: f64 = 0.005;
/// Less of it is not worth a word.
const BEND: f64 = 0.0005;
/// Gaps alike, one behind the other, that are no loss but another rate; where stamps are coarse, twice as many.
const ALIKE: usize = 12;
/// Rows before and after a change whose step is told.
const AROUND: usize = 500;

/// What a clock does not explain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Wander {
    /// The step from row to row changes at a row (from 0), s.
    Change { row: usize, before_s: f64, after_s: f64 },
    /// The stamps stray by so much, s, at nearly one rate.
    Bend { by_s: f64 },
}

/// Stamps, their number, the interval and the usual step of unequal ones, the step in which they are printed, and the gaps.
pub(super) struct Stamped<'a> {
    pub stamp: &'a dyn Fn(usize) -> f64,
    pub n: usize,
    pub interval_s: f64,
    pub usual_s: f64,
    pub quantum_s: f64,
    /// (row, samples missing before it).
    pub missing: &'a [(usize, usize)],
}

impl Stamped<'_> {
    /// What the clock does not explain, if anything.
    pub(super) fn wander(&self) -> Option<Wander> {
        if let Some(change) = self.gaps_alike() {
            return Some(change);
        }
        let (n, h) = (self.n, self.interval_s);
        let places = self.places();
        let left = |i: usize| (self.stamp)(i) - place(&places, i) * h;
        let length = n.div_ceil(STRETCHES).max(FEWEST);
        let levels: Vec<(f64, f64)> = (0..n / length)
            .map(|k| {
                let from = k * length;
                let mut rows: Vec<f64> = (from..from + length).step_by(length / LOOKED_AT + 1).map(left).collect();
                rows.sort_by(f64::total_cmp);
                (place(&places, from + length / 2), rows.get(rows.len() / 2).copied().unwrap_or(0.0))
            })
            .collect();
        let range = |values: &mut dyn Iterator<Item = f64>| {
            let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| (x.min(l), x.max(h)));
            (high - low).max(0.0)
        };
        let by_s = range(&mut levels.iter().map(|(_, level)| *level));
        let packet_s = if self.usual_s > 1.5 * h { self.usual_s } else { 0.0 };
        if by_s <= BOUND * h + packet_s {
            return None;
        }
        let lag = (levels.len() / 4).max(1);
        let slopes = levels.iter().zip(levels.iter().skip(lag)).map(|((x, a), (y, b))| (b - a) / (y - x).max(1.0));
        let spread = range(&mut slopes.into_iter()) / h;
        if spread <= CHANGE {
            return (spread > BEND).then_some(Wander::Bend { by_s });
        }
        // The row farthest from the straight line between first and last: of two rates exactly the one where they meet.
        let first = left(0);
        let chord = (left(n.saturating_sub(1)) - first) / place(&places, n.saturating_sub(1)).max(1.0);
        let off = |i: usize| (left(i) - first - chord * place(&places, i)).abs();
        let row = (0..n).map(|i| (i, off(i))).fold((0, 0.0), |far, here| if here.1 > far.1 { here } else { far }).0;
        let step = |a: usize, b: usize| ((self.stamp)(b) - (self.stamp)(a)) / (place(&places, b) - place(&places, a)).max(1.0);
        let last = n.saturating_sub(1);
        let (mut before_s, mut after_s) = (step(row.saturating_sub(AROUND), row), step(row, (row + AROUND).min(last)));
        if (before_s - after_s).abs() <= CHANGE * h {
            // A rate that slides: here it is in between.
            (before_s, after_s) = (step(0, row), step(row, last));
        }
        Some(Wander::Change { row, before_s, after_s })
    }

    /// Where each gap leaves the count of samples: (row, samples before it that no row holds).
    fn places(&self) -> Vec<(usize, usize)> {
        let mut total = 0;
        let add = |(row, len): &(usize, usize)| {
            total += len;
            (*row, total)
        };
        self.missing.iter().map(add).collect()
    }

    /// Gap behind gap, all of one length: every second sample is not lost by chance. Where stamps are rounded to about an interval,
    /// a slower rate skips one of them every so many rows.
    fn gaps_alike(&self) -> Option<Wander> {
        let coarse = self.quantum_s > 0.5 * self.interval_s;
        // The run at hand: its first gap's row, the rows between its gaps, and how many there are; and the first that is long enough.
        let (mut first, mut apart, mut run) = (0, 0usize, 0usize);
        let mut long = None;
        for pair in self.missing.windows(2) {
            let [(a, len), (b, next)] = pair else { continue };
            let rows = b - a;
            let even = len == next && (rows == 1 || coarse && *len == 1);
            if even && run > 0 && rows.abs_diff(apart) <= usize::from(rows > 1) * 2 {
                run += 1;
            } else if long.is_some() {
                break;
            } else {
                (first, apart, run) = (*a, rows, usize::from(even));
            }
            if run >= if apart == 1 { ALIKE } else { 2 * ALIKE } {
                long = Some((first, *b, self.interval_s * (1.0 + (len * run) as f64 / (b - first).max(1) as f64)));
            }
        }
        let (first, last, slow_s) = long?;
        Some(if first <= 2 * apart.max(1) {
            Wander::Change { row: last, before_s: slow_s, after_s: self.interval_s }
        } else {
            Wander::Change { row: first - 1, before_s: self.interval_s, after_s: slow_s }
        })
    }
}

/// The sample that row `i` is, gaps counted.
fn place(places: &[(usize, usize)], i: usize) -> f64 {
    let before = places.partition_point(|(row, _)| *row <= i);
    (i + before.checked_sub(1).and_then(|k| places.get(k)).map_or(0, |(_, missing)| *missing)) as f64
}

/// Tells of a clock that bends a little.
#[inline(never)]
pub(super) fn bent(by_s: f64, rate_hz: f64) -> Notice {
    let message = format!(
        "The times stray from an even clock of {rate_hz:.1} Hz by {:.1} ms, at a rate that changes by less than half a percent: that clock was used.",
        1e3 * by_s
    );
    Notice::new("clock_bends", message).next_time("Export the device’s own time or sample numbers, not the computer’s.")
}
