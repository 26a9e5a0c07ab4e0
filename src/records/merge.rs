//! Two stores made one: what is new is taken, what is the same is left, what differs is shown and decided by the reader, and
//! what was erased here stays erased unless the reader chooses it back.
use super::tombstone::Tombstones;
use super::{Envelope, Record, RecordError, decode};
use crate::people::Date;
use serde_json::{Map, Value};
use std::collections::BTreeSet;
use std::rc::Rc;

/// What becomes of one incoming record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fate {
    /// Not here yet: taken, with this text.
    New(String),
    /// Here already, equal in all that matters.
    Same,
    /// Here already, and different.
    Differs(Box<Conflict>),
    /// Erased here, or hanging on an athlete who was.
    Erased(Box<Erased>),
    /// Of a newer form, or damaged, while a record of that key is here or was erased: left out, and why.
    LeftOut(String),
}

/// One record of which two versions exist.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Conflict {
    /// Its key.
    pub id: String,
    /// What it is, in words.
    pub what: String,
    /// When the version here was last changed.
    pub mine: String,
    /// When the incoming version was last changed.
    pub theirs: String,
    /// Names of the fields that differ.
    pub fields: Vec<String>,
}

/// Incoming records that hang on one erased key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Erased {
    /// The erased key: an athlete's, or the record's own.
    pub owner: String,
    /// What it is, in words.
    pub what: String,
    /// When it was erased here.
    pub day: Date,
    /// How many records hang on it.
    pub records: u32,
    /// Whether any of them was changed after that day.
    pub later: bool,
}

/// Adds one to those of the same key.
pub fn gather(all: &mut Vec<Erased>, one: Erased) {
    match all.iter_mut().find(|e| e.owner == one.owner) {
        Some(known) => {
            known.records += one.records;
            known.later |= one.later;
        }
        None => all.push(one),
    }
}

/// Fields that may differ between two copies of the same content.
const OF_THE_COPY: [&str; 4] = ["rev", "updated", "made_by", "added"];

/// What was erased here, and the keys among it that the reader chose back.
#[derive(Debug, Clone, Copy)]
pub struct Graves<'a> {
    /// What was erased here.
    pub stones: &'a Tombstones,
    /// What comes back.
    pub back: &'a BTreeSet<String>,
}

impl Graves<'_> {
    fn closed(&self, id: &str) -> bool {
        !self.back.contains(id) && self.stones.of(id).is_some()
    }
    /// The incoming record without the athletes who were erased here.
    fn without_the_erased(&self, mut record: Record) -> Record {
        match &mut record {
            Record::Session(session) => session.body.athletes.retain(|id| !self.closed(id)),
            Record::Trial(trial) if trial.athlete_id.as_ref().is_some_and(|id| self.closed(id)) => Rc::make_mut(trial).athlete_id = None,
            _ => {}
        }
        record
    }
}

/// Decides about one incoming record of a key, given the text that is stored under it.
pub fn compare(key: &str, mine: Option<&str>, theirs: &str, graves: Graves<'_>) -> Fate {
    let record = match decode(theirs) {
        Ok(record) => record,
        // What cannot be opened is still worth keeping where nothing is lost by it.
        Err(error) if mine.is_none() && !matches!(error, RecordError::Samples) && !graves.closed(key) => {
            return Fate::New(theirs.to_owned());
        }
        Err(error) => return Fate::LeftOut(error.to_string()),
    };
    let Some(mine) = mine else {
        return match graves.stones.owner(&record) {
            Some((owner, stone)) if !graves.back.contains(owner) => Fate::Erased(Box::new(Erased {
                owner: owner.to_owned(),
                what: if owner == record.id() { what(&record) } else { "an athlete".into() },
                day: stone.day,
                records: 1,
                later: Date::parse(&record.envelope().updated).is_some_and(|day| day > stone.day),
            })),
            Some((_, stone)) => {
                // Back from the grave it is newer than every copy that other tabs may still hold.
                let mut record = graves.without_the_erased(record);
                let envelope = record.envelope_mut();
                // Its own stone may be higher than its athlete's, which was found first.
                let own = graves.stones.of(key).map_or(0, |own| own.rev);
                envelope.rev = envelope.rev.max(stone.rev.max(own) + 1);
                Fate::New(record.to_text())
            }
            None => Fate::New(graves.without_the_erased(record).to_text()),
        };
    };
    let record = graves.without_the_erased(record);
    let (Some(here), Some(there)) = (content(mine), content(&record.to_text())) else {
        return Fate::LeftOut("The record here cannot be read; it was left as it is.".into());
    };
    let mut fields: Vec<String> =
        here.iter().filter(|(name, value)| there.get(*name) != Some(value)).map(|(name, _)| name.clone()).collect();
    fields.extend(there.keys().filter(|name| !here.contains_key(*name)).cloned());
    if fields.is_empty() {
        return Fate::Same;
    }
    fields.sort_unstable();
    let updated = serde_json::from_str::<Envelope>(mine).map(|e| e.updated).unwrap_or_default();
    let theirs = record.envelope().updated.clone();
    Fate::Differs(Box::new(Conflict { id: record.id().to_owned(), what: what(&record), mine: updated, theirs, fields }))
}

/// The record's fields without those of the copy; those of a body one level up.
fn content(text: &str) -> Option<Map<String, Value>> {
    // Through this build's form, so that an older copy of the same content is the same.
    let text = decode(text).ok()?.to_text();
    let Value::Object(mut all) = serde_json::from_str(&text).ok()? else { return None };
    for name in OF_THE_COPY {
        all.remove(name);
    }
    if let Some(Value::Object(body)) = all.remove("body") {
        all.extend(body);
    }
    Some(all)
}

/// What a record is, in words.
pub fn what(record: &Record) -> String {
    match record {
        Record::Trial(trial) => format!("trial of {}", trial.file),
        Record::Athlete(kept) => format!("athlete {}", kept.body.name),
        Record::Session(kept) => format!("session of {}", kept.body.date),
        Record::Question(kept) => format!("answers of {}", kept.body.date),
        Record::PlateCheck(kept) => format!("plate check of {}", kept.body.date),
        Record::Reference(kept) => match kept.body.rows.first() {
            Some(row) => format!("published groups of {}", row.citation),
            None => "published groups".into(),
        },
        Record::Block(_) => "training block".into(),
        Record::Layout(_) => "column layout".into(),
    }
}

/// The incoming record as the next version of the one here.
///
/// # Errors
/// Where it cannot be opened.
pub fn take_theirs(theirs: &str, stored_rev: u64, graves: Graves<'_>) -> Result<String, RecordError> {
    let mut record = graves.without_the_erased(decode(theirs)?);
    record.envelope_mut().rev = stored_rev + 1;
    Ok(record.to_text())
}
