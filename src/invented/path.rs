//! The motion of an invented centre of mass: a chain of closed forms `a(t) = c₀ + c₁·cos(ωt + φ)`, so that velocity and
//! displacement are known exactly at every instant, whatever the sampling.
use crate::force::math::{cos, sin};
use core::f64::consts::PI;

/// Gravity of every invented recording, m/s².
pub const G: f64 = 9.806_65;

/// One piece of acceleration.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Piece {
    start_s: f64,
    length_s: f64,
    c0: f64,
    c1: f64,
    omega: f64,
    phase: f64,
    v0: f64,
    s0: f64,
}

impl Piece {
    fn at(&self, t: f64) -> [f64; 3] {
        let t = t - self.start_s;
        let (c, s0) = (cos(self.omega * t + self.phase), sin(self.phase));
        let a = self.c0 + self.c1 * c;
        if self.omega == 0.0 {
            return [a, self.v0 + a * t, self.s0 + self.v0 * t + 0.5 * a * t * t];
        }
        let k = self.c1 / self.omega;
        let v = self.v0 + self.c0 * t + k * (sin(self.omega * t + self.phase) - s0);
        let s = self.s0 + self.v0 * t + 0.5 * self.c0 * t * t + k / self.omega * (cos(self.phase) - c) - k * s0 * t;
        [a, v, s]
    }
}

/// A motion of the centre of mass; displacement 0 is quiet standing on the plate.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Path {
    pieces: Vec<Piece>,
    start_m: f64,
}

impl Path {
    /// A motion that begins at rest at a height above standing, m (on a box, say).
    pub fn from_height(start_m: f64) -> Self {
        Self { pieces: Vec::new(), start_m }
    }
    /// Adds `a(t) = c₀ + c₁·cos(ωt + φ)` for a while.
    pub fn push(&mut self, length_s: f64, c0: f64, c1: f64, omega: f64, phase: f64) {
        let start_s = self.end_s();
        let [_, v0, s0] = self.at(start_s);
        self.pieces.push(Piece { start_s, length_s, c0, c1, omega, phase, v0, s0 });
    }
    /// No acceleration for a while: rest, where the motion had come to rest.
    pub fn still(&mut self, length_s: f64) {
        self.push(length_s, 0.0, 0.0, 0.0, 0.0);
    }
    /// From rest to rest, `rise_m` higher (negative: lower): velocity is a raised cosine.
    pub fn shift(&mut self, rise_m: f64, length_s: f64) {
        self.push(length_s, 0.0, 2.0 * PI * rise_m / (length_s * length_s), 2.0 * PI / length_s, -PI / 2.0);
    }
    /// Free flight down to a displacement; the time it takes. None where the flight never reaches it.
    pub fn fly_to(&mut self, displacement_m: f64) -> Option<f64> {
        let [_, v, s] = self.at(self.end_s());
        let inside = v * v + 2.0 * G * (s - displacement_m);
        if !(inside >= 0.0) {
            return None;
        }
        let flight = (v + inside.sqrt()) / G;
        self.push(flight, -G, 0.0, 0.0, 0.0);
        Some(flight)
    }
    /// Ends the motion earlier: what comes later never happened in the recording.
    pub fn cut(&mut self, end_s: f64) {
        self.pieces.retain(|p| p.start_s < end_s);
        if let Some(last) = self.pieces.last_mut() {
            last.length_s = last.length_s.min(end_s - last.start_s);
        }
    }
    /// End of the last piece, s.
    pub fn end_s(&self) -> f64 {
        self.pieces.last().map_or(0.0, |p| p.start_s + p.length_s)
    }
    /// Acceleration (m/s²), velocity (m/s) and displacement (m) at a time; after the end, the last piece goes on.
    pub fn at(&self, t: f64) -> [f64; 3] {
        let i = self.pieces.partition_point(|p| p.start_s <= t);
        self.pieces.get(i.saturating_sub(1)).map_or([0.0, 0.0, self.start_m], |p| p.at(t))
    }
    /// Acceleration, velocity and displacement at the end.
    pub fn last(&self) -> [f64; 3] {
        self.at(self.end_s())
    }
    /// The instant in a range where velocity rises through zero, by bisection (velocity is negative at `from`).
    pub fn rest_between(&self, from: f64, to: f64) -> f64 {
        let (mut low, mut high) = (from, to);
        for _ in 0..80 {
            let middle = 0.5 * (low + high);
            if self.at(middle)[1] < 0.0 { low = middle } else { high = middle }
        }
        0.5 * (low + high)
    }
}
