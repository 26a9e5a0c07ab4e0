//! What every record says about itself, whatever it holds.
use serde::{Deserialize, Serialize};

/// Version of the stored form that this build writes; newer records are kept but not opened.
pub const SCHEMA: u32 = 2;

/// Who made a record, when, and which version of it this is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Envelope {
    /// Version of the stored form.
    pub schema: u32,
    /// What it holds: `trial`, `athlete`, `session`, `question`, `plate_check`, `block` or `layout`.
    pub kind: String,
    /// Its key on the device.
    pub id: String,
    /// Counts its saves from 1: a save that does not follow the stored one is refused.
    pub rev: u64,
    /// The program and version that wrote it.
    pub made_by: String,
    /// Version of the methods behind its figures.
    pub method: String,
    /// When it was last saved, ISO 8601, UTC.
    pub updated: String,
}

impl Envelope {
    /// A record that was never saved.
    pub fn new(kind: &str, id: &str, method: &str, now: &str) -> Self {
        Self {
            schema: SCHEMA,
            kind: kind.into(),
            id: id.into(),
            rev: 1,
            made_by: concat!("tarsal ", env!("CARGO_PKG_VERSION")).into(),
            method: method.into(),
            updated: now.into(),
        }
    }
}
