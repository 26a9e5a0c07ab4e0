//! Phases → figures; the catalogue that defines each; left against right.
mod catalogue;
mod jump;
mod sides;

pub use catalogue::{Better, CATALOGUE, Definition, PER_KG, SIDES, definition};
pub use jump::jump_figures;
pub use sides::{Plates, side_figures};

/// Integral of a sampled signal from its first sample, readable at fractional samples.
pub(crate) struct Prefix<'a> {
    x: &'a [f64],
    sum: Vec<f64>,
}

impl<'a> Prefix<'a> {
    /// Trapezoid sums in units of samples.
    pub(crate) fn new(x: &'a [f64]) -> Self {
        let mut total = 0.0;
        let mut previous = x.first().copied().unwrap_or(0.0);
        let sum = x
            .iter()
            .enumerate()
            .map(|(i, v)| {
                if i > 0 {
                    total += 0.5 * (v + previous);
                }
                previous = *v;
                total
            })
            .collect();
        Self { x, sum }
    }
    fn at(&self, at: f64) -> f64 {
        if !(at >= 0.0) {
            return f64::NAN;
        }
        let i = at.floor() as usize;
        let part = at - i as f64;
        match (self.sum.get(i), self.x.get(i), self.x.get(i + 1)) {
            (Some(s), Some(a), Some(b)) => s + part * (a + 0.5 * part * (b - a)),
            (Some(s), Some(_), None) if part == 0.0 => *s,
            _ => f64::NAN,
        }
    }
    /// Integral between two fractional samples, in value · samples; NaN outside.
    pub(crate) fn between(&self, from: f64, to: f64) -> f64 {
        self.at(to) - self.at(from)
    }
}

/// Largest sample between two fractional samples, with its index; NaN where there is none.
pub(crate) fn peak(x: &[f64], from: f64, to: f64) -> (f64, f64) {
    if !(from >= 0.0 && to >= from) {
        return (f64::NAN, f64::NAN);
    }
    let (a, b) = (from.ceil() as usize, (to.floor() as usize).min(x.len().saturating_sub(1)));
    x.get(a..=b)
        .and_then(|part| part.iter().enumerate().max_by(|p, q| p.1.total_cmp(q.1)))
        .map_or((f64::NAN, f64::NAN), |(i, v)| (*v, (a + i) as f64))
}
