//! What a trial is judged by: everything the rules look at, gathered once, and where in the trial each fault shows.
use super::doubts::Seen;
use super::pattern::Cause;
use super::{Figure, TestKind, Valued};
use crate::force::Zero;
use crate::movement::Weight;
use crate::movement::kinds::Events;
use crate::recording::Gap;
use core::ops::Range;
use indexmap::IndexMap;

/// What the rules look at.
pub(crate) struct Facts<'a> {
    pub test: TestKind,
    /// What it looks like, where the reader said otherwise.
    pub recognised: Option<TestKind>,
    /// Whether velocity is integrated from a stance before the movement.
    pub needs_stance: bool,
    pub has_flight: bool,
    pub rate_hz: f64,
    pub weight: &'a Weight,
    pub known_weight_n: Option<f64>,
    pub combined: Valued,
    /// External load stated, kg.
    pub load_kg: f64,
    /// Body and load by the weight, kg.
    pub system_kg: f64,
    /// Whether there is a weight at all.
    pub weighed: bool,
    pub closure: Option<(f64, f64)>,
    pub weighed_before: bool,
    pub velocity_known: bool,
    pub final_velocity_m_s: Option<f64>,
    /// How far from where it stood the body comes to rest, m, with its standard uncertainty.
    pub final_place_m: Option<(f64, f64)>,
    /// Where single contacts begin and end and where force is highest in each phase, samples.
    pub besides: Vec<f64>,
    pub figures: &'a IndexMap<String, Figure>,
    pub standing_share_right: Option<f64>,
    pub events: &'a Events,
    pub last_take_off: f64,
    pub last_touchdown: f64,
    pub lands: bool,
    /// From the last touchdown to where the stance ends, s.
    pub after_landing_s: f64,
    pub box_m: Option<f64>,
    /// How far apart the two readings of a drop are, m of height, where beyond chance.
    pub drop_apart_m: Option<f64>,
    pub drop_from_box: bool,
    pub zero: Zero,
    /// Nobody ever left the plates: the zero level cannot be read.
    pub zero_unknown: bool,
    pub threshold_capped: bool,
    pub quantum_n: f64,
    /// What is to be said of a channel that never changes.
    pub stuck: Option<String>,
    pub gaps: &'a [Gap],
    pub saturated: Vec<Range<usize>>,
    pub start_s: f64,
    /// Last sample of the trial.
    pub last: f64,
    /// Quiet stretch after the last landing.
    pub rest: Option<Range<usize>>,
    /// Where nobody is on the plates and the zero level was read.
    pub empty: Option<Range<usize>>,
    /// What force itself shows.
    pub seen: &'a Seen,
}

impl Facts<'_> {
    pub(super) fn value(&self, id: &str) -> Option<f64> {
        self.figures.get(id)?.value
    }
    pub(super) fn u(&self, id: &str) -> f64 {
        self.figures.get(id).and_then(|f| f.u).unwrap_or(0.0)
    }
    /// How long somebody stood still and was recorded, s: what a gap was filled with is no standing.
    pub(super) fn quiet_s(&self) -> f64 {
        let r = &self.weight.stretch;
        let filled: usize = self.gaps.iter().map(|g| (g.start + g.len).min(r.end).saturating_sub(g.start.max(r.start))).sum();
        r.len().saturating_sub(filled) as f64 / self.rate_hz
    }
    pub(super) fn time(&self, at: f64) -> Option<f64> {
        at.is_finite().then(|| self.start_s + at / self.rate_hz)
    }
    /// Inside a stretch, s: a quarter of a second from its start or from its end, whichever is next to the movement and so in
    /// sight when the trial is opened; its middle where it is shorter. None of an empty one.
    fn inside(&self, r: &Range<usize>, ends: bool) -> Option<f64> {
        let deep = (0.25 * self.rate_hz).min(0.5 * r.len() as f64);
        let at = if ends { r.end as f64 - deep } else { r.start as f64 + deep };
        if r.is_empty() { None } else { self.time(at) }
    }
    /// Where a fault of the weighing shows: at the end of the stretch weighed on; where weight is from elsewhere, as the movement
    /// begins.
    pub(super) fn weighing(&self) -> Option<f64> {
        let before = self.weighed_before || self.events.all.is_empty();
        self.inside(&self.weight.stretch, before).or_else(|| self.time(self.events.span().0))
    }
    /// Where a fault of the zero level shows: in the middle of the stretch with nobody on the plates; else where weight is read.
    pub(super) fn unloaded(&self) -> Option<f64> {
        self.empty.as_ref().and_then(|r| self.time(0.5 * (r.start + r.end) as f64)).or_else(|| self.weighing())
    }
    /// Where a fault of the stance after the landing shows.
    pub(super) fn resting(&self) -> Option<f64> {
        self.rest.as_ref().and_then(|r| self.inside(r, false)).or_else(|| self.time(self.last_touchdown))
    }
    /// Where the feet first meet the plates: of a drop, a rebound, a set.
    pub(super) fn first_contact(&self) -> Option<f64> {
        ["contact_start", "touchdown"].into_iter().find_map(|name| self.time(self.events.at(name)))
    }
    /// Where the doubt that heights and weights together point at acts.
    pub(super) fn acts(&self, cause: Cause) -> Option<f64> {
        match cause {
            Cause::WeighedWrong => self.weighing(),
            Cause::ZeroMoved | Cause::HiddenZero => self.unloaded(),
            Cause::StoodWrongAfter => self.resting(),
            Cause::BentLanding | Cause::TallLanding => self.time(self.last_touchdown),
            // Which foot, where force was lost, or what it was is not told apart: the heights that disagree are read at take-off.
            Cause::LateFoot | Cause::ForceLost | Cause::CannotTell => self.time(self.last_take_off),
        }
    }
    /// The last take-off; the end of the movement where nobody leaves the plates.
    pub(super) fn last_take_off_or_start(&self) -> f64 {
        if self.last_take_off.is_finite() { self.last_take_off } else { self.events.span().1 }
    }
    pub(super) fn of(&self, tests: &[TestKind]) -> bool {
        tests.contains(&self.test)
    }
    pub(super) fn sign(&self, code: &str) -> Option<(f64, f64)> {
        self.events.sign(code)
    }
    /// Flight-time height minus velocity height, m, with its standard uncertainty.
    pub(super) fn heights_apart(&self) -> Option<(f64, f64)> {
        let (a, b) = (self.value("jump_height_flight_time")?, self.value("jump_height")?);
        let (ua, ub) = (self.u("jump_height_flight_time"), self.u("jump_height"));
        Some((a - b, (ua * ua + ub * ub).sqrt()))
    }
    /// From the first event to the last, and from and to the rest that velocity is integrated from (a squat jump's is next to it).
    pub(super) fn movement(&self) -> Range<f64> {
        let (from, to) = self.events.span();
        let stood =
            Some(self.weight.stretch.end as f64).filter(|_| self.needs_stance && self.weighed_before && !self.of(&[TestKind::SquatJump]));
        let rests = self.rest.as_ref().map(|r| r.start as f64).filter(|_| self.of(&[TestKind::DropJump, TestKind::DropLanding]));
        stood.map_or(from, |at| from.min(at))..rests.map_or(to, |at| to.max(at))
    }
}
