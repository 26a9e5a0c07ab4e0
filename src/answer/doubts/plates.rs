//! What is wrong between two plates: a gain that differs, cables that were swapped.
use crate::answer::{SideFigure, Trial};
use crate::force::stats::mean;
use crate::recording::Notice;
use core::ops::Range;

/// Gain of the right plate against the left, as a part (0.02: two hundredths more), with its standard uncertainty; none
/// where weight was not shifted enough from foot to foot to tell.
///
/// Shifting weight from one foot to the other slowly cannot change the total: what leaves one plate arrives on the other. If
/// the plates' gains differ by `γ`, the total follows the shift with slope `γ`. So: over stretches of standing, means of a
/// quarter of a second, total against half the difference, each stretch about its own mean (drift between them is then no
/// gain). Standing at rest on both feet says nothing, however long.
pub(crate) fn gain_apart(left_n: &[f64], right_n: &[f64], stands: &[Range<usize>], rate_hz: f64) -> Option<(f64, f64)> {
    let block = ((0.25 * rate_hz) as usize).max(1);
    let (mut shifts, mut totals) = (Vec::new(), Vec::new());
    for stand in stands {
        let (Some(l), Some(r)) = (left_n.get(stand.clone()), right_n.get(stand.clone())) else { continue };
        let pairs: Vec<(f64, f64)> = l.chunks_exact(block).zip(r.chunks_exact(block)).map(|(l, r)| (mean(l), mean(r))).collect();
        let of = |value: &dyn Fn(&(f64, f64)) -> f64| pairs.iter().map(value).collect::<Vec<f64>>();
        let (shift, total) = (of(&|(l, r)| 0.5 * (r - l)), of(&|(l, r)| l + r));
        let (ms, mt) = (mean(&shift), mean(&total));
        shifts.extend(shift.iter().map(|s| s - ms));
        totals.extend(total.iter().map(|t| t - mt));
    }
    let n = shifts.len();
    if n < 6 {
        return None;
    }
    let (mut ss, mut st) = (0.0, 0.0);
    for (s, t) in shifts.iter().zip(&totals) {
        ss += s * s;
        st += s * t;
    }
    // Fifteen newtons of shift are two per cent of a person: less would have to be told apart from sway.
    if !((ss / n as f64).sqrt() > 15.0) {
        return None;
    }
    let slope = st / ss;
    let rest: f64 = shifts.iter().zip(&totals).map(|(s, t)| (t - slope * s) * (t - slope * s)).sum();
    Some((slope, (rest / (n - 2) as f64 / ss).sqrt()))
}

/// Which plate carries nothing while the other carries the person, in a stretch where both feet should stand: the fractional
/// sample where it begins, and the plate's name. `None` where there is no such third of a second.
///
/// Whoever stands still weighs `W` wherever the feet are, so a total of about `W` with nothing on one plate is one foot in the
/// air or both on one plate; a lean leaves some tens of newtons, a foot beside the plates takes them from the total. In a
/// movement a plate may well be empty for a moment; in standing it is not. Left and right say nothing then, and a body on one
/// leg is another test.
pub(crate) fn one_foot_off(
    left_n: &[f64],
    right_n: &[f64],
    stands: &[Range<usize>],
    rate_hz: f64,
    weight_n: f64,
) -> Option<(f64, &'static str)> {
    let block = ((0.1 * rate_hz) as usize).max(1);
    // A plate that reads one and the same number is off, not unloaded.
    let lives = |x: &[f64]| x.windows(2).any(|w| w.first() != w.last());
    if !(weight_n > 0.0 && lives(left_n) && lives(right_n)) {
        return None;
    }
    for stand in stands {
        let (Some(l), Some(r)) = (left_n.get(stand.clone()), right_n.get(stand.clone())) else { continue };
        let (mut run, mut name) = (0, "");
        for (k, (l, r)) in l.chunks_exact(block).zip(r.chunks_exact(block)).enumerate() {
            let (l, r) = (mean(l), mean(r));
            let empty = |own: f64, other: f64| own < 0.04 * weight_n && (other - weight_n).abs() < 0.15 * weight_n;
            let now = if empty(l, r) {
                "left"
            } else if empty(r, l) {
                "right"
            } else {
                ""
            };
            run = if now.is_empty() {
                0
            } else if now == name {
                run + 1
            } else {
                1
            };
            name = now;
            if run == 3 {
                return Some(((stand.start + (k - 2) * block) as f64, name));
            }
        }
    }
    None
}

/// The figures whose side a person keeps, trial after trial.
const KEPT: [&str; 4] = ["standing_force", "unweighting_impulse", "braking_impulse", "propulsion_impulse"];

/// Whether this trial's plates look swapped against the same athlete's earlier ones: every side figure that they share lies
/// on the other side, and mirrored it fits.
///
/// A habit of loading one leg is a person's own and changes slowly; a cable is swapped in a second, and then *all* shares
/// change sides at once by twice their habit. With fewer than three earlier trials, or a habit too small to know left from
/// right by (2 % of the total), nothing can be said.
pub fn plates_swapped(earlier: &[&Trial], now: &Trial) -> Option<Notice> {
    let difference = |s: &SideFigure| s.difference_of_total_percent;
    let (mut straight, mut mirrored, mut known) = (0.0, 0.0, 0);
    for id in KEPT {
        let Some(now) = now.sides.get(id).map(difference) else { continue };
        let before: Vec<f64> = earlier.iter().filter_map(|t| t.sides.get(id)).map(difference).collect();
        if before.len() < 3 {
            continue;
        }
        let habit = mean(&before);
        let spread = (before.iter().map(|d| (d - habit) * (d - habit)).sum::<f64>() / (before.len() - 1) as f64).sqrt().max(1.0);
        if habit.abs() < 2.0 || habit.abs() < 2.0 * spread {
            continue;
        }
        known += 1;
        straight += (now - habit) * (now - habit) / (spread * spread);
        mirrored += (now + habit) * (now + habit) / (spread * spread);
    }
    // Mirrored must fit (within about two spreads a figure) and straight must not (beyond four).
    let n = f64::from(known);
    (known >= 2 && mirrored < 4.0 * n && straight > 16.0 * n).then(|| {
        Notice::new(
            "plates_swapped",
            "Left and right have changed places against this athlete's earlier trials, in every phase at once: the plates or their cables may be swapped.",
        )
        .next_time("Press on the left plate by hand and look which trace moves before the first trial.")
    })
}
