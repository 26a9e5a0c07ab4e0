//! A question about one athlete on one day, and whose values it is held against.
use super::evidence::{Flags, SideRead};
use crate::cohort::{Day, Scale, Table, WITHIN_DAYS, days};
use crate::people::Date;

/// What is asked.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// One figure of one test under one protocol each, everybody's trials.
    pub tables: &'a [Table],
    /// Whom.
    pub athlete: usize,
    /// The day asked about; later rows of the athlete are not seen.
    pub day: Date,
    /// First and last day on which the others' values may lie; each counts by the latest.
    pub compared: (Date, Date),
    /// Athletes whose first-ever session is in the tables, and when it was.
    pub newcomers: &'a [(usize, Date)],
    /// What the coach says about the day.
    pub flags: Flags,
    /// Left against right.
    pub sides: &'a [SideRead],
    /// Seed of the draws.
    pub seed: u64,
}

impl Asked<'_> {
    /// The last day that anybody's row may have.
    pub fn until(&self) -> Date {
        self.day.max(self.compared.1)
    }
    /// Of days in order of athlete, then day: the latest of each other athlete that counts.
    pub fn others(&self, days: &[Day]) -> Vec<Day> {
        let counts = |d: &&Day| (self.compared.0..=self.compared.1).contains(&d.day);
        let latest = |own: &[Day]| own.iter().rev().find(counts).copied();
        days.chunk_by(|a, b| a.athlete == b.athlete).filter_map(latest).filter(|d| d.athlete != self.athlete).collect()
    }
    /// A table's days up to [`Self::until`], on its scale.
    pub fn days(&self, table: &Table) -> Vec<Day> {
        until(table, self.until())
    }
}

/// The days of the others that count where nothing else is chosen: the twelve months up to one.
pub fn twelve_months(to: Date) -> (Date, Date) {
    (to.plus_days(-WITHIN_DAYS), to)
}

fn until(table: &Table, day: Date) -> Vec<Day> {
    let scale = Scale::of(table);
    if table.rows.iter().all(|r| r.day <= day) {
        return days(table, scale);
    }
    days(&Table { rows: table.rows.iter().filter(|r| r.day <= day).copied().collect(), ..Table::default() }, scale)
}
