//! Off a box onto the plates: with a rebound, or into a landing that is held.
use crate::answer::TestKind;
use crate::invented::moves::{Spike, land, rebound};
use crate::invented::path::{G, Path};
use crate::invented::{Contact, Random, Scene, Support};

/// What is chosen about a drop.
#[derive(Debug, Clone, PartialEq)]
pub struct Drop {
    /// Body and load, kg.
    pub mass_kg: f64,
    /// Height of the box as noted, m.
    pub box_m: f64,
    /// How far the centre of mass really falls, m: less than the box after a step down, more after a jump off it.
    pub drop_m: f64,
    /// Time on the plate, s.
    pub contact_s: f64,
    /// Height of the rebound from take-off velocity, m; none for a landing.
    pub rebound_m: Option<f64>,
    /// Where in the contact force is greatest, 0 … 1 (0.5: half a sine).
    pub peak_at: f64,
    /// A first impact spike.
    pub spike: Option<Spike>,
    /// Displacement of the centre of mass at touchdown, m (toes down: a little above standing).
    pub posture_m: f64,
    /// How much lower the last landing is than the take-off before it, m.
    pub bent_m: f64,
    /// The plates are empty this long before touchdown, s, the fall included.
    pub empty_s: f64,
    /// Standing on the plates before stepping up, s (0: the recording begins with empty plates).
    pub stood_s: f64,
    /// Standing after, s (0: the recording ends half a second after the last landing begins; negative: in the air).
    pub after_s: f64,
    /// Share of the right plate throughout.
    pub share_right: f64,
}

impl Default for Drop {
    fn default() -> Self {
        Self {
            mass_kg: 72.0,
            box_m: 0.30,
            drop_m: 0.29,
            contact_s: 0.20,
            rebound_m: Some(0.30),
            peak_at: 0.5,
            spike: None,
            posture_m: 0.06,
            bent_m: 0.02,
            empty_s: 1.5,
            stood_s: 0.0,
            after_s: 2.5,
            share_right: 0.5,
        }
    }
}

impl Drop {
    /// A drop jump drawn at random over the range of people, boxes of 20–60 cm, actual drops 80–110 % of them.
    pub fn random(random: &mut Random) -> Self {
        loop {
            let box_m = random.between(0.2, 0.6);
            let drop = Self {
                mass_kg: random.between(45.0, 115.0),
                box_m,
                drop_m: box_m * random.between(0.8, 1.1),
                contact_s: random.between(0.14, 0.32),
                rebound_m: Some(random.between(0.12, 0.48)),
                peak_at: random.between(0.42, 0.55),
                spike: (random.unit() < 0.3).then(|| Spike {
                    height: random.between(0.6, 1.0),
                    rise_s: random.between(0.010, 0.018),
                    fall_s: random.between(0.012, 0.02),
                }),
                posture_m: random.between(0.02, 0.09),
                bent_m: random.between(0.0, 0.04),
                empty_s: random.between(0.8, 2.5),
                stood_s: if random.unit() < 0.3 { random.between(1.5, 3.0) } else { 0.0 },
                after_s: random.between(2.2, 4.0),
                share_right: random.between(0.45, 0.55),
            };
            if drop.scene().is_some() {
                return drop;
            }
        }
    }

    /// A drop landing drawn at random.
    pub fn random_landing(random: &mut Random) -> Self {
        Self { rebound_m: None, spike: None, ..Self::random(random) }
    }

    /// What happens on the plates; none where the wishes cannot be met together.
    pub fn scene(&self) -> Option<Scene> {
        let up_m = self.drop_m + self.posture_m;
        let (mut path, mut support, mut rests) = (Path::from_height(up_m), Vec::new(), Vec::new());
        if self.stood_s > 0.0 {
            path = Path::default();
            path.still(self.stood_s);
            rests.push((0.0, self.stood_s));
            // One foot onto the box, the other after it: the plates carry less and less, then nothing; the climb is theirs no more.
            support.push(Support { from_s: self.stood_s, to_s: self.stood_s + 0.7, part: 0.0 });
            path.still(0.7);
            path.shift(up_m, 0.8);
        }
        let fall_s = (2.0 * self.drop_m / G).sqrt();
        let left_s = path.end_s() - if self.stood_s > 0.0 { 0.8 } else { 0.0 };
        path.still((self.empty_s - fall_s).max(0.0));
        path.fly_to(self.posture_m)?;
        let touchdown_s = path.end_s();
        let mut air = vec![(left_s, touchdown_s)];
        if self.stood_s > 0.0 {
            support.push(Support { from_s: touchdown_s - 1e-6, to_s: touchdown_s, part: 1.0 });
        }
        let first = if self.rebound_m.is_some() { "contact_start" } else { "touchdown" };
        let mut events = vec![(first, touchdown_s)];
        let mut contacts = Vec::new();
        let mut last_s = touchdown_s;
        if let Some(height_m) = self.rebound_m {
            let take_off_s = rebound(&mut path, self.contact_s, (2.0 * G * height_m).sqrt(), self.peak_at, self.spike)?;
            let lowest_point_s = path.rest_between(touchdown_s, take_off_s);
            contacts.push(Contact { touchdown_s, lowest_point_s, take_off_s: Some(take_off_s) });
            path.fly_to(path.last()[2] - self.bent_m)?;
            last_s = path.end_s();
            air.push((take_off_s, last_s));
            events.extend([("lowest_point", lowest_point_s), ("take_off", take_off_s), ("touchdown", last_s)]);
        }
        let landing_end_s = land(&mut path)?;
        contacts.push(Contact { touchdown_s: last_s, lowest_point_s: landing_end_s, take_off_s: None });
        events.push(("landing_end", landing_end_s));
        let stood_s = path.end_s();
        path.still(self.after_s.max(0.0));
        rests.push((stood_s, path.end_s()));
        if self.after_s <= 0.0 {
            path.cut(if self.after_s < 0.0 { last_s - 0.02 } else { last_s + 0.5 });
            rests.pop();
        }
        Some(Scene {
            test: Some(if self.rebound_m.is_some() { TestKind::DropJump } else { TestKind::DropLanding }),
            mass_kg: self.mass_kg,
            box_m: Some(self.box_m),
            air,
            support,
            rests,
            share_right: vec![(0.0, self.share_right)],
            events,
            contacts,
            path,
            ..Scene::default()
        })
    }
}
