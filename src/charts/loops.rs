//! Force against displacement or velocity of the centre of mass: a loop with its phases marked by pattern, name and the
//! places where one ends and the next begins.
use super::dimensions::px;
use super::labels::width_px;
use super::overlay::d;
use super::panel::{Panel, range};
use crate::charts::number::Locale;
use maud::{Markup, html};

/// One phase of a loop.
#[derive(Debug, Clone, PartialEq)]
pub struct Part<'a> {
    /// Its name.
    pub name: String,
    /// Its pattern, 0 … 5: the same for the same phase in every drawing.
    pub pattern: usize,
    /// Values across, SI.
    pub x: &'a [f64],
    /// Values upwards, SI.
    pub y: &'a [f64],
}

/// A loop.
#[derive(Debug, Clone, PartialEq)]
pub struct Loop<'a> {
    /// Its phases in order of time.
    pub parts: Vec<Part<'a>>,
    /// Name and unit of what runs across.
    pub x_name: &'a str,
    /// SI to that unit.
    pub x_factor: f64,
    /// Name and unit of what runs upwards.
    pub y_name: &'a str,
    /// Weight, where force runs upwards, N.
    pub weight_n: Option<f64>,
    /// Width, px.
    pub width: f64,
    /// Height of the axes, px.
    pub height: f64,
    /// One sentence for those who cannot see it.
    pub summary: String,
}

/// Most points a phase is drawn with.
const POINTS: usize = 240;

/// Draws a loop.
pub fn force_loop(l: &Loop<'_>, locale: &Locale) -> Markup {
    let xs = l.parts.iter().flat_map(|p| p.x.iter().map(|x| x * l.x_factor));
    let ys = l.parts.iter().flat_map(|p| p.y.iter().copied()).chain([0.0]).chain(l.weight_n);
    let (x0, x1) = range(xs);
    let room = (x1 - x0) * 0.05;
    let panel = Panel::new((x0 - room, x1 + room), range(ys), l.width, l.height);
    let drawn: Vec<(&str, Vec<(f64, f64)>)> = l.parts.iter().map(|p| (p.name.as_str(), pixels(p, l.x_factor, &panel))).collect();
    let names = names(&drawn, &panel);
    html! {
        svg class="loop" width=(px(l.width)) height=(px(panel.end())) viewBox=(format!("0 0 {} {}", px(l.width), px(panel.end()))) role="img" aria-label=(l.summary) {
            (panel.axes(l.x_name, l.y_name, locale))
            @if let Some(weight) = l.weight_n.filter(|w| w.is_finite()) {
                @let y = panel.at(0.0, weight).1;
                line class="weight" x1=(px(panel.left)) x2=(px(panel.right)) y1=(px(y)) y2=(px(y)) {}
                text class="quiet" x=(px(panel.right - 2.0)) y=(px(y - 4.0)) text-anchor="end" { "weight" }
            }
            @for (part, (_, points)) in l.parts.iter().zip(&drawn) {
                path class={ "line part-" (part.pattern) } d=(d(points)) {}
                (arrow(points))
            }
            @for (_, points) in &drawn {
                @if let Some((x, y)) = points.first() { circle class="joint" cx=(px(*x)) cy=(px(*y)) r="3.5" {} }
            }
            @if let Some((x, y)) = drawn.last().and_then(|(_, p)| p.last()) { circle class="joint" cx=(px(*x)) cy=(px(*y)) r="3.5" {} }
            @for n in &names {
                line class="leader" x1=(px(n.at.0)) y1=(px(n.at.1)) x2=(px(n.x)) y2=(px(n.y - 4.0)) {}
                text class="halo" x=(px(n.x)) y=(px(n.y)) text-anchor="middle" { (n.text) }
            }
        }
    }
}

/// The part's points in pixels, thinned; those that are not finite are left out.
fn pixels(part: &Part<'_>, factor: f64, panel: &Panel) -> Vec<(f64, f64)> {
    let step = part.x.len().min(part.y.len()).div_ceil(POINTS).max(1);
    let both = part.x.iter().zip(part.y).enumerate();
    let last = part.x.len().min(part.y.len()).saturating_sub(1);
    both.filter(|(i, (x, y))| (i % step == 0 || *i == last) && x.is_finite() && y.is_finite())
        .map(|(_, (x, y))| panel.at(x * factor, *y))
        .collect()
}

/// An arrow head in the middle of a line: which way time runs.
fn arrow(points: &[(f64, f64)]) -> Markup {
    let middle = points.len() / 2;
    let pair = points.get(middle.saturating_sub(4)).zip(points.get((middle + 4).min(points.len().saturating_sub(1))));
    let Some((a, b)) = pair else { return html! {} };
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let length = (dx * dx + dy * dy).sqrt();
    if !(length > 0.5) {
        return html! {};
    }
    let (ux, uy) = (dx / length, dy / length);
    let (x, y) = ((a.0 + b.0) / 2.0, (a.1 + b.1) / 2.0);
    let at = |along: f64, side: f64| format!("{} {}", px(x + along * ux - side * uy), px(y + along * uy + side * ux));
    html! { path class="arrow" d=(format!("M{}L{}L{}Z", at(7.0, 0.0), at(-4.0, 4.0), at(-4.0, -4.0))) {} }
}

struct Named<'a> {
    text: &'a str,
    x: f64,
    y: f64,
    at: (f64, f64),
}

/// A name beside each part, away from the loop's middle, moved up or down until none covers another.
fn names<'a>(parts: &[(&'a str, Vec<(f64, f64)>)], panel: &Panel) -> Vec<Named<'a>> {
    let all: Vec<(f64, f64)> = parts.iter().flat_map(|p| p.1.iter().copied()).collect();
    let n = all.len().max(1) as f64;
    let centre = (all.iter().map(|p| p.0).sum::<f64>() / n, all.iter().map(|p| p.1).sum::<f64>() / n);
    let mut out: Vec<Named<'a>> = Vec::new();
    for (text, points) in parts {
        let Some(at) = points.get(points.len() / 3).copied() else { continue };
        let half = width_px(text, 12.0) / 2.0;
        let side = if at.0 < centre.0 { -1.0 } else { 1.0 };
        let x = (at.0 + side * (half + 22.0)).clamp(panel.left + half, (panel.right - half).max(panel.left + half));
        let wanted = (at.1 + if at.1 < centre.1 { -12.0 } else { 18.0 }).clamp(panel.top + 12.0, panel.bottom - 4.0);
        let covered = |y: f64| out.iter().any(|o| (o.y - y).abs() < 16.0 && (o.x - x).abs() < half + width_px(o.text, 12.0) / 2.0 + 6.0);
        let tries = (0..40).map(|k: i32| wanted + f64::from((k + 1) / 2 * if k % 2 == 0 { 1 } else { -1 }) * 8.0);
        let y = tries.filter(|y| *y > panel.top + 8.0 && *y < panel.bottom - 2.0).find(|y| !covered(*y)).unwrap_or(wanted);
        out.push(Named { text, x, y, at });
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_are_named_apart_and_bad_values_draw_nothing() {
        let (x, y) = ([0.0, -0.1, -0.3], [700.0, 500.0, 1600.0]);
        let part = |name: &str, pattern| Part { name: name.into(), pattern, x: &x, y: &y };
        let mut l = Loop {
            parts: vec![part("unweighting", 0), part("braking", 1), part("propulsion", 2)],
            x_name: "cm",
            x_factor: 100.0,
            y_name: "N",
            weight_n: Some(700.0),
            width: 360.0,
            height: 240.0,
            summary: "Force over depth.".into(),
        };
        let drawn = force_loop(&l, &Locale::default()).into_string();
        assert_eq!(drawn.matches("class=\"halo\"").count(), 3);
        assert!(drawn.contains("part-0") && drawn.contains("part-2"));
        let bad = [f64::NAN, f64::INFINITY, 1e300];
        l.parts = vec![Part { name: "braking".into(), pattern: 1, x: &bad, y: &bad }];
        assert!(!force_loop(&l, &Locale::default()).into_string().contains("NaN"));
    }
}
