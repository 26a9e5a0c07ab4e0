//! What happens on plates and is no test: stepping on and off, walking, talking, starting and thinking better of it.
use crate::force::math::sin;
use crate::invented::moves::{Wish, countermovement, land};
use crate::invented::path::Path;
use crate::invented::{Random, Scene, Support, Sway};
use core::f64::consts::PI;

/// What it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotATrial {
    /// Empty plates, somebody steps on and stands.
    StepOn,
    /// Somebody stands, steps off; empty plates.
    StepOff,
    /// Four steps across.
    Walk,
    /// Talking: weight from foot to foot, the body bobbing.
    Talk,
    /// A dip as for a jump, then up again without leaving the plates.
    FalseStart,
    /// Nobody comes.
    Empty,
}

impl NotATrial {
    /// All of them.
    pub const ALL: [Self; 6] = [Self::StepOn, Self::StepOff, Self::Walk, Self::Talk, Self::FalseStart, Self::Empty];

    /// What happens on the plates.
    pub fn scene(self, mass_kg: f64, random: &mut Random) -> Scene {
        let mut path = Path::default();
        let mut scene = Scene { mass_kg, share_right: vec![(0.0, 0.5)], ..Scene::default() };
        match self {
            Self::StepOn => {
                let (empty, step) = (random.between(0.8, 2.0), random.between(0.5, 0.9));
                let stands = random.between(2.0, 4.0);
                path.still(empty + step + 0.4 + stands);
                scene.support =
                    vec![Support { from_s: -2.0, to_s: -1.0, part: 0.0 }, Support { from_s: empty, to_s: empty + step, part: 1.0 }];
                scene.share_right = vec![(0.0, 0.0), (empty + 0.5 * step, 0.5)];
                scene.rests = vec![(empty + step + 0.4, path.end_s())];
            }
            Self::StepOff => {
                let (stands, step) = (random.between(2.0, 4.0), random.between(0.5, 0.9));
                path.still(stands + step + random.between(0.8, 2.0));
                scene.support = vec![Support { from_s: stands, to_s: stands + step, part: 0.0 }];
                scene.rests = vec![(0.0, stands)];
            }
            Self::Walk => walk(&mut scene, &mut path, random),
            Self::Talk => {
                let length = random.between(4.0, 8.0);
                path.still(length);
                scene.share_right = (0..8).map(|k| (length * f64::from(k) / 8.0, random.between(0.25, 0.75))).collect();
                for _ in 0..3 {
                    let turns = (random.between(0.7, 1.6) * length).round();
                    scene.sway.push(Sway {
                        from_s: 0.0,
                        to_s: length,
                        size_m_s2: random.between(0.15, 0.5),
                        turns: [turns, turns + 1.0 + (random.bits() % 4) as f64],
                    });
                }
            }
            Self::FalseStart => {
                path.still(random.between(1.5, 2.5));
                let depth = random.between(0.06, 0.2);
                path.shift(-depth, random.between(0.5, 0.9));
                path.shift(depth, random.between(0.6, 1.0));
                path.still(random.between(1.5, 2.5));
            }
            Self::Empty => {
                path.still(random.between(3.0, 6.0));
                scene.support = vec![Support { from_s: -2.0, to_s: -1.0, part: 0.0 }];
            }
        }
        scene.path = path;
        scene
    }
}

/// Four steps: the body rises and sinks by two or three centimetres twice a stride, each foot carries it in turn.
fn walk(scene: &mut Scene, path: &mut Path, random: &mut Random) {
    let (pace, empty) = (random.between(0.5, 0.62), random.between(0.6, 1.5));
    let bob_m = random.between(0.015, 0.03);
    let omega = 2.0 * PI / pace;
    path.still(empty);
    // A cosine from its top: acceleration −bob·ω²·cos(ωt), velocity 0 at either end of whole turns.
    path.push(4.0 * pace, 0.0, bob_m * omega * omega, omega, 0.0);
    path.still(random.between(0.6, 1.5));
    scene.support = vec![
        Support { from_s: -2.0, to_s: -1.0, part: 0.0 },
        Support { from_s: empty, to_s: empty + 0.12, part: 1.0 },
        Support { from_s: empty + 3.88 * pace, to_s: empty + 4.0 * pace, part: 0.0 },
    ];
    scene.share_right = (0..8).map(|k| (empty + 0.5 * pace * f64::from(k), 0.5 + 0.45 * sin(PI * (f64::from(k) + 0.5)))).collect();
}

/// A hop, a moment, then a countermovement jump: the jump cannot be weighed on what comes before it.
pub fn hop_before_the_jump(mass_kg: f64, hop_m: f64, pause_s: f64) -> Option<Scene> {
    let mut path = Path::default();
    path.still(1.5);
    let mut scene = Scene { mass_kg, share_right: vec![(0.0, 0.5)], ..Scene::default() };
    let wishes = [
        Wish { height_m: hop_m, depth_m: 0.13, down_m_s: 0.7, tempo_ratio: 0.9, rise_m: 0.09 },
        Wish { height_m: 0.32, depth_m: 0.30, down_m_s: 1.15, tempo_ratio: 0.9, rise_m: 0.11 },
    ];
    for (k, wish) in wishes.iter().enumerate() {
        let dip = countermovement(&mut path, wish)?;
        path.fly_to(path.last()[2] - 0.01)?;
        scene.air.push((dip.take_off_s, path.end_s()));
        scene.events.push(if k == 0 { ("hop_take_off", dip.take_off_s) } else { ("take_off", dip.take_off_s) });
        land(&mut path)?;
        path.still(if k == 0 { pause_s } else { 2.5 });
    }
    scene.path = path;
    Some(scene)
}
