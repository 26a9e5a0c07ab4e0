//! The slow, knowing way through one row: quotes, exponents, missing cells, thousands marks, times of day, text,
//! a repeated header, the table's end.
use super::ReadError;
use super::cells::{self, HALF_A_DAY_S, clock, number, reads_two_ways};
use super::otherwise;
use super::rows::{Rows, Stop};

/// Lines looked at after the table before the rest is taken for a footer unseen.
const FOOTER_LINES: u64 = 100_000;
/// Rows of numbers that a footer may hold; more, and what looked like the end of the table was a fault inside it.
const FOOTER_ROWS: u64 = 5;
/// Recordings in one file.
const MOST_PARTS: usize = 1000;

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
        if !self.header_line.is_empty() && text.trim() == self.header_line && self.parts.len() < MOST_PARTS {
            // Words before the header: a whole export begins again, not a page.
            self.new_export = self.stop.is_some();
            (self.stop, self.resumed, self.others, self.restart) = (None, 0, None, true);
            self.repeats += 1;
            return Ok(());
        }
        let cells = cells::cells(text, delimiter);
        let mut values = vec![f64::NAN; self.plan.wanted.len()];
        let mut wrong: Option<(usize, String)> = None;
        let mut good = 0usize;
        // A row that begins with a word where numbers stood is a line of statistics.
        let word = self.plan.lead && begins_with_word(text);
        if let Some(first) = cells.first().filter(|c| word && number(c, self.plan.dialect.mark, true).is_none()) {
            wrong = Some((0, first.clone()));
        }
        for (k, value) in values.iter_mut().enumerate() {
            if !self.plan.wanted.get(k).copied().unwrap_or(false) {
                continue;
            }
            let Some(cell) = cells.get(k) else { continue };
            match self.read(k, cell) {
                Some(x) => {
                    good += usize::from(!x.is_nan());
                    *value = x;
                }
                None => wrong = wrong.or_else(|| Some((k, cell.clone()))),
            }
        }
        let short = cells.len() < values.len();
        let time = self.plan.time.map(|(k, scale)| values.get(k).map_or(f64::NAN, |t| t * scale));
        let time_missing = time.is_some_and(f64::is_nan);
        if let Some(stop) = &self.stop {
            self.after += 1;
            if wrong.is_none() && good > 0 && !short && !time_missing {
                self.resumed += 1;
                if self.resumed > 1000 {
                    return Err(fault(stop));
                }
            } else {
                self.note_other(text);
            }
            return Ok(());
        }
        if self.restart {
            // Units and other words behind a repeated header.
            if wrong.is_some() || short || good == 0 {
                return Ok(());
            }
            self.restart = false;
            let continues = match (time, &self.stamps) {
                (Some(t), Some(stamps)) => stamps.continues(t),
                _ => !self.new_export,
            };
            if !continues {
                let offset = self.clock_offset;
                self.part();
                if let (Some((k, _)), true) = (self.plan.time, self.plan.clock)
                    && let Some(t) = values.get_mut(k)
                {
                    *t -= offset;
                    self.clock_before = *t;
                }
            }
        }
        if let Some((k, found)) = wrong {
            self.stop = Some(Stop { row: self.line, column: k as u64 + 1, found, one_cell: good > 0 });
            self.note_other(text);
            return Ok(());
        }
        if short {
            self.ragged += 1;
            self.first_ragged = self.first_ragged.or(Some((self.line, cells.len() as u64)));
            if good == 0 || time_missing {
                self.stop = Some(Stop { row: self.line, column: cells.len() as u64 + 1, found: text.trim().to_string(), one_cell: false });
                self.note_other(text);
                return Ok(());
            }
        }
        self.store(&values);
        Ok(())
    }

    /// Looks whether a line that ends the table, or follows its end, is a row written otherwise.
    fn note_other(&mut self, text: &str) {
        let fewest = self.plan.wanted.len();
        otherwise::note(&mut self.others, text, self.line, self.plan.dialect, fewest);
    }

    /// The value of the cell in column `k`.
    fn read(&mut self, k: usize, cell: &str) -> Option<f64> {
        if self.plan.clock && self.plan.time.is_some_and(|(time, _)| time == k) {
            let Some((seconds, _)) = clock(cell) else { return number(cell, b'.', false).filter(|x| x.is_nan()) };
            if seconds < self.clock_before - HALF_A_DAY_S && self.stop.is_none() && !self.restart {
                self.clock_offset += 2.0 * HALF_A_DAY_S;
            }
            if self.stop.is_none() {
                self.clock_before = seconds;
            }
            return Some(seconds + self.clock_offset);
        }
        if self.undecided && self.stop.is_none() {
            self.decide(k, cell);
        }
        let dialect = self.plan.dialect;
        number(cell, dialect.mark, dialect.grouped)
    }

    /// Settles the decimal mark by the first number that holds one: where `1.234` follows 998 it is one thousand and some.
    fn decide(&mut self, k: usize, cell: &str) {
        for (mark, other) in [(b'.', b','), (b',', b'.')] {
            let (Some(plain), true) = (number(cell, mark, false), cell.contains(mark as char)) else { continue };
            if plain.is_nan() {
                continue;
            }
            self.undecided = false;
            self.plan.dialect.mark = mark;
            let thousands = number(cell, other, true).unwrap_or(f64::NAN);
            let before = self.value_before(k);
            if reads_two_ways(cell, mark) && (thousands - before).abs() < (plain - before).abs() {
                (self.plan.dialect.mark, self.plan.dialect.grouped) = (other, true);
            }
            return;
        }
    }

    /// The error of rows of numbers behind what looked like the table's end.
    pub(super) fn fault(&self) -> Option<ReadError> {
        if let Some(others) = &self.others
            && others.rows > FOOTER_ROWS
        {
            return Some(others.refusal(self.plan.dialect));
        }
        self.stop.as_ref().filter(|_| self.resumed > FOOTER_ROWS).map(fault)
    }
}

/// Whether a line begins with a letter, a quote aside: by its bytes, so that the fast loop can see the same.
fn begins_with_word(line: &str) -> bool {
    let cell = line.strip_prefix('"').unwrap_or(line);
    cell.starts_with(|c: char| c.is_ascii_alphabetic() || c == '"' || !c.is_ascii())
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
