//! Bytes → [`Recording`]: uniformly sampled vertical force by channel, and how the file was understood.
//!
//! [`Reader`] takes pieces: `encoding` makes them plain, `look` finds the table, `columns` says which
//! column is what (by the words of `words`), `rows` reads (a row: `one_row`; numbers: `digits`; unusual rows: `cold`; rows written
//! otherwise: `otherwise`; capitals: `letters`), `stamps`, `clock` and
//! `wander` make time, `finish` puts the recording together.
// One error ends one file: its size is no cost.
#![allow(clippy::result_large_err)]
// Nothing in a file may end the program.
#![cfg_attr(not(test), deny(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing))]

mod books;
mod cells;
mod clock;
mod cold;
mod columns;
mod digits;
mod encoding;
mod evidence;
mod explain;
mod finish;
mod guess;
mod header;
mod languages;
mod letters;
mod look;
mod memory;
mod notice;
mod one_row;
mod otherwise;
mod reader;
mod remarks;
mod rows;
mod shape;
mod stamps;
#[doc(hidden)]
pub mod twin;
mod types;
mod wander;
mod words;

pub use books::needs_all;
pub(crate) use digits::decimal;
pub use explain::{ColumnGuess, Explained, RoleScore, explain};
pub use letters::Letters;
pub(crate) use letters::{alike, push_lower};
pub use memory::KnownLayout;
pub use notice::{Notice, QUESTIONS, ReadError};
pub use reader::{ReadOptions, Reader};
pub use types::{Channel, ChannelReport, Clock, Gap, Layout, Recording, Role, Unit};
