//! A trial's record → its line of the derived table, reading only what the line needs.
use crate::people::Date;
use serde::Deserialize;
use std::collections::BTreeMap;

/// What the table keeps of a trial.
#[derive(Debug, Clone, PartialEq)]
pub struct TrialRow {
    /// Key of the trial.
    pub trial: String,
    /// Key of the athlete; empty while unfiled.
    pub athlete: String,
    /// Its day.
    pub day: Date,
    /// Test, as in the document.
    pub test: String,
    /// `left`, `right` or `both`.
    pub side: String,
    /// [`crate::people::Protocol::key`].
    pub protocol: String,
    /// Method version.
    pub method: String,
    /// Body mass, kg; NaN where unknown.
    pub body_mass_kg: f64,
    /// Whether it was sound (else doubtful).
    pub sound: bool,
    /// Whether it is invented demo data.
    pub invented: bool,
    /// Figure, value, standard uncertainty; withheld figures are not here.
    pub figures: Vec<(String, f64, f64)>,
}

#[derive(Deserialize)]
struct Record {
    kind: String,
    id: String,
    #[serde(default)]
    method: String,
    #[serde(default)]
    removed: bool,
    #[serde(default)]
    invented: bool,
    #[serde(default)]
    added: String,
    #[serde(default)]
    athlete_id: Option<String>,
    #[serde(default)]
    athlete: Option<String>,
    #[serde(default)]
    session_id: Option<String>,
    #[serde(default)]
    protocol_key: Option<String>,
    trial: Trial,
}

#[derive(Deserialize)]
struct Trial {
    test: String,
    #[serde(default)]
    side: String,
    verdict: String,
    #[serde(default)]
    body_mass_kg: Option<f64>,
    figures: BTreeMap<String, Figure>,
}

#[derive(Deserialize)]
struct Figure {
    value: Option<f64>,
    #[serde(default)]
    u: Option<f64>,
}

impl TrialRow {
    /// The line of a trial's record. None where the text is no trial, was taken off the list, has no day, or is unusable:
    /// then the table must not have it. `session_day` says the day of a session by its key; a trial without a session
    /// has the day it came.
    pub fn read(text: &str, session_day: &dyn Fn(&str) -> Option<Date>) -> Option<Self> {
        let record: Record = serde_json::from_str(text).ok()?;
        let usable = matches!(record.trial.verdict.as_str(), "sound" | "doubtful");
        if record.kind != "trial" || record.removed || !usable {
            return None;
        }
        let day = record.session_id.as_deref().and_then(session_day).or_else(|| Date::parse(&record.added))?;
        let figures = record.trial.figures.into_iter();
        Some(Self {
            trial: record.id,
            athlete: record.athlete_id.or(record.athlete).unwrap_or_default(),
            day,
            test: record.trial.test,
            side: record.trial.side,
            protocol: record.protocol_key.unwrap_or_default(),
            method: record.method,
            body_mass_kg: record.trial.body_mass_kg.unwrap_or(f64::NAN),
            sound: record.trial.verdict == "sound",
            invented: record.invented,
            figures: figures.filter_map(|(id, f)| Some((id, f.value?, f.u.unwrap_or(f64::NAN)))).collect(),
        })
    }
}
