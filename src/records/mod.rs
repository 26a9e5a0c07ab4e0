//! What is stored on the device: one record a trial, its force beside it, and their forms as text and bytes.
#![cfg_attr(not(test), deny(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing))]

pub mod backup;
mod block;
pub mod derived;
mod envelope;
mod fault;
pub mod frames;
pub mod merge;
pub mod migrate;
mod samples;
mod shuffle;
pub mod tidy;
mod trial;

pub use envelope::{Envelope, SCHEMA};
pub use fault::{BackupError, Fault};
pub use samples::{pack, unpack};
pub use trial::{RecordError, SavedTrial, WindowHead, decode, encode, trial_id};
