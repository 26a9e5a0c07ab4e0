//! The streaming reader: the first 64 kB are looked at, then rows are read as they come.
use super::columns::{self, TimeColumn};
use super::encoding::{self, Encoding, Transcoder};
use super::finish::{self, Head};
use super::look::{self, Look};
use super::rows::{Plan, Rows};
use super::{ReadError, Recording};

/// What the caller states about a file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ReadOptions {
    /// Sampling rate, Hz, for files that state none.
    pub rate_hz: Option<f64>,
    /// What each column is: see `answer::Options::columns`.
    pub columns: Option<String>,
}

/// Bytes looked at before anything is decided.
const HEAD: usize = 64 * 1024;
/// Fewest line ends that a head must hold.
const LINES: usize = 12;
/// No row is longer; a file without line ends is refused instead of held.
const LONGEST_LINE: usize = 1 << 20;

/// Reads one file in pieces of any size; the pieces never change the result.
///
/// Memory: the columns that are read (4 bytes a sample each, and 4 for the time), one line, the first 64 kB.
pub struct Reader {
    options: ReadOptions,
    head: Vec<u8>,
    stream: Option<Stream>,
}

/// What reads the rest of the file once the head is understood.
struct Stream {
    head: Head,
    transcoder: Transcoder,
    tail: Tail,
}

/// Cuts the stream into whole lines.
struct Tail {
    rows: Rows,
    /// The begun line.
    carry: Vec<u8>,
    /// The last whole line, to compare a last row without a line end with.
    last_line: Vec<u8>,
}

impl Reader {
    /// A reader for one file.
    pub fn new(options: &ReadOptions) -> Self {
        Self { options: options.clone(), head: Vec::new(), stream: None }
    }

    /// Takes the next bytes.
    ///
    /// # Errors
    /// As soon as the file is known not to be readable.
    pub fn feed(&mut self, mut bytes: &[u8]) -> Result<(), ReadError> {
        if let Some(stream) = &mut self.stream {
            return stream.tail.push(stream.transcoder.push(bytes, false)?);
        }
        // The head always ends at the same byte, so that pieces do not matter.
        while self.stream.is_none() && !bytes.is_empty() {
            let mut wanted = HEAD;
            while wanted <= self.head.len() {
                wanted *= 2;
            }
            let (now, rest) = bytes.split_at_checked(wanted - self.head.len()).unwrap_or((bytes, &[]));
            self.head.extend_from_slice(now);
            bytes = rest;
            if self.head.len() == wanted {
                encoding::refuse_other_kinds(&self.head)?;
                if line_ends(&self.head) >= LINES {
                    self.start(false)?;
                } else if self.head.len() >= LONGEST_LINE {
                    return Err(too_long(1));
                }
            }
        }
        match &mut self.stream {
            Some(stream) if !bytes.is_empty() => stream.tail.push(stream.transcoder.push(bytes, false)?),
            _ => Ok(()),
        }
    }

    /// The recording.
    ///
    /// # Errors
    /// What, where, what was expected, what to try.
    pub fn finish(mut self) -> Result<Recording, ReadError> {
        if self.stream.is_none() {
            self.start(true)?;
        }
        let Some(mut stream) = self.stream.take() else { return Err(ReadError::new("empty", "The file is empty.", "Export it again.")) };
        let rest = stream.transcoder.push(&[], true)?;
        stream.tail.push(rest)?;
        let cut = stream.tail.end()?;
        finish::recording(stream.head, stream.tail.rows, cut, &self.options)
    }

    /// Decides everything from the head and reads its rows.
    fn start(&mut self, whole: bool) -> Result<(), ReadError> {
        let bytes = std::mem::take(&mut self.head);
        let Understood { head, rows, mut transcoder } = understand(&bytes, whole, &self.options)?;
        let plain = transcoder.push(&bytes, false)?;
        let first = start_of_line(plain, head.look.first_row);
        let mut tail = Tail { rows, carry: Vec::new(), last_line: Vec::new() };
        tail.push(plain.get(first..).unwrap_or_default())?;
        self.stream = Some(Stream { head, transcoder, tail });
        Ok(())
    }
}

/// What the first bytes of a file decide, with no row read yet.
pub(super) struct Understood {
    pub head: Head,
    pub rows: Rows,
    pub transcoder: Transcoder,
}

/// How many bytes are looked at: 64 kB, or more where those hold fewer than a dozen lines.
pub(super) fn head_length(bytes: &[u8]) -> usize {
    let mut length = HEAD;
    while length < LONGEST_LINE && length <= bytes.len() && line_ends(bytes.get(..length).unwrap_or(bytes)) < LINES {
        length *= 2;
    }
    length
}

fn line_ends(bytes: &[u8]) -> usize {
    bytes.iter().filter(|b| matches!(b, b'\n' | b'\r')).count()
}

/// Decides everything from the first bytes; `whole` when they are all there is.
pub(super) fn understand(bytes: &[u8], whole: bool, options: &ReadOptions) -> Result<Understood, ReadError> {
    encoding::refuse_other_kinds(bytes)?;
    let encoding = Encoding::of(bytes, whole);
    let mut once = Transcoder::new(encoding, bytes);
    let plain = once.push(bytes, false)?;
    // Whole lines only: the last one may be cut.
    let end = if whole { plain.len() } else { memchr::memrchr(b'\n', plain).map_or(plain.len(), |k| k + 1) };
    let look = look::look(&encoding.text(plain.get(..end).unwrap_or(plain)))?;
    let columns = columns::columns(&look, options)?;
    let plan = plan(&look, &columns, options);
    let interval = plan.time.map_or(0.0, |(k, scale)| first_interval(look.sample.get(k).map_or(&[][..], Vec::as_slice)) * scale);
    let rows = Rows::new(plan, encoding, look.first_row, interval);
    Ok(Understood { head: Head { encoding, look, columns }, rows, transcoder: Transcoder::new(encoding, bytes) })
}

/// Where a line begins, the first being 1.
fn start_of_line(bytes: &[u8], line: u64) -> usize {
    let before = usize::try_from(line.saturating_sub(1)).unwrap_or(usize::MAX);
    before.checked_sub(1).map_or(0, |k| memchr::memchr_iter(b'\n', bytes).nth(k).map_or(bytes.len(), |at| at + 1))
}

/// A first guess of the interval between stamps: the median over a quarter of the rows seen.
fn first_interval(column: &[f64]) -> f64 {
    let lag = (column.len() / 4).max(1);
    let mut steps: Vec<f64> =
        column.iter().zip(column.iter().skip(lag)).map(|(a, b)| (b - a) / lag as f64).filter(|d| d.is_finite() && *d >= 0.0).collect();
    steps.sort_by(f64::total_cmp);
    steps.get(steps.len() / 2).copied().unwrap_or(0.0)
}

fn plan(look: &Look, columns: &columns::Columns, options: &ReadOptions) -> Plan {
    let rate = options.rate_hz.or(look.stated_rate_hz).filter(|r| r.is_finite() && *r > 0.0);
    let time = match (columns.time, rate) {
        (TimeColumn::Stamps { column, scale }, _) => Some((column, scale)),
        (TimeColumn::Counter { column }, Some(rate)) => Some((column, 1.0 / rate)),
        _ => None,
    };
    let sinks: Vec<Vec<(usize, f64)>> =
        columns.sinks.iter().map(|s| s.columns.iter().map(|(k, unit)| (*k, unit.newtons())).collect()).collect();
    let used: Vec<usize> = sinks.iter().flatten().map(|(k, _)| *k).chain(time.map(|(k, _)| k)).collect();
    let width = used.iter().max().map_or(0, |k| k + 1);
    let wanted = (0..width).map(|k| used.contains(&k)).collect();
    Plan { dialect: look.dialect, wanted, time, sinks }
}

fn too_long(row: u64) -> ReadError {
    ReadError::new("line_too_long", "A line is longer than a megabyte.", "Export with one row a sample and a line end after each.")
        .row(row)
        .expected("rows of numbers")
}

impl Tail {
    /// Takes the next plain bytes.
    fn push(&mut self, mut bytes: &[u8]) -> Result<(), ReadError> {
        if !self.carry.is_empty() {
            let Some(end) = memchr::memchr(b'\n', bytes) else {
                self.carry.extend_from_slice(bytes);
                return if self.carry.len() > LONGEST_LINE { Err(too_long(self.rows.line)) } else { Ok(()) };
            };
            let (first, rest) = bytes.split_at_checked(end + 1).unwrap_or((bytes, &[]));
            let mut line = std::mem::take(&mut self.carry);
            line.extend_from_slice(first);
            if line.len() > LONGEST_LINE {
                return Err(too_long(self.rows.line));
            }
            self.rows.lines(&line)?;
            std::mem::swap(&mut self.last_line, &mut line);
            line.clear();
            self.carry = line;
            bytes = rest;
        }
        let whole = memchr::memrchr(b'\n', bytes).map_or(0, |k| k + 1);
        let (lines, begun) = bytes.split_at_checked(whole).unwrap_or((bytes, &[]));
        if let Some(body) = lines.len().checked_sub(1).and_then(|n| lines.get(..n)) {
            self.rows.lines(lines)?;
            let last = memchr::memrchr(b'\n', body).map_or(body, |k| body.get(k + 1..).unwrap_or_default());
            self.last_line.clear();
            self.last_line.extend_from_slice(last.get(..last.len().min(LONGEST_LINE)).unwrap_or(last));
        }
        self.carry.extend_from_slice(begun);
        if self.carry.len() > LONGEST_LINE { Err(too_long(self.rows.line)) } else { Ok(()) }
    }

    /// Takes what stands behind the last line end; returns the line that was cut, if one was.
    fn end(&mut self) -> Result<Option<u64>, ReadError> {
        let mut line = std::mem::take(&mut self.carry);
        if line.iter().all(u8::is_ascii_whitespace) || self.rows.stop.is_some() {
            return Ok(None);
        }
        let text = String::from_utf8_lossy(&line).into_owned();
        let dialect = self.rows.plan.dialect;
        let numeric = look::cells(&text, dialect.delimiter).first().is_some_and(|c| look::number(c, dialect.mark).is_some());
        let width = self.rows.plan.wanted.len();
        if numeric && !whole_row(&text, &String::from_utf8_lossy(&self.last_line), dialect, width) {
            return Ok(Some(self.rows.line));
        }
        line.push(b'\n');
        self.rows.lines(&line)?;
        Ok(None)
    }
}

/// Whether a last line without an end holds all of its first `width` cells. Where the file ends within the last of
/// them, that cell needs as many decimals as the one above: a number cut short would look right and be wrong.
pub(super) fn whole_row(line: &str, above: &str, dialect: look::Dialect, width: usize) -> bool {
    let (cells, above) = (look::cells(line, dialect.delimiter), look::cells(above, dialect.delimiter));
    // Exponents count as decimals do; a whole number has none, and nothing tells whether it was cut.
    let behind_mark = |cell: &str| cell.trim_matches('"').split_once([dialect.mark as char, 'e', 'E']).map_or(0, |(_, tail)| tail.len());
    let Some(last) = width.checked_sub(1) else { return false };
    if cells.len() > width {
        return true;
    }
    let (Some(cell), Some(before)) = (cells.get(last), above.get(last)) else { return false };
    look::number(cell, dialect.mark).is_some_and(|x| !x.is_nan()) && behind_mark(cell) >= behind_mark(before)
}
