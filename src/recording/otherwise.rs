//! Numbers that change their look midway: another decimal mark, another character between cells. What one half means the other
//! does not, so the file is refused with the row where it changes, and not read in part.
use super::ReadError;
use super::cells::{Dialect, cells, number};
use super::look::CANDIDATES;

/// Lines above the table that are a table of their own.
const FEWEST: usize = 3;

/// A row of numbers in another dialect, the first of some.
#[derive(Debug, Clone)]
pub(super) struct Other {
    row: u64,
    found: String,
    dialect: Dialect,
    /// How many there are.
    pub rows: u64,
}

/// Whether a line begins as numbers do: headers and most footers do not, and need no closer look.
#[inline]
pub(super) fn may_be_numbers(line: &str) -> bool {
    line.trim_start_matches(['"', ' ', '\t', '+', '-']).starts_with(|c: char| c.is_ascii_digit())
}

/// Whether the line above the table does.
#[inline]
pub(super) fn numbers_above(lines: &[&str], first: usize) -> bool {
    first.checked_sub(1).and_then(|k| lines.get(k)).is_some_and(|line| may_be_numbers(line))
}

/// The dialect other than `own` in which a line is `fewest` numbers or more and nothing else.
fn other_dialect(line: &str, own: Dialect, fewest: usize) -> Option<(Dialect, usize)> {
    if fewest == 0 || !may_be_numbers(line) {
        return None;
    }
    let quoted = line.contains('"');
    let others = CANDIDATES.iter().filter(|(delimiter, mark)| (*delimiter, *mark) != (own.delimiter, own.mark));
    let others = others.filter(|(delimiter, mark)| (delimiter != mark || quoted) && line.as_bytes().contains(mark));
    others.map(|(delimiter, mark)| Dialect { delimiter: *delimiter, mark: *mark, grouped: false }).find_map(|dialect| {
        let cells = cells(line, dialect.delimiter);
        let all = cells.len() >= fewest && cells.iter().all(|c| number(c, dialect.mark, false).is_some_and(|x| !x.is_nan()));
        all.then_some((dialect, cells.len()))
    })
}

/// Adds a line that its table does not understand to `others`, where it is a row of numbers all the same.
pub(super) fn note(others: &mut Option<Other>, line: &str, row: u64, own: Dialect, fewest: usize) {
    match others {
        Some(other) => other.rows += u64::from(other_dialect(line, own, fewest).is_some_and(|(dialect, _)| dialect == other.dialect)),
        None => *others = other_dialect(line, own, fewest).map(|(dialect, _)| Other { row, found: line.trim().into(), dialect, rows: 1 }),
    }
}

/// Whether the table is the whole of it.
///
/// # Errors
/// Where the lines right above it are rows of as many numbers in another dialect.
#[inline(never)]
pub(super) fn above(lines: &[&str], first: usize, own: Dialect, columns: usize) -> Result<(), ReadError> {
    refused_above(lines, first, own, columns).map_or(Ok(()), Err)
}

fn refused_above(lines: &[&str], first: usize, own: Dialect, columns: usize) -> Option<ReadError> {
    let mut above = lines.iter().take(first).rev().map(|line| other_dialect(line, own, columns).filter(|(_, width)| *width == columns));
    let (dialect, _) = above.next()??;
    let more = above.take(FEWEST - 1).filter(|other| other.is_some_and(|(o, _)| o == dialect)).count();
    let found = lines.get(first).copied().unwrap_or_default().trim().to_string();
    (more == FEWEST - 1).then(|| Other { row: first as u64 + 1, found, dialect: own, rows: 1 }.refusal(dialect))
}

/// The error where rows of numbers stand in turns in several dialects, so that none of them has two rows together.
#[inline(never)]
pub(super) fn in_turns(lines: &[&str]) -> Option<ReadError> {
    let none = Dialect { delimiter: 0, mark: 0, grouped: false };
    let rows = lines.iter().zip(1..).filter_map(|(line, row)| Some((other_dialect(line, none, 2)?.0, *line, row)));
    let rows: Vec<(Dialect, &str, u64)> = rows.take(100).collect();
    let change = rows.windows(2).find_map(|pair| match pair {
        [(before, ..), (dialect, line, row)] if before != dialect => Some((*before, *dialect, *line, *row)),
        _ => None,
    });
    let (before, dialect, line, row) = change.filter(|_| rows.len() >= 10)?;
    Some(Other { row, found: line.trim().into(), dialect, rows: 1 }.refusal(before))
}

/// Whether commas part cells alone.
///
/// # Errors
/// Where they part decimals, too: twice as many cells in a row as names above, whole numbers all.
#[inline(never)]
pub(super) fn comma_twice(lines: &[&str], first: usize, rows: &[Vec<String>]) -> Result<(), ReadError> {
    refused_commas(lines, first, rows).map_or(Ok(()), Err)
}

fn refused_commas(lines: &[&str], first: usize, rows: &[Vec<String>]) -> Option<ReadError> {
    let width = rows.first()?.len();
    let names = cells(lines.get(first.checked_sub(1)?)?, b',');
    let words = names.iter().all(|c| number(c, b'.', false).is_none());
    // Behind a decimal comma stand as many digits in every row.
    let even = |k: usize| {
        let size = |row: &Vec<String>| row.get(k).map_or(0, String::len);
        let digits = |row: &Vec<String>| row.get(k).is_some_and(|c| c.bytes().all(|b| b.is_ascii_digit()));
        k.is_multiple_of(2) || rows.iter().all(|row| digits(row) && Some(size(row)) == rows.first().map(size))
    };
    if names.len() < 2 || names.len() * 2 != width || !words || !(0..width).all(even) {
        return None;
    }
    let message = "Commas stand both between the cells and within the numbers: where one ends cannot be told.";
    let error = ReadError::new("commas_twice", message, "Export with a semicolon or a tab between the cells, or with decimal points.");
    let found = format!("{width} cells under {} names: {}", names.len(), lines.get(first).map_or("", |line| line.trim()));
    Some(error.row(first as u64 + 1).column(1).found(&found).expected("one cell for each name above"))
}

impl Other {
    /// The error; `before` is how the rows above are written.
    #[inline(never)]
    pub(super) fn refusal(&self, before: Dialect) -> ReadError {
        let name = |c: u8| match c {
            b'\t' => "a tab".to_string(),
            b' ' => "blanks".to_string(),
            c => format!("{:?}", c as char),
        };
        let (what, old, new) = if self.dialect.delimiter == before.delimiter {
            ("The decimal mark", before.mark, self.dialect.mark)
        } else {
            ("What stands between cells", before.delimiter, self.dialect.delimiter)
        };
        ReadError::new(
            "bad_number",
            format!("{what} changes within the file, from {} to {}.", name(old), name(new)),
            "Export the recording again in one go, or write that part as the rest is written.",
        )
        .row(self.row)
        .column(1)
        .found(&self.found)
        .expected("numbers written as in the rows above")
    }
}
