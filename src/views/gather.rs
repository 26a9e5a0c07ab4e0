//! From trials to what is shown of them together: which of a day belong in one set, which make a series, a pair of legs or a
//! line over loads. The arithmetic is [`crate::cohort::together`]'s.
use super::opening::figures_of;
use super::say::gravity_sentence;
use super::series::{DropSeries, DropStep, ForceVelocity, ForceVelocityLine, Load, drops, force_velocity};
use super::together::{LegPair, Member, SetFigure, TrialSet, legs, set};
use crate::answer::{TestKind, Trial, Valued, Verdict};
use crate::charts::number::Locale;
use crate::cohort::Gravities;
use crate::cohort::together as arithmetic;
use crate::cohort::together::{DropTrial, LoadPoint, Measured};
use crate::figures::{CATALOGUE, Definition, definition};
use crate::people::Protocol;
use crate::recording::Letters as _;
use crate::records::SavedTrial;
use crate::screen::State;
use crate::screen::set::nearest;
use maud::{Markup, html};

/// A figure's value and uncertainty in each trial.
type Row = Vec<Option<(f64, f64)>>;

/// A trial and what it is called beside others.
#[derive(Debug, Clone)]
pub struct Named<'a> {
    /// "Trial 2".
    pub name: String,
    /// Its record's key.
    pub id: Option<String>,
    /// The trial.
    pub trial: &'a Trial,
}

/// Everything that the trials of this one's day say together; nothing where it is alone.
pub fn section(state: &State, shown: &SavedTrial, width: f64) -> Markup {
    let day = day(state, shown);
    let named = |wanted: &dyn Fn(&SavedTrial) -> bool| -> Vec<Named<'_>> {
        let kept = day.iter().filter(|s| wanted(s) && s.trial.verdict != Verdict::Unusable).enumerate();
        kept.map(|(i, s)| Named { name: format!("Trial {}", i + 1), id: Some(s.envelope.id.clone()), trial: &s.trial }).collect()
    };
    let same =
        named(&|s| s.protocol_key == shown.protocol_key && s.trial.side == shown.trial.side && s.trial.load_kg == shown.trial.load_kg);
    let alike = |s: &SavedTrial| but_for_load_box_and_side(&s.protocol) == but_for_load_box_and_side(&shown.protocol);
    let (all, locale) = (named(&alike), &state.locale);
    let of = (same.len(), all.len());
    // Of hundreds, as in a file that was recorded all day, those beside this one: nobody reads more at once.
    let here = |n: &Named<'_>| n.id.as_deref() == Some(shown.envelope.id.as_str());
    let (same, all) = (nearest(same, here), nearest(all, here));
    let together = trial_set(&same, locale);
    let odd = together.members.iter().find(|m| m.odd.is_some()).and_then(|m| m.id.as_deref());
    html! {
        @if of.0.max(of.1) > same.len().max(all.len()) {
            p class="hint" { "Of " (of.0.max(of.1)) " such trials, the " (same.len().max(all.len())) " nearest this one are taken together here." }
        }
        @if day.iter().any(|s| (s.options.local_gravity() - shown.options.local_gravity()).abs() > 0.0) { (gravity(&day, locale)) }
        @if same.len() > 1 {
            (set(&together, locale))
            (shown_only(&same, locale))
            (super::set_curves::section(state, &shown.envelope.id, &same, odd, width))
        }
        @if shown.trial.test == TestKind::DropJump { (over_boxes(&all, &shown.trial, width, locale)) }
        @if all.iter().any(|n| n.trial.side == "left") { (on_each_leg(&all, &shown.trial, width, locale)) }
        @if all.iter().any(|n| n.trial.load_kg > 0.0) { (under_loads(&all, width, locale)) }
        @if shown.athlete_id.is_some() { (super::between::section(state, shown)) }
    }
}

// Functions of their own, so that a first visit can do without them (`site/rooms`).

#[inline(never)]
fn over_boxes(all: &[Named<'_>], shown: &Trial, width: f64, locale: &Locale) -> Markup {
    let boxes = drop_series(all, shown);
    html! { @if boxes.steps.len() > 2 { (drops(&boxes, width, locale)) } }
}

#[inline(never)]
fn on_each_leg(all: &[Named<'_>], shown: &Trial, width: f64, locale: &Locale) -> Markup {
    let pairs = leg_pairs(all, shown);
    html! { @if !pairs.is_empty() { (legs(&pairs, width, locale)) } }
}

#[inline(never)]
fn under_loads(all: &[Named<'_>], width: f64, locale: &Locale) -> Markup {
    let loads = over_loads(all);
    html! { @if loads.loads.len() > 2 { (force_velocity(&loads, width, locale)) } }
}

/// That trials of the day were read with different gravity, where that could be seen.
#[inline(never)]
fn gravity(day: &[&SavedTrial], locale: &Locale) -> Markup {
    let found = Gravities::of(day.iter().filter(|s| s.trial.verdict != Verdict::Unusable).map(|s| (s.options.local_gravity(), None)));
    html! { @if let Some(found) = found { p class="trust doubtful" { (gravity_sentence(&found, locale)) } } }
}

/// Rates that vary too much between these trials to be judged by, said; nothing where none does.
fn shown_only(trials: &[Named<'_>], locale: &Locale) -> Markup {
    let varies = |d: &'static Definition| {
        let most = d.scored_up_to_cv()?;
        let values: Vec<f64> = trials.iter().filter_map(|t| value(t.trial, d.id)).map(|v| v.value).collect();
        let cv = arithmetic::summary(&values, d.better)?.cv_percent?;
        (cv > most).then(|| format!("{} by {} %", d.name.lower(), locale.fixed(cv, 0)))
    };
    let told: Vec<String> = CATALOGUE.iter().filter_map(varies).collect();
    html! {
        @if !told.is_empty() {
            p id="shown-only" { "Shown, but not to be judged by: from trial to trial varies " (told.join(", ")) "; above 15 % a rate says more about the trial than about the athlete." }
        }
    }
}

/// Trials at hand of the same test, person and day (or of the same file while nobody is named), in order.
fn day<'a>(state: &'a State, shown: &SavedTrial) -> Vec<&'a SavedTrial> {
    let same = |s: &&SavedTrial| {
        let filed =
            s.athlete_id.is_some() && s.athlete_id == shown.athlete_id && s.session_id.is_some() && s.session_id == shown.session_id;
        !s.removed && s.trial.test == shown.trial.test && (filed || s.sha256 == shown.sha256 && s.athlete_id == shown.athlete_id)
    };
    let mut day: Vec<&SavedTrial> = state.trials().filter(same).collect();
    day.sort_by(|a, b| (&a.added, &a.file).cmp(&(&b.added, &b.file)).then(a.trial.start_s.total_cmp(&b.trial.start_s)));
    day
}

/// What must agree for trials that differ on purpose.
fn but_for_load_box_and_side(protocol: &Protocol) -> String {
    Protocol { load_kg: 0.0, box_m: None, side: None, ..protocol.clone() }.key()
}

fn value(trial: &Trial, id: &str) -> Option<Valued> {
    let figure = trial.figures.get(id)?;
    let value = figure.value.filter(|v| v.is_finite())?;
    Some(Valued { value, u: figure.u.filter(|u| u.is_finite()).unwrap_or(0.0) })
}

/// The set of some trials: the figures its kind's first sentence speaks of, and the trial that does not belong.
pub fn trial_set(trials: &[Named<'_>], locale: &Locale) -> TrialSet {
    let Some(test) = trials.first().map(|t| t.trial.test) else { return TrialSet { members: vec![], figures: vec![] } };
    let ids: Vec<&'static str> =
        figures_of(test).into_iter().filter(|id| trials.iter().any(|t| value(t.trial, id).is_some())).take(4).collect();
    let rows: Vec<(&str, Row)> =
        ids.iter().map(|id| (*id, trials.iter().map(|t| value(t.trial, id).map(|v| (v.value, v.u))).collect())).collect();
    let odd = arithmetic::odd_one(&rows);
    let figures = ids.iter().filter_map(|id| {
        let d = definition(id)?;
        let values: Vec<Option<Valued>> = trials.iter().map(|t| value(t.trial, id)).collect();
        let belong =
            values.iter().enumerate().filter(|(i, _)| odd.as_ref().is_none_or(|o| o.trial != *i)).filter_map(|(_, v)| v.map(|v| v.value));
        let summary = arithmetic::summary(&belong.collect::<Vec<f64>>(), d.better);
        Some(SetFigure {
            name: d.name.into(),
            unit: d.unit.into(),
            values,
            best: summary.and_then(|s| s.best),
            mean: summary.map(|s| s.mean),
            median: summary.map(|s| s.median),
            cv_percent: summary.and_then(|s| s.cv_percent),
        })
    });
    let why = |i: usize| {
        let odd = odd.as_ref().filter(|o| o.trial == i)?;
        let d = definition(&odd.figure)?;
        let (unit, factor) = locale.unit(d.unit);
        let u = trials.iter().filter_map(|t| value(t.trial, &odd.figure)).map(|v| v.u).fold(0.0, f64::max) * factor;
        let amount = |v: f64| format!("{} {unit}", locale.parts(v * factor, u).0).trim_end().replace(' ', "\u{a0}");
        Some(format!(
            "its {} is {}, the others’ mean {}; that is {} of their spreads away.",
            d.name.lower(),
            amount(odd.value),
            amount(odd.others),
            locale.fixed(odd.spreads, 1)
        ))
    };
    TrialSet {
        figures: figures.collect(),
        members: trials.iter().enumerate().map(|(i, t)| Member { name: t.name.clone(), id: t.id.clone(), odd: why(i) }).collect(),
    }
}

/// Whether two trials were done under the same load, kg: what belongs to a line over loads differs, everything else agrees.
fn same_load(a: &Trial, b: &Trial) -> bool {
    (a.load_kg - b.load_kg).abs() < 0.1
}

/// Whether two trials were done from the same box, or both from none.
fn same_box(a: &Trial, b: &Trial) -> bool {
    let box_of = |t: &Trial| t.drop.as_ref().and_then(|d| d.box_m);
    match (box_of(a), box_of(b)) {
        (Some(a), Some(b)) => (a - b).abs() < 0.005,
        (a, b) => a.is_none() && b.is_none(),
    }
}

/// Drop jumps in order of how far the body really fell: those on the same legs and under the same load as the one on show.
pub fn drop_series(trials: &[Named<'_>], shown: &Trial) -> DropSeries {
    let jumps = trials.iter().filter(|t| t.trial.test == TestKind::DropJump && t.trial.side == shown.side && same_load(t.trial, shown));
    let mut steps: Vec<DropStep> = jumps
        .filter_map(|t| {
            let box_m = t.trial.drop.as_ref().and_then(|d| d.box_m).filter(|b| b.is_finite());
            Some(DropStep {
                name: t.name.clone(),
                box_m,
                drop_m: value(t.trial, "drop_height")?,
                reactive_strength_index: value(t.trial, "reactive_strength_index"),
                contact_s: value(t.trial, "contact_time"),
                peak_per_kg: value(t.trial, "peak_contact_force_per_kg"),
            })
        })
        .collect();
    steps.sort_by(|a, b| a.drop_m.value.total_cmp(&b.drop_m.value));
    let points: Vec<DropTrial> =
        steps.iter().filter_map(|s| Some(DropTrial { drop_m: s.drop_m.value, index: s.reactive_strength_index?.value })).collect();
    let best = arithmetic::best_drop(&points);
    DropSeries { steps, best_drop_m: best.ok().map(|b| (b.drop_m.value, b.drop_m.low, b.drop_m.high)), why_not: best.err().map(Into::into) }
}

/// The mean of a figure over trials, with the standard error of that mean, never below the measurement's own.
fn mean_of(trials: &[&Trial], id: &str) -> Option<Measured> {
    let values: Vec<(f64, f64)> = trials.iter().filter_map(|t| value(t, id)).map(|v| (v.value, v.u)).collect();
    arithmetic::day_mean(&values).map(Into::into)
}

/// Figures of one leg and the other, where both were tested; both legs together beside them. All under the load and from the
/// box of the one on show.
pub fn leg_pairs(trials: &[Named<'_>], shown: &Trial) -> Vec<LegPair> {
    let on = |side: &str| -> Vec<&Trial> {
        trials.iter().map(|t| t.trial).filter(|t| t.side == side && same_load(t, shown) && same_box(t, shown)).collect()
    };
    let (left, right, both) = (on("left"), on("right"), on("both"));
    let Some(test) = left.first().filter(|_| !right.is_empty()).map(|t| t.test) else { return vec![] };
    let plain = |m: Measured| Valued { value: m.value, u: m.u };
    let pair = |id: &'static str| {
        let (d, l, r) = (definition(id)?, mean_of(&left, id)?, mean_of(&right, id)?);
        let two = mean_of(&both, id);
        // Two legs are held against the sum only where the figure adds up over legs: heights and forces, as custom has it.
        let adds_up = matches!(d.unit, "m" | "N" | "W" | "N·s" | "J");
        Some(LegPair {
            name: d.name.into(),
            unit: d.unit.into(),
            left: plain(l),
            right: plain(r),
            both: two.map(plain),
            difference_of_larger: plain(arithmetic::difference_of_larger(l, r)?),
            deficit: two.filter(|_| adds_up).and_then(|two| arithmetic::two_leg_deficit(l, r, two)).map(plain),
        })
    };
    let extra = ["mean_propulsion_force", "mean_braking_force", "peak_landing_force"];
    figures_of(test).into_iter().take(1).chain(extra).filter_map(pair).collect()
}

/// The two figures of the line over loads.
const FORCE: &str = "mean_propulsion_force_over_distance_per_kg";
const VELOCITY: &str = "mean_propulsion_velocity";

/// Correlation of the errors of the means of force and velocity: the measurement's share, which the trials kept, of what both
/// are uncertain by. 0 where the trials are from before it was kept.
fn correlation(trials: &[&Trial], u_product: f64) -> f64 {
    let both = |t: &&&Trial| value(t, FORCE).is_some() && value(t, VELOCITY).is_some();
    let known: Option<Vec<f64>> = trials.iter().filter(both).map(|t| t.covariance(FORCE, VELOCITY)).collect();
    let n = known.as_ref().map_or(0, Vec::len) as f64;
    let of_mean = known.map_or(0.0, |all| all.iter().sum::<f64>() / (n * n));
    let r = of_mean / u_product;
    if r.is_finite() { r.clamp(-1.0, 1.0) } else { 0.0 }
}

/// Jumps under several loads, and the line through them where it may be drawn.
pub fn over_loads(trials: &[Named<'_>]) -> ForceVelocity {
    let jumps = || {
        trials.iter().map(|t| t.trial).filter(|t| t.side == "both" && matches!(t.test, TestKind::CountermovementJump | TestKind::SquatJump))
    };
    let mut loads: Vec<f64> = jumps().map(|t| t.load_kg).filter(|l| l.is_finite()).collect();
    loads.sort_by(f64::total_cmp);
    loads.dedup_by(|a, b| (*a - *b).abs() < 1.0);
    let points: Vec<LoadPoint> = loads
        .iter()
        .filter_map(|load| {
            let under: Vec<&Trial> = jumps().filter(|t| (t.load_kg - load).abs() < 1.0).collect();
            let (force, velocity) = (mean_of(&under, FORCE)?, mean_of(&under, VELOCITY)?);
            Some(LoadPoint {
                load_kg: *load,
                force,
                velocity,
                correlation: correlation(&under, force.u * velocity.u),
                distance_m: mean_of(&under, "push_off_distance")?.value,
            })
        })
        .collect();
    let plain = |m: Measured| Valued { value: m.value, u: m.u };
    let (line, refused) = match arithmetic::force_velocity(&points) {
        Ok(l) => {
            let span = |i: crate::cohort::Interval| (i.value, i.low, i.high);
            let line = ForceVelocityLine {
                force_at_rest: plain(l.force_at_rest),
                velocity_without_force: span(l.velocity_without_force),
                slope: span(l.slope),
            };
            (Some(line), vec![])
        }
        Err(why) => (None, why),
    };
    ForceVelocity {
        loads: points.iter().map(|p| Load { load_kg: p.load_kg, force_per_kg: plain(p.force), velocity_m_s: plain(p.velocity) }).collect(),
        line,
        refused,
    }
}
