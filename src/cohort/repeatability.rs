//! How far a figure repeats from day to day when nothing has changed, and what follows from it.
use super::Table;
use super::components::{Components, Repeats, repeats};
use super::days::{Day, Scale, days};
use super::icc::{Icc, one_way};
use super::interval::Interval;
use super::noise::Noise;
use super::retest::{Retest, sd_interval};
use crate::force::stats::sd;

/// More test days are worth it until the upper limit of the typical error is at most this many times the value (*ours*).
pub const NARROW_ENOUGH: f64 = 1.5;
/// Athletes needed before the spread between them is worth stating (*ours*; the group's own rule for ranks).
const SPREAD_FROM: usize = 10;

/// What repeats, of one figure of one test under one protocol.
#[derive(Debug, Clone, PartialEq)]
pub struct Repeatability {
    /// Figure id.
    pub figure: String,
    /// The scale of every number here; [`Scale::difference`] turns an error into a fraction or a unit.
    pub scale: Scale,
    /// Own, cited, or `None`: cannot say.
    pub noise: Option<Noise>,
    /// Trials a session, to which the session's numbers refer (the table's usual count).
    pub trials: f64,
    /// Typical error of a session's mean with its interval: the standard error of measurement of a session.
    pub typical_error: Option<Interval>,
    /// Coefficient of variation as a fraction, `exp(typical error) − 1` [Hopkins 2000]; on logs only.
    pub cv: Option<Interval>,
    /// ICC(1,1) of session means over repeated days.
    pub icc: Option<Icc>,
    /// Minimal detectable change between two sessions, `1.96·√2·SEM` [Weir 2005, J. Strength Cond. Res. 19:231]. It takes
    /// the error as known; a change is judged with the t interval of [`super::change()`].
    pub minimal_detectable_change: Option<f64>,
    /// Standard deviation between athletes, one session each, the error still in it.
    pub sd_between: Option<f64>,
    /// `0.2·√(SD² − TE²)` [after Hopkins 2004]; `None` below ten athletes or where they differ no more than the error.
    pub smallest_worthwhile: Option<f64>,
    /// What the second session ever was above the first (learning), where they are repeats but for that.
    pub first_session: Option<Retest>,
    /// How many more repeated days would bring the typical error's upper limit to 1.5 times its value; `None` where nothing is own.
    pub days_wanted: Option<usize>,
}

impl Repeatability {
    /// Everything from one table; `members` are the athletes whose spread counts (all where `None`).
    pub fn of(table: &Table, rule: Repeats<'_>, members: Option<&[bool]>) -> Self {
        let scale = Scale::of(table);
        let days = days(table, scale);
        let noise = Noise::of_days(table, &days, scale, rule);
        let trials = usual_trials(&days);
        let session = noise.map(|n| n.typical_error(trials));
        let typical_error = session.map(|(variance, df)| sd_interval(variance.sqrt(), df));
        let latest: Vec<f64> = latest_values(&days, members);
        let sd_between = (latest.len() >= SPREAD_FROM).then(|| sd(&latest));
        let smallest_worthwhile = sd_between.zip(session).and_then(|(sd, (error, _))| {
            let pure = sd * sd - error;
            (pure > 0.0).then(|| 0.2 * pure.sqrt())
        });
        let own = Components::of_days(&days, scale, rule);
        Self {
            figure: table.figure.clone(),
            scale,
            noise,
            trials,
            typical_error,
            cv: typical_error.filter(|_| scale == Scale::Log).map(|te| te.map(|x| scale.difference(x))),
            icc: icc(&days, rule),
            minimal_detectable_change: session.map(|(variance, _)| 1.959_963_984_540_054 * (2.0 * variance).sqrt()),
            sd_between,
            smallest_worthwhile,
            first_session: first_session(&days, rule),
            days_wanted: own.map(|own| more_days(own.day_df)),
        }
    }
}

/// Repeated days to add so that the chi-square interval of the typical error narrows to [`NARROW_ENOUGH`].
fn more_days(df: f64) -> usize {
    (0..200).find(|more| sd_interval(1.0, df + *more as f64).high <= NARROW_ENOUGH).unwrap_or(200)
}

/// The trials a session usually has: the harmonic mean, which is what a mean's variance follows.
fn usual_trials(days: &[Day]) -> f64 {
    let sum: f64 = days.iter().map(|d| 1.0 / d.trials as f64).sum();
    if sum > 0.0 { days.len() as f64 / sum } else { 1.0 }
}

/// Each athlete's latest session.
fn latest_values(days: &[Day], members: Option<&[bool]>) -> Vec<f64> {
    let own = days.chunk_by(|a, b| a.athlete == b.athlete).filter_map(<[Day]>::last);
    own.filter(|d| members.is_none_or(|m| m.get(d.athlete).copied().unwrap_or(false))).map(|d| d.mean).collect()
}

/// Session means of each athlete's latest run of repeated days: one-way, since days are nobody's in common.
fn icc(days: &[Day], rule: Repeats<'_>) -> Option<Icc> {
    let runs = repeats(days, rule);
    let latest = runs.chunk_by(|a, b| a.first().map(|d| d.athlete) == b.first().map(|d| d.athlete)).filter_map(<[Vec<Day>]>::last);
    one_way(&latest.map(|run| run.iter().map(|d| d.mean).collect()).collect::<Vec<_>>(), false)
}

/// Second against first session ever, where less than ten days and no block lie between.
fn first_session(days: &[Day], rule: Repeats<'_>) -> Option<Retest> {
    let all = Repeats { first_counts: true, ..rule };
    let pairs: Vec<(f64, f64)> = days
        .chunk_by(|a, b| a.athlete == b.athlete)
        .filter_map(|own| own.get(..2))
        .filter_map(|two| repeats(two, all).first().and_then(|run| Some((run.first()?.mean, run.get(1)?.mean))))
        .collect();
    Retest::of(&pairs)
}
