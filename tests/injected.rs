//! Every fault of a recording or a movement, injected in several sizes into jumps whose truth is known: how often it costs
//! the verdict, how often its cause is named, and what the height is off by where the trial is still called sound. The blind
//! cases are here too: a wrong gravity, clock or gain changes every figure alike, and nothing may claim to have seen it.
#[path = "injected/places.rs"]
mod places;
#[path = "injected/standing.rs"]
mod standing;

use std::sync::Mutex;
use tarsal::answer::{FileAnswer, Options, Trial, Verdict, analyze, analyze_recording, plates_swapped};
use tarsal::invented::kinds::not_a_trial::hop_before_the_jump;
use tarsal::invented::{G, Jump, Plates, Random, Scene, Support, Sway};

fn empty() -> FileAnswer {
    FileAnswer { file: "x".into(), sha256: String::new(), error: None, recording: None, left_out: vec![], trials: vec![] }
}

/// A jump and the plates it is recorded on, ordinary but for what a fault changes.
struct Case {
    scene: Scene,
    plates: Plates,
    options: Options,
}

fn case(random: &mut Random) -> Case {
    let jump = Jump { rate_hz: 1000.0, ..Jump::random(random) };
    let scene = jump.scene().expect("random() keeps only jumps that exist").sway(random, 0.015);
    let plates = Plates { noise_n: random.between(0.3, 1.2), zero_n: [2.0, -1.0], step_n: 0.1, seed: random.bits(), ..Plates::default() };
    Case { scene, plates, options: Options::default() }
}

fn read(case: &Case) -> Option<Trial> {
    let answer = if case.plates.gaps.is_empty() {
        analyze_recording(empty(), &case.plates.recording(&case.scene), &case.options).answer
    } else {
        analyze("x.csv", case.plates.csv(&case.scene).as_bytes(), &case.options).answer
    };
    // The trial that holds the jump; where there is none, nobody is told a wrong number.
    let jump = case.scene.event("take_off") / case.plates.clock;
    answer.trials.into_iter().find(|t| t.events.get("take_off").is_none_or(|at| (at - jump).abs() < 0.2))
}

/// What is injected, in one size.
struct Fault {
    name: &'static str,
    size: f64,
    /// Codes any of which names it.
    codes: &'static [&'static str],
    /// Least part of trials that must lose the verdict; of those, least part that must name it.
    least: (f64, f64),
    inject: fn(&mut Case, f64),
}

/// Where the jump stands in its scene.
fn at(case: &Case, name: &str) -> f64 {
    case.scene.event(name)
}

fn faults() -> Vec<Fault> {
    let mut out = Vec::new();
    let mut add = |name, codes, inject: fn(&mut Case, f64), sizes: &[(f64, f64, f64)]| {
        for (size, doubted, named) in sizes {
            out.push(Fault { name, size: *size, codes, least: (*doubted, *named), inject });
        }
    };
    let any = 0.0;
    add("zero error, N a plate", &["zero_level"], |c, s| c.plates.zero_n = [s, s], &[(10.0, any, any), (40.0, any, any)]);
    add("drift, N/s a plate", &["zero_moved"], |c, s| c.plates.drift_n_s = [s; 2], &[(0.1, any, any), (0.5, 0.8, 0.6), (2.0, 0.95, 0.6)]);
    add(
        "knock in flight, N",
        &["zero_moved"],
        |c, s| c.plates.knock = Some((0.5 * (at(c, "take_off") + at(c, "touchdown")), [s, 0.0])),
        &[(2.0, any, any), (6.0, 0.9, 0.7), (20.0, 0.95, 0.7)],
    );
    add(
        "clamped at 0 with a zero error, −N a plate",
        &["zero_clamped", "hidden_zero"],
        |c, s| (c.plates.clamped, c.plates.zero_n) = (true, [-s; 2]),
        &[(1.0, any, any), (15.0, 0.9, 0.9)],
    );
    add(
        "cut off at the top, of peak",
        &["clipped", "clipped_landing"],
        |c, s| {
            let most = (0..3000).map(|i| c.scene.force_n(c.scene.end_s() * f64::from(i) / 3000.0)).fold(0.0, f64::max);
            c.plates.ceiling_n = 0.5 * s * most;
        },
        &[(0.5, 0.95, 0.6), (0.9, 0.8, 0.8)],
    );
    add(
        "gap at take-off, s",
        &["gap"],
        |c, s| c.plates.gaps = vec![(at(c, "take_off") - 0.5 * s, at(c, "take_off") + 0.5 * s)],
        &[(0.006, 0.95, 0.95), (0.05, 0.95, 0.95)],
    );
    add(
        "gap over the landing's peak, s",
        &["gap_at_peak", "gap"],
        |c, s| {
            let (from, to) = (at(c, "touchdown"), at(c, "landing_end"));
            let place = |k: i32| from + (to - from) * f64::from(k) / 1000.0;
            let peak = (0..1000).map(place).max_by(|a, b| c.scene.force_n(*a).total_cmp(&c.scene.force_n(*b))).unwrap_or(to);
            c.plates.gaps = vec![(peak - 0.5 * s, peak + 0.5 * s)];
        },
        &[(0.004, 0.95, 0.95), (0.018, 0.95, 0.95)],
    );
    add(
        "another unit taken for newtons, times",
        &["weight_odd"],
        |c, s| c.plates.gain = [s; 2],
        // Pounds of a heavy person are newtons of a child: what is no person at all is told.
        &[(0.2248, any, any), (0.102, 0.95, any), (6.0, 0.95, 0.95)],
    );
    add("hum, N a plate", &["hum"], |c, s| c.plates.hum_n = s, &[(1.0, any, any), (4.0, any, any)]);
    add("ringing, N a plate", &["ringing"], |c, s| c.plates.ring_n = s, &[(6.0, any, any), (12.0, any, any)]);
    add(
        "hands on something while weighed, part",
        &["weighed_wrong"],
        |c, s| {
            let t = at(c, "movement_start");
            c.scene.support = vec![Support { from_s: -2.0, to_s: -1.0, part: 1.0 - s }, Support { from_s: t - 0.1, to_s: t, part: 1.0 }];
        },
        &[(0.003, any, any), (0.01, 0.95, 0.9), (0.025, 0.95, 0.9)],
    );
    add(
        "a foot beside the plate in landing, part",
        &["force_lost"],
        |c, s| {
            let t = at(c, "touchdown");
            let end = at(c, "landing_end") + 0.5;
            c.scene.support =
                vec![Support { from_s: t, to_s: t + 0.01, part: 1.0 - s }, Support { from_s: end, to_s: end + 0.2, part: 1.0 }];
        },
        &[(0.02, any, any), (0.10, 0.9, 0.8), (0.25, 0.9, 0.6)],
    );
    add(
        "bent landing, m lower",
        &["bent_landing"],
        |c, s| {
            let jump = Jump { bent_m: s, after_s: 3.0, ..Jump::default() };
            c.scene = jump.scene().expect("exists");
        },
        &[(0.03, any, any), (0.08, 0.95, 0.95), (0.15, 0.95, 0.95)],
    );
    add("one plate's gain, part", &["gain_differs"], |c, s| c.plates.gain = [1.0, 1.0 + s], &[(0.02, any, any)]);
    add(
        "one plate's gain, weight shifted between feet, part",
        &["gain_differs"],
        |c, s| {
            c.plates.gain = [1.0, 1.0 + s];
            shift_weight(c);
        },
        &[(0.01, any, any), (0.03, 0.5, 0.5), (0.06, 0.95, 0.95)],
    );
    add(
        "one foot off its plate in standing",
        &["one_foot_off"],
        |c, s| {
            let off = c.scene.event("movement_start") - 0.4;
            c.scene.share_right = vec![(0.0, s), (off, 0.5)];
        },
        &[(1.0, 0.95, 0.95), (0.0, 0.95, 0.95)],
    );
    add("all weight on one plate while standing", &["uneven_standing"], |c, s| c.scene.share_right = vec![(0.0, s)], &[(0.7, 0.95, 0.95)]);
    add(
        "talk and sway while weighed, m/s²",
        &["restless_weighing", "short_weighing", "weighed_after"],
        |c, s| {
            let to = at(c, "movement_start");
            c.scene.sway.push(Sway { from_s: 0.0, to_s: to, size_m_s2: s, turns: [2.0, 3.0] });
        },
        &[(0.02, any, any), (0.2, 0.9, 0.9)],
    );
    add(
        "a dip right before, N",
        &["stirred_before", "preload_rise", "short_weighing"],
        |c, s| {
            let to = at(c, "movement_start");
            c.scene.sway.push(Sway { from_s: to - 0.7, to_s: to - 0.15, size_m_s2: s / c.scene.mass_kg, turns: [1.0, 2.0] });
        },
        &[(200.0, 0.95, 0.95)],
    );
    add("coarse steps, N", &["coarse_steps"], |c, s| c.plates.step_n = s, &[(1.0, any, any), (4.883, 0.9, 0.9), (8.0, 0.95, 0.95)]);
    add("few samples, Hz", &["low_rate"], |c, s| c.plates.rate_hz = s, &[(100.0, any, any), (250.0, any, any)]);
    add(
        "two take-offs, s apart",
        &["two_take_offs"],
        |c, s| {
            let t = at(c, "take_off") - s;
            c.scene.support =
                vec![Support { from_s: t - 0.025, to_s: t - 0.02, part: 0.0 }, Support { from_s: t, to_s: t + 0.005, part: 1.0 }];
        },
        &[(0.05, 0.95, 0.9)],
    );
    add(
        "stepping off after the landing, s",
        &["stepped_off"],
        |c, s| {
            let t = at(c, "landing_end") + s;
            c.scene.support = vec![Support { from_s: t, to_s: t + 0.25, part: 0.0 }];
        },
        &[(0.5, any, 0.9), (1.0, any, 0.9)],
    );
    add(
        "a hop before the jump, s of pause",
        &["stirred_before", "hop_first", "short_weighing", "weighed_after"],
        |c, s| {
            if let Some(scene) = hop_before_the_jump(c.scene.mass_kg, 0.06, s) {
                c.scene = scene;
            }
        },
        &[(0.05, 0.95, any), (0.3, 0.95, any), (0.8, 0.95, any)],
    );
    out
}

/// Weight goes from foot to foot while standing, slowly.
fn shift_weight(c: &mut Case) {
    let to = c.scene.event("movement_start");
    let n = 40;
    let wave = |k: usize| 0.5 + 0.12 * tarsal::force::math::sin(3.0 * std::f64::consts::PI * k as f64 / n as f64);
    let mut shares: Vec<(f64, f64)> = (0..n).map(|k| (to * k as f64 / n as f64, wave(k))).collect();
    shares.push((to, 0.5));
    c.scene.share_right = shares;
}

fn height(scene: &Scene) -> f64 {
    let v = scene.at(scene.event("take_off"))[1];
    v * v / 2.0 / G
}

struct Tally {
    trials: usize,
    doubted: usize,
    named: usize,
    worst_sound_m: f64,
    codes: std::collections::BTreeMap<String, usize>,
}

fn tally(fault: &Fault, n: usize) -> Tally {
    let mut random = Random::new(77);
    let mut out = Tally { trials: 0, doubted: 0, named: 0, worst_sound_m: 0.0, codes: Default::default() };
    for _ in 0..n {
        let mut case = case(&mut random);
        (fault.inject)(&mut case, fault.size);
        out.trials += 1;
        let Some(trial) = read(&case) else {
            out.doubted += 1;
            *out.codes.entry("(no trial)".into()).or_default() += 1;
            continue;
        };
        let named = trial.notices.iter().any(|notice| fault.codes.contains(&notice.code.as_str()));
        out.named += usize::from(named);
        for notice in &trial.notices {
            *out.codes.entry(notice.code.clone()).or_default() += 1;
        }
        if trial.verdict == Verdict::Sound {
            let found = trial.figures["jump_height"].value.unwrap_or(f64::NAN);
            out.worst_sound_m = out.worst_sound_m.max((found - height(&case.scene)).abs());
        } else {
            out.doubted += 1;
        }
    }
    out
}

#[test]
fn faults_are_found_and_named() {
    let faults = faults();
    let results = Mutex::new(Vec::new());
    let next = Mutex::new(0);
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                loop {
                    let k = {
                        let mut next = next.lock().expect("no panic holds it");
                        *next += 1;
                        *next - 1
                    };
                    let Some(fault) = faults.get(k) else { break };
                    let found = tally(fault, 20);
                    results.lock().expect("no panic holds it").push((k, found));
                }
            });
        }
    });
    let mut results = results.into_inner().expect("no panic holds it");
    results.sort_by_key(|r| r.0);
    println!("{:52} {:>7} {:>8} {:>7} {:>16}", "fault", "size", "doubted", "named", "worst sound, mm");
    let mut bad = Vec::new();
    for (k, found) in &results {
        let fault = &faults[*k];
        let part = |n: usize| n as f64 / found.trials as f64;
        println!(
            "{:52} {:>7} {:>7.0}% {:>6.0}% {:>16.1}   {:?}",
            fault.name,
            fault.size,
            100.0 * part(found.doubted),
            100.0 * part(found.named),
            1e3 * found.worst_sound_m,
            found.codes
        );
        // Bar of the project for noisy, humming, drifting, quantised force: 10 mm where it is still called sound.
        if part(found.doubted) < fault.least.0 || part(found.named) < fault.least.1 || !(found.worst_sound_m <= 0.010) {
            bad.push((fault.name, fault.size));
        }
    }
    assert!(bad.is_empty(), "{bad:?}");
}

#[test]
fn what_scales_all_alike_is_not_claimed_to_be_seen() {
    type Inject = fn(&mut Case);
    let blind: [(&str, Inject); 4] = [
        ("gravity 0.3 % off", |c| c.options.gravity = G * 1.003),
        ("clock 2 % fast", |c| c.plates.clock = 1.02),
        ("clock 5 % slow", |c| c.plates.clock = 0.95),
        ("gain 10 % high, both plates", |c| c.plates.gain = [1.1; 2]),
    ];
    for (name, inject) in blind {
        let mut random = Random::new(31);
        for _ in 0..20 {
            let mut case = case(&mut random);
            let plain = read(&case).expect("read");
            inject(&mut case);
            let trial = read(&case).expect("read");
            assert_eq!(trial.verdict, plain.verdict, "{name}: {:?}", trial.notices);
            let codes = |t: &Trial| t.notices.iter().map(|n| n.code.clone()).collect::<Vec<_>>();
            assert_eq!(codes(&trial), codes(&plain), "{name}");
        }
    }
}

#[test]
fn a_known_mass_shows_a_gain_and_the_mains_shows_a_clock() {
    let mut random = Random::new(41);
    for _ in 0..10 {
        let mut case = case(&mut random);
        case.options.mass_kg = Some(case.scene.mass_kg);
        case.plates.gain = [1.04; 2];
        let trial = read(&case).expect("read");
        assert!(trial.notices.iter().any(|n| n.code == "mass_differs"), "{:?}", trial.notices);
    }
    for clock in [0.97, 1.03] {
        let mut case = case(&mut random);
        (case.plates.clock, case.plates.hum_n) = (clock, 3.0);
        let trial = read(&case).expect("read");
        assert!(trial.notices.iter().any(|n| n.code == "clock_against_mains"), "{clock}: {:?}", trial.notices);
    }
}

/// An athlete who loads the left leg by 6 % of the total, trial after trial; then somebody swaps the cables.
#[test]
fn swapped_plates_show_against_the_athletes_own_history() {
    let trial = |seed: u64, habit: f64, swapped: bool| {
        let mut random = Random::new(seed);
        let share = [(); 5].map(|()| 0.5 - habit / 200.0 + random.between(-0.004, 0.004));
        let scene = Jump { share_right: share, ..Jump::default() }.scene().expect("exists");
        let plates = Plates { noise_n: 0.8, swapped, seed, ..Plates::default() };
        read(&Case { scene, plates, options: Options::default() }).expect("read")
    };
    let history: Vec<Trial> = (1..=4).map(|seed| trial(seed, 6.0, false)).collect();
    let earlier: Vec<&Trial> = history.iter().collect();
    assert!(plates_swapped(&earlier, &trial(9, 6.0, false)).is_none());
    assert_eq!(plates_swapped(&earlier, &trial(9, 6.0, true)).map(|n| n.code), Some("plates_swapped".into()));
    // Too few to know a habit by, and a habit too small to know left from right by.
    assert!(plates_swapped(&earlier[..2], &trial(9, 6.0, true)).is_none());
    let even: Vec<Trial> = (1..=4).map(|seed| trial(seed, 0.5, false)).collect();
    assert!(plates_swapped(&even.iter().collect::<Vec<_>>(), &trial(9, 0.5, true)).is_none());
}
