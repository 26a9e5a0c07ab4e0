//! A countermovement jump whose motion is a chain of closed forms: velocity, displacement, every event and every impulse
//! are known exactly, whatever the sampling.
use super::moves::{Wish, countermovement, land};
use super::path::{G, Path};
use super::plates::Plates;
use super::scene::{Contact, Scene};
use crate::answer::TestKind;
use crate::invented::Random;

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
        let mut path = Path::default();
        path.still(self.quiet_s);
        let movement_start_s = path.end_s();
        let dip = countermovement(&mut path, &self.wish())?;
        // Flight, to `bent_m` below the height of take-off.
        let v_to = (2.0 * G * self.height_m).sqrt();
        let flight = (v_to + (v_to * v_to + 2.0 * G * self.bent_m).sqrt()) / G;
        path.push(flight, -G, 0.0, 0.0, 0.0);
        let touchdown_s = path.end_s();
        let landing_end_s = land(&mut path)?;
        path.still(self.after_s);
        Some(Truth {
            path,
            mass_kg: self.mass_kg,
            movement_start_s,
            peak_downward_velocity_s: dip.peak_downward_velocity_s,
            lowest_point_s: dip.lowest_point_s,
            take_off_s: dip.take_off_s,
            touchdown_s,
            landing_end_s,
        })
    }

    /// The countermovement that is wished.
    pub(super) fn wish(&self) -> Wish {
        Wish { height_m: self.height_m, depth_m: self.depth_m, down_m_s: self.down_m_s, tempo_ratio: self.tempo_ratio, rise_m: self.rise_m }
    }

    /// What happens on the plates; none as for [`Jump::truth`].
    pub fn scene(&self) -> Option<Scene> {
        Some(self.scene_of(&self.truth()?))
    }

    fn scene_of(&self, truth: &Truth) -> Scene {
        let [standing, unweighting, braking, propulsion, landing] = self.share_right;
        let from = [
            (0.0, standing),
            (truth.movement_start_s, unweighting),
            (truth.peak_downward_velocity_s, braking),
            (truth.lowest_point_s, propulsion),
            (truth.take_off_s, landing),
            (truth.landing_end_s, standing),
        ];
        let end_s = truth.path.end_s();
        // Sway does not stop for a jump: it dies out half way into the unweighting, before anything is read exactly.
        let into = 0.5 * (truth.movement_start_s + truth.peak_downward_velocity_s);
        Scene {
            test: Some(TestKind::CountermovementJump),
            rests: vec![(0.0, into), (end_s - self.after_s, end_s)],
            path: truth.path.clone(),
            mass_kg: truth.mass_kg,
            air: vec![(truth.take_off_s, truth.touchdown_s)],
            share_right: from.to_vec(),
            events: vec![
                ("movement_start", truth.movement_start_s),
                ("peak_downward_velocity", truth.peak_downward_velocity_s),
                ("lowest_point", truth.lowest_point_s),
                ("take_off", truth.take_off_s),
                ("touchdown", truth.touchdown_s),
                ("landing_end", truth.landing_end_s),
            ],
            contacts: vec![Contact { touchdown_s: truth.touchdown_s, lowest_point_s: truth.landing_end_s, take_off_s: None }],
            ..Scene::default()
        }
    }

    /// The plates of this jump's recording.
    pub fn plates(&self) -> Plates {
        Plates {
            rate_hz: self.rate_hz,
            noise_n: self.noise_n,
            hum_n: self.hum_n,
            zero_n: self.zero_n,
            drift_n_s: [self.drift_n_s; 2],
            step_n: self.step_n,
            seed: self.seed,
            ..Plates::default()
        }
    }

    /// Left and right force of a recording, N, one value each 1/rate.
    pub fn record(&self, truth: &Truth) -> [Vec<f64>; 2] {
        self.plates().record(&self.scene_of(truth))
    }
}
