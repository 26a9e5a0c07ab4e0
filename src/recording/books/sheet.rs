//! A sheet while it is read: rows of cells as text, tabs between them; and which of several sheets is the table.
use crate::recording::cells::number;

/// Widest sheet that is read.
pub(super) const MOST_COLUMNS: usize = 2_000;
/// Longest run of empty rows that is kept, so that the lines keep their numbers.
const MOST_BLANK: usize = 100_000;

/// One sheet as text.
#[derive(Default)]
pub(super) struct Sheet {
    pub text: String,
    row: Vec<String>,
    rows: usize,
    /// Rows with at least one number.
    pub numeric: usize,
}

impl Sheet {
    /// Puts a cell's text at a column of the present row.
    pub(super) fn put(&mut self, column: usize, text: &str) {
        if column < MOST_COLUMNS && !text.is_empty() {
            if self.row.len() <= column {
                self.row.resize(column + 1, String::new());
            }
            if let Some(cell) = self.row.get_mut(column) {
                cell.extend(text.chars().map(|c| if matches!(c, '\t' | '\n' | '\r' | '"') { ' ' } else { c }));
            }
        }
    }

    /// Ends the present row, which stands in `line` (from 1) of the sheet where that is known.
    pub(super) fn end_row(&mut self, line: Option<usize>) {
        let blank = line.unwrap_or(0).saturating_sub(self.rows + 1).min(MOST_BLANK);
        self.text.extend(std::iter::repeat_n('\n', blank));
        self.rows += blank + 1;
        let numbers = |c: &&String| number(c, b'.', false).is_some_and(|x| !x.is_nan());
        self.numeric += usize::from(self.row.iter().filter(numbers).count() > 0);
        for (k, cell) in self.row.iter().enumerate() {
            if k > 0 {
                self.text.push('\t');
            }
            self.text.push_str(cell);
        }
        self.text.push('\n');
        self.row.clear();
    }
}

/// A part of a day as a time of day, which the reader of text knows.
pub(super) fn time_of_day(days: f64) -> String {
    let seconds = (days - days.floor()) * 86_400.0;
    // To the microsecond: a day's number holds no more.
    let micros = (seconds * 1e6).round() as u64;
    let (s, us) = (micros / 1_000_000, micros % 1_000_000);
    format!("{:02}:{:02}:{:02}.{us:06}", s / 3600, s / 60 % 60, s % 60)
}
