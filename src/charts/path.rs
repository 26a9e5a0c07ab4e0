//! A series as one SVG path: every sample when few, else the lowest and highest of each pixel's bucket,
//! so that no peak is lost however long the recording.
use super::scale::Scale;
use std::fmt::Write;

/// The path of `y` over `x` for the samples whose `x` lies in `view`, at most about `2 × buckets` points.
/// A value that is not finite breaks the line.
pub fn path(x: &[f64], y: &[f64], view: (f64, f64), buckets: usize, x_scale: &Scale, y_scale: &Scale) -> String {
    let len = x.len().min(y.len());
    // One sample beyond each edge keeps the line running to the edge.
    let from = x.iter().take(len).position(|t| *t >= view.0).unwrap_or(len).saturating_sub(1);
    let to = x.iter().take(len).rposition(|t| *t <= view.1).map_or(0, |i| (i + 2).min(len));
    let (Some(x), Some(y)) = (x.get(from..to), y.get(from..to)) else { return String::new() };
    let per_bucket = (x.len() / buckets.max(1)).max(1);
    let mut d = String::new();
    let mut pen_down = false;
    let mut put = |t: f64, v: f64, d: &mut String| {
        if !(t.is_finite() && v.is_finite()) {
            pen_down = false;
            return;
        }
        let command = if pen_down { 'L' } else { 'M' };
        pen_down = true;
        // Writing to a String cannot fail.
        let _ = write!(d, "{command}{:.1} {:.1}", x_scale.px(t), y_scale.px(v));
    };
    if per_bucket <= 2 {
        x.iter().zip(y).for_each(|(t, v)| put(*t, *v, &mut d));
        return d;
    }
    for (times, values) in x.chunks(per_bucket).zip(y.chunks(per_bucket)) {
        let finite = || times.iter().zip(values).filter(|(_, v)| v.is_finite());
        let low = finite().min_by(|a, b| a.1.total_cmp(b.1));
        let high = finite().max_by(|a, b| a.1.total_cmp(b.1));
        let (Some(low), Some(high)) = (low, high) else {
            put(f64::NAN, f64::NAN, &mut d);
            continue;
        };
        let (first, second) = if low.0 <= high.0 { (low, high) } else { (high, low) };
        put(*first.0, *first.1, &mut d);
        if first.0 != second.0 {
            put(*second.0, *second.1, &mut d);
        }
    }
    d
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_single_spike_survives_decimation_and_gaps_break_the_line() {
        let x: Vec<f64> = (0..100_000).map(f64::from).collect();
        let mut y = vec![0.0; x.len()];
        y[54_321] = 1000.0;
        let scale = Scale::new(0.0, 1000.0, 0.0, 1000.0);
        let d = path(&x, &y, (0.0, 1e5), 1000, &Scale::new(0.0, 1e5, 0.0, 800.0), &scale);
        assert!(d.contains(" 1000.0"), "the spike is drawn");
        assert!(d.len() < 60_000);
        let d = path(&[0.0, 1.0, 2.0], &[0.0, f64::NAN, 1.0], (0.0, 2.0), 10, &scale, &scale);
        assert_eq!(d.matches('M').count(), 2);
        assert_eq!(path(&[], &[], (0.0, 1.0), 10, &scale, &scale), "");
    }
}
