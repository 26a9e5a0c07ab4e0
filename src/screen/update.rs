//! State + event → state and effects. Pure: no browser, no clock; the same events give the same page.
use super::{Effect, Event, Job, JobState, Message, Open, Screen, State};
use crate::answer::{Analysis, EventEdit, METHOD_VERSION, reread};
use crate::figures;
use crate::recording::{ReadError, Recording};
use crate::records::{Envelope, SavedTrial, WindowHead, trial_id};
use indexmap::IndexMap;

/// Takes one event into the state; gives what the browser has to do.
pub fn update(state: &mut State, event: Event) -> Vec<Effect> {
    match event {
        Event::Loaded(records, troubles) => loaded(state, records, troubles),
        Event::Files(files) => {
            let new = files.into_iter().map(|(key, name, bytes)| Job::waiting(key, &name, bytes));
            state.jobs.retain(|j| !matches!(j.state, JobState::Cancelled));
            state.jobs.extend(new);
            state.message = None;
            let mut effects = go_home(state);
            effects.extend(next_job(state));
            effects
        }
        Event::ReadAgain(key, columns, rate) => read_again(state, key, &columns, &rate),
        Event::Demo => demo(state),
        Event::Progress(key, bytes) => {
            with_job(state, key, |job| job.state = JobState::Working(bytes));
            vec![]
        }
        Event::Analysed(key, analysis, athlete) => analysed(state, key, *analysis, athlete),
        Event::DemoDone => {
            state.jobs.retain(|j| j.key != DEMO_KEY);
            next_job(state)
        }
        Event::WorkerDied(key, why) => worker_died(state, key, &why),
        Event::Cancel => cancel(state),
        Event::Home => go_home(state),
        Event::Open(id) => open(state, &id, None),
        Event::Window(id, window) => {
            if let (Some(open), Some(saved)) = (state.open.as_mut().filter(|o| o.id == id), state.saved.get(&id)) {
                open.take(*window, saved);
            }
            vec![]
        }
        Event::Stored(id) => {
            state.unsaved = state.unsaved.saturating_sub(1);
            state.not_saved.remove(&id);
            vec![]
        }
        Event::StoreFailed(id, why) => {
            state.unsaved = state.unsaved.saturating_sub(1);
            let file = state.saved.get(&id).map_or("", |t| t.file.as_str());
            let text = format!("A trial of {file} is not saved: {why}");
            trouble(state, text);
            state.not_saved.insert(id);
            vec![]
        }
        Event::MoveEvent(event, time_s) => move_event(state, &event, time_s),
        Event::Zoom(..) | Event::Pan(_) | Event::WholeTrace | Event::Layer(_) | Event::Highlight(_) => {
            look(state, event);
            vec![]
        }
        Event::FileUnder(id, name) => {
            let name = name.trim().to_owned();
            let words = if name.is_empty() { "Taken out of the athlete's file.".into() } else { format!("Filed under {name}.") };
            change(state, &id, words, |t| t.athlete = (!name.is_empty()).then_some(name))
        }
        Event::Remove(id) => {
            let mut effects = change(state, &id, "Trial removed.".into(), |t| t.removed = true);
            if state.screen == Screen::Trial(id) {
                effects.extend(go_home(state));
            }
            effects
        }
        Event::Undo => undo(state),
        Event::Dismiss => {
            state.message = None;
            vec![]
        }
        Event::Forget(key) => {
            let before = state.jobs.len();
            state.jobs.retain(|j| j.key != key || matches!(j.state, JobState::Waiting | JobState::Working(_)));
            if state.jobs.len() < before { vec![Effect::Release(key)] } else { vec![] }
        }
        Event::Download => download(state),
        Event::Print => vec![Effect::Print],
        Event::Width(width) => {
            state.width = if width.is_finite() { width.clamp(200.0, 4000.0) } else { state.width };
            vec![]
        }
        Event::Failed(why) => {
            trouble(state, why);
            vec![]
        }
    }
}

/// The demo squad's key among the files.
const DEMO_KEY: u32 = 0;

fn trouble(state: &mut State, text: String) {
    if !state.troubles.contains(&text) && state.troubles.len() < 20 {
        state.troubles.push(text);
    }
}

fn loaded(state: &mut State, records: Vec<SavedTrial>, troubles: Vec<String>) -> Vec<Effect> {
    state.loaded = true;
    let mut effects = Vec::new();
    for record in records {
        // Undo does not reach over a visit: what was taken off the list then is erased now.
        if record.removed {
            effects.push(Effect::Purge(record.envelope.id));
        } else {
            state.saved.entry(record.envelope.id.clone()).or_insert(record);
        }
    }
    troubles.into_iter().for_each(|t| trouble(state, t));
    effects
}

fn with_job(state: &mut State, key: u32, change: impl FnOnce(&mut Job)) {
    if let Some(job) = state.jobs.iter_mut().find(|j| j.key == key) {
        change(job);
    }
}

/// Sends the next waiting file to the worker, when it has none.
fn next_job(state: &mut State) -> Vec<Effect> {
    if state.jobs.iter().any(|j| matches!(j.state, JobState::Working(_))) {
        return vec![];
    }
    let Some(job) = state.jobs.iter_mut().find(|j| j.state == JobState::Waiting) else { return vec![] };
    job.state = JobState::Working(0.0);
    vec![if job.key == DEMO_KEY { Effect::Demo(DEMO_KEY) } else { Effect::Analyse(job.key, Box::new(job.options.clone())) }]
}

/// Reads a file that failed once more, with what a person states about it.
fn read_again(state: &mut State, key: u32, columns: &str, rate: &str) -> Vec<Effect> {
    with_job(state, key, |job| {
        if matches!(job.state, JobState::Failed(_)) {
            job.options.columns = Some(columns.trim().to_owned()).filter(|c| !c.is_empty());
            // What is no number becomes NaN, which the reader refuses with its own words.
            job.options.rate_hz = Some(rate.trim()).filter(|r| !r.is_empty()).map(|r| r.replace(',', ".").parse().unwrap_or(f64::NAN));
            job.state = JobState::Waiting;
            job.deaths = 0;
        }
    });
    next_job(state)
}

fn demo(state: &mut State) -> Vec<Effect> {
    if state.jobs.iter().any(|j| j.key == DEMO_KEY) {
        return vec![];
    }
    state.jobs.push(Job::waiting(DEMO_KEY, "Invented demo squad", 0.0));
    next_job(state)
}

fn analysed(state: &mut State, key: u32, analysis: Analysis, athlete: Option<String>) -> Vec<Effect> {
    let Analysis { answer, windows } = analysis;
    if let Some(error) = answer.error {
        with_job(state, key, |job| job.state = JobState::Failed(error));
        return next_job(state);
    }
    let options = state.jobs.iter().find(|j| j.key == key).map(|j| j.options.clone()).unwrap_or_default();
    let mut effects = Vec::new();
    let mut ids = Vec::new();
    let mut first = None;
    for (trial, window) in answer.trials.into_iter().zip(windows) {
        let id = trial_id(&answer.sha256, trial.start_s);
        let known = state.saved.get(&id);
        // A file dropped again keeps what was done to its trials: filing, and events moved by hand.
        if known.is_none_or(|t| t.removed || t.envelope.method != METHOD_VERSION) {
            let mut envelope = Envelope::new("trial", &id, METHOD_VERSION, &state.now);
            envelope.rev = known.map_or(1, |t| t.envelope.rev + 1);
            let saved = SavedTrial {
                envelope,
                file: answer.file.clone(),
                sha256: answer.sha256.clone(),
                added: state.now.clone(),
                athlete: known.and_then(|t| t.athlete.clone()).or_else(|| athlete.clone()),
                invented: athlete.is_some(),
                removed: false,
                options: options.clone(),
                recording: answer.recording.clone(),
                trial,
                window: WindowHead::of(&window),
                other: IndexMap::new(),
            };
            state.saved.insert(id.clone(), saved.clone());
            state.unsaved += 1;
            effects.push(Effect::Save(Box::new(saved), Box::new(window.clone())));
        }
        first.get_or_insert((id.clone(), window));
        ids.push(id);
    }
    if athlete.is_none() {
        let left_out = answer.left_out.iter().map(|l| l.why.clone()).collect();
        with_job(state, key, |job| job.state = JobState::Done(ids, left_out));
        // One file alone goes straight to its trial: the coach is waiting for it.
        if let (1, Some((id, window))) = (state.jobs.len(), first) {
            state.jobs.clear();
            effects.push(Effect::Release(key));
            effects.extend(open(state, &id, Some(window)));
        }
        effects.extend(next_job(state));
    }
    effects
}

fn worker_died(state: &mut State, key: u32, why: &str) -> Vec<Effect> {
    with_job(state, key, |job| {
        job.deaths += 1;
        job.state = if job.deaths < 2 {
            JobState::Waiting
        } else {
            JobState::Failed(ReadError::new(
                "stopped_twice",
                format!("Reading this file stopped twice ({why}). It was set aside; everything else goes on."),
                "Export it again, or with fewer columns; or reload the page and drop it alone.",
            ))
        };
    });
    next_job(state)
}

fn cancel(state: &mut State) -> Vec<Effect> {
    if !state.working() {
        return vec![];
    }
    for job in &mut state.jobs {
        if matches!(job.state, JobState::Waiting | JobState::Working(_)) {
            job.state = JobState::Cancelled;
        }
    }
    state.jobs.retain(|j| j.key != DEMO_KEY);
    state.message = Some(Message { text: "Stopped. What was read before is saved.".into(), undo: false });
    vec![Effect::StopWork]
}

fn go_home(state: &mut State) -> Vec<Effect> {
    state.open = None;
    if state.screen == Screen::Start {
        return vec![];
    }
    state.screen = Screen::Start;
    vec![Effect::Address(String::new())]
}

fn open(state: &mut State, id: &str, window: Option<Recording>) -> Vec<Effect> {
    let Some(saved) = state.saved.get(id).filter(|t| !t.removed) else {
        if state.loaded {
            state.message = Some(Message { text: "That trial is not on this device.".into(), undo: false });
        }
        return go_home(state);
    };
    if state.open.as_ref().is_some_and(|o| o.id == id && o.window.is_some()) {
        return vec![];
    }
    let mut effects = vec![Effect::Address(id.to_owned())];
    let mut open = Open::waiting(id);
    if let Some(before) = &state.open {
        open.layers = before.layers;
    }
    match window {
        Some(window) => open.take(window, saved),
        None => effects.push(Effect::LoadWindow(id.to_owned())),
    }
    state.open = Some(open);
    state.screen = Screen::Trial(id.to_owned());
    state.message = None;
    effects
}

/// Changes a record, saves it, and keeps what it was for undo.
fn change(state: &mut State, id: &str, words: String, edit: impl FnOnce(&mut SavedTrial)) -> Vec<Effect> {
    let Some(saved) = state.saved.get_mut(id) else { return vec![] };
    let before = saved.clone();
    edit(saved);
    if *saved == before {
        return vec![];
    }
    saved.envelope.rev += 1;
    saved.envelope.updated.clone_from(&state.now);
    let effect = Effect::SaveRecord(Box::new(saved.clone()));
    state.undo.push((words.clone(), before));
    if state.undo.len() > 100 {
        state.undo.remove(0);
    }
    state.unsaved += 1;
    state.message = Some(Message { text: words, undo: true });
    vec![effect]
}

fn undo(state: &mut State) -> Vec<Effect> {
    let Some((words, before)) = state.undo.pop() else { return vec![] };
    let id = before.envelope.id.clone();
    let rev = state.saved.get(&id).map_or(before.envelope.rev, |t| t.envelope.rev) + 1;
    let mut restored = before;
    restored.envelope.rev = rev;
    restored.envelope.updated.clone_from(&state.now);
    if let Some(open) = state.open.as_mut().filter(|o| o.id == id) {
        open.refresh(&restored);
    }
    state.saved.insert(id, restored.clone());
    state.unsaved += 1;
    state.message = Some(Message { text: format!("Undone: {words}"), undo: !state.undo.is_empty() });
    vec![Effect::SaveRecord(Box::new(restored))]
}

fn move_event(state: &mut State, event: &str, time_s: f64) -> Vec<Effect> {
    let Some(open) = &state.open else { return vec![] };
    let (Some(saved), Some(window)) = (state.saved.get(&open.id), &open.window) else { return vec![] };
    let Some(now_at) = saved.trial.events.get(event).copied() else { return vec![] };
    let (start, end) = open.whole();
    if !time_s.is_finite() || (time_s - now_at).abs() < 1e-6 {
        return vec![];
    }
    let time_s = time_s.clamp(start, end);
    let mut options = saved.options.clone();
    let near_s = options.edits.iter().find(|e| e.event == event).map_or(now_at, |e| e.near_s);
    options.edits.retain(|e| e.event != event);
    options.edits.push(EventEdit { event: event.to_owned(), near_s, time_s });
    let name = crate::charts::words::event_name(event);
    let trial = reread(window, &options).filter(|t| t.edited_events.iter().any(|e| e.event == event));
    let Some(trial) = trial else {
        let text = format!("With the {name} there the trial cannot be computed; it stays where it was.");
        state.message = Some(Message { text, undo: false });
        return vec![];
    };
    let id = open.id.clone();
    let effects = change(state, &id, format!("Moved by hand: {name}."), |t| {
        t.trial = trial;
        t.options = options;
    });
    if let (Some(open), Some(saved)) = (state.open.as_mut(), state.saved.get(&id)) {
        open.refresh(saved);
    }
    effects
}

fn look(state: &mut State, event: Event) {
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

fn download(state: &State) -> Vec<Effect> {
    let Some(saved) = state.shown() else { return vec![] };
    let text = serde_json::to_string_pretty(&saved.document()).unwrap_or_default();
    let stem = saved.file.rsplit_once('.').map_or(saved.file.as_str(), |(stem, _)| stem);
    vec![Effect::Download(format!("{stem}-trial-{}s.json", saved.trial.start_s.round()), text)]
}
