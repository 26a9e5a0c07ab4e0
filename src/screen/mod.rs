//! What the page is showing and how it changes: a state, events, and one pure function between them.
//! Everything that touches the browser is asked for as an [`Effect`] and carried out by `page`.
#![cfg_attr(not(test), deny(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing))]

mod event;
mod open;
mod state;
mod update;

pub use event::{Effect, Event};
pub use open::{Open, values_at};
pub use state::{Job, JobState, Message, Screen, State};
pub use update::update;
