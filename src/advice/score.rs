//! Which quality is least developed, how sure that is, and the answer (`methods.md` §9).
//!
//! [`super::sheet`] gathers, [`super::prepare`] makes one number a quality, [`super::chance`] draws what is true, [`super::verdict`]
//! judges the draws; here the evidence is asked for and the answer given, and it is seen whether it hangs on one trial, one
//! member or body mass. Limits: qualities below a reliability of one half are shown and not scored; true standings of different
//! qualities are taken as independent before the data, which shrinks a gap no more than a known correlation would.
use super::asked::Asked;
use super::chance::{Dice, Place, Sums, standings};
use super::contrast::{Unusual, unusual};
use super::evidence::{self, GROUP, MannerOff, Miss, PAIRS, miss};
use super::prepare::{Prepared, Seen, column, prepare};
use super::qualities::{QualityId, in_a_sentence, test_in_a_sentence};
use super::sheet::Sheet;
use super::verdict::{QUALITIES_NEEDED, Verdict, judge, others_mean};
use crate::cohort::Line;
use crate::force::stats::{mean, quantile, sd};
use crate::people::Date;
use serde::{Deserialize, Serialize};

/// One quality's place.
#[derive(Debug, Clone, PartialEq)]
pub struct Scored {
    /// Which.
    pub quality: QualityId,
    /// Composite, in the group's SD (measured, not shrunk).
    pub z: f64,
    /// Its session error in the same unit.
    pub error: f64,
    /// Reliability of the athlete's value.
    pub reliability: f64,
    /// True standing: mean of the draws, and the 5th and 95th percentile.
    pub standing: f64,
    /// 5th percentile.
    pub low: f64,
    /// 95th percentile.
    pub high: f64,
    /// P(this quality is the lowest).
    pub p_lowest: f64,
    /// Members compared with.
    pub n: usize,
    /// Repeated days behind the reliability.
    pub repeats: usize,
    /// Families behind it.
    pub seen: Vec<Seen>,
    /// Entered P(lowest).
    pub scored: bool,
}

/// The gap between the lowest and the mean of the others: two separate questions.
#[derive(Debug, Clone, PartialEq)]
pub struct Gap {
    /// True standings apart, mean of the draws; negative.
    pub size: f64,
    /// Half of its 95 % interval.
    pub half_width: f64,
    /// Whether the interval leaves out zero.
    pub reliable: bool,
    /// How unusual it is in the group.
    pub unusual: Option<Unusual>,
}

/// One of six.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Answer {
    /// One quality is the least developed.
    One(QualityId),
    /// One of two is.
    Two(QualityId, QualityId),
    /// All low: general strength first.
    UniformlyLow,
    /// All high: train by the sport's demand.
    UniformlyHigh,
    /// The manner of jumping may explain it.
    Manner(QualityId),
    /// Not enough to say.
    NotEnough,
}

/// The answer with all that stands behind it.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// The answer.
    pub answer: Answer,
    /// What would be said if nothing were missing; shown only as the reason to test further.
    pub leaning: Option<QualityId>,
    /// Qualities in the order of the movement.
    pub scored: Vec<Scored>,
    /// The gap of the lowest.
    pub gap: Option<Gap>,
    /// What is missing.
    pub misses: Vec<Miss>,
    /// Manner outside.
    pub manner: Vec<MannerOff>,
    /// The athlete's days used.
    pub days: Vec<Date>,
    /// The numbers it was made from.
    pub prepared: Prepared,
    /// Tests on record, compared or not.
    pub tested: Vec<String>,
    /// What the answer is when body mass is taken out, where that matters.
    pub mass_matters: bool,
}

/// What the draws say, before evidence is asked for.
struct Weighed {
    scored: Vec<Scored>,
    gap: Option<Gap>,
    verdict: Verdict,
}

fn weigh(prepared: &Prepared, dice: &Dice) -> Weighed {
    let places: Vec<Place> = prepared.columns.iter().map(Place::of).collect();
    let mut scored: Vec<Scored> = places.iter().map(unranked).collect();
    let used: Vec<Place> = places.into_iter().filter(Place::is_scored).collect();
    let names: Vec<QualityId> = used.iter().map(|p| p.column.quality).collect();
    // Below the number that can be ranked nothing is drawn.
    let draws = if names.len() < QUALITIES_NEEDED { Vec::new() } else { standings(&used, dice) };
    let Some(judged) = judge(&draws, &names) else { return Weighed { scored, gap: None, verdict: Verdict::Nothing } };
    for (i, (name, p)) in names.iter().zip(&judged.p_lowest).enumerate() {
        let own: Vec<f64> = draws.iter().filter_map(|d| d.get(i).copied()).collect();
        if let Some(row) = scored.iter_mut().find(|s| s.quality == *name) {
            (row.standing, row.low, row.high, row.p_lowest) = (mean(&own), quantile(&own, 0.05), quantile(&own, 0.95), *p);
        }
    }
    let apart = judged.apart;
    let unusual = how_unusual(&used, judged.first, prepared.members.len());
    let gap = Gap { size: apart.size, half_width: apart.half_width, reliable: apart.reliable, unusual };
    Weighed { scored, gap: Some(gap), verdict: judged.verdict }
}

fn unranked(p: &Place) -> Scored {
    Scored {
        quality: p.column.quality,
        z: if p.spread > 0.0 { (p.column.own - p.centre) / p.spread } else { f64::NAN },
        error: p.error / p.spread / (p.column.days.max(1) as f64).sqrt(),
        reliability: p.reliability(),
        standing: f64::NAN,
        low: f64::NAN,
        high: f64::NAN,
        p_lowest: f64::NAN,
        n: p.n,
        repeats: p.repeats,
        seen: p.column.seen.clone(),
        scored: p.is_scored(),
    }
}

/// Measured composites of the group, the quality against the mean of the others, as the test is made for.
fn how_unusual(used: &[Place], first: usize, members: usize) -> Option<Unusual> {
    let standing = |p: &Place, value: f64| (value - p.centre) / p.spread;
    let whole = (0..members).filter_map(|m| {
        let row: Option<Vec<f64>> = used.iter().map(|p| p.column.members.get(m).copied().flatten().map(|v| standing(p, v))).collect();
        let row = row?;
        Some((row.get(first).copied()?, others_mean(&row, first)))
    });
    let (x, y): (Vec<f64>, Vec<f64>) = whole.unzip();
    let spreads = (sd(&x), sd(&y));
    if !(spreads.0 > 0.0 && spreads.1 > 0.0) {
        return None;
    }
    let own: Vec<f64> = used.iter().map(|p| standing(p, p.column.own)).collect();
    let own_x = (own.get(first).copied()? - mean(&x)) / spreads.0;
    let own_y = (others_mean(&own, first) - mean(&y)) / spreads.1;
    unusual(own_x, own_y, Line::of(&x, &y).r, x.len())
}

/// Reads one athlete.
pub fn read(asked: &Asked) -> Reading {
    let sheet = Sheet::of(asked, false);
    let prepared = prepare(&sheet);
    let dice = Dice::new(asked.seed, &prepared);
    let weighed = weigh(&prepared, &dice);
    let mut misses = evidence::missing(asked, &prepared);
    let tested = evidence::tested(asked);
    let scored_count = weighed.scored.iter().filter(|s| s.scored).count();
    if scored_count < QUALITIES_NEEDED {
        misses.push(few_scored(&weighed.scored));
    }
    let named: Vec<QualityId> = match weighed.verdict {
        Verdict::One(one) => vec![one],
        Verdict::Two(one, two) => vec![one, two],
        _ => Vec::new(),
    };
    let mut manner = Vec::new();
    for id in &named {
        let others: Vec<f64> = weighed.scored.iter().filter(|s| s.scored && !named.contains(&s.quality)).map(|s| s.z).collect();
        misses.extend(evidence::disagreement(&prepared, *id, mean(&others), &evidence::settle(*id, &tested, &prepared)));
        manner.extend(evidence::manner_off(asked, &prepared, *id));
    }
    let mut mass_matters = false;
    // Nobody is asked again and again about an answer that will not be given.
    if misses.is_empty() && weighed.verdict != Verdict::Nothing {
        let adjusted = weigh(&prepare(&Sheet::of(asked, true)), &dice);
        if adjusted.verdict != weighed.verdict {
            mass_matters = true;
            misses.push(miss(
                "mass",
                "The answer changes when body mass is taken out of the comparison.",
                "Compare with athletes of a similar mass, or with the athlete’s own earlier sessions.",
            ));
        }
        if manner.is_empty() {
            misses.extend(hangs_on_one(asked, &sheet, &prepared, &dice, weighed.verdict));
        }
    }
    let answer = match weighed.verdict {
        _ if !misses.is_empty() => Answer::NotEnough,
        Verdict::One(one) | Verdict::Two(one, _) if !manner.is_empty() => Answer::Manner(one),
        Verdict::One(one) => Answer::One(one),
        Verdict::Two(one, two) => Answer::Two(one, two),
        Verdict::Low => Answer::UniformlyLow,
        Verdict::High => Answer::UniformlyHigh,
        Verdict::Nothing => Answer::NotEnough,
    };
    if answer == Answer::NotEnough && misses.is_empty() {
        misses.push(nothing_apart(&weighed.scored, &tested, &prepared));
    }
    let leaning = weighed.scored.iter().filter(|s| s.scored).max_by(|a, b| a.p_lowest.total_cmp(&b.p_lowest)).map(|s| s.quality);
    Reading {
        answer,
        leaning,
        scored: weighed.scored,
        gap: weighed.gap,
        misses,
        manner,
        days: prepared.days.clone(),
        tested,
        prepared,
        mass_matters,
    }
}

/// The jackknife: any trial of the athlete, any member of the group. Both are judged by the draws of the whole.
fn hangs_on_one(asked: &Asked, sheet: &Sheet, prepared: &Prepared, dice: &Dice, verdict: Verdict) -> Option<Miss> {
    let sums = Sums::of(sheet, prepared, dice);
    for place in evidence::trial_places(asked, prepared) {
        if again(&sheet.without_trial(asked, &place), &sums, None) != verdict {
            let words = format!("trial {} of the {} of {}", place.place + 1, test_in_a_sentence(&place.test), place.day);
            return Some(miss("one_trial", format!("The answer hangs on one trial: {words}."), "Two more trials of that test."));
        }
    }
    if (0..sheet.members.len()).any(|gone| again(sheet, &sums, Some(gone)) != verdict) {
        return Some(miss(
            "one_member",
            "The answer hangs on one member of the group.",
            "Test more of the squad, or this athlete on another day.",
        ));
    }
    None
}

/// The verdict of a sheet, a member of the group left out or nobody.
fn again(sheet: &Sheet, sums: &Sums, gone: Option<usize>) -> Verdict {
    let columns: Vec<_> = sheet.qualities.iter().filter_map(|(id, families)| column(*id, families, sheet, gone)).collect();
    let used: Vec<Place> = columns.iter().map(Place::of).filter(Place::is_scored).collect();
    let names: Vec<QualityId> = used.iter().map(|p| p.column.quality).collect();
    let judged = sums.standings(&used, gone).and_then(|draws| judge(&draws, &names));
    judged.map_or(Verdict::Nothing, |j| j.verdict)
}

fn few_scored(scored: &[Scored]) -> Miss {
    let repeats = scored.iter().map(|s| s.repeats).min().unwrap_or(0);
    if repeats < PAIRS {
        return miss(
            "reliability",
            format!(
                "How much these figures wander from day to day is not known in this group ({repeats} repeated days; {PAIRS} are needed)."
            ),
            "Test at least eight of the squad again within ten days, with no hard training between.",
        );
    }
    miss(
        "qualities",
        format!("Fewer than {QUALITIES_NEEDED} qualities are measured reliably enough to be ranked."),
        "Add tests: squat jump, drop jump, isometric push, repeated rebounds.",
    )
}

fn nothing_apart(scored: &[Scored], tested: &[String], prepared: &Prepared) -> Miss {
    let first = scored.iter().filter(|s| s.scored).max_by(|a, b| a.p_lowest.total_cmp(&b.p_lowest));
    let Some(first) = first else {
        return miss("nothing_apart", "No quality stands apart from the others.", "Train by the sport’s demand and test again.");
    };
    miss(
        "nothing_apart",
        format!(
            "No quality stands apart from the others beyond noise: {} is the lowest with a probability of only {:.0} %.",
            in_a_sentence(first.quality),
            100.0 * first.p_lowest
        ),
        format!("If it matters: {}. Else train by the sport’s demand and test again.", evidence::settle(first.quality, tested, prepared)),
    )
}

/// The answer as a sentence, in the wording of §9.
pub fn sentence(reading: &Reading) -> String {
    let n = reading.scored.iter().map(|s| s.n).min().unwrap_or(0);
    match reading.answer {
        Answer::One(one) => format!("Least developed compared with this group (n = {n}): {}.", in_a_sentence(one)),
        Answer::Two(one, two) => {
            format!(
                "Least developed compared with this group (n = {n}): {} or {}; which of the two is not settled.",
                in_a_sentence(one),
                in_a_sentence(two)
            )
        }
        Answer::UniformlyLow => {
            format!("All qualities are low compared with this group (n = {n}) and none stands apart: general strength first.")
        }
        Answer::UniformlyHigh => {
            format!("All qualities are high compared with this group (n = {n}) and none stands apart: train by the sport’s demand.")
        }
        Answer::Manner(one) => format!(
            "Low {} is consistent with the manner of jumping ({}): repeat with a set depth and cue before reading it as a quality.",
            in_a_sentence(one),
            reading.manner.first().map(|m| m.words()).unwrap_or_default()
        ),
        Answer::NotEnough => "Not enough to say which quality is least developed.".into(),
    }
}

/// Whether contrasts are shown at all for a group of `n`.
pub fn contrasts_shown(n: usize) -> bool {
    n >= GROUP
}
