//! Many trials of many athletes → what repeats, where one stands, what changed.
#![cfg_attr(not(test), deny(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing))]

mod table;

pub use table::{Observation, Table};
