//! Countermovement jump that rebounds at once: the jump's figures and the rebound's, one motion through both, since the
//! stance before gives the velocity all along.
use super::super::motion::Motion;
use super::blocks::Block;
use super::countermovement_jump::{figures, find, from_standing};
use super::crossings::{first_upward_zero, middle, take_off, touchdown, velocity_leaving, velocity_meeting};
use super::drop_jump::{NOT_SPRING_LIKE, contact_stiffness};
use super::{Events, Inputs, Kind, NotThisKind, Phase, TestKind, Values};

/// The kind.
pub struct CountermovementReboundJump;

const PHASES: &[Phase] = &[
    Phase { name: "unweighting", from: "onset", to: "peak_downward_velocity" },
    Phase { name: "braking", from: "peak_downward_velocity", to: "lowest_point" },
    Phase { name: "propulsion", from: "lowest_point", to: "take_off" },
    Phase { name: "flight", from: "take_off", to: "touchdown" },
    Phase { name: "rebound braking", from: "touchdown", to: "rebound_lowest_point" },
    Phase { name: "rebound propulsion", from: "rebound_lowest_point", to: "rebound_take_off" },
    Phase { name: "second flight", from: "rebound_take_off", to: "rebound_touchdown" },
    Phase { name: "landing", from: "rebound_touchdown", to: "landing_end" },
];

impl Kind for CountermovementReboundJump {
    fn test(&self) -> TestKind {
        TestKind::CountermovementReboundJump
    }
    fn phases(&self) -> &'static [Phase] {
        PHASES
    }
    fn without_velocity(&self) -> &'static [&'static str] {
        &[
            "jump_height_flight_time",
            "flight_time",
            "rebound_contact_time",
            "rebound_flight_time",
            "rebound_jump_height_flight_time",
            "rebound_flight_to_contact_ratio",
        ]
    }
    fn motion(&self, force_n: &[f64], p: &Inputs) -> Motion {
        from_standing(force_n, p)
    }

    fn find(&self, force_n: &[f64], p: &Inputs, motion: &Motion) -> Result<Events, NotThisKind> {
        let second = p.flights.get(1).ok_or(NotThisKind::NoFlight)?;
        // The first jump lands in any case, and its landing's end is the rebound's lowest point.
        let first = Inputs { lands: true, end: second.start, by_hand: opening(&p.by_hand), ..p.clone() };
        let jump = find(force_n, &first, motion)?;
        let off = p.hand("rebound_take_off").unwrap_or_else(|| take_off(force_n, p, second)) + p.shift[0];
        let down = match p.hand("rebound_touchdown") {
            Some(at) => at,
            None if p.lands => touchdown(force_n, p, middle(second)),
            None => f64::NAN,
        } + p.shift[1];
        let low = p.hand("rebound_lowest_point").unwrap_or_else(|| jump.at("landing_end"));
        let end = match p.hand("landing_end") {
            Some(at) => at,
            None if down.is_finite() => first_upward_zero(motion, down.ceil() as usize, p.end).unwrap_or(f64::NAN),
            None => f64::NAN,
        };
        let mut all = jump.all;
        all.retain(|(name, _)| *name != "landing_end");
        all.extend([("rebound_lowest_point", low), ("rebound_take_off", off), ("rebound_touchdown", down), ("landing_end", end)]);
        Ok(Events { all, signs: jump.signs })
    }

    fn figures(&self, force_n: &[f64], smooth_n: &[f64], p: &Inputs, e: &Events, motion: &Motion) -> Values {
        let (g, rate) = (p.gravity, p.rate_hz);
        let [start, low, off, down, end] =
            ["touchdown", "rebound_lowest_point", "rebound_take_off", "rebound_touchdown", "landing_end"].map(|n| e.at(n));
        let mut out = figures(force_n, smooth_n, p, e, motion);
        // What the jump's figures say of a landing belongs to the second one.
        let landings = out.iter().position(|(id, _)| *id == "peak_landing_force").unwrap_or(out.len());
        out.truncate(landings);
        let first_height = out.first().map_or(f64::NAN, |v| v.1);
        let (v_td, v_to) = (velocity_meeting(force_n, p, motion, start), velocity_leaving(force_n, p, motion, off));
        let (contact, flight) = ((off - start) / rate, (down - off) / rate);
        let height = v_to * v_to / (2.0 * g);
        let block = Block::new(force_n, smooth_n, p, motion);
        let [brake_force, brake_power, ..] = block.phase(start, low);
        let [push_force, push_power, ..] = block.phase(low, off);
        out.extend([
            ("rebound_jump_height", height),
            ("rebound_jump_height_flight_time", g * flight * flight / 8.0),
            ("rebound_contact_time", contact),
            ("rebound_flight_time", flight),
            ("rebound_reactive_strength_index", height / contact),
            ("rebound_flight_to_contact_ratio", flight / contact),
            ("rebound_to_jump_height_ratio", height / first_height),
            ("rebound_touchdown_velocity", -v_td),
            ("rebound_take_off_velocity", v_to),
            ("rebound_contact_depth", motion.displacement_at(start) - motion.displacement_at(low)),
            ("rebound_braking_duration", (low - start) / rate),
            ("rebound_propulsion_duration", (off - low) / rate),
            ("rebound_mean_braking_force", brake_force),
            ("rebound_mean_braking_power", -brake_power),
            ("rebound_mean_propulsion_force", push_force),
            ("rebound_mean_propulsion_power", push_power),
            ("rebound_peak_contact_force", block.peak_force(start, off).0),
            ("rebound_contact_stiffness", contact_stiffness(force_n, motion, start, low, off)),
        ]);
        block.landing(down, end, &mut out);
        out
    }

    fn why_not(&self, id: &str, _e: &Events) -> Option<&'static str> {
        (id == "rebound_contact_stiffness").then_some(NOT_SPRING_LIKE)
    }
    fn last_take_off(&self) -> &'static str {
        "rebound_take_off"
    }
    fn last_touchdown(&self) -> &'static str {
        "rebound_touchdown"
    }
}

/// The events by hand that belong to the first jump.
fn opening(by_hand: &[(String, f64)]) -> Vec<(String, f64)> {
    by_hand.iter().filter(|(name, _)| name != "landing_end").cloned().collect()
}
