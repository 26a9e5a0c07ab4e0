//! What the gates look at on a day: an athlete's answers, what was seen in the session, his last session of jumps, and how long
//! the contacts of his drop jumps were. The same for his study, his block and the sheet of a test day.
use super::State;
use crate::advice::gates::{Before, InSession, Situation};
use crate::answer::{TestKind, Verdict};
use crate::force::stats::mean;
use crate::people::{Answers, Athlete, CLOSING_PAIN, Date};
use std::collections::BTreeMap;

/// Days back that a session of jumps is looked for: what lies further back closes nothing.
const IMPACT_DAYS: i32 = 3;

/// What everybody's trials say about a day.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Around<'a> {
    /// Athlete → last session before the day with jumps, drops or rebounds, and whether there were any on it.
    impacts: BTreeMap<&'a str, (Option<Date>, bool)>,
    /// Athlete → mean contact of his latest day of drop jumps, s.
    contacts: BTreeMap<&'a str, (Date, f64)>,
}

impl<'a> Around<'a> {
    /// Of one athlete, or of everybody.
    pub fn day(state: &'a State, on: Date, whose: Option<&str>) -> Self {
        let asked = |id: &str| !id.is_empty() && whose.is_none_or(|whose| whose == id);
        let close = |day: &Date| *day <= on && on.days_since(*day) <= IMPACT_DAYS;
        let sessions = state.sessions.iter().filter(|(_, s)| !s.removed && close(&s.body.date));
        let near: BTreeMap<&str, Date> = sessions.map(|(id, s)| (id.as_str(), s.body.date)).collect();
        let mut impacts: BTreeMap<&str, (Option<Date>, bool)> = BTreeMap::new();
        for head in state.heads.values().filter(|h| !h.removed && impact(h.test) && asked(&h.athlete_id)) {
            // A trial of no session has the day on which it came.
            let alone = || state.day_of(head).filter(|day| !state.sessions.contains_key(&*head.session_id) && close(day));
            let Some(day) = near.get(&*head.session_id).copied().or_else(alone) else { continue };
            let (last, today) = impacts.entry(&*head.athlete_id).or_default();
            *today |= day == on;
            *last = (*last).max(Some(day).filter(|day| *day < on));
        }
        Self { impacts, contacts: contacts(state, on, asked) }
    }
    /// One athlete's situation, from these and from what he answered.
    pub fn situation<'b>(&self, state: &State, id: &str, athlete: &'b Athlete, on: Date) -> Situation<'b> {
        let (last_impact, jumped_today) = self.impacts.get(id).copied().unwrap_or_default();
        Situation {
            before: state.last_answers(id, on).map(|a| before(a, on)),
            in_session: state.answers(id, on).map_or_else(InSession::default, in_session),
            last_impact,
            jumped_today,
            drop_contact_s: self.contacts.get(id).map(|c| c.1),
            ..Situation::new(athlete, on)
        }
    }
}

/// An athlete's situation today.
pub fn today<'b>(state: &State, id: &str, athlete: &'b Athlete) -> Situation<'b> {
    Around::day(state, state.today, Some(id)).situation(state, id, athlete, state.today)
}

/// What was last answered, by a day. On a later one, what came within that session stands beside what was said before it.
fn before(a: &Answers, on: Date) -> Before {
    let later = a.date < on;
    let pain = if later && a.pain_rose { a.pain.max(CLOSING_PAIN) } else { a.pain };
    Before { date: a.date, pain, swelling: a.swelling || later && a.swelling_came, giving_way: a.giving_way, limited: a.limited }
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
