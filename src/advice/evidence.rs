//! The least that must be there before anything is said (`methods.md` §9), and whether the manner of jumping explains it.
//! Every miss is named, with the test that settles it.
use super::asked::Asked;
use super::prepare::Prepared;
use super::qualities::{EFFORT, NOT_A_JUMP, QualityId, position_fits, quality, test_in_a_sentence};
use super::sheet::{FEWEST, TrialPlace, usable_days};
use crate::cohort::Table;
use crate::force::stats::{mean, sd};
use serde::{Deserialize, Serialize};

/// What the coach says about the day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Flags {
    /// Pain was said before or in the session.
    pub pain: bool,
    /// Tired: a match, a hard session or an illness in the last two days.
    pub fatigue: bool,
    /// Effort was in doubt.
    pub effort: bool,
}

/// Left against right of one figure, as the room before read it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SideRead {
    /// Name of the figure.
    pub figure: String,
    /// 100·(R−L)/(R+L), or of the larger: said in `of`.
    pub difference_percent: f64,
    /// What the per cent is of: "total", "larger".
    pub of: String,
    /// Beyond its own between-day noise, or beyond its trial-to-trial spread where days are not known.
    pub beyond_noise: bool,
    /// One-leg tests exist, so that each leg is read for itself.
    pub read_per_leg: bool,
}

/// Ends the name of a figure that one trial alone gave: it is shown, and decides nothing.
pub const ONE_TRIAL: &str = " (one trial, which decides nothing)";

/// Why nothing is said, and what would settle it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Miss {
    /// Stable id.
    pub id: String,
    /// What is missing, as a sentence.
    pub sentence: String,
    /// The test or step that settles it.
    pub settle: String,
}

/// Makes a miss.
pub fn miss(id: &str, sentence: impl Into<String>, settle: impl Into<String>) -> Miss {
    Miss { id: id.into(), sentence: sentence.into(), settle: settle.into() }
}

/// Trials a test must have.
pub const TRIALS: usize = 3;
/// Best two must agree within this part.
pub const BEST_TWO: f64 = 0.05;
/// Members of a group that a contrast needs.
pub const GROUP: usize = 15;
/// Repeated days in the group that its reliability needs (*ours*: the typical error is then known to about ± 25 %).
pub const PAIRS: usize = 8;

/// What holds for every quality.
pub fn missing(asked: &Asked, prepared: &Prepared) -> Vec<Miss> {
    let mut misses = Vec::new();
    if asked.flags.pain {
        misses.push(miss(
            "pain",
            "Pain was noted in this session: forces under pain say nothing about capacity.",
            "Test again once a clinician has seen it and the athlete is free of pain.",
        ));
    }
    if asked.flags.fatigue {
        misses.push(miss("fatigue", "The athlete was tired that day.", "Test again after two easier days."));
    }
    if asked.flags.effort {
        misses.push(miss(
            "effort",
            "Effort was in doubt that day.",
            "Test again with the same cue and the height called out after each trial.",
        ));
    }
    if first_ever(asked) {
        misses.push(miss(
            "first_session",
            "This is the first session ever: people still learn the tests.",
            "Test once more on another day, within ten days.",
        ));
    }
    trials(asked, prepared, &mut misses);
    let tests: Vec<&str> = tests_used(prepared);
    let not_a_jump = tests.iter().any(|t| NOT_A_JUMP.contains(t));
    if tests.len() < 2 {
        misses.push(miss("two_tests", "Only one test speaks.", "Add a second test: an isometric push, a drop jump or repeated rebounds."));
    } else if !not_a_jump && prepared.days.len() < 2 {
        misses.push(miss(
            "second_day",
            "All tests are jumps of one day.",
            "Add a test that is not a jump (an isometric push), or repeat the jumps within ten days.",
        ));
    }
    let smallest = prepared.columns.iter().flat_map(|c| &c.seen).map(|s| s.n).min().unwrap_or(0);
    if smallest < GROUP {
        misses.push(miss(
            "group",
            format!("The group has {smallest} athletes with the same tests and protocol; a contrast needs {GROUP}."),
            "Test more of the squad under the same protocol.",
        ));
    }
    if let Some(side) = asked.sides.iter().find(|s| s.beyond_noise && !s.read_per_leg) {
        misses.push(miss(
            "left_right",
            format!(
                "Left and right differ beyond their noise ({}): a two-leg figure then speaks for neither leg alone.",
                side.figure.to_lowercase()
            ),
            "Test each leg alone: one-leg jumps or one-leg isometric pushes, where the gates allow them.",
        ));
    }
    misses
}

fn first_ever(asked: &Asked) -> bool {
    let first = asked.newcomers.iter().find(|n| n.0 == asked.athlete).map(|n| n.1);
    let days = usable_days(asked.tables, asked.athlete, asked.day, first);
    first.is_some() && days.iter().all(|d| Some(*d) == first)
}

fn tests_used(prepared: &Prepared) -> Vec<&str> {
    let mut tests: Vec<&str> = prepared.columns.iter().flat_map(|c| &c.seen).map(|s| s.test.as_str()).collect();
    tests.sort_unstable();
    tests.dedup();
    tests
}

/// Sound trials a test, and whether the best two efforts agree.
fn trials(asked: &Asked, prepared: &Prepared, misses: &mut Vec<Miss>) {
    let mut looked: Vec<(&str, &str)> = Vec::new();
    for seen in prepared.columns.iter().flat_map(|c| &c.seen) {
        if looked.contains(&(&seen.test, &seen.protocol)) {
            continue;
        }
        looked.push((&seen.test, &seen.protocol));
        let effort = EFFORT.iter().find(|e| e.0 == seen.test).map_or("", |e| e.1);
        let of_test = |figure: &str| asked.tables.iter().find(|t| t.test == seen.test && t.protocol == seen.protocol && t.figure == figure);
        let Some(table) = of_test(effort).or_else(|| of_test(seen.figures.first().copied().unwrap_or_default())) else { continue };
        let words = test_in_a_sentence(&seen.test);
        for day in &prepared.days {
            let mut values: Vec<f64> =
                table.rows.iter().filter(|r| r.athlete == asked.athlete && r.day == *day && r.sound).map(|r| r.value).collect();
            let any = table.rows.iter().any(|r| r.athlete == asked.athlete && r.day == *day);
            if !any {
                continue;
            }
            if values.len() < TRIALS {
                misses.push(miss(
                    "trials",
                    format!("The {words} of {day} has {} sound trials; {TRIALS} are needed.", values.len()),
                    format!("Repeat the {words} until {TRIALS} trials are sound."),
                ));
                continue;
            }
            values.sort_by(|a, b| b.total_cmp(a));
            let (best, second) = (values.first().copied().unwrap_or(0.0), values.get(1).copied().unwrap_or(0.0));
            if table.figure == effort && best > 0.0 && second < best * (1.0 - BEST_TWO) {
                misses.push(miss(
                    "best_two",
                    format!(
                        "The best two trials of the {words} of {day} are {:.0} % apart; within 5 % is wanted.",
                        100.0 * (1.0 - second / best)
                    ),
                    format!("One or two more trials of the {words}, with full rest."),
                ));
            }
        }
    }
}

/// A figure of manner that lies outside.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MannerOff {
    /// Figure id.
    pub figure: String,
    /// Its name in a sentence.
    pub name: String,
    /// Test kind.
    pub test: String,
    /// Distance from the group in its SD; NaN where it was a bound.
    pub from_group: f64,
    /// Distance from the athlete's own earlier mean in his own SD; NaN where not known.
    pub from_own: f64,
    /// Above the bound that holds whatever the group does.
    pub beyond_bound: bool,
}

impl MannerOff {
    /// As part of a sentence.
    pub fn words(&self) -> String {
        if self.beyond_bound {
            return format!("{} is long (over 250 ms, a slow contact)", self.name);
        }
        let (far, than) = if self.from_group.abs() > 1.0 {
            (self.from_group, "than the group’s")
        } else {
            (self.from_own, "than the athlete’s own usual")
        };
        format!("{} is {:.1} SD {} {than}", self.name, far.abs(), if far < 0.0 { "smaller" } else { "larger" })
    }
}

/// Figures of manner standing beside a quality that are more than 1 SD from the group or from the athlete's own mean.
pub fn manner_off(asked: &Asked, prepared: &Prepared, id: QualityId) -> Vec<MannerOff> {
    let Some(quality) = quality(id) else { return Vec::new() };
    let mut off = Vec::new();
    for row in quality.manner {
        // Only beside a test that was used for the quality.
        let used = prepared.columns.iter().filter(|c| c.quality == id).flat_map(|c| &c.seen).any(|s| s.test == row.test);
        for table in asked.tables.iter().filter(|t| used && t.test == row.test && t.figure == row.figure) {
            let all = asked.days(table);
            let plain: Vec<f64> = table
                .rows
                .iter()
                .filter(|r| r.athlete == asked.athlete && prepared.days.contains(&r.day) && r.sound)
                .map(|r| r.value)
                .collect();
            let now: Vec<f64> =
                all.iter().filter(|s| s.athlete == asked.athlete && prepared.days.contains(&s.day)).map(|s| s.mean).collect();
            if now.is_empty() {
                continue;
            }
            let others: Vec<f64> = asked.others(&all).iter().map(|d| d.mean).collect();
            let spread = sd(&others);
            let from_group = if others.len() > 2 && spread > 0.0 { (mean(&now) - mean(&others)) / spread } else { f64::NAN };
            let earlier: Vec<f64> = table
                .rows
                .iter()
                .filter(|r| r.athlete == asked.athlete && r.sound && prepared.days.first().is_some_and(|d| r.day < *d))
                .map(|r| r.value)
                .collect();
            // Six trials are the least for an SD of one's own (*ours*).
            let own_spread = sd(&earlier);
            let from_own = if earlier.len() >= 6 && own_spread > 0.0 && !plain.is_empty() {
                (mean(&plain) - mean(&earlier)) / own_spread
            } else {
                f64::NAN
            };
            let beyond_bound = row.at_most.is_some_and(|most| !plain.is_empty() && mean(&plain) > most);
            let outside = row.at_most.is_none() && (from_group.abs() > 1.0 || from_own.abs() > 1.0);
            if beyond_bound || outside {
                off.push(MannerOff {
                    figure: row.figure.into(),
                    name: row.name.into(),
                    test: row.test.into(),
                    from_group,
                    from_own,
                    beyond_bound,
                });
            }
        }
    }
    off
}

/// Every trial of the athlete that the answer might hang on.
pub fn trial_places(asked: &Asked, prepared: &Prepared) -> Vec<TrialPlace> {
    let mut places: Vec<TrialPlace> = Vec::new();
    for seen in prepared.columns.iter().flat_map(|c| &c.seen) {
        let figure = seen.figures.first().copied().unwrap_or_default();
        for table in asked.tables.iter().filter(|t| t.test == seen.test && t.protocol == seen.protocol && t.figure == figure) {
            for day in &prepared.days {
                let count = table.rows.iter().filter(|r| r.athlete == asked.athlete && r.day == *day).count();
                for place in 0..count {
                    let place = TrialPlace { test: seen.test.clone(), protocol: seen.protocol.clone(), day: *day, place };
                    if !places.contains(&place) {
                        places.push(place);
                    }
                }
            }
        }
    }
    places
}

/// Tests that settle a quality by their own name: what they are called in a sentence.
const NAMED: &[(QualityId, &str, &str)] = &[
    (QualityId::Landing, "drop_landing", "drop landings"),
    (QualityId::PropulsionForce, "squat_jump", "squat jumps"),
    (QualityId::PropulsionPower, "squat_jump", "squat jumps"),
];

/// Tests that an athlete has done by a day, whether or not anybody can be compared with them.
pub fn tested(asked: &Asked) -> Vec<String> {
    let his = |t: &&Table| t.rows.iter().any(|r| r.athlete == asked.athlete && r.day <= asked.day);
    let mut tests: Vec<String> = asked.tables.iter().filter(his).map(|t| t.test.clone()).collect();
    tests.sort_unstable();
    tests.dedup();
    tests
}

/// What would settle a quality; nobody is sent to a test that he has done already without a word why once more.
pub fn settle(id: QualityId, tested: &[String], prepared: &Prepared) -> String {
    let usual = quality(id).map_or("", |q| q.settle);
    let Some((_, test, name)) = NAMED.iter().find(|n| n.0 == id && tested.iter().any(|t| t == n.1)) else { return usual.into() };
    let compared = prepared.columns.iter().filter(|c| c.quality == id).flat_map(|c| &c.seen).any(|s| s.test == *test);
    if compared {
        return format!("the {name} once more on another day: {usual}");
    }
    format!("the same {name} of at least {FEWEST} others: this athlete’s are on record, but there is nobody to compare them with yet")
}

/// Agreement and contradiction between the families of one quality (`low`: it is to be called low).
pub fn disagreement(prepared: &Prepared, id: QualityId, others_mean: f64, settle: &str) -> Vec<Miss> {
    let Some(column) = prepared.columns.iter().find(|c| c.quality == id) else { return Vec::new() };
    let name = super::qualities::in_a_sentence(id);
    let settle = format!("{}.", capital(settle));
    let mut misses = Vec::new();
    let below: Vec<_> = column.seen.iter().filter(|s| s.z < others_mean).collect();
    let mut tests: Vec<(&str, &str)> = below.iter().map(|s| (s.test.as_str(), s.protocol.as_str())).collect();
    tests.sort_unstable();
    tests.dedup();
    if below.len() < 2 || (tests.len() < 2 && prepared.days.len() < 2) {
        misses.push(miss(
            "agreement",
            format!("Only one family of figures from one test puts {name} lowest; two from two tests or days are needed."),
            settle.clone(),
        ));
    }
    // "Equal precision": at most a quarter wider (*ours*).
    let best = below.iter().map(|s| s.error).fold(f64::INFINITY, f64::min);
    if let Some(against) = column.seen.iter().find(|s| s.z >= others_mean && s.error <= 1.25 * best) {
        misses.push(miss(
            "contradiction",
            format!("{} of the {} says the opposite with equal precision.", capital(against.family), test_in_a_sentence(&against.test)),
            settle.clone(),
        ));
    }
    misses
}

/// A sentence's first letter.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// Whether an evidence row exists at all for a protocol; kept beside the table so that a wrong protocol shows in tests.
pub fn speaks(test: &str, figure: &str, protocol: &str) -> bool {
    super::qualities::QUALITIES.iter().flat_map(|q| q.evidence).any(|e| e.test == test && e.figure == figure && position_fits(e, protocol))
}
