//! Do the figures of one trial move together as the record says? Against the identity of a ratio, against the same jump recorded
//! many times, and through the record's text.
mod fixture;

use serde_json::Value;
use tarsal::answer::{FileAnswer, Options, Trial, analyze_recording};
use tarsal::invented::{Jump, Plates, Random, Scene};
use tarsal::records::{SavedTrial, decode_trial};

fn read(scene: &Scene, plates: &Plates, options: &Options) -> Trial {
    let empty = FileAnswer { file: "x".into(), sha256: String::new(), error: None, recording: None, left_out: vec![], trials: vec![] };
    let mut trials = analyze_recording(empty, &plates.recording(scene), options).answer.trials;
    assert_eq!(trials.len(), 1);
    trials.remove(0)
}

fn jump(seed: u64, options: &Options) -> Trial {
    let mut random = Random::new(seed);
    let scene = Jump { quiet_s: 2.0, ..Jump::random(&mut random) }.scene().expect("exists").sway(&mut random, 0.008);
    read(&scene, &Plates { noise_n: 1.5, zero_n: [1.0, -2.0], step_n: 0.1, seed: random.bits(), ..Plates::default() }, options)
}

fn value(trial: &Trial, id: &str) -> (f64, f64) {
    let figure = &trial.figures[id];
    (figure.value.expect(id), figure.u.expect(id))
}

/// h/t by the law of propagation with the kept covariance is h/t as it was read again and again.
#[test]
fn a_ratio_of_two_figures_is_as_uncertain_as_the_ratio_itself() {
    let (h, t, index) = ("jump_height", "time_to_take_off", "reactive_strength_index_modified");
    for seed in 1..9 {
        let trial = jump(seed, &Options::default());
        let ((h0, _), (t0, _), (i0, _)) = (value(&trial, h), value(&trial, t), value(&trial, index));
        assert!((h0 / t0 - i0).abs() < 1e-9);
        let cov = |a, b| trial.covariance(a, b).expect("kept");
        // Slopes of h/t in h and in t.
        let (by_h, by_t) = (1.0 / t0, -h0 / (t0 * t0));
        let without = by_h * by_h * cov(h, h) + by_t * by_t * cov(t, t);
        let (from_two, own) = (without + 2.0 * by_h * by_t * cov(h, t), cov(index, index));
        // To first order: the onset moves by a good part of its own size, so a few per cent part the two.
        assert!((from_two / own - 1.0).abs() < 0.05, "seed {seed}: {from_two:e} against {own:e} ({without:e} without)");
    }
}

#[test]
fn what_is_shared_is_never_more_than_the_whole() {
    for seed in 1..9 {
        let trial = jump(seed, &Options::default());
        let shared = trial.shared.as_ref().expect("kept");
        assert_eq!((shared.form, shared.figures[0].as_str()), (1, "body_mass"));
        for id in shared.figures.iter().skip(1) {
            let (part, (_, u)) = (trial.covariance(id, id).expect("kept").sqrt(), value(&trial, id));
            assert!(part <= u * 1.002, "seed {seed}, {id}: {part} of {u}");
            let twin = format!("{id}_per_kg");
            if trial.figures.contains_key(&twin) {
                let (part, (_, u)) = (trial.covariance(&twin, &twin).expect("kept").sqrt(), value(&trial, &twin));
                assert!(part <= u * 1.002, "seed {seed}, {twin}: {part} of {u}");
            }
        }
        // 100 (R − L)/(R + L) from both sides with their covariance is as uncertain as the document says.
        for (id, side) in &trial.sides {
            let (l, r, sum) = (side.left, side.right, side.left + side.right);
            let (by_l, by_r) = (-200.0 * r / (sum * sum), 200.0 * l / (sum * sum));
            let (u_l, u_r, both) = (side.u_left.expect(id), side.u_right.expect(id), side.covariance.expect(id));
            let u = (by_l * by_l * u_l * u_l + by_r * by_r * u_r * u_r + 2.0 * by_l * by_r * both).sqrt();
            assert!((u / side.u - 1.0).abs() < 1e-9, "{id}: {u} against {}", side.u);
        }
    }
}

/// The same jump recorded sixty times with other sway and noise: errors of two figures correlate as each trial's record says.
#[test]
fn repeated_recordings_scatter_together_as_kept() {
    let pairs = [
        ("mean_propulsion_force_over_distance_per_kg", "mean_propulsion_velocity"),
        ("jump_height", "mean_propulsion_power"),
        ("take_off_velocity", "mean_propulsion_velocity"),
    ];
    let mut random = Random::new(8);
    let mut apart = Vec::new();
    for _ in 0..4 {
        let jump = Jump { quiet_s: 2.0, ..Jump::random(&mut random) };
        let trials: Vec<Trial> = (0..60)
            .map(|_| {
                let again = Jump { quiet_s: 2.0 + random.between(0.0, 0.001), ..jump.clone() };
                let scene = again.scene().expect("exists").sway(&mut random, 0.008);
                let plates = Plates { noise_n: 1.2, zero_n: [1.0, -2.0], step_n: 0.1, seed: random.bits(), ..Plates::default() };
                read(&scene, &plates, &Options::default())
            })
            .collect();
        for (a, b) in pairs {
            let mean = |of: &dyn Fn(&Trial) -> f64| trials.iter().map(of).sum::<f64>() / trials.len() as f64;
            let (ma, mb) = (mean(&|t| value(t, a).0), mean(&|t| value(t, b).0));
            let moment = |x: &str, mx: f64, y: &str, my: f64| mean(&|t| (value(t, x).0 - mx) * (value(t, y).0 - my));
            let seen = moment(a, ma, b, mb) / (moment(a, ma, a, ma) * moment(b, mb, b, mb)).sqrt();
            let kept = mean(&|t| t.covariance(a, b).expect("kept") / (value(t, a).1 * value(t, b).1));
            println!("{a} and {b}: seen {seen:.2}, kept {kept:.2}");
            apart.push((seen - kept).abs());
        }
    }
    apart.sort_by(f64::total_cmp);
    // Sixty draws know a correlation to 0.13 at most.
    assert!(apart[apart.len() / 2] < 0.15 && apart[apart.len() - 1] < 0.4, "{apart:?}");
}

#[test]
fn they_come_back_with_the_record_and_are_unknown_where_an_older_one_has_none() -> Result<(), Box<dyn std::error::Error>> {
    let saved = SavedTrial { trial: jump(3, &Options::default()), ..fixture::saved() };
    let (text, id) = (saved.to_text(), "jump_height");
    let back = decode_trial(&text)?;
    assert_eq!((&back, back.to_text()), (&saved, text.clone()));
    let bytes = serde_json::to_string(&saved.trial.shared)?.len();
    println!("{bytes} of {} bytes of the record", text.len());
    assert!(bytes * 5 < text.len());
    let mut old: Value = serde_json::from_str(&text)?;
    old["trial"].as_object_mut().ok_or("a trial")?.remove("shared");
    let old = decode_trial(&old.to_string())?;
    assert_eq!(old.trial.covariance(id, id), None);
    assert!(!old.to_text().contains("\"shared\""));
    // A form that this build does not know is kept, and says nothing.
    let mut newer = saved.clone();
    newer.trial.shared.as_mut().ok_or("kept")?.form = 9;
    assert_eq!((decode_trial(&newer.to_text())?.trial.covariance(id, id), decode_trial(&newer.to_text())?), (None, newer));
    Ok(())
}
