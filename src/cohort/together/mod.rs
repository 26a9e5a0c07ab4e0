//! Trials of one athlete, day and protocol together: the set, one leg and the other, tests against each other, a series of
//! drops, force against velocity over loads. Values in, values out: who calls it chooses trials of one protocol.
mod between;
mod drops;
mod force_velocity;
mod ratio;
mod set;

pub use between::{DayMean, between, day_mean};
pub use drops::{BestDrop, DropTrial, best_drop};
pub use force_velocity::{ForceVelocityLine, LoadPoint, force_velocity};
pub use ratio::{Measured, difference_of_larger, fieller, ratio, two_leg_deficit};
pub use set::{Odd, OverSet, Summary, odd_one, summary};
