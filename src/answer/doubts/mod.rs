//! Doubts read from force itself, one concept a file: what is looked at, why it means what it means, what it touches.
//! [`Seen`] is what they saw of one trial; [`rules`] turn it into sentences.
pub(crate) mod habit;
pub(crate) mod hum;
pub(crate) mod plates;
pub(crate) mod rules;
pub(crate) mod standing;
pub(crate) mod take_off;

use super::clean::Clean;
use super::pattern::{Apart, Cause, Parts, Signs};
use super::weigh::Weighed;
use super::{Figure, TestKind};
use crate::force::stats::{batch_standard_error, mean};
use crate::movement::kinds::{Events, Inputs};
use hum::Hum;
use indexmap::IndexMap;

/// What a trial is looked at for.
pub(crate) struct Look<'a> {
    pub test: TestKind,
    pub clean: &'a Clean,
    pub hum: Option<Hum>,
    pub weighed: Option<&'a Weighed>,
    pub inputs: &'a Inputs,
    pub events: &'a Events,
    pub last_take_off: f64,
    pub last_touchdown: f64,
    pub figures: &'a IndexMap<String, Figure>,
    /// Whether velocity is integrated from a stance before the movement, and that stance is there.
    pub from_stance: bool,
    /// Whether it is done on both legs.
    pub both_legs: bool,
}

/// What was seen.
#[derive(Debug, Clone, Default)]
pub(crate) struct Seen {
    pub hum: Option<Hum>,
    /// Largest swing after take-off, N.
    pub ringing_n: Option<f64>,
    /// Fractional sample of a take-off before the take-off.
    pub earlier_take_off: Option<f64>,
    /// Slow spread of force while being weighed, N.
    pub restless_n: Option<f64>,
    /// Fractional sample of stepping off after the landing.
    pub stepped_off: Option<f64>,
    /// Fractional sample and size (N) of a movement shortly before the movement.
    pub stirred: Option<(f64, f64)>,
    /// Gain of the right plate against the left, and its standard uncertainty.
    pub gain_apart: Option<(f64, f64)>,
    /// Fractional sample from which a plate carries nothing in a two-leg test's standing, and which.
    pub one_foot_off: Option<(f64, &'static str)>,
    /// What the heights and weights of the trial point at together.
    pub cause: Option<Cause>,
}

/// Looks at everything.
pub(crate) fn look(l: &Look<'_>) -> Seen {
    let (force, rate) = (&l.clean.total_n, l.inputs.rate_hz);
    let Some(weighed) = l.weighed else { return Seen::default() };
    let stretch = &weighed.weight.stretch;
    let quiet = force.get(stretch.clone()).unwrap_or_default();
    let weight_n = weighed.combined.value;
    let threshold = l.inputs.threshold_n;
    let jumps = l.last_take_off.is_finite();
    let mut seen = Seen { hum: l.hum, restless_n: standing::restless(quiet, rate), ..Seen::default() };
    if jumps {
        seen.ringing_n = take_off::ringing(force, l.last_take_off, l.last_touchdown, rate, threshold);
        let low = l.events.at("lowest_point");
        let off = l.events.at("take_off");
        seen.earlier_take_off = take_off::earlier_take_off(force, low, off, rate, threshold);
    }
    seen.stepped_off = standing::stepped_off(force, l.events.at("landing_end"), l.inputs.end, rate, weight_n);
    if l.from_stance && l.test != TestKind::SquatJump {
        seen.stirred = standing::stirred(force, l.inputs.begin, l.events.at("onset"), rate, weight_n);
    }
    if let Some([left, right]) = &l.clean.plates {
        let stands: Vec<_> = core::iter::once(stretch.clone()).chain(weighed.rest.clone()).collect();
        seen.gain_apart = plates::gain_apart(left, right, &stands, rate);
        if l.both_legs {
            seen.one_foot_off = plates::one_foot_off(left, right, &stands, rate, weight_n);
        }
    }
    if l.from_stance && l.test != TestKind::CountermovementReboundJump {
        seen.cause = signs(l, weighed).cause();
    }
    seen
}

/// The signs of the pattern table.
fn signs(l: &Look<'_>, weighed: &Weighed) -> Signs {
    let force = &l.clean.total_n;
    let figure = |id: &str| l.figures.get(id).and_then(|f| Some((f.value?, f.u?)));
    let weight = &weighed.weight;
    let least = 0.0015 * weight.mean_n;
    let joint = |a: f64, b: f64| (a * a + b * b).sqrt();
    let heights = figure("jump_height_flight_time").zip(figure("jump_height"));
    let rise = figure("take_off_displacement").map(|(s, u)| {
        let outside = if s > 0.20 { s - 0.20 } else { (s - 0.05).min(0.0) };
        Apart { value: outside, u: u / 3.0, least: 0.0 }
    });
    let closure = weighed.closure.map(|(w, u)| Apart { value: w - weight.mean_n, u: 4.0 / 3.0 * joint(u, weight.u_n), least });
    let stances = weighed.rest.clone().and_then(|rest| force.get(rest)).map(|x| {
        let batches = (x.len() as f64 / l.inputs.rate_hz / 0.25).round().clamp(4.0, 20.0) as usize;
        Apart { value: mean(x) - weight.mean_n, u: joint(batch_standard_error(x, batches), weight.u_n), least: 1.5 * least }
    });
    let parts = weighed.rest.as_ref().map_or(Parts::default(), |rest| {
        let middle = |r: &core::ops::Range<usize>| 0.5 * (r.start + r.end) as f64;
        let (a, b) = (middle(&weight.stretch), middle(rest));
        let part = |at: f64| (b - at) / (b - a);
        // Whatever was touched before is let go of by the movement's start.
        let flight = part(0.5 * (l.last_take_off + l.last_touchdown));
        Parts { before: part(weight.stretch.end as f64 + 0.1 * l.inputs.rate_hz), flight, after: part(rest.start as f64) }
    });
    let lag = |id: &str| figure(id).map(|(v, u)| Apart { value: v, u, least: 0.015 });
    let feet = [lag("take_off_lag_right"), lag("touchdown_lag_right")].into_iter().flatten();
    Signs {
        heights: heights.map(|((f, uf), (v, uv))| Apart { value: f - v, u: joint(uf, uv), least: 0.02 }),
        rise,
        closure,
        stances,
        parts,
        feet: feet.max_by(|a, b| a.value.abs().total_cmp(&b.value.abs())),
        clamped: l.clean.zero.clamped,
    }
}
