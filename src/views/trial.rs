//! One trial on one screen: what it was, its main figure, whether to trust it and why, the trace, the figures, left and right.
use super::doubts::{self, Doubt};
use super::opening::{by_flight_time, head, headline};
use super::{figures, gather, kinds, loops, sides};
use crate::answer::{Trial, Verdict};
use crate::charts::number::Locale;
use crate::charts::words::{event_name, name_of, test_name, trial_phases};
use crate::charts::{EventMark, Layers, Phase, Trace, trace};
use crate::figures::{PER_KG, definition, stretch_in};
use crate::recording::Letters as _;
use crate::records::{Head, SavedTrial};
use crate::screen::{Open, State, day_offered, history};
use maud::{Markup, html};

/// The trial's screen.
pub fn screen(state: &State, saved: &SavedTrial) -> Markup {
    if state.locale.imperial { in_inches(state, saved) } else { shown(state, saved) }
}

/// The same with the notices in inches and pounds: to be shown, not kept.
#[inline(never)]
fn in_inches(state: &State, saved: &SavedTrial) -> Markup {
    let mut told = saved.clone();
    for notice in &mut told.trial.notices {
        notice.message = state.locale.told(&notice.message);
    }
    shown(state, &told)
}

#[inline(never)]
fn shown(state: &State, saved: &SavedTrial) -> Markup {
    let open = state.open.as_ref().filter(|o| o.id == saved.envelope.id);
    let of_plates = super::plates::notices(state, saved);
    let doubts = doubts::all(saved, &of_plates);
    html! {
        article id={ "trial-" (saved.envelope.id) } class="trial" {
            (siblings(state, saved))
            (head(&saved.trial, &doubts, &state.locale))
            (trust(&saved.trial, &doubts, &state.locale))
            p class="about" { (about(saved, &state.locale)) @if let Some(id) = &saved.athlete_id { span class="print-only" { (state.athlete_name(id)) ", " (state.locale.day(day_offered(state, saved))) } } }
            @match open.filter(|o| o.window.is_some()) {
                Some(open) => (trace_section(state, saved, open, &doubts)),
                None => p class="quiet" { "Reading the saved force …" },
            }
            (doubts::section(&doubts, &state.locale))
            @if state.partial < 2 {
            (kinds::sections(&saved.trial, saved.options.local_gravity(), &state.locale))
            (figures::table(&saved.trial, &doubts, open.and_then(|o| o.highlight.as_deref()), &state.locale))
            (sides::section(&saved.trial, &doubts, &state.locale, (state.width - 32.0).min(720.0)))
            (weight_from(state, saved))
            }
            @if state.partial == 0 {
            (super::plates::checked(state, saved))
            (gather::section(state, saved, (state.width - 32.0).clamp(260.0, 1180.0)))
            (filing(state, saved))
            }
        }
    }
}

/// A trial in a list: its test, on which leg, with what load.
pub fn listed_name(state: &State, head: &Head) -> String {
    name_of(head.test, head.side, head.load_kg(), &state.locale)
}

/// The main figure of a trial in a list, with its ± and unit.
pub fn amount(state: &State, head: &Head) -> Option<String> {
    let (value, u) = head.value;
    let (unit, factor) = state.locale.unit(definition(&head.figure)?.unit);
    let unit = if head.figure.ends_with(PER_KG) { format!("{unit}/kg") } else { unit.to_owned() };
    let u = if u.is_finite() { u } else { 0.0 };
    value.is_finite().then(|| format!("{} {unit}", state.locale.with_uncertainty(value * factor, u * factor)).trim_end().to_owned())
}

/// Which figure a trial's main one is, where it is not the height that lists are of.
pub fn amount_of(head: &Head) -> String {
    match &*head.figure {
        "" | "jump_height" => String::new(),
        "jump_height_flight_time" => ", height from flight time".into(),
        id => definition(id).map_or_else(String::new, |d| format!(", {}", d.name.lower())),
    }
}

/// May it be trusted, and why.
fn trust(trial: &Trial, doubts: &[Doubt<'_>], locale: &Locale) -> Markup {
    let reasons = html! {
        @for notice in trial.notices.iter().take(2) { " " (doubts::mark_of(doubts, notice)) "\u{a0}" (notice.message) }
    };
    html! {
        p id="trust" class={ "trust " (crate::charts::words::verdict_word(trial.verdict).replace(' ', "-")) } {
            @match trial.verdict {
                Verdict::Sound => { strong { "This trial can be trusted." }
                    @if let Some(text) = by_flight_time(trial, locale) { " " (text) }
                    @if trial.notices.is_empty() { " Nothing in the recording speaks against it." } @else { " What is worth knowing about it stands under the trace." }
                },
                Verdict::Doubtful => { strong { "Use this trial with care." } (reasons) },
                Verdict::Unusable => { strong { "This trial cannot be used." } (reasons) },
            }
            @if let Some(advice) = trial.notices.iter().find_map(|n| n.next_time.as_deref()) {
                @if trial.verdict != Verdict::Sound { " Next time: " (advice) }
            }
            @if !trial.edited_events.is_empty() {
                " Moved by hand: " (trial.edited_events.iter().map(|e| event_name(&e.event)).collect::<Vec<_>>().join(", ")) @if trial.verdict != Verdict::Sound { ", which may be why" } "."
            }
        }
    }
}

fn about(saved: &SavedTrial, locale: &Locale) -> String {
    let trial = &saved.trial;
    let mut parts = vec![saved.file.clone()];
    if let Some(mass) = trial.system_mass_kg {
        let what = if trial.load_kg > 0.0 { "body and load" } else { "body mass" };
        let (unit, factor) = locale.unit("kg");
        // A scale's reader expects one decimal, so the ± is never shown smaller than that decimal.
        parts.push(format!(
            "{what} {} ± {} {unit}",
            locale.fixed(mass.value * factor, 1),
            locale.fixed((2.0 * mass.u * factor).max(0.1), 1)
        ));
    }
    parts.push(format!("{} samples a second", locale.fixed(saved.window.clock.rate_hz, 0)));
    // What the reader said it is is no guess.
    if let Some(next) = trial.runner_up.as_ref().filter(|r| r.margin < 0.2 && saved.options.test.is_none()) {
        parts.push(format!("might also be a {}: “How it was done” takes your word for it", test_name(next.test).lower()));
    }
    if saved.invented {
        parts.push("invented demo data".into());
    }
    parts.join(" · ")
}

/// Trials of the file that are linked on either side of the one on show.
const BESIDE: usize = 12;

fn siblings(state: &State, saved: &SavedTrial) -> Markup {
    let trials = state.siblings(saved);
    html! {
        nav class="trials" aria-label="Trials of this file" {
            a href="#" data-do="home" { "All recordings" }
            @if let Some(id) = &saved.athlete_id { a href={ "#athlete/" (id) } data-do="go" data-id={ "athlete/" (id) } { (state.athlete_name(id)) } }
            @if trials.len() > 1 {
                @let at = trials.iter().position(|t| *t.id == *saved.envelope.id).unwrap_or(0);
                @let beside = at.saturating_sub(BESIDE)..(at + BESIDE + 1).min(trials.len());
                @let mixed = trials.windows(2).any(|pair| matches!(pair, [a, b] if (a.test, a.side, &a.protocol_key) != (b.test, b.side, &b.protocol_key)));
                @for (i, t) in trials.iter().enumerate().filter(|(i, _)| *i == 0 || i + 1 == trials.len() || beside.contains(i)) {
                    @if i > 0 && i == beside.start.max(1) && i > 1 { span class="quiet" { "…" } }
                    @if i + 1 == trials.len() && beside.end + 1 < trials.len() { span class="quiet" { "…" } }
                    a href={ "#" (t.id) } data-do="open" data-id=(t.id) aria-current=[(i == at).then_some("page")] {
                        "Trial " (i + 1) @if mixed { ", " (listed_name(state, t).lower()) } @if let Some(height) = amount(state, t) { ", " (height) }
                    }
                }
            }
        }
    }
}

/// The phases to draw. Of a set of rebounds, whose contacts are numbered and measured in a table of their own: the
/// opening flight, and the set as a whole.
fn drawn_phases(trial: &Trial) -> Vec<(String, f64, f64)> {
    let all = trial_phases(trial);
    let (Some(first), Some(last)) = (trial.contacts.first(), trial.contacts.last()) else { return all };
    let end = all.iter().map(|p| p.2).fold(last.take_off, f64::max);
    let opening = all.into_iter().filter(|p| p.0.contains("flight")).take(1).filter(|p| p.2 <= first.touchdown + 0.01);
    opening.map(|p| ("opening flight".to_owned(), p.1, p.2)).chain([("rebounds".to_owned(), first.touchdown, end)]).collect()
}

/// The drawing for a state; the print twin shows the same at the paper's width.
pub fn drawing<'a>(saved: &'a SavedTrial, open: &'a Open, doubts: &[Doubt<'_>], width: f64, movable: bool, locale: &Locale) -> Trace<'a> {
    let trial = &saved.trial;
    let at = |id: &str| trial.events.get(id).copied();
    let weighing = trial.weighing.as_ref();
    let phase = |name: String, from_s: f64, to_s: f64| Phase { u_s: duration_u(trial, &name), name, from_s, to_s, measured: true, tier: 1 };
    let weighed = weighing.map(|w| phase("weighing".into(), w.from_s, w.to_s));
    // Contacts lie nearest the axis, what spans them below.
    let contacts = trial.contacts.iter().enumerate().map(|(i, c)| Phase {
        measured: false,
        tier: 0,
        ..phase(kinds::contact_number(i, c), c.touchdown, c.take_off)
    });
    let phases = drawn_phases(trial).into_iter().map(|(name, from_s, to_s)| phase(name, from_s, to_s));
    let events = trial.events.iter().filter(|(_, t)| t.is_finite()).map(|(id, t)| EventMark {
        id: id.clone(),
        name: event_name(id),
        time_s: *t,
        moved: trial.edited_events.iter().any(|e| &e.event == id),
    });
    let stretch = open.highlight.as_deref().and_then(definition).and_then(|d| {
        let (from, to) = stretch_in(d, |event| trial.events.contains_key(event));
        Some((at(from)?, at(to)?))
    });
    Trace {
        curves: &open.curves,
        phases: weighed.into_iter().chain(contacts).chain(phases).collect(),
        events: events.collect(),
        doubts: doubts::places(doubts),
        weight_n: weighing.map(|w| w.weight_n.value),
        view: open.view,
        highlight: stretch,
        layers: open.layers,
        width,
        height: if width < 500.0 { 220.0 } else { 320.0 },
        step_s: 1.0 / saved.window.clock.rate_hz.max(1.0),
        movable,
        summary: format!(
            "{}. Vertical force over time; the events and phases stand in the table below the drawing.",
            headline(trial, locale)
        ),
    }
}

/// Standard uncertainty of a phase's length, s, by the figure that measures it; none where none does.
fn duration_u(trial: &Trial, phase: &str) -> Option<f64> {
    let id = match phase {
        "flight" if trial.contacts.is_empty() => "flight_time".to_owned(),
        "second flight" => "rebound_flight_time".to_owned(),
        "rise" => "time_to_peak_force".to_owned(),
        other => format!("{}_duration", other.replace(' ', "_")),
    };
    trial.figures.get(&id)?.u.filter(|u| u.is_finite())
}

fn trace_section(state: &State, saved: &SavedTrial, open: &Open, doubts: &[Doubt<'_>]) -> Markup {
    let width = (state.width - 32.0).clamp(260.0, 1180.0);
    html! {
        section id="trace-section" aria-label="Force over time" {
            (tools(open.layers))
            div id="trace-holder" class="screen-only" { (trace(&drawing(saved, open, doubts, width, true, &state.locale), &state.locale)) }
            div class="print-only" { (trace(&drawing(saved, open, doubts, 660.0, false, &state.locale), &state.locale)) }
            p id="readout" data-island="" class="readout num" aria-hidden="true" {
                "Point at the trace to read it, or focus it and use the arrow keys. A mark ▲ can be dragged, or focused and moved with the arrow keys."
            }
            (event_table(saved, &state.locale))
            @if state.partial == 0 { (loops::section(&saved.trial, &open.curves, width, &state.locale)) }
        }
    }
}

fn tools(layers: Layers) -> Markup {
    let layer = |name: &str, on: bool| {
        html! {
            button type="button" data-do="layer" data-id=(name) aria-pressed=(if on { "true" } else { "false" }) { (name) }
        }
    };
    html! {
        div class="tools" role="toolbar" aria-label="Trace" {
            button type="button" data-do="zoom-in" aria-label="Zoom in" { "+" }
            button type="button" data-do="zoom-out" aria-label="Zoom out" { "−" }
            button type="button" data-do="earlier" aria-label="Earlier" { "←" }
            button type="button" data-do="later" aria-label="Later" { "→" }
            button type="button" data-do="whole" { "whole recording" }
            span class="tools-gap" {}
            (layer("velocity", layers.velocity)) (layer("displacement", layers.displacement)) (layer("power", layers.power))
        }
    }
}

/// The table behind the drawing.
fn event_table(saved: &SavedTrial, locale: &Locale) -> Markup {
    let trial = &saved.trial;
    html! {
        details id="events-table" {
            summary { "Events and phases as a table" }
            p class="hint" { "An event can be dragged on the trace, or focused and moved with the arrow keys: one sample a press, 10 ms with Shift." }
            table {
                thead { tr { th scope="col" { "Event" } th scope="col" class="num" { "At, s" } th scope="col" { "Set by" } } }
                tbody {
                    @for (id, time) in &trial.events {
                        @let edited = trial.edited_events.iter().find(|e| &e.event == id);
                        tr data-event-row=(id) {
                            th scope="row" { (event_name(id)) }
                            td class="num" { (locale.fixed(*time, 4)) }
                            td {
                                @match edited {
                                    Some(e) => { "moved by hand" @if let Some(found) = e.found_s { " (found at " (locale.fixed(found, 4)) ") " button type="button" class="link" data-do="put-back" data-id=(id) { "put back" } } },
                                    None => "found",
                                }
                            }
                        }
                    }
                }
            }
            table {
                thead { tr { th scope="col" { "Phase" } th scope="col" class="num" { "From, s" } th scope="col" class="num" { "To, s" } th scope="col" class="num" { "Lasts, ms ±" } } }
                tbody {
                    @for (name, from, to) in trial_phases(trial) {
                        tr { th scope="row" { (name) } td class="num" { (locale.fixed(from, 3)) } td class="num" { (locale.fixed(to, 3)) } td class="num" { (match duration_u(trial, &name) {
                            Some(u) => locale.with_uncertainty((to - from) * 1000.0, u * 1000.0),
                            None => locale.fixed((to - from) * 1000.0, 0),
                        }) } }
                    }
                }
            }
        }
    }
}

/// Where weight is from, and what the trial may be weighed by where it has no weighing of its own.
fn weight_from(state: &State, saved: &SavedTrial) -> Markup {
    let locale = &state.locale;
    html! {
        p id="weight-from" {
            @match &saved.trial.weighing {
                Some(w) => {
                    "Weighed " (w.source)
                    @if let Some(day) = saved.options.day_mass.as_ref().filter(|_| w.source.contains("same day")) { " (" (day.from) ")" }
                    ": " (locale.with_uncertainty(w.weight_n.value, w.weight_n.u)) "\u{a0}N."
                },
                None => "Weight unknown: nobody stands still in this recording. Type the body mass in under “How it was done”.",
            }
            @if let Some(day) = history::offer(state, saved) {
                @let (unit, factor) = locale.unit("kg");
                " This athlete weighed " (locale.with_uncertainty(day.mass_kg * factor, day.u_kg * factor)) "\u{a0}" (unit) " in another trial (" (day.from) "). "
                button type="button" data-do="weigh-by-day" data-id=(saved.envelope.id) { "Weigh this trial by it" }
            }
        }
    }
}

fn filing(state: &State, saved: &SavedTrial) -> Markup {
    let id = &saved.envelope.id;
    let name = saved.athlete_id.as_deref().map(|id| state.athlete_name(id)).unwrap_or_default();
    html! {
        section id="filing" aria-labelledby="filing-head" {
            h2 id="filing-head" { "This trial" }
            form data-do="file-under" data-id=(id) {
                label for="athlete" { "Athlete" }
                input id="athlete" name="athlete" list="athletes" autocomplete="off" maxlength="80" value=(name);
                datalist id="athletes" { @for a in state.squad() { option value=(a.body.name) {} } }
                label for="filed-on" { "Test day" }
                input id="filed-on" name="date" type="date" required value=(day_offered(state, saved));
                button type="submit" { "File" }
                @if saved.athlete_id.is_some() { span class="quiet" { "filed under " (name) } } @else { span class="quiet" { "not filed yet" } }
            }
            (super::protocol::form(state, saved))
            p class="actions" {
                button type="button" data-do="download" { "Save as JSON" }
                button type="button" data-do="print" { "Print" }
                button type="button" data-do="remove" data-id=(id) { "Remove" }
            }
            p class="quiet" id="save-state" {
                @if state.not_saved.contains(id) { strong { "Not saved." } " Save it as JSON before closing this page." }
                @else if !state.unsaved.is_empty() { "Saving …" } @else { "Saved on this device." }
            }
        }
    }
}
