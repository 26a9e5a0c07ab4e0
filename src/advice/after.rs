//! Before and after a block: what it aimed at, what changed beyond noise and expected drift, what did not, what next
//! (`methods.md` §8, change).
use super::blocks::{Block, Target};
use super::prepare::{REPEAT_DAYS, Session, VALID_DAYS, sessions, typical_error};
use super::qualities::{QUALITIES, QualityId};
use super::student::{t_at, two_sided};
use crate::cohort::Table;
use crate::figures::{Better, definition};
use crate::force::math;
use crate::force::stats::{mean, sd};
use crate::people::Date;
use serde::{Deserialize, Serialize};

/// One of five sentences, or why none.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Better, and by more than the smallest worthwhile change.
    WorthwhileBetter,
    /// Worse by more than that.
    WorthwhileWorse,
    /// Within it on both sides.
    Trivial,
    /// Better, not surely worthwhile.
    Better,
    /// The interval says nothing.
    CannotTell,
    /// No repeated days: noise is not known.
    NoNoise,
}

impl Verdict {
    /// As a sentence.
    pub fn sentence(self) -> &'static str {
        match self {
            Self::WorthwhileBetter => "Better, by more than the smallest worthwhile change.",
            Self::WorthwhileWorse => "Worse, by more than the smallest worthwhile change.",
            Self::Trivial => "No change that would matter.",
            Self::Better => "Better, though not surely by a worthwhile amount.",
            Self::CannotTell => "Cannot tell: the change is within noise.",
            Self::NoNoise => "Cannot say: how much this figure wanders from day to day is not known here.",
        }
    }
}

/// What changed in one figure. On logs where the figure is positive, so all changes are per cent.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// Means before and after, as they are.
    pub before: f64,
    /// After.
    pub after: f64,
    /// Change, %, as measured; positive is more.
    pub percent: f64,
    /// Half of its 95 % interval.
    pub half_width: f64,
    /// What would be expected untrained because the figure was picked for being low, %.
    pub drift_percent: f64,
    /// Smallest worthwhile change, %.
    pub worthwhile_percent: f64,
    /// Smallest change that two such sessions can show, %.
    pub smallest_percent: f64,
    /// Two-sided p of no change beyond drift.
    pub p: f64,
    /// Repeated days behind the noise.
    pub repeats: usize,
    /// The sentence.
    pub verdict: Verdict,
}

/// Noise of a figure from the group's repeated days.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Noise {
    day: f64,
    trial: f64,
    /// Typical error of a session mean.
    session: f64,
    repeats: usize,
    /// Mean and SD of the group's latest values.
    centre: f64,
    spread: f64,
}

fn noise(table: &Table, all: &[Session], athlete: usize, until: Date, newcomers: &[(usize, Date)]) -> Noise {
    let next = all.iter().skip(1);
    let near = all.iter().zip(next).filter(|(a, b)| {
        a.athlete == b.athlete && a.athlete != athlete && b.day.days_since(a.day) < REPEAT_DAYS && !newcomers.contains(&(a.athlete, a.day))
    });
    let (mut differences, mut parts) = (Vec::new(), Vec::new());
    for (a, b) in near {
        differences.push(Some(b.value - a.value));
        parts.push(0.5 / a.trials as f64 + 0.5 / b.trials as f64);
    }
    let (session, repeats) = typical_error(&differences);
    // Pooled variance of trials within a session, on the scale of the sessions.
    let logs = table.rows.iter().all(|r| r.value > 0.0);
    let (mut squares, mut free) = (0.0, 0.0);
    let mut rows: Vec<_> = table.rows.iter().filter(|r| r.value.is_finite() && r.sound).collect();
    rows.sort_by_key(|r| (r.athlete, r.day));
    for own in rows.chunk_by(|a, b| (a.athlete, a.day) == (b.athlete, b.day)) {
        let values: Vec<f64> = own.iter().map(|r| if logs { math::ln(r.value) } else { r.value }).collect();
        squares += sd(&values) * sd(&values) * (values.len() - 1) as f64;
        free += (values.len() - 1) as f64;
    }
    let trial = if free > 0.0 { (squares / free).sqrt() } else { 0.0 };
    let day = (session * session - trial * trial * mean(&parts)).max(0.0).sqrt();
    let latest: Vec<f64> = all
        .chunk_by(|a, b| a.athlete == b.athlete)
        .filter_map(|own| own.last())
        .filter(|s| s.athlete != athlete && until.days_since(s.day) <= VALID_DAYS)
        .map(|s| s.value)
        .collect();
    Noise { day, trial, session, repeats, centre: mean(&latest), spread: sd(&latest) }
}

/// Fewest repeated days that a change is judged with (*ours*: fewer leave t so wide that nothing shows).
const FEWEST: usize = 4;

/// Which way is better: the catalogue's word, else the qualities' table.
fn direction(figure: &str) -> Better {
    let evidence = || QUALITIES.iter().flat_map(|q| q.evidence).find(|e| e.figure == figure);
    let from_table = || evidence().map_or(Better::Neither, |e| if e.lower { Better::Lower } else { Better::Higher });
    definition(figure).map_or_else(from_table, |d| d.better)
}

/// What changed in a figure between two days. `picked`: it is one of so many targets, chosen for being low, so that it
/// drifts up untrained by `(1 − r)(group mean − before)` and is judged beyond that; the targets' intervals hold 95 % together
/// (Bonferroni). `None` without a session on both days.
pub fn change(
    table: &Table,
    athlete: usize,
    before: Date,
    after: Date,
    newcomers: &[(usize, Date)],
    picked: Option<usize>,
) -> Option<Change> {
    let all = sessions(table, after, None);
    let of = |day: Date| all.iter().find(|s| s.athlete == athlete && s.day == day).copied();
    let (first, last) = (of(before)?, of(after)?);
    let logs = table.rows.iter().all(|r| r.value > 0.0);
    // Noise and group are those of the time before, else the block's own effect on the squad would count as noise.
    let known: Vec<Session> = all.iter().copied().filter(|s| s.day <= before).collect();
    let noise = noise(table, &known, athlete, before, newcomers);
    let better = direction(&table.figure);
    let percent = |log: f64| if logs { 100.0 * (math::exp(log) - 1.0) } else { 100.0 * log / first.value.abs().max(1e-9) };
    let plain = |value: f64| if logs { math::exp(value) } else { value };
    let raw = last.value - first.value;
    let error = (2.0 * noise.day * noise.day + noise.trial * noise.trial * (1.0 / first.trials as f64 + 1.0 / last.trials as f64)).sqrt();
    let enough = noise.repeats >= FEWEST && error > 0.0;
    let true_variance = (noise.spread * noise.spread - noise.session * noise.session).max(0.0);
    let r = if noise.spread > 0.0 { true_variance / (noise.spread * noise.spread) } else { 0.0 };
    let drift = if picked.is_some() && enough { (1.0 - r) * (noise.centre - first.value) } else { 0.0 };
    let worthwhile = 0.2 * true_variance.sqrt();
    let t = t_at(1.0 - 0.025 / picked.unwrap_or(1).max(1) as f64, noise.repeats.max(1));
    let (shown, half) = (raw - drift, t * error);
    let p = if enough { two_sided(shown / error, noise.repeats) } else { 1.0 };
    let up = if better == Better::Lower { -shown } else { shown };
    let verdict = if !enough {
        Verdict::NoNoise
    } else if better != Better::Neither && up - half > worthwhile {
        Verdict::WorthwhileBetter
    } else if better != Better::Neither && up + half < -worthwhile {
        Verdict::WorthwhileWorse
    } else if up.abs() + half < worthwhile {
        Verdict::Trivial
    } else if better != Better::Neither && up - half > 0.0 {
        Verdict::Better
    } else {
        Verdict::CannotTell
    };
    Some(Change {
        before: plain(first.value),
        after: plain(last.value),
        percent: percent(raw),
        half_width: if enough { percent(half) } else { f64::NAN },
        drift_percent: percent(drift),
        worthwhile_percent: percent(worthwhile),
        smallest_percent: if enough { percent(half) } else { f64::NAN },
        p,
        repeats: noise.repeats,
        verdict,
    })
}

/// The smallest change, in %, that a retest with as many trials as on `day` can show; `None` where noise is not known.
pub fn smallest_change(table: &Table, athlete: usize, day: Date, newcomers: &[(usize, Date)]) -> Option<f64> {
    let same = change(table, athlete, day, day, newcomers, None)?;
    same.smallest_percent.is_finite().then_some(same.smallest_percent)
}

/// One figure that was not a target.
#[derive(Debug, Clone, PartialEq)]
pub struct AlsoSeen {
    /// Figure id.
    pub figure: String,
    /// Test kind.
    pub test: String,
    /// What changed.
    pub change: Change,
    /// Beyond noise after allowing for how many were looked at.
    pub stands_out: bool,
}

/// The block's page after it.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// What it aimed at.
    pub aims: Vec<QualityId>,
    /// Days compared.
    pub days: (Date, Date),
    /// Targets with what changed.
    pub targets: Vec<(Target, Option<Change>)>,
    /// Other figures.
    pub also: Vec<AlsoSeen>,
    /// What next, as a sentence.
    pub next: String,
}

/// Compares the block's day of tests with `after`.
pub fn outcome(block: &Block, tables: &[Table], athlete: usize, after: Date, newcomers: &[(usize, Date)]) -> Outcome {
    let is_target = |t: &Table| block.targets.iter().any(|g| g.figure == t.figure && g.test == t.test && g.protocol == t.protocol);
    let compare = |table: &Table, picked| change(table, athlete, block.tested_on, after, newcomers, picked);
    let targets: Vec<(Target, Option<Change>)> = block
        .targets
        .iter()
        .map(|g| {
            let table = tables.iter().find(|t| t.figure == g.figure && t.test == g.test && t.protocol == g.protocol);
            (g.clone(), table.and_then(|t| compare(t, Some(block.targets.len()))))
        })
        .collect();
    let mut also: Vec<AlsoSeen> = tables
        .iter()
        .filter(|t| !is_target(t))
        .filter_map(|t| {
            compare(t, None).map(|change| AlsoSeen { figure: t.figure.clone(), test: t.test.clone(), change, stands_out: false })
        })
        .filter(|a| a.change.verdict != Verdict::NoNoise)
        .collect();
    let p: Vec<f64> = also.iter().map(|a| a.change.p).collect();
    let limit = false_discovery_limit(&p, 0.10);
    for seen in &mut also {
        seen.stands_out = seen.change.p <= limit;
    }
    let next = next_step(&targets).to_owned();
    Outcome { aims: block.aims.clone(), days: (block.tested_on, after), targets, also, next }
}

/// The largest p that counts [Benjamini & Hochberg 1995, J. R. Stat. Soc. B 57:289]; below zero: none.
pub fn false_discovery_limit(p: &[f64], rate: f64) -> f64 {
    let mut sorted = p.to_vec();
    sorted.sort_by(f64::total_cmp);
    let count = sorted.len() as f64;
    let passing = sorted.iter().enumerate().filter(|(i, p)| **p <= rate * (*i as f64 + 1.0) / count);
    passing.map(|(_, p)| *p).fold(-1.0, f64::max)
}

/// What next: rows of (when, sentence), first match.
fn next_step(targets: &[(Target, Option<Change>)]) -> &'static str {
    let any = |wanted: &[Verdict]| targets.iter().any(|(_, c)| c.as_ref().is_some_and(|c| wanted.contains(&c.verdict)));
    let all_known = targets.iter().all(|(_, c)| c.is_some());
    const ROWS: &[(&[Verdict], &str)] = &[
        (
            &[Verdict::WorthwhileWorse],
            "Before anything else ask why: pain, fatigue, effort, illness. Test again on an easier day; a clinician decides where pain is the reason.",
        ),
        (
            &[Verdict::WorthwhileBetter],
            "The aim was met: read all qualities again and let the next block follow the new answer; keep one set a week of this one.",
        ),
        (&[Verdict::Better], "It moves: one more block with the same aim and a little more load, then test again."),
        (&[Verdict::Trivial], "It did not move: same aim, other means; ask whether the block was done as planned."),
        (&[Verdict::CannotTell], "Test once more within ten days: two days halve the noise. Until then keep the plan."),
        (&[Verdict::NoNoise], "Test at least eight of the squad twice within ten days, so that change can be told from noise."),
    ];
    if targets.is_empty() || !all_known {
        return "Repeat the tests of the target figures under the same protocol.";
    }
    ROWS.iter().find(|row| any(row.0)).map_or("Test again under the same protocol.", |row| row.1)
}
