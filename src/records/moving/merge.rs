//! Two stores made one. Restoring a backup into a store that is not empty is the same thing.
//!
//! A record's **content** is everything but what belongs to the copy (`rev`, `updated`, `made_by`, `added`, `was`, `was_form`, its key);
//! a **mark** is a short digest of it. Each save adds the mark of what it replaces to the record's `was` ([`follow`]), so
//! that of two versions it is known whether one comes from the other or both were changed since they were the same.
//! Records saved without `was` are judged by `rev` and `updated`, which can be mistaken; such a judgement is told apart.
//!
//! 1. [`Summary::of`] each record of both sides (about 200 bytes each: whole stores fit in memory without their texts);
//! 2. [`plan`]: what becomes of each incoming record, athletes of one name, trials that are there under another key;
//! 3. the reader looks at [`differences`] and decides ([`Choices`]); nothing needs deciding;
//! 4. [`steps`] for each incoming record, carried out in their order.
//!
//! Nothing is lost: a version that gives way without being the other's ancestor is kept as a record of kind `beside`.
//! Incoming records of an older form are brought up to date ([`super::migrate`]) before they come here; `was_form` remembers
//! their marks in the older forms, so that what another device knows of them still counts.
mod steps;
mod summary;

pub(super) use steps::changing_form;
pub use steps::{Choice, Choices, Step, follow, steps};
pub use summary::{Mark, Summary};

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// Kind of the records that hold what gave way.
pub const BESIDE: &str = "beside";

/// What becomes of an incoming record if nobody decides otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fate {
    /// Not here: taken.
    New,
    /// Here, with the same content: left.
    Same,
    /// It comes from the one here: taken. Not proven, where `rev` and `updated` say so and `was` is silent; then
    /// the one here is kept beside.
    Newer {
        /// By `was`.
        proven: bool,
    },
    /// The one here comes from it: left. Not proven, it is kept beside.
    Older {
        /// By `was`.
        proven: bool,
    },
    /// Both were changed since they were the same: the one here stays, the incoming one is kept beside.
    Conflict,
}

/// Athletes here of the same name as an incoming athlete with another key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Namesakes {
    /// The name as it comes in.
    pub name: String,
    /// Key of the incoming athlete.
    pub theirs: String,
    /// Keys of the athletes here, in order.
    pub mine: Vec<String>,
    /// The one that an earlier merge took it for.
    pub settled: Option<String>,
}

/// An incoming trial that is here under another key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Double {
    /// Key of the incoming trial.
    pub theirs: String,
    /// Key of the trial here.
    pub mine: String,
    /// Whether all content is equal, not the force alone: then it is left out unless the reader wants it twice.
    pub identical: bool,
}

/// What merging would do, before it does it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Plan {
    /// One entry an incoming record, by key.
    pub fates: BTreeMap<String, Fate>,
    /// Athletes of one name.
    pub namesakes: Vec<Namesakes>,
    /// Trials that are here already.
    pub doubles: Vec<Double>,
}

impl Plan {
    /// How many incoming records have this fate.
    pub fn count(&self, fate: Fate) -> usize {
        self.fates.values().filter(|f| **f == fate).count()
    }
    /// The choices to begin with: athletes that an earlier merge took for one of those here are taken so again.
    pub fn choices(&self) -> Choices {
        let settled = self.namesakes.iter().filter_map(|n| Some((n.theirs.clone(), n.settled.clone()?)));
        Choices { same_athlete: settled.collect(), ..Choices::default() }
    }
    /// Keys of the records that the reader should look at, in order.
    pub fn conflicts(&self) -> impl Iterator<Item = &str> {
        self.fates.iter().filter(|(_, fate)| **fate == Fate::Conflict).map(|(key, _)| key.as_str())
    }
}

/// Plans a merge from the records' summaries by key. The same summaries give the same plan.
pub fn plan(mine: &BTreeMap<String, Summary>, theirs: &BTreeMap<String, Summary>) -> Plan {
    let mut plan = Plan::default();
    let mut names: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    let mut contents: BTreeMap<Mark, &str> = BTreeMap::new();
    let mut forces: BTreeMap<[u8; 32], &str> = BTreeMap::new();
    let mut settled: BTreeMap<&str, &str> = BTreeMap::new();
    for (key, here) in mine {
        if let Some((other, _)) = key.rsplit_once('~').filter(|(other, _)| here.kind == BESIDE && here.of != *other) {
            settled.insert(other, &here.of);
        }
        if here.kind == "athlete" && !here.removed && !here.name_key.is_empty() {
            names.entry(&here.name_key).or_default().push(key);
        }
        if here.kind == "trial" {
            contents.entry(here.content).or_insert(key);
            if let Some(force) = here.force {
                forces.entry(force).or_insert(key);
            }
        }
    }
    for (key, there) in theirs {
        let fate = mine.get(key).map_or(Fate::New, |here| compare(here, there));
        plan.fates.insert(key.clone(), fate);
        if fate != Fate::New {
            continue;
        }
        let same = names.get(there.name_key.as_str()).map(Vec::as_slice).unwrap_or_default();
        let settled = settled.get(key.as_str()).filter(|of| mine.contains_key(**of)).map(|of| (*of).to_owned());
        if there.kind == "athlete" && !there.removed && (settled.is_some() || !same.is_empty()) {
            let mine = same.iter().map(|key| (*key).to_owned()).collect();
            plan.namesakes.push(Namesakes { name: there.title.clone(), theirs: key.clone(), mine, settled });
        }
        let by_content = contents.get(&there.content).map(|mine| (*mine, true));
        let by_force = there.force.and_then(|force| forces.get(&force)).map(|mine| (*mine, false));
        if let Some((mine, identical)) = by_content.or(by_force).filter(|_| there.kind == "trial") {
            plan.doubles.push(Double { theirs: key.clone(), mine: mine.to_owned(), identical });
        }
    }
    plan
}

fn compare(mine: &Summary, theirs: &Summary) -> Fate {
    if mine.content == theirs.content {
        return Fate::Same;
    }
    match (mine.is_ancestor_of(theirs), theirs.is_ancestor_of(mine)) {
        (true, false) => return Fate::Newer { proven: true },
        (false, true) => return Fate::Older { proven: true },
        // There and back again: who was saved more often went further.
        (true, true) if theirs.rev > mine.rev => return Fate::Newer { proven: true },
        (true, true) if theirs.rev < mine.rev => return Fate::Older { proven: true },
        _ => {}
    }
    match (mine.readable, theirs.readable) {
        (false, true) => return Fate::Newer { proven: false },
        (true, false) => return Fate::Older { proven: false },
        _ => {}
    }
    // ISO 8601 in UTC sorts as text.
    if theirs.rev > mine.rev && theirs.updated >= mine.updated && !theirs.knows_all() {
        Fate::Newer { proven: false }
    } else if mine.rev > theirs.rev && mine.updated >= theirs.updated && !mine.knows_all() {
        Fate::Older { proven: false }
    } else {
        Fate::Conflict
    }
}

/// One field that differs between two versions of a record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// Where: names and places from the outside in, with points between ("body.injuries.0.side").
    pub field: String,
    /// As it is here, JSON; none where it is not.
    pub mine: Option<String>,
    /// As it comes in.
    pub theirs: Option<String>,
}

/// The fields that differ, in order of their names, at most `most`; what belongs to the copy is left out. A text that
/// cannot be read is shown whole, under no name.
pub fn differences(mine: &str, theirs: &str, most: usize) -> Vec<Difference> {
    let (here, there) = (leaves(mine), leaves(theirs));
    let fields: BTreeSet<&String> = here.keys().chain(there.keys()).collect();
    let both = fields.into_iter().map(|field| (field, here.get(field), there.get(field)));
    let differ = both.filter(|(_, mine, theirs)| mine != theirs).take(most);
    differ.map(|(field, mine, theirs)| Difference { field: field.clone(), mine: mine.cloned(), theirs: theirs.cloned() }).collect()
}

fn leaves(text: &str) -> BTreeMap<String, String> {
    let mut found = BTreeMap::new();
    match summary::content(text) {
        Some(content) => walk(String::new(), &Value::Object(content), &mut found),
        None => drop(found.insert(String::new(), text.to_owned())),
    }
    found
}

fn walk(path: String, value: &Value, found: &mut BTreeMap<String, String>) {
    let under = |name: &str| if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") };
    match value {
        Value::Object(fields) if !fields.is_empty() => fields.iter().for_each(|(name, value)| walk(under(name), value, found)),
        Value::Array(values) if !values.is_empty() => {
            values.iter().enumerate().for_each(|(i, value)| walk(under(&i.to_string()), value, found));
        }
        other => drop(found.insert(path, other.to_string())),
    }
}
