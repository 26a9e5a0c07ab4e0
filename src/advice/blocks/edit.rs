//! One change of a block at a time, taken or refused with the reason.
use super::super::exercises::exercise;
use super::super::gates::{Closed, Situation, limits};
use super::propose::first_row;
use super::{Block, Dose, ROWS, Row, TEXT, Target, WEEKS};
use crate::people::Date;
use serde::{Deserialize, Serialize};

/// One change of a block. Rows, weeks and targets count from 0.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "edit", rename_all = "snake_case")]
pub enum Edit {
    /// A row more, with the category's first doses.
    Add {
        /// The category’s id.
        exercise: String,
    },
    /// A row less.
    Remove {
        /// Which row.
        row: usize,
    },
    /// A row one place up.
    Up {
        /// Which row.
        row: usize,
    },
    /// Another category in a row's place.
    Swap {
        /// Which row.
        row: usize,
        /// The category’s id.
        exercise: String,
    },
    /// Sets in a week.
    Sets {
        /// Which row.
        row: usize,
        /// Which week.
        week: usize,
        /// How many.
        sets: u8,
    },
    /// Repetitions in a week.
    Reps {
        /// Which row.
        row: usize,
        /// Which week.
        week: usize,
        /// How many, or seconds.
        reps: u8,
    },
    /// Load in words.
    Load {
        /// Which row.
        row: usize,
        /// In words.
        load: String,
    },
    /// Height of the box.
    Box {
        /// Which row.
        row: usize,
        /// Metres.
        box_m: f64,
    },
    /// Note of a row.
    RowNote {
        /// Which row.
        row: usize,
        /// What it says then.
        note: String,
    },
    /// Weeks of the block.
    Weeks {
        /// How many.
        weeks: u8,
    },
    /// Sessions a week.
    Sessions {
        /// How many a week.
        sessions: u8,
    },
    /// First day.
    Starts {
        /// Which day.
        day: Date,
    },
    /// Day to test again.
    Retest {
        /// Which day.
        day: Date,
    },
    /// What to reduce: line `line` becomes this; empty removes it; one past the end adds.
    Reduce {
        /// Which line.
        line: usize,
        /// What it says then.
        text: String,
    },
    /// A target in place 0 or 1; none removes it.
    Target {
        /// Which of the two.
        place: usize,
        /// What it is judged by; none removes it.
        target: Option<Target>,
    },
    /// Note of the block.
    Note {
        /// What it says then.
        note: String,
    },
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

impl Block {
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
