//! The error budget, in one command: over every sample, generated and engine-made recording, how often a trial is called
//! sound though it is wrong (never), how often a good one is refused (at most 2 %), and by how much each figure is off.
//!
//! ```text
//! cargo test --test error_budget -- --nocapture
//! ```
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use tarsal::answer::{FileAnswer, Options, TestKind, Trial, Verdict, analyze, analyze_recording};
use tarsal::invented::kinds::any::Kind;
use tarsal::invented::{Plates, Random, Scene, truths};

/// What is known of a recording's one trial.
struct Known {
    source: &'static str,
    name: String,
    test: TestKind,
    truths: Vec<(String, f64)>,
}

/// What a coach acts on, and from where on it is wrong: the project's bars for noisy recordings.
const BARS: [(&str, f64); 8] = [
    ("jump_height", 0.010),
    ("jump_height_flight_time", 0.010),
    ("rebound_jump_height", 0.010),
    ("rebound_jump_height_flight_time", 0.010),
    ("drop_height", 0.012),
    ("contact_time", 0.004),
    ("rebound_contact_time", 0.004),
    ("countermovement_depth", 0.010),
];

#[derive(Default)]
struct Budget {
    /// Source → recordings, sound, doubtful, refused.
    count: BTreeMap<&'static str, [usize; 4]>,
    /// Source and figure → errors, as a part of the truth where that is larger than 1, else plain.
    errors: BTreeMap<(&'static str, String), Vec<f64>>,
    wrong_sound: Vec<String>,
    refused: Vec<String>,
    doubted: BTreeMap<String, usize>,
}

impl Budget {
    fn add(&mut self, known: &Known, answer: &FileAnswer) {
        let count = self.count.entry(known.source).or_default();
        count[0] += 1;
        let trial = answer.trials.iter().find(|t| t.test == known.test);
        let Some(trial) = trial.filter(|t| t.verdict != Verdict::Unusable) else {
            count[3] += 1;
            let tests: Vec<TestKind> = answer.trials.iter().map(|t| t.test).collect();
            let why: Vec<&str> = answer.left_out.iter().map(|l| l.why.as_str()).collect();
            let codes = answer.trials.iter().flat_map(|t| t.notices.iter().map(|n| n.code.as_str())).collect::<Vec<_>>();
            self.refused.push(format!("{} {:?}: taken for {tests:?}, {codes:?}, {why:?}", known.name, known.test));
            // Taken for another test without a word of doubt is worse than refused.
            if let Some(other) =
                answer.trials.iter().find(|t| t.verdict == Verdict::Sound && t.runner_up.as_ref().is_none_or(|r| r.margin >= 0.2))
            {
                self.wrong_sound.push(format!("{}: {:?} read as {:?}", known.name, known.test, other.test));
            }
            return;
        };
        count[if trial.verdict == Verdict::Sound { 1 } else { 2 }] += 1;
        if trial.verdict == Verdict::Doubtful {
            for notice in &trial.notices {
                *self.doubted.entry(format!("{:?} {}", known.test, notice.code)).or_default() += 1;
            }
        }
        for (id, truth) in &known.truths {
            let Some(value) = value(trial, id) else { continue };
            let error = (value - truth).abs();
            let shown = if truth.abs() > 1.0 { error / truth.abs() } else { error };
            self.errors.entry((known.source, id.clone())).or_default().push(shown);
            // A number that says itself how unsure it is, and is, is not wrong.
            let two = trial.figures.get(id).and_then(|f| f.u).map_or(0.0, |u| 2.0 * u);
            let wrong = BARS.iter().any(|(bar, most)| bar == id && error > most.max(two));
            if wrong && trial.verdict == Verdict::Sound {
                self.wrong_sound.push(format!("{}: {id} {value}, true {truth}", known.name));
            }
        }
    }
}

fn value(trial: &Trial, id: &str) -> Option<f64> {
    if id == "system_mass" { trial.system_mass_kg.map(|m| m.value) } else { trial.figures.get(id)?.value }
}

fn empty(name: &str) -> FileAnswer {
    FileAnswer { file: name.into(), sha256: String::new(), error: None, recording: None, left_out: vec![], trials: vec![] }
}

fn options(scene: &Scene) -> Options {
    Options { load_kg: (scene.load_kg > 0.0).then_some(scene.load_kg), box_m: scene.box_m, ..Options::default() }
}

/// Every kind on ordinary plates, 200–2000 Hz.
fn generated(budget: &Mutex<Budget>) {
    std::thread::scope(|scope| {
        for part in 0..4_u64 {
            scope.spawn(move || {
                let mut random = Random::new(4000 + part);
                for kind in Kind::TRIALS {
                    for k in 0..30 {
                        let scene = kind.scene(&mut random);
                        let plates = Plates::random(&mut random);
                        let mut truths: Vec<(String, f64)> = truths(&scene).into_iter().map(|(id, v)| (id.to_string(), v)).collect();
                        truths.push(("system_mass".into(), scene.mass_kg));
                        let name = format!("{kind:?} {part}/{k} at {} Hz, noise {:.1} N", plates.rate_hz, plates.noise_n);
                        let Some(test) = scene.test else { continue };
                        let answer = analyze_recording(empty(&name), &plates.recording(&scene), &options(&scene)).answer;
                        budget.lock().expect("no panic holds it").add(&Known { source: "generated", name, test, truths }, &answer);
                    }
                }
            });
        }
    });
}

fn root(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

fn json(path: &Path) -> BTreeMap<String, Value> {
    serde_json::from_str(&std::fs::read_to_string(path).expect("committed")).expect("JSON")
}

/// The sample recordings: countermovement jumps, sometimes several a file.
fn samples(budget: &mut Budget) {
    for (name, truth) in json(&root("examples/recordings/truth.json")) {
        let bytes = std::fs::read(root("examples/recordings").join(&name)).expect("committed");
        let Some(heights) = truth["heights_m"].as_array() else { continue };
        let answer = analyze(&name, &bytes, &Options::default()).answer;
        for (k, height) in heights.iter().filter_map(Value::as_f64).enumerate() {
            let one = FileAnswer { trials: answer.trials.get(k).cloned().into_iter().collect(), ..answer.clone() };
            let truths = vec![("jump_height".to_string(), height)];
            budget.add(&Known { source: "samples", name: name.clone(), test: TestKind::CountermovementJump, truths }, &one);
        }
    }
}

/// What a physics engine made (see `tests/engine.rs`).
fn engine(budget: &mut Budget) {
    for (name, truth) in json(&root("tests/data/engine/truth.json")) {
        let bytes = std::fs::read(root("tests/data/engine").join(format!("{name}.csv"))).expect("committed");
        let answer = analyze(&name, &bytes, &Options::default()).answer;
        let flight = |k: usize, key: &str| truth["flights"][k][key].as_f64();
        let (test, jump) = match truth["kind"].as_str().expect("a kind") {
            "squat" => (TestKind::SquatJump, Some(0)),
            "drop jump" => (TestKind::DropJump, Some(1)),
            "drop landing" => (TestKind::DropLanding, None),
            "hops" => (TestKind::ReboundJumps, None),
            _ => (TestKind::CountermovementJump, Some(0)),
        };
        let mut truths = vec![("system_mass".to_string(), truth["mass_kg"].as_f64())];
        if let Some(k) = jump {
            truths.push(("jump_height".into(), flight(k, "height_m")));
            truths.push(("flight_time".into(), flight(k, "touchdown_s").zip(flight(k, "take_off_s")).map(|(a, b)| a - b)));
        }
        if test == TestKind::DropJump {
            truths.push(("contact_time".into(), flight(1, "take_off_s").zip(flight(0, "touchdown_s")).map(|(a, b)| a - b)));
        }
        truths.push(("drop_height".into(), truth["drop_m"].as_f64()));
        truths.push(("countermovement_depth".into(), truth["depth_m"].as_f64()));
        let truths = truths.into_iter().filter_map(|(id, v)| Some((id, v?))).collect();
        budget.add(&Known { source: "engine", name, test, truths }, &answer);
    }
}

#[test]
fn no_wrong_sound_and_few_wrong_refusals() {
    let budget = Mutex::new(Budget::default());
    generated(&budget);
    let mut budget = budget.into_inner().expect("no panic holds it");
    samples(&mut budget);
    engine(&mut budget);
    println!("{:12} {:>10} {:>7} {:>9} {:>8}", "source", "recordings", "sound", "doubtful", "refused");
    for (source, [all, sound, doubtful, refused]) in &budget.count {
        println!("{source:12} {all:>10} {sound:>7} {doubtful:>9} {refused:>8}");
    }
    println!("doubtful because of: {:?}", budget.doubted);
    println!("\n{:12} {:36} {:>5} {:>12} {:>12}   (parts of the truth where that is over 1)", "source", "figure", "n", "median", "worst");
    for ((source, id), errors) in &mut budget.errors {
        errors.sort_by(f64::total_cmp);
        println!("{source:12} {id:36} {:>5} {:>12.6} {:>12.6}", errors.len(), errors[errors.len() / 2], errors[errors.len() - 1]);
    }
    println!("\nrefused:\n{}", budget.refused.join("\n"));
    println!("\nwrong and called sound:\n{}", budget.wrong_sound.join("\n"));
    let all: usize = budget.count.values().map(|c| c[0]).sum();
    let refused: usize = budget.count.values().map(|c| c[3]).sum();
    assert!(all >= 1300, "{all}");
    assert!(budget.wrong_sound.is_empty(), "{:#?}", budget.wrong_sound);
    assert!(refused * 50 <= all, "{refused} of {all} refused");
}
