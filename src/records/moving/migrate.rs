//! Older forms of records → this build's form, one version at a time; and how a store is moved without a moment at which
//! something could be lost.
//!
//! A record says its form in `schema`. A [`Step`] leads from one form to the next, on plain JSON: fields that it does not
//! know stay as they are. Steps are pure, so a migration that was stopped is simply made again. Newer records are kept
//! untouched, as are kinds that this build does not know; a damaged record, or one that a step refuses, is set aside with
//! the reason while the rest opens.
//!
//! **Copy, verify, swap.** [`next`] is asked about one key, given what was *read back* under it and under its copy, and
//! says the one thing to do in one transaction; it is asked again until it says [`Next::Nothing`]. First the record is
//! copied; when the copy reads back as the record, the newer form is written over it; when that reads back as what
//! the step makes of the copy, or was saved again since, the copy goes. Whenever the browser is killed, the record or its
//! copy is whole, and asking again goes on from there.
use super::merge;
use crate::people::Protocol;
use crate::records::migrate::{athlete, athlete_id_of};
use crate::records::{Envelope, Record, SCHEMA};
use serde_json::{Map, Value};
use std::collections::BTreeMap;

/// A record's fields.
pub type Fields = Map<String, Value>;

/// From one form to the next.
#[derive(Debug, Clone, Copy)]
pub struct Step {
    /// The form it leads from.
    pub from: u64,
    /// Changes the fields of a record of this kind; gives records that must exist beside it, if they do not yet (an
    /// older form may have kept in one record what are now two). An error is the reason to set the record aside.
    pub change: fn(kind: &str, fields: &mut Fields) -> Result<Vec<Fields>, String>,
}

/// What a build knows of forms.
#[derive(Debug, Clone, Copy)]
pub struct Forms<'a> {
    /// The form that it writes.
    pub schema: u64,
    /// The kinds that it knows.
    pub kinds: &'a [&'a str],
    /// All steps up to that form.
    pub steps: &'a [Step],
}

/// This build's forms. A new one: raise [`SCHEMA`], add a step.
pub const FORMS: Forms<'static> = Forms {
    schema: SCHEMA as u64,
    kinds: &["trial", "athlete", "session", "question", "plate_check", "block", "layout", merge::BESIDE],
    steps: &[Step { from: 1, change: athletes_apart }],
};

/// Form 1 wrote an athlete's name into each trial; form 2 has a record an athlete and its key in the trial.
fn athletes_apart(kind: &str, fields: &mut Fields) -> Result<Vec<Fields>, String> {
    if kind != "trial" {
        return Ok(Vec::new());
    }
    fields.entry("protocol_key").or_insert_with(|| Protocol::default().key().into());
    let Some(Value::String(name)) = fields.remove("athlete") else { return Ok(Vec::new()) };
    if name.trim().is_empty() {
        return Ok(Vec::new());
    }
    fields.insert("athlete_id".into(), athlete_id_of(&name).into());
    let since = fields.get("updated").and_then(Value::as_str).unwrap_or_default();
    let made = Record::Athlete(athlete(&name, since)).to_text();
    serde_json::from_str(&made).map(|made| vec![made]).map_err(|error| error.to_string())
}

/// What a record is to a build.
#[derive(Debug, Clone, PartialEq)]
pub enum Upgrade {
    /// Of this form already.
    Current,
    /// Of an older form: its text in this one, and records that must exist beside it, by key.
    Changed {
        /// Its new text.
        text: String,
        /// What must be beside it.
        made: BTreeMap<String, String>,
    },
    /// Written by a newer version: kept as it is.
    Newer {
        /// The version that wrote it.
        made_by: String,
    },
    /// Of a kind that this build does not know: kept as it is.
    Unknown {
        /// That kind.
        kind: String,
    },
    /// Not readable, or refused by a step: set aside as it is.
    Damaged {
        /// Why.
        why: String,
    },
}

/// Brings a record's text up to this build's form.
pub fn upgrade(text: &str, forms: &Forms<'_>) -> Upgrade {
    match climb(text, forms) {
        Ok(upgrade) => upgrade,
        Err(why) => Upgrade::Damaged { why },
    }
}

fn climb(text: &str, forms: &Forms<'_>) -> Result<Upgrade, String> {
    let mut fields: Fields = serde_json::from_str(text).map_err(|error| error.to_string())?;
    let envelope: Envelope = serde_json::from_str(text).map_err(|error| error.to_string())?;
    let mut schema = u64::from(envelope.schema);
    if schema > forms.schema {
        return Ok(Upgrade::Newer { made_by: envelope.made_by });
    }
    if !forms.kinds.contains(&envelope.kind.as_str()) {
        return Ok(Upgrade::Unknown { kind: envelope.kind });
    }
    if schema == forms.schema {
        return Ok(Upgrade::Current);
    }
    let mut made = BTreeMap::new();
    while schema < forms.schema {
        let step = forms.steps.iter().find(|step| step.from == schema);
        let step = step.ok_or_else(|| format!("no way leads from form {schema}, which it has, to form {}", schema + 1))?;
        merge::changing_form(&mut fields);
        let beside = (step.change)(&envelope.kind, &mut fields)?;
        schema += 1;
        fields.insert("schema".into(), schema.into());
        for mut fields in beside {
            fields.insert("schema".into(), forms.schema.into());
            let key = fields.get("id").and_then(Value::as_str).filter(|key| *key != envelope.id);
            let key = key.ok_or_else(|| format!("the step from form {} made a record without a key of its own", schema - 1))?.to_owned();
            made.insert(key, Value::Object(fields).to_string());
        }
    }
    let same = |name: &str, value: &str| fields.get(name).and_then(Value::as_str) == Some(value);
    if !same("kind", &envelope.kind) || !same("id", &envelope.id) {
        return Err("a step changed its kind or its key".into());
    }
    Ok(Upgrade::Changed { text: Value::Object(fields).to_string(), made })
}

/// The one thing to do next for a key, in one transaction.
#[derive(Debug, Clone, PartialEq)]
pub enum Next {
    /// It is in order, or nothing that this build can do would be right.
    Nothing,
    /// Copy the record's text, as it is.
    Copy,
    /// Write the text over the record, and each record beside it where nothing is under its key.
    Swap {
        /// The newer form.
        text: String,
        /// What must be beside it, by key.
        made: BTreeMap<String, String>,
    },
    /// Take the copy away.
    Clean,
    /// It cannot be opened; leave it, and say so.
    SetAside {
        /// Why.
        why: String,
    },
}

/// Says what to do for a key, from the record and its copy as they were read just now.
pub fn next(record: Option<&str>, copy: Option<&str>, forms: &Forms<'_>) -> Next {
    let Some(record) = record else {
        // Erased: no copy may outlive it.
        return if copy.is_some() { Next::Clean } else { Next::Nothing };
    };
    let from_copy = copy.map(|copy| upgrade(copy, forms));
    match (upgrade(record, forms), from_copy) {
        (Upgrade::Changed { text, made }, _) if copy == Some(record) => Next::Swap { text, made },
        (Upgrade::Changed { .. }, _) => Next::Copy,
        // Damaged as it was written over: the copy is whole.
        (Upgrade::Damaged { .. }, Some(Upgrade::Changed { text, made })) => Next::Swap { text, made },
        (Upgrade::Damaged { why }, _) => Next::SetAside { why },
        (Upgrade::Current, Some(Upgrade::Changed { text, made })) if text != record && rev(record) <= rev(copy.unwrap_or_default()) => {
            Next::Swap { text, made }
        }
        (Upgrade::Current, Some(_)) => Next::Clean,
        _ => Next::Nothing,
    }
}

fn rev(text: &str) -> u64 {
    serde_json::from_str::<Envelope>(text).map_or(0, |envelope| envelope.rev)
}
