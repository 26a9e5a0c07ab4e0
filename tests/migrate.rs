//! Older records come up to this build's form, whatever happens on the way.
mod fixture;
mod stores;

use serde_json::{Value, json};
use std::collections::BTreeMap;
use stores::record;
use tarsal::invented::Random;
use tarsal::records::moving::merge::{Fate, Summary, follow, plan};
use tarsal::records::moving::migrate::{FORMS, Fields, Forms, Next, Step, Upgrade, next, upgrade};
use tarsal::records::{decode, decode_trial};

/// Invented forms: 2 calls `verse` `line`, 3 makes a record of each singer.
fn to_two(_: &str, fields: &mut Fields) -> Result<Vec<Fields>, String> {
    let verse = fields.remove("verse").ok_or("it has no verse")?;
    fields.insert("line".into(), verse);
    Ok(Vec::new())
}

fn to_three(kind: &str, fields: &mut Fields) -> Result<Vec<Fields>, String> {
    let Some(Value::String(name)) = fields.remove("singer") else { return Ok(Vec::new()) };
    let id = format!("singer-{}", name.to_lowercase());
    fields.insert("singer_id".into(), id.as_str().into());
    let text = record("singer", &id, 1, "2026-01-01T00:00:00Z", json!({ "name": name, "from": kind }));
    Ok(serde_json::from_str(&text).into_iter().collect())
}

const STEPS: [Step; 2] = [Step { from: 1, change: to_two }, Step { from: 2, change: to_three }];
const THREE: Forms<'static> = Forms { schema: 3, kinds: &["song", "singer"], steps: &STEPS };
const TWO: Forms<'static> = Forms { schema: 2, kinds: &["song"], steps: &STEPS };

fn song(id: &str, verse: &str) -> String {
    record("song", id, 4, "2026-01-01T00:00:00Z", json!({ "verse": verse, "singer": "Invented", "shoe": { "size": [43.5, null] } }))
}

fn changed(text: &str, forms: &Forms<'_>) -> (String, BTreeMap<String, String>) {
    match upgrade(text, forms) {
        Upgrade::Changed { text, made } => (text, made),
        other => panic!("{other:?}"),
    }
}

#[test]
fn steps_follow_one_another_and_unknown_fields_stay() {
    let (text, made) = changed(&song("a", "la"), &THREE);
    let all: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(
        (&all["schema"], &all["line"], &all["singer_id"], &all["rev"]),
        (&json!(3), &json!("la"), &json!("singer-invented"), &json!(4))
    );
    assert_eq!((&all["shoe"], all.get("verse")), (&json!({ "size": [43.5, null] }), None));
    assert_eq!(made.keys().collect::<Vec<_>>(), ["singer-invented"]);
    assert_eq!(upgrade(&text, &THREE), Upgrade::Current);
    // In two builds, one step each, or in one: the same.
    assert_eq!(changed(&changed(&song("a", "la"), &TWO).0, &THREE).0, text);
}

#[test]
fn newer_unknown_and_damaged_records_are_told_and_left() {
    let newer = record("song", "n", 1, "2031-01-01T00:00:00Z", json!({ "schema": 4 }));
    assert_eq!(upgrade(&newer, &THREE), Upgrade::Newer { made_by: "tarsal 0.1.0".into() });
    let unknown = record("dance", "d", 1, "2026-01-01T00:00:00Z", json!({}));
    assert_eq!(upgrade(&unknown, &THREE), Upgrade::Unknown { kind: "dance".into() });
    let refused = record("song", "r", 1, "2026-01-01T00:00:00Z", json!({}));
    assert_eq!(upgrade(&refused, &THREE), Upgrade::Damaged { why: "it has no verse".into() });
    let ancient = record("song", "o", 1, "2026-01-01T00:00:00Z", json!({ "schema": 0 }));
    assert!(matches!(upgrade(&ancient, &THREE), Upgrade::Damaged { why } if why.contains("form 0")));
    for (text, does) in
        [(newer, "nothing"), (unknown, "nothing"), (refused, "aside"), (ancient, "aside"), (song("a", "la")[..50].into(), "aside")]
    {
        match next(Some(&text), None, &THREE) {
            Next::Nothing => assert_eq!(does, "nothing"),
            Next::SetAside { why } => assert!(does == "aside" && !why.is_empty()),
            other => panic!("{other:?}"),
        }
    }
    let rename_key = |_: &str, fields: &mut Fields| {
        fields.insert("id".into(), "other".into());
        Ok(Vec::new())
    };
    let forms = Forms { schema: 2, kinds: &["song"], steps: &[Step { from: 1, change: rename_key }] };
    assert!(matches!(upgrade(&song("a", "la"), &forms), Upgrade::Damaged { .. }));
}

#[derive(Debug, Clone, PartialEq, Default)]
struct World {
    records: BTreeMap<String, String>,
    copies: BTreeMap<String, String>,
}

/// Does one thing; false where nothing is left to do.
fn go_on(world: &mut World, keys: &[String]) -> bool {
    for key in keys {
        match next(world.records.get(key).map(String::as_str), world.copies.get(key).map(String::as_str), &THREE) {
            Next::Nothing | Next::SetAside { .. } => continue,
            Next::Copy => drop(world.copies.insert(key.clone(), world.records[key].clone())),
            Next::Swap { text, made } => {
                world.records.insert(key.clone(), text);
                for (key, text) in made {
                    world.records.entry(key).or_insert(text);
                }
            }
            Next::Clean => drop(world.copies.remove(key)),
        }
        return true;
    }
    false
}

/// Stopped after any number of transactions, with the reader saving, erasing or the disk spoiling a record in between:
/// at every moment the record or its copy is whole, and in the end everything is in the new form and no copy is left.
#[test]
fn a_migration_stopped_anywhere_goes_on() {
    for seed in 0..400 {
        let mut random = Random::new(seed);
        let mut world = World::default();
        for i in 0..6 {
            world.records.insert(format!("s{i}"), song(&format!("s{i}"), &format!("verse {i}")));
        }
        world.records.insert("far".into(), record("song", "far", 1, "2031-01-01T00:00:00Z", json!({ "schema": 9 })));
        world.records.insert("torn".into(), "{\"schema\":1".into());
        let first = world.clone();
        let keys: Vec<String> = first.records.keys().cloned().collect();
        let (mut erased, mut spoiled) = (None, false);
        for step in 0..200 {
            // The browser is killed and the world read again: asking is all that goes on.
            if !go_on(&mut world, &keys) {
                break;
            }
            let key = format!("s{}", random.bits() % 6);
            match random.bits() % 12 {
                0 if step < 20 => {
                    if let Some(Ok(mut all)) = world.records.get(&key).map(|t| serde_json::from_str::<Value>(t)) {
                        all["shoe"] = json!(step);
                        all["rev"] = (all["rev"].as_u64().unwrap() + 1).into();
                        world.records.insert(key, all.to_string());
                    }
                }
                1 if erased.is_none() => {
                    world.records.remove(&key);
                    erased = Some(key);
                }
                2 if !spoiled && world.copies.contains_key(&key) && world.records.contains_key(&key) => {
                    world.records.insert(key, "{\"sch".into());
                    spoiled = true;
                }
                _ => {}
            }
            for key in first.records.keys().filter(|key| key.starts_with('s') && erased.as_ref() != Some(*key)) {
                let whole = |text: Option<&String>| text.is_some_and(|t| serde_json::from_str::<Value>(t).is_ok());
                assert!(whole(world.records.get(key)) || whole(world.copies.get(key)), "seed {seed}: {key}");
            }
        }
        assert!(!go_on(&mut world, &keys) && world.copies.is_empty(), "seed {seed}: {world:?}");
        for (key, text) in &first.records {
            let Some(now) = world.records.get(key) else {
                assert_eq!(erased.as_ref(), Some(key));
                continue;
            };
            if let Some(number) = key.strip_prefix('s') {
                let all: Value = serde_json::from_str(now).unwrap();
                assert_eq!((&all["schema"], &all["line"]), (&json!(3), &json!(format!("verse {number}"))));
                assert!(world.records.contains_key("singer-invented"));
            } else {
                assert_eq!(now, text, "what cannot be opened is untouched");
            }
        }
    }
}

#[test]
fn devices_that_changed_form_at_different_times_still_know_each_other() {
    let first = song("a", "la");
    // One device: up to the new form, then saved again. The other: saved in the old form, then up.
    let here = changed(&first, &THREE).0;
    let mut later: Value = serde_json::from_str(&first).unwrap();
    later["verse"] = "lo".into();
    later["rev"] = 5.into();
    let there = changed(&follow(&later.to_string(), &first), &THREE).0;
    let fate = |mine: &str, theirs: &str| {
        let one = |text: &str| BTreeMap::from([("a".to_owned(), Summary::of("a", text))]);
        plan(&one(mine), &one(theirs)).fates["a"]
    };
    assert_eq!(fate(&here, &there), Fate::Newer { proven: true });
    assert_eq!(fate(&there, &here), Fate::Older { proven: true });
    assert_eq!(fate(&here, &changed(&first, &THREE).0), Fate::Same);
    // After a save in the new form, what it was in the old one is its past.
    let mut newest: Value = serde_json::from_str(&there).unwrap();
    newest["line"] = "lu".into();
    newest["rev"] = 6.into();
    let newest = follow(&newest.to_string(), &there);
    assert_eq!((fate(&here, &newest), fate(&there, &newest)), (Fate::Newer { proven: true }, Fate::Newer { proven: true }));
    assert!(!newest.contains("was_form"));
}

#[test]
fn this_builds_own_step_agrees_with_how_the_page_opens_old_trials() {
    for name in [Some("  Invented Rowan "), Some(" "), None] {
        let mut all: Value = serde_json::from_str(&fixture::saved().to_text()).unwrap();
        let fields = all.as_object_mut().unwrap();
        for new in ["athlete_id", "session_id", "protocol", "protocol_key"] {
            fields.remove(new);
        }
        fields.insert("schema".into(), 1.into());
        fields.insert("athlete".into(), json!(name));
        fields.insert("shoe".into(), "kept".into());
        let old = all.to_string();
        let (text, made) = changed(&old, &FORMS);
        let (mut stepped, opened) = (decode_trial(&text).unwrap(), decode_trial(&old).unwrap());
        assert_eq!(stepped.other.shift_remove("was_form").map(|m| m.as_array().map(Vec::len)), Some(Some(1)));
        assert_eq!(stepped.protocol_key, opened.protocol_key);
        if name.is_some_and(|name| !name.trim().is_empty()) {
            assert_eq!(stepped, opened);
            let key = stepped.athlete_id.unwrap();
            assert_eq!(decode(&made[&key]).unwrap().id(), key);
        } else {
            // Nobody's trial stays nobody's.
            assert!(made.is_empty() && stepped.athlete_id.is_none());
        }
    }
}
