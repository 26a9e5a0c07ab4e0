//! Two stores become one: nothing is lost, what is known to be newer is taken, what is not known is kept twice and shown.
mod stores;

use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use stores::record;
use tarsal::invented::Random;
use tarsal::records::moving::merge::{BESIDE, Choice, Choices, Double, Fate, Mark, Plan, Step, Summary, differences, follow, plan, steps};

const NOW: &str = "2026-06-01T12:00:00Z";

/// The simple store that merging is checked against.
#[derive(Debug, Clone, PartialEq, Default)]
struct Plain {
    records: BTreeMap<String, String>,
    force: BTreeMap<String, Vec<u8>>,
}

impl Plain {
    fn with(mut self, key: &str, text: String) -> Self {
        self.records.insert(key.into(), text);
        self
    }
    fn summaries(&self) -> BTreeMap<String, Summary> {
        let of = |(key, text): (&String, &String)| {
            let summary = Summary::of(key, text);
            (key.clone(), self.force.get(key).map_or(summary.clone(), |force| summary.with_force(force)))
        };
        self.records.iter().map(of).collect()
    }
    fn plan(&self, theirs: &Plain) -> Plan {
        plan(&self.summaries(), &theirs.summaries())
    }
    /// Carries a plan out; the number of records written.
    fn carry_out(&mut self, theirs: &Plain, plan: &Plan, choices: &Choices) -> usize {
        let mut written = 0;
        for (key, text) in &theirs.records {
            for step in steps(plan, choices, key, self.records.get(key).map(String::as_str), text, NOW) {
                match step {
                    Step::Put { key, text, over } => {
                        let here = self.records.get(&key).map(|text| Summary::of(&key, text));
                        if here.as_ref().is_some_and(|here| here.kind == BESIDE) && over.is_none() {
                            continue;
                        }
                        assert_eq!(over, here.map(|here| here.rev), "{key}");
                        self.records.insert(key, text);
                        written += 1;
                    }
                    Step::Force { from, key, to, if_missing } => {
                        let source = if from == Choice::Mine { &self.force } else { &theirs.force };
                        if let Some(force) = source.get(&key).cloned().filter(|_| !(if_missing && self.force.contains_key(&to))) {
                            self.force.insert(to, force);
                        }
                    }
                }
            }
        }
        written
    }
    fn merge(&mut self, theirs: &Plain) -> Plan {
        let plan = self.plan(theirs);
        let choices = plan.choices();
        self.carry_out(theirs, &plan, &choices);
        plan
    }
    fn beside(&self) -> Vec<Value> {
        let values = self.records.values().filter_map(|text| serde_json::from_str::<Value>(text).ok());
        values.filter(|value| value["kind"] == BESIDE).collect()
    }
    fn live(&self) -> BTreeMap<&String, Mark> {
        self.records
            .iter()
            .map(|(key, text)| (key, Summary::of(key, text)))
            .filter(|(_, s)| s.kind != BESIDE)
            .map(|(key, s)| (key, s.content))
            .collect()
    }
}

fn athlete(id: &str, rev: u64, name: &str) -> String {
    record("athlete", id, rev, "2026-01-01T00:00:00Z", json!({ "body": { "id": id, "name": name, "labels": [] } }))
}

/// A later save of a record, as the store makes it.
fn saved(text: &str, field: &str, value: Value, at: &str) -> String {
    let mut all: Value = serde_json::from_str(text).unwrap();
    all[field] = value;
    all["rev"] = (all["rev"].as_u64().unwrap() + 1).into();
    all["updated"] = at.into();
    follow(&all.to_string(), text)
}

#[test]
fn new_same_newer_and_older_are_told_apart() {
    let first = athlete("a", 1, "Invented Alder");
    let second = saved(&first, "note", json!("taller"), "2026-02-01T00:00:00Z");
    let third = saved(&second, "note", json!("taller still"), "2026-03-01T00:00:00Z");
    let other_copy = first.replace("2026-01-01", "2025-12-31").replace("tarsal 0.1.0", "tarsal 0.0.9");
    for (mine, theirs, fate) in [
        (&first, &other_copy, Fate::Same),
        (&first, &third, Fate::Newer { proven: true }),
        (&third, &first, Fate::Older { proven: true }),
        (&second, &saved(&first, "note", json!("shorter"), "2026-02-02T00:00:00Z"), Fate::Conflict),
    ] {
        let (mine, theirs) = (Plain::default().with("a", mine.clone()), Plain::default().with("a", theirs.clone()));
        assert_eq!(mine.plan(&theirs).fates["a"], fate);
    }
    let mut mine = Plain::default().with("a", first.clone());
    let theirs = Plain::default().with("a", third.clone()).with("b", athlete("b", 4, "Invented Birch"));
    let plan = mine.merge(&theirs);
    assert_eq!((plan.count(Fate::New), plan.count(Fate::Newer { proven: true })), (1, 1));
    // Taken byte for byte, and nothing is beside: the old one is its known ancestor.
    assert_eq!(mine, theirs);
}

#[test]
fn records_without_a_past_are_judged_by_their_saves_and_kept_twice() {
    let old = record("song", "s", 2, "2026-01-01T00:00:00Z", json!({ "verse": 1 }));
    let new = record("song", "s", 5, "2026-02-01T00:00:00Z", json!({ "verse": 2 }));
    let mut mine = Plain::default().with("s", old.clone());
    assert_eq!(mine.merge(&Plain::default().with("s", new.clone())).fates["s"], Fate::Newer { proven: false });
    assert_eq!(mine.beside()[0]["text"], json!(old));
    assert!(mine.records["s"].contains("\"verse\":2") && mine.records["s"].contains("\"rev\":6"));
    let mut mine = Plain::default().with("s", new);
    assert_eq!(mine.merge(&Plain::default().with("s", old.clone())).fates["s"], Fate::Older { proven: false });
    assert_eq!(mine.beside()[0]["text"], json!(old));
    // More saves but an earlier day, or as many saves: nothing can be said.
    for (rev, day) in [(5, "2025-01-01"), (2, "2026-05-01")] {
        let odd = record("song", "s", rev, &format!("{day}T00:00:00Z"), json!({ "verse": 3 }));
        assert_eq!(Plain::default().with("s", old.clone()).plan(&Plain::default().with("s", odd)).fates["s"], Fate::Conflict);
    }
}

#[test]
fn a_conflict_shows_both_sides_and_loses_neither() {
    let first = athlete("a", 1, "Invented Cedar");
    let mine_text = saved(&first, "body", json!({ "id": "a", "name": "Invented Cedar", "labels": ["<b>sprint"] }), "2026-02-01T00:00:00Z");
    let their_text = saved(&first, "body", json!({ "id": "a", "name": "Invented Cédar", "labels": [] }), "2026-02-02T00:00:00Z");
    let (mut mine, theirs) = (Plain::default().with("a", mine_text.clone()), Plain::default().with("a", their_text.clone()));
    mine.force.insert("a".into(), vec![1]);
    let plan = mine.plan(&theirs);
    assert_eq!(plan.conflicts().collect::<Vec<_>>(), ["a"]);
    let shown = differences(&mine_text, &their_text, 9);
    let fields: Vec<_> = shown.iter().map(|d| (d.field.as_str(), d.mine.as_deref(), d.theirs.as_deref())).collect();
    assert_eq!(
        fields,
        [
            ("body.labels", None, Some("[]")),
            ("body.labels.0", Some("\"<b>sprint\""), None),
            ("body.name", Some("\"Invented Cedar\""), Some("\"Invented Cédar\"")),
        ]
    );
    for (choice, wins, gives_way) in [(Choice::Mine, &mine_text, &their_text), (Choice::Theirs, &their_text, &mine_text)] {
        let mut here = mine.clone();
        let choices = Choices { versions: [("a".to_owned(), choice)].into(), ..Choices::default() };
        here.carry_out(&theirs, &plan, &choices);
        assert_eq!(Summary::of("a", &here.records["a"]).content, Summary::of("a", wins).content);
        assert_eq!(here.beside()[0]["text"], json!(gives_way));
        assert_eq!(here.force.len(), if choice == Choice::Mine { 1 } else { 2 }, "my force is kept beside my record");
        // The other coach merges this store and it is settled there too, without a question.
        let mut there = theirs.clone();
        let settled = if choice == Choice::Mine { Fate::Newer { proven: true } } else { Fate::Same };
        assert_eq!(there.merge(&here).fates["a"], settled);
        assert_eq!(there.live(), here.live());
        assert_eq!(here.carry_out(&theirs, &here.plan(&theirs), &Choices::default()), 0, "merging again changes nothing");
    }
}

#[test]
fn athletes_of_one_name_become_one_if_the_reader_says_so() {
    let mut mine = Plain::default().with("a", athlete("a", 1, "Invented  alder "));
    let trial = record("trial", "t", 1, NOW, json!({ "athlete_id": "b", "file": "b", "trial": { "figures": {} } }));
    let session = record("session", "s", 1, NOW, json!({ "body": { "athletes": ["b", "c"], "note": "b" } }));
    let theirs = Plain::default().with("b", athlete("b", 1, "Invented Alder")).with("t", trial).with("s", session);
    let plan = mine.plan(&theirs);
    assert_eq!((plan.namesakes[0].theirs.as_str(), plan.namesakes[0].mine.as_slice()), ("b", &["a".to_owned()][..]));
    let mut apart = mine.clone();
    apart.merge(&theirs);
    assert!(apart.records.contains_key("b") && apart.records["t"] == theirs.records["t"]);
    let choices = Choices { same_athlete: [("b".to_owned(), "a".to_owned())].into(), ..Choices::default() };
    mine.carry_out(&theirs, &plan, &choices);
    assert!(!mine.records.contains_key("b"));
    let value = |key: &str| serde_json::from_str::<Value>(&mine.records[key]).unwrap();
    assert_eq!((&value("t")["athlete_id"], &value("t")["file"]), (&json!("a"), &json!("b")));
    assert_eq!(value("s")["body"], json!({ "athletes": ["a", "c"], "note": "b" }));
    assert_eq!(mine.beside()[0]["text"], json!(theirs.records["b"]));
    // The same backup again: remembered, and nothing changes but the moment of what is kept beside.
    let before = mine.clone();
    assert_eq!(mine.merge(&theirs).namesakes[0].settled.as_deref(), Some("a"));
    assert_eq!(mine, before);
}

#[test]
fn a_trial_under_another_key_is_not_counted_twice() {
    let body = || json!({ "sha256": "9", "trial": { "start_s": 1.5 } });
    let mut mine = Plain::default().with("t", record("trial", "t", 1, NOW, body()));
    mine.force.insert("t".into(), vec![1, 2, 3, 4]);
    let mut theirs = Plain::default()
        .with("u", record("trial", "u", 1, NOW, body()))
        .with("v", record("trial", "v", 1, NOW, json!({ "sha256": "8" })))
        .with("block", record("block", "block", 1, NOW, json!({ "body": { "trials": ["u", "v"] } })));
    theirs.force.insert("v".into(), vec![1, 2, 3, 4]);
    let plan = mine.plan(&theirs);
    let double = |theirs: &str, identical| Double { theirs: theirs.into(), mine: "t".into(), identical };
    assert_eq!(plan.doubles, [double("u", true), double("v", false)]);
    let mut twice = mine.clone();
    let choices = Choices { keep_twice: ["u".to_owned()].into(), ..Choices::default() };
    twice.carry_out(&theirs, &plan, &choices);
    assert!(twice.records.contains_key("u"));
    mine.merge(&theirs);
    assert!(!mine.records.contains_key("u") && mine.records.contains_key("v"));
    assert!(mine.records["block"].contains(r#""trials":["t","v"]"#));
}

#[test]
fn damaged_and_newer_records_and_missing_force_are_dealt_with() {
    let good = athlete("a", 1, "Invented Larch");
    let newer = record("song", "n", 1, NOW, json!({ "schema": 99, "far": { "future": 1 } }));
    let mut mine =
        Plain::default().with("a", good[..30].to_owned()).with("d", "{".into()).with("t", stores::trial(&mut Random::new(1), "t", "a"));
    let mut theirs = mine.clone().with("a", good.clone()).with("n", newer.clone()).with("x", "not a record".into()).with("d", "{{".into());
    theirs.force.insert("t".into(), vec![9]);
    let plan = mine.merge(&theirs);
    assert_eq!(plan.fates["a"], Fate::Newer { proven: false });
    assert_eq!(plan.fates["d"], Fate::Conflict);
    assert_eq!(Summary::of("a", &mine.records["a"]).title, "Invented Larch");
    assert_eq!((&mine.records["n"], mine.records["x"].as_str(), mine.records["d"].as_str()), (&newer, "not a record", "{"));
    assert_eq!(mine.force["t"], [9], "force that was missing here came along");
    let texts: Vec<String> = mine.beside().iter().map(|b| b["text"].as_str().unwrap().to_owned()).collect();
    assert!(texts.contains(&good[..30].to_owned()) && texts.contains(&"{{".to_owned()), "{texts:?}");
    // A readable record is not given up for a damaged one.
    let mut mine = Plain::default().with("a", good.clone());
    mine.merge(&Plain::default().with("a", good[..30].to_owned()));
    assert_eq!(Summary::of("a", &mine.records["a"]).title, "Invented Larch");
}

/// Random steps on three stores. After every merge: whatever was in either store is still there, live, beside, or as a
/// known ancestor of what is live; what only this store had is untouched; merging again changes nothing.
#[test]
fn random_steps_lose_nothing() {
    let mut counts: BTreeMap<Fate, usize> = BTreeMap::new();
    for seed in 0..120 {
        let mut random = Random::new(seed);
        let mut stores = vec![Plain::default(); 3];
        let mut serial = 0;
        for _ in 0..60 {
            let pick = |random: &mut Random, n: usize| (random.bits() % n as u64) as usize;
            let own = pick(&mut random, 3);
            let key = format!("k{}", pick(&mut random, 5));
            serial += 1;
            let at = format!("2026-03-01T00:{:02}:{:02}Z", serial / 60, serial % 60);
            match pick(&mut random, 10) {
                0..=4 => {
                    let store = &mut stores[own];
                    let text = match store.records.get(&key) {
                        None => record("song", &key, 1, &at, json!({ "verse": serial, "athlete_id": "k0" })),
                        Some(old) if serde_json::from_str::<Value>(old).is_err() => continue,
                        Some(old) => saved(old, "verse", json!(pick(&mut random, 40)), &at),
                    };
                    store.records.insert(key.clone(), text);
                    store.force.entry(key).or_insert_with(|| vec![serial as u8]);
                }
                5 => {
                    // A save by a version that knows nothing of `was`.
                    if let Some(Ok(mut all)) = stores[own].records.get(&key).map(|t| serde_json::from_str::<Value>(t)) {
                        all["verse"] = serial.into();
                        all["rev"] = (all["rev"].as_u64().unwrap() + 1).into();
                        all["updated"] = at.into();
                        all.as_object_mut().unwrap().remove("was");
                        stores[own].records.insert(key, all.to_string());
                    }
                }
                6 if pick(&mut random, 4) == 0 => {
                    if let Some(text) = stores[own].records.get_mut(&key) {
                        let cut = pick(&mut random, text.len());
                        text.truncate(cut);
                    }
                }
                _ => {
                    let theirs = stores[(own + 1 + pick(&mut random, 2)) % 3].clone();
                    let before = stores[own].clone();
                    let plan = before.plan(&theirs);
                    assert_eq!(plan, before.plan(&theirs));
                    for fate in plan.fates.values() {
                        *counts.entry(*fate).or_default() += 1;
                    }
                    let mut choices = plan.choices();
                    for key in plan.fates.keys() {
                        match random.bits() % 6 {
                            // A record that cannot be read cannot remember that it was preferred.
                            0 if before.records.get(key).is_some_and(|t| Summary::of(key, t).readable) => {
                                choices.versions.insert(key.clone(), Choice::Mine);
                            }
                            1 => drop(choices.versions.insert(key.clone(), Choice::Theirs)),
                            _ => {}
                        }
                    }
                    let mut after = before.clone();
                    after.carry_out(&theirs, &plan, &choices);
                    nothing_lost(&before, &theirs, &after);
                    let mut again = after.clone();
                    let second = again.plan(&theirs);
                    let usual = second.choices();
                    again.carry_out(&theirs, &second, &usual);
                    assert_eq!(again.live(), after.live(), "seed {seed}");
                    assert_eq!(again.records.len(), after.records.len(), "seed {seed}");
                    stores[own] = after;
                }
            }
        }
    }
    println!("{counts:?}");
    for fate in [Fate::New, Fate::Same, Fate::Newer { proven: true }, Fate::Older { proven: true }, Fate::Conflict] {
        assert!(counts.get(&fate).is_some_and(|n| *n > 100), "{fate:?} hardly ever came up");
    }
}

fn nothing_lost(before: &Plain, theirs: &Plain, after: &Plain) {
    let mut kept: BTreeSet<(String, Mark)> = BTreeSet::new();
    for (key, text) in &after.records {
        let summary = Summary::of(key, text);
        kept.insert((key.clone(), summary.content));
        kept.extend(summary.was.iter().map(|mark| (key.clone(), *mark)).filter(|_| summary.was.len() < 24));
    }
    // What is only known as an ancestor must have been proven one before, or be beside in full.
    let inner = |b: &Value| (b["of"].as_str().unwrap().to_owned(), Summary::of("", b["text"].as_str().unwrap()).content);
    let beside: BTreeSet<(String, Mark)> = after.beside().iter().map(inner).collect();
    for (key, text) in before.records.iter().chain(&theirs.records) {
        let summary = Summary::of(key, text);
        let live = Summary::of(key, &after.records[key]);
        let ancestor = |store: &Plain| store.records.get(key).is_some_and(|t| Summary::of(key, t).was.contains(&summary.content));
        let safe =
            live.content == summary.content || beside.contains(&(key.clone(), summary.content)) || ancestor(before) || ancestor(theirs);
        assert!(safe, "{key}: {text}\nbecame {}", after.records[key]);
        let own = (key.clone(), summary.content);
        assert!(kept.contains(&own) || beside.contains(&own) || live.was.len() >= 24);
    }
    for (key, text) in before.records.iter().filter(|(key, _)| !theirs.records.contains_key(*key)) {
        assert_eq!(&after.records[key], text);
    }
    let forces: BTreeSet<&Vec<u8>> = after.force.values().collect();
    assert!(before.force.keys().chain(theirs.force.keys()).all(|key| after.force.contains_key(key)));
    for (key, force) in &before.force {
        let gave_way = Summary::of(key, &before.records[key]).content != Summary::of(key, &after.records[key]).content;
        let proven =
            theirs.records.get(key).is_some_and(|t| Summary::of(key, t).was.contains(&Summary::of(key, &before.records[key]).content));
        assert!(!gave_way || proven || forces.contains(force));
    }
}
