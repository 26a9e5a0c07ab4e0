//! Places the names of dimension lines so that no name touches another, nor another's leader line.
//! Text is estimated, not measured (measuring needs the browser), so a margin of a fifth is kept.

/// Width of a character as part of the text's size: the average of common sans-serif digits and lower case.
const CHARACTER: f64 = 0.54;
/// Text may turn out this much wider than estimated.
const MARGIN: f64 = 1.2;

/// A name to place.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// Its text.
    pub text: String,
    /// Where its middle should be.
    pub at_px: f64,
}

/// Where a name went.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// Its text.
    pub text: String,
    /// Middle of the text.
    pub x_px: f64,
    /// Row from 0, downwards.
    pub row: usize,
    /// Where its leader line runs (the middle of what it names).
    pub leader_px: f64,
    /// Half of the width kept free for it.
    pub half_px: f64,
}

/// The width kept free for a text.
pub fn width_px(text: &str, size_px: f64) -> f64 {
    text.chars().count() as f64 * size_px * CHARACTER * MARGIN
}

/// Places names in order from left to right, inside `from_px … to_px`, in as few rows as a first fit needs.
pub fn place(wanted: &[Wanted], size_px: f64, from_px: f64, to_px: f64) -> Vec<Placed> {
    let half_of = |want: &Wanted| width_px(&want.text, size_px) / 2.0;
    let keep =
        |x: f64, half: f64| if to_px - from_px > 2.0 * half { x.clamp(from_px + half, to_px - half) } else { (from_px + to_px) / 2.0 };
    let mut placed: Vec<Placed> = Vec::new();
    for (i, want) in wanted.iter().enumerate() {
        let half = half_of(want);
        let mut x = keep(want.at_px, half);
        // Where the next name must go to another row and its leader would cross this one, this one makes way to the left.
        if let Some(next) = wanted.get(i + 1) {
            let meet = keep(next.at_px, half_of(next)) - x < half + half_of(next) + 4.0;
            let aside = next.at_px - half - 5.0;
            if meet && (next.at_px - x).abs() < half + 3.0 && aside + half >= want.at_px {
                x = keep(aside, half);
            }
        }
        let rows = 0..=placed.len();
        let row = rows.clone().find(|row| free(&placed, x, half, want.at_px, *row)).unwrap_or_else(|| {
            // A leader must cross a name: then only no name may cover another.
            let apart = |row: &usize| placed.iter().all(|p| p.row != *row || (p.x_px - x).abs() >= p.half_px + half + 4.0);
            rows.clone().find(apart).unwrap_or(placed.len())
        });
        placed.push(Placed { text: want.text.clone(), x_px: x, row, leader_px: want.at_px, half_px: half });
    }
    placed
}

/// Whether a name at `x` fits in `row`: it covers no name there and no leader that passes there,
/// and its own leader passes no name above.
fn free(placed: &[Placed], x: f64, half: f64, leader: f64, row: usize) -> bool {
    placed.iter().all(|p| {
        let texts_meet = (p.x_px - x).abs() < p.half_px + half + 4.0;
        let covers_leader = (p.leader_px - x).abs() < half + 3.0;
        let crosses_name = (leader - p.x_px).abs() < p.half_px + 3.0;
        !(p.row == row && texts_meet || p.row > row && covers_leader || p.row < row && crosses_name)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_never_overlap_however_crowded() {
        let wanted: Vec<Wanted> =
            (0..6).map(|i| Wanted { text: format!("propulsion {i}23 ms"), at_px: 100.0 + 14.0 * f64::from(i) }).collect();
        for width in [240.0, 320.0, 900.0] {
            let placed = place(&wanted, 12.0, 40.0, width);
            for (i, a) in placed.iter().enumerate() {
                assert!(a.x_px - a.half_px >= 39.9 && a.x_px + a.half_px <= width + 0.1);
                for b in placed.iter().skip(i + 1) {
                    assert!(a.row != b.row || (a.x_px - b.x_px).abs() >= a.half_px + b.half_px, "{a:?} {b:?}");
                }
            }
        }
    }
}
