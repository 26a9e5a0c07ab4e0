//! What is known of a figure's change from day to day without any real change: own, cited, or nothing.
use super::Table;
use super::cited::Cited;
use super::components::{Components, Repeats};
use super::days::{Day, Scale, days};

/// Own repeated days suffice from this many degrees of freedom, where a cited value could stand in (*ours*: with 5 the t
/// factor is 2.57, a third above that of perfect knowledge).
pub const OWN_DF: f64 = 5.0;
/// And from this many where nothing is cited: the interval is wide, and honest.
pub const OWN_DF_ALONE: f64 = 3.0;

/// The noise between days.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Noise {
    /// From the coach's own repeated days.
    Own(Components),
    /// From a publication, for lack of own days; on logs.
    Cited {
        /// The row.
        row: &'static Cited,
        /// Own variance between trials of a day and its degrees of freedom, where known.
        trial: Option<(f64, f64)>,
    },
}

impl Noise {
    /// Own where it suffices, else cited, else own with little, else `None`: cannot say.
    pub fn of(table: &Table, rule: Repeats<'_>) -> Option<Self> {
        let scale = Scale::of(table);
        Self::of_days(table, &days(table, scale), scale, rule)
    }

    /// The same from days already gathered on `scale`.
    pub fn of_days(table: &Table, days: &[Day], scale: Scale, rule: Repeats<'_>) -> Option<Self> {
        let own = Components::of_days(days, scale, rule);
        let df = own.map_or(0.0, |c| c.day_df);
        // A published CV says nothing about a figure that has no logs here.
        let cited = Cited::find(&table.figure, &table.test, &table.protocol).filter(|_| scale == Scale::Log);
        match (own, cited) {
            (Some(own), None) if df >= OWN_DF_ALONE => Some(Self::Own(own)),
            (Some(own), _) if df >= OWN_DF => Some(Self::Own(own)),
            (_, Some(row)) => {
                let trial_df: f64 = days.iter().map(|d| d.trials as f64 - 1.0).sum();
                let trial = (trial_df > 0.0).then(|| (days.iter().map(|d| d.squares).sum::<f64>() / trial_df, trial_df));
                Some(Self::Cited { row, trial })
            }
            _ => None,
        }
    }

    /// The scale it is on.
    pub fn scale(&self) -> Scale {
        match self {
            Self::Own(own) => own.scale,
            Self::Cited { .. } => Scale::Log,
        }
    }

    /// The citation, where it is not own.
    pub fn citation(&self) -> Option<&'static str> {
        match self {
            Self::Own(_) => None,
            Self::Cited { row, .. } => Some(row.source),
        }
    }

    /// Variance, with its degrees of freedom, of the difference or mean of days that weighs the days' variance by `by_day`
    /// and the trials' by `by_trial` (for two days of n₁ and n₂ trials: 2 and 1/n₁ + 1/n₂).
    ///
    /// A cited session value holds its own trials' noise already; fewer trials than the source used add what theirs
    /// lack, more take nothing off.
    pub fn variance(&self, by_day: f64, by_trial: f64) -> (f64, f64) {
        match self {
            Self::Own(own) => own.variance(by_day, by_trial),
            Self::Cited { row, trial } => {
                let session = by_day * row.variance();
                let (missing, df) = trial.map_or((0.0, 1.0), |(v, df)| (v * (by_trial - by_day / row.trials as f64).max(0.0), df));
                let sum = session + missing;
                (sum, sum * sum / (session * session / row.df() + missing * missing / df))
            }
        }
    }

    /// The typical error squared of a session of `trials` trials, with its degrees of freedom, for stating it.
    pub fn typical_error(&self, trials: f64) -> (f64, f64) {
        match self {
            Self::Own(own) => own.by_days(1.0, 1.0 / trials.max(1.0)),
            Self::Cited { .. } => self.session(trials),
        }
    }

    /// Variance of one session's value of `trials` trials, with its degrees of freedom, for an interval about it.
    pub fn session(&self, trials: f64) -> (f64, f64) {
        self.variance(1.0, 1.0 / trials.max(1.0))
    }
}
