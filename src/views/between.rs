//! One test of a day against another: how much a countermovement adds to a squat jump, how much of the isometric force a jump
//! reaches. Means of the same athlete, day, legs and load; shown, never scored.
use super::gather::{Named, trial_set};
use crate::answer::{TestKind, Verdict};
use crate::charts::number::{Locale, WITHHELD};
use crate::charts::words::test_name;
use crate::cohort::Interval;
use crate::cohort::together::{DayMean, between, day_mean};
use crate::figures::definition;
use crate::recording::Letters as _;
use crate::records::SavedTrial;
use crate::screen::State;
use maud::{Markup, html};

/// One ratio of the day.
#[derive(Debug, Clone, PartialEq)]
pub struct Ratio {
    /// What is held against what, in a sentence's words.
    pub name: &'static str,
    /// The tests and their means.
    pub of: [(TestKind, Option<DayMean>); 2],
    /// The figure's SI unit.
    pub unit: &'static str,
    /// The ratio with its interval, or why it is withheld.
    pub found: Result<Interval, String>,
}

/// What is held against what: a figure of one test, a figure of another.
struct Pair {
    name: &'static str,
    above: &'static [TestKind],
    of_above: &'static str,
    below: TestKind,
    of_below: &'static str,
}

/// Countermovement and squat jump [McGuigan et al. 2006], jump and isometric gross peak force [Sheppard et al. 2011].
const PAIRS: &[Pair] = &[
    Pair {
        name: "Height with a countermovement, from a squat",
        above: &[TestKind::CountermovementJump],
        of_above: "jump_height",
        below: TestKind::SquatJump,
        of_below: "jump_height",
    },
    Pair {
        name: "Peak force in a jump, in the isometric test",
        above: &[TestKind::CountermovementJump, TestKind::SquatJump],
        of_above: "peak_propulsion_force",
        below: TestKind::Isometric,
        of_below: "gross_peak_force",
    },
];

/// The trials of one test of a day that may be held against the shown one's: the same legs, the same load.
fn of_test<'a>(day: &[&'a SavedTrial], shown: &SavedTrial, test: TestKind) -> Vec<&'a SavedTrial> {
    let fits =
        |s: &&&SavedTrial| s.trial.test == test && s.trial.side == shown.trial.side && (s.trial.load_kg - shown.trial.load_kg).abs() < 0.1;
    day.iter().filter(fits).copied().collect()
}

/// Those of one test that were done in one way, and without what would spoil the comparison; in words why there are none.
fn comparable<'a>(all: Vec<&'a SavedTrial>, shown: &SavedTrial) -> Result<Vec<&'a SavedTrial>, String> {
    let Some(test) = all.first().map(|s| s.trial.test) else { return Err("not done on these legs under this load".into()) };
    let name = test_name(test).lower();
    let jump = |t: TestKind| t != TestKind::Isometric;
    // Hands and shoes change a jump's height; what a pull is held by is no hand of a jump.
    let alike = |s: &SavedTrial| {
        let (a, b) = (&s.protocol, &shown.protocol);
        !(jump(test) && jump(shown.trial.test)) || (a.hands == b.hands && a.footwear.trim().lower() == b.footwear.trim().lower())
    };
    let own = |s: &SavedTrial| test != shown.trial.test || s.protocol_key == shown.protocol_key;
    let all: Vec<&SavedTrial> = all.into_iter().filter(|s| alike(s) && own(s)).collect();
    let Some(first) = all.first() else { return Err(format!("each {name} of the day was done with other hands or footwear")) };
    if all.iter().any(|s| s.protocol_key != first.protocol_key) {
        return Err(format!("more than one protocol of the {name} that day: they are not pooled"));
    }
    let clean: Vec<&SavedTrial> = all.into_iter().filter(|s| s.trial.notices.iter().all(|n| n.code != "hidden_dip")).collect();
    if clean.is_empty() { Err(format!("each {name} of the day has a dip, which makes it a countermovement jump")) } else { Ok(clean) }
}

/// The day's mean of a figure over trials that belong together.
fn mean(trials: &[&SavedTrial], id: &str, locale: &Locale) -> Option<DayMean> {
    let named: Vec<Named<'_>> = trials.iter().map(|s| Named { name: String::new(), id: None, trial: &s.trial }).collect();
    let set = trial_set(&named, locale);
    let belong = trials.iter().zip(&set.members).filter(|(_, m)| m.odd.is_none());
    let value = |s: &SavedTrial| {
        let figure = s.trial.figures.get(id)?;
        Some((figure.value.filter(|v| v.is_finite())?, figure.u.filter(|u| u.is_finite()).unwrap_or(0.0)))
    };
    day_mean(&belong.filter_map(|(s, _)| value(s)).collect::<Vec<_>>())
}

/// The ratios that the shown trial's test is a part of, where the other test was done that day, too.
pub fn ratios(day: &[&SavedTrial], shown: &SavedTrial, locale: &Locale) -> Vec<Ratio> {
    let one = |pair: &Pair| {
        let done = |test: TestKind| !of_test(day, shown, test).is_empty();
        let above = pair.above.iter().copied().find(|t| done(*t)).filter(|_| done(pair.below))?;
        if shown.trial.test != above && shown.trial.test != pair.below {
            return None;
        }
        let of = |test: TestKind, id: &str| {
            let trials = comparable(of_test(day, shown, test), shown)?;
            mean(&trials, id, locale).ok_or_else(|| format!("the {} gives no such figure", test_name(test).lower()))
        };
        let (a, b) = (of(above, pair.of_above), of(pair.below, pair.of_below));
        let found = match (&a, &b) {
            (Ok(a), Ok(b)) => between(*a, *b).map_err(Into::into),
            (Err(why), _) | (_, Err(why)) => Err(why.clone()),
        };
        let unit = definition(pair.of_above).map_or("", |d| d.unit);
        Some(Ratio { name: pair.name, of: [(above, a.ok()), (pair.below, b.ok())], unit, found })
    };
    PAIRS.iter().filter_map(one).collect()
}

/// The ratios of the shown trial's day; nothing where it stands alone.
#[inline(never)]
pub fn section(state: &State, shown: &SavedTrial) -> Markup {
    let of_day = |s: &&SavedTrial| {
        s.athlete_id.is_some()
            && s.athlete_id == shown.athlete_id
            && s.session_id.is_some()
            && s.session_id == shown.session_id
            && !s.removed
            && s.trial.verdict != Verdict::Unusable
    };
    let day: Vec<&SavedTrial> = state.trials().filter(of_day).collect();
    drawn(&ratios(&day, shown, &state.locale), &state.locale)
}

/// The section.
pub fn drawn(ratios: &[Ratio], locale: &Locale) -> Markup {
    let number = |v: f64| locale.fixed(v, 2);
    html! {
        @if !ratios.is_empty() {
            section id="between-tests" aria-labelledby="between-head" {
                h2 id="between-head" { "One test against another" }
                @for r in ratios { p { (sentence(r, locale)) } }
                div class="wide" { table class="narrow" {
                    caption class="sr" { "Means of this day against each other" }
                    thead { tr {
                        th scope="col" { "What, unit" } th scope="col" class="num" { "Ratio" } th scope="col" class="num" { "95 % interval" }
                        th scope="col" class="num" { "First ±" } th scope="col" class="num" { "Second ±" }
                    } }
                    tbody { @for r in ratios { tr {
                        th scope="row" { (r.name) span class="unit" { ", " (locale.unit(r.unit).0) } }
                        @match &r.found {
                            Ok(i) => { td class="num" { (number(i.value)) } td class="num" { (number(i.low)) " to " (number(i.high)) } },
                            Err(_) => { td class="num" { (WITHHELD) span class="sr" { "withheld" } } td class="num" { (WITHHELD) span class="sr" { "withheld" } } },
                        }
                        @for (_, mean) in &r.of { td class="num" { (amount(mean.as_ref(), r.unit, locale)) } }
                    } } }
                } }
                p class="hint" {
                    "Means of this day, on the same legs and under the same load; a trial that does not belong to its set is left out, and a squat jump with a dip. Neither a high ratio nor a low one is better: they are shown, not scored."
                    @if ratios.iter().any(|r| r.of.iter().any(|(_, m)| m.is_some_and(|m| m.trials == 1))) {
                        " Of one trial alone the interval is the measurement’s: from trial to trial people differ more."
                    }
                }
            }
        }
    }
}

fn amount(mean: Option<&DayMean>, unit: &str, locale: &Locale) -> Markup {
    let factor = locale.unit(unit).1;
    html! {
        @match mean {
            Some(m) => {
                (locale.with_uncertainty(m.value * factor, m.u * factor)) " "
                span class="quiet" { "(" (m.trials) @if m.trials == 1 { " trial)" } @else { " trials)" } }
            },
            None => { (WITHHELD) span class="sr" { "withheld" } },
        }
    }
}

fn sentence(r: &Ratio, locale: &Locale) -> String {
    let [(above, _), (below, _)] = r.of;
    let (above, below) = (test_name(above).lower(), test_name(below).lower());
    let what = if r.unit == "m" { "the height" } else { "the peak force, body weight included," };
    match &r.found {
        Ok(i) => {
            let range = format!("95 % interval {} to {}", locale.fixed(i.low, 2), locale.fixed(i.high, 2));
            format!("The {above} reached {} times {what} of the {below} ({range}).", locale.fixed(i.value, 2))
        }
        Err(why) => format!("The {above} is not held against the {below}: {why}."),
    }
}
