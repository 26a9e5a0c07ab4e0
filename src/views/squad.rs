//! The athletes: who they are, how often and when they were tested.
use crate::people::Date;
use crate::screen::State;
use maud::{Markup, html};
use std::collections::BTreeMap;

/// The athletes' screen.
#[inline(never)]
pub fn screen(state: &State) -> Markup {
    let mut tested: BTreeMap<&str, (usize, Option<Date>)> = BTreeMap::new();
    for head in state.heads.values().filter(|h| !h.removed && !h.athlete_id.is_empty()) {
        let entry = tested.entry(&head.athlete_id).or_default();
        entry.0 += 1;
        entry.1 = entry.1.max(state.day_of(head));
    }
    let squad = state.squad();
    let (unit, factor) = state.locale.unit("kg");
    html! {
        h1 { "Athletes" }
        @if squad.is_empty() { p { "Nobody yet. Add names below, or drop recordings: their file names can say whose they are." } }
        @else {
            table id="squad" {
                thead { tr { th scope="col" { "Name or code" } th scope="col" class="room-only" { "Sport" } th scope="col" class="room-only" { "Labels" } th scope="col" class="num" { "Body mass, " (unit) } th scope="col" class="num" { "Trials" } th scope="col" { "Last tested" } } }
                tbody {
                    @for a in &squad {
                        @let address = format!("athlete/{}", a.envelope.id);
                        @let (count, last) = tested.get(a.envelope.id.as_str()).copied().unwrap_or_default();
                        tr {
                            th scope="row" { a href={ "#" (address) } data-do="go" data-id=(address) { (a.body.name) } }
                            td class="room-only" { (a.body.sport.as_deref().unwrap_or_default()) }
                            td class="room-only" { (a.body.labels.join(", ")) }
                            td class="num" { @if let Some(kg) = a.body.body_mass_on(state.today) { (state.locale.fixed(kg * factor, 1)) } }
                            td class="num" { (count) }
                            td class="date" { @if let Some(day) = last { (state.locale.day(day)) } }
                        }
                    }
                }
            }
        }
        section aria-labelledby="add-head" {
            h2 id="add-head" { "Add athletes" }
            form class="stack" data-do="new-athletes" data-clear="" {
                label for="new-names" { "Names or codes, one a line" }
                textarea id="new-names" name="names" rows="3" autocomplete="off" {}
                button type="submit" { "Add" }
            }
        }
    }
}
