//! Drop landing: from a box onto the plates, held. And what every drop shares: the velocity at touchdown, which no stance
//! before it gives.
use super::super::motion::Motion;
use super::blocks::{Block, steepest};
use super::crossings::{first_upward_zero, middle, take_off, touchdown, velocity_leaving, velocity_meeting};
use super::{Events, Inputs, Kind, NotThisKind, Phase, TestKind, Values};
use crate::force::stats::mean;

/// The kind.
pub struct DropLanding;

const PHASES: &[Phase] = &[Phase { name: "landing", from: "touchdown", to: "landing_end" }];

impl Kind for DropLanding {
    fn test(&self) -> TestKind {
        TestKind::DropLanding
    }
    fn phases(&self) -> &'static [Phase] {
        PHASES
    }
    fn without_velocity(&self) -> &'static [&'static str] {
        &["landing_loading_rate"]
    }
    fn motion(&self, force_n: &[f64], p: &Inputs) -> Motion {
        after_drop(force_n, p)
    }
    fn find(&self, force_n: &[f64], p: &Inputs, motion: &Motion) -> Result<Events, NotThisKind> {
        let down = p.hand("touchdown").unwrap_or_else(|| first_touchdown(force_n, p)) + p.shift[1];
        if !down.is_finite() {
            return Err(NotThisKind::NoMovement);
        }
        let end = p.hand("landing_end").unwrap_or_else(|| first_upward_zero(motion, down.ceil() as usize, p.end).unwrap_or(f64::NAN));
        Ok(Events { all: vec![("touchdown", down), ("landing_end", end)], signs: Vec::new() })
    }
    fn figures(&self, force_n: &[f64], smooth_n: &[f64], p: &Inputs, e: &Events, motion: &Motion) -> Values {
        let (down, end) = (e.at("touchdown"), e.at("landing_end"));
        let v = velocity_meeting(force_n, p, motion, down);
        let mut out: Values = vec![("drop_height", v * v / (2.0 * p.gravity)), ("touchdown_velocity", -v)];
        let reach = if end.is_finite() { end } else { down + 0.3 * p.rate_hz };
        out.push(("landing_loading_rate", steepest(force_n, down, reach, p.rate_hz)));
        Block::new(force_n, smooth_n, p, motion).landing(down, end, &mut out);
        out
    }
}

/// Touchdown out of the drop, searched from before the coarse one on.
pub(super) fn first_touchdown(force_n: &[f64], p: &Inputs) -> f64 {
    touchdown(force_n, p, p.begin.saturating_sub((0.05 * p.rate_hz) as usize))
}

/// The readings of a drop's touchdown velocity, m/s (down is negative); none where it cannot be read so.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct DropVelocities {
    /// Backwards from rest after the final landing [Baca 1999, Med. Sci. Sports Exerc. 31:437; McMahon et al. 2021,
    /// Biomechanics 1(2):178].
    pub backward: Option<f64>,
    /// From the flight that follows: `v_to − J/m`, `v_to` from flight time and an assumed difference of posture.
    pub from_flight: Option<f64>,
    /// From the box: `−√(2g·box)`.
    pub from_box: Option<f64>,
}

/// Velocity of a drop as integrated from touchdown, zero there, with what each reading adds to it.
struct Raw {
    start: usize,
    motion: Motion,
    v_down: f64,
    v_off: f64,
    off: f64,
    next: f64,
}

fn raw(force_n: &[f64], p: &Inputs) -> Option<Raw> {
    let down = first_touchdown(force_n, p);
    let start = (down.floor().max(0.0) as usize).saturating_sub(2);
    let part = force_n.get(start..p.motion_end.min(force_n.len()))?;
    let per_mass = p.gravity / p.weight_n;
    let dt = 1.0 / p.rate_hz;
    let mut v = 0.0;
    let mut previous = part.first().map_or(0.0, |f| (f - p.weight_n) * per_mass);
    let velocity = part.iter().map(|f| {
        let a = (f - p.weight_n) * per_mass;
        v += 0.5 * (a + previous) * dt;
        previous = a;
        v
    });
    let motion = Motion { start, velocity_m_s: velocity.collect(), displacement_m: Vec::new() };
    let (off, next) = match p.flights.first() {
        Some(air) => (take_off(force_n, p, air), if p.lands { touchdown(force_n, p, middle(air)) } else { f64::NAN }),
        None => (f64::NAN, f64::NAN),
    };
    let (v_down, v_off) = (velocity_meeting(force_n, p, &motion, down), velocity_leaving(force_n, p, &motion, off));
    Some(Raw { start, motion, v_down, v_off, off, next })
}

impl Raw {
    /// What must be added to the raw velocity by each reading.
    fn offsets(&self, p: &Inputs) -> [Option<f64>; 3] {
        // The first second of rest: a weight error grows with the time integrated over.
        let rest = p.rest.as_ref().and_then(|r| {
            let end = r.end.min(r.start + p.rate_hz.round() as usize);
            self.motion.velocity_m_s.get(r.start.checked_sub(self.start)?..end.checked_sub(self.start)?)
        });
        let backward = rest.filter(|v| !v.is_empty()).map(|v| p.v0_m_s - mean(v));
        let flight_s = (self.next + p.shift[1] - self.off - p.shift[0]) / p.rate_hz;
        let leaves = 0.5 * p.gravity * flight_s - p.drop.posture_m / flight_s;
        let from_flight = (leaves.is_finite() && flight_s > 0.05).then_some(leaves - self.v_off);
        let from_box = p.drop.box_m.filter(|b| *b > 0.0).map(|b| -(2.0 * p.gravity * b).sqrt() - self.v_down);
        [backward, from_flight.filter(|v| v.is_finite()), from_box]
    }
}

/// The readings of the touchdown velocity apart, for their comparison and for [`super::Drop::backward_share`].
pub fn drop_velocities(force_n: &[f64], p: &Inputs) -> DropVelocities {
    let Some(raw) = raw(force_n, p) else { return DropVelocities::default() };
    let [backward, from_flight, from_box] = raw.offsets(p).map(|o| o.map(|o| o + raw.v_down));
    DropVelocities { backward, from_flight, from_box }
}

/// Motion from touchdown on. Two readings of the velocity there have opposite faults: backwards from rest, 1 N of weight
/// over 2.5 s is 8.6 mm of drop; from the flight, a landing 2 cm lower is 1 cm. They are put together by
/// [`super::Drop::backward_share`]; where rest is known, what parts the two is let go of during the flight, so that the
/// body still comes to rest.
pub(super) fn after_drop(force_n: &[f64], p: &Inputs) -> Motion {
    let Some(raw) = raw(force_n, p) else { return Motion::default() };
    let [backward, from_flight, from_box] = raw.offsets(p);
    let before = match (backward, from_flight) {
        (Some(a), Some(b)) => p.drop.backward_share * a + (1.0 - p.drop.backward_share) * b,
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => match from_box {
            Some(one) => one,
            None => return Motion::default(),
        },
    };
    let after = backward.unwrap_or(before);
    let offset = |i: usize| {
        let x = ((raw.start + i) as f64 - raw.off) / (raw.next - raw.off);
        if x.is_nan() { before } else { before + (after - before) * x.clamp(0.0, 1.0) }
    };
    let velocity_m_s: Vec<f64> = raw.motion.velocity_m_s.iter().enumerate().map(|(i, v)| v + offset(i)).collect();
    let mut slower = velocity_m_s.first().copied().unwrap_or(0.0);
    let mut s = 0.0;
    let mut displacement_m: Vec<f64> = Vec::with_capacity(velocity_m_s.len());
    displacement_m.extend(velocity_m_s.iter().map(|v| {
        s += 0.5 * (v + slower) / p.rate_hz;
        slower = *v;
        s
    }));
    // Standing at the end is the datum, where it is there; else the touchdown.
    let rest = p.rest.as_ref().and_then(|r| displacement_m.get(r.start.checked_sub(raw.start)?..r.end.checked_sub(raw.start)?));
    let datum = rest.filter(|r| !r.is_empty()).map_or_else(|| displacement_m.first().copied().unwrap_or(0.0), mean);
    displacement_m.iter_mut().for_each(|s| *s -= datum);
    Motion { start: raw.start, velocity_m_s, displacement_m }
}
