//! The qualities, and which figures of which tests speak of each: data, read by `prepare` and `score`.
//!
//! Figures of one family are tied by identities, so within one test they count as one observation. Figures that the
//! catalogue never scores (depth, durations, stiffness, landing peaks) do not stand here.
use serde::{Deserialize, Serialize};

/// A quality that training can aim at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum QualityId {
    /// Force while stopping the way down.
    BrakingForce,
    /// Power while stopping the way down.
    BrakingPower,
    /// Force while driving up.
    PropulsionForce,
    /// Power while driving up.
    PropulsionPower,
    /// Short contacts: rebound, calf and foot.
    Rebound,
    /// Coming to rest after a landing.
    Landing,
    /// Highest force against something that does not move.
    IsometricForce,
    /// How fast that force rises.
    IsometricRate,
    /// Power kept up over a set.
    RepeatPower,
    /// One leg against the other; read by its own rule, never part of "the lowest".
    LeftRight,
}

/// One figure of one test that speaks of a quality.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Evidence {
    /// Test kind as in the document.
    pub test: &'static str,
    /// A word that the protocol must hold (`"ankle"`); `""`: any protocol that holds no word claimed by another row.
    pub position: &'static str,
    /// Figure id; twins per kg where forces and powers are compared between people.
    pub figure: &'static str,
    /// Family: one observation a test.
    pub family: &'static str,
    /// Less is better.
    pub lower: bool,
}

/// A figure of manner that stands beside a quality's contrast.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Manner {
    /// Test kind.
    pub test: &'static str,
    /// Figure id.
    pub figure: &'static str,
    /// In words, within a sentence.
    pub name: &'static str,
    /// A bound that holds whatever the group does.
    pub at_most: Option<f64>,
}

/// One quality.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quality {
    /// Id.
    pub id: QualityId,
    /// Name at the head of a row.
    pub name: &'static str,
    /// Name for an athlete, without terms of art.
    pub plain: &'static str,
    /// What speaks of it.
    pub evidence: &'static [Evidence],
    /// What may mimic it.
    pub manner: &'static [Manner],
    /// The test that settles it.
    pub settle: &'static str,
    /// Where the reading comes from.
    pub source: &'static str,
}

/// Words in a protocol that make an isometric push one of the ankle.
pub const ANKLE_WORDS: &[&str] = &["ankle", "calf", "heel"];

const fn row(test: &'static str, position: &'static str, figure: &'static str, family: &'static str) -> Evidence {
    Evidence { test, position, figure, family, lower: false }
}
const fn lower(test: &'static str, figure: &'static str, family: &'static str) -> Evidence {
    Evidence { test, position: "", figure, family, lower: true }
}
const fn manner(test: &'static str, figure: &'static str, name: &'static str) -> Manner {
    Manner { test, figure, name, at_most: None }
}
const fn bounded(test: &'static str, figure: &'static str, name: &'static str, at_most: f64) -> Manner {
    Manner { test, figure, name, at_most: Some(at_most) }
}

const CMJ: &str = "countermovement_jump";
const SQUAT: &str = "squat_jump";
const DROP: &str = "drop_jump";
const REBOUNDS: &str = "rebound_jumps";
const REBOUND_JUMP: &str = "countermovement_rebound_jump";
const ISOMETRIC: &str = "isometric";
const DROP_LANDING: &str = "drop_landing";

const JUMP_MANNER: &[Manner] = &[
    manner(CMJ, "countermovement_depth", "countermovement depth"),
    manner(CMJ, "peak_downward_velocity", "peak downward velocity"),
    bounded(DROP, "contact_time", "contact time of the drop jump", 0.25),
];
const PROPULSION_MANNER: &[Manner] = &[
    manner(CMJ, "countermovement_depth", "countermovement depth"),
    manner(CMJ, "peak_downward_velocity", "peak downward velocity"),
    manner(SQUAT, "push_off_distance", "push-off distance of the squat jump"),
];
const REBOUND_MANNER: &[Manner] =
    &[bounded(DROP, "contact_time", "contact time of the drop jump", 0.25), manner(DROP, "drop_height", "actual drop height")];

/// The qualities in the order of the movement.
pub const QUALITIES: &[Quality] = &[
    Quality {
        id: QualityId::BrakingForce,
        name: "Braking force",
        plain: "how hard you push while stopping your way down",
        evidence: &[
            row(CMJ, "", "mean_braking_force_per_kg", "braking force"),
            row(CMJ, "", "peak_braking_force_per_kg", "braking force"),
            row(DROP, "", "mean_braking_force_per_kg", "braking force"),
            row(DROP, "", "peak_braking_force_per_kg", "braking force"),
        ],
        manner: JUMP_MANNER,
        settle: "countermovement jumps to a set depth and a drop jump from one low box, on another day",
        source: "McMahon et al. 2018, Strength Cond. J. 40(4):96 (phases); comparison per kg: common practice, no source",
    },
    Quality {
        id: QualityId::BrakingPower,
        name: "Braking power",
        plain: "how quickly you stop your way down",
        evidence: &[
            row(CMJ, "", "mean_braking_power_per_kg", "braking power"),
            row(CMJ, "", "peak_braking_power_per_kg", "braking power"),
            row(DROP, "", "mean_braking_power_per_kg", "braking power"),
            row(DROP, "", "peak_braking_power_per_kg", "braking power"),
        ],
        manner: JUMP_MANNER,
        settle: "countermovement jumps with a set depth and the cue to go down fast, and a drop jump, on another day",
        source: "McMahon et al. 2018, Strength Cond. J. 40(4):96 (phases); comparison per kg: common practice, no source",
    },
    Quality {
        id: QualityId::PropulsionForce,
        name: "Propulsion force",
        plain: "how hard you push on the way up",
        evidence: &[
            row(CMJ, "", "mean_propulsion_force_per_kg", "propulsion force"),
            row(CMJ, "", "peak_propulsion_force_per_kg", "propulsion force"),
            row(SQUAT, "", "mean_propulsion_force_per_kg", "propulsion force"),
            row(SQUAT, "", "peak_propulsion_force_per_kg", "propulsion force"),
        ],
        manner: PROPULSION_MANNER,
        settle: "squat jumps from a set depth, where no braking comes before",
        source: "McMahon et al. 2018, Strength Cond. J. 40(4):96 (phases); McGuigan et al. 2006 (squat jump beside countermovement jump)",
    },
    Quality {
        id: QualityId::PropulsionPower,
        name: "Propulsion power",
        plain: "how explosively you push on the way up",
        evidence: &[
            row(CMJ, "", "mean_propulsion_power_per_kg", "propulsion power"),
            row(CMJ, "", "peak_propulsion_power_per_kg", "propulsion power"),
            row(SQUAT, "", "mean_propulsion_power_per_kg", "propulsion power"),
            row(SQUAT, "", "peak_propulsion_power_per_kg", "propulsion power"),
        ],
        manner: PROPULSION_MANNER,
        settle: "squat jumps from a set depth, then jumps over several loads",
        source: "McMahon et al. 2018, Strength Cond. J. 40(4):96 (phases); Samozino et al. 2012, Med. Sci. Sports Exerc. 44:313 (loads)",
    },
    Quality {
        id: QualityId::Rebound,
        name: "Rebound, calf and foot",
        plain: "how springy your short ground contacts are",
        evidence: &[
            row(DROP, "", "reactive_strength_index", "rebound"),
            row(REBOUNDS, "", "mean_reactive_strength_index", "rebound"),
            row(REBOUND_JUMP, "", "rebound_reactive_strength_index", "rebound"),
            row(ISOMETRIC, "ankle", "peak_force_per_kg", "isometric force"),
        ],
        manner: REBOUND_MANNER,
        settle: "an isometric ankle push and one-leg hops",
        source: "Flanagan & Comyns 2008, Strength Cond. J. 30(5):32; Harper, Hobbs & Moore 2011; reading as calf and foot: common practice, no source",
    },
    Quality {
        id: QualityId::Landing,
        name: "Landing",
        plain: "how quickly you come to rest after landing",
        evidence: &[lower(CMJ, "time_to_stabilisation", "landing"), lower(DROP_LANDING, "time_to_stabilisation", "landing")],
        manner: &[],
        settle: "drop landings from one low box, held for two seconds",
        source: "Flanagan, Ebben & Jensen 2008, J. Strength Cond. Res. 22:1677",
    },
    Quality {
        id: QualityId::IsometricForce,
        name: "Isometric force",
        plain: "how hard you push against something fixed",
        evidence: &[
            row(ISOMETRIC, "", "peak_force_per_kg", "isometric force"),
            row(ISOMETRIC, "", "force_at_250_ms_per_kg", "isometric late force"),
        ],
        manner: &[],
        settle: "the isometric push repeated on another day, with no pre-tension above body weight + 50 N",
        source: "Comfort et al. 2019, Strength Cond. J. 41(2):57",
    },
    Quality {
        id: QualityId::IsometricRate,
        name: "Isometric rate of force",
        plain: "how fast your force rises",
        evidence: &[
            row(ISOMETRIC, "", "force_at_100_ms_per_kg", "isometric early force"),
            row(ISOMETRIC, "", "peak_rate_of_force_development_per_kg", "isometric steepest rise"),
        ],
        manner: &[],
        settle: "the isometric push repeated on another day at 1000 Hz or more, cued fast and hard",
        source: "Haff et al. 2015, J. Strength Cond. Res. 29:386; Dos'Santos et al. 2017, J. Strength Cond. Res. 31:3463",
    },
    Quality {
        id: QualityId::RepeatPower,
        name: "Repeat power",
        plain: "how well you keep your power up over a set",
        evidence: &[row(REBOUNDS, "", "bosco_mean_power", "repeat power"), lower(REBOUNDS, "rebound_decrement", "decrement")],
        manner: &[],
        settle: "a timed set of repeated jumps after full rest, on another day",
        source: "Bosco et al. 1983",
    },
];

/// A quality's row; left against right has none.
pub fn quality(id: QualityId) -> Option<&'static Quality> {
    QUALITIES.iter().find(|q| q.id == id)
}

/// Name of a quality at the head of a row.
pub fn name(id: QualityId) -> &'static str {
    quality(id).map_or("Left and right", |q| q.name)
}

/// Name within a sentence.
pub fn in_a_sentence(id: QualityId) -> String {
    name(id).to_lowercase()
}

/// A test within a sentence.
pub fn test_in_a_sentence(test: &str) -> String {
    match test {
        ISOMETRIC => "isometric test".into(),
        REBOUNDS => "repeated rebounds".into(),
        REBOUND_JUMP => "countermovement jump with rebound".into(),
        other => other.replace('_', " "),
    }
}

/// Name for an athlete.
pub fn plain(id: QualityId) -> &'static str {
    quality(id).map_or("how alike your left and right are", |q| q.plain)
}

/// Whether a protocol's text (the key of [`crate::people::Protocol`]) is one that a row means.
pub fn position_fits(row: &Evidence, protocol: &str) -> bool {
    let text = protocol.to_lowercase();
    let ankle = ANKLE_WORDS.iter().any(|word| text.contains(word));
    row.test != ISOMETRIC || (row.position == "ankle") == ankle
}

/// Tests with a height, by which efforts are seen to be alike ("best two heights within 5 %").
pub const EFFORT: &[(&str, &str)] = &[(CMJ, "jump_height"), (SQUAT, "jump_height"), (DROP, "jump_height")];

/// Tests that are not jumps.
pub const NOT_A_JUMP: &[&str] = &[ISOMETRIC, DROP_LANDING];
