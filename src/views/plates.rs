//! Plates and protocols: a dated check of the plates, and the cards that say how each test is done.
use super::cards::cards;
use crate::people::{PLACES, PlateCheck, Side};
use crate::records::Kept;
use crate::screen::State;
use maud::{Markup, html};

/// The screen.
#[inline(never)]
pub fn screen(state: &State) -> Markup {
    let mut checks: Vec<&Kept<PlateCheck>> = state.checks.values().filter(|c| !c.removed).collect();
    checks.sort_by(|a, b| b.body.date.cmp(&a.body.date).then_with(|| b.envelope.id.cmp(&a.envelope.id)));
    html! {
        h1 { "Plates and protocols" }
        section id="checks" class="no-print" aria-labelledby="checks-head" {
            h2 id="checks-head" { "Plate checks" }
            p { "A wrong gain looks like a stronger athlete, and no recording of a jump can show it. A known mass can: at the centre and near each corner of each plate." }
            @if !checks.is_empty() { (table(state, &checks)) }
            (form(state))
        }
        section id="cards" aria-labelledby="cards-head" {
            h2 id="cards-head" { "Protocol cards" }
            p class="no-print" { "To read out, or to print and take along. " button type="button" data-do="print" { "Print the cards" } }
            (cards(None))
        }
    }
}

fn table(state: &State, checks: &[&Kept<PlateCheck>]) -> Markup {
    let percent = |value: Option<f64>| value.map_or("–".to_owned(), |v| state.locale.fixed(v, 2));
    html! {
        div class="wide" {
            table {
                thead { tr {
                    th scope="col" { "Day" } th scope="col" { "Plates" } th scope="col" class="num" { "Known, kg" }
                    th scope="col" class="num" { "Left: error, %" } th scope="col" class="num" { "between places, %" }
                    th scope="col" class="num" { "Right: error, %" } th scope="col" class="num" { "between places, %" }
                    th scope="col" { "Left and right" } th { span class="sr" { "Remove" } }
                } }
                tbody {
                    @for check in checks {
                        @let c = &check.body;
                        tr {
                            th scope="row" { (c.date) } td { (c.plates) } td class="num" { (state.locale.fixed(c.known_kg, 2)) }
                            td class="num" { (percent(c.error_percent(Side::Left))) } td class="num" { (percent(c.spread_percent(Side::Left))) }
                            td class="num" { (percent(c.error_percent(Side::Right))) } td class="num" { (percent(c.spread_percent(Side::Right))) }
                            td { @match c.left_is_left { Some(true) => "as they are called", Some(false) => strong { "swapped" }, None => "not tried" } }
                            td { button type="button" class="link" data-do="remove-check" data-id=(check.envelope.id) aria-label={ "Remove the check of " (c.date) } { "Remove" } }
                        }
                    }
                }
            }
        }
        p class="hint" { "A difference of 1 % between the plates moves the share of each side by a quarter of a percentage point of the total, and the difference between the sides by half a percent." }
    }
}

fn form(state: &State) -> Markup {
    html! {
        details id="new-check" {
            summary { "Note a new check" }
            form class="stack" data-do="plate-check" data-clear="" {
                label { "Day " input type="date" name="date" required value=(state.today); }
                label { "Plates " input name="plates" autocomplete="off" maxlength="80" placeholder="serial numbers, or which pair"; }
                label { "Known mass, kg " input name="known_kg" inputmode="decimal" required autocomplete="off"; }
                table class="readings" {
                    caption { "What each plate shows, kg; leave out what was not tried" }
                    thead { tr { th scope="col" { "Mass at" } th scope="col" { "Left plate" } th scope="col" { "Right plate" } } }
                    tbody {
                        @for (at, place) in PLACES.into_iter().enumerate() {
                            tr {
                                th scope="row" { (place.name()) }
                                td { input name={ "left:" (at) } inputmode="decimal" autocomplete="off" aria-label={ "Left plate, " (place.name()) }; }
                                td { input name={ "right:" (at) } inputmode="decimal" autocomplete="off" aria-label={ "Right plate, " (place.name()) }; }
                            }
                        }
                    }
                }
                label { "Somebody stands on the left plate: which channel rises? "
                    select name="swap" { option value="" { "not tried" } option value="no" { "the left one" } option value="yes" { "the right one: swapped" } }
                }
                button type="submit" { "Save the check" }
            }
        }
    }
}
