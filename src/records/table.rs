//! The derived table: heads of all trials, and one column a figure (value and standard uncertainty, trial after trial
//! in the order of the heads). It is made from the records and can always be made again from them; the records are truth.
use super::{Head, SavedTrial};
use std::collections::{BTreeMap, BTreeSet};

/// How an older table becomes the newer one: for each new row, the old row it comes from or the trial that makes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Renewal {
    /// The new heads, in order of their ids.
    pub heads: Vec<Head>,
    rows: Vec<From>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum From {
    Old(usize),
    New(usize),
}

/// Plans the newer table: `old` without `gone`, with `trials` put in or in place of their older versions.
pub fn renew(old: &[Head], trials: &[SavedTrial], gone: &BTreeSet<String>) -> Renewal {
    let mut rows: BTreeMap<&str, From> = BTreeMap::new();
    for (row, head) in old.iter().enumerate() {
        rows.insert(&head.id, From::Old(row));
    }
    for (row, trial) in trials.iter().enumerate() {
        rows.insert(&trial.envelope.id, From::New(row));
    }
    rows.retain(|id, _| !gone.contains(*id));
    let rows: Vec<From> = rows.into_values().collect();
    let head = |row: &From| match row {
        From::Old(row) => old.get(*row).cloned(),
        From::New(row) => trials.get(*row).map(Head::of),
    };
    Renewal { heads: rows.iter().filter_map(head).collect(), rows }
}

impl Renewal {
    /// The newer column of a figure; `old` may be empty.
    pub fn column(&self, figure: &str, old: &[f64], trials: &[SavedTrial]) -> Vec<f64> {
        let mut out = Vec::with_capacity(self.rows.len() * 2);
        for row in &self.rows {
            let pair = match row {
                From::Old(row) => old.get(row * 2).copied().zip(old.get(row * 2 + 1).copied()),
                From::New(row) => {
                    trials.get(*row).and_then(|t| t.trial.figures.get(figure)).and_then(|f| Some((f.value?, f.u.unwrap_or(f64::NAN))))
                }
            };
            let (value, u) = pair.unwrap_or((f64::NAN, f64::NAN));
            out.extend([value, u]);
        }
        out
    }
}

/// Ids of all figures of some trials, in order.
pub fn figures(trials: &[SavedTrial]) -> BTreeSet<String> {
    trials.iter().flat_map(|t| t.trial.figures.keys().cloned()).collect()
}
