//! Curves of a set: trials of one athlete, kind, protocol and day laid over each other, once asked for.
use super::filing::fetch_first;
use super::{Effect, Event, Screen, State};
use crate::answer::{TestKind, Trial, Verdict, curves};
use crate::cohort::curves::{Band, around, band, by_phase};
use crate::recording::Recording;
use crate::records::{Head, SavedTrial};

/// Trials laid over each other at most: more lines hide each other.
const MOST: usize = 12;
/// Points a phase.
const POINTS: usize = 30;
/// Step of curves in real time, s.
const STEP_S: f64 = 0.002;
/// Phases in a mean curve at most: a set of rebounds has a contact and a flight a jump.
const MOST_PHASES: usize = 8;

/// What is drawn over time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Quantity {
    /// Vertical force.
    #[default]
    Force,
    /// Velocity of the centre of mass.
    Velocity,
    /// Its displacement.
    Displacement,
}

impl Quantity {
    /// All of them, in the order they are offered.
    pub const ALL: [Self; 3] = [Self::Force, Self::Velocity, Self::Displacement];
    /// The word of its button.
    pub fn word(self) -> &'static str {
        match self {
            Self::Force => "force",
            Self::Velocity => "velocity",
            Self::Displacement => "displacement",
        }
    }
    fn place(self) -> usize {
        match self {
            Self::Force => 0,
            Self::Velocity => 1,
            Self::Displacement => 2,
        }
    }
}

/// One trial's force, velocity and displacement around the shared instant.
#[derive(Debug, Clone, PartialEq)]
pub struct TrialCurves {
    /// Its record.
    pub id: String,
    values: [Vec<f64>; 3],
}

impl TrialCurves {
    /// Values of one quantity, SI, at [`Laid::time_s`].
    pub fn of(&self, quantity: Quantity) -> &[f64] {
        self.values.get(quantity.place()).map_or(&[], Vec::as_slice)
    }
}

/// A phase of the mean curve.
#[derive(Debug, Clone, PartialEq)]
pub struct MeanPhase {
    /// Its name.
    pub name: String,
    /// Mean duration, s.
    pub duration_s: f64,
}

/// Means of the trials that belong, every phase stretched to the same number of points.
#[derive(Debug, Clone, PartialEq)]
pub struct Means {
    /// The phases in order.
    pub phases: Vec<MeanPhase>,
    /// Of how many trials.
    pub trials: usize,
    bands: [Band; 3],
}

/// Mean, lower and upper edge of a stretch of a band.
pub type Stretch<'a> = (&'a [f64], &'a [f64], &'a [f64]);

impl Means {
    /// Mean and band of one quantity over one phase, by its place; both ends included.
    pub fn of(&self, quantity: Quantity, phase: usize) -> Option<Stretch<'_>> {
        let band = self.bands.get(quantity.place())?;
        let range = phase * POINTS..(phase + 1) * POINTS + 1;
        Some((band.mean.get(range.clone())?, band.low.get(range.clone())?, band.high.get(range)?))
    }
}

/// Curves that are there.
#[derive(Debug, Clone, PartialEq)]
pub struct Laid {
    /// What the curves share the instant of ("take-off").
    pub zero: &'static str,
    /// Seconds from that instant.
    pub time_s: Vec<f64>,
    /// One a trial, in the set's order.
    pub trials: Vec<TrialCurves>,
    /// Their means; none where the trials have not the same phases.
    pub means: Option<Means>,
    /// Mean weight of the trials, N; NaN where it is not known.
    pub weight_n: f64,
}

/// A set whose curves were asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct SetCurves {
    /// The trial on whose screen they stand.
    pub shown: String,
    /// The trials asked for.
    pub ids: Vec<String>,
    /// The one that does not belong, left out of the means.
    pub odd: Option<String>,
    /// What is drawn over time.
    pub quantity: Quantity,
    /// The curves; none until the store has given the force.
    pub laid: Option<Laid>,
}

/// Trials of the same kind, person and day as one (of the same file while nobody is named), in order.
pub fn day<'a>(state: &'a State, shown: &SavedTrial) -> Vec<&'a Head> {
    let (athlete, session) = (shown.athlete_id.as_deref().unwrap_or(""), shown.session_id.as_deref().unwrap_or(""));
    let file = Head::of(shown).file_key().to_owned();
    let same = |h: &&Head| {
        let filed = !athlete.is_empty() && *h.athlete_id == *athlete && !session.is_empty() && *h.session_id == *session;
        !h.removed && h.test == shown.trial.test && (filed || h.file_key() == file && *h.athlete_id == *athlete)
    };
    let mut day: Vec<&Head> = state.heads.values().filter(same).collect();
    day.sort_by(|a, b| (&a.added, &a.file).cmp(&(&b.added, &b.file)).then(a.start_s.total_cmp(&b.start_s)));
    day
}

/// Most trials that are shown together.
pub const TOGETHER: usize = 40;

/// Of a long list, those nearest the one on show, in order.
pub fn nearest<T>(mut list: Vec<T>, shown: impl Fn(&T) -> bool) -> Vec<T> {
    if list.len() > TOGETHER {
        let at = list.iter().position(shown).unwrap_or(0);
        let from = at.saturating_sub(TOGETHER / 2).min(list.len() - TOGETHER);
        list.drain(..from);
        list.truncate(TOGETHER);
    }
    list
}

/// The trials of [`day`] that are shown together with one.
pub fn near<'a>(state: &'a State, shown: &SavedTrial) -> Vec<&'a Head> {
    nearest(day(state, shown), |h| *h.id == *shown.envelope.id)
}

/// Tests that are held against each other within a day.
const AGAINST: [TestKind; 3] = [TestKind::CountermovementJump, TestKind::SquatJump, TestKind::Isometric];

/// Trials of the day's other tests that one is held against; the latest, as many as are shown together.
pub fn against<'a>(state: &'a State, shown: &SavedTrial) -> Vec<&'a Head> {
    match (shown.athlete_id.as_deref(), shown.session_id.as_deref()) {
        (Some(athlete), Some(session)) if AGAINST.contains(&shown.trial.test) => others_of_day(state, shown.trial.test, athlete, session),
        _ => vec![],
    }
}

#[inline(never)]
fn others_of_day<'a>(state: &'a State, shown: TestKind, athlete: &str, session: &str) -> Vec<&'a Head> {
    let fits =
        |h: &&Head| !h.removed && *h.athlete_id == *athlete && *h.session_id == *session && h.test != shown && AGAINST.contains(&h.test);
    let mut found: Vec<&Head> = state.heads.values().filter(fits).collect();
    found.sort_by(|a, b| (&b.added, &b.id).cmp(&(&a.added, &a.id)));
    found.truncate(TOGETHER);
    found
}

/// Asks for the trials of the day that are not at hand, so that the set on the screen is whole.
pub fn rest_of_day(state: &State, id: &str) -> Vec<Effect> {
    let Some(shown) = state.trial(id) else { return vec![] };
    let mut ids: Vec<String> = near(state, shown).into_iter().map(|h| h.id.to_string()).collect();
    ids.extend(against(state, shown).into_iter().map(|h| h.id.to_string()));
    ids.extend(super::history::weighing_ids(state, shown));
    fetch_first(state, &ids, Event::Do("day-here".into(), id.to_owned())).unwrap_or_default()
}

/// Buttons of the set: `lay-set` (key of the shown trial, `|`, key of the odd one) and `set-quantity`. None for others.
pub fn pressed(state: &mut State, what: &str, id: &str) -> Option<Vec<Effect>> {
    match what {
        "day-here" => Some(vec![]),
        "lay-set" => {
            let (shown, odd) = id.split_once('|').unwrap_or((id, ""));
            Some(ask(state, shown, odd))
        }
        "set-quantity" => {
            if let (Some(set), Some(quantity)) = (state.set.as_mut(), Quantity::ALL.into_iter().find(|q| q.word() == id)) {
                set.quantity = quantity;
            }
            Some(vec![])
        }
        _ => None,
    }
}

fn ask(state: &mut State, shown: &str, odd: &str) -> Vec<Effect> {
    let Some(saved) = state.trial(shown) else { return vec![] };
    let own = Head::of(saved);
    let alike = |h: &&Head| h.protocol_key == own.protocol_key && h.side == own.side && h.verdict != Verdict::Unusable;
    let mut ids: Vec<String> = near(state, saved).into_iter().filter(alike).map(|h| h.id.to_string()).collect();
    ids.truncate(MOST);
    if ids.len() < 2 {
        return vec![];
    }
    let odd = Some(odd.to_owned()).filter(|o| ids.contains(o));
    state.set = Some(SetCurves { shown: shown.to_owned(), ids: ids.clone(), odd, quantity: Quantity::Force, laid: None });
    vec![Effect::Windows(ids)]
}

/// Takes the set's trials in; `false` where these are other trials.
pub fn take(state: &mut State, trials: &[(SavedTrial, Recording)]) -> bool {
    let Some(set) = state.set.as_mut().filter(|s| s.laid.is_none() && state.screen == Screen::Trial(s.shown.clone())) else {
        return false;
    };
    if !trials.iter().all(|t| set.ids.contains(&t.0.envelope.id)) {
        return false;
    }
    set.laid = lay(set, trials);
    if set.laid.is_none() {
        state.set = None;
    }
    true
}

/// The instant that the curves of a kind share, and its name.
fn zero_of(test: TestKind) -> Option<(&'static str, &'static str)> {
    match test {
        TestKind::DropLanding => Some(("touchdown", "touchdown")),
        TestKind::Isometric => Some(("onset", "onset")),
        TestKind::ReboundJumps => Some(("touchdown", "the first touchdown")),
        TestKind::QuietStanding | TestKind::Unrecognised => None,
        _ => Some(("take_off", "take-off")),
    }
}

/// One trial's curves with their own clock.
struct Read<'a> {
    trial: &'a Trial,
    id: &'a str,
    rate_hz: f64,
    start_s: f64,
    zero_s: f64,
    values: [Vec<f64>; 3],
}

fn lay(set: &SetCurves, trials: &[(SavedTrial, Recording)]) -> Option<Laid> {
    let (event, zero) = zero_of(trials.first()?.0.trial.test)?;
    let read = |id: &String| -> Option<Read<'_>> {
        let (saved, window) = trials.iter().find(|t| t.0.envelope.id == *id)?;
        let zero_s = saved.trial.events.get(event).copied().filter(|t| t.is_finite())?;
        let c = curves(window, &saved.options);
        let start_s = *c.time_s.first()?;
        let values = [c.force_n, c.velocity_m_s, c.displacement_m];
        Some(Read { trial: &saved.trial, id: &saved.envelope.id, rate_hz: window.clock.rate_hz, start_s, zero_s, values })
    };
    let all: Vec<Read<'_>> = set.ids.iter().filter_map(read).collect();
    if all.len() < 2 {
        return None;
    }
    // From a little before the first event of any trial to a little after the last.
    let (from, to) = all.iter().fold((0.0_f64, 0.0_f64), |(from, to), r| {
        let times = || r.trial.events.values().copied().filter(|t| t.is_finite());
        (times().fold(from, |a, t| a.min(t - r.zero_s)), times().fold(to, |b, t| b.max(t - r.zero_s)))
    });
    let (from, to) = ((from - 0.15).max(-4.0), (to + 0.15).min(8.0));
    let steps = ((to - from) / STEP_S) as usize;
    let each = |r: &Read<'_>| TrialCurves {
        id: r.id.to_owned(),
        values: [0, 1, 2].map(|k| {
            let curve = r.values.get(k).map_or(&[][..], Vec::as_slice);
            around(curve, r.rate_hz, (r.zero_s - r.start_s) * r.rate_hz, from, to, STEP_S)
        }),
    };
    let weights: Vec<f64> = all.iter().filter_map(|r| r.trial.weighing.as_ref()).map(|w| w.weight_n.value).collect();
    let belong: Vec<&Read<'_>> = all.iter().filter(|r| set.odd.as_deref() != Some(r.id)).collect();
    Some(Laid {
        zero,
        time_s: (0..=steps).map(|i| from + i as f64 * STEP_S).collect(),
        trials: all.iter().map(each).collect(),
        means: means(&belong),
        weight_n: weights.iter().sum::<f64>() / weights.len() as f64,
    })
}

/// The phases of a trial that follow one another without a gap.
fn chain(trial: &Trial) -> Vec<(String, f64, f64)> {
    let mut out: Vec<(String, f64, f64)> = Vec::new();
    for p in &trial.phases {
        if out.last().is_none_or(|last| (p.from_s - last.2).abs() < 1e-6) {
            out.push((p.name.clone(), p.from_s, p.to_s));
        }
    }
    out
}

/// Means phase by phase; none where the trials' phases differ or are too many.
fn means(belong: &[&Read<'_>]) -> Option<Means> {
    let chains: Vec<Vec<(String, f64, f64)>> = belong.iter().map(|r| chain(r.trial)).collect();
    let first = chains.first()?;
    let names = |c: &[(String, f64, f64)]| c.iter().map(|p| p.0.clone()).collect::<Vec<String>>();
    if first.is_empty() || first.len() > MOST_PHASES || belong.len() < 2 || chains.iter().any(|c| names(c) != names(first)) {
        return None;
    }
    let n = chains.len() as f64;
    let phases = first.iter().enumerate().map(|(i, p)| {
        let lasts = chains.iter().filter_map(|c| c.get(i)).map(|p| p.2 - p.1).sum::<f64>() / n;
        MeanPhase { name: p.0.clone(), duration_s: lasts }
    });
    let phases = phases.collect();
    let of = |k: usize| -> Option<Band> {
        let curve = |(r, c): (&&Read<'_>, &Vec<(String, f64, f64)>)| {
            let places: Vec<f64> = c.iter().map(|p| p.1).chain(c.last().map(|p| p.2)).map(|t| (t - r.start_s) * r.rate_hz).collect();
            by_phase(r.values.get(k)?, &places, POINTS)
        };
        let all: Option<Vec<Vec<f64>>> = belong.iter().zip(&chains).map(curve).collect();
        band(&all?, 0x5e7 + k as u64)
    };
    Some(Means { phases, trials: belong.len(), bands: [of(0)?, of(1)?, of(2)?] })
}
