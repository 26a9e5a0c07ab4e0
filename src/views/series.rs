//! Trials that differ on purpose: drops from several heights, jumps under several loads.
use crate::answer::Valued;
use crate::charts::number::{Locale, WITHHELD};
use crate::charts::words::load_words;
use crate::charts::{Point, Points, points};
use maud::{Markup, html};

/// One drop of a series; SI.
#[derive(Debug, Clone, PartialEq)]
pub struct DropStep {
    /// Its trial's name, for a drop from a box that nobody noted.
    pub name: String,
    /// The box as noted, m.
    pub box_m: Option<f64>,
    /// How far the body really fell, m.
    pub drop_m: Valued,
    /// Reactive strength index, m/s.
    pub reactive_strength_index: Option<Valued>,
    /// Contact time, s.
    pub contact_s: Option<Valued>,
    /// Peak force of the contact, N/kg.
    pub peak_per_kg: Option<Valued>,
}

/// A series over several boxes.
#[derive(Debug, Clone, PartialEq)]
pub struct DropSeries {
    /// The drops, lowest first.
    pub steps: Vec<DropStep>,
    /// The actual drop with the highest index, m: value, and its interval from … to.
    pub best_drop_m: Option<(f64, f64, f64)>,
    /// Why no best drop is named, where none is.
    pub why_not: Option<String>,
}

/// The series: index, contact time and peak force against how far the body really fell.
pub fn drops(series: &DropSeries, width: f64, locale: &Locale) -> Markup {
    let width = if width < 900.0 { width } else { (width - 96.0) / 3.0 };
    let (unit, cm) = locale.unit("m");
    let x_name = format!("actual drop, {unit}");
    let stretch = series.best_drop_m.map(|(_, from, to)| (from * cm, to * cm, "best drop"));
    let panel = |what: &str, y_name: &str, of: fn(&DropStep) -> Option<Valued>, factor: f64, set_off: bool| {
        let point = |s: &DropStep| {
            let y = of(s)?;
            Some(Point {
                name: name(s, locale),
                x: s.drop_m.value * cm,
                u_x: s.drop_m.u * cm,
                y: y.value * factor,
                u_y: y.u * factor,
                hollow: false,
            })
        };
        let p = Points {
            points: series.steps.iter().filter_map(point).collect(),
            line: None,
            stretch: stretch.filter(|_| set_off),
            include_x: vec![],
            x_name: &x_name,
            y_name,
            from_zero: false,
            width,
            height: 200.0,
            summary: format!("{what} against how far the body really fell; the same numbers stand in the table below."),
        };
        points(&p, locale)
    };
    html! {
        section id="drops" aria-labelledby="drops-head" {
            h2 id="drops-head" { "Drops from several heights" }
            p { (drops_sentence(series, locale)) }
            div class="thirds" {
                (panel("Reactive strength index", "reactive strength index, m/s", |s| s.reactive_strength_index, 1.0, true))
                (panel("Contact time", "contact, ms", |s| s.contact_s, 1000.0, false))
                (panel("Peak force", "peak force, N/kg", |s| s.peak_per_kg, 1.0, false))
            }
            div class="wide" { table class="narrow" {
                caption { "The drops" }
                thead { tr {
                    th scope="col" { "Drop" } th scope="col" class="num" { "Box, " (unit) } th scope="col" class="num" { "Actual drop, " (unit) " ±" } th scope="col" class="num" { "Reactive strength index, m/s ±" }
                    th scope="col" class="num" { "Contact, ms ±" } th scope="col" class="num" { "Peak force, N/kg ±" }
                } }
                tbody { @for s in &series.steps { tr {
                    th scope="row" { (name(s, locale)) }
                    td class="num" { (s.box_m.map_or_else(|| WITHHELD.to_owned(), |b| locale.fixed(b * cm, Locale::decimals(unit, 0)))) }
                    td class="num" { (cell(Some(s.drop_m), cm, locale)) } td class="num" { (cell(s.reactive_strength_index, 1.0, locale)) }
                    td class="num" { (cell(s.contact_s, 1000.0, locale)) } td class="num" { (cell(s.peak_per_kg, 1.0, locale)) }
                } } }
            } }
        }
    }
}

/// A drop is called by its box, where that is noted.
fn name(step: &DropStep, locale: &Locale) -> String {
    step.box_m.map_or_else(|| step.name.clone(), |b| locale.length(b, 0))
}

fn cell(value: Option<Valued>, factor: f64, locale: &Locale) -> String {
    value.map_or_else(|| WITHHELD.to_owned(), |v| locale.with_uncertainty(v.value * factor, v.u * factor))
}

fn drops_sentence(series: &DropSeries, locale: &Locale) -> String {
    match (series.best_drop_m, &series.why_not) {
        (Some((best, from, to)), _) => format!(
            "The reactive strength index is highest for a drop of {}; between {} and {} it cannot be told from that.",
            locale.length(best, 0),
            locale.length(from, 0).split('\u{a0}').next().unwrap_or_default(),
            locale.length(to, 0)
        ),
        (None, Some(why)) => format!("No best drop can be named: {why}."),
        (None, None) => "No best drop can be named from these trials.".into(),
    }
}

/// One load; SI.
#[derive(Debug, Clone, PartialEq)]
pub struct Load {
    /// Load beyond the body, kg.
    pub load_kg: f64,
    /// Force averaged over the push-off distance, N/kg of body mass.
    pub force_per_kg: Valued,
    /// Mean velocity of the push, m/s.
    pub velocity_m_s: Valued,
}

/// A straight line through the loads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ForceVelocityLine {
    /// Force where the line meets no velocity, N/kg.
    pub force_at_rest: Valued,
    /// Velocity where it meets no force, m/s, and its 90 % interval.
    pub velocity_without_force: (f64, f64, f64),
    /// Its slope, N·s/m/kg, and the slope's 90 % interval.
    pub slope: (f64, f64, f64),
}

/// Force against velocity over several loads.
#[derive(Debug, Clone, PartialEq)]
pub struct ForceVelocity {
    /// The loads, lightest first.
    pub loads: Vec<Load>,
    /// The line, where it may be drawn.
    pub line: Option<ForceVelocityLine>,
    /// Why it may not, in sentences.
    pub refused: Vec<String>,
}

/// Force against velocity: the points always, the line only where it holds.
pub fn force_velocity(fv: &ForceVelocity, width: f64, locale: &Locale) -> Markup {
    let kg = |load: f64| if load > 0.0 { load_words(load, locale) } else { "no load".to_owned() };
    let p = Points {
        points: fv
            .loads
            .iter()
            .map(|l| Point {
                name: kg(l.load_kg),
                x: l.velocity_m_s.value,
                u_x: l.velocity_m_s.u,
                y: l.force_per_kg.value,
                u_y: l.force_per_kg.u,
                hollow: false,
            })
            .collect(),
        line: fv.line.map(|l| (l.force_at_rest.value, l.slope.0)),
        stretch: None,
        include_x: vec![],
        x_name: "mean velocity of the push, m/s",
        y_name: "mean force of the push, N/kg",
        from_zero: false,
        width: width.min(620.0),
        height: 260.0,
        summary: "Mean force against mean velocity of the push, one point a load; the same numbers stand in the table below.".into(),
    };
    html! {
        section id="force-velocity" aria-labelledby="fv-head" {
            h2 id="fv-head" { "Force against velocity over loads" }
            @if let Some(line) = fv.line {
                p { "The line meets no velocity at " (nb(&locale.with_uncertainty(line.force_at_rest.value, line.force_at_rest.u))) "\u{a0}N/kg and no force at "
                    (locale.fixed(line.velocity_without_force.0, 2)) "\u{a0}m/s (90\u{a0}% interval " (locale.fixed(line.velocity_without_force.1, 2)) " to "
                    (locale.fixed(line.velocity_without_force.2, 2)) "); its slope is " (locale.fixed(line.slope.0, 1)) "\u{a0}N·s/m/kg ("
                    (locale.fixed(line.slope.1, 1)) " to " (locale.fixed(line.slope.2, 1)) "). "
                    "Both ends lie outside what was tested, and the line alone decides nothing." }
            } @else {
                p { "No line is drawn." @for why in &fv.refused { " " (why) } }
            }
            (points(&p, locale))
            div class="wide" { table class="narrow" {
                caption { "The loads" }
                thead { tr { th scope="col" { "Load" } th scope="col" class="num" { "Force, N/kg ±" } th scope="col" class="num" { "Velocity, m/s ±" } } }
                tbody { @for l in &fv.loads { tr {
                    th scope="row" { (kg(l.load_kg)) } td class="num" { (cell(Some(l.force_per_kg), 1.0, locale)) } td class="num" { (cell(Some(l.velocity_m_s), 1.0, locale)) }
                } } }
            } }
        }
    }
}

/// Keeps a number and its ± on one line.
fn nb(text: &str) -> String {
    text.replace(' ', "\u{a0}")
}
