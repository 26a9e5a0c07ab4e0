//! The reader's slow, readable twin: the whole file in memory, every row through the csv crate and `str::parse`.
//!
//! Tests hold [`super::Reader`] against it, sample for sample. It shares the first look, the handling
//! of rows that are no plain numbers, and the clock; it shares nothing of the fast loop and of the cutting into lines.
use super::cells::Dialect;
use super::finish;
use super::reader::{FIRST_HEAD, LONGEST_LINE, look_at, next_head, too_long, whole_row};
use super::rows::Rows;
use super::{ReadError, ReadOptions, Recording, books};

/// Reads one file slowly.
///
/// # Errors
/// As [`super::Reader::finish`].
pub fn read_slowly(bytes: &[u8], options: &ReadOptions) -> Result<Recording, ReadError> {
    let mut format = None;
    let book;
    let mut bytes = bytes;
    if books::is_book(bytes) {
        book = books::to_text(bytes)?;
        (bytes, format) = (book.text.as_bytes(), Some(book.format));
    }
    // The reader looks at the same heads, one after another.
    let mut length = if format.is_some() { usize::MAX } else { FIRST_HEAD };
    let understood = loop {
        let whole = bytes.len() < length;
        match look_at(bytes.get(..length).unwrap_or(bytes), whole, options)? {
            Some(understood) => break understood,
            None => length = next_head(bytes.get(..length).unwrap_or(bytes)),
        }
    };
    let (mut head, mut rows, join) = (understood.head, understood.rows, understood.transcoder.joins());
    head.format = format;
    let text = super::encoding::decode(head.encoding, bytes);
    let text = if text.contains('\n') { text } else { text.replace('\r', "\n") };
    let text = if join { super::encoding::join_quoted(&text) } else { text };
    let mut lines: Vec<&str> = text.split('\n').collect();
    // What stands behind the last line end is a row of its own kind.
    let begun = lines.pop().unwrap_or_default();
    let skip = usize::try_from(head.look.first_row - 1).unwrap_or(usize::MAX);
    for line in lines.iter().skip(skip) {
        row(&mut rows, line)?;
    }
    if begun.len() > LONGEST_LINE {
        return Err(too_long(rows.line));
    }
    let mut cut = None;
    if !begun.trim().is_empty() && rows.stop.is_none() {
        // As the rows settled it: the head may not have shown the decimal mark.
        let dialect = rows.plan.dialect;
        let before = lines.get(skip..).and_then(<[&str]>::last).copied().unwrap_or_default();
        let first = super::cells::cells(begun, dialect.delimiter).into_iter().next().unwrap_or_default();
        let numeric = super::cells::number(&first, dialect.mark, dialect.grouped).is_some();
        if numeric && !whole_row(begun, before, dialect, rows.plan.wanted.len()) {
            cut = Some(rows.line);
        } else {
            row(&mut rows, begun)?;
        }
    }
    let all = finish::recordings(&head, rows, cut, options)?;
    all.into_iter().next().ok_or_else(ReadError::empty)
}

fn row(rows: &mut Rows, line: &str) -> Result<(), ReadError> {
    if line.len() > LONGEST_LINE {
        return Err(too_long(rows.line));
    }
    let wanted = rows.plan.wanted.clone();
    let worded = rows.plan.lead && line.starts_with(|c: char| c.is_ascii_alphabetic() || c == '"' || !c.is_ascii());
    let plain = !worded && rows.stop.is_none() && !rows.restart && !rows.plan.clock;
    match cells(line, rows.plan.dialect, &wanted).filter(|_| !rows.undecided || !line.contains(['.', ','])) {
        Some(values) if plain => rows.store(&values),
        _ => rows.cold_text(line)?,
    }
    rows.line += 1;
    Ok(())
}

/// The wanted cells of a row of plain numbers.
fn cells(line: &str, dialect: Dialect, wanted: &[bool]) -> Option<Vec<f64>> {
    let line = line.trim_end_matches('\r');
    // A bare return inside a line ends a record for the csv crate, but no line here.
    if line.contains('\r') {
        return None;
    }
    let texts: Vec<String> = if dialect.delimiter == b' ' {
        line.split([' ', '\t']).filter(|c| !c.is_empty()).map(str::to_string).collect()
    } else {
        let mut reader =
            csv::ReaderBuilder::new().has_headers(false).flexible(true).delimiter(dialect.delimiter).from_reader(line.as_bytes());
        let record = reader.records().next()?.ok()?;
        record.iter().map(|c| c.trim().to_string()).collect()
    };
    let mut values = Vec::new();
    for (k, want) in wanted.iter().enumerate() {
        let text = texts.get(k)?;
        if !want {
            values.push(f64::NAN);
            continue;
        }
        let other = if dialect.mark == b',' { '.' } else { ',' };
        if text.contains(other) {
            return None;
        }
        let value: f64 = text.replace(dialect.mark as char, ".").parse().ok()?;
        if !value.is_finite() {
            return None;
        }
        values.push(value);
    }
    Some(values)
}
