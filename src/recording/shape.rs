//! Rows shaped like the one before: same length, marks and delimiters in the same places.
//!
//! Most rows of most files are. Then nothing need be searched for: each cell is one word at a known place, one comparison
//! says whether the row has the shape, and the numbers come out by shifts that do not depend on the row. Anything else is
//! left to [`super::rows`], and a file whose rows keep changing shape soon is, too.
use super::cells::Dialect;
use super::digits::{self, Taken};

/// Longest number that one word holds.
const LONGEST: usize = 8;
/// Credit is not saved up beyond this, so that a part of the file whose rows keep changing costs little.
const MOST_CREDIT: i64 = 256;
/// Rows that are read between two new shapes, on average, for shapes to be worth keeping.
const ROWS_A_SHAPE: u32 = 8;

/// The places of one row's cells.
#[derive(Debug, Clone, Default)]
pub(super) struct Shape {
    cells: Vec<Cell>,
    /// Bytes of the row with its line end.
    pub length: usize,
    /// Rows that had the shape at hand, less what new shapes cost; below zero none are made any more.
    credit: i64,
}

/// One cell: where its number stands and how it is taken out of the eight bytes there.
#[derive(Debug, Clone, Copy)]
struct Cell {
    at: usize,
    /// Where the number ends, and what must stand there.
    end: usize,
    delimiter: u8,
    taken: Taken,
}

impl Shape {
    /// A new piece of the file: shapes are worth trying again.
    pub(super) fn renew(&mut self) {
        self.credit = 4 * i64::from(ROWS_A_SHAPE);
    }

    /// Learns the shape of the row `from..to`, which was read and had another one.
    #[cold]
    pub(super) fn learn(&mut self, b: &[u8], from: usize, to: usize, dialect: Dialect, count: usize) {
        self.length = 0;
        self.credit = self.credit.min(MOST_CREDIT) - i64::from(ROWS_A_SHAPE);
        if self.credit < 0 {
            return;
        }
        let row = b.get(from..to).unwrap_or_default();
        self.cells.clear();
        let mut at = 0;
        for k in 0..count {
            let rest = row.get(at..).unwrap_or_default();
            let size = rest.iter().take_while(|c| c.is_ascii_digit() || **c == dialect.mark).count();
            let Some(delimiter) = rest.get(size).copied() else { return };
            let mark = rest.iter().take(size).position(|c| *c == dialect.mark);
            let ends = if k + 1 < count { delimiter == dialect.delimiter } else { matches!(delimiter, b'\n' | b'\r') };
            // A mark without digits before or behind it is read by those who know more.
            if size == 0 || size > LONGEST || mark == Some(0) || mark == Some(size - 1) || !ends {
                return;
            }
            self.cells.push(Cell { at, end: at + size, delimiter, taken: Taken::new(size, mark, dialect.mark) });
            at += size + 1;
        }
        // "\r\n" ends in the byte behind the last delimiter.
        if at == row.len() || at + 1 == row.len() && row.ends_with(b"\r\n") {
            self.length = row.len();
        }
    }

    /// Whether a shape is known.
    #[inline(always)]
    pub(super) fn known(&self) -> bool {
        self.length > 0
    }

    /// Reads the row at `i` into row `to` of the batch; `false` (and rubbish there) where it has not the shape.
    #[inline(always)]
    pub(super) fn read<const BATCH: usize>(&mut self, b: &[u8], i: usize, cells: &mut [[f64; BATCH]], to: usize) -> bool {
        // The last word may reach beyond the row.
        let Some(row) = b.get(i..i + self.length + LONGEST) else { return false };
        let mut differs = u64::from(row.get(self.length - 1).is_none_or(|c| *c != b'\n'));
        for (cell, column) in self.cells.iter().zip(cells) {
            let (Some(word), Some(end)) = (digits::word_at(row, cell.at), row.get(cell.end)) else { return false };
            let (number, wrong) = cell.taken.number(word);
            differs |= wrong | u64::from(*end ^ cell.delimiter);
            let Some(place) = column.get_mut(to) else { return false };
            *place = number;
        }
        self.credit += i64::from(differs == 0);
        differs == 0
    }
}
