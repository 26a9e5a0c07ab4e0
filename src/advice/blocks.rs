//! A block of two to four weeks: rows of exercise with doses by week, what to reduce, targets, the day to test again.
//! Everything can be edited. A plan is always looked at through the gates of the day ([`Block::view`]), so no edit, however
//! made, shows a dose that a gate closes; and an edit that asks for one is refused with the gate's reason.
use super::exercises::{EXERCISES, Exercise, GENERAL, REDUCE, exercise, for_aim};
use super::gates::{Closed, Limits, NO_MASS, Situation, careful, closed, limits};
use super::qualities::QualityId;
use super::score::Answer;
use super::waiting::Waits;
use crate::people::Date;
use serde::{Deserialize, Serialize};

/// Weeks, fewest and most.
pub const WEEKS: (u8, u8) = (2, 4);
/// Rows at most.
pub const ROWS: usize = 12;
/// Longest text of one field, characters.
pub const TEXT: usize = 300;

/// Sets and repetitions in one week.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Dose {
    /// Sets.
    pub sets: u8,
    /// Repetitions, or seconds.
    pub reps: u8,
}

/// One row of the plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Row {
    /// Id in the table of exercises.
    pub exercise: String,
    /// One dose a week.
    pub doses: Vec<Dose>,
    /// Load, in words.
    pub load: String,
    /// Box, m; 0: none.
    pub box_m: f64,
    /// The coach's note.
    pub note: String,
}

/// A figure the block is judged by.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Target {
    /// Figure id.
    pub figure: String,
    /// Name shown.
    pub name: String,
    /// Test kind.
    pub test: String,
    /// Protocol key.
    pub protocol: String,
    /// SI unit.
    pub unit: String,
    /// Mean before, SI.
    pub before: f64,
    /// Smallest change that the retest can show, %, or NaN (stored as none) where days are not known.
    pub smallest_percent: Option<f64>,
}

/// The plan. Kept as text with the athlete's records; see [`Edit`] for what can be changed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Block {
    /// Key on the device.
    pub id: String,
    /// What it aims at, at most two; empty for general strength.
    pub aims: Vec<QualityId>,
    /// First day.
    pub starts: Date,
    /// Day of the tests before it; counts as a session.
    pub tested_on: Date,
    /// Ground contacts of those tests, and of the tests after it.
    pub test_contacts: u32,
    /// 2–4.
    pub weeks: u8,
    /// Sessions a week.
    pub sessions: u8,
    /// Rows.
    pub rows: Vec<Row>,
    /// What to do less of meanwhile.
    pub reduce: Vec<String>,
    /// At most two.
    pub targets: Vec<Target>,
    /// Day to test again.
    pub retest: Date,
    /// The coach's note.
    pub note: String,
}

/// One change of a block. Rows, weeks and targets count from 0.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "edit", rename_all = "snake_case")]
#[allow(missing_docs, reason = "each variant is said in its own line; its fields are what the line names")]
pub enum Edit {
    /// A row more, with the category's first doses.
    Add { exercise: String },
    /// A row less.
    Remove { row: usize },
    /// A row one place up.
    Up { row: usize },
    /// Another category in a row's place.
    Swap { row: usize, exercise: String },
    /// Sets in a week.
    Sets { row: usize, week: usize, sets: u8 },
    /// Repetitions in a week.
    Reps { row: usize, week: usize, reps: u8 },
    /// Load in words.
    Load { row: usize, load: String },
    /// Height of the box.
    Box { row: usize, box_m: f64 },
    /// Note of a row.
    RowNote { row: usize, note: String },
    /// Weeks of the block.
    Weeks { weeks: u8 },
    /// Sessions a week.
    Sessions { sessions: u8 },
    /// First day.
    Starts { day: Date },
    /// Day to test again.
    Retest { day: Date },
    /// What to reduce: line `line` becomes this; empty removes it; one past the end adds.
    Reduce { line: usize, text: String },
    /// A target in place 0 or 1; none removes it.
    Target { place: usize, target: Option<Target> },
    /// Note of the block.
    Note { note: String },
}

/// Why an edit was refused.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Refused {
    /// In a sentence.
    pub reason: String,
    /// Gates that closed it, where gates did.
    pub closed: Vec<Closed>,
}

fn refused<T>(reason: impl Into<String>) -> Result<T, Refused> {
    Err(Refused { reason: reason.into(), closed: Vec::new() })
}

/// A row as it may be shown on a day.
#[derive(Debug, Clone, PartialEq)]
pub struct RowView<'a> {
    /// Place in the block, for edits.
    pub place: usize,
    /// Its category; `None` for an id that this build does not know: closed.
    pub exercise: Option<&'static Exercise>,
    /// The row; doses and loads are to be shown only where it is open.
    pub row: &'a Row,
    /// Empty: open.
    pub closed: Vec<Closed>,
    /// From when an open row waits for a new clearance.
    pub waits: Option<Waits>,
}

impl RowView<'_> {
    /// Whether doses may be shown.
    pub fn open(&self) -> bool {
        self.closed.is_empty()
    }
}

/// A block through the gates of a day.
#[derive(Debug, Clone, PartialEq)]
pub struct View<'a> {
    /// Rows, closed ones in their place.
    pub rows: Vec<RowView<'a>>,
    /// Contacts a session, by week, of open rows.
    pub contacts: Vec<u32>,
    /// Contacts of the tests, which count in the session they are part of.
    pub test_contacts: u32,
    /// What is allowed.
    pub limits: Limits,
    /// What is not on record and narrows these limits, with what to enter.
    pub careful: Vec<&'static str>,
    /// More sessions were planned than are allowed: this many are shown.
    pub sessions: u8,
}

fn contacts_of(row: &Row, week: usize) -> u32 {
    let each = exercise(&row.exercise).map_or(1, |e| u32::from(e.contacts));
    row.doses.get(week).map_or(0, |d| u32::from(d.sets) * u32::from(d.reps) * each)
}

/// A closing that is not a gate of the table but one of its limits.
fn over(gate: &str, row: &Row, reason: String) -> Closed {
    Closed {
        gate: gate.into(),
        activity: exercise(&row.exercise).and_then(|e| e.demands.first().copied()).unwrap_or(super::gates::Activity::MaximalJumps),
        reason,
        who: "nobody: reduce sets, repetitions or height".into(),
        until: None,
        source: "Haff & Triplett (eds), Essentials of Strength Training and Conditioning, 4th ed., ch. 18".into(),
    }
}

impl Block {
    /// A situation as the block meets it: on its first day where that is to come, and after its tests.
    pub fn ahead<'s>(&self, s: &Situation<'s>) -> Situation<'s> {
        Situation { planned: Some(self.starts), ..after_tests(s, self.tested_on, self.test_contacts) }
    }
    /// Contacts of the tests that every session of the first week counts: all, where the tests lie within a week of its first day.
    pub fn tests_in_first_week(&self) -> u32 {
        if self.starts.days_since(self.tested_on).abs() < 7 { self.test_contacts } else { 0 }
    }

    /// The block through the gates of a day, and of its first day where that is to come. Rows are closed by gates, by a box that
    /// is too high, and — from the last one upwards — by contacts beyond the session's limit, in the first week with those of
    /// tests that lie in it.
    pub fn view<'a>(&'a self, s: &Situation) -> View<'a> {
        let s = &self.ahead(s);
        let limits = limits(s);
        let careful = careful(s);
        let unweighed = if careful.contains(&NO_MASS) { format!(" {NO_MASS}") } else { String::new() };
        let weeks = usize::from(self.weeks);
        let start = self.tests_in_first_week();
        let mut contacts = vec![0_u32; weeks];
        let mut rows = Vec::with_capacity(self.rows.len());
        for (place, row) in self.rows.iter().enumerate() {
            let known = exercise(&row.exercise);
            let mut reasons = known.map_or_else(Vec::new, |e| closed(e.demands, s));
            if known.is_none() {
                reasons.push(over("unknown", row, "This category is not known to this build, so its demands are not.".into()));
            }
            if !(row.box_m <= limits.box_m) {
                reasons.push(over(
                    "box",
                    row,
                    format!("A box of {:.0} cm is above the {:.0} cm allowed now.{unweighed}", 100.0 * row.box_m, 100.0 * limits.box_m),
                ));
            }
            let room = |week: usize, had: u32| {
                let tests = if week == 0 { start } else { 0 };
                had.saturating_add(contacts_of(row, week)).saturating_add(tests) <= limits.contacts
            };
            // A row without contacts adds none and so never breaks the limit.
            let any = (0..weeks).any(|week| contacts_of(row, week) > 0);
            if any && !contacts.iter().enumerate().all(|(week, had)| room(week, *had)) {
                reasons.push(over(
                    "contacts",
                    row,
                    format!(
                        "With it a session has more than the {} contacts allowed; the first week’s count those of the tests.",
                        limits.contacts
                    ),
                ));
            }
            if reasons.is_empty() {
                for (week, had) in contacts.iter_mut().enumerate() {
                    *had += contacts_of(row, week);
                }
            }
            let waits = known.filter(|_| reasons.is_empty()).and_then(|e| Waits::of(e.demands, self, s));
            rows.push(RowView { place, exercise: known, row, closed: reasons, waits });
        }
        View { rows, contacts, test_contacts: self.test_contacts, limits, careful, sessions: self.sessions.min(limits.sessions) }
    }

    /// The block with one change, or why not. Undo is keeping the block as it was.
    ///
    /// # Errors
    /// A place that does not exist, a number out of its range, or a gate or limit that the changed row would meet.
    pub fn apply(&self, edit: &Edit, s: &Situation) -> Result<Self, Refused> {
        let mut block = self.clone();
        let mut touched = None;
        match edit {
            Edit::Add { exercise: id } => {
                let Some(known) = exercise(id) else { return refused(format!("“{}” is no category of the table.", short(id))) };
                if block.rows.len() >= ROWS {
                    return refused(format!("A block has at most {ROWS} rows."));
                }
                block.rows.push(first_row(known, block.weeks));
                touched = Some(block.rows.len() - 1);
            }
            Edit::Remove { row } => {
                if *row >= block.rows.len() {
                    return refused(NO_ROW);
                }
                block.rows.remove(*row);
            }
            Edit::Up { row } => {
                if *row == 0 || *row >= block.rows.len() {
                    return refused(NO_ROW);
                }
                block.rows.swap(*row - 1, *row);
            }
            Edit::Swap { row, exercise: id } => {
                let Some(known) = exercise(id) else { return refused(format!("“{}” is no category of the table.", short(id))) };
                *row_of(&mut block.rows, *row)? = first_row(known, self.weeks);
                touched = Some(*row);
            }
            Edit::Sets { row, week, sets } => {
                in_range("Sets", *sets, (0, 10))?;
                dose_of(&mut block.rows, *row, *week)?.sets = *sets;
                touched = Some(*row);
            }
            Edit::Reps { row, week, reps } => {
                in_range("Repetitions", *reps, (0, 30))?;
                dose_of(&mut block.rows, *row, *week)?.reps = *reps;
                touched = Some(*row);
            }
            Edit::Load { row, load } => {
                row_of(&mut block.rows, *row)?.load = short(load);
                touched = Some(*row);
            }
            Edit::Box { row, box_m } => {
                if !(*box_m >= 0.0 && *box_m <= 1.0) {
                    return refused("A box is between 0 and 1 m high.");
                }
                row_of(&mut block.rows, *row)?.box_m = *box_m;
                touched = Some(*row);
            }
            Edit::RowNote { row, note } => row_of(&mut block.rows, *row)?.note = short(note),
            Edit::Weeks { weeks } => {
                in_range("Weeks", *weeks, WEEKS)?;
                block.weeks = *weeks;
                for row in &mut block.rows {
                    let last = row.doses.last().copied().unwrap_or(Dose { sets: 0, reps: 0 });
                    row.doses.resize(usize::from(*weeks), last);
                }
                block.retest = block.retest.max(block.ends());
            }
            Edit::Sessions { sessions } => {
                let most = limits(s).sessions;
                if *sessions < 1 || *sessions > most {
                    return refused(format!("Between 1 and {most} sessions of jumps a week for this athlete now."));
                }
                block.sessions = *sessions;
            }
            Edit::Starts { day } => {
                let moved = day.days_since(block.starts);
                block.starts = *day;
                block.retest = block.retest.plus_days(moved);
            }
            Edit::Retest { day } => {
                if *day < block.ends() {
                    return refused("The tests come after the last week.");
                }
                block.retest = *day;
            }
            Edit::Reduce { line, text } => {
                let text = short(text);
                let lines = block.reduce.len();
                match (block.reduce.get_mut(*line), text.is_empty()) {
                    (Some(_), true) => {
                        block.reduce.remove(*line);
                    }
                    (Some(old), false) => *old = text,
                    (None, false) if *line == lines && lines < ROWS => block.reduce.push(text),
                    _ => return refused("There is no such line."),
                }
            }
            Edit::Target { place, target } => {
                let count = block.targets.len();
                let same = |a: &Target, b: &Target| (&a.figure, &a.test, &a.protocol) == (&b.figure, &b.test, &b.protocol);
                if target.as_ref().is_some_and(|new| block.targets.iter().enumerate().any(|(at, old)| at != *place && same(old, new))) {
                    return refused("The other target is this very figure.");
                }
                match (block.targets.get_mut(*place), target) {
                    (Some(old), Some(new)) => *old = new.clone(),
                    (Some(_), None) => {
                        block.targets.remove(*place);
                    }
                    (None, Some(new)) if *place == count && count < 2 => block.targets.push(new.clone()),
                    _ => return refused("A block is judged by at most two figures."),
                }
            }
            Edit::Note { note } => block.note = short(note),
        }
        // What was touched must be open; what was closed before and is not touched stays closed in the view.
        if let Some(place) = touched {
            let closed = block.view(s).rows.into_iter().find(|r| r.place == place).map_or_else(Vec::new, |r| r.closed);
            if let Some(first) = closed.first() {
                return Err(Refused { reason: first.reason.clone(), closed });
            }
        }
        Ok(block)
    }

    /// The day after the last week.
    pub fn ends(&self) -> Date {
        self.starts.plus_days(7 * i32::from(self.weeks))
    }
}

const NO_ROW: &str = "There is no such row.";

fn row_of(rows: &mut [Row], row: usize) -> Result<&mut Row, Refused> {
    rows.get_mut(row).ok_or_else(|| Refused { reason: NO_ROW.into(), closed: Vec::new() })
}

fn dose_of(rows: &mut [Row], row: usize, week: usize) -> Result<&mut Dose, Refused> {
    row_of(rows, row)?.doses.get_mut(week).ok_or_else(|| Refused { reason: "There is no such week.".into(), closed: Vec::new() })
}

fn in_range(what: &str, value: u8, range: (u8, u8)) -> Result<(), Refused> {
    if (range.0..=range.1).contains(&value) { Ok(()) } else { refused(format!("{what}: between {} and {}.", range.0, range.1)) }
}

fn short(text: &str) -> String {
    text.trim().chars().take(TEXT).collect()
}

/// Doses that begin at the category's least and rise by week, the last week lighter so that the test meets a rested athlete.
fn first_row(e: &Exercise, weeks: u8) -> Row {
    let last = usize::from(weeks.max(1)) - 1;
    let doses = (0..=last)
        .map(|week| {
            let step = week.min(usize::from(e.sets.1.saturating_sub(e.sets.0))) as u8;
            if week == last && last > 0 {
                Dose { sets: e.sets.0, reps: e.reps.0 }
            } else {
                Dose { sets: e.sets.0 + step, reps: e.reps.0 + u8::from(week > 0) * u8::from(e.reps.1 > e.reps.0) }
            }
        })
        .collect();
    Row { exercise: e.id.into(), doses, load: e.load.into(), box_m: e.box_m, note: String::new() }
}

/// Rows for an aim in a first plan.
const ROWS_PER_AIM: usize = 3;

/// What a block is made from.
#[derive(Debug, Clone)]
pub struct Wanted<'a> {
    /// Key on the device.
    pub id: &'a str,
    /// The answer it follows.
    pub answer: Answer,
    /// First day, at the earliest.
    pub starts: Date,
    /// Day of the tests.
    pub tested_on: Date,
    /// Their ground contacts.
    pub test_contacts: u32,
    /// Figures to be judged by; the first two are taken.
    pub targets: Vec<Target>,
}

/// A situation after tests of a day that had contacts.
fn after_tests<'s>(s: &Situation<'s>, tested_on: Date, contacts: u32) -> Situation<'s> {
    // Today's jumps do not stand for those of yesterday.
    let jumps = [s.last_impact, (contacts > 0).then_some(tested_on)];
    Situation {
        last_impact: jumps.into_iter().flatten().filter(|day| *day < s.today).max(),
        jumped_today: s.jumped_today || jumps.contains(&Some(s.today)),
        ..*s
    }
}

/// A first plan for an answer; `None` where the answer asks for no block: uniformly high, manner, not enough.
///
/// Rows that a gate closes stand in the plan with their reason, and the next open ones beside them.
pub fn propose(wanted: &Wanted, s: &Situation) -> Option<Block> {
    let aims = match wanted.answer {
        Answer::One(one) => vec![one],
        Answer::Two(one, two) => vec![one, two],
        Answer::UniformlyLow => Vec::new(),
        Answer::UniformlyHigh | Answer::Manner(_) | Answer::NotEnough => return None,
    };
    Some(plan(wanted, aims, s))
}

/// A plan for aims that the coach has chosen himself (none: general strength). It begins as wanted, or when 48 hours are over
/// since the last jumps, tests included.
pub fn plan(wanted: &Wanted, aims: Vec<QualityId>, s: &Situation) -> Block {
    let weeks = 4;
    let starts = after_tests(s, wanted.tested_on, wanted.test_contacts).rested(wanted.starts);
    let lists: Vec<Vec<&'static Exercise>> = if aims.is_empty() {
        vec![GENERAL.iter().filter_map(|id| exercise(id)).collect()]
    } else {
        aims.iter().map(|aim| for_aim(*aim)).collect()
    };
    let mut block = Block {
        id: wanted.id.into(),
        reduce: aims.iter().filter_map(|aim| REDUCE.iter().find(|r| r.0 == *aim)).map(|r| r.1.to_owned()).collect(),
        aims,
        starts,
        tested_on: wanted.tested_on,
        test_contacts: wanted.test_contacts,
        weeks,
        sessions: limits(s).sessions.min(2),
        rows: Vec::new(),
        targets: wanted.targets.iter().take(2).cloned().collect(),
        retest: starts.plus_days(7 * i32::from(weeks) + 2),
        note: String::new(),
    };
    let most = if lists.len() == 1 { ROWS_PER_AIM + 2 } else { ROWS_PER_AIM };
    for list in lists {
        let mut open = 0;
        for e in list {
            if open == most || block.rows.len() >= ROWS {
                break;
            }
            if block.rows.iter().any(|r| r.exercise == e.id) {
                continue;
            }
            block.rows.push(first_row(e, weeks));
            let closed = block.view(s).rows.pop().map_or_else(Vec::new, |r| r.closed);
            if closed.is_empty() {
                open += 1;
            } else if closed.iter().any(|c| c.gate == "contacts") {
                // Too much for one session: a plan does not propose what it closes itself.
                block.rows.pop();
            }
        }
    }
    block
}

/// Every category with what closes it now, for the list from which rows are added; for a block, [`Block::ahead`] of it.
pub fn choices(s: &Situation) -> Vec<(&'static Exercise, Vec<Closed>)> {
    EXERCISES.iter().map(|e| (e, closed(e.demands, s))).collect()
}
