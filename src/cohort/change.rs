//! What changed between two sessions, or two sets of days, beyond what days and trials do on their own.
use super::Table;
use super::days::{Day, Scale, days};
use super::distributions::{t_quantile, t_two_sided};
use super::interval::{Interval, UPPER};
use super::noise::Noise;
use crate::figures::{Better, definition};
use crate::people::Date;

/// The power at which the smallest detectable change is stated.
pub const POWER: f64 = 0.80;
/// And the power it is computed for: two points in hand, since degrees of freedom are themselves approximated.
const AIMED: f64 = 0.82;

/// What is compared, of whom.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Question<'a> {
    /// The athlete's place in the list of athletes.
    pub athlete: usize,
    /// Days before.
    pub before: &'a [Date],
    /// Days after.
    pub after: &'a [Date],
    /// Where this figure was worked on because it was his lowest on the days before: the group it was lowest in.
    pub picked_in: Option<Spread>,
}

/// Mean and spread of a group's session values on the figure's scale, the error of a session still in the spread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
}

/// One end of a comparison.
#[derive(Debug, Clone, PartialEq)]
pub struct Occasion {
    /// Its days.
    pub days: Vec<Date>,
    /// Trials of each.
    pub trials: Vec<usize>,
    /// Mean of the days' means, on the scale: means, never best trials.
    pub mean: f64,
    /// The same in SI.
    pub value: f64,
}

/// What the interval says against ± the smallest worthwhile change. "Better" is "higher" for figures never scored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// The whole interval is beyond the smallest worthwhile change, on the better side.
    WorthwhileBetter,
    /// The same on the worse side.
    WorthwhileWorse,
    /// The whole interval lies inside it.
    Trivial,
    /// Changed for certain, perhaps by less than is worthwhile.
    NotSurelyWorthwhile {
        /// Whether it is the better side.
        better: bool,
    },
    /// The interval holds no change and a worthwhile one.
    CannotTell,
    /// Nothing is known of this figure's noise between days.
    CannotSay,
}

impl Verdict {
    /// Whether it says that something changed.
    pub fn changed(self) -> bool {
        matches!(self, Self::WorthwhileBetter | Self::WorthwhileWorse | Self::NotSurelyWorthwhile { .. })
    }
    /// Its name in files.
    pub fn id(self) -> &'static str {
        match self {
            Self::WorthwhileBetter => "worthwhile_better",
            Self::WorthwhileWorse => "worthwhile_worse",
            Self::Trivial => "trivial",
            Self::NotSurelyWorthwhile { better: true } => "better_not_surely_worthwhile",
            Self::NotSurelyWorthwhile { better: false } => "worse_not_surely_worthwhile",
            Self::CannotTell => "cannot_tell",
            Self::CannotSay => "cannot_say",
        }
    }
}

/// What a design can show.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Design {
    /// Standard error of the difference, on the scale.
    pub se: f64,
    /// Its degrees of freedom.
    pub df: f64,
    /// Half of the 95 % interval.
    pub half: f64,
    /// The smallest true change that this design finds in 80 of 100 cases. Because the standard error is itself an
    /// estimate, that is `(t₀.₉₇₅ + t₀.₈₂)·SE` with both quantiles at its degrees of freedom: the chance of
    /// `difference > t₀.₉₇₅·SE`, averaged over the estimate, is then P(T < t₀.₈₂) [two points
    /// above what is stated].
    pub smallest: f64,
}

/// One figure's change.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// Figure id.
    pub figure: String,
    /// The scale of differences; [`Scale::difference`] turns one into a fraction or a unit.
    pub scale: Scale,
    /// Which way is better.
    pub better: Better,
    /// Before.
    pub before: Occasion,
    /// After.
    pub after: Occasion,
    /// After − before, on the scale.
    pub difference: f64,
    /// With its 95 % t interval; `None`: cannot say.
    pub interval: Option<Interval>,
    /// What this comparison could have shown.
    pub design: Option<Design>,
    /// The drift to expect without training, `(1 − r)(μ − x)`, where the figure was picked as the lowest.
    pub drift: Option<f64>,
    /// The smallest worthwhile change on the scale, where known.
    pub worthwhile: Option<f64>,
    /// Two-sided p of no change beyond the drift.
    pub p: Option<f64>,
    /// What it comes to, drift taken off.
    pub verdict: Verdict,
    /// The noise it rests on; a cited one is shown with its source.
    pub noise: Option<Noise>,
}

impl Change {
    /// The interval beyond the expected drift: what the verdict is read from.
    pub fn beyond_drift(&self) -> Option<Interval> {
        let drift = self.drift.unwrap_or(0.0);
        self.interval.map(|i| Interval { value: i.value - drift, low: i.low - drift, high: i.high - drift })
    }
}

/// What two sets of days with so many trials each can show: `SE = √(σ_day²(1/k₁ + 1/k₂) + σ_trial²·…)`, for one day
/// each `√(2σ_day² + σ_trial²(1/n₁ + 1/n₂))`. `None` without days.
pub fn design(noise: &Noise, before: &[usize], after: &[usize]) -> Option<Design> {
    let (mut by_day, mut by_trial) = (0.0, 0.0);
    for side in [before, after] {
        let k = side.len() as f64;
        if side.contains(&0) || side.is_empty() {
            return None;
        }
        by_day += 1.0 / k;
        by_trial += side.iter().map(|n| 1.0 / *n as f64).sum::<f64>() / (k * k);
    }
    let (variance, df) = noise.variance(by_day, by_trial);
    let (se, t) = (variance.sqrt(), t_quantile(UPPER, df));
    Some(Design { se, df, half: t * se, smallest: (t + t_quantile(AIMED, df)) * se })
}

/// The change of one figure. `worthwhile` is the smallest worthwhile change on the figure's scale
/// ([`super::Repeatability::smallest_worthwhile`], or the coach's own). `None` where either side has no day with a value.
pub fn change(table: &Table, question: Question<'_>, noise: Option<&Noise>, worthwhile: Option<f64>) -> Option<Change> {
    let scale = Scale::of(table);
    // Only his own rows are gathered: the squad's sixty thousand would be for nothing.
    let own = Table { rows: table.rows.iter().filter(|r| r.athlete == question.athlete).copied().collect(), ..Table::default() };
    let days = days(&own, scale);
    let (before, after) = (occasion(&days, question.before, scale)?, occasion(&days, question.after, scale)?);
    let noise = noise.filter(|n| n.scale() == scale);
    let difference = after.mean - before.mean;
    let design = noise.and_then(|n| design(n, &before.trials, &after.trials));
    let interval = design.map(|d| Interval::about(difference, d.half));
    let drift = question.picked_in.zip(noise).map(|(spread, noise)| drift(spread, noise, &before));
    let better = definition(&table.figure).map_or(Better::Neither, |d| d.better);
    let off = drift.unwrap_or(0.0);
    let p = design.map(|d| t_two_sided((difference - off) / d.se, d.df));
    let verdict =
        interval.map_or(Verdict::CannotSay, |i| judge(Interval::about(i.value - off, (i.high - i.low) / 2.0), better, worthwhile));
    Some(Change {
        figure: table.figure.clone(),
        scale,
        better,
        before,
        after,
        difference,
        interval,
        design,
        drift,
        worthwhile,
        p,
        verdict,
        noise: noise.copied(),
    })
}

fn occasion(days: &[Day], wanted: &[Date], scale: Scale) -> Option<Occasion> {
    let found: Vec<&Day> = days.iter().filter(|d| wanted.contains(&d.day)).collect();
    let mean = found.iter().map(|d| d.mean).sum::<f64>() / found.len() as f64;
    (!found.is_empty()).then(|| Occasion {
        days: found.iter().map(|d| d.day).collect(),
        trials: found.iter().map(|d| d.trials).collect(),
        mean,
        value: scale.back(mean),
    })
}

/// `(1 − r)(μ − x)`: r is the reliability of the mean of the days before, from the spread between athletes with a
/// session's error taken off and those days' own error put in.
fn drift(spread: Spread, noise: &Noise, before: &Occasion) -> f64 {
    let trials = before.trials.iter().sum::<usize>() as f64 / before.trials.len().max(1) as f64;
    let pure = (spread.sd * spread.sd - noise.session(trials).0).max(0.0);
    let k = before.days.len().max(1) as f64;
    let by_trial = before.trials.iter().map(|n| 1.0 / *n as f64).sum::<f64>() / (k * k);
    let error = noise.variance(1.0 / k, by_trial).0;
    let r = if pure + error > 0.0 { pure / (pure + error) } else { 1.0 };
    (1.0 - r) * (spread.mean - before.mean)
}

/// The interval against ± the smallest worthwhile change; without one, against no change alone.
pub fn judge(interval: Interval, better: Better, worthwhile: Option<f64>) -> Verdict {
    let i = if better == Better::Lower { Interval { value: -interval.value, low: -interval.high, high: -interval.low } } else { interval };
    let least = worthwhile.unwrap_or(0.0).max(0.0);
    match i {
        i if i.low > 0.0 && i.low >= least && worthwhile.is_some() => Verdict::WorthwhileBetter,
        i if i.high < 0.0 && i.high <= -least && worthwhile.is_some() => Verdict::WorthwhileWorse,
        i if i.low > -least && i.high < least => Verdict::Trivial,
        i if i.low > 0.0 => Verdict::NotSurelyWorthwhile { better: true },
        i if i.high < 0.0 => Verdict::NotSurelyWorthwhile { better: false },
        _ => Verdict::CannotTell,
    }
}
