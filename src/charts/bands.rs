//! Mean curves of two sides (before and after) over each other, each with its band, and under them their difference with
//! the stretches where its band leaves zero out drawn heavy.
use super::labels::{self, Wanted};
use super::path::path;
use super::scale::{Scale, extent};
use crate::charts::number::Locale;
use crate::cohort::curves::Band;
use maud::{Markup, html};

const LEFT: f64 = 52.0;
const RIGHT: f64 = 12.0;
const TOP: f64 = 26.0;
const CURVES: f64 = 220.0;
const GAP: f64 = 34.0;
const DIFFERENCE: f64 = 110.0;

/// What to draw.
#[derive(Debug, Clone, PartialEq)]
pub struct Bands<'a> {
    /// Unit of the curves.
    pub unit: &'a str,
    /// Place along the axis of each point: seconds from take-off, or shares of phases.
    pub x: &'a [f64],
    /// Phase names with their places from, to; empty for curves in real time.
    pub phases: &'a [(String, f64, f64)],
    /// Before.
    pub before: &'a Band,
    /// After.
    pub after: &'a Band,
    /// After − before; `None` below six trials a side.
    pub difference: Option<&'a Band>,
}

/// Draws curves, bands and difference.
pub fn bands(b: &Bands<'_>, width: f64, locale: &Locale, label: &str) -> Markup {
    let (Some(from), Some(to)) = (b.x.first().copied(), b.x.last().copied()) else { return html! {} };
    let x = Scale::new(from, to, LEFT, width - RIGHT);
    let all = [&b.before.mean, &b.after.mean, &b.before.low, &b.before.high, &b.after.low, &b.after.high];
    let (low, high) = extent(all.into_iter().map(Vec::as_slice)).unwrap_or((0.0, 1.0));
    let margin = 0.06 * (high - low);
    let y = Scale::new(low - margin, high + margin, TOP + CURVES, TOP);
    let bottom = TOP + CURVES + if b.difference.is_some() { GAP + DIFFERENCE } else { 0.0 };
    let foot = if b.phases.is_empty() { 34.0 } else { 44.0 };
    let height = bottom + foot;
    html! {
        svg class="bands" width=(width) height=(height) viewBox=(format!("0 0 {width} {height}")) role="img" aria-label=(label) {
            g class="legend" {
                path class="line before" d=(format!("M{LEFT} 10h26")) {}
                text x=(LEFT + 32.0) y="14" { "before, n " (b.before.trials) }
                path class="line after" d=(format!("M{} 10h26", LEFT + 122.0)) {}
                text x=(LEFT + 154.0) y="14" { "after, n " (b.after.trials) }
                text x="4" y="14" { (b.unit) }
            }
            path class="band before" d=(ribbon(b.x, b.before, &x, &y)) {}
            path class="band after" d=(ribbon(b.x, b.after, &x, &y)) {}
            (axis(&y, TOP, TOP + CURVES, width, 5, locale))
            path class="line before" d=(path(b.x, &b.before.mean, (from, to), 1000, &x, &y)) {}
            path class="line after" d=(path(b.x, &b.after.mean, (from, to), 1000, &x, &y)) {}
            @if let Some(d) = b.difference { (difference(d, b.x, &x, bottom, width, locale)) }
            @if b.phases.is_empty() { (time_axis(&x, bottom, width, locale)) } @else { (phases(b.phases, &x, bottom, width)) }
        }
    }
}

fn difference(d: &Band, at: &[f64], x: &Scale, bottom: f64, width: f64, locale: &Locale) -> Markup {
    let (low, high) = extent([d.low.as_slice(), d.high.as_slice()]).unwrap_or((-1.0, 1.0));
    let y = Scale::new(low.min(0.0), high.max(0.0), bottom, bottom - DIFFERENCE);
    let zero = round(y.px(0.0));
    let view = (at.first().copied().unwrap_or(0.0), at.last().copied().unwrap_or(1.0));
    html! {
        text class="quiet" x=(LEFT + 4.0) y=(bottom - DIFFERENCE - 8.0) { "after − before" }
        path class="band difference" d=(ribbon(at, d, x, &y)) {}
        (axis(&y, bottom - DIFFERENCE, bottom, width, 4, locale))
        line class="zero" x1=(LEFT) x2=(width - RIGHT) y1=(zero) y2=(zero) {}
        path class="line" d=(path(at, &d.mean, view, 1000, x, &y)) {}
        @for (from, to) in apart(d, at) {
            line class="apart" x1=(round(x.px(from))) x2=(round(x.px(to)).max(round(x.px(from)) + 2.0)) y1=(zero) y2=(zero) {}
        }
    }
}

/// Stretches where the band leaves zero out.
pub fn apart(d: &Band, at: &[f64]) -> Vec<(f64, f64)> {
    let mut out: Vec<(f64, f64)> = Vec::new();
    let mut open = false;
    for ((low, high), x) in d.low.iter().zip(&d.high).zip(at) {
        let parts = *low > 0.0 || *high < 0.0;
        match (parts, open, out.last_mut()) {
            (true, true, Some(last)) => last.1 = *x,
            (true, _, _) => out.push((*x, *x)),
            _ => {}
        }
        open = parts;
    }
    out
}

fn ribbon(at: &[f64], band: &Band, x: &Scale, y: &Scale) -> String {
    let edge = |(t, v): (&f64, &f64)| format!("{} {}", round(x.px(*t)), round(y.px(*v)));
    let finite = |pair: &(&f64, &f64)| pair.1.is_finite();
    let upper: Vec<String> = at.iter().zip(&band.high).filter(finite).map(edge).collect();
    let lower: Vec<String> = at.iter().zip(&band.low).filter(finite).map(edge).rev().collect();
    if upper.is_empty() { String::new() } else { format!("M{}L{}Z", upper.join("L"), lower.join("L")) }
}

fn axis(y: &Scale, top: f64, bottom: f64, width: f64, wanted: usize, locale: &Locale) -> Markup {
    let (ticks, decimals) = y.ticks(wanted);
    html! {
        g class="axis" {
            line x1=(LEFT) x2=(LEFT) y1=(top) y2=(bottom) {}
            line x1=(LEFT) x2=(width - RIGHT) y1=(bottom) y2=(bottom) {}
            @for tick in ticks {
                line x1=(LEFT - 4.0) x2=(LEFT) y1=(round(y.px(tick))) y2=(round(y.px(tick))) {}
                text x=(LEFT - 7.0) y=(round(y.px(tick) + 4.0)) text-anchor="end" { (locale.fixed(tick, decimals)) }
            }
        }
    }
}

fn time_axis(x: &Scale, bottom: f64, width: f64, locale: &Locale) -> Markup {
    let (ticks, decimals) = x.ticks(if width < 500.0 { 3 } else { 6 });
    html! {
        g class="axis" {
            @for tick in ticks {
                line x1=(round(x.px(tick))) x2=(round(x.px(tick))) y1=(bottom) y2=(bottom + 4.0) {}
                text x=(round(x.px(tick))) y=(bottom + 18.0) text-anchor=(if x.px(tick) > width - RIGHT - 20.0 { "end" } else { "middle" }) {
                    @if tick.abs() < 1e-9 { "take-off" } @else { (locale.fixed(tick, decimals)) " s" }
                }
            }
        }
    }
}

/// Phases as dimension lines under the axis.
fn phases(phases: &[(String, f64, f64)], x: &Scale, bottom: f64, width: f64) -> Markup {
    let wanted: Vec<Wanted> = phases.iter().map(|(name, from, to)| Wanted { text: name.clone(), at_px: x.px((from + to) / 2.0) }).collect();
    let line = bottom + 14.0;
    html! {
        g class="dimensions" {
            @for (_, from, to) in phases {
                path d=(format!("M{} {line}H{}M{} {}v8M{} {}v8", round(x.px(*from)), round(x.px(*to)), round(x.px(*from)), line - 4.0, round(x.px(*to)), line - 4.0)) {}
            }
            @for placed in labels::place(&wanted, 12.0, LEFT, width - RIGHT) {
                text x=(round(placed.x_px)) y=(line + 18.0 + 14.0 * placed.row as f64) text-anchor="middle" { (placed.text) }
            }
        }
    }
}

fn round(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}
