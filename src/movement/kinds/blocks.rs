//! Figures that several kinds share: of braking, of propulsion, of landing, each over the kind's own events.
use super::super::motion::Motion;
use super::super::sums::{integral, peak, sample, value_at};
use super::{Inputs, Values};
use crate::force::stats::mean;

/// What a block of figures is computed from.
pub(super) struct Block<'a> {
    pub force_n: &'a [f64],
    pub smooth_n: &'a [f64],
    pub p: &'a Inputs,
    pub motion: &'a Motion,
}

impl Block<'_> {
    fn velocity(&self, i: usize) -> f64 {
        i.checked_sub(self.motion.start).and_then(|k| self.motion.velocity_m_s.get(k)).copied().unwrap_or(f64::NAN)
    }

    /// Mean force, mean power, work, mean velocity, net impulse. Power of the total on the centre of mass, unfiltered.
    pub(super) fn phase(&self, from: f64, to: f64) -> [f64; 5] {
        let (rate, len) = (self.p.rate_hz, self.force_n.len());
        let force = sample(self.force_n);
        let seconds = (to - from) / rate;
        let impulse = integral(&force, from, to, len) / rate;
        let work = integral(|i| force(i) * self.velocity(i), from, to, len) / rate;
        let moved = self.motion.displacement_at(to) - self.motion.displacement_at(from);
        [impulse / seconds, work / seconds, work, moved / seconds, impulse - self.p.weight_n * seconds]
    }

    /// Highest smoothed force between two events, and where.
    pub(super) fn peak_force(&self, from: f64, to: f64) -> (f64, f64) {
        peak(sample(self.smooth_n), from, to, self.smooth_n.len())
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
        let smooth = sample(self.smooth_n);
        let [mean_force, mean_power, work, mean_velocity, net_impulse] = self.phase(down, low);
        out.push(("mean_braking_force", mean_force));
        out.push(("peak_braking_force", self.peak_force(down, low).0));
        out.push(("mean_braking_power", -mean_power));
        out.push(("peak_braking_power", peak(|i| -smooth(i) * self.velocity(i), down, low, self.force_n.len()).0));
        out.push(("braking_work", -work));
        out.push(("mean_braking_velocity", -mean_velocity));
        out.push(("net_braking_impulse", net_impulse));
        out.push(("force_at_lowest_point", value_at(self.force_n, low)));
    }

    /// Propulsion from the lowest point (or the start of the push) to take-off.
    pub(super) fn propulsion(&self, low: f64, off: f64, out: &mut Values) {
        let len = self.force_n.len();
        let smooth = sample(self.smooth_n);
        let [mean_force, mean_power, work, mean_velocity, net_impulse] = self.phase(low, off);
        let (peak_power, peak_power_at) = peak(|i| smooth(i) * self.velocity(i), low, off, len);
        out.push(("mean_propulsion_force", mean_force));
        out.push(("peak_propulsion_force", self.peak_force(low, off).0));
        out.push(("mean_propulsion_power", mean_power));
        out.push(("peak_propulsion_power", peak_power));
        out.push(("propulsion_work", work));
        out.push(("mean_propulsion_velocity", mean_velocity));
        out.push(("net_propulsion_impulse", net_impulse));
        out.push(("force_at_peak_power", value_at(self.smooth_n, peak_power_at)));
        out.push(("velocity_at_peak_power", self.motion.velocity_at(peak_power_at)));
        let (_, fastest_at) = peak(|i| self.velocity(i), low, off, len);
        out.push(("peak_upward_velocity", self.motion.velocity_at(fastest_at)));
        let distance = self.motion.displacement_at(off) - self.motion.displacement_at(low);
        out.push(("push_off_distance", distance));
        out.push(("mean_propulsion_force_over_distance", work / distance));
    }

    /// Landing from touchdown to the lowest point after it.
    pub(super) fn landing(&self, touchdown: f64, end: f64, out: &mut Values) {
        let rate = self.p.rate_hz;
        let [mean_force, ..] = self.phase(touchdown, end);
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
        let (force_n, p) = (self.force_n, self.p);
        let hold = p.rate_hz.round() as usize;
        let from = touchdown.ceil() as usize;
        let mut inside_since = from;
        for i in from..p.end.min(force_n.len()) {
            let outside = force_n.get(i).is_none_or(|f| (f - p.weight_n).abs() > 0.05 * p.weight_n);
            if outside {
                inside_since = i + 1;
            } else if i - inside_since >= hold {
                return (inside_since as f64 - touchdown) / p.rate_hz;
            }
        }
        f64::NAN
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
