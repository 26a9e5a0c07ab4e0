//! Before and after a block: what it aimed at, what changed beyond noise and expected drift, what did not, what next
//! (`methods.md` §8, change). The arithmetic is [`crate::cohort`]'s, the same as for any two days.
use super::blocks::{Block, Target};
pub use super::drift::drifts_to;
use super::qualities::QualityId;
use crate::cohort::change::{Question, design, judge};
use crate::cohort::components::Repeats;
use crate::cohort::distributions::t_quantile;
use crate::cohort::targets::{AlsoSeen, TARGETS, sort};
use crate::cohort::{Change, Gravities, Interval, Noise, Repeatability, Scale, Table, Verdict, change, days};
use crate::people::Date;

/// Chance beyond either end of a target's interval, shared among the targets.
const BEYOND: f64 = 0.025;

/// The block's page after it.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// What it aimed at.
    pub aims: Vec<QualityId>,
    /// Days compared.
    pub days: (Date, Date),
    /// Whether the block still ran on the later of them.
    pub under_way: bool,
    /// Targets with what changed; none where they were not tested on both days under the same protocol.
    pub targets: Vec<(Target, Option<Change>)>,
    /// Other figures, each with its test.
    pub also: Vec<(String, AlsoSeen)>,
    /// What next, as a sentence.
    pub next: String,
    /// Where trials of the two days were read with different gravity; who has the trials fills it in.
    pub gravity: Option<Gravities>,
}

/// Compares the block's day of tests with `after`; `rule` says which days are repeats.
pub fn outcome(block: &Block, tables: &[Table], athlete: usize, after: Date, rule: Repeats<'_>) -> Outcome {
    let place_of = |t: &Table| block.targets.iter().position(|g| g.figure == t.figure && g.test == t.test && g.protocol == t.protocol);
    let days = (block.tested_on, after);
    let compare = |t: &Table, picked: bool| changed(tables, t, athlete, days, rule, picked);
    let targets: Vec<(Target, Option<Change>)> = block
        .targets
        .iter()
        .take(TARGETS)
        .enumerate()
        .map(|(i, g)| (g.clone(), tables.iter().find(|t| place_of(t) == Some(i)).and_then(|t| compare(t, true))))
        .map(|(g, change)| (g, change.map(|c| together(c, block.targets.len().min(TARGETS)))))
        .collect();
    let others = tables.iter().filter(|t| place_of(t).is_none_or(|i| i >= TARGETS));
    let (tests, changes): (Vec<String>, Vec<Change>) =
        others.filter_map(|t| Some((t.test.clone(), compare(t, false)?))).filter(|(_, c)| c.verdict != Verdict::CannotSay).unzip();
    let also = tests.into_iter().zip(sort(changes, &[]).also_seen).collect();
    let next = next_step(&targets).to_owned();
    Outcome { aims: block.aims.clone(), days, under_way: after < block.ends(), targets, also, next, gravity: None }
}

/// Widens a target's interval so that those of `k` targets hold 95 % together (Bonferroni), and judges it again: an athlete who
/// did nothing would otherwise have two chances of being called better.
fn together(change: Change, k: usize) -> Change {
    let Some(mut design) = change.design.filter(|_| k > 1) else { return change };
    let half = t_quantile(1.0 - BEYOND / k as f64, design.df) * design.se;
    design.smallest += half - design.half;
    design.half = half;
    let beyond = change.difference - change.drift.unwrap_or(0.0);
    Change {
        design: Some(design),
        interval: Some(Interval::about(change.difference, half)),
        verdict: judge(Interval::about(beyond, half), change.better, change.worthwhile),
        ..change
    }
}

/// One figure between two days. `picked`: it is a target, chosen for being low, so that it drifts back untrained and is judged
/// beyond that; `tables` are all of his tests.
pub fn changed(
    tables: &[Table],
    table: &Table,
    athlete: usize,
    (before, after): (Date, Date),
    rule: Repeats<'_>,
    picked: bool,
) -> Option<Change> {
    let own = |day: Date| table.rows.iter().any(|r| r.athlete == athlete && r.day == day);
    if !(own(before) && own(after)) {
        return None;
    }
    let known = Repeatability::of(table, rule, None);
    let (mut worthwhile, mut picked_in) = (known.smallest_worthwhile, None);
    if picked {
        // The group as it was: afterwards its own training moves it.
        let rows = table.rows.iter().filter(|r| r.day <= before).copied().collect();
        let until = Table { figure: table.figure.clone(), test: table.test.clone(), protocol: table.protocol.clone(), rows };
        worthwhile = Repeatability::of(&until, rule, None).smallest_worthwhile.or(worthwhile);
        picked_in = drifts_to(tables, table, athlete, before);
    }
    change(table, Question { athlete, before: &[before], after: &[after], picked_in }, known.noise.as_ref(), worthwhile)
}

/// The smallest true change, in %, that a retest with as many trials as on `day` finds in 80 of 100 cases; `None` where noise
/// is not known.
pub fn smallest_change(table: &Table, athlete: usize, day: Date, rule: Repeats<'_>) -> Option<f64> {
    let scale = Scale::of(table);
    let own = days(table, scale).into_iter().find(|d| d.athlete == athlete && d.day == day)?;
    let design = design(&Noise::of(table, rule)?, &[own.trials], &[own.trials])?;
    let share = scale.difference(design.smallest) / if scale == Scale::Log { 1.0 } else { own.mean.abs() };
    Some(100.0 * share).filter(|p| p.is_finite())
}

/// What next: rows of (when, sentence), first match.
fn next_step(targets: &[(Target, Option<Change>)]) -> &'static str {
    let any = |wanted: &[Verdict]| targets.iter().any(|(_, c)| c.as_ref().is_some_and(|c| wanted.contains(&c.verdict)));
    let all_known = targets.iter().all(|(_, c)| c.is_some());
    const ROWS: &[(&[Verdict], &str)] = &[
        (
            &[Verdict::WorthwhileWorse, Verdict::NotSurelyWorthwhile { better: false }],
            "Before anything else ask why: pain, fatigue, effort, illness. Test again on an easier day; a clinician decides where pain is the reason.",
        ),
        (
            &[Verdict::WorthwhileBetter],
            "The aim was met: read all qualities again and let the next block follow the new answer; keep one set a week of this one.",
        ),
        (
            &[Verdict::NotSurelyWorthwhile { better: true }],
            "It moves: one more block with the same aim and a little more load, then test again.",
        ),
        (&[Verdict::Trivial], "It did not move: same aim, other means; ask whether the block was done as planned."),
        (&[Verdict::CannotTell], "Test once more within ten days: two days narrow the noise. Until then keep the plan."),
        (&[Verdict::CannotSay], "Test at least eight of the squad twice within ten days, so that change can be told from noise."),
    ];
    if targets.is_empty() {
        return "The block had no target figure: name one or two before the next block.";
    }
    if !all_known {
        return "Repeat the tests of the target figures under the same protocol.";
    }
    ROWS.iter().find(|row| any(row.0)).map_or("Test again under the same protocol.", |row| row.1)
}
