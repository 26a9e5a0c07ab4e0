//! The generator's own proof: the force it writes, summed up by a plain fine trapezoid, gives the motion it claims; nobody
//! pulls on a plate; flights are ballistic. Source of truth: Newton's second law.
use tarsal::answer::{TestKind, Verdict, analyze};
use tarsal::invented::kinds::any::Kind;
use tarsal::invented::kinds::drop::Drop;
use tarsal::invented::kinds::not_a_trial::{NotATrial, hop_before_the_jump};
use tarsal::invented::kinds::rebounds::{Bounce, Rebounds};
use tarsal::invented::kinds::squat_jump::SquatJump;
use tarsal::invented::{Columns, G, Plates, Random, Scene, contact_truths, demo_files, truths};

/// Largest difference between the velocity summed up from force and the one claimed, over a stretch fully on the plate.
fn newton(scene: &Scene, from: f64, to: f64) -> f64 {
    let n = ((to - from) * 8000.0).ceil() as usize;
    let dt = (to - from) / n as f64;
    let net = |i: usize| scene.force_n(from + dt * i as f64 - if i == n { 1e-9 } else { 0.0 }) / scene.mass_kg - G;
    let (mut v, mut worst) = (scene.at(from)[1], 0.0_f64);
    for i in 1..=n {
        v += 0.5 * (net(i - 1) + net(i)) * dt;
        worst = worst.max((v - scene.at(from + dt * i as f64)[1]).abs());
    }
    worst
}

fn moves(kind: Kind) -> bool {
    !matches!(kind, Kind::Isometric | Kind::NotATrial(_))
}

#[test]
fn every_kind_obeys_newton() {
    let mut random = Random::new(5);
    for kind in Kind::TRIALS {
        for _ in 0..12 {
            let scene = kind.scene(&mut random);
            assert!(scene.test.is_some() && scene.mass_kg > 40.0 && scene.end_s() > 2.0, "{kind:?}");
            let n = (scene.end_s() * 500.0) as usize;
            let least = (0..n).map(|i| scene.force_n(i as f64 / 500.0)).fold(f64::MAX, f64::min);
            assert!(least >= -1e-9, "{kind:?}: somebody pulls at the plate with {least} N");
            for (name, t) in &scene.events {
                assert!(*t >= 0.0 && *t <= scene.end_s(), "{kind:?}: {name} at {t}");
            }
            for (id, value) in truths(&scene) {
                assert!(value.is_finite(), "{kind:?}: {id}");
            }
            // On the plate: between the flights.
            let mut from = 0.0;
            if moves(kind) && scene.support.is_empty() {
                for (a, b) in scene.air.iter().chain([&(scene.end_s(), 0.0)]) {
                    if a - from > 1e-3 {
                        let off = newton(&scene, from, *a);
                        assert!(off < 2e-4, "{kind:?}: {off} m/s between {from} and {a}");
                    }
                    from = *b;
                }
            }
            // In the air: gravity alone (a box bears before the fall, so only from the last instant of rest).
            for (a, b) in scene.air.iter().filter(|(a, _)| scene.at(*a)[1] > 0.1) {
                let ([_, v0, s0], [_, v1, s1]) = (scene.at(*a), scene.at(*b));
                assert!((0.5 * (v1 * v1 - v0 * v0) + G * (s1 - s0)).abs() < 1e-9, "{kind:?}");
            }
        }
    }
}

#[test]
fn what_is_wished_is_what_happens() {
    let value = |scene: &Scene, id: &str| truths(scene).iter().find(|(i, _)| *i == id).map_or(f64::NAN, |(_, v)| *v);
    let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a}, wished {b}");

    let squat = SquatJump { dip_m: 0.03, ..SquatJump::default() }.scene().expect("exists");
    close(value(&squat, "jump_height"), 0.28);
    close(squat.at(squat.event("held_squat"))[2], -0.32);
    close(squat.at(squat.event("movement_start"))[2], -0.35);
    close(value(&squat, "take_off_displacement"), 0.11);

    let drop = Drop::default().scene().expect("exists");
    close(value(&drop, "drop_height"), 0.29);
    close(value(&drop, "contact_time"), 0.20);
    close(value(&drop, "jump_height"), 0.30);
    close(value(&drop, "reactive_strength_index"), 1.5);
    close(drop.at(drop.event("lowest_point"))[1], 0.0);

    let bounces = vec![Bounce { contact_s: 0.2, height_m: 0.25 }, Bounce { contact_s: 0.21, height_m: 0.27 }];
    let set = Rebounds { bounces: bounces.clone(), ..Rebounds::default() }.scene().expect("exists");
    let found = contact_truths(&set);
    assert_eq!((found.len(), set.test), (2, Some(TestKind::ReboundJumps)));
    for (found, wished) in found.iter().zip(&bounces) {
        close(found[0], wished.contact_s);
        close(found[2], wished.height_m);
    }
    assert!(hop_before_the_jump(72.0, 0.05, 0.3).is_some());
}

#[test]
fn what_is_no_trial_claims_none() {
    let mut random = Random::new(9);
    for what in NotATrial::ALL {
        let scene = what.scene(70.0, &mut random);
        assert!(scene.test.is_none() && truths(&scene).is_empty());
        // Whatever it is, on the plates nobody weighs more than twice a person.
        let most = (0..4000).map(|i| scene.force_n(scene.end_s() * f64::from(i) / 4000.0)).fold(0.0, f64::max);
        assert!(most < 2.0 * 70.0 * G, "{what:?}: {most}");
        assert_eq!(most == 0.0, what == NotATrial::Empty, "{what:?}");
    }
}

#[test]
fn a_recordings_faults_are_the_ones_asked_for() {
    let scene = Drop::default().scene().expect("exists");
    let plain = Plates::default().record(&scene);
    let faulty = Plates { gain: [1.02, 1.0], clamped: true, ceiling_n: 900.0, swapped: true, ..Plates::default() }.record(&scene);
    let at = (1000.0 * (scene.event("landing_end") + 2.0)) as usize;
    assert!((faulty[1][at] / plain[0][at] - 1.02).abs() < 1e-12 && faulty[0][at] == plain[1][at]);
    assert_eq!(faulty[0].iter().copied().fold(0.0, f64::max), 900.0);
    let one = Plates { columns: Columns::Total, gaps: vec![(1.0, 1.1)], ..Plates::default() }.csv(&scene);
    assert_eq!(one.lines().count(), plain[0].len() + 1 - 100);
    assert_eq!(one.lines().next(), Some("time_s,force_N"));
}

#[test]
fn the_demo_squad_is_read_as_it_was_made() {
    let files = demo_files();
    assert!(files.len() <= 60 && files.iter().all(|f| f.name.starts_with("invented-") && f.athlete.starts_with("Invented ")));
    let mut names: Vec<&str> = files.iter().map(|f| f.name.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), files.len());
    for file in &files {
        let answer = analyze(&file.name, file.text.as_bytes(), &file.options).answer;
        let [trial] = answer.trials.as_slice() else { panic!("{}: {} trials, {:?}", file.name, answer.trials.len(), answer.left_out) };
        assert_eq!(trial.test, file.test, "{}", file.name);
        let faulty = file.name == "invented-cedar-countermovement-2.csv";
        assert_eq!(trial.verdict != Verdict::Sound, faulty, "{}: {:?}", file.name, trial.notices);
    }
    // Every kind of test is in it.
    let mut kinds: Vec<TestKind> = files.iter().map(|f| f.test).collect();
    kinds.sort_unstable();
    kinds.dedup();
    assert_eq!(kinds.len(), 8, "{kinds:?}");
}
