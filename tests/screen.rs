//! The screen's state under every order of events: it never panics, saves follow one another, undo restores.

use std::collections::BTreeMap;
use tarsal::answer::{Analysis, Options, analyze};
use tarsal::invented::{Random, demo_files};
use tarsal::records::SavedTrial;
use tarsal::screen::{Effect, Event, JobState, Screen, State, update};
use tarsal::views;

fn analyses() -> Vec<Analysis> {
    demo_files().iter().take(2).map(|f| analyze(&f.name, f.text.as_bytes(), &Options::default())).collect()
}

fn start() -> State {
    let mut state = State { width: 1000.0, now: "2026-01-01T00:00:00Z".into(), ..State::default() };
    update(&mut state, Event::Loaded(vec![], vec![]));
    state
}

fn files(keys: &[u32]) -> Event {
    Event::Files(keys.iter().map(|k| (*k, format!("{k}.csv"), 10.0)).collect())
}

fn analyse(key: u32) -> Effect {
    Effect::Analyse(key, Box::default())
}

fn analysed(key: u32, analysis: &Analysis) -> Event {
    Event::Analysed(key, Box::new(analysis.clone()), None)
}

/// A state with one trial read and on show, and its id.
fn shown(analysis: &Analysis) -> (State, String) {
    let mut state = start();
    update(&mut state, files(&[1]));
    update(&mut state, analysed(1, analysis));
    let id = state.saved.keys().next().cloned().unwrap_or_default();
    (state, id)
}

#[test]
fn one_file_goes_straight_to_its_trial_and_is_saved_at_once() {
    let analyses = analyses();
    let mut state = start();
    assert_eq!(update(&mut state, files(&[1])), [analyse(1)]);
    let effects = update(&mut state, analysed(1, &analyses[0]));
    assert!(matches!(effects.first(), Some(Effect::Save(saved, _)) if saved.envelope.rev == 1 && saved.athlete.is_none()));
    assert!(matches!(&state.screen, Screen::Trial(id) if state.saved.contains_key(id)));
    assert!(state.open.as_ref().is_some_and(|o| !o.curves.time_s.is_empty()));
    // Again: nothing new is saved, what was done to it stays.
    let (mut state, id) = shown(&analyses[0]);
    update(&mut state, Event::FileUnder(id.clone(), "A".into()));
    update(&mut state, files(&[2]));
    let effects = update(&mut state, analysed(2, &analyses[0]));
    assert!(!effects.iter().any(|e| matches!(e, Effect::Save(..))));
    assert_eq!(state.saved[&id].athlete.as_deref(), Some("A"));
}

#[test]
fn several_files_are_read_one_after_another_and_stay_on_the_list() {
    let analyses = analyses();
    let mut state = start();
    assert_eq!(update(&mut state, files(&[1, 2])), [analyse(1)]);
    assert!(update(&mut state, analysed(1, &analyses[0])).contains(&analyse(2)));
    update(&mut state, analysed(2, &analyses[1]));
    assert!(state.jobs.iter().all(|j| matches!(&j.state, JobState::Done(ids, _) if ids.len() == 1)));
    assert_eq!(state.screen, Screen::Start);
}

#[test]
fn a_moved_event_changes_the_trial_and_undo_brings_it_back() {
    let (mut state, id) = shown(&analyses()[0]);
    let before = state.saved[&id].clone();
    let onset = before.trial.events["onset"];
    let effects = update(&mut state, Event::MoveEvent("onset".into(), onset - 0.02));
    assert!(matches!(effects.as_slice(), [Effect::SaveRecord(saved)] if saved.envelope.rev == 2));
    let moved = &state.saved[&id];
    assert!((moved.trial.events["onset"] - (onset - 0.02)).abs() < 1e-9);
    assert_eq!(moved.trial.edited_events.len(), 1);
    assert_ne!(moved.trial.figures["time_to_take_off"], before.trial.figures["time_to_take_off"]);
    // Moved twice is still one edit, and it still knows where it was found.
    update(&mut state, Event::MoveEvent("onset".into(), onset - 0.03));
    let edits = &state.saved[&id].trial.edited_events;
    assert_eq!(edits.len(), 1);
    assert!(edits[0].found_s.is_some_and(|t| (t - onset).abs() < 1e-9));
    update(&mut state, Event::Undo);
    update(&mut state, Event::Undo);
    let after = &state.saved[&id];
    assert_eq!((&after.trial, &after.options), (&before.trial, &before.options));
    assert_eq!(after.envelope.rev, 5);
}

#[test]
fn a_file_that_kills_the_worker_twice_is_set_aside_and_the_next_goes_on() {
    let mut state = start();
    update(&mut state, files(&[1, 2]));
    assert_eq!(update(&mut state, Event::WorkerDied(1, "memory".into())), [analyse(1)]);
    assert_eq!(update(&mut state, Event::WorkerDied(1, "memory".into())), [analyse(2)]);
    assert!(matches!(&state.jobs[0].state, JobState::Failed(e) if e.code == "stopped_twice"));
}

#[test]
fn what_was_removed_is_erased_only_by_the_next_visit() {
    let (mut state, id) = shown(&analyses()[0]);
    update(&mut state, Event::Remove(id.clone()));
    assert!(state.listed().is_empty() && state.saved[&id].removed);
    let stored = state.saved[&id].clone();
    update(&mut state, Event::Undo);
    assert_eq!(state.listed().len(), 1);
    let mut next = State::default();
    assert_eq!(update(&mut next, Event::Loaded(vec![stored], vec![])), [Effect::Purge(id)]);
}

fn random_event(random: &mut Random, state: &State, analyses: &[Analysis]) -> Event {
    let mut pick = |n: usize| (random.bits() % n as u64) as usize;
    let id = state.saved.keys().nth(pick(3)).cloned().unwrap_or_else(|| "nowhere".into());
    let key = pick(4) as u32;
    let time = [f64::NAN, -1e9, 0.0, 2.0, 2.5, 3.0, 1e300][pick(7)];
    let event = ["onset", "take_off", "touchdown", "lowest_point", "nothing"][pick(5)].to_owned();
    match pick(25) {
        0 => files(&[key]),
        1 => files(&[key, key + 1]),
        2..=4 => analysed(key, &analyses[pick(analyses.len())]),
        5 => Event::WorkerDied(key, "why".into()),
        6 => Event::Cancel,
        7 => Event::Home,
        8 | 9 => Event::Open(id),
        10 => Event::Window(id, Box::new(analyses[0].windows[0].clone())),
        11 => Event::Stored(id),
        12 => Event::StoreFailed(id, "why".into()),
        13 => Event::MoveEvent(event, time),
        14 => Event::Zoom(time, Some(time)),
        15 => Event::Pan(time),
        16 => Event::WholeTrace,
        17 => Event::Layer("power".into()),
        18 => Event::Highlight("jump_height".into()),
        19 => Event::FileUnder(id, ["", "A", "B"][pick(3)].into()),
        20 => Event::Remove(id),
        21 => Event::Undo,
        22 => Event::Width(time),
        23 => Event::ReadAgain(key, ["", "time,left"][pick(2)].into(), ["", "x", "1000"][pick(3)].into()),
        _ => [Event::Demo, Event::DemoDone, Event::Forget(key), Event::Download, Event::Dismiss][pick(5)].clone(),
    }
}

#[test]
fn no_order_of_events_breaks_the_page_or_a_save() {
    let analyses = analyses();
    for seed in 0..30 {
        let mut random = Random::new(seed);
        let mut state = start();
        // What the store would hold.
        let mut stored: BTreeMap<String, SavedTrial> = BTreeMap::new();
        for step in 0..120 {
            let event = random_event(&mut random, &state, &analyses);
            let told = format!("seed {seed}, step {step}: {event:?}").chars().take(200).collect::<String>();
            for effect in update(&mut state, event) {
                if let Effect::Save(saved, _) | Effect::SaveRecord(saved) = effect {
                    let before = stored.get(&saved.envelope.id).map_or(0, |s| s.envelope.rev);
                    assert_eq!(saved.envelope.rev, before + 1, "{told}");
                    stored.insert(saved.envelope.id.clone(), *saved);
                }
            }
            assert_eq!(stored, state.saved, "{told}");
            if let Some(open) = &state.open {
                assert!(open.view.0 < open.view.1 && open.view.0.is_finite() && open.view.1.is_finite(), "{told}: {:?}", open.view);
            }
            if step % 10 == 0 {
                assert!(!views::page(&state).into_string().contains("NaN"), "{told}");
            }
        }
    }
}

#[test]
fn a_file_that_states_too_little_is_read_again_with_what_its_reader_says() {
    let mut state = start();
    update(&mut state, files(&[1]));
    let unreadable = analyze("a.csv", b"", &Options::default());
    update(&mut state, analysed(1, &unreadable));
    let effects = update(&mut state, Event::ReadAgain(1, " left,right ".into(), "1000,5".into()));
    let stated = Options { columns: Some("left,right".into()), rate_hz: Some(1000.5), ..Options::default() };
    assert_eq!(effects, [Effect::Analyse(1, Box::new(stated.clone()))]);
    update(&mut state, analysed(1, &analyses()[0]));
    assert!(state.saved.values().all(|t| t.options == stated));
}
