//! Recording → clean force: zero level, clamping, saturation, filter, gravity, and the mathematics both targets share.
pub mod filter;
pub mod gravity;
pub mod math;
pub(crate) mod parallel;
pub mod stats;
mod zero;

pub use zero::{Saturation, Zero, saturation, zero_level};
