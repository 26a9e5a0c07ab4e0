//! What can be wrong with a backup file: what, where, what was expected, what to try.

/// The sort of fault.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    /// Not a backup of this program.
    Foreign,
    /// Written by a newer version.
    Newer,
    /// Not the bytes that were written.
    Damaged,
    /// It ends before its end.
    Cut,
    /// It is locked, and the passphrase does not fit.
    Locked,
    /// Something to be written is larger than the form allows.
    TooLarge,
    /// Blocks were given back in another order than they were made: a fault of the caller.
    Order,
}

/// A fault with its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BackupError {
    /// What sort.
    pub fault: Fault,
    /// The frame, counted from 0.
    pub frame: u64,
    /// Where that frame begins in the file.
    pub byte: u64,
    /// What was found.
    pub found: String,
    /// What was expected.
    pub expected: String,
}

impl BackupError {
    pub(super) fn new(fault: Fault, frame: u64, byte: u64) -> Self {
        Self { fault, frame, byte, found: String::new(), expected: String::new() }
    }
    pub(super) fn because(mut self, found: String, expected: String) -> Self {
        self.found = found;
        self.expected = expected;
        self
    }
    /// The passphrase does not open this block.
    pub fn locked(frame: u64, byte: u64) -> Self {
        Self::new(Fault::Locked, frame, byte)
            .because("a block that this passphrase does not open".into(), "the passphrase that the backup was made with".into())
    }
    /// What it is, in a few words.
    pub fn what(&self) -> &'static str {
        match self.fault {
            Fault::Foreign => "This file is no backup of this program",
            Fault::Newer => "This backup was written by a newer version",
            Fault::Damaged => "This backup is damaged",
            Fault::Cut => "This backup is not complete",
            Fault::Locked => "This backup is locked",
            Fault::TooLarge => "Something is too large for a backup",
            Fault::Order => "Blocks of a backup were mixed up while it was made",
        }
    }
    /// What to try.
    pub fn attempt(&self) -> &'static str {
        match self.fault {
            Fault::Foreign => "choose the file that was saved as a backup.",
            Fault::Newer => "reload the page while online, then restore again.",
            Fault::Damaged => "take another copy of the file, or restore what is whole in this one.",
            Fault::Cut => "copy or download the file again, or restore what is whole in this one.",
            Fault::Locked => "type the passphrase again; capitals and spaces count.",
            Fault::TooLarge => "save that trial by itself as a file and back up the rest without it.",
            Fault::Order => "make the backup again.",
        }
    }
}

impl std::fmt::Display for BackupError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self { frame, byte, found, expected, .. } = self;
        write!(f, "{} (frame {frame}, byte {byte}): found {found}; expected {expected}. Try: {}", self.what(), self.attempt())
    }
}

impl std::error::Error for BackupError {}
