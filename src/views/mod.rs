//! State → HTML, as pure functions: the page patches what they give into itself, the tests read it.
//! No `style` attribute, no script; what a click means stands in `data-do`, what it is about in `data-id`.
#![cfg_attr(not(test), deny(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing))]

pub mod after;
pub mod argument;
mod athlete;
pub mod between;
pub mod block;
mod cards;
pub mod change;
mod columns;
pub mod doubts;
mod figures;
mod frame;
pub mod gather;
pub mod judged;
mod kinds;
pub mod legs;
mod loops;
mod names;
mod opening;
mod plates;
mod protocol;
mod references;
pub mod repeatability;
pub mod report;
mod say;
pub mod series;
mod session;
mod set_curves;
mod sides;
mod squad;
pub mod standing;
mod start;
mod storage;
mod study;
mod tables;
pub mod together;
mod trial;

pub use cards::cards;
pub use frame::{page, title};
pub use opening::headline;
pub use study::report_file;
