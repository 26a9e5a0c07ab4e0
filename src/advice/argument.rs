//! What speaks for an answer, what against, what else it could be, and what would settle it: rules as rows of one table.
//! Training history stands beside the evidence in the coach's words; no rule reads it.
use super::evidence::{MannerOff, capital, settle};
use super::prepare::Seen;
use super::qualities::{QualityId, in_a_sentence, name, quality, test_in_a_sentence};
use super::score::{Answer, Reading, Scored};
use serde::{Deserialize, Serialize};

/// On which side a sentence stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// Speaks for it.
    For,
    /// Speaks against it.
    Against,
    /// Could be the reason instead.
    Else,
}

/// When a rule speaks. Each is evaluated in one place, `facts`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum When {
    /// A family of the quality lies below the mean of the other qualities.
    FamilyBelow,
    /// A family of the quality lies above it.
    FamilyAbove,
    /// The gap's interval leaves out zero.
    GapReliable,
    /// It does not.
    GapUnclear,
    /// Fewer than one in twenty of such people have a gap further out.
    GapUnusual,
    /// More than one in twenty have.
    GapCommon,
    /// Figures of manner outside.
    MannerOff,
    /// None outside.
    MannerNear,
    /// Strong braking beside weak propulsion.
    BrakingAbovePropulsion,
    /// The isometric force is not low although a jump's force is.
    IsometricHolds,
    /// Fewer than 25 in the group.
    SmallGroup,
    /// A figure per kg goes with body mass in the group.
    MassRelated,
    /// One day only.
    OneDay,
    /// Doubt about effort, fatigue or pain, or trials that do not agree.
    DayInDoubt,
    /// The answer hangs on one trial or member.
    HangsOnOne,
}

/// One rule.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rule {
    /// Stable id.
    pub id: &'static str,
    /// Side.
    pub role: Role,
    /// Qualities it is about; empty: all.
    pub about: &'static [QualityId],
    /// Condition.
    pub when: When,
    /// Sentence; words in braces are filled from the facts.
    pub sentence: &'static str,
    /// Where it comes from.
    pub source: &'static str,
}

const OURS: &str = "this project's own rule, methods.md §9";
const CUSTOM: &str = "common practice, no source";

/// The table.
pub const RULES: &[Rule] = &[
    Rule {
        id: "family_below",
        role: Role::For,
        about: &[],
        when: When::FamilyBelow,
        sentence: "{Family} in the {test}: {z} SD (±\u{a0}{error}) against {n} others, on {days}.",
        source: "Crawford & Howell 1998, Clin. Neuropsychol. 12:482 (a person against a group)",
    },
    Rule {
        id: "gap_reliable",
        role: Role::For,
        about: &[],
        when: When::GapReliable,
        sentence: "It lies {gap} SD (±\u{a0}{half}) below the mean of the other qualities: more than day-to-day noise, trial noise and the size of the group explain.",
        source: OURS,
    },
    Rule {
        id: "gap_unusual",
        role: Role::For,
        about: &[],
        when: When::GapUnusual,
        sentence: "Such a gap is unusual: an estimated {further} % of people like this group have a larger one.",
        source: "Crawford & Garthwaite 2005, Neuropsychology 19:318",
    },
    Rule {
        id: "manner_near",
        role: Role::For,
        about: &[],
        when: When::MannerNear,
        sentence: "The manner of jumping is within 1 SD of the group and of the athlete’s own.",
        source: OURS,
    },
    Rule {
        id: "braking_above_propulsion",
        role: Role::For,
        about: &[QualityId::PropulsionForce, QualityId::PropulsionPower],
        when: When::BrakingAbovePropulsion,
        sentence: "Braking is strong for this group, propulsion is not: {gap} SD apart. That is consistent with concentric force or power as the limit.",
        source: CUSTOM,
    },
    Rule {
        id: "family_above",
        role: Role::Against,
        about: &[],
        when: When::FamilyAbove,
        sentence: "{Family} in the {test} does not agree: {z} SD (±\u{a0}{error}).",
        source: OURS,
    },
    Rule {
        id: "gap_unclear",
        role: Role::Against,
        about: &[],
        when: When::GapUnclear,
        sentence: "The distance from the other qualities, {gap} SD (±\u{a0}{half}), is within noise.",
        source: OURS,
    },
    Rule {
        id: "gap_common",
        role: Role::Against,
        about: &[],
        when: When::GapCommon,
        sentence: "Such a gap is not rare: an estimated {further} % of people like this group have a larger one.",
        source: "Crawford & Garthwaite 2005, Neuropsychology 19:318",
    },
    Rule {
        id: "isometric_holds",
        role: Role::Against,
        about: &[QualityId::BrakingForce, QualityId::PropulsionForce],
        when: When::IsometricHolds,
        sentence: "Isometric force is not low ({z} SD): capacity may be there and not be used in the jump.",
        source: "Sheppard et al. 2011 (jump beside isometric force)",
    },
    Rule {
        id: "technique",
        role: Role::Else,
        about: &[],
        when: When::MannerOff,
        sentence: "Technique: {manner}. Depth and tempo change force and power at equal height.",
        source: OURS,
    },
    Rule { id: "effort", role: Role::Else, about: &[], when: When::DayInDoubt, sentence: "Effort or the day: {doubt}", source: OURS },
    Rule {
        id: "bad_trial",
        role: Role::Else,
        about: &[],
        when: When::HangsOnOne,
        sentence: "A bad trial, or one member of the group: {doubt}",
        source: OURS,
    },
    Rule {
        id: "one_day",
        role: Role::Else,
        about: &[],
        when: When::OneDay,
        sentence: "A single day: one day may be off as a whole.",
        source: "Hopkins 2000, Sports Med. 30:1 (days, not trials, are the repeats)",
    },
    Rule {
        id: "small_group",
        role: Role::Else,
        about: &[],
        when: When::SmallGroup,
        sentence: "A small group: {n} athletes are compared with; another squad may order the qualities differently.",
        source: "Crawford & Howell 1998, Clin. Neuropsychol. 12:482",
    },
    Rule {
        id: "mass",
        role: Role::Else,
        about: &[],
        when: When::MassRelated,
        sentence: "Body mass: {family} per kg goes with mass in this group (r = {r}); dividing by mass penalises the heavy.",
        source: "Jaric 2002, Sports Med. 32:615",
    },
];

/// One sentence with its rule.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Statement {
    /// The rule's id.
    pub rule: String,
    /// The sentence.
    pub text: String,
    /// Its source.
    pub source: String,
}

/// All about one named quality.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Argument {
    /// Which quality.
    pub quality: QualityId,
    /// Evidence for.
    pub speaks_for: Vec<Statement>,
    /// Evidence against.
    pub against: Vec<Statement>,
    /// What else it could be.
    pub otherwise: Vec<Statement>,
    /// The test that would settle it.
    pub settle: String,
    /// Training history in the coach's words, beside the evidence.
    pub beside: String,
}

type Fact = Vec<(&'static str, String)>;

fn signed(value: f64, decimals: usize) -> String {
    let text = format!("{:.decimals$}", value.abs());
    if value < 0.0 && text.chars().any(|c| c.is_ascii_digit() && c != '0') { format!("−{text}") } else { text }
}

/// Arguments for the qualities an answer names; for "not enough", for the one it leans to.
pub fn arguments(reading: &Reading, history: &str) -> Vec<Argument> {
    let named = match reading.answer {
        Answer::One(one) | Answer::Manner(one) => vec![one],
        Answer::Two(one, two) => vec![one, two],
        Answer::NotEnough => reading.leaning.into_iter().collect(),
        Answer::UniformlyLow | Answer::UniformlyHigh => Vec::new(),
    };
    named.into_iter().map(|id| argument(reading, id, history)).collect()
}

fn argument(reading: &Reading, id: QualityId, history: &str) -> Argument {
    let of = |role: Role| {
        let rules = RULES.iter().filter(|r| r.role == role && (r.about.is_empty() || r.about.contains(&id)));
        rules
            .flat_map(|rule| facts(rule.when, reading, id).into_iter().map(move |fact| (rule, fact)))
            .map(|(rule, fact)| Statement { rule: rule.id.into(), text: fill(rule.sentence, &fact), source: rule.source.into() })
            .collect()
    };
    Argument {
        quality: id,
        speaks_for: of(Role::For),
        against: of(Role::Against),
        otherwise: of(Role::Else),
        settle: format!("{}.", capital(&settle(id, &reading.tested, &reading.prepared))),
        beside: history.trim().to_owned(),
    }
}

fn fill(sentence: &str, fact: &Fact) -> String {
    fact.iter().fold(sentence.to_owned(), |text, (key, value)| text.replace(&format!("{{{key}}}"), value))
}

fn family_fact(seen: &Seen) -> Fact {
    let days = if seen.days == 1 { "one day".to_owned() } else { format!("{} days", seen.days) };
    vec![
        ("Family", capital(seen.family)),
        ("family", seen.family.to_owned()),
        ("test", test_in_a_sentence(&seen.test)),
        ("z", signed(seen.z, 1)),
        (
            "error",
            if seen.error.is_finite() { format!("{:.1}", 2.0 * seen.error / (seen.days.max(1) as f64).sqrt()) } else { "not known".into() },
        ),
        ("n", seen.n.to_string()),
        ("days", days),
        ("r", signed(seen.mass_r, 2)),
    ]
}

/// The facts that make a condition true: one filling each; none: it is not.
fn facts(when: When, reading: &Reading, id: QualityId) -> Vec<Fact> {
    let Some(own) = reading.scored.iter().find(|s| s.quality == id) else { return Vec::new() };
    let others: Vec<&Scored> = reading.scored.iter().filter(|s| s.quality != id && s.scored).collect();
    let centre = others.iter().map(|s| s.z).sum::<f64>() / others.len().max(1) as f64;
    let yes = |condition: bool, fact: Fact| if condition { vec![fact] } else { Vec::new() };
    let standing = |wanted: QualityId| reading.scored.iter().find(|s| s.quality == wanted && s.scored).map(|s| s.standing);
    // The gap belongs to the quality that is most surely the lowest.
    let gap = reading.gap.as_ref().filter(|_| reading.leaning == Some(id));
    let gap_fact = || {
        gap.map_or_else(Vec::new, |g| {
            vec![
                ("gap", format!("{:.1}", g.size.abs())),
                ("half", format!("{:.1}", g.half_width)),
                ("further", g.unusual.map_or_else(String::new, |u| percent(u.further_out_percent))),
            ]
        })
    };
    let further = gap.and_then(|g| g.unusual).map(|u| u.further_out_percent);
    match when {
        When::FamilyBelow => own.seen.iter().filter(|s| s.z < centre).map(family_fact).collect(),
        When::FamilyAbove => own.seen.iter().filter(|s| s.z >= centre).map(family_fact).collect(),
        When::GapReliable => yes(gap.is_some_and(|g| g.reliable), gap_fact()),
        When::GapUnclear => yes(gap.is_some_and(|g| !g.reliable), gap_fact()),
        When::GapUnusual => yes(further.is_some_and(|p| p < 5.0), gap_fact()),
        When::GapCommon => yes(further.is_some_and(|p| p >= 5.0), gap_fact()),
        When::MannerOff => yes(!reading.manner.is_empty(), vec![("manner", listed(&reading.manner))]),
        When::MannerNear => {
            yes(reading.manner.is_empty() && quality(id).is_some_and(|q| !q.manner.is_empty()) && named(reading, id), Vec::new())
        }
        When::BrakingAbovePropulsion => {
            let braking = [QualityId::BrakingForce, QualityId::BrakingPower].into_iter().filter_map(standing).fold(f64::INFINITY, f64::min);
            let apart = braking - own.standing;
            yes(braking.is_finite() && braking > 0.5 && own.standing < 0.0, vec![("gap", format!("{apart:.1}"))])
        }
        When::IsometricHolds => {
            standing(QualityId::IsometricForce).filter(|z| *z > 0.0).map(|z| vec![("z", signed(z, 1))]).into_iter().collect()
        }
        When::SmallGroup => yes(own.n < 25, vec![("n", own.n.to_string())]),
        When::MassRelated => own.seen.iter().filter(|s| s.mass_r.abs() > 0.3).map(family_fact).collect(),
        When::OneDay => yes(reading.days.len() < 2, Vec::new()),
        When::DayInDoubt => doubts(reading, &["pain", "fatigue", "effort", "best_two", "first_session"]),
        When::HangsOnOne => doubts(reading, &["one_trial", "one_member"]),
    }
}

fn named(reading: &Reading, id: QualityId) -> bool {
    match reading.answer {
        Answer::One(one) => one == id,
        Answer::Two(one, two) => one == id || two == id,
        _ => false,
    }
}

fn doubts(reading: &Reading, ids: &[&str]) -> Vec<Fact> {
    reading.misses.iter().filter(|m| ids.contains(&m.id.as_str())).map(|m| vec![("doubt", m.sentence.clone())]).collect()
}

fn listed(manner: &[MannerOff]) -> String {
    manner.iter().map(MannerOff::words).collect::<Vec<_>>().join("; ")
}

fn percent(value: f64) -> String {
    if value < 1.0 { "under 1".into() } else { format!("{value:.0}") }
}

/// The contrast of two phases as one sentence, where both are scored: "Braking is strong for this group, propulsion is not …".
pub fn contrasts(reading: &Reading) -> Vec<String> {
    const PAIRS: &[(QualityId, QualityId)] = &[
        (QualityId::BrakingForce, QualityId::PropulsionForce),
        (QualityId::BrakingPower, QualityId::PropulsionPower),
        (QualityId::PropulsionForce, QualityId::IsometricForce),
        (QualityId::Rebound, QualityId::PropulsionPower),
    ];
    let enough = reading.scored.iter().map(|s| s.n).min().is_some_and(super::score::contrasts_shown);
    let of = |id: QualityId| reading.scored.iter().find(|s| s.quality == id && s.scored);
    PAIRS.iter().filter(|_| enough).filter_map(|(a, b)| Some(contrast(of(*a)?, of(*b)?))).collect()
}

fn contrast(a: &Scored, b: &Scored) -> String {
    let (high, low) = if a.z >= b.z { (a, b) } else { (b, a) };
    let gap = high.z - low.z;
    // Errors of two qualities of one day are positively related, so the sum of squares is wide rather than narrow.
    let half = 2.0 * (a.error * a.error + b.error * b.error).sqrt();
    let word = |z: f64| match z {
        z if z > 0.5 => "strong",
        z if z < -0.5 => "weak",
        _ => "middling",
    };
    if gap <= half {
        return format!(
            "{} and {} are alike for this group: {gap:.1} SD apart, within noise (±\u{a0}{half:.1}).",
            name(a.quality),
            in_a_sentence(b.quality)
        );
    }
    if word(high.z) == word(low.z) {
        return format!(
            "{} is above {} for this group: {gap:.1} SD apart (±\u{a0}{half:.1}).",
            name(high.quality),
            in_a_sentence(low.quality)
        );
    }
    format!(
        "{} is {} for this group, {} is {}: {gap:.1} SD apart (±\u{a0}{half:.1}).",
        name(high.quality),
        word(high.z),
        in_a_sentence(low.quality),
        word(low.z)
    )
}
