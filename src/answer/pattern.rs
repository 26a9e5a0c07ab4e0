//! Which disagreement means what. A jump is measured three ways (take-off velocity, flight time, rise above standing) and
//! its weighing twice (quiet standing; from rest to rest across the jump); each fault of recording or movement moves some
//! of them and leaves the others. The table below is that knowledge as data; what fits no row is *cannot tell*.
//!
//! The physics of each column, for a weight `W` read wrong by `δ`, `T ≈ 0.8 s` from standing to take-off and `m = W/g`:
//! - velocity height moves by `−v·δT/(mg)`, rise by that and `−δT²/2m` more; flight time by nothing;
//! - rest to rest sees the true weight whatever the window said, so the two differ by `δ`;
//! - a posture in landing (legs bent) moves flight time alone: nothing before take-off knows of it;
//! - a zero level that moves is `δ` before the jump and its opposite after it, so the stances differ by more than either
//!   differs from the weight across.
//!
//! What **no** row can show: a wrong gravity, clock or gain. Velocity height goes with `g`, with the square of the clock and
//! not at all with gain, and so do flight-time height and rise: their ratios stay. Those need a known mass or the mains line.

/// What a sign must be for a row to fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sign {
    /// Beyond chance, positive.
    Up,
    /// Beyond chance, negative.
    Down,
    /// Beyond chance, either way.
    Off,
    /// Within chance, or not known.
    Level,
    /// Whatever it is.
    Any,
}

/// A difference with its standard uncertainty and the least size that matters.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Apart {
    pub value: f64,
    pub u: f64,
    pub least: f64,
}

impl Apart {
    /// −1, 0 or 1: beyond three standard uncertainties and the least that matters.
    fn sign(self) -> i8 {
        if !(self.value.abs() > (3.0 * self.u).max(self.least)) {
            0
        } else if self.value > 0.0 {
            1
        } else {
            -1
        }
    }
}

/// The differences that a jump shows; none where one side of it is missing.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Signs {
    /// Flight-time height less velocity height, m.
    pub heights: Option<Apart>,
    /// How far displacement at take-off (rise less velocity height) lies outside what people reach, m; 0 inside.
    pub rise: Option<Apart>,
    /// Weight from rest to rest less weight from the window before, N.
    pub closure: Option<Apart>,
    /// Weight in the final rest less weight in the window before, N.
    pub stances: Option<Apart>,
    /// What part of that the weight from rest to rest would see, for each place of the fault.
    pub parts: Parts,
    /// Right foot later than the left at take-off or touchdown, s: the larger of the two.
    pub feet: Option<Apart>,
    /// The device cuts force off at nothing.
    pub clamped: bool,
}

/// Where between the two stances force changed, told by how much of their difference the weight across them sees: all that
/// lies between the middles of the two, of the time between them. A drift sees half, wherever it was.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Parts {
    /// Only the stance before was wrong.
    pub before: f64,
    /// A step in flight.
    pub flight: f64,
    /// Only the stance after was wrong.
    pub after: f64,
}

/// A place of the fault.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Place {
    Before,
    Between,
    After,
}

impl Parts {
    fn place(self, seen: f64) -> Place {
        let all = [(self.before, Place::Before), (self.flight, Place::Between), (0.5, Place::Between), (self.after, Place::After)];
        let near = |part: f64| (seen - part).abs();
        all.into_iter().min_by(|a, b| near(a.0).total_cmp(&near(b.0))).map_or(Place::Between, |p| p.1)
    }
}

/// What a pattern points at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Cause {
    /// Landed with legs more bent than at take-off.
    BentLanding,
    /// Landed taller than at take-off.
    TallLanding,
    /// One foot left late or landed early.
    LateFoot,
    /// The weight before the jump was not the weight: hands on something, a foot off, moving.
    WeighedWrong,
    /// The plates' zero level moved between the two stances.
    ZeroMoved,
    /// A zero error that clamped output hides.
    HiddenZero,
    /// Part of the weight was not on the plates during the jump or the landing.
    ForceLost,
    /// Only the stance after the landing weighs differently: the jump itself adds up.
    StoodWrongAfter,
    /// The signs fit no single cause.
    CannotTell,
}

impl Cause {
    /// Code of the notice.
    pub fn code(self) -> &'static str {
        match self {
            Self::BentLanding => "bent_landing",
            Self::TallLanding => "tall_landing",
            Self::LateFoot => "late_foot",
            Self::WeighedWrong => "weighed_wrong",
            Self::ZeroMoved => "zero_moved",
            Self::HiddenZero => "hidden_zero",
            Self::ForceLost => "force_lost",
            Self::StoodWrongAfter => "stood_wrong_after",
            Self::CannotTell => "cannot_tell",
        }
    }
    /// What to say.
    pub fn message(self) -> &'static str {
        match self {
            Self::BentLanding => {
                "Only the flight time is long: consistent with a landing on legs more bent than at take-off. Use the height from velocity."
            }
            Self::TallLanding => {
                "Only the flight time is short: consistent with a landing taller than the take-off. Use the height from velocity."
            }
            Self::LateFoot => "The flight time is short and the feet do not leave and land together: one foot left late or landed early.",
            Self::WeighedWrong => {
                "The weight before the jump differs from the weight across and after it: hands on something, a foot off, or moving while being weighed."
            }
            Self::ZeroMoved => "Standing weighs differently before and after: the plates' zero level moved during the trial.",
            Self::HiddenZero => {
                "The device cuts force off at 0, and weight across the jump reads more than weight before it: consistent with a zero error that cannot be seen."
            }
            Self::ForceLost => {
                "Standing weighs the same before and after, but the jump between does not add up: a foot beside the plate, or hands on something, during the movement."
            }
            Self::StoodWrongAfter => {
                "Only the stance after the landing weighs differently: a foot beside the plate or hands on something afterwards. The jump itself adds up."
            }
            Self::CannotTell => "The heights and weights of this trial disagree, and not in a way that points at one cause.",
        }
    }
    /// What to do next time.
    pub fn next_time(self) -> &'static str {
        match self {
            Self::BentLanding | Self::TallLanding => "Land toes first, as tall as at take-off, and bend only then.",
            Self::LateFoot => "Leave and land with both feet together.",
            Self::WeighedWrong => {
                "Stand still with both feet fully on the plates and hands off everything for two seconds before the jump."
            }
            Self::ZeroMoved => "Let the plates warm up, check that nothing leans on them, and zero them with nobody on them.",
            Self::HiddenZero => "Zero the plates with nobody on them, and export signed force if the device allows.",
            Self::StoodWrongAfter => "After landing, stand still with both feet fully on the plates for two seconds.",
            Self::ForceLost => "Take off and land with both feet fully on the plates, hands off everything.",
            Self::CannotTell => "Stand still for two seconds before and after, both feet fully on the plates, and repeat the trial.",
        }
    }
}

/// One row of the table; the first that fits wins.
struct Row {
    heights: Sign,
    rise: Sign,
    closure: Sign,
    stances: Sign,
    /// Where the stances differ: where force changed.
    place: Option<Place>,
    feet: Sign,
    clamped: Option<bool>,
    cause: Cause,
}

use Sign::{Any, Down, Level, Off, Up};

#[rustfmt::skip]
const TABLE: &[Row] = &[
    // Weighings agree, or there is only one: the movement itself.
    Row { heights: Up,   rise: Level, closure: Level, stances: Level, place: None, feet: Any,   clamped: None, cause: Cause::BentLanding },
    Row { heights: Down, rise: Level, closure: Level, stances: Level, place: None, feet: Off,   clamped: None, cause: Cause::LateFoot },
    Row { heights: Down, rise: Level, closure: Level, stances: Level, place: None, feet: Level, clamped: None, cause: Cause::TallLanding },
    // Velocity height and rise move together, away from the flight: too light a weight lifts both, too heavy a one sinks both.
    Row { heights: Down, rise: Up,    closure: Level, stances: Level, place: None, feet: Any,   clamped: None, cause: Cause::WeighedWrong },
    Row { heights: Up,   rise: Down,  closure: Level, stances: Level, place: None, feet: Any,   clamped: None, cause: Cause::WeighedWrong },
    // The weighings disagree.
    Row { heights: Any,  rise: Any,   closure: Up,    stances: Level, place: None, feet: Any,   clamped: Some(true), cause: Cause::HiddenZero },
    Row { heights: Any,  rise: Any,   closure: Off,   stances: Level, place: None, feet: Any,   clamped: None, cause: Cause::ForceLost },
    Row { heights: Any,  rise: Any,   closure: Any,   stances: Off,   place: Some(Place::Before),  feet: Any, clamped: None, cause: Cause::WeighedWrong },
    Row { heights: Any,  rise: Any,   closure: Any,   stances: Off,   place: Some(Place::Between), feet: Any, clamped: None, cause: Cause::ZeroMoved },
    Row { heights: Level, rise: Any,  closure: Any,   stances: Off,   place: Some(Place::After),   feet: Any, clamped: None, cause: Cause::StoodWrongAfter },
];

fn fits(sign: Sign, of: Option<Apart>) -> bool {
    let found = of.map_or(0, Apart::sign);
    match sign {
        Up => found > 0,
        Down => found < 0,
        Off => found != 0,
        Level => found == 0,
        Any => true,
    }
}

impl Signs {
    /// Whether anything disagrees at all.
    fn quiet(&self) -> bool {
        [self.heights, self.rise, self.closure, self.stances].into_iter().all(|apart| fits(Level, apart))
    }

    /// What the pattern points at; none where nothing disagrees.
    pub fn cause(&self) -> Option<Cause> {
        if self.quiet() {
            return None;
        }
        let place = match (self.closure, self.stances) {
            (Some(c), Some(s)) if s.sign() != 0 => Some(self.parts.place(c.value / s.value)),
            _ => None,
        };
        let row = TABLE.iter().find(|row| {
            row.place == place
                && fits(row.heights, self.heights)
                && fits(row.rise, self.rise)
                && fits(row.closure, self.closure)
                && fits(row.stances, self.stances)
                && fits(row.feet, self.feet)
                && row.clamped.is_none_or(|wanted| wanted == self.clamped)
        });
        Some(row.map_or(Cause::CannotTell, |row| row.cause))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn apart(value: f64) -> Option<Apart> {
        Some(Apart { value, u: 0.1, least: 0.5 })
    }

    /// Stances 4.5 s apart, the movement beginning 1.2 s after the middle of the first, the flight 2.4 s.
    const PARTS: Parts = Parts { before: 0.73, flight: 0.47, after: 0.25 };

    /// Every row by the physics that made it: heights in units of its chance, weights in newtons.
    #[test]
    fn each_fault_points_at_its_cause() {
        let level = Signs { parts: PARTS, ..Signs::default() };
        let cases = [
            // Legs bent in landing: the flight alone.
            (Signs { heights: apart(3.0), ..level }, Some(Cause::BentLanding)),
            (Signs { heights: apart(-3.0), ..level }, Some(Cause::TallLanding)),
            (Signs { heights: apart(-3.0), feet: apart(2.0), ..level }, Some(Cause::LateFoot)),
            // Weighed 8 N too light: velocity and rise too high, the flight left behind; or the two stances tell it.
            (Signs { heights: apart(-3.0), rise: apart(2.0), ..level }, Some(Cause::WeighedWrong)),
            (Signs { heights: apart(3.0), rise: apart(-2.0), ..level }, Some(Cause::WeighedWrong)),
            (Signs { closure: apart(5.9), stances: apart(8.0), ..level }, Some(Cause::WeighedWrong)),
            // A drift sees half, a step in flight its own part.
            (Signs { closure: apart(4.0), stances: apart(8.0), ..level }, Some(Cause::ZeroMoved)),
            (Signs { closure: apart(-3.8), stances: apart(-8.0), ..level }, Some(Cause::ZeroMoved)),
            (Signs { closure: apart(-9.0), stances: apart(0.2), ..level }, Some(Cause::ForceLost)),
            (Signs { closure: apart(2.0), stances: apart(8.0), ..level }, Some(Cause::StoodWrongAfter)),
            (Signs { closure: apart(3.0), clamped: true, ..level }, Some(Cause::HiddenZero)),
            (Signs { closure: apart(-3.0), clamped: true, ..level }, Some(Cause::ForceLost)),
            // A foot's posture and a weight cannot both be told from this.
            (Signs { heights: apart(3.0), rise: apart(2.0), ..level }, Some(Cause::CannotTell)),
        ];
        for (signs, cause) in cases {
            assert_eq!(signs.cause(), cause, "{signs:?}");
        }
    }

    /// A wrong gravity, clock or gain moves all three heights by one factor: no sign, no cause. Nor is a difference within
    /// its chance one.
    #[test]
    fn what_scales_all_alike_points_at_nothing() {
        let level =
            Signs { parts: PARTS, heights: apart(0.0), rise: apart(0.0), closure: apart(0.0), stances: apart(0.0), ..Signs::default() };
        assert_eq!(level.cause(), None);
        assert_eq!(Signs { heights: apart(0.4), closure: apart(-0.29), ..level }.cause(), None);
        assert_eq!(Signs::default().cause(), None);
    }

    #[test]
    fn every_cause_says_what_to_do() {
        for row in TABLE {
            assert!(row.cause.message().len() > 40 && row.cause.next_time().ends_with('.') && !row.cause.code().is_empty());
        }
    }
}
