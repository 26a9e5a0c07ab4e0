//! State + event → state and effects. Pure: no browser, no clock; the same events give the same page.
use super::filing::{file_by_names, file_under};
use super::keep::undo;
use super::storage::{Choices, Compared, Progress};
use super::trials::{analysed, download, let_go, look, move_event, open, outdated, protocol, recomputed, remove};
use super::{Effect, Event, Fields, Job, JobState, List, Message, Opening, Screen, State, forms, overlay, plan, references, tables};
use crate::people::naming::Pattern;
use crate::recording::ReadError;
use crate::records::Record;
use crate::records::tidy::Flavour;

/// Takes one event into the state; gives what the browser has to do.
pub fn update(state: &mut State, event: Event) -> Vec<Effect> {
    // What a study is made from changes by these alone.
    let touches = matches!(
        event,
        Event::Form(..) | Event::Do(..) | Event::Undo | Event::Go(_) | Event::Pooled(_) | Event::Elsewhere(..) | Event::Today(_)
    );
    let pooled = matches!(event, Event::Pooled(_));
    let saved = matches!(&event, Event::Stored(ids) if ids.iter().any(|id| state.heads.contains_key(id.as_str())));
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
    if saved && matches!(state.screen, Screen::Athlete(_) | Screen::Report(..)) {
        effects.push(plan::pool());
    }
    effects
}

fn take(state: &mut State, event: Event) -> Vec<Effect> {
    match event {
        Event::Loaded(opening) => loaded(state, *opening),
        Event::Files(files) => take_files(state, files),
        Event::ReadAgain(key, columns, rate) => read_again(state, key, &columns, &rate),
        Event::Demo => demo(state),
        Event::Progress(key, bytes) => {
            with_job(state, key, |job| job.state = JobState::Working(bytes));
            vec![]
        }
        Event::Analysed(key, arrived) => analysed(state, key, *arrived),
        Event::Looked(key, explained) => super::columns::looked(state, key, *explained),
        Event::DemoDone => {
            state.jobs.retain(|j| j.key != DEMO_KEY);
            let mut effects = vec![Effect::LetGo];
            effects.extend(next_job(state));
            effects
        }
        Event::WorkerDied(key, why) => worker_died(state, key, &why),
        Event::Cancel => cancel(state),
        Event::Home => go(state, Screen::Start),
        Event::Go(Screen::Trial(id)) | Event::Open(id) => open(state, &id),
        Event::Go(screen) => {
            // What was said belongs to the screen that is left; undo stays at hand with its key.
            state.message = None;
            go(state, screen)
        }
        Event::DrawRest => {
            state.partial = false;
            vec![]
        }
        Event::Window(id, window) => {
            if let (Some(open), Some(saved)) = (state.open.as_mut().filter(|o| o.id == id), state.saved.get(&id)) {
                open.take(*window, saved);
            }
            vec![]
        }
        Event::Fetched(trials) => {
            for trial in trials {
                // What was changed meanwhile is newer than what was read.
                if state.heads.get(trial.envelope.id.as_str()).is_some_and(|h| h.rev == trial.envelope.rev) {
                    state.saved.entry(trial.envelope.id.clone()).or_insert(trial);
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
        Event::Stored(ids) => {
            for id in ids {
                settle(state, &id);
                state.not_saved.remove(&id);
            }
            let_go(state);
            vec![]
        }
        Event::StoreFailed(ids, why) => {
            for id in ids {
                settle(state, &id);
                let what = state.record(&id).map_or_else(|| "A record".into(), |r| format!("The {}", crate::records::merge::what(&r)));
                trouble(state, format!("{what} is not saved: {why}"));
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
        Event::FileUnder(id, name) => file_under(state, id, &name),
        Event::Remove(id) => remove(state, id),
        Event::Form(form, id, fields) => form_sent(state, &form, id, fields),
        Event::Do(what, id) => pressed(state, &what, id),
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
        Event::Recomputed(id, trial) => recomputed(state, &id, trial.map(|t| *t)),
        Event::Erased(name) => {
            state.message = Some(Message {
                text: format!(
                    "Everything of {name} is erased from this browser. What this page cannot reach: recordings on disk, backups, tables, \
                     printed pages and links given out before. Delete those too."
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
        Event::Compared(new, same, conflicts, left_out) => {
            state.storage.busy = None;
            state.storage.outcome = None;
            state.storage.compared = Some(Compared { new, same, conflicts, left_out });
            vec![]
        }
        Event::Watching(folder) => {
            state.watching = folder;
            vec![]
        }
        Event::Today(day) => {
            state.today = day;
            vec![]
        }
        Event::Pooled(pool) => {
            state.pool = Some(*pool);
            tables::pooled(state)
        }
        Event::Windows(trials) => {
            if !overlay::take_sample(state, &trials) {
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
    }
}

/// The demo squad's key among the files.
pub const DEMO_KEY: u32 = 0;

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
        // Undo does not reach over a visit: what was taken off the list then is erased now.
        if head.removed {
            purge.push(head.id.to_string());
        } else {
            state.heads.entry(std::rc::Rc::clone(&head.id)).or_insert(head);
        }
    }
    for record in opening.records {
        if record.removed() {
            purge.push(record.id().to_owned());
        } else if state.record(record.id()).is_none() {
            state.insert(record);
        }
    }
    for (name, value) in opening.settings {
        match name.as_str() {
            "pattern" if Pattern::new(&value).is_ok() => state.pattern = value,
            "last_backup" => state.storage.last_backup = Some(value),
            _ => {}
        }
    }
    opening.troubles.into_iter().for_each(|t| trouble(state, t));
    if purge.is_empty() { vec![] } else { vec![Effect::Purge(purge)] }
}

fn take_files(state: &mut State, files: Vec<(u32, String, f64)>) -> Vec<Effect> {
    let pattern = Pattern::new(&state.pattern).ok();
    let new = files.into_iter().map(|(key, name, bytes)| {
        let mut job = Job::waiting(key, &name, bytes);
        // A load in the name is needed to tell body mass from what was weighed, a box to know how deep the drop was.
        if let Some(named) = pattern.as_ref().and_then(|p| p.read(&name)) {
            job.options.load_kg = named.load_kg;
            job.options.box_m = named.box_m;
        }
        job
    });
    let new: Vec<Job> = new.collect();
    state.jobs.retain(|j| !matches!(j.state, JobState::Cancelled));
    state.jobs.extend(new);
    state.message = None;
    // On a session's sheet the files fill the sheet; anywhere else they are shown at the start.
    let mut effects = if matches!(state.screen, Screen::Session(_)) { vec![] } else { go(state, Screen::Start) };
    effects.extend(next_job(state));
    effects
}

pub fn with_job(state: &mut State, key: u32, change: impl FnOnce(&mut Job)) {
    if let Some(job) = state.jobs.iter_mut().find(|j| j.key == key) {
        change(job);
    }
}

/// Sends the next waiting file to the worker, when it has none.
pub fn next_job(state: &mut State) -> Vec<Effect> {
    if state.jobs.iter().any(|j| matches!(j.state, JobState::Working(_))) {
        return vec![];
    }
    let Some(job) = state.jobs.iter_mut().find(|j| j.state == JobState::Waiting) else { return vec![] };
    job.state = JobState::Working(0.0);
    let (key, options) = (job.key, job.options.clone());
    vec![if key == DEMO_KEY {
        Effect::Demo(DEMO_KEY, state.today)
    } else {
        Effect::Analyse(key, Box::new(super::columns::with_known(state, options)))
    }]
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
    state.jobs.push(Job::waiting(DEMO_KEY, "Invented demo squad", 1.0));
    next_job(state)
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
    vec![Effect::StopWork, Effect::LetGo]
}

/// Shows a screen, and its address with it.
pub fn go(state: &mut State, screen: Screen) -> Vec<Effect> {
    state.open = None;
    state.partial = false;
    state.erasing = None;
    if state.screen == screen {
        return vec![];
    }
    let mut effects = vec![Effect::Address(screen.address())];
    if screen == Screen::Storage {
        effects.push(Effect::AskRoom);
    }
    if matches!(screen, Screen::Athlete(_) | Screen::Report(..)) {
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

fn form_sent(state: &mut State, form: &str, id: String, fields: Fields) -> Vec<Effect> {
    match form {
        "file-under" => file_under(state, id, fields.raw("athlete")),
        "file-names" => file_by_names(state, fields),
        "pattern" => {
            state.pattern = fields.text("pattern");
            let fits = Pattern::new(&state.pattern).is_ok();
            if fits { vec![Effect::Remember("pattern", state.pattern.clone())] } else { vec![] }
        }
        "list" => {
            state.list = List::of(&fields);
            vec![]
        }
        "protocol" => protocol(state, id, &fields),
        "backup" => {
            state.storage.busy = Some("Writing the backup …".into());
            state.storage.outcome = None;
            vec![Effect::Backup(format!("tarsal-{}.tarsal-backup", state.today), fields.raw("passphrase").to_owned())]
        }
        "compare" => {
            state.storage.busy = Some("Comparing the file with what is here …".into());
            state.storage.outcome = None;
            state.storage.passphrase = fields.raw("passphrase").to_owned();
            vec![Effect::Compare(state.storage.passphrase.clone())]
        }
        "merge" => {
            if state.storage.compared.is_none() {
                return vec![];
            }
            state.storage.busy = Some("Taking the file in …".into());
            let theirs = fields.all("theirs").map(str::to_owned).collect();
            vec![Effect::Merge(state.storage.passphrase.clone(), Choices { theirs })]
        }
        "export" => {
            let flavour = if fields.raw("flavour") == "comma" { Flavour::DecimalComma } else { Flavour::Plain };
            let json = fields.raw("form") == "json";
            if let Some(what) = tables::What::of(fields.raw("table")) {
                return tables::squad(state, what, flavour, json);
            }
            let end = if json { "json" } else { "csv" };
            state.storage.busy = Some("Writing the table …".into());
            vec![Effect::Export(format!("tarsal-figures-{}.{end}", state.today), flavour, json)]
        }
        other => super::columns::sent(state, other, &id, &fields)
            .or_else(|| plan::sent(state, other, &id, &fields))
            .or_else(|| references::sent(state, other, &fields))
            .or_else(|| tables::sent(state, other, &fields))
            .unwrap_or_else(|| forms::sent(state, other, id, &fields)),
    }
}

fn pressed(state: &mut State, what: &str, id: String) -> Vec<Effect> {
    match what {
        "more" => {
            state.list.more = state.list.more.saturating_add(1);
            vec![]
        }
        "durable" => {
            state.storage.asked = true;
            vec![Effect::AskDurable]
        }
        "save-again" => {
            let records: Vec<Record> = state.not_saved.iter().filter_map(|id| state.record(id)).collect();
            for record in &records {
                *state.unsaved.entry(record.id().to_owned()).or_insert(0) += 1;
            }
            state.troubles.clear();
            if records.is_empty() { vec![] } else { vec![Effect::Save(records)] }
        }
        "watch" => vec![Effect::Watch(true)],
        "unwatch" => {
            state.watching = None;
            vec![Effect::Watch(false)]
        }
        "recompute" => {
            let ids = outdated(state);
            if ids.is_empty() { vec![] } else { vec![Effect::Recompute(ids)] }
        }
        "merge-no" => {
            state.storage.compared = None;
            state.storage.passphrase.clear();
            vec![]
        }
        other => super::columns::pressed(state, other, &id)
            .or_else(|| plan::pressed(state, other, &id))
            .or_else(|| references::pressed(state, other, &id))
            .unwrap_or_else(|| forms::pressed(state, other, id)),
    }
}
