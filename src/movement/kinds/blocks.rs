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
    /// Force × velocity, W, one value a sample from the motion's start: of the unfiltered force; and of the smoothed one,
    /// where that is another.
    power_w: Vec<f64>,
    smooth_power_w: Option<Vec<f64>>,
}

impl<'a> Block<'a> {
    pub(super) fn new(force_n: &'a [f64], smooth_n: &'a [f64], p: &'a Inputs, motion: &'a Motion) -> Self {
        let power = |force: &[f64]| -> Vec<f64> {
            let force = force.get(motion.start..).unwrap_or_default();
            force.iter().zip(&motion.velocity_m_s).map(|(f, v)| f * v).collect()
        };
        let smooth_power_w = (!core::ptr::eq(force_n, smooth_n)).then(|| power(smooth_n));
        Self { force_n, smooth_n, p, motion, power_w: power(force_n), smooth_power_w }
    }

    /// Mean force, mean power, work, mean velocity, net impulse. Power of the total on the centre of mass, unfiltered.
    pub(super) fn phase(&self, from: f64, to: f64) -> [f64; 5] {
        let (rate, start) = (self.p.rate_hz, self.motion.start as f64);
        let seconds = (to - from) / rate;
        let impulse = integral(self.force_n, from, to) / rate;
        let work = integral(&self.power_w, from - start, to - start) / rate;
        let moved = self.motion.displacement_at(to) - self.motion.displacement_at(from);
        [impulse / seconds, work / seconds, work, moved / seconds, impulse - self.p.weight_n * seconds]
    }

    /// Highest smoothed force between two events, and where.
    pub(super) fn peak_force(&self, from: f64, to: f64) -> (f64, f64) {
        peak(self.smooth_n, from, to)
    }

    /// Highest negative power of the smoothed force between two events, told as a positive number.
    fn peak_negative_power(&self, from: f64, to: f64) -> f64 {
        let power = self.smooth_power();
        let within = |at: f64| at.is_finite().then(|| (at as usize).saturating_sub(self.motion.start));
        let range = within(from.ceil()).zip(within(to.floor() + 1.0)).map(|(a, b)| a..b);
        range.and_then(|r| power.get(lowest(power, r)?)).map_or(f64::NAN, |p| -p)
    }

    /// Power of the smoothed force, from the motion's start.
    fn smooth_power(&self) -> &[f64] {
        self.smooth_power_w.as_ref().unwrap_or(&self.power_w)
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
        let [mean_force, mean_power, work, mean_velocity, net_impulse] = self.phase(down, low);
        out.push(("mean_braking_force", mean_force));
        out.push(("peak_braking_force", self.peak_force(down, low).0));
        out.push(("mean_braking_power", -mean_power));
        out.push(("peak_braking_power", self.peak_negative_power(down, low)));
        out.push(("braking_work", -work));
        out.push(("mean_braking_velocity", -mean_velocity));
        out.push(("net_braking_impulse", net_impulse));
        out.push(("force_at_lowest_point", value_at(self.force_n, low)));
    }

    /// Propulsion from the lowest point (or the start of the push) to take-off.
    pub(super) fn propulsion(&self, low: f64, off: f64, out: &mut Values) {
        let start = self.motion.start as f64;
        let [mean_force, mean_power, work, mean_velocity, net_impulse] = self.phase(low, off);
        let (peak_power, peak_power_at) = peak(self.smooth_power(), low - start, off - start);
        let peak_power_at = peak_power_at + start;
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
