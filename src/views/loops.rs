//! Force against depth and velocity of one trial, with the values at every event as the table behind the drawings.
use crate::answer::{Curves, Trial};
use crate::charts::number::{Locale, WITHHELD};
use crate::charts::words::{event_name, trial_phases};
use crate::charts::{Loop, Part, force_loop};
use core::ops::Range;
use maud::{Markup, html};

/// Phases in the air: there is no force to draw.
pub const IN_THE_AIR: &[&str] = &["flight", "opening flight", "second flight"];

/// The section; nothing where the motion is not known or nothing moves on the plates.
pub fn section(trial: &Trial, curves: &Curves, width: f64, locale: &Locale) -> Markup {
    let parts: Vec<(String, Range<usize>)> = trial_phases(trial)
        .into_iter()
        .filter(|(name, ..)| !IN_THE_AIR.contains(&name.as_str()))
        .filter_map(|(name, from, to)| Some((name, index(curves, from)?..index(curves, to)?.saturating_add(1))))
        .filter(|(_, range)| known(curves, range))
        .collect();
    if parts.is_empty() {
        return html! {};
    }
    let weight_n = trial.weighing.as_ref().map(|w| w.weight_n.value).filter(|w| w.is_finite());
    let width = if width < 900.0 { width } else { (width - 56.0) / 2.0 };
    let drawing = |values: &[f64], x_name: &str, x_factor: f64, what: &str| {
        let part = |(name, range): &(String, Range<usize>)| {
            Some(Part { name: name.clone(), pattern: pattern(name), x: values.get(range.clone())?, y: curves.force_n.get(range.clone())? })
        };
        let parts = parts.iter().filter_map(part).collect();
        let summary = format!(
            "Vertical force against {what} of the centre of mass, phase by phase; the values at each event stand in the table below."
        );
        force_loop(&Loop { parts, x_name, x_factor, y_name: "force, N", weight_n, width, height: 260.0, summary }, locale)
    };
    let (x_name, factor) = displacement(locale);
    html! {
        details id="loops" class="loops" {
            summary { "Force against depth and velocity" }
            div class="both" {
                div { (drawing(&curves.displacement_m, x_name, factor, "displacement")) }
                div { (drawing(&curves.velocity_m_s, "velocity, m/s (up is positive)", 1.0, "velocity")) }
            }
            p class="hint" { "Arrows show which way time runs; rings are where one phase ends and the next begins. Time in the air is left out." }
            (table(trial, curves, locale))
        }
    }
}

/// Name of the displacement's axis with its unit, and the factor from SI.
pub fn displacement(locale: &Locale) -> (&'static str, f64) {
    let name = if locale.imperial { "displacement, in (0: standing)" } else { "displacement, cm (0: standing)" };
    (name, locale.unit("m").1)
}

/// The line of a phase: braking is thick, what comes again after a flight is dashed.
pub fn pattern(phase: &str) -> usize {
    let known = ["unweighting", "braking", "propulsion", "landing", "rebound braking", "rebound propulsion"];
    known.iter().position(|name| *name == phase).unwrap_or(2)
}

/// The sample nearest a time; none outside the curves.
fn index(curves: &Curves, time_s: f64) -> Option<usize> {
    let (first, last) = (*curves.time_s.first()?, *curves.time_s.last()?);
    let inside = time_s >= first && time_s <= last && last > first;
    inside.then(|| ((time_s - first) / (last - first) * (curves.time_s.len() - 1) as f64).round() as usize)
}

/// Whether the motion is known all through a stretch.
fn known(curves: &Curves, range: &Range<usize>) -> bool {
    let finite = |x: &[f64]| x.get(range.clone()).is_some_and(|x| x.len() > 2 && x.iter().all(|v| v.is_finite()));
    finite(&curves.velocity_m_s) && finite(&curves.displacement_m) && finite(&curves.force_n)
}

fn table(trial: &Trial, curves: &Curves, locale: &Locale) -> Markup {
    let value = |series: &[f64], at: usize, factor: f64, decimals: usize| {
        series.get(at).filter(|v| v.is_finite()).map_or_else(|| WITHHELD.to_owned(), |v| locale.fixed(v * factor, decimals))
    };
    let (unit, factor) = locale.unit("m");
    html! {
        div class="wide" { table class="narrow" {
            caption { "At each event" }
            thead { tr {
                th scope="col" { "Event" } th scope="col" class="num" { "Force, N" } th scope="col" class="num" { "Displacement, " (unit) } th scope="col" class="num" { "Velocity, m/s" }
            } }
            tbody {
                @for (id, time) in &trial.events {
                    @if let Some(at) = index(curves, *time) {
                        tr {
                            th scope="row" { (event_name(id)) }
                            td class="num" { (value(&curves.force_n, at, 1.0, 0)) }
                            td class="num" { (value(&curves.displacement_m, at, factor, Locale::decimals(unit, 1))) }
                            td class="num" { (value(&curves.velocity_m_s, at, 1.0, 2)) }
                        }
                    }
                }
            }
        } }
    }
}
