//! What an athlete's other trials say about one: plates swapped against his earlier days, a weight unlike his other trials of
//! the day, and what a trial without a weighing of its own may be weighed by. Never across athletes.
use super::filing::fetch_first;
use super::keep::keep;
use super::{Effect, Event, Message, State};
use crate::answer::{DayMass, TestKind, Trial, Verdict, plates_swapped, reread};
use crate::force::stats::median;
use crate::recording::Letters as _;
use crate::recording::Notice;
use crate::records::{Head, Record, SavedTrial};

/// Earlier trials that a habit of loading one leg is read from.
const EARLIER: usize = 6;
/// Trials of the day that weigh at most: more know it no better than the scale between them changes.
const WEIGHED: usize = 6;
/// The codes of what is told here.
const TOLD: [&str; 2] = ["plates_swapped", "weight_against_day"];

/// Tests that begin with standing still, and so weigh.
fn weighs(test: TestKind) -> bool {
    matches!(test, TestKind::CountermovementJump | TestKind::SquatJump | TestKind::CountermovementReboundJump | TestKind::QuietStanding)
}

/// Sound trials of the same athlete and day that weigh, but for the trial itself; the latest first.
fn weighings<'a>(state: &'a State, of: &SavedTrial) -> Vec<&'a Head> {
    let (Some(athlete), Some(session)) = (of.athlete_id.as_deref(), of.session_id.as_deref()) else { return vec![] };
    let fits = |h: &&Head| {
        !h.removed
            && *h.athlete_id == *athlete
            && *h.session_id == *session
            && *h.id != *of.envelope.id
            && h.verdict == Verdict::Sound
            && weighs(h.test)
    };
    let mut found: Vec<&Head> = state.heads.values().filter(fits).collect();
    found.sort_by(|a, b| (&b.added, &b.id).cmp(&(&a.added, &a.id)));
    found.truncate(WEIGHED);
    found
}

/// Earlier days' trials of the same athlete and test on two plates; the latest first.
fn earlier<'a>(state: &'a State, of: &SavedTrial) -> Vec<&'a Head> {
    let own = Head::of(of);
    let Some(day) = state.day_of(&own).filter(|_| !own.athlete_id.is_empty() && !of.trial.sides.is_empty()) else { return vec![] };
    let fits =
        |h: &&Head| !h.removed && h.athlete_id == own.athlete_id && h.test == own.test && h.side == b'b' && h.verdict != Verdict::Unusable;
    let before = |h: &Head| state.day_of(h).filter(|d| *d < day);
    let mut found: Vec<(crate::people::Date, &Head)> = state.heads.values().filter(fits).filter_map(|h| Some((before(h)?, h))).collect();
    found.sort_by(|a, b| (b.0, &b.1.id).cmp(&(a.0, &a.1.id)));
    found.truncate(EARLIER);
    found.into_iter().map(|(_, h)| h).collect()
}

/// Keys of the trials that weigh on a trial's day: to be at hand when it is shown.
pub fn weighing_ids(state: &State, of: &SavedTrial) -> Vec<String> {
    weighings(state, of).into_iter().map(|h| h.id.to_string()).collect()
}

/// Asks the history of trials that were just filed; fetches what it needs of it first.
pub fn ask(state: &mut State, ids: &[String]) -> Vec<Effect> {
    let of = |id: &String| state.saved.get(id).filter(|s| !s.removed && !s.invented && s.athlete_id.is_some());
    let asked: Vec<&SavedTrial> = ids.iter().filter_map(of).collect();
    let mut needed: Vec<String> =
        asked.iter().flat_map(|s| earlier(state, s).into_iter().chain(weighings(state, s))).map(|h| h.id.to_string()).collect();
    needed.sort();
    needed.dedup();
    if needed.is_empty() {
        return vec![];
    }
    let ids: Vec<String> = asked.iter().map(|s| s.envelope.id.clone()).collect();
    match fetch_first(state, &needed, Event::Do("ask-history".into(), ids.join("|"))) {
        Some(effects) => effects,
        None => tell(state, &ids),
    }
}

/// Notes what the history says in the trials themselves.
fn tell(state: &mut State, ids: &[String]) -> Vec<Effect> {
    let changed = |id: &String| {
        let saved = state.saved.get(id)?;
        let mut trial = saved.trial.clone();
        trial.notices.retain(|n| !TOLD.contains(&n.code.as_str()));
        let before: Vec<&Trial> = earlier(state, saved).iter().filter_map(|h| state.saved.get(&*h.id)).map(|s| &s.trial).collect();
        trial.notices.extend(plates_swapped(&before, &trial));
        if let Some(notice) = against_day(state, saved) {
            trial.notices.insert(0, notice);
            trial.verdict = trial.verdict.max(Verdict::Doubtful);
        }
        (trial != saved.trial).then(|| Record::Trial(Box::new(SavedTrial { trial, ..saved.clone() })))
    };
    let records: Vec<Record> = ids.iter().filter_map(changed).collect();
    keep(state, None, records)
}

/// The body mass of the day's other trials, kg: their median.
fn mass_of_day(state: &State, of: &SavedTrial) -> Option<f64> {
    let masses: Vec<f64> = weighings(state, of).iter().map(|h| h.body_mass_kg).filter(|m| m.is_finite()).collect();
    (!masses.is_empty()).then(|| median(&masses))
}

/// A weight unlike the day's others: a foot beside the plates, hands on something, a load not entered; before a pull, hanging
/// on the bar. A body does not change by a hundredth and a half within a day.
fn against_day(state: &State, of: &SavedTrial) -> Option<Notice> {
    let (own, day) = (of.trial.body_mass_kg?, mass_of_day(state, of)?);
    let beyond = of.options.day_mass.is_none() && (own - day).abs() > (0.015 * day).max(1.0);
    beyond.then(|| {
        Notice::new(
            "weight_against_day",
            format!(
                "Weighed here at {own:.1} kg, in this athlete’s other trials of the day at {day:.1} kg: part of the weight beside the plates or on \
                 something held, or a load not entered."
            ),
        )
        .next_time("Both feet fully on the plates and hands off everything while being weighed; enter every load.")
    })
}

/// What the history said stays with a trial that is read again.
pub fn carry(before: &Trial, now: &mut Trial) {
    let told = before.notices.iter().filter(|n| TOLD.contains(&n.code.as_str()));
    now.notices.extend(told.filter(|n| now.notices.iter().all(|m| m.code != n.code)).cloned().collect::<Vec<Notice>>());
    if now.notices.iter().any(|n| n.code == "weight_against_day") {
        now.verdict = now.verdict.max(Verdict::Doubtful);
    }
}

/// What a trial may be weighed by, where it has no weighing of its own or one that the day speaks against: the best of the
/// athlete's sound trials of the day.
pub fn offer(state: &State, of: &SavedTrial) -> Option<DayMass> {
    let own = of.trial.weighing.as_ref().is_some_and(|w| w.source != "as typed in");
    let doubted = of.trial.notices.iter().any(|n| n.code == "weight_against_day");
    if own && !doubted || of.options.day_mass.is_some() {
        return None;
    }
    let best = weighings(state, of).into_iter().filter_map(|h| {
        let saved = state.saved.get(&*h.id)?;
        Some((saved.trial.system_mass_kg?.u, saved.trial.body_mass_kg?, saved))
    });
    let (u_kg, mass_kg, saved) = best.filter(|b| b.0.is_finite() && b.1 > 0.0).min_by(|a, b| a.0.total_cmp(&b.0))?;
    let what = crate::charts::words::test_name(saved.trial.test).lower();
    Some(DayMass { mass_kg, u_kg, from: format!("{what} of the same day, {}", saved.file) })
}

/// Buttons: `ask-history` (after a fetch) and `weigh-by-day`. None for others.
pub fn pressed(state: &mut State, what: &str, id: &str) -> Option<Vec<Effect>> {
    match what {
        "ask-history" => {
            let ids: Vec<String> = id.split('|').map(Into::into).collect();
            Some(tell(state, &ids))
        }
        "weigh-by-day" => Some(weigh_by_day(state, id)),
        _ => None,
    }
}

fn weigh_by_day(state: &mut State, id: &str) -> Vec<Effect> {
    let Some(saved) = state.saved.get(id).cloned() else { return vec![] };
    let Some(window) = state.open.as_ref().filter(|o| o.id == id).and_then(|o| o.window.clone()) else { return vec![] };
    let Some(day_mass) = offer(state, &saved) else { return vec![] };
    let mut options = saved.options.clone();
    options.day_mass = Some(day_mass);
    let Some(mut trial) = reread(&window, &options) else {
        state.message = Some(Message { text: "With that weight the trial cannot be computed; it stays as it was.".into(), undo: false });
        return vec![];
    };
    carry(&saved.trial, &mut trial);
    trial.notices.retain(|n| n.code != "weight_against_day");
    let changed = SavedTrial { trial, options, ..saved };
    let effects = keep(state, Some("Weighed by another trial of the day.".into()), vec![Record::Trial(Box::new(changed.clone()))]);
    if let Some(open) = state.open.as_mut() {
        open.refresh(&changed);
    }
    effects
}
