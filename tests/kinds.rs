//! Every kind of test against closed-form truth (`src/invented`, Newton's second law integrated on paper): errors, coverage
//! of every ±, published relations, and a table of what is taken for what.
#[path = "kinds/confusion.rs"]
mod confusion;
#[path = "kinds/doubts.rs"]
mod doubts;
#[path = "kinds/stretches.rs"]
mod stretches;
#[path = "kinds/truth.rs"]
mod truth;

use tarsal::answer::{Analysis, FileAnswer, Options, analyze_recording};
use tarsal::invented::{Plates, Scene};

/// Reads a scene as recorded by some plates.
pub fn read(scene: &Scene, plates: &Plates, options: &Options) -> Analysis {
    let empty = FileAnswer { file: "x".into(), sha256: String::new(), error: None, recording: None, left_out: vec![], trials: vec![] };
    analyze_recording(empty, &plates.recording(scene), options)
}
