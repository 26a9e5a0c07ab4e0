//! Bytes + options → answer, in one function; the same path for a file, a stream and a saved window.
use super::trial::read_trial;
use super::unread::{Told, Unread, read_window};
use super::{Document, FileAnswer, Options, Trial};
use crate::force::parallel::{both, in_order};
use crate::recording::{ReadError, Reader, Recording};
use sha2::{Digest, Sha256};
use std::borrow::Cow;

/// One file's answer with the window of each trial, in the same order, for drawing and saving.
#[derive(Debug, Clone, PartialEq)]
pub struct Analysis {
    /// What was found.
    pub answer: FileAnswer,
    /// Per trial of `answer.trials`: its force, enough to compute the same trial again.
    pub windows: Vec<Recording>,
}

/// Reads one file held in memory.
pub fn analyze(name: &str, bytes: &[u8], options: &Options) -> Analysis {
    let mut stream = Stream::new(name, options);
    stream.expect(bytes.len() as f64);
    stream.feed(bytes);
    stream.finish()
}

/// From this many bytes on a piece is hashed beside its reading.
const BESIDE: usize = 1 << 20;

/// Reads one file in pieces of any size; the pieces never change the answer.
pub struct Stream {
    name: String,
    options: Options,
    hash: Option<Sha256>,
    reader: Reader,
    error: Option<ReadError>,
}

impl Stream {
    /// A stream for one file.
    pub fn new(name: &str, options: &Options) -> Self {
        Self { hash: Some(Sha256::new()), ..Self::unhashed(name, options) }
    }
    /// A stream for a file that somebody else hashes: the answer's `sha256` is left empty.
    pub fn unhashed(name: &str, options: &Options) -> Self {
        Self { name: name.into(), options: options.clone(), hash: None, reader: Reader::new(&options.reading()), error: None }
    }
    /// Says how many bytes the file has: see [`Reader::expect`].
    pub fn expect(&mut self, bytes: f64) {
        self.reader.expect(bytes);
    }
    /// Takes the next bytes.
    pub fn feed(&mut self, bytes: &[u8]) {
        let Self { hash, reader, error, .. } = self;
        let mut read = || {
            if error.is_none() {
                *error = reader.feed(bytes).err()
            }
        };
        match hash {
            // A thread costs some 50 µs, a megabyte's hash ten times that.
            Some(hash) if bytes.len() >= BESIDE => both(|| hash.update(bytes), read),
            Some(hash) => {
                hash.update(bytes);
                read();
            }
            None => read(),
        }
    }
    /// Analyses what was read.
    pub fn finish(self) -> Analysis {
        let (mut trials, mut windows) = (Vec::new(), Vec::new());
        let answer = self.each(&|window| window, &mut |trial, window| {
            trials.push(trial);
            windows.push(window);
        });
        Analysis { answer: FileAnswer { trials, ..answer }, windows }
    }
    /// Analyses what was read and keeps no window: those of a long session are more than the session.
    pub fn answer(self) -> FileAnswer {
        let mut trials = Vec::new();
        let answer = self.each(&drop, &mut |trial, ()| trials.push(trial));
        FileAnswer { trials, ..answer }
    }
    /// Analyses what was read and hands each trial over with its window, in order; in WebAssembly as soon as it is read. What
    /// is returned holds no trials.
    pub fn finish_each(self, take: &mut dyn FnMut(Trial, Recording)) -> FileAnswer {
        self.each(&|window| window, take)
    }
    fn each<K: Send>(self, keep: &(dyn Fn(Recording) -> K + Sync), take: &mut dyn FnMut(Trial, K)) -> FileAnswer {
        let options = self.options.clone();
        read_all(self.unread(), &options, keep, take)
    }
    /// What was read, with its trials found and not yet read, for a caller who reads them in several places.
    pub fn unread(self) -> Unread<'static> {
        let sha256 = self.hash.map(|hash| hex(&hash.finalize())).unwrap_or_default();
        let read = match self.error {
            Some(error) => Err(error),
            None => self.reader.finish_all(),
        };
        let mut answer = FileAnswer { file: self.name, sha256, error: None, recording: None, left_out: Vec::new(), trials: Vec::new() };
        let recordings = read.unwrap_or_else(|error| {
            answer.error = Some(error);
            Vec::new()
        });
        Unread::new(answer, recordings.into_iter().map(Cow::Owned))
    }
}

/// Bytes in hexadecimal digits.
pub fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

/// Analyses a recording already read; `empty` carries the file's name and hash.
pub fn analyze_recording(empty: FileAnswer, recording: &Recording, options: &Options) -> Analysis {
    let (mut trials, mut windows) = (Vec::new(), Vec::new());
    let unread = Unread::new(empty, core::iter::once(Cow::Borrowed(recording)));
    let answer = read_all(unread, options, &|window| window, &mut |trial, window| {
        trials.push(trial);
        windows.push(window);
    });
    Analysis { answer: FileAnswer { trials, ..answer }, windows }
}

/// Reads every trial: `keep` says what of its window goes on with it to `take`.
fn read_all<K: Send>(
    unread: Unread<'_>,
    options: &Options,
    keep: &(dyn Fn(Recording) -> K + Sync),
    take: &mut dyn FnMut(Trial, K),
) -> FileAnswer {
    let numbers: Vec<usize> = (0..unread.windows()).collect();
    let mut told = Told::default();
    let read = |at: &usize| unread.window(*at).map(|window| (read_window(&window, options), keep(window)));
    in_order(&numbers, read, |at, read| {
        if let Some((outcome, kept)) = read
            && let Some(trial) = unread.take(&mut told, *at, outcome)
        {
            take(trial, kept);
        }
    });
    unread.finish(told)
}

/// Computes a trial again from its saved window, with other options or events moved by hand.
/// `None` where the window holds no trial (it always does for a window that [`analyze`] returned).
pub fn reread(window: &Recording, options: &Options) -> Option<Trial> {
    reread_or_why(window, options).ok()
}

/// The same, for options that the window may not bear out.
///
/// # Errors
/// Why the window holds no such trial, in words.
pub fn reread_or_why(window: &Recording, options: &Options) -> Result<Trial, String> {
    read_trial(window, options).map(|reading| reading.trial)
}

/// Curves of one trial for drawing, one value a sample of the window; NaN where a curve is not defined.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Curves {
    /// Seconds from the recording's first sample.
    pub time_s: Vec<f64>,
    /// Zero-corrected total vertical force, N.
    pub force_n: Vec<f64>,
    /// Left plate, N (empty with one plate).
    pub left_n: Vec<f64>,
    /// Right plate, N (empty with one plate).
    pub right_n: Vec<f64>,
    /// Velocity of the centre of mass, m/s, up positive.
    pub velocity_m_s: Vec<f64>,
    /// Displacement of the centre of mass from standing, m.
    pub displacement_m: Vec<f64>,
    /// Force × velocity, W.
    pub power_w: Vec<f64>,
}

/// The curves behind a trial's figures; empty where the window holds no trial.
pub fn curves(window: &Recording, options: &Options) -> Curves {
    let Ok(reading) = read_trial(window, options) else { return Curves::default() };
    let n = window.len();
    let start = reading.motion.start;
    let pad = |x: &[f64]| -> Vec<f64> {
        let mut out = vec![f64::NAN; start.min(n)];
        out.extend_from_slice(x);
        out.resize(n, f64::NAN);
        out
    };
    let velocity_m_s = pad(&reading.motion.velocity_m_s);
    let power_w = reading.clean.total_n.iter().zip(&velocity_m_s).map(|(f, v)| f * v).collect();
    let [left_n, right_n] = reading.clean.plates.unwrap_or_default();
    Curves {
        time_s: (0..n).map(|i| window.start_s + i as f64 / window.clock.rate_hz).collect(),
        displacement_m: pad(&reading.motion.displacement_m),
        force_n: reading.clean.total_n,
        left_n,
        right_n,
        velocity_m_s,
        power_w,
    }
}

/// The machine-readable document over some files.
pub fn document(options: &Options, files: Vec<FileAnswer>) -> Document {
    Document { schema: 1, method_version: METHOD_VERSION.into(), options: options.clone(), files }
}

/// Version of the methods; changes whenever a figure could.
pub const METHOD_VERSION: &str = "1.5";
