//! Drawings as SVG. Colours come from role classes in the style sheet, so dark, print and forced colours
//! cost no redraw; nothing here holds a `style` attribute, and maud escapes every text.
#![cfg_attr(not(test), deny(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing))]

pub mod dimensions;
mod flag;
pub mod labels;
pub mod number;
pub mod path;
pub mod scale;
mod sides;
mod trace;
pub mod words;

pub use flag::inline_flag;
pub use sides::{SideMark, side_rule};
pub use trace::{DoubtMark, EventMark, Layers, Phase, Trace, trace};
