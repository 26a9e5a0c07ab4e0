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
    /// Tired: a match, a hard session or an illness in the last two days.
    #[serde(default)]
    pub fatigue: bool,
    /// Effort in doubt: not able or not willing to go all out.
    #[serde(default)]
    pub effort: bool,
    /// In the session pain rose.
    #[serde(default)]
    pub pain_rose: bool,
    /// In the session a joint swelled.
    #[serde(default)]
    pub swelling_came: bool,
    /// Within a set the reactive strength index fell by 10 % or contacts grew by 10 %.
    #[serde(default)]
    pub slowed: bool,
    /// In the coach's words.
    #[serde(default)]
    pub note: String,
}

impl Answers {
    /// Why every jump is closed today, in words; none where nothing said so
    /// (limits as in `methods.md` §10 [Thomeé 1997; Silbernagel 2007; Sturgill 2009]).
    pub fn closes_jumps(&self) -> Option<&'static str> {
        closes_jumps(self.pain, self.swelling, self.giving_way, self.limited)
    }
    /// Why the rest of the session is over, in words; none where nothing was seen (`methods.md` §10, custom).
    pub fn ends_session(&self) -> Option<&'static str> {
        match (self.pain_rose, self.swelling_came, self.slowed) {
            (true, ..) => Some("pain rose"),
            (_, true, _) => Some("a joint swelled"),
            (_, _, true) => Some("the index fell or contacts grew by 10 % within a set"),
            _ => None,
        }
    }
    /// Why every jump is closed on a later day on which nobody asked: what closed before the test, or came within the session.
    pub fn still_closes(&self) -> Option<&'static str> {
        let rose = if self.pain_rose { self.pain.max(CLOSING_PAIN) } else { self.pain };
        closes_jumps(rose, self.swelling || self.swelling_came, self.giving_way, self.limited)
    }
    /// Whether pain or swelling was noted, before or in the session: forces of such a day say nothing about capacity.
    pub fn in_pain(&self) -> bool {
        self.closes_jumps().is_some() || self.pain_rose || self.swelling_came
    }
}

/// Pain from which on jumps are closed, of 10.
pub const CLOSING_PAIN: u8 = 3;

/// The one rule behind every closed jump of the day, wherever the four answers come from.
pub fn closes_jumps(pain: u8, swelling: bool, giving_way: bool, limited: bool) -> Option<&'static str> {
    match (pain, swelling, giving_way, limited) {
        (CLOSING_PAIN.., ..) => Some("pain above 2 of 10 now"),
        (_, true, ..) => Some("a swollen joint"),
        (_, _, true, _) => Some("a joint that gives way or locks"),
        (_, _, _, true) => Some("limits set by a clinician: ask what they allow"),
        _ => None,
    }
}
