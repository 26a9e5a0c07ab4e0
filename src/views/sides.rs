//! Left against right: a sentence, the signed rule, and the table behind it.
use super::doubts::{self, Doubt, marks};
use crate::answer::{SideFigure, Trial};
use crate::charts::number::Locale;
use crate::charts::words::spoken;
use crate::charts::{SideMark, side_rule};
use crate::figures::{SIDES, SIDES_SOURCE};
use crate::recording::Letters as _;
use maud::{Markup, html};

/// The section; nothing with one plate.
pub fn section(trial: &Trial, doubts: &[Doubt<'_>], locale: &Locale, width: f64) -> Markup {
    if trial.sides.is_empty() {
        return html! {};
    }
    let marks: Vec<SideMark> =
        trial.sides.iter().map(|(id, s)| SideMark { name: name(id), percent: s.difference_of_total_percent, u: s.u }).collect();
    html! {
        section id="sides" aria-labelledby="sides-head" {
            h2 id="sides-head" { "Left and right" }
            @let told: Vec<&Doubt<'_>> = doubts.iter().filter(|d| doubts::touches(&d.notice.code, doubts::SIDES) && !doubts::touches(&d.notice.code, "jump_height")).collect();
            p { @for d in &told { (doubts::mark_of(doubts, d.notice)) "\u{a0}" (d.notice.message) " " } (sentence(trial, locale)) }
            div class="both" { div {
            (side_rule(&marks, width.clamp(260.0, 560.0), locale))
            p class="hint" { "Difference as % of the total of both sides. Shaded: what this trial’s measurement cannot tell from zero. Whisker: the figure’s own ± (k = 2)." }
            (why(trial))
            }
            div class="wide" {
                table class="figures" {
                    caption { "Each side" }
                    thead { tr {
                        th scope="col" { "Figure, unit" } th scope="col" class="num left-word" { "Left ±" } th scope="col" class="num right-word" { "Right ±" }
                        th scope="col" class="num" { "Right’s share, %" } th scope="col" class="num" { "Difference, % of total ±" }
                    } }
                    tbody { @for (id, side) in &trial.sides { (row(id, side, doubts, locale)) } }
                }
            } }
        }
    }
}

fn name(id: &str) -> String {
    SIDES.iter().find(|side| side.0 == id).map_or_else(|| spoken(id), |side| side.1.to_owned())
}

/// How each figure is made, and after whom.
fn why(trial: &Trial) -> Markup {
    html! {
        details class="why" id="why-sides" {
            summary { "Why these numbers?" }
            dl {
                @for (_, name, formula) in SIDES.iter().filter(|s| trial.sides.contains_key(s.0)) { dt { (name) } dd class="formula" { (formula) } }
                dt { "Source" } dd { (SIDES_SOURCE) }
            }
        }
    }
}

fn row(id: &str, side: &SideFigure, doubts: &[Doubt<'_>], locale: &Locale) -> Markup {
    let (unit, factor) = locale.unit(&side.unit);
    let size = side.left.abs().max(side.right.abs()) * factor;
    let decimals = if size >= 100.0 {
        0
    } else if size >= 10.0 {
        1
    } else {
        2
    };
    // Records from before each side had its own ± show the value alone.
    let amount = |value: f64, u: Option<f64>| match u.filter(|u| *u > 0.0) {
        Some(u) => {
            let (value, spread) = locale.parts(value * factor, u * factor);
            html! { (value) @if let Some(spread) = spread { span class="spread" { " ± " (spread) } } }
        }
        None => html! { (locale.fixed(value * factor, decimals)) },
    };
    html! {
        tr {
            th scope="row" { (name(id)) @if !unit.is_empty() { span class="unit" { ", " (unit) } } (marks(doubts, doubts::SIDES)) }
            td class="num" { (amount(side.left, side.u_left)) }
            td class="num" { (amount(side.right, side.u_right)) }
            td class="num" { (locale.parts(side.share_right_percent, side.u / 2.0).0) }
            td class="num" { (locale.with_uncertainty(side.difference_of_total_percent, side.u)) }
        }
    }
}

/// "Impulse, braking" is for a list; a sentence says "braking impulse".
fn in_a_sentence(id: &str) -> String {
    let name = name(id).lower();
    name.split_once(", ").map_or_else(|| name.clone(), |(what, phase)| format!("{phase} {what}"))
}

/// The figures that the sentence speaks of: one a phase; the drawing shows the rest.
const SPOKEN: &[&str] = &["braking_impulse", "propulsion_impulse", "landing_impulse"];

/// What one trial can say: only beyond its own uncertainty, and not about other days.
fn sentence(trial: &Trial, locale: &Locale) -> String {
    let any = trial.sides.keys().any(|id| SPOKEN.contains(&id.as_str()));
    let beyond = |higher: f64| {
        let clear = trial.sides.iter().filter(move |(_, s)| s.difference_of_total_percent * higher > 2.0 * s.u);
        let told = clear.filter(move |(id, _)| !any || SPOKEN.contains(&id.as_str()));
        told.map(|(id, s)| format!("{} by {} %", in_a_sentence(id), locale.with_uncertainty(s.difference_of_total_percent.abs(), s.u)))
            .collect::<Vec<_>>()
            .join(", ")
    };
    let sides: Vec<String> = [("Left", beyond(-1.0)), ("Right", beyond(1.0))]
        .into_iter()
        .filter(|(_, figures)| !figures.is_empty())
        .map(|(side, figures)| format!("{side} higher: {figures} of the total."))
        .collect();
    if sides.is_empty() {
        return "In this trial no difference between left and right is larger than its own uncertainty.".into();
    }
    format!("{} One trial decides nothing: repeat before reading more into it.", sides.join(" "))
}
