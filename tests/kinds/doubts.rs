//! Doubts of each kind, what the reader may say about a trial, a long mixed recording, and relations printed in the
//! literature.
use crate::read;
use tarsal::answer::{Analysis, FileAnswer, Options, Side, TestKind, Trial, Verdict, analyze_recording};
use tarsal::invented::kinds::any::Kind;
use tarsal::invented::kinds::drop::Drop;
use tarsal::invented::kinds::isometric::Isometric;
use tarsal::invented::kinds::not_a_trial::NotATrial;
use tarsal::invented::kinds::rebounds::{Bounce, Rebounds};
use tarsal::invented::kinds::squat_jump::SquatJump;
use tarsal::invented::{Jump, Plates, Random, Scene, Spike, Sway};
use tarsal::movement::kinds::rebound_jumps::{bosco_mean_power, dalleau_stiffness};

const G: f64 = 9.806_65;

fn plates() -> Plates {
    Plates { noise_n: 0.5, seed: 3, ..Plates::default() }
}

fn one(scene: Option<Scene>, options: &Options) -> Trial {
    let found = read(&scene.expect("such a scene exists"), &plates(), options).answer;
    match found.trials.as_slice() {
        [trial] => trial.clone(),
        other => panic!("{} trials, {:?}", other.len(), found.left_out),
    }
}

fn says<'a>(trial: &'a Trial, code: &str) -> Option<&'a str> {
    trial.notices.iter().find(|n| n.code == code).map(|n| n.message.as_str())
}

#[test]
fn a_dip_in_a_squat_jump_is_told_with_its_size() {
    let plain = one(SquatJump::default().scene(), &Options::default());
    assert_eq!((plain.test, says(&plain, "hidden_dip")), (TestKind::SquatJump, None));
    for dip_m in [0.02, 0.04] {
        let trial = one(SquatJump { dip_m, ..SquatJump::default() }.scene(), &Options::default());
        assert_eq!(trial.test, TestKind::SquatJump);
        let said = says(&trial, "hidden_dip").unwrap_or_else(|| panic!("{dip_m}: {:?}", trial.notices));
        let cm: f64 = said.split("by ").nth(1).and_then(|s| s.split(' ').next()).and_then(|s| s.parse().ok()).expect("a size");
        assert!((cm / 100.0 - dip_m).abs() < 0.006, "{said}, true {dip_m}");
    }
    assert_eq!(says(&one(SquatJump { dip_m: 0.005, ..SquatJump::default() }.scene(), &Options::default()), "hidden_dip"), None);
}

#[test]
fn drops_say_what_was_wrong_with_them() {
    let with_box = Options { box_m: Some(0.30), ..Options::default() };
    let plain = one(Drop::default().scene(), &with_box);
    assert_eq!(plain.test, TestKind::DropJump);
    for code in ["impact_spike", "slow_contact", "off_the_box", "drop_readings_apart", "drop_from_box"] {
        assert_eq!(says(&plain, code), None, "{code}");
    }
    let drop = plain.drop.as_ref().expect("a drop");
    assert_eq!((drop.method.as_str(), drop.box_m), ("combined", Some(0.30)));
    assert!(drop.touchdown_velocity.value < -2.0 && drop.backward.is_some() && drop.from_flight.is_some());
    assert_eq!(plain.height_source.as_deref(), Some("take_off_velocity"));

    let spike = Some(Spike { height: 0.9, rise_s: 0.012, fall_s: 0.016 });
    assert!(says(&one(Drop { spike, ..Drop::default() }.scene(), &with_box), "impact_spike").is_some());
    assert!(says(&one(Drop { contact_s: 0.32, ..Drop::default() }.scene(), &with_box), "slow_contact").is_some());
    let down = one(Drop { drop_m: 0.22, ..Drop::default() }.scene(), &with_box);
    assert!(says(&down, "off_the_box").expect("told").contains("step down"));
    let up = one(Drop { drop_m: 0.38, ..Drop::default() }.scene(), &with_box);
    assert!(says(&up, "off_the_box").expect("told").contains("jump up"));
}

#[test]
fn a_drop_is_read_from_what_there_is() {
    let known = Options { mass_kg: Some(72.0), box_m: Some(0.30), ..Options::default() };
    // Half a second after the landing: nothing to integrate backwards from.
    let short = one(Drop { after_s: 0.0, ..Drop::default() }.scene(), &known);
    let drop = short.drop.as_ref().expect("a drop");
    assert_eq!((drop.method.as_str(), drop.backward), ("from_flight", None));
    assert_eq!(short.weighing.as_ref().map(|w| w.source.as_str()), Some("as typed in"));
    let found = short.figures["drop_height"].value.expect("given");
    assert!((found - 0.29).abs() <= 2.0 * short.figures["drop_height"].u.expect("given"), "{found}");
    assert!(says(&short, "landing_cut_short").is_some());
    // It ends in the air: only the box is left.
    let air = one(Drop { after_s: -1.0, ..Drop::default() }.scene(), &known);
    assert_eq!(air.drop.as_ref().map(|d| d.method.as_str()), Some("box"));
    assert!(says(&air, "drop_from_box").is_some() && air.figures["flight_time"].value.is_none());
    // No weight from anywhere: times are given all the same, and nothing else.
    let times = one(Drop { after_s: 0.0, ..Drop::default() }.scene(), &Options::default());
    assert!((times.figures["contact_time"].value.expect("given") - 0.20).abs() < 0.004);
    assert!(times.figures["jump_height"].value.is_none() && says(&times, "weight_unknown").is_some());
}

#[test]
fn a_landing_that_never_settles_is_told() {
    // A held landing of four seconds, weighed before stepping up: still, and rocking by up to 16 % of weight.
    let held = Drop { rebound_m: None, stood_s: 2.0, after_s: 4.0, ..Drop::default() };
    let still = one(held.scene(), &Options::default());
    assert_eq!((still.test, says(&still, "never_settles")), (TestKind::DropLanding, None));
    assert!(still.figures["time_to_stabilisation"].value.is_some());
    let mut scene = held.scene().expect("exists");
    let (from_s, to_s) = *scene.rests.last().expect("a rest after the landing");
    scene.sway.push(Sway { from_s, to_s, size_m_s2: 0.8, turns: [4.0, 6.0] });
    let rocking = one(Some(scene.clone()), &Options::default());
    assert_eq!((rocking.test, rocking.verdict), (TestKind::DropLanding, Verdict::Doubtful));
    let said = says(&rocking, "never_settles").unwrap_or_else(|| panic!("{:?}", rocking.notices));
    assert!(said.contains("after the landing force never stays within 5 % of weight for one second"), "{said}");
    assert!(rocking.figures["time_to_stabilisation"].value.is_none() && says(&rocking, "landing_cut_short").is_none());
    // Rocking by less than that is a landing that settles.
    scene.sway.last_mut().expect("sway").size_m_s2 = 0.2;
    assert_eq!(says(&one(Some(scene), &Options::default()), "never_settles"), None);
}

#[test]
fn tucked_legs_are_told_from_the_height_they_add() {
    // Landing lower by `b` than at take-off lengthens the flight: `√(h(h + b))`-like, here simply read from the two heights.
    let jumps =
        |bent_m: f64| [Jump { bent_m, ..Jump::default() }.scene(), SquatJump { bent_m, after_s: 2.0, ..SquatJump::default() }.scene()];
    for scene in jumps(0.16) {
        let trial = one(scene, &Options::default());
        let apart = trial.figures["jump_height_flight_time"].value.expect("given") - trial.figures["jump_height"].value.expect("given");
        assert!(apart > 0.05, "{apart}");
        let said = says(&trial, "heights_apart").unwrap_or_else(|| panic!("{:?}", trial.notices));
        assert!(said.contains("legs tucked in the air, or a landing with bent legs"), "{:?}: {said}", trial.test);
        assert!(said.contains(&format!("{:.1} cm more", 100.0 * apart)), "{said}");
    }
    // A little of it is what landings usually are.
    for scene in jumps(0.07) {
        let trial = one(scene, &Options::default());
        let said = says(&trial, "heights_apart").unwrap_or_else(|| panic!("{:?}", trial.notices));
        assert!(said.contains("usually a landing with bent legs") && !said.contains("tucked"), "{said}");
    }
}

#[test]
fn pulls_say_what_was_wrong_with_them() {
    let plain = one(Some(Isometric::default().scene()), &Options::default());
    assert_eq!(plain.test, TestKind::Isometric);
    for code in ["high_pre_tension", "unsteady_pre_tension", "dip_before_pull"] {
        assert_eq!(says(&plain, code), None, "{code}: {:?}", plain.notices);
    }
    let told = |pull: Isometric, code: &str| {
        let trial = one(Some(pull.scene()), &Options::default());
        assert!(says(&trial, code).is_some(), "{code}: {:?}", trial.notices);
    };
    told(Isometric { pre_n: 90.0, ..Isometric::default() }, "high_pre_tension");
    told(Isometric { creep_n_s: 60.0, ..Isometric::default() }, "unsteady_pre_tension");
    // A countermovement is told whatever was on before it; what a large pre-tension loses unawares is not one.
    let mut missed = Vec::new();
    for pre_n in [10.0, 60.0, 120.0, 200.0, 300.0] {
        for depth_n in [40.0, 70.0, 120.0] {
            for length_s in [0.1, 0.2, 0.3] {
                let pull = Isometric { pre_n, dip: Some((depth_n, length_s)), ..Isometric::default() };
                let trial = one(Some(pull.scene()), &Options::default());
                if says(&trial, "dip_before_pull").is_none() {
                    missed.push((pre_n, depth_n, length_s));
                }
            }
        }
        let steady = one(Some(Isometric { pre_n, ..Isometric::default() }.scene()), &Options::default());
        assert_eq!(says(&steady, "dip_before_pull"), None, "{pre_n}");
    }
    assert!(missed.is_empty(), "{missed:?}");
}

#[test]
fn one_leg_is_seen_and_the_reader_has_the_last_word() {
    let mut random = Random::new(8);
    let (mut left, mut right) = (0, 0);
    for _ in 0..12 {
        let scene = Kind::OneLegJump.scene(&mut random);
        let is_right = scene.share_right(0.1) > 0.5;
        let trial = one(Some(scene), &Options::default());
        assert_eq!(trial.side, if is_right { "right" } else { "left" });
        assert!(trial.sides.is_empty() && says(&trial, "uneven_standing").is_none());
        if is_right { right += 1 } else { left += 1 }
    }
    assert!(left > 0 && right > 0);
    let jump = || Jump::default().scene();
    assert_eq!(one(jump(), &Options::default()).side, "both");
    assert_eq!(one(jump(), &Options { side: Some(Side::Left), ..Options::default() }).side, "left");
    // A load counts to the system and not to the body.
    let loaded = one(jump(), &Options { load_kg: Some(20.0), ..Options::default() });
    assert!((loaded.body_mass_kg.expect("weighed") - 52.0).abs() < 0.2 && loaded.load_kg == 20.0);
    let per_kg = loaded.figures["mean_propulsion_force_per_kg"].value.expect("given");
    assert!((per_kg * 52.0 / loaded.figures["mean_propulsion_force"].value.expect("given") - 1.0).abs() < 0.003);
}

#[test]
fn the_test_may_be_overruled_and_says_what_it_looks_like() {
    let jump = || Rebounds::default().scene();
    assert_eq!(one(jump(), &Options::default()).test, TestKind::CountermovementReboundJump);
    let asked = |test| Options { test: Some(test), ..Options::default() };
    let set = one(jump(), &asked(TestKind::ReboundJumps));
    assert_eq!((set.test, set.contacts.len()), (TestKind::ReboundJumps, 1));
    assert_eq!(set.runner_up.as_ref().map(|r| (r.test, r.margin)), Some((TestKind::CountermovementReboundJump, 0.0)));
    let first = one(jump(), &asked(TestKind::CountermovementJump));
    assert_eq!(first.test, TestKind::CountermovementJump);
    assert!((first.figures["jump_height"].value.expect("given") - 0.28).abs() < 0.006);
    let refused = read(&Jump::default().scene().expect("exists"), &plates(), &asked(TestKind::DropJump)).answer;
    assert!(refused.trials.is_empty() && refused.left_out.iter().any(|l| l.why.contains("empty plates")));
}

#[test]
fn standing_after_stepping_on_is_weighed_when_asked_for() {
    let scene = NotATrial::StepOn.scene(72.0, &mut Random::new(4));
    assert!(read(&scene, &plates(), &Options::default()).answer.trials.is_empty());
    let trial = one(Some(scene), &Options { test: Some(TestKind::QuietStanding), ..Options::default() });
    assert_eq!(trial.test, TestKind::QuietStanding);
    let weight = trial.figures["standing_weight"].value.expect("given");
    assert!((weight - 72.0 * G).abs() < 3.0, "{weight}");
}

/// Scenes one after another on the same plates.
fn joined(scenes: &[Scene]) -> Analysis {
    let plates = Plates { rate_hz: 500.0, ..plates() };
    let mut recording = plates.recording(&scenes[0]);
    for scene in &scenes[1..] {
        let next = plates.recording(scene);
        for (own, more) in recording.channels.iter_mut().zip(next.channels) {
            own.force_n.extend(more.force_n);
        }
    }
    let empty = FileAnswer { file: "x".into(), sha256: String::new(), error: None, recording: None, left_out: vec![], trials: vec![] };
    analyze_recording(empty, &recording, &Options::default())
}

#[test]
fn a_long_mixed_recording_is_cut_into_its_trials() {
    let mut random = Random::new(2);
    let mut not = |what: NotATrial| what.scene(72.0, &mut random);
    let (on, off) = (not(NotATrial::StepOn), not(NotATrial::StepOff));
    let (walk, talk, start) = (not(NotATrial::Walk), not(NotATrial::Talk), not(NotATrial::FalseStart));
    let get = |scene: Option<Scene>| scene.expect("such a scene exists");
    let bounces = vec![Bounce { contact_s: 0.19, height_m: 0.25 }; 6];
    let scenes = [
        walk.clone(),
        on.clone(),
        talk,
        get(Jump::default().scene()),
        off.clone(),
        get(Drop::default().scene()),
        get(SquatJump::default().scene()),
        start,
        off.clone(),
        get(Drop { rebound_m: None, ..Drop::default() }.scene()),
        get(Rebounds { bounces, ..Rebounds::default() }.scene()),
        off.clone(),
        on,
        Isometric::default().scene(),
        get(Rebounds::default().scene()),
        off,
        walk,
    ];
    let found = joined(&scenes);
    let names: Vec<TestKind> = found.answer.trials.iter().map(|t| t.test).collect();
    for l in &found.answer.left_out {
        println!("{:6.2}–{:6.2} {}", l.start_s, l.end_s, l.why);
    }
    let expected = [
        TestKind::CountermovementJump,
        TestKind::DropJump,
        TestKind::SquatJump,
        TestKind::DropLanding,
        TestKind::ReboundJumps,
        TestKind::Isometric,
        TestKind::CountermovementReboundJump,
    ];
    assert_eq!(names, expected);
    assert!(found.answer.left_out.len() >= 3 && found.answer.left_out.iter().all(|l| !l.why.is_empty()));
    // A saved window gives the same trial again.
    for (trial, window) in found.answer.trials.iter().zip(&found.windows) {
        assert_eq!(tarsal::answer::reread(window, &Options::default()).as_ref(), Some(trial));
        assert!(window.duration_s() < 30.0);
    }
}

/// Half a second on the plates and half a second in the air: 24.0 W/kg (Bosco, Luhtanen & Komi 1983, quoted from memory).
#[test]
fn equal_half_seconds_are_24_watts_a_kilogram() {
    for n in [1.0, 5.0, 15.0] {
        assert!((bosco_mean_power(0.5 * n, n, 0.5 * n, n, G) - 24.0).abs() < 0.05);
    }
}

/// The stiffness from times is exact for half a sine: greatest force over the sinking that it brings about, found here by
/// summing the motion step by step (Newton's second law; Dalleau et al. 2004 derive the formula so).
#[test]
fn stiffness_from_times_is_exact_for_half_a_sine() {
    for (mass, contact, flight) in [(72.0, 0.20, 0.45), (55.0, 0.15, 0.50), (90.0, 0.30, 0.30)] {
        let top = mass * G * core::f64::consts::PI / 2.0 * (flight / contact + 1.0);
        let n = 400_000;
        let dt = contact / 2.0 / f64::from(n);
        let (mut v, mut s) = (-G * flight / 2.0, 0.0);
        for i in 0..n {
            let t = (f64::from(i) + 0.5) * dt;
            let a = top * tarsal::force::math::sin(core::f64::consts::PI * t / contact) / mass - G;
            s += v * dt + 0.5 * a * dt * dt;
            v += a * dt;
        }
        assert!(v.abs() < 1e-6, "at rest in the middle: {v}");
        let exact = top / -s;
        assert!((dalleau_stiffness(mass, contact, flight) / exact - 1.0).abs() < 1e-5, "{contact} {flight}");
    }
}
