//! Who is in the demo squad: twenty invented athletes, what they are made of, and what the page should say of them. A row
//! is all that a new one needs; nobody real is in here, and every name says so.
use crate::advice::qualities::QualityId;
use crate::people::{Athlete, Date, Injury, InjuryKind, Side};

/// What the page should answer for an invented athlete; [`Shows::Anything`] for those who only make up the group.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shows {
    /// One quality.
    One(QualityId),
    /// One of two, in either order.
    Two(QualityId, QualityId),
    /// All low.
    Low,
    /// All high.
    High,
    /// The manner of jumping, before this quality.
    Manner(QualityId),
    /// Not enough, for the reason of this id.
    NotEnough(&'static str),
    /// Part of the group.
    Anything,
}

/// When an invented athlete was tested.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Visits {
    /// Three days: the first-ever one, and two a week apart.
    Three,
    /// The last of these days alone.
    Once,
    /// Three days, and one after a block of five weeks.
    Again,
}

/// What an invented athlete can do, in standard deviations of the squad: better upwards, but for depth (deeper) and
/// tempo (faster down).
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Made {
    /// Height of the countermovement jump.
    pub jump: f64,
    /// Depth of both jumps.
    pub depth: f64,
    /// Speed of the way down.
    pub down: f64,
    /// Height of the jump from a held squat.
    pub squat: f64,
    /// Isometric pull per kg.
    pub pull: f64,
    /// How fast the pull rises.
    pub rate: f64,
    /// How soon a landing is at rest.
    pub landing: f64,
}

/// An invented athlete.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Person {
    /// Name; says that it is invented.
    pub name: &'static str,
    /// Body mass, kg.
    pub mass_kg: f64,
    /// Age in the year of the demo.
    pub age: i32,
    /// Capacities.
    pub made: Made,
    /// Share of the right leg.
    pub right: f64,
    /// Days.
    pub visits: Visits,
    /// What the page should answer.
    pub shows: Shows,
    /// What he was made for, in words.
    pub made_as: &'static str,
}

const fn made([jump, depth, down, squat, pull, rate, landing]: [f64; 7]) -> Made {
    Made { jump, depth, down, squat, pull, rate, landing }
}

const fn person(name: &'static str, mass_kg: f64, made: Made, shows: Shows, made_as: &'static str) -> Person {
    Person { name, mass_kg, age: 24, made, right: 0.5, visits: Visits::Three, shows, made_as }
}

const fn once(name: &'static str, mass_kg: f64, row: [f64; 7]) -> Person {
    Person { visits: Visits::Once, ..person(name, mass_kg, made(row), Shows::NotEnough("first_session"), "tested on one day only") }
}

use QualityId::{IsometricForce, IsometricRate, PropulsionForce, PropulsionPower};

/// The squad. Columns of `made`: jump, depth, down, squat, pull, rate, landing.
pub const PEOPLE: &[Person] = &[
    person("Invented Alder", 63.5, made([0.2, -0.8, 0.1, 0.3, 0.1, 0.0, 0.2]), Shows::Anything, "even in everything"),
    person(
        "Invented Birch",
        81.0,
        made([0.5, 0.7, 0.4, 0.5, -2.2, 0.5, 0.4]),
        Shows::One(IsometricForce),
        "jumps well, pulls little against the fixed bar",
    ),
    Person {
        right: 0.45,
        ..person(
            "Invented Cedar",
            71.2,
            made([-0.3, 0.9, 0.2, -0.2, -0.1, 0.2, 0.0]),
            Shows::NotEnough("left_right"),
            "loads the left leg more",
        )
    },
    person(
        "Invented Hazel",
        58.3,
        made([0.4, 0.5, 0.3, 0.4, 0.5, -2.2, 0.3]),
        Shows::One(IsometricRate),
        "strong against the fixed bar, slow to get there",
    ),
    person("Invented Larch", 127.0, made([-0.5, -1.1, -0.6, -0.5, -0.4, -0.4, -0.4]), Shows::Anything, "heavy"),
    person("Invented Rowan", 76.8, made([1.65, 0.0, 1.2, 1.65, 2.1, 2.1, 1.9]), Shows::High, "high in everything"),
    person("Invented Maple", 72.4, made([-1.45, 0.0, -1.0, -1.45, -2.15, -2.3, -0.9]), Shows::Low, "low in everything"),
    person(
        "Invented Willow",
        68.1,
        made([0.6, -0.5, 0.3, 0.6, -1.8, -2.0, 0.5]),
        Shows::Two(IsometricForce, IsometricRate),
        "pulls little and slowly",
    ),
    person(
        "Invented Aspen",
        75.3,
        made([0.0, 3.0, 1.3, -0.3, 0.6, 0.6, 0.6]),
        Shows::Manner(PropulsionForce),
        "goes down very deep, which lowers every force",
    ),
    Person {
        age: 22,
        ..person(
            "Invented Elder",
            66.9,
            made([0.3, 0.6, 0.4, 0.3, 0.4, -2.2, 0.4]),
            Shows::One(IsometricRate),
            "knee ligament operated on eight months ago, no clearance noted: the gates close",
        )
    },
    person(
        "Invented Juniper",
        61.7,
        made([0.1, 1.0, 0.5, 0.0, 0.3, -0.1, 0.1]),
        Shows::NotEnough("trials"),
        "the export of one jump lost rows at take-off",
    ),
    Person {
        visits: Visits::Again,
        ..person(
            "Invented Poplar",
            78.6,
            made([0.2, -0.1, 0.2, 0.2, -1.9, 0.3, 0.2]),
            Shows::Anything,
            "isometric force low, and better after a block",
        )
    },
    person(
        "Invented Acacia",
        84.2,
        made([-2.6, 0.0, 0.4, -2.6, 0.6, 0.6, 0.4]),
        Shows::One(PropulsionPower),
        "strong and slow: the way up is weak in both jumps",
    ),
    Person {
        age: 15,
        ..person(
            "Invented Hawthorn",
            52.4,
            made([-0.6, -0.3, -0.4, -0.5, -0.7, -0.2, -0.3]),
            Shows::Anything,
            "fifteen, training for half a year",
        )
    },
    once("Invented Laurel", 69.5, [0.7, -0.6, 0.5, 0.6, 0.9, 0.4, -0.6]),
    once("Invented Myrtle", 59.8, [-0.8, 0.5, -0.6, -0.9, 0.2, 0.6, 0.7]),
    once("Invented Olive", 73.9, [1.1, 0.7, 0.9, 1.0, 0.5, 0.9, 0.3]),
    once("Invented Sorrel", 88.3, [-1.0, -0.7, -0.9, -0.8, 0.8, -0.5, -0.8]),
    once("Invented Spruce", 79.4, [0.9, -0.4, 0.6, 0.7, 1.2, 0.8, 0.9]),
    once("Invented Thorn", 70.6, [-0.4, 0.4, -0.2, -0.3, -0.6, -0.9, -0.2]),
];

/// The first-ever day, the two a week apart that follow it, and the one after a block; before `today`.
pub fn days(today: Date) -> [Date; 4] {
    [-58, -51, -44, -4].map(|before| today.plus_days(before))
}

/// The record that comes with an invented athlete; all of it invented. `None` for a name that is not in the squad.
pub fn demo_athlete(name: &str, today: Date) -> Option<Athlete> {
    let person = PEOPLE.iter().find(|p| p.name == name)?;
    let year = today.ymd().0;
    let mut athlete = Athlete {
        name: person.name.into(),
        birth_year: Some(year - person.age),
        labels: vec!["invented".into()],
        training_years: Some(if person.age < 18 { 0.5 } else { 4.0 }),
        training_history: format!("Invented: {}.", person.made_as),
        ..Athlete::default()
    };
    if person.name == "Invented Elder" {
        athlete.injuries.push(Injury {
            date: today.plus_days(-243),
            side: Side::Right,
            kind: InjuryKind::KneeLigamentSurgery,
            note: "Invented. Tested by the club before anybody asked for a clearance.".into(),
        });
    }
    Some(athlete)
}
