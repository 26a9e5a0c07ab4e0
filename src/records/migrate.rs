//! Older forms of records → this build's form. Pure: the same records give the same result however often it is made,
//! so that a migration stopped half-way is simply made again.
//!
//! Form 1 wrote an athlete's name into each trial (`athlete`); form 2 has a record an athlete and its key in the trial.
use super::{Kept, SCHEMA, SavedTrial, hex};
use crate::people::Athlete;
use crate::people::naming::name_key;
use serde_json::Value;
use sha2::{Digest, Sha256};

/// The key of an athlete known by name alone: the same for the same name.
pub fn athlete_id_of(name: &str) -> String {
    let digest = hex(&Sha256::digest(name_key(name).as_bytes()));
    format!("athlete-{}", digest.get(..16).unwrap_or_default())
}

/// A trial of an older form → this build's.
pub fn trial(mut saved: SavedTrial) -> SavedTrial {
    if saved.envelope.schema < 2 {
        if let Some(Value::String(name)) = saved.other.shift_remove("athlete") {
            saved.athlete_id = Some(athlete_id_of(&name));
        }
        saved.protocol_key = saved.protocol.key();
        saved.envelope.schema = SCHEMA;
    }
    saved
}

/// The athlete's name that a trial of form 1 carries in its text.
pub fn name_in(text: &str) -> Option<String> {
    let Value::Object(all) = serde_json::from_str(text).ok()? else { return None };
    let old = all.get("schema")?.as_u64()? < 2 && all.get("kind")?.as_str()? == "trial";
    all.get("athlete")?.as_str().filter(|name| old && !name.trim().is_empty()).map(str::to_owned)
}

/// The record of an athlete known by name alone.
pub fn athlete(name: &str, now: &str) -> Kept<Athlete> {
    let id = athlete_id_of(name);
    Kept::new("athlete", &id, Athlete { id: id.clone(), name: name.trim().to_owned(), ..Athlete::default() }, now)
}
