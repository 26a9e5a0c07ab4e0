//! Force sampled at a steady rate, as the sum of plates that is made only where somebody looks: of a long recording it would be
//! as much as the recording itself.
use core::ops::Range;
use std::borrow::Cow;

/// Samples that can be looked at part by part.
pub trait Samples: Sync {
    /// How many there are.
    fn count(&self) -> usize;
    /// Those of a range; none where it reaches beyond the end.
    fn part(&self, range: Range<usize>) -> Option<Cow<'_, [f64]>>;
}

/// All of a range, in pieces of `size` (the last may be shorter), each with the place of its first.
pub(super) fn pieces(all: &dyn Samples, range: Range<usize>, size: usize) -> impl Iterator<Item = (usize, Cow<'_, [f64]>)> {
    let (size, end) = (size.max(1), range.end.min(all.count()));
    (range.start..end).step_by(size).filter_map(move |from| Some((from, all.part(from..(from + size).min(end))?)))
}
