//! What is least developed and why; the block that targets it; the gates that close rows and tests.
//!
//! All pure: tables and plain types in, an answer out. `methods.md` §9 and §10 are the definition; every rule, gate and
//! exercise is a row of data with its source.
#![cfg_attr(not(test), deny(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing))]

pub mod after;
pub mod argument;
pub mod asked;
pub mod blocks;
pub mod brief;
pub mod chance;
pub mod closing;
pub mod contrast;
mod drift;
pub mod evidence;
pub mod exercises;
pub mod gates;
pub mod prepare;
pub mod qualities;
pub mod score;
pub mod sheet;
pub mod typed;
pub mod verdict;
pub mod waiting;
