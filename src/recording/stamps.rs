//! The file's time stamps while it streams: kept as small deviations from a first guess of the clock.
//!
//! Four bytes a row instead of eight; exact comparisons (repeated, backwards) are made on arrival.
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
    /// stamp − first − row × interval, s.
    pub deviation_s: Vec<f32>,
    last_s: f64,
    pub backwards: Option<Backwards>,
    /// Rows whose stamp equals the one before, and those of them whose forces do too.
    pub repeated: usize,
    pub twins: Vec<u32>,
    pub missing: usize,
    line_of_first: u64,
}

impl Stamps {
    pub(super) fn new(interval_s: f64) -> Self {
        Self {
            first_s: f64::NAN,
            interval_s,
            deviation_s: Vec::new(),
            last_s: f64::NAN,
            backwards: None,
            repeated: 0,
            twins: Vec::new(),
            missing: 0,
            line_of_first: 0,
        }
    }

    pub(super) fn reserve(&mut self, more: usize) {
        grow(&mut self.deviation_s, more);
    }

    /// Takes the next row's stamp in seconds; `same` when its forces equal those of the row before.
    #[inline(always)]
    pub(super) fn push(&mut self, time_s: f64, same: bool, line: u64) {
        let row = self.deviation_s.len();
        // NaN compares false: a missing or first stamp goes the long way.
        if time_s > self.last_s {
            self.last_s = time_s;
            self.deviation_s.push((time_s - self.first_s - row as f64 * self.interval_s) as f32);
        } else {
            self.unusual(time_s, same, line);
        }
    }

    #[cold]
    fn unusual(&mut self, time_s: f64, same: bool, line: u64) {
        let row = self.deviation_s.len();
        if time_s.is_nan() {
            // Without a stamp of its own the row is taken one interval after the one before.
            self.missing += 1;
            let before = self.deviation_s.last().copied().unwrap_or(0.0);
            self.deviation_s.push(before);
            return;
        }
        if self.first_s.is_nan() {
            self.first_s = time_s - row as f64 * self.interval_s;
            self.line_of_first = line;
        } else if time_s == self.last_s {
            self.repeated += 1;
            // More than an eighth of the rows are no accident; those need no list.
            if same && self.twins.len() <= 1000 + row / 8 {
                self.twins.push(u32::try_from(row).unwrap_or(u32::MAX));
            }
        } else if self.backwards.is_none() {
            self.backwards = Some(Backwards { line, before_s: self.last_s, after_s: time_s });
        }
        self.last_s = time_s;
        self.deviation_s.push((time_s - self.first_s - row as f64 * self.interval_s) as f32);
    }
}
