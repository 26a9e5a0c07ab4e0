//! Standing in a group as strips: every other athlete a tick, this athlete a filled mark with a whisker, n at the end.
use super::number::Locale;
use super::scale::Scale;
use super::track::{Track, round, track};
use maud::{Markup, html};

const LEFT: f64 = 10.0;
const ROW: f64 = 46.0;
/// Standard deviations drawn to each side, fewest and most; a mark beyond the most lies at the edge.
const REACH: (f64, f64) = (3.2, 7.0);

/// One strip.
#[derive(Debug, Clone, PartialEq)]
pub struct Strip {
    /// Name over it.
    pub name: String,
    /// The athlete, SD of the group.
    pub z: f64,
    /// Half of the whisker, where known.
    pub half_width: Option<f64>,
    /// The others.
    pub others: Vec<f64>,
    /// How many they are.
    pub n: u32,
    /// The answer names it.
    pub named: bool,
}

/// Draws the strips, one under the other, with one axis. `better`: whether right is better, which the axis then says.
pub fn standing_strips(strips: &[Strip], width: f64, better: bool, locale: &Locale) -> Markup {
    let right = width - 48.0;
    let furthest = strips.iter().map(|s| s.z.abs() + s.half_width.unwrap_or(0.0)).filter(|z| z.is_finite()).fold(0.0, f64::max);
    let reach = furthest.clamp(REACH.0, REACH.1);
    let x = Scale::new(-reach, reach, LEFT, right);
    let end = strips.len() as f64 * ROW + 6.0;
    let (ticks, decimals) = x.ticks(7);
    let (low, high) = if better { ("← less developed", "more developed →") } else { ("← smaller", "larger →") };
    html! {
        svg class="strips" width=(width) height=(end + 42.0) viewBox=(format!("0 0 {width} {}", end + 42.0)) role="img"
            aria-label="Standing in the group, one strip each; the same numbers stand in the table." {
            g class="axis" { line class="grid zero" x1=(round(x.px(0.0))) x2=(round(x.px(0.0))) y1="4" y2=(end) {} }
            @for (i, strip) in strips.iter().enumerate() { (row(strip, &x, i as f64 * ROW, right)) }
            g class="axis" {
                line x1=(LEFT) x2=(right) y1=(end) y2=(end) {}
                @for tick in ticks {
                    line x1=(round(x.px(tick))) x2=(round(x.px(tick))) y1=(end) y2=(end + 4.0) {}
                    text x=(round(x.px(tick))) y=(end + 17.0) text-anchor="middle" { (locale.fixed(tick, decimals)) @if tick == 0.0 { " SD" } }
                }
                text x=(LEFT) y=(end + 34.0) { (low) }
                text x=(right) y=(end + 34.0) text-anchor="end" { (high) }
            }
        }
    }
}

fn row(strip: &Strip, x: &Scale, top: f64, right: f64) -> Markup {
    let drawn = Track {
        name: (&strip.name, strip.named),
        others: strip.others.iter().map(|other| x.clamped(*other)).collect(),
        own: x.clamped(strip.z),
        round: !strip.named,
        whisker: strip.half_width.map(|half| (x.clamped(strip.z - half), x.clamped(strip.z + half))),
        n: strip.n as usize,
        ..Track::default()
    };
    track(&drawn, (LEFT, right), top)
}
