//! Files of this visit: taken in, sent to the worker one after another, stopped.
use super::update::go;
use super::{Effect, Job, JobState, Message, Screen, State};
use crate::people::naming::Pattern;
use crate::recording::ReadError;

/// The demo squad's key among the files.
pub const DEMO_KEY: u32 = 0;

/// Takes files into the queue; on a session's sheet or an athlete's screen the reader stays there. What came `by_hand` on an
/// athlete's screen is his.
pub fn take_files(state: &mut State, files: Vec<(u32, String, f64)>, by_hand: bool) -> Vec<Effect> {
    let pattern = Pattern::new(&state.pattern).ok();
    let here = match &state.screen {
        Screen::Athlete(id) if by_hand && state.athletes.get(id).is_some_and(|a| !a.removed) => Some(id.clone()),
        _ => None,
    };
    let new = files.into_iter().map(|(key, name, bytes)| {
        let mut job = Job::waiting(key, &name, bytes);
        job.athlete.clone_from(&here);
        // A load in the name is needed to tell body mass from what was weighed, a box to know how deep the drop was, a leg where one plate does not tell.
        if let Some(named) = pattern.as_ref().and_then(|p| p.read(&name)) {
            job.options.load_kg = named.load_kg;
            job.options.box_m = named.box_m;
            job.options.side = named.side.map(super::stated::leg);
        }
        job
    });
    let new: Vec<Job> = new.collect();
    state.jobs.retain(|j| !matches!(j.state, JobState::Cancelled));
    state.jobs.extend(new);
    state.message = None;
    // On a session's sheet the files fill the sheet, on an athlete's screen they are his; anywhere else they are shown at the start.
    let mut effects = if matches!(state.screen, Screen::Session(_) | Screen::Athlete(_)) { vec![] } else { go(state, Screen::Start) };
    effects.extend(next_job(state));
    effects
}

/// Changes a file of this visit, where it is still there.
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
    let place = state.place;
    let Some(job) = state.jobs.iter_mut().find(|j| j.state == JobState::Waiting) else { return vec![] };
    job.state = JobState::Working(0.0);
    // With the file's own options, so that its trials are read again with the gravity that they were read with.
    if let Some(place) = place {
        job.options = place.into_options(job.options.clone());
    }
    let (key, options) = (job.key, job.options.clone());
    vec![if key == DEMO_KEY {
        Effect::Demo(DEMO_KEY, state.today)
    } else {
        Effect::Analyse(key, Box::new(super::columns::with_known(state, options)))
    }]
}

/// Reads a file that failed once more, with what a person states about it.
pub fn read_again(state: &mut State, key: u32, columns: &str, rate: &str) -> Vec<Effect> {
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

/// Asks for the invented demo squad.
pub fn demo(state: &mut State) -> Vec<Effect> {
    if state.jobs.iter().any(|j| j.key == DEMO_KEY) {
        return vec![];
    }
    state.jobs.push(Job::waiting(DEMO_KEY, "Invented demo squad", 1.0));
    next_job(state)
}

/// A file that kills the worker twice is set aside.
pub fn worker_died(state: &mut State, key: u32, why: &str) -> Vec<Effect> {
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

/// Stops reading.
pub fn cancel(state: &mut State) -> Vec<Effect> {
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
