//! Rows of a block that are open on its first day and not to its end: from the first day on which a clearance holds no more.
//! Every day is asked of the gates themselves ([`closed`]); nothing here says who may do what.
use super::blocks::Block;
use super::closing::{closed, test_closed};
use super::gates::{Activity, Closed, Situation};
use super::qualities::test_in_a_sentence;
use crate::people::Date;
use serde::{Deserialize, Serialize};

/// From when an open row waits for a new clearance.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Waits {
    /// The first day on which it is closed.
    pub from: Date,
    /// The day from which it is open to the end again, where the gate lapses or another clearance begins within the block.
    pub again: Option<Date>,
    /// What closes it on the first of these days; empty where that was left out of a link.
    pub closed: Vec<Closed>,
}

/// How the sentence of [`retest`] begins, by which reports find it among the next tests.
pub const RETEST_WAITS: &str = "The retest waits";

/// Where a block's retest lies after the end of a clearance: which of its tests, open today and on its first day, are closed
/// then. Its tests are those of its targets, without any the countermovement jump. `ahead` as in [`Waits::of`].
pub fn retest(block: &Block, ahead: &Situation) -> Option<String> {
    if ahead.athlete.clearances.is_empty() {
        return None;
    }
    let then = Situation { planned: Some(block.retest), ..*ahead };
    let mut tests: Vec<&str> = block.targets.iter().map(|t| t.test.as_str()).collect();
    if tests.is_empty() {
        tests.push("countermovement_jump");
    }
    tests.dedup();
    tests.retain(|test| test_closed(test, false, ahead).is_empty() && !test_closed(test, false, &then).is_empty());
    let names = tests.iter().map(|test| test_in_a_sentence(test)).collect::<Vec<_>>().join(" and ");
    let day = block.retest;
    (!tests.is_empty())
        .then(|| format!("{RETEST_WAITS} for a new clearance: the one on record ends before {day}. Closed then without another: {names}."))
}

/// What becomes of one week.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Week {
    /// Open on all of its days.
    Open,
    /// Open on some: up to the one day, from the other on.
    Partly(Option<Date>, Option<Date>),
    /// It waits on all of its days.
    Waits,
}

impl Waits {
    /// Of a row that is open; `ahead` is [`Block::ahead`] of today. None: it is open to the end of the block.
    pub fn of(demands: &[Activity], block: &Block, ahead: &Situation) -> Option<Self> {
        // Only a clearance ends: who has none was closed from the first day.
        if ahead.athlete.clearances.is_empty() {
            return None;
        }
        let on = |day: Date| closed(demands, &Situation { planned: Some(day), ..*ahead });
        let first = block.starts.max(ahead.today);
        let left = block.ends().days_since(first).max(0);
        let mut shut = (0..left).map(|days| first.plus_days(days)).map(|day| (day, on(day))).filter(|d| !d.1.is_empty());
        let (from, closed) = shut.next()?;
        let last = shut.next_back().map_or(from, |d| d.0);
        let again = Some(last.plus_days(1)).filter(|day| *day < block.ends());
        Some(Self { from, again, closed })
    }
    /// A week of a block that starts on a day, counted from 0.
    pub fn week(&self, starts: Date, week: usize) -> Week {
        let first = starts.plus_days(7 * i32::try_from(week).unwrap_or(0));
        let last = first.plus_days(6);
        if self.from > last || self.again.is_some_and(|again| again <= first) {
            return Week::Open;
        }
        let until = (self.from > first).then(|| self.from.plus_days(-1));
        match (until, self.again.filter(|again| *again <= last)) {
            (None, None) => Week::Waits,
            (until, again) => Week::Partly(until, again),
        }
    }
}
