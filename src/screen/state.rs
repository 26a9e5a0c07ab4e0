//! Everything the page knows while it is open.
use super::storage::Storage;
use super::{Choice, List, Open, Order, Overlay, Paper, Screen, Study};
use crate::advice::brief::Brief;
use crate::advice::typed::Refused;
use crate::answer::Options;
use crate::charts::number::Locale;
use crate::cohort::reference::References;
use crate::people::naming::{DEFAULT_PATTERN, name_key};
use crate::people::{Answers, Athlete, Date, PlateCheck, Protocol, Session};
use crate::recording::Letters as _;
use crate::recording::ReadError;
use crate::records::{Head, Kept, Pool, Record, SavedTrial};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

/// Everything the page knows.
#[derive(Debug, Clone)]
pub struct State {
    /// How numbers are written.
    pub locale: Locale,
    /// Now, ISO 8601, UTC; set by the page before each event.
    pub now: String,
    /// The day, where the reader is.
    pub today: Date,
    /// What makes this visit's keys unlike another's.
    pub visit: String,
    /// Keys made in this visit.
    pub made: u64,
    /// Width of the page, px.
    pub width: f64,
    /// Whether the store has been read.
    pub loaded: bool,
    /// Every trial as a list shows it; those taken off the list too.
    pub heads: BTreeMap<Rc<str>, Head>,
    /// The trials that are at hand whole: those of this visit and those opened.
    pub saved: BTreeMap<String, Rc<SavedTrial>>,
    /// Athletes.
    pub athletes: BTreeMap<String, Kept<Athlete>>,
    /// Sessions.
    pub sessions: BTreeMap<String, Kept<Session>>,
    /// Answers before tests.
    pub questions: BTreeMap<String, Kept<Answers>>,
    /// Plate checks.
    pub checks: BTreeMap<String, Kept<PlateCheck>>,
    /// Published groups to stand beside.
    pub references: BTreeMap<String, Kept<References>>,
    /// Training blocks.
    pub blocks: BTreeMap<String, Kept<Value>>,
    /// Column layouts.
    pub layouts: BTreeMap<String, Kept<Value>>,
    /// Records that are not on the disk yet.
    pub unsaved: BTreeMap<String, usize>,
    /// Records that could not be saved.
    pub not_saved: BTreeSet<String>,
    /// Records that could not be read or saved, in words.
    pub troubles: Vec<String>,
    /// The file whose trials are coming in.
    pub arriving: Option<super::trials::Arriving>,
    /// Files of this visit.
    pub jobs: Vec<Job>,
    /// Files dropped on one athlete's screen whose names say another.
    pub doubts: Vec<super::Doubt>,
    /// How athlete, test and trial are read from file names.
    pub pattern: String,
    /// The protocol last used for each test, by the test's id; the load is each trial's own.
    pub protocols: BTreeMap<String, Protocol>,
    /// Where the plates stand; standard gravity where nobody said.
    pub place: Option<super::place::Place>,
    /// The folder that is watched.
    pub watching: Option<String>,
    /// What is shown.
    pub screen: Screen,
    /// The trial on show.
    pub open: Option<Open>,
    /// Steps still to be drawn of the screen: first the trace, then figures, then what hangs together with other trials.
    pub partial: u8,
    /// The column panel, where one is open.
    pub columns: Option<super::columns::Panel>,
    /// Which trials the list shows, and in which order.
    pub list: List,
    /// Earlier versions of records, latest last, each with what was done to them.
    pub undo: Vec<Change>,
    /// What to tell.
    pub message: Option<Message>,
    /// The athlete whose erasure waits for a second word.
    pub erasing: Option<String>,
    /// The store itself.
    pub storage: Storage,
    /// Figures of all trials, once an athlete was shown.
    pub pool: Option<Pool>,
    /// What is compared with what.
    pub choice: Choice,
    /// What the figures say about the athlete on show.
    pub study: Option<Box<Study>>,
    /// Force of the compared days over each other, once asked for.
    pub overlay: Option<Overlay>,
    /// Curves of the set on show over each other, once asked for.
    pub set: Option<super::set::SetCurves>,
    /// Lines of a reference table that were not taken, with what to do.
    pub not_taken: Vec<String>,
    /// The trial whose trace stands over the first view.
    pub sample: Option<Box<(SavedTrial, Open)>>,
    /// The last entry of a block that was refused.
    pub refused: Option<Refused>,
    /// What reports' files are laid out for.
    pub paper: Paper,
    /// The link asked for: its text after `#`, or why there is none.
    pub link: Option<Result<String, String>>,
    /// The summary of a link that was opened, or why it cannot be read.
    pub shared: Option<Result<Box<Brief>, String>>,
    /// The page's address without what is after `#`.
    pub base: String,
}

impl Default for State {
    fn default() -> Self {
        Self {
            locale: Locale::default(),
            now: String::new(),
            today: Date(0),
            visit: String::new(),
            made: 0,
            width: 0.0,
            loaded: false,
            heads: BTreeMap::new(),
            saved: BTreeMap::new(),
            athletes: BTreeMap::new(),
            sessions: BTreeMap::new(),
            questions: BTreeMap::new(),
            checks: BTreeMap::new(),
            references: BTreeMap::new(),
            blocks: BTreeMap::new(),
            layouts: BTreeMap::new(),
            unsaved: BTreeMap::new(),
            not_saved: BTreeSet::new(),
            troubles: Vec::new(),
            arriving: None,
            jobs: Vec::new(),
            doubts: Vec::new(),
            pattern: DEFAULT_PATTERN.into(),
            place: None,
            protocols: BTreeMap::new(),
            watching: None,
            screen: Screen::Start,
            open: None,
            partial: 0,
            columns: None,
            list: List::default(),
            undo: Vec::new(),
            message: None,
            erasing: None,
            storage: Storage::default(),
            pool: None,
            choice: Choice::default(),
            study: None,
            overlay: None,
            set: None,
            not_taken: Vec::new(),
            sample: None,
            refused: None,
            paper: Paper::Printer,
            link: None,
            shared: None,
            base: String::new(),
        }
    }
}

/// A change that can be taken back.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// What was done.
    pub words: String,
    /// The records before it; none where a record was made by it.
    pub before: Vec<(String, Option<Record>)>,
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
    /// The athlete on whose screen it was dropped.
    pub athlete: Option<String>,
}

impl Job {
    /// A file that waits.
    pub fn waiting(key: u32, name: &str, bytes: f64) -> Self {
        Self { key, name: name.into(), bytes, state: JobState::Waiting, deaths: 0, options: Options::default(), athlete: None }
    }
}

/// How far a file is.
#[derive(Debug, Clone, PartialEq)]
pub enum JobState {
    /// Waiting for the worker.
    Waiting,
    /// In the worker; bytes read.
    Working(f64),
    /// Analysed: ids of its trials, what was not a trial, and how many of the trials were on this device already.
    Done(Vec<String>, Vec<String>, usize),
    /// It gives no recording.
    Failed(ReadError),
    /// Stopped by the reader.
    Cancelled,
}

impl State {
    /// Trials on the list that match its words, in its order.
    pub fn listed(&self) -> Vec<&Head> {
        let words: Vec<String> = self.list.words.lower().split_whitespace().map(str::to_owned).collect();
        // An athlete's name and its place in the order, made once for all his trials.
        let mut names: Vec<(String, &str)> = self.athletes.values().map(|a| (a.body.name.lower(), a.envelope.id.as_str())).collect();
        names.sort_unstable();
        let place: BTreeMap<&str, usize> = names.iter().enumerate().map(|(i, (_, id))| (*id, i + 1)).collect();
        let of = |h: &Head| if h.athlete_id.is_empty() { 0 } else { place.get(&*h.athlete_id).copied().unwrap_or(usize::MAX) };
        let matches = |h: &Head| {
            let name = of(h).checked_sub(1).and_then(|i| names.get(i)).map_or("", |(name, _)| name);
            words.iter().all(|w| {
                name.contains(w.as_str())
                    || h.file.lower().contains(w.as_str())
                    || crate::charts::words::test_name(h.test).lower().contains(w.as_str())
            })
        };
        let mut trials: Vec<(usize, &Head)> =
            self.heads.values().filter(|h| !h.removed && (words.is_empty() || matches(h))).map(|h| (of(h), h)).collect();
        let latest = |a: &Head, b: &Head| b.added.cmp(&a.added).then_with(|| a.file.cmp(&b.file)).then(a.start_s.total_cmp(&b.start_s));
        match self.list.order {
            Order::Athlete => trials.sort_unstable_by(|(p, a), (q, b)| p.cmp(q).then_with(|| latest(a, b)).then_with(|| a.id.cmp(&b.id))),
            Order::Added => trials.sort_unstable_by(|(_, a), (_, b)| latest(a, b).then_with(|| a.id.cmp(&b.id))),
            Order::Height => trials.sort_unstable_by(|(_, a), (_, b)| {
                let value = |h: &Head| if h.value.0.is_nan() { f64::NEG_INFINITY } else { h.value.0 };
                a.test.cmp(&b.test).then_with(|| value(b).total_cmp(&value(a))).then_with(|| a.id.cmp(&b.id))
            }),
        }
        trials.into_iter().map(|(_, h)| h).collect()
    }
    /// Athletes that are not removed, by name.
    pub fn squad(&self) -> Vec<&Kept<Athlete>> {
        let mut all: Vec<&Kept<Athlete>> = self.athletes.values().filter(|a| !a.removed).collect();
        all.sort_by_cached_key(|a| a.body.name.lower());
        all
    }
    /// Sessions that are not removed, latest first.
    pub fn days(&self) -> Vec<&Kept<Session>> {
        let mut all: Vec<&Kept<Session>> = self.sessions.values().filter(|s| !s.removed).collect();
        all.sort_by(|a, b| b.body.date.cmp(&a.body.date).then_with(|| a.envelope.id.cmp(&b.envelope.id)));
        all
    }
    /// An athlete's name; empty for none.
    pub fn athlete_name(&self, id: &str) -> &str {
        self.athletes.get(id).map_or("", |a| a.body.name.as_str())
    }
    /// The one athlete of a name, past its spelling; none where there are none or two.
    pub fn athlete_named(&self, name: &str) -> Option<&Kept<Athlete>> {
        let key = name_key(name);
        let mut all = self.athletes.values().filter(|a| !a.removed && name_key(&a.body.name) == key);
        let first = all.next()?;
        all.next().is_none().then_some(first)
    }
    /// An athlete's trials on the list, in order of session and file.
    pub fn trials_of(&self, athlete_id: &str) -> Vec<&Head> {
        let mut trials: Vec<&Head> = self.heads.values().filter(|h| !h.removed && &*h.athlete_id == athlete_id).collect();
        trials.sort_by(|a, b| {
            let day = |h: &Head| self.day_of(h);
            day(b).cmp(&day(a)).then_with(|| a.file.cmp(&b.file)).then(a.start_s.total_cmp(&b.start_s))
        });
        trials
    }
    /// The day of a trial: its session's, else the day it came to this device.
    pub fn day_of(&self, head: &Head) -> Option<Date> {
        self.sessions.get(&*head.session_id).map(|s| s.body.date).or_else(|| head.added_on())
    }
    /// Answers of an athlete on a day, the latest.
    pub fn answers(&self, athlete_id: &str, day: Date) -> Option<&Answers> {
        let of = self.questions.values().filter(|q| !q.removed && q.body.athlete_id == athlete_id && q.body.date == day);
        of.max_by(|a, b| a.envelope.updated.cmp(&b.envelope.updated)).map(|q| &q.body)
    }
    /// An athlete's latest answers of a day or one before: what closes goes on until he is asked again.
    pub fn last_answers(&self, athlete_id: &str, day: Date) -> Option<&Answers> {
        let of = self.questions.values().filter(|q| !q.removed && q.body.athlete_id == athlete_id && q.body.date <= day);
        of.max_by(|a, b| (a.body.date, &a.envelope.updated).cmp(&(b.body.date, &b.envelope.updated))).map(|q| &q.body)
    }
    /// Trials of the same file as `of`, in order.
    pub fn siblings(&self, of: &SavedTrial) -> Vec<&Head> {
        let Some(head) = self.heads.get(of.envelope.id.as_str()) else { return vec![] };
        let key = head.file_key();
        let from: Rc<str> = key.into();
        let mut trials: Vec<&Head> = self
            .heads
            .range(from..)
            .map(|(_, h)| h)
            .take_while(|h| h.id.starts_with(key))
            .filter(|h| h.file_key() == key && !h.removed)
            .collect();
        trials.sort_by(|a, b| a.start_s.total_cmp(&b.start_s));
        trials
    }
    /// Whether a file is waiting or in the worker.
    pub fn working(&self) -> bool {
        self.jobs.iter().any(|j| matches!(j.state, JobState::Waiting | JobState::Working(_)))
    }
    /// The trial on show, once it is at hand.
    pub fn shown(&self) -> Option<&SavedTrial> {
        match &self.screen {
            Screen::Trial(id) => self.trial(id),
            _ => None,
        }
    }
    /// A record that is at hand.
    pub fn record(&self, id: &str) -> Option<Record> {
        let trial = self.saved.get(id).map(|t| Record::Trial(Rc::clone(t)));
        trial.or_else(|| self.record_but_a_trial(id))
    }
    #[inline(never)]
    fn record_but_a_trial(&self, id: &str) -> Option<Record> {
        let athlete = || self.athletes.get(id).map(|a| Record::Athlete(a.clone()));
        let session = || self.sessions.get(id).map(|s| Record::Session(s.clone()));
        let question = || self.questions.get(id).map(|q| Record::Question(q.clone()));
        let check = || self.checks.get(id).map(|c| Record::PlateCheck(c.clone()));
        let reference = || self.references.get(id).map(|r| Record::Reference(r.clone()));
        let block = || self.blocks.get(id).map(|b| Record::Block(b.clone()));
        let layout = || self.layouts.get(id).map(|l| Record::Layout(l.clone()));
        athlete().or_else(session).or_else(question).or_else(check).or_else(reference).or_else(block).or_else(layout)
    }
    /// A trial that is at hand whole.
    pub fn trial(&self, id: &str) -> Option<&SavedTrial> {
        self.saved.get(id).map(|trial| &**trial)
    }
    /// All of them.
    pub fn trials(&self) -> impl Iterator<Item = &SavedTrial> {
        self.saved.values().map(|trial| &**trial)
    }
    /// Puts a record into its place, without saving it.
    pub fn insert(&mut self, record: Record) {
        let id = record.id().to_owned();
        match record {
            Record::Trial(trial) => {
                let head = Head::of(&trial);
                self.heads.insert(Rc::clone(&head.id), head);
                self.saved.insert(id, trial);
            }
            Record::Athlete(kept) => drop(self.athletes.insert(id, kept)),
            Record::Session(kept) => drop(self.sessions.insert(id, kept)),
            Record::Question(kept) => drop(self.questions.insert(id, kept)),
            Record::PlateCheck(kept) => drop(self.checks.insert(id, kept)),
            Record::Reference(kept) => drop(self.references.insert(id, kept)),
            Record::Block(kept) => drop(self.blocks.insert(id, kept)),
            Record::Layout(kept) => drop(self.layouts.insert(id, kept)),
        }
    }
    /// Forgets everything about a key, undo included.
    pub fn forget(&mut self, id: &str) {
        self.heads.remove(id);
        self.saved.remove(id);
        self.athletes.remove(id);
        self.sessions.remove(id);
        self.questions.remove(id);
        self.checks.remove(id);
        self.references.remove(id);
        self.blocks.remove(id);
        self.layouts.remove(id);
        self.unsaved.remove(id);
        self.not_saved.remove(id);
        self.doubts.retain(|d| d.here != id && !d.ids.iter().any(|i| i == id));
        self.undo.retain(|change| change.before.iter().all(|(key, _)| key != id));
    }
    /// A key that no other record has.
    pub fn new_id(&mut self, kind: &str) -> String {
        self.made += 1;
        let digits: String = self.now.chars().filter(char::is_ascii_digit).collect();
        format!("{kind}-{digits}{}-{}", self.visit, self.made)
    }
}
