//! The store: how safe it is, backup, another laptop, and tables for other programs.
use crate::charts::number::Locale;
use crate::records::merge::Erased;
use crate::screen::State;
use crate::screen::storage::{Compared, Storage};
use maud::{Markup, html};

/// The screen.
#[inline(never)]
pub fn screen(state: &State) -> Markup {
    let storage = &state.storage;
    html! {
        h1 { "Storage" }
        section id="safety" aria-labelledby="safety-head" {
            h2 id="safety-head" { "How safe it is" }
            // Shown where the page was opened from a file: `boot.js` marks that.
            p class="trust doubtful" data-needs="disk" {
                "This page was opened from a file. What is saved lies in this browser on this computer, not on the stick: save a backup onto the stick to take it along. "
                "Any other page opened from this computer’s disks shares the store and could read or clear it; for lasting work open the page from a host."
            }
            (room(state, storage))
            (durable(storage))
            (last_backup(state, storage))
        }
        @if let Some(busy) = &storage.busy { p id="store-busy" class="working" { progress aria-label=(busy) {} (busy) } }
        @match &storage.outcome {
            Some(Ok(words)) => p id="store-outcome" role="status" { (words) },
            Some(Err(words)) => p id="store-outcome" class="error" role="alert" { (words) },
            None => {}
        }
        (super::columns::remembered_list(state))
        (units(state.locale.imperial))
        section id="backup" aria-labelledby="backup-head" {
            h2 id="backup-head" { "Back up" }
            p { "One file with everything: athletes, sessions, trials and their force. Its form is open and described in the source." }
            form class="row" data-do="backup" {
                label for="backup-pass" { "Passphrase (may be left empty)" }
                input id="backup-pass" name="passphrase" type="password" autocomplete="new-password";
                button type="submit" disabled[storage.busy.is_some()] { "Save a backup" }
            }
            p class="hint" { "With a passphrase the file is locked, and nobody can open it without: not you either." }
        }
        section id="restore" aria-labelledby="restore-head" {
            h2 id="restore-head" { "Restore, or take another coach’s file in" }
            p { "First the file is compared with what is here; nothing is changed before you say so, and nothing here is ever replaced unasked." }
            form class="row" data-do="compare" {
                label for="restore-file" { "Backup" }
                input id="restore-file" type="file" accept=".tarsal-backup" data-do="backup-file";
                label for="restore-pass" { "Passphrase, if it has one" }
                input id="restore-pass" name="passphrase" type="password" autocomplete="off";
                button type="submit" disabled[storage.busy.is_some()] { "Compare" }
            }
            @if let Some(compared) = &storage.compared { (merge(compared, &state.locale)) }
        }
        section id="tables" aria-labelledby="tables-head" {
            h2 id="tables-head" { "Tables for other programs" }
            p { "One row a figure of a trial, with its unit and standard uncertainty; or what the figures say of everybody, each beside all others. Names are in it: give it only to those who may see them." }
            form class="row" data-do="export" {
                label { "Table " select name="table" {
                    option value="figures" { "figures of every trial" }
                    (super::tables::options())
                } }
                label { "Form " select name="form" { option value="csv" { "CSV" } option value="json" { "JSON with its description (Table Schema)" } } }
                label { "Numbers " select name="flavour" { option value="plain" { "1.5 and commas" } option value="comma" { "1,5 and semicolons" } } }
                button type="submit" disabled[storage.busy.is_some()] { "Save the table" }
            }
        }
    }
}

/// How lengths and masses are shown, and what stays as it is: newtons and per kilogram beside pounds are the trade’s usage (common
/// practice, no source).
fn units(imperial: bool) -> Markup {
    html! {
        section id="units" aria-labelledby="units-head" {
            h2 id="units-head" { "Lengths and masses" }
            form class="row" data-do="units" data-now="" {
                label { "Shown in " select name="units" {
                    option value="metric" selected[!imperial] { "centimetres and kilograms" }
                    option value="imperial" selected[imperial] { "inches and pounds" }
                } }
            }
            p class="hint" { "Forces stay in newtons and figures per kilogram per kg, as the trade writes them; files, tables and what is typed in stay metric. The choice stays on this device." }
        }
    }
}

fn room(state: &State, storage: &Storage) -> Markup {
    let mb = |bytes: f64| state.locale.fixed(bytes / 1e6, if bytes < 1e7 { 1 } else { 0 });
    html! {
        @match storage.room {
            Some((used, allowed)) if allowed > 0.0 => {
                p id="room" { (mb(used)) " MB used of about " @if allowed < 1e9 { (mb(allowed)) " MB" } @else { (state.locale.fixed(allowed / 1e9, 1)) " GB" } " that this browser allows." }
                @if used > 0.9 * allowed { p class="error" role="alert" { "The room is nearly used up. Save a backup, and free space on this disk." } }
            },
            _ => p id="room" { "This browser does not say how much room there is." },
        }
    }
}

fn durable(storage: &Storage) -> Markup {
    html! {
        p id="durable" {
            @match (storage.durable, storage.asked) {
                (Some(true), _) => "The browser has promised to keep the store until you clear it yourself.",
                (Some(false), false) => { "The browser may clear the store when the disk is full. " button type="button" data-do="durable" { "Ask it to keep it" } },
                (Some(false), true) => { strong { "The browser refused to promise that it keeps the store. " } "It may clear it when the disk is full: save a backup after each test day. Installing this page as an app, or bookmarking it, often changes its mind." },
                (None, _) => "This browser cannot be asked to keep the store for good. Save a backup after each test day.",
            }
        }
    }
}

fn last_backup(state: &State, storage: &Storage) -> Markup {
    let trials = state.heads.values().filter(|h| !h.removed);
    html! {
        p id="last-backup" {
            @match &storage.last_backup {
                Some(when) => {
                    @let since = trials.filter(|h| h.added.as_ref() > when.as_str()).count();
                    "Last backup: " (state.locale.days_in(when.get(..10).unwrap_or_default())) ", " (when.get(11..16).unwrap_or_default()) " UTC. "
                    @if since > 0 { strong { (since) @if since == 1 { " trial has" } @else { " trials have" } " come since." } }
                },
                None => { "No backup was ever saved from this browser." },
            }
        }
    }
}

fn merge(compared: &Compared, locale: &Locale) -> Markup {
    html! {
        form id="merge" data-do="merge" {
            @let erased: u32 = compared.erased.iter().map(|e| e.records).sum();
            p { (compared.new) " new, " (compared.same) " the same, " (compared.conflicts.len()) " that differ"
                @if erased > 0 { ", " (erased) " erased here" } "." }
            @if !compared.left_out.is_empty() {
                details id="left-out" { summary { (compared.left_out.len()) " left out" } ul { @for why in compared.left_out.iter().take(100) { li { (why) } } } }
            }
            @if !compared.conflicts.is_empty() {
                p { "Tick where the file’s version is to be taken; what is not ticked stays as it is here." }
                div class="wide" {
                    table {
                        thead { tr { th scope="col" { "Take the file’s" } th scope="col" { "What" } th scope="col" { "Differs in" } th scope="col" { "Here" } th scope="col" { "In the file" } } }
                        tbody {
                            @for c in &compared.conflicts {
                                tr {
                                    td { input type="checkbox" name="theirs" value=(c.id) aria-label={ "Take the file’s version of the " (c.what) }; }
                                    th scope="row" { (c.what) }
                                    td { (c.fields.join(", ").replace('_', " ")) }
                                    td class="date" { (locale.days_in(&c.mine.get(..16).unwrap_or_default().replace('T', " "))) }
                                    td class="date" { (locale.days_in(&c.theirs.get(..16).unwrap_or_default().replace('T', " "))) }
                                }
                            }
                        }
                    }
                }
            }
            (erased_here(&compared.erased, locale))
            @if !compared.erased_there.is_empty() {
                p { "Erased where the file is from, and still here. Taking the file in erases nothing: if they are to go, erase them on their own screens." }
                ul id="erased-there" { @for (what, day) in &compared.erased_there { li { (what) ", erased there on " (locale.day(*day)) } } }
            }
            p class="actions" {
                button type="submit" { "Take it in" }
                button type="button" data-do="merge-no" { "Leave everything as it is" }
            }
        }
    }
}

/// What was erased here and is in the file; it stays erased unless it is ticked.
fn erased_here(erased: &[Erased], locale: &Locale) -> Markup {
    html! {
        @if !erased.is_empty() {
            p { "These were erased here and stay erased. Tick only what is to come back: erasing may have been somebody’s wish." }
            div class="wide" {
                table id="erased-here" {
                    thead { tr { th scope="col" { "Bring back" } th scope="col" { "What" } th scope="col" class="num" { "Records" } th scope="col" { "Erased here on" } th scope="col" { "In the file" } } }
                    tbody {
                        @for e in erased {
                            tr {
                                td { input type="checkbox" name="back" value=(e.owner) aria-label={ "Bring back the " (e.what) }; }
                                th scope="row" { (e.what) }
                                td class="num" { (e.records) }
                                td class="date" { (locale.day(e.day)) }
                                td { @if e.later { "changed after that day" } @else { "not changed since" } }
                            }
                        }
                    }
                }
            }
        }
    }
}
