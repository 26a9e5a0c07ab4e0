//! Standing as strips: every other athlete a tick, one's own filled mark with a whisker, the number of others at the end.
//!
//! Strips of one drawing share their middle: the group's mean lies under the group's mean, one standard deviation is as
//! long in each, so that a glance down the marks compares figures. With too few others for a mean each strip runs from
//! its lowest to its highest, and no lines invite a comparison.
use super::scale::Scale;
use super::track::{Track, round, track};
use crate::charts::number::Locale;
use crate::cohort::standing::{Level, Standing};
use maud::{Markup, html};

const SIDE: f64 = 10.0;
/// A strip and the word under a mark that lies beyond it.
const ROW: f64 = 52.0;
const END: f64 = 46.0;
/// Standard deviations shown either way; whatever lies beyond is drawn at the edge with an arrow.
const REACH: f64 = 3.2;

/// One strip.
#[derive(Debug, Clone, PartialEq)]
pub struct Strip<'a> {
    /// Figure's name.
    pub name: String,
    /// Unit shown, with the factor from SI.
    pub unit: (String, f64),
    /// The standing.
    pub standing: &'a Standing,
}

/// Draws strips one under the other.
pub fn strips(rows: &[Strip<'_>], width: f64, locale: &Locale, label: &str) -> Markup {
    let height = rows.len() as f64 * ROW + 22.0;
    let spoken = rows.iter().all(|r| r.standing.place.is_some()) && !rows.is_empty();
    let x = Scale::new(-REACH, REACH, SIDE, width - END);
    html! {
        svg class="strips" width=(width) height=(height) viewBox=(format!("0 0 {width} {height}")) role="img" aria-label=(label) {
            @if spoken {
                g class="axis" {
                    @for sd in [-2.0, -1.0, 0.0, 1.0, 2.0_f64] {
                        line class=(if sd == 0.0 { "zero" } else { "grid" }) x1=(round(x.px(sd))) x2=(round(x.px(sd))) y1="0" y2=(height - 18.0) {}
                        text x=(round(x.px(sd))) y=(height - 4.0) text-anchor="middle" { (sd_word(sd, width, locale)) }
                    }
                }
            }
            @for (i, row) in rows.iter().enumerate() { (strip(row, &x, i as f64 * ROW, width, locale)) }
        }
    }
}

fn sd_word(sd: f64, width: f64, locale: &Locale) -> String {
    let plus = if sd > 0.0 { "+" } else { "" };
    match sd {
        0.0 => "mean".into(),
        sd if width < 420.0 => format!("{plus}{}", locale.fixed(sd, 0)),
        sd => format!("{plus}{} SD", locale.fixed(sd, 0)),
    }
}

fn strip(row: &Strip<'_>, z: &Scale, top: f64, width: f64, locale: &Locale) -> Markup {
    let s = row.standing;
    // Where a value on the standing's scale lies: by the group's mean and spread, or between lowest and highest.
    let ends = s.group.first().zip(s.group.last()).map(|(a, b)| (a.on_scale.min(s.own.mean), b.on_scale.max(s.own.mean)));
    let (low, high) = ends.unwrap_or((s.own.mean - 1.0, s.own.mean + 1.0));
    let margin = 0.08 * (high - low);
    let plain = Scale::new(low - margin, high + margin, SIDE, width - END);
    let at = |on_scale: f64| match s.place {
        Some(p) => z.clamped((on_scale - p.mean) / p.sd),
        None => plain.clamped(on_scale),
    };
    let beyond = s.place.is_some_and(|p| ((s.own.mean - p.mean) / p.sd).abs() > REACH);
    let drawn = Track {
        name: (&row.name, false),
        value: value(row, locale),
        others: s.group.iter().map(|member| at(member.on_scale)).collect(),
        own: at(s.own.mean),
        round: false,
        whisker: s.usual.map(|u| (at(s.scale.on(u.low)), at(s.scale.on(u.high)))),
        at_mass: s.mass_adjusted.filter(|_| s.place.is_some()).map(|a| z.clamped(a.place.z.value)),
        beyond,
        n: s.group.len(),
    };
    track(&drawn, (SIDE, width - END), top)
}

/// The value with the half-width of its usual range, in the unit shown.
pub fn value(row: &Strip<'_>, locale: &Locale) -> String {
    let (unit, factor) = &row.unit;
    let s = row.standing;
    // `with_uncertainty` widens by two; the whisker is a 95 % interval already.
    let half = s.usual.map_or(f64::NAN, |u| (u.high - u.low) / 4.0);
    let text = locale.with_uncertainty(s.value * factor, half * factor);
    if unit.is_empty() { text } else { format!("{text} {unit}") }
}

/// Where one stands, in words that fit the number of others.
pub fn place_words(s: &Standing, locale: &Locale) -> String {
    let n = s.group.len();
    if n == 0 {
        return "nobody to compare with".into();
    }
    if s.level == Level::Ranks {
        let equal = if s.equal > 0 { format!(", equal to {}", s.equal) } else { String::new() };
        return format!("higher than {} of {n}{equal}", s.below);
    }
    s.percentile.map_or(String::new(), |p| format!("{}, {}–{}", locale.fixed(p.value, 0), locale.fixed(p.low, 0), locale.fixed(p.high, 0)))
}
