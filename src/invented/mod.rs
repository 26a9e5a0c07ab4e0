//! Invented athletes and recordings with their exact truth: for the demo and for tests. Nobody real is in here.
mod closed_form;
mod demo;
mod random;

pub use closed_form::{Jump, Path, Truth};
pub use demo::{DemoFile, demo_files};
pub use random::Random;
