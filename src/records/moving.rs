//! Moving house: a store in one file, two stores made one, older forms brought up, tables for other programs. All of it on
//! records as opaque JSON texts, so that it holds for kinds and forms that this build does not know.
pub mod backup;
mod block;
mod fault;
pub mod frames;
pub mod merge;
pub mod migrate;
mod shuffle;
pub mod tidy;

pub use fault::{BackupError, Fault};
