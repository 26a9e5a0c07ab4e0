//! The invented athletes of the demo: who they are and what they are made of. A row is all that a new one needs.

/// An invented athlete. Heights are what a good trial of theirs reaches; trials scatter about them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Athlete {
    /// Name; says that it is invented.
    pub name: &'static str,
    /// Body mass, kg.
    pub mass_kg: f64,
    /// Countermovement jump, m.
    pub jump_m: f64,
    /// Depth of its countermovement, m.
    pub depth_m: f64,
    /// Its peak downward velocity, m/s.
    pub down_m_s: f64,
    /// Share of the right leg.
    pub right: f64,
    /// Jump from a held squat, m.
    pub squat_m: f64,
    /// Contact time of a rebound, s, and the height it reaches, m.
    pub rebound: (f64, f64),
    /// Net isometric pull, N/kg, and the time constant of its rise, s.
    pub pull: (f64, f64),
    /// What the numbers were made to show.
    pub made_as: &'static str,
}

/// The squad.
pub const SQUAD: [Athlete; 6] = [
    Athlete {
        name: "Invented Alder",
        mass_kg: 63.5,
        jump_m: 0.31,
        depth_m: 0.28,
        down_m_s: 1.15,
        right: 0.50,
        squat_m: 0.285,
        rebound: (0.205, 0.28),
        pull: (19.0, 0.12),
        made_as: "even in everything",
    },
    Athlete {
        name: "Invented Birch",
        mass_kg: 81.0,
        jump_m: 0.38,
        depth_m: 0.33,
        down_m_s: 1.25,
        right: 0.515,
        squat_m: 0.36,
        rebound: (0.285, 0.26),
        pull: (24.0, 0.11),
        made_as: "strong, slow off the ground in rebounds",
    },
    Athlete {
        name: "Invented Cedar",
        mass_kg: 71.2,
        jump_m: 0.26,
        depth_m: 0.24,
        down_m_s: 0.95,
        right: 0.46,
        squat_m: 0.245,
        rebound: (0.23, 0.22),
        pull: (15.0, 0.19),
        made_as: "low in everything, and slow to rise; loads the left leg",
    },
    Athlete {
        name: "Invented Hazel",
        mass_kg: 58.3,
        jump_m: 0.29,
        depth_m: 0.30,
        down_m_s: 1.05,
        right: 0.505,
        squat_m: 0.27,
        rebound: (0.185, 0.31),
        pull: (14.0, 0.14),
        made_as: "quick in rebounds, weak in the pull",
    },
    Athlete {
        name: "Invented Larch",
        mass_kg: 94.6,
        jump_m: 0.35,
        depth_m: 0.34,
        down_m_s: 1.20,
        right: 0.49,
        squat_m: 0.345,
        rebound: (0.24, 0.27),
        pull: (23.0, 0.21),
        made_as: "strong in the pull, gains little from the countermovement",
    },
    Athlete {
        name: "Invented Rowan",
        mass_kg: 76.8,
        jump_m: 0.43,
        depth_m: 0.32,
        down_m_s: 1.35,
        right: 0.52,
        squat_m: 0.385,
        rebound: (0.18, 0.39),
        pull: (26.0, 0.09),
        made_as: "high in everything",
    },
];
