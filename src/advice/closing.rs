//! What the gates of the table close for an athlete on a day, what somebody has opened, and how much at most.
use super::gates::{
    ACTIVITIES, Activity, BOX_TESTS, GATES, GROWTH_PAIN, Gate, LOW_BOX_M, NO_AGE, NO_MASS, NO_TRAINING, Opens, REST_DAYS, Situation,
    Stands, TESTS,
};
use crate::people::{Clearance, ClearedClass, Date, InjuryKind, closes_jumps};
use serde::{Deserialize, Serialize};

/// One activity closed by one gate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Closed {
    /// The gate's id.
    pub gate: String,
    /// What is closed.
    pub activity: Activity,
    /// Why.
    pub reason: String,
    /// Who may open it.
    pub who: String,
    /// When it opens by itself, where it does.
    pub until: Option<Date>,
    /// Source.
    pub source: String,
}

/// A gate that stands and was opened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Opened {
    /// The gate's id.
    pub gate: String,
    /// What is open.
    pub activity: Activity,
    /// By whom.
    pub by: String,
    /// Since.
    pub date: Date,
    /// Until.
    pub until: Date,
}

/// Which clearances count against a gate: nobody allowed what had not happened yet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Since {
    /// Every one: what closes is no event.
    Always,
    /// Those of this day and later.
    From(Date),
    /// None: the day of what closes is not on record.
    Unknown,
}

impl Since {
    /// The stricter of two.
    fn and(self, other: Self) -> Self {
        match (self, other) {
            (Self::Unknown, _) | (_, Self::Unknown) => Self::Unknown,
            (Self::From(a), Self::From(b)) => Self::From(a.max(b)),
            (from, Self::Always) | (Self::Always, from) => from,
        }
    }
    fn allows(self, day: Date) -> bool {
        match self {
            Self::Always => true,
            Self::From(first) => day >= first,
            Self::Unknown => false,
        }
    }
}

/// A gate that stands.
struct Standing {
    since: Since,
    /// When it opens by itself, where it does.
    until: Option<Date>,
    /// What is to be said beside the gate's own reason.
    why: String,
}

impl Standing {
    fn since(day: Date, until: Option<Date>) -> Self {
        Self { since: Since::From(day), until, why: String::new() }
    }
}

/// Since when the latest of noted conditions closes; `None` where none of them is noted.
fn noted(s: &Situation, is: impl Fn(&str) -> bool) -> Option<Since> {
    let of = |id: &String| s.athlete.conditions_noted.get(id).map_or(Since::Unknown, |day| Since::From(*day));
    s.athlete.conditions.iter().filter(|id| is(id)).map(of).reduce(Since::and)
}

/// Which clearances count for a condition, in words.
fn counting(since: Since) -> String {
    match since {
        Since::Always => String::new(),
        Since::From(day) => format!(" Noted on {day}: clearances of that day and later count."),
        Since::Unknown => " When it was noted is not on record, so no clearance counts: enter that day in the athlete’s record.".into(),
    }
}

/// How a gate stands on a day, today or the first that is planned; `None`: it does not.
fn stands(gate: &Gate, s: &Situation, day: Date) -> Option<Standing> {
    let surgery = |kind: InjuryKind, days: i32| {
        // A date in the future is a slip of the pen; the careful reading is that it was done.
        let recent = s.athlete.injuries.iter().filter(|i| i.kind == kind && day.days_since(i.date) < days).map(|i| i.date);
        recent.max().map(|d| Standing::since(d, Some(d.plus_days(days))))
    };
    match gate.stands {
        Stands::PainOrSwelling => {
            let b = s.before.filter(|b| closes_jumps(b.pain, b.swelling, b.giving_way, b.limited).is_some())?;
            let why = if b.date < s.today { format!(" Not asked today: answered on {}.", b.date) } else { String::new() };
            Some(Standing { why, ..Standing::since(b.date, None) })
        }
        Stands::KneeLigamentSurgery(days) => surgery(InjuryKind::KneeLigamentSurgery, days),
        Stands::OtherSurgery(days) => surgery(InjuryKind::OtherSurgery, days),
        Stands::YoungAndNew => {
            let young = s.minor() && s.new_to_training();
            // Being young and new has no day; pain has.
            let since = young.then_some(Since::Always).into_iter().chain(noted(s, |id| id == GROWTH_PAIN)).reduce(Since::and)?;
            let unknown = [(s.athlete.birth_year.is_none(), NO_AGE), (s.athlete.training_years.is_none(), NO_TRAINING)];
            let unknown: String = unknown.iter().filter(|u| young && u.0).map(|u| format!(" {}", u.1)).collect();
            Some(Standing { since, until: None, why: unknown + &counting(since) })
        }
        Stands::Condition(ids) => {
            let since = noted(s, |noted| ids.iter().any(|(id, _)| *id == noted))?;
            Some(Standing { since, until: None, why: counting(since) })
        }
        Stands::TooSoon => {
            // Days are all that is known: only the next day is surely less than 48 hours away.
            let last = s.jumps_before(day).filter(|last| day.days_since(*last) < REST_DAYS)?;
            let until = last.plus_days(REST_DAYS);
            let why = format!(" Last jumps on {last}: not before the same hour on {until}.");
            Some(Standing { why, ..Standing::since(last, Some(until)) })
        }
        Stands::SlowContact => {
            s.drop_contact_s.filter(|c| *c > 0.25).map(|_| Standing { since: Since::Always, until: None, why: String::new() })
        }
        Stands::SessionTurned => {
            let seen = s.in_session;
            let slower = seen.slowed || seen.index_change_percent <= -10.0 || seen.contact_change_percent >= 10.0;
            let turned = seen.pain_rising || seen.swelling || slower;
            turned.then(|| Standing::since(s.today, Some(s.today.plus_days(1))))
        }
    }
}

/// The clearance of a class that counts on a day and holds longest.
fn valid<'a>(s: &Situation<'a>, class: ClearedClass, since: Since, day: Date) -> Option<&'a Clearance> {
    let named = s.athlete.clearances.iter().filter(|c| c.class == class && !c.by.trim().is_empty());
    named.filter(|c| c.date <= day && day <= c.until && since.allows(c.date)).max_by_key(|c| c.until)
}

/// Classes that must be open before a class, easiest first.
fn easier(class: ClearedClass) -> &'static [ClearedClass] {
    match class {
        ClearedClass::LowJumps | ClearedClass::MaximalIsometrics => &[],
        ClearedClass::Rebounds => &[ClearedClass::LowJumps],
        ClearedClass::Drops | ClearedClass::OneLegJumps => &[ClearedClass::LowJumps, ClearedClass::Rebounds],
    }
}

/// What a gate makes of an activity on a day: opened by somebody, or closed; `None` where it does not stand.
fn judged(gate: &Gate, activity: Activity, s: &Situation, day: Date) -> Option<Result<Opened, Closed>> {
    let Standing { since, until, why } = stands(gate, s, day)?;
    let own = activity.opened_by().and_then(|class| valid(s, class, since, day));
    let by = match gate.opens {
        Opens::Clearance => own,
        Opens::InOrder => {
            let first = activity.opened_by().map_or(&[][..], easier);
            own.filter(|_| first.iter().all(|class| valid(s, *class, since, day).is_some()))
        }
        Opens::Waits => None,
    };
    Some(match by {
        Some(c) => Ok(Opened { gate: gate.id.into(), activity, by: c.by.clone(), date: c.date, until: c.until }),
        None => Err(Closed {
            gate: gate.id.into(),
            activity,
            reason: format!("{}{why}", gate.reason),
            who: gate.who.into(),
            until,
            source: gate.source.into(),
        }),
    })
}

/// What of an activity is closed and what was opened, gate by gate.
pub fn check(activity: Activity, s: &Situation) -> (Vec<Closed>, Vec<Opened>) {
    let (mut closed, mut opened) = (Vec::new(), Vec::new());
    let later = s.planned.filter(|day| *day > s.today);
    for gate in GATES.iter().filter(|g| g.closes.contains(&activity)) {
        // Rest goes by until then; everything else is asked today as well: nothing is shown open before it is.
        let now = (later.is_none() || gate.stands != Stands::TooSoon).then_some(s.today);
        let all: Vec<_> = now.into_iter().chain(later).filter_map(|day| judged(gate, activity, s, day)).collect();
        let shut = all.iter().find_map(|one| one.as_ref().err());
        match shut {
            Some(shut) => closed.push(shut.clone()),
            None => opened.extend(all.into_iter().find_map(Result::ok)),
        }
    }
    (closed, opened)
}

/// What closes any of several activities.
pub fn closed(activities: &[Activity], s: &Situation) -> Vec<Closed> {
    activities.iter().flat_map(|a| check(*a, s).0).collect()
}

/// What closes a test; `one_leg` where it is done on one leg. A kind that is not known demands everything. A test that would
/// open a gate is not closed by it, from the box of [`box_of_test`].
pub fn test_closed(test: &str, one_leg: bool, s: &Situation) -> Vec<Closed> {
    let demanded = TESTS.iter().find(|t| t.0 == test).map_or(ACTIVITIES, |t| t.1);
    let mut all = closed(demanded, s);
    all.retain(|c| !GATES.iter().any(|g| g.id == c.gate && g.spares == Some(test)));
    if one_leg && demanded.iter().any(|a| !matches!(a, Activity::MaximalIsometrics)) {
        all.extend(closed(&[Activity::OneLegJumps], s));
    }
    all
}

/// Highest box that a test may start from, m; `None` for a test without one.
pub fn box_of_test(test: &str, s: &Situation) -> Option<f64> {
    BOX_TESTS.contains(&test).then(|| limits(s).box_m)
}

/// How much at most.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Limits {
    /// Contacts a session, test contacts included.
    pub contacts: u32,
    /// Sessions of jumps a week.
    pub sessions: u8,
    /// Highest box, m.
    pub box_m: f64,
}

/// What is not on record and narrows the limits: counted as the careful case, and what to enter to change that.
pub fn careful(s: &Situation) -> Vec<&'static str> {
    let a = s.athlete;
    let unknown =
        [(a.birth_year.is_none(), NO_AGE), (a.training_years.is_none(), NO_TRAINING), (a.body_mass_on(s.today).is_none(), NO_MASS)];
    unknown.into_iter().filter(|u| u.0).map(|u| u.1).collect()
}

/// Limits by training age, age and mass [Haff & Triplett (eds), 4th ed., ch. 18: 80–100, 100–120, 120–140 contacts; under 18
/// Lloyd 2014, Faigenbaum 2009: 50–60 to start, at most 90–120, twice a week; over 100 kg at most 46 cm]. The bounds of
/// training age (1 and 3 years) and the 60 cm cap are common practice, no source. What
/// is not on record counts as the careful case: see [`careful`].
pub fn limits(s: &Situation) -> Limits {
    let years = s.athlete.training_years.filter(|y| y.is_finite()).unwrap_or(0.0);
    let by_age = |new, trained, long| {
        if years < 1.0 {
            new
        } else if years < 3.0 {
            trained
        } else {
            long
        }
    };
    let contacts = if s.minor() { by_age(60, 90, 120) } else { by_age(100, 120, 140) };
    let short = s.drop_contact_s.is_some_and(|c| c <= 0.25);
    let box_m = match (short, s.heavy()) {
        (false, _) => LOW_BOX_M,
        (true, true) => 0.46,
        (true, false) => 0.60,
    };
    Limits { contacts, sessions: if s.minor() || years < 1.0 { 2 } else { 3 }, box_m }
}
