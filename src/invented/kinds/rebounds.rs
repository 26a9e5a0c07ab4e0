//! Jumps that bounce: a countermovement jump that rebounds once, and repeated rebounds after an opening jump.
use crate::answer::TestKind;
use crate::invented::moves::{Wish, countermovement, land, rebound};
use crate::invented::path::{G, Path};
use crate::invented::{Contact, Random, Scene};

/// One rebound.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounce {
    /// Time on the plate, s.
    pub contact_s: f64,
    /// Height from take-off velocity, m.
    pub height_m: f64,
}

/// What is chosen about a jump with rebounds.
#[derive(Debug, Clone, PartialEq)]
pub struct Rebounds {
    /// Body and load, kg.
    pub mass_kg: f64,
    /// Height of the opening jump, m.
    pub opening_m: f64,
    /// Depth of its countermovement, m.
    pub depth_m: f64,
    /// Its peak downward velocity, m/s.
    pub down_m_s: f64,
    /// Displacement at the opening take-off, m.
    pub rise_m: f64,
    /// The rebounds, in order.
    pub bounces: Vec<Bounce>,
    /// Where in a contact force is greatest, 0 … 1 (0.5: half a sine).
    pub peak_at: f64,
    /// How much lower each touchdown is than the take-off before it, m.
    pub bent_m: f64,
    /// Quiet standing before, s.
    pub quiet_s: f64,
    /// Standing after, s.
    pub after_s: f64,
    /// Share of the right plate throughout.
    pub share_right: f64,
}

impl Default for Rebounds {
    fn default() -> Self {
        Self {
            mass_kg: 72.0,
            opening_m: 0.28,
            depth_m: 0.28,
            down_m_s: 1.1,
            rise_m: 0.10,
            bounces: vec![Bounce { contact_s: 0.22, height_m: 0.27 }],
            peak_at: 0.5,
            bent_m: 0.005,
            quiet_s: 2.0,
            after_s: 2.5,
            share_right: 0.5,
        }
    }
}

impl Rebounds {
    /// A countermovement jump with one rebound, drawn at random.
    pub fn random_single(random: &mut Random) -> Self {
        Self::random_with(random, |r| vec![Bounce { contact_s: r.between(0.16, 0.32), height_m: r.between(0.12, 0.42) }])
    }

    /// Five to eleven rebounds after an opening jump, drawn at random.
    pub fn random_set(random: &mut Random) -> Self {
        Self::random_with(random, |r| {
            let n = 5 + (r.bits() % 7) as usize;
            let (contact_s, height_m) = (r.between(0.15, 0.24), r.between(0.14, 0.38));
            (0..n).map(|_| Bounce { contact_s: contact_s * r.between(0.93, 1.08), height_m: height_m * r.between(0.9, 1.06) }).collect()
        })
    }

    /// Low, quick hops in place after a small opening jump, drawn at random.
    pub fn random_hops(random: &mut Random) -> Self {
        loop {
            let n = 6 + (random.bits() % 10) as usize;
            let (contact_s, height_m) = (random.between(0.14, 0.2), random.between(0.06, 0.16));
            let hops = Self {
                mass_kg: random.between(45.0, 115.0),
                opening_m: height_m * random.between(0.8, 1.1),
                depth_m: random.between(0.12, 0.2),
                down_m_s: random.between(0.6, 0.9),
                bounces: (0..n)
                    .map(|_| Bounce { contact_s: contact_s * random.between(0.95, 1.05), height_m: height_m * random.between(0.93, 1.06) })
                    .collect(),
                bent_m: random.between(-0.003, 0.006),
                quiet_s: random.between(1.4, 3.0),
                after_s: random.between(2.2, 4.0),
                share_right: random.between(0.45, 0.55),
                ..Self::default()
            };
            if hops.scene().is_some() {
                return hops;
            }
        }
    }

    fn random_with(random: &mut Random, bounces: impl Fn(&mut Random) -> Vec<Bounce>) -> Self {
        loop {
            let jump = Self {
                mass_kg: random.between(45.0, 115.0),
                opening_m: random.between(0.12, 0.45),
                depth_m: random.between(0.18, 0.4),
                down_m_s: random.between(0.7, 1.5),
                rise_m: random.between(0.07, 0.13),
                bounces: bounces(random),
                peak_at: random.between(0.43, 0.54),
                bent_m: random.between(-0.005, 0.015),
                quiet_s: random.between(1.4, 3.0),
                after_s: random.between(2.2, 4.0),
                share_right: random.between(0.45, 0.55),
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
        let wish = Wish { height_m: self.opening_m, depth_m: self.depth_m, down_m_s: self.down_m_s, tempo_ratio: 0.9, rise_m: self.rise_m };
        let dip = countermovement(&mut path, &wish)?;
        let mut events = vec![
            ("movement_start", self.quiet_s),
            ("peak_downward_velocity", dip.peak_downward_velocity_s),
            ("lowest_point", dip.lowest_point_s),
            ("take_off", dip.take_off_s),
        ];
        let (mut air, mut contacts, mut left_s) = (Vec::new(), Vec::new(), dip.take_off_s);
        for bounce in &self.bounces {
            path.fly_to(path.last()[2] - self.bent_m)?;
            let touchdown_s = path.end_s();
            air.push((left_s, touchdown_s));
            left_s = rebound(&mut path, bounce.contact_s, (2.0 * G * bounce.height_m).sqrt(), self.peak_at, None)?;
            // Nobody bounces far above or below standing.
            let at_take_off = path.last()[2];
            if !(-0.06..=0.22).contains(&at_take_off) {
                return None;
            }
            let lowest_point_s = path.rest_between(touchdown_s, left_s);
            contacts.push(Contact { touchdown_s, lowest_point_s, take_off_s: Some(left_s) });
        }
        path.fly_to(path.last()[2] - self.bent_m.max(0.0))?;
        let touchdown_s = path.end_s();
        air.push((left_s, touchdown_s));
        let landing_end_s = land(&mut path)?;
        contacts.push(Contact { touchdown_s, lowest_point_s: landing_end_s, take_off_s: None });
        let first = contacts.first().map_or(touchdown_s, |c: &Contact| c.touchdown_s);
        if let [only, _] = contacts.as_slice() {
            events.extend([("touchdown", first), ("rebound_lowest_point", only.lowest_point_s), ("rebound_take_off", left_s)]);
            events.extend([("rebound_touchdown", touchdown_s), ("landing_end", landing_end_s)]);
        } else {
            events.extend([("touchdown", first), ("last_take_off", left_s), ("last_touchdown", touchdown_s)]);
        }
        let stood_s = path.end_s();
        path.still(self.after_s);
        Some(Scene {
            test: Some(if self.bounces.len() == 1 { TestKind::CountermovementReboundJump } else { TestKind::ReboundJumps }),
            mass_kg: self.mass_kg,
            air,
            rests: vec![(0.0, self.quiet_s), (stood_s, path.end_s())],
            share_right: vec![(0.0, self.share_right)],
            events,
            contacts,
            path,
            ..Scene::default()
        })
    }
}
