//! Points with whiskers for the uncertainty of both their values, and where there is one the line through them.
use super::dimensions::px;
use super::labels::width_px;
use super::panel::{Panel, range};
use crate::charts::number::Locale;
use maud::{Markup, html};

/// One point, in the units shown; `u` are standard uncertainties.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// Its name.
    pub name: String,
    /// Across.
    pub x: f64,
    /// Its standard uncertainty.
    pub u_x: f64,
    /// Upwards.
    pub y: f64,
    /// Its standard uncertainty.
    pub u_y: f64,
    /// Drawn hollow: for reference, not in the line.
    pub hollow: bool,
}

/// Points in one pair of axes.
#[derive(Debug, Clone, PartialEq)]
pub struct Points<'a> {
    /// The points.
    pub points: Vec<Point>,
    /// A straight line: intercept and slope, in the units shown.
    pub line: Option<(f64, f64)>,
    /// A stretch of the axis across to set off, with its name.
    pub stretch: Option<(f64, f64, &'a str)>,
    /// Values the axis across must include.
    pub include_x: Vec<f64>,
    /// Name and unit across.
    pub x_name: &'a str,
    /// Name and unit upwards.
    pub y_name: &'a str,
    /// Whether the axis upwards begins at zero.
    pub from_zero: bool,
    /// Width, px.
    pub width: f64,
    /// Height of the axes, px.
    pub height: f64,
    /// One sentence for those who cannot see it.
    pub summary: String,
}

/// Draws the points.
pub fn points(p: &Points<'_>, locale: &Locale) -> Markup {
    let whole = |v: f64, u: f64| [v - 2.0 * sound(u), v + 2.0 * sound(u)];
    let (x0, x1) = range(
        p.points.iter().flat_map(|q| whole(q.x, q.u_x)).chain(p.include_x.iter().copied()).chain(p.stretch.iter().flat_map(|s| [s.0, s.1])),
    );
    let y = range(p.points.iter().flat_map(|q| whole(q.y, q.u_y)).chain(p.from_zero.then_some(0.0)));
    let room = (x1 - x0) * 0.06;
    let panel = Panel::new((x0 - room, x1 + room), y, p.width, p.height);
    html! {
        svg class="points" width=(px(p.width)) height=(px(panel.end())) viewBox=(format!("0 0 {} {}", px(p.width), px(panel.end()))) role="img" aria-label=(p.summary) {
            @if let Some((from, to, name)) = p.stretch.filter(|s| s.0.is_finite() && s.1.is_finite()) {
                @let (a, b) = (panel.at(from, 0.0).0, panel.at(to, 0.0).0);
                rect class="noise" x=(px(a)) y=(px(panel.top)) width=(px((b - a).max(1.0))) height=(px(panel.bottom - panel.top)) {}
                text x=(px((a + b) / 2.0)) y=(px(panel.bottom - 6.0)) text-anchor="middle" { (name) }
            }
            (panel.axes(p.x_name, p.y_name, locale))
            @if let Some((intercept, slope)) = p.line.filter(|l| l.0.is_finite() && l.1.is_finite()) {
                @let ((ax, ay), (bx, by)) = (panel.at(x0, intercept + slope * x0), panel.at(x1, intercept + slope * x1));
                line class="line" x1=(px(ax)) y1=(px(ay)) x2=(px(bx)) y2=(px(by)) {}
            }
            @for q in p.points.iter().filter(|q| q.x.is_finite() && q.y.is_finite()) { (mark(q, &panel)) }
        }
    }
}

/// An uncertainty as it can be drawn.
fn sound(u: f64) -> f64 {
    if u.is_finite() { u.abs() } else { 0.0 }
}

fn mark(q: &Point, panel: &Panel) -> Markup {
    let (x, y) = panel.at(q.x, q.y);
    let (left, right) = (panel.at(q.x - 2.0 * sound(q.u_x), 0.0).0, panel.at(q.x + 2.0 * sound(q.u_x), 0.0).0);
    let (low, high) = (panel.at(0.0, q.y - 2.0 * sound(q.u_y)).1, panel.at(0.0, q.y + 2.0 * sound(q.u_y)).1);
    let half = width_px(&q.name, 12.0) / 2.0;
    // The name stands right of its point, or left where there is no room.
    let (anchor, at) = if x + 10.0 + 2.0 * half > panel.right { ("end", x - 10.0) } else { ("start", x + 10.0) };
    html! {
        line class="whisker" x1=(px(left)) x2=(px(right)) y1=(px(y)) y2=(px(y)) {}
        line class="whisker" x1=(px(x)) x2=(px(x)) y1=(px(low)) y2=(px(high)) {}
        circle class={ "mark" @if q.hollow { " unclear" } } cx=(px(x)) cy=(px(y)) r="4.5" {}
        text class="halo" x=(px(at)) y=(px(y - 7.0)) text-anchor=(anchor) { (q.name) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_have_whiskers_and_bad_ones_are_left_out() {
        let point = |x: f64, y: f64| Point { name: "20 kg".into(), x, u_x: 0.01, y, u_y: f64::NAN, hollow: false };
        let p = Points {
            points: vec![point(1.0, 2000.0), point(1.5, 1800.0), point(f64::NAN, 1.0), point(1e300, f64::INFINITY)],
            line: Some((2400.0, -400.0)),
            stretch: Some((1.1, 1.2, "best")),
            include_x: vec![],
            x_name: "m/s",
            y_name: "N",
            from_zero: false,
            width: 400.0,
            height: 200.0,
            summary: "Force against velocity.".into(),
        };
        let drawn = points(&p, &Locale::default()).into_string();
        assert_eq!(drawn.matches("<circle").count(), 2);
        assert!(drawn.contains("class=\"line\"") && !drawn.contains("NaN"));
    }
}
