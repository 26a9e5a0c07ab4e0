//! What happens on the plates, without the plates: a motion, what of it the plates carry, and what is true of it.
use super::path::{G, Path};
use super::pull::Pull;
use crate::answer::TestKind;
use crate::force::math::{cos, sin};
use crate::invented::Random;
use core::f64::consts::PI;

/// One contact after a flight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contact {
    /// Feet meet the plate, s.
    pub touchdown_s: f64,
    /// Lowest point, s.
    pub lowest_point_s: f64,
    /// Feet leave it again, s; none for a landing.
    pub take_off_s: Option<f64>,
}

/// A change of the part of the body's force that the plates carry: 0 beside them, 1 on them; a raised cosine between.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Support {
    /// Begins, s.
    pub from_s: f64,
    /// Ends, s.
    pub to_s: f64,
    /// Part carried from then on.
    pub part: f64,
}

/// A small closed movement while standing, laid over the path: acceleration `A·(cos k₁x − cos k₂x)`, whole turns both, so
/// that force, velocity and displacement are nothing at either end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sway {
    /// Begins, s.
    pub from_s: f64,
    /// Ends, s.
    pub to_s: f64,
    /// `A`, m/s².
    pub size_m_s2: f64,
    /// `k₁` and `k₂`, different.
    pub turns: [f64; 2],
}

impl Sway {
    fn at(&self, t: f64) -> [f64; 3] {
        if !(t > self.from_s && t < self.to_s) {
            return [0.0; 3];
        }
        let (t, length) = (t - self.from_s, self.to_s - self.from_s);
        let [a, b] = self.turns.map(|k| {
            let w = 2.0 * PI * k / length;
            [cos(w * t), sin(w * t) / w, (1.0 - cos(w * t)) / (w * w)]
        });
        [0, 1, 2].map(|i| self.size_m_s2 * (a[i] - b[i]))
    }
}

/// What happens on the plates and what is true of it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Scene {
    /// What a reading should call it; none where it is no trial.
    pub test: Option<TestKind>,
    /// Motion of the centre of mass.
    pub path: Path,
    /// Body and load, kg.
    pub mass_kg: f64,
    /// The load in it, kg.
    pub load_kg: f64,
    /// Box height as a coach would note it, m (drops).
    pub box_m: Option<f64>,
    /// From … to, s: the plates carry exactly nothing (flight, or standing on a box).
    pub air: Vec<(f64, f64)>,
    /// Changes of the part that the plates carry, in order; 1 before the first, or 0 where the first begins below time 0.
    pub support: Vec<Support>,
    /// A pull or push against something that does not move.
    pub pull: Option<Pull>,
    /// Stretches of standing still, from … to, s, where sway may be laid on.
    pub rests: Vec<(f64, f64)>,
    /// Sway laid on.
    pub sway: Vec<Sway>,
    /// From time, s: share of the right plate, 0 … 1.
    pub share_right: Vec<(f64, f64)>,
    /// Named instants, s, in order of time.
    pub events: Vec<(&'static str, f64)>,
    /// Contacts after a flight, the last landing included, in order.
    pub contacts: Vec<Contact>,
}

impl Scene {
    /// Standard weight, N.
    pub fn weight_n(&self) -> f64 {
        self.mass_kg * G
    }
    /// End, s.
    pub fn end_s(&self) -> f64 {
        self.path.end_s()
    }
    /// A named instant; NaN where there is none.
    pub fn event(&self, name: &str) -> f64 {
        self.events.iter().find(|(n, _)| *n == name).map_or(f64::NAN, |(_, t)| *t)
    }
    /// Acceleration, velocity and displacement of the centre of mass, sway included.
    pub fn at(&self, t: f64) -> [f64; 3] {
        self.sway.iter().fold(self.path.at(t), |[a, v, s], sway| {
            let [da, dv, ds] = sway.at(t);
            [a + da, v + dv, s + ds]
        })
    }
    /// Part of the body's force that the plates carry.
    pub fn support(&self, t: f64) -> f64 {
        if self.air.iter().any(|(from, to)| t >= *from && t < *to) {
            return 0.0;
        }
        let mut part = 1.0;
        for change in &self.support {
            if t >= change.to_s {
                part = change.part;
            } else if t > change.from_s {
                let x = (t - change.from_s) / (change.to_s - change.from_s);
                part += (change.part - part) * 0.5 * (1.0 - cos(PI * x));
            }
        }
        part
    }
    /// Vertical force on the plates together, N.
    pub fn force_n(&self, t: f64) -> f64 {
        let part = self.support(t);
        let body = if part == 0.0 { 0.0 } else { self.mass_kg * (self.at(t)[0] + G) * part };
        body + self.pull.as_ref().map_or(0.0, |p| p.net_n(t))
    }
    /// Share of the right plate at a time.
    pub fn share_right(&self, t: f64) -> f64 {
        self.share_right.iter().rev().find(|(from, _)| t >= *from).or(self.share_right.first()).map_or(0.5, |s| s.1)
    }
    /// Lays random sway on every rest longer than half a second: breath, heart and balance, together about this large,
    /// m/s² (0.02 is 1.4 N under 70 kg).
    pub fn sway(mut self, random: &mut Random, size_m_s2: f64) -> Self {
        for (from_s, to_s) in self.rests.clone() {
            let length = to_s - from_s;
            if !(length > 0.5 && size_m_s2 > 0.0) {
                continue;
            }
            for (low, high, part) in [(0.2, 0.5, 0.4), (0.8, 1.8, 0.7), (2.0, 5.0, 0.5)] {
                let turns = |random: &mut Random| (random.between(low, high) * length).round().max(1.0);
                let first = turns(random);
                let second = turns(random);
                let turns = [first, if second == first { first + 1.0 } else { second }];
                let size_m_s2 = size_m_s2 * part * random.between(0.6, 1.4) * if random.unit() < 0.5 { -1.0 } else { 1.0 };
                self.sway.push(Sway { from_s, to_s, size_m_s2, turns });
            }
        }
        self
    }
}
