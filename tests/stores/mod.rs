//! Invented stores to back up, merge and count: records of known and unknown kinds, some damaged, some newer, with force.
#![allow(dead_code, reason = "each test binary uses what it needs")]
use serde_json::{Value, json};
use std::collections::BTreeMap;
use tarsal::invented::{Jump, Random};
use tarsal::records::moving::backup::{Item, Store};

/// A record's text with its envelope.
pub fn record(kind: &str, id: &str, rev: u64, updated: &str, body: Value) -> String {
    let mut all = json!({
        "schema": 1, "kind": kind, "id": id, "rev": rev, "made_by": "tarsal 0.1.0", "method": "1.0", "updated": updated,
    });
    if let (Some(all), Value::Object(body)) = (all.as_object_mut(), body) {
        all.extend(body);
    }
    all.to_string()
}

/// An invented day and second.
pub fn moment(random: &mut Random) -> String {
    let mut up_to = |n: u64| random.bits() % n;
    format!("2026-{:02}-{:02}T{:02}:{:02}:00Z", 1 + up_to(12), 1 + up_to(28), up_to(24), up_to(60))
}

/// Force of an invented jump as stored: little-endian floats, one plate after the other, steps of 0.1 N.
pub fn force(random: &mut Random) -> Vec<u8> {
    let (jump, truth) = loop {
        let jump = Jump { noise_n: 0.8, step_n: 0.1, seed: random.bits(), height_m: random.between(0.25, 0.35), ..Jump::default() };
        if let Some(truth) = jump.truth() {
            break (jump, truth);
        }
    };
    jump.record(&truth).iter().flatten().flat_map(|n| (*n as f32).to_le_bytes()).collect()
}

/// A trial's record with about as many figures as a real one.
pub fn trial(random: &mut Random, id: &str, athlete: &str) -> String {
    let figures: serde_json::Map<String, Value> = (0..40)
        .map(|i| (format!("figure_{i}"), json!({ "value": random.between(0.0, 2000.0), "u": random.between(0.0, 9.0), "unit": "N" })))
        .collect();
    let body = json!({
        "file": format!("{id}.csv"), "sha256": id, "added": moment(random), "athlete_id": athlete, "protocol_key": "hands=hips",
        "trial": { "test": "countermovement_jump", "verdict": "sound", "body_mass_kg": 70.0, "figures": figures },
    });
    let updated = moment(random);
    record("trial", id, 1 + random.bits() % 3, &updated, body)
}

/// A store of about `trials` trials and everything that a store can hold.
pub fn items(random: &mut Random, trials: usize) -> Vec<Item> {
    let mut records: BTreeMap<String, String> = BTreeMap::new();
    let mut forces: BTreeMap<String, Vec<u8>> = BTreeMap::new();
    for a in 0..trials.div_ceil(6) {
        let id = format!("athlete-{a:04}");
        records.insert(
            id.clone(),
            record("athlete", &id, 1, "2026-01-02T03:04:05Z", json!({ "body": { "name": format!("Invented Nº {a}") } })),
        );
    }
    for t in 0..trials {
        let id = format!("trial-{t:05}");
        records.insert(id.clone(), trial(random, &id, &format!("athlete-{:04}", t / 6)));
        // One shared shape, a few samples changed: quick to make, and no two are equal.
        let mut bytes = if t.is_multiple_of(8) { force(random) } else { forces.values().next_back().cloned().unwrap_or_default() };
        if let Some(byte) = bytes.get_mut(t * 4) {
            *byte ^= 1;
        }
        forces.insert(id, bytes);
    }
    records.insert("song ♪".into(), record("song", "song ♪", 3, "2031-01-01T00:00:00Z", json!({ "verse": ["la", 1.5, null] })));
    records.insert("newer".into(), record("trial", "newer", 9, "2031-01-01T00:00:00Z", json!({ "schema": 99, "shape": "unknown" })));
    records.insert("damaged".into(), "{\"schema\":1,\"kind\":\"trial\",\"id\":".into());
    records.insert("empty".into(), String::new());
    records.insert(String::new(), "a record under an empty key".into());
    forces.insert("odd".into(), vec![1, 2, 3, 4, 5, 6, 7]);
    forces.insert("none".into(), Vec::new());
    let record = |(key, text): (String, String)| Item { store: Store::Record, key, bytes: text.into_bytes() };
    let force = |(key, bytes)| Item { store: Store::Force, key, bytes };
    records.into_iter().map(record).chain(forces.into_iter().map(force)).collect()
}
