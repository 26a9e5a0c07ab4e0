//! What changed between two sessions or sets of days: a sentence for each target, what was also seen, what this comparison
//! could have shown, the drift to expect, sessions in time, and curves over each other.
use super::say::{change_interval, difference, figure_name, gravity_sentence, in_a_sentence, noise_words, size};
use crate::charts::bands::{Bands, apart, bands};
use crate::charts::change_rule::{ChangeMark, change_rule};
use crate::charts::history::{History, histories};
use crate::charts::number::Locale;
use crate::cohort::targets::{AlsoSeen, Sorted};
use crate::cohort::{Change, Gravities, Limits, Scale, Verdict};
use crate::figures::Better;
use maud::{Markup, html};

/// What the view is made from.
#[derive(Debug, Clone)]
pub struct ChangeView<'a> {
    /// The athlete's name or code.
    pub name: &'a str,
    /// Targets and what was also seen.
    pub sorted: &'a Sorted,
    /// Sessions in time, targets first.
    pub histories: &'a [History<'a>],
    /// Curves normalised phase by phase.
    pub by_phase: Option<Bands<'a>>,
    /// Curves in real time, aligned at take-off.
    pub in_time: Option<Bands<'a>>,
    /// More repeated test days that would narrow the noise ([`crate::cohort::Repeatability::days_wanted`]).
    pub days_wanted: Option<usize>,
    /// Where trials of the days shown were read with different gravity.
    pub gravity: Option<Gravities>,
}

/// The view.
pub fn change_view(view: &ChangeView<'_>, width: f64, locale: &Locale) -> Markup {
    let sorted = view.sorted;
    let marks: Vec<ChangeMark<'_>> = sorted
        .targets
        .iter()
        .map(|c| (c, true))
        .chain(sorted.also_seen.iter().map(|s| (&s.change, false)))
        .filter(|(c, _)| c.scale == Scale::Log)
        .map(|(change, target)| ChangeMark { name: figure_name(&change.figure), change, target })
        .collect();
    html! {
        section id="change" aria-labelledby="change-head" {
            h2 id="change-head" { "What changed" }
            @if let Some(first) = sorted.targets.first().or(sorted.also_seen.first().map(|s| &s.change)) {
                p class="about" { (view.name) ": " (days(&first.before.days, locale)) " against " (days(&first.after.days, locale)) ". Means of trials, never best trials." }
            } @else {
                p { "Nothing to compare yet: choose two days with jumps under the same protocol." }
            }
            @if let Some(found) = &view.gravity { p class="trust doubtful" { (gravity_sentence(found, locale)) } }
            @for change in &sorted.targets {
                p class="finding" { (sentence(change, locale)) }
                (details(change, locale))
            }
            @if !sorted.too_many.is_empty() {
                p class="hint" { "At most two figures are judged on their own; " (sorted.too_many.iter().map(|id| in_a_sentence(id)).collect::<Vec<_>>().join(", ")) " went to what was also seen." }
            }
            @if sorted.targets.is_empty() && !sorted.also_seen.is_empty() {
                p class="hint" { "No target was chosen beforehand, so nothing here is judged on its own." }
            }
            @if !marks.is_empty() {
                (change_rule(&marks, width.clamp(260.0, 720.0), locale))
                p class="hint" { "Whisker: 95 % interval of the change" @if marks.iter().any(|m| m.change.drift.is_some()) { ", expected drift taken off" } ". Shaded: smaller than worthwhile. Small triangles: the smallest true change this comparison finds in 80 of 100 cases. Filled: changed beyond noise." }
            }
            (also_seen(sorted, locale))
            (in_time(view, width, locale))
            (curves(view, width, locale))
            @if let Some(days) = view.days_wanted.filter(|d| *d > 0) {
                p class="hint" { "Another " (days) " repeated test day" @if days != 1 { "s" } " in the squad (two days less than ten apart, no block between) would pin the variation between days to within half of its value." }
            }
        }
    }
}

fn days(days: &[crate::people::Date], locale: &Locale) -> String {
    days.iter().map(|d| locale.day(*d)).collect::<Vec<_>>().join(", ")
}

/// One of the five sentences, or that nothing can be said. Figures that are never scored are higher or lower, never better.
pub fn sentence(change: &Change, locale: &Locale) -> String {
    let name = in_a_sentence(&change.figure);
    let name = capital(&name);
    let scored = change.better != Better::Neither;
    let word = |better: bool| match (scored, better) {
        (true, true) => "better",
        (true, false) => "worse",
        (false, true) => "higher",
        (false, false) => "lower",
    };
    let Some(i) = change.beyond_drift() else {
        return format!(
            "{name}: cannot say. How far it varies from day to day without any change is known neither from own repeated days nor from a publication. Test the squad on two days less than ten apart."
        );
    };
    let amount = change_interval(change, i, locale);
    let beyond = if change.drift.is_some() { " beyond the expected drift" } else { "" };
    let least = change.worthwhile.map(|w| size(&change.figure, change.scale, w, locale));
    match change.verdict {
        Verdict::WorthwhileBetter => format!("{name} is {} by a worthwhile amount: {amount}{beyond}.", word(true)),
        Verdict::WorthwhileWorse => format!("{name} is {} by a worthwhile amount: {amount}{beyond}.", word(false)),
        Verdict::Trivial => format!("{name} has not changed by a worthwhile amount: {amount}{beyond}."),
        Verdict::NotSurelyWorthwhile { better } => match least {
            Some(least) => format!("{name} is {}, but not surely by a worthwhile amount ({least}): {amount}{beyond}.", word(better)),
            None => format!(
                "{name} is {}; whether by a worthwhile amount is not known, for the spread between athletes is not: {amount}{beyond}.",
                word(better)
            ),
        },
        Verdict::CannotTell => format!("Cannot tell whether {} changed: {amount}{beyond}.", in_a_sentence(&change.figure)),
        Verdict::CannotSay => format!("{name}: cannot say."),
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

fn details(change: &Change, locale: &Locale) -> Markup {
    let said = |y: f64| size(&change.figure, change.scale, y, locale);
    html! {
        ul class="grounds" {
            @if let Some(d) = change.design {
                li { "With " (counts(&change.before.trials)) " and " (counts(&change.after.trials)) " trials this comparison shows a true change of " (said(d.smallest)) " or more (80 of 100 cases)." }
            }
            @match change.worthwhile {
                Some(w) => li { "Smallest worthwhile change: " (said(w)) " (a fifth of the spread between athletes)." },
                None => li { "Smallest worthwhile change: not known below ten athletes, or where they differ no more than the error." },
            }
            @if let Some(drift) = change.drift {
                li { "It was picked as the lowest; such a figure drifts back without any training, here by about " (difference(&change.figure, change.scale, drift, locale)) ". The change is judged beyond that." }
            }
            li { "Variation between days: " (noise_words(change.noise.as_ref())) "." }
        }
    }
}

fn counts(trials: &[usize]) -> String {
    trials.iter().map(ToString::to_string).collect::<Vec<_>>().join(" + ")
}

fn also_seen(sorted: &Sorted, locale: &Locale) -> Markup {
    html! {
        @if !sorted.also_seen.is_empty() {
            div class="wide" { table class="also-seen" {
                caption { "Also seen" }
                thead { tr { th scope="col" { "Figure" } th scope="col" class="num" { "Change (95 %)" } th scope="col" class="num" { "Could show" } th scope="col" class="num" { "By chance, %" } th scope="col" { "" } } }
                tbody { @for seen in &sorted.also_seen { (seen_row(seen, locale)) } }
            } }
            p class="hint" { "Not asked about beforehand. By chance: how likely so large a change is where nothing changed, raised for how many figures were looked at (adjusted p). “Worth asking next” keeps false alarms among those so called to one in ten (false discovery rate, Benjamini–Hochberg): a hint for the next block, no finding." }
        }
    }
}

fn seen_row(seen: &AlsoSeen, locale: &Locale) -> Markup {
    let c = &seen.change;
    html! {
        tr {
            th scope="row" { (figure_name(&c.figure)) }
            td class="num" { @match c.beyond_drift() { Some(i) => (change_interval(c, i, locale)), None => (difference(&c.figure, c.scale, c.difference, locale)) } }
            td class="num" { @if let Some(d) = c.design { (size(&c.figure, c.scale, d.smallest, locale)) } }
            td class="num" { @if let Some(p) = seen.adjusted_p { (p_words(p, locale)) } }
            td { @if seen.stands_out { "worth asking next" } @else if c.interval.is_none() { "cannot say" } }
        }
    }
}

fn p_words(p: f64, locale: &Locale) -> String {
    if p < 0.001 { format!("< {}", locale.fixed(0.1, 1)) } else { locale.fixed(100.0 * p, usize::from(p < 0.1)) }
}

fn in_time(view: &ChangeView<'_>, width: f64, locale: &Locale) -> Markup {
    html! {
        @if !view.histories.is_empty() {
            h3 { "Sessions in time" }
            (histories(view.histories, width.clamp(260.0, 860.0), locale, "Sessions in time with the limits of days without change; the same numbers stand in the table."))
            p class="hint" { (limits_words(view)) }
            details class="numbers" {
                summary { "The numbers" }
                @for h in view.histories { (history_table(h, locale)) }
            }
        }
    }
}

/// What the shading means.
fn limits_words(view: &ChangeView<'_>) -> &'static str {
    if view.histories.iter().any(|h| h.chart.limits == Limits::Unknown) {
        return "Where variation between days is not known there are no limits.";
    }
    let only_first =
        |h: &History<'_>| h.chart.points.iter().filter(|p| p.baseline).count() == 1 && !h.chart.points.iter().any(|p| p.first_ever);
    if view.histories.iter().all(only_first) {
        return "Shaded: where a day without any change falls 19 times in 20, about the one hollow day. It is a first session, and people learn the test. A filled day is a later one.";
    }
    "Shaded: where a day without any change falls 19 times in 20, about the mean of the hollow days (a cross is a first session, which is left out: people learn the test); filled, a later day. One day in twenty lies outside by chance."
}

/// The table behind one history.
pub fn history_table(h: &History<'_>, locale: &Locale) -> Markup {
    let decimals = Locale::decimals(&h.unit.0, usize::from(h.chart.centre.value.abs() * h.unit.1 < 100.0));
    let shown = |v: f64| locale.fixed(v * h.unit.1, decimals);
    html! {
        table {
            caption { (h.name) @if !h.unit.0.is_empty() { ", " (h.unit.0) } }
            thead { tr { th scope="col" { "Day" } th scope="col" class="num" { "Mean" } th scope="col" class="num" { "Trials" } th scope="col" { "" } } }
            tbody {
                @for p in &h.chart.points {
                    tr { td { (locale.day(p.day)) } td class="num" { (shown(p.value)) } td class="num" { (p.trials) }
                        td { @if p.outside { "outside" } @else if p.baseline { "baseline" } @else if p.first_ever { "first session, left out of the mean" } @if p.doubtful { " doubtful trials only" } } }
                }
                @if h.chart.centre.low.is_finite() {
                    tr { td { "Limits" } td class="num" { (shown(h.chart.centre.low)) " to " (shown(h.chart.centre.high)) } td {} td {} }
                }
            }
        }
    }
}

fn curves(view: &ChangeView<'_>, width: f64, locale: &Locale) -> Markup {
    let width = width.clamp(260.0, 860.0);
    html! {
        @if view.by_phase.is_some() || view.in_time.is_some() {
            h3 { "Curves over each other" }
            @if let Some(b) = &view.by_phase {
                p { (curve_sentence(b)) }
                (bands(b, width, locale, "Mean force before and after, phase by phase."))
            }
            @if let Some(b) = &view.in_time { (bands(b, width, locale, "Mean force before and after in real time, aligned at take-off.")) }
            p class="hint" { "Bands hold the whole mean curve at once in 95 of 100 cases and need 6 trials a side. They know these trials, not the variation between days: a parting of the curves alone is no change." }
        }
    }
}

fn curve_sentence(b: &Bands<'_>) -> String {
    let Some(d) = b.difference else {
        return format!("No band: {} and {} trials, and a band needs 6 a side.", b.before.trials, b.after.trials);
    };
    let stretches = apart(d, b.x);
    let phases: Vec<&str> = b
        .phases
        .iter()
        .filter(|(_, from, to)| stretches.iter().any(|s| s.0.max(*from) < s.1.min(*to)))
        .map(|(name, ..)| name.as_str())
        .collect();
    if phases.is_empty() {
        "The curves part nowhere beyond their trials’ spread.".into()
    } else {
        format!("Beyond their trials’ spread the curves part in {}.", phases.join(", "))
    }
}
