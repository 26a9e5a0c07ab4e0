//! The mark of a doubt: a numbered triangle, as drawings mark a note that is written out elsewhere on the sheet.
//! The number refers to the list of sentences, so nothing hangs on a colour.
use super::dimensions::px;
use maud::{Markup, html};

/// Width of a flag, px; the least distance between two.
pub const FLAG: f64 = 22.0;

/// A numbered triangle with its tip up, its base's middle at `x`, `y`.
pub fn flag(number: usize, x: f64, y: f64) -> Markup {
    html! {
        g class="flag" transform=(format!("translate({} {})", px(x), px(y))) {
            path d="M-10.5 0L0 -17.5L10.5 0Z" {}
            text y="-2.5" text-anchor="middle" { (number) }
        }
    }
}

/// The same inside a line of text; `says` is for those who cannot see it.
pub fn inline_flag(number: usize, says: &str) -> Markup {
    html! {
        svg class="inline-flag" width="22" height="19" viewBox="-11 -18 22 19" role="img" aria-label=(format!("Note {number}: {says}")) data-doubt=(number) {
            title { (number) ": " (says) }
            (flag(number, 0.0, 0.0))
        }
    }
}

/// A place to mark: the note's number, and where its place lies on the axis, px (it may lie beyond the drawing).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// The note's number in the list, from 1.
    pub number: usize,
    /// Where.
    pub at_px: f64,
}

/// A flag that was placed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flagged {
    /// The note's number.
    pub number: usize,
    /// Middle of the flag.
    pub x_px: f64,
    /// Where its leader points.
    pub at_px: f64,
    /// −1 where the place lies before what is shown, 1 where after, else 0.
    pub beyond: i8,
}

/// Sets the flags side by side inside `left_px … right_px`, each as near its place as the others let it; every place
/// gets one, those beyond the drawing at its edge.
pub fn place(places: &[Place], left_px: f64, right_px: f64) -> Vec<Flagged> {
    let mut all: Vec<Flagged> = places
        .iter()
        .filter(|p| p.at_px.is_finite())
        .map(|p| {
            let beyond = if p.at_px < left_px {
                -1
            } else if p.at_px > right_px {
                1
            } else {
                0
            };
            let at_px = p.at_px.clamp(left_px, right_px.max(left_px));
            Flagged { number: p.number, x_px: at_px, at_px, beyond }
        })
        .collect();
    all.sort_by(|a, b| a.at_px.total_cmp(&b.at_px).then(a.number.cmp(&b.number)));
    // To the right so that none overlap, then back to the left from the edge.
    let mut least = left_px + FLAG / 2.0;
    for f in &mut all {
        f.x_px = f.x_px.max(least);
        least = f.x_px + FLAG;
    }
    let mut most = right_px - FLAG / 2.0;
    for f in all.iter_mut().rev() {
        f.x_px = f.x_px.min(most);
        most = f.x_px - FLAG;
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_place_gets_a_flag_and_none_overlap() {
        let at = |number, at_px| Place { number, at_px };
        let placed = place(&[at(1, 100.0), at(2, 101.0), at(3, -500.0), at(4, 1e9), at(5, f64::NAN), at(6, 390.0)], 50.0, 400.0);
        assert_eq!(placed.len(), 5);
        assert!(placed.windows(2).all(|w| w[1].x_px - w[0].x_px >= FLAG - 1e-9));
        let beyond: Vec<i8> = placed.iter().map(|f| f.beyond).collect();
        assert_eq!(beyond, [-1, 0, 0, 0, 1]);
        assert!(placed.iter().all(|f| f.at_px >= 50.0 && f.at_px <= 400.0));
    }
}
