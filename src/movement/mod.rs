//! Clean force → trials: where someone stood, flew and landed, what they weighed, and the events and figures of each test.
pub mod kinds;
mod motion;
mod segment;
pub mod sums;
mod weighing;

pub use motion::{Motion, integrate};
pub use segment::{Flight, Survey, survey};
pub use weighing::{Weight, closure, quiet_stretches, weigh};
