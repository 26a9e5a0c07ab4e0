//! Clean force → trials: where someone stood, flew and landed, what they weighed, and the events and figures of each test.
mod bouts;
pub mod kinds;
mod motion;
mod recognise;
mod samples;
mod segment;
pub mod sums;
mod weighing;

pub use bouts::{Bout, NotABout, Shape, bouts};
pub use motion::{Motion, integrate};
pub use recognise::{Approach, approach, scores};
pub use samples::Samples;
pub use segment::{Flight, Survey, survey};
pub use weighing::{Weight, closure, quiet_stretches, stretches_at, weigh, weight_of};
