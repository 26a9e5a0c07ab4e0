//! Drop jump: from a box onto the plates and up again. Braking is from touchdown to the lowest point, propulsion from there
//! to take-off. The velocity at touchdown is put together as [`super::drop_landing`] says.
use super::super::motion::Motion;
use super::super::sums::{peak, value_at};
use super::blocks::Block;
use super::crossings::{first_upward_zero, middle, take_off, touchdown, velocity_leaving, velocity_meeting};
use super::drop_landing::{after_drop, first_touchdown};
use super::{Events, Inputs, Kind, NotThisKind, Phase, TestKind, Values};

/// The kind.
pub struct DropJump;

const PHASES: &[Phase] = &[
    Phase { name: "braking", from: "contact_start", to: "lowest_point" },
    Phase { name: "propulsion", from: "lowest_point", to: "take_off" },
    Phase { name: "flight", from: "take_off", to: "touchdown" },
    Phase { name: "landing", from: "touchdown", to: "landing_end" },
];

impl Kind for DropJump {
    fn test(&self) -> TestKind {
        TestKind::DropJump
    }
    fn phases(&self) -> &'static [Phase] {
        PHASES
    }
    fn without_velocity(&self) -> &'static [&'static str] {
        &["jump_height_flight_time", "flight_time", "contact_time", "flight_to_contact_ratio", "peak_contact_force"]
    }
    fn motion(&self, force_n: &[f64], p: &Inputs) -> Motion {
        after_drop(force_n, p)
    }

    fn find(&self, force_n: &[f64], p: &Inputs, motion: &Motion) -> Result<Events, NotThisKind> {
        let air = p.flights.first().ok_or(NotThisKind::NoFlight)?;
        let start = p.hand("contact_start").unwrap_or_else(|| first_touchdown(force_n, p)) + p.shift[1];
        let off = p.hand("take_off").unwrap_or_else(|| take_off(force_n, p, air)) + p.shift[0];
        if !(start < off) {
            return Err(NotThisKind::NoMovement);
        }
        let down = match p.hand("touchdown") {
            Some(at) => at,
            None if p.lands => touchdown(force_n, p, middle(air)),
            None => f64::NAN,
        } + p.shift[1];
        let to = off.floor().max(0.0) as usize;
        let low = p.hand("lowest_point").or_else(|| first_upward_zero(motion, start.ceil() as usize, to)).unwrap_or(f64::NAN);
        let end = match p.hand("landing_end") {
            Some(at) => at,
            None if down.is_finite() => first_upward_zero(motion, down.ceil() as usize, p.end).unwrap_or(f64::NAN),
            None => f64::NAN,
        };
        Ok(Events {
            all: vec![("contact_start", start), ("lowest_point", low), ("take_off", off), ("touchdown", down), ("landing_end", end)],
            signs: first_spike(force_n, p, start, off).into_iter().collect(),
        })
    }

    fn figures(&self, force_n: &[f64], smooth_n: &[f64], p: &Inputs, e: &Events, motion: &Motion) -> Values {
        let (g, rate) = (p.gravity, p.rate_hz);
        let [start, low, off, down, end] = ["contact_start", "lowest_point", "take_off", "touchdown", "landing_end"].map(|n| e.at(n));
        let (v_to, v_td) = (velocity_leaving(force_n, p, motion, off), velocity_meeting(force_n, p, motion, start));
        let (contact, flight) = ((off - start) / rate, (down - off) / rate);
        let height = v_to * v_to / (2.0 * g);
        let by_flight = g * flight * flight / 8.0;
        let block = Block::new(force_n, smooth_n, p, motion);
        let mut out: Values = vec![
            ("jump_height", height),
            ("jump_height_flight_time", by_flight),
            ("take_off_velocity", v_to),
            ("flight_time", flight),
            ("contact_time", contact),
            ("reactive_strength_index", height / contact),
            ("flight_to_contact_ratio", flight / contact),
            ("drop_height", v_td * v_td / (2.0 * g)),
            ("touchdown_velocity", -v_td),
            ("contact_depth", motion.displacement_at(start) - motion.displacement_at(low)),
            ("peak_contact_force", block.peak_force(start, off).0),
            ("contact_stiffness", contact_stiffness(force_n, motion, start, low, off)),
            ("braking_duration", (low - start) / rate),
            ("propulsion_duration", (off - low) / rate),
        ];
        block.stopping(start, low, &mut out);
        block.propulsion(low, off, &mut out);
        block.landing(down, end, &mut out);
        out
    }

    fn why_not(&self, id: &str, _e: &Events) -> Option<&'static str> {
        (id == "contact_stiffness" || id == "rebound_contact_stiffness").then_some(NOT_SPRING_LIKE)
    }
}

/// Why a contact has no stiffness.
pub(super) const NOT_SPRING_LIKE: &str =
    "not spring-like: force does not follow the descent (correlation under 0.80), or its peak is far from the lowest point";

/// Force at the lowest point for the descent from touchdown [McMahon & Cheng 1990, J. Biomech. 23 S1:65]; only where the
/// contact is spring-like: force and displacement correlate to at least 0.80 and the peak lies within 10 % of contact time
/// of the lowest point. NaN else.
pub(super) fn contact_stiffness(force_n: &[f64], motion: &Motion, start: f64, low: f64, off: f64) -> f64 {
    let descent = motion.displacement_at(start) - motion.displacement_at(low);
    let (a, b) = (start.ceil().max(0.0) as usize, off.floor().max(0.0) as usize);
    let (_, peak_at) = peak(force_n, start, off);
    if !(descent > 0.0) || (peak_at - low).abs() > 0.1 * (off - start) {
        return f64::NAN;
    }
    let (mut n, mut sf, mut ss, mut sff, mut sss, mut sfs) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
    let top = motion.displacement_at(start);
    for i in a..=b {
        let (f, s) = (force_n.get(i).copied().unwrap_or(f64::NAN), top - motion.displacement_at(i as f64));
        n += 1.0;
        sf += f;
        ss += s;
        sff += f * f;
        sss += s * s;
        sfs += f * s;
    }
    let r = (n * sfs - sf * ss) / ((n * sff - sf * sf) * (n * sss - ss * ss)).sqrt();
    if r >= 0.80 { value_at(force_n, low) / descent } else { f64::NAN }
}

/// A first impact spike: a top within 50 ms of touchdown after which force falls by more than a tenth of it before it rises
/// again by as much. Seen on 4 ms means, so that noise makes none. Size: its height over weight.
fn first_spike(force_n: &[f64], p: &Inputs, start: f64, off: f64) -> Option<super::Sign> {
    let width = ((0.004 * p.rate_hz).round() as usize).max(1);
    let (a, b) = (start.max(0.0) as usize, off.max(0.0) as usize);
    let smooth: Vec<f64> = force_n.get(a..b)?.chunks_exact(width).map(crate::force::stats::mean).collect();
    let reach = ((0.05 * p.rate_hz) as usize / width).min(smooth.len());
    let early = smooth.get(..reach)?;
    let top = (0..early.len()).find(|k| {
        let value = early.get(*k).copied().unwrap_or(0.0);
        let rest = smooth.get(k + 1..).unwrap_or_default();
        let Some(valley) = rest.iter().position(|f| *f < 0.9 * value) else { return false };
        let before = rest.get(..valley).unwrap_or_default().iter().all(|f| *f <= value);
        let lowest = rest.get(valley..).unwrap_or_default().iter().scan(f64::MAX, |low, f| {
            *low = low.min(*f);
            Some((*low, *f))
        });
        before && value > p.weight_n && lowest.into_iter().any(|(low, f)| f > low + 0.1 * value)
    })?;
    let value = smooth.get(top).copied()?;
    Some(("impact_spike", value / p.weight_n, (a + top * width) as f64))
}
