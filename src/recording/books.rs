//! Files that are no text but hold a table: spreadsheets and motion capture. Each is turned into a table of text and read on from there.
use super::ReadError;

/// A file's table as text.
pub(super) struct Book {
    pub text: String,
    pub format: &'static str,
}

/// Whether the first bytes are those of a spreadsheet or a motion-capture file.
pub(super) fn is_book(_head: &[u8]) -> bool {
    false
}

/// The table of such a file.
///
/// # Errors
/// Where it is damaged or holds no table.
pub(super) fn to_text(_bytes: &[u8]) -> Result<Book, ReadError> {
    Err(ReadError::new("zip", "This is an archive.", "Export as text."))
}
