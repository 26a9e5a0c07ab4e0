//! State → HTML, as pure functions: the page patches what they give into itself, the tests read it.
//! No `style` attribute, no script; what a click means stands in `data-do`, what it is about in `data-id`.
#![cfg_attr(not(test), deny(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing))]

pub mod change;
mod doubts;
mod figures;
mod frame;
mod kinds;
pub mod legs;
mod opening;
pub mod repeatability;
mod say;
mod sides;
pub mod standing;
mod start;
mod trial;

pub use frame::{page, title};
pub use opening::headline;
