//! Handing over: reports to print or save, a link with its size and what goes along; and the view of a link that was opened,
//! read-only, beside the receiver's own data.
//!
//! `data-do="report-print"` and `"report-save"` carry `coach-a4`, `coach-letter`, `athlete-a4`, `athlete-letter` in `data-id`
//! ([`wanted`] reads it); `"link-include"` carries `name`, `injury_notes` or `coach_words`; `"link-copy"` copies the link.
use super::argument;
use super::report::{Paper, Reader};
use crate::advice::brief::Brief;
use crate::charts::number::Locale;
use crate::records::link::{Include, LONGEST, LinkError};
use maud::{Markup, html};

/// Which report a button means; `None` for no such report.
pub fn wanted(id: &str) -> Option<(Reader, Paper)> {
    let (reader, paper) = id.split_once('-')?;
    let reader = match reader {
        "coach" => Reader::Coach,
        "athlete" => Reader::Athlete,
        _ => return None,
    };
    match paper {
        "a4" => Some((reader, Paper::A4)),
        "letter" => Some((reader, Paper::Letter)),
        _ => None,
    }
}

/// Takes one part into the link, or leaves it out; an unknown part changes nothing.
pub fn toggled(include: Include, part: &str) -> Include {
    match part {
        "name" => Include { name: !include.name, ..include },
        "injury_notes" => Include { injury_notes: !include.injury_notes, ..include },
        "coach_words" => Include { coach_words: !include.coach_words, ..include },
        _ => include,
    }
}

/// What can be handed over. `link` is the whole address, or why there is none.
pub fn offer(include: Include, link: Result<&str, LinkError>, minor: bool, locale: &Locale) -> Markup {
    html! {
        section id="handover" aria-labelledby="handover-head" {
            h2 id="handover-head" { "Hand over" }
            @for (reader, name) in [("coach", "Coach’s report, two pages"), ("athlete", "Athlete’s report, one page in plain words")] {
                p class="actions-line" { (name) ": "
                    @for (paper, label) in [("a4", "A4"), ("letter", "Letter")] {
                        button type="button" data-do="report-print" data-id={ (reader) "-" (paper) } { "Print " (label) } " "
                        button type="button" data-do="report-save" data-id={ (reader) "-" (paper) } { "Save as file, " (label) } " "
                    }
                }
            }
            h3 { "Link" }
            p { "The link is the data: whoever has it can read it, and it cannot be called back. Nothing is uploaded. Other athletes’ values never go along." }
            @if minor { p { strong { "A minor: " } "only with the guardian’s consent." } }
            fieldset class="include" {
                legend { "What goes along" }
                (part("name", "Name or code", include.name))
                (part("injury_notes", "Why tests and exercises are closed, and who opened them", include.injury_notes))
                (part("coach_words", "Training history and the coach’s notes", include.coach_words))
            }
            @match link {
                Ok(address) => {
                    p { (size(address.len(), locale)) }
                    p class="link-line" { input id="link-text" type="text" readonly value=(address) aria-label="The link"; " " button type="button" data-do="link-copy" { "Copy" } }
                }
                Err(error) => p class="trust doubtful" { (error) },
            }
        }
    }
}

fn part(id: &str, label: &str, on: bool) -> Markup {
    html! {
        label { input type="checkbox" id={ "include-" (id) } data-do="link-include" data-id=(id) checked[on]; " " (label) }
    }
}

fn size(letters: usize, locale: &Locale) -> String {
    format!("{} kB of at most {} kB.", locale.fixed(letters as f64 / 1024.0, 1), LONGEST / 1024)
}

/// A link that was opened: said so, read-only, nothing of the receiver's own is touched.
pub fn received(brief: &Brief, locale: &Locale, width: f64) -> Markup {
    html! {
        article class="received" {
            p class="message" { span { "Opened from a link, to read only. It is not saved here and changes nothing of yours; the address no longer holds it." }
                button type="button" data-do="home" { "Close" } }
            h1 { @if brief.name.is_empty() { "An athlete, name left out" } @else { (brief.name) } }
            @if brief.invented { p class="quiet" { "Invented data: this athlete does not exist." } }
            (argument::screen(brief, locale, width))
            @if let Some(plan) = &brief.plan { section id="block" { h2 { "Block" } (super::block::sheet(plan, locale)) (super::block::cautions()) } }
        }
    }
}

/// A link that could not be read.
pub fn unreadable(error: LinkError) -> Markup {
    html! {
        section id="link-error" { h1 { "This link cannot be read" } p { (error) } button type="button" data-do="home" { "Close" } }
    }
}
