//! Sample index → time: the uniform clock behind the file's stamps, and the real gaps in it (methods §1.2).
//!
//! Stamps may be rounded, repeated or come in packets: as long as they stay near one uniform clock,
//! that clock is used. A step that stays is a gap. Cost: a few passes over four bytes a row.
use super::ReadError;
use super::stamps::Stamps;
use super::wander::{Stamped, Wander};

/// The clock of a file.
pub(super) struct Fitted {
    pub rate_hz: f64,
    pub jitter_s: f64,
    /// (row, samples missing before it), after the rows of `drop` are gone.
    pub missing: Vec<(usize, usize)>,
    /// Rows that repeat the one before.
    pub drop: Vec<u32>,
    /// How far the stamps bend away from the clock, s, where that is worth a word.
    pub bend_s: Option<f64>,
}

/// Values summed side by side: one chain of additions would wait for each.
const LANES: usize = 8;

/// Slope of the least-squares line through (index, value), the range of what is left, and its standard deviation.
fn line_through<I: Iterator<Item = (f64, f64)> + Clone>(points: I) -> (f64, f64, f64) {
    let mut sums = [[0.0f64; LANES]; 4];
    let mut n = 0usize;
    let mut rest = points.clone();
    loop {
        let mut block = [(0.0, 0.0); LANES];
        let mut filled = 0;
        for (slot, p) in block.iter_mut().zip(&mut rest) {
            *slot = p;
            filled += 1;
        }
        n += filled;
        let [sx, sy, sxx, sxy] = &mut sums;
        for (k, (x, y)) in block.iter().enumerate() {
            for (sum, term) in [(&mut *sx, *x), (&mut *sy, *y), (&mut *sxx, x * x), (&mut *sxy, x * y)] {
                if let Some(s) = sum.get_mut(k) {
                    *s += term;
                }
            }
        }
        if filled < LANES {
            break;
        }
    }
    let [x, y, xx, xy] = sums.map(|lanes| lanes.iter().sum::<f64>());
    let count = n.max(1) as f64;
    let det = count * xx - x * x;
    let slope = if det > 0.0 { (count * xy - x * y) / det } else { 0.0 };
    let offset = (y - slope * x) / count;
    let (mut low, mut high, mut squares) = ([f64::INFINITY; LANES], [f64::NEG_INFINITY; LANES], [0.0f64; LANES]);
    for (i, (x, y)) in points.enumerate() {
        let r = y - slope * x - offset;
        if let (Some(l), Some(h), Some(s)) = (low.get_mut(i % LANES), high.get_mut(i % LANES), squares.get_mut(i % LANES)) {
            *l = if r < *l { r } else { *l };
            *h = if r > *h { r } else { *h };
            *s += r * r;
        }
    }
    let range = high.iter().copied().fold(f64::NEG_INFINITY, f64::max) - low.iter().copied().fold(f64::INFINITY, f64::min);
    (slope, range, (squares.iter().sum::<f64>() / count).sqrt())
}

/// Whether one uniform clock, its stamps rounded to `quantum_s`, gives these: 999 Hz in whole milliseconds skips one of
/// them every thousand samples, and so would a clock of 1000 Hz that loses a sample. Rounding leaves every stamp within half
/// a step of its clock, and its skips are evenly spaced; lost samples are so by chance alone, and one or two always are.
fn is_rounding(deviation_s: &[f32], h: f64, slope: f64, quantum_s: f64) -> bool {
    let n = deviation_s.len() as f64;
    let interval = h / quantum_s;
    if (interval - interval.round()).abs() * n < 2.5 {
        return false;
    }
    // The narrowest strip that holds all stamps: its width is a convex function of the slope, so thirds close in on it.
    let width = |slope: f64| {
        let (low, high) = deviation_s.iter().enumerate().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), (i, d)| {
            let rest = f64::from(*d) - slope * i as f64;
            (rest.min(low), rest.max(high))
        });
        high - low
    };
    let (mut left, mut right) = (slope - 1.5 * quantum_s / n, slope + 1.5 * quantum_s / n);
    for _ in 0..24 {
        let third = (right - left) / 3.0;
        let (a, b) = (width(left + third), width(right - third));
        if a.min(b) <= 1.01 * quantum_s {
            return true;
        }
        if a < b { right -= third } else { left += third }
    }
    false
}

fn middle(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(f64::NAN)
}

/// Fits the clock. `quantum_s` is the step in which stamps are printed.
///
/// # Errors
/// Where the stamps run backwards, stand still, or leave more out than they hold.
pub(super) fn fit(stamps: &mut Stamps, quantum_s: f64, rate_known: Option<f64>) -> Result<Fitted, ReadError> {
    let n = stamps.len();
    if stamps.missing * 2 > n {
        return Err(ReadError::new(
            "time_missing",
            "Most rows have no time.",
            "Export with the time column, or state the columns and the sampling rate.",
        )
        .found(&format!("{} of {n} rows without", stamps.missing))
        .expected("a time in every row"));
    }
    // A few stamps that fall back by less than a row are scatter; many of them are another order.
    let often = if stamps.falls * 20 > n { stamps.fell } else { None };
    if let Some(b) = stamps.backwards.or(often) {
        return Err(ReadError::new(
            "time_backwards",
            "Time runs backwards in this file.",
            "Export one recording a file, in the order of time.",
        )
        .row(b.line)
        .found(&format!("{} s after {} s", b.after_s, b.before_s))
        .expected("a time not before the one above"));
    }
    let h0 = stamps.interval_s;
    if n >= 2 && stamps.repeated + 1 + stamps.missing >= n {
        return Err(ReadError::new(
            "time_constant",
            "The time is the same in every row.",
            "Export with more decimals of time, or state the sampling rate and leave the time column out.",
        )
        .found("the same time again and again")
        .expected("a time that rises from row to row"));
    }
    if stamps.regular() && h0 > 0.0 {
        let rate_hz = rate_known.unwrap_or_else(|| tidy(1.0 / h0, quantum_s / ((n as f64 - 1.0) * h0).max(1e-9)));
        return Ok(Fitted { rate_hz, jitter_s: 0.0, missing: Vec::new(), drop: Vec::new(), bend_s: None });
    }
    irregular(stamps, quantum_s, rate_known)
}

/// The same for stamps that are not the clock's own.
#[inline(never)]
fn irregular(stamps: &mut Stamps, quantum_s: f64, rate_known: Option<f64>) -> Result<Fitted, ReadError> {
    let (n, h0) = (stamps.len(), stamps.interval_s);
    let span = |s: &Stamps| s.deviation_s.last().map_or(0.0, |d| f64::from(*d) + (s.deviation_s.len() as f64 - 1.0) * h0);
    // Near one uniform clock already: rounded stamps, or hardly any scatter.
    let mut drop = Vec::new();
    let (slope, range, sd) = line_through(stamps.deviation_s.iter().enumerate().map(|(i, d)| (i as f64, f64::from(*d))));
    let h = h0 + slope;
    let near = |range: f64, h: f64| range <= 0.92 * quantum_s || range <= 0.3 * h;
    let rounded = || h > 0.0 && range <= 1.5 * quantum_s && is_rounding(&stamps.deviation_s, h, slope, quantum_s);
    let (rate_hz, jitter_s, missing, bend_s) = if h > 0.0 && near(range, h) || rounded() {
        (1.0 / h, sd, Vec::new(), None)
    } else {
        if !stamps.twins.is_empty() && stamps.twins.len() * 10 >= stamps.repeated * 9 && stamps.twins.len() * 4 < n {
            drop.clone_from(&stamps.twins);
            remove_rows(stamps, &drop);
        }
        steps(stamps, quantum_s, &drop)?
    };
    let span_s = span(stamps).max(1e-9);
    let rate_hz = rate_known.unwrap_or_else(|| tidy(rate_hz, quantum_s / span_s));
    Ok(Fitted { rate_hz, jitter_s, missing, drop, bend_s })
}

/// A whole number of hertz where the stamps cannot tell it from the fitted rate.
fn tidy(rate_hz: f64, doubt: f64) -> f64 {
    let whole = rate_hz.round();
    if whole >= 1.0 && (rate_hz - whole).abs() <= whole * doubt.clamp(1e-6, 1e-3) { whole } else { rate_hz }
}

fn remove_rows(stamps: &mut Stamps, rows: &[u32]) {
    let h0 = stamps.interval_s;
    let mut skip = rows.iter().peekable();
    let mut removed = 0usize;
    let mut row = 0usize;
    stamps.deviation_s.retain_mut(|d| {
        let gone = skip.next_if(|r| **r as usize == row).is_some();
        row += 1;
        removed += usize::from(gone);
        *d = (f64::from(*d) + removed as f64 * h0) as f32;
        !gone
    });
}

/// Rate, scatter about it, (row, samples missing before it), and by how much the stamps bend away.
type Steps = (f64, f64, Vec<(usize, usize)>, Option<f64>);

/// Finds the gaps: places where the stamps step ahead of the clock and stay there. `drop` are the rows that are gone.
fn steps(stamps: &Stamps, quantum_s: f64, drop: &[u32]) -> Result<Steps, ReadError> {
    let (deviation_s, h0) = (&stamps.deviation_s, stamps.interval_s);
    let n = deviation_s.len();
    let stamp = |i: usize| i as f64 * h0 + deviation_s.get(i).map_or(0.0, |d| f64::from(*d));
    let stride = n / 100_000 + 1;
    let differences: Vec<f64> = (1..n).step_by(stride).map(|i| stamp(i) - stamp(i - 1)).collect();
    // The usual step between unequal stamps: one interval, or one packet. Stored deviations are rounded,
    // so equal stamps differ by a little.
    let mut moving: Vec<f64> = differences.iter().copied().filter(|d| *d > 0.02 * h0).collect();
    let usual = middle(&mut moving);
    let near: Vec<f64> = differences.iter().copied().filter(|d| (d - usual).abs() <= 0.25 * usual).collect();
    let clean = near.len() * 10 >= differences.len() * 6 && moving.len() * 100 >= differences.len() * 99;
    let mut h = if clean {
        near.iter().sum::<f64>() / near.len().max(1) as f64
    } else {
        let lag = (n / 4).clamp(1, 1000);
        let mut means: Vec<f64> = (lag..n).step_by(stride).map(|i| (stamp(i) - stamp(i - lag)) / lag as f64).collect();
        middle(&mut means)
    };
    if !(h > 0.0 && h.is_finite() && usual > 0.0) {
        return Err(ReadError::new("time_uneven", "The time column follows no clock.", "Export again with the time of every sample.")
            .expected("times that rise by about the same step"));
    }
    // Twice: the clock fitted past the gaps of the first round counts those of the second exactly.
    let mut found = (1.0 / h, 0.0, Vec::new(), None);
    for _ in 0..2 {
        let missing = gaps(&stamp, n, h, usual)?;
        let mut places = missing.iter().peekable();
        let mut shift = 0usize;
        let points = (0..n).map(move |i| {
            if let Some((_, rows)) = places.next_if(|(row, _)| *row == i) {
                shift += rows;
            }
            let index = (i + shift) as f64;
            (index, stamp(i) - index * h)
        });
        let (slope, _, sd) = line_through(points);
        let fitted = h + slope;
        found = (1.0 / fitted, sd, missing, None);
        if fitted > 0.0 {
            h = fitted;
        }
    }
    let stamped = Stamped { stamp: &stamp, n, interval_s: h, usual_s: usual, quantum_s, missing: &found.2 };
    match stamped.wander() {
        Some(Wander::Change { row, before_s, after_s }) => {
            let at_s = stamp(row);
            // Rows that were dropped are rows of the file.
            let dropped = drop.iter().enumerate().take_while(|(k, d)| **d as usize <= row + k).count();
            Err(rate_changes(row + dropped, at_s, before_s, after_s))
        }
        Some(Wander::Bend { by_s }) => Ok((found.0, found.1, found.2, Some(by_s))),
        None => Ok(found),
    }
}

/// The refusal of a file whose stamps follow two clocks; `row` counts from the first row of numbers.
#[inline(never)]
fn rate_changes(row: usize, at_s: f64, before_s: f64, after_s: f64) -> ReadError {
    let (before, after) = (1.0 / before_s, 1.0 / after_s);
    let message = format!("The sampling rate changes within the file: {before:.1} Hz until {at_s:.3} s, then {after:.1} Hz.");
    ReadError::new("rate_changes", message, "Export at one fixed rate, or cut the file at that row and open each part by itself.")
        .row(row as u64 + 1)
        .found(&format!("{:.4} ms from row to row, after {:.4} ms", 1e3 * after_s, 1e3 * before_s))
        .expected("one step of time from the first row to the last")
}

/// Where at least one sample is missing: the level of the stamps about a clock of interval `h`, before and after.
fn gaps(stamp: &dyn Fn(usize) -> f64, n: usize, h: f64, usual: f64) -> Result<Vec<(usize, usize)>, ReadError> {
    let packet = (usual / h).max(1.0);
    let window = (8.0 * packet).min(4096.0) as usize;
    let places: Vec<usize> = (1..n).filter(|&i| stamp(i) - stamp(i - 1) > 1.5 * h.max(usual)).collect();
    let mut missing = Vec::new();
    let mut total = 0usize;
    for (k, &i) in places.iter().enumerate() {
        let from = k.checked_sub(1).and_then(|k| places.get(k)).copied().unwrap_or(0).max(i.saturating_sub(window));
        let to = places.get(k + 1).copied().unwrap_or(n).min(i + window);
        let level = |from: usize, to: usize| {
            let mut around: Vec<f64> = (from..to).map(|j| stamp(j) - j as f64 * h).collect();
            // Packets make a saw of which only the mean is level; single late stamps leave the median alone.
            if packet > 1.5 { around.iter().sum::<f64>() / around.len().max(1) as f64 } else { middle(&mut around) }
        };
        let step = (level(i, to) - level(from, i)) / h;
        if step <= 0.6 * packet {
            continue;
        }
        let rows = step.round().max(1.0);
        if rows > 1e7 || total + rows as usize > 4 * n + 10_000 {
            let what = format!("{rows} samples missing before sample {}", i + 1);
            return Err(ReadError::new("gap_too_long", "The time column leaves out more than it holds.", "Export one recording a file.")
                .found(&what)
                .expected("a recording with at most a few gaps"));
        }
        total += rows as usize;
        missing.push((i, rows as usize));
    }
    Ok(missing)
}
