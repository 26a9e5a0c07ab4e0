//! One strip, wherever one is drawn: every other athlete a tick, one's own filled mark with a whisker, the number of others at
//! the end. What the strips of a drawing share — scale, axis, order — is their drawing's.
use maud::{Markup, html};

/// From a strip's top to its line.
const LINE: f64 = 31.0;

/// A strip; places are pixels along it.
#[derive(Debug, Clone, Default)]
pub(super) struct Track<'a> {
    /// Name over it, and whether it is the one spoken of.
    pub name: (&'a str, bool),
    /// One's own value in words, over its end; may be empty.
    pub value: String,
    /// The others.
    pub others: Vec<f64>,
    /// One's own mark.
    pub own: f64,
    /// A round mark instead of a pointed one.
    pub round: bool,
    /// The whisker's ends.
    pub whisker: Option<(f64, f64)>,
    /// The mark with body mass accounted for.
    pub at_mass: Option<f64>,
    /// One's own value lies beyond the strip's end.
    pub beyond: bool,
    /// How many others.
    pub n: usize,
}

/// Draws a strip from `left` to `right`.
pub(super) fn track(t: &Track<'_>, (left, right): (f64, f64), top: f64) -> Markup {
    let (line, own) = (top + LINE, round(t.own));
    // No end stroke where the whisker leaves the strip.
    let cap = |at: f64| if at > left + 0.1 && at < right - 0.1 { format!("M{} {}v8", round(at), line - 4.0) } else { String::new() };
    html! {
        g {
            text class=(if t.name.1 { "name named" } else { "name" }) x=(left) y=(top + 15.0) { (t.name.0) }
            @if !t.value.is_empty() { text class="value" x=(right) y=(top + 15.0) text-anchor="end" { (t.value) } }
            line class="hair" x1=(left) x2=(right) y1=(line) y2=(line) {}
            @for other in &t.others {
                line class="other" x1=(round(*other)) x2=(round(*other)) y1=(line - 7.0) y2=(line + 7.0) {}
            }
            @if let Some((from, to)) = t.whisker {
                path class="whisker" d=(format!("M{} {line}H{}{}{}", round(from), round(to), cap(from), cap(to))) {}
            }
            @if t.round { circle class="own" cx=(own) cy=(line) r="5.5" {} }
            @else { path class="own" d=(format!("M{own} {}l6 7l-6 7l-6 -7z", line - 7.0)) {} }
            // Body mass accounted for: where he lies about the line, in its own standard deviations.
            @if let Some(at) = t.at_mass.map(round) { path class="at-mass" d=(format!("M{at} {}l5 6l-5 6l-5 -6z", line - 6.0)) {} }
            @if t.beyond { text class="quiet" x=(own) y=(line + 17.0) text-anchor="middle" { "beyond" } }
            text class="count" x=(right + 10.0) y=(line + 4.0) { "n " (t.n) }
        }
    }
}

/// To a tenth of a pixel.
pub(super) fn round(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}
