//! Published groups: what was taken in, with its source, and how to take more in.
use crate::cohort::reference::COLUMNS;
use crate::screen::State;
use maud::{Markup, html};

/// The section, under the first view that shows them.
#[inline(never)]
pub fn section(state: &State) -> Markup {
    let live: Vec<_> = state.references.iter().filter(|(_, r)| !r.removed).collect();
    html! {
        details class="no-print" id="references" open[!state.not_taken.is_empty()] {
            summary { "Published groups" @if !live.is_empty() { ", " (live.iter().map(|(_, r)| r.body.rows.len()).sum::<usize>()) " taken in" } }
            @if !live.is_empty() {
                div class="wide" { table {
                    caption { "Taken in" }
                    thead { tr { th scope="col" { "Group" } th scope="col" class="num" { "Figures" } th scope="col" { "Source" } th { span class="sr" { "Remove" } } } }
                    tbody { @for (id, table) in &live {
                        @let (groups, sources) = (distinct(table.body.rows.iter().map(|r| r.group.as_str())), distinct(table.body.rows.iter().map(|r| r.citation.as_str())));
                        tr { th scope="row" { (groups) } td class="num" { (table.body.rows.len()) } td { (sources) }
                            td { button type="button" class="link" data-do="remove-reference" data-id=(id) aria-label={ "Remove the figures of " (groups) } { "Remove" } } }
                    } }
                } }
            }
            @if !state.not_taken.is_empty() {
                ul class="error" role="alert" { @for line in &state.not_taken { li { (line) } } }
            }
            form class="stack" data-do="reference" {
                label for="reference-text" { "Table as text, one line a figure" }
                textarea id="reference-text" name="table" rows="4" spellcheck="false" placeholder=(COLUMNS.join(",")) {}
                button type="submit" { "Take it in" }
            }
            p { label for="reference-file" { "Or a CSV file " } input id="reference-file" type="file" accept=".csv,text/csv,text/plain" data-do="reference-file"; }
            p class="hint" { "The first line names the columns: " (COLUMNS.join(", ")) ". Unit, protocol and n may be empty; the source may not, for it stands wherever the numbers are used. A published group’s plate and protocol are not yours: it stands beside your group, never in it." }
        }
    }
}

/// Texts without repeats, in their order.
fn distinct<'a>(texts: impl Iterator<Item = &'a str>) -> String {
    let mut seen: Vec<&str> = Vec::new();
    for text in texts.filter(|t| !t.is_empty()) {
        if !seen.contains(&text) {
            seen.push(text);
        }
    }
    seen.join("; ")
}
