//! Force against something that does not move: pre-tension, perhaps a dip, a rise of known rate, a hold, letting go.
use crate::force::math::{cos, exp, sin};
use core::f64::consts::PI;

/// The form of the rise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rise {
    /// `1 − exp(−t/τ)`: steepest at the start; τ in s.
    Exponential(f64),
    /// Half a cosine over this long, s: steepest in the middle.
    Sigmoid(f64),
}

impl Rise {
    /// Part of the way, and the part's integral, at a time since the start.
    fn at(self, t: f64) -> [f64; 2] {
        if t <= 0.0 {
            return [0.0; 2];
        }
        match self {
            Self::Exponential(tau) => [1.0 - exp(-t / tau), t - tau * (1.0 - exp(-t / tau))],
            Self::Sigmoid(length) if t < length => {
                let x = PI * t / length;
                [0.5 * (1.0 - cos(x)), 0.5 * (t - length / PI * sin(x))]
            }
            Self::Sigmoid(length) => [1.0, t - 0.5 * length],
        }
    }
}

/// Net force (above weight) of one pull or push.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pull {
    /// Taking up the slack begins, s, and lasts half a second.
    pub taut_s: f64,
    /// Steady pre-tension, N.
    pub pre_n: f64,
    /// How fast the pre-tension creeps, N/s.
    pub creep_n_s: f64,
    /// A dip right before the rise: how deep (N) and how long (s).
    pub dip: Option<(f64, f64)>,
    /// The rise starts, s.
    pub start_s: f64,
    /// Its form.
    pub rise: Rise,
    /// Net force it tends to, N.
    pub peak_n: f64,
    /// Letting go begins, s; it takes 0.3 s.
    pub release_s: f64,
}

impl Pull {
    /// Net force at a time, N.
    pub fn net_n(&self, t: f64) -> f64 {
        let ramp = |from: f64, length: f64| 0.5 * (1.0 - cos(PI * ((t - from) / length).clamp(0.0, 1.0)));
        let base = self.pre_n * ramp(self.taut_s, 0.5) + self.creep_n_s * (t.min(self.start_s) - self.taut_s - 0.5).max(0.0);
        let dip = self.dip.map_or(0.0, |(size, length)| {
            let x = (t - self.start_s + length) / length;
            if (0.0..1.0).contains(&x) { 0.5 * size * (1.0 - cos(2.0 * PI * x)) } else { 0.0 }
        });
        let held = base - dip + (self.peak_n - self.at_start_n()) * self.rise.at(t - self.start_s)[0];
        held * (1.0 - ramp(self.release_s, 0.3))
    }
    /// Net force as the rise starts, N.
    pub fn at_start_n(&self) -> f64 {
        self.pre_n + self.creep_n_s * (self.start_s - self.taut_s - 0.5).max(0.0)
    }
    /// Impulse of net force from the start of the rise over this long, N·s (while it is held).
    pub fn impulse_n_s(&self, over_s: f64) -> f64 {
        self.at_start_n() * over_s + (self.peak_n - self.at_start_n()) * self.rise.at(over_s)[1]
    }
    /// Largest net force, N: at letting go.
    pub fn largest_n(&self) -> f64 {
        self.net_n(self.release_s)
    }
    /// Steepest mean rate over this long, N/s.
    pub fn steepest_n_s(&self, over_s: f64) -> f64 {
        let from = match self.rise {
            Rise::Exponential(_) => 0.0,
            Rise::Sigmoid(length) => 0.5 * (length - over_s),
        };
        (self.net_n(self.start_s + from + over_s) - self.net_n(self.start_s + from)) / over_s
    }
}
