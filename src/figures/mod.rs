//! Phases → figures; the catalogue that defines each; left against right.
mod catalogue;

pub use catalogue::{Better, CATALOGUE, Definition, definition};
