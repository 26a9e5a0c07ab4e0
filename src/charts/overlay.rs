//! Several trials in one drawing: over each other in real time, aligned at take-off; or as their mean, each phase
//! stretched to the same length first. A band is drawn from six trials on, and is simultaneous where the caller made it so
//! [Lenhoff et al. 1999, Gait Posture 9:10].
use super::dimensions::{Span, dimensions, px};
use super::panel::{Panel, range};
use super::path::path;
use crate::charts::number::Locale;
use maud::{Markup, html};

/// Fewest trials that a band is drawn for.
pub const BAND_FROM: usize = 6;

/// How a trial's line is drawn; nothing hangs on colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Line {
    /// One among others: thin.
    Plain,
    /// The one that is spoken of: thick.
    Shown,
    /// The one that does not belong: dashed.
    Odd,
}

/// One trial's curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve<'a> {
    /// Its name ("Trial 2").
    pub name: String,
    /// Time of each value, s.
    pub time_s: &'a [f64],
    /// Values, SI.
    pub values: &'a [f64],
    /// The instant that all curves share (take-off), s.
    pub zero_s: f64,
    /// How it is drawn.
    pub line: Line,
}

/// Curves over each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Overlay<'a> {
    /// The curves.
    pub curves: Vec<Curve<'a>>,
    /// The stretch shown, s from the shared instant.
    pub view: (f64, f64),
    /// What is drawn, with its unit.
    pub quantity: &'a str,
    /// SI to that unit.
    pub factor: f64,
    /// What the shared instant is ("take-off").
    pub zero: &'a str,
    /// Width, px.
    pub width: f64,
    /// Height of the axes, px.
    pub height: f64,
    /// One sentence for those who cannot see it.
    pub summary: String,
}

/// Draws curves over each other.
#[inline(never)]
pub fn overlay(o: &Overlay<'_>, locale: &Locale) -> Markup {
    let shifted: Vec<(&Curve<'_>, Vec<f64>, Vec<f64>)> = o
        .curves
        .iter()
        .map(|c| (c, c.time_s.iter().map(|t| t - c.zero_s).collect(), c.values.iter().map(|v| v * o.factor).collect()))
        .collect();
    let shown = |x: &[f64], y: &[f64]| -> Vec<f64> {
        x.iter().zip(y).filter(|(t, _)| **t >= o.view.0 && **t <= o.view.1).map(|(_, v)| *v).collect()
    };
    let y = range(shifted.iter().flat_map(|(_, x, y)| shown(x, y)).chain([0.0]));
    let panel = Panel::new(o.view, y, o.width, o.height);
    let buckets = (o.width as usize).clamp(100, 1000);
    // What is spoken of lies on top.
    let order = |line: Line| shifted.iter().filter(move |s| s.0.line == line);
    let legend: Vec<(&str, String)> = legend(&o.curves);
    let end = panel.end() + legend.len() as f64 * 18.0;
    html! {
        svg class="overlay" width=(px(o.width)) height=(px(end)) viewBox=(format!("0 0 {} {}", px(o.width), px(end))) role="img" aria-label=(o.summary) {
            (panel.axes(&format!("s from {}", o.zero), o.quantity, locale))
            line class="shared" x1=(px(panel.x.px(0.0))) x2=(px(panel.x.px(0.0))) y1=(px(panel.top)) y2=(px(panel.bottom)) {}
            @for line in [Line::Plain, Line::Odd, Line::Shown] {
                @for (_, x, y) in order(line) {
                    path class={ "line " (class(line)) } d=(path(x, y, o.view, buckets, &panel.x, &panel.y)) {}
                }
            }
            g class="legend" {
                @for (i, (class, text)) in legend.iter().enumerate() {
                    @let y = panel.end() + 10.0 + i as f64 * 18.0;
                    line class={ "line " (class) } x1=(px(panel.left)) x2=(px(panel.left + 30.0)) y1=(px(y - 4.0)) y2=(px(y - 4.0)) {}
                    text x=(px(panel.left + 38.0)) y=(px(y)) { (text) }
                }
            }
        }
    }
}

fn class(line: Line) -> &'static str {
    match line {
        Line::Plain => "plain",
        Line::Shown => "total",
        Line::Odd => "odd",
    }
}

/// Kinds of line that are in the drawing, with the names of their trials.
fn legend(curves: &[Curve<'_>]) -> Vec<(&'static str, String)> {
    [Line::Shown, Line::Plain, Line::Odd]
        .into_iter()
        .filter_map(|line| {
            let names: Vec<&str> = curves.iter().filter(|c| c.line == line).map(|c| c.name.as_str()).collect();
            let suffix = if line == Line::Odd { ": does not belong to the others" } else { "" };
            (!names.is_empty()).then(|| (class(line), format!("{}{suffix}", names.join(", "))))
        })
        .collect()
}

/// One phase of a mean curve: values evenly spaced from its beginning to its end.
#[derive(Debug, Clone, PartialEq)]
pub struct PhaseMean<'a> {
    /// Its name.
    pub name: String,
    /// Mean duration, s: how wide it is drawn.
    pub duration_s: f64,
    /// Mean of the trials, SI.
    pub mean: &'a [f64],
    /// Lower and upper edge of the band, SI.
    pub band: Option<(&'a [f64], &'a [f64])>,
}

/// A mean curve, phase by phase.
#[derive(Debug, Clone, PartialEq)]
pub struct MeanCurve<'a> {
    /// The phases in order.
    pub phases: Vec<PhaseMean<'a>>,
    /// Of how many trials.
    pub trials: usize,
    /// What is drawn, with its unit.
    pub quantity: &'a str,
    /// SI to that unit.
    pub factor: f64,
    /// Width, px.
    pub width: f64,
    /// Height of the axes, px.
    pub height: f64,
    /// One sentence for those who cannot see it.
    pub summary: String,
}

/// Draws a mean curve, its phases as dimension lines; the band only from [`BAND_FROM`] trials.
#[inline(never)]
pub fn mean_curve(m: &MeanCurve<'_>, locale: &Locale) -> Markup {
    let banded = m.trials >= BAND_FROM;
    let edges = |p: &PhaseMean<'_>| -> Vec<f64> {
        let band = p.band.filter(|_| banded).into_iter().flat_map(|(a, b)| a.iter().chain(b).copied());
        p.mean.iter().copied().chain(band).map(|v| v * m.factor).collect()
    };
    let y = range(m.phases.iter().flat_map(edges).chain([0.0]));
    let lasts = |p: &PhaseMean<'_>| if p.duration_s.is_finite() { p.duration_s.clamp(1e-3, 1e3) } else { 1e-3 };
    let total: f64 = m.phases.iter().map(lasts).sum();
    let panel = Panel::new((0.0, total.max(1e-3)), y, m.width, m.height);
    let (mut from, mut parts, mut spans) = (0.0, Vec::new(), Vec::new());
    for p in &m.phases {
        let to = from + lasts(p);
        let label = format!("{} {} ms", p.name, locale.fixed(p.duration_s * 1000.0, 0));
        spans.push(Span { label, from_px: panel.x.px(from), to_px: panel.x.px(to), tier: 0 });
        let line = points(&panel, p.mean, from, to, m.factor);
        let band = p.band.filter(|_| banded).map(|(low, high)| {
            let mut back = points(&panel, low, from, to, m.factor);
            back.reverse();
            [points(&panel, high, from, to, m.factor), back].concat()
        });
        parts.push((line, band, panel.x.px(to)));
        from = to;
    }
    let (lines, end) = dimensions(&spans, panel.bottom + 16.0, panel.left, panel.right);
    html! {
        svg class="overlay" width=(px(m.width)) height=(px(end)) viewBox=(format!("0 0 {} {}", px(m.width), px(end))) role="img" aria-label=(m.summary) {
            (y_axis(&panel, m.quantity, locale))
            @for (_, band, _) in &parts { @if let Some(band) = band { path class="band" d={ (d(band)) "Z" } {} } }
            @for (line, _, to) in &parts {
                line class="shared" x1=(px(*to)) x2=(px(*to)) y1=(px(panel.top)) y2=(px(panel.bottom)) {}
                path class="line total" d=(d(line)) {}
            }
            (lines)
        }
    }
}

fn y_axis(panel: &Panel, name: &str, locale: &Locale) -> Markup {
    let (ys, decimals) = panel.y.ticks(((panel.bottom - panel.top) / 45.0) as usize);
    html! {
        g class="axis" {
            @for tick in ys {
                line class=(if tick == 0.0 { "zero" } else { "grid" }) x1=(px(panel.left)) x2=(px(panel.right)) y1=(px(panel.y.px(tick))) y2=(px(panel.y.px(tick))) {}
                text x=(px(panel.left - 8.0)) y=(px(panel.y.px(tick) + 4.0)) text-anchor="end" { (locale.fixed(tick, decimals)) }
            }
            text x="4" y="12" { (name) }
        }
    }
}

/// Values evenly spaced between two places, as pixels; those that are not finite are left out.
fn points(panel: &Panel, values: &[f64], from: f64, to: f64, factor: f64) -> Vec<(f64, f64)> {
    let last = values.len().saturating_sub(1).max(1) as f64;
    let each = values.iter().enumerate().filter(|(_, v)| v.is_finite());
    each.map(|(i, v)| panel.at(from + (to - from) * i as f64 / last, v * factor)).collect()
}

/// A path through pixels.
pub(super) fn d(points: &[(f64, f64)]) -> String {
    let step = |(i, (x, y)): (usize, &(f64, f64))| format!("{}{} {}", if i == 0 { 'M' } else { 'L' }, px(*x), px(*y));
    points.iter().enumerate().map(step).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mean<'a>(values: &'a [f64], trials: usize) -> MeanCurve<'a> {
        let phase = |name: &str, duration_s| PhaseMean { name: name.into(), duration_s, mean: values, band: Some((values, values)) };
        MeanCurve {
            phases: vec![phase("braking", 0.2), phase("propulsion", 0.3)],
            trials,
            quantity: "N",
            factor: 1.0,
            width: 500.0,
            height: 200.0,
            summary: "Mean force of the trials.".into(),
        }
    }

    #[test]
    fn a_band_needs_six_trials() {
        let values = [700.0, 1500.0, 900.0];
        assert!(!mean_curve(&mean(&values, 5), &Locale::default()).into_string().contains("class=\"band\""));
        let drawn = mean_curve(&mean(&values, 6), &Locale::default()).into_string();
        assert_eq!(drawn.matches("class=\"band\"").count(), 2);
        assert!(drawn.contains("braking 200 ms") && drawn.contains("propulsion 300 ms"));
    }

    #[test]
    fn curves_share_an_instant_and_the_odd_one_is_named() {
        let (time, force) = ([0.0, 0.5, 1.0], [700.0, 2000.0, 0.0]);
        let curve = |name: &str, line| Curve { name: name.into(), time_s: &time, values: &force, zero_s: 1.0, line };
        let o = Overlay {
            curves: vec![curve("Trial 1", Line::Plain), curve("Trial 2", Line::Shown), curve("Trial 3", Line::Odd)],
            view: (-1.0, 0.2),
            quantity: "N",
            factor: 1.0,
            zero: "take-off",
            width: 500.0,
            height: 200.0,
            summary: "Three trials.".into(),
        };
        let drawn = overlay(&o, &Locale::default()).into_string();
        assert!(drawn.contains("Trial 3: does not belong to the others") && drawn.contains("s from take-off"));
        assert!(!drawn.contains("NaN"));
    }
}
