//! What closes tests and rows of a plan, as rows of data (`methods.md` §10). A gate is never a diagnosis and its opening
//! never a clearance to play: somebody named opens a class of activity, from a date, until a date.
pub use super::closing::{Closed, Limits, Opened, box_of_test, careful, check, closed, limits, test_closed};
use crate::people::{Athlete, ClearedClass, Date};
use serde::{Deserialize, Serialize};

/// A class of what is done, finer than a clearance's.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Activity {
    /// Two-leg jumps of low intensity.
    LowJumps,
    /// Two-leg jumps with full effort, loaded ones included.
    MaximalJumps,
    /// Rebounds and repeated jumps.
    Rebounds,
    /// Drops and landings from a box.
    Drops,
    /// Depth jumps: a drop and at once a full jump.
    DepthJumps,
    /// One-leg jumps and hops.
    OneLegJumps,
    /// Maximal pushes and pulls against something fixed.
    MaximalIsometrics,
    /// Heavy lifts and pulls.
    HeavyLifts,
    /// Calf and foot work without leaving the ground.
    CalfWork,
}

/// All of them.
pub const ACTIVITIES: &[Activity] = &[
    Activity::LowJumps,
    Activity::MaximalJumps,
    Activity::Rebounds,
    Activity::Drops,
    Activity::DepthJumps,
    Activity::OneLegJumps,
    Activity::MaximalIsometrics,
    Activity::HeavyLifts,
    Activity::CalfWork,
];

impl Activity {
    /// Which clearance opens it. A full-effort jump is no jump of low intensity: it needs the class of rebounds.
    pub fn opened_by(self) -> Option<ClearedClass> {
        match self {
            // Whoever may jump low on two legs may rise on his toes; there is no class below it.
            Self::LowJumps | Self::CalfWork => Some(ClearedClass::LowJumps),
            Self::MaximalJumps | Self::Rebounds => Some(ClearedClass::Rebounds),
            Self::Drops | Self::DepthJumps => Some(ClearedClass::Drops),
            Self::OneLegJumps => Some(ClearedClass::OneLegJumps),
            Self::MaximalIsometrics | Self::HeavyLifts => Some(ClearedClass::MaximalIsometrics),
        }
    }
    /// In words.
    pub fn name(self) -> &'static str {
        match self {
            Self::LowJumps => "low two-leg jumps",
            Self::MaximalJumps => "two-leg jumps with full effort",
            Self::Rebounds => "rebounds and repeated jumps",
            Self::Drops => "drops and landings from a box",
            Self::DepthJumps => "depth jumps",
            Self::OneLegJumps => "one-leg jumps",
            Self::MaximalIsometrics => "maximal isometric pushes and pulls",
            Self::HeavyLifts => "heavy lifts",
            Self::CalfWork => "calf and foot work",
        }
    }
}

/// What a test demands.
pub const TESTS: &[(&str, &[Activity])] = &[
    ("countermovement_jump", &[Activity::MaximalJumps]),
    ("squat_jump", &[Activity::MaximalJumps]),
    ("drop_jump", &[Activity::Drops, Activity::DepthJumps]),
    ("countermovement_rebound_jump", &[Activity::MaximalJumps, Activity::Rebounds]),
    ("drop_landing", &[Activity::Drops]),
    ("rebound_jumps", &[Activity::Rebounds]),
    ("isometric", &[Activity::MaximalIsometrics]),
    ("quiet_standing", &[]),
];

/// Tests that start from a box.
pub const BOX_TESTS: &[&str] = &["drop_jump", "drop_landing"];
/// Highest box as long as no drop jump was in contact for 250 ms or less, m.
pub const LOW_BOX_M: f64 = 0.30;

/// The answers before a test.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Before {
    /// When they were given.
    pub date: Date,
    /// Pain now, 0–10.
    pub pain: u8,
    /// A swollen joint.
    pub swelling: bool,
    /// A joint that gives way or locks.
    pub giving_way: bool,
    /// A clinician has set limits.
    pub limited: bool,
}

/// What was seen within a session.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct InSession {
    /// Pain rose.
    pub pain_rising: bool,
    /// Swelling came.
    pub swelling: bool,
    /// The coach saw the index fall or contacts grow by 10 % within a set.
    pub slowed: bool,
    /// Change of reactive strength index within a set, %.
    pub index_change_percent: f64,
    /// Change of contact time within a set, %.
    pub contact_change_percent: f64,
}

/// Days from one session of jumps to the next: 48 hours, at the same hour.
pub const REST_DAYS: i32 = 2;

/// All that gates look at.
#[derive(Debug, Clone, Copy)]
pub struct Situation<'a> {
    /// The day it is about.
    pub today: Date,
    /// The athlete, with injuries, conditions and clearances.
    pub athlete: &'a Athlete,
    /// The latest answers of the day or before, where ever given: what they close stays closed until newer ones.
    pub before: Option<Before>,
    /// What was seen in the session so far.
    pub in_session: InSession,
    /// The last session with rebounds, drops or full-effort jumps before today, where known.
    pub last_impact: Option<Date>,
    /// Whether there were such jumps today.
    pub jumped_today: bool,
    /// The first day of what is planned: it must be open then as well as today, but for the rest between sessions, which
    /// goes by until then. None: all is about today.
    pub planned: Option<Date>,
    /// Latest contact time of a drop jump, s, where tested.
    pub drop_contact_s: Option<f64>,
}

impl<'a> Situation<'a> {
    /// Nothing known but the athlete and the day.
    pub fn new(athlete: &'a Athlete, today: Date) -> Self {
        Self {
            today,
            athlete,
            before: None,
            in_session: InSession::default(),
            last_impact: None,
            jumped_today: false,
            planned: None,
            drop_contact_s: None,
        }
    }
    /// Days of jumps that are known, today's included.
    fn jumps(&self) -> impl Iterator<Item = Date> {
        self.last_impact.into_iter().chain(self.jumped_today.then_some(self.today))
    }
    /// The last of them before a day.
    pub fn jumps_before(&self, day: Date) -> Option<Date> {
        self.jumps().filter(|jumps| *jumps < day).max()
    }
    /// From a day on, the first on which 48 hours can have passed since the last jumps.
    pub fn rested(&self, day: Date) -> Date {
        self.jumps().map(|jumps| jumps.plus_days(REST_DAYS)).fold(day, Date::max)
    }
    /// Younger than 18; the year of birth alone is known, so the year in which one turns 18 still counts as younger, and so
    /// does anybody whose year is not on record.
    pub fn minor(&self) -> bool {
        self.athlete.age_on(self.today).is_none_or(|age| age <= 18)
    }
    /// Less than a year of training, or nobody knows how much.
    pub fn new_to_training(&self) -> bool {
        self.athlete.training_years.is_none_or(|years| !(years >= 1.0))
    }
    /// Heavier than 100 kg, or never weighed.
    pub fn heavy(&self) -> bool {
        self.athlete.body_mass_on(self.today).is_none_or(|kg| !(kg <= 100.0))
    }
}

/// When a gate stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stands {
    /// Pain above 2 of 10, swelling, giving way, locking, or limits set by a clinician, as last answered.
    PainOrSwelling,
    /// Surgery of a knee ligament less than this many days ago.
    KneeLigamentSurgery(i32),
    /// Other surgery of leg or spine less than this many days ago.
    OtherSurgery(i32),
    /// Under 18 with less than a year of training, either of them unknown, or growth-spurt pain.
    YoungAndNew,
    /// One of these conditions is noted.
    Condition(&'static [(&'static str, &'static str)]),
    /// Less than 48 hours after the last session of this kind.
    TooSoon,
    /// Drop-jump contacts were longer than 250 ms.
    SlowContact,
    /// Pain rising, swelling, reactive strength index −10 % or contact +10 % within a set.
    SessionTurned,
}

/// How a gate opens.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Opens {
    /// By a clearance of the activity's class, dated at or after what closed it.
    Clearance,
    /// By clearances of all easier classes as well, so that the order is low to high, two legs to one.
    InOrder,
    /// By time or a better test alone; nobody opens it.
    Waits,
}

/// One gate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gate {
    /// Stable id.
    pub id: &'static str,
    /// Condition.
    pub stands: Stands,
    /// What it closes.
    pub closes: &'static [Activity],
    /// A test that it leaves open, from a box of [`LOW_BOX_M`] at most: the one that opens the gate.
    pub spares: Option<&'static str>,
    /// How it opens.
    pub opens: Opens,
    /// Why, shown with the closed row.
    pub reason: &'static str,
    /// Who may open it.
    pub who: &'static str,
    /// Source.
    pub source: &'static str,
}

use Activity::{CalfWork, DepthJumps, Drops, HeavyLifts, LowJumps, MaximalIsometrics, MaximalJumps, OneLegJumps, Rebounds};

const YEAR: i32 = 365;
const CLINICIAN: &str = "the treating clinician, by a dated clearance for this class of activity";

/// The table. Order: as in `methods.md` §10.
pub const GATES: &[Gate] = &[
    Gate {
        id: "pain_now",
        stands: Stands::PainOrSwelling,
        closes: &[LowJumps, MaximalJumps, Rebounds, Drops, DepthJumps, OneLegJumps],
        spares: None,
        opens: Opens::Clearance,
        reason: "Pain above 2 of 10, swelling, giving way, locking or a clinician’s limits, as last answered.",
        who: CLINICIAN,
        source: "Thomeé 1997; Silbernagel 2007; Sturgill 2009",
    },
    Gate {
        id: "knee_surgery",
        stands: Stands::KneeLigamentSurgery(2 * YEAR),
        closes: &[LowJumps, MaximalJumps, Rebounds, Drops, DepthJumps, OneLegJumps, MaximalIsometrics, HeavyLifts],
        spares: None,
        opens: Opens::Clearance,
        reason: "Knee-ligament surgery less than 24 months ago.",
        who: CLINICIAN,
        source: "Ardern 2016; van Melick 2016",
    },
    Gate {
        id: "surgery",
        stands: Stands::OtherSurgery(YEAR),
        closes: &[LowJumps, MaximalJumps, Rebounds, Drops, DepthJumps, OneLegJumps, MaximalIsometrics, HeavyLifts, CalfWork],
        spares: None,
        opens: Opens::Clearance,
        reason: "Leg or spine surgery less than 12 months ago.",
        who: CLINICIAN,
        source: "Ardern 2016; van Melick 2016",
    },
    Gate {
        id: "knee_entry",
        stands: Stands::KneeLigamentSurgery(2 * YEAR),
        closes: &[MaximalJumps, Rebounds, Drops, DepthJumps, OneLegJumps],
        spares: None,
        opens: Opens::InOrder,
        reason: "After knee surgery jumps begin low and on two legs: the easier classes come first.",
        who: CLINICIAN,
        source: "Chmielewski 2006, J. Orthop. Sports Phys. Ther. 36:308",
    },
    Gate {
        id: "young_and_new",
        stands: Stands::YoungAndNew,
        closes: &[DepthJumps],
        spares: None,
        opens: Opens::Clearance,
        reason: "Under 18 with less than a year of training, training not noted, or growth-spurt pain: landing technique under supervision first.",
        who: "the supervising coach or clinician, by a dated clearance for drops",
        source: "Lloyd 2014; Faigenbaum 2009",
    },
    Gate {
        id: "too_soon",
        stands: Stands::TooSoon,
        closes: &[MaximalJumps, Rebounds, Drops, DepthJumps, OneLegJumps],
        spares: None,
        opens: Opens::Waits,
        reason: "Less than 48 hours after the last session of jumps.",
        who: "nobody: it opens with time",
        source: "Haff & Triplett (eds), Essentials of Strength Training and Conditioning, 4th ed., ch. 18",
    },
    Gate {
        id: "slow_contact",
        stands: Stands::SlowContact,
        closes: &[DepthJumps],
        spares: Some("drop_jump"),
        opens: Opens::Waits,
        reason: "Contacts of the drop jump were longer than 250 ms: drops only while contacts stay short.",
        who: "nobody: it opens with a drop jump of 250 ms or less; that test stays open from a box of at most 30 cm",
        source: "Haff & Triplett (eds), Essentials of Strength Training and Conditioning, 4th ed., ch. 18; field practice",
    },
    Gate {
        id: "condition",
        stands: Stands::Condition(CONDITIONS),
        closes: &[MaximalJumps, Rebounds, Drops, DepthJumps, OneLegJumps, MaximalIsometrics, HeavyLifts],
        spares: None,
        opens: Opens::Clearance,
        reason: "A noted condition closes high impact and maximal pushes until a clinician has said yes.",
        who: CLINICIAN,
        source: "PAR-Q+; IOC consensus on REDs 2023",
    },
    Gate {
        id: "session_turned",
        stands: Stands::SessionTurned,
        closes: &[LowJumps, MaximalJumps, Rebounds, Drops, DepthJumps, OneLegJumps, MaximalIsometrics, HeavyLifts, CalfWork],
        spares: None,
        opens: Opens::Waits,
        reason: "In this session pain rose, swelling came, the reactive strength index fell by 10 % or contact grew by 10 %: the rest of the session is over.",
        who: "nobody today; ask the clinician where pain or swelling is the reason",
        source: "custom",
    },
];

/// Conditions that may be noted for an athlete and close this gate: id and words. The athlete's form offers these very rows,
/// so that what a coach ticks is what the gate looks for.
pub const CONDITIONS: &[(&str, &str)] = &[
    ("chest_pain", "chest pain"),
    ("fainting", "fainting"),
    ("blood_pressure", "uncontrolled blood pressure"),
    ("pregnancy", "pregnancy"),
    ("post_partum", "birth within a year"),
    ("bone_stress", "bone-stress injury before"),
    ("low_energy", "low energy availability"),
    ("osteoporosis", "osteoporosis"),
    ("joint_replacement", "joint replacement"),
    ("concussion", "concussion within four weeks"),
    ("illness", "illness now"),
];
/// Noted for an athlete in a growth spurt whose knees or heels hurt.
pub const GROWTH_PAIN: &str = "growth_pain";

/// What is not on record and therefore counts as the careful case, with what to enter to change it.
pub const NO_AGE: &str = "The year of birth is not on record, so the athlete counts as under 18: enter it in the record.";
/// The same of training.
pub const NO_TRAINING: &str = "Years of training are not on record, so the athlete counts as new to it: enter them in the record.";
/// The same of body mass.
pub const NO_MASS: &str = "Body mass is not on record, so the athlete counts as heavier than 100 kg: weigh on the plates or enter it.";

/// Printed on every plan.
pub const CAUTIONS: &[&str] = &[
    "Suggestions for training, not a diagnosis and not a clearance to play.",
    "Pain above 2 of 10, swelling, giving way or locking: no jumps; ask a clinician.",
    "A good height or an even left and right does not rule out an injury.",
    "Warm up; land quietly; someone watches. Minors train under supervision.",
];
/// Printed on every plan: when a session ends.
pub const STOPS: &[&str] = &[
    "Stop the session when pain rises or swelling comes.",
    "Stop the set when contacts grow by 10 % or the reactive strength index falls by 10 %.",
    "Stop when heels strike in a rebound or a landing becomes loud.",
    "48 to 72 hours between sessions with jumps; testing counts as one.",
];
