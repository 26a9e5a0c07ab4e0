//! What the page is showing and how it changes: a state, events, and one pure function between them.
//! Everything that touches the browser is asked for as an [`Effect`] and carried out by `page`.
#![cfg_attr(not(test), deny(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing))]

pub mod columns;
mod dropped;
mod event;
mod fields;
mod files;
mod filing;
pub mod forms;
pub mod history;
pub mod judged;
mod keep;
mod open;
pub mod overlay;
pub mod place;
pub mod plan;
pub mod references;
mod rows;
mod sent;
pub mod set;
pub mod situation;
mod state;
pub mod stated;
pub mod storage;
pub mod study;
pub mod tables;
pub mod trials;
mod update;
mod ways;

pub use dropped::{Doubt, field as dropped_field};
pub use event::{Again, Arrived, Effect, Event, Opening};
pub use fields::Fields;
pub use filing::{FileName, day_offered, day_shown, unfiled_names};
pub use open::{Open, values_at};
pub use overlay::{Overlay, Pair};
pub use state::{Change, Job, JobState, Message, State};
pub use study::{Choice, Study};
pub use update::update;
pub use ways::{List, Order, Paper, Screen};
