//! Curves of a set over each other: in real time, as their mean phase by phase, and as loops of force against displacement
//! and velocity. The set's table of events stands in each trial's own screen; its figures in the table above.
use super::gather::Named;
use super::loops::{IN_THE_AIR, displacement, pattern};
use crate::charts::number::Locale;
use crate::charts::{BAND_FROM, Curve, Line, Loop, MeanCurve, Overlay, Part, PhaseMean, force_loop, mean_curve, overlay};
use crate::screen::State;
use crate::screen::set::{Laid, Means, Quantity, SetCurves};
use maud::{Markup, html};

/// The section under a set's table: a button, or the curves once they are there.
pub fn section(state: &State, shown: &str, trials: &[Named<'_>], odd: Option<&str>, width: f64) -> Markup {
    let ids: Vec<&str> = trials.iter().filter_map(|t| t.id.as_deref()).collect();
    // Of another set, or of one that has changed since.
    let set = state.set.as_ref().filter(|s| s.shown == shown && s.ids.iter().all(|id| ids.contains(&id.as_str())));
    let laid = set.and_then(|s| Some((s, s.laid.as_ref()?)));
    html! {
        section id="set-curves" aria-labelledby="set-curves-head" class=[laid.is_none().then_some("no-print")] {
            h2 id="set-curves-head" { "Their curves over each other" }
            @match (set, laid) {
                (_, Some((set, laid))) => (drawings(set, laid, trials, width, &state.locale)),
                (Some(_), None) => p class="quiet" { "Reading the saved force …" },
                (None, None) => p { button type="button" data-do="lay-set" data-id={ (shown) "|" (odd.unwrap_or_default()) } { "Lay the curves of these trials over each other" } },
            }
        }
    }
}

fn drawings(set: &SetCurves, laid: &Laid, trials: &[Named<'_>], width: f64, locale: &Locale) -> Markup {
    html! {
        div class="tools no-print" role="toolbar" aria-label="Curves of the set" {
            @for q in Quantity::ALL {
                button type="button" data-do="set-quantity" data-id=(q.word()) aria-pressed=(if set.quantity == q { "true" } else { "false" }) { (q.word()) }
            }
        }
        div class="screen-only" { (over(set, laid, trials, width, locale)) }
        div class="print-only" { (over(set, laid, trials, 660.0, locale)) }
        @match &laid.means {
            Some(means) => {
                h3 { "Mean, each phase stretched to the same length" }
                div class="screen-only" { (mean(set.quantity, means, width, locale)) }
                div class="print-only" { (mean(set.quantity, means, 660.0, locale)) }
                p class="hint" {
                    @if means.trials >= BAND_FROM { "Mean of " (means.trials) " trials. Shaded: the band that holds the whole mean curve at once; other days add to it." }
                    @else { "Mean of " (means.trials) " trials; a band needs six." }
                    @if set.odd.is_some() { " The trial that does not belong is left out." }
                }
                (loops(means, laid, width, locale))
            },
            None => p class="hint" { "No mean curve: these trials have not the same few phases." },
        }
    }
}

/// Name with unit, and the factor from SI.
fn axis(quantity: Quantity, locale: &Locale) -> (&'static str, f64) {
    match quantity {
        Quantity::Force => ("force, N", 1.0),
        Quantity::Velocity => ("velocity, m/s (up is positive)", 1.0),
        Quantity::Displacement => displacement(locale),
    }
}

fn over(set: &SetCurves, laid: &Laid, trials: &[Named<'_>], width: f64, locale: &Locale) -> Markup {
    let (quantity, factor) = axis(set.quantity, locale);
    let curves: Vec<Curve<'_>> = laid
        .trials
        .iter()
        .map(|t| Curve {
            name: trials.iter().find(|n| n.id.as_ref() == Some(&t.id)).map_or_else(String::new, |n| n.name.clone()),
            time_s: &laid.time_s,
            values: t.of(set.quantity),
            zero_s: 0.0,
            line: match () {
                () if set.odd.as_ref() == Some(&t.id) => Line::Odd,
                () if t.id == set.shown => Line::Shown,
                () => Line::Plain,
            },
        })
        .collect();
    let view = (laid.time_s.first().copied().unwrap_or(0.0), laid.time_s.last().copied().unwrap_or(1.0));
    let summary = format!(
        "{} of {} trials over time, aligned at {}; their figures stand in the table above.",
        set.quantity.word(),
        curves.len(),
        laid.zero
    );
    overlay(
        &Overlay { curves, view, quantity, factor, zero: laid.zero, width, height: if width < 500.0 { 200.0 } else { 280.0 }, summary },
        locale,
    )
}

fn mean(quantity: Quantity, means: &Means, width: f64, locale: &Locale) -> Markup {
    let (name, factor) = axis(quantity, locale);
    let phases = means.phases.iter().enumerate().filter_map(|(i, p)| {
        let (mean, low, high) = means.of(quantity, i)?;
        Some(PhaseMean { name: p.name.clone(), duration_s: p.duration_s, mean, band: Some((low, high)) })
    });
    let summary =
        format!("Mean {} of {} trials, phase by phase; the phases' mean durations stand under it.", quantity.word(), means.trials);
    let drawing = MeanCurve {
        phases: phases.collect(),
        trials: means.trials,
        quantity: name,
        factor,
        width,
        height: if width < 500.0 { 200.0 } else { 260.0 },
        summary,
    };
    mean_curve(&drawing, locale)
}

fn loops(means: &Means, laid: &Laid, width: f64, locale: &Locale) -> Markup {
    let drawing = |across: Quantity, width: f64| {
        let part = |(i, p): (usize, &crate::screen::set::MeanPhase)| {
            let (y, x) = (means.of(Quantity::Force, i)?.0, means.of(across, i)?.0);
            let known = x.iter().all(|v| v.is_finite()) && !IN_THE_AIR.contains(&p.name.as_str());
            known.then(|| Part { name: p.name.clone(), pattern: pattern(&p.name), x, y })
        };
        let parts: Vec<Part<'_>> = means.phases.iter().enumerate().filter_map(part).collect();
        if parts.is_empty() {
            return html! {};
        }
        let (x_name, x_factor) = axis(across, locale);
        let weight_n = Some(laid.weight_n).filter(|w| w.is_finite());
        let summary = format!("Mean vertical force against mean {} of the centre of mass, phase by phase.", across.word());
        force_loop(&Loop { parts, x_name, x_factor, y_name: "force, N", weight_n, width, height: 240.0, summary }, locale)
    };
    let each = if width < 900.0 { width } else { (width - 56.0) / 2.0 };
    let known = means.of(Quantity::Velocity, 0).is_some_and(|v| v.0.iter().all(|v| v.is_finite()));
    html! {
        @if known {
            h3 { "Force against displacement and velocity, means" }
            div class="screen-only" { div class="both" {
                div { (drawing(Quantity::Displacement, each)) }
                div { (drawing(Quantity::Velocity, each)) }
            } }
            div class="print-only" { (drawing(Quantity::Displacement, 660.0)) (drawing(Quantity::Velocity, 660.0)) }
            p class="hint" { "Arrows show which way time runs; rings are where one phase ends and the next begins. Time in the air is left out." }
        }
    }
}
