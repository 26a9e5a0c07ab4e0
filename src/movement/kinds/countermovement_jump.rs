//! Countermovement jump: weighing → unweighting → braking → propulsion → flight → landing
//! [phases: McMahon et al. 2018, Strength Cond. J. 40(4):96].
use super::super::motion::{Motion, integrate};
use super::super::sums::lowest;
use super::blocks::Block;
use super::crossings::{band, fastest_down, first_upward_zero, middle, peak_downward, take_off, touchdown, velocity_leaving};
use super::{Events, Inputs, Kind, NotThisKind, Phase, TestKind, Values};
use crate::force::stats::least_of;

/// The kind.
pub struct CountermovementJump;

/// Its phases, for drawing.
pub const PHASES: &[Phase] = &[
    Phase { name: "unweighting", from: "onset", to: "peak_downward_velocity" },
    Phase { name: "braking", from: "peak_downward_velocity", to: "lowest_point" },
    Phase { name: "propulsion", from: "lowest_point", to: "take_off" },
    Phase { name: "flight", from: "take_off", to: "touchdown" },
    Phase { name: "landing", from: "touchdown", to: "landing_end" },
];

impl Kind for CountermovementJump {
    fn test(&self) -> TestKind {
        TestKind::CountermovementJump
    }
    fn phases(&self) -> &'static [Phase] {
        PHASES
    }
    fn motion(&self, force_n: &[f64], p: &Inputs) -> Motion {
        from_standing(force_n, p)
    }
    fn find(&self, force_n: &[f64], p: &Inputs, motion: &Motion) -> Result<Events, NotThisKind> {
        find(force_n, p, motion)
    }
    fn figures(&self, force_n: &[f64], smooth_n: &[f64], p: &Inputs, e: &Events, motion: &Motion) -> Values {
        figures(force_n, smooth_n, p, e, motion)
    }
}

/// Motion integrated forwards from quiet standing.
pub(super) fn from_standing(force_n: &[f64], p: &Inputs) -> Motion {
    let mass_kg = p.weight_n / p.gravity;
    integrate(force_n, p.quiet.clone(), p.motion_end, p.weight_n, mass_kg, p.rate_hz, p.v0_m_s)
}

/// Finds the events of the first jump after quiet standing.
pub(super) fn find(force_n: &[f64], p: &Inputs, motion: &Motion) -> Result<Events, NotThisKind> {
    let air = p.air();
    let take_off = p.hand("take_off").unwrap_or_else(|| take_off(force_n, p, &air)) + p.shift[0];
    let touchdown = match p.hand("touchdown") {
        Some(at) => at,
        None if p.lands => touchdown(force_n, p, middle(&air)),
        None => f64::NAN,
    } + p.shift[1];

    // Peak downward velocity: the lowest velocity between quiet standing and take-off.
    let from = p.quiet.end;
    let to = (take_off.floor().max(0.0) as usize).min(force_n.len());
    let deepest_velocity = fastest_down(motion, from..to).ok_or(NotThisKind::NoMovement)?;
    let peak_downward_velocity =
        p.hand("peak_downward_velocity").unwrap_or_else(|| peak_downward(force_n, p, deepest_velocity)) + p.shift[2];
    let lowest_point = match p.hand("lowest_point") {
        Some(at) => at,
        None => first_upward_zero(motion, deepest_velocity, to).ok_or(NotThisKind::NoMovement)?,
    };

    // Onset: from the deepest unweighting backwards to the last sample inside the band, then 30 ms back
    // [Owen et al. 2014, J. Strength Cond. Res. 28:1552].
    let value = |i: usize| force_n.get(i).copied().unwrap_or(f64::NAN);
    let dip = lowest(force_n, from..deepest_velocity + 1).unwrap_or(deepest_velocity);
    let band = band(p);
    let inside = (p.quiet.start..dip).rev().find(|i| value(*i) >= p.weight_n - band).unwrap_or(p.quiet.start);
    let onset = p.hand("onset").unwrap_or(inside as f64 - 0.03 * p.rate_hz).max(0.0);
    let rise_from = inside.saturating_sub((0.3 * p.rate_hz) as usize).max(p.quiet.start);
    let before = force_n.get(rise_from..inside + 1).unwrap_or_default();
    let highest = -least_of(before, |f| -f);
    let rises = highest - p.weight_n > band.max(0.03 * p.weight_n);
    let preload_rise = before.iter().rposition(|f| rises && *f == highest);
    let preload_rise = preload_rise.map(|k| ("preload_rise", highest - p.weight_n, (rise_from + k) as f64));

    let landing_end = match p.hand("landing_end") {
        Some(at) => at,
        None if touchdown.is_finite() => first_upward_zero(motion, touchdown.ceil() as usize, p.end).unwrap_or(f64::NAN),
        None => f64::NAN,
    };
    Ok(Events {
        all: vec![
            ("onset", onset),
            ("peak_downward_velocity", peak_downward_velocity),
            ("lowest_point", lowest_point),
            ("take_off", take_off),
            ("touchdown", touchdown),
            ("landing_end", landing_end),
        ],
        signs: preload_rise.into_iter().collect(),
    })
}

/// Its figures, landing included.
pub(super) fn figures(force_n: &[f64], smooth_n: &[f64], p: &Inputs, e: &Events, motion: &Motion) -> Values {
    let (g, rate) = (p.gravity, p.rate_hz);
    let mut out: Values = Vec::with_capacity(50);
    let [onset, down, low, take_off, touchdown, landing_end] =
        ["onset", "peak_downward_velocity", "lowest_point", "take_off", "touchdown", "landing_end"].map(|name| e.at(name));

    let v_to = velocity_leaving(force_n, p, motion, take_off);
    let s_to = motion.displacement_at(take_off);
    let flight = (touchdown - take_off) / rate;
    let height = v_to * v_to / (2.0 * g);
    let to_take_off = (take_off - onset) / rate;

    out.push(("jump_height", height));
    out.push(("jump_height_flight_time", g * flight * flight / 8.0));
    out.push(("rise_above_standing", s_to + height));
    out.push(("take_off_velocity", v_to));
    out.push(("take_off_displacement", s_to));
    out.push(("flight_time", flight));
    out.push(("time_to_take_off", to_take_off));
    out.push(("reactive_strength_index_modified", height / to_take_off));
    out.push(("flight_to_contraction_ratio", flight / to_take_off));

    out.push(("countermovement_depth", -motion.displacement_at(low)));
    out.push(("peak_downward_velocity", -motion.velocity_at(down)));
    out.push(("unweighting_duration", (down - onset) / rate));
    out.push(("braking_duration", (low - down) / rate));
    out.push(("propulsion_duration", (take_off - low) / rate));

    let block = Block::new(force_n, smooth_n, p, motion);
    block.braking(down, low, &mut out);
    block.propulsion(low, take_off, &mut out);
    block.landing(touchdown, landing_end, &mut out);
    out
}
