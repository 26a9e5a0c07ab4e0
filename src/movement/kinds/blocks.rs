//! Figures that several kinds share: of braking, of propulsion, of landing, each over the kind's own events.
use super::super::motion::Motion;
use super::super::sums::{integral, lowest, peak, value_at};
use super::{Inputs, Values};
use crate::force::stats::mean;

/// What a block of figures is computed from.
pub(super) struct Block<'a> {
    force_n: &'a [f64],
    smooth_n: &'a [f64],
    p: &'a Inputs,
    motion: &'a Motion,
}

/// Power over one phase, W.
struct Power {
    /// The sample that it begins with.
    first: f64,
    watts: Vec<f64>,
}

impl<'a> Block<'a> {
    pub(super) fn new(force_n: &'a [f64], smooth_n: &'a [f64], p: &'a Inputs, motion: &'a Motion) -> Self {
        Self { force_n, smooth_n, p, motion }
    }

    /// Mean force, mean power, work, mean velocity, net impulse. Power of the total on the centre of mass, unfiltered.
    pub(super) fn phase(&self, from: f64, to: f64) -> [f64; 5] {
        self.phase_of(&self.power(self.force_n, from, to), from, to)
    }
    fn phase_of(&self, power: &Power, from: f64, to: f64) -> [f64; 5] {
        let rate = self.p.rate_hz;
        let seconds = (to - from) / rate;
        let impulse = integral(self.force_n, from, to) / rate;
        let work = integral(&power.watts, from - power.first, to - power.first) / rate;
        let moved = self.motion.displacement_at(to) - self.motion.displacement_at(from);
        [impulse / seconds, work / seconds, work, moved / seconds, impulse - self.p.weight_n * seconds]
    }

    /// Force × velocity between two events, over the samples around both; empty where there are no such.
    fn power(&self, force_n: &[f64], from: f64, to: f64) -> Power {
        let first = if from >= 0.0 { (from as usize).max(self.motion.start) } else { self.motion.start };
        let end = if to >= 0.0 { (to as usize).saturating_add(2) } else { 0 };
        let force = force_n.get(first..end.min(force_n.len())).unwrap_or_default();
        let velocity = self.motion.velocity_m_s.get(first - self.motion.start..).unwrap_or_default();
        Power { first: first as f64, watts: force.iter().zip(velocity).map(|(f, v)| f * v).collect() }
    }
    /// The same of the smoothed force; none where that is the force itself.
    fn smooth_power(&self, from: f64, to: f64) -> Option<Power> {
        (!core::ptr::eq(self.force_n, self.smooth_n)).then(|| self.power(self.smooth_n, from, to))
    }

    /// Highest smoothed force between two events, and where.
    pub(super) fn peak_force(&self, from: f64, to: f64) -> (f64, f64) {
        peak(self.smooth_n, from, to)
    }

    /// Braking from fastest sinking to the lowest point, with the slopes that only a countermovement has.
    pub(super) fn braking(&self, down: f64, low: f64, out: &mut Values) {
        let (rate, w) = (self.p.rate_hz, self.p.weight_n);
        self.stopping(down, low, out);
        let f_low = out.pop().map_or(f64::NAN, |v| v.1);
        let rises = monotonic(self.force_n, down, low, rate, w);
        out.push(("braking_rate_of_force_development", if rises { (f_low - w) / ((low - down) / rate) } else { f64::NAN }));
        out.push(("braking_slope_stiffness", (f_low - w) / (self.motion.displacement_at(down) - self.motion.displacement_at(low))));
        out.push(("force_at_lowest_point", f_low));
    }

    /// Force, power, work and impulse while the body is stopped on its way down; force at the lowest point last.
    pub(super) fn stopping(&self, down: f64, low: f64, out: &mut Values) {
        let power = self.power(self.force_n, down, low);
        let [mean_force, mean_power, work, mean_velocity, net_impulse] = self.phase_of(&power, down, low);
        let peak_power = self.smooth_power(down, low).unwrap_or(power).most_negative(down, low);
        out.push(("mean_braking_force", mean_force));
        out.push(("peak_braking_force", self.peak_force(down, low).0));
        out.push(("mean_braking_power", -mean_power));
        out.push(("peak_braking_power", peak_power));
        out.push(("braking_work", -work));
        out.push(("mean_braking_velocity", -mean_velocity));
        out.push(("net_braking_impulse", net_impulse));
        out.push(("force_at_lowest_point", value_at(self.force_n, low)));
    }

    /// Propulsion from the lowest point (or the start of the push) to take-off.
    pub(super) fn propulsion(&self, low: f64, off: f64, out: &mut Values) {
        let start = self.motion.start as f64;
        let power = self.power(self.force_n, low, off);
        let [mean_force, mean_power, work, mean_velocity, net_impulse] = self.phase_of(&power, low, off);
        let (peak_power, peak_power_at) = self.smooth_power(low, off).unwrap_or(power).peak(low, off);
        out.push(("mean_propulsion_force", mean_force));
        out.push(("peak_propulsion_force", self.peak_force(low, off).0));
        out.push(("mean_propulsion_power", mean_power));
        out.push(("peak_propulsion_power", peak_power));
        out.push(("propulsion_work", work));
        out.push(("mean_propulsion_velocity", mean_velocity));
        out.push(("net_propulsion_impulse", net_impulse));
        out.push(("force_at_peak_power", value_at(self.smooth_n, peak_power_at)));
        out.push(("velocity_at_peak_power", self.motion.velocity_at(peak_power_at)));
        out.push(("peak_upward_velocity", peak(&self.motion.velocity_m_s, low - start, off - start).0));
        let distance = self.motion.displacement_at(off) - self.motion.displacement_at(low);
        out.push(("push_off_distance", distance));
        out.push(("mean_propulsion_force_over_distance", work / distance));
    }

    /// Landing from touchdown to the lowest point after it.
    pub(super) fn landing(&self, touchdown: f64, end: f64, out: &mut Values) {
        let rate = self.p.rate_hz;
        let mean_force = integral(self.force_n, touchdown, end) / rate / ((end - touchdown) / rate);
        let (peak_force, peak_at) = self.peak_force(touchdown, end);
        out.push(("peak_landing_force", peak_force));
        out.push(("mean_landing_force", mean_force));
        out.push(("time_to_peak_landing_force", (peak_at - touchdown) / rate));
        out.push(("landing_duration", (end - touchdown) / rate));
        out.push(("landing_depth", self.motion.displacement_at(touchdown) - self.motion.displacement_at(end)));
        out.push(("time_to_stabilisation", self.time_to_stabilisation(touchdown)));
    }

    /// From touchdown until force stays within 5 % of weight for 1 s; NaN when the recording ends first
    /// [Flanagan, Ebben & Jensen 2008, J. Strength Cond. Res. 22:1677].
    fn time_to_stabilisation(&self, touchdown: f64) -> f64 {
        if !touchdown.is_finite() {
            return f64::NAN;
        }
        let p = self.p;
        let hold = p.rate_hz.round() as usize;
        let force = self.force_n.get(..p.end.min(self.force_n.len())).unwrap_or_default();
        let mut since = touchdown.ceil() as usize;
        // The last sample outside within a second rules out every start before it: most of the landing is never looked at.
        while let Some(second) = force.get(since..=since + hold) {
            match second.iter().rposition(|f| (f - p.weight_n).abs() > 0.05 * p.weight_n) {
                Some(outside) => since += outside + 1,
                None => return (since as f64 - touchdown) / p.rate_hz,
            }
        }
        f64::NAN
    }
}

impl Power {
    /// The highest between two events, and where.
    fn peak(&self, from: f64, to: f64) -> (f64, f64) {
        let (most, at) = peak(&self.watts, from - self.first, to - self.first);
        (most, at + self.first)
    }
    /// The most negative between two events, told as a positive number.
    fn most_negative(&self, from: f64, to: f64) -> f64 {
        let within = |at: f64| at.is_finite().then(|| (at - self.first).max(0.0) as usize);
        let range = within(from.ceil()).zip(within(to.floor() + 1.0)).map(|(a, b)| a..b);
        range.and_then(|r| self.watts.get(lowest(&self.watts, r)?)).map_or(f64::NAN, |p| -p)
    }
}

/// Whether force only rises through braking, seen on 20 ms means so that noise does not decide. A fall of more than
/// 5 % of weight below what was already reached is a second dip, and a two-point rate would then mean nothing.
fn monotonic(force_n: &[f64], down: f64, low: f64, rate_hz: f64, weight_n: f64) -> bool {
    let width = ((0.02 * rate_hz) as usize).max(1);
    let (a, b) = (down.max(0.0) as usize, low.max(0.0) as usize);
    let mut highest = f64::MIN;
    force_n.get(a..b).unwrap_or_default().chunks_exact(width).map(mean).all(|f| {
        highest = highest.max(f);
        f > highest - 0.05 * weight_n
    })
}

/// Steepest 20 ms of a stretch, value a second [Haff et al. 2015, J. Strength Cond. Res. 29:386]; NaN where shorter.
pub(super) fn steepest(force_n: &[f64], from: f64, to: f64, rate_hz: f64) -> f64 {
    let width = ((0.02 * rate_hz).round() as usize).max(1);
    if !(from >= 0.0 && to > from) {
        return f64::NAN;
    }
    let (a, b) = (from.floor() as usize, (to.ceil() as usize).min(force_n.len().saturating_sub(1)));
    let rise = |i: usize| Some(force_n.get(i + width)? - force_n.get(i)?);
    (a..b.saturating_sub(width) + 1).filter_map(rise).fold(f64::NAN, f64::max) * rate_hz / width as f64
}
