//! The slow, knowing way through one row: quotes, exponents, missing cells, text, the table's end.
use super::ReadError;
use super::look;
use super::rows::{Rows, Stop};

/// Lines looked at after the table before the rest is taken for a footer unseen.
const FOOTER_LINES: u64 = 100_000;

impl Rows {
    /// Reads one line without its line feed.
    #[cold]
    pub(super) fn cold(&mut self, line: &[u8]) -> Result<(), ReadError> {
        if self.after > FOOTER_LINES {
            return Ok(());
        }
        let text = self.encoding.text(line);
        self.cold_text(&text)
    }

    /// Reads one line as text.
    pub(super) fn cold_text(&mut self, text: &str) -> Result<(), ReadError> {
        let text = text.trim_end_matches(['\r', '\u{1A}', '\0']);
        let delimiter = self.plan.dialect.delimiter;
        if text.chars().all(|c| c.is_whitespace() || c == delimiter as char || c == '"') {
            return Ok(());
        }
        let cells = look::cells(text, delimiter);
        let mut values = vec![f64::NAN; self.plan.wanted.len()];
        let mut wrong: Option<(usize, String)> = None;
        let mut good = 0usize;
        for (k, value) in values.iter_mut().enumerate() {
            if !self.plan.wanted.get(k).copied().unwrap_or(false) {
                continue;
            }
            let Some(cell) = cells.get(k) else { continue };
            match look::number(cell, self.plan.dialect.mark) {
                Some(x) => {
                    good += usize::from(!x.is_nan());
                    *value = x;
                }
                None => wrong = wrong.or_else(|| Some((k, cell.clone()))),
            }
        }
        let short = cells.len() < values.len();
        if let Some(stop) = &self.stop {
            self.after += 1;
            // Numbers again: what looked like the end of the table was a fault inside it.
            if wrong.is_none() && good > 0 && !short {
                return Err(fault(stop));
            }
            return Ok(());
        }
        let time_missing = self.plan.time.is_some_and(|(k, _)| values.get(k).is_none_or(|t| t.is_nan()));
        if let Some((k, found)) = wrong {
            self.stop = Some(Stop { row: self.line, column: k as u64 + 1, found, one_cell: good > 0 });
            return Ok(());
        }
        if short {
            self.ragged += 1;
            self.first_ragged = self.first_ragged.or(Some((self.line, cells.len() as u64)));
            if good == 0 || time_missing {
                self.stop = Some(Stop { row: self.line, column: cells.len() as u64 + 1, found: text.trim().to_string(), one_cell: false });
                return Ok(());
            }
        }
        self.store(&values);
        Ok(())
    }
}

/// The error for a row in the midst of the table that cannot be read.
fn fault(stop: &Stop) -> ReadError {
    if stop.one_cell {
        return ReadError::new(
            "bad_number",
            "A cell in the midst of the numbers is not a number.",
            "Correct that cell or export the recording again.",
        )
        .row(stop.row)
        .column(stop.column)
        .found(&stop.found)
        .expected("a number");
    }
    ReadError::new("text_in_data", "A line in the midst of the numbers is text.", "Export one recording a file, or remove that line.")
        .row(stop.row)
        .column(stop.column)
        .found(&stop.found)
        .expected("a row of numbers")
}
