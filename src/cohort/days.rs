//! A table's trials gathered into days: the unit that repeatability, standing and change think in.
use super::Table;
use crate::figures::definition;
use crate::force::math::{exp, exp_m1, ln};
use crate::people::Date;

/// The scale a figure is compared on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scale {
    /// Natural logarithms: differences are ratios.
    Log,
    /// As it is.
    Raw,
}

impl Scale {
    /// Logs for a figure that the catalogue knows as a magnitude with a true zero (force, power, height, time, their
    /// ratios) and that is positive everywhere; as it is for signed figures (lags, the displacement at take-off,
    /// left/right differences), for shares, for whatever the catalogue does not know, and where any value is ≤ 0.
    pub fn of(table: &Table) -> Self {
        let magnitude = definition(&table.figure).is_some_and(|d| !matches!(d.family, "posture" | "left and right") && d.unit != "%");
        if magnitude && table.rows.iter().all(|row| !(row.value <= 0.0)) { Self::Log } else { Self::Raw }
    }
    /// SI → this scale.
    pub fn on(self, value: f64) -> f64 {
        if self == Self::Log { ln(value) } else { value }
    }
    /// This scale → SI.
    pub fn back(self, value: f64) -> f64 {
        if self == Self::Log { exp(value) } else { value }
    }
    /// A difference on this scale as people say it: a fraction of the value (logs), or in its unit (raw).
    pub fn difference(self, value: f64) -> f64 {
        if self == Self::Log { exp_m1(value) } else { value }
    }
}

/// One athlete's day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Day {
    /// The athlete's place in the list of athletes.
    pub athlete: usize,
    /// The day.
    pub day: Date,
    /// Trials that count.
    pub trials: usize,
    /// Their mean, on the scale asked for. Means, never the best trial: the best of more tries is higher.
    pub mean: f64,
    /// Sum of squares about it.
    pub squares: f64,
    /// Body mass that day, kg; NaN where unknown.
    pub body_mass_kg: f64,
    /// Whether only doubtful trials were there.
    pub doubtful: bool,
}

/// The table's days in order of athlete, then day. Of a day the sound trials count, its doubtful ones only where it
/// has no sound one (*ours*: a doubtful trial's fault would pass for the athlete's day). Values that are no number are
/// left out. One pass over rows that come in order, as the table promises; otherwise they are sorted first.
pub fn days(table: &Table, scale: Scale) -> Vec<Day> {
    let in_order = table.rows.is_sorted_by_key(|row| (row.athlete, row.day));
    let sorted;
    let rows = if in_order {
        &table.rows
    } else {
        let mut copy = table.rows.clone();
        copy.sort_by_key(|row| (row.athlete, row.day));
        sorted = copy;
        &sorted
    };
    let mut out = Vec::new();
    let mut counted: Vec<f64> = Vec::new();
    for chunk in rows.chunk_by(|a, b| (a.athlete, a.day) == (b.athlete, b.day)) {
        let Some(first) = chunk.first() else { continue };
        let any_sound = chunk.iter().any(|row| row.sound && row.value.is_finite());
        counted.clear();
        counted.extend(chunk.iter().filter(|row| row.sound == any_sound && row.value.is_finite()).map(|row| scale.on(row.value)));
        let trials = counted.len();
        if trials == 0 {
            continue;
        }
        let mean = counted.iter().sum::<f64>() / trials as f64;
        let squares = counted.iter().map(|y| (y - mean) * (y - mean)).sum();
        out.push(Day {
            athlete: first.athlete,
            day: first.day,
            trials,
            mean,
            squares,
            body_mass_kg: first.body_mass_kg,
            doubtful: !any_sound,
        });
    }
    out
}
