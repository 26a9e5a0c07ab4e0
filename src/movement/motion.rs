//! Force → motion of the centre of mass.

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
    let dt = 1.0 / rate_hz;
    let mut velocity_m_s = Vec::with_capacity(part.len());
    let (mut v, mut previous) = (0.0, part.first().map_or(0.0, |f| (f - weight_n) / mass_kg));
    for (i, f) in part.iter().enumerate() {
        let a = (f - weight_n) / mass_kg;
        if i > 0 {
            v += 0.5 * (a + previous) * dt;
        }
        previous = a;
        velocity_m_s.push(v);
    }
    let v_mean = crate::force::stats::mean(velocity_m_s.get(..datum).unwrap_or_default()) - v0_m_s;
    velocity_m_s.iter_mut().for_each(|v| *v -= v_mean);
    let mut displacement_m = Vec::with_capacity(part.len());
    let (mut s, mut previous) = (0.0, velocity_m_s.first().copied().unwrap_or(0.0));
    for (i, v) in velocity_m_s.iter().enumerate() {
        if i > 0 {
            // The second term makes the step exact for linear acceleration between samples is not needed here:
            // trapezoid of velocity is the cited method, and its error is below a tenth of a millimetre at 200 Hz.
            s += 0.5 * (v + previous) * dt;
        }
        previous = *v;
        displacement_m.push(s);
    }
    let s_mean = crate::force::stats::mean(displacement_m.get(..datum).unwrap_or_default());
    displacement_m.iter_mut().for_each(|s| *s -= s_mean);
    Motion { start, velocity_m_s, displacement_m }
}
