//! Left against right on the signed rule, each figure against its own noise: between days where that is known, else
//! between trials, else the measurement's, said in a word at its row.
use super::scale::Scale;
use crate::charts::number::Locale;
use crate::cohort::sides::{Against, SideDifference};
use crate::people::Side;
use maud::{Markup, html};

const SIDE: f64 = 10.0;
const ROW: f64 = 46.0;
const HEAD: f64 = 24.0;

/// One figure's difference.
#[derive(Debug, Clone, PartialEq)]
pub struct SideNoise {
    /// Figure's name.
    pub name: String,
    /// The difference and what it was held against.
    pub difference: SideDifference,
}

/// What the noise is of, in a word.
pub fn against_word(against: Against) -> &'static str {
    match against {
        Against::Days => "between days",
        Against::Trials => "between trials of this day only",
        Against::Measurement => "of one measurement only",
    }
}

/// Draws the rule, one row a figure.
pub fn side_noise_rule(marks: &[SideNoise], width: f64, locale: &Locale) -> Markup {
    let reach = marks.iter().map(|m| m.difference.percent.abs().max(m.difference.noise)).fold(5.0, f64::max) * 1.12;
    let x = Scale::new(-reach, reach, SIDE, width - SIDE);
    let end = HEAD + marks.len() as f64 * ROW;
    let (ticks, decimals) = x.ticks(if width < 500.0 { 4 } else { 8 });
    html! {
        svg class="side-rule" width=(width) height=(end + 28.0) viewBox=(format!("0 0 {width} {}", end + 28.0)) role="img"
            aria-label="Difference between right and left for each figure against its own noise; the same numbers stand in the table." {
            text class="left-word" x=(SIDE) y="14" { "← left higher" }
            text class="right-word" x=(width - SIDE) y="14" text-anchor="end" { "right higher →" }
            @for (i, mark) in marks.iter().enumerate() { (row(mark, &x, HEAD + i as f64 * ROW, width)) }
            g class="axis" {
                line class="zero" x1=(round(x.px(0.0))) x2=(round(x.px(0.0))) y1=(HEAD) y2=(end) {}
                line x1=(SIDE) x2=(width - SIDE) y1=(end) y2=(end) {}
                @for tick in ticks {
                    line x1=(round(x.px(tick))) x2=(round(x.px(tick))) y1=(end) y2=(end + 4.0) {}
                    text x=(round(x.px(tick))) y=(end + 17.0) text-anchor="middle" { (locale.fixed(tick, decimals)) @if tick == 0.0 { " %" } }
                }
            }
        }
    }
}

fn row(mark: &SideNoise, x: &Scale, top: f64, width: f64) -> Markup {
    let d = &mark.difference;
    let (low, high) = (round(x.px(-d.noise)), round(x.px(d.noise)));
    let (middle, at) = (top + 31.0, round(x.px(d.percent)));
    let class = match d.higher {
        Some(Side::Right) => "mark right",
        Some(Side::Left) => "mark left",
        _ => "mark unclear",
    };
    html! {
        rect class=(if d.against == Against::Days { "noise" } else { "noise less" }) x=(low) y=(middle - 9.0) width=(round(high - low).max(1.0)) height="18" {}
        line class="hair" x1=(SIDE) x2=(width - SIDE) y1=(middle) y2=(middle) {}
        text class="name" x=(SIDE) y=(top + 15.0) { (mark.name) }
        @if d.percent > 0.0 {
            rect class=(class) x=(at - 4.5) y=(middle - 4.5) width="9" height="9" transform=(format!("rotate(45 {at} {middle})")) {}
        } @else {
            circle class=(class) cx=(at) cy=(middle) r="5" {}
        }
    }
}

fn round(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}
