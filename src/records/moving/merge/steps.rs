//! Carrying out a plan: for each incoming record, what to write, in an order in which nothing is lost if it stops half-way.
use super::summary::{MOST_WAS, Mark, mark_text};
use super::{BESIDE, Fate, Plan, Summary};
use crate::records::{Envelope, SCHEMA};
use serde_json::{Map, Value};
use std::collections::{BTreeMap, BTreeSet};

/// Which version stays.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Choice {
    /// The one here.
    Mine,
    /// The incoming one.
    Theirs,
}

/// What the reader decided; empty is fine.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Choices {
    /// Versions, by key, where the plan's own is not wanted.
    pub versions: BTreeMap<String, Choice>,
    /// Incoming athletes that are an athlete here: key → key here.
    pub same_athlete: BTreeMap<String, String>,
    /// Incoming trials that are identical to one here and are wanted all the same.
    pub keep_twice: BTreeSet<String>,
}

/// One thing to write.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Step {
    /// A record's text.
    Put {
        /// Its key.
        key: String,
        /// Its text.
        text: String,
        /// The `rev` of the record that it replaces, to be compared as it is written. None: written only where nothing is
        /// under that key (what is kept beside is there already when the same backup is merged again).
        over: Option<u64>,
    },
    /// The force under a key of one side, if there is any.
    Force {
        /// Whose.
        from: Choice,
        /// Its key there.
        key: String,
        /// The key here that it is written to.
        to: String,
        /// Only where no force is there.
        if_missing: bool,
    },
}

/// Fields that name another record's key.
const NAMES_A_KEY: [&str; 8] = ["athlete", "athlete_id", "athletes", "session", "session_id", "trial", "trial_id", "trials"];

/// The steps for the incoming record under `key`. `now` is written where a version is made here.
pub fn steps(plan: &Plan, choices: &Choices, key: &str, mine: Option<&str>, theirs: &str, now: &str) -> Vec<Step> {
    let Some(fate) = plan.fates.get(key) else { return Vec::new() };
    let there = Summary::of(key, theirs);
    if let Some(athlete) = choices.same_athlete.get(key).filter(|_| *fate == Fate::New) {
        return beside(athlete, Choice::Theirs, key, theirs, &there, now);
    }
    let renamed = renamed(plan, choices);
    if renamed.contains_key(key) && *fate == Fate::New {
        return Vec::new();
    }
    let rewritten = rename(theirs, &renamed);
    let bring = |if_missing| Step::Force { from: Choice::Theirs, key: key.to_owned(), to: key.to_owned(), if_missing };
    let Some(mine) = mine else {
        let text = rewritten.map_or_else(|| theirs.to_owned(), |text| settle(&text, &there, &there, now));
        return vec![bring(false), Step::Put { key: key.to_owned(), text, over: None }];
    };
    let here = Summary::of(key, mine);
    let (usual, certain) = match fate {
        // A plan made before the record came: what is here now stays.
        Fate::New if here.content != there.content => (Choice::Mine, false),
        Fate::New | Fate::Same => return vec![bring(true)],
        Fate::Newer { proven } => (Choice::Theirs, *proven),
        Fate::Older { proven } => (Choice::Mine, *proven),
        Fate::Conflict => (Choice::Mine, false),
    };
    let choice = choices.versions.get(key).copied().unwrap_or(usual);
    // Against what is proven, the reader's choice makes the other one give way: it is kept.
    let keep = !certain || choice != usual;
    let mut out = Vec::new();
    match choice {
        Choice::Theirs => {
            if keep {
                out.extend(beside(key, Choice::Mine, key, mine, &here, now));
            }
            let plain = certain && rewritten.is_none() && there.rev > here.rev;
            let text = rewritten.as_deref().unwrap_or(theirs);
            let text = if plain { text.to_owned() } else { settle(text, &there, &here, now) };
            out.push(bring(false));
            out.push(Step::Put { key: key.to_owned(), text, over: Some(here.rev) });
        }
        Choice::Mine => {
            if keep {
                out.extend(beside(key, Choice::Theirs, key, theirs, &there, now));
                out.push(bring(true));
                let text = settle(mine, &here, &there, now);
                if text != mine {
                    out.push(Step::Put { key: key.to_owned(), text, over: Some(here.rev) });
                }
            } else {
                out.push(bring(true));
            }
        }
    }
    out
}

/// Keys that incoming records must call otherwise.
fn renamed<'p>(plan: &'p Plan, choices: &'p Choices) -> BTreeMap<&'p str, &'p str> {
    let doubles = plan.doubles.iter().filter(|d| d.identical && !choices.keep_twice.contains(&d.theirs));
    let doubles = doubles.map(|d| (d.theirs.as_str(), d.mine.as_str()));
    choices.same_athlete.iter().map(|(theirs, mine)| (theirs.as_str(), mine.as_str())).chain(doubles).collect()
}

/// The text with other records' keys renamed; none where it names none of them.
fn rename(text: &str, renamed: &BTreeMap<&str, &str>) -> Option<String> {
    if !renamed.keys().any(|key| text.contains(key)) {
        return None;
    }
    let mut all: Value = serde_json::from_str(text).ok()?;
    rename_in(&mut all, renamed).then(|| all.to_string())
}

fn rename_in(value: &mut Value, renamed: &BTreeMap<&str, &str>) -> bool {
    match value {
        Value::Object(fields) => fields.iter_mut().fold(false, |changed, (name, value)| {
            let own = NAMES_A_KEY.contains(&name.as_str()) && rename_key(value, renamed);
            rename_in(value, renamed) | own | changed
        }),
        Value::Array(values) => values.iter_mut().fold(false, |changed, value| rename_in(value, renamed) | changed),
        _ => false,
    }
}

fn rename_key(value: &mut Value, renamed: &BTreeMap<&str, &str>) -> bool {
    match value {
        Value::String(key) => renamed.get(key.as_str()).map(|new| *key = (*new).to_owned()).is_some(),
        Value::Array(keys) => keys.iter_mut().fold(false, |changed, key| rename_key(key, renamed) | changed),
        _ => false,
    }
}

/// A version that gives way, as a record of its own: its text untouched, and its force.
fn beside(of: &str, from: Choice, key: &str, text: &str, summary: &Summary, now: &str) -> Vec<Step> {
    // A plain ASCII mark cannot meet another key's: keys that end like this are made here only.
    let id = format!("{key}~{}", mark_text(&summary.content));
    let mut all = Map::new();
    if let Ok(Value::Object(envelope)) = serde_json::to_value(Envelope::new(BESIDE, &id, "", now)) {
        all.extend(envelope);
    }
    all.insert("schema".into(), SCHEMA.into());
    all.insert("of".into(), of.into());
    all.insert("holds".into(), summary.kind.as_str().into());
    all.insert("title".into(), summary.title.as_str().into());
    all.insert("from".into(), if from == Choice::Mine { "here" } else { "merged" }.into());
    all.insert("text".into(), text.into());
    let force = Step::Force { from, key: key.to_owned(), to: id.clone(), if_missing: false };
    vec![force, Step::Put { key: id, text: Value::Object(all).to_string(), over: None }]
}

/// The winner as the next version of both, which it then knows as its ancestors. A text that cannot be read stays as it is.
fn settle(text: &str, winner: &Summary, other: &Summary, now: &str) -> String {
    let Ok(Value::Object(mut all)) = serde_json::from_str(text) else { return text.to_owned() };
    let mut was: Vec<Mark> = Vec::new();
    let now_is = Summary::of(&winner.id, text).content;
    let pasts = other.was.iter().chain(&winner.was).chain(&other.was_form);
    for mark in pasts.chain([&other.content, &winner.content]) {
        if *mark != now_is {
            was.retain(|known| known != mark);
            was.push(*mark);
        }
    }
    put_was(&mut all, was);
    all.insert("rev".into(), winner.rev.max(other.rev).saturating_add(1).into());
    all.insert("updated".into(), now.into());
    Value::Object(all).to_string()
}

fn put_was(all: &mut Map<String, Value>, mut was: Vec<Mark>) {
    was.drain(..was.len().saturating_sub(MOST_WAS));
    all.insert("was".into(), was.iter().map(|mark| Value::from(mark_text(mark))).collect());
}

/// A record about to be saved, given the text it replaces: `was` gains the mark of that text. Call it at every save, so
/// that merging can prove which version comes from which. A text that cannot be read comes back as it is.
pub fn follow(new: &str, replaced: &str) -> String {
    let Ok(Value::Object(mut all)) = serde_json::from_str(new) else { return new.to_owned() };
    let before = Summary::of("", replaced);
    if before.content == Summary::of("", new).content {
        // Only the copy changed: its past is what it was.
        for (name, marks) in [("was", &before.was), ("was_form", &before.was_form)] {
            if name == "was" || !marks.is_empty() {
                all.insert(name.into(), marks.iter().map(|mark| Value::from(mark_text(mark))).collect());
            }
        }
    } else {
        all.remove("was_form");
        let mut was = before.was;
        for mark in before.was_form.into_iter().chain([before.content]) {
            was.retain(|known| *known != mark);
            was.push(mark);
        }
        put_was(&mut all, was);
    }
    Value::Object(all).to_string()
}

/// Called before a record's form is changed: its mark in the form that it has now is remembered.
pub(in crate::records) fn changing_form(fields: &mut Map<String, Value>) {
    let mark = Summary::of("", &Value::Object(fields.clone()).to_string()).content;
    if let Value::Array(marks) = fields.entry("was_form").or_insert_with(|| Value::Array(Vec::new())) {
        marks.push(mark_text(&mark).into());
    }
}
