//! Left against right on one signed rule: zero in the middle, the measurement's noise shaded about it,
//! a mark for the figure and a whisker for its own uncertainty.
use super::scale::Scale;
use crate::charts::number::Locale;
use maud::{Markup, html};

const LEFT: f64 = 10.0;
const ROW: f64 = 44.0;
const HEAD: f64 = 24.0;

/// One figure on the rule.
#[derive(Debug, Clone, PartialEq)]
pub struct SideMark {
    /// Its name.
    pub name: String,
    /// 100·(R−L)/(R+L).
    pub percent: f64,
    /// Its standard uncertainty.
    pub u: f64,
}

/// Draws the rule, one row a figure.
pub fn side_rule(marks: &[SideMark], width: f64, locale: &Locale) -> Markup {
    let reach = marks.iter().map(|m| m.percent.abs() + 2.0 * m.u).fold(5.0, f64::max) * 1.1;
    let x = Scale::new(-reach, reach, LEFT, width - LEFT);
    let end = HEAD + marks.len() as f64 * ROW;
    let (ticks, decimals) = x.ticks(if width < 500.0 { 4 } else { 8 });
    html! {
        svg class="side-rule" width=(width) height=(end + 28.0) viewBox=(format!("0 0 {width} {}", end + 28.0)) role="img"
            aria-label="Difference between right and left for each figure; the same numbers stand in the table below." {
            text class="left-word" x=(LEFT) y="14" { "← left higher" }
            text class="right-word" x=(width - LEFT) y="14" text-anchor="end" { "right higher →" }
            @for (i, mark) in marks.iter().enumerate() {
                (row(mark, &x, HEAD + i as f64 * ROW))
            }
            g class="axis" {
                line class="zero" x1=(x.px(0.0)) x2=(x.px(0.0)) y1=(HEAD) y2=(end) {}
                line x1=(LEFT) x2=(width - LEFT) y1=(end) y2=(end) {}
                @for tick in ticks {
                    line x1=(round(x.px(tick))) x2=(round(x.px(tick))) y1=(end) y2=(end + 4.0) {}
                    text x=(round(x.px(tick))) y=(end + 17.0) text-anchor="middle" { (locale.fixed(tick, decimals)) @if tick == 0.0 { " %" } }
                }
            }
        }
    }
}

fn row(mark: &SideMark, x: &Scale, top: f64) -> Markup {
    let wide = 2.0 * mark.u;
    let (low, high) = (round(x.px(-wide)), round(x.px(wide)));
    let middle = top + 30.0;
    let at = round(x.px(mark.percent));
    let class = match (mark.percent.abs() > wide, mark.percent > 0.0) {
        (false, _) => "mark unclear",
        (true, true) => "mark right",
        (true, false) => "mark left",
    };
    html! {
        rect class="noise" x=(low) y=(middle - 9.0) width=(round(high - low).max(1.0)) height="18" {}
        line class="hair" x1=(round(x.px(-1e9_f64).max(LEFT))) x2=(round(2.0 * x.px(0.0) - LEFT)) y1=(middle) y2=(middle) {}
        text class="name" x=(LEFT) y=(top + 14.0) { (mark.name) }
        line class="whisker" x1=(round(x.px(mark.percent - wide))) x2=(round(x.px(mark.percent + wide))) y1=(middle) y2=(middle) {}
        line class="whisker" x1=(round(x.px(mark.percent - wide))) x2=(round(x.px(mark.percent - wide))) y1=(middle - 4.0) y2=(middle + 4.0) {}
        line class="whisker" x1=(round(x.px(mark.percent + wide))) x2=(round(x.px(mark.percent + wide))) y1=(middle - 4.0) y2=(middle + 4.0) {}
        @if mark.percent > 0.0 {
            rect class=(class) x=(at - 4.5) y=(middle - 4.5) width="9" height="9" transform=(format!("rotate(45 {at} {middle})")) {}
        } @else {
            circle class=(class) cx=(at) cy=(middle) r="5" {}
        }
    }
}

fn round(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}
