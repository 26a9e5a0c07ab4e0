//! What an athlete's other trials say about one: plates swapped or a depth unlike his own against his earlier days, a weight unlike
//! his other trials of the day, and what a trial without a weighing of its own may be weighed by. Never across athletes.
use super::filing::{fetch_first, keep_trials};
use super::stated::read_so;
use super::{Effect, Event, Message, State};
use crate::answer::{
    BY_DAY, DEPTH_UNLIKE_OWN, DayMass, TYPED, TestKind, Trial, Verdict, depth_unlike_own, plates_swapped, reread, verdict_of,
};
use crate::force::stats::median;
use crate::recording::Letters as _;
use crate::recording::Notice;
use crate::records::{Head, Record, SavedTrial};

/// Earlier trials that a habit of loading one leg is read from.
const EARLIER: usize = 6;
/// Earlier countermovement jumps that a habit of depth is read from, of so many looked at: who changes it has a new one in time.
const DEPTHS: (usize, usize) = (12, 24);
/// Trials of the day that weigh at most: more know it no better than the scale between them changes.
const WEIGHED: usize = 6;
/// The codes of what is told here.
const TOLD: [&str; 3] = ["plates_swapped", AGAINST, DEPTH_UNLIKE_OWN];
const AGAINST: &str = "weight_against_day";

/// Tests that begin with standing still, and so weigh.
fn weighs(test: TestKind) -> bool {
    matches!(test, TestKind::CountermovementJump | TestKind::SquatJump | TestKind::CountermovementReboundJump | TestKind::QuietStanding)
}

/// Whether a trial is weighed by another of its day.
pub fn by_day(trial: &Trial) -> bool {
    trial.weighing.as_ref().is_some_and(|w| w.source == BY_DAY)
}

/// Whether a trial's weight was not weighed in it: another's of its day, or typed in.
pub fn lent(trial: &Trial) -> bool {
    by_day(trial) || trial.weighing.as_ref().is_some_and(|w| w.source == TYPED)
}

/// Whether a trial was read with what is stated of it no more, or without what is.
pub fn read_otherwise(saved: &SavedTrial) -> bool {
    by_day(&saved.trial) && saved.options.day_mass.is_none() || !read_so(&saved.trial, &saved.options)
}

/// Takes back what was told by these codes, and the verdict with it.
fn untell(trial: &mut Trial, codes: &[&str]) {
    let told = trial.notices.len();
    trial.notices.retain(|n| !codes.contains(&n.code.as_str()));
    if trial.notices.len() < told && trial.verdict == Verdict::Doubtful {
        trial.verdict = verdict_of(&trial.notices);
    }
}

/// A trial leaves its day, and its athlete where it goes to another: what was told of it there, the weight that it was given
/// there, and the body mass typed in for that athlete, stay behind.
pub fn leave(saved: &mut SavedTrial, for_whom: Option<&str>) {
    untell(&mut saved.trial, &TOLD);
    saved.options.day_mass = None;
    if saved.athlete_id.is_some() && saved.athlete_id.as_deref() != for_whom {
        saved.options.mass_kg = None;
    }
}

/// Whether a trial weighs for the day: nothing is to be doubted in it but that it weighs unlike the others, for it may be
/// them that are wrong.
fn vouches(saved: &SavedTrial) -> bool {
    let mut trial = saved.trial.clone();
    untell(&mut trial, &[AGAINST]);
    let weighed = trial.weighing.as_ref().is_some_and(|w| w.source != TYPED && w.source != BY_DAY);
    weighs(trial.test) && trial.verdict == Verdict::Sound && weighed
}

/// Trials of the same athlete and day that may weigh, but for the trial itself; the latest first.
fn of_day<'a>(state: &'a State, of: &SavedTrial) -> Vec<&'a Head> {
    let (Some(athlete), Some(session)) = (of.athlete_id.as_deref(), of.session_id.as_deref()) else { return vec![] };
    let fits = |h: &&Head| {
        !h.removed
            && *h.athlete_id == *athlete
            && *h.session_id == *session
            && *h.id != *of.envelope.id
            && h.verdict != Verdict::Unusable
            && weighs(h.test)
    };
    let mut found: Vec<&Head> = state.heads.values().filter(fits).collect();
    found.sort_by(|a, b| (&b.added, &b.id).cmp(&(&a.added, &a.id)));
    found.truncate(2 * WEIGHED);
    found
}

/// Those of them that weigh; of one that is not at hand only its verdict is known.
fn weighings<'a>(state: &'a State, of: &SavedTrial) -> Vec<&'a Head> {
    let fits = |h: &&Head| state.trial(&h.id).map_or(h.verdict == Verdict::Sound && !h.by_day, vouches) && h.body_mass_kg.is_finite();
    of_day(state, of).into_iter().filter(fits).take(WEIGHED).collect()
}

/// Earlier days' trials of the same athlete and test, the latest first: for the sides those on two plates, for the depth of a
/// countermovement those of the same protocol.
fn earlier<'a>(state: &'a State, of: &SavedTrial, depth: bool) -> Vec<&'a Head> {
    let own = Head::of(of);
    let asked = if depth { own.test == TestKind::CountermovementJump } else { !of.trial.sides.is_empty() };
    let Some(day) = state.day_of(&own).filter(|_| !own.athlete_id.is_empty() && asked) else { return vec![] };
    let alike = |h: &Head| if depth { h.protocol_key == own.protocol_key } else { h.side == b'b' };
    let fits = |h: &&Head| !h.removed && h.athlete_id == own.athlete_id && h.test == own.test && alike(h) && h.verdict != Verdict::Unusable;
    let before = |h: &Head| state.day_of(h).filter(|d| *d < day);
    let mut found: Vec<(crate::people::Date, &Head)> = state.heads.values().filter(fits).filter_map(|h| Some((before(h)?, h))).collect();
    found.sort_by(|a, b| (b.0, &b.1.id).cmp(&(a.0, &a.1.id)));
    found.truncate(if depth { DEPTHS.1 } else { EARLIER });
    found.into_iter().map(|(_, h)| h).collect()
}

/// Keys of the trials that may weigh on a trial's day: to be at hand when it is shown.
pub fn weighing_ids(state: &State, of: &SavedTrial) -> Vec<String> {
    of_day(state, of).into_iter().map(|h| h.id.to_string()).collect()
}

/// Of a change that is about to be taken back: trials that change their athlete, their day or their place on the list by that,
/// each with one that it leaves behind.
pub fn moved_by(state: &State, before: &[(String, Option<Record>)]) -> Vec<String> {
    let moved = before.iter().filter_map(|(id, before)| {
        let now = state.trial(id)?;
        let place = |t: &SavedTrial| (t.athlete_id.clone(), t.session_id.clone(), t.removed);
        let was = match before {
            Some(Record::Trial(was)) => Some(place(was)),
            _ => None,
        };
        (was != Some(place(now))).then_some(now)
    });
    moved.flat_map(|now| weighing_ids(state, now).into_iter().take(1).chain([now.envelope.id.clone()])).collect()
}

/// Asks the history of trials that were just filed; fetches what it needs of it first. Those that left an athlete by whose
/// weight they were weighed are read again without it, those whose files' names state a load, a box or a leg with it.
pub fn ask(state: &mut State, ids: &[String]) -> Vec<Effect> {
    let left = |id: &&String| state.trial(id).is_some_and(|s| !s.removed && read_otherwise(s));
    let left: Vec<String> = ids.iter().filter(left).cloned().collect();
    let mut effects = if left.is_empty() { vec![] } else { vec![Effect::Recompute(left)] };
    let of = |id: &String| state.trial(id).filter(|s| !s.removed && !s.invented && s.athlete_id.is_some());
    let asked: Vec<&SavedTrial> = ids.iter().filter_map(of).collect();
    let needed = asked.iter().flat_map(|s| earlier(state, s, false).into_iter().chain(earlier(state, s, true)).chain(of_day(state, s)));
    let mut needed: Vec<String> = needed.map(|h| h.id.to_string()).collect();
    needed.sort();
    needed.dedup();
    let ids: Vec<String> = asked.iter().map(|s| s.envelope.id.clone()).collect();
    if ids.is_empty() {
        return effects;
    }
    effects.extend(match fetch_first(state, &needed, Event::Do("ask-history".into(), ids.join("|"))) {
        Some(effects) => effects,
        None => tell(state, &ids),
    });
    effects
}

/// Notes what the history says in the trials themselves, and what they say about the others of their day.
fn tell(state: &mut State, ids: &[String]) -> Vec<Effect> {
    let here = |id: &String| state.trial(id);
    let others = ids.iter().filter_map(here).flat_map(|s| of_day(state, s)).map(|h| h.id.to_string());
    let others: std::collections::BTreeSet<String> = others.filter(|id| !ids.contains(id)).collect();
    let changed = |id: &String| {
        let saved = state.trial(id)?;
        let mut trial = saved.trial.clone();
        if ids.contains(id) {
            untell(&mut trial, &TOLD);
            let before = |depth| earlier(state, saved, depth).into_iter().filter_map(|h| state.trial(&h.id)).map(|s| &s.trial);
            trial.notices.extend(plates_swapped(&before(false).collect::<Vec<_>>(), &trial));
            let steady: Vec<&Trial> = before(true).filter(|t| steady(t)).take(DEPTHS.0).collect();
            if let Some(notice) = depth_unlike_own(&steady, &trial) {
                trial.notices.insert(0, notice);
                trial.verdict = trial.verdict.max(Verdict::Doubtful);
            }
        } else {
            untell(&mut trial, &[AGAINST]);
        }
        if let Some(notice) = against_day(state, saved) {
            trial.notices.insert(0, notice);
            trial.verdict = trial.verdict.max(Verdict::Doubtful);
        }
        (trial != saved.trial).then(|| SavedTrial { trial, ..saved.clone() })
    };
    let trials: Vec<SavedTrial> = ids.iter().chain(&others).filter_map(changed).collect();
    keep_trials(state, None, trials)
}

/// Whether two weights of a day are not one person's. A body does not change by a hundredth and a half within a day.
fn apart(a_kg: f64, b_kg: f64) -> bool {
    (a_kg - b_kg).abs() > (0.015 * b_kg).max(1.0)
}

/// What the day says of the body's mass.
enum DayWeight {
    /// The median of the trials that weigh, kg.
    Agreed(f64),
    /// One other trial, kg: which of the two is wrong is not known.
    OneOther(f64),
}

/// The body mass that the day's trials give, kg: their median, a trial's own among them where it weighs as well as they do, for a
/// first that is wrong must not condemn the rest. Two that disagree give none.
fn mass_of_day(state: &State, of: &SavedTrial) -> Option<DayWeight> {
    let others = weighings(state, of);
    let mut masses: Vec<f64> = others.iter().map(|h| h.body_mass_kg).collect();
    let own = of.trial.body_mass_kg.filter(|m| m.is_finite() && vouches(of));
    match (masses.as_slice(), own) {
        ([], _) => None,
        ([one], Some(own)) if apart(own, *one) => Some(DayWeight::OneOther(*one)),
        ([a, b], None) if apart(*a, *b) => None,
        _ => {
            masses.extend(own);
            Some(DayWeight::Agreed(median(&masses)))
        }
    }
}

/// A weight unlike the day's others: a foot beside the plates, hands on something, a load not entered; before a pull, hanging
/// on the bar. Of two alone the later says that one of them is wrong.
fn against_day(state: &State, of: &SavedTrial) -> Option<Notice> {
    let own = of.trial.body_mass_kg.filter(|_| !by_day(&of.trial))?;
    let reasons = "part of the weight beside the plates or on something held, or a load not entered";
    let message = match mass_of_day(state, of)? {
        DayWeight::Agreed(day) if apart(own, day) => {
            format!("Weighed here at {own:.1} kg, in this athlete’s other trials of the day at {day:.1} kg: {reasons}.")
        }
        DayWeight::OneOther(other) if weighings(state, of).iter().all(|h| (&*h.added, &*h.id) < (&*of.added, &*of.envelope.id)) => {
            format!(
                "Weighed here at {own:.1} kg, in this athlete’s only other weighing of the day at {other:.1} kg: one of the two is wrong. \
                 Possible reasons: {reasons}."
            )
        }
        _ => return None,
    };
    let next_time = "Both feet fully on the plates and hands off everything while being weighed; enter every load.";
    Some(Notice::new(AGAINST, message).next_time(next_time))
}

/// Whether nothing is to be doubted in a trial but that its dip is not as deep as those before it: who changes his habit has a new
/// one.
fn steady(trial: &Trial) -> bool {
    trial.verdict != Verdict::Unusable
        && verdict_of(&trial.notices.iter().filter(|n| n.code != DEPTH_UNLIKE_OWN).cloned().collect::<Vec<Notice>>()) == Verdict::Sound
}

/// What the history said stays with a trial that is read again.
pub fn carry(before: &Trial, now: &mut Trial) {
    let deep = now.figures.get("countermovement_depth").is_some_and(|f| f.value.is_some());
    let told = before.notices.iter().filter(|n| TOLD.contains(&n.code.as_str()) && (deep || n.code != DEPTH_UNLIKE_OWN));
    now.notices.extend(told.filter(|n| now.notices.iter().all(|m| m.code != n.code)).cloned().collect::<Vec<Notice>>());
    if now.notices.iter().any(|n| n.code == AGAINST || n.code == DEPTH_UNLIKE_OWN) {
        now.verdict = now.verdict.max(Verdict::Doubtful);
    }
}

/// What a trial may be weighed by, where it has no weighing of its own, or is a pull whose weight the day speaks against: the
/// best of the athlete's trials that weigh as the day does. A jump or a drop that has a weighing is always read by it.
pub fn offer(state: &State, of: &SavedTrial) -> Option<DayMass> {
    let own = of.trial.weighing.as_ref().is_some_and(|w| w.source != TYPED);
    let doubted = of.trial.test == TestKind::Isometric && of.trial.notices.iter().any(|n| n.code == AGAINST);
    if own && !doubted || of.options.day_mass.is_some() {
        return None;
    }
    let DayWeight::Agreed(day) = mass_of_day(state, of)? else { return None };
    let best = weighings(state, of).into_iter().filter_map(|h| {
        let saved = state.trial(&h.id)?;
        Some((saved.trial.system_mass_kg?.u, saved.trial.body_mass_kg?, saved))
    });
    let best = best.filter(|b| b.0.is_finite() && b.1 > 0.0 && !apart(b.1, day));
    let (u_kg, mass_kg, saved) = best.min_by(|a, b| a.0.total_cmp(&b.0))?;
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
    let Some(saved) = state.trial(id).cloned() else { return vec![] };
    let Some(window) = state.open.as_ref().filter(|o| o.id == id).and_then(|o| o.window.clone()) else { return vec![] };
    let Some(day_mass) = offer(state, &saved) else { return vec![] };
    let mut options = saved.options.clone();
    options.day_mass = Some(day_mass);
    let Some(mut trial) = reread(&window, &options).filter(by_day) else {
        state.message = Some(Message { text: "With that weight the trial cannot be computed; it stays as it was.".into(), undo: false });
        return vec![];
    };
    let mut before = saved.trial.clone();
    untell(&mut before, &[AGAINST]);
    carry(&before, &mut trial);
    let changed = SavedTrial { trial, options, ..saved };
    let effects = keep_trials(state, Some("Weighed by another trial of the day.".into()), vec![changed.clone()]);
    if let Some(open) = state.open.as_mut() {
        open.refresh(&changed);
    }
    effects
}
