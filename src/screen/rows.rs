//! Which tables and rows a study looks at: one protocol a test, the latest days of the others, values per kilogram.
use crate::advice::qualities::ANKLE_WORDS;
use crate::answer::TestKind;
use crate::cohort::{Observation, Table, WITHIN_DAYS};
use crate::people::Date;
use std::collections::BTreeMap;

/// How the pool marks the protocol of a leg alone.
pub(super) const LEG_ALONE: &str = ";leg=";
/// How the key of a protocol says that there is no load.
const NO_LOAD: &str = ";load=0.0;";

/// The athlete's latest day in a table, of the twelve months before his last.
pub(super) fn latest(table: &Table, place: usize, last: Date) -> Option<Date> {
    let own = table.rows.iter().filter(|r| r.athlete == place && r.value.is_finite()).map(|r| r.day);
    own.max().filter(|day| last.days_since(*day) <= WITHIN_DAYS)
}

/// The tables in which an athlete is, of one protocol a test: his latest (of two on one day, the fuller), the same for all
/// figures of the test. Legs alone and pushes of the ankle are tests of their own; a load gives way to body mass alone.
pub(super) fn his(all: Vec<Table>, place: usize) -> Vec<Table> {
    let kind = |t: &Table| {
        let leg = t.protocol.rsplit_once(LEG_ALONE).map_or("", |(_, leg)| leg);
        let ankle = t.test == TestKind::Isometric.id() && ANKLE_WORDS.iter().any(|w| t.protocol.to_lowercase().contains(w));
        (t.test.clone(), leg.to_owned(), ankle)
    };
    // Kind of test → how well a protocol of it stands for him now, and the protocol.
    let mut best: BTreeMap<_, ((bool, Date, usize), String)> = BTreeMap::new();
    for table in &all {
        let own = || table.rows.iter().filter(|r| r.athlete == place);
        let Some(latest) = own().map(|r| r.day).max() else { continue };
        let now = (table.protocol.contains(NO_LOAD), latest, own().count());
        let known = best.entry(kind(table)).or_insert_with(|| (now, table.protocol.clone()));
        if known.0 < now {
            *known = (now, table.protocol.clone());
        }
    }
    let chosen = |t: &Table| best.get(&kind(t)).is_some_and(|b| b.1 == t.protocol) && t.rows.iter().any(|r| r.athlete == place);
    all.into_iter().filter(chosen).collect()
}

/// Days of members that a reading looks at, all members together, and of each at least (*ours*). A reading is made again
/// without every member and trial, so that its cost grows with the square of the group; repeated days far beyond these say
/// nothing more of the noise. Squads of up to twenty keep thirty days each.
const MEMBER_DAYS: (usize, usize) = (600, 4);

/// Which rows a reading looks at: the athlete's own, and the latest days of the group's members.
pub(super) fn recent(tables: &[Table], place: usize, members: &[bool], last: Date) -> impl Fn(&Observation) -> bool {
    let mut days: Vec<Vec<Date>> = vec![Vec::new(); members.len()];
    for run in tables.iter().flat_map(|t| t.rows.chunk_by(|a, b| (a.athlete, a.day) == (b.athlete, b.day))) {
        if let Some(row) = run.first().filter(|r| members.get(r.athlete) == Some(&true) && r.day <= last)
            && let Some(own) = days.get_mut(row.athlete)
        {
            own.push(row.day);
        }
    }
    for own in &mut days {
        own.sort_unstable();
        own.dedup();
    }
    let each = (MEMBER_DAYS.0 / days.iter().filter(|d| !d.is_empty()).count().max(1)).max(MEMBER_DAYS.1);
    let from: Vec<Option<Date>> = days.iter().map(|d| d.iter().rev().nth(each.min(d.len()).saturating_sub(1)).copied()).collect();
    move |row| row.athlete == place || from.get(row.athlete).copied().flatten().is_some_and(|from| row.day >= from)
}

pub(super) fn per_kg(table: &Table) -> Table {
    let rows = table.rows.iter().filter(|r| r.body_mass_kg > 0.0);
    let rows = rows.map(|r| crate::cohort::Observation { value: r.value / r.body_mass_kg, u: r.u / r.body_mass_kg, ..*r });
    Table { rows: rows.collect(), ..table.clone() }
}
