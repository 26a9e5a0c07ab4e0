//! Changes on one signed rule: zero in the middle, the smallest worthwhile change shaded about it, each change a mark with
//! its interval, and small ticks where this comparison begins to show anything.
use super::scale::Scale;
use crate::charts::number::Locale;
use crate::cohort::Change;
use maud::{Markup, html};

const SIDE: f64 = 10.0;
const ROW: f64 = 48.0;
const HEAD: f64 = 22.0;

/// One change; only figures compared on logs, whose differences are percentages.
#[derive(Debug, Clone, PartialEq)]
pub struct ChangeMark<'a> {
    /// Figure's name.
    pub name: String,
    /// The change.
    pub change: &'a Change,
    /// Whether it is one of the targets.
    pub target: bool,
}

/// Draws the rule, one row a change.
pub fn change_rule(marks: &[ChangeMark<'_>], width: f64, locale: &Locale) -> Markup {
    let percent = |mark: &ChangeMark<'_>, y: f64| 100.0 * mark.change.scale.difference(y);
    let far = |mark: &ChangeMark<'_>| {
        let i = mark.change.beyond_drift();
        let drawn = i.map_or([mark.change.difference; 2], |i| [i.low, i.high]);
        let least = mark.change.design.map_or(0.0, |d| d.smallest);
        drawn.into_iter().chain([least]).map(|y| percent(mark, y).abs()).fold(0.0, f64::max)
    };
    let reach = marks.iter().map(far).fold(4.0, f64::max) * 1.08;
    let x = Scale::new(-reach, reach, SIDE, width - SIDE);
    let end = HEAD + marks.len() as f64 * ROW;
    let (ticks, decimals) = x.ticks(if width < 500.0 { 4 } else { 8 });
    html! {
        svg class="change-rule" width=(width) height=(end + 28.0) viewBox=(format!("0 0 {width} {}", end + 28.0)) role="img"
            aria-label="Change of each figure with its interval; the same numbers stand in the table below." {
            text class="quiet" x=(SIDE) y="14" { "← lower" }
            text class="quiet" x=(width - SIDE) y="14" text-anchor="end" { "higher →" }
            @for (i, mark) in marks.iter().enumerate() { (row(mark, &x, HEAD + i as f64 * ROW, &percent)) }
            g class="axis" {
                line class="zero" x1=(round(x.px(0.0))) x2=(round(x.px(0.0))) y1=(HEAD) y2=(end) {}
                line x1=(SIDE) x2=(width - SIDE) y1=(end) y2=(end) {}
                @for tick in ticks {
                    line x1=(round(x.px(tick))) x2=(round(x.px(tick))) y1=(end) y2=(end + 4.0) {}
                    text x=(round(x.px(tick))) y=(end + 17.0) text-anchor="middle" { @if tick > 0.0 { "+" } (locale.fixed(tick, decimals)) @if tick == 0.0 { " %" } }
                }
            }
            // Names last, so that zero does not run through a long one.
            @for (i, mark) in marks.iter().enumerate() {
                text class=(if mark.target { "name target" } else { "name" }) x=(SIDE) y=(HEAD + i as f64 * ROW + 14.0) { (mark.name) }
            }
        }
    }
}

fn row(mark: &ChangeMark<'_>, x: &Scale, top: f64, percent: &impl Fn(&ChangeMark<'_>, f64) -> f64) -> Markup {
    let middle = top + 32.0;
    let px = |y: f64| round(x.clamped(percent(mark, y)));
    let worthwhile = mark.change.worthwhile.map(|w| (px(-w), px(w)));
    let smallest = mark.change.design.map(|d| [px(-d.smallest), px(d.smallest)]);
    let interval = mark.change.beyond_drift();
    let at = px(interval.map_or(mark.change.difference, |i| i.value));
    html! {
        @if let Some((low, high)) = worthwhile {
            rect class="noise" x=(low) y=(middle - 10.0) width=(round(high - low).max(1.0)) height="20" {}
        }
        line class="hair" x1=(SIDE) x2=(round(2.0 * x.px(0.0) - SIDE)) y1=(middle) y2=(middle) {}
        @if let Some(ends) = smallest {
            @for end in ends { path class="smallest" d=(format!("M{end} {}l-4 7h8z", middle + 2.0)) {} }
        }
        @if let Some(i) = interval {
            path class="whisker" d=(format!("M{} {middle}H{}M{} {}v8M{} {}v8", px(i.low), px(i.high), px(i.low), middle - 4.0, px(i.high), middle - 4.0)) {}
        }
        @if interval.is_some() && mark.change.verdict.changed() {
            circle class="mark" cx=(at) cy=(middle) r="5" {}
        } @else {
            circle class="mark unclear" cx=(at) cy=(middle) r="5" {}
        }
    }
}

fn round(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}
