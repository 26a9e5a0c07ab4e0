//! The streaming reader: the first 64 kB are looked at, then rows are read as they come.
use super::columns::{self, TimeColumn};
use super::encoding::{self, Encoding, Transcoder};
use super::finish::{self, Head};
use super::look::{self, Look};
use super::memory::KnownLayout;
use super::rows::{Plan, Rows};
use super::{ReadError, Recording, books, cells, memory};

/// What the caller states about a file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ReadOptions {
    /// Sampling rate, Hz, for files that state none.
    pub rate_hz: Option<f64>,
    /// What each column is: see `answer::Options::columns`.
    pub columns: Option<String>,
    /// The decimal mark, `.` or `,`, for files whose numbers read two ways.
    pub decimal: Option<char>,
    /// Layouts that were confirmed before; the one with the file's fingerprint is used where nothing is stated.
    pub known: Vec<KnownLayout>,
}

/// Bytes looked at before anything is decided.
const HEAD: usize = 64 * 1024;
/// Fewest line ends that a head must hold.
const LINES: usize = 12;
/// No row is longer; a file without line ends is refused instead of held.
pub(super) const LONGEST_LINE: usize = 1 << 20;
/// Most bytes looked at, where the first 64 kB do not say what the columns are.
const LONG_HEAD: usize = 1 << 20;
/// Largest spreadsheet or motion-capture file: these are held whole.
const LARGEST_BOOK: usize = 400 << 20;

/// Reads one file in pieces of any size; the pieces never change the result.
///
/// Memory: the columns that are read (4 bytes a sample each, and 4 for the time), one line, the first 64 kB.
pub struct Reader {
    options: ReadOptions,
    head: Vec<u8>,
    /// At this many bytes the head is looked at.
    wanted: usize,
    /// A spreadsheet or a motion-capture file: its end comes first.
    book: bool,
    /// Bytes of the whole file, where they are known.
    expected: Option<f64>,
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
        Self { options: options.clone(), head: Vec::new(), wanted: HEAD, book: false, expected: None, stream: None }
    }

    /// Says how many bytes the file has, so that memory is taken once; the answer does not depend on it.
    pub fn expect(&mut self, bytes: f64) {
        self.expected = Some(bytes).filter(|b| b.is_finite());
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
            let room = if self.book { LARGEST_BOOK.saturating_sub(self.head.len()) } else { self.wanted - self.head.len() };
            let (now, rest) = bytes.split_at_checked(room).unwrap_or((bytes, &[]));
            self.head.extend_from_slice(now);
            bytes = rest;
            if self.book {
                return if bytes.is_empty() { Ok(()) } else { Err(too_large()) };
            }
            if self.head.len() == self.wanted {
                if books::is_book(&self.head) {
                    self.book = true;
                } else if let Some(understood) = look_at(&self.head, false, &self.options)? {
                    self.start(understood)?;
                } else {
                    self.wanted = next_head(&self.head);
                }
            }
        }
        match &mut self.stream {
            Some(stream) if !bytes.is_empty() => stream.tail.push(stream.transcoder.push(bytes, false)?),
            _ => Ok(()),
        }
    }

    /// The recording; the first one where the file holds several.
    ///
    /// # Errors
    /// What, where, what was expected, what to try.
    pub fn finish(self) -> Result<Recording, ReadError> {
        self.finish_all()?.into_iter().next().ok_or_else(ReadError::empty)
    }

    /// Every recording of the file, in order; `start_s` of each counts on from the one before.
    ///
    /// # Errors
    /// What, where, what was expected, what to try.
    pub fn finish_all(mut self) -> Result<Vec<Recording>, ReadError> {
        let mut format = None;
        if self.stream.is_none() {
            if books::is_book(&self.head) {
                let book = books::to_text(&self.head)?;
                (self.head, format) = (book.text.into_bytes(), Some(book.format));
            }
            if let Some(understood) = look_at(&self.head, true, &self.options)? {
                self.start(understood)?;
            }
        }
        let Some(mut stream) = self.stream.take() else { return Err(ReadError::empty()) };
        let rest = stream.transcoder.push(&[], true)?;
        stream.tail.push(rest)?;
        let cut = stream.tail.end()?;
        stream.head.format = format;
        finish::recordings(&stream.head, stream.tail.rows, cut, &self.options)
    }

    /// Reads the rows of the head.
    fn start(&mut self, understood: Understood) -> Result<(), ReadError> {
        let bytes = std::mem::take(&mut self.head);
        let Understood { head, mut rows, mut transcoder } = understood;
        rows.expected = self.expected;
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

/// The length of the head to look at next, where this one does not suffice.
pub(super) fn next_head(head: &[u8]) -> usize {
    if line_ends(head) < LINES { head.len() * 2 } else { LONG_HEAD }
}

/// The first length of head to look at.
pub(super) const FIRST_HEAD: usize = HEAD;

fn line_ends(bytes: &[u8]) -> usize {
    bytes.iter().filter(|b| matches!(b, b'\n' | b'\r')).count()
}

/// Decides everything from the first bytes; `whole` when they are all there is. `None` where more of them should be seen.
pub(super) fn look_at(bytes: &[u8], whole: bool, options: &ReadOptions) -> Result<Option<Understood>, ReadError> {
    encoding::refuse_other_kinds(bytes)?;
    let enough = whole || bytes.len() >= LONG_HEAD;
    if !whole && line_ends(bytes) < LINES {
        return if bytes.len() >= LONGEST_LINE { Err(too_long(longest_line(bytes))) } else { Ok(None) };
    }
    let (text, encoding, join) = decoded(bytes, whole)?;
    let look = match look::look(&text, enough, options) {
        Ok(look) => look,
        // The table may begin further down.
        Err(e) if !enough && matches!(e.code.as_str(), "no_numbers" | "header_only" | "number_two_ways") => return Ok(None),
        Err(e) => return Err(e),
    };
    let stated = options.columns.is_some();
    let known = if stated { None } else { memory::find(&look, &options.known) };
    let mut told = options.clone();
    if let Some(known) = known {
        told.columns = Some(known.columns.clone());
        told.rate_hz = told.rate_hz.or(known.rate_hz);
    }
    let columns = match columns::columns(&look, &told) {
        // Without words to go by, the values of more rows tell more.
        Ok(columns) if !enough && columns.confidence < 0.8 => return Ok(None),
        Ok(columns) => columns,
        Err(_) if !enough => return Ok(None),
        Err(e) => return Err(e),
    };
    let columns = memory::mark(columns, known);
    let mut look = look;
    look.stated_rate_hz = look.stated_rate_hz.or(known.and_then(|k| k.rate_hz));
    let plan = plan(&look, &columns, options);
    let interval = plan.time.map_or(0.0, |(k, scale)| first_interval(look.sample.get(k).map_or(&[][..], Vec::as_slice)) * scale);
    let mut rows = Rows::new(plan, encoding, look.first_row, interval);
    rows.header_line.clone_from(&look.header_line);
    rows.undecided = !look.marked && options.decimal.is_none();
    let transcoder = Transcoder::new(encoding, bytes).joining(join);
    Ok(Some(Understood { head: Head { encoding, format: None, look, columns }, rows, transcoder }))
}

/// The whole lines of a head as text, its encoding, and whether lines are broken within quotes.
fn decoded(bytes: &[u8], whole: bool) -> Result<(String, Encoding, bool), ReadError> {
    let encoding = Encoding::of(bytes, whole);
    let mut once = Transcoder::new(encoding, bytes);
    let plain = once.push(bytes, false)?;
    let join = encoding::breaks_within_quotes(plain, whole);
    let mut again = Transcoder::new(encoding, bytes).joining(join);
    let plain = if join { again.push(bytes, false)? } else { plain };
    // Whole lines only: the last one may be cut.
    let end = if whole { plain.len() } else { memchr::memrchr(b'\n', plain).map_or(plain.len(), |k| k + 1) };
    Ok((encoding.text(plain.get(..end).unwrap_or(plain)), encoding, join))
}

/// The text of a file's first bytes.
pub(super) fn plain_text(bytes: &[u8], whole: bool) -> Result<String, ReadError> {
    encoding::refuse_other_kinds(bytes)?;
    decoded(bytes, whole).map(|(text, _, _)| text)
}

fn too_large() -> ReadError {
    ReadError::new("too_large", "A spreadsheet or motion-capture file of more than 400 MB is not read.", "Export the force channels alone.")
        .expected("a file of at most 400 MB")
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
    let clock = time.is_some_and(|(k, _)| look.clock.get(k) == Some(&true));
    let numbers = |c: &Vec<f64>| c.iter().filter(|x| !x.is_nan()).count() * 2 > c.len();
    let lead = !used.contains(&0) && look.sample.first().is_some_and(numbers);
    Plan { dialect: look.dialect, wanted, time, clock, lead, quoted: look.quoted, sinks }
}

/// Which of a head's few lines is the longest, from 1.
#[inline(never)]
fn longest_line(bytes: &[u8]) -> u64 {
    let lines = bytes.split(|b| *b == b'\n').zip(1..);
    lines.fold((0, 1), |(most, at), (line, row)| if line.len() > most { (line.len(), row) } else { (most, at) }).1
}

pub(super) fn too_long(row: u64) -> ReadError {
    ReadError::new("line_too_long", "A line is longer than a megabyte.", "Export with one row a sample and a line end after each.")
        .row(row)
        .found("a line of more than a million characters")
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
        let numeric =
            cells::cells(&text, dialect.delimiter).first().is_some_and(|c| cells::number(c, dialect.mark, dialect.grouped).is_some());
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
pub(super) fn whole_row(line: &str, above: &str, dialect: cells::Dialect, width: usize) -> bool {
    let (cells, above) = (cells::cells(line, dialect.delimiter), cells::cells(above, dialect.delimiter));
    // Exponents count as decimals do; a whole number has none, and nothing tells whether it was cut.
    let behind_mark = |cell: &str| cell.trim_matches('"').split_once([dialect.mark as char, 'e', 'E']).map_or(0, |(_, tail)| tail.len());
    let Some(last) = width.checked_sub(1) else { return false };
    if cells.len() > width {
        return true;
    }
    let (Some(cell), Some(before)) = (cells.get(last), above.get(last)) else { return false };
    cells::number(cell, dialect.mark, dialect.grouped).is_some_and(|x| !x.is_nan()) && behind_mark(cell) >= behind_mark(before)
}
