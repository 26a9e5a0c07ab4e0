//! The demo squad: invented people, invented jumps, and every name says so.
use super::{Jump, Random};
use core::fmt::Write;

/// One invented recording of the demo squad.
#[derive(Debug, Clone, PartialEq)]
pub struct DemoFile {
    /// File name, ends in `.csv`.
    pub name: String,
    /// Invented athlete.
    pub athlete: String,
    /// The text.
    pub text: String,
}

/// Invented athlete, body mass (kg), height (m), depth (m), peak downward velocity (m/s), share on the right.
const SQUAD: [(&str, f64, f64, f64, f64, f64); 6] = [
    ("Invented Alder", 63.5, 0.31, 0.28, 1.15, 0.50),
    ("Invented Birch", 81.0, 0.38, 0.33, 1.25, 0.515),
    ("Invented Cedar", 71.2, 0.26, 0.24, 0.95, 0.46),
    ("Invented Hazel", 58.3, 0.29, 0.30, 1.05, 0.505),
    ("Invented Larch", 94.6, 0.35, 0.34, 1.20, 0.49),
    ("Invented Rowan", 76.8, 0.43, 0.32, 1.35, 0.52),
];

/// The demo squad's recordings, two plates at 1000 Hz with a little noise; the last trial of one athlete has a fault
/// on purpose (half a second of standing only), to show how a doubt is told.
pub fn demo_files() -> Vec<DemoFile> {
    let mut random = Random::new(20_260_901);
    let mut out = Vec::new();
    for (athlete, mass_kg, height_m, depth_m, down_m_s, right) in SQUAD {
        for trial in 1..=2 {
            let short = athlete.ends_with("Cedar") && trial == 2;
            let jump = Jump {
                mass_kg,
                height_m: height_m * random.between(0.97, 1.03),
                depth_m: depth_m * random.between(0.97, 1.03),
                down_m_s,
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
            let short_name = athlete.to_lowercase().replace(' ', "-");
            out.push(DemoFile { name: format!("{short_name}-countermovement-{trial}.csv"), athlete: athlete.into(), text });
        }
    }
    out
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
