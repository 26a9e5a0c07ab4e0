//! A first plan: rows for the aims of an answer, or of the coach's own choice, with doses that rise by week.
use super::super::exercises::{Exercise, GENERAL, REDUCE, exercise, for_aim};
use super::super::gates::{Situation, limits};
use super::super::qualities::QualityId;
use super::super::score::Answer;
use super::{Block, Dose, ROWS, Row, Target, after_tests};
use crate::people::Date;

/// Doses that begin at the category's least and rise by week, the last week lighter so that the test meets a rested athlete.
pub(super) fn first_row(e: &Exercise, weeks: u8) -> Row {
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
