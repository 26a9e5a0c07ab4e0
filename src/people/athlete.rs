//! An athlete as the coach keeps him: as little as wanted, and what gates training after injury.
use super::Date;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// One athlete. Only `name` (which may be a code) is ever needed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, Default)]
#[serde(default)]
pub struct Athlete {
    /// Key on the device; never shown.
    pub id: String,
    /// Name or code.
    pub name: String,
    /// Sex, where the coach wants to compare by it.
    pub sex: Option<Sex>,
    /// Year of birth.
    pub birth_year: Option<i32>,
    /// Sport.
    pub sport: Option<String>,
    /// The coach's own labels, for choosing groups.
    pub labels: Vec<String>,
    /// Body mass over time, oldest first.
    pub body_mass: Vec<BodyMass>,
    /// Operated or injured sides.
    pub injuries: Vec<Injury>,
    /// Guardian's consent, for minors.
    pub consent: Option<Consent>,
    /// Who allowed what, until when.
    pub clearances: Vec<Clearance>,
    /// Conditions the coach was told of that close high-impact work (row ids of the gates table).
    pub conditions: Vec<String>,
    /// The day each condition was noted, by its id; records made before this was kept have none. A clearance counts against a
    /// condition only from that day on.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub conditions_noted: BTreeMap<String, Date>,
    /// Years of strength or jump training, where known.
    pub training_years: Option<f64>,
    /// What he has trained, in the coach's words; stands beside the evidence and never makes it.
    pub training_history: String,
}

/// Sex as entered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Sex {
    /// Female.
    Female,
    /// Male.
    Male,
}

/// A leg, or both.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// Left.
    Left,
    /// Right.
    Right,
    /// Both.
    Both,
}

/// Body mass on a day.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BodyMass {
    /// When.
    pub date: Date,
    /// Body mass, kg.
    pub mass_kg: f64,
    /// Weighed on the plate, or typed in.
    pub from_plate: bool,
}

/// What happened to a part of the body.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum InjuryKind {
    /// Surgery of a knee ligament.
    KneeLigamentSurgery,
    /// Other surgery of a leg or the spine.
    OtherSurgery,
    /// An injury without surgery.
    Injury,
}

/// An operated or injured side.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Injury {
    /// When.
    pub date: Date,
    /// Which leg.
    pub side: Side,
    /// What.
    pub kind: InjuryKind,
    /// In the coach's words; left out of links.
    #[serde(default)]
    pub note: String,
}

/// A guardian's consent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Consent {
    /// Who gave it.
    pub by: String,
    /// When.
    pub date: Date,
}

/// A class of activity that a clearance opens.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ClearedClass {
    /// Two-leg jumps of low intensity.
    LowJumps,
    /// Rebounds and repeated jumps.
    Rebounds,
    /// Drops from a box, landings from height.
    Drops,
    /// One-leg jumps.
    OneLegJumps,
    /// Maximal isometric pushes and pulls.
    MaximalIsometrics,
}

/// Somebody's dated permission for one class of activity.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Clearance {
    /// Who: name and role.
    pub by: String,
    /// When.
    pub date: Date,
    /// For what.
    pub class: ClearedClass,
    /// Last day it holds.
    pub until: Date,
}

impl Athlete {
    /// Takes in what is told of the athlete on a day: what is new is noted on it, unless another day before is typed in; what
    /// is no longer told is forgotten with its day.
    pub fn told_of(&mut self, told: Vec<String>, today: Date, typed: impl Fn(&str) -> Option<Date>) {
        let known = |id: &String| self.conditions.contains(id).then(|| self.conditions_noted.get(id).copied()).flatten();
        let noted = told.iter().map(|id| (id.clone(), typed(id).or_else(|| known(id)).unwrap_or(today).min(today))).collect();
        (self.conditions, self.conditions_noted) = (told, noted);
    }
    /// Body mass valid on `day`: the latest at or before it, else the earliest after; of one day what was typed in.
    pub fn body_mass_on(&self, day: Date) -> Option<f64> {
        let before = self.body_mass.iter().filter(|m| m.date <= day).max_by_key(|m| (m.date, !m.from_plate));
        before.or_else(|| self.body_mass.iter().min_by_key(|m| (m.date, m.from_plate))).map(|m| m.mass_kg)
    }
    /// What the plates weighed on `day`, one row a day, or none any more; what was typed in stays beside it.
    pub fn set_plate_mass(&mut self, day: Date, mass_kg: Option<f64>) {
        self.body_mass.retain(|m| !(m.from_plate && m.date == day));
        self.body_mass.extend(mass_kg.map(|mass_kg| BodyMass { date: day, mass_kg, from_plate: true }));
        self.body_mass.sort_by_key(|m| (m.date, m.from_plate));
    }
    /// Whole years of age on `day`, as exact as a year of birth allows (the age reached in that year).
    pub fn age_on(&self, day: Date) -> Option<i32> {
        self.birth_year.map(|born| day.ymd().0 - born)
    }
}
