//! A block through the gates of a day: which rows are open, what closes the others, how many contacts a session has.
use super::super::exercises::{EXERCISES, Exercise, exercise};
use super::super::gates::{Activity, Closed, Limits, NO_MASS, Situation, careful, closed, limits};
use super::super::waiting::{Waits, retest};
use super::{Block, Row};

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
    /// That the retest waits for a new clearance, in a sentence.
    pub retest_waits: Option<String>,
}

fn contacts_of(row: &Row, week: usize) -> u32 {
    let each = exercise(&row.exercise).map_or(1, |e| u32::from(e.contacts));
    row.doses.get(week).map_or(0, |d| u32::from(d.sets) * u32::from(d.reps) * each)
}

/// A closing that is not a gate of the table but one of its limits.
fn over(gate: &str, row: &Row, reason: String) -> Closed {
    Closed {
        gate: gate.into(),
        activity: exercise(&row.exercise).and_then(|e| e.demands.first().copied()).unwrap_or(Activity::MaximalJumps),
        reason,
        who: "nobody: reduce sets, repetitions or height".into(),
        until: None,
        source: "Haff & Triplett (eds), Essentials of Strength Training and Conditioning, 4th ed., ch. 18".into(),
    }
}

impl Block {
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
        let (test_contacts, sessions) = (self.test_contacts, self.sessions.min(limits.sessions));
        View { rows, contacts, test_contacts, limits, careful, sessions, retest_waits: retest(self, s) }
    }
}

/// Every category with what closes it now, for the list from which rows are added; for a block, [`Block::ahead`] of it.
pub fn choices(s: &Situation) -> Vec<(&'static Exercise, Vec<Closed>)> {
    EXERCISES.iter().map(|e| (e, closed(e.demands, s))).collect()
}
