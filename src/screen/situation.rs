//! What the gates look at on a day: an athlete's answers, what was seen in the session, his last session of jumps, and how long
//! the contacts of his drop jumps were. The same for his study, his block and the sheet of a test day.
use super::State;
use crate::advice::gates::{Before, InSession, Situation};
use crate::answer::{TestKind, Verdict};
use crate::force::stats::mean;
use crate::people::{Answers, Athlete, Date};
use std::collections::BTreeMap;

/// Days back that a session of jumps is looked for: what lies further back closes nothing.
const IMPACT_DAYS: i32 = 3;

/// What everybody's trials say about a day.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Around<'a> {
    /// Athlete → last session before the day with jumps, drops or rebounds.
    impacts: BTreeMap<&'a str, Date>,
    /// Athlete → mean contact of his latest day of drop jumps, s.
    contacts: BTreeMap<&'a str, (Date, f64)>,
}

impl<'a> Around<'a> {
    /// Of one athlete, or of everybody.
    pub fn day(state: &'a State, on: Date, whose: Option<&str>) -> Self {
        let asked = |id: &str| !id.is_empty() && whose.is_none_or(|whose| whose == id);
        let near: BTreeMap<&str, Date> = state
            .sessions
            .iter()
            .filter(|(_, s)| !s.removed && s.body.date < on && on.days_since(s.body.date) <= IMPACT_DAYS)
            .map(|(id, s)| (id.as_str(), s.body.date))
            .collect();
        let mut impacts = BTreeMap::new();
        for head in state.heads.values().filter(|h| !near.is_empty() && !h.removed && impact(h.test) && asked(&h.athlete_id)) {
            if let Some(day) = near.get(&*head.session_id) {
                impacts.entry(&*head.athlete_id).and_modify(|last: &mut Date| *last = (*last).max(*day)).or_insert(*day);
            }
        }
        Self { impacts, contacts: contacts(state, on, asked) }
    }
    /// One athlete's situation, from these and from what he answered.
    pub fn situation<'b>(&self, state: &State, id: &str, athlete: &'b Athlete, on: Date) -> Situation<'b> {
        let answers = state.answers(id, on);
        Situation {
            before: answers.map(before),
            in_session: answers.map_or_else(InSession::default, in_session),
            last_impact: self.impacts.get(id).copied(),
            drop_contact_s: self.contacts.get(id).map(|c| c.1),
            ..Situation::new(athlete, on)
        }
    }
}

/// An athlete's situation today.
pub fn today<'b>(state: &State, id: &str, athlete: &'b Athlete) -> Situation<'b> {
    Around::day(state, state.today, Some(id)).situation(state, id, athlete, state.today)
}

fn before(a: &Answers) -> Before {
    Before { date: a.date, pain: a.pain, swelling: a.swelling, giving_way: a.giving_way, limited: a.limited }
}

fn in_session(a: &Answers) -> InSession {
    InSession { pain_rising: a.pain_rose, swelling: a.swelling_came, slowed: a.slowed, ..InSession::default() }
}

/// Whether a test is one of jumps; what was not recognised may be one.
fn impact(test: TestKind) -> bool {
    !matches!(test, TestKind::Isometric | TestKind::QuietStanding)
}

/// Mean contact time of each athlete's latest day of drop jumps, up to a day; of nobody where figures are not at hand.
fn contacts(state: &State, on: Date, asked: impl Fn(&str) -> bool) -> BTreeMap<&str, (Date, f64)> {
    let mut found: BTreeMap<&str, (Date, Vec<f64>)> = BTreeMap::new();
    let Some((pool, column)) = state.pool.as_ref().and_then(|pool| Some((pool, pool.columns.get("contact_time")?))) else {
        return BTreeMap::new();
    };
    for (head, pair) in pool.heads.iter().zip(column.chunks_exact(2)).filter(|(h, _)| h.test == TestKind::DropJump) {
        let Some(now) = state.heads.get(&head.id).filter(|h| !h.removed && h.verdict != Verdict::Unusable && asked(&h.athlete_id)) else {
            continue;
        };
        let (Some(day), Some(seconds)) = (state.day_of(now).filter(|day| *day <= on), pair.first().filter(|s| s.is_finite())) else {
            continue;
        };
        let latest = found.entry(&*now.athlete_id).or_insert_with(|| (day, Vec::new()));
        if latest.0 < day {
            *latest = (day, Vec::new());
        }
        if latest.0 == day {
            latest.1.push(*seconds);
        }
    }
    found.into_iter().map(|(id, (day, all))| (id, (day, mean(&all)))).collect()
}
