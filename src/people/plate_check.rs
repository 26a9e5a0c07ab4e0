//! A dated check of the plates: a known mass at the centre and the corners, and which plate is which.
use super::{Date, Side};
use serde::{Deserialize, Serialize};

/// Where on a plate the mass stood.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Place {
    /// In the middle.
    Centre,
    /// Front left corner.
    FrontLeft,
    /// Front right corner.
    FrontRight,
    /// Back left corner.
    BackLeft,
    /// Back right corner.
    BackRight,
}

/// The places in the order they are asked for.
pub const PLACES: [Place; 5] = [Place::Centre, Place::FrontLeft, Place::FrontRight, Place::BackLeft, Place::BackRight];

impl Place {
    /// In words.
    pub fn name(self) -> &'static str {
        match self {
            Self::Centre => "centre",
            Self::FrontLeft => "front left",
            Self::FrontRight => "front right",
            Self::BackLeft => "back left",
            Self::BackRight => "back right",
        }
    }
}

/// What a plate showed with the mass at one place.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PlateReading {
    /// Which plate.
    pub plate: Side,
    /// Where the mass stood.
    pub place: Place,
    /// What the plate showed, kg.
    pub shown_kg: f64,
}

/// A dated check of the plates.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlateCheck {
    /// When.
    pub date: Date,
    /// Which plates, in the coach's words.
    #[serde(default)]
    pub plates: String,
    /// The known mass, kg.
    pub known_kg: f64,
    /// What was shown.
    #[serde(default)]
    pub readings: Vec<PlateReading>,
    /// Whether the channel called left rose when somebody stood on the left plate; none where it was not tried.
    #[serde(default)]
    pub left_is_left: Option<bool>,
}

impl PlateCheck {
    /// Mean error of a plate, % of the known mass; none without a reading of it.
    pub fn error_percent(&self, plate: Side) -> Option<f64> {
        let errors: Vec<f64> = self.of(plate).collect();
        (!errors.is_empty()).then(|| errors.iter().sum::<f64>() / errors.len() as f64)
    }
    /// Largest difference between two places of a plate, % of the known mass; none with fewer than two readings of it.
    pub fn spread_percent(&self, plate: Side) -> Option<f64> {
        let errors: Vec<f64> = self.of(plate).collect();
        let (low, high) = errors.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), e| (l.min(*e), h.max(*e)));
        (errors.len() > 1).then_some(high - low)
    }
    fn of(&self, plate: Side) -> impl Iterator<Item = f64> {
        let known = self.known_kg;
        let right = self.readings.iter().filter(move |r| r.plate == plate && known > 0.0 && r.shown_kg.is_finite());
        right.map(move |r| 100.0 * (r.shown_kg - known) / known)
    }
}
