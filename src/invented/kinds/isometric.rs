//! A pull or push against something that does not move: weight from quiet standing, then force beyond it.
use crate::answer::TestKind;
use crate::invented::path::Path;
use crate::invented::{Pull, Random, Rise, Scene};

/// What is chosen about an isometric pull or push.
#[derive(Debug, Clone, PartialEq)]
pub struct Isometric {
    /// Body mass, kg.
    pub mass_kg: f64,
    /// Quiet standing before taking up the slack, s.
    pub quiet_s: f64,
    /// Pre-tension, N above weight.
    pub pre_n: f64,
    /// How fast it creeps, N/s.
    pub creep_n_s: f64,
    /// How long it is held before the pull, s.
    pub ready_s: f64,
    /// A dip right before the rise: depth (N), length (s).
    pub dip: Option<(f64, f64)>,
    /// Form of the rise.
    pub rise: Rise,
    /// Net force it tends to, N.
    pub peak_n: f64,
    /// Held this long from the start of the rise, s.
    pub hold_s: f64,
    /// Standing after, s.
    pub after_s: f64,
    /// Share of the right plate throughout.
    pub share_right: f64,
}

impl Default for Isometric {
    fn default() -> Self {
        Self {
            mass_kg: 72.0,
            quiet_s: 2.0,
            pre_n: 30.0,
            creep_n_s: 0.0,
            ready_s: 1.5,
            dip: None,
            rise: Rise::Exponential(0.12),
            peak_n: 1500.0,
            hold_s: 3.5,
            after_s: 1.5,
            share_right: 0.5,
        }
    }
}

impl Isometric {
    /// A pull drawn at random over the range of people, with steady pre-tension and no dip.
    pub fn random(random: &mut Random) -> Self {
        let mass_kg = random.between(45.0, 115.0);
        Self {
            mass_kg,
            quiet_s: random.between(1.4, 3.0),
            pre_n: random.between(0.0, 45.0),
            ready_s: random.between(1.2, 2.5),
            rise: if random.unit() < 0.5 { Rise::Exponential(random.between(0.06, 0.25)) } else { Rise::Sigmoid(random.between(0.2, 0.6)) },
            peak_n: mass_kg * random.between(10.0, 32.0),
            hold_s: random.between(2.5, 5.0),
            after_s: random.between(1.0, 2.5),
            share_right: random.between(0.45, 0.55),
            ..Self::default()
        }
    }

    /// What happens on the plates; the body never moves.
    pub fn scene(&self) -> Scene {
        let start_s = self.quiet_s + 0.5 + self.ready_s;
        let release_s = start_s + self.hold_s;
        let end_s = release_s + 0.3 + self.after_s;
        let mut path = Path::default();
        path.still(end_s);
        Scene {
            test: Some(TestKind::Isometric),
            path,
            mass_kg: self.mass_kg,
            pull: Some(Pull {
                taut_s: self.quiet_s,
                pre_n: self.pre_n,
                creep_n_s: self.creep_n_s,
                dip: self.dip,
                start_s,
                rise: self.rise,
                peak_n: self.peak_n,
                release_s,
            }),
            rests: vec![(0.0, self.quiet_s), (release_s + 0.3, end_s)],
            share_right: vec![(0.0, self.share_right)],
            events: vec![("taut", self.quiet_s), ("onset", start_s), ("release", release_s)],
            ..Scene::default()
        }
    }
}
