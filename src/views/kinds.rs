//! What only some kinds of test show: how a drop was found, and the contacts of repeated jumps one by one.
use crate::answer::{ContactRow, DropAnswer, Trial, Valued};
use crate::charts::number::{Locale, WITHHELD};
use crate::movement::kinds::rebound_jumps::LONGEST_CONTACT_S;
use maud::{Markup, html};

/// The sections of this trial's kind; functions of their own, so that a first visit can do without them (`site/rooms`).
pub fn sections(trial: &Trial, gravity: f64, locale: &Locale) -> Markup {
    html! {
        @if let Some(drop) = &trial.drop { (drop_section(drop, gravity, locale)) }
        @if !trial.contacts.is_empty() { (contacts_section(&trial.contacts, locale)) }
    }
}

/// A method's name for a person.
fn method(id: &str) -> String {
    match id {
        "combined" => "both readings, each by its certainty".into(),
        "backward" => "backwards from rest after the final landing".into(),
        "from_flight" => "from the flight that follows".into(),
        "box" => "the box’s height, as if stepped off".into(),
        other => other.replace('_', " "),
    }
}

/// Velocity at touchdown as the fall that gives it, m, with its standard uncertainty.
fn fall_m(v: Valued, gravity: f64) -> (f64, f64) {
    (v.value * v.value / (2.0 * gravity), v.value.abs() * v.u / gravity)
}

#[inline(never)]
fn drop_section(drop: &DropAnswer, gravity: f64, locale: &Locale) -> Markup {
    let gravity = if gravity.is_finite() && gravity > 1.0 { gravity } else { 9.806_65 };
    let (unit, factor) = locale.unit("m");
    let row = |name: String, v: Valued, used: bool| {
        let (fall, u) = fall_m(v, gravity);
        html! {
            tr class=[used.then_some("sum")] {
                th scope="row" { (name) }
                td class="num" { (locale.with_uncertainty(v.value.abs(), v.u)) }
                td class="num" { (locale.with_uncertainty(fall * factor, u * factor)) }
            }
        }
    };
    html! {
        section id="drop" aria-labelledby="drop-head" {
            h2 id="drop-head" { "How far it fell" }
            p { (drop_sentence(drop, gravity, locale)) }
            div class="wide" { table class="narrow" {
                caption { "Velocity at touchdown, by each way of finding it" }
                thead { tr { th scope="col" { "Way" } th scope="col" class="num" { "Downwards, m/s ±" } th scope="col" class="num" { "Fall that gives it, " (unit) " ±" } } }
                tbody {
                    @if let Some(v) = drop.backward { (row("Backwards from rest after the final landing".into(), v, false)) }
                    @if let Some(v) = drop.from_flight { (row("From the flight that follows".into(), v, false)) }
                    (row(format!("Taken: {}", method(&drop.method)), drop.touchdown_velocity, true))
                    @if let Some(box_m) = drop.box_m.filter(|b| *b > 0.0) {
                        tr { th scope="row" { "Box as noted, stepped off without rising or sinking" }
                            td class="num" { (locale.fixed((2.0 * gravity * box_m).sqrt(), 2)) } td class="num" { (locale.fixed(box_m * factor, Locale::decimals(unit, 0))) } }
                    }
                }
            } }
        }
    }
}

/// What was made of the readings, and whether they agree.
fn drop_sentence(drop: &DropAnswer, gravity: f64, locale: &Locale) -> String {
    let mut out = format!("The velocity at touchdown is taken from {}.", from_what(&drop.method));
    if let (Some(a), Some(b)) = (drop.backward, drop.from_flight) {
        let ((fall_a, ua), (fall_b, ub)) = (fall_m(a, gravity), fall_m(b, gravity));
        let (apart, joint) = ((fall_a - fall_b).abs(), 2.0 * (ua * ua + ub * ub).sqrt());
        let judged = if apart <= joint { "within what they can tell" } else { "more than they should differ" };
        out += &format!(" The two readings are {} of fall apart, {judged} (±\u{a0}{}).", locale.length(apart, 1), locale.length(joint, 1));
    } else {
        out += " There is nothing to check it against.";
    }
    out
}

fn from_what(id: &str) -> String {
    match id {
        "combined" => "two readings with opposite faults, each by its certainty".into(),
        "backward" => "rest after the final landing, integrated backwards".into(),
        "from_flight" => "the flight that follows".into(),
        "box" => "the height of the box, since the recording shows neither rest after a landing nor a flight".into(),
        other => other.replace('_', " "),
    }
}

#[inline(never)]
fn contacts_section(contacts: &[ContactRow], locale: &Locale) -> Markup {
    html! {
        section id="contacts" aria-labelledby="contacts-head" {
            h2 id="contacts-head" { "Each contact" }
            p class="hint" { "Numbers as under the trace; those in brackets do not count towards the means." }
            div class="wide" { table class="narrow contacts" {
                thead { tr {
                    th scope="col" class="num" { "No." } th scope="col" class="num" { "At, s" } th scope="col" class="num" { "Contact, ms" } th scope="col" class="num" { "Flight after, ms" }
                    th scope="col" class="num" { "Reactive strength index, m/s" } th scope="col" { "Counts" }
                } }
                tbody { @for (i, c) in contacts.iter().enumerate() {
                    tr {
                        th scope="row" class="num" { (contact_number(i, c)) }
                        td class="num" { (locale.fixed(c.touchdown, 2)) }
                        td class="num" { (locale.fixed(c.contact_time * 1000.0, 0)) }
                        td class="num" { (c.flight_time.map_or_else(|| WITHHELD.to_owned(), |t| locale.fixed(t * 1000.0, 0))) }
                        td class="num" { (c.reactive_strength_index.map_or_else(|| WITHHELD.to_owned(), |r| locale.fixed(r, 2))) }
                        td { span class="why-not" { (why_counted(c, locale)) } }
                    }
                } }
            } }
        }
    }
}

/// Its number as written under the trace: in brackets where it is for reference only, as drawings write it.
#[inline(never)]
pub fn contact_number(index: usize, contact: &ContactRow) -> String {
    let number = index + 1;
    if contact.counted { number.to_string() } else { format!("({number})") }
}

fn why_counted(c: &ContactRow, locale: &Locale) -> String {
    if c.counted {
        "yes".into()
    } else if c.flight_time.is_none() {
        "no: the recording ends before the next landing".into()
    } else if c.contact_time > LONGEST_CONTACT_S {
        format!("no: longer than {}\u{a0}ms", locale.fixed(LONGEST_CONTACT_S * 1000.0, 0))
    } else {
        "no: others are better".into()
    }
}
