//! A pair of axes with round ticks: what every plain drawing (curves over each other, loops, points) stands on.
use super::dimensions::px;
use super::scale::Scale;
use crate::charts::number::Locale;
use maud::{Markup, html};

const LEFT: f64 = 56.0;
const RIGHT: f64 = 14.0;
const TOP: f64 = 24.0;

/// Axes of a drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Panel {
    /// The axis across.
    pub x: Scale,
    /// The axis upwards.
    pub y: Scale,
    /// Left edge of the axes, px.
    pub left: f64,
    /// Right edge, px.
    pub right: f64,
    /// Top edge, px.
    pub top: f64,
    /// Bottom edge, px.
    pub bottom: f64,
}

impl Panel {
    /// Axes for two ranges, widened a little, in a drawing of this width whose axes are this high.
    pub fn new(x: (f64, f64), y: (f64, f64), width: f64, height: f64) -> Self {
        let (left, right, top, bottom) = (LEFT, (width - RIGHT).max(LEFT + 10.0), TOP, TOP + height);
        let pad = |(low, high): (f64, f64)| {
            let room = (high - low).abs() * 0.05;
            (low - room, high + room)
        };
        let ((x0, x1), (y0, y1)) = (x, pad(y));
        Self { x: Scale::new(x0, x1, left, right), y: Scale::new(y0, y1, bottom, top), left, right, top, bottom }
    }
    /// Where a value lies, kept near the drawing: what is far outside is not drawn by any screen.
    pub fn at(&self, x: f64, y: f64) -> (f64, f64) {
        (self.x.px(x).clamp(-1e4, 1e4), self.y.px(y).clamp(-1e4, 1e4))
    }
    /// Ticks, hairlines and the names of both axes; a name ends with its unit.
    pub fn axes(&self, x_name: &str, y_name: &str, locale: &Locale) -> Markup {
        let (xs, x_decimals) = self.x.ticks((((self.right - self.left) / 80.0) as usize).max(4));
        let (ys, y_decimals) = self.y.ticks(((self.bottom - self.top) / 45.0) as usize);
        html! {
            g class="axis" {
                @for tick in ys {
                    line class=(if tick == 0.0 { "zero" } else { "grid" }) x1=(px(self.left)) x2=(px(self.right)) y1=(px(self.y.px(tick))) y2=(px(self.y.px(tick))) {}
                    text x=(px(self.left - 8.0)) y=(px(self.y.px(tick) + 4.0)) text-anchor="end" { (locale.fixed(tick, y_decimals)) }
                }
                line x1=(px(self.left)) x2=(px(self.right)) y1=(px(self.bottom)) y2=(px(self.bottom)) {}
                @for tick in xs {
                    line x1=(px(self.x.px(tick))) x2=(px(self.x.px(tick))) y1=(px(self.bottom)) y2=(px(self.bottom + 4.0)) {}
                    text x=(px(self.x.px(tick))) y=(px(self.bottom + 18.0)) text-anchor="middle" { (locale.fixed(tick, x_decimals)) }
                }
                text x="4" y="12" { (y_name) }
                text x=(px(self.right)) y=(px(self.bottom + 35.0)) text-anchor="end" { (x_name) }
            }
        }
    }
    /// Where the drawing ends below the axes and their names.
    pub fn end(&self) -> f64 {
        self.bottom + 42.0
    }
}

/// The range of some values and what must be inside with them; 0 … 1 where nothing is finite.
pub fn range(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let finite = values.filter(|v| v.is_finite() && v.abs() < 1e12);
    finite.fold(None, |r: Option<(f64, f64)>, v| Some(r.map_or((v, v), |(a, b)| (a.min(v), b.max(v))))).unwrap_or((0.0, 1.0))
}
