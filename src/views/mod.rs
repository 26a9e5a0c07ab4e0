//! State → HTML, as pure functions: the page patches what they give into itself, the tests read it.
//! No `style` attribute, no script; what a click means stands in `data-do`, what it is about in `data-id`.
#![cfg_attr(not(test), deny(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing))]

mod cards;
mod doubts;
mod figures;
mod frame;
mod kinds;
mod loops;
mod opening;
pub mod series;
mod sides;
mod start;
pub mod together;
mod trial;

pub use cards::cards;
pub use frame::{page, title};
pub use opening::headline;
