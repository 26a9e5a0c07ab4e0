//! One figure over everybody: the form every statistic of this room starts from.
use crate::people::Date;

/// One trial's value of one figure. Only sound or doubtful trials are here, never unusable ones.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observation {
    /// The athlete's place in the list of athletes of this question.
    pub athlete: usize,
    /// The day of the session.
    pub day: Date,
    /// Value, SI.
    pub value: f64,
    /// Its standard uncertainty (measurement alone).
    pub u: f64,
    /// Body mass that day, kg; NaN where unknown.
    pub body_mass_kg: f64,
    /// Whether the trial was sound (else doubtful).
    pub sound: bool,
}

/// One figure of one test under one protocol and one method version, over everybody.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    /// Figure id as in the catalogue (`…_per_kg` twins included).
    pub figure: String,
    /// Test kind as in the document (`countermovement_jump`, …).
    pub test: String,
    /// [`crate::people::Protocol::key`].
    pub protocol: String,
    /// Its rows, in order of athlete, then day.
    pub rows: Vec<Observation>,
}
