//! Every doubt has its place: each code is provoked, and its mark must lie inside the trial, in the stretch that it speaks of.
use super::{Case, case, faults, read};
use std::collections::BTreeMap;
use tarsal::answer::{Options, TestKind, Trial, analyze, analyze_recording};
use tarsal::invented::kinds::drop::Drop;
use tarsal::invented::kinds::isometric::Isometric;
use tarsal::invented::kinds::rebounds::{Bounce, Rebounds};
use tarsal::invented::kinds::squat_jump::SquatJump;
use tarsal::invented::{Jump, Plates, Random, Scene, Spike, Sway};
use tarsal::recording::Notice;
use tarsal::views::doubts::place_of;

/// Codes that none of the scenes here provokes, and why; their place is the one named in their rule.
const NOT_PROVOKED: &[(&str, &str)] = &[
    ("weighed_after", "every invented jump begins in standing; marked at the first event, before which standing is missing"),
    ("never_settles", "provoked in tests/kinds/doubts.rs; marked at touchdown"),
    ("late_foot", "the invented feet leave together; marked at take-off"),
    ("tall_landing", "no invented landing is taller than its take-off; marked at touchdown"),
    ("stood_wrong_after", "needs a foot off in the last stance alone; marked in that stance"),
    ("cannot_tell", "what fits no row of the table is no one fault; marked at take-off, where the heights that disagree are read"),
];

/// Codes of the recording as a whole that speak of the file's text and act at no instant.
const NO_PLACE: &[&str] = &["footer", "cut_row", "header_repeated", "ragged_rows", "several_recordings"];

#[track_caller]
fn trials(scene: Option<Scene>, plates: Plates, options: Options) -> Vec<Trial> {
    let scene = scene.expect("such a scene exists");
    analyze_recording(super::empty(), &plates.recording(&scene), &options).answer.trials
}

/// Scenes of the other kinds and of what the faults of a countermovement jump do not reach.
fn others() -> Vec<Trial> {
    let quiet = || Plates { noise_n: 0.5, seed: 3, ..Plates::default() };
    let boxed = || Options { box_m: Some(0.30), ..Options::default() };
    let known = || Options { mass_kg: Some(72.0), ..boxed() };
    let drop = |drop: Drop, options: Options| trials(drop.scene(), quiet(), options);
    let pull = |pull: Isometric| trials(Some(pull.scene()), quiet(), Options::default());
    let jump = |jump: Jump, options: Options| trials(jump.scene(), quiet(), options);
    let spike = Some(Spike { height: 0.9, rise_s: 0.012, fall_s: 0.016 });
    let slow = vec![Bounce { contact_s: 0.32, height_m: 0.2 }; 5];
    let mut ends_in_air = Jump::default().scene().expect("exists");
    ends_in_air.path.cut(ends_in_air.event("touchdown") - 0.03);
    let hop_then_jump = vec![Bounce { contact_s: 0.25, height_m: 0.30 }];
    // Which small first jumps exist hangs on all wishes together: the first that does.
    let wishes = (0..400).map(|k| {
        (
            0.07 - 0.01 * f64::from(k % 3),
            0.10 + 0.02 * f64::from(k / 3 % 6),
            0.5 + 0.1 * f64::from(k / 18 % 6),
            0.05 + 0.02 * f64::from(k / 108),
        )
    });
    let small_first = wishes.into_iter().find_map(|(opening_m, depth_m, down_m_s, rise_m)| {
        Rebounds { opening_m, depth_m, down_m_s, rise_m, bounces: hop_then_jump.clone(), ..Rebounds::default() }.scene()
    });
    // A contact in the middle of a set, its touchdown not recorded.
    let hops = Rebounds { bounces: vec![Bounce { contact_s: 0.18, height_m: 0.2 }; 5], ..Rebounds::default() }.scene().expect("exists");
    let down = hops.air.get(2).map_or(0.0, |air| air.1);
    let lost = Plates { gaps: vec![(down - 0.005, down + 0.008)], ..quiet() };
    let hops_with_a_gap = analyze("x.csv", lost.csv(&hops).as_bytes(), &Options::default()).answer.trials;
    // Standing on two plates of which one always reads the same.
    let mut stuck = quiet().recording(&Jump { quiet_s: 6.0, ..Jump::default() }.scene().expect("exists")).window(0, 5000);
    stuck.channels.iter_mut().take(1).for_each(|c| c.force_n.fill(353.0));
    let stuck = analyze_recording(super::empty(), &stuck, &Options::default()).answer.trials;
    // One swing over three seconds of standing, slow enough to stay within the 3 % that break a stretch.
    let mut restless = Jump { quiet_s: 3.0, ..Jump::default() }.scene().expect("exists");
    restless.sway.push(Sway { from_s: 0.0, to_s: restless.event("movement_start"), size_m_s2: 0.12, turns: [1.0, 3.0] });
    [
        drop(Drop { spike, ..Drop::default() }, boxed()),
        drop(Drop { contact_s: 0.32, ..Drop::default() }, boxed()),
        drop(Drop { drop_m: 0.22, ..Drop::default() }, boxed()),
        drop(Drop { bent_m: 0.20, ..Drop::default() }, boxed()),
        drop(Drop { after_s: 0.0, ..Drop::default() }, known()),
        drop(Drop { after_s: -1.0, ..Drop::default() }, known()),
        drop(Drop { after_s: 0.0, ..Drop::default() }, Options::default()),
        pull(Isometric { pre_n: 90.0, ..Isometric::default() }),
        pull(Isometric { creep_n_s: 60.0, ..Isometric::default() }),
        pull(Isometric { dip: Some((90.0, 0.2)), ..Isometric::default() }),
        trials(Some(Isometric::default().scene()), Plates { rate_hz: 500.0, ..quiet() }, Options::default()),
        trials(SquatJump { dip_m: 0.04, ..SquatJump::default() }.scene(), quiet(), Options::default()),
        trials(Rebounds { bounces: slow, ..Rebounds::default() }.scene(), quiet(), Options::default()),
        jump(Jump { quiet_s: 0.8, ..Jump::default() }, Options::default()),
        trials(small_first, quiet(), Options::default()),
        trials(Some(restless), quiet(), Options::default()),
        jump(Jump::default(), Options { mass_kg: Some(60.0), ..Options::default() }),
        jump(Jump::default(), Options { load_kg: Some(40.0), ..Options::default() }),
        trials(Some(ends_in_air), quiet(), Options::default()),
        trials(Jump::default().scene(), Plates { noise_n: 12.0, seed: 4, ..Plates::default() }, Options::default()),
        trials(Jump::default().scene(), Plates { hum_n: 4.0, clock: 1.03, ..quiet() }, Options::default()),
        hops_with_a_gap,
        stuck,
        jump(Jump::default(), Options { test: Some(TestKind::SquatJump), ..Options::default() }),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// Every code that a rule or a cause can give, from the tables themselves.
fn codes() -> Vec<String> {
    let answer = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("src/answer");
    // Every table in the folder, so that a new one is asked for too; `mod.rs` holds the type alone.
    let tables = std::fs::read_dir(answer.join("rules")).expect("the tables of rules").map(|entry| entry.expect("a table").path());
    let tables = tables.filter(|path| !path.ends_with("mod.rs")).chain([answer.join("doubts/rules.rs")]);
    let rules: Vec<String> = tables.map(|path| std::fs::read_to_string(path).expect("a table's text")).collect();
    assert!(rules.len() > 1 && rules.iter().all(|text| text.contains("code: \"")), "a table without rules");
    let of_rules = rules.iter().flat_map(|text| text.split("code: \"").skip(1));
    let causes = include_str!("../../src/answer/pattern.rs").split("pub fn code").nth(1).and_then(|t| t.split("pub fn message").next());
    let of_causes = causes.into_iter().flat_map(|text| text.split("=> \"").skip(1));
    of_rules.chain(of_causes).filter_map(|rest| rest.split('"').next()).map(str::to_owned).collect()
}

#[test]
fn every_doubt_is_marked_inside_its_trial() {
    let mut random = Random::new(77);
    let mut all = others();
    for fault in faults() {
        for _ in 0..4 {
            let mut case: Case = case(&mut random);
            (fault.inject)(&mut case, fault.size);
            all.extend(read(&case));
        }
    }
    let mut marked: BTreeMap<String, usize> = BTreeMap::new();
    for trial in &all {
        for notice in &trial.notices {
            let at = notice.at_s.unwrap_or_else(|| panic!("{} has no place: {}", notice.code, notice.message));
            assert!((trial.start_s..=trial.end_s).contains(&at), "{} at {at}, trial {}–{}", notice.code, trial.start_s, trial.end_s);
            *marked.entry(notice.code.clone()).or_default() += 1;
            // What speaks of weighing is marked where it was weighed, what speaks of the landing not before it.
            let weighed = trial.weighing.as_ref().filter(|w| w.to_s > w.from_s);
            if let ("hum" | "closure" | "weighed_wrong" | "coarse_steps" | "uneven_standing" | "mass_differs", Some(w)) =
                (notice.code.as_str(), weighed)
            {
                assert!((w.from_s..=w.to_s).contains(&at), "{} at {at}", notice.code);
            }
            if let ("bent_landing" | "final_rest" | "stepped_off" | "clipped_landing", Some(touchdown)) =
                (notice.code.as_str(), trial.events.get("touchdown"))
            {
                assert!(at >= touchdown - 0.01, "{} at {at}, touchdown {touchdown}", notice.code);
            }
        }
    }
    println!("{marked:?}");
    let missing: Vec<String> = codes().into_iter().filter(|c| !marked.contains_key(c) && NOT_PROVOKED.iter().all(|n| n.0 != c)).collect();
    assert!(missing.is_empty(), "not provoked: {missing:?}");
}

/// Notices of the recording, of the plates' check and of the athlete's day carry no time; the trace marks them where they act.
#[test]
fn what_is_told_of_recording_plates_or_day_is_marked_where_it_acts() {
    let trial = trials(Jump::default().scene(), Plates { noise_n: 0.5, ..Plates::default() }, Options::default()).remove(0);
    let w = trial.weighing.as_ref().expect("weighed");
    let at = |code: &str| place_of(&Notice::new(code, "told"), &trial);
    for code in ["zero_drift", "plates_off", "plates_differ", "plates_crossed", "plates_swapped", "weight_against_day", "sides_guessed"] {
        assert!(at(code).is_some_and(|t| (w.from_s..=w.to_s).contains(&t)), "{code}");
    }
    for code in ["low_rate", "rate_guessed", "duplicates", "gaps"] {
        assert_eq!(at(code), trial.events.get("take_off").copied(), "{code}");
    }
    for code in NO_PLACE {
        assert_eq!(at(code), None, "{code}");
    }
    assert_eq!(place_of(&Notice::new("gap", "told").at(1.5), &trial), Some(1.5));
}
