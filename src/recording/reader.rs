//! The streaming reader.
use super::{ReadError, Recording};

/// What the caller states about a file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ReadOptions {
    /// Sampling rate, Hz, for files that state none.
    pub rate_hz: Option<f64>,
    /// What each column is: see `answer::Options::columns`.
    pub columns: Option<String>,
}

/// Reads one file in pieces of any size.
pub struct Reader {}

impl Reader {
    /// A reader for one file.
    pub fn new(_options: &ReadOptions) -> Self {
        Self {}
    }
    /// Takes the next bytes.
    ///
    /// # Errors
    /// As soon as the file is known not to be readable.
    pub fn feed(&mut self, _bytes: &[u8]) -> Result<(), ReadError> {
        Ok(())
    }
    /// The recording.
    ///
    /// # Errors
    /// What, where, what was expected, what to try.
    pub fn finish(self) -> Result<Recording, ReadError> {
        Err(ReadError::new("empty", "The file is empty.", "Export it again."))
    }
}
