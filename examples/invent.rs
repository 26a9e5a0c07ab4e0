//! Writes invented recordings in several layouts, each with its exact truth, to try a reader on:
//!
//! ```text
//! cargo run --example invent -- FOLDER
//! ```
//! Nobody real is in them: closed-form jumps with a little noise. Every name begins with `invented-`; the truth of all
//! of them is in `truth.json` beside them.
use std::fmt::Write as _;
use std::process::ExitCode;
use tarsal::invented::{Jump, Truth};

/// One file to write.
pub struct Sample {
    /// Its name.
    pub name: &'static str,
    /// Its text.
    pub text: String,
    /// True height of each jump in it, from take-off velocity, m.
    pub heights_m: Vec<f64>,
    /// What a reading should think of each of them.
    pub verdict: &'static str,
}

fn main() -> ExitCode {
    let Some(folder) = std::env::args().nth(1) else {
        eprintln!("invent: no folder named\nusage: invent FOLDER");
        return ExitCode::from(2);
    };
    let written = std::fs::create_dir_all(&folder).and_then(|()| {
        for sample in samples() {
            std::fs::write(format!("{folder}/{}", sample.name), &sample.text)?;
            println!("{folder}/{}: {} bytes", sample.name, sample.text.len());
        }
        std::fs::write(format!("{folder}/truth.json"), truth_json(&samples()))
    });
    match written {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("invent: {folder}: {error}. Name a folder that can be written to.");
            ExitCode::FAILURE
        }
    }
}

/// Every sample, the same bytes on every machine.
pub fn samples() -> Vec<Sample> {
    vec![comma(), semicolon(), tab(), one_plate(), three_jumps(), short_standing()]
}

/// The truth of all samples, by file name.
pub fn truth_json(samples: &[Sample]) -> String {
    let mut out = String::from("{\n");
    for (k, s) in samples.iter().enumerate() {
        let heights: Vec<String> = s.heights_m.iter().map(|h| format!("{h:.5}")).collect();
        let end = if k + 1 < samples.len() { "," } else { "" };
        let (name, verdict, heights) = (s.name, s.verdict, heights.join(", "));
        let _ = writeln!(out, "  \"{name}\": {{ \"heights_m\": [{heights}], \"verdict\": \"{verdict}\" }}{end}");
    }
    out + "}\n"
}

/// Ordinary plates: most of a newton of noise, a zero error of a few, read in tenths.
fn base() -> Jump {
    Jump { noise_n: 0.7, zero_n: [1.6, -2.3], step_n: 0.1, ..Jump::default() }
}

/// Left and right force and the jump's truth.
fn record(jump: &Jump) -> ([Vec<f64>; 2], Truth) {
    let truth = jump.truth().expect("the jumps of this program exist");
    (jump.record(&truth), truth)
}

fn height(truth: &Truth) -> f64 {
    let v = truth.take_off_velocity();
    v * v / 2.0 / tarsal::force::gravity::STANDARD_M_S2
}

/// Comma between cells, point as decimal mark, seconds and newtons: two plates at 1000 Hz.
fn comma() -> Sample {
    let jump = Jump { height_m: 0.33, share_right: [0.5, 0.52, 0.53, 0.52, 0.47], seed: 101, ..base() };
    let ([left, right], truth) = record(&jump);
    let mut text = String::from("time (s),left (N),right (N)\n");
    for (i, (l, r)) in left.iter().zip(&right).enumerate() {
        let _ = writeln!(text, "{:.3},{l:.1},{r:.1}", i as f64 / jump.rate_hz);
    }
    Sample { name: "invented-comma-two-plates.csv", text, heights_m: vec![height(&truth)], verdict: "sound" }
}

/// Semicolon and decimal comma, lines of text above, a row of units, Windows line ends.
fn semicolon() -> Sample {
    let jump = Jump { mass_kg: 84.5, height_m: 0.41, depth_m: 0.34, down_m_s: 1.3, seed: 102, ..base() };
    let ([left, right], truth) = record(&jump);
    let mut text = String::from("Erfundene Aufnahme, keine echte Person\r\nÜbung: Sprung mit Ausholbewegung\r\n\r\n");
    text.push_str("Zeit;Kraft links;Kraft rechts\r\ns;N;N\r\n");
    for (i, (l, r)) in left.iter().zip(&right).enumerate() {
        let row = format!("{:.3};{l:.1};{r:.1}\r\n", i as f64 / jump.rate_hz);
        text.push_str(&row.replace('.', ","));
    }
    Sample { name: "invented-semicolon-decimal-comma.csv", text, heights_m: vec![height(&truth)], verdict: "sound" }
}

/// Tabs, milliseconds, kilonewtons, right before left.
fn tab() -> Sample {
    let jump =
        Jump { mass_kg: 61.0, height_m: 0.27, depth_m: 0.25, down_m_s: 1.05, share_right: [0.48; 5], rate_hz: 500.0, seed: 103, ..base() };
    let ([left, right], truth) = record(&jump);
    let mut text = String::from("Time [ms]\tRight [kN]\tLeft [kN]\n");
    for (i, (l, r)) in left.iter().zip(&right).enumerate() {
        let _ = writeln!(text, "{}\t{:.4}\t{:.4}", i as f64 * 1000.0 / jump.rate_hz, r / 1000.0, l / 1000.0);
    }
    Sample { name: "invented-tab-milliseconds-kilonewton.txt", text, heights_m: vec![height(&truth)], verdict: "sound" }
}

/// One plate under both feet, no time: the rate is stated above the numbers.
fn one_plate() -> Sample {
    let jump = Jump { mass_kg: 77.0, height_m: 0.36, seed: 104, ..base() };
    let ([left, right], truth) = record(&jump);
    let mut text = String::from("# invented recording, nobody real\n# sampling rate: 1000 Hz\nvertical force (N)\n");
    for (l, r) in left.iter().zip(&right) {
        let _ = writeln!(text, "{:.1}", l + r);
    }
    Sample { name: "invented-one-plate-rate-stated.txt", text, heights_m: vec![height(&truth)], verdict: "sound" }
}

/// Three jumps of one athlete in one recording, standing still between.
fn three_jumps() -> Sample {
    let (mut text, mut heights_m, mut n) = (String::from("time_s,left_force_N,right_force_N\n"), Vec::new(), 0u32);
    for (height_m, seed) in [(0.29, 105), (0.34, 106), (0.31, 107)] {
        let jump = Jump { mass_kg: 69.0, height_m, quiet_s: 1.5, after_s: 1.5, rate_hz: 500.0, seed, ..base() };
        let ([left, right], truth) = record(&jump);
        heights_m.push(height(&truth));
        for (l, r) in left.iter().zip(&right) {
            let _ = writeln!(text, "{:.3},{l:.1},{r:.1}", f64::from(n) / jump.rate_hz);
            n += 1;
        }
    }
    Sample { name: "invented-three-jumps.csv", text, heights_m, verdict: "sound" }
}

/// A fault on purpose: recording starts half a second before the jump.
fn short_standing() -> Sample {
    // Weighing ends 100 ms before the movement: 0.7 s of standing leave rather more than half a second to weigh on.
    let jump = Jump { height_m: 0.30, quiet_s: 0.7, rate_hz: 500.0, seed: 108, ..base() };
    let ([left, right], truth) = record(&jump);
    let mut text = String::from("time (s),left (N),right (N)\n");
    for (i, (l, r)) in left.iter().zip(&right).enumerate() {
        let _ = writeln!(text, "{:.3},{l:.1},{r:.1}", i as f64 / jump.rate_hz);
    }
    Sample { name: "invented-fault-short-standing.csv", text, heights_m: vec![height(&truth)], verdict: "doubtful" }
}
