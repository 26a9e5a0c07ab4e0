//! How much of a figure's spread is the day's and how much the trial's: the nested analysis athlete / day / trial.
use super::Table;
use super::days::{Day, Scale, days};
use super::distributions::t_quantile;
use super::interval::UPPER;
use crate::people::Date;

/// Days of one athlete this far apart or more are no repeats: training may lie between (methods.md §8).
pub const REPEAT_WITHIN_DAYS: i32 = 10;

/// Least half-width of an interval, in that of the trials' noise alone.
const LEAST_HALF: f64 = 0.7;

/// A stretch of training or injury: days on both sides of it, or of any part of it, are no repeats.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Block {
    /// Whose; `None` is everybody's.
    pub athlete: Option<usize>,
    /// First day.
    pub from: Date,
    /// Last day.
    pub to: Date,
}

/// What counts as a repeat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Repeats<'a> {
    /// Blocks between days.
    pub blocks: &'a [Block],
    /// Whether an athlete's first session in the table counts too. Normally not: people learn the test. True where the
    /// coach says that everybody knew it before.
    pub first_counts: bool,
}

/// Variance components on one scale, with what they rest on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Components {
    /// The scale.
    pub scale: Scale,
    /// Between days, of one athlete; never below 0.
    pub day: f64,
    /// Between trials of one day.
    pub trial: f64,
    /// Mean square of days within repeats.
    pub day_square: f64,
    /// Mean square of trials within days.
    pub trial_square: f64,
    /// Degrees of freedom of days.
    pub day_df: f64,
    /// Degrees of freedom of trials; 0 where every day has one trial.
    pub trial_df: f64,
    /// Trials a day, as the expected mean square weighs them: E(day square) = trial + this · day.
    pub trials_a_day: f64,
    /// Athletes with repeats.
    pub athletes: usize,
    /// Their repeated days.
    pub days: usize,
}

/// The runs of repeated days: consecutive days of one athlete whose first and last are less than ten days apart with no
/// block between. A longer chain is cut into such runs, so that every pair inside a run is a pair the rule allows.
pub fn repeats(days: &[Day], rule: Repeats<'_>) -> Vec<Vec<Day>> {
    let mut runs: Vec<Vec<Day>> = Vec::new();
    for own in days.chunk_by(|a, b| a.athlete == b.athlete) {
        let mut run: Vec<Day> = Vec::new();
        for day in own.iter().skip(usize::from(!rule.first_counts)) {
            let breaks = run.first().zip(run.last()).is_some_and(|(first, last)| {
                day.day.days_since(first.day) >= REPEAT_WITHIN_DAYS || blocked(rule.blocks, day.athlete, last.day, day.day)
            });
            if breaks {
                runs.push(core::mem::take(&mut run));
            }
            run.push(*day);
        }
        runs.push(run);
    }
    runs.retain(|run| run.len() > 1);
    runs
}

/// Whether a block touches the stretch between two days. One that ended on the first or begins on the second does not.
pub(crate) fn blocked(blocks: &[Block], athlete: usize, earlier: Date, later: Date) -> bool {
    blocks.iter().any(|b| b.athlete.is_none_or(|whose| whose == athlete) && b.from < later && b.to > earlier)
}

impl Components {
    /// Components from every athlete's repeated days; `None` without a single repeat.
    ///
    /// Days are nested in runs, trials in days; unbalanced sums of squares are taken in that order and the day's
    /// component by its expected mean square [Searle, Casella & McCulloch 1992, Variance Components, ch. 3; from memory].
    pub fn of(table: &Table, rule: Repeats<'_>) -> Option<Self> {
        let scale = Scale::of(table);
        Self::of_days(&days(table, scale), scale, rule)
    }

    /// The same from days already gathered on `scale`.
    pub fn of_days(days: &[Day], scale: Scale, rule: Repeats<'_>) -> Option<Self> {
        let runs = repeats(days, rule);
        let (mut day_sum, mut day_df, mut weight, mut all) = (0.0, 0.0, 0.0, 0.0);
        let mut counted: Vec<usize> = Vec::new();
        for run in &runs {
            let total: f64 = run.iter().map(|d| d.trials as f64).sum();
            let mean = run.iter().map(|d| d.trials as f64 * d.mean).sum::<f64>() / total;
            day_sum += run.iter().map(|d| d.trials as f64 * (d.mean - mean) * (d.mean - mean)).sum::<f64>();
            weight += run.iter().map(|d| (d.trials * d.trials) as f64).sum::<f64>() / total;
            all += total;
            day_df += run.len() as f64 - 1.0;
            if let Some(first) = run.first()
                && counted.last() != Some(&first.athlete)
            {
                counted.push(first.athlete);
            }
        }
        if !(day_df > 0.0) {
            return None;
        }
        // Trials within days say the same on any day, so every day's count, those without a repeat included.
        let trial_df: f64 = days.iter().map(|d| d.trials as f64 - 1.0).sum();
        let trial_square = if trial_df > 0.0 { days.iter().map(|d| d.squares).sum::<f64>() / trial_df } else { 0.0 };
        let (day_square, trials_a_day) = (day_sum / day_df, (all - weight) / day_df);
        let day = ((day_square - trial_square) / trials_a_day).max(0.0);
        let days = runs.iter().map(Vec::len).sum();
        let athletes = counted.len();
        Some(Self { scale, day, trial: trial_square, day_square, trial_square, day_df, trial_df, trials_a_day, athletes, days })
    }

    /// The variance `by_day · σ_day² + by_trial · σ_trial²` with its degrees of freedom [Satterthwaite 1946, Biometrics
    /// Bull. 2:110]. With the same number of trials as the repeats had, it is a multiple of the day's mean square alone
    /// and a t interval on it is exact. Where that interval would be narrower than seven tenths of what the trials alone make
    /// it (few days that happened to agree), those seven tenths are given, with the trials' degrees of freedom (*ours*). The
    /// whole of it would cover 98.4 % with three athletes where days add nothing, which nobody can know beforehand; seven
    /// tenths keep every design of `tests/cohort_squads.rs` between 94 and 97 %.
    pub fn variance(&self, by_day: f64, by_trial: f64) -> (f64, f64) {
        let (sum, df) = self.by_days(by_day, by_trial);
        let trials_alone = LEAST_HALF * LEAST_HALF * by_trial * self.trial_square;
        if trials_alone > sum && t_quantile(UPPER, self.trial_df) * trials_alone.sqrt() > t_quantile(UPPER, df) * sum.sqrt() {
            return (trials_alone, self.trial_df);
        }
        (sum, df)
    }

    /// The same from the days' mean square without regard to what trials alone make: what a typical error and its
    /// chi-square interval are stated from, since many trials know nothing of days.
    pub fn by_days(&self, by_day: f64, by_trial: f64) -> (f64, f64) {
        let (by_day_square, by_trial_square) = (by_day / self.trials_a_day, by_trial - by_day / self.trials_a_day);
        let (of_days, of_trials) = (by_day_square * self.day_square, by_trial_square * self.trial_square);
        let sum = (of_days + of_trials).max(0.0);
        let below = of_days * of_days / self.day_df + if self.trial_df > 0.0 { of_trials * of_trials / self.trial_df } else { 0.0 };
        // More trials than the repeats had take the trials' share off again (a negative weight), and the formula then
        // falls without end; below three quarters of the days' own degrees it is not followed (*ours*; the tests' squads cover).
        let df = if below > 0.0 { sum * sum / below } else { self.day_df };
        (sum, df.clamp(0.75 * self.day_df, self.day_df + self.trial_df))
    }
}
