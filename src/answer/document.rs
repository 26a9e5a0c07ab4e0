//! The machine-readable document. A field is added, never renamed; times in s from the recording's first
//! sample, SI units, `u` = standard uncertainty (k = 1). A figure that cannot be given has a null value and says why.
use super::Options;
use super::shared::Shared;
pub use crate::movement::kinds::TestKind;
use crate::recording::{ChannelReport, Layout, Notice, ReadError};
use indexmap::IndexMap;
use serde::{Deserialize, Serialize};

/// Everything one call found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Document {
    /// Version of this document's form.
    pub schema: u32,
    /// Version of the methods that made the figures.
    pub method_version: String,
    /// The choices in force.
    pub options: Options,
    /// One entry a file, in the order given.
    pub files: Vec<FileAnswer>,
}

/// One file's answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FileAnswer {
    /// The file's name.
    pub file: String,
    /// SHA-256 of its bytes, hexadecimal.
    pub sha256: String,
    /// Why it gives no recording.
    pub error: Option<ReadError>,
    /// How it was read.
    pub recording: Option<RecordingReport>,
    /// What was not a trial, with the reason, in order.
    pub left_out: Vec<LeftOut>,
    /// The trials, in order.
    pub trials: Vec<Trial>,
}

/// How a recording was read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RecordingReport {
    /// Samples a second.
    pub rate_hz: f64,
    /// First sample to last, s.
    pub duration_s: f64,
    /// Standard deviation of the file's stamps about the even clock that was fitted to them, s. Not given where the file has no
    /// stamps; unknown, as are the next three, in older records.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub jitter_s: Option<f64>,
    /// Rows that repeated the one before and were dropped.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub duplicates: Option<usize>,
    /// Places where the file leaves samples out; each was filled with a straight line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gaps: Option<usize>,
    /// Samples that were filled in all of them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub samples_filled: Option<usize>,
    /// The text's layout.
    pub layout: Layout,
    /// The force channels.
    pub channels: Vec<ChannelLine>,
    /// What was noticed.
    pub notices: Vec<Notice>,
}

/// One channel: how it was recognised, and its zero level where the recording shows one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ChannelLine {
    /// How it was recognised.
    #[serde(flatten)]
    pub report: ChannelReport,
    /// Force it read with nobody on it, N.
    pub zero_n: Option<f64>,
}

/// A stretch that was not a trial.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LeftOut {
    /// From, s.
    pub start_s: f64,
    /// To, s.
    pub end_s: f64,
    /// Why.
    pub why: String,
}

/// May the trial be trusted?
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Nothing speaks against it.
    Sound,
    /// Usable; read the notices.
    Doubtful,
    /// Its figures are withheld.
    Unusable,
}

/// The test that fits next best.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RunnerUp {
    /// Which.
    pub test: TestKind,
    /// 0 … 1: how far behind it is.
    pub margin: f64,
}

/// A value with its standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Valued {
    /// Value.
    pub value: f64,
    /// Standard uncertainty, k = 1.
    pub u: f64,
}

/// How the athlete was weighed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Weighing {
    /// Quiet stretch, from, s.
    pub from_s: f64,
    /// Quiet stretch, to, s.
    pub to_s: f64,
    /// Standard deviation of force in it, N.
    pub sd_n: f64,
    /// Its mean force, N.
    pub window_n: f64,
    /// Mean force between rest before and rest after, jump included, N; none where the recording ends too early.
    pub closure_n: Option<f64>,
    /// Weight in force, N.
    pub weight_n: Valued,
    /// Where the weight is from, in words.
    pub source: String,
}

/// One figure: value and uncertainty in `unit`, or null and why.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Figure {
    /// Value, SI.
    pub value: Option<f64>,
    /// Standard uncertainty, k = 1.
    pub u: Option<f64>,
    /// SI unit; `""` for ratios.
    pub unit: String,
    /// Why there is no value.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub why: Option<String>,
    /// The largest part of `u` ("weighing", "zero level", …).
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub mostly_from: Option<String>,
}

/// One figure on each side.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SideFigure {
    /// Left, SI.
    pub left: f64,
    /// Right, SI.
    pub right: f64,
    /// SI unit.
    pub unit: String,
    /// 100·R/(L+R).
    pub share_right_percent: f64,
    /// 100·(R−L)/(R+L).
    pub difference_of_total_percent: f64,
    /// Standard uncertainty of `left`: the plate's gain and zero level, and where the phase begins and ends.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u_left: Option<f64>,
    /// Standard uncertainty of `right`, in the same way.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u_right: Option<f64>,
    /// Covariance of `left` and `right`: where the phase begins and ends moves both alike. Unknown in older records.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub covariance: Option<f64>,
    /// Standard uncertainty of `difference_of_total_percent`.
    pub u: f64,
}

/// An event that was moved by hand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct EditedEvent {
    /// Which.
    pub event: String,
    /// Where the tool had put it, s.
    pub found_s: Option<f64>,
    /// Where it was put, s.
    pub time_s: f64,
}

/// One phase of a trial.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PhaseSpan {
    /// Its name ("braking").
    pub name: String,
    /// From, s.
    pub from_s: f64,
    /// To, s.
    pub to_s: f64,
}

/// How the velocity of a drop at touchdown was found: two readings with opposite faults, and what was made of them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DropAnswer {
    /// Height of the box as given, m.
    pub box_m: Option<f64>,
    /// Velocity of the centre of mass at touchdown, m/s (down is negative).
    pub touchdown_velocity: Valued,
    /// `combined`, `backward`, `from_flight` or `box`.
    pub method: String,
    /// Integrated backwards from rest after the final landing, m/s.
    pub backward: Option<Valued>,
    /// From the flight that follows, m/s.
    pub from_flight: Option<Valued>,
}

/// One contact of repeated jumps and the flight after it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ContactRow {
    /// Foot on, s.
    pub touchdown: f64,
    /// Foot off, s.
    pub take_off: f64,
    /// Time on the plates, s.
    pub contact_time: f64,
    /// Time in the air after it, s; none where the recording ends first.
    pub flight_time: Option<f64>,
    /// Height from flight time for contact time, m/s.
    pub reactive_strength_index: Option<f64>,
    /// Whether it is one of those that the set's means are made of.
    pub counted: bool,
}

/// One trial.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Trial {
    /// What it was.
    pub test: TestKind,
    /// What fits next best.
    pub runner_up: Option<RunnerUp>,
    /// What it looks like by itself, where the reader said that it is another test.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub recognised: Option<TestKind>,
    /// `left`, `right` or `both`.
    pub side: String,
    /// Protocol, where the coach gave one.
    pub protocol: Option<String>,
    /// Window, from, s.
    pub start_s: f64,
    /// Window, to, s.
    pub end_s: f64,
    /// May it be trusted?
    pub verdict: Verdict,
    /// Body + load, kg.
    pub system_mass_kg: Option<Valued>,
    /// Body, kg.
    pub body_mass_kg: Option<f64>,
    /// Load, kg.
    pub load_kg: f64,
    /// How the weight was found.
    pub weighing: Option<Weighing>,
    /// Event name → s, in the kind's order (a countermovement jump: `onset`, `peak_downward_velocity`, `lowest_point`, `take_off`,
    /// `touchdown`, `landing_end`).
    pub events: IndexMap<String, f64>,
    /// The phases as they are drawn under the trace, in order of time.
    #[serde(default)]
    pub phases: Vec<PhaseSpan>,
    /// How a drop's touchdown velocity was found.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drop: Option<DropAnswer>,
    /// The contacts of repeated jumps, in order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub contacts: Vec<ContactRow>,
    /// What the height in a reactive strength index is from: `take_off_velocity` or `flight_time`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height_source: Option<String>,
    /// Figure id → figure, in the catalogue's order.
    pub figures: IndexMap<String, Figure>,
    /// Figure id → left and right, in the catalogue's order; empty with one plate.
    pub sides: IndexMap<String, SideFigure>,
    /// How the figures move together, for what later rooms make of two of them. Unknown in older records.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shared: Option<Shared>,
    /// Events moved by hand.
    pub edited_events: Vec<EditedEvent>,
    /// What to know about it.
    pub notices: Vec<Notice>,
}
