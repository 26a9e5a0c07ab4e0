//! Best, mean, median and spread of a set, and the trial that does not belong to it.
use crate::figures::Better;
use crate::force::stats::{mean, sd};

/// One figure over a set of trials. Change is judged on means, never on the best trial, which rises with the number of tries.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Summary {
    /// Number of trials.
    pub n: usize,
    /// The best; none where neither way is better.
    pub best: Option<f64>,
    /// Mean.
    pub mean: f64,
    /// Median; the mean of the middle two of an even number.
    pub median: f64,
    /// Standard deviation between trials (n − 1); none of one trial.
    pub sd: Option<f64>,
    /// Coefficient of variation, %: where there is a spread and a mean that is not zero.
    pub cv_percent: Option<f64>,
}

/// Summary of the values of the trials that belong; none without a finite value.
pub fn summary(values: &[f64], better: Better) -> Option<Summary> {
    let mut sorted: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    sorted.sort_by(f64::total_cmp);
    let n = sorted.len();
    let middle = |k: usize| sorted.get(k).copied();
    let median = if n % 2 == 1 { middle(n / 2)? } else { 0.5 * (middle((n / 2).checked_sub(1)?)? + middle(n / 2)?) };
    let best = match better {
        Better::Higher => sorted.last().copied(),
        Better::Lower => sorted.first().copied(),
        Better::Neither => None,
    };
    let average = mean(&sorted);
    let spread = (n > 1).then(|| sd(&sorted));
    let cv_percent = spread.filter(|_| average.abs() > 1e-12).map(|s| 100.0 * s / average.abs());
    Some(Summary { n, best, mean: average, median, sd: spread, cv_percent })
}

/// A trial that does not belong to its set, and what says so.
#[derive(Debug, Clone, PartialEq)]
pub struct Odd {
    /// Which trial, from 0.
    pub trial: usize,
    /// The figure it differs in most.
    pub figure: String,
    /// Its value there.
    pub value: f64,
    /// The mean of the others.
    pub others: f64,
    /// How many of the others' spreads it is away.
    pub spreads: f64,
}

/// A figure's id and its value with its uncertainty, one a trial; none where it is withheld.
pub type OverSet<'a> = (&'a str, Vec<Option<(f64, f64)>>);

/// A difference below this part of the others' mean is never odd: people differ that much from trial to trial (*ours*).
const LEAST_SPREAD: f64 = 0.04;
/// Spreads away from the others from which on a trial does not belong (*ours*).
const ODD_FROM: f64 = 3.0;

/// The trial that does not belong, the furthest of them; none among fewer than three, or where all belong.
///
/// Each trial is held against the others without it, `(x − mean)/(s·√(1 + 1/n))` [Crawford & Howell 1998, Clin.
/// Neuropsychol. 12:482, the same thought for one person and a group], where the others' spread is at least 4 % of their mean
/// and the figure's own uncertainty: two trials that agree by chance would else make a third look odd. `figures` holds an id
/// and one value with its uncertainty a trial.
pub fn odd_one(figures: &[OverSet<'_>]) -> Option<Odd> {
    let mut worst: Option<Odd> = None;
    for (id, values) in figures {
        for (trial, own) in values.iter().enumerate() {
            let Some((value, u)) = own.filter(|v| v.0.is_finite()) else { continue };
            let rest = values.iter().enumerate().filter(|(k, _)| *k != trial).filter_map(|(_, v)| v.map(|v| v.0));
            let others: Vec<f64> = rest.filter(|v| v.is_finite()).collect();
            if others.len() < 2 {
                continue;
            }
            let (centre, n) = (mean(&others), others.len() as f64);
            let spread = sd(&others).max(LEAST_SPREAD * centre.abs()).max(u);
            let spreads = (value - centre).abs() / (spread * (1.0 + 1.0 / n).sqrt());
            if spreads >= ODD_FROM && worst.as_ref().is_none_or(|w| spreads > w.spreads) {
                worst = Some(Odd { trial, figure: (*id).to_string(), value, others: centre, spreads });
            }
        }
    }
    worst
}
