//! One athlete's days in time, with the limits inside which a day without any change falls 19 times in 20.
use super::Table;
use super::days::{Scale, days};
use super::distributions::t_quantile;
use super::interval::{Interval, UPPER};
use super::noise::Noise;
use crate::force::stats::{mean, sd};
use crate::people::Date;

/// His own days needed for limits where no noise between days is known (*ours*).
const OWN_FROM: usize = 5;

/// One day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// The day.
    pub day: Date,
    /// Its trials.
    pub trials: usize,
    /// Their mean, SI.
    pub value: f64,
    /// Whether it belongs to the days the centre is made of.
    pub baseline: bool,
    /// Whether it is the first session ever, left out of the centre.
    pub first_ever: bool,
    /// Whether it lies outside its limits (which follow its number of trials); never for a day of the baseline
    /// or the first session ever.
    pub outside: bool,
    /// Whether only doubtful trials were there.
    pub doubtful: bool,
}

/// What the limits rest on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Limits {
    /// Known noise between days, own or cited.
    Noise(Noise),
    /// The spread of his own baseline days.
    OwnDays,
    /// Nothing: no limits.
    Unknown,
}

/// A chart of days.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// Figure id.
    pub figure: String,
    /// The scale on which limits are even.
    pub scale: Scale,
    /// Days in order.
    pub points: Vec<Point>,
    /// Centre with limits for a day of the usual number of trials, SI; no limits are NaN.
    pub centre: Interval,
    /// What they rest on.
    pub limits: Limits,
}

/// Charts an athlete's days. The baseline is the days before or on `baseline_to`; without it, all of them; the first
/// session ever is left out of it where another is there (people learn the test). `None` without a day.
pub fn chart(table: &Table, athlete: usize, baseline_to: Option<Date>, noise: Option<&Noise>) -> Option<Chart> {
    let scale = Scale::of(table);
    let own = Table { rows: table.rows.iter().filter(|r| r.athlete == athlete).copied().collect(), ..Table::default() };
    let days = days(&own, scale);
    let early = |day: Date| baseline_to.is_none_or(|to| day <= to);
    let first = days.first().map(|d| d.day).filter(|_| days.iter().filter(|d| early(d.day)).count() > 1);
    let is_baseline = |day: Date| early(day) && Some(day) != first;
    let base: Vec<_> = days.iter().filter(|d| is_baseline(d.day)).collect();
    let values: Vec<f64> = base.iter().map(|d| d.mean).collect();
    let k = base.len() as f64;
    if base.is_empty() {
        return None;
    }
    let centre = mean(&values);
    let noise = noise.filter(|n| n.scale() == scale);
    let base_trials = base.iter().map(|d| 1.0 / d.trials as f64).sum::<f64>();
    let limits = match noise {
        Some(noise) => Limits::Noise(*noise),
        None if base.len() >= OWN_FROM => Limits::OwnDays,
        None => Limits::Unknown,
    };
    let half = |trials: f64| match &limits {
        Limits::Noise(noise) => {
            let (variance, df) = noise.variance(1.0 + 1.0 / k, 1.0 / trials + base_trials / (k * k));
            t_quantile(UPPER, df) * variance.sqrt()
        }
        Limits::OwnDays => t_quantile(UPPER, k - 1.0) * sd(&values) * (1.0 + 1.0 / k).sqrt(),
        Limits::Unknown => f64::NAN,
    };
    let points = days
        .iter()
        .map(|d| {
            let baseline = is_baseline(d.day);
            let outside = !baseline && Some(d.day) != first && (d.mean - centre).abs() > half(d.trials as f64);
            Point {
                day: d.day,
                trials: d.trials,
                value: scale.back(d.mean),
                baseline,
                first_ever: Some(d.day) == first,
                outside,
                doubtful: d.doubtful,
            }
        })
        .collect();
    let centre = Interval::about(centre, half(k / base_trials)).map(|y| scale.back(y));
    Some(Chart { figure: table.figure.clone(), scale, points, centre, limits })
}
