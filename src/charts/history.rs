//! Sessions in time: each day a mark, the limits of days without any change shaded, a day outside them ringed and named.
use super::labels::width_px;
use super::scale::{Scale, extent};
use crate::charts::number::Locale;
use crate::cohort::Chart;
use crate::people::{Date, Side};
use maud::{Markup, html};

const LEFT: f64 = 48.0;
const RIGHT: f64 = 14.0;
const TOP: f64 = 24.0;
const HEIGHT: f64 = 150.0;

/// One history to draw.
#[derive(Debug, Clone, PartialEq)]
pub struct History<'a> {
    /// What it is of.
    pub name: String,
    /// Unit shown, with the factor from SI.
    pub unit: (String, f64),
    /// Its days.
    pub chart: &'a Chart,
    /// Which leg, for its colour and pattern.
    pub side: Option<Side>,
}

/// Draws histories one under the other over the same days; those in one unit share their value axis, so that legs compare.
pub fn histories(rows: &[History<'_>], width: f64, locale: &Locale, label: &str) -> Markup {
    let days = || rows.iter().flat_map(|r| r.chart.points.iter().map(|p| p.day));
    let (Some(first), Some(last)) = (days().min(), days().max()) else { return html! {} };
    let room = (f64::from(last.days_since(first)) * 0.04).max(1.0);
    let x = Scale::new(-room, f64::from(last.days_since(first)) + room, LEFT, width - RIGHT);
    let height = rows.len() as f64 * (HEIGHT + TOP) + 26.0;
    html! {
        svg class="history" width=(width) height=(height) viewBox=(format!("0 0 {width} {height}")) role="img" aria-label=(label) {
            @for (i, row) in rows.iter().enumerate() {
                (history(row, rows, first, &x, i as f64 * (HEIGHT + TOP) + TOP, width, locale))
            }
            g class="axis" {
                @for (at, named_at, day) in date_ticks(first, last, &x, width, locale) {
                    line x1=(at) x2=(at) y1=(height - 26.0) y2=(height - 22.0) {}
                    text x=(named_at) y=(height - 8.0) text-anchor="middle" { (day) }
                }
            }
        }
    }
}

fn history(row: &History<'_>, all: &[History<'_>], first: Date, x: &Scale, top: f64, width: f64, locale: &Locale) -> Markup {
    let factor = row.unit.1;
    let alike = all.iter().filter(|other| other.unit == row.unit);
    let values: Vec<f64> = alike
        .flat_map(|other| other.chart.points.iter().map(|p| p.value).chain([other.chart.centre.low, other.chart.centre.high]))
        .map(|v| v * factor)
        .collect();
    let (low, high) = extent([values.as_slice()]).unwrap_or((0.0, 1.0));
    let margin = 0.1 * (high - low).max(1e-9 + 0.01 * high.abs());
    let y = Scale::new(low - margin, high + margin, top + HEIGHT - 6.0, top + 10.0);
    let (ticks, decimals) = y.ticks(6);
    let class = match row.side {
        Some(Side::Left) => "line left",
        Some(Side::Right) => "line right",
        _ => "line",
    };
    let at = |p: &crate::cohort::Point| (round(x.px(f64::from(p.day.days_since(first)))), round(y.px(p.value * factor)));
    // The word is left out where it would touch the one before; the ring says the same.
    let mut said: Vec<Date> = Vec::new();
    for p in row.chart.points.iter().filter(|p| p.outside) {
        let apart = |before: &Date| x.px(f64::from(p.day.days_since(first))) - x.px(f64::from(before.days_since(first)));
        if said.last().is_none_or(|before| apart(before) >= width_px("outside", 12.0) + 4.0) {
            said.push(p.day);
        }
    }
    let centre = &row.chart.centre;
    let path: String =
        row.chart.points.iter().enumerate().map(|(i, p)| format!("{}{} {}", if i == 0 { "M" } else { "L" }, at(p).0, at(p).1)).collect();
    html! {
        g {
            text class="name" x="4" y=(top - 8.0) { (row.name) @if !row.unit.0.is_empty() { ", " (row.unit.0) } }
            @if centre.low.is_finite() {
                rect class="noise" x=(LEFT) width=(width - LEFT - RIGHT) y=(round(y.px(centre.high * factor)))
                    height=(round(y.px(centre.low * factor) - y.px(centre.high * factor)).max(1.0)) {}
            }
            line class="centre" x1=(LEFT) x2=(width - RIGHT) y1=(round(y.px(centre.value * factor))) y2=(round(y.px(centre.value * factor))) {}
            g class="axis" {
                line x1=(LEFT) x2=(LEFT) y1=(top) y2=(top + HEIGHT) {}
                line x1=(LEFT) x2=(width - RIGHT) y1=(top + HEIGHT) y2=(top + HEIGHT) {}
                @for tick in ticks {
                    line x1=(LEFT - 4.0) x2=(LEFT) y1=(round(y.px(tick))) y2=(round(y.px(tick))) {}
                    text x=(LEFT - 7.0) y=(round(y.px(tick) + 4.0)) text-anchor="end" { (locale.fixed(tick, decimals)) }
                }
            }
            path class=(class) d=(path) {}
            @for p in &row.chart.points {
                @let (px, py) = at(p);
                @if p.first_ever {
                    path class="first" d=(format!("M{} {}l8 8m0 -8l-8 8", px - 4.0, py - 4.0)) {}
                } @else {
                    circle class=(if p.baseline { "day baseline" } else { "day" }) cx=(px) cy=(py) r="4" {}
                }
                @if p.outside {
                    circle class="ring" cx=(px) cy=(py) r="8" {}
                }
                @if p.outside && said.contains(&p.day) {
                    text class="quiet" x=(px.clamp(LEFT + 24.0, width - RIGHT - 24.0)) y=(if py < top + 30.0 { py + 22.0 } else { py - 13.0 }) text-anchor="middle" { "outside" }
                }
            }
        }
    }
}

/// Days to name along the axis: the first, the last, and some between; never so near that two names touch.
fn date_ticks(first: Date, last: Date, x: &Scale, width: f64, locale: &Locale) -> Vec<(f64, f64, String)> {
    let span = last.days_since(first);
    let name = |day: i32| locale.day(first.plus_days(day));
    let half = width_px(&name(0), 12.0) / 2.0;
    // Each name stands under its day, or as near as the drawing's edge lets it.
    let place = |day: i32| x.px(f64::from(day)).clamp(half, (width - half).max(half));
    let apart = |a: i32, b: i32| place(b) - place(a) >= 2.0 * half + 8.0;
    let steps = ((width - LEFT - RIGHT) / (2.0 * half + 40.0)).floor().clamp(1.0, 8.0) as i32;
    let mut named: Vec<i32> = vec![0];
    for i in 1..steps {
        let day = (f64::from(span) * f64::from(i) / f64::from(steps)).round() as i32;
        if named.last().is_some_and(|before| apart(*before, day)) && apart(day, span) {
            named.push(day);
        }
    }
    if apart(0, span) {
        named.push(span);
    }
    named.into_iter().map(|day| (round(x.px(f64::from(day))), round(place(day)), name(day))).collect()
}

fn round(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_days_never_touch_and_stay_inside_however_narrow_and_however_near_the_days() {
        let first = Date(20_000);
        for width in [260.0, 328.0, 860.0] {
            for span in [0, 1, 2, 7, 9, 40, 400] {
                let room = (f64::from(span) * 0.04).max(1.0);
                let x = Scale::new(-room, f64::from(span) + room, LEFT, width - RIGHT);
                let ticks = date_ticks(first, first.plus_days(span), &x, width, &Locale::default());
                assert_eq!(ticks[0].2, first.to_string());
                let half = width_px(&ticks[0].2, 12.0) / 2.0;
                assert!(ticks.windows(2).all(|t| t[1].1 - t[0].1 >= 2.0 * half), "{width} {span} {ticks:?}");
                assert!(ticks.iter().all(|t| t.1 >= half - 0.1 && t.1 <= width - half + 0.1), "{width} {span} {ticks:?}");
                // Two days far enough apart are both named.
                assert!(span < 2 || ticks.last().is_some_and(|t| t.2 == first.plus_days(span).to_string()), "{width} {span} {ticks:?}");
            }
        }
    }
}
