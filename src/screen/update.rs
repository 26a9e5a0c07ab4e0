//! State + event → state and effects. Pure: no browser, no clock; the same events give the same page.
use super::files::{DEMO_KEY, cancel, demo, next_job, read_again, take_files, with_job, worker_died};
use super::filing::file_under;
use super::keep::undo;
use super::sent::{form_sent, pressed};
use super::storage::Progress;
use super::trials::{analysed, arriving, download, let_go, look, move_event, open, recomputed, remove};
use super::{Effect, Event, JobState, Message, Opening, Screen, State, overlay, plan, tables};
use crate::answer::TestKind;
use crate::people::naming::Pattern;
use crate::records::Record;
use std::rc::Rc;

/// Takes one event into the state; gives what the browser has to do.
pub fn update(state: &mut State, event: Event) -> Vec<Effect> {
    // What a study is made from changes by these alone.
    let touches = matches!(
        event,
        Event::Form(..) | Event::Do(..) | Event::Undo | Event::Go(_) | Event::Pooled(_) | Event::Elsewhere(..) | Event::Today(_)
    );
    let pooled = matches!(event, Event::Pooled(_));
    let saved = matches!(&event, Event::Stored(ids) if ids.iter().any(|id| state.heads.contains_key(id.as_str())));
    // What a test day's sheet asks of figures is the contact of drop jumps.
    let drop = |id: &String| state.heads.get(id.as_str()).is_some_and(|h| h.test == TestKind::DropJump);
    let dropped = matches!(&event, Event::Stored(ids) if ids.iter().any(drop));
    let compared = matches!(&event, Event::Form(name, ..) if name == "compare-days");
    let mut effects = take(state, event);
    if pooled {
        effects.extend(plan::demo_blocks(state));
    }
    if touches {
        plan::restudy(state);
    }
    if pooled {
        effects.extend(overlay::sample_wanted(state));
    }
    if compared {
        effects.extend(overlay::wanted(state));
    }
    if saved && matches!(state.screen, Screen::Athlete(_) | Screen::Report(..)) || dropped && matches!(state.screen, Screen::Session(_)) {
        effects.push(plan::pool());
    }
    effects
}

fn take(state: &mut State, event: Event) -> Vec<Effect> {
    match event {
        Event::Loaded(opening) => loaded(state, *opening),
        Event::Files(files) => take_files(state, files, true),
        Event::Progress(key, bytes) => {
            with_job(state, key, |job| job.state = JobState::Working(bytes));
            vec![]
        }
        Event::Arriving(key, part) => arriving(state, key, *part),
        Event::Analysed(key, arrived) => analysed(state, key, *arrived),
        Event::Home => go(state, Screen::Start),
        Event::Go(Screen::Trial(id)) | Event::Open(id) => open(state, &id),
        Event::Go(screen) => {
            // What was said belongs to the screen that is left; undo stays at hand with its key.
            state.message = None;
            go(state, screen)
        }
        Event::DrawRest => {
            state.partial = state.partial.saturating_sub(1);
            vec![]
        }
        Event::Stored(ids) => {
            for id in ids {
                settle(state, &id);
                state.not_saved.remove(&id);
            }
            let_go(state);
            vec![]
        }
        Event::Dismiss => {
            state.message = None;
            vec![]
        }
        Event::Width(width) => {
            state.width = if width.is_finite() { width.clamp(200.0, 4000.0) } else { state.width };
            vec![]
        }
        Event::Today(day) => {
            state.today = day;
            vec![]
        }
        Event::Window(id, window) => {
            if let (Some(open), Some(saved)) = (state.open.as_mut().filter(|o| o.id == id), state.saved.get(&id)) {
                open.take(*window, saved);
                return super::set::rest_of_day(state, &id);
            }
            vec![]
        }
        rarer => take_rarer(state, rarer),
    }
}

/// Events that a first visit does without: a function of its own, so that `site/rooms` can tell.
#[inline(never)]
fn take_rarer(state: &mut State, event: Event) -> Vec<Effect> {
    match event {
        Event::Appeared(files) => take_files(state, files, false),
        Event::ReadAgain(key, columns, rate) => read_again(state, key, &columns, &rate),
        Event::Demo => demo(state),
        Event::Looked(key, explained) => super::columns::looked(state, key, *explained),
        Event::DemoDone => {
            state.jobs.retain(|j| j.key != DEMO_KEY);
            let mut effects = vec![Effect::LetGo];
            effects.extend(next_job(state));
            effects
        }
        Event::WorkerDied(key, why) => worker_died(state, key, &why),
        Event::Cancel => cancel(state),
        Event::Fetched(trials) => {
            for trial in trials {
                // What was changed meanwhile is newer than what was read.
                if state.heads.get(trial.envelope.id.as_str()).is_some_and(|h| h.rev == trial.envelope.rev) {
                    state.saved.entry(trial.envelope.id.clone()).or_insert_with(|| Rc::new(trial));
                }
            }
            vec![]
        }
        Event::Lost(ids, why) => {
            for id in ids {
                state.heads.remove(id.as_str());
            }
            // A trial that is simply gone was erased elsewhere.
            if !why.is_empty() {
                trouble(state, why);
            }
            vec![]
        }
        Event::StoreFailed(ids, why) => {
            if let Some(first) = ids.first() {
                let what = state.record(first).map_or_else(|| "A record".into(), |r| format!("The {}", crate::records::merge::what(&r)));
                // Records of one save fail together, and one line says so.
                trouble(
                    state,
                    match ids.len() {
                        1 => format!("{what} is not saved: {why}"),
                        n => format!("{what} and {} more are not saved: {why}", n - 1),
                    },
                );
            }
            for id in ids {
                settle(state, &id);
                state.not_saved.insert(id);
            }
            vec![]
        }
        Event::Elsewhere(records, erased) => elsewhere(state, records, &erased),
        Event::MoveEvent(event, time_s) => move_event(state, &event, time_s),
        Event::Zoom(..) | Event::Pan(_) | Event::WholeTrace | Event::Layer(_) | Event::Highlight(_) => {
            look(state, event);
            vec![]
        }
        Event::FileUnder(id, name, day) => file_under(state, id, &name, day),
        Event::Remove(id) => remove(state, id),
        Event::Form(form, id, fields) => form_sent(state, &form, id, fields),
        Event::Do(what, id) => pressed(state, &what, id),
        Event::Undo => undo(state),
        Event::Forget(key) => {
            let before = state.jobs.len();
            state.jobs.retain(|j| j.key != key || matches!(j.state, JobState::Waiting | JobState::Working(_)));
            if state.jobs.len() < before { vec![Effect::Release(key)] } else { vec![] }
        }
        Event::Download => download(state),
        Event::Print => vec![Effect::Print],
        Event::Recomputed(id, trial) => recomputed(state, &id, trial.map(|t| *t)),
        Event::Erased(name) => {
            state.message = Some(Message {
                text: format!(
                    "Everything of {name} is erased from this browser. What this page cannot reach: recordings on disk, backups, tables, \
                     printed pages and links given out before. Delete those too. A number and the day stay, so that an old backup \
                     does not bring him back unasked; who holds an old copy or recording can see by them that he was erased here."
                ),
                undo: false,
            });
            vec![]
        }
        Event::Room(used, allowed, durable) => {
            state.storage.room = Some((used, allowed));
            state.storage.durable = durable;
            vec![]
        }
        Event::Storage(progress) => storage(state, progress),
        Event::Compared(compared) => {
            state.storage.busy = None;
            state.storage.outcome = None;
            state.storage.compared = Some(*compared);
            vec![]
        }
        Event::Watching(folder) => {
            state.watching = folder;
            vec![]
        }
        Event::Pooled(pool) => {
            state.pool = Some(*pool);
            tables::pooled(state)
        }
        Event::Windows(trials) => {
            if !super::set::take(state, &trials) && !overlay::take_sample(state, &trials) {
                overlay::lay(state, &trials);
            }
            vec![]
        }
        Event::Link(text) => {
            state.shared = Some(crate::records::link::decode(&text).map(Box::new).map_err(|e| e.to_string()));
            // The data do not stay in the address bar, nor in the history of the browser's way here.
            go(state, Screen::Shared)
        }
        Event::Failed(why) => {
            if state.storage.wanted.take().is_some() {
                state.storage.busy = None;
            }
            trouble(state, why);
            vec![]
        }
        // Taken by `take`.
        Event::Loaded(_)
        | Event::Files(_)
        | Event::Progress(..)
        | Event::Arriving(..)
        | Event::Analysed(..)
        | Event::Home
        | Event::Go(_)
        | Event::Open(_)
        | Event::DrawRest
        | Event::Stored(_)
        | Event::Dismiss
        | Event::Width(_)
        | Event::Window(..)
        | Event::Today(_) => vec![],
    }
}

pub fn trouble(state: &mut State, text: String) {
    if !state.troubles.contains(&text) && state.troubles.len() < 20 {
        state.troubles.push(text);
    }
}

/// One save less under way.
fn settle(state: &mut State, id: &str) {
    if let Some(count) = state.unsaved.get_mut(id) {
        *count = count.saturating_sub(1);
        if *count == 0 {
            state.unsaved.remove(id);
        }
    }
}

/// What is remembered of a reader who has lengths in inches and masses in pounds; anything else is metric.
pub const IMPERIAL: &str = "imperial";

fn loaded(state: &mut State, opening: Opening) -> Vec<Effect> {
    state.loaded = true;
    if opening.fresh {
        state.heads.clear();
        state.saved.clear();
        state.athletes.clear();
        state.sessions.clear();
        state.questions.clear();
        state.checks.clear();
        state.references.clear();
        state.blocks.clear();
        state.layouts.clear();
        state.undo.clear();
        state.message = None;
    }
    let mut purge = Vec::new();
    for head in opening.heads {
        // Undo does not reach over a visit: what was taken off the list then is erased now, unless another tab's undo still may.
        if head.removed && !opening.others {
            purge.push(head.id.to_string());
        } else {
            state.heads.entry(std::rc::Rc::clone(&head.id)).or_insert(head);
        }
    }
    for record in opening.records {
        if record.removed() && !opening.others {
            purge.push(record.id().to_owned());
        } else if state.record(record.id()).is_none() {
            state.insert(record);
        }
    }
    for (name, value) in opening.settings {
        match name.as_str() {
            "pattern" if Pattern::new(&value).is_ok() => state.pattern = value,
            "place" => super::place::remembered(state, &value),
            "units" => state.locale.imperial = value == IMPERIAL,
            "protocols" => super::stated::remembered(state, &value),
            "last_backup" => state.storage.last_backup = Some(value),
            _ => {}
        }
    }
    opening.troubles.into_iter().for_each(|t| trouble(state, t));
    if purge.is_empty() { vec![] } else { vec![Effect::Purge(purge)] }
}

/// Shows a screen, and its address with it.
pub fn go(state: &mut State, screen: Screen) -> Vec<Effect> {
    state.open = None;
    state.partial = 0;
    state.erasing = None;
    state.set = None;
    if state.screen == screen {
        return vec![];
    }
    let mut effects = vec![Effect::Address(screen.address())];
    if screen == Screen::Storage {
        effects.push(Effect::AskRoom);
    }
    if matches!(screen, Screen::Athlete(_) | Screen::Report(..) | Screen::Session(_)) {
        effects.push(plan::pool());
    }
    if !matches!((&state.screen, &screen), (Screen::Athlete(a) | Screen::Report(a, _), Screen::Athlete(b) | Screen::Report(b, _)) if a == b)
    {
        (state.study, state.link, state.refused, state.choice) = (None, None, None, super::Choice::default());
        state.overlay = None;
        state.not_taken.clear();
    }
    state.screen = screen;
    effects
}

/// Another tab saved or erased.
fn elsewhere(state: &mut State, records: Vec<Record>, erased: &[String]) -> Vec<Effect> {
    for record in records {
        // A record of which a save is under way here is settled by the store, which refuses the later one.
        if !state.unsaved.contains_key(record.id()) {
            if let (Record::Trial(trial), Some(open)) = (&record, state.open.as_mut())
                && open.id == trial.envelope.id
            {
                open.refresh(trial);
            }
            let id = record.id().to_owned();
            // An older version taken back here would undo what was done there.
            state.undo.retain(|change| change.before.iter().all(|(key, _)| *key != id));
            state.insert(record);
        }
    }
    erase_here(state, erased)
}

/// Forgets erased keys, wherever this page holds them.
pub fn erase_here(state: &mut State, erased: &[String]) -> Vec<Effect> {
    for id in erased {
        state.forget(id);
    }
    let gone = |id: &String| erased.contains(id);
    let shown = match &state.screen {
        Screen::Trial(id) | Screen::Athlete(id) | Screen::Session(id) => gone(id),
        _ => false,
    };
    if !erased.is_empty() {
        // A file may be named after an athlete, a trouble after a file, and what was searched or compared after either.
        state.jobs.retain(|j| matches!(j.state, JobState::Waiting | JobState::Working(_)));
        state.troubles.clear();
        state.list.words.clear();
        state.storage.compared = None;
        state.pool = None;
        state.study = None;
    }
    if shown {
        return go(state, Screen::Start);
    }
    let studied = !erased.is_empty() && matches!(state.screen, Screen::Athlete(_) | Screen::Report(..));
    if studied { vec![plan::pool()] } else { vec![] }
}

fn storage(state: &mut State, progress: Progress) -> Vec<Effect> {
    state.storage.busy = None;
    match progress {
        Progress::Busy(words) => state.storage.busy = Some(words),
        Progress::Done(words) => {
            state.storage.outcome = Some(Ok(words));
            state.storage.compared = None;
            state.storage.passphrase.clear();
        }
        Progress::Failed(words) => state.storage.outcome = Some(Err(words)),
        Progress::BackedUp(words) => {
            state.storage.outcome = Some(Ok(words));
            state.storage.last_backup = Some(state.now.clone());
            return vec![Effect::Remember("last_backup", state.now.clone())];
        }
    }
    vec![]
}
