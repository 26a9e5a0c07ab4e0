//! The force–time trace as a technical drawing: the total in ink, left and right thin, phases as dimension
//! lines under the axis, events as ticks that can be moved.
use super::dimensions::{Span, dimensions, px};
use super::flag::{self, Flagged, flag};
use super::labels;
use super::path::path;
use super::scale::{Scale, extent};
use crate::answer::Curves;
use crate::charts::number::Locale;
use maud::{Markup, html};

/// Text size of every label, px.
const TEXT: f64 = 12.0;
const LEFT: f64 = 52.0;
const RIGHT: f64 = 12.0;
const TOP: f64 = 26.0;
const STRIP: f64 = 84.0;
const STRIP_GAP: f64 = 16.0;
/// Height of the band above the axes that holds the flags of doubts.
const FLAGS: f64 = 24.0;

/// Curves drawn in strips of their own under the force.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Layers {
    /// Velocity of the centre of mass.
    pub velocity: bool,
    /// Its displacement.
    pub displacement: bool,
    /// Power.
    pub power: bool,
}

/// A phase to draw as a dimension line.
#[derive(Debug, Clone, PartialEq)]
pub struct Phase {
    /// Its name.
    pub name: String,
    /// From, s.
    pub from_s: f64,
    /// To, s.
    pub to_s: f64,
    /// Whether its length is written beside its name.
    pub measured: bool,
    /// Standard uncertainty of its length, s, where a figure gives it: written where there is room.
    pub u_s: Option<f64>,
    /// Phases of a higher tier are drawn below all of a lower one.
    pub tier: usize,
}

/// A doubt with a place: a numbered flag that refers to the list of sentences.
#[derive(Debug, Clone, PartialEq)]
pub struct DoubtMark {
    /// Its number in the list, from 1.
    pub number: usize,
    /// Where it acts, s.
    pub at_s: f64,
    /// What is said there.
    pub says: String,
}

/// An event to draw as a tick.
#[derive(Debug, Clone, PartialEq)]
pub struct EventMark {
    /// Its id in the document.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Where it is, s.
    pub time_s: f64,
    /// Whether it was moved by hand.
    pub moved: bool,
}

/// Everything the drawing needs.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace<'a> {
    /// The curves.
    pub curves: &'a Curves,
    /// Phases in order of time.
    pub phases: Vec<Phase>,
    /// Events in order of time.
    pub events: Vec<EventMark>,
    /// Doubts with a place.
    pub doubts: Vec<DoubtMark>,
    /// Weight, N.
    pub weight_n: Option<f64>,
    /// The stretch shown, s.
    pub view: (f64, f64),
    /// A stretch to set off, s.
    pub highlight: Option<(f64, f64)>,
    /// What else to draw.
    pub layers: Layers,
    /// Width, px.
    pub width: f64,
    /// Height of the force's panel, px.
    pub height: f64,
    /// Seconds between samples: what one arrow key moves an event by.
    pub step_s: f64,
    /// Whether events can be moved (not in print).
    pub movable: bool,
    /// One sentence for those who cannot see it.
    pub summary: String,
}

struct Strip<'a> {
    name: &'static str,
    unit: &'static str,
    class: &'static str,
    factor: f64,
    values: &'a [f64],
}

/// Draws the trace.
pub fn trace(t: &Trace<'_>, locale: &Locale) -> Markup {
    let (from, to) = t.view;
    let x = Scale::new(from, to, LEFT, t.width - RIGHT);
    let (unit, factor) = locale.unit("m");
    let strips: Vec<Strip<'_>> = [
        (t.layers.velocity, Strip { name: "velocity", unit: "m/s", class: "velocity", factor: 1.0, values: &t.curves.velocity_m_s }),
        (t.layers.displacement, Strip { name: "displacement", unit, class: "displacement", factor, values: &t.curves.displacement_m }),
        (t.layers.power, Strip { name: "power", unit: "W", class: "power", factor: 1.0, values: &t.curves.power_w }),
    ]
    .into_iter()
    .filter_map(|(on, strip)| on.then_some(strip))
    .collect();
    let top = top(t);
    let force_end = top + t.height;
    let axis = force_end + strips.len() as f64 * (STRIP + STRIP_GAP);
    let (lines, total_height) = dimensions(&spans(t, &x, locale), axis + 38.0, LEFT, t.width - RIGHT);
    let (ticks, decimals) = x.ticks(((t.width - LEFT) / 90.0) as usize);
    let id = if t.movable { "trace" } else { "trace-print" };
    html! {
        svg id=(id) class="trace" width=(px(t.width)) height=(px(total_height)) viewBox=(format!("0 0 {} {}", px(t.width), px(total_height)))
            role="group" aria-label=(t.summary) data-x0=(px(LEFT)) data-x1=(px(t.width - RIGHT)) data-from=(from) data-to=(to) data-step=(t.step_s) data-top=(px(top)) data-axis=(px(axis)) {
            defs { clipPath id=(format!("{id}-clip")) { rect x=(px(LEFT)) y="0" width=(px(t.width - LEFT - RIGHT)) height=(px(axis)) {} } }
            @if let Some((a, b)) = t.highlight {
                rect class="highlight" x=(px(x.clamped(a))) y=(px(top)) width=(px((x.clamped(b) - x.clamped(a)).max(1.0))) height=(px(axis - top)) {}
            }
            (force_panel(t, &x, &format!("url(#{id}-clip)"), locale))
            @for (i, strip) in strips.iter().enumerate() {
                (strip_panel(strip, t, &x, force_end + STRIP_GAP + i as f64 * (STRIP + STRIP_GAP), &format!("url(#{id}-clip)"), locale))
            }
            g class="axis" {
                line x1=(px(LEFT)) x2=(px(t.width - RIGHT)) y1=(px(axis)) y2=(px(axis)) {}
                @for tick in &ticks {
                    line x1=(px(x.px(*tick))) x2=(px(x.px(*tick))) y1=(px(axis)) y2=(px(axis + 4.0)) {}
                    text x=(px(x.px(*tick))) y=(px(axis + 21.0)) text-anchor=(if x.px(*tick) > t.width - RIGHT - 14.0 { "end" } else { "middle" }) { (locale.fixed(*tick, decimals)) @if Some(tick) == ticks.last() { " s" } }
                }
            }
            (lines)
            @if t.movable {
                (reading_cursor(t, top, axis))
            }
            (flags(t, &x, top, axis))
            g class="events" {
                @for event in t.events.iter().filter(|e| e.time_s >= from && e.time_s <= to) {
                    (event_tick(event, t, &x, axis, locale))
                }
            }
        }
    }
}

fn force_panel(t: &Trace<'_>, x: &Scale, clip: &str, locale: &Locale) -> Markup {
    let c = t.curves;
    let (low, high) = extent([c.force_n.as_slice(), &c.left_n, &c.right_n]).unwrap_or((0.0, 1.0));
    let y = Scale::new(low.min(0.0), high * 1.04, top(t) + t.height, top(t));
    let buckets = (t.width as usize).clamp(100, 1000);
    let two = !c.left_n.is_empty() && !c.right_n.is_empty();
    let line = |values: &[f64]| path(&c.time_s, values, t.view, buckets, x, &y);
    html! {
        g class="axis" {
            @for tick in y.ticks((t.height / 55.0) as usize).0 {
                line class="grid" x1=(px(LEFT)) x2=(px(t.width - RIGHT)) y1=(px(y.px(tick))) y2=(px(y.px(tick))) {}
                text x=(px(LEFT - 8.0)) y=(px(y.px(tick) + 4.0)) text-anchor="end" { (locale.fixed(tick, 0)) }
            }
        }
        (legend(two))
        g clip-path=(clip) {
            @if let Some(weight) = t.weight_n {
                line class="weight" x1=(px(LEFT)) x2=(px(t.width - RIGHT)) y1=(px(y.px(weight))) y2=(px(y.px(weight))) {}
            }
            @if two {
                path class="line left" d=(line(&c.left_n)) {}
                path class="line right" d=(line(&c.right_n)) {}
            }
            path class="line total" d=(line(&c.force_n)) {}
        }
        @if let Some(weight) = t.weight_n {
            text class="quiet" x=(px(weight_name_px(t, x, &y, weight))) y=(px(y.px(weight) - 4.0)) text-anchor="end" { "weight" }
        }
    }
}

/// Where the word "weight" ends: at the right, or further left where a line would run through it there.
fn weight_name_px(t: &Trace<'_>, x: &Scale, y: &Scale, weight: f64) -> f64 {
    let wide = labels::width_px("weight", TEXT);
    let (first, last) = (LEFT + wide + 4.0, t.width - RIGHT - 2.0);
    let clear = |end: &f64| {
        let lines = [&t.curves.force_n, &t.curves.left_n, &t.curves.right_n];
        let covered = |(time, force): (&f64, &f64)| {
            let (at, high) = (x.px(*time), y.px(weight) - y.px(*force));
            at > end - wide - 4.0 && at < end + 4.0 && high > -3.0 && high < 17.0
        };
        !lines.into_iter().any(|line| t.curves.time_s.iter().zip(line).any(covered))
    };
    (0..12).map(|k| last - f64::from(k) * (last - first) / 11.0).find(clear).unwrap_or(last)
}

/// Names of the lines, each beside a piece of its line; placed by estimated widths.
fn legend(two: bool) -> Markup {
    let names: &[(&str, &str)] = if two { &[("total", "total"), ("left", "left"), ("right", "right")] } else { &[("total", "total")] };
    let mut at = LEFT + 8.0;
    html! {
        g class="legend" {
            text x=(px(LEFT - 8.0)) y="13" text-anchor="end" { "N" }
            @for (name, class) in names {
                line class={ "line " (class) } x1=(px(at)) x2=(px(at + 26.0)) y1="9" y2="9" {}
                text x=(px(at + 31.0)) y="13" { (name) }
                @let () = at += 31.0 + labels::width_px(name, TEXT) + 16.0;
            }
        }
    }
}

fn strip_panel(strip: &Strip<'_>, t: &Trace<'_>, x: &Scale, top: f64, clip: &str, locale: &Locale) -> Markup {
    let values: Vec<f64> = strip.values.iter().map(|v| v * strip.factor).collect();
    let (low, high) = extent([values.as_slice()]).unwrap_or((0.0, 1.0));
    let pad = (high - low).max(1e-9) * 0.06;
    let y = Scale::new(low - pad, high + pad, top + STRIP, top);
    let (ticks, decimals) = y.ticks(5);
    let buckets = (t.width as usize).clamp(100, 1000);
    html! {
        g class="axis" {
            @for tick in ticks {
                line class=(if tick == 0.0 { "zero" } else { "grid" }) x1=(px(LEFT)) x2=(px(t.width - RIGHT)) y1=(px(y.px(tick))) y2=(px(y.px(tick))) {}
                text x=(px(LEFT - 8.0)) y=(px(y.px(tick) + 4.0)) text-anchor="end" { (locale.fixed(tick, decimals)) }
            }
            text class="strip-name" x=(px(LEFT + 6.0)) y=(px(top + 11.0)) { (strip.name) ", " (strip.unit) }
        }
        g clip-path=(clip) { path class={ "line " (strip.class) } d=(path(&t.curves.time_s, &values, t.view, buckets, x, &y)) {} }
    }
}

/// Where the axes begin: lower where a band of flags lies above them.
fn top(t: &Trace<'_>) -> f64 {
    if t.doubts.iter().any(|d| d.at_s.is_finite()) { TOP + FLAGS } else { TOP }
}

/// The phases under the axis that the view shows.
fn spans(t: &Trace<'_>, x: &Scale, locale: &Locale) -> Vec<Span> {
    let seen = t.phases.iter().filter(|p| p.to_s > t.view.0 && p.from_s < t.view.1);
    let label = |p: &Phase| {
        let ms = (p.to_s - p.from_s) * 1000.0;
        let plain = format!("{} {} ms", p.name, locale.fixed(ms, 0));
        let with_u = p.u_s.filter(|u| u.is_finite()).map(|u| format!("{} {} ms", p.name, locale.with_uncertainty(ms, u * 1000.0)));
        let room = (x.clamped(p.to_s) - x.clamped(p.from_s)).max(0.0);
        with_u.filter(|text| labels::width_px(text, TEXT) <= room).unwrap_or(plain)
    };
    seen.map(|p| Span {
        label: if p.measured { label(p) } else { p.name.clone() },
        from_px: x.clamped(p.from_s),
        to_px: x.clamped(p.to_s),
        tier: p.tier,
    })
    .collect()
}

/// The flags of doubts above the axes, each with a leader down to its place.
fn flags(t: &Trace<'_>, x: &Scale, top: f64, axis: f64) -> Markup {
    let places: Vec<flag::Place> = t.doubts.iter().map(|d| flag::Place { number: d.number, at_px: x.px(d.at_s) }).collect();
    let says = |number: usize| t.doubts.iter().find(|d| d.number == number).map_or("", |d| d.says.as_str());
    let leader = |f: &Flagged| format!("M{} {}L{} {}V{}", px(f.x_px), px(top - 4.0), px(f.at_px), px(top + 6.0), px(axis));
    // An arrow beside the flag says that the place lies beyond what is shown.
    let arrow = |f: &Flagged| {
        let side = f64::from(f.beyond);
        format!("M{} {}v8l{} -4z", px(f.x_px + 12.0 * side), px(top - 16.0), px(5.0 * side))
    };
    html! {
        g class="doubts" {
            @for f in flag::place(&places, LEFT, t.width - RIGHT) {
                @let spoken = format!("Note {}{}: {}", f.number, if f.beyond == 0 { "" } else { ", beyond the part shown" }, says(f.number));
                g class="doubt" data-doubt=(f.number) role=[t.movable.then_some("button")] tabindex=[t.movable.then_some("0")] aria-label=(spoken) {
                    title { (spoken) }
                    @if f.beyond == 0 { path class="doubt-leader" d=(leader(&f)) {} } @else { path class="doubt-arrow" d=(arrow(&f)) {} }
                    (flag(f.number, f.x_px, top - 4.0))
                }
            }
        }
    }
}

/// A line to read the curves by: the pointer moves it, and so do the arrow keys once it is focused.
fn reading_cursor(t: &Trace<'_>, top: f64, axis: f64) -> Markup {
    html! {
        g class="cursor" id="cursor" data-island="" tabindex="0" role="slider" aria-orientation="horizontal" aria-label="Reading cursor"
            aria-valuemin=(format!("{:.4}", t.view.0)) aria-valuemax=(format!("{:.4}", t.view.1)) aria-valuenow=(format!("{:.4}", t.view.0))
            aria-valuetext="not placed; the arrow keys place it" {
            line id="cursor-line" x1="0" x2="0" y1=(px(top)) y2=(px(axis)) visibility="hidden" {}
        }
    }
}

fn event_tick(event: &EventMark, t: &Trace<'_>, x: &Scale, axis: f64, locale: &Locale) -> Markup {
    let at = px(x.px(event.time_s));
    let moved = if event.moved { ", moved by hand" } else { "" };
    let spoken = format!("{} s{moved}", locale.fixed(event.time_s, 3));
    let class = if event.moved { "event moved" } else { "event" };
    html! {
        @if t.movable {
            g id={ "event-" (event.id) } class=(class) transform={ "translate(" (at) " 0)" } tabindex="0" role="slider" aria-orientation="horizontal"
                aria-label=(event.name) aria-valuemin=(format!("{:.4}", t.view.0)) aria-valuemax=(format!("{:.4}", t.view.1))
                aria-valuenow=(format!("{:.4}", event.time_s)) aria-valuetext=(spoken) data-event=(event.id) data-time=(event.time_s) {
                title { (event.name) ", " (spoken) }
                rect class="grip" x="-12" y=(px(axis - 22.0)) width="24" height="30" {}
                line class="tick" y1=(px(top(t))) y2=(px(axis)) {}
                path class="handle" d=(format!("M0 {0}l5 8h-10z", px(axis))) {}
            }
        } @else {
            g class=(class) transform={ "translate(" (at) " 0)" } { line class="tick" y1=(px(top(t))) y2=(px(axis)) {} }
        }
    }
}
