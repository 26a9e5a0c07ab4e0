//! Trials of one athlete and protocol together: the set with its mean and the trial that does not belong, curves over each
//! other, a series of drops, one leg against the other, force against velocity over loads. The numbers come ready from the
//! caller; here they become sentences, tables and drawings.
use crate::answer::Valued;
use crate::charts::number::{Locale, WITHHELD};
use crate::charts::{MeanCurve, Overlay, SideMark, inline_flag, mean_curve, overlay, side_rule};
use crate::recording::Letters as _;
use maud::{Markup, html};

/// One trial of a set.
#[derive(Debug, Clone, PartialEq)]
pub struct Member {
    /// Its name ("Trial 2").
    pub name: String,
    /// Its record, to open it.
    pub id: Option<String>,
    /// Why it does not belong to the others; none where it does.
    pub odd: Option<String>,
}

/// One figure over a set.
#[derive(Debug, Clone, PartialEq)]
pub struct SetFigure {
    /// Its name.
    pub name: String,
    /// Its SI unit.
    pub unit: String,
    /// One value a member, in their order; none where it is withheld.
    pub values: Vec<Option<Valued>>,
    /// The best of them; none where neither way is better.
    pub best: Option<f64>,
    /// Their mean, of the members that belong.
    pub mean: Option<f64>,
    /// Their median.
    pub median: Option<f64>,
    /// Their coefficient of variation, %.
    pub cv_percent: Option<f64>,
}

/// Trials of one athlete, day and protocol.
#[derive(Debug, Clone, PartialEq)]
pub struct TrialSet {
    /// The trials in order.
    pub members: Vec<Member>,
    /// The figures in order.
    pub figures: Vec<SetFigure>,
}

/// The set: what does not belong and why, the trials, and best, mean, median and spread under them.
pub fn set(set: &TrialSet, locale: &Locale) -> Markup {
    let odd: Vec<(usize, &Member, &str)> =
        set.members.iter().filter_map(|m| Some((m, m.odd.as_deref()?))).enumerate().map(|(i, (m, why))| (i + 1, m, why)).collect();
    let flag_of = |m: &Member| odd.iter().find(|o| o.1 == m);
    html! {
        section id="set" aria-labelledby="set-head" {
            h2 id="set-head" { "The trials together" }
            p { (set_sentence(set, odd.len())) }
            @if !odd.is_empty() {
                ol class="noted" { @for (number, m, why) in &odd {
                    li { (inline_flag(*number, "this one")) span { (m.name) " does not belong to the others: " (why) } }
                } }
            }
            div class="wide" { table class="set" {
                caption class="sr" { "Each trial, and the set" }
                thead { tr { th scope="col" { "Trial" } @for f in &set.figures { th scope="col" class="num" { (head(f, locale)) } } } }
                tbody { @for (i, m) in set.members.iter().enumerate() {
                    tr {
                        th scope="row" {
                            @if let Some(id) = &m.id { a href={ "#" (id) } data-do="open" data-id=(id) { (m.name) } } @else { (m.name) }
                            @if let Some((number, _, why)) = flag_of(m) { " " (inline_flag(*number, why)) }
                        }
                        @for f in &set.figures { td class="num" { (valued(f.values.get(i).copied().flatten(), &f.unit, locale)) } }
                    }
                } }
                tfoot {
                    (foot("Best", set, |f| f.best, locale))
                    (foot("Mean", set, |f| f.mean, locale))
                    (foot("Median", set, |f| f.median, locale))
                    tr { th scope="row" { "Varies by (CV), %" } @for f in &set.figures {
                        td class="num" { (f.cv_percent.map_or_else(|| WITHHELD.to_owned(), |cv| locale.fixed(cv, 1))) }
                    } }
                }
            } }
            p class="hint" { "A change from one day to another is judged by means, never by the best trial." }
        }
    }
}

fn set_sentence(set: &TrialSet, odd: usize) -> String {
    let n = set.members.len();
    match (n, odd) {
        (0, _) => "No trial yet.".into(),
        (1, _) => "One trial: a mean and a spread need at least two.".into(),
        (_, 0) => format!("{n} trials that belong together."),
        (_, 1) => format!("{n} trials, one of which does not belong to the others; it is left out of the mean."),
        (_, k) => format!("{n} trials, {k} of which do not belong to the others; they are left out of the mean."),
    }
}

fn head(f: &SetFigure, locale: &Locale) -> Markup {
    let unit = locale.unit(&f.unit).0;
    html! { (f.name) @if !unit.is_empty() { ", " (unit) } }
}

fn foot(name: &str, set: &TrialSet, of: impl Fn(&SetFigure) -> Option<f64>, locale: &Locale) -> Markup {
    html! {
        tr class=[(name == "Mean").then_some("sum")] {
            th scope="row" { (name) }
            @for f in &set.figures { td class="num" { (plain(of(f), f, locale)) } }
        }
    }
}

/// A summary in the digits that the trials' own uncertainty supports.
fn plain(value: Option<f64>, f: &SetFigure, locale: &Locale) -> String {
    let factor = locale.unit(&f.unit).1;
    let u = f.values.iter().flatten().map(|v| v.u).filter(|u| u.is_finite()).fold(0.0, f64::max);
    value.map_or_else(|| WITHHELD.to_owned(), |v| locale.parts(v * factor, u * factor).0)
}

fn valued(value: Option<Valued>, unit: &str, locale: &Locale) -> Markup {
    let factor = locale.unit(unit).1;
    match value.filter(|v| v.value.is_finite()) {
        Some(v) => {
            let (value, spread) = locale.parts(v.value * factor, v.u * factor);
            html! { (value) @if let Some(spread) = spread { span class="spread" { " ± " (spread) } } }
        }
        None => html! { (WITHHELD) span class="sr" { "withheld" } },
    }
}

/// Curves over each other, and where there are enough trials their mean; the set's table is the table behind them.
pub fn curves(over: &Overlay<'_>, mean: Option<&MeanCurve<'_>>, locale: &Locale) -> Markup {
    html! {
        section id="curves" aria-labelledby="curves-head" {
            h2 id="curves-head" { "Curves over each other" }
            (overlay(over, locale))
            @if let Some(mean) = mean {
                h3 { "Mean, each phase stretched to the same length" }
                (mean_curve(mean, locale))
                p class="hint" {
                    @if mean.trials >= crate::charts::BAND_FROM { "Shaded: the band that holds the whole mean curve at once." }
                    @else { "A band needs six trials; there are " (mean.trials) "." }
                }
            }
        }
    }
}

/// A figure of one leg and the other, and of both where that was tested too.
#[derive(Debug, Clone, PartialEq)]
pub struct LegPair {
    /// The figure's name.
    pub name: String,
    /// Its SI unit.
    pub unit: String,
    /// On the left leg.
    pub left: Valued,
    /// On the right leg.
    pub right: Valued,
    /// On both legs.
    pub both: Option<Valued>,
    /// 100·(R − L)/max, %, with its standard uncertainty.
    pub difference_of_larger: Valued,
    /// 100·both/(L + R) − 100, %.
    pub deficit: Option<Valued>,
}

/// One leg against the other.
pub fn legs(pairs: &[LegPair], width: f64, locale: &Locale) -> Markup {
    let marks: Vec<SideMark> = pairs
        .iter()
        .filter(|p| p.difference_of_larger.value.is_finite() && p.difference_of_larger.u.is_finite())
        .map(|p| SideMark { name: p.name.clone(), percent: p.difference_of_larger.value, u: p.difference_of_larger.u.abs() })
        .collect();
    html! {
        section id="one-leg" aria-labelledby="one-leg-head" {
            h2 id="one-leg-head" { "One leg and the other" }
            p { (legs_sentence(pairs, locale)) }
                    (side_rule(&marks, width.clamp(260.0, 720.0), locale))
                    p class="hint" { "Difference as % of the larger leg, so it is about twice what % of the total would say. Shaded: what the measurement cannot tell from zero." }
                div class="wide" { table class="narrow" {
                    caption { "Each leg alone, and both" }
                    thead { tr {
                        th scope="col" { "Figure, unit" } th scope="col" class="num left-word" { "Left" } th scope="col" class="num right-word" { "Right" }
                        th scope="col" class="num" { "Both legs" } th scope="col" class="num" { "Difference, % of larger ±" } th scope="col" class="num" { "Two against the sum, % ±" }
                    } }
                    tbody { @for p in pairs { tr {
                        th scope="row" { (p.name) @if !locale.unit(&p.unit).0.is_empty() { span class="unit" { ", " (locale.unit(&p.unit).0) } } }
                        td class="num" { (valued(Some(p.left), &p.unit, locale)) } td class="num" { (valued(Some(p.right), &p.unit, locale)) }
                        td class="num" { (valued(p.both, &p.unit, locale)) }
                        td class="num" { (valued(Some(p.difference_of_larger), "%", locale)) } td class="num" { (valued(p.deficit, "%", locale)) }
                    } } }
                } }
        }
    }
}

fn legs_sentence(pairs: &[LegPair], locale: &Locale) -> String {
    let clear: Vec<String> = pairs
        .iter()
        .filter(|p| p.difference_of_larger.value.abs() > 2.0 * p.difference_of_larger.u)
        .map(|p| {
            let side = if p.difference_of_larger.value > 0.0 { "right" } else { "left" };
            let by = locale.with_uncertainty(p.difference_of_larger.value.abs(), p.difference_of_larger.u);
            format!("{} is higher on the {side} leg by {by}\u{a0}% of the larger", p.name.lower())
        })
        .collect();
    if clear.is_empty() {
        return "No difference between the legs is larger than its own uncertainty.".into();
    }
    let text = format!("{}. One day tells nothing about others: repeat before reading more into it.", clear.join("; "));
    text.capital()
}
