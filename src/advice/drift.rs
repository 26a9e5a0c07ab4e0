//! Where a figure drifts to untrained, once it was picked for being low.
//!
//! The lowest of many figures is low partly by a bad day, and comes back by `(1 − r)(μ − x)`. Where everybody's other tests are
//! known, μ is not the group's mean: of somebody high in all else a low figure was more likely a bad day, of somebody
//! low in all else less. μ is then what the group's line over the mean standing in the *other tests* (whose days' errors are
//! their own) expects of him, and r is taken from the spread about that line (*ours*: the best linear prediction from both; with
//! the group's mean alone twice as many of the untrained were called improved as the interval promises, `tests/advice/change.rs`).
use crate::cohort::change::Spread;
use crate::cohort::{Line, Scale, Table, WITHIN_DAYS, days};
use crate::figures::{Better, definition};
use crate::force::stats::{mean, sd};
use crate::people::Date;
use std::collections::BTreeMap;

/// Others needed before their mean and spread say where an untrained retest drifts to.
const DRIFT_FROM: usize = 3;
/// Others needed before a line over their other tests does.
const LINE_FROM: usize = 10;

/// Mean and spread to which a figure of an athlete, picked on a day, drifts back, on the figure's scale.
pub fn drifts_to(tables: &[Table], table: &Table, athlete: usize, on: Date) -> Option<Spread> {
    let mut values = latest(table, on);
    values.remove(&athlete);
    if values.len() < DRIFT_FROM {
        return None;
    }
    let whole: Vec<f64> = values.values().copied().collect();
    let plain = Spread { mean: mean(&whole), sd: sd(&whole) };
    let Some((own, others)) = profiles(tables, table, athlete, on) else { return Some(plain) };
    let pairs = values.iter().filter_map(|(who, value)| Some((*others.get(who)?, *value)));
    let (x, y): (Vec<f64>, Vec<f64>) = pairs.unzip();
    let line = Line::of(&x, &y);
    if line.n < LINE_FROM || !(line.about > 0.0) {
        return Some(plain);
    }
    Some(Spread { mean: line.at(own), sd: line.about })
}

/// Each athlete's latest value up to a day, not older than a group's values may be.
fn latest(table: &Table, on: Date) -> BTreeMap<usize, f64> {
    let rows = table.rows.iter().filter(|r| r.day <= on && on.days_since(r.day) <= WITHIN_DAYS).copied().collect();
    let days = days(&Table { rows, ..Table::default() }, Scale::of(table));
    days.chunk_by(|a, b| a.athlete == b.athlete).filter_map(<[_]>::last).map(|d| (d.athlete, d.mean)).collect()
}

/// Mean standing in the athlete's other tests, better upwards: his own, and of everybody with at least half of them.
fn profiles(tables: &[Table], table: &Table, athlete: usize, on: Date) -> Option<(f64, BTreeMap<usize, f64>)> {
    let mut sums: BTreeMap<usize, (f64, usize)> = BTreeMap::new();
    for other in tables.iter().filter(|t| (&t.test, &t.protocol) != (&table.test, &table.protocol)) {
        let sign = match definition(&other.figure).map_or(Better::Neither, |d| d.better) {
            Better::Higher => 1.0,
            Better::Lower => -1.0,
            Better::Neither => continue,
        };
        let values = latest(other, on);
        let group: Vec<f64> = values.iter().filter(|v| *v.0 != athlete).map(|v| *v.1).collect();
        let (centre, spread) = (mean(&group), sd(&group));
        if !values.contains_key(&athlete) || group.len() < LINE_FROM || !(spread > 0.0) {
            continue;
        }
        for (who, value) in values {
            let sum = sums.entry(who).or_default();
            *sum = (sum.0 + sign * (value - centre) / spread, sum.1 + 1);
        }
    }
    let (own, count) = sums.remove(&athlete)?;
    let others = sums.into_iter().filter(|(_, (_, n))| 2 * n >= count).map(|(who, (sum, n))| (who, sum / n as f64));
    Some((own / count as f64, others.collect()))
}
