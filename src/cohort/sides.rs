//! Left against right over days: real only beyond the index's own noise; and each leg by itself, for the other has
//! changed too.
//!
//! A table here holds the index `100·(R − L)/(R + L)` (or of the larger, for one-leg tests), positive where right is
//! higher, with the index's own `u`.
use super::Table;
use super::chart::{Chart, chart};
use super::days::{Scale, days};
use super::distributions::t_quantile;
use super::interval::UPPER;
use super::noise::Noise;
use crate::people::{Date, Side};

/// What a difference was held against.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Against {
    /// The index's noise between days.
    Days,
    /// The spread of that day's trials: another day may differ more.
    Trials,
    /// One trial's own uncertainty: it knows nothing of other trials or days.
    Measurement,
}

/// One day's difference against its noise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SideDifference {
    /// Mean of the day's trials, %.
    pub percent: f64,
    /// Trials.
    pub trials: usize,
    /// What could be zero: ± this, % (95 %).
    pub noise: f64,
    /// What the noise is of.
    pub against: Against,
    /// The higher side, where the difference is beyond the noise.
    pub higher: Option<Side>,
}

/// Holds one day's index against the best noise there is: days', else trials', else the measurement's. A plate-gain
/// mismatch, which no repetition shows, is in `u` and so in each.
pub fn difference(index: &Table, athlete: usize, day: Date, noise: Option<&Noise>) -> Option<SideDifference> {
    let rows: Vec<_> = index.rows.iter().filter(|r| r.athlete == athlete && r.day == day && r.value.is_finite()).copied().collect();
    let own = Table { rows, ..Table::default() };
    let day = days(&own, Scale::Raw).first().copied()?;
    let n = day.trials as f64;
    let counted = || own.rows.iter().filter(|r| r.sound != day.doubtful);
    let u_square = counted().map(|r| r.u * r.u).sum::<f64>() / n;
    let u_square = if u_square.is_finite() { u_square } else { 0.0 };
    let (against, variance, df) = match noise.filter(|noise| noise.scale() == Scale::Raw) {
        Some(noise) => {
            let (variance, df) = noise.session(n);
            (Against::Days, variance, df)
        }
        None if day.trials > 1 => (Against::Trials, day.squares / (n - 1.0) / n, n - 1.0),
        None => (Against::Measurement, 0.0, f64::INFINITY),
    };
    let t = t_quantile(UPPER, df);
    let reach = (t * t * variance + 4.0 * u_square).sqrt();
    let higher = (day.mean.abs() > reach).then_some(if day.mean > 0.0 { Side::Right } else { Side::Left });
    Some(SideDifference { percent: day.mean, trials: day.trials, noise: reach, against, higher })
}

/// In how many sessions each side was higher.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Directions {
    /// Sessions with right higher.
    pub right: usize,
    /// Sessions with left higher.
    pub left: usize,
    /// Sessions in all; equal ones included.
    pub sessions: usize,
}

/// Counts directions over an athlete's days.
pub fn directions(index: &Table, athlete: usize) -> Directions {
    let own = Table { rows: index.rows.iter().filter(|r| r.athlete == athlete).copied().collect(), ..Table::default() };
    days(&own, Scale::Raw).iter().fold(Directions::default(), |count, day| Directions {
        right: count.right + usize::from(day.mean > 0.0),
        left: count.left + usize::from(day.mean < 0.0),
        sessions: count.sessions + 1,
    })
}

/// One leg's own history.
#[derive(Debug, Clone, PartialEq)]
pub struct Leg {
    /// Which.
    pub side: Side,
    /// Whether it was operated.
    pub operated: bool,
    /// Its days.
    pub chart: Chart,
}

/// Both legs' histories, the operated one first (else left first). Shown before any ratio: the other leg loses too
/// [Wellsandt et al. 2017, J. Orthop. Sports Phys. Ther. 47:334].
pub fn legs(
    left: &Table,
    right: &Table,
    athlete: usize,
    operated: Option<Side>,
    noise: [Option<&Noise>; 2],
    baseline_to: Option<Date>,
) -> Vec<Leg> {
    let is_operated = |side| operated == Some(side) || operated == Some(Side::Both);
    let [left_noise, right_noise] = noise;
    let mut legs: Vec<Leg> = [(Side::Left, left, left_noise), (Side::Right, right, right_noise)]
        .into_iter()
        .filter_map(|(side, table, noise)| {
            Some(Leg { side, operated: is_operated(side), chart: chart(table, athlete, baseline_to, noise)? })
        })
        .collect();
    legs.sort_by_key(|leg| !leg.operated);
    legs
}
