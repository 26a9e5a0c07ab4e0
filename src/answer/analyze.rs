//! Bytes + options → answer, in one function; the same path for a file, a stream and a saved window.
use super::clean::{rate_notices, total};
use super::parallel::{both, in_order};
use super::trial::read_trial;
use super::{ChannelLine, Document, FileAnswer, LeftOut, Options, RecordingReport, Trial};
use crate::force::Zero;
use crate::movement::{Bout, bouts, survey};
use crate::recording::{Notice, ReadError, Reader, Recording};
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
        let sha256 = self.hash.map(|hash| hex(&hash.finalize())).unwrap_or_default();
        let read = match self.error {
            Some(error) => Err(error),
            None => self.reader.finish_all(),
        };
        let mut answer = FileAnswer { file: self.name, sha256, error: None, recording: None, left_out: Vec::new(), trials: Vec::new() };
        match read {
            Err(error) => answer.error = Some(error),
            // A file may hold several recordings one behind another; each is read for itself.
            Ok(recordings) => {
                for recording in recordings {
                    let (report, left_out) = read_recording(&recording, &self.options, keep, take);
                    answer.recording.get_or_insert(report);
                    answer.left_out.extend(left_out);
                }
            }
        }
        answer
    }
}

/// Bytes in hexadecimal digits.
pub fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

/// Analyses a recording already read; `empty` carries the file's name and hash.
pub fn analyze_recording(empty: FileAnswer, recording: &Recording, options: &Options) -> Analysis {
    let (mut trials, mut windows) = (Vec::new(), Vec::new());
    let (report, left_out) = read_recording(recording, options, &|window| window, &mut |trial, window| {
        trials.push(trial);
        windows.push(window);
    });
    Analysis { answer: FileAnswer { recording: Some(report), left_out, trials, ..empty }, windows }
}

/// Reads every trial of a recording: `keep` says what of its window goes on with it to `take`.
fn read_recording<K: Send>(
    recording: &Recording,
    options: &Options,
    keep: &(dyn Fn(Recording) -> K + Sync),
    take: &mut dyn FnMut(Trial, K),
) -> (RecordingReport, Vec<LeftOut>) {
    let rate = recording.clock.rate_hz;
    let force = total(recording);
    let seen = survey(&force, rate);
    let (bouts, left) = bouts(&force, rate, &seen);
    drop(force);
    let at_s = |i: usize| recording.start_s + i as f64 / rate;
    let mut left_out: Vec<LeftOut> =
        seen.unloaded.iter().map(|r| LeftOut { start_s: at_s(r.start), end_s: at_s(r.end), why: "nobody on the plates".into() }).collect();
    left_out.extend(left.into_iter().map(|(r, why)| LeftOut { start_s: at_s(r.start), end_s: at_s(r.end), why }));
    let mut zeros: Vec<Vec<Zero>> = Vec::new();
    let read = |bout: &Bout| {
        let window = recording.window(bout.window.start, bout.window.end);
        let reading = read_trial(&window, options).map(|reading| (reading.trial, reading.clean.zeros));
        reading.map(|(trial, zeros)| (trial, zeros, keep(window)))
    };
    in_order(&bouts, read, |bout, reading| match reading {
        Ok((trial, zeros_n, kept)) => {
            // Where nobody left the plates their level is not read but assumed.
            if !bout.flights.is_empty() {
                zeros.push(zeros_n);
            }
            take(trial, kept);
        }
        Err(why) => left_out.push(LeftOut { start_s: at_s(bout.window.start), end_s: at_s(bout.window.end), why }),
    });
    if seen.stance_n <= 0.0 {
        let why = "nobody stood on the plates: force never reaches 150 N";
        left_out.push(LeftOut { start_s: at_s(0), end_s: at_s(recording.len()), why: why.into() });
    }
    left_out.sort_by(|a, b| a.start_s.total_cmp(&b.start_s));
    let mut notices = recording.notices.clone();
    notices.extend(rate_notices(rate));
    notices.extend(zero_drift(&zeros));
    let channels = recording
        .channels
        .iter()
        .enumerate()
        .map(|(i, c)| ChannelLine { report: c.report.clone(), zero_n: zeros.first().and_then(|z| z.get(i)).map(|z| z.level_n) })
        .collect();
    let report = RecordingReport { rate_hz: rate, duration_s: recording.duration_s(), layout: recording.layout.clone(), channels, notices };
    (report, left_out)
}

/// Tells when the unloaded level of a channel is not the same in every flight of a recording: beyond three joint
/// uncertainties and 2 N, the plate drifts.
fn zero_drift(zeros: &[Vec<Zero>]) -> Option<Notice> {
    let channels = zeros.first()?.len();
    let apart = |channel: usize| {
        let levels = || zeros.iter().filter_map(move |z| z.get(channel)).filter(|z| !z.clamped);
        let low = levels().min_by(|a, b| a.level_n.total_cmp(&b.level_n))?;
        let high = levels().max_by(|a, b| a.level_n.total_cmp(&b.level_n))?;
        let joint = (low.u_n * low.u_n + high.u_n * high.u_n).sqrt();
        let apart = high.level_n - low.level_n;
        (apart > (3.0 * joint).max(2.0)).then_some(apart)
    };
    let worst = (0..channels).filter_map(apart).max_by(f64::total_cmp)?;
    let message =
        format!("With nobody on them the plates read up to {worst:.1} N differently from one flight to another: the zero level drifts.");
    Some(Notice::new("zero_drift", message).next_time("Let the plates warm up, and zero them with nobody on them before each trial."))
}

/// Computes a trial again from its saved window, with other options or events moved by hand.
/// `None` where the window holds no trial (it always does for a window that [`analyze`] returned).
pub fn reread(window: &Recording, options: &Options) -> Option<Trial> {
    read_trial(window, options).ok().map(|reading| reading.trial)
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
pub const METHOD_VERSION: &str = "1.3";
