//! A scene of any kind, drawn at random: for tables over all of them.
use super::drop::Drop;
use super::isometric::Isometric;
use super::not_a_trial::NotATrial;
use super::rebounds::Rebounds;
use super::squat_jump::SquatJump;
use super::standing::quiet_standing;
use crate::invented::{Jump, Random, Scene};

/// A kind of scene.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A jump with a countermovement, on two legs.
    CountermovementJump,
    /// The same with a bar or vest.
    LoadedJump,
    /// The same on one leg.
    OneLegJump,
    /// A jump from a held squat.
    SquatJump,
    /// A jump out of a drop from a box.
    DropJump,
    /// A drop from a box to rest.
    DropLanding,
    /// A countermovement jump with one rebound.
    CountermovementReboundJump,
    /// A set of rebounds after an opening jump.
    ReboundJumps,
    /// A set of hops without one.
    Hops,
    /// A push or pull.
    Isometric,
    /// Standing still.
    QuietStanding,
    /// What no test is.
    NotATrial(NotATrial),
}

impl Kind {
    /// Every kind that is a trial.
    pub const TRIALS: [Self; 11] = [
        Self::CountermovementJump,
        Self::LoadedJump,
        Self::OneLegJump,
        Self::SquatJump,
        Self::DropJump,
        Self::DropLanding,
        Self::CountermovementReboundJump,
        Self::ReboundJumps,
        Self::Hops,
        Self::Isometric,
        Self::QuietStanding,
    ];

    /// A scene of this kind with its truth, sway laid on; the same for the same draw.
    pub fn scene(self, random: &mut Random) -> Scene {
        let sway_m_s2 = random.between(0.0, 0.03);
        let scene = loop {
            let found = match self {
                Self::CountermovementJump => Jump::random(random).scene(),
                Self::LoadedJump => loaded(random),
                Self::OneLegJump => one_leg(random),
                Self::SquatJump => SquatJump::random(random).scene(),
                Self::DropJump => Drop::random(random).scene(),
                Self::DropLanding => Drop::random_landing(random).scene(),
                Self::CountermovementReboundJump => Rebounds::random_single(random).scene(),
                Self::ReboundJumps => Rebounds::random_set(random).scene(),
                Self::Hops => Rebounds::random_hops(random).scene(),
                Self::Isometric => Some(Isometric::random(random).scene()),
                Self::QuietStanding => {
                    Some(quiet_standing(random.between(45.0, 115.0), random.between(3.0, 8.0), random.between(0.45, 0.55)))
                }
                Self::NotATrial(what) => Some(what.scene(random.between(45.0, 115.0), random)),
            };
            if let Some(scene) = found {
                break scene;
            }
        };
        scene.sway(random, sway_m_s2)
    }
}

/// A countermovement jump under a bar: body and load move as one, the jump is lower.
fn loaded(random: &mut Random) -> Option<Scene> {
    let body_kg = random.between(50.0, 105.0);
    let load_kg = (body_kg * random.between(0.2, 0.9) / 2.5).round() * 2.5;
    let jump = Jump {
        mass_kg: body_kg + load_kg,
        height_m: random.between(0.10, 0.30),
        depth_m: random.between(0.18, 0.36),
        down_m_s: random.between(0.6, 1.1),
        ..Jump::random(random)
    };
    Some(Scene { load_kg, ..jump.scene()? })
}

/// A countermovement jump on one leg: one plate empty.
fn one_leg(random: &mut Random) -> Option<Scene> {
    let right = if random.unit() < 0.5 { 1.0 } else { 0.0 };
    let jump = Jump {
        height_m: random.between(0.08, 0.25),
        depth_m: random.between(0.14, 0.28),
        down_m_s: random.between(0.55, 1.0),
        share_right: [right; 5],
        ..Jump::random(random)
    };
    jump.scene()
}
