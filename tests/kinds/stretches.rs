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

/// The rule of the start, in words, is the rule that the numbers follow: read off the force by the words alone.
#[test]
fn words_say_how_the_start_is_found() {
    let words = |id: &str, trial: &Trial| words_in(definition(id).expect("in the catalogue"), |event| trial.events.contains_key(event)).0;
    let mut random = Random::new(11);
    let plates = Plates { noise_n: 0.5, seed: 3, ..Plates::default() };
    for _ in 0..3 {
        let read = read(&Kind::CountermovementJump.scene(&mut random), &plates, &Options::default());
        let (trial, window) = (&read.answer.trials[0], &read.windows[0]);
        for id in ["time_to_take_off", "unweighting_duration", "reactive_strength_index_modified", "flight_to_contraction_ratio"] {
            let said = words(id, trial);
            let rule = "going back from the deepest unweighting, 30 ms before the last sample that is no further below weight than five \
                        standard deviations of force in quiet standing (at least 2 N or one step of the file)";
            assert!(said.contains(rule), "{id}: {said}");
        }
        let total = |i: usize| window.channels.iter().map(|c| f64::from(c.force_n[i])).sum::<f64>();
        let weighing = trial.weighing.as_ref().expect("weighed");
        let place = |t: f64| ((t - window.start_s) * window.clock.rate_hz).round() as usize;
        let (from, to) = (place(weighing.from_s), place(trial.events["peak_downward_velocity"]));
        let deepest = (from..to).min_by(|a, b| total(*a).total_cmp(&total(*b))).expect("samples");
        let band = (5.0 * weighing.sd_n).max(2.0);
        let last = (from..deepest).rev().find(|i| total(*i) >= weighing.weight_n.value - band).expect("a sample inside the band");
        let start = window.start_s + last as f64 / window.clock.rate_hz - 0.030;
        // Within a sample or two: the page takes the plates' zero level off first.
        assert!((start - trial.events["onset"]).abs() <= 2.5 / window.clock.rate_hz, "{start} {}", trial.events["onset"]);
    }
    for trial in trials(Kind::SquatJump) {
        assert!(words("time_to_take_off", &trial).contains("in the held squat"));
    }
    for trial in trials(Kind::Isometric) {
        for id in ["force_at_50_ms", "time_to_peak_force", "rate_of_force_development_100_ms", "impulse_200_ms"] {
            let said = words(id, &trial);
            assert!(said.contains("Onset is a rule") && said.contains("pre-tension") && !said.contains("30 ms before"), "{id}: {said}");
        }
    }
    // Where a flight or a contact begins and ends.
    for (kind, id) in
        [(Kind::CountermovementJump, "flight_time"), (Kind::DropJump, "contact_time"), (Kind::ReboundJumps, "mean_contact_time")]
    {
        assert!(
            trials(kind).iter().all(|trial| words(id, trial).contains("through the last 4 ms of its fall or the first 2 ms of its rise"))
        );
    }
    // Nobody else's figures hang on it.
    let others = ["jump_height", "flight_time", "braking_duration"];
    for trial in trials(Kind::CountermovementJump) {
        assert!(others.iter().all(|id| !words(id, &trial).contains("is a rule")));
    }
}
