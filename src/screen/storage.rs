//! What the page knows of its store: room, promises, the last backup, and a backup being taken in.
use super::tables::Wanted;
use crate::people::Date;
use crate::records::merge::{Conflict, Erased};
use std::collections::BTreeSet;

/// What the page knows of its store.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Storage {
    /// Bytes used and bytes allowed, as the browser estimates them.
    pub room: Option<(f64, f64)>,
    /// Whether the browser promised to keep the store; none where it cannot be asked.
    pub durable: Option<bool>,
    /// Whether it was asked in this visit.
    pub asked: bool,
    /// When the last backup was written, ISO 8601.
    pub last_backup: Option<String>,
    /// What goes on, in words; none when nothing does.
    pub busy: Option<String>,
    /// A table of the squad that waits for its figures.
    pub wanted: Option<Wanted>,
    /// What came of the last of it.
    pub outcome: Option<Result<String, String>>,
    /// A chosen backup, compared.
    pub compared: Option<Compared>,
    /// Its passphrase, until it is taken in.
    pub passphrase: String,
}

/// A chosen backup, compared with what is here.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Compared {
    /// Records that are not here yet.
    pub new: u32,
    /// Records that are here and equal.
    pub same: u32,
    /// Records that differ.
    pub conflicts: Vec<Conflict>,
    /// Records that were erased here, by what they hang on.
    pub erased: Vec<Erased>,
    /// What was erased where the file is from and is still here: what, and when.
    pub erased_there: Vec<(String, Date)>,
    /// Records that are left out, with the reason.
    pub left_out: Vec<String>,
}

/// Which conflicts the file wins, and what comes back.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Choices {
    /// Keys of records of which the file's version is taken.
    pub theirs: BTreeSet<String>,
    /// Erased keys that come back, with what hangs on them.
    pub back: BTreeSet<String>,
}

/// A long task of the store.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Progress {
    /// It goes on.
    Busy(String),
    /// A backup was written.
    BackedUp(String),
    /// Something else ended well.
    Done(String),
    /// It failed.
    Failed(String),
}
