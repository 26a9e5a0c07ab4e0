//! A block of two to four weeks: rows of exercise with doses by week, what to reduce, targets, the day to test again.
//! It is proposed for an answer (`propose`), and everything can be edited (`edit`). A plan is always looked at through the gates
//! of the day ([`Block::view`], in `view`), so no edit, however made, shows a dose that a gate closes; and an edit that asks for
//! one is refused with the gate's reason.
mod edit;
mod propose;
mod view;

use super::gates::Situation;
use super::qualities::QualityId;
use crate::people::Date;
use serde::{Deserialize, Serialize};

pub use edit::{Edit, Refused};
pub use propose::{Wanted, plan, propose};
pub use view::{RowView, View, choices};

/// Weeks, fewest and most.
pub const WEEKS: (u8, u8) = (2, 4);
/// Rows at most.
pub const ROWS: usize = 12;
/// Longest text of one field, characters.
pub const TEXT: usize = 300;

/// Sets and repetitions in one week.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Dose {
    /// Sets.
    pub sets: u8,
    /// Repetitions, or seconds.
    pub reps: u8,
}

/// One row of the plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Row {
    /// Id in the table of exercises.
    pub exercise: String,
    /// One dose a week.
    pub doses: Vec<Dose>,
    /// Load, in words.
    pub load: String,
    /// Box, m; 0: none.
    pub box_m: f64,
    /// The coach's note.
    pub note: String,
}

/// A figure the block is judged by.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Target {
    /// Figure id.
    pub figure: String,
    /// Name shown.
    pub name: String,
    /// Test kind.
    pub test: String,
    /// Protocol key.
    pub protocol: String,
    /// SI unit.
    pub unit: String,
    /// Mean before, SI.
    pub before: f64,
    /// Smallest change that the retest can show, %, or NaN (stored as none) where days are not known.
    pub smallest_percent: Option<f64>,
}

/// The plan. Kept as text with the athlete's records; see [`Edit`] for what can be changed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Block {
    /// Key on the device.
    pub id: String,
    /// What it aims at, at most two; empty for general strength.
    pub aims: Vec<QualityId>,
    /// First day.
    pub starts: Date,
    /// Day of the tests before it; counts as a session.
    pub tested_on: Date,
    /// Ground contacts of those tests, and of the tests after it.
    pub test_contacts: u32,
    /// 2–4.
    pub weeks: u8,
    /// Sessions a week.
    pub sessions: u8,
    /// Rows.
    pub rows: Vec<Row>,
    /// What to do less of meanwhile.
    pub reduce: Vec<String>,
    /// At most two.
    pub targets: Vec<Target>,
    /// Day to test again.
    pub retest: Date,
    /// The coach's note.
    pub note: String,
}

impl Block {
    /// A situation as the block meets it: on its first day where that is to come, and after its tests.
    pub fn ahead<'s>(&self, s: &Situation<'s>) -> Situation<'s> {
        Situation { planned: Some(self.starts), ..after_tests(s, self.tested_on, self.test_contacts) }
    }
    /// Contacts of the tests that every session of the first week counts: all, where the tests lie within a week of its first day.
    pub fn tests_in_first_week(&self) -> u32 {
        if self.starts.days_since(self.tested_on).abs() < 7 { self.test_contacts } else { 0 }
    }

    /// The day after the last week.
    pub fn ends(&self) -> Date {
        self.starts.plus_days(7 * i32::from(self.weeks))
    }
}

/// A situation after tests of a day that had contacts.
fn after_tests<'s>(s: &Situation<'s>, tested_on: Date, contacts: u32) -> Situation<'s> {
    // Today's jumps do not stand for those of yesterday.
    let jumps = [s.last_impact, (contacts > 0).then_some(tested_on)];
    Situation {
        last_impact: jumps.into_iter().flatten().filter(|day| *day < s.today).max(),
        jumped_today: s.jumped_today || jumps.contains(&Some(s.today)),
        ..*s
    }
}
