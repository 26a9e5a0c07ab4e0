//! Two stores made one: what is new is taken, what is the same is left, what differs is shown and decided by the reader.
use super::{Envelope, Record, RecordError, decode};
use serde_json::{Map, Value};

/// What becomes of one incoming record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fate {
    /// Not here yet: taken, with this text.
    New(String),
    /// Here already, equal in all that matters.
    Same,
    /// Here already, and different.
    Differs(Box<Conflict>),
    /// Of a newer form, or damaged, while a record of that key is here: left out, and why.
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

/// Fields that may differ between two copies of the same content.
const OF_THE_COPY: [&str; 4] = ["rev", "updated", "made_by", "added"];

/// Decides about one incoming record, given the text that is stored under its key.
pub fn compare(mine: Option<&str>, theirs: &str) -> Fate {
    let record = match decode(theirs) {
        Ok(record) => record,
        // What cannot be opened is still worth keeping where nothing is lost by it.
        Err(error) if mine.is_none() && !matches!(error, RecordError::Samples) => return Fate::New(theirs.to_owned()),
        Err(error) => return Fate::LeftOut(error.to_string()),
    };
    let Some(mine) = mine else { return Fate::New(record.to_text()) };
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
pub fn take_theirs(theirs: &str, stored_rev: u64) -> Result<String, RecordError> {
    let mut record = decode(theirs)?;
    record.envelope_mut().rev = stored_rev + 1;
    Ok(record.to_text())
}
