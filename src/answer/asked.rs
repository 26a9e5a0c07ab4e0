//! The reader's word for what a trial is, against what it looks like.
use super::trial::read_trial;
use super::{Options, TestKind};
use crate::recording::Recording;

/// What a window looks like by itself, of which the reader said that it is this test; none where both agree.
#[inline(never)]
pub(crate) fn overruled(window: &Recording, options: &Options, test: TestKind) -> Option<TestKind> {
    // Events moved by hand belong to the test that the reader sees.
    let own = Options { test: None, edits: Vec::new(), ..options.clone() };
    let looks = read_trial(window, &own).map_or(TestKind::Unrecognised, |reading| reading.trial.test);
    (looks != test).then_some(looks)
}

/// A test in a sentence.
#[inline(never)]
pub(crate) fn in_words(test: TestKind) -> &'static str {
    match test {
        TestKind::CountermovementJump => "a countermovement jump",
        TestKind::SquatJump => "a squat jump",
        TestKind::DropJump => "a drop jump",
        TestKind::CountermovementReboundJump => "a countermovement jump with a rebound",
        TestKind::DropLanding => "a drop landing",
        TestKind::ReboundJumps => "a set of rebound jumps",
        TestKind::Isometric => "a push or a pull",
        TestKind::QuietStanding => "quiet standing",
        TestKind::Unrecognised => "none of the tests known here",
    }
}
