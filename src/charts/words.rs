//! Names shown to a person for what the document names by id.
use super::number::Locale;
use crate::answer::{TestKind, Trial, Verdict};
use crate::movement::kinds::kind;
use crate::recording::Letters as _;

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

/// A trial's name: the test, on which leg, with what load.
pub fn trial_name(trial: &Trial, locale: &Locale) -> String {
    name_of(trial.test, trial.side.bytes().next().unwrap_or(b'b'), trial.load_kg, locale)
}

/// The same from what a list knows; a side is told by its first letter.
pub fn name_of(test: TestKind, side: u8, load_kg: f64, locale: &Locale) -> String {
    let mut name = test_name(test).to_owned();
    match side {
        b'l' => name += " on the left leg",
        b'r' => name += " on the right leg",
        _ => {}
    }
    if load_kg.is_finite() && load_kg > 0.0 {
        name += " with ";
        name += &load_words(load_kg, locale);
    }
    name
}

/// A load with its unit, with a decimal only where it has one.
pub fn load_words(load_kg: f64, locale: &Locale) -> String {
    locale.mass(load_kg, usize::from((load_kg * locale.unit("kg").1).fract() > 0.05))
}

/// A trial's phases, name, from and to, s: as the document gives them; records from before it did, by the kind's own list.
pub fn trial_phases(trial: &Trial) -> Vec<(String, f64, f64)> {
    if !trial.phases.is_empty() {
        return trial.phases.iter().map(|p| (p.name.clone(), p.from_s, p.to_s)).collect();
    }
    let at = |event: &str| trial.events.get(event).copied();
    let named = kind(trial.test).into_iter().flat_map(|k| k.phases());
    named.filter_map(|p| Some((p.name.to_owned(), at(p.from)?, at(p.to)?))).filter(|p| p.2 > p.1).collect()
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

/// An id that the catalogue does not name, as words.
pub fn spoken(id: &str) -> String {
    let words = id.replace('_', " ");
    words.capital()
}
