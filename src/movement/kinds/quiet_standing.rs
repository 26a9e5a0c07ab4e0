//! Quiet standing: to weigh, and to check a plate.
use super::super::motion::Motion;
use super::{Events, Inputs, Kind, NotThisKind, Phase, TestKind, Values};

/// The kind.
pub struct QuietStanding;

const PHASES: &[Phase] = &[Phase { name: "standing", from: "standing_start", to: "standing_end" }];

impl Kind for QuietStanding {
    fn test(&self) -> TestKind {
        TestKind::QuietStanding
    }
    fn phases(&self) -> &'static [Phase] {
        PHASES
    }
    fn without_velocity(&self) -> &'static [&'static str] {
        &["standing_weight", "standing_force_spread"]
    }
    /// None: nothing moves.
    fn motion(&self, _force_n: &[f64], _p: &Inputs) -> Motion {
        Motion::default()
    }
    fn find(&self, _force_n: &[f64], p: &Inputs, _motion: &Motion) -> Result<Events, NotThisKind> {
        let last = p.quiet.end.saturating_sub(1);
        Ok(Events { all: vec![("standing_start", p.quiet.start as f64), ("standing_end", last as f64)], signs: Vec::new() })
    }
    fn figures(&self, _force_n: &[f64], _smooth_n: &[f64], p: &Inputs, _e: &Events, _motion: &Motion) -> Values {
        vec![("standing_weight", p.weight_n), ("standing_force_spread", p.quiet_sd_n)]
    }
}
