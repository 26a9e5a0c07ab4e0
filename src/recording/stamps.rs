//! The file's time stamps while it streams: kept as small deviations from a first guess of the clock.
//!
//! Nothing is kept while the stamps follow the guess (most files, to their end); else four bytes a row
//! instead of eight. Exact comparisons (repeated, backwards) are made on arrival.
use super::rows::grow;

/// A first place in the file where time ran backwards.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Backwards {
    pub line: u64,
    pub before_s: f64,
    pub after_s: f64,
}

/// Stamps of all rows so far.
pub(super) struct Stamps {
    pub first_s: f64,
    /// The guessed interval the deviations are from.
    pub interval_s: f64,
    /// stamp − first − row × interval, s; empty while all are as good as nothing.
    pub deviation_s: Vec<f32>,
    rows: i64,
    regular: bool,
    last_s: f64,
    pub backwards: Option<Backwards>,
    /// Stamps before the one above by less than an interval, and the first of them.
    pub falls: usize,
    pub fell: Option<Backwards>,
    /// Rows whose stamp equals the one before, and those of them whose forces do too: how many, and which.
    pub repeated: usize,
    pub doubled: usize,
    pub twins: Vec<u32>,
    pub missing: usize,
}

impl Stamps {
    pub(super) fn new(interval_s: f64) -> Self {
        Self {
            first_s: f64::NAN,
            interval_s,
            deviation_s: Vec::new(),
            rows: 0,
            regular: true,
            last_s: f64::NAN,
            backwards: None,
            falls: 0,
            fell: None,
            repeated: 0,
            doubled: 0,
            twins: Vec::new(),
            missing: 0,
        }
    }

    pub(super) fn reserve(&mut self, more: usize) {
        if !self.regular {
            grow(&mut self.deviation_s, more);
        }
    }

    /// Whether a stamp belongs to the same recording as the last one: not before it, and soon after.
    pub(super) fn continues(&self, time_s: f64) -> bool {
        !(time_s < self.last_s || time_s > self.last_s + 5.0)
    }

    /// Number of stamps taken.
    pub(super) fn len(&self) -> usize {
        usize::try_from(self.rows).unwrap_or(0)
    }

    /// Whether every stamp lay within a millionth of an interval of the guessed clock.
    pub(super) fn regular(&self) -> bool {
        self.regular
    }

    /// Takes the next rows' stamps, the first one's in `line`, after their forces went into `channels`.
    pub(super) fn push_batch(&mut self, times: &[f64], scale: f64, channels: &[Vec<f32>], line: u64) {
        let mut row = self.rows as f64;
        let (mut before, mut rising, mut largest) = (self.last_s, true, 0.0f64);
        for time in times {
            let time_s = time * scale;
            // NaN compares false, as it does in `push`.
            rising &= time_s > before;
            let off = (time_s - self.first_s - row * self.interval_s).abs();
            largest = if off > largest { off } else { largest };
            before = time_s;
            row += 1.0;
        }
        if rising && self.regular && largest <= 1e-6 * self.interval_s {
            self.last_s = before;
            self.rows += times.len().cast_signed() as i64;
            return;
        }
        for (time, line) in times.iter().zip(line..) {
            self.push(time * scale, channels, line);
        }
    }

    /// Takes the next row's stamp in seconds, after its forces went into `channels`.
    #[inline(always)]
    pub(super) fn push(&mut self, time_s: f64, channels: &[Vec<f32>], line: u64) {
        // NaN compares false: a missing or first stamp goes the long way.
        if time_s > self.last_s {
            self.last_s = time_s;
            self.keep(time_s - self.first_s - self.rows as f64 * self.interval_s);
        } else {
            self.unusual(time_s, channels, line);
        }
    }

    #[inline(always)]
    fn keep(&mut self, deviation_s: f64) {
        if self.regular {
            if deviation_s.abs() <= 1e-6 * self.interval_s {
                self.rows += 1;
                return;
            }
            self.become_irregular();
        }
        self.rows += 1;
        self.deviation_s.push(deviation_s as f32);
    }

    #[cold]
    fn become_irregular(&mut self) {
        self.regular = false;
        self.deviation_s.resize(self.len(), 0.0);
    }

    #[cold]
    fn unusual(&mut self, time_s: f64, channels: &[Vec<f32>], line: u64) {
        if time_s.is_nan() {
            // Without a stamp of its own the row is taken one interval after the one before.
            self.missing += 1;
            let before = self.deviation_s.last().copied().unwrap_or(0.0);
            self.keep(f64::from(before));
            return;
        }
        if self.first_s.is_nan() {
            self.first_s = time_s - self.rows as f64 * self.interval_s;
        } else if time_s == self.last_s {
            self.repeated += 1;
            // Channels may be ahead by the rest of a batch.
            let row = self.len();
            let same = channels.iter().all(|c| matches!(c.get(row.saturating_sub(1)..=row), Some([a, b]) if a == b));
            // More than an eighth of the rows are no accident; those need no list.
            self.doubled += usize::from(same);
            if same && self.twins.len() <= 1000 + self.len() / 8 {
                self.twins.push(u32::try_from(self.rows).unwrap_or(u32::MAX));
            }
        } else {
            let fall = Backwards { line, before_s: self.last_s, after_s: time_s };
            if self.last_s - time_s < self.interval_s {
                self.falls += 1;
                self.fell.get_or_insert(fall);
            } else {
                self.backwards.get_or_insert(fall);
            }
        }
        self.last_s = time_s;
        self.keep(time_s - self.first_s - self.rows as f64 * self.interval_s);
    }
}
