//! What happens around take-off that should not: ringing of the plate, and feet that leave twice.
use crate::force::stats::sd;
use core::ops::Range;

/// Ringing after take-off, N: the largest swing in the first 80 ms of flight, where it is more than four times what the
/// middle of the flight shows and above `least_n`.
///
/// In flight nothing touches the plate, so whatever it reads is its own: noise and hum are the same throughout, but a plate
/// that was let go swings at its natural frequency and dies away. Take-off can then only be known to about a swing, and a
/// zero taken from the whole flight would carry it: hence the quiet middle.
pub(crate) fn ringing(force_n: &[f64], take_off: f64, touchdown: f64, rate_hz: f64, least_n: f64) -> Option<f64> {
    if !(take_off >= 0.0 && touchdown > take_off + 0.16 * rate_hz) {
        return None;
    }
    let from = take_off.ceil() as usize + (0.004 * rate_hz) as usize;
    let early = force_n.get(from..from + ((0.08 * rate_hz) as usize).max(2))?;
    let middle = (0.5 * (take_off + touchdown)) as usize;
    let reach = ((0.1 * (touchdown - take_off)) as usize).max(2);
    let quiet = force_n.get(middle.saturating_sub(reach)..middle + reach)?;
    let largest = early.iter().fold(0.0_f64, |most, f| most.max(f.abs()));
    // Ringing swings to both sides; a foot that trails only presses.
    let below = early.iter().fold(0.0_f64, |least, f| least.min(*f));
    (largest > (4.0 * sd(quiet)).max(least_n) && -below > 0.4 * largest).then_some(largest)
}

/// Where force had already gone below the threshold for 8 ms, come back for 15 ms, and gone again: two take-offs. The
/// fractional sample of the first.
///
/// A foot that touches again after both had left pushes the body once more; take-off is the last one, but velocity there,
/// flight time and the phases are those of no single jump.
pub(crate) fn earlier_take_off(force_n: &[f64], lowest_point: f64, take_off: f64, rate_hz: f64, threshold_n: f64) -> Option<f64> {
    if !(lowest_point >= 0.0 && take_off > lowest_point) {
        return None;
    }
    let (from, to) = (lowest_point.ceil() as usize, take_off.floor() as usize);
    let part = force_n.get(from..to.min(force_n.len()))?;
    let (short, back) = (((0.008 * rate_hz) as usize).max(2), ((0.015 * rate_hz) as usize).max(2));
    let runs = below(part, threshold_n);
    let first = runs.into_iter().find(|run| run.len() >= short && part.len() - run.end >= back)?;
    Some((from + first.start) as f64)
}

fn below(x: &[f64], level: f64) -> Vec<Range<usize>> {
    let (mut runs, mut start) = (Vec::new(), None);
    for (i, v) in x.iter().enumerate() {
        match (*v < level, start) {
            (true, None) => start = Some(i),
            (false, Some(s)) => {
                runs.push(s..i);
                start = None;
            }
            _ => {}
        }
    }
    runs.extend(start.map(|s| s..x.len()));
    runs
}
