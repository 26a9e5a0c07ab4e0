//! Two real countermovement jumps, open data. Source: Duarte & Watanabe, "Notes on Scientific Computing for
//! Biomechanics and Motor Control" (BMClab, UFABC), DOI 10.5281/zenodo.4599319, CC BY 4.0; the files stay where they
//! are laid (`../shared/data/bmclab-jump`). Ignored with the reason where the folder is absent, a failure under CI.
use libtest_mimic::{Arguments, Failed, Trial};
use std::path::PathBuf;
use tarsal::answer::{Options, Verdict, analyze};

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../shared/data/bmclab-jump")
}

fn main() {
    let there = folder().is_dir();
    let required = std::env::var_os("CI").is_some();
    if !there && !required {
        println!("open jumps: ignored, {} is not there", folder().display());
    }
    let ignored = !there && !required;
    let tests = vec![
        Trial::test("jump1_reads_as_stated", jump1).with_ignored_flag(ignored),
        Trial::test("grfzjump_reads_as_published", grfzjump).with_ignored_flag(ignored),
    ];
    libtest_mimic::run(&Arguments::from_args(), tests).exit();
}

fn check(name: &str, found: Option<f64>, expected: f64, tolerance: f64) -> Result<(), Failed> {
    match found {
        Some(v) if (v - expected).abs() <= tolerance => Ok(()),
        other => Err(format!("{name}: found {other:?}, expected {expected} ± {tolerance}").into()),
    }
}

/// Plain sums over the file (rectangle rule, g = 9.81, threshold 20 N, quiet window 3.2–4.1 s), stated beside it:
/// weight 692.8 N (SD 2.3), take-off 5.091 s, flight 0.551 s, height 0.372 m from flight and 0.357 m from velocity.
/// The bar of the project: weight 692.5 ± 0.5 N, no clipping notice, never the empty plate as weighing.
fn jump1() -> Result<(), Failed> {
    let bytes = std::fs::read(folder().join("jump1.txt"))?;
    let found = analyze("jump1.txt", &bytes, &Options::default()).answer;
    let [trial] = found.trials.as_slice() else { return Err(format!("{} trials", found.trials.len()).into()) };
    let weighing = trial.weighing.as_ref().ok_or("no weighing")?;
    check("weight", Some(weighing.weight_n.value), 692.5, 0.5)?;
    check("weighing starts in the stance", Some(weighing.from_s), 3.2, 1.2)?;
    check("take-off", trial.events.get("take_off").copied(), 5.091, 0.003)?;
    let value = |id: &str| trial.figures.get(id).and_then(|f| f.value);
    check("flight time", value("flight_time"), 0.551, 0.004)?;
    check("height from flight time", value("jump_height_flight_time"), 0.372, 0.005)?;
    check("height from velocity", value("jump_height"), 0.357, 0.003)?;
    if let Some(n) = trial.notices.iter().find(|n| n.code.starts_with("clipped")) {
        return Err(format!("no clipping in this file: {}", n.message).into());
    }
    // Force is back at weight 1.1 s after touchdown and stays there for 2.7 s; the plates are left at 9.42 s (block means of the
    // file). That is no stepping off right after the landing, and what is left out is that stepping off alone.
    if trial.notices.iter().any(|n| n.code == "stepped_off") || value("time_to_stabilisation").is_none() {
        return Err(format!("stands for seconds after the landing: {:?}", trial.notices).into());
    }
    for part in &found.left_out {
        if part.start_s < trial.end_s - 0.01 && part.end_s > trial.start_s + 0.01 {
            return Err(format!("left out {part:?}, inside the trial of {}–{} s", trial.start_s, trial.end_s).into());
        }
        if part.why.contains("countermovement") || !part.why.contains("stepping off") && !part.why.contains("nobody on the plates") {
            return Err(format!("left out for another reason than it is: {part:?}").into());
        }
    }
    Ok(())
}

/// Published (printed in the source's jump notebook; threshold 10 N after a shift by the minimum, g = 9.8): take-off
/// 0.907 s, landing 1.323 s, height from flight time 0.213 m. That shift of +7 N puts its landing on a lone noise
/// sample of 9.9 N three samples (5 ms) before force rises for good; with the higher threshold that its noise asks for at
/// take-off (2 ms) that is 7 mm of height, hence the wider tolerance there.
/// Only 0.18 s of quiet stance: never sound.
fn grfzjump() -> Result<(), Failed> {
    let bytes = std::fs::read(folder().join("GRFZjump.txt"))?;
    let options = Options { rate_hz: Some(600.0), ..Options::default() };
    let found = analyze("GRFZjump.txt", &bytes, &options).answer;
    let [trial] = found.trials.as_slice() else { return Err(format!("{:?}", found.left_out).into()) };
    check("take-off", trial.events.get("take_off").copied(), 0.907, 0.004)?;
    check("touchdown", trial.events.get("touchdown").copied(), 1.323, 0.006)?;
    check("height from flight time", trial.figures.get("jump_height_flight_time").and_then(|f| f.value), 0.213, 0.008)?;
    check("height from velocity", trial.figures.get("jump_height").and_then(|f| f.value).or(Some(-1.0)), -1.0, 0.0)?;
    if trial.verdict == Verdict::Sound { Err("0.18 s of standing cannot be sound".into()) } else { Ok(()) }
}
