//! The derived table as questions read it: heads of trials with the columns of the figures asked for, and from them one
//! [`Table`] a figure, test and protocol.
use super::table::{Renewal, renew};
use super::{Head, SavedTrial};
use crate::answer::Verdict;
use crate::cohort::{Observation, Table};
use crate::people::Date;
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

/// Heads and columns, row by row the same trials.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Pool {
    /// One a trial.
    pub heads: Vec<Head>,
    /// Figure id → value and standard uncertainty of each trial, in turn; NaN where it has none.
    pub columns: BTreeMap<String, Vec<f64>>,
}

/// Where a trial belongs.
struct Placed {
    at: usize,
    athlete: usize,
    day: Date,
    test: &'static str,
    protocol: Rc<str>,
    body_mass_kg: f64,
    sound: bool,
}

impl Pool {
    /// The same from trials at hand.
    pub fn of(trials: &[SavedTrial], figures: &[&str]) -> Self {
        let renewal: Renewal = renew(&[], trials, &BTreeSet::new());
        let columns = figures.iter().map(|id| ((*id).to_owned(), renewal.column(id, &[], trials))).collect();
        Self { heads: renewal.heads, columns }
    }

    /// Every table of the figures here. `place` gives a trial's athlete (as a place in the caller's list) and day; trials
    /// without, unusable ones, and those of another method version than `method` are left out.
    pub fn tables(&self, method: &str, mut place: impl FnMut(&Head) -> Option<(usize, Date)>) -> Vec<Table> {
        let mut protocols: BTreeMap<(u8, Rc<str>), Rc<str>> = BTreeMap::new();
        let placed = |(at, head): (usize, &Head)| {
            if head.removed || head.verdict == Verdict::Unusable || &*head.method != method {
                return None;
            }
            let (athlete, day) = place(head)?;
            // A leg alone is another test than both, whatever the protocol says of it.
            let protocol = protocols.entry((head.side, Rc::clone(&head.protocol_key))).or_insert_with(|| match head.side {
                b'l' => format!("{};leg=left", head.protocol_key).into(),
                b'r' => format!("{};leg=right", head.protocol_key).into(),
                _ => Rc::clone(&head.protocol_key),
            });
            let (body_mass_kg, sound) = (head.body_mass_kg, head.verdict == Verdict::Sound);
            Some(Placed { at, athlete, day, test: head.test.id(), protocol: Rc::clone(protocol), body_mass_kg, sound })
        };
        // Put in order once, for all figures: by table, then athlete and day, trials of a day as they came.
        let mut placed: Vec<Placed> = self.heads.iter().enumerate().filter_map(placed).collect();
        placed.sort_by(|a, b| (a.test, &a.protocol, a.athlete, a.day).cmp(&(b.test, &b.protocol, b.athlete, b.day)));
        let kinds: Vec<&[Placed]> = placed.chunk_by(|a, b| a.test == b.test && a.protocol == b.protocol).collect();
        let mut tables = Vec::new();
        for (figure, column) in &self.columns {
            for kind in &kinds {
                let row = |p: &Placed| {
                    let [value, u] = *column.get(2 * p.at..2 * p.at + 2)? else { return None };
                    let Placed { athlete, day, body_mass_kg, sound, .. } = *p;
                    value.is_finite().then_some(Observation { athlete, day, value, u, body_mass_kg, sound })
                };
                let rows: Vec<Observation> = kind.iter().filter_map(row).collect();
                if let Some(first) = kind.first().filter(|_| !rows.is_empty()) {
                    tables.push(Table { figure: figure.clone(), test: first.test.to_owned(), protocol: first.protocol.to_string(), rows });
                }
            }
        }
        tables
    }
}
