//! What an athlete says just before a test; it can close tests, and it is kept with its day.
use super::Date;
use serde::{Deserialize, Serialize};

/// Answers to the questions before a test.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Answers {
    /// Whose.
    pub athlete_id: String,
    /// On which day.
    pub date: Date,
    /// Pain now, 0 (none) to 10 (worst imaginable).
    pub pain: u8,
    /// A swollen joint.
    #[serde(default)]
    pub swelling: bool,
    /// A joint that gives way or locks.
    #[serde(default)]
    pub giving_way: bool,
    /// Whether a clinician has set limits on what may be done.
    #[serde(default)]
    pub limited: bool,
    /// In the coach's words.
    #[serde(default)]
    pub note: String,
}

impl Answers {
    /// Why every jump is closed today, in words; none where nothing said so
    /// (limits as in `methods.md` §10 [Thomeé 1997; Silbernagel 2007; Sturgill 2009]).
    pub fn closes_jumps(&self) -> Option<&'static str> {
        if self.pain > 2 {
            Some("pain above 2 of 10 now")
        } else if self.swelling {
            Some("a swollen joint")
        } else if self.giving_way {
            Some("a joint that gives way or locks")
        } else if self.limited {
            Some("limits set by a clinician: ask what they allow")
        } else {
            None
        }
    }
}
