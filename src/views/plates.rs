//! Plates and protocols: a dated check of the plates, and the cards that say how each test is done.
use super::cards::cards;
use crate::people::{PLACES, PlateCheck, Side};
use crate::recording::Notice;
use crate::records::{Head, Kept, SavedTrial};
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
        (place(state))
        section id="cards" aria-labelledby="cards-head" {
            h2 id="cards-head" { "Protocol cards" }
            p class="no-print" { "To read out, or to print and take along. " button type="button" data-do="print" { "Print the cards" } }
            (cards(None, &state.locale))
        }
    }
}

/// Where the plates stand.
fn place(state: &State) -> Markup {
    let text = |value: Option<f64>| value.map_or_else(String::new, |v| v.to_string());
    let (latitude, altitude) = (text(state.place.map(|p| p.latitude_deg)), text(state.place.map(|p| p.altitude_m)));
    html! {
        section id="place" class="no-print" aria-labelledby="place-head" {
            h2 id="place-head" { "Gravity" }
            p {
                @match state.place {
                    Some(place) => { "Files are read with " (state.locale.fixed(place.gravity(), 4)) " m/s², the gravity of the place below." }
                    None => { "Files are read with standard gravity, 9" (state.locale.decimal) "8067 m/s²." }
                }
                " Between equator and pole it differs by half a percent, and heights with it."
            }
            form class="row" data-do="place" {
                label { "Latitude, degrees (south negative) " input name="latitude" inputmode="text" autocomplete="off" maxlength="12" value=(latitude); }
                label { "Altitude, m " input name="altitude" inputmode="text" autocomplete="off" maxlength="12" value=(altitude); }
                button type="submit" { "Use this place" }
            }
            p class="hint" { "It stays on this device. An empty latitude goes back to standard gravity. Where trials of different gravity are compared, that is said beside them." }
        }
    }
}

/// The latest check of the plates up to a trial's day. Which pair it was done on is in the coach's own words, so the check is
/// always shown with them.
fn check_of<'a>(state: &'a State, saved: &SavedTrial) -> Option<&'a PlateCheck> {
    let day = state.day_of(&Head::of(saved))?;
    let before = state.checks.values().filter(|c| !c.removed && c.body.date <= day);
    before.max_by(|a, b| (a.body.date, &a.envelope.id).cmp(&(b.body.date, &b.envelope.id))).map(|c| &c.body)
}

/// Error of a plate from which it is told, %: a newton in a hundred, twice what plates are sold with (common practice, no
/// source).
const OFF_PERCENT: f64 = 1.0;

/// What the check before a trial speaks against: sides, where the plates differ or were crossed; forces, where both are off.
pub fn notices(state: &State, saved: &SavedTrial) -> Vec<Notice> {
    let Some(check) = check_of(state, saved) else { return vec![] };
    let error = |side| check.error_percent(side);
    let mut out = Vec::new();
    if check.left_is_left == Some(false) && !saved.trial.sides.is_empty() {
        let text = format!(
            "The check of {} found the plates swapped: the channel called left rose when somebody stood on the right plate.",
            check.date
        );
        out.push(Notice::new("plates_crossed", text).next_time("Cross the cables back, or name the columns anew, and check again."));
    }
    if let (Some(left), Some(right)) = (error(Side::Left), error(Side::Right)) {
        let apart = right - left;
        if apart.abs() > OFF_PERCENT && !saved.trial.sides.is_empty() {
            // A gain that differs by g moves the difference of the total by g/2, and the share by g/4.
            let text = format!(
                "The check of {} found the {} plate reading {} % more than the other: every difference between left and right is off by about {} % of the total \
                 towards it.",
                check.date,
                if apart > 0.0 { "right" } else { "left" },
                state.locale.fixed(apart.abs(), 1),
                state.locale.fixed(apart.abs() / 2.0, 1)
            );
            out.push(
                Notice::new("plates_differ", text)
                    .next_time("Have the plates calibrated; until then compare each side with its own earlier trials only."),
            );
        }
    }
    let errors: Vec<f64> = [Side::Left, Side::Right].into_iter().filter_map(error).collect();
    let whole = errors.iter().sum::<f64>() / errors.len() as f64;
    if whole.abs() > OFF_PERCENT {
        let text = format!(
            "The check of {} found the plates reading {} % {}: forces, powers and body mass are off by as much; heights and times are not.",
            check.date,
            state.locale.fixed(whole.abs(), 1),
            if whole > 0.0 { "too much" } else { "too little" }
        );
        out.push(Notice::new("plates_off", text).next_time("Have the plates calibrated."));
    }
    out
}

/// What is known of the plates on a trial's day, in one sentence.
pub fn checked(state: &State, saved: &SavedTrial) -> Markup {
    let percent = |v: f64| format!("{}{}\u{a0}%", if v < 0.0 { "−" } else { "+" }, state.locale.fixed(v.abs(), 1));
    html! {
        p id="plates-checked" class="quiet" {
            @match check_of(state, saved) {
                Some(c) => {
                    "Plates" @if !c.plates.is_empty() { " (" (c.plates) ")" } " checked on " (state.locale.day(c.date)) ": "
                    @let sides = [("left", Side::Left), ("right", Side::Right)];
                    @let known: Vec<String> = sides.into_iter().filter_map(|(name, s)| Some(format!("{name} {}", percent(c.error_percent(s)?)))).collect();
                    @let between = sides.into_iter().filter_map(|(_, s)| c.spread_percent(s)).fold(0.0, f64::max);
                    @if known.is_empty() { "no mass was put on them" } @else { (known.join(", ")) }
                    @if between > 0.0 { ", between places up to " (state.locale.fixed(between, 1)) "\u{a0}%" }
                    @match c.left_is_left { Some(true) => "; left is left", Some(false) => "; swapped", None => "" }
                    "."
                },
                None => {
                    "No check of the plates is noted before this trial. A wrong gain cannot be seen in it: "
                    a href="#plates" data-do="go" data-id="plates" { "check the plates with a known mass" } "."
                }
            }
        }
    }
}

fn table(state: &State, checks: &[&Kept<PlateCheck>]) -> Markup {
    let percent = |value: Option<f64>| value.map_or("–".to_owned(), |v| state.locale.fixed(v, 2));
    let (unit, factor) = state.locale.unit("kg");
    html! {
        div class="wide" {
            table {
                thead { tr {
                    th scope="col" { "Day" } th scope="col" { "Plates" } th scope="col" class="num" { "Known, " (unit) }
                    th scope="col" class="num" { "Left: error, %" } th scope="col" class="num" { "between places, %" }
                    th scope="col" class="num" { "Right: error, %" } th scope="col" class="num" { "between places, %" }
                    th scope="col" { "Left and right" } th { span class="sr" { "Remove" } }
                } }
                tbody {
                    @for check in checks {
                        @let c = &check.body;
                        tr {
                            th scope="row" { (state.locale.day(c.date)) } td { (c.plates) } td class="num" { (state.locale.fixed(c.known_kg * factor, 2)) }
                            td class="num" { (percent(c.error_percent(Side::Left))) } td class="num" { (percent(c.spread_percent(Side::Left))) }
                            td class="num" { (percent(c.error_percent(Side::Right))) } td class="num" { (percent(c.spread_percent(Side::Right))) }
                            td { @match c.left_is_left { Some(true) => "as they are called", Some(false) => strong { "swapped" }, None => "not tried" } }
                            td { button type="button" class="link" data-do="remove-check" data-id=(check.envelope.id) aria-label={ "Remove the check of " (state.locale.day(c.date)) } { "Remove" } }
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
