//! Unfiled files by their names: the pattern, what it reads, and whom each unknown name means.
use crate::charts::number::Locale;
use crate::charts::words::{load_words, test_name};
use crate::people::Side;
use crate::people::naming::{Named, Pattern, name_key};
use crate::recording::Letters as _;
use crate::screen::{Doubt, FileName, State, day_shown, dropped_field, unfiled_names};
use maud::{Markup, html};

/// The panel; nothing where everything is filed.
pub fn panel(state: &State) -> Markup {
    let files = unfiled_names(state);
    if files.is_empty() {
        return html! {};
    }
    let wrong = Pattern::new(&state.pattern).err();
    let mut unknown: Vec<String> = files.iter().filter(|f| f.known.is_none()).filter_map(FileName::name).collect();
    unknown.sort_by_key(|n| name_key(n));
    unknown.dedup_by_key(|n| name_key(n));
    let ready = files.iter().any(|f| f.named.is_some());
    html! {
        section id="names" aria-labelledby="names-head" {
            h2 id="names-head" { "To be filed by file name" }
            form class="row" data-do="pattern" data-now="" {
                label for="pattern" { "File names read as" }
                input id="pattern" name="pattern" class="formula" autocomplete="off" spellcheck="false" maxlength="200" value=(state.pattern) aria-describedby="pattern-help";
                button type="submit" { "Try" }
            }
            p id="pattern-help" class="hint" {
                "Fields: {athlete} {test} {load} {box} {side} {trial} {date}, {*} for anything. Square brackets make a part optional; "
                "any of space, _, - and . stands for any of them."
            }
            @if let Some(wrong) = wrong { p class="error" role="alert" { (wrong) } }
            form data-do="file-names" {
                div class="wide" {
                    table class="preview" {
                        thead { tr { th scope="col" { "File" } th scope="col" { "Athlete" } th scope="col" { "Says" } th scope="col" class="num" { "Trials" } } }
                        tbody { @for file in &files { (row(state, file)) } }
                    }
                }
                div class="columns" { @for name in &unknown { (who(state, name)) } }
                @if ready && files.iter().any(|f| f.named.as_ref().is_some_and(|n| n.date.is_none())) { (day_of(state)) }
                @if ready { p class="actions" { button type="submit" { "File them" } } }
                @else { p class="hint" { "The pattern fits none of these names. Change it, or open a trial and file it by hand." } }
            }
        }
    }
}

/// The test day of files whose names say none.
fn day_of(state: &State) -> Markup {
    html! { p class="row" { label { "Test day, where the name says none " input type="date" name="day" required value=(day_shown(state)); } } }
}

fn row(state: &State, file: &FileName) -> Markup {
    html! {
        tr {
            td class="file" { (file.file) }
            td {
                @match (&file.known, file.name()) {
                    (Some(id), _) => (state.athlete_name(id)),
                    (None, Some(name)) => { (name) " " span class="quiet" { "(not known)" } },
                    (None, None) => span class="quiet" { "the pattern does not fit" },
                }
            }
            td { (file.named.as_ref().map(|n| says(n, &state.locale)).unwrap_or_default()) }
            td class="num" { (file.ids.len()) }
        }
    }
}

fn says(named: &Named, locale: &Locale) -> String {
    let side = |s| match s {
        Side::Left => "left",
        Side::Right => "right",
        Side::Both => "both legs",
    };
    let parts = [
        named.test.map(|t| test_name(t).lower()),
        named.load_kg.map(|kg| load_words(kg, locale)),
        named.box_m.map(|m| format!("box {}", locale.length(m, 0))),
        named.side.map(|s| side(s).to_owned()),
        named.trial.map(|n| format!("trial {n}")),
        named.date.map(|d| locale.day(d)),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// Files dropped on one athlete's screen whose names say another: one question a name, one step for all.
#[inline(never)]
pub fn doubts(state: &State) -> Markup {
    let mut asked: Vec<&Doubt> = Vec::new();
    for doubt in &state.doubts {
        if !asked.iter().any(|d| dropped_field(d) == dropped_field(doubt)) {
            asked.push(doubt);
        }
    }
    html! {
        @if !asked.is_empty() {
            section id="whose" aria-labelledby="whose-head" {
                h2 id="whose-head" { "Whose are these?" }
                p { "These files were dropped on one athlete’s screen, and their names say another. Nothing is filed before you say." }
                form data-do="whose" {
                    @for doubt in asked { (one_doubt(state, doubt)) }
                    @if state.doubts.iter().any(|d| d.named.date.is_none()) { (day_of(state)) }
                    p class="actions" { button type="submit" { "File them so" } }
                }
            }
        }
    }
}

fn one_doubt(state: &State, doubt: &Doubt) -> Markup {
    let field = dropped_field(doubt);
    let files: Vec<&str> = state.doubts.iter().filter(|d| dropped_field(d) == field).map(|d| d.file.as_str()).collect();
    let known = state.athlete_named(&doubt.name);
    let here = state.athlete_name(&doubt.here);
    html! {
        p class="row" {
            label for=(field) {
                @match files.as_slice() {
                    [one] => { span class="file" { (one) } },
                    [first, rest @ ..] => { span class="file" { (first) } " and " (rest.len()) " more" },
                    [] => {},
                }
                ", dropped on " (here) "’s screen, are of"
            }
            select id=(field) name=(field) required {
                option value="" { "choose …" }
                option value="here" { (here) ", as dropped" }
                @match known {
                    Some(a) => option value=(a.envelope.id) { (a.body.name) ", as the name says" },
                    None => option value="new" { (doubt.name) ", as the name says (a new athlete)" },
                }
                option value="later" { "left for later" }
            }
        }
    }
}

/// Whom an unknown name means, in one step: somebody new, somebody known, or nobody yet.
fn who(state: &State, name: &str) -> Markup {
    let key = name_key(name);
    let field = format!("who:{key}");
    html! {
        p class="row" {
            label for=(field) { (name) " is" }
            select id=(field) name=(field) {
                option value="new" { "a new athlete" }
                @for a in state.squad() { option value=(a.envelope.id) { (a.body.name) } }
                option value="" { "left for later" }
            }
        }
    }
}
