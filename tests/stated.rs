//! What a person states of a trial (the test, the leg, the load, the box, the body mass) is read with, said, and taken back.
mod fixture;

use fixture::day::{TODAY, day, page, plates, run, saved, state};
use tarsal::answer::{Options, TestKind, Trial};
use tarsal::invented::kinds::drop::Drop;
use tarsal::invented::kinds::squat_jump::SquatJump;
use tarsal::invented::{Jump, Scene};
use tarsal::recording::Recording;
use tarsal::records::SavedTrial;
use tarsal::screen::{Event, Fields, State};

type Store = Vec<(SavedTrial, Recording)>;

/// A state that shows the only trial of a scene, and what the store holds.
fn shown(scene: &Scene) -> (State, Store, String) {
    let trials = vec![saved(1, scene, &plates(3), Some("a1"), TODAY)];
    let id = trials[0].0.envelope.id.clone();
    let mut state = state(&trials, 1280.0);
    open(&mut state, &trials, &id);
    (state, trials, id)
}

fn open(state: &mut State, store: &Store, id: &str) {
    run(state, store, Event::Open(id.into()));
    run(state, store, Event::DrawRest);
    run(state, store, Event::DrawRest);
}

fn say<const N: usize>(state: &mut State, store: &Store, id: &str, fields: [(&str, &str); N]) {
    run(state, store, Event::Form("protocol".into(), id.into(), Fields::from(fields)));
}

/// One step back gives trial, options and protocol as they were.
fn undone(state: &mut State, store: &Store, before: &SavedTrial) {
    run(state, store, Event::Undo);
    let after = &state.saved[&before.envelope.id];
    assert_eq!((&after.trial, &after.options, &after.protocol), (&before.trial, &before.options, &before.protocol));
}

fn value(trial: &Trial, id: &str) -> f64 {
    trial.figures[id].value.unwrap_or(f64::NAN)
}

fn told<'a>(trial: &'a Trial, code: &str) -> Option<&'a str> {
    trial.notices.iter().find(|n| n.code == code).map(|n| n.message.as_str())
}

fn loaded(body_kg: f64, load_kg: f64, height_m: f64) -> Scene {
    let jump = Jump { mass_kg: body_kg + load_kg, height_m, ..Jump::default() };
    Scene { load_kg, ..jump.scene().expect("exists") }
}

#[test]
fn a_load_typed_in_is_no_part_of_the_body() {
    let (mut state, store, id) = shown(&loaded(72.0, 20.0, 0.25));
    let before = state.saved[&id].clone();
    let weighed: Vec<f64> = state.athletes["a1"].body.body_mass.iter().map(|m| m.mass_kg).collect();
    say(&mut state, &store, &id, [("load_kg", "20"), ("hands", "bar")]);
    let now = state.saved[&id].clone();
    assert_eq!((now.trial.load_kg, now.options.load_kg, now.protocol.load_kg), (20.0, Some(20.0), 20.0));
    assert!((now.trial.body_mass_kg.expect("weighed") - 72.0).abs() < 0.2);
    // Per kg is per kg of the body; what is the system's stays.
    for id in ["peak_propulsion_force_per_kg", "net_propulsion_impulse_per_kg"] {
        let grew = value(&now.trial, id) / value(&before.trial, id);
        assert!((grew - 92.0 / 72.0).abs() < 0.005, "{id} × {grew}");
    }
    assert_eq!(value(&now.trial, "jump_height"), value(&before.trial, "jump_height"));
    assert!(page(&state).contains("body and load 92.0"));
    // What the plates weighed that day follows.
    let plates = |state: &State| state.athletes["a1"].body.body_mass.iter().map(|m| m.mass_kg).collect::<Vec<f64>>();
    assert!(plates(&state).iter().all(|kg| (kg - 72.0).abs() < 0.2) && !plates(&state).is_empty(), "{:?}", plates(&state));
    undone(&mut state, &store, &before);
    assert!(weighed.len() <= 1);
    // Without a field that makes no sense nothing is changed, and it is said.
    say(&mut state, &store, &id, [("load_kg", "two plates"), ("hands", "bar")]);
    assert!(state.message.as_ref().is_some_and(|m| m.text.contains("0 to 500 kg") && !m.undo));
    assert_eq!(state.saved[&id].protocol, before.protocol);
}

#[test]
fn loads_typed_in_make_a_line_over_loads() {
    let loads = [0.0, 20.0, 40.0, 60.0];
    let store: Store = loads
        .iter()
        .enumerate()
        .map(|(i, load)| saved(i + 1, &loaded(72.0, *load, 0.36 * 72.0 / (72.0 + 1.1 * load)), &plates(i as u64), Some("a1"), TODAY))
        .collect();
    let ids: Vec<String> = store.iter().map(|t| t.0.envelope.id.clone()).collect();
    let mut state = state(&store, 1280.0);
    open(&mut state, &store, &ids[0]);
    assert!(!page(&state).contains("id=\"force-velocity\""), "four jumps whose loads nobody said");
    for (id, kg) in ids.iter().zip(["", "20", "40", "60"]).skip(1) {
        open(&mut state, &store, id);
        say(&mut state, &store, id, [("load_kg", kg)]);
    }
    assert!(page(&state).contains("id=\"force-velocity\""));
}

#[test]
fn the_reader_overrules_the_test_and_the_trial_says_so() {
    let (mut state, store, id) = shown(&Jump::default().scene().expect("exists"));
    let before = state.saved[&id].clone();
    assert!(page(&state).contains("Countermovement jump, as it looks"));
    say(&mut state, &store, &id, [("test", "squat_jump")]);
    let now = &state.saved[&id].trial;
    assert_eq!((now.test, now.recognised), (TestKind::SquatJump, Some(TestKind::CountermovementJump)));
    let words = "Read as a squat jump because you said so; it looks like a countermovement jump.";
    assert_eq!(told(now, "read_as_said"), Some(words));
    let shown = page(&state);
    assert!(shown.contains(words) && shown.contains("Countermovement jump, as it looks") && !shown.contains("might also be"));
    assert!(shown.contains("value=\"squat_jump\" selected"), "the select shows what was said");
    // Its document says both.
    let document = serde_json::to_value(state.saved[&id].document()).expect("JSON");
    let trial = &document["files"][0]["trials"][0];
    assert_eq!((trial["test"].as_str(), trial["recognised"].as_str()), (Some("squat_jump"), Some("countermovement_jump")));
    undone(&mut state, &store, &before);
    // What it cannot be is refused, with the reason.
    say(&mut state, &store, &id, [("test", "drop_landing")]);
    assert!(state.message.as_ref().is_some_and(|m| m.text.contains("nobody comes down onto empty plates")));
    assert_eq!(state.saved[&id].trial, before.trial);
    // An event that the other test does not know is moved no more.
    let lowest = before.trial.events["peak_downward_velocity"];
    run(&mut state, &store, Event::MoveEvent("peak_downward_velocity".into(), Some(lowest - 0.01)));
    say(&mut state, &store, &id, [("test", "squat_jump")]);
    let now = &state.saved[&id];
    assert!(now.trial.edited_events.is_empty() && now.options.edits.is_empty(), "{:?}", now.options.edits);
}

#[test]
fn every_scene_may_be_said_to_be_every_test() {
    for scene in [Jump::default().scene(), SquatJump::default().scene(), Drop::default().scene()].into_iter().flatten() {
        let (mut state, store, id) = shown(&scene);
        let before = state.saved[&id].clone();
        for test in TestKind::READABLE {
            let looks = before.trial.test;
            say(&mut state, &store, &id, [("test", test.id())]);
            let now = &state.saved[&id];
            match now.options.test {
                // Read as said, or as it looks without a word about it.
                Some(said) => {
                    assert_eq!((said, now.trial.test), (test, test));
                    assert_eq!(now.trial.recognised, (test != looks).then_some(looks));
                    assert_eq!(told(&now.trial, "read_as_said").is_some(), test != looks);
                    undone(&mut state, &store, &before);
                }
                None => assert!(state.message.as_ref().is_some_and(|m| m.text.starts_with("Nothing was changed")), "{test:?}"),
            }
        }
    }
}

#[test]
fn a_body_mass_typed_in_gives_what_needs_a_weight() {
    let (mut state, store, id) = shown(&Drop { after_s: 0.0, ..Drop::default() }.scene().expect("exists"));
    let before = state.saved[&id].clone();
    assert!(before.trial.weighing.is_none() && page(&state).contains("Type the body mass in under"));
    say(&mut state, &store, &id, [("mass_kg", "72,0"), ("box_cm", "30")]);
    let now = &state.saved[&id].trial;
    assert_eq!(now.weighing.as_ref().map(|w| w.source.as_str()), Some("as typed in"));
    assert_eq!(now.drop.as_ref().and_then(|d| d.box_m), Some(0.30));
    assert!(value(now, "jump_height") > 0.2 && told(now, "weight_unknown").is_none());
    assert!(page(&state).contains("Weighed as typed in"));
    // What was typed in is nothing that the plates weighed.
    assert!(state.athletes["a1"].body.body_mass.is_empty(), "{:?}", state.athletes["a1"].body.body_mass);
    // It was this athlete's mass, and is not the next one's.
    run(&mut state, &store, Event::FileUnder(id.clone(), "Ben Invented".into(), None));
    let moved = &state.saved[&id];
    assert!(moved.options.mass_kg.is_none() && moved.trial.weighing.is_none() && moved.options.box_m == Some(0.30));
    run(&mut state, &store, Event::Undo);
    assert!(state.saved[&id].trial.weighing.is_some());
    undone(&mut state, &store, &before);
}

#[test]
fn a_body_mass_is_held_against_what_the_plates_weigh() {
    let (mut state, store, id) = shown(&Jump::default().scene().expect("exists"));
    let before = state.saved[&id].clone();
    say(&mut state, &store, &id, [("mass_kg", "72.2")]);
    assert_eq!(told(&state.saved[&id].trial, "mass_differs"), None);
    say(&mut state, &store, &id, [("mass_kg", "76")]);
    let now = &state.saved[&id].trial;
    assert!(told(now, "mass_differs").is_some_and(|m| m.contains("-5.3 %")), "{:?}", now.notices);
    // The plates' weight stays the one that is read with.
    assert_eq!(value(now, "jump_height"), value(&before.trial, "jump_height"));
    // A load nobody entered is found by it: with the load there is nothing to tell.
    let (mut state, store, id) = shown(&loaded(72.0, 20.0, 0.25));
    say(&mut state, &store, &id, [("mass_kg", "72")]);
    assert!(told(&state.saved[&id].trial, "mass_differs").is_some());
    say(&mut state, &store, &id, [("mass_kg", "72"), ("load_kg", "20")]);
    assert_eq!(told(&state.saved[&id].trial, "mass_differs"), None);
}

#[test]
fn a_leg_that_was_said_is_the_leg() {
    let (mut state, store, id) = shown(&Jump::default().scene().expect("exists"));
    let before = state.saved[&id].clone();
    assert!(page(&state).contains("as the plates show: both"));
    say(&mut state, &store, &id, [("side", "left")]);
    let now = &state.saved[&id].trial;
    assert!(now.side == "left" && now.sides.is_empty() && !before.trial.sides.is_empty());
    // Said no more, the plates decide again.
    say(&mut state, &store, &id, [("side", "")]);
    assert_eq!(state.saved[&id].trial.side, "both");
    run(&mut state, &store, Event::Undo);
    undone(&mut state, &store, &before);
}

#[test]
fn a_load_in_a_name_that_was_read_later_is_read_with() {
    let mut store = vec![saved(1, &loaded(72.0, 20.0, 0.25), &plates(3), None, TODAY)];
    store[0].0.file = "Ada Invented_20kg_left_1.csv".into();
    let (id, before) = (store[0].0.envelope.id.clone(), store[0].0.clone());
    let mut state = state(&store, 1280.0);
    assert_eq!((before.trial.load_kg, &before.options), (0.0, &Options::default()));
    run(&mut state, &store, Event::Form("file-names".into(), String::new(), Fields::default()));
    let now = &state.saved[&id];
    assert_eq!((now.athlete_id.as_deref(), now.trial.load_kg, now.trial.side.as_str()), (Some("a1"), 20.0, "left"));
    assert!((now.trial.body_mass_kg.expect("weighed") - 72.0).abs() < 0.2);
    // One step back for all of it.
    undone(&mut state, &store, &before);
    let on = state.heads[id.as_str()].clone();
    assert!(on.athlete_id.is_empty() && state.day_of(&on).is_none_or(|d| d <= day(TODAY)));
}

/// Leaves the pages in a folder (`TARSAL_SHOTS`), the form open.
#[test]
fn look() -> std::io::Result<()> {
    let Some(folder) = std::env::var_os("TARSAL_SHOTS").map(std::path::PathBuf::from) else { return Ok(()) };
    std::fs::create_dir_all(&folder)?;
    for (size, width) in [("1280", 1280.0), ("360", 360.0)] {
        let unweighed = Drop { after_s: 0.0, ..Drop::default() };
        for (name, scene, said) in [
            ("overruled", Jump::default().scene(), [("test", "squat_jump"), ("hands", "hips"), ("cue", "As high as you can")]),
            ("mass-typed-in", unweighed.scene(), [("mass_kg", "72"), ("box_cm", "30"), ("footwear", "bare feet")]),
            ("unweighed", unweighed.scene(), [("", ""); 3]),
        ] {
            let (mut state, store, id) = shown(&scene.expect("exists"));
            state.width = width;
            if name != "unweighed" {
                say(&mut state, &store, &id, said);
            }
            let shown = page(&state).replace("<details id=\"protocol\"", "<details open id=\"protocol\"");
            std::fs::write(folder.join(format!("{name}-{size}.html")), fixture::kinds::document(&shown))?;
        }
    }
    Ok(())
}
