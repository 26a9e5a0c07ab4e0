//! A jump from a held squat, perhaps with a dip that nobody should have made.
use crate::answer::TestKind;
use crate::invented::moves::{land, push_off};
use crate::invented::path::{G, Path};
use crate::invented::{Contact, Random, Scene};

/// What is chosen about a squat jump.
#[derive(Debug, Clone, PartialEq)]
pub struct SquatJump {
    /// Body and load, kg.
    pub mass_kg: f64,
    /// Jump height from take-off velocity, m.
    pub height_m: f64,
    /// Depth of the held squat, m.
    pub depth_m: f64,
    /// Going down takes this long, s.
    pub down_s: f64,
    /// The squat is held this long, s.
    pub hold_s: f64,
    /// A dip before the push: how deep, m (0: none); it takes `0.25 + 2·depth` s.
    pub dip_m: f64,
    /// Force climbs over this long, s.
    pub climb_s: f64,
    /// Force falls to nothing over this long before take-off, s.
    pub release_s: f64,
    /// Displacement at take-off, m.
    pub rise_m: f64,
    /// How much lower the landing is than the take-off, m.
    pub bent_m: f64,
    /// Quiet standing before, s.
    pub quiet_s: f64,
    /// Standing after, s.
    pub after_s: f64,
    /// Share of the right plate throughout.
    pub share_right: f64,
}

impl Default for SquatJump {
    fn default() -> Self {
        Self {
            mass_kg: 72.0,
            height_m: 0.28,
            depth_m: 0.32,
            down_s: 1.2,
            hold_s: 2.0,
            dip_m: 0.0,
            climb_s: 0.12,
            release_s: 0.08,
            rise_m: 0.11,
            bent_m: 0.02,
            quiet_s: 2.0,
            after_s: 2.5,
            share_right: 0.5,
        }
    }
}

impl SquatJump {
    /// A squat jump drawn at random over the range of people, without a dip.
    pub fn random(random: &mut Random) -> Self {
        loop {
            let jump = Self {
                mass_kg: random.between(45.0, 115.0),
                height_m: random.between(0.10, 0.48),
                depth_m: random.between(0.2, 0.42),
                down_s: random.between(0.8, 1.6),
                hold_s: random.between(1.0, 3.0),
                climb_s: random.between(0.08, 0.22),
                release_s: random.between(0.06, 0.11),
                rise_m: random.between(0.07, 0.15),
                bent_m: random.between(0.0, 0.04),
                quiet_s: random.between(1.4, 3.0),
                after_s: random.between(2.2, 4.0),
                share_right: random.between(0.45, 0.55),
                ..Self::default()
            };
            if jump.scene().is_some() {
                return jump;
            }
        }
    }

    /// What happens on the plates; none where the wishes cannot be met together.
    pub fn scene(&self) -> Option<Scene> {
        let mut path = Path::default();
        path.still(self.quiet_s);
        path.shift(-self.depth_m, self.down_s);
        let held_s = path.end_s();
        path.still(self.hold_s);
        let hold_end_s = path.end_s();
        if self.dip_m > 0.0 {
            path.shift(-self.dip_m, 0.25 + 2.0 * self.dip_m);
        }
        let movement_start_s = path.end_s();
        let take_off_s = push_off(&mut path, (2.0 * G * self.height_m).sqrt(), self.rise_m, self.climb_s, self.release_s)?;
        path.fly_to(path.last()[2] - self.bent_m)?;
        let touchdown_s = path.end_s();
        let landing_end_s = land(&mut path)?;
        let stood_s = path.end_s();
        path.still(self.after_s);
        Some(Scene {
            test: Some(TestKind::SquatJump),
            mass_kg: self.mass_kg,
            air: vec![(take_off_s, touchdown_s)],
            rests: vec![(0.0, self.quiet_s), (held_s, hold_end_s), (stood_s, path.end_s())],
            share_right: vec![(0.0, self.share_right)],
            events: vec![
                ("held_squat", held_s),
                ("dip_start", hold_end_s),
                ("movement_start", movement_start_s),
                ("take_off", take_off_s),
                ("touchdown", touchdown_s),
                ("landing_end", landing_end_s),
            ],
            contacts: vec![Contact { touchdown_s, lowest_point_s: landing_end_s, take_off_s: None }],
            path,
            ..Scene::default()
        })
    }
}
