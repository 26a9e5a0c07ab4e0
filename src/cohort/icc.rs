//! Intraclass correlation: how well a figure tells people apart, with the model, n and an interval, without which the
//! number says nothing [Shrout & Fleiss 1979, Psychol. Bull. 86:420].
use super::distributions::f_quantile;
use super::interval::UPPER;

/// Which correlation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Model {
    /// (1): each person's measurements are any; one-way random. What repeated days are.
    OneWay,
    /// (2): the same occasions for all, drawn from many; agreement, two-way random.
    TwoWayRandom,
    /// (3): the same occasions for all, and these only; consistency, two-way mixed.
    TwoWayMixed,
}

/// An intraclass correlation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Icc {
    /// Its model.
    pub model: Model,
    /// Whether it speaks of the mean of a person's measurements (k) instead of one (1).
    pub of_mean: bool,
    /// The value.
    pub value: f64,
    /// Lower limit of its 95 % interval.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
    /// People.
    pub people: usize,
    /// Measurements a person (unbalanced: as the expected mean square weighs them).
    pub each: f64,
}

impl Icc {
    /// The name as the source writes it: "ICC(1,1)".
    pub fn name(&self) -> String {
        let model = match self.model {
            Model::OneWay => 1,
            Model::TwoWayRandom => 2,
            Model::TwoWayMixed => 3,
        };
        format!("ICC({model},{})", if self.of_mean { "k" } else { "1" })
    }
    /// The mean of `k` measurements instead of one [Spearman 1910; Brown 1910]: the way from each (·,1) to its (·,k).
    fn of_mean_of(self, k: f64) -> Self {
        let up = |r: f64| k * r / (1.0 + (k - 1.0) * r);
        Self { of_mean: true, value: up(self.value), low: up(self.low), high: up(self.high), ..self }
    }
}

/// One-way, unbalanced: each inner list holds one person's measurements. `None` below two people or without repeats.
pub fn one_way(people: &[Vec<f64>], of_mean: bool) -> Option<Icc> {
    let counted: Vec<&Vec<f64>> = people.iter().filter(|v| !v.is_empty()).collect();
    let n = counted.len() as f64;
    let all: f64 = counted.iter().map(|v| v.len() as f64).sum();
    if !(n >= 2.0 && all > n) {
        return None;
    }
    let grand = counted.iter().copied().flatten().sum::<f64>() / all;
    let (mut between, mut within, mut weight) = (0.0, 0.0, 0.0);
    for values in counted {
        let k = values.len() as f64;
        let mean = values.iter().sum::<f64>() / k;
        between += k * (mean - grand) * (mean - grand);
        within += values.iter().map(|y| (y - mean) * (y - mean)).sum::<f64>();
        weight += k * k / all;
    }
    let k = (all - weight) / (n - 1.0);
    let ratio = between / (n - 1.0) / (within / (all - n));
    let single = from_ratio(Model::OneWay, ratio, n, all - n, k)?;
    Some(if of_mean { single.of_mean_of(k) } else { single })
}

/// Complete: each row one person, each column one occasion. `None` where rows differ in length or are too few.
pub fn two_way(rows: &[Vec<f64>], model: Model, of_mean: bool) -> Option<Icc> {
    let width = rows.first().map_or(0, Vec::len);
    if rows.len() < 2 || width < 2 || rows.iter().any(|row| row.len() != width) {
        return None;
    }
    if model == Model::OneWay {
        return one_way(rows, of_mean);
    }
    let (n, k) = (rows.len() as f64, width as f64);
    let grand = rows.iter().flatten().sum::<f64>() / (n * k);
    let person: Vec<f64> = rows.iter().map(|row| row.iter().sum::<f64>() / k).collect();
    let mut occasion = vec![0.0; width];
    for row in rows {
        occasion.iter_mut().zip(row).for_each(|(sum, y)| *sum += y / n);
    }
    let square = |x: f64| x * x;
    let b = k * person.iter().map(|m| square(m - grand)).sum::<f64>() / (n - 1.0);
    let j = n * occasion.iter().map(|m| square(m - grand)).sum::<f64>() / (k - 1.0);
    let left = rows.iter().zip(&person).flat_map(|(row, p)| row.iter().zip(&occasion).map(move |(y, o)| y - p - o + grand));
    let e = left.map(square).sum::<f64>() / ((n - 1.0) * (k - 1.0));
    let single = if model == Model::TwoWayMixed {
        from_ratio(model, b / e, n, (n - 1.0) * (k - 1.0), k)?
    } else {
        let value = (b - e) / (b + (k - 1.0) * e + k * (j - e) / n);
        // Degrees of freedom of the denominator after Satterthwaite, as the source gives them.
        let (of_j, of_e) = (k * value / (n * (1.0 - value)) * j, (1.0 + k * value * (n - 1.0) / (n * (1.0 - value))) * e);
        let v = square(of_j + of_e) / (square(of_j) / (k - 1.0) + square(of_e) / ((n - 1.0) * (k - 1.0)));
        let (above, below) = (f_quantile(UPPER, n - 1.0, v), f_quantile(UPPER, v, n - 1.0));
        let spread = k * j + (k * n - k - n) * e;
        let (low, high) = (n * (b - above * e) / (above * spread + n * b), n * (below * b - e) / (spread + n * below * b));
        Icc { model, of_mean: false, value, low, high, people: rows.len(), each: k }
    };
    Some(if of_mean { single.of_mean_of(k) } else { single })
}

/// (1,1) and (3,1) come from one F ratio between people, with its interval.
fn from_ratio(model: Model, ratio: f64, n: f64, df_within: f64, k: f64) -> Option<Icc> {
    let icc = |f: f64| if f.is_infinite() { 1.0 } else { (f - 1.0) / (f + k - 1.0) };
    let low = icc(ratio / f_quantile(UPPER, n - 1.0, df_within));
    let high = icc(ratio * f_quantile(UPPER, df_within, n - 1.0));
    (!ratio.is_nan()).then_some(Icc { model, of_mean: false, value: icc(ratio), low, high, people: n as usize, each: k })
}
