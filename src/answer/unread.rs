//! A file read to its end, its trials found and not yet read: whoever reads them, in whatever order and place, gives what came
//! of each back in order, and gets the file's answer.
use super::clean::{Total, rate_notices, stuck};
use super::trial::read_trial;
use super::{ChannelLine, FileAnswer, LeftOut, Options, RecordingReport, Trial};
use crate::force::Zero;
use crate::movement::{Bout, bouts, survey};
use crate::recording::{Notice, Recording};
use std::borrow::Cow;

/// What came of a window: its trial and the zero level of each channel, or why it holds none.
pub type Outcome = Result<(Trial, Vec<Zero>), String>;

/// Reads a window's trial.
pub fn read_window(window: &Recording, options: &Options) -> Outcome {
    let read = read_trial(window, options).map(|reading| (reading.trial, reading.clean.zeros));
    read.map_err(|why| stuck(window).unwrap_or(why))
}

/// The trials of a file, found and not yet read. Windows are numbered over all of its recordings.
pub struct Unread<'a> {
    /// The answer so far: name, hash, error.
    answer: FileAnswer,
    /// A file may hold several recordings one behind another; each is read for itself.
    parts: Vec<Part<'a>>,
    /// Which recording and which bout of it each window is of.
    places: Vec<(usize, usize)>,
}

/// What came of the windows so far, beside [`Unread`] and not in it: several may look at that while one collects.
#[derive(Default)]
pub struct Told {
    /// Stretches that turned out to hold no trial, each with its recording.
    left_out: Vec<(usize, LeftOut)>,
    /// The zero levels of each trial that somebody flew in, with its recording.
    zeros: Vec<(usize, Vec<Zero>)>,
}

struct Part<'a> {
    recording: Cow<'a, Recording>,
    bouts: Vec<Bout>,
    left_out: Vec<LeftOut>,
    nobody_stood: bool,
}

impl<'a> Unread<'a> {
    /// `answer` carries the file's name and hash, or its error.
    pub(super) fn new(answer: FileAnswer, recordings: impl Iterator<Item = Cow<'a, Recording>>) -> Self {
        let parts: Vec<Part<'a>> = recordings.map(Part::of).collect();
        let places = parts.iter().enumerate().flat_map(|(i, part)| (0..part.bouts.len()).map(move |k| (i, k))).collect();
        Self { answer, parts, places }
    }
    /// How many windows there are.
    pub fn windows(&self) -> usize {
        self.places.len()
    }
    fn place(&self, at: usize) -> Option<(&Part<'a>, &Bout)> {
        let (part, bout) = self.places.get(at)?;
        let part = self.parts.get(*part)?;
        Some((part, part.bouts.get(*bout)?))
    }
    /// The force of one window.
    pub fn window(&self, at: usize) -> Option<Recording> {
        self.place(at).map(|(part, bout)| part.recording.window(bout.window.start, bout.window.end))
    }
    /// Takes what came of a window; in their order. Its trial, in whatever form it comes, where it holds one.
    pub fn take<T>(&self, told: &mut Told, at: usize, outcome: Result<(T, Vec<Zero>), String>) -> Option<T> {
        let (part, bout) = self.place(at)?;
        let number = self.places.get(at)?.0;
        match outcome {
            Ok((trial, zeros_n)) => {
                // Where nobody left the plates their level is not read but assumed.
                if !bout.flights.is_empty() {
                    told.zeros.push((number, zeros_n));
                }
                Some(trial)
            }
            Err(why) => {
                // A stance may be the landing of one trial and the beginning of what is none: only what lies after counts.
                let earlier = part.bouts.iter().take_while(|b| !core::ptr::eq(*b, bout)).map(|b| b.window.end);
                let start = earlier.max().filter(|end| *end < bout.window.end).map_or(bout.window.start, |end| end.max(bout.window.start));
                let (start_s, end_s) = (part.at_s(start), part.at_s(bout.window.end));
                told.left_out.push((number, LeftOut { start_s, end_s, why }));
                None
            }
        }
    }
    /// The file's answer, without its trials.
    pub fn finish(self, told: Told) -> FileAnswer {
        let mut answer = self.answer;
        let (mut left_out, mut zeros) = (told.left_out.into_iter().peekable(), told.zeros.into_iter().peekable());
        for (number, mut part) in self.parts.into_iter().enumerate() {
            while let Some((_, one)) = left_out.next_if(|one| one.0 == number) {
                part.left_out.push(one);
            }
            let mut own = Vec::new();
            while let Some((_, one)) = zeros.next_if(|one| one.0 == number) {
                own.push(one);
            }
            let (report, left_out) = part.finish(&own);
            answer.recording.get_or_insert(report);
            answer.left_out.extend(left_out);
        }
        answer
    }
}

impl<'a> Part<'a> {
    fn of(recording: Cow<'a, Recording>) -> Self {
        let rate = recording.clock.rate_hz;
        let force = Total::of(&recording);
        let seen = survey(&force, rate);
        let (bouts, mut left) = bouts(&force, rate, &seen);
        if let Some(why) = stuck(&recording) {
            left.iter_mut().for_each(|l| l.1.clone_from(&why));
        }
        let nobody_stood = seen.stance_n <= 0.0;
        let mut part = Self { recording, bouts, left_out: Vec::new(), nobody_stood };
        let empty = seen.unloaded.into_iter().map(|r| (r, "nobody on the plates".to_owned()));
        let left_out = empty.chain(left).map(|(r, why)| LeftOut { start_s: part.at_s(r.start), end_s: part.at_s(r.end), why });
        part.left_out = left_out.collect();
        part
    }
    fn at_s(&self, sample: usize) -> f64 {
        self.recording.start_s + sample as f64 / self.recording.clock.rate_hz
    }
    fn finish(mut self, zeros: &[Vec<Zero>]) -> (RecordingReport, Vec<LeftOut>) {
        if self.nobody_stood {
            let why = "nobody stood on the plates: force never reaches 150 N";
            let (start_s, end_s) = (self.at_s(0), self.at_s(self.recording.len()));
            self.left_out.push(LeftOut { start_s, end_s, why: why.into() });
        }
        self.left_out.sort_by(|a, b| a.start_s.total_cmp(&b.start_s));
        let recording = &self.recording;
        let rate = recording.clock.rate_hz;
        let mut notices = recording.notices.clone();
        notices.extend(rate_notices(rate));
        notices.extend(zero_drift(zeros));
        let channels = recording
            .channels
            .iter()
            .enumerate()
            .map(|(i, c)| ChannelLine { report: c.report.clone(), zero_n: zeros.first().and_then(|z| z.get(i)).map(|z| z.level_n) })
            .collect();
        let clock = &recording.clock;
        let report = RecordingReport {
            rate_hz: rate,
            duration_s: recording.duration_s(),
            // A stated rate has no stamps to scatter about it.
            jitter_s: (!clock.source.starts_with("stated")).then_some(clock.jitter_s),
            duplicates: Some(clock.duplicates),
            gaps: Some(clock.gaps.len()),
            samples_filled: Some(clock.gaps.iter().map(|gap| gap.len).sum()),
            layout: recording.layout.clone(),
            channels,
            notices,
        };
        (report, self.left_out)
    }
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
