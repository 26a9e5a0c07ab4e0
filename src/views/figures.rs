//! The figures as one table: name and unit, value ± in the digits it supports, per kg beside it, and "why this number?".
use super::doubts::{Doubt, marks};
use crate::answer::{Figure, Trial};
use crate::charts::number::{Locale, WITHHELD};
use crate::charts::words::{event_name, spoken};
use crate::figures::{definition, stretch_in, words_in};
use crate::recording::Letters as _;
use maud::{Markup, html};

/// Headings in the order of the movement.
const GROUPS: &[&str] = &[
    "Jump",
    "Set of rebounds",
    "Push or pull",
    "Standing",
    "Drop and contact",
    "Braking",
    "Propulsion",
    "Rebound",
    "Landing",
    "Manner",
    "Left and right",
];
const PER_KG: &str = "_per_kg";

/// The figures of a trial, grouped.
pub fn table(trial: &Trial, doubts: &[Doubt<'_>], highlight: Option<&str>, locale: &Locale) -> Markup {
    html! {
        section id="figures" aria-labelledby="figures-head" {
            h2 id="figures-head" { "Figures" }
            div class="groups" { @for group in groups(trial) {
                @let rows = rows(trial, &group);
                @let per_kg = rows.iter().any(|(_, _, twin)| twin.is_some());
                table class="figures" {
                    caption { (group) }
                    thead {
                        tr {
                            th scope="col" { "Figure, unit" }
                            th scope="col" class="num" { "Value ±" }
                            @if per_kg { th scope="col" class="num" { "per kg ±" } }
                        }
                    }
                    tbody {
                        @for (id, figure, twin) in &rows {
                            tr id={ "figure-" (id) } class=[(highlight == Some(*id)).then_some("set-off")] {
                                th scope="row" { (why(trial, id, figure, &marks(doubts, id), highlight, locale)) }
                                td class="num" { (cell(figure, locale)) }
                                @if per_kg { td class="num per-kg" { @if let Some(twin) = twin { (cell(twin, locale)) } } }
                            }
                        }
                    }
                }
            } }
        }
    }
}

fn group_of(id: &str) -> &'static str {
    definition(id).map_or("Manner", |d| d.group)
}

/// The headings this trial has figures under.
fn groups(trial: &Trial) -> Vec<String> {
    let has = |group: &str| trial.figures.keys().any(|id| group_of(id) == group);
    let mut groups: Vec<String> = GROUPS.iter().filter(|g| has(g)).map(|g| (*g).to_owned()).collect();
    for id in trial.figures.keys() {
        let group = group_of(id);
        if !groups.iter().any(|g| g == group) {
            groups.push(group.to_owned());
        }
    }
    groups
}

/// Figures of a heading; a twin per kg stands in its figure's row.
fn rows<'a>(trial: &'a Trial, group: &str) -> Vec<(&'a str, &'a Figure, Option<&'a Figure>)> {
    let in_group = trial.figures.iter().filter(|(id, _)| group_of(id) == group);
    in_group
        .filter(|(id, _)| id.strip_suffix(PER_KG).is_none_or(|base| !trial.figures.contains_key(base)))
        .map(|(id, figure)| (id.as_str(), figure, trial.figures.get(&format!("{id}{PER_KG}"))))
        .collect()
}

fn cell(figure: &Figure, locale: &Locale) -> Markup {
    let factor = locale.unit(&figure.unit).1;
    match figure.value {
        Some(value) => {
            let (value, spread) = locale.parts(value * factor, figure.u.unwrap_or(0.0) * factor);
            html! { (value) @if let Some(spread) = spread { span class="spread" { " ± " (spread) } } }
        }
        None => html! { (WITHHELD) span class="sr" { "withheld" } },
    }
}

/// A figure's name, opening onto its definition.
fn why(trial: &Trial, id: &str, figure: &Figure, marks: &Markup, highlight: Option<&str>, locale: &Locale) -> Markup {
    let known = definition(id);
    let name = known.map_or_else(
        || spoken(id),
        // The heading above says the phase already.
        |d| d.name.strip_suffix(&format!(", {}", d.group.lower())).unwrap_or(d.name).to_owned(),
    );
    let (unit, factor) = locale.unit(&figure.unit);
    html! {
        details id={ "why-" (id) } class="why" {
            summary { (name) @if !unit.is_empty() { span class="unit" { ", " (unit) } } span class="sr" { ": why this number?" } (marks) }
            dl {
                @if let Some(d) = known {
                    @let (words, formula) = words_in(d, |event| trial.events.contains_key(event));
                    dt { "What it is" } dd { (locale.amounts(&words)) }
                    dt { "Formula" } dd class="formula" { (formula) }
                    dt { "Source" } dd { (d.source) }
                }
                @if let (Some(_), Some(u)) = (figure.value, figure.u) {
                    dt { "Uncertainty" }
                    dd { "standard uncertainty " (locale.fixed(u * factor, decimals_for(u * factor))) " " (unit)
                        @if let Some(part) = &figure.mostly_from { ", mostly from " (part) } }
                }
                @if let Some(d) = known {
                    @let (from, to) = stretch_in(d, |event| trial.events.contains_key(event));
                    dt { "Read from" }
                    dd {
                        (event_name(from)) @if from != to { " to " (event_name(to)) } " "
                        button type="button" data-do="highlight" data-id=(id) aria-pressed=(if highlight == Some(id) { "true" } else { "false" }) {
                            "Show on the trace"
                        }
                    }
                }
            }
        }
        @if let (None, Some(reason)) = (figure.value, &figure.why) { p class="withheld" { (reason) } }
    }
}

/// Decimals that show two significant digits.
fn decimals_for(value: f64) -> usize {
    let mut decimals = 0;
    let mut size = value.abs();
    while size < 10.0 && decimals < 6 {
        size *= 10.0;
        decimals += 1;
    }
    decimals
}
