//! One file a test kind: its events, its phases for drawing, its figures.
//!
//! A kind is a [`Kind`]: it finds events in clean force where the weight is known ([`Kind::read`]), and computes its
//! figures from them. Everything it reads is in [`Inputs`], so that the uncertainty can move any of them and read again,
//! whatever the kind.
mod blocks;
pub mod countermovement_jump;
pub mod countermovement_rebound_jump;
pub(crate) mod crossings;
pub mod drop_jump;
pub mod drop_landing;
pub mod isometric;
pub mod quiet_standing;
pub mod rebound_jumps;
pub mod squat_jump;

use super::motion::Motion;
use core::ops::Range;
use serde::{Deserialize, Serialize};

/// The tests this tool knows by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TestKind {
    /// Down and up again from standing, and into the air.
    CountermovementJump,
    /// Up from a held squat.
    SquatJump,
    /// Off a box, and at once up again.
    DropJump,
    /// A countermovement jump, and at once another out of its landing.
    CountermovementReboundJump,
    /// Off a box, and down to rest.
    DropLanding,
    /// Several short contacts in a row.
    ReboundJumps,
    /// A push or pull against what does not move.
    Isometric,
    /// Standing still.
    QuietStanding,
    /// None of these.
    Unrecognised,
}

impl TestKind {
    /// All that can be read, in the order they are offered.
    pub const READABLE: [Self; 8] = [
        Self::CountermovementJump,
        Self::SquatJump,
        Self::DropJump,
        Self::CountermovementReboundJump,
        Self::DropLanding,
        Self::ReboundJumps,
        Self::Isometric,
        Self::QuietStanding,
    ];
    /// Its name in the document and in tables.
    pub fn id(self) -> &'static str {
        match self {
            Self::CountermovementJump => "countermovement_jump",
            Self::SquatJump => "squat_jump",
            Self::DropJump => "drop_jump",
            Self::CountermovementReboundJump => "countermovement_rebound_jump",
            Self::DropLanding => "drop_landing",
            Self::ReboundJumps => "rebound_jumps",
            Self::Isometric => "isometric",
            Self::QuietStanding => "quiet_standing",
            Self::Unrecognised => "unrecognised",
        }
    }
}

/// Everything a reading depends on; the uncertainty moves these one at a time and reads again.
#[derive(Debug, Clone, PartialEq)]
pub struct Inputs {
    /// Samples a second.
    pub rate_hz: f64,
    /// Gravity, m/s².
    pub gravity: f64,
    /// System weight, N.
    pub weight_n: f64,
    /// Quiet stretch before the movement; integration starts at its end.
    pub quiet: Range<usize>,
    /// Standard deviation of force over it, N.
    pub quiet_sd_n: f64,
    /// Smallest step of force, N.
    pub quantum_n: f64,
    /// Onset threshold, standard deviations.
    pub onset_sd: f64,
    /// Take-off and touchdown threshold, N.
    pub threshold_n: f64,
    /// Coarse flights, in order; one for a single jump, none for a landing or a pull.
    pub flights: Vec<Range<usize>>,
    /// First sample that belongs to the movement where nobody stood on the plate before it (drop jump, landing, pull).
    pub begin: usize,
    /// Quiet stretch after the last landing, from which a drop is integrated backwards.
    pub rest: Option<Range<usize>>,
    /// Whether somebody lands after the last flight.
    pub lands: bool,
    /// Last sample that belongs to the trial, plus one.
    pub end: usize,
    /// Where integration stops at the latest; `end`, but for the uncertainty, which needs no motion after the landing.
    pub motion_end: usize,
    /// Velocity of the centre of mass taken as rest, m/s (0 but for the uncertainty).
    pub v0_m_s: f64,
    /// Shift of take-offs, touchdowns and peak downward velocity, samples (0 but for the uncertainty).
    pub shift: [f64; 3],
    /// What a drop's touchdown velocity rests on.
    pub drop: Drop,
    /// Events put by hand, as fractional samples; they replace what would be found.
    pub by_hand: Vec<(String, f64)>,
}

/// How the velocity of a drop at touchdown is put together.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Drop {
    /// Height of the box, m.
    pub box_m: Option<f64>,
    /// Part of the velocity integrated backwards from rest, 0 … 1; the rest is from the flight that follows.
    pub backward_share: f64,
    /// How much lower the landing after the flight is taken to be than its take-off, m.
    pub posture_m: f64,
}

impl Inputs {
    /// Where an event was put by hand.
    pub fn hand(&self, name: &str) -> Option<f64> {
        self.by_hand.iter().find(|(n, _)| n == name).map(|(_, at)| *at)
    }
    /// The first flight; empty where there is none.
    pub fn air(&self) -> Range<usize> {
        self.flights.first().cloned().unwrap_or(0..0)
    }
    /// The last flight; empty where there is none.
    pub fn last_air(&self) -> Range<usize> {
        self.flights.last().cloned().unwrap_or(0..0)
    }
    /// Samples a level must last to count as crossed: 10 ms.
    pub(crate) fn lasting(&self) -> usize {
        ((0.01 * self.rate_hz).ceil() as usize).max(2)
    }
}

/// Something seen in the force that speaks for a doubt: its code, its size, its place (fractional sample).
pub type Sign = (&'static str, f64, f64);

/// Events as fractional samples, in the kind's order; NaN where an event does not exist.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Events {
    /// Name and place.
    pub all: Vec<(&'static str, f64)>,
    /// Signs of faults of the movement.
    pub signs: Vec<Sign>,
}

impl Events {
    /// Place of one event; NaN where there is none.
    pub fn at(&self, name: &str) -> f64 {
        self.all.iter().find(|(n, _)| *n == name).map_or(f64::NAN, |(_, at)| *at)
    }
    /// Name and place of each event that exists, in the kind's order.
    pub fn named(&self) -> impl Iterator<Item = (&'static str, f64)> + '_ {
        self.all.iter().copied().filter(|(_, at)| at.is_finite())
    }
    /// A sign's size and place, where it was seen.
    pub fn sign(&self, code: &str) -> Option<(f64, f64)> {
        self.signs.iter().find(|s| s.0 == code).map(|s| (s.1, s.2))
    }
    /// First and last existing event; NaN where there is none.
    pub fn span(&self) -> (f64, f64) {
        let first = self.named().map(|e| e.1).fold(f64::NAN, f64::min);
        (first, self.named().map(|e| e.1).fold(f64::NAN, f64::max))
    }
}

/// A phase lies between two events.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Phase {
    /// Name.
    pub name: &'static str,
    /// Event it starts at.
    pub from: &'static str,
    /// Event it ends at.
    pub to: &'static str,
}

/// Base figures (without the per-kilogram twins) by id, in the catalogue's order; NaN where one cannot be given.
pub type Values = Vec<(&'static str, f64)>;

/// Why a stretch is not of the kind it was read as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotThisKind {
    /// No moment of going down and none of coming up before the flight.
    NoMovement,
    /// There is no flight where the kind needs one.
    NoFlight,
    /// Nothing rises above what the athlete weighs.
    NoRise,
}

/// One contact of repeated jumps, fractional samples.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contact {
    /// Foot on.
    pub touchdown: f64,
    /// Foot off.
    pub take_off: f64,
    /// The touchdown after the flight that follows; NaN where the recording ends first.
    pub next: f64,
    /// Whether it counts in the set's mean.
    pub counted: bool,
}

/// A test kind.
pub trait Kind: Sync {
    /// Which.
    fn test(&self) -> TestKind;
    /// The phases drawn under the trace, in order.
    fn phases(&self) -> &'static [Phase];
    /// Figures that need no velocity, and so no stance to integrate from.
    fn without_velocity(&self) -> &'static [&'static str] {
        &["jump_height_flight_time", "flight_time"]
    }
    /// Motion of the centre of mass over the movement.
    fn motion(&self, force_n: &[f64], p: &Inputs) -> Motion;
    /// Finds the events where the motion is known.
    ///
    /// # Errors
    /// When the force does not hold this movement.
    fn find(&self, force_n: &[f64], p: &Inputs, motion: &Motion) -> Result<Events, NotThisKind>;
    /// Every base figure.
    ///
    /// `force_n` is unfiltered and zero-corrected; `smooth_n` is the same or its low-passed form and serves peak forces
    /// and peak powers only.
    fn figures(&self, force_n: &[f64], smooth_n: &[f64], p: &Inputs, e: &Events, motion: &Motion) -> Values;
    /// The table of contacts, for repeated jumps.
    fn contacts(&self, _force_n: &[f64], _p: &Inputs, _e: &Events) -> Vec<Contact> {
        Vec::new()
    }
    /// Why a figure of this kind has no value, where the kind knows better than the general reasons.
    fn why_not(&self, _id: &str, _e: &Events) -> Option<&'static str> {
        None
    }
    /// The take-off that the last flight begins with.
    fn last_take_off(&self) -> &'static str {
        "take_off"
    }
    /// The touchdown that the last flight ends with.
    fn last_touchdown(&self) -> &'static str {
        "touchdown"
    }
    /// Finds the events of clean force.
    ///
    /// # Errors
    /// As [`Kind::find`].
    fn read(&self, force_n: &[f64], p: &Inputs) -> Result<(Events, Motion), NotThisKind> {
        let motion = self.motion(force_n, p);
        Ok((self.find(force_n, p, &motion)?, motion))
    }
}

/// The kind that reads a test; none for [`TestKind::Unrecognised`].
pub fn kind(test: TestKind) -> Option<&'static dyn Kind> {
    match test {
        TestKind::CountermovementJump => Some(&countermovement_jump::CountermovementJump),
        TestKind::SquatJump => Some(&squat_jump::SquatJump),
        TestKind::DropJump => Some(&drop_jump::DropJump),
        TestKind::CountermovementReboundJump => Some(&countermovement_rebound_jump::CountermovementReboundJump),
        TestKind::DropLanding => Some(&drop_landing::DropLanding),
        TestKind::ReboundJumps => Some(&rebound_jumps::ReboundJumps),
        TestKind::Isometric => Some(&isometric::Isometric),
        TestKind::QuietStanding => Some(&quiet_standing::QuietStanding),
        TestKind::Unrecognised => None,
    }
}
