//! Phases → figures; the catalogue that defines each; left against right.
mod catalogue;
mod sides;

pub use catalogue::{Better, CATALOGUE, Definition, PER_KG, SIDES, SIDES_SOURCE, definition, stretch_in, words_in};
pub use sides::{Plates, Side, side_figures};
