//! What the caller may choose; everything else is worked out from the file.
use super::TestKind;
use crate::recording::ReadError;
use serde::{Deserialize, Serialize};

/// Choices for one analysis. [`Options::default`] needs nothing from anyone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Options {
    /// Local gravity, m/s² [standard: CGPM 1901]. Replaced by GRS 80 when `latitude_deg` is given.
    pub gravity: f64,
    /// Geodetic latitude, degrees.
    pub latitude_deg: Option<f64>,
    /// Altitude above sea level, m (with `latitude_deg`).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub altitude_m: Option<f64>,
    /// Onset threshold in standard deviations of quiet standing.
    pub onset_sd: f64,
    /// Optional zero-lag low-pass, Hz; figures named in the methods as unfiltered stay unfiltered.
    pub low_pass_hz: Option<f64>,
    /// Take every trial as this test instead of recognising it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub test: Option<TestKind>,
    /// Known body mass, kg.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mass_kg: Option<f64>,
    /// What the athlete weighed in another trial of the same day, for a trial that has no weighing of its own.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub day_mass: Option<DayMass>,
    /// External load, kg.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub load_kg: Option<f64>,
    /// Height of the box of a drop, m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub box_m: Option<f64>,
    /// The leg or legs it was done on, instead of working it out from the plates.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub side: Option<Side>,
    /// Sampling rate, Hz, for files that state none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rate_hz: Option<f64>,
    /// What each column is, when guessing fails: comma-separated list of `time`, `left`, `right`, `total`, `-`,
    /// each optionally followed by `:unit` (s, ms, N, kN, …).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub columns: Option<String>,
    /// The decimal mark, `.` or `,`, for files whose numbers read two ways.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub decimal: Option<char>,
    /// Layouts that were confirmed before; the one with the file's fingerprint is used where `columns` states nothing.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub known: Vec<crate::recording::KnownLayout>,
    /// Events moved by hand.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub edits: Vec<EventEdit>,
}

/// Body mass as weighed in another trial of the same athlete and day.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DayMass {
    /// Body mass, kg.
    pub mass_kg: f64,
    /// Its standard uncertainty there, kg.
    pub u_kg: f64,
    /// Which trial, in words.
    pub from: String,
}

/// The leg or legs of a trial.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// The left one.
    Left,
    /// The right one.
    Right,
    /// Both.
    Both,
}

impl Side {
    /// As in the document.
    pub fn word(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
            Self::Both => "both",
        }
    }
}

/// An event moved by hand: the event of the trial that holds `near_s` is put at `time_s`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct EventEdit {
    /// Event name as in the document (`onset`, `take_off`, …).
    pub event: String,
    /// Where it was, seconds from the recording's first sample (finds the trial).
    pub near_s: f64,
    /// Where it is to be, seconds from the recording's first sample.
    pub time_s: f64,
}

impl Options {
    /// Gravity in force, m/s²: the place's by GRS 80, or the one stated.
    pub fn local_gravity(&self) -> f64 {
        self.latitude_deg.map_or(self.gravity, |latitude| crate::force::gravity::at(latitude, self.altitude_m.unwrap_or(0.0)))
    }
    /// Whether every number in it can be meant: for whoever takes options from outside, before a file is read.
    ///
    /// # Errors
    /// The first that cannot, with what was found and what is expected.
    #[inline(never)]
    pub fn checked(&self) -> Result<(), ReadError> {
        // The Earth's surface has 9.76 to 9.83 m/s² [Moritz 2000]; the other ranges are what people, plates and boxes can be (ours).
        let numbers = [
            ("gravity", Some(self.gravity), 9.7, 9.9, "m/s²"),
            ("latitude", self.latitude_deg, -90.0, 90.0, "degrees"),
            ("altitude", self.altitude_m, -500.0, 9000.0, "m"),
            ("onset-sd", Some(self.onset_sd), 1.0, 50.0, "standard deviations"),
            ("low-pass", self.low_pass_hz, 1.0, 1000.0, "Hz"),
            ("mass", self.mass_kg, 10.0, 300.0, "kg"),
            ("load", self.load_kg, 0.0, 500.0, "kg"),
            ("box", self.box_m, 0.01, 2.0, "m"),
            ("rate", self.rate_hz, 10.0, 200_000.0, "Hz"),
        ];
        let bad = |name: &str, found: &str, expected: String| {
            let message = format!("The option {name} cannot be used.");
            Err(ReadError::new("bad_option", message, "Correct it, or leave it out.").found(found).expected(expected))
        };
        for (name, value, low, high, unit) in numbers {
            // What is no number is in no range.
            if let Some(x) = value.filter(|x| !(low..=high).contains(x)) {
                return bad(name, &x.to_string(), format!("{low} to {high} {unit}"));
            }
        }
        if self.altitude_m.is_some() && self.latitude_deg.is_none() {
            return bad("altitude", "an altitude alone", "a latitude beside it, for gravity hangs on both".into());
        }
        Ok(())
    }
    /// What of it the reader of files needs.
    pub fn reading(&self) -> crate::recording::ReadOptions {
        crate::recording::ReadOptions {
            rate_hz: self.rate_hz,
            columns: self.columns.clone(),
            decimal: self.decimal,
            known: self.known.clone(),
        }
    }
}

impl Default for Options {
    fn default() -> Self {
        Self {
            gravity: 9.806_65,
            latitude_deg: None,
            altitude_m: None,
            onset_sd: 5.0,
            low_pass_hz: None,
            test: None,
            mass_kg: None,
            day_mass: None,
            load_kg: None,
            box_m: None,
            side: None,
            rate_hz: None,
            columns: None,
            decimal: None,
            known: Vec::new(),
            edits: Vec::new(),
        }
    }
}
