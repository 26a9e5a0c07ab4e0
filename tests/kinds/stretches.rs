//! Every figure of every kind is read from a stretch that the trial has, and is explained in words of that stretch.
use crate::read;
use tarsal::answer::{Options, TestKind, Trial};
use tarsal::figures::{definition, stretch_in, words_in};
use tarsal::invented::kinds::any::Kind;
use tarsal::invented::{Plates, Random};

fn trials(kind: Kind) -> Vec<Trial> {
    let mut random = Random::new(5);
    let plates = Plates { noise_n: 0.5, seed: 3, ..Plates::default() };
    (0..3).flat_map(|_| read(&kind.scene(&mut random), &plates, &Options::default()).answer.trials).collect()
}

#[test]
fn every_figure_is_read_from_events_of_its_trial() {
    for kind in Kind::TRIALS {
        let trials = trials(kind);
        assert!(!trials.is_empty(), "{kind:?}");
        for trial in &trials {
            for (id, _) in trial.figures.iter().filter(|(_, figure)| figure.value.is_some()) {
                let d = definition(id).unwrap_or_else(|| panic!("{id} stands in the catalogue"));
                let (from, to) = stretch_in(d, |event| trial.events.contains_key(event));
                let at = |event: &str| trial.events.get(event).copied().filter(|t| t.is_finite());
                let (Some(begin), Some(end)) = (at(from), at(to)) else {
                    panic!("{kind:?}: {id} is read from {from} to {to}; the trial has {:?}", trial.events.keys())
                };
                assert!(begin <= end, "{kind:?}: {id} from {from} {begin} to {to} {end}");
            }
        }
    }
}

/// What the words say is held against the numbers: net impulse for each kilogram is the velocity that they name.
#[test]
fn words_name_the_event_that_the_numbers_begin_at() {
    let d = definition("net_braking_impulse").expect("in the catalogue");
    for trial in trials(Kind::DropJump) {
        assert_eq!(trial.test, TestKind::DropJump);
        let has = |event: &str| trial.events.contains_key(event);
        let (words, _) = words_in(d, has);
        assert!(words.ends_with("mass times the velocity at touchdown."), "{words}");
        let value = |id: &str| trial.figures[id].value.expect("given");
        let (impulse, velocity) = (value("net_braking_impulse_per_kg"), value("touchdown_velocity"));
        assert!((impulse - velocity).abs() < 0.01 * velocity, "{impulse} {velocity}");
        let (words, formula) = words_in(definition("braking_duration").expect("in the catalogue"), has);
        assert_eq!((words.as_str(), formula.as_str()), ("From touchdown to the lowest point.", "t(lowest point) − t(touchdown)"));
    }
    for trial in trials(Kind::SquatJump) {
        let (_, formula) = words_in(definition("take_off_velocity").expect("in the catalogue"), |e| trial.events.contains_key(e));
        assert_eq!(formula, "∫ (F − W)/m dt from the held squat to take-off");
    }
    for trial in trials(Kind::CountermovementReboundJump) {
        let d = definition("landing_duration").expect("in the catalogue");
        let has = |event: &str| trial.events.contains_key(event);
        assert_eq!(stretch_in(d, has), ("rebound_touchdown", "landing_end"));
        assert_eq!(words_in(d, has).1, "t(v = 0) − t(rebound touchdown)");
    }
}
