//! What is stored on the device: records and the force beside trials, their forms as text and bytes; older forms brought
//! up to date; backups, merging, and tables for other programs.
#![cfg_attr(not(test), deny(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing))]

pub mod backup;
mod envelope;
mod head;
mod kept;
pub mod link;
pub mod merge;
pub mod migrate;
mod pool;
mod samples;
mod stages;
pub mod table;
pub mod tidy;
pub mod tombstone;
mod trial;
mod wire;

pub use envelope::{Envelope, SCHEMA};
pub use head::{Head, heads_from_bytes, heads_to_bytes, main_figures};
pub use kept::{Kept, Record, decode};
pub use pool::Pool;
pub use samples::{pack, pack_decimal, unpack, unpack_decimal};
pub use stages::{STAGES, stages};
pub use trial::{Packing, RecordError, SavedTrial, WindowHead, decode_trial, trial_id};

/// Bytes as lower-case hexadecimal digits.
pub fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}
