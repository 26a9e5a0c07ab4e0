//! Drawings as SVG. Colours come from role classes in the style sheet, so dark, print and forced colours
//! cost no redraw; nothing here holds a `style` attribute, and maud escapes every text.

pub mod labels;
pub mod number;
pub mod path;
pub mod scale;
mod sides;
mod trace;
pub mod words;

pub use sides::{SideMark, side_rule};
pub use trace::{EventMark, Layers, Phase, Trace, trace};
