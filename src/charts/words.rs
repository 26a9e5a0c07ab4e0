//! Names shown to a person for what the document names by id.
use crate::answer::{TestKind, Verdict};

/// A test, as a practitioner says it.
pub fn test_name(kind: TestKind) -> &'static str {
    match kind {
        TestKind::CountermovementJump => "Countermovement jump",
        TestKind::SquatJump => "Squat jump",
        TestKind::DropJump => "Drop jump",
        TestKind::CountermovementReboundJump => "Countermovement jump with rebound",
        TestKind::DropLanding => "Drop landing",
        TestKind::ReboundJumps => "Repeated rebound jumps",
        TestKind::Isometric => "Isometric test",
        TestKind::QuietStanding => "Quiet standing",
        TestKind::Unrecognised => "Unrecognised test",
    }
}

/// One word for a list.
pub fn verdict_word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Sound => "sound",
        Verdict::Doubtful => "doubtful",
        Verdict::Unusable => "not usable",
    }
}

/// An event of the trace.
pub fn event_name(id: &str) -> String {
    match id {
        "onset" => "start of movement".into(),
        "peak_downward_velocity" => "fastest downward".into(),
        "lowest_point" => "lowest point".into(),
        "take_off" => "take-off".into(),
        "landing_end" => "end of landing".into(),
        "contact_start" => "touchdown from the box".into(),
        "rebound_lowest_point" => "lowest point of the rebound".into(),
        "rebound_take_off" => "take-off of the rebound".into(),
        "rebound_touchdown" => "touchdown after the rebound".into(),
        "last_take_off" => "last take-off".into(),
        "last_touchdown" => "last touchdown".into(),
        "pre_tension_start" => "start of pre-tension".into(),
        "release" => "letting go".into(),
        "standing_start" => "start of standing".into(),
        "standing_end" => "end of standing".into(),
        other => other.replace('_', " "),
    }
}

/// The phases of a countermovement jump [after McMahon et al. 2018, Strength Cond. J. 40(4):96].
pub use crate::movement::kinds::countermovement_jump::PHASES;

/// An id that the catalogue does not name, as words.
pub fn spoken(id: &str) -> String {
    let words = id.replace('_', " ");
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}
