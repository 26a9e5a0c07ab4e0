//! A number on an axis: where it lies in pixels, and which ticks to draw.

/// A straight map from a domain to pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    from: f64,
    to: f64,
    start_px: f64,
    end_px: f64,
}

impl Scale {
    /// Maps `from` to `start_px` and `to` to `end_px`; an empty domain is widened so that nothing divides by zero.
    pub fn new(from: f64, to: f64, start_px: f64, end_px: f64) -> Self {
        let (from, to) = if from.is_finite() && to.is_finite() && (to - from).abs() > 1e-12 { (from, to) } else { (0.0, 1.0) };
        Self { from, to, start_px, end_px }
    }
    /// Where a value lies.
    pub fn px(&self, value: f64) -> f64 {
        self.start_px + (value - self.from) / (self.to - self.from) * (self.end_px - self.start_px)
    }
    /// Where a value lies, kept inside the axis.
    pub fn clamped(&self, value: f64) -> f64 {
        let (low, high) = (self.start_px.min(self.end_px), self.start_px.max(self.end_px));
        self.px(value).clamp(low, high)
    }
    /// Round values inside the domain, at most about `wanted`, and the decimals they need.
    pub fn ticks(&self, wanted: usize) -> (Vec<f64>, usize) {
        let (low, high) = (self.from.min(self.to), self.from.max(self.to));
        let raw = (high - low) / wanted.max(1) as f64;
        let (mut unit, mut decimals) = (1.0, 0_usize);
        while unit > raw && decimals < 6 {
            unit /= 10.0;
            decimals += 1;
        }
        while unit * 10.0 <= raw {
            unit *= 10.0;
        }
        let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * unit).find(|s| *s >= raw).unwrap_or(unit * 10.0);
        if step > 5.0 * unit {
            decimals = decimals.saturating_sub(1);
        }
        let first = (low / step - 1e-9).ceil() as i64;
        let last = (high / step + 1e-9).floor() as i64;
        ((first..=last.min(first + 100)).map(|i| i as f64 * step).collect(), decimals)
    }
}

/// The smallest and the largest finite value of several series; `None` where there is none.
pub fn extent<'a>(series: impl IntoIterator<Item = &'a [f64]>) -> Option<(f64, f64)> {
    let finite = series.into_iter().flatten().copied().filter(|v| v.is_finite());
    finite.fold(None, |range, v| Some(range.map_or((v, v), |(a, b): (f64, f64)| (a.min(v), b.max(v)))))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_inside() {
        assert_eq!(Scale::new(0.0, 2000.0, 0.0, 1.0).ticks(5).0, [0.0, 500.0, 1000.0, 1500.0, 2000.0]);
        let (ticks, decimals) = Scale::new(0.13, 0.52, 0.0, 1.0).ticks(4);
        assert_eq!((ticks.len(), decimals), (4, 1));
        let flat = Scale::new(3.0, 3.0, 0.0, 10.0);
        assert!(flat.px(0.5).is_finite() && flat.ticks(4).0.len() > 1);
    }
}
