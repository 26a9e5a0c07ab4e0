//! What can happen, and what the browser can be asked to do about it.
use crate::answer::{Analysis, Options};
use crate::recording::Recording;
use crate::records::SavedTrial;

/// Something that happened.
#[derive(Debug, Clone)]
pub enum Event {
    /// The store was read: the records, and what could not be read.
    Loaded(Vec<SavedTrial>, Vec<String>),
    /// Files were dropped or chosen: key, name and bytes of each.
    Files(Vec<(u32, String, f64)>),
    /// Read a file again with what its reader states: key, columns, sampling rate (Hz); empty where not stated.
    ReadAgain(u32, String, String),
    /// The demo squad was asked for.
    Demo,
    /// A file's bytes are being read.
    Progress(u32, f64),
    /// A file was analysed; the invented athlete's name with a demo file.
    Analysed(u32, Box<Analysis>, Option<String>),
    /// The demo squad is complete.
    DemoDone,
    /// The worker died over a file.
    WorkerDied(u32, String),
    /// Stop reading.
    Cancel,
    /// Show the start.
    Home,
    /// Show a saved trial.
    Open(String),
    /// The force of a trial was read from the store.
    Window(String, Box<Recording>),
    /// A save is on the disk and was read back.
    Stored(String),
    /// A save failed: the trial, and why.
    StoreFailed(String, String),
    /// Put an event of the open trial at a time, s.
    MoveEvent(String, f64),
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
    /// File a trial under an athlete; an empty name unfiles it.
    FileUnder(String, String),
    /// Take a trial off the list.
    Remove(String),
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
    /// Something outside this function failed.
    Failed(String),
}

/// Something for the browser to do.
#[derive(Debug, Clone, PartialEq)]
pub enum Effect {
    /// Analyse a file with these choices.
    Analyse(u32, Box<Options>),
    /// Analyse the demo squad, under this key.
    Demo(u32),
    /// Stop whatever the worker does.
    StopWork,
    /// Let go of a file.
    Release(u32),
    /// Save a record and its force.
    Save(Box<SavedTrial>, Box<Recording>),
    /// Save a record; its force is saved already.
    SaveRecord(Box<SavedTrial>),
    /// Erase what was taken off the list in an earlier session.
    Purge(String),
    /// Read a trial's force.
    LoadWindow(String),
    /// Put the screen into the address, so that "back" works.
    Address(String),
    /// Hand over a file: name, text.
    Download(String, String),
    /// Open the print dialogue.
    Print,
}
