//! One athlete's summary in plain values: what the screen argues with, what reports print and what a link carries.
//! It is made once from tables, reading, block and gates, so that the three show the same.
use super::argument::{Argument, arguments, contrasts};
use super::asked::Asked;
use super::blocks::{Block, Dose, Target};
use super::evidence::{Miss, SideRead};
use super::gates::{Activity, Closed, LOW_BOX_M, Opened, Situation, TESTS, check, test_closed};
use super::prepare::typical_error;
use super::qualities::{QUALITIES, QualityId};
use super::score::{Answer, Reading, sentence};
use super::sheet::REPEAT_DAYS;
use super::waiting::{self, Waits};
use crate::cohort::distributions::t_quantile;
use crate::cohort::{Scale, Table};
use crate::figures::definition;
use crate::force::stats::{mean, sd};
use crate::people::Date;
use serde::{Deserialize, Serialize};

/// The summary.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Brief {
    /// Name or code; empty where it was left out.
    pub name: String,
    /// The day it was asked for.
    pub day: Date,
    /// The athlete's days behind it.
    pub days: Vec<Date>,
    /// The group in words.
    pub group: String,
    /// Invented data say so.
    pub invented: bool,
    /// Body mass, kg.
    pub body_mass_kg: Option<f64>,
    /// Phase figures with their standing.
    pub figures: Vec<Shown>,
    /// Figures of manner.
    pub manner: Vec<Shown>,
    /// Qualities in the order of the movement.
    pub standings: Vec<Standing>,
    /// Contrasts as sentences.
    pub contrasts: Vec<String>,
    /// Left against right.
    pub sides: Vec<SideRead>,
    /// The answer.
    pub answer: Answer,
    /// As a sentence.
    pub sentence: String,
    /// The gap of the lowest: size, half of its 95 % interval.
    pub gap: Option<(f64, f64)>,
    /// Estimated per cent of such people with a larger gap.
    pub further_out_percent: Option<f64>,
    /// What is missing.
    pub misses: Vec<Miss>,
    /// Arguments for what the answer names.
    pub arguments: Vec<Argument>,
    /// The block, through the gates.
    pub plan: Option<Plan>,
    /// Tests that a gate closes now.
    pub closed_tests: Vec<ClosedTest>,
    /// Gates opened by somebody.
    pub opened: Vec<Opened>,
    /// What to test next, and why.
    pub next: Vec<String>,
}

impl Brief {
    /// That the block's retest waits for a new clearance, where it does; days as in files.
    pub fn retest_waits(&self) -> Option<&str> {
        self.next.iter().map(String::as_str).find(|n| n.starts_with(waiting::RETEST_WAITS))
    }
}

/// One figure with its standing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Shown {
    /// Figure id.
    pub figure: String,
    /// Test kind.
    pub test: String,
    /// The athlete's mean over his days.
    pub value: f64,
    /// SI unit, per kg where the id says so.
    pub unit: String,
    /// Half of what its 95 % interval reaches either way, from the session-to-session typical error, in the same unit; none where
    /// that is not known.
    pub error: Option<f64>,
    /// Standing in the group's SD (on logs where the figure is positive), upwards is more, not better; 0 where [`Shown::placed`] says that there is
    /// none.
    pub z: f64,
    /// The same half in that unit.
    pub z_error: Option<f64>,
    /// Members compared with.
    pub n: u32,
}

/// Members that a place needs.
const FEWEST: usize = 5;

impl Shown {
    /// Whether there were enough others to be placed among.
    pub fn placed(&self) -> bool {
        self.n as usize >= FEWEST
    }
}

/// One quality's place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Standing {
    /// Which.
    pub quality: QualityId,
    /// As measured, SD of the group.
    pub z: f64,
    /// Half of its interval (k = 2).
    pub half_width: Option<f64>,
    /// P(lowest); none where it was not scored.
    pub p_lowest: Option<f64>,
    /// Members compared with.
    pub n: u32,
    /// Where the members lie; left out of links.
    pub others: Vec<f64>,
}

/// The block as it may be shown.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Plan {
    /// What it aims at.
    pub aims: Vec<QualityId>,
    /// First day.
    pub starts: Date,
    /// Weeks.
    pub weeks: u8,
    /// Sessions a week.
    pub sessions: u8,
    /// Rows.
    pub rows: Vec<PlanRow>,
    /// Contacts a session by week.
    pub contacts: Vec<u32>,
    /// Contacts of the tests.
    pub test_contacts: u32,
    /// Most allowed.
    pub contacts_allowed: u32,
    /// What to reduce.
    pub reduce: Vec<String>,
    /// Targets.
    pub targets: Vec<Target>,
    /// Day to test again.
    pub retest: Date,
    /// The coach's note.
    pub note: String,
}

/// One row of the plan as it may be shown: a closed one has no dose.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlanRow {
    /// Id in the table of exercises.
    pub exercise: String,
    /// Doses by week; empty where closed.
    pub doses: Vec<Dose>,
    /// Load; empty where closed.
    pub load: String,
    /// Box, m.
    pub box_m: f64,
    /// Note.
    pub note: String,
    /// Why it is closed; empty: open.
    pub closed: Vec<Closed>,
    /// From when an open one waits for a new clearance.
    #[serde(default)]
    pub waits: Option<Waits>,
}

/// A test that is closed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ClosedTest {
    /// Test kind.
    pub test: String,
    /// Why.
    pub closed: Vec<Closed>,
}

/// The figures of the first view, in the order of the movement.
pub const FIRST_VIEW: &[&str] = &[
    "mean_braking_force_per_kg",
    "peak_braking_force_per_kg",
    "mean_braking_power_per_kg",
    "peak_braking_power_per_kg",
    "mean_propulsion_force_per_kg",
    "peak_propulsion_force_per_kg",
    "mean_propulsion_power_per_kg",
    "peak_propulsion_power_per_kg",
    "jump_height",
];
/// The figures of manner beside them.
pub const MANNER_VIEW: &[&str] =
    &["countermovement_depth", "peak_downward_velocity", "unweighting_duration", "braking_duration", "propulsion_duration"];

/// A figure's value for one athlete's `days`, and its standing where there are five others; `None` without a value.
pub fn shown(asked: &Asked, table: &Table, days: &[Date]) -> Option<Shown> {
    let (all, scale) = (asked.days(table), Scale::of(table));
    let own: Vec<f64> = all.iter().filter(|d| d.athlete == asked.athlete && days.contains(&d.day)).map(|d| d.mean).collect();
    let others: Vec<f64> = asked.others(&all).iter().map(|d| d.mean).collect();
    if own.is_empty() {
        return None;
    }
    let spread = if others.len() < FEWEST { f64::NAN } else { sd(&others) };
    let next = all.iter().skip(1);
    let near: Vec<Option<f64>> = all
        .iter()
        .zip(next)
        .filter(|(a, b)| {
            a.athlete == b.athlete
                && a.athlete != asked.athlete
                && b.day.days_since(a.day) < REPEAT_DAYS
                && !asked.newcomers.contains(&(a.athlete, a.day))
        })
        .map(|(a, b)| Some(b.mean - a.mean))
        .collect();
    let (error, pairs) = typical_error(&near);
    let half = 0.5 * t_quantile(0.975, pairs.max(1) as f64) * error / (own.len() as f64).sqrt();
    let error = Some(half).filter(|e| e.is_finite());
    let logs = scale == Scale::Log;
    let value = scale.back(mean(&own));
    let unit = definition(&table.figure).map_or("", |d| d.unit);
    let unit = if table.figure.ends_with(crate::figures::PER_KG) { format!("{unit}/kg") } else { unit.to_owned() };
    Some(Shown {
        figure: table.figure.clone(),
        test: table.test.clone(),
        value,
        unit,
        error: error.map(|e| if logs { value * e } else { e }),
        z: Some((mean(&own) - mean(&others)) / spread).filter(|z| z.is_finite()).unwrap_or(0.0),
        z_error: error.map(|e| e / spread).filter(|e| e.is_finite()),
        n: others.len() as u32,
    })
}

/// Who and with what words.
#[derive(Debug, Clone, Copy)]
pub struct About<'a> {
    /// Name or code.
    pub name: &'a str,
    /// The group in words.
    pub group: &'a str,
    /// Invented data.
    pub invented: bool,
    /// Training history in the coach's words.
    pub history: &'a str,
}

/// Makes the summary.
pub fn brief(about: &About, asked: &Asked, reading: &Reading, block: Option<&Block>, situation: &Situation) -> Brief {
    let of = |ids: &[&str]| -> Vec<Shown> {
        let tables = ids.iter().filter_map(|id| asked.tables.iter().find(|t| t.figure == *id && t.test == "countermovement_jump"));
        tables.filter_map(|t| shown(asked, t, &reading.days)).collect()
    };
    Brief {
        name: about.name.to_owned(),
        day: asked.day,
        days: reading.days.clone(),
        group: about.group.to_owned(),
        invented: about.invented,
        body_mass_kg: situation.athlete.body_mass_on(asked.day),
        figures: of(FIRST_VIEW),
        manner: of(MANNER_VIEW),
        standings: standings(reading),
        contrasts: contrasts(reading),
        sides: asked.sides.to_vec(),
        answer: reading.answer,
        sentence: sentence(reading),
        gap: reading.gap.as_ref().map(|g| (g.size, g.half_width)),
        further_out_percent: reading.gap.as_ref().and_then(|g| g.unusual).map(|u| u.further_out_percent),
        misses: reading.misses.clone(),
        arguments: arguments(reading, about.history),
        plan: block.map(|b| plan(b, situation)),
        closed_tests: closed_tests(situation),
        opened: opened(situation),
        next: next(reading, block, situation),
    }
}

fn standings(reading: &Reading) -> Vec<Standing> {
    let others = |id: QualityId| -> Vec<f64> {
        let column = reading.prepared.columns.iter().find(|c| c.quality == id);
        let values: Vec<f64> = column.map_or_else(Vec::new, |c| c.members.iter().flatten().copied().collect());
        let (centre, spread) = (mean(&values), sd(&values));
        if spread > 0.0 { values.iter().map(|v| (v - centre) / spread).collect() } else { Vec::new() }
    };
    let rows = QUALITIES.iter().filter_map(|q| reading.scored.iter().find(|s| s.quality == q.id));
    rows.filter(|s| s.z.is_finite())
        .map(|s| Standing {
            quality: s.quality,
            z: s.z,
            half_width: Some(2.0 * s.error).filter(|h| h.is_finite()),
            p_lowest: Some(s.p_lowest).filter(|p| p.is_finite()),
            n: s.n as u32,
            others: others(s.quality),
        })
        .collect()
}

/// A block through the gates, closed rows without their doses.
pub fn plan(block: &Block, situation: &Situation) -> Plan {
    let view = block.view(situation);
    let rows = view
        .rows
        .iter()
        .map(|r| PlanRow {
            exercise: r.row.exercise.clone(),
            doses: if r.open() { r.row.doses.clone() } else { Vec::new() },
            load: if r.open() { r.row.load.clone() } else { String::new() },
            box_m: if r.open() { r.row.box_m } else { 0.0 },
            note: r.row.note.clone(),
            closed: r.closed.clone(),
            waits: r.waits.clone(),
        })
        .collect();
    Plan {
        aims: block.aims.clone(),
        starts: block.starts,
        weeks: block.weeks,
        sessions: view.sessions,
        rows,
        contacts: view.contacts.clone(),
        test_contacts: view.test_contacts,
        contacts_allowed: view.limits.contacts,
        reduce: block.reduce.clone(),
        targets: block.targets.clone(),
        retest: block.retest,
        note: block.note.clone(),
    }
}

fn closed_tests(situation: &Situation) -> Vec<ClosedTest> {
    let all = TESTS.iter().map(|t| ClosedTest { test: t.0.into(), closed: test_closed(t.0, false, situation) });
    all.filter(|t| !t.closed.is_empty()).collect()
}

fn opened(situation: &Situation) -> Vec<Opened> {
    super::gates::ACTIVITIES.iter().flat_map(|a| check(*a, situation).1).collect()
}

fn next(reading: &Reading, block: Option<&Block>, situation: &Situation) -> Vec<String> {
    let mut next: Vec<String> = reading.misses.iter().map(|m| m.settle.clone()).collect();
    next.dedup();
    if check(Activity::DepthJumps, situation).0.iter().any(|c| c.gate == "slow_contact") {
        let box_cm = 100.0 * LOW_BOX_M;
        next.push(format!(
            "Contacts of the drop jump were longer than 250 ms: test it from a box of at most {box_cm:.0} cm until they are not."
        ));
    }
    if let Some(block) = block {
        next.push(format!("Test again on {}, under the same protocol.", block.retest));
        next.extend(waiting::retest(block, &block.ahead(situation)));
    }
    next
}
