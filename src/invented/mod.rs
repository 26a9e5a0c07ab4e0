//! Invented athletes and recordings with their exact truth: for the demo and for tests.

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

/// The demo squad's recordings: invented, and every name says so.
pub fn demo_files() -> Vec<DemoFile> {
    Vec::new()
}
