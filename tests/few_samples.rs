//! Below 200 samples a second the sampling interval is a large part of every time (methods §1.7): `value ± 2u` must hold the
//! truth there, too. Truth is closed-form motion.
use std::collections::BTreeMap;
use tarsal::answer::{FileAnswer, Options, TestKind, Trial, analyze_recording};
use tarsal::invented::kinds::any::Kind;
use tarsal::invented::{Jump, Plates, Random, Scene, contact_truths, truths};

fn read(scene: &Scene, plates: &Plates) -> Option<Trial> {
    let empty = FileAnswer { file: "x".into(), sha256: String::new(), error: None, recording: None, left_out: vec![], trials: vec![] };
    let mut trials = analyze_recording(empty, &plates.recording(scene), &Options::default()).answer.trials;
    (trials.len() == 1).then(|| trials.remove(0))
}

/// Errors and 2u by figure.
type Found = BTreeMap<&'static str, Vec<(f64, f64)>>;

fn note(found: &mut Found, trial: &Trial, id: &'static str, truth: f64) {
    let figure = trial.figures.get(id);
    if let Some((value, u)) = figure.and_then(|f| Some((f.value?, f.u?))) {
        found.entry(id).or_default().push(((value - truth).abs(), 2.0 * u));
    }
}

#[test]
fn the_uncertainty_is_true_at_few_samples_a_second() {
    let mut bad = Vec::new();
    for rate_hz in [80.0, 100.0, 125.0, 160.0] {
        let mut random = Random::new(rate_hz as u64);
        let mut found = Found::new();
        for k in 0..240 {
            let plates = Plates { rate_hz, noise_n: random.between(0.3, 1.5), step_n: 0.1, seed: random.bits(), ..Plates::default() };
            let scene = if k % 2 == 0 {
                Jump::random(&mut random).scene().expect("random() keeps only jumps that exist").sway(&mut random, 0.01)
            } else {
                Kind::Hops.scene(&mut random)
            };
            let Some(trial) = read(&scene, &plates) else { continue };
            if trial.test == TestKind::CountermovementJump {
                let wanted = ["jump_height", "flight_time", "propulsion_duration", "braking_duration", "countermovement_depth"];
                for (id, truth) in truths(&scene).into_iter().filter(|(id, _)| wanted.contains(id)) {
                    note(&mut found, &trial, id, truth);
                }
            } else if trial.test == TestKind::ReboundJumps {
                let counted: Vec<[f64; 4]> =
                    trial.contacts.iter().zip(contact_truths(&scene)).filter(|(c, _)| c.counted).map(|(_, t)| t).collect();
                let mean = |of: &dyn Fn(&[f64; 4]) -> f64| counted.iter().map(of).sum::<f64>() / counted.len() as f64;
                note(&mut found, &trial, "mean_contact_time", mean(&|c| c[0]));
                note(&mut found, &trial, "mean_flight_time", mean(&|c| c[1]));
                note(&mut found, &trial, "mean_reactive_strength_index", mean(&|c| 9.806_65 * c[1] * c[1] / 8.0 / c[0]));
            }
        }
        for (id, pairs) in &found {
            let covered = 100.0 * pairs.iter().filter(|(e, two_u)| e <= two_u).count() as f64 / pairs.len() as f64;
            let middle = |of: &dyn Fn(&(f64, f64)) -> f64| {
                let mut all: Vec<f64> = pairs.iter().map(of).collect();
                all.sort_by(f64::total_cmp);
                all[all.len() / 2]
            };
            let (error, two_u) = (middle(&|p| p.0), middle(&|p| p.1));
            println!("{rate_hz:>4} Hz {id:30} {covered:>5.1} % of {:>3}, median error {error:.6}, median 2u {two_u:.6}", pairs.len());
            // 90 of 100, less two binomial standard errors of 120.
            if covered < 85.0 || pairs.len() < 80 {
                bad.push(format!("{rate_hz} Hz {id}: {covered:.1} % of {}", pairs.len()));
            }
        }
        assert!(found.len() >= 8, "{:?}", found.keys());
    }
    assert!(bad.is_empty(), "{bad:#?}");
}
