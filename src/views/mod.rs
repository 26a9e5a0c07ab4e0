//! State → HTML, as pure functions: the page patches what they give into itself, the tests read it.
//! No `style` attribute, no script; what a click means stands in `data-do`, what it is about in `data-id`.
#![cfg_attr(not(test), deny(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing))]

mod athlete;
mod columns;
mod doubts;
mod figures;
mod frame;
mod kinds;
mod names;
mod opening;
mod plates;
mod protocol;
mod session;
mod sides;
mod squad;
mod start;
mod storage;
mod trial;

pub use frame::{page, title};
pub use opening::headline;
