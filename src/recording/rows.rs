//! Rows of numbers into columns: one fused loop a row, monomorphised over the number of wanted cells.
//!
//! Cost: one pass over the bytes, no allocation a row; columns and clock take a batch of rows at a time. Whatever the loop does not know (quotes,
//! exponents, empty cells, text) goes to [`super::cold`], which knows everything and is slow.
use super::cells::Dialect;
use super::encoding::Encoding;
use super::one_row::{quoted_row, row};
use super::otherwise::Other;
use super::shape::Shape;
use super::stamps::Stamps;

/// The compiled layout: which cells of a row are read and where they go.
#[derive(Debug, Clone)]
pub(super) struct Plan {
    pub dialect: Dialect,
    /// Up to and including the last column that is read; what follows in a row is skipped.
    pub wanted: Vec<bool>,
    /// Column of the stamps and seconds per unit.
    pub time: Option<(usize, f64)>,
    /// Whether the stamps are times of day.
    pub clock: bool,
    /// The first column is not read, but holds numbers.
    pub lead: bool,
    /// The first row has quotes.
    pub quoted: bool,
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

/// A finished recording of a file that holds several.
pub(super) struct Part {
    pub channels: Vec<Vec<f32>>,
    pub stamps: Option<Stamps>,
}

/// The columns read so far.
pub(super) struct Rows {
    pub plan: Plan,
    pub encoding: Encoding,
    /// Per wanted cell of a row: how many cells are skipped before it.
    skips: Vec<usize>,
    /// The plan's time and sinks by place among the wanted cells.
    time: Option<(usize, f64)>,
    sinks: Vec<Vec<(usize, f64)>>,
    pub channels: Vec<Vec<f32>>,
    pub stamps: Option<Stamps>,
    /// The line the next row stands in, from 1.
    pub line: u64,
    pub stop: Option<Stop>,
    /// Rows with too few cells, and the first of them with its number of cells.
    pub ragged: u64,
    pub first_ragged: Option<(u64, u64)>,
    /// Lines looked at after the table's end, and rows of numbers among them.
    pub after: u64,
    pub resumed: u64,
    /// Rows of numbers written otherwise, from the table's end on.
    pub others: Option<Other>,
    /// Recordings before the present one.
    pub parts: Vec<Part>,
    /// The header as it stands: where it comes again, another page or another recording begins.
    pub header_line: String,
    /// Behind a repeated header, before the next row.
    pub restart: bool,
    pub new_export: bool,
    pub repeats: u64,
    interval_s: f64,
    /// Bytes of the whole file, where they are known and it holds one recording so far; and bytes read.
    pub expected: Option<f64>,
    taken: f64,
    /// The time of day before, and what was added for nights.
    pub clock_before: f64,
    pub clock_offset: f64,
    /// No number with a decimal mark was seen yet; the first one decides, by the row before it.
    pub undecided: bool,
    pub before: Vec<f64>,
    shape: Shape,
}

/// A byte no number is followed by: the fast loop's decimal mark while the file's is not known.
const NO_MARK: u8 = 2;

/// Rows read before they go into the columns together: few enough to stay in the nearest cache.
pub(super) const BATCH: usize = 64;

/// Kinds of rows: a character between cells, runs of blanks, cells in quotes.
const PLAIN: u8 = 0;
const BLANKS: u8 = 1;
const QUOTED: u8 = 2;

/// Most bytes worked through between two looks at the columns' capacity.
const PIECE: usize = 256 * 1024;

impl Rows {
    /// Columns for a plan whose first row stands in `line`; `interval_s` is a first guess of the clock.
    pub(super) fn new(plan: Plan, encoding: Encoding, line: u64, interval_s: f64) -> Self {
        let channels = plan.sinks.iter().map(|_| Vec::new()).collect();
        let stamps = plan.time.map(|_| Stamps::new(interval_s));
        let places: Vec<usize> = plan.wanted.iter().enumerate().filter(|(_, wanted)| **wanted).map(|(k, _)| k).collect();
        let begins = std::iter::once(0).chain(places.iter().map(|k| k + 1));
        let skips = places.iter().zip(begins).map(|(k, begin)| k - begin).collect();
        let slot = |(k, factor): (usize, f64)| (places.iter().filter(|place| **place < k).count(), factor);
        let time = plan.time.map(slot);
        let sinks = plan.sinks.iter().map(|sink| sink.iter().copied().map(slot).collect()).collect();
        Self {
            plan,
            skips,
            time,
            sinks,
            encoding,
            channels,
            stamps,
            line,
            stop: None,
            ragged: 0,
            first_ragged: None,
            after: 0,
            resumed: 0,
            others: None,
            parts: Vec::new(),
            header_line: String::new(),
            restart: false,
            new_export: false,
            repeats: 0,
            interval_s,
            expected: None,
            taken: 0.0,
            clock_before: f64::NEG_INFINITY,
            clock_offset: 0.0,
            undecided: false,
            before: Vec::new(),
            shape: Shape::default(),
        }
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
            self.taken += piece.len() as f64;
            bytes = rest;
        }
        Ok(())
    }

    /// Room for the rows that `bytes` can hold at most; where the file's length is known, for all of its rows, by those that
    /// were read: a WebAssembly memory never gives back what doubling took. Else at least doubles what is there.
    fn reserve(&mut self, bytes: usize) {
        let most = bytes / (2 * self.plan.wanted.len().max(1)) + 1;
        let rows = self.channels.first().map_or(0, Vec::len) as f64;
        // A hundredth more, for rows grow longer and shorter; never more than the file could hold.
        let all = self.expected.filter(|_| rows >= 256.0).map(|expected| (expected / 2.0).min(rows * expected / self.taken * 1.01));
        let all = all.map_or(0, |all| all as usize + most);
        for channel in &mut self.channels {
            let rest = all.saturating_sub(channel.len());
            if rest > most && channel.capacity() - channel.len() < most {
                channel.reserve_exact(rest);
            }
            grow(channel, most);
        }
        if let Some(stamps) = &mut self.stamps {
            stamps.reserve(most);
        }
    }

    fn piece(&mut self, b: &[u8]) -> Result<(), super::ReadError> {
        let mut i = 0;
        let slow = self.plan.clock || self.undecided && memchr::memchr(NO_MARK, b).is_some();
        while i < b.len() {
            if self.stop.is_none() && !self.restart && !slow {
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

    /// Reads rows from `i` on; returns where the first row begins that it does not know.
    fn fast(&mut self, b: &[u8], i: usize) -> usize {
        macro_rules! by_cells {
            ($($n:literal)*) => {
                match self.skips.len() { 0 => i, $($n => self.known::<$n>(b, i),)* _ => self.many::<PLAIN>(b, i) }
            };
        }
        // Runs of blanks and quotes are rare: one version each reads them all, and the program stays small.
        if self.plan.dialect.delimiter == b' ' {
            self.many::<BLANKS>(b, i)
        } else if self.plan.quoted {
            self.many::<QUOTED>(b, i)
        } else {
            by_cells!(1 2 3 4 5 6 7 8 9)
        }
    }

    /// [`Self::fast`] for `N` wanted cells a row; a function of its own, for a first visit meets few of them (`site/rooms`).
    #[inline(never)]
    fn known<const N: usize>(&mut self, b: &[u8], i: usize) -> usize {
        let Ok(skips) = <[usize; N]>::try_from(self.skips.as_slice()) else { return i };
        self.batches::<PLAIN>(b, i, &skips, &mut [[0.0; BATCH]; N])
    }

    /// The same for more cells than there are versions of [`Self::known`].
    #[inline(never)]
    fn many<const KIND: u8>(&mut self, b: &[u8], i: usize) -> usize {
        let skips = self.skips.clone();
        self.batches::<KIND>(b, i, &skips, &mut vec![[0.0; BATCH]; skips.len()])
    }

    #[inline(always)]
    fn batches<const KIND: u8>(&mut self, b: &[u8], mut i: usize, skips: &[usize], cells: &mut [[f64; BATCH]]) -> usize {
        let mut dialect = self.plan.dialect;
        let lead = self.plan.lead;
        let mut length = 0;
        let mut shape = std::mem::take(&mut self.shape);
        shape.renew();
        let dense = KIND == PLAIN && !lead && skips.iter().all(|skip| *skip == 0);
        if self.undecided {
            dialect.mark = NO_MARK;
        }
        loop {
            let mut rows = 0;
            while rows < BATCH {
                if KIND == PLAIN && shape.known() && shape.read(b, i, cells, rows) {
                    i += shape.length;
                    rows += 1;
                    continue;
                }
                if lead {
                    // As `cold::begins_with_word` sees it.
                    let at = i + usize::from(KIND == QUOTED && b.get(i) == Some(&b'"'));
                    if b.get(at).is_some_and(|c| c.is_ascii_alphabetic() || *c == b'"' || *c >= 0x80) {
                        break;
                    }
                }
                let next = match KIND {
                    QUOTED => quoted_row(b, i, dialect, skips, cells, rows),
                    BLANKS => row::<true>(b, i, dialect, skips, cells, rows),
                    _ => row::<false>(b, i, dialect, skips, cells, rows),
                };
                let Some(next) = next else { break };
                if dense {
                    shape.learn(b, i, next, dialect, skips.len());
                }
                // Where a row begins hangs on all cells of the row before, and a processor that waits for each does little else.
                // Rows are mostly of one length: with the next beginning guessed, and held against the true one by a branch,
                // it reads on from the guess meanwhile. The box hides from the compiler that both are the same number.
                let guess = std::hint::black_box(i + length);
                if next == i + length {
                    i = guess;
                } else {
                    length = other_length(i, next);
                    i = next;
                }
                rows += 1;
            }
            self.store_batch(cells, rows);
            if rows < BATCH {
                self.shape = shape;
                return i;
            }
        }
    }

    /// Puts the first `rows` rows of a batch into the columns.
    fn store_batch(&mut self, cells: &[[f64; BATCH]], rows: usize) {
        let column = |slot: usize| cells.get(slot).and_then(|c| c.get(..rows)).unwrap_or_default();
        if self.undecided && rows > 0 {
            let last = |slot: usize| column(slot).last().copied().unwrap_or(f64::NAN);
            self.before.clear();
            self.before.extend((0..cells.len()).map(last));
        }
        for (sink, out) in self.sinks.iter().zip(&mut self.channels) {
            if let [(slot, newtons)] = sink[..] {
                out.extend(column(slot).iter().map(|x| (x * newtons) as f32));
            } else {
                let sum = |row| sink.iter().map(|(slot, newtons)| column(*slot).get(row).map_or(f64::NAN, |x| x * newtons)).sum::<f64>();
                out.extend((0..rows).map(|row| sum(row) as f32));
            }
        }
        if let (Some((slot, scale)), Some(stamps)) = (self.time, &mut self.stamps) {
            stamps.push_batch(column(slot), scale, &self.channels, self.line);
        }
        self.line += rows as u64;
    }

    /// Puts one row's cells, wanted or not, into the columns.
    pub(super) fn store(&mut self, cells: &[f64]) {
        if self.undecided {
            let wanted = cells.iter().zip(&self.plan.wanted).filter(|(_, wanted)| **wanted);
            self.before = wanted.map(|(x, _)| *x).collect();
        }
        for (sink, out) in self.plan.sinks.iter().zip(&mut self.channels) {
            let cell = |k: usize| cells.get(k).copied().unwrap_or(f64::NAN);
            // One column as it is: a sum would begin with zero and lose the sign of another.
            let force_n = if let [(k, newtons)] = sink[..] { cell(k) * newtons } else { sink.iter().map(|(k, n)| cell(*k) * n).sum() };
            out.push(force_n as f32);
        }
        if let (Some((k, scale)), Some(stamps)) = (self.plan.time, &mut self.stamps) {
            stamps.push(cells.get(k).map_or(f64::NAN, |t| t * scale), &self.channels, self.line);
        }
    }
}

impl Rows {
    /// Ends the present recording; the next row begins another.
    pub(super) fn part(&mut self) {
        let fresh = self.channels.iter().map(|_| Vec::new()).collect();
        let stamps = self.stamps.as_ref().map(|_| Stamps::new(self.interval_s));
        let mut channels = std::mem::replace(&mut self.channels, fresh);
        // Room for the whole file was for one recording.
        self.expected = None;
        channels.iter_mut().for_each(Vec::shrink_to_fit);
        let stamps = std::mem::replace(&mut self.stamps, stamps);
        self.parts.push(Part { channels, stamps });
        (self.clock_before, self.clock_offset) = (f64::NEG_INFINITY, 0.0);
        self.reserve(PIECE);
    }

    /// The value in the row before of the cell that stands in column `k`.
    pub(super) fn value_before(&self, k: usize) -> f64 {
        let slot = self.plan.wanted.iter().take(k).filter(|wanted| **wanted).count();
        self.before.get(slot).copied().unwrap_or(f64::NAN)
    }
}

/// Makes room for `more`, doubling.
pub(super) fn grow(column: &mut Vec<f32>, more: usize) {
    if column.capacity() - column.len() < more {
        column.reserve_exact(more.max(column.len()));
    }
}

/// The length of a row unlike the one before; a call, so that it stays a branch.
#[cold]
#[inline(never)]
fn other_length(begin: usize, end: usize) -> usize {
    end - begin
}
