//! A few recordings of every kind of test, one trial each: samples for tests and for trying things out. The squad that the
//! page offers is in `demo_people` and `demo_days`.
use super::kinds::drop::Drop;
use super::kinds::isometric::Isometric;
use super::kinds::rebounds::{Bounce, Rebounds};
use super::kinds::squat_jump::SquatJump;
use super::kinds::standing::quiet_standing;
use super::squad::{Athlete, SQUAD};
use super::{Jump, Plates, Random, Rise, Scene};
use crate::answer::{Options, TestKind};
use core::fmt::Write;

/// One invented recording of the demo squad.
#[derive(Debug, Clone, PartialEq)]
pub struct DemoFile {
    /// File name, ends in `.csv`.
    pub name: String,
    /// Invented athlete.
    pub athlete: String,
    /// Invented day of testing, `YYYY-MM-DD`.
    pub date: String,
    /// What a coach would have typed in with it: load, box.
    pub options: Options,
    /// The test it was made as.
    pub test: TestKind,
    /// The text.
    pub text: String,
}

/// The squad's first day of testing, and one six weeks later.
const DAYS: [&str; 2] = ["2026-09-01", "2026-10-13"];

/// Sample recordings, two plates at 1000 Hz with a little noise; each holds one trial. The second jump of one
/// athlete has a fault on purpose (half a second of standing only), to show how a doubt is told.
pub fn demo_files() -> Vec<DemoFile> {
    let mut random = Random::new(20_260_901);
    let mut out = Vec::new();
    for athlete in SQUAD {
        for trial in 1..=2 {
            let short = athlete.name.ends_with("Cedar") && trial == 2;
            let right = athlete.right;
            let jump = Jump {
                mass_kg: athlete.mass_kg,
                height_m: athlete.jump_m * random.between(0.97, 1.03),
                depth_m: athlete.depth_m * random.between(0.97, 1.03),
                down_m_s: athlete.down_m_s,
                share_right: [0.5 + (right - 0.5) * 0.6, right, right, right, 0.5 - (right - 0.5) * 0.5],
                quiet_s: if short { 0.8 } else { 2.0 },
                noise_n: 0.8,
                zero_n: [random.between(-3.0, 3.0), random.between(-3.0, 3.0)],
                step_n: 0.1,
                seed: random.bits(),
                ..Jump::default()
            };
            let Some(truth) = jump.truth() else { continue };
            let text = csv(&jump.record(&truth), jump.rate_hz);
            out.push(file(&athlete, "countermovement", trial, DAYS[0], TestKind::CountermovementJump, Options::default(), text));
        }
    }
    // A generator of its own: what is added here never changes the jumps above.
    let mut random = Random::new(20_260_902);
    for athlete in SQUAD {
        other_tests(&athlete, &mut random, &mut out);
    }
    out
}

/// The athlete's tests beyond the countermovement jump.
fn other_tests(athlete: &Athlete, random: &mut Random, out: &mut Vec<DemoFile>) {
    let mut add = |what: &str, trial: u32, date: &str, options: Options, scene: Option<Scene>, random: &mut Random| {
        let Some(scene) = scene else { return };
        let Some(test) = scene.test else { return };
        let scene = scene.sway(random, 0.008);
        let zero_n = [random.between(-3.0, 3.0), random.between(-3.0, 3.0)];
        let plates = Plates { noise_n: 0.8, zero_n, step_n: 0.1, seed: random.bits(), ..Plates::default() };
        out.push(file(athlete, what, trial, date, test, options, plates.csv(&scene)));
    };
    let Athlete { mass_kg, right, .. } = *athlete;
    let jump = |height_m: f64| Jump {
        mass_kg,
        height_m,
        depth_m: athlete.depth_m,
        down_m_s: athlete.down_m_s,
        share_right: [right; 5],
        ..Jump::default()
    };
    let squat = SquatJump { mass_kg, height_m: athlete.squat_m, share_right: right, after_s: 2.0, ..SquatJump::default() };
    add("squat-jump", 1, DAYS[0], Options::default(), squat.scene(), random);
    let (contact_s, height_m) = athlete.rebound;
    let drop = Drop {
        mass_kg,
        contact_s,
        drop_m: 0.30 * random.between(0.92, 1.0),
        rebound_m: Some(height_m),
        share_right: right,
        ..Drop::default()
    };
    add("drop-jump", 1, DAYS[0], Options { box_m: Some(0.30), ..Options::default() }, drop.scene(), random);
    let (pull_n_kg, rise_s) = athlete.pull;
    let pull =
        Isometric { mass_kg, peak_n: pull_n_kg * mass_kg, rise: Rise::Exponential(rise_s), share_right: right, ..Isometric::default() };
    add("isometric-pull", 1, DAYS[0], Options::default(), Some(pull.scene()), random);
    let later = jump(athlete.jump_m * random.between(1.0, 1.08));
    add("countermovement", 3, DAYS[1], Options::default(), later.scene(), random);

    let bounces = |n: usize, random: &mut Random| -> Vec<Bounce> {
        let one = |_| Bounce { contact_s: contact_s * random.between(0.96, 1.04), height_m: height_m * random.between(0.94, 1.04) };
        (0..n).map(one).collect()
    };
    let rebounds = |bounces| Rebounds { mass_kg, opening_m: athlete.jump_m * 0.9, bounces, share_right: right, ..Rebounds::default() };
    // Not everybody does everything: a table of who does what keeps the squad small.
    match athlete.name {
        "Invented Alder" => {
            let still = quiet_standing(mass_kg, 5.0, right);
            add("standing", 1, DAYS[0], Options::default(), Some(still), random);
            let set = rebounds(bounces(10, random));
            add("rebounds", 1, DAYS[0], Options::default(), set.scene(), random);
        }
        "Invented Birch" => {
            for (k, part) in [0.25, 0.5, 0.75, 1.0].into_iter().enumerate() {
                let load_kg = (part * mass_kg / 2.5_f64).round() * 2.5;
                let height_m = athlete.jump_m * mass_kg / (mass_kg + 1.1 * load_kg);
                let heavy = Jump { mass_kg: mass_kg + load_kg, down_m_s: athlete.down_m_s * (1.0 - 0.25 * part), ..jump(height_m) };
                let scene = heavy.scene().map(|s| Scene { load_kg, ..s });
                let options = Options { load_kg: Some(load_kg), ..Options::default() };
                add("loaded-jump", k as u32 + 1, DAYS[0], options, scene, random);
            }
        }
        "Invented Cedar" => {
            for (k, (share, part)) in [(0.0, 0.52), (1.0, 0.44)].into_iter().enumerate() {
                let one = Jump { share_right: [share; 5], depth_m: 0.18, down_m_s: 0.75, ..jump(athlete.jump_m * part) };
                add(if k == 0 { "left-leg" } else { "right-leg" }, 1, DAYS[0], Options::default(), one.scene(), random);
            }
        }
        "Invented Hazel" => {
            let set = rebounds(bounces(10, random));
            add("rebounds", 1, DAYS[0], Options::default(), set.scene(), random);
            let once = rebounds(bounces(1, random));
            add("countermovement-rebound", 1, DAYS[0], Options::default(), once.scene(), random);
        }
        "Invented Larch" => {
            let landing = Drop { rebound_m: None, ..drop.clone() };
            add("drop-landing", 1, DAYS[0], Options { box_m: Some(0.30), ..Options::default() }, landing.scene(), random);
        }
        _ => {
            for (k, box_m) in [0.2, 0.4, 0.5].into_iter().enumerate() {
                // The best drop lies in the middle: deeper ones cost contact time.
                let drop = Drop { box_m, drop_m: box_m * 0.96, contact_s: contact_s + 0.25 * (box_m - 0.3).max(0.0), ..drop.clone() };
                add("drop-jump", k as u32 + 2, DAYS[0], Options { box_m: Some(box_m), ..Options::default() }, drop.scene(), random);
            }
            let once = rebounds(bounces(1, random));
            add("countermovement-rebound", 1, DAYS[0], Options::default(), once.scene(), random);
        }
    }
}

fn file(athlete: &Athlete, what: &str, trial: u32, date: &str, test: TestKind, options: Options, text: String) -> DemoFile {
    let short_name = athlete.name.to_lowercase().replace(' ', "-");
    DemoFile { name: format!("{short_name}-{what}-{trial}.csv"), athlete: athlete.name.into(), date: date.into(), options, test, text }
}

/// A plain three-column table: seconds, left and right newtons.
fn csv([left, right]: &[Vec<f64>; 2], rate_hz: f64) -> String {
    let mut text = String::with_capacity(left.len() * 22 + 40);
    text.push_str("time_s,left_force_N,right_force_N\n");
    for (i, (l, r)) in left.iter().zip(right).enumerate() {
        // Writing to a String cannot fail.
        let _ = writeln!(text, "{:.3},{l:.1},{r:.1}", i as f64 / rate_hz);
    }
    text
}
