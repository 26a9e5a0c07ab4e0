//! The column panel: a row a column with its first values, role, unit, sign and why; the trace as it would be read; and
//! the list of what is remembered.
use crate::recording::{ColumnGuess, Explained, Unit};
use crate::screen::columns::{Choice, Panel, remembered};
use crate::screen::{Job, State};
use maud::{Markup, html};

const ROLES: [(&str, &str); 6] =
    [("-", "leave out"), ("time", "time"), ("sample", "sample number"), ("left", "left"), ("right", "right"), ("total", "total")];
const UNITS: [(&str, &str); 9] =
    [("", "as stated"), ("N", "N"), ("kN", "kN"), ("mN", "mN"), ("kgf", "kgf"), ("lbf", "lbf"), ("s", "s"), ("ms", "ms"), ("us", "µs")];
const SIGNS: [(&str, &str); 3] = [("", "by its values"), ("up", "up is positive"), ("down", "down is positive")];

/// The panel of a file, where it is open.
pub fn panel(state: &State, job: &Job) -> Markup {
    let Some(panel) = state.columns.as_ref().filter(|p| p.key == job.key) else { return html! {} };
    html! {
        section id="columns" class="column-panel" aria-labelledby="columns-head" {
            h3 id="columns-head" { "Columns of this file" }
            @match &panel.explained {
                None => p class="quiet" { "Looking at its first rows …" },
                Some(Err(error)) => {
                    p { (error.message) " " (error.try_next) }
                    p { button type="button" data-do="columns-close" { "Close" } }
                },
                Some(Ok(explained)) => (form(state, panel, explained)),
            }
        }
    }
}

/// The way into the panel.
pub fn button(job: &Job, words: &str) -> Markup {
    html! { button type="button" data-do="columns" data-id=(job.key) { (words) } }
}

#[inline(never)]
fn form(state: &State, panel: &Panel, explained: &Explained) -> Markup {
    html! {
        @if let Some(question) = &explained.question { p id="columns-question" class="trust doubtful" { (question) } }
        @if explained.known { p class="hint" { "Read as you confirmed it before for files with this header." } }
        (trace(state, panel, explained))
        form class="columns-form" data-do="columns-draft" data-now="" {
            table class="column-table" {
                caption class="sr" { "What each column is" }
                thead { tr { th scope="col" { "Column" } th scope="col" { "First values" } th scope="col" { "Is" } th scope="col" { "Unit" } th scope="col" { "Sign" } } }
                tbody { @for (k, (column, choice)) in explained.columns.iter().zip(&panel.choices).enumerate() { (row(k, column, choice)) } }
            }
            p class="row" {
                label for="columns-rate" { "Samples a second, where no column gives the time" }
                input id="columns-rate" name="rate" inputmode="decimal" autocomplete="off" placeholder="1000" value=(panel.rate);
            }
            p { label { input type="checkbox" name="remember" checked[panel.remember]; " Remember this for files with the same header" } }
        }
        p class="actions" {
            button type="button" data-do="columns-confirm" disabled[!panel.complete()] { "Read the file so" }
            button type="button" data-do="columns-swap" { "Swap left and right" }
            button type="button" data-do="columns-close" { "Close" }
        }
        @if let Some(other) = &explained.runner_up { p class="hint" { "The next best guess was: " (other) "." } }
    }
}

fn row(k: usize, column: &ColumnGuess, choice: &Choice) -> Markup {
    let number = k + 1;
    let select = |name: &str, label: &str, options: &[(&str, &str)], chosen: &str| {
        html! {
            select name={ (name) "-" (k) } aria-label={ (label) " of column " (number) } {
                // What a file states beyond the list, as newtons a volt.
                @if !options.iter().any(|(value, _)| *value == chosen) { option value=(chosen) selected { (chosen) } }
                @for (value, words) in options { option value=(value) selected[*value == chosen] { (words) } }
            }
        }
    };
    html! {
        tr class=(choice.role) {
            th scope="row" {
                details id={ "why-column-" (k) } class="why" {
                    summary { (number) @if !column.header.is_empty() { " " (column.header) } span class="sr" { ": why?" } }
                    @if !column.why.is_empty() { p class="hint" { "Taken so because " (column.why) "." } }
                    ul class="hint" { @for s in column.scores.iter().filter(|s| !s.why.is_empty()).take(4) { li { (s.role.replace('-', "leave out")) " " (s.score) ": " (s.why) } } }
                }
            }
            td class="num values" { (column.values.join("  ")) }
            td { (select("role", "Role", &ROLES, &choice.role)) }
            td { (select("unit", "Unit", &UNITS, &choice.unit)) }
            td { (select("sign", "Sign", &SIGNS, &choice.sign)) }
        }
    }
}

/// Newtons per unit of a choice.
fn newtons(unit: &str) -> f64 {
    Unit::try_from(unit.to_string()).map_or(1.0, Unit::newtons)
}

/// The sum of the columns of a role as they are chosen now; empty where there is none.
fn summed(panel: &Panel, explained: &Explained, role: &str) -> Vec<f64> {
    let chosen: Vec<(&ColumnGuess, &Choice)> = explained.columns.iter().zip(&panel.choices).filter(|(_, c)| c.role == role).collect();
    let Some(n) = chosen.iter().map(|(c, _)| c.trace.len()).min() else { return Vec::new() };
    let value = |i: usize| {
        let one = |(column, choice): &(&ColumnGuess, &Choice)| {
            let sign = if choice.sign == "down" { -1.0 } else { 1.0 };
            let unit = if choice.unit.is_empty() { &column.unit } else { &choice.unit };
            column.trace.get(i).copied().flatten().map_or(f64::NAN, f64::from) * sign * newtons(unit)
        };
        chosen.iter().map(one).sum::<f64>()
    };
    let mut force: Vec<f64> = (0..n).map(value).collect();
    // Turned by its values where no sign is chosen, as the reader does.
    if chosen.iter().all(|(_, c)| c.sign.is_empty()) && force.iter().filter(|x| x.is_finite()).sum::<f64>() < 0.0 {
        force.iter_mut().for_each(|x| *x = -*x);
    }
    force
}

fn trace(state: &State, panel: &Panel, explained: &Explained) -> Markup {
    let lines: Vec<(&str, Vec<f64>)> =
        ["left", "right", "total"].iter().map(|role| (*role, summed(panel, explained, role))).filter(|(_, f)| f.len() > 1).collect();
    let finite = || lines.iter().flat_map(|(_, f)| f.iter().copied()).filter(|x| x.is_finite());
    let (low, high) = finite().fold((0.0f64, 1.0f64), |(l, h), x| (l.min(x), h.max(x)));
    let (width, height, left) = ((state.width - 32.0).clamp(240.0, 720.0), 150.0, 46.0);
    let y = |x: f64| 10.0 + (height - 30.0) * (high - x) / (high - low);
    let path = |force: &[f64]| {
        let mut d = String::new();
        let mut pen = 'M';
        for (i, x) in force.iter().enumerate() {
            if x.is_finite() {
                d.push_str(&format!("{pen}{:.1} {:.1}", left + (width - left - 4.0) * i as f64 / (force.len() - 1) as f64, y(*x)));
                pen = 'L';
            } else {
                pen = 'M';
            }
        }
        d
    };
    let points = lines.first().map_or(0, |(_, f)| f.len());
    let seconds = explained.step_s.map(|s| s * points.saturating_sub(1) as f64);
    let words = if lines.is_empty() { "No column is force yet.".to_string() } else { "Force as it would be read, newtons.".to_string() };
    html! {
        figure id="columns-trace" {
            svg viewBox={ "0 0 " (width) " " (height) } width=(width) height=(height) role="img" aria-label=(words) {
                g class="axis" {
                    line class="zero" x1=(left) x2=(width) y1=(y(0.0)) y2=(y(0.0)) {}
                    text x=(left - 6.0) y=(y(0.0) + 4.0) text-anchor="end" { "0" }
                    @if high > 1.0 { text x=(left - 6.0) y=(y(high) + 8.0) text-anchor="end" { (state.locale.fixed(high, 0)) } }
                    text x=(left) y=(height - 4.0) { "0 s" }
                    @if let Some(seconds) = seconds { text x=(width - 2.0) y=(height - 4.0) text-anchor="end" { (state.locale.fixed(seconds, 1)) " s" } }
                }
                @for (role, force) in &lines { path class={ "line " (role) } d=(path(force)) {} }
            }
            figcaption class="hint" {
                (words)
                @for (role, force) in &lines {
                    @let peak = force.iter().copied().filter(|x| x.is_finite()).fold(0.0, f64::max);
                    " " span class={ (role) "-word" } { (role) } " up to " (state.locale.fixed(peak, 0)) " N."
                }
            }
        }
    }
}

/// What is remembered: listed, changed, forgotten, handed over.
pub fn remembered_list(state: &State) -> Markup {
    let all = remembered(state);
    html! {
        section id="layouts" aria-labelledby="layouts-head" {
            h2 id="layouts-head" { "Columns remembered" }
            @if all.is_empty() { p { "None yet. Columns that you confirm for a file are remembered for files with the same header." } }
            @for (id, known) in &all {
                form class="state-it" data-do="layout" data-id=(id) {
                    p { (known.name) }
                    label for={ "spec-" (id) } { "Columns, from the first" }
                    input id={ "spec-" (id) } name="columns" autocomplete="off" spellcheck="false" value=(known.columns);
                    label for={ "hz-" (id) } { "Samples a second, where such files state none" }
                    input id={ "hz-" (id) } name="rate" inputmode="decimal" autocomplete="off" value=[known.rate_hz];
                    p { button type="submit" { "Change" } " " button type="button" data-do="layout-forget" data-id=(id) { "Forget" } }
                }
            }
            @if !all.is_empty() { p { button type="button" data-do="layouts-out" { "Save them as a file for a colleague" } } }
            details id="layouts-in" {
                summary { "Take a colleague’s columns in" }
                form class="state-it" data-do="layouts-in" data-clear="layouts" {
                    label for="layouts-text" { "Paste the text of the file" }
                    textarea id="layouts-text" name="layouts" rows="4" spellcheck="false" {}
                    button type="submit" { "Take in" }
                }
            }
        }
    }
}
