//! Force sampled at a steady rate, however it is stored: a slice, or the sum of two plates of a long recording, which is made
//! only where somebody looks.
use core::ops::Range;
use std::borrow::Cow;

/// Samples that can be looked at part by part.
pub trait Samples {
    /// How many there are.
    fn len(&self) -> usize;
    /// Whether there is none.
    fn is_empty(&self) -> bool {
        self.len() == 0
    }
    /// Those of a range; none where it reaches beyond the end.
    fn part(&self, range: Range<usize>) -> Option<Cow<'_, [f64]>>;
    /// All, in pieces of `size` (the last may be shorter), each with the place of its first.
    fn pieces(&self, size: usize) -> impl Iterator<Item = (usize, Cow<'_, [f64]>)> {
        let size = size.max(1);
        let piece = move |from: usize| Some((from, self.part(from..(from + size).min(self.len()))?));
        (0..self.len()).step_by(size).filter_map(piece)
    }
}

impl Samples for [f64] {
    fn len(&self) -> usize {
        self.len()
    }
    fn part(&self, range: Range<usize>) -> Option<Cow<'_, [f64]>> {
        self.get(range).map(Cow::Borrowed)
    }
}
