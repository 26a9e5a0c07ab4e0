//! Figures of a countermovement jump, definitions in the catalogue.
use super::{integral, peak, sample};
use crate::movement::Motion;
use crate::movement::kinds::countermovement_jump::{Events, Inputs};

/// Every base figure (without the per-kilogram twins) in the catalogue's order; NaN where it cannot be given.
///
/// `force_n` is unfiltered and zero-corrected; `smooth_n` is the same or its low-passed form and serves peak forces
/// and peak powers only.
pub fn jump_figures(force_n: &[f64], smooth_n: &[f64], p: &Inputs, e: &Events, motion: &Motion) -> Vec<(&'static str, f64)> {
    let (g, w, rate) = (p.gravity, p.weight_n, p.rate_hz);
    let mut out: Vec<(&'static str, f64)> = Vec::with_capacity(48);

    let v_to = motion.velocity_at(e.take_off);
    let s_to = motion.displacement_at(e.take_off);
    let flight = (e.touchdown - e.take_off) / rate;
    let height = v_to * v_to / (2.0 * g);
    let to_take_off = (e.take_off - e.onset) / rate;
    let v_down = motion.velocity_at(e.peak_downward_velocity);
    let s_low = motion.displacement_at(e.lowest_point);
    let s_down = motion.displacement_at(e.peak_downward_velocity);
    let f_low = value_at(force_n, e.lowest_point);
    let brake_s = (e.lowest_point - e.peak_downward_velocity) / rate;

    out.push(("jump_height", height));
    out.push(("jump_height_flight_time", g * flight * flight / 8.0));
    out.push(("rise_above_standing", s_to + height));
    out.push(("take_off_velocity", v_to));
    out.push(("take_off_displacement", s_to));
    out.push(("flight_time", flight));
    out.push(("time_to_take_off", to_take_off));
    out.push(("reactive_strength_index_modified", height / to_take_off));
    out.push(("flight_to_contraction_ratio", flight / to_take_off));

    out.push(("countermovement_depth", -s_low));
    out.push(("peak_downward_velocity", -v_down));
    out.push(("unweighting_duration", (e.peak_downward_velocity - e.onset) / rate));
    out.push(("braking_duration", brake_s));
    out.push(("propulsion_duration", (e.take_off - e.lowest_point) / rate));

    // Power of the total on the centre of mass, unfiltered for work and smoothed for peaks; samples of the window.
    let velocity = |i: usize| i.checked_sub(motion.start).and_then(|k| motion.velocity_m_s.get(k)).copied().unwrap_or(f64::NAN);
    let (force, smooth) = (sample(force_n), sample(smooth_n));
    let power = |i: usize| force(i) * velocity(i);
    let smooth_power = |i: usize| smooth(i) * velocity(i);
    let len = force_n.len();
    let phase = |from: f64, to: f64| {
        let seconds = (to - from) / rate;
        let impulse = integral(&force, from, to, len) / rate;
        let work = integral(power, from, to, len) / rate;
        let moved = motion.displacement_at(to) - motion.displacement_at(from);
        [impulse / seconds, work / seconds, work, moved / seconds, impulse - w * seconds]
    };

    let [mean_force, mean_power, work, mean_velocity, net_impulse] = phase(e.peak_downward_velocity, e.lowest_point);
    out.push(("mean_braking_force", mean_force));
    out.push(("peak_braking_force", peak(&smooth, e.peak_downward_velocity, e.lowest_point, len).0));
    out.push(("mean_braking_power", -mean_power));
    out.push(("peak_braking_power", peak(|i| -smooth_power(i), e.peak_downward_velocity, e.lowest_point, len).0));
    out.push(("braking_work", -work));
    out.push(("mean_braking_velocity", -mean_velocity));
    out.push(("net_braking_impulse", net_impulse));
    out.push(("braking_rate_of_force_development", if monotonic(force_n, e, rate, w) { (f_low - w) / brake_s } else { f64::NAN }));
    out.push(("braking_slope_stiffness", (f_low - w) / (s_down - s_low)));
    out.push(("force_at_lowest_point", f_low));

    let [mean_force, mean_power, work, mean_velocity, net_impulse] = phase(e.lowest_point, e.take_off);
    let (peak_power, peak_power_at) = peak(smooth_power, e.lowest_point, e.take_off, len);
    out.push(("mean_propulsion_force", mean_force));
    out.push(("peak_propulsion_force", peak(&smooth, e.lowest_point, e.take_off, len).0));
    out.push(("mean_propulsion_power", mean_power));
    out.push(("peak_propulsion_power", peak_power));
    out.push(("propulsion_work", work));
    out.push(("mean_propulsion_velocity", mean_velocity));
    out.push(("net_propulsion_impulse", net_impulse));
    out.push(("force_at_peak_power", value_at(smooth_n, peak_power_at)));
    out.push(("velocity_at_peak_power", motion.velocity_at(peak_power_at)));
    let (_, fastest_at) = peak(velocity, e.lowest_point, e.take_off, len);
    out.push(("peak_upward_velocity", motion.velocity_at(fastest_at)));

    let [mean_force, ..] = phase(e.touchdown, e.landing_end);
    let (peak_force, peak_at) = peak(&smooth, e.touchdown, e.landing_end, len);
    out.push(("peak_landing_force", peak_force));
    out.push(("mean_landing_force", mean_force));
    out.push(("time_to_peak_landing_force", (peak_at - e.touchdown) / rate));
    out.push(("landing_duration", (e.landing_end - e.touchdown) / rate));
    out.push(("landing_depth", motion.displacement_at(e.touchdown) - motion.displacement_at(e.landing_end)));
    out.push(("time_to_stabilisation", time_to_stabilisation(force_n, p, e)));
    out
}

fn value_at(x: &[f64], at: f64) -> f64 {
    if !(at >= 0.0) {
        return f64::NAN;
    }
    let i = at.floor() as usize;
    match (x.get(i), x.get(i + 1)) {
        (Some(a), Some(b)) => a + (b - a) * (at - i as f64),
        (Some(a), None) => *a,
        _ => f64::NAN,
    }
}

/// Whether force only rises through braking, seen on 20 ms means so that noise does not decide. A fall of more than
/// 5 % of weight below what was already reached is a second dip, and a two-point rate would then mean nothing.
fn monotonic(force_n: &[f64], e: &Events, rate_hz: f64, weight_n: f64) -> bool {
    let width = ((0.02 * rate_hz) as usize).max(1);
    let (a, b) = (e.peak_downward_velocity.max(0.0) as usize, e.lowest_point.max(0.0) as usize);
    let mut highest = f64::MIN;
    force_n.get(a..b).unwrap_or_default().chunks_exact(width).map(crate::force::stats::mean).all(|f| {
        highest = highest.max(f);
        f > highest - 0.05 * weight_n
    })
}

/// From touchdown until force stays within 5 % of weight for 1 s; NaN when the recording ends first
/// [Flanagan, Ebben & Jensen 2008, J. Strength Cond. Res. 22:1677].
fn time_to_stabilisation(force_n: &[f64], p: &Inputs, e: &Events) -> f64 {
    if !e.touchdown.is_finite() {
        return f64::NAN;
    }
    let hold = p.rate_hz.round() as usize;
    let from = e.touchdown.ceil() as usize;
    let mut inside_since = from;
    for i in from..p.end.min(force_n.len()) {
        let outside = force_n.get(i).is_none_or(|f| (f - p.weight_n).abs() > 0.05 * p.weight_n);
        if outside {
            inside_since = i + 1;
        } else if i - inside_since >= hold {
            return (inside_since as f64 - e.touchdown) / p.rate_hz;
        }
    }
    f64::NAN
}
