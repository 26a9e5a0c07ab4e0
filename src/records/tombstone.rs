//! What stays of an erased record: a tombstone, so that an old backup, or a colleague's store, does not bring it back unasked.
//!
//! A tombstone is a number, a day and a count of saves: `SHA-256("tarsal tombstone 1\n" + key)`, cut to 128 bits, is its key in
//! the store `graves`; `{"day":"2026-03-01","rev":4}` its text. Neither name nor figure nor force is in it.
//!
//! **Is the number personal data?** An athlete's key is made from the moment of its making and a random part, and only its digest
//! is kept: nobody gets from the number to the key, and nobody to the person, unless he holds a record with that key, that is a
//! backup or a store in which the athlete still is. With such a copy in hand the tombstone says only that he was erased here;
//! that is what it is for. Two sorts of key can be guessed: those of athletes of the first form of the store, and of the invented
//! squad, are made from the name, and those of trials from their file's digest. Who guesses the name, or has the file, can
//! check it against the tombstone. The page says that a number stays. A tombstone goes when its record is saved again.
use super::{Record, hex};
use crate::people::Date;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

/// The number that stays of a key.
pub fn mark(id: &str) -> String {
    let digest = hex(&Sha256::new().chain_update(b"tarsal tombstone 1\n").chain_update(id).finalize());
    digest.get(..32).unwrap_or_default().to_owned()
}

/// When a record was erased, and how often it had been saved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tombstone {
    /// The day, UTC.
    pub day: Date,
    /// Its saves: what comes back goes on counting from here.
    pub rev: u64,
}

impl Tombstone {
    /// Its text.
    pub fn to_text(self) -> String {
        // A date and a number: nothing can fail here.
        serde_json::to_string(&self).unwrap_or_default()
    }
    /// A text → the tombstone; `None` where it is none.
    pub fn of_text(text: &str) -> Option<Self> {
        serde_json::from_str(text).ok()
    }
}

/// All tombstones of a store, by mark.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Tombstones(pub BTreeMap<String, Tombstone>);

impl Tombstones {
    /// The tombstone of a key.
    pub fn of(&self, id: &str) -> Option<&Tombstone> {
        // Nothing is digested where nothing was ever erased.
        if self.0.is_empty() { None } else { self.0.get(&mark(id)) }
    }
    /// The erased key that a record hangs on: its athlete's, else its own.
    pub fn owner<'a>(&self, record: &'a Record) -> Option<(&'a str, &Tombstone)> {
        [record.athlete_id(), Some(record.id())].into_iter().flatten().find_map(|id| Some((id, self.of(id)?)))
    }
}
