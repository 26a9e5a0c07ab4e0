//! A day of testing: where, whom, and what was planned.
use super::{Date, Side};
use crate::answer::TestKind;
use serde::{Deserialize, Serialize};

/// One test of a session's plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlannedTest {
    /// Which.
    pub test: TestKind,
    /// One leg; none for both.
    #[serde(default)]
    pub side: Option<Side>,
    /// How many sound trials are wanted of each athlete.
    pub trials: u32,
}

/// A day of testing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Session {
    /// The day.
    pub date: Date,
    /// Where.
    #[serde(default)]
    pub place: String,
    /// In the coach's words.
    #[serde(default)]
    pub note: String,
    /// Ids of the athletes expected, in their order.
    #[serde(default)]
    pub athletes: Vec<String>,
    /// The tests planned, in their order.
    #[serde(default)]
    pub tests: Vec<PlannedTest>,
}

impl Session {
    /// A session with nothing planned but three countermovement jumps each.
    pub fn on(date: Date) -> Self {
        Self {
            date,
            place: String::new(),
            note: String::new(),
            athletes: Vec::new(),
            tests: vec![PlannedTest { test: TestKind::CountermovementJump, side: None, trials: 3 }],
        }
    }
}
