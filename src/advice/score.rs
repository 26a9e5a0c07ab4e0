//! Which quality is least developed, how sure that is, and the answer (`methods.md` §9).
//!
//! Method. Each quality's composite is re-standardised in the group; its group variance less the squared session error is
//! the variance of what is true. The athlete's true standing, in units of that, is drawn from
//! `r·(own − mean) / σ_true + e`, where `r` is the reliability of his value (shrinkage towards the group), the group is
//! re-sampled with replacement (its mean and SD are uncertain), and `e` has variance `1 − r` and the covariances between
//! qualities that repeated days of the group show (random combinations of whole difference vectors; trial and day noise are
//! both in them). Cost: draws × (members + pairs) × qualities, and as much again for each trial and member left out.
//! Limits: qualities below a reliability of one half are shown and not scored; true standings of different qualities are
//! taken as independent before the data, which shrinks a gap no more than a known correlation would.
use super::contrast::{Unusual, unusual};
use super::draw::Draw;
use super::evidence::{self, Flags, GROUP, MannerOff, Miss, PAIRS, SideRead, miss};
use super::prepare::{Change, Column, Prepared, Seen, prepare, regress, typical_error};
use super::qualities::{QualityId, in_a_sentence, quality, test_in_a_sentence};
use crate::cohort::Table;
use crate::force::stats::{mean, quantile, sd};
use crate::people::Date;
use serde::{Deserialize, Serialize};

/// Draws of the Monte-Carlo: P is then known to ± 0.025 (k = 2).
pub const DRAWS: usize = 1000;
/// Say it.
pub const SPEAK: f64 = 0.80;
/// Name two.
pub const NAME_TWO: f64 = 0.50;
/// Least reliability that is scored (*ours*).
pub const RELIABLE: f64 = 0.50;
/// Least number of scored qualities among which one can be lowest (*ours*).
pub const QUALITIES_NEEDED: usize = 3;

/// A question about one athlete on one day.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// One figure of one test under one protocol each, everybody's trials.
    pub tables: &'a [Table],
    /// Whom.
    pub athlete: usize,
    /// The day asked about; later rows are not seen.
    pub day: Date,
    /// Athletes whose first-ever session is in the tables, and when it was.
    pub newcomers: &'a [(usize, Date)],
    /// What the coach says about the day.
    pub flags: Flags,
    /// Left against right.
    pub sides: &'a [SideRead],
    /// Seed of the draws.
    pub seed: u64,
}

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
    /// What the answer is when body mass is taken out, where that matters.
    pub mass_matters: bool,
}

/// What the draws say, before evidence is asked for.
#[derive(Debug, Clone, PartialEq)]
struct Weighed {
    scored: Vec<Scored>,
    gap: Option<Gap>,
    verdict: Verdict,
}

/// What the numbers alone would say.
#[derive(Debug, Clone, Copy)]
enum Verdict {
    One(QualityId),
    Two(QualityId, QualityId),
    Low,
    High,
    Nothing,
}

impl PartialEq for Verdict {
    /// Two qualities are the same two in either order.
    fn eq(&self, other: &Self) -> bool {
        match (*self, *other) {
            (Self::One(a), Self::One(b)) => a == b,
            (Self::Two(a, b), Self::Two(c, d)) => (a, b) == (c, d) || (a, b) == (d, c),
            (Self::Low, Self::Low) | (Self::High, Self::High) | (Self::Nothing, Self::Nothing) => true,
            _ => false,
        }
    }
}

/// The numbers of a column against its group.
struct Place<'a> {
    column: &'a Column,
    centre: f64,
    spread: f64,
    error: f64,
    repeats: usize,
    n: usize,
}

impl<'a> Place<'a> {
    fn of(column: &'a Column) -> Self {
        let members: Vec<f64> = column.members.iter().flatten().copied().collect();
        let (error, repeats) = typical_error(&column.pairs);
        Place { column, centre: mean(&members), spread: sd(&members), error, repeats, n: members.len() }
    }
    /// Variance of what is true in the group; 0 where noise is all.
    fn true_variance(&self) -> f64 {
        (self.spread * self.spread - self.error * self.error).max(0.0)
    }
    /// Reliability of the athlete's mean over his days.
    fn reliability(&self) -> f64 {
        let noise = self.error * self.error / self.column.days.max(1) as f64;
        let all = self.true_variance() + noise;
        if all > 0.0 { self.true_variance() / all } else { 0.0 }
    }
    fn is_scored(&self) -> bool {
        self.repeats >= PAIRS && self.n >= 3 && self.spread > 0.0 && self.reliability() >= RELIABLE
    }
}

fn weigh(prepared: &Prepared, dice: &Dice) -> Weighed {
    let places: Vec<Place> = prepared.columns.iter().map(Place::of).collect();
    let mut scored: Vec<Scored> = places
        .iter()
        .map(|p| Scored {
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
        })
        .collect();
    let used: Vec<&Place> = places.iter().filter(|p| p.is_scored()).collect();
    let nothing = |scored| Weighed { scored, gap: None, verdict: Verdict::Nothing };
    if used.len() < QUALITIES_NEEDED {
        return nothing(scored);
    }
    let draws = draw_standings(&used, prepared, dice);
    // Places of the lowest in each draw.
    let lowest: Vec<usize> = draws.iter().map(|d| d.iter().enumerate().min_by(|a, b| a.1.total_cmp(b.1)).map_or(0, |(i, _)| i)).collect();
    let share = |wanted: &dyn Fn(usize) -> bool| lowest.iter().filter(|i| wanted(**i)).count() as f64 / lowest.len() as f64;
    let mut order: Vec<(f64, usize)> = Vec::new();
    for (i, place) in used.iter().enumerate() {
        let own: Vec<f64> = draws.iter().filter_map(|d| d.get(i).copied()).collect();
        let p = share(&|lowest| lowest == i);
        order.push((p, i));
        if let Some(row) = scored.iter_mut().find(|s| s.quality == place.column.quality) {
            (row.standing, row.low, row.high, row.p_lowest) = (mean(&own), quantile(&own, 0.05), quantile(&own, 0.95), p);
        }
    }
    order.sort_by(|a, b| b.0.total_cmp(&a.0));
    let (Some((first_p, first)), Some((_, second))) = (order.first().copied(), order.get(1).copied()) else { return nothing(scored) };
    let gap = gap(&used, &draws, first, prepared);
    let name = |i: usize| used.get(i).map(|p| p.column.quality);
    let reliable = gap.as_ref().is_some_and(|g| g.reliable);
    let verdict = match (name(first), name(second)) {
        (Some(one), _) if first_p >= SPEAK && reliable => Verdict::One(one),
        (Some(one), Some(two))
            if first_p >= NAME_TWO && share(&|i| i == first || i == second) >= SPEAK && pair_apart(&draws, first, second) =>
        {
            Verdict::Two(one, two)
        }
        _ => uniform(&draws, &scored),
    };
    Weighed { scored, gap, verdict }
}

/// What is drawn, once a reading: every change of the jackknife is weighed with the same draws, so that only the change
/// can change the answer (and nobody waits for a hundred times as many).
struct Dice {
    members: usize,
    pairs: usize,
    units: Vec<f64>,
    normals: Vec<f64>,
}

impl Dice {
    fn new(seed: u64, prepared: &Prepared) -> Self {
        let mut draw = Draw::new(seed);
        let (members, pairs) = (prepared.members.len().max(1), prepared.pairs.len().max(1));
        let units = (0..DRAWS * members).map(|_| draw.unit()).collect();
        let normals = (0..DRAWS * pairs).map(|_| draw.normal()).collect();
        Self { members, pairs, units, normals }
    }
    /// For each draw, the numbers that choose members and those that weigh pairs.
    fn rows(&self) -> impl Iterator<Item = (&[f64], &[f64])> {
        self.units.chunks_exact(self.members).zip(self.normals.chunks_exact(self.pairs))
    }
}

/// One row a draw: the true standings of the scored qualities.
fn draw_standings(used: &[&Place], prepared: &Prepared, dice: &Dice) -> Vec<Vec<f64>> {
    let members = prepared.members.len();
    let mut rows = Vec::with_capacity(DRAWS);
    for (units, weights) in dice.rows() {
        let chosen: Vec<usize> =
            units.iter().take(members).map(|u| ((u * members as f64) as usize).min(members.saturating_sub(1))).collect();
        let row = used
            .iter()
            .map(|p| {
                let (mut n, mut sum, mut squares) = (0.0, 0.0, 0.0);
                for value in chosen.iter().filter_map(|i| p.column.members.get(*i).copied().flatten()) {
                    n += 1.0;
                    sum += value;
                    squares += value * value;
                }
                let centre = if n > 0.0 { sum / n } else { p.centre };
                // Re-sampling shrinks a variance by (n − 1)/n: put back.
                let size = p.n.max(2) as f64;
                let variance = if n > 1.0 { (squares / n - centre * centre) * size / (size - 1.0) } else { p.spread * p.spread };
                // A re-sampled group may look all noise; half of the variance found stays the least.
                let true_sd = (variance - p.error * p.error).max(0.5 * p.true_variance()).sqrt();
                let noise: f64 = p.column.pairs.iter().zip(weights).filter_map(|(d, w)| d.map(|d| d * w)).sum();
                let unit_noise = noise / (2.0 * p.repeats as f64).sqrt() / p.error.max(1e-12);
                let r = p.reliability();
                r * (p.column.own - centre) / true_sd + (1.0 - r).sqrt() * unit_noise
            })
            .collect();
        rows.push(row);
    }
    rows
}

fn others_mean(row: &[f64], but: usize) -> f64 {
    let others: Vec<f64> = row.iter().enumerate().filter(|(i, _)| *i != but).map(|(_, v)| *v).collect();
    mean(&others)
}

/// Whether the mean of two is below the mean of the rest by more than its 95 % interval.
fn pair_apart(draws: &[Vec<f64>], first: usize, second: usize) -> bool {
    let gaps: Vec<f64> = draws
        .iter()
        .map(|row| {
            let of = |inside: bool| {
                let chosen: Vec<f64> =
                    row.iter().enumerate().filter(|(i, _)| (*i == first || *i == second) == inside).map(|(_, v)| *v).collect();
                mean(&chosen)
            };
            of(true) - of(false)
        })
        .collect();
    quantile(&gaps, 0.975) < 0.0
}

fn gap(used: &[&Place], draws: &[Vec<f64>], first: usize, prepared: &Prepared) -> Option<Gap> {
    let gaps: Vec<f64> = draws.iter().filter_map(|row| Some(row.get(first)? - others_mean(row, first))).collect();
    let (low, high) = (quantile(&gaps, 0.025), quantile(&gaps, 0.975));
    // How unusual: measured composites of the group, the quality against the mean of the others, as the test is made for.
    let standing = |p: &Place, value: f64| (value - p.centre) / p.spread;
    let whole: Vec<(f64, f64)> = (0..prepared.members.len())
        .filter_map(|m| {
            let row: Option<Vec<f64>> = used.iter().map(|p| p.column.members.get(m).copied().flatten().map(|v| standing(p, v))).collect();
            let row = row?;
            Some((row.get(first).copied()?, others_mean(&row, first)))
        })
        .collect();
    let own: Vec<f64> = used.iter().map(|p| standing(p, p.column.own)).collect();
    let (x, y): (Vec<f64>, Vec<f64>) = whole.into_iter().unzip();
    let spreads = (sd(&x), sd(&y));
    let unusual = if spreads.0 > 0.0 && spreads.1 > 0.0 {
        let own_x = (own.get(first).copied()? - mean(&x)) / spreads.0;
        let own_y = (others_mean(&own, first) - mean(&y)) / spreads.1;
        unusual(own_x, own_y, regress(&x, &y).1, x.len())
    } else {
        None
    };
    Some(Gap { size: mean(&gaps), half_width: (high - low) / 2.0, reliable: high < 0.0, unusual })
}

/// All low or all high: the mean of all standings beyond half an SD with P ≥ 0.80, and every one on that side (*ours*).
fn uniform(draws: &[Vec<f64>], scored: &[Scored]) -> Verdict {
    let standings: Vec<f64> = scored.iter().filter(|s| s.scored).map(|s| s.standing).collect();
    if standings.len() <= QUALITIES_NEEDED {
        return Verdict::Nothing;
    }
    let share = |wanted: &dyn Fn(f64) -> bool| draws.iter().filter(|d| wanted(mean(d))).count() as f64 / draws.len() as f64;
    if share(&|m| m < -0.5) >= SPEAK && standings.iter().all(|s| *s < 0.0) {
        Verdict::Low
    } else if share(&|m| m > 0.5) >= SPEAK && standings.iter().all(|s| *s > 0.0) {
        Verdict::High
    } else {
        Verdict::Nothing
    }
}

/// Reads one athlete.
pub fn read(asked: &Asked) -> Reading {
    let make = |change: &Change| prepare(asked.tables, asked.athlete, asked.day, asked.newcomers, change);
    let prepared = make(&Change::default());
    let dice = Dice::new(asked.seed, &prepared);
    let weighed = weigh(&prepared, &dice);
    let mut misses = evidence::missing(asked, &prepared);
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
        misses.extend(evidence::disagreement(&prepared, *id, mean(&others)));
        manner.extend(evidence::manner_off(asked, &prepared, *id));
    }
    let mut mass_matters = false;
    // Nobody is asked again and again about an answer that will not be given.
    if misses.is_empty() && weighed.verdict != Verdict::Nothing {
        let adjusted = weigh(&make(&Change { mass_adjusted: true, ..Change::default() }), &dice);
        if adjusted.verdict != weighed.verdict {
            mass_matters = true;
            misses.push(miss(
                "mass",
                "The answer changes when body mass is taken out of the comparison.",
                "Compare with athletes of a similar mass, or with the athlete’s own earlier sessions.",
            ));
        }
        if manner.is_empty() {
            misses.extend(hangs_on_one(asked, &prepared, &make, &dice, weighed.verdict));
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
        misses.push(nothing_apart(&weighed.scored));
    }
    let leaning = weighed.scored.iter().filter(|s| s.scored).max_by(|a, b| a.p_lowest.total_cmp(&b.p_lowest)).map(|s| s.quality);
    Reading { answer, leaning, scored: weighed.scored, gap: weighed.gap, misses, manner, days: prepared.days, mass_matters }
}

/// The jackknife: any trial of the athlete, any member of the group.
fn hangs_on_one(asked: &Asked, prepared: &Prepared, make: &dyn Fn(&Change) -> Prepared, dice: &Dice, verdict: Verdict) -> Option<Miss> {
    let holds = |change: Change| weigh(&make(&change), dice).verdict == verdict;
    for place in evidence::trial_places(asked, prepared) {
        let words = format!("trial {} of the {} of {}", place.place + 1, test_in_a_sentence(&place.test), place.day);
        if !holds(Change { without_trial: Some(place), ..Change::default() }) {
            return Some(miss("one_trial", format!("The answer hangs on one trial: {words}."), "Two more trials of that test."));
        }
    }
    for member in &prepared.members {
        if !holds(Change { without_member: Some(*member), ..Change::default() }) {
            return Some(miss(
                "one_member",
                "The answer hangs on one member of the group.",
                "Test more of the squad, or this athlete on another day.",
            ));
        }
    }
    None
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

fn nothing_apart(scored: &[Scored]) -> Miss {
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
        format!(
            "If it matters: {}. Else train by the sport’s demand and test again.",
            quality(first.quality).map_or("a second day", |q| q.settle)
        ),
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
