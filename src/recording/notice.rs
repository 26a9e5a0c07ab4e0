//! What the reader and every later room tell beside a result, and the one error a file can give.
use serde::{Deserialize, Serialize};

/// Something a person should know about a recording or a trial; collected beside results.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Notice {
    /// Stable machine-readable name, `snake_case`.
    pub code: String,
    /// One sentence for a person.
    pub message: String,
    /// Where in the recording, seconds from its first sample.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub at_s: Option<f64>,
    /// What to do at the next test so that it does not come back.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub next_time: Option<String>,
}

/// Codes of notices and errors that are one question to a person: what was done meanwhile may be wrong.
pub const QUESTIONS: &[&str] = &[
    "sides_guessed",
    "cells_guessed",
    "columns_guessed",
    "rate_guessed",
    "joined_guessed",
    "unit_unclear",
    "no_rate",
    "number_two_ways",
    "no_force_column",
];

impl Notice {
    /// A notice without place or advice.
    pub fn new(code: &str, message: impl Into<String>) -> Self {
        Self { code: code.into(), message: message.into(), at_s: None, next_time: None }
    }
    /// The same, at a time in seconds from the recording's first sample.
    #[must_use]
    pub fn at(mut self, at_s: f64) -> Self {
        self.at_s = Some(at_s);
        self
    }
    /// The same, with what to do next time.
    #[must_use]
    pub fn next_time(mut self, advice: impl Into<String>) -> Self {
        self.next_time = Some(advice.into());
        self
    }
}

/// Why a file gives no recording: what, where, what was expected, what to try.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ReadError {
    /// Stable machine-readable name, `snake_case`.
    pub code: String,
    /// One sentence for a person.
    pub message: String,
    /// Line of the file, from 1.
    pub row: Option<u64>,
    /// Column of the table, from 1.
    pub column: Option<u64>,
    /// What stood there (shortened).
    pub found: Option<String>,
    /// What should have stood there.
    pub expected: Option<String>,
    /// What the reader of this message can do.
    #[serde(rename = "try")]
    pub try_next: String,
}

impl ReadError {
    /// An error with a message and a remedy; places are added with [`Self::row`], [`Self::column`], [`Self::found`], [`Self::expected`].
    pub fn new(code: &str, message: impl Into<String>, try_next: impl Into<String>) -> Self {
        Self { code: code.into(), message: message.into(), row: None, column: None, found: None, expected: None, try_next: try_next.into() }
    }
    /// A file without a single row.
    pub(crate) fn empty() -> Self {
        Self::new("empty", "The file is empty.", "Export the recording again and open the new file.")
            .found("nothing")
            .expected("rows of numbers")
    }
    /// Adds the line of the file, from 1.
    #[must_use]
    pub fn row(mut self, row: u64) -> Self {
        self.row = Some(row);
        self
    }
    /// Adds the column of the table, from 1.
    #[must_use]
    pub fn column(mut self, column: u64) -> Self {
        self.column = Some(column);
        self
    }
    /// Adds what stood there, cut to 60 characters.
    #[must_use]
    pub fn found(mut self, found: &str) -> Self {
        self.found = Some(found.chars().take(60).collect());
        self
    }
    /// Adds what should have stood there.
    #[must_use]
    pub fn expected(mut self, expected: impl Into<String>) -> Self {
        self.expected = Some(expected.into());
        self
    }
}

impl std::fmt::Display for ReadError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.message)?;
        if let Some(row) = self.row {
            write!(f, " Row {row}")?;
            if let Some(column) = self.column {
                write!(f, ", column {column}")?;
            }
            f.write_str(".")?;
        }
        if let Some(found) = &self.found {
            write!(f, " Found: {found:?}.")?;
        }
        if let Some(expected) = &self.expected {
            write!(f, " Expected: {expected}.")?;
        }
        write!(f, " Try: {}", self.try_next)
    }
}

impl std::error::Error for ReadError {}
