//! Drawings as SVG. Colours come from role classes in the style sheet, so dark, print and forced colours
//! cost no redraw; nothing here holds a `style` attribute, and maud escapes every text.
#![cfg_attr(not(test), deny(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing))]

pub mod bands;
pub mod change_rule;
pub mod dimensions;
mod flag;
pub mod history;
pub mod labels;
mod loops;
pub mod measures;
pub mod number;
mod overlay;
pub mod panel;
pub mod path;
mod points;
pub mod scale;
pub mod side_noise;
mod sides;
mod standings;
pub mod strip;
mod trace;
mod track;
pub mod words;

pub use flag::inline_flag;
pub use loops::{Loop, Part, force_loop};
pub use overlay::{BAND_FROM, Curve, Line, MeanCurve, Overlay, PhaseMean, mean_curve, overlay};
pub use points::{Point, Points, points};
pub use sides::{SideMark, side_rule};
pub use standings::{Strip, standing_strips};
pub use trace::{DoubtMark, EventMark, Layers, Phase, Trace, trace};
