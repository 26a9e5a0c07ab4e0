//! Squat jump: held squat → propulsion → flight → landing. Weight is from standing, the onset's band from the held squat.
//! A dip before the push that lowers the centre of mass by more than 1 cm (*ours*) makes it a countermovement: told with
//! its size.
use super::super::motion::Motion;
use super::blocks::Block;
use super::countermovement_jump::from_standing;
use super::crossings::{band, first_upward_zero, middle, take_off, touchdown, velocity_leaving};
use super::{Events, Inputs, Kind, NotThisKind, Phase, TestKind, Values};

/// The kind.
pub struct SquatJump;

/// Its phases, for drawing.
const PHASES: &[Phase] = &[
    Phase { name: "propulsion", from: "lowest_point", to: "take_off" },
    Phase { name: "flight", from: "take_off", to: "touchdown" },
    Phase { name: "landing", from: "touchdown", to: "landing_end" },
];

/// A dip from here on is a countermovement, m (*ours*).
pub const HIDDEN_DIP_M: f64 = 0.01;

impl Kind for SquatJump {
    fn test(&self) -> TestKind {
        TestKind::SquatJump
    }
    fn phases(&self) -> &'static [Phase] {
        PHASES
    }
    /// Velocity and displacement are zero in the held squat ([`Inputs::quiet`]).
    fn motion(&self, force_n: &[f64], p: &Inputs) -> Motion {
        from_standing(force_n, p)
    }

    fn find(&self, force_n: &[f64], p: &Inputs, motion: &Motion) -> Result<Events, NotThisKind> {
        let air = p.air();
        let off = p.hand("take_off").unwrap_or_else(|| take_off(force_n, p, &air)) + p.shift[0];
        let down = match p.hand("touchdown") {
            Some(at) => at,
            None if p.lands => touchdown(force_n, p, middle(&air)),
            None => f64::NAN,
        } + p.shift[1];
        let to = (off.floor().max(0.0) as usize).min(force_n.len());
        let value = |i: usize| force_n.get(i).copied().unwrap_or(f64::NAN);

        // The push: from the steepest 20 ms of the last second before take-off backwards to the last sample inside the band.
        let width = ((0.02 * p.rate_hz).round() as usize).max(1);
        let from = p.quiet.start.max(to.saturating_sub((1.2 * p.rate_hz) as usize));
        let highest = (from..to).max_by(|a, b| value(*a).total_cmp(&value(*b))).ok_or(NotThisKind::NoMovement)?;
        let rise = |i: &usize| value(i + width) - value(*i);
        let steepest = (from..highest.saturating_sub(width) + 1).max_by(|a, b| rise(a).total_cmp(&rise(b))).unwrap_or(from);
        let band = band(p);
        let inside = |i: &usize| value(*i) <= p.weight_n + band;
        let left = (p.quiet.start..steepest + width).rev().find(inside).unwrap_or(p.quiet.start);
        // What goes below the band right before the push is a dip; the push then starts at its lowest point.
        let dip_from = left.saturating_sub((0.6 * p.rate_hz) as usize).max(p.quiet.start);
        let deepest = (dip_from..left + 1).min_by(|a, b| value(*a).total_cmp(&value(*b))).unwrap_or(left);
        let dips = value(deepest) < p.weight_n - band;
        let low_from = (deepest..to).find(|i| motion.velocity_at(*i as f64) < 0.0);
        let low = p.hand("lowest_point").unwrap_or_else(|| {
            let turned = low_from.filter(|_| dips).and_then(|from| first_upward_zero(motion, from, to));
            turned.unwrap_or(left as f64)
        });
        let start = if dips { (p.quiet.start..deepest).rev().find(|i| value(*i) >= p.weight_n - band).unwrap_or(left) } else { left };
        let onset = p.hand("onset").unwrap_or(start as f64 - 0.03 * p.rate_hz).max(0.0);
        let dip_m = motion.displacement_at(onset) - motion.displacement_at(low);
        let landing_end = match p.hand("landing_end") {
            Some(at) => at,
            None if down.is_finite() => first_upward_zero(motion, down.ceil() as usize, p.end).unwrap_or(f64::NAN),
            None => f64::NAN,
        };
        Ok(Events {
            all: vec![("onset", onset), ("lowest_point", low), ("take_off", off), ("touchdown", down), ("landing_end", landing_end)],
            signs: (dips && dip_m > HIDDEN_DIP_M).then_some(("hidden_dip", dip_m, deepest as f64)).into_iter().collect(),
        })
    }

    fn figures(&self, force_n: &[f64], smooth_n: &[f64], p: &Inputs, e: &Events, motion: &Motion) -> Values {
        let (g, rate) = (p.gravity, p.rate_hz);
        let [onset, low, off, down, end] = ["onset", "lowest_point", "take_off", "touchdown", "landing_end"].map(|n| e.at(n));
        let v_to = velocity_leaving(force_n, p, motion, off);
        let flight = (down - off) / rate;
        let mut out: Values = vec![
            ("jump_height", v_to * v_to / (2.0 * g)),
            ("jump_height_flight_time", g * flight * flight / 8.0),
            ("take_off_velocity", v_to),
            ("flight_time", flight),
            ("time_to_take_off", (off - onset) / rate),
            ("propulsion_duration", (off - low) / rate),
        ];
        let block = Block::new(force_n, smooth_n, p, motion);
        block.propulsion(low, off, &mut out);
        block.landing(down, end, &mut out);
        out
    }
}
