//! The start: what to do next, the files of this visit, and what is saved on the device.
use super::trial::{amount, amount_of};
use crate::charts::words::{test_name, verdict_word};
use crate::recording::ReadError;
use crate::records::Head;
use crate::screen::trials::outdated;
use crate::screen::{Job, JobState, Order, State};
use maud::{Markup, html};

/// Rows of a list shown at once.
const ROWS: usize = 120;

/// Files that failed, or hold no trial, shown one by one.
const MOST_SHOWN: usize = 30;
/// Trials of a file that are linked under its name.
const MOST_LINKS: usize = 50;
/// Files read that are shown unfolded.
const MOST_OPEN: usize = 8;

/// The start.
pub fn screen(state: &State) -> Markup {
    let any = state.heads.values().any(|h| !h.removed);
    html! {
        @if !any && state.jobs.is_empty() { (welcome(state)) } @else { (short_welcome()) }
        @if !state.jobs.is_empty() { (files(state)) }
        @if !state.working() { @if !state.doubts.is_empty() { (super::names::doubts(state)) } (super::names::panel(state)) }
        @if any { (saved_list(state)) }
    }
}

fn welcome(state: &State) -> Markup {
    html! {
        section id="welcome" class="welcome" {
            h1 { "Drop a recording anywhere on this page" }
            p { "Any force plate’s text export: one plate or two, commas or semicolons, any units. The columns are worked out from the file." }
            p class="actions" {
                label class="button" for="file-input" { "Choose files" }
                button type="button" data-do="demo" disabled[!state.loaded] { "Open the demo squad" }
            }
            p class="hint" { "The demo squad is invented: athletes and recordings are made up by a generator." }
            p class="hint" { "You get the height with its uncertainty, whether to trust the trial, its phases, and left against right. Each trial is saved on this device at once." }
        }
    }
}

fn short_welcome() -> Markup {
    html! {
        section id="welcome" {
            h1 { "Recordings" }
            p { "Drop more files anywhere, or " label class="link" for="file-input" { "choose them" } ". "
                button type="button" class="link" data-do="demo" { "Open the demo squad" } " (invented)." }
        }
    }
}

/// The files of this visit.
pub fn files(state: &State) -> Markup {
    let total = state.jobs.len();
    let finished = state.jobs.iter().filter(|j| !matches!(j.state, JobState::Waiting | JobState::Working(_))).count();
    html! {
        section id="files" aria-labelledby="files-head" {
            h2 id="files-head" { "Files of this visit" }
            @if state.working() {
                div class="working" {
                    progress id="overall" max=(total) value=(finished) aria-label="Files read" {}
                    p { (finished) " of " (total) " read" }
                    button type="button" data-do="cancel" { "Cancel" }
                }
            }
            @let (good, others): (Vec<&Job>, Vec<&Job>) = state.jobs.iter().partition(|j| matches!(&j.state, JobState::Done(ids, ..) if !ids.is_empty()));
            @let (waiting, others): (Vec<&Job>, Vec<&Job>) = others.iter().partition(|j| j.state == JobState::Waiting);
            @if !others.is_empty() { ul class="files" { @for job in others.iter().take(MOST_SHOWN) { (file(state, job)) } } }
            @if others.len() > MOST_SHOWN { p class="quiet" { (others.len() - MOST_SHOWN) " more; take some off the list to see them." } }
            @if let Some(next) = waiting.first() { p class="quiet" id="waiting" { (waiting.len()) @if waiting.len() == 1 { " waits: " } @else { " wait, next " } (next.name) } }
            @if good.len() > MOST_OPEN { (folded(state, &good)) } @else if !good.is_empty() { ul class="files" { @for job in &good { (file(state, job)) } } }
        }
    }
}

#[inline(never)]
fn folded(state: &State, good: &[&Job]) -> Markup {
    html! {
        details id="read-files" {
            summary { (good.len()) " files read" }
            ul class="files" { @for job in good { (file(state, job)) } }
        }
    }
}

#[inline(never)]
fn file(state: &State, job: &Job) -> Markup {
    html! {
        li id={ "job-" (job.key) } {
            p class="file-name" { (job.name) }
            @match &job.state {
                JobState::Waiting => {},
                JobState::Working(bytes) => {
                    @if job.bytes > 0.0 { progress max="100" value=((bytes / job.bytes * 100.0).round()) aria-label={ "Reading " (job.name) } {} }
                    @else { progress aria-label={ "Reading " (job.name) } {} }
                },
                JobState::Cancelled => (stopped(job)),
                JobState::Failed(error) => (error_text(error, job)),
                JobState::Done(ids, left_out, here) => {
                    @if ids.is_empty() {
                        (none_found(job, left_out))
                    } @else {
                        ul class="trial-links" {
                            @for head in ids.iter().take(MOST_LINKS).filter_map(|id| state.heads.get(id.as_str())) { li { (trial_link(state, head)) } }
                        }
                        @if ids.len() > MOST_LINKS { p class="quiet" { (ids.len() - MOST_LINKS) " more stand in the list below." } }
                        @if let Some(question) = question(state, ids) {
                            (asked(job, &question))
                        }
                        @if *here > 0 { (already_here(*here, ids.len())) }
                        @if !left_out.is_empty() {
                            (stretches(job, left_out))
                        }
                    }
                },
            }
            (super::columns::panel(state, job))
        }
    }
}

// Functions of their own, so that a first visit can do without them (`site/rooms`).

#[inline(never)]
fn stopped(job: &Job) -> Markup {
    html! { p { "Stopped before it was read. " (forget(job)) } }
}

#[inline(never)]
fn none_found(job: &Job, left_out: &[String]) -> Markup {
    html! {
        p { "No trial was found in it." @for why in left_out { " Left out: " (why) "." } " " (forget(job)) }
        p { (super::columns::button(job, "Look at the columns")) }
    }
}

#[inline(never)]
fn asked(job: &Job, question: &str) -> Markup {
    html! { p class="trust doubtful" data-asks="" { (question) } p { (super::columns::button(job, "Look at the columns")) } }
}

#[inline(never)]
fn already_here(here: usize, of: usize) -> Markup {
    html! { p class="quiet" { @if here == of { "Already on this device; nothing was saved twice." } @else { (here) " of them were on this device already." } } }
}

#[inline(never)]
fn stretches(job: &Job, left_out: &[String]) -> Markup {
    html! {
        details id={ "left-out-" (job.key) } {
            summary { (left_out.len()) @if left_out.len() == 1 { " stretch left out" } @else { " stretches left out" } }
            ul { @for why in left_out { li { (why) } } }
        }
    }
}

/// What a person would have had to ask about a file that was read.
fn question(state: &State, ids: &[String]) -> Option<String> {
    let saved = ids.iter().find_map(|id| state.trial(id))?;
    let notices = saved.recording.iter().flat_map(|r| &r.notices);
    notices.into_iter().find(|n| crate::recording::QUESTIONS.contains(&n.code.as_str())).map(|n| n.message.clone())
}

fn forget(job: &Job) -> Markup {
    html! { button type="button" class="link" data-do="forget" data-id=(job.key) { "Take off the list" } }
}

#[inline(never)]
fn error_text(error: &ReadError, job: &Job) -> Markup {
    html! {
        div class="error" role="alert" data-code=(error.code) {
            p { strong { (error.message) } }
            dl {
                @if let Some(row) = error.row { dt { "Where" } dd { "line " (row) @if let Some(column) = error.column { ", column " (column) } } }
                @if let Some(found) = &error.found { dt { "Found" } dd { code { (found) } } }
                @if let Some(expected) = &error.expected { dt { "Expected" } dd { (expected) } }
                dt { "Try" } dd { (error.try_next) }
            }
            @if error.code == "number_two_ways" {
                p class="actions" {
                    button type="button" data-do="decimal-point" data-id=(job.key) { "The point is the decimal mark" }
                    button type="button" data-do="decimal-comma" data-id=(job.key) { "The comma is the decimal mark" }
                }
            }
            @if CAN_BE_STATED.contains(&error.code.as_str()) { p { (super::columns::button(job, "Look at the columns")) } (state_it(job)) }
            p { (forget(job)) }
        }
    }
}

/// Errors that a person can mend by saying what the file does not.
const CAN_BE_STATED: &[&str] = &[
    "no_force_column",
    "columns_option",
    "no_values",
    "no_rate",
    "bad_rate",
    "time_missing",
    "time_constant",
    "time_uneven",
    "rate_too_low",
    "rate_too_high",
];

fn state_it(job: &Job) -> Markup {
    let (columns, rate) = (format!("columns-{}", job.key), format!("rate-{}", job.key));
    html! {
        form class="state-it" data-do="read-again" data-id=(job.key) {
            label for=(columns) { "Columns, from the first: time, left, right, total, or - to leave out" }
            input id=(columns) name="columns" autocomplete="off" spellcheck="false" placeholder="time:s,left:N,right:N" value=(job.options.columns.as_deref().unwrap_or_default());
            label for=(rate) { "Samples a second, where the file has no time" }
            input id=(rate) name="rate" inputmode="decimal" autocomplete="off" placeholder="1000" value=[job.options.rate_hz.filter(|r| r.is_finite())];
            button type="submit" { "Read again" }
        }
    }
}

fn trial_link(state: &State, head: &Head) -> Markup {
    html! {
        a href={ "#" (head.id) } data-do="open" data-id=(head.id) { (test_name(head.test)) }
        " " span class="num" { (amount(state, head).unwrap_or_default()) }
        " · " (verdict_word(head.verdict))
        @if !head.athlete_id.is_empty() { " · " (state.athlete_name(&head.athlete_id)) }
    }
}

fn saved_list(state: &State) -> Markup {
    let all = state.listed();
    let shown = all.get(..all.len().min(ROWS * (state.list.more + 1))).unwrap_or_default();
    let old = outdated(state).len();
    html! {
        section id="saved" aria-labelledby="saved-head" {
            h2 id="saved-head" { "Saved on this device" }
            @if old > 0 { (of_older_methods(old)) }
            form class="row" data-do="list" data-now="" role="search" {
                label { "Find " input name="words" type="search" autocomplete="off" placeholder="athlete, file or test" value=(state.list.words); }
                label { "Order "
                    select name="order" {
                        @for (word, order, name) in [("athlete", Order::Athlete, "by athlete"), ("added", Order::Added, "latest first"), ("height", Order::Height, "highest first")] {
                            option value=(word) selected[state.list.order == order] { (name) }
                        }
                    }
                }
                span class="quiet" id="found" { (all.len()) @if all.len() == 1 { " trial" } @else { " trials" } }
            }
            @if state.list.order == Order::Athlete {
                @for trials in shown.chunk_by(|a, b| a.athlete_id == b.athlete_id) {
                    @if let Some(first) = trials.first() {
                        @if first.athlete_id.is_empty() { (group(state, html! { "Not filed yet" }, false, trials)) }
                        @else { (group(state, athlete_link(state, first, trials.iter().any(|t| t.invented)), false, trials)) }
                    }
                }
            } @else { (group(state, html! { "All athletes" }, true, shown)) }
            @if shown.len() < all.len() { p { button type="button" data-do="more" { "Show more" } } }
        }
    }
}

#[inline(never)]
fn of_older_methods(old: usize) -> Markup {
    html! {
        p id="outdated" { (old) @if old == 1 { " trial has" } @else { " trials have" } " figures by an older version of the methods. They stay as they are until you say otherwise. "
            button type="button" data-do="recompute" { "Compute them again" } }
    }
}

#[inline(never)]
fn athlete_link(state: &State, head: &Head, invented: bool) -> Markup {
    let address = format!("athlete/{}", head.athlete_id);
    html! {
        a href={ "#" (address) } data-do="go" data-id=(address) { (state.athlete_name(&head.athlete_id)) }
        @if invented { " " span class="quiet" { "(invented)" } }
    }
}

fn group(state: &State, caption: Markup, names: bool, trials: &[&Head]) -> Markup {
    html! {
        table class="saved" {
            caption { (caption) }
            thead { tr { th scope="col" { "Test" } th scope="col" class="num" { "Main figure" } th scope="col" { "Verdict" } th scope="col" { "File" } th scope="col" { "Day" } th { span class="sr" { "Remove" } } } }
            tbody {
                @for t in trials {
                    tr {
                        th scope="row" { a href={ "#" (t.id) } data-do="open" data-id=(t.id) { (test_name(t.test)) } span class="quiet" { (amount_of(t)) }
                            @if names && !t.athlete_id.is_empty() { ", " (state.athlete_name(&t.athlete_id)) } }
                        td class="num" { (amount(state, t).unwrap_or_else(|| crate::charts::number::WITHHELD.into())) }
                        td { (verdict_word(t.verdict)) @if t.edited { ", events moved by hand" } }
                        td class="file" { (t.file) }
                        td class="date" { @if let Some(day) = state.day_of(t) { (state.locale.day(day)) } }
                        td { button type="button" class="link" data-do="remove" data-id=(t.id) aria-label={ "Remove " (test_name(t.test)) ", " (t.file) } { "Remove" } }
                    }
                }
            }
        }
    }
}
