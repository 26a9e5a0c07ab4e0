//! Force → motion of the centre of mass.
use crate::force::stats::mean;

/// Velocity and displacement over a range of samples, zero in quiet standing.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Motion {
    /// First sample.
    pub start: usize,
    /// Velocity, m/s, up positive, one value a sample from `start`.
    pub velocity_m_s: Vec<f64>,
    /// Displacement from standing, m.
    pub displacement_m: Vec<f64>,
}

impl Motion {
    /// Velocity at a fractional sample; NaN outside.
    pub fn velocity_at(&self, at: f64) -> f64 {
        lerp(&self.velocity_m_s, at - self.start as f64)
    }
    /// Displacement at a fractional sample; NaN outside.
    pub fn displacement_at(&self, at: f64) -> f64 {
        lerp(&self.displacement_m, at - self.start as f64)
    }
}

/// The value between two samples; NaN outside.
pub(crate) fn lerp(x: &[f64], at: f64) -> f64 {
    if !(at >= 0.0) {
        return f64::NAN;
    }
    let i = at.floor() as usize;
    match (x.get(i), x.get(i + 1)) {
        (Some(a), Some(b)) => a + (b - a) * (at - i as f64),
        (Some(a), None) if at - i as f64 <= 1e-9 => *a,
        _ => f64::NAN,
    }
}

/// Trapezoid of `(F − W)/m` from the last half second of quiet standing (ending at `quiet_end`) to `to`; then the
/// means of velocity and of displacement over that half second are set to zero, since a single sample carries the
/// sway [Linthorne 2001, Am. J. Phys. 69:1198; Vanrenterghem et al. 2001, Ergonomics 44:814]. `v0_m_s` moves the
/// velocity's zero (for the uncertainty). Never started at onset: a start 30–130 ms late moves a height by
/// millimetres to centimetres.
pub fn integrate(
    force_n: &[f64],
    quiet: core::ops::Range<usize>,
    to: usize,
    weight_n: f64,
    mass_kg: f64,
    rate_hz: f64,
    v0_m_s: f64,
) -> Motion {
    let half = (0.5 * rate_hz).round() as usize;
    let start = quiet.end.saturating_sub(half).max(quiet.start);
    let Some(part) = force_n.get(start..to.min(force_n.len())) else { return Motion::default() };
    let datum = quiet.end.saturating_sub(start).max(1).min(part.len().max(1));
    let (dt, per_mass) = (1.0 / rate_hz, 1.0 / mass_kg);
    let (first, rest) = part.split_at(datum.min(part.len()));
    let mut previous = part.first().map_or(0.0, |f| (f - weight_n) * per_mass);
    let mut v = 0.0;
    let mut step = |f: &f64| {
        let a = (f - weight_n) * per_mass;
        v += 0.5 * (a + previous) * dt;
        previous = a;
        v
    };
    let mut velocity_m_s = Vec::with_capacity(part.len());
    // The first sample has no step of its own; what this adds there is the same all along, and the mean takes it off.
    velocity_m_s.extend(first.iter().map(&mut step));
    let v_mean = mean(&velocity_m_s) - v0_m_s;
    velocity_m_s.iter_mut().for_each(|v| *v -= v_mean);
    // Trapezoid of velocity is the cited method; its error is below a tenth of a millimetre at 200 Hz. Once the zero of
    // velocity is known, both sums run side by side: this is the hottest loop of a reading, since the uncertainty reads
    // every trial some two dozen times.
    let mut displacement_m = Vec::with_capacity(part.len());
    let (mut s, mut slower) = (0.0, velocity_m_s.first().copied().unwrap_or(0.0));
    let mut climb = |v: f64| {
        s += 0.5 * (v + slower) * dt;
        slower = v;
        s
    };
    displacement_m.extend(velocity_m_s.iter().map(|v| climb(*v)));
    for f in rest {
        let v = step(f) - v_mean;
        velocity_m_s.push(v);
        displacement_m.push(climb(v));
    }
    let s_mean = mean(displacement_m.get(..datum).unwrap_or_default());
    displacement_m.iter_mut().for_each(|s| *s -= s_mean);
    Motion { start, velocity_m_s, displacement_m }
}
