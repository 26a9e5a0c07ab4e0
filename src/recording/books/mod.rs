//! Files that are no text but hold a table: spreadsheets and motion capture. Each is turned into a table of text, and read on
//! from there: by the same guesses, questions and refusals as any other.
mod c3d;
mod office_open;
mod open_document;
mod sheet;
mod zip;

use super::ReadError;

/// A file's table as text.
pub(super) struct Book {
    pub text: String,
    pub format: &'static str,
}

/// Whether the first bytes are those of a zip archive (which may be a spreadsheet) or a motion-capture file.
pub(super) fn is_book(head: &[u8]) -> bool {
    head.starts_with(b"PK\x03\x04") || c3d::is_c3d(head)
}

/// Whether a file that begins so must be seen whole before anything can be said about it.
pub fn needs_all(head: &[u8]) -> bool {
    is_book(head)
}

/// The table of such a file.
///
/// # Errors
/// Where it is damaged or holds no table.
pub(super) fn to_text(bytes: &[u8]) -> Result<Book, ReadError> {
    if c3d::is_c3d(bytes) {
        return Ok(Book { text: c3d::to_text(bytes)?, format: "C3D" });
    }
    let archive = zip::Archive::open(bytes).ok_or_else(|| damaged("archive"))?;
    if archive.has("xl/workbook.xml") {
        return Ok(Book { text: office_open::to_text(&archive)?, format: "xlsx" });
    }
    if archive.has("content.xml") {
        return Ok(Book { text: open_document::to_text(&archive)?, format: "ods" });
    }
    Err(ReadError::new("zip", "This is a zip archive and holds no spreadsheet.", "Unpack it and open the files in it.")
        .row(1)
        .found("a zip archive")
        .expected("a table of numbers as text, a spreadsheet or C3D"))
}

/// The error for a file that begins rightly and does not go on so.
fn damaged(what: &str) -> ReadError {
    ReadError::new(
        if what == "C3D file" { "damaged_c3d" } else { "zip" },
        format!("This {what} is damaged or incomplete."),
        "Copy or export it again, and let the copy finish.",
    )
    .row(1)
    .found("the beginning of one")
    .expected("a whole file")
}
