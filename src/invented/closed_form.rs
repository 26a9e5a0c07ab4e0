//! A countermovement jump whose motion is a chain of closed forms: `a(t) = c₀ + c₁·cos(ωt + φ)` piece by piece, so
//! that velocity, displacement, every event and every impulse are known exactly, whatever the sampling.
use crate::force::math::{acos, cos, sin};
use crate::invented::Random;
use core::f64::consts::PI;

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

/// A motion of the centre of mass.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Path {
    pieces: Vec<Piece>,
}

impl Path {
    fn push(&mut self, length_s: f64, c0: f64, c1: f64, omega: f64, phase: f64) {
        let start_s = self.end_s();
        let [_, v0, s0] = self.at(start_s);
        self.pieces.push(Piece { start_s, length_s, c0, c1, omega, phase, v0, s0 });
    }
    /// End of the last piece, s.
    pub fn end_s(&self) -> f64 {
        self.pieces.last().map_or(0.0, |p| p.start_s + p.length_s)
    }
    /// Acceleration, velocity and displacement at a time.
    pub fn at(&self, t: f64) -> [f64; 3] {
        let i = self.pieces.partition_point(|p| p.start_s <= t);
        self.pieces.get(i.saturating_sub(1)).map_or([0.0; 3], |p| p.at(t))
    }
}

/// What is chosen about an invented jump and its recording.
#[derive(Debug, Clone, PartialEq)]
pub struct Jump {
    /// Body mass, kg.
    pub mass_kg: f64,
    /// Jump height from take-off velocity, m.
    pub height_m: f64,
    /// Depth of the countermovement, m.
    pub depth_m: f64,
    /// Peak downward velocity, m/s.
    pub down_m_s: f64,
    /// Time of unloading as a part of the time from deepest unweighting to the lowest point.
    pub tempo_ratio: f64,
    /// Displacement at take-off, m.
    pub rise_m: f64,
    /// How much lower the landing is than the take-off, m.
    pub bent_m: f64,
    /// Quiet standing before, s.
    pub quiet_s: f64,
    /// Standing after, s.
    pub after_s: f64,
    /// Share of force on the right plate, 0 … 1, in each of: standing, unweighting, braking, propulsion, landing.
    pub share_right: [f64; 5],
    /// Samples a second.
    pub rate_hz: f64,
    /// Noise of each plate, N (standard deviation).
    pub noise_n: f64,
    /// Mains hum of each plate, N (amplitude, 50 Hz).
    pub hum_n: f64,
    /// Zero error of each plate, N.
    pub zero_n: [f64; 2],
    /// Drift of each plate, N/s.
    pub drift_n_s: f64,
    /// Step of each plate's reading, N (0: none).
    pub step_n: f64,
    /// Seed of noise.
    pub seed: u64,
}

impl Default for Jump {
    fn default() -> Self {
        Self {
            mass_kg: 72.0,
            height_m: 0.32,
            depth_m: 0.30,
            down_m_s: 1.15,
            tempo_ratio: 0.9,
            rise_m: 0.11,
            bent_m: 0.02,
            quiet_s: 2.0,
            after_s: 2.5,
            share_right: [0.5; 5],
            rate_hz: 1000.0,
            noise_n: 0.0,
            hum_n: 0.0,
            zero_n: [0.0; 2],
            drift_n_s: 0.0,
            step_n: 0.0,
            seed: 1,
        }
    }
}

/// Gravity of every invented recording, m/s².
const G: f64 = 9.806_65;

/// The exact motion behind a recording, and its events in seconds.
#[derive(Debug, Clone, PartialEq)]
pub struct Truth {
    /// The motion of the centre of mass; free flight included.
    pub path: Path,
    /// Mass, kg.
    pub mass_kg: f64,
    /// First instant of movement.
    pub movement_start_s: f64,
    /// Peak downward velocity.
    pub peak_downward_velocity_s: f64,
    /// Lowest point.
    pub lowest_point_s: f64,
    /// Take-off.
    pub take_off_s: f64,
    /// Touchdown.
    pub touchdown_s: f64,
    /// Lowest point of landing.
    pub landing_end_s: f64,
}

impl Truth {
    /// Vertical force on the feet at a time, N.
    pub fn force_n(&self, t: f64) -> f64 {
        if t >= self.take_off_s && t < self.touchdown_s { 0.0 } else { self.mass_kg * (self.path.at(t)[0] + G) }
    }
    /// Velocity at take-off, m/s.
    pub fn take_off_velocity(&self) -> f64 {
        self.path.at(self.take_off_s)[1]
    }
}

impl Jump {
    /// A jump drawn at random over the range of people: 45–115 kg, 12–55 cm, shallow to deep, slow to fast.
    pub fn random(random: &mut Random) -> Self {
        loop {
            let jump = Self {
                mass_kg: random.between(45.0, 115.0),
                height_m: random.between(0.12, 0.55),
                depth_m: random.between(0.16, 0.42),
                down_m_s: random.between(0.7, 1.6),
                tempo_ratio: random.between(0.6, 1.5),
                rise_m: random.between(0.07, 0.15),
                bent_m: random.between(0.0, 0.04),
                quiet_s: random.between(1.4, 3.0),
                after_s: random.between(2.2, 4.0),
                share_right: [(); 5].map(|()| random.between(0.45, 0.55)),
                seed: random.bits(),
                ..Self::default()
            };
            if jump.truth().is_some() {
                return jump;
            }
        }
    }

    /// The exact motion; none where the wishes cannot be met together (too shallow for so fast a descent, …).
    pub fn truth(&self) -> Option<Truth> {
        let v_to = (2.0 * G * self.height_m).sqrt();
        let mut path = Path::default();
        path.push(self.quiet_s, 0.0, 0.0, 0.0, 0.0);
        let movement_start_s = path.end_s();
        // Unweighting: half a cosine from 0 to −A over r·T, then half a cosine from −A through 0 (peak downward
        // velocity, crossed steeply as people do) to B, where velocity is zero again. With A = T = 1 the shape has
        // velocity f and depth h; velocity scales with A·T, depth with A·T².
        let r = self.tempo_ratio;
        let shape = |a: f64, t: f64, path: &mut Path| {
            path.push(r * t, -a / 2.0, a / 2.0, PI / (r * t), 0.0);
            let b = a * (1.0 + r);
            let start = path.end_s();
            path.push(t, (b - a) / 2.0, -(a + b) / 2.0, PI / t, 0.0);
            start + t / PI * acos((b - a) / (a + b))
        };
        let mut unit = Path::default();
        let crossing = shape(1.0, 1.0, &mut unit);
        let (f, h) = (-unit.at(crossing)[1], -unit.at(unit.end_s())[2]);
        let t = self.depth_m / self.down_m_s * f / h;
        let a = self.down_m_s / (t * f);
        if !(0.3 * G..0.93 * G).contains(&a) {
            return None;
        }
        let peak_downward_velocity_s = shape(a, t, &mut path);
        let lowest_point_s = path.end_s();
        let b = a * (1.0 + r);
        // Propulsion: a plateau of B, then a quarter cosine to −g; the two lengths give velocity and height.
        let plateau = |t4: f64| (v_to - (b + G) * 2.0 * t4 / PI + G * t4) / b;
        let extend = |path: &Path, t4: f64| {
            let mut path = path.clone();
            path.push(plateau(t4), b, 0.0, 0.0, 0.0);
            path.push(t4, -G, b + G, PI / (2.0 * t4), 0.0);
            path
        };
        let rise = |t4: f64| {
            let p = extend(&path, t4);
            p.at(p.end_s())[2]
        };
        let (mut low, mut high) = (0.01, 0.5);
        if plateau(high) < 0.0 {
            high = v_to / ((b + G) * 2.0 / PI - G);
        }
        if !(high > low) || (rise(low) - self.rise_m) * (rise(high) - self.rise_m) > 0.0 {
            return None;
        }
        let rising = rise(high) > rise(low);
        for _ in 0..80 {
            let middle = 0.5 * (low + high);
            if (rise(middle) > self.rise_m) == rising { high = middle } else { low = middle }
        }
        let mut path = extend(&path, 0.5 * (low + high));
        let take_off_s = path.end_s();
        if take_off_s - lowest_point_s > 0.7 {
            return None;
        }
        // Flight, to `bent_m` below the height of take-off.
        let flight = (v_to + (v_to * v_to + 2.0 * G * self.bent_m).sqrt()) / G;
        path.push(flight, -G, 0.0, 0.0, 0.0);
        let touchdown_s = path.end_s();
        // Landing: a steep quarter sine up to P, half a cosine down to C at the lowest point; then up to standing.
        let (ta, tb, c) = (0.045, 0.16, 0.35 * G);
        let v_td = -path.at(touchdown_s)[1];
        // Impulse of both pieces stops the fall: v_td = −g·ta + (P+g)·2ta/π + (P+C)/2·tb.
        let p = (v_td + G * ta - G * 2.0 * ta / PI - c * tb / 2.0) / (2.0 * ta / PI + tb / 2.0);
        if p < c {
            return None;
        }
        path.push(ta, -G, p + G, PI / (2.0 * ta), -PI / 2.0);
        path.push(tb, (p + c) / 2.0, (p - c) / 2.0, PI / tb, 0.0);
        let landing_end_s = path.end_s();
        let low = -path.at(landing_end_s)[2];
        // Up again: a quarter cosine of C, then a raised cosine downward that ends at rest in standing.
        let t1 = PI / 2.0 * (0.3 * low / c).sqrt();
        let t2 = 0.7 * low * PI / (c * t1);
        let d = 4.0 * c * t1 / (PI * t2);
        path.push(t1, 0.0, c, PI / (2.0 * t1), 0.0);
        path.push(t2, -d / 2.0, d / 2.0, 2.0 * PI / t2, 0.0);
        path.push(self.after_s, 0.0, 0.0, 0.0, 0.0);
        let mass_kg = self.mass_kg;
        Some(Truth { path, mass_kg, movement_start_s, peak_downward_velocity_s, lowest_point_s, take_off_s, touchdown_s, landing_end_s })
    }

    /// Left and right force of a recording, N, one value each 1/rate.
    pub fn record(&self, truth: &Truth) -> [Vec<f64>; 2] {
        let n = (truth.path.end_s() * self.rate_hz) as usize;
        let mut random = Random::new(self.seed);
        let ends = [truth.movement_start_s, truth.peak_downward_velocity_s, truth.lowest_point_s, truth.take_off_s];
        let mut out = [Vec::with_capacity(n), Vec::with_capacity(n)];
        for i in 0..n {
            let t = i as f64 / self.rate_hz;
            let force = truth.force_n(t);
            let phase = if t > truth.landing_end_s { 0 } else { ends.iter().filter(|e| t >= **e).count() };
            let share = self.share_right.get(phase).copied().unwrap_or(0.5);
            let hum = self.hum_n * sin(2.0 * PI * 50.0 * t);
            for (side, part) in [1.0 - share, share].into_iter().enumerate() {
                let mut f = force * part + self.zero_n[side] + self.drift_n_s * t + hum + self.noise_n * random.normal();
                if self.step_n > 0.0 {
                    f = (f / self.step_n).round() * self.step_n;
                }
                out[side].push(f);
            }
        }
        out
    }
}
