//! Force against velocity over loaded jumps: a line with errors in both variables, and when it may not be drawn.
use super::{Measured, fieller};
use crate::cohort::Interval;
use crate::cohort::distributions::t_quantile;

/// One load: mean force over the push-off distance (per kg of body mass), mean velocity of the push, and that distance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoadPoint {
    /// Load beyond the body, kg.
    pub load_kg: f64,
    /// Force, N/kg.
    pub force: Measured,
    /// Velocity, m/s.
    pub velocity: Measured,
    /// Correlation of their errors: both are of the same trials, and the same weighing moves both. 0 where it is unknown.
    pub correlation: f64,
    /// Push-off distance, m.
    pub distance_m: f64,
}

/// The line through the loads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ForceVelocityLine {
    /// Force where it meets no velocity, N/kg.
    pub force_at_rest: Measured,
    /// Velocity where it meets no force, m/s, with its 90 % interval.
    pub velocity_without_force: Interval,
    /// Slope, N·s/m/kg, with its 90 % interval.
    pub slope: Interval,
    /// A quarter of the product of the two ends, W/kg.
    pub most_power: f64,
}

/// The line, or every reason why it may not be drawn: fewer than four loads; velocities over less than 1.5 ×; push-off
/// distances more than 10 % apart; a slope whose 90 % interval is wider than ± 25 % (three loads and R² ≥ 0.9 pass pure noise
/// a fifth of the time). It never decides a reading alone [Samozino et al. 2012, Med. Sci. Sports Exerc. 44:313].
///
/// # Errors
/// The reasons, as sentences.
pub fn force_velocity(points: &[LoadPoint]) -> Result<ForceVelocityLine, Vec<String>> {
    let mut why = Vec::new();
    let mut loads: Vec<f64> = points.iter().map(|p| p.load_kg).collect();
    loads.sort_by(f64::total_cmp);
    loads.dedup_by(|a, b| (*a - *b).abs() < 1.0);
    if loads.len() < 4 {
        why.push(format!("It takes four loads or more; there are {}.", loads.len()));
    }
    let range = |of: &dyn Fn(&LoadPoint) -> f64| points.iter().map(of).fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v), h.max(v)));
    let (slow, fast) = range(&|p| p.velocity.value);
    if !(slow > 0.0 && fast >= 1.5 * slow) {
        why.push("The fastest push is less than one and a half times as fast as the slowest: the loads lie too close together.".into());
    }
    let (short, long) = range(&|p| p.distance_m);
    if !(short > 0.0 && long - short <= 0.1 * 0.5 * (short + long)) {
        why.push("The push-off distance differs by more than 10 % between loads: the depths were not the same.".into());
    }
    let fit = if points.len() >= 3 { york(points) } else { None };
    let Some(fit) = fit else {
        why.push("No line goes through these points.".into());
        return Err(why);
    };
    let df = points.len() as f64 - 2.0;
    // What the points scatter beyond their own uncertainty counts as well.
    let scale = (fit.chi_square / df).max(1.0);
    let t = t_quantile(0.95, df);
    let half = t * (fit.var_slope * scale).sqrt();
    if half > 0.25 * fit.slope.abs() {
        why.push(format!("The slope is known to ± {:.0} % only; ± 25 % is the most that may be read.", 100.0 * half / fit.slope.abs()));
    }
    if !(fit.slope < 0.0) {
        why.push("Force does not fall as velocity rises.".into());
    }
    let (var_a, var_b, cov) = (fit.var_intercept * scale, fit.var_slope * scale, fit.covariance * scale);
    let ends = fieller(fit.intercept, -fit.slope, [var_a, var_b, -cov], t);
    let Some(velocity_without_force) = ends.filter(|_| why.is_empty()) else {
        if why.is_empty() {
            why.push("Where the line meets no force cannot be said.".into());
        }
        return Err(why);
    };
    Ok(ForceVelocityLine {
        force_at_rest: Measured { value: fit.intercept, u: var_a.sqrt() },
        velocity_without_force,
        slope: Interval::about(fit.slope, half),
        most_power: 0.25 * fit.intercept * velocity_without_force.value,
    })
}

struct Fit {
    slope: f64,
    intercept: f64,
    var_slope: f64,
    var_intercept: f64,
    covariance: f64,
    chi_square: f64,
}

/// A point of the line: abscissa, ordinate, their variances and covariance, and its weight.
struct Weighted {
    x: f64,
    y: f64,
    xx: f64,
    yy: f64,
    xy: f64,
    weight: f64,
}

/// Straight line with errors in both variables, correlated within a point [York et al. 2004, Am. J. Phys. 72:367, eqs. 13].
fn york(points: &[LoadPoint]) -> Option<Fit> {
    let weighted = |b: f64| -> Vec<Weighted> {
        let one = |p: &LoadPoint| {
            let (ux, uy) = (p.velocity.u.max(1e-9), p.force.u.max(1e-9));
            // Errors that are one error leave a point without extent in one direction; 0.99 keeps its weight finite.
            let (xx, yy, xy) = (ux * ux, uy * uy, p.correlation.clamp(-0.99, 0.99) * ux * uy);
            Weighted { x: p.velocity.value, y: p.force.value, xx, yy, xy, weight: 1.0 / (yy + b * b * xx - 2.0 * b * xy) }
        };
        points.iter().map(one).collect()
    };
    // The start: each variable's own spread.
    let n = points.len() as f64;
    let (mx, my) = points.iter().fold((0.0, 0.0), |(x, y), p| (x + p.velocity.value / n, y + p.force.value / n));
    let (sxy, sxx) = points.iter().fold((0.0, 0.0), |(xy, xx), p| {
        let (x, y) = (p.velocity.value - mx, p.force.value - my);
        (xy + x * y, xx + x * x)
    });
    let mut b = sxy / sxx;
    let mut out = None;
    for _ in 0..200 {
        if !b.is_finite() {
            return None;
        }
        let rows = weighted(b);
        let sum: f64 = rows.iter().map(|r| r.weight).sum();
        let (x_bar, y_bar) =
            (rows.iter().map(|r| r.weight * r.x).sum::<f64>() / sum, rows.iter().map(|r| r.weight * r.y).sum::<f64>() / sum);
        let beta = |r: &Weighted| {
            let (u, v) = (r.x - x_bar, r.y - y_bar);
            r.weight * (u * r.yy + b * v * r.xx - (b * u + v) * r.xy)
        };
        let (up, down) = rows
            .iter()
            .fold((0.0, 0.0), |(up, down), r| (up + r.weight * beta(r) * (r.y - y_bar), down + r.weight * beta(r) * (r.x - x_bar)));
        let next = up / down;
        let settled = (next - b).abs() <= 1e-14 * next.abs();
        let adjusted: Vec<f64> = rows.iter().map(|r| x_bar + beta(r)).collect();
        let centre = rows.iter().zip(&adjusted).map(|(r, x)| r.weight * x).sum::<f64>() / sum;
        let var_slope = 1.0 / rows.iter().zip(&adjusted).map(|(r, x)| r.weight * (x - centre) * (x - centre)).sum::<f64>();
        let intercept = y_bar - next * x_bar;
        let rest = |r: &Weighted| r.weight * (r.y - intercept - next * r.x) * (r.y - intercept - next * r.x);
        out = Some(Fit {
            slope: next,
            intercept,
            var_slope,
            var_intercept: 1.0 / sum + centre * centre * var_slope,
            covariance: -centre * var_slope,
            chi_square: rows.iter().map(rest).sum(),
        });
        b = next;
        if settled {
            break;
        }
    }
    out.filter(|f| f.slope.is_finite() && f.var_slope.is_finite())
}
