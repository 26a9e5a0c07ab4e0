//! Records that are no trial: athletes, sessions, answers, plate checks, published groups, blocks, layouts. One form for all:
//! the envelope, `removed`, and the content under `body`. Fields that this build does not know, in the record or in
//! its body, are kept and written back.
use super::{Envelope, RecordError, SCHEMA, SavedTrial, decode_trial};
use crate::cohort::reference::References;
use crate::people::{Answers, Athlete, PlateCheck, Session};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};
use std::rc::Rc;

/// A record that is no trial.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept<T> {
    /// What the record says about itself.
    pub envelope: Envelope,
    /// Whether it was taken away (and can still come back by undo).
    pub removed: bool,
    /// What it holds.
    pub body: T,
    /// Fields of the body that another version wrote.
    pub surplus: Map<String, Value>,
    /// Fields of the record that another version wrote.
    pub other: Map<String, Value>,
}

impl<T> Kept<T> {
    /// A record that was never saved.
    pub fn new(kind: &str, id: &str, body: T, now: &str) -> Self {
        let envelope = Envelope::new(kind, id, crate::answer::METHOD_VERSION, now);
        Self { envelope, removed: false, body, surplus: Map::new(), other: Map::new() }
    }
    fn map<U>(self, change: impl FnOnce(T) -> Result<(U, Map<String, Value>), RecordError>) -> Result<Kept<U>, RecordError> {
        let (body, surplus) = change(self.body)?;
        Ok(Kept { envelope: self.envelope, removed: self.removed, body, surplus, other: self.other })
    }
}

/// Any record.
#[derive(Debug, Clone, PartialEq)]
pub enum Record {
    /// A trial.
    Trial(Rc<SavedTrial>),
    /// An athlete.
    Athlete(Kept<Athlete>),
    /// A day of testing.
    Session(Kept<Session>),
    /// Answers before a test.
    Question(Kept<Answers>),
    /// A check of the plates.
    PlateCheck(Kept<PlateCheck>),
    /// Published groups to stand beside.
    Reference(Kept<References>),
    /// A training block; its form is another room's.
    Block(Kept<Value>),
    /// How files of one header are read; its form is another room's.
    Layout(Kept<Value>),
}

/// A record's text → the record.
///
/// # Errors
/// Where the text is damaged, of an unknown kind, or of a newer form.
pub fn decode(text: &str) -> Result<Record, RecordError> {
    let envelope: Envelope = serde_json::from_str(text).map_err(|e| RecordError::Damaged(e.to_string()))?;
    if envelope.schema > SCHEMA {
        return Err(RecordError::Newer(envelope.made_by));
    }
    match envelope.kind.as_str() {
        "trial" => decode_trial(text).map(|trial| Record::Trial(Rc::new(trial))),
        "athlete" => typed(kept(text, envelope)?).map(|mut athlete: Kept<Athlete>| {
            // The key is the record's, whatever the body says.
            athlete.body.id.clone_from(&athlete.envelope.id);
            Record::Athlete(athlete)
        }),
        "session" => typed(kept(text, envelope)?).map(Record::Session),
        "question" => typed(kept(text, envelope)?).map(Record::Question),
        "plate_check" => typed(kept(text, envelope)?).map(Record::PlateCheck),
        "reference" => typed(kept(text, envelope)?).map(Record::Reference),
        "block" => kept(text, envelope).map(Record::Block),
        "layout" => kept(text, envelope).map(Record::Layout),
        other => Err(RecordError::Kind(other.to_owned())),
    }
}

const ENVELOPE: [&str; 7] = ["schema", "kind", "id", "rev", "made_by", "method", "updated"];

fn kept(text: &str, envelope: Envelope) -> Result<Kept<Value>, RecordError> {
    let mut all: Map<String, Value> = serde_json::from_str(text).map_err(|e| RecordError::Damaged(e.to_string()))?;
    let body = all.remove("body").ok_or_else(|| RecordError::Damaged("it has no body".into()))?;
    let removed = all.remove("removed").is_some_and(|r| r == Value::Bool(true));
    all.retain(|name, _| !ENVELOPE.contains(&name.as_str()));
    Ok(Kept { envelope, removed, body, surplus: Map::new(), other: all })
}

fn typed<T: DeserializeOwned + Serialize>(raw: Kept<Value>) -> Result<Kept<T>, RecordError> {
    raw.map(|body| {
        let typed: T = serde_json::from_value(body.clone()).map_err(|e| RecordError::Damaged(e.to_string()))?;
        // What this build would not write itself is another version's, and is kept.
        let known = serde_json::to_value(&typed).unwrap_or_default();
        let surplus = match (body, known) {
            (Value::Object(body), Value::Object(known)) => body.into_iter().filter(|(name, _)| !known.contains_key(name)).collect(),
            _ => Map::new(),
        };
        Ok((typed, surplus))
    })
}

fn text_of<T: Serialize>(kept: &Kept<T>) -> String {
    let mut all = kept.other.clone();
    if let Ok(Value::Object(envelope)) = serde_json::to_value(&kept.envelope) {
        all.extend(envelope);
    }
    let mut body = serde_json::to_value(&kept.body).unwrap_or_default();
    if let Value::Object(body) = &mut body {
        for (name, value) in &kept.surplus {
            body.entry(name.as_str()).or_insert_with(|| value.clone());
        }
    }
    all.insert("removed".into(), Value::Bool(kept.removed));
    all.insert("body".into(), body);
    // Keys are texts, so nothing can fail here.
    serde_json::to_string(&all).unwrap_or_default()
}

impl Record {
    /// The record's text.
    pub fn to_text(&self) -> String {
        match self {
            Self::Trial(trial) => trial.to_text(),
            _ => self.text_but_a_trials(),
        }
    }
    /// A function of its own, so that a first visit can do without it (`site/rooms`).
    #[inline(never)]
    fn text_but_a_trials(&self) -> String {
        match self {
            Self::Trial(_) => String::new(),
            Self::Athlete(kept) => text_of(kept),
            Self::Session(kept) => text_of(kept),
            Self::Question(kept) => text_of(kept),
            Self::PlateCheck(kept) => text_of(kept),
            Self::Reference(kept) => text_of(kept),
            Self::Block(kept) | Self::Layout(kept) => text_of(kept),
        }
    }
    /// What it says about itself.
    pub fn envelope(&self) -> &Envelope {
        match self {
            Self::Trial(trial) => &trial.envelope,
            Self::Athlete(kept) => &kept.envelope,
            Self::Session(kept) => &kept.envelope,
            Self::Question(kept) => &kept.envelope,
            Self::PlateCheck(kept) => &kept.envelope,
            Self::Reference(kept) => &kept.envelope,
            Self::Block(kept) | Self::Layout(kept) => &kept.envelope,
        }
    }
    /// The same, to be changed.
    pub fn envelope_mut(&mut self) -> &mut Envelope {
        match self {
            Self::Trial(trial) => &mut Rc::make_mut(trial).envelope,
            Self::Athlete(kept) => &mut kept.envelope,
            Self::Session(kept) => &mut kept.envelope,
            Self::Question(kept) => &mut kept.envelope,
            Self::PlateCheck(kept) => &mut kept.envelope,
            Self::Reference(kept) => &mut kept.envelope,
            Self::Block(kept) | Self::Layout(kept) => &mut kept.envelope,
        }
    }
    /// Its key.
    pub fn id(&self) -> &str {
        &self.envelope().id
    }
    /// The key of the athlete it is about; none for an athlete himself.
    pub fn athlete_id(&self) -> Option<&str> {
        match self {
            Self::Trial(trial) => trial.athlete_id.as_deref(),
            Self::Question(kept) => Some(&kept.body.athlete_id),
            Self::Block(kept) => ["athlete_id", "athlete"].iter().find_map(|field| kept.body.get(field)?.as_str()),
            _ => None,
        }
    }
    /// Whether it was taken away.
    pub fn removed(&self) -> bool {
        match self {
            Self::Trial(trial) => trial.removed,
            Self::Athlete(kept) => kept.removed,
            Self::Session(kept) => kept.removed,
            Self::Question(kept) => kept.removed,
            Self::PlateCheck(kept) => kept.removed,
            Self::Reference(kept) => kept.removed,
            Self::Block(kept) | Self::Layout(kept) => kept.removed,
        }
    }
    /// Takes it away, or brings it back.
    pub fn set_removed(&mut self, removed: bool) {
        match self {
            Self::Trial(trial) => Rc::make_mut(trial).removed = removed,
            Self::Athlete(kept) => kept.removed = removed,
            Self::Session(kept) => kept.removed = removed,
            Self::Question(kept) => kept.removed = removed,
            Self::PlateCheck(kept) => kept.removed = removed,
            Self::Reference(kept) => kept.removed = removed,
            Self::Block(kept) | Self::Layout(kept) => kept.removed = removed,
        }
    }
}
