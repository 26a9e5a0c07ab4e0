//! Trials: as they arrive, on show, changed by hand, taken off the list, computed again.
use super::dropped::{self, Whose};
use super::files::{DEMO_KEY, next_job, with_job};
use super::filing::{Batch, fetch_first, invented_athlete, keep_trials};
use super::history;
use super::keep::next;
use super::update::go;
use super::{Arrived, Effect, Event, JobState, Message, Open, Screen, State, set, stated};
use crate::answer::{EventEdit, FileAnswer, LeftOut, METHOD_VERSION, Trial, reread};
use crate::figures;
use crate::people::Protocol;
use crate::people::naming::{Named, Pattern};
use crate::records::{Envelope, Record, SavedTrial, trial_id};
use indexmap::IndexMap;
use std::rc::Rc;

/// Steps in which a new trial's screen is drawn after its trace.
pub const DRAWN_LATER: u8 = 2;
/// Trials kept at hand whole once they are on the disk.
const MOST_AT_HAND: usize = 400;

/// What came in of a file's trials: they are in the state, and are saved together once all are there.
#[derive(Debug, Clone, Default)]
pub struct Arriving {
    key: u32,
    /// When the first came.
    at: String,
    batch: Batch,
    saves: Vec<Record>,
    ids: Vec<String>,
    unfiled: Vec<String>,
    /// How many were on this device before.
    here: usize,
}

/// Takes a part of a file's trials in.
pub fn arriving(state: &mut State, key: u32, part: Arrived) -> Vec<Effect> {
    take_in(state, key, part);
    vec![]
}

/// Whose a file's trials are; an invented athlete who is not there yet is made.
fn whose(state: &mut State, key: u32, arrived: &Arrived, batch: &mut Batch) -> (Whose, Option<Named>) {
    let here_at = state.jobs.iter().find(|j| j.key == key).and_then(|j| j.athlete.clone());
    // The demo's files carry their day, load, box and side in names of a known form, whatever pattern the reader uses.
    let pattern = if arrived.athlete.is_some() { crate::invented::DEMO_PATTERN } else { &state.pattern };
    let named = Pattern::new(pattern).ok().and_then(|p| p.read(&arrived.answer.file));
    let whose = match &arrived.athlete {
        Some(name) => {
            let invented = invented_athlete(state, name);
            let id = invented.envelope.id.clone();
            if state.athletes.get(&id).is_none_or(|a| a.removed) {
                batch.put(Record::Athlete(invented));
            }
            Whose::Known(id)
        }
        None => dropped::whose(state, named.as_ref(), here_at.as_deref()),
    };
    (whose, named)
}

/// Puts trials of a file into the state, filed where its name names a known athlete.
fn take_in(state: &mut State, key: u32, mut arrived: Arrived) -> Whose {
    let mut so_far = state.arriving.take().filter(|a| a.key == key).unwrap_or_default();
    if so_far.at.is_empty() {
        (so_far.key, so_far.at) = (key, state.now.clone());
    }
    let options = state.jobs.iter().find(|j| j.key == key).map(|j| j.options.clone()).unwrap_or_default();
    let (whose, named) = whose(state, key, &arrived, &mut so_far.batch);
    let Arriving { at, batch, saves, ids, unfiled, here, .. } = &mut so_far;
    let trials = core::mem::take(&mut arrived.answer.trials);
    let answer = &arrived.answer;
    for (trial, window) in trials.into_iter().zip(arrived.windows) {
        let id = trial_id(&answer.sha256, trial.start_s);
        ids.push(id.clone());
        // A file dropped again keeps what was done to its trials: filing, events moved by hand, and its figures.
        if state.heads.get(id.as_str()).is_some_and(|h| !h.removed) {
            match state
                .trial(&id)
                .filter(|s| options.columns.is_some() && (&s.options.columns, s.options.rate_hz) != (&options.columns, options.rate_hz))
            {
                // Read once more by other columns: new figures, filed as before.
                Some(before) => {
                    let mut read =
                        SavedTrial { options: options.clone(), recording: answer.recording.clone(), trial, window, ..before.clone() };
                    // What was stated of it is stated still.
                    (read.options.test, read.options.mass_kg) = (before.options.test, before.options.mass_kg);
                    stated::into_options(&mut read);
                    batch.put(Record::Trial(Rc::new(read)));
                }
                None => {
                    *here += 1;
                    // Here already and nobody's: now it is known whose it is.
                    let stored = state.trial(&id).filter(|s| s.athlete_id.is_none()).cloned();
                    if let (Whose::Known(whose), Some(stored)) = (&whose, stored) {
                        batch.file(state, stored, whose, named.as_ref(), None);
                    }
                }
            }
            continue;
        }
        let mut saved = SavedTrial {
            envelope: Envelope::new("trial", &id, METHOD_VERSION, at),
            file: answer.file.clone(),
            sha256: answer.sha256.clone(),
            added: at.clone(),
            athlete_id: None,
            session_id: None,
            protocol: Protocol { load_kg: trial.load_kg, ..Protocol::default() },
            protocol_key: String::new(),
            number: None,
            invented: arrived.athlete.is_some(),
            removed: false,
            options: options.clone(),
            recording: answer.recording.clone(),
            trial,
            window,
            other: IndexMap::new(),
        };
        saved.protocol_key = saved.protocol.key();
        match &whose {
            Whose::Known(whose) => batch.file(state, saved, whose, named.as_ref(), None),
            Whose::Nobody | Whose::Asked(..) => {
                unfiled.push(id);
                batch.put(Record::Trial(Rc::new(saved)));
            }
        }
    }
    // Athletes and days wait for the last trial: they are saved once.
    saves.extend(next(state, batch.trials()));
    state.arriving = Some(so_far);
    whose
}

/// Takes a file's answer in, with its last trials: every trial is saved at once, filed where its file's name names a known
/// athlete.
pub fn analysed(state: &mut State, key: u32, arrived: Arrived) -> Vec<Effect> {
    if let Some(error) = arrived.answer.error {
        with_job(state, key, |job| job.state = JobState::Failed(error));
        return next_job(state);
    }
    let by_columns = state.jobs.iter().any(|j| j.key == key && j.options.columns.is_some());
    let FileAnswer { file, sha256, recording, left_out, .. } = FileAnswer { trials: Vec::new(), ..arrived.answer.clone() };
    let athlete = arrived.athlete.clone();
    let whose = take_in(state, key, arrived);
    let Arriving { mut batch, mut saves, ids, unfiled, here, .. } = state.arriving.take().unwrap_or_default();
    if by_columns {
        // What other columns made of the same file is no trial any more.
        let gone = state.trials().filter(|s| s.sha256 == sha256 && !s.removed && !ids.contains(&s.envelope.id));
        for before in gone.cloned().collect::<Vec<_>>() {
            batch.put(Record::Trial(Rc::new(SavedTrial { removed: true, ..before })));
        }
    }
    let asks = recording.as_ref().is_some_and(|r| r.notices.iter().any(|n| crate::recording::QUESTIONS.contains(&n.code.as_str())));
    let records = batch.done(state);
    saves.extend(next(state, records));
    let mut effects = if saves.is_empty() { vec![] } else { vec![Effect::Save(saves)] };
    effects.extend(history::ask(state, &ids));
    let mut whose_is_asked = false;
    if let (Whose::Asked(here, name), false) = (whose, unfiled.is_empty()) {
        whose_is_asked = true;
        dropped::ask(state, &file, unfiled, here, name);
    }
    if athlete.is_none() {
        let when = |l: &LeftOut| format!("{}–{} s", state.locale.fixed(l.start_s, 1), state.locale.fixed(l.end_s, 1));
        let left_out = left_out.iter().map(|l| format!("{}: {}", when(l), l.why)).collect();
        let first = ids.first().cloned();
        with_job(state, key, |job| job.state = JobState::Done(ids, left_out, here));
        // One file alone goes straight to its trial: the coach is waiting for it.
        if let (1, Some(id), Screen::Start | Screen::Athlete(_), false) = (state.jobs.len(), first, &state.screen, asks || whose_is_asked) {
            state.jobs.clear();
            effects.push(Effect::Release(key));
            effects.extend(open(state, &id));
            state.partial = DRAWN_LATER;
        }
        effects.push(Effect::LetGo);
        effects.extend(next_job(state));
    } else if key != DEMO_KEY {
        effects.push(Effect::LetGo);
    }
    effects
}

/// Shows a trial.
pub fn open(state: &mut State, id: &str) -> Vec<Effect> {
    if state.heads.get(id).is_none_or(|h| h.removed) {
        if state.loaded {
            state.message = Some(Message { text: "That trial is not on this device.".into(), undo: false });
        }
        return go(state, Screen::Start);
    }
    if state.open.as_ref().is_some_and(|o| o.id == id) {
        return vec![];
    }
    if let Some(effects) = fetch_first(state, &[id.to_owned()], Event::Open(id.to_owned())) {
        return effects;
    }
    let mut open = Open::waiting(id);
    if let Some(before) = &state.open {
        open.layers = before.layers;
    }
    let mut effects = go(state, Screen::Trial(id.to_owned()));
    state.open = Some(open);
    state.message = None;
    effects.push(Effect::LoadWindow(id.to_owned()));
    effects
}

/// Takes a trial off the list; undo brings it back until the page is closed.
pub fn remove(state: &mut State, id: String) -> Vec<Effect> {
    if let Some(effects) = fetch_first(state, core::slice::from_ref(&id), Event::Remove(id.clone())) {
        return effects;
    }
    let Some(trial) = state.trial(&id).cloned() else { return vec![] };
    // Those that stay behind are asked again without it.
    let asked: Vec<String> = history::weighing_ids(state, &trial).into_iter().take(1).collect();
    let mut effects = keep_trials(state, Some("Trial removed.".into()), vec![SavedTrial { removed: true, ..trial }]);
    effects.extend(history::ask(state, &asked));
    if state.screen == Screen::Trial(id) {
        effects.extend(go(state, Screen::Start));
    }
    effects
}

/// Trials whose figures another version of the methods made.
pub fn outdated(state: &State) -> Vec<String> {
    state.heads.values().filter(|h| !h.removed && &*h.method != METHOD_VERSION).map(|h| h.id.to_string()).collect()
}

/// Takes a trial computed again; the older figures come back by undo.
pub fn recomputed(state: &mut State, id: &str, trial: Option<Trial>) -> Vec<Effect> {
    let Some(mut saved) = state.trial(id).cloned() else { return vec![] };
    let Some(mut trial) = trial else {
        state.message =
            Some(Message { text: format!("A trial of {} could not be computed again; its figures stay.", saved.file), undo: false });
        return vec![];
    };
    // What is stated of it may have been taken back since it was asked for.
    if !stated::read_so(&trial, &saved.options) {
        return vec![];
    }
    // A trial that left the athlete whose weight it was weighed by, or of which something was stated, is read again as a part
    // of that, not as a change of its own.
    let left = history::read_otherwise(&saved);
    history::carry(&saved.trial, &mut trial);
    saved.trial = trial;
    saved.envelope.method = METHOD_VERSION.into();
    if let Some(open) = state.open.as_mut().filter(|o| o.id == id) {
        open.refresh(&saved);
    }
    let words = (!left).then(|| "Computed again.".to_owned());
    let mut effects = keep_trials(state, words, vec![saved]);
    if left {
        effects.extend(history::ask(state, &[id.to_owned()]));
    }
    effects
}

/// Lets go of whole trials that are on the disk, once there are many.
pub fn let_go(state: &mut State) {
    if state.saved.len() <= MOST_AT_HAND {
        return;
    }
    // The trial on show and those it is shown beside stay.
    let shown = state.open.as_ref().and_then(|o| state.trial(&o.id));
    let near: Vec<String> = shown
        .map(|s| set::near(state, s).into_iter().chain(set::against(state, s)).map(|h| h.id.to_string()).collect())
        .unwrap_or_default();
    let shown = state.open.as_ref().map(|o| o.id.clone());
    let (unsaved, not_saved) = (&state.unsaved, &state.not_saved);
    state.saved.retain(|id, _| unsaved.contains_key(id) || not_saved.contains(id) || shown.as_ref() == Some(id) || near.contains(id));
}

/// Puts an event of the open trial at a time, or back where it was found, and computes it again. One that comes to lie where it
/// was found is as found.
pub fn move_event(state: &mut State, event: &str, time_s: Option<f64>) -> Vec<Effect> {
    let Some(open) = &state.open else { return vec![] };
    let (Some(saved), Some(window)) = (state.trial(&open.id), &open.window) else { return vec![] };
    let Some(now_at) = saved.trial.events.get(event).copied() else { return vec![] };
    let (start, end) = open.whole();
    let mut options = saved.options.clone();
    let near_s = options.edits.iter().find(|e| e.event == event).map_or(now_at, |e| e.near_s);
    let time_s = time_s.unwrap_or(near_s);
    let same = |a: f64, b: f64| (a - b).abs() < 1e-6;
    if !time_s.is_finite() || same(time_s, now_at) {
        return vec![];
    }
    let time_s = time_s.clamp(start, end);
    let by_hand = !same(time_s, near_s);
    options.edits.retain(|e| e.event != event);
    if by_hand {
        options.edits.push(EventEdit { event: event.to_owned(), near_s, time_s });
    }
    let name = crate::charts::words::event_name(event);
    let trial = reread(window, &options).filter(|t| by_hand == t.edited_events.iter().any(|e| e.event == event));
    let Some(mut trial) = trial else {
        let text = format!("With the {name} there the trial cannot be computed; it stays where it was.");
        state.message = Some(Message { text, undo: false });
        return vec![];
    };
    history::carry(&saved.trial, &mut trial);
    let mut changed = SavedTrial { trial, options, ..saved.clone() };
    changed.envelope.method = METHOD_VERSION.into();
    let effects = keep_trials(
        state,
        Some(format!("{}: {name}.", if by_hand { "Moved by hand" } else { "Put back as found" })),
        vec![changed.clone()],
    );
    if let Some(open) = state.open.as_mut() {
        open.refresh(&changed);
    }
    effects
}

/// Changes what part of the open trial is looked at.
pub fn look(state: &mut State, event: Event) {
    let Some(open) = state.open.as_mut() else { return };
    match event {
        Event::Zoom(factor, about) => open.zoom(factor, about),
        Event::Pan(part) => open.pan(part),
        Event::WholeTrace => open.view = open.whole(),
        Event::Layer(name) => match name.as_str() {
            "velocity" => open.layers.velocity = !open.layers.velocity,
            "displacement" => open.layers.displacement = !open.layers.displacement,
            "power" => open.layers.power = !open.layers.power,
            _ => {}
        },
        Event::Highlight(id) => {
            let same = open.highlight.as_deref() == Some(id.as_str());
            open.highlight = (!same && figures::definition(&id).is_some()).then_some(id);
        }
        _ => {}
    }
}

/// Gives the open trial's document as a file.
pub fn download(state: &State) -> Vec<Effect> {
    let Some(saved) = state.shown() else { return vec![] };
    let text = serde_json::to_string_pretty(&saved.document()).unwrap_or_default();
    let stem = saved.file.rsplit_once('.').map_or(saved.file.as_str(), |(stem, _)| stem);
    vec![Effect::Download(format!("{stem}-trial-{}s.json", saved.trial.start_s.round()), text)]
}
