//! The block: to read ([`sheet`]) and to edit ([`editor`]). An edit's whole meaning stands in `data-id` as the text of an
//! [`Edit`]: a button carries it complete (`data-do="block-edit"`); a field carries it without its value
//! (`data-do="block-field"`, `data-field` names what the value is), and [`edit_with`] puts the two together.
use super::argument::closed_sentence;
use super::judged;
use crate::advice::blocks::{Block, Dose, Edit, ROWS, RowView, View, WEEKS};
use crate::advice::brief::{Plan, PlanRow};
use crate::advice::exercises::{Exercise, exercise};
use crate::advice::gates::{CAUTIONS, Closed, STOPS};
use crate::advice::qualities::{in_a_sentence, test_in_a_sentence};
use crate::advice::waiting::{Waits, Week};
use crate::charts::number::Locale;
use crate::charts::words::spoken;
use crate::people::Date;
use crate::screen::judged::Aim;
use maud::{Markup, html};

use crate::advice::typed::Refused;
pub use crate::advice::typed::edit_with;
use serde_json::{Map, Value};

/// What the block aims at, as a heading.
pub fn aim(plan: &Plan) -> String {
    match plan.aims.as_slice() {
        [] => "General strength".into(),
        aims => crate::advice::evidence::capital(&aims.iter().map(|a| in_a_sentence(*a)).collect::<Vec<_>>().join(" and ")),
    }
}

/// A dose in words.
pub fn dose_words(dose: &Dose, e: Option<&Exercise>) -> String {
    let unit = if e.is_some_and(|e| e.seconds) { " s" } else { "" };
    format!("{} × {}{unit}", dose.sets, dose.reps)
}

/// The plan as a sheet, closed rows in their place with the reason.
pub fn sheet(plan: &Plan, locale: &Locale) -> Markup {
    html! {
        p { (aim(plan)) ": " (plan.weeks) " weeks from " (locale.day(plan.starts)) ", " (plan.sessions) " sessions a week. Test again on " strong { (locale.day(plan.retest)) } "." }
        div class="wide" {
            table class="plan" {
                caption { "Exercises" }
                thead { tr {
                    th scope="col" { "Category" } th scope="col" { "Load to start with" }
                    @for week in 1..=plan.weeks { th scope="col" class="num" { "Week " (week) } }
                } }
                tbody {
                    @for (place, row) in plan.rows.iter().enumerate() {
                        // A reason that the closed row before gave is not said again.
                        @let before = plan.rows.iter().take(place).rfind(|r| !r.closed.is_empty());
                        (sheet_row(row, plan, before.is_some_and(|b| closed_sentence(&b.closed) == closed_sentence(&row.closed)), locale))
                    }
                    tr class="sum" {
                        th scope="row" colspan="2" { "Ground contacts a session (at most " (plan.contacts_allowed) ", tests count: " (plan.test_contacts) @if plan.rows.iter().any(|r| r.waits.is_some()) { "; what waits is counted" } ")" }
                        @for contacts in &plan.contacts { td class="num" { (contacts) } }
                    }
                }
            }
        }
        @for line in waiting(plan) { p class="trust doubtful" { strong { "Waits. " } (locale.told(&line)) } }
        div class="two" { (reduce(plan)) (targets(plan, locale)) }
        @if !plan.note.is_empty() { p { (plan.note) } }
    }
}

fn sheet_row(row: &PlanRow, plan: &Plan, said: bool, locale: &Locale) -> Markup {
    let e = exercise(&row.exercise);
    html! {
        tr class=[(!row.closed.is_empty()).then_some("closed")] {
            th scope="row" {
                (e.map_or_else(|| spoken(&row.exercise), |e| e.name.to_owned()))
                @if row.closed.is_empty() {
                    @if let Some(e) = e { span class="how" { (e.how) " Rest " (e.rest) ". Rises: " (e.progress) "." } }
                }
                @if !row.note.is_empty() { span class="how" { (row.note) } }
            }
            @if row.closed.is_empty() {
                td { (row.load) @if row.box_m > 0.0 { ", box " (locale.length(row.box_m, 0)) } }
                @for (week, dose) in row.doses.iter().enumerate() { td class="num" { (week_words(row, plan, week, &dose_words(dose, e), locale)) } }
            } @else {
                td colspan=(u32::from(plan.weeks) + 1) { @if said { strong { "Closed" } ", for the reason above." } @else { (closed_reason(&row.closed, locale)) } }
            }
        }
    }
}

/// A week of an open row: its dose, unless it waits for a new clearance then.
pub fn week_words(row: &PlanRow, plan: &Plan, week: usize, dose: &str, locale: &Locale) -> String {
    match row.waits.as_ref().map_or(Week::Open, |w| w.week(plan.starts, week)) {
        Week::Open => dose.to_owned(),
        Week::Waits => "waits".into(),
        Week::Partly(until, again) => format!("{dose}, {}", partly(until, again, locale)),
    }
}

/// On which days of a week a row is open.
fn partly(until: Option<Date>, again: Option<Date>, locale: &Locale) -> String {
    let until = until.map(|day| format!("until {}", locale.day(day)));
    let again = again.map(|day| format!("from {} on", locale.day(day)));
    until.into_iter().chain(again).collect::<Vec<_>>().join(" and ")
}

/// From when something waits for a new clearance, and whom to ask; days as in files.
fn waits_sentence(what: &str, waits: &Waits) -> String {
    let to = waits.again.map_or_else(|| "on".to_owned(), |again| format!("to {}", again.plus_days(-1)));
    let span = format!("{what}: from {} {to}", waits.from);
    if waits.closed.is_empty() {
        return format!("{span} only after asking the coach again.");
    }
    format!("{span} waiting for a new clearance; the one on record ends before. {}", closed_sentence(&waits.closed))
}

/// Of all rows that wait, those with one reason together.
fn waiting(plan: &Plan) -> Vec<String> {
    let rows: Vec<(&str, &Waits)> = plan.rows.iter().filter_map(|r| Some((r.exercise.as_str(), r.waits.as_ref()?))).collect();
    let name = |id: &str| exercise(id).map_or_else(|| spoken(id), |e| e.name.to_lowercase());
    let alike = |a: &Waits, b: &Waits| waits_sentence("", a) == waits_sentence("", b);
    let firsts = rows.iter().enumerate().filter(|(i, r)| !rows.iter().take(*i).any(|b| alike(b.1, r.1)));
    let line = |(_, first): (usize, &(&str, &Waits))| {
        let names: Vec<String> = rows.iter().filter(|r| alike(r.1, first.1)).map(|r| name(r.0)).collect();
        waits_sentence(&crate::advice::evidence::capital(&names.join(", ")), first.1)
    };
    firsts.map(line).collect()
}

/// "Closed" with its reasons.
pub fn closed_reason(closed: &[Closed], locale: &Locale) -> Markup {
    html! { strong { "Closed. " } (locale.told(&closed_sentence(closed))) }
}

fn reduce(plan: &Plan) -> Markup {
    html! {
        @if !plan.reduce.is_empty() {
            div { h3 { "Less of this meanwhile" } ul { @for line in &plan.reduce { li { (line) } } } }
        }
    }
}

/// What the block is judged by, and what its retest can show.
pub fn targets(plan: &Plan, locale: &Locale) -> Markup {
    html! {
        div {
        h3 { "Judged by" }
        @if plan.targets.is_empty() { p class="quiet" { "No target figure chosen yet; at most two." } } @else {
            ul { @for t in &plan.targets {
                li { (judged::target_name(t)) ", " (test_in_a_sentence(&t.test)) ": "
                    @match t.smallest_percent {
                        Some(percent) => { "the retest can show a change of " (locale.fixed(percent, 1)) " % or more." }
                        None => { "how small a change the retest can show is not known: test on two days before and after." }
                    }
                }
            } }
        }
        }
    }
}

/// Cautions and stop rules; on every plan, on screen and in print.
pub fn cautions() -> Markup {
    html! {
        div class="cautions" {
            div { h3 { "Before" } ul { @for line in CAUTIONS { li { (line) } } } }
            div { h3 { "Stop" } ul { @for line in STOPS { li { (line) } } } }
        }
    }
}

/// The text of an edit without its value, for a field.
pub(super) fn template(edit: &str, keys: &[(&str, usize)]) -> String {
    let mut map = Map::new();
    map.insert("edit".into(), edit.into());
    for (key, value) in keys {
        map.insert((*key).to_owned(), (*value).into());
    }
    Value::Object(map).to_string()
}

pub(super) fn whole(edit: &Edit) -> String {
    serde_json::to_string(edit).unwrap_or_default()
}

/// The editor: every row, dose, day, target and text is a field; what is closed says why and has none. `aims`: what the block
/// may be judged by.
pub fn editor(
    block: &Block,
    view: &View,
    choices: &[(&'static Exercise, Vec<Closed>)],
    aims: &[Aim],
    refused: Option<&Refused>,
    locale: &Locale,
) -> Markup {
    let form = Form { refused, locale };
    html! {
        section id="block" aria-labelledby="block-head" {
            h2 id="block-head" { "Block" }
            @if let Some(refused) = refused.filter(|r| r.template.is_empty()) { p class="trust doubtful" role="alert" { "Not changed. " (locale.days_in(&refused.reason)) } }
            div class="block-frame" {
                (field(form, "First day", "date", "day", &template("starts", &[]), &block.starts.to_string(), "block-starts"))
                (field(form, "Weeks", "number", "weeks", &template("weeks", &[]), &block.weeks.to_string(), "block-weeks"))
                (field(form, "Sessions a week", "number", "sessions", &template("sessions", &[]), &view.sessions.to_string(), "block-sessions"))
                (field(form, "Test again", "date", "day", &template("retest", &[]), &block.retest.to_string(), "block-retest"))
            }
            @if let Some(waits) = &view.retest_waits { p class="trust doubtful" { (locale.told(waits)) } }
            p class="hint" { (WEEKS.0) " to " (WEEKS.1) " weeks; at most " (view.limits.sessions) " sessions a week with at most " (view.limits.contacts) " ground contacts each, test contacts (" (view.test_contacts) ") included; boxes up to " (locale.fixed(100.0 * view.limits.box_m, 0)) " cm." }
            ol class="block-rows" { @for row in &view.rows { li id={ "block-row-" (row.place) } { (edit_row(row, block, choices, refused, locale)) } } }
            p class="contacts" { "Ground contacts a session: " @for (week, contacts) in view.contacts.iter().enumerate() { span { "week " (week + 1) ": " (contacts) } }
                @if view.rows.iter().any(|r| r.waits.is_some()) { ". A row that waits for a clearance is counted in every week." }
            }
            @for unknown in &view.careful { p class="hint" { (locale.told(unknown)) } }
            @if block.rows.len() < ROWS { (add(choices, locale)) }
            (judged::targets(block, aims, refused, locale))
            h3 { "Less of this meanwhile" }
            @for (line, text) in block.reduce.iter().enumerate() {
                (field(form, &format!("Line {}", line + 1), "text", "text", &template("reduce", &[("line", line)]), text, &format!("block-reduce-{line}")))
            }
            (field(form, "Another line", "text", "text", &template("reduce", &[("line", block.reduce.len())]), "", "block-reduce-new"))
            h3 { "Note" }
            (field(form, "Note on the block", "text", "note", &template("note", &[]), &block.note, "block-note"))
            (cautions())
        }
    }
}

/// What every field of the editor knows.
#[derive(Clone, Copy)]
struct Form<'a> {
    refused: Option<&'a Refused>,
    locale: &'a Locale,
}

/// A field; where its entry was refused it keeps what was typed, with the reason beside it. A number is a text field: what
/// is no number would never leave a number field, and nothing could be said about it.
fn field(form: Form<'_>, label: &str, kind: &str, name: &str, template: &str, value: &str, id: &str) -> Markup {
    let Form { refused, locale } = form;
    let refused = refused.filter(|r| r.template == template && r.field == name);
    let why = format!("{id}-why");
    let number = kind == "number";
    html! {
        span class="field" {
            label for=(id) { (label) }
            input id=(id) type=(if number { "text" } else { kind }) inputmode=[number.then_some("decimal")] value=(refused.map_or(value, |r| &r.typed))
                data-do="block-field" data-field=(name) data-id=(template) autocomplete="off"
                aria-invalid=[refused.map(|_| "true")] aria-describedby=[refused.map(|_| &why)];
            @if let Some(refused) = refused { span id=(why) class="refused" role="alert" { "Not changed. " (locale.days_in(&refused.reason)) } }
        }
    }
}

fn edit_row(
    row: &RowView,
    block: &Block,
    choices: &[(&'static Exercise, Vec<Closed>)],
    refused: Option<&Refused>,
    locale: &Locale,
) -> Markup {
    let form = Form { refused, locale };
    let title = row.exercise.map_or_else(|| spoken(&row.row.exercise), |e| e.name.to_owned());
    let id = |what: &str| format!("block-{}-{what}", row.place);
    html! {
        div class=(if row.open() { "block-row" } else { "block-row closed" }) {
            h3 { (title) }
            @if let Some(e) = row.exercise { p class="hint" { (e.how) @if row.open() { " Usual: " (e.sets.0) "–" (e.sets.1) " × " (e.reps.0) "–" (e.reps.1) @if e.seconds { " s" } ", rest " (e.rest) ". Rises: " (e.progress) "." } } }
            @if let Some(waits) = &row.waits { p class="trust doubtful" { (locale.told(&waits_sentence("This row", waits))) } }
            @if row.open() {
                div class="doses" { @for week in 0..usize::from(block.weeks) {
                    @let then = row.waits.as_ref().map_or(Week::Open, |w| w.week(block.starts, week));
                    @let dose = row.row.doses.get(week).copied().unwrap_or(Dose { sets: 0, reps: 0 });
                    fieldset {
                        legend { "Week " (week + 1) @match then {
                            Week::Open => {}
                            Week::Waits => { ", waits for a new clearance" }
                            Week::Partly(until, again) => { ", " (partly(until, again, locale)) }
                        } }
                        (field(form, "Sets", "number", "sets", &template("sets", &[("row", row.place), ("week", week)]), &dose.sets.to_string(), &id(&format!("sets-{week}"))))
                        (field(form, if row.exercise.is_some_and(|e| e.seconds) { "Seconds" } else { "Repetitions" }, "number", "reps", &template("reps", &[("row", row.place), ("week", week)]), &dose.reps.to_string(), &id(&format!("reps-{week}"))))
                    }
                } }
                (field(form, "Load", "text", "load", &template("load", &[("row", row.place)]), &row.row.load, &id("load")))
                @if row.row.box_m > 0.0 { (field(form, "Box, cm", "number", "box_m", &template("box", &[("row", row.place)]), &format!("{:.0}", 100.0 * row.row.box_m), &id("box"))) }
                (field(form, "Note", "text", "note", &template("row_note", &[("row", row.place)]), &row.row.note, &id("note")))
            } @else {
                p { (closed_reason(&row.closed, locale)) }
            }
            (swap(row, choices, refused, locale))
            p class="row-tools" {
                @if row.place > 0 { button type="button" data-do="block-edit" data-id=(whole(&Edit::Up { row: row.place })) aria-label={ "Move " (title) " up" } { "Up" } }
                button type="button" data-do="block-edit" data-id=(whole(&Edit::Remove { row: row.place })) aria-label={ "Remove " (title) } { "Remove" }
            }
        }
    }
}

/// Another category in a row's place; one that is closed now stands there and cannot be chosen.
fn swap(row: &RowView, choices: &[(&'static Exercise, Vec<Closed>)], refused: Option<&Refused>, locale: &Locale) -> Markup {
    let (id, template) = (format!("block-{}-exercise", row.place), template("swap", &[("row", row.place)]));
    let refused = refused.filter(|r| r.template == template && r.field == "exercise");
    let why = format!("{id}-why");
    let now = refused.map_or(row.row.exercise.as_str(), |r| r.typed.as_str());
    html! {
        span class="field" {
            label for=(id) { "Category" }
            select id=(id) data-do="block-field" data-field="exercise" data-id=(template) autocomplete="off"
                aria-invalid=[refused.map(|_| "true")] aria-describedby=[refused.map(|_| &why)] {
                @if row.exercise.is_none() { option value=(row.row.exercise) selected { (spoken(&row.row.exercise)) } }
                @for (e, closed) in choices {
                    option value=(e.id) selected[e.id == now] disabled[!closed.is_empty() && e.id != row.row.exercise] { (e.name) @if !closed.is_empty() { ": closed now" } }
                }
            }
            @if let Some(refused) = refused { span id=(why) class="refused" role="alert" { "Not changed. " (locale.days_in(&refused.reason)) } }
        }
    }
}

fn add(choices: &[(&'static Exercise, Vec<Closed>)], locale: &Locale) -> Markup {
    html! {
        details class="add-row" {
            summary { "Add a category" }
            ul { @for (e, closed) in choices {
                li {
                    @if closed.is_empty() {
                        button type="button" data-do="block-edit" data-id=(whole(&Edit::Add { exercise: e.id.to_owned() })) { (e.name) } " " span class="hint" { (e.how) }
                    } @else {
                        span class="closed" { (e.name) ". " (closed_reason(closed, locale)) }
                    }
                }
            } }
        }
    }
}
