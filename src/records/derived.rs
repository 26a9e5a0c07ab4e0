//! The derived table: of every trial what groups and courses are made of, figure by figure, so that sixty thousand trials
//! answer at once. It is made from the records and can always be made again from them; the records are the truth.
//!
//! Trials stand in **segments** of at most [`SEGMENT`]; a segment has one spine (who, when, which test, how) and one column
//! a figure (place in the segment, value, standard uncertainty). A trial that is saved goes to the end of the last segment,
//! its older version is struck out where it was. So a save rewrites the last segment and at most one other spine,
//! however many trials there are, and a question reads the spines and the columns it asks for.
mod bytes;
mod read;

pub use read::TrialRow;

use crate::cohort::{Observation, Table};
use crate::people::Date;
use std::collections::{BTreeMap, BTreeSet};

/// Trials in a segment.
pub const SEGMENT: usize = 512;

/// One trial's line of the spine; texts by their number in the segment's list.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Line {
    athlete: u16,
    test: u16,
    protocol: u16,
    method: u16,
    side: u16,
    day: i32,
    flags: u8,
    body_mass_kg: f64,
}

const SOUND: u8 = 1;
const INVENTED: u8 = 2;
const STRUCK: u8 = 4;

/// One figure of a segment: places, ascending, with value and standard uncertainty.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Column {
    places: Vec<u16>,
    values: Vec<f64>,
    us: Vec<f64>,
}

impl Column {
    /// Its values, in order of place, those of struck trials included.
    pub fn values(&self) -> &[f64] {
        &self.values
    }
}

/// Up to [`SEGMENT`] trials. Its columns may be left out where only other figures are asked for.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Segment {
    texts: Vec<String>,
    trials: Vec<String>,
    lines: Vec<Line>,
    /// Its columns, by figure.
    pub columns: BTreeMap<String, Column>,
}

impl Segment {
    fn text(&self, number: u16) -> &str {
        self.texts.get(usize::from(number)).map_or("", String::as_str)
    }
    fn number(&mut self, text: &str) -> u16 {
        let known = self.texts.iter().position(|t| t == text);
        known.unwrap_or_else(|| {
            self.texts.push(text.to_owned());
            self.texts.len() - 1
        }) as u16
    }
    fn push(&mut self, row: &TrialRow) {
        let place = self.lines.len() as u16;
        let line = Line {
            athlete: self.number(&row.athlete),
            test: self.number(&row.test),
            protocol: self.number(&row.protocol),
            method: self.number(&row.method),
            side: self.number(&row.side),
            day: row.day.0,
            flags: if row.sound { SOUND } else { 0 } | if row.invented { INVENTED } else { 0 },
            body_mass_kg: row.body_mass_kg,
        };
        self.lines.push(line);
        self.trials.push(row.trial.clone());
        for (figure, value, u) in &row.figures {
            let column = match self.columns.get_mut(figure) {
                Some(column) => column,
                None => self.columns.entry(figure.clone()).or_default(),
            };
            // A figure named twice is kept once.
            if column.places.last() != Some(&place) {
                column.places.push(place);
                column.values.push(*value);
                column.us.push(*u);
            }
        }
    }
    /// Trials in it, struck ones included.
    pub fn len(&self) -> usize {
        self.lines.len()
    }
    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.lines.is_empty()
    }
}

/// What has to be written after a change.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Changed {
    /// Segments whose spine changed.
    pub spines: BTreeSet<usize>,
    /// The segment whose columns changed, and of which figures.
    pub columns: Option<(usize, BTreeSet<String>)>,
}

/// What is asked of the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Question<'a> {
    /// Figure, as in the catalogue.
    pub figure: &'a str,
    /// Test, as in the document.
    pub test: &'a str,
    /// `left`, `right` or `both`.
    pub side: &'a str,
    /// [`crate::people::Protocol::key`].
    pub protocol: &'a str,
    /// Method version.
    pub method: &'a str,
    /// Whether invented demo data are asked for: they never mix with real ones.
    pub invented: bool,
}

/// The whole table.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Derived {
    segments: Vec<Segment>,
    /// Where each trial is: made when first needed, as questions do not need it.
    places: Option<BTreeMap<String, (u32, u32)>>,
    trials: usize,
    struck: usize,
}

impl Derived {
    /// The table of these trials; of one that comes twice the later counts.
    pub fn rebuilt<'r>(rows: impl IntoIterator<Item = &'r TrialRow>) -> Self {
        let mut table = Self::default();
        for row in rows {
            table.put(row);
        }
        if table.struck > 0 { table.packed() } else { table }
    }
    /// The table of segments as read, in their order.
    pub fn of(segments: Vec<Segment>) -> Self {
        let all: usize = segments.iter().map(Segment::len).sum();
        let struck = segments.iter().flat_map(|s| &s.lines).filter(|line| line.flags & STRUCK != 0).count();
        Self { segments, places: None, trials: all - struck, struck }
    }
    fn places(&mut self) -> &mut BTreeMap<String, (u32, u32)> {
        self.places.get_or_insert_with(|| {
            let mut places = BTreeMap::new();
            for (number, segment) in self.segments.iter().enumerate() {
                let lines = segment.trials.iter().zip(&segment.lines).enumerate();
                for (place, (trial, _)) in lines.filter(|(_, (_, line))| line.flags & STRUCK == 0) {
                    places.insert(trial.clone(), (number as u32, place as u32));
                }
            }
            places
        })
    }
    /// Its segments.
    pub fn segments(&self) -> &[Segment] {
        &self.segments
    }
    /// A segment's columns, to put in what was read.
    pub fn segment_mut(&mut self, number: usize) -> Option<&mut Segment> {
        self.segments.get_mut(number)
    }
    /// Trials in it.
    pub fn len(&self) -> usize {
        self.trials
    }
    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.trials == 0
    }
    /// Whether more than a quarter is struck out: then [`packed`](Self::packed) is worth its time.
    pub fn is_loose(&self) -> bool {
        self.struck * 4 > self.trials + self.struck && self.struck > SEGMENT
    }
    /// Adds a trial, or puts it in place of its older version. The last segment's columns must be there.
    pub fn put(&mut self, row: &TrialRow) -> Changed {
        let mut changed = self.remove(&row.trial);
        if self.segments.last().is_none_or(|last| last.len() >= SEGMENT) {
            self.segments.push(Segment::default());
        }
        let number = self.segments.len() - 1;
        let place = self.segments.last().map_or(0, Segment::len);
        self.places().insert(row.trial.clone(), (number as u32, place as u32));
        self.trials += 1;
        if let Some(last) = self.segments.last_mut() {
            last.push(row);
        }
        changed.spines.insert(number);
        changed.columns = Some((number, row.figures.iter().map(|(figure, ..)| figure.clone()).collect()));
        changed
    }
    /// Strikes a trial out.
    pub fn remove(&mut self, trial: &str) -> Changed {
        let mut changed = Changed::default();
        if let Some((number, place)) = self.places().remove(trial) {
            let line = self.segments.get_mut(number as usize).and_then(|s| s.lines.get_mut(place as usize));
            line.into_iter().for_each(|line| line.flags |= STRUCK);
            self.struck += 1;
            self.trials -= 1;
            changed.spines.insert(number as usize);
        }
        changed
    }
    /// The same table without what is struck out. All columns must be there.
    pub fn packed(&self) -> Self {
        let mut table = Self::default();
        for segment in &self.segments {
            let mut figures: Vec<Vec<(String, f64, f64)>> = vec![Vec::new(); segment.len()];
            for (figure, column) in &segment.columns {
                for ((place, value), u) in column.places.iter().zip(&column.values).zip(&column.us) {
                    if let Some(own) = figures.get_mut(usize::from(*place)) {
                        own.push((figure.clone(), *value, *u));
                    }
                }
            }
            for ((trial, line), figures) in segment.trials.iter().zip(&segment.lines).zip(figures) {
                if line.flags & STRUCK == 0 {
                    table.put(&TrialRow {
                        trial: trial.clone(),
                        athlete: segment.text(line.athlete).to_owned(),
                        day: Date(line.day),
                        test: segment.text(line.test).to_owned(),
                        side: segment.text(line.side).to_owned(),
                        protocol: segment.text(line.protocol).to_owned(),
                        method: segment.text(line.method).to_owned(),
                        body_mass_kg: line.body_mass_kg,
                        sound: line.flags & SOUND != 0,
                        invented: line.flags & INVENTED != 0,
                        figures,
                    });
                }
            }
        }
        table
    }
    /// Sum and number of a figure's values over all trials.
    pub fn sum(&self, figure: &str) -> (f64, usize) {
        let mut out = (0.0, 0);
        for segment in &self.segments {
            let Some(column) = segment.columns.get(figure) else { continue };
            for (place, value) in column.places.iter().zip(&column.values) {
                if segment.lines.get(usize::from(*place)).is_some_and(|line| line.flags & STRUCK == 0) {
                    out = (out.0 + value, out.1 + 1);
                }
            }
        }
        out
    }
    /// One figure over everybody, and the athletes' keys in the order that the table counts them in. Unfiled trials are
    /// nobody's and left out.
    pub fn table(&self, question: &Question<'_>) -> (Table, Vec<String>) {
        let mut found: Vec<(usize, u16, Observation)> = Vec::new();
        let mut names: BTreeMap<&str, usize> = BTreeMap::new();
        for (number, segment) in self.segments.iter().enumerate() {
            let Some(column) = segment.columns.get(question.figure) else { continue };
            // A text that the segment does not know is asked of no trial in it; an empty athlete is nobody.
            let known = |text: &str| segment.texts.iter().position(|t| t == text).map(|n| n as u16);
            let wanted = (known(question.test), known(question.side), known(question.protocol), known(question.method));
            let (Some(test), Some(side), Some(protocol), Some(method)) = wanted else { continue };
            let nobody = known("");
            let mut seen = vec![false; segment.texts.len()];
            for ((place, value), u) in column.places.iter().zip(&column.values).zip(&column.us) {
                let Some(line) = segment.lines.get(usize::from(*place)) else { continue };
                let asked = (line.test, line.side, line.protocol, line.method) == (test, side, protocol, method)
                    && line.flags & STRUCK == 0
                    && (line.flags & INVENTED != 0) == question.invented;
                if asked && Some(line.athlete) != nobody {
                    if let Some(seen) = seen.get_mut(usize::from(line.athlete)).filter(|seen| !**seen) {
                        *seen = true;
                        names.insert(segment.text(line.athlete), 0);
                    }
                    let observation = Observation {
                        athlete: 0,
                        day: Date(line.day),
                        value: *value,
                        u: *u,
                        body_mass_kg: line.body_mass_kg,
                        sound: line.flags & SOUND != 0,
                    };
                    found.push((number, line.athlete, observation));
                }
            }
        }
        names.values_mut().enumerate().for_each(|(n, place)| *place = n);
        // Each segment's own numbers of athletes → their places in the list.
        let places: Vec<Vec<usize>> =
            self.segments.iter().map(|s| s.texts.iter().map(|t| names.get(t.as_str()).copied().unwrap_or_default()).collect()).collect();
        let place = |number: usize, own: u16| places.get(number).and_then(|p| p.get(usize::from(own))).copied().unwrap_or_default();
        let mut rows: Vec<Observation> =
            found.into_iter().map(|(number, own, row)| Observation { athlete: place(number, own), ..row }).collect();
        // Trials of a day stay in the order they were saved.
        rows.sort_by_key(|row| (row.athlete, row.day));
        let athletes = names.into_keys().map(str::to_owned).collect();
        let table = Table { figure: question.figure.into(), test: question.test.into(), protocol: question.protocol.into(), rows };
        (table, athletes)
    }
}
