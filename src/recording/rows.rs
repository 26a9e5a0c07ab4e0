//! Rows of numbers into columns: one fused loop a row, monomorphised over the number of columns.
//!
//! Cost: one pass over the bytes, no allocation a row. Whatever the loop does not know (quotes,
//! exponents, empty cells, text) goes to [`super::cold`], which knows everything and is slow.
use super::encoding::Encoding;
use super::look::Dialect;
use super::stamps::Stamps;

/// The compiled layout: which cells of a row are read and where they go.
#[derive(Debug, Clone)]
pub(super) struct Plan {
    pub dialect: Dialect,
    /// Up to and including the last column that is read; what follows in a row is skipped.
    pub wanted: Vec<bool>,
    /// Column of the stamps and seconds per unit.
    pub time: Option<(usize, f64)>,
    /// Per channel: the columns summed and newtons per unit.
    pub sinks: Vec<Vec<(usize, f64)>>,
}

/// Where and how the table ended before the file did.
#[derive(Debug, Clone)]
pub(super) struct Stop {
    pub row: u64,
    pub column: u64,
    pub found: String,
    /// Whether the row was numbers but for one cell.
    pub one_cell: bool,
}

/// The columns read so far.
pub(super) struct Rows {
    pub plan: Plan,
    pub encoding: Encoding,
    /// Column and newtons per unit of every channel, where none is a sum of several columns.
    single: Option<Vec<(usize, f64)>>,
    pub channels: Vec<Vec<f32>>,
    pub stamps: Option<Stamps>,
    /// The line the next row stands in, from 1.
    pub line: u64,
    pub stop: Option<Stop>,
    /// Rows with too few cells, and the first of them with its number of cells.
    pub ragged: u64,
    pub first_ragged: Option<(u64, u64)>,
    /// Lines looked at after the table's end.
    pub after: u64,
}

/// Powers of ten up to the most digits that are read here; all exact.
const POWERS: [f64; 16] = [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];

/// Most bytes worked through between two looks at the columns' capacity.
const PIECE: usize = 256 * 1024;

impl Rows {
    /// Columns for a plan whose first row stands in `line`; `interval_s` is a first guess of the clock.
    pub(super) fn new(plan: Plan, encoding: Encoding, line: u64, interval_s: f64) -> Self {
        let channels = plan.sinks.iter().map(|_| Vec::new()).collect();
        let stamps = plan.time.map(|_| Stamps::new(interval_s));
        let single = plan.sinks.iter().map(|s| if let [one] = s[..] { Some(one) } else { None }).collect();
        Self { plan, single, encoding, channels, stamps, line, stop: None, ragged: 0, first_ragged: None, after: 0 }
    }

    /// Takes whole lines, the last one ending in a line feed.
    pub(super) fn lines(&mut self, mut bytes: &[u8]) -> Result<(), super::ReadError> {
        while !bytes.is_empty() {
            let mut cut = bytes.len();
            if cut > PIECE {
                let head = bytes.get(..PIECE).unwrap_or(bytes);
                let end = memchr::memrchr(b'\n', head).or_else(|| memchr::memchr(b'\n', bytes));
                cut = end.map_or(bytes.len(), |k| k + 1);
            }
            let (piece, rest) = bytes.split_at_checked(cut).unwrap_or((bytes, &[]));
            self.reserve(piece.len());
            self.piece(piece)?;
            bytes = rest;
        }
        Ok(())
    }

    /// Room for the rows that `bytes` can hold at most; at least doubles what is there.
    fn reserve(&mut self, bytes: usize) {
        let most = bytes / (2 * self.plan.wanted.len().max(1)) + 1;
        for channel in &mut self.channels {
            grow(channel, most);
        }
        if let Some(stamps) = &mut self.stamps {
            stamps.reserve(most);
        }
    }

    fn piece(&mut self, b: &[u8]) -> Result<(), super::ReadError> {
        let mut i = 0;
        while i < b.len() {
            if self.stop.is_none() {
                i = self.fast(b, i);
            }
            // A row the fast loop does not know.
            let rest = b.get(i..).unwrap_or_default();
            if rest.is_empty() {
                break;
            }
            let end = memchr::memchr(b'\n', rest).unwrap_or(rest.len());
            self.cold(rest.get(..end).unwrap_or(rest))?;
            self.line += 1;
            i += end + 1;
        }
        Ok(())
    }

    fn fast(&mut self, b: &[u8], i: usize) -> usize {
        macro_rules! by_width {
            ($($n:literal)*) => {
                match self.plan.wanted.len() { $($n => self.known::<$n>(b, i),)* _ => self.wide::<false>(b, i) }
            };
        }
        // Runs of blanks are rare: one version reads them all, and the program stays small.
        if self.plan.dialect.delimiter == b' ' { self.wide::<true>(b, i) } else { by_width!(1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16) }
    }

    /// Reads rows of `N` cells from `i` on; returns where the first row begins that it does not know.
    fn known<const N: usize>(&mut self, b: &[u8], mut i: usize) -> usize {
        let Ok(want) = <[bool; N]>::try_from(self.plan.wanted.as_slice()) else { return i };
        let all = want.iter().all(|w| *w);
        let dialect = self.plan.dialect;
        let mut v = [0.0; N];
        loop {
            let next =
                if all { row::<false, true>(b, i, dialect, &want, &mut v) } else { row::<false, false>(b, i, dialect, &want, &mut v) };
            let Some(next) = next else { return i };
            self.store(&v);
            self.line += 1;
            i = next;
        }
    }

    /// The same for more cells than there are versions of [`Self::known`].
    fn wide<const BLANKS: bool>(&mut self, b: &[u8], mut i: usize) -> usize {
        let (want, dialect) = (self.plan.wanted.clone(), self.plan.dialect);
        let mut v = vec![0.0; want.len()];
        while let Some(next) = row::<BLANKS, false>(b, i, dialect, &want, &mut v) {
            self.store(&v);
            self.line += 1;
            i = next;
        }
        i
    }

    /// Puts one row's cells into the columns.
    #[inline(always)]
    pub(super) fn store(&mut self, cells: &[f64]) {
        if let Some(single) = &self.single {
            for ((k, newtons), out) in single.iter().zip(&mut self.channels) {
                out.push(cells.get(*k).map_or(f64::NAN, |x| x * newtons) as f32);
            }
        } else {
            for (sink, out) in self.plan.sinks.iter().zip(&mut self.channels) {
                out.push(sink.iter().map(|(k, newtons)| cells.get(*k).map_or(f64::NAN, |x| x * newtons)).sum::<f64>() as f32);
            }
        }
        if let (Some((k, scale)), Some(stamps)) = (self.plan.time, &mut self.stamps) {
            stamps.push(cells.get(k).map_or(f64::NAN, |t| t * scale), &self.channels, self.line);
        }
    }
}

/// Makes room for `more`, doubling.
pub(super) fn grow(column: &mut Vec<f32>, more: usize) {
    if column.capacity() - column.len() < more {
        column.reserve_exact(more.max(column.len()));
    }
}

/// Reads the wanted cells of the row at `i`; returns where the next row begins, or `None` for a row it does not know.
#[inline(always)]
fn row<const BLANKS: bool, const ALL: bool>(b: &[u8], mut i: usize, dialect: Dialect, want: &[bool], v: &mut [f64]) -> Option<usize> {
    let Dialect { delimiter, mark } = dialect;
    let last = want.len().checked_sub(1)?;
    for (k, (want, value)) in want.iter().zip(v).enumerate() {
        while *b.get(i)? == b' ' || (BLANKS && *b.get(i)? == b'\t') {
            i += 1;
        }
        if ALL || *want {
            let (x, next) = number(b, i, mark)?;
            *value = x;
            i = next;
        } else {
            let from = i;
            loop {
                let c = *b.get(i)?;
                if c == delimiter || (BLANKS && c == b'\t') {
                    break;
                }
                if c == b'\n' || c == b'\r' || c == b'"' {
                    return None;
                }
                i += 1;
            }
            if BLANKS && i == from {
                return None;
            }
        }
        if k < last {
            let c = *b.get(i)?;
            if c != delimiter && !(BLANKS && c == b'\t') {
                return None;
            }
            i += 1;
        }
    }
    match *b.get(i)? {
        b'\n' => Some(i + 1),
        b'\r' if *b.get(i + 1)? == b'\n' => Some(i + 2),
        c if c == delimiter || (BLANKS && c == b'\t') => {
            // Cells behind the last wanted one.
            memchr::memchr(b'\n', b.get(i..)?).map(|k| i + k + 1)
        }
        _ => None,
    }
}

/// One plain number at `i` and where it ends. Correctly rounded: up to 15 digits are a whole number below
/// 2^53 and the power of ten is exact, so one division rounds once; longer ones go through `str::parse`.
#[inline(always)]
fn number(b: &[u8], mut i: usize, mark: u8) -> Option<(f64, usize)> {
    let from = i;
    let negative = match *b.get(i)? {
        b'-' => {
            i += 1;
            true
        }
        b'+' => {
            i += 1;
            false
        }
        _ => false,
    };
    let start = i;
    let (mut digits, end) = digits_at(b, i, 0)?;
    i = end;
    let mut count = i - start;
    let mut decimals = 0;
    if *b.get(i)? == mark {
        let fraction = i + 1;
        (digits, i) = digits_at(b, fraction, digits)?;
        decimals = i - fraction;
        count += decimals;
    }
    if count == 0 {
        return None;
    }
    if count >= POWERS.len() {
        return long_number(b.get(from..i)?, mark).map(|x| (x, i));
    }
    // Signed, because the machine turns only signed whole numbers into floating ones in one step; zero loses its sign.
    let whole = digits.cast_signed();
    let whole = if negative { -whole } else { whole };
    Some((whole as f64 / POWERS.get(decimals)?, i))
}

/// Appends the digits at `i` to a whole number (which may overflow: the caller counts them); where they end.
#[inline(always)]
fn digits_at(b: &[u8], mut i: usize, mut number: u64) -> Option<(u64, usize)> {
    // Eight at a time need one look at the end of the text, not eight.
    if let Some(eight) = b.get(i..).and_then(|rest| rest.first_chunk::<8>()) {
        for (k, c) in eight.iter().enumerate() {
            let d = c.wrapping_sub(b'0');
            if d > 9 {
                return Some((number, i + k));
            }
            number = number.wrapping_mul(10).wrapping_add(u64::from(d));
        }
        i += eight.len();
    }
    loop {
        let d = b.get(i)?.wrapping_sub(b'0');
        if d > 9 {
            return Some((number, i));
        }
        number = number.wrapping_mul(10).wrapping_add(u64::from(d));
        i += 1;
    }
}

#[cold]
fn long_number(text: &[u8], mark: u8) -> Option<f64> {
    let text = std::str::from_utf8(text).ok()?;
    let x: f64 = if mark == b'.' { text.parse().ok()? } else { text.replace(mark as char, ".").parse().ok()? };
    x.is_finite().then_some(x)
}
