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
    /// Velocity as the feet meet the plates, at a fractional sample. Up to there the body falls freely, so it is the last
    /// sample's in the air and the fall since (`fall`: gravity over an interval, m/s a sample). Between that sample and the next
    /// the sum already holds part of a contact that may have begun at once.
    pub fn velocity_meeting(&self, at: f64, fall: f64) -> f64 {
        let outside = at.floor();
        let free = self.falls_freely(outside - 1.0, fall);
        if free { self.velocity_at(outside) - fall * (at - outside) } else { self.velocity_at(at) }
    }
    /// Velocity as the feet leave the plates: the first sample's in the air, and the fall before it.
    pub fn velocity_leaving(&self, at: f64, fall: f64) -> f64 {
        let outside = at.ceil();
        if self.falls_freely(outside, fall) { self.velocity_at(outside) + fall * (outside - at) } else { self.velocity_at(at) }
    }
    /// Whether nothing but gravity acts in the interval that begins at a whole sample.
    fn falls_freely(&self, from: f64, fall: f64) -> bool {
        (self.velocity_at(from + 1.0) - self.velocity_at(from) + fall).abs() < 0.15 * fall
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
    let datum = quiet.end.saturating_sub(start).max(1).min(part.len());
    let (half_dt, per_mass) = (0.5 / rate_hz, 1.0 / mass_kg);
    let (mut velocity_m_s, mut displacement_m) = (vec![0.0; part.len()], vec![0.0; part.len()]);
    let (standing, moving) = part.split_at(datum);
    let (v_standing, v_moving) = velocity_m_s.split_at_mut(datum);
    let (s_standing, s_moving) = displacement_m.split_at_mut(datum);

    let mut previous = part.first().map_or(0.0, |f| (f - weight_n) * per_mass);
    let mut v = 0.0;
    let mut step = |f: &f64, v: &mut f64| {
        let a = (f - weight_n) * per_mass;
        *v += (a + previous) * half_dt;
        previous = a;
    };
    // The first sample has no step of its own; what this adds there is the same all along, and the mean takes it off.
    for (f, out) in standing.iter().zip(&mut *v_standing) {
        step(f, &mut v);
        *out = v;
    }
    let v_mean = mean(v_standing) - v0_m_s;
    v_standing.iter_mut().for_each(|v| *v -= v_mean);
    v -= v_mean;
    // Trapezoid of velocity is the cited method; its error is below a tenth of a millimetre at 200 Hz.
    let (mut s, mut slower) = (0.0, v_standing.first().copied().unwrap_or(0.0));
    for (v, out) in v_standing.iter().zip(&mut *s_standing) {
        s += (v + slower) * half_dt;
        slower = *v;
        *out = s;
    }
    let s_mean = mean(s_standing);
    s_standing.iter_mut().for_each(|s| *s -= s_mean);
    s -= s_mean;
    // Once both zeros are known both sums run side by side: this is the hottest loop of a reading, since the uncertainty
    // reads every trial some two dozen times.
    for ((f, v_out), s_out) in moving.iter().zip(v_moving).zip(s_moving) {
        step(f, &mut v);
        s += (v + slower) * half_dt;
        slower = v;
        *v_out = v;
        *s_out = s;
    }
    Motion { start, velocity_m_s, displacement_m }
}
