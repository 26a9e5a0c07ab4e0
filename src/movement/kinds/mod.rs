//! One file a test kind: its events and phases.
pub mod countermovement_jump;
