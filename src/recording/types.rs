//! The recording: force in newtons on a uniform clock, as stored (f32), and how it was read.
use super::Notice;
use serde::{Deserialize, Serialize};

/// What a force channel measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// The plate under the left foot.
    Left,
    /// The plate under the right foot.
    Right,
    /// One plate under both feet, or the file's own sum.
    Total,
}

/// A unit of force a file may use. Written as its name: `N`, `kN`, `mN`, `kgf`, `lbf`, `500 N/V`, `0.5 N/mV`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(into = "String", try_from = "String")]
pub enum Unit {
    /// newton
    Newton,
    /// kilonewton
    Kilonewton,
    /// millinewton
    Millinewton,
    /// kilogram-force, 9.80665 N [CGPM 1901]
    KilogramForce,
    /// pound-force, 4.4482216152605 N [NIST SP 811]
    PoundForce,
    /// An amplifier's volts, with the newtons that the file says one volt is.
    PerVolt(f64),
    /// The same in millivolts, with the newtons that one of them is.
    PerMillivolt(f64),
}

impl Unit {
    /// Newtons per unit.
    pub fn newtons(self) -> f64 {
        match self {
            Self::Newton => 1.0,
            Self::Kilonewton => 1000.0,
            Self::Millinewton => 0.001,
            Self::KilogramForce => 9.806_65,
            Self::PoundForce => 4.448_221_615_260_5,
            Self::PerVolt(newtons) | Self::PerMillivolt(newtons) => newtons,
        }
    }
}

impl From<Unit> for String {
    fn from(unit: Unit) -> Self {
        match unit {
            Unit::Newton => "N".into(),
            Unit::Kilonewton => "kN".into(),
            Unit::Millinewton => "mN".into(),
            Unit::KilogramForce => "kgf".into(),
            Unit::PoundForce => "lbf".into(),
            Unit::PerVolt(newtons) => format!("{newtons} N/V"),
            Unit::PerMillivolt(newtons) => format!("{newtons} N/mV"),
        }
    }
}

impl TryFrom<String> for Unit {
    type Error = String;
    fn try_from(name: String) -> Result<Self, String> {
        match super::words::unit(&name) {
            Some(super::words::ColumnUnit::Force(unit)) => Ok(unit),
            _ => Err(format!("no unit of force: {name}")),
        }
    }
}

/// One force channel in newtons, upward positive, one value a sample of the recording's clock.
#[derive(Debug, Clone, PartialEq)]
pub struct Channel {
    /// How it was recognised.
    pub report: ChannelReport,
    /// Vertical force, N, rounded to the stored form (f32).
    pub force_n: Vec<f32>,
}

/// How one column of the file was understood.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ChannelReport {
    /// Column of the table, from 1 (the first one where several were summed).
    pub column: usize,
    /// The header's words for it, or empty.
    pub header: String,
    /// What it measures.
    pub role: Role,
    /// The file's unit.
    pub unit: Unit,
    /// +1, or −1 where a person on the plate read negative in the file.
    pub sign: f64,
    /// Why it was taken for that.
    pub why: String,
}

/// Samples that the file does not hold; the channels hold a straight line there.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Gap {
    /// Index of the first filled sample.
    pub start: usize,
    /// Number of filled samples.
    pub len: usize,
}

/// The fitted uniform clock.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Clock {
    /// Samples a second.
    pub rate_hz: f64,
    /// Standard deviation of the file's stamps about the fitted clock, s (0 where the file has no stamps).
    pub jitter_s: f64,
    /// Missing stretches, filled with a straight line, in order.
    pub gaps: Vec<Gap>,
    /// Samples dropped because their stamp repeated an earlier one.
    pub duplicates: usize,
    /// Where the rate is from: "time column", "stated in the file", "stated by the reader", …
    pub source: String,
}

/// How the text was laid out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Layout {
    /// The character between cells.
    pub delimiter: String,
    /// The decimal mark.
    pub decimal: String,
    /// The text's encoding.
    pub encoding: String,
    /// Line of the header, from 1; none without one.
    pub header_row: Option<u64>,
    /// Line of the first row of numbers, from 1.
    pub first_data_row: u64,
    /// 0 … 1: how sure the reader is of the columns.
    pub confidence: f64,
}

/// Vertical force of one file (or of a window of it), uniformly sampled.
#[derive(Debug, Clone, PartialEq)]
pub struct Recording {
    /// Time of the first sample in seconds from the first sample of the file (0 for a whole file).
    pub start_s: f64,
    /// The clock.
    pub clock: Clock,
    /// One to three channels, all of one length; left before right before total.
    pub channels: Vec<Channel>,
    /// How the text was laid out.
    pub layout: Layout,
    /// What the reader noticed.
    pub notices: Vec<Notice>,
}

impl Recording {
    /// Number of samples.
    pub fn len(&self) -> usize {
        self.channels.first().map_or(0, |c| c.force_n.len())
    }
    /// Whether it holds no sample.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
    /// Length in seconds, first sample to last.
    pub fn duration_s(&self) -> f64 {
        self.len().saturating_sub(1) as f64 / self.clock.rate_hz
    }
    /// The channel of a role.
    pub fn channel(&self, role: Role) -> Option<&[f32]> {
        self.channels.iter().find(|c| c.report.role == role).map(|c| c.force_n.as_slice())
    }
    /// The samples `from..to` as a recording of its own; `start_s` keeps the file's time. Bounds are clamped.
    #[must_use]
    pub fn window(&self, from: usize, to: usize) -> Self {
        let to = to.min(self.len());
        let from = from.min(to);
        let gaps = self.clock.gaps.iter().filter_map(|g| {
            let (a, b) = (g.start.max(from), (g.start + g.len).min(to));
            (a < b).then(|| Gap { start: a - from, len: b - a })
        });
        Self {
            start_s: self.start_s + from as f64 / self.clock.rate_hz,
            clock: Clock { gaps: gaps.collect(), ..self.clock.clone() },
            channels: self
                .channels
                .iter()
                .map(|c| Channel { report: c.report.clone(), force_n: c.force_n.get(from..to).unwrap_or_default().to_vec() })
                .collect(),
            layout: self.layout.clone(),
            notices: self.notices.clone(),
        }
    }
}
