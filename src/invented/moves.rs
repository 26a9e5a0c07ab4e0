//! What invented movements are made of: going down and coming to a stop, pushing off, landing, rebounding. Each adds
//! closed forms to a [`Path`] so that wished velocities and displacements are met exactly.
use super::path::{G, Path};
use crate::force::math::acos;
use core::f64::consts::PI;

/// The instants of a countermovement and its push-off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Dip {
    pub peak_downward_velocity_s: f64,
    pub lowest_point_s: f64,
    pub take_off_s: f64,
}

/// What is wished of a countermovement.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Wish {
    pub height_m: f64,
    pub depth_m: f64,
    pub down_m_s: f64,
    pub tempo_ratio: f64,
    pub rise_m: f64,
}

/// Unweighting, braking and propulsion, from rest in standing to take-off; none where the wishes cannot be met together
/// (too shallow for so fast a descent, …).
pub(super) fn countermovement(path: &mut Path, wish: &Wish) -> Option<Dip> {
    let v_to = (2.0 * G * wish.height_m).sqrt();
    // Unweighting: half a cosine from 0 to −A over r·T, then half a cosine from −A through 0 (peak downward velocity,
    // crossed steeply as people do) to B, where velocity is zero again. With A = T = 1 the shape has velocity f and depth
    // h; velocity scales with A·T, depth with A·T².
    let r = wish.tempo_ratio;
    let shape = |a: f64, t: f64, path: &mut Path| {
        path.push(r * t, -a / 2.0, a / 2.0, PI / (r * t), 0.0);
        let b = a * (1.0 + r);
        let start = path.end_s();
        path.push(t, (b - a) / 2.0, -(a + b) / 2.0, PI / t, 0.0);
        start + t / PI * acos((b - a) / (a + b))
    };
    let mut unit = Path::default();
    let crossing = shape(1.0, 1.0, &mut unit);
    let (f, h) = (-unit.at(crossing)[1], -unit.at(unit.end_s())[2]);
    let t = wish.depth_m / wish.down_m_s * f / h;
    let a = wish.down_m_s / (t * f);
    if !(0.3 * G..0.93 * G).contains(&a) {
        return None;
    }
    let peak_downward_velocity_s = shape(a, t, path);
    let lowest_point_s = path.end_s();
    let b = a * (1.0 + r);
    // Propulsion: a plateau of B, then a quarter cosine to −g; the two lengths give velocity and height.
    let plateau = |t4: f64| (v_to - (b + G) * 2.0 * t4 / PI + G * t4) / b;
    let extend = |path: &Path, t4: f64| {
        let mut path = path.clone();
        path.push(plateau(t4), b, 0.0, 0.0, 0.0);
        path.push(t4, -G, b + G, PI / (2.0 * t4), 0.0);
        path
    };
    let rise = |t4: f64| {
        let p = extend(path, t4);
        p.at(p.end_s())[2]
    };
    let (mut low, mut high) = (0.01, 0.5);
    if plateau(high) < 0.0 {
        high = v_to / ((b + G) * 2.0 / PI - G);
    }
    if !(high > low) || (rise(low) - wish.rise_m) * (rise(high) - wish.rise_m) > 0.0 {
        return None;
    }
    let rising = rise(high) > rise(low);
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if (rise(middle) > wish.rise_m) == rising { high = middle } else { low = middle }
    }
    *path = extend(path, 0.5 * (low + high));
    let take_off_s = path.end_s();
    (take_off_s - lowest_point_s <= 0.7).then_some(Dip { peak_downward_velocity_s, lowest_point_s, take_off_s })
}

/// Push-off from rest in a held squat: force climbs over `climb_s`, stays, and falls to nothing over `release_s`; the
/// height of its top and its length are found so that take-off has this velocity and displacement.
pub(super) fn push_off(path: &mut Path, v_to: f64, rise_m: f64, climb_s: f64, release_s: f64) -> Option<f64> {
    let stay = |b: f64| (v_to - b * climb_s / 2.0 - (b + G) * 2.0 * release_s / PI + G * release_s) / b;
    let extend = |b: f64| {
        let mut path = path.clone();
        path.push(climb_s, b / 2.0, b / 2.0, PI / climb_s, PI);
        path.push(stay(b), b, 0.0, 0.0, 0.0);
        path.push(release_s, -G, b + G, PI / (2.0 * release_s), 0.0);
        path
    };
    let rise = |b: f64| extend(b).last()[2];
    // The hardest push has no time at its top.
    let most = (v_to - G * release_s * (2.0 / PI - 1.0)) / (climb_s / 2.0 + 2.0 * release_s / PI);
    let (mut low, mut high) = (1.0, most);
    if !(high > low && rise(low) > rise_m && rise(high) < rise_m) {
        return None;
    }
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if rise(middle) > rise_m { low = middle } else { high = middle }
    }
    *path = extend(0.5 * (low + high));
    Some(path.end_s())
}

/// Landing to the lowest point, then up to standing; the instant of the lowest point. None where the fall is too slow to end below standing.
pub(super) fn land(path: &mut Path) -> Option<f64> {
    // A steep quarter sine up to P, half a cosine down to C at the lowest point; then up to standing.
    let (ta, tb, c) = (0.045, 0.16, 0.35 * G);
    let v_td = -path.at(path.end_s())[1];
    // Impulse of both pieces stops the fall: v_td = −g·ta + (P+g)·2ta/π + (P+C)/2·tb.
    let p = (v_td + G * ta - G * 2.0 * ta / PI - c * tb / 2.0) / (2.0 * ta / PI + tb / 2.0);
    if p < c {
        return None;
    }
    path.push(ta, -G, p + G, PI / (2.0 * ta), -PI / 2.0);
    path.push(tb, (p + c) / 2.0, (p - c) / 2.0, PI / tb, 0.0);
    let landing_end_s = path.end_s();
    let low = -path.at(landing_end_s)[2];
    // A fall too slow ends above standing, from where there is no way up.
    if !(low > 0.02) {
        return None;
    }
    // Up again: a quarter cosine of C, then a raised cosine downward that ends at rest in standing.
    let t1 = PI / 2.0 * (0.3 * low / c).sqrt();
    let t2 = 0.7 * low * PI / (c * t1);
    let d = 4.0 * c * t1 / (PI * t2);
    path.push(t1, 0.0, c, PI / (2.0 * t1), 0.0);
    path.push(t2, -d / 2.0, d / 2.0, 2.0 * PI / t2, 0.0);
    Some(landing_end_s)
}

/// A first impact spike at touchdown: the heel or forefoot hits before the leg pushes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spike {
    /// Its top, as a part of the peak that the contact would have without it.
    pub height: f64,
    /// From touchdown to its top, s.
    pub rise_s: f64,
    /// From its top to the valley after it (half as high), s.
    pub fall_s: f64,
}

/// A contact between two flights: force climbs from nothing at touchdown like a quarter sine and falls back like one, its
/// top at `peak_at` of the contact (0.5: a half sine); the top's height gives the take-off velocity. With a spike, the
/// spike first. None where it cannot be.
pub(super) fn rebound(path: &mut Path, contact_s: f64, v_to: f64, peak_at: f64, spike: Option<Spike>) -> Option<f64> {
    let change = v_to - path.last()[1] + G * contact_s;
    let plain = change * PI / (2.0 * contact_s);
    let Some(Spike { height, rise_s, fall_s }) = spike else {
        let (t1, t2) = (peak_at * contact_s, (1.0 - peak_at) * contact_s);
        path.push(t1, -G, plain, PI / (2.0 * t1), -PI / 2.0);
        path.push(t2, -G, plain, PI / (2.0 * t2), 0.0);
        return Some(path.end_s());
    };
    let rest = contact_s - rise_s - fall_s;
    let (t1, t2) = (peak_at * rest, (1.0 - peak_at) * rest);
    let (top, valley) = (height * plain, 0.5 * height * plain);
    // Impulse of all four pieces is the change of velocity and the weight's.
    let p = (change - top * 2.0 * rise_s / PI - (top + valley) / 2.0 * fall_s - valley * t1 / 2.0) / (t1 / 2.0 + 2.0 * t2 / PI);
    if !(rest > 0.0 && p > valley) {
        return None;
    }
    path.push(rise_s, -G, top, PI / (2.0 * rise_s), -PI / 2.0);
    path.push(fall_s, -G + (top + valley) / 2.0, (top - valley) / 2.0, PI / fall_s, 0.0);
    path.push(t1, -G + (p + valley) / 2.0, -(p - valley) / 2.0, PI / t1, 0.0);
    path.push(t2, -G, p, PI / (2.0 * t2), 0.0);
    Some(path.end_s())
}
