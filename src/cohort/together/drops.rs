//! A series of drop jumps from several boxes: where the reactive strength index is highest.
use super::fieller;
use crate::cohort::Interval;
use crate::cohort::distributions::t_quantile;

/// One drop jump of the series.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DropTrial {
    /// How far the body really fell, m.
    pub drop_m: f64,
    /// Reactive strength index, m/s.
    pub index: f64,
}

/// What a series says of the best drop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BestDrop {
    /// The drop with the highest index, m, and its 95 % interval.
    pub drop_m: Interval,
    /// The index there, m/s.
    pub index: f64,
}

/// The top of a parabola through index against actual drop, by least squares, its interval by Fieller's theorem.
///
/// # Errors
/// Why no best drop is named.
pub fn best_drop(trials: &[DropTrial]) -> Result<BestDrop, &'static str> {
    let trials: Vec<DropTrial> = trials.iter().copied().filter(|t| t.drop_m.is_finite() && t.index.is_finite()).collect();
    let n = trials.len() as f64;
    let (low, high) = trials.iter().fold((f64::MAX, f64::MIN), |(l, h), t| (l.min(t.drop_m), h.max(t.drop_m)));
    // Drops within 3 cm of each other are one box.
    let mut heights: Vec<f64> = trials.iter().map(|t| t.drop_m).collect();
    heights.sort_by(f64::total_cmp);
    let mut steps = 0;
    let mut last = f64::MIN;
    for h in heights {
        if h - last > 0.03 {
            steps += 1;
            last = h;
        }
    }
    if steps < 3 || n < 5.0 {
        return Err("a best drop needs five drop jumps or more from three boxes or more");
    }
    // Centred, so that the sums stay small.
    let centre = trials.iter().map(|t| t.drop_m).sum::<f64>() / n;
    let mut m = [[0.0_f64; 3]; 3];
    let mut r = [0.0_f64; 3];
    for t in &trials {
        let x = t.drop_m - centre;
        let powers = [1.0, x, x * x];
        for (row, pi) in m.iter_mut().zip(powers) {
            for (cell, pj) in row.iter_mut().zip(powers) {
                *cell += pi * pj;
            }
        }
        for (cell, p) in r.iter_mut().zip(powers) {
            *cell += p * t.index;
        }
    }
    let inverse = invert(m).ok_or("the drops are too much alike")?;
    let [a, b, c] = inverse.map(|row| row.iter().zip(r).map(|(i, r)| i * r).sum::<f64>());
    if !(c < 0.0) {
        return Err("the index does not fall off towards the highest drop: no best one inside the range");
    }
    let rest = |t: &DropTrial| {
        let x = t.drop_m - centre;
        let e = t.index - a - b * x - c * x * x;
        e * e
    };
    let variance = trials.iter().map(rest).sum::<f64>() / (n - 3.0);
    let [_, [_, v_bb, v_bc], [_, _, v_cc]] = inverse.map(|row| row.map(|v| v * variance));
    // Top at −b / 2c.
    let t = t_quantile(0.975, n - 3.0);
    let top = fieller(-b, 2.0 * c, [v_bb, 4.0 * v_cc, -2.0 * v_bc], t)
        .ok_or("the index bends too little over the drops to say where it is highest")?;
    if !(low - centre..=high - centre).contains(&top.value) {
        return Err("the index is highest at an end of the range: try a box beyond it");
    }
    let index = a + b * top.value + c * top.value * top.value;
    Ok(BestDrop { drop_m: Interval { value: top.value + centre, low: top.low + centre, high: top.high + centre }, index })
}

/// Inverse of a symmetric 3 × 3 matrix by cofactors; none where it is singular.
fn invert([[a, b, c], [_, e, f], [_, _, i]]: [[f64; 3]; 3]) -> Option<[[f64; 3]; 3]> {
    let (ca, cb, cc) = (e * i - f * f, c * f - b * i, b * f - c * e);
    let determinant = a * ca + b * cb + c * cc;
    if !(determinant.abs() > 1e-300) {
        return None;
    }
    let (ce, cf, ci) = (a * i - c * c, b * c - a * f, a * e - b * b);
    Some([[ca, cb, cc], [cb, ce, cf], [cc, cf, ci]].map(|row| row.map(|v| v / determinant)))
}
