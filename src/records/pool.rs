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
    athlete: usize,
    day: Date,
    test: &'static str,
    protocol: Rc<str>,
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
    pub fn tables(&self, method: &str, place: impl Fn(&Head) -> Option<(usize, Date)>) -> Vec<Table> {
        let placed: Vec<Option<Placed>> = {
            let mut protocols: BTreeMap<(u8, Rc<str>), Rc<str>> = BTreeMap::new();
            let placed = |head: &Head| {
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
                Some(Placed { athlete, day, test: head.test.id(), protocol: Rc::clone(protocol) })
            };
            self.heads.iter().map(placed).collect()
        };
        let mut tables = Vec::new();
        for (figure, column) in &self.columns {
            let mut rows: BTreeMap<(&str, Rc<str>), Vec<Observation>> = BTreeMap::new();
            for ((head, placed), pair) in self.heads.iter().zip(&placed).zip(column.chunks_exact(2)) {
                let (Some(Placed { athlete, day, test, protocol }), [value, u]) = (placed, pair) else { continue };
                if value.is_finite() {
                    let row = Observation {
                        athlete: *athlete,
                        day: *day,
                        value: *value,
                        u: *u,
                        body_mass_kg: head.body_mass_kg,
                        sound: head.verdict == Verdict::Sound,
                    };
                    rows.entry((test, Rc::clone(protocol))).or_default().push(row);
                }
            }
            for ((test, protocol), mut rows) in rows {
                rows.sort_by_key(|r| (r.athlete, r.day));
                tables.push(Table { figure: figure.clone(), test: test.to_owned(), protocol: protocol.to_string(), rows });
            }
        }
        tables
    }
}
