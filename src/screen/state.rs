//! Everything the page knows while it is open.
use super::Open;
use crate::answer::Options;
use crate::charts::number::Locale;
use crate::recording::ReadError;
use crate::records::SavedTrial;
use std::collections::{BTreeMap, BTreeSet};

/// Everything the page knows.
#[derive(Debug, Clone, Default)]
pub struct State {
    /// How numbers are written.
    pub locale: Locale,
    /// Now, ISO 8601, UTC; set by the page before each event.
    pub now: String,
    /// Width of the page, px.
    pub width: f64,
    /// Whether the store has been read.
    pub loaded: bool,
    /// Every record, by id; those taken off the list too.
    pub saved: BTreeMap<String, SavedTrial>,
    /// Saves that are not on the disk yet.
    pub unsaved: usize,
    /// Trials that could not be saved.
    pub not_saved: BTreeSet<String>,
    /// Records that could not be read or saved, in words.
    pub troubles: Vec<String>,
    /// Files of this visit.
    pub jobs: Vec<Job>,
    /// What is shown.
    pub screen: Screen,
    /// The trial on show.
    pub open: Option<Open>,
    /// Earlier versions of records, latest last, each with what was done to it.
    pub undo: Vec<(String, SavedTrial)>,
    /// What to tell.
    pub message: Option<Message>,
}

/// What is shown.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Screen {
    /// What to do, the files of this visit, and what is saved.
    #[default]
    Start,
    /// One trial.
    Trial(String),
}

/// Something to tell, with or without a way back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Message {
    /// What.
    pub text: String,
    /// Whether undo takes it back.
    pub undo: bool,
}

/// A file of this visit.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// Its key; the page holds the file under it.
    pub key: u32,
    /// Its name.
    pub name: String,
    /// Its size.
    pub bytes: f64,
    /// How far it is.
    pub state: JobState,
    /// How often the worker died over it.
    pub deaths: u32,
    /// What its reader stated about it.
    pub options: Options,
}

impl Job {
    /// A file that waits.
    pub fn waiting(key: u32, name: &str, bytes: f64) -> Self {
        Self { key, name: name.into(), bytes, state: JobState::Waiting, deaths: 0, options: Options::default() }
    }
}

/// How far a file is.
#[derive(Debug, Clone, PartialEq)]
pub enum JobState {
    /// Waiting for the worker.
    Waiting,
    /// In the worker; bytes read.
    Working(f64),
    /// Analysed: ids of its trials, and what was not a trial.
    Done(Vec<String>, Vec<String>),
    /// It gives no recording.
    Failed(ReadError),
    /// Stopped by the reader.
    Cancelled,
}

impl State {
    /// Saved trials that are on the list, latest first.
    pub fn listed(&self) -> Vec<&SavedTrial> {
        let mut trials: Vec<&SavedTrial> = self.saved.values().filter(|t| !t.removed).collect();
        trials.sort_by(|a, b| b.added.cmp(&a.added).then(a.file.cmp(&b.file)).then(a.trial.start_s.total_cmp(&b.trial.start_s)));
        trials
    }
    /// Names of athletes that have trials, in order.
    pub fn athletes(&self) -> Vec<&str> {
        let mut names: Vec<&str> = self.saved.values().filter(|t| !t.removed).filter_map(|t| t.athlete.as_deref()).collect();
        names.sort_unstable();
        names.dedup();
        names
    }
    /// Trials of the same file as `of`, in order.
    pub fn siblings(&self, of: &SavedTrial) -> Vec<&SavedTrial> {
        let mut trials: Vec<&SavedTrial> = self.saved.values().filter(|t| t.sha256 == of.sha256 && !t.removed).collect();
        trials.sort_by(|a, b| a.trial.start_s.total_cmp(&b.trial.start_s));
        trials
    }
    /// Whether a file is waiting or in the worker.
    pub fn working(&self) -> bool {
        self.jobs.iter().any(|j| matches!(j.state, JobState::Waiting | JobState::Working(_)))
    }
    /// The record on show.
    pub fn shown(&self) -> Option<&SavedTrial> {
        match &self.screen {
            Screen::Trial(id) => self.saved.get(id),
            Screen::Start => None,
        }
    }
}
