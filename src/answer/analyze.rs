//! Bytes + options → answer, in one function; the same path for a file, a stream and a saved window.
use super::{FileAnswer, Options, Trial};
use crate::recording::{ReadError, ReadOptions, Reader, Recording};
use sha2::{Digest, Sha256};

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
    stream.feed(bytes);
    stream.finish()
}

/// Reads one file in pieces of any size; the pieces never change the answer.
pub struct Stream {
    name: String,
    options: Options,
    hash: Sha256,
    reader: Reader,
    error: Option<ReadError>,
}

impl Stream {
    /// A stream for one file.
    pub fn new(name: &str, options: &Options) -> Self {
        let read = ReadOptions { rate_hz: options.rate_hz, columns: options.columns.clone() };
        Self { name: name.into(), options: options.clone(), hash: Sha256::new(), reader: Reader::new(&read), error: None }
    }
    /// Takes the next bytes.
    pub fn feed(&mut self, bytes: &[u8]) {
        self.hash.update(bytes);
        if self.error.is_none() {
            self.error = self.reader.feed(bytes).err();
        }
    }
    /// Analyses what was read.
    pub fn finish(self) -> Analysis {
        let sha256 = self.hash.finalize().iter().map(|b| format!("{b:02x}")).collect();
        let read = match self.error {
            Some(error) => Err(error),
            None => self.reader.finish(),
        };
        let empty = FileAnswer { file: self.name, sha256, error: None, recording: None, left_out: Vec::new(), trials: Vec::new() };
        match read {
            Err(error) => Analysis { answer: FileAnswer { error: Some(error), ..empty }, windows: Vec::new() },
            Ok(recording) => analyze_recording(empty, &recording, &self.options),
        }
    }
}

fn analyze_recording(empty: FileAnswer, _recording: &Recording, _options: &Options) -> Analysis {
    Analysis { answer: empty, windows: Vec::new() }
}

/// Computes a trial again from its saved window, with other options or events moved by hand.
/// `None` where the window holds no trial (it always does for a window that [`analyze`] returned).
pub fn reread(window: &Recording, options: &Options) -> Option<Trial> {
    let _ = (window, options);
    None
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

/// The curves behind a trial's figures.
pub fn curves(window: &Recording, trial: &Trial, options: &Options) -> Curves {
    let _ = (window, trial, options);
    Curves::default()
}
