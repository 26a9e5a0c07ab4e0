//! What can happen, and what the browser can be asked to do about it.
use super::storage::{Choices, Compared, Progress};
use super::{Fields, Screen};
use crate::answer::{FileAnswer, Options, Trial};
use crate::people::Date;
use crate::recording::Recording;
use crate::records::tidy::Flavour;
use crate::records::{Head, Pool, Record, SavedTrial, WindowHead};

/// What the store held when the page opened.
#[derive(Debug, Clone, Default)]
pub struct Opening {
    /// Every trial, as a list shows it.
    pub heads: Vec<Head>,
    /// Every record that is no trial.
    pub records: Vec<Record>,
    /// What could not be read, in words.
    pub troubles: Vec<String>,
    /// What this browser remembers of the reader's choices: name, value.
    pub settings: Vec<(String, String)>,
    /// Whether it takes the place of what the page knew before, as after a backup was taken in.
    pub fresh: bool,
    /// Whether this page is open in other tabs, too.
    pub others: bool,
}

/// A file's answer as it comes from the worker; the force of its trials waits with the page.
#[derive(Debug, Clone, PartialEq)]
pub struct Arrived {
    /// What was found.
    pub answer: FileAnswer,
    /// One a trial, in order.
    pub windows: Vec<WindowHead>,
    /// The invented athlete's name, with a demo file.
    pub athlete: Option<String>,
}

/// Something that happened.
#[derive(Debug, Clone)]
pub enum Event {
    /// The store was read.
    Loaded(Box<Opening>),
    /// Files were dropped or chosen: key, name and bytes of each.
    Files(Vec<(u32, String, f64)>),
    /// Files appeared in the watched folder: whatever is looked at meanwhile, nobody dropped them there.
    Appeared(Vec<(u32, String, f64)>),
    /// Read a file again with what its reader states: key, columns, sampling rate (Hz); empty where not stated.
    ReadAgain(u32, String, String),
    /// The demo squad was asked for.
    Demo,
    /// A file's bytes are being read.
    Progress(u32, f64),
    /// A part of a file's trials; the others follow at once, the last of them with [`Event::Analysed`].
    Arriving(u32, Box<Arrived>),
    /// A file was analysed.
    Analysed(u32, Box<Arrived>),
    /// The worker looked at a file's columns.
    Looked(u32, Box<Result<crate::recording::Explained, crate::recording::ReadError>>),
    /// The demo squad is complete.
    DemoDone,
    /// The worker died over a file.
    WorkerDied(u32, String),
    /// Stop reading.
    Cancel,
    /// Show the start.
    Home,
    /// Show a screen.
    Go(Screen),
    /// Show a saved trial.
    Open(String),
    /// The force of a trial was read from the store.
    Window(String, Box<Recording>),
    /// What is drawn first stands; draw the rest.
    DrawRest,
    /// Records of trials were read from the store.
    Fetched(Vec<SavedTrial>),
    /// Trials that were asked for cannot be opened: their keys, and why.
    Lost(Vec<String>, String),
    /// Saves are on the disk and were read back.
    Stored(Vec<String>),
    /// Saves failed: the records, and why.
    StoreFailed(Vec<String>, String),
    /// Another tab saved these records and erased those keys.
    Elsewhere(Vec<Record>, Vec<String>),
    /// Put an event of the open trial at a time, s; back where it was found, without one.
    MoveEvent(String, Option<f64>),
    /// Zoom about a time by a factor (below 1 zooms in); about the middle without one.
    Zoom(f64, Option<f64>),
    /// Shift the view by a part of its width.
    Pan(f64),
    /// Show the whole window.
    WholeTrace,
    /// Show or hide `velocity`, `displacement` or `power`.
    Layer(String),
    /// Set a figure's stretch off on the trace, or stop doing so.
    Highlight(String),
    /// File a trial under an athlete by name, on a day (today where none); an empty name unfiles it.
    FileUnder(String, String, Option<Date>),
    /// Take a trial off the list.
    Remove(String),
    /// A form was sent: its name, what it is about, its fields.
    Form(String, String, Fields),
    /// A button was pressed: its name, what it is about.
    Do(String, String),
    /// Take the last change back.
    Undo,
    /// The message was read.
    Dismiss,
    /// Take a finished file off the list of files.
    Forget(u32),
    /// Give the open trial's document as a file.
    Download,
    /// Print.
    Print,
    /// The page is this wide, px.
    Width(f64),
    /// A trial was computed again by this version's methods; none where its force cannot be read.
    Recomputed(String, Option<Box<Trial>>),
    /// Everything of an athlete is erased.
    Erased(String),
    /// How much room there is (bytes used, bytes allowed), and whether the browser promised to keep it.
    Room(f64, f64, Option<bool>),
    /// A backup, restore or export goes on, or ended.
    Storage(Progress),
    /// A backup was compared with what is here.
    Compared(Box<Compared>),
    /// A folder is watched (its name), or no longer.
    Watching(Option<String>),
    /// The day, where the reader is.
    Today(Date),
    /// The figures of all trials that were asked for.
    Pooled(Box<Pool>),
    /// Trials with their force, to be laid over each other.
    Windows(Vec<(SavedTrial, Recording)>),
    /// The page was opened by a link that is a summary: its text after `#`.
    Link(String),
    /// Something outside this function failed.
    Failed(String),
}

/// Something for the browser to do.
#[derive(Debug, Clone, PartialEq)]
pub enum Effect {
    /// Analyse a file with these choices.
    Analyse(u32, Box<Options>),
    /// Look at a file's columns.
    Look(u32, Box<Options>),
    /// Analyse the demo squad, under this key; its days lie before this one.
    Demo(u32, Date),
    /// Stop whatever the worker does.
    StopWork,
    /// Let go of a file.
    Release(u32),
    /// Let go of force that came from a file but is not to be saved.
    LetGo,
    /// Save records in one transaction, with the force that waits for them.
    Save(Vec<Record>),
    /// Erase trials that were taken off the list in an earlier visit.
    Purge(Vec<String>),
    /// Read the records of trials, then take the event again.
    Fetch(Vec<String>, Box<Again>),
    /// Read a trial's force.
    LoadWindow(String),
    /// Read trials with their force.
    Windows(Vec<String>),
    /// Compute trials again by this version's methods.
    Recompute(Vec<String>),
    /// Put the screen into the address, so that "back" works.
    Address(String),
    /// Hand over a file: name, text.
    Download(String, String),
    /// Open the print dialogue.
    Print,
    /// Remember a choice in this browser: name, value.
    Remember(&'static str, String),
    /// Erase these records and their force, here and in other tabs: keys, whose.
    Erase(Vec<String>, String),
    /// Ask the browser to keep the store for good.
    AskDurable,
    /// Ask how much room there is.
    AskRoom,
    /// Write a backup: file name, passphrase (empty for none).
    Backup(String, String),
    /// Compare the chosen backup with what is here: passphrase.
    Compare(String),
    /// Take the chosen backup in: passphrase, which conflicts the file wins, and what comes back.
    Merge(String, Choices),
    /// Write all figures as a table: file name, form, JSON instead of CSV.
    Export(String, Flavour, bool),
    /// Choose a folder and watch it, or stop.
    Watch(bool),
    /// Read these columns of the derived table.
    Pool(Vec<String>),
    /// Hand over the report of the study on show as a file: the coach's, or the athlete's.
    Report(bool),
}

/// An event to be taken again; equal where it reads the same.
#[derive(Debug, Clone)]
pub struct Again(pub Event);

impl PartialEq for Again {
    fn eq(&self, other: &Self) -> bool {
        format!("{:?}", self.0) == format!("{:?}", other.0)
    }
}
