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
                From::New(row) => trials.get(*row).and_then(|t| entry(t, figure)),
            };
            let (value, u) = pair.unwrap_or((f64::NAN, f64::NAN));
            out.extend([value, u]);
        }
        out
    }
}

/// What stands before a figure of one side, and before the difference between them, in the name of a column.
pub const LEFT: &str = "left:";
/// See [`LEFT`].
pub const RIGHT: &str = "right:";
/// See [`LEFT`]: 100·(R−L)/(R+L).
pub const DIFFERENCE: &str = "difference:";

/// A trial's entry in a column.
fn entry(trial: &SavedTrial, column: &str) -> Option<(f64, f64)> {
    let side = |prefix: &str| column.strip_prefix(prefix).and_then(|id| trial.trial.sides.get(id));
    if let Some(s) = side(LEFT) {
        return Some((s.left, f64::NAN));
    }
    if let Some(s) = side(RIGHT) {
        return Some((s.right, f64::NAN));
    }
    if let Some(s) = side(DIFFERENCE) {
        return Some((s.difference_of_total_percent, s.u));
    }
    // Rates from a plate too slow for them are shown with their trial and go into no comparison.
    let rate = || crate::figures::definition(column).is_some_and(|d| d.scored_up_to_cv().is_some());
    if trial.trial.notices.iter().any(|n| n.code == "rates_shown_only") && rate() {
        return None;
    }
    let figure = trial.trial.figures.get(column)?;
    Some((figure.value?, figure.u.unwrap_or(f64::NAN)))
}

/// Names of all columns that some trials fill, in order.
pub fn figures(trials: &[SavedTrial]) -> BTreeSet<String> {
    let of_sides = |t: &SavedTrial| -> Vec<String> {
        let ids = t.trial.sides.keys();
        ids.flat_map(|id| [LEFT, RIGHT, DIFFERENCE].map(|prefix| format!("{prefix}{id}"))).collect()
    };
    trials.iter().flat_map(|t| t.trial.figures.keys().cloned().chain(of_sides(t))).collect()
}
