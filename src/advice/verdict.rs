//! What the drawn standings alone would say, before evidence is asked for.
use super::qualities::QualityId;
use crate::force::stats::{mean, quantile};

/// Say it.
pub const SPEAK: f64 = 0.80;
/// Name two.
pub const NAME_TWO: f64 = 0.50;
/// Least number of scored qualities among which one can be lowest (*ours*).
pub const QUALITIES_NEEDED: usize = 3;

/// What the numbers alone would say.
#[derive(Debug, Clone, Copy)]
pub enum Verdict {
    /// One quality.
    One(QualityId),
    /// One of two.
    Two(QualityId, QualityId),
    /// All low.
    Low,
    /// All high.
    High,
    /// Nothing.
    Nothing,
}

impl PartialEq for Verdict {
    /// Two qualities are the same two in either order.
    fn eq(&self, other: &Self) -> bool {
        match (*self, *other) {
            (Self::One(a), Self::One(b)) => a == b,
            (Self::Two(a, b), Self::Two(c, d)) => (a, b) == (c, d) || (a, b) == (d, c),
            (Self::Low, Self::Low) | (Self::High, Self::High) | (Self::Nothing, Self::Nothing) => true,
            _ => false,
        }
    }
}

/// The gap between the lowest and the mean of the others in every draw.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Apart {
    /// Its mean; negative.
    pub size: f64,
    /// Half of its 95 % interval.
    pub half_width: f64,
    /// Whether the interval leaves out zero.
    pub reliable: bool,
}

/// The draws judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// The verdict.
    pub verdict: Verdict,
    /// P(lowest) of each quality, in the order of the draws.
    pub p_lowest: Vec<f64>,
    /// Place of the likeliest.
    pub first: usize,
    /// How far it lies below the others.
    pub apart: Apart,
}

/// Judges draws, one row each, of the qualities named; `None` for fewer than can be ranked.
pub fn judge(draws: &[Vec<f64>], names: &[QualityId]) -> Option<Judged> {
    if names.len() < QUALITIES_NEEDED {
        return None;
    }
    let place = |row: &Vec<f64>| row.iter().enumerate().min_by(|a, b| a.1.total_cmp(b.1)).map_or(0, |(i, _)| i);
    let lowest: Vec<usize> = draws.iter().map(place).collect();
    let share = |wanted: &dyn Fn(usize) -> bool| lowest.iter().filter(|i| wanted(**i)).count() as f64 / lowest.len() as f64;
    let p_lowest: Vec<f64> = (0..names.len()).map(|i| share(&|lowest| lowest == i)).collect();
    let mut order: Vec<(f64, usize)> = p_lowest.iter().copied().zip(0..).collect();
    order.sort_by(|a, b| b.0.total_cmp(&a.0));
    let ((first_p, first), (_, second)) = (order.first().copied()?, order.get(1).copied()?);
    let apart = apart(draws, first);
    let both = || share(&|i| i == first || i == second) >= SPEAK && pair_apart(draws, first, second);
    let verdict = match (names.get(first), names.get(second)) {
        (Some(one), _) if first_p >= SPEAK && apart.reliable => Verdict::One(*one),
        (Some(one), Some(two)) if first_p >= NAME_TWO && both() => Verdict::Two(*one, *two),
        _ => uniform(draws, names.len()),
    };
    Some(Judged { verdict, p_lowest, first, apart })
}

/// Mean of a row but for one.
pub fn others_mean(row: &[f64], but: usize) -> f64 {
    let (sum, n) = row.iter().enumerate().filter(|(i, _)| *i != but).fold((0.0, 0.0), |(sum, n), (_, v)| (sum + v, n + 1.0));
    if n > 0.0 { sum / n } else { 0.0 }
}

fn apart(draws: &[Vec<f64>], first: usize) -> Apart {
    let gaps: Vec<f64> = draws.iter().filter_map(|row| Some(row.get(first)? - others_mean(row, first))).collect();
    let (low, high) = (quantile(&gaps, 0.025), quantile(&gaps, 0.975));
    Apart { size: mean(&gaps), half_width: (high - low) / 2.0, reliable: high < 0.0 }
}

/// Whether the mean of two is below the mean of the rest by more than its 95 % interval.
fn pair_apart(draws: &[Vec<f64>], first: usize, second: usize) -> bool {
    let gap = |row: &Vec<f64>| {
        let of = |inside: bool| {
            let chosen = row.iter().enumerate().filter(|(i, _)| (*i == first || *i == second) == inside).map(|(_, v)| *v);
            mean(&chosen.collect::<Vec<f64>>())
        };
        of(true) - of(false)
    };
    let gaps: Vec<f64> = draws.iter().map(gap).collect();
    quantile(&gaps, 0.975) < 0.0
}

/// All low or all high: the mean of all standings beyond half an SD with P ≥ 0.80, and every one on that side (*ours*).
fn uniform(draws: &[Vec<f64>], qualities: usize) -> Verdict {
    if qualities <= QUALITIES_NEEDED {
        return Verdict::Nothing;
    }
    let sums = draws.iter().fold(vec![0.0; qualities], |mut sums: Vec<f64>, row| {
        sums.iter_mut().zip(row).for_each(|(s, v)| *s += v);
        sums
    });
    let share = |wanted: &dyn Fn(f64) -> bool| draws.iter().filter(|d| wanted(mean(d))).count() as f64 / draws.len() as f64;
    if share(&|m| m < -0.5) >= SPEAK && sums.iter().all(|s| *s < 0.0) {
        Verdict::Low
    } else if share(&|m| m > 0.5) >= SPEAK && sums.iter().all(|s| *s > 0.0) {
        Verdict::High
    } else {
        Verdict::Nothing
    }
}
