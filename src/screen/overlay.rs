//! Force of two days over each other: the trials that are laid over, and the bands made of them.
use super::study::{CMJ, Study};
use super::{Effect, Open, Screen, State};
use crate::answer::{TestKind, Verdict, curves};
use crate::cohort::curves::{Band, around, band, by_phase, difference_band};
use crate::people::Date;
use crate::recording::Recording;
use crate::records::{Head, SavedTrial};

/// Trials a side at most: more make the band no narrower that anybody would see.
const MOST: usize = 12;
/// Points a phase.
const POINTS: usize = 30;
/// Stretch around take-off, s, and its step.
const AROUND: (f64, f64, f64) = (-0.9, 0.05, 0.01);
/// Boundaries of the phases, and what lies between.
const EVENTS: [&str; 4] = ["onset", "peak_downward_velocity", "lowest_point", "take_off"];
const PHASES: [&str; 3] = ["unweighting", "braking", "propulsion"];

/// Two days' force over each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Overlay {
    /// Whose.
    pub athlete: String,
    /// The earlier and the later days.
    pub days: (Vec<Date>, Vec<Date>),
    /// Phase by phase.
    pub by_phase: Option<Pair>,
    /// In real time, aligned at take-off.
    pub in_time: Option<Pair>,
}

/// Mean curves of both days with their bands.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// Place of each point: phases, or seconds from take-off.
    pub x: Vec<f64>,
    /// Phases with their places; empty in real time.
    pub phases: Vec<(String, f64, f64)>,
    /// The earlier day.
    pub before: Band,
    /// The later day.
    pub after: Band,
    /// After − before; none below six trials a side.
    pub difference: Option<Band>,
}

/// The days that a study compares.
pub fn compared(study: &Study) -> Option<(Vec<Date>, Vec<Date>)> {
    let change = study.sorted.targets.first().or(study.sorted.also_seen.first().map(|s| &s.change))?;
    Some((change.before.days.clone(), change.after.days.clone()))
}

/// Asks for the force of the compared days.
pub fn wanted(state: &mut State) -> Vec<Effect> {
    state.overlay = None;
    let Some((study, (before, after))) = state.study.as_deref().and_then(|s| Some((s, compared(s)?))) else { return vec![] };
    let mut ids = trials(state, study, &before);
    ids.extend(trials(state, study, &after));
    if ids.is_empty() { vec![] } else { vec![Effect::Windows(ids)] }
}

/// Countermovement jumps of some days under the protocol that is compared; sound ones, doubtful ones where there is none.
fn trials(state: &State, study: &Study, days: &[Date]) -> Vec<String> {
    let Some(table) = study.tables.iter().find(|t| t.test == CMJ && !t.protocol.contains(";leg=")) else { return vec![] };
    let fits = |h: &&Head| {
        h.test == TestKind::CountermovementJump
            && h.side == b'b'
            && *h.protocol_key == *table.protocol
            && h.verdict != Verdict::Unusable
            && state.day_of(h).is_some_and(|d| days.contains(&d))
    };
    let all: Vec<&Head> = state.trials_of(&study.athlete).into_iter().filter(fits).collect();
    let sound = all.iter().any(|h| h.verdict == Verdict::Sound);
    all.iter().filter(|h| (h.verdict == Verdict::Sound) == sound).take(MOST).map(|h| h.id.to_string()).collect()
}

/// The trial whose trace stands over the first view: the latest sound countermovement jump, else the latest doubtful one.
pub fn latest(state: &State, study: &Study) -> Option<String> {
    let day = *study.days.last()?;
    trials(state, study, &[day])
        .into_iter()
        .next()
        .or_else(|| study.days.iter().rev().find_map(|d| trials(state, study, &[*d]).into_iter().next()))
}

/// Asks for the force of that trial, unless it is at hand.
pub fn sample_wanted(state: &State) -> Vec<Effect> {
    let id = state.study.as_deref().and_then(|study| latest(state, study));
    let here = |id: &String| state.sample.as_ref().is_some_and(|sample| sample.0.envelope.id == *id);
    id.filter(|id| !here(id)).map(|id| Effect::Windows(vec![id])).into_iter().collect()
}

/// Takes that trial in; `false` where these are other trials.
pub fn take_sample(state: &mut State, trials: &[(SavedTrial, Recording)]) -> bool {
    let [(saved, window)] = trials else { return false };
    let wanted = state.study.as_deref().and_then(|study| latest(state, study));
    if wanted.as_deref() != Some(saved.envelope.id.as_str()) {
        return false;
    }
    let mut open = Open::waiting(&saved.envelope.id);
    open.take(window.clone(), saved);
    state.sample = Some(Box::new((saved.clone(), open)));
    true
}

/// Lays the trials of both sets of days over each other.
pub fn lay(state: &mut State, trials: &[(SavedTrial, Recording)]) {
    let (Screen::Athlete(id), Some(days)) = (&state.screen, state.study.as_deref().and_then(compared)) else { return };
    let of = |days: &[Date]| -> Vec<Curve> {
        let on = |saved: &SavedTrial| {
            state.heads.get(saved.envelope.id.as_str()).and_then(|h| state.day_of(h)).is_some_and(|d| days.contains(&d))
        };
        trials.iter().filter(|(saved, _)| on(saved)).filter_map(|(saved, window)| curve(saved, window)).collect()
    };
    let (before, after) = (of(&days.0), of(&days.1));
    let day = |days: &[Date]| days.first().map_or(0, |d| u64::from(d.0.unsigned_abs()));
    let seed = day(&days.0) << 32 | day(&days.1);
    let phases = PHASES.iter().enumerate().map(|(i, name)| ((*name).to_owned(), i as f64, i as f64 + 1.0)).collect();
    let steps = |n: usize, from: f64, step: f64| (0..n).map(|i| from + i as f64 * step).collect::<Vec<f64>>();
    let side = |curves: &[Curve], pick: fn(&Curve) -> &Vec<f64>| -> Vec<Vec<f64>> { curves.iter().map(pick).cloned().collect() };
    let pair = |pick: fn(&Curve) -> &Vec<f64>, from: f64, step: f64, phases: Vec<(String, f64, f64)>| {
        let (a, b) = (side(&before, pick), side(&after, pick));
        let (first, last) = (band(&a, seed)?, band(&b, seed)?);
        Some(Pair { x: steps(first.mean.len(), from, step), phases, before: first, after: last, difference: difference_band(&a, &b, seed) })
    };
    let by_phase = pair(|c| &c.by_phase, 0.0, 1.0 / POINTS as f64, phases);
    let in_time = pair(|c| &c.in_time, AROUND.0, AROUND.2, Vec::new());
    state.overlay = Some(Overlay { athlete: id.clone(), days, by_phase, in_time });
}

/// One trial's force, resampled both ways.
struct Curve {
    by_phase: Vec<f64>,
    in_time: Vec<f64>,
}

fn curve(saved: &SavedTrial, window: &Recording) -> Option<Curve> {
    let c = curves(window, &saved.options);
    let (first, last) = (*c.time_s.first()?, *c.time_s.last()?);
    let rate_hz = (c.time_s.len() - 1) as f64 / (last - first);
    let places: Option<Vec<f64>> = EVENTS.iter().map(|e| Some((saved.trial.events.get(*e)? - first) * rate_hz)).collect();
    let places = places?;
    let in_time = around(&c.force_n, rate_hz, *places.last()?, AROUND.0, AROUND.1, AROUND.2);
    Some(Curve { by_phase: by_phase(&c.force_n, &places, POINTS)?, in_time })
}
