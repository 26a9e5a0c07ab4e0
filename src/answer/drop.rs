//! The velocity of a drop at touchdown: each reading with its own uncertainty, put together by inverse variance.
use super::{DropAnswer, Valued};
use crate::movement::kinds::drop_landing::{DropVelocities, drop_velocities};
use crate::movement::kinds::{Drop, Inputs};

/// How much lower people land than they took off, m, and how much that differs: taken as tall as they left, as the formula
/// for flight time is, give or take 2 cm (*ours*). It is the largest fault of a velocity from flight time.
pub(crate) const POSTURE_M: (f64, f64) = (0.0, 0.02);
/// How much the real drop differs from the box, as a part of it (*ours*: people step down or jump up by so much).
pub(crate) const BOX_PART_U: f64 = 0.1;

/// Uncertainties that a drop's velocity rests on.
pub(crate) struct DropU {
    pub weight_u_n: f64,
    pub zero_u_n: f64,
    pub sway_m_s: f64,
}

/// Chooses how the readings are put together: sets `p.drop` and returns what to tell of it (value and uncertainty of the
/// combination are the reading's own, see [`tell`]).
pub(crate) fn settle(force_n: &[f64], p: &mut Inputs, u: &DropU) -> (DropVelocities, [f64; 2]) {
    p.drop.posture_m = POSTURE_M.0;
    let nominal = drop_velocities(force_n, p);
    let changed = |change: &dyn Fn(&mut Inputs)| {
        let mut moved = p.clone();
        change(&mut moved);
        let v = drop_velocities(force_n, &moved);
        let by = |a: Option<f64>, b: Option<f64>| a.zip(b).map_or(0.0, |(a, b)| a - b);
        [by(v.backward, nominal.backward), by(v.from_flight, nominal.from_flight)]
    };
    let parts = [
        changed(&|i| i.weight_n += u.weight_u_n),
        // Weight and zero move together where both are of one plate: what is left is the part of the flight and the air.
        changed(&|i| i.weight_n -= u.zero_u_n).map(|v| v * 0.3),
        changed(&|i| i.v0_m_s += u.sway_m_s),
        changed(&|i| i.drop.posture_m += POSTURE_M.1),
        changed(&|i| i.shift[0] += 0.02),
        changed(&|i| i.shift[1] += 0.015),
        changed(&|i| i.threshold_n *= 1.3),
    ];
    let squared = parts.iter().fold([0.0, 0.0], |sum, part| [sum[0] + part[0] * part[0], sum[1] + part[1] * part[1]]);
    let [ua, ub] = squared.map(|s: f64| s.sqrt().max(0.002));
    p.drop.backward_share = ub * ub / (ua * ua + ub * ub);
    (nominal, [ua, ub])
}

/// What the document says of a drop.
pub(crate) fn tell(drop: &Drop, found: &DropVelocities, [ua, ub]: [f64; 2], combined: Option<Valued>) -> Option<DropAnswer> {
    let valued = |value: Option<f64>, u: f64| value.map(|value| Valued { value, u });
    let method = match (found.backward, found.from_flight, found.from_box) {
        (Some(_), Some(_), _) => "combined",
        (Some(_), None, _) => "backward",
        (None, Some(_), _) => "from_flight",
        (None, None, Some(_)) => "box",
        (None, None, None) => return None,
    };
    let touchdown_velocity = combined.map(|v| Valued { value: -v.value, u: v.u })?;
    Some(DropAnswer {
        box_m: drop.box_m,
        touchdown_velocity,
        method: method.into(),
        backward: valued(found.backward, ua),
        from_flight: valued(found.from_flight, ub),
    })
}

/// Whether the two readings are further apart than chance: beyond four joint uncertainties and 5 cm/s. Returns the
/// difference of the drop heights they give, m.
pub(crate) fn apart(found: &DropVelocities, [ua, ub]: [f64; 2], gravity: f64) -> Option<f64> {
    let (a, b) = found.backward.zip(found.from_flight)?;
    let beyond = (a - b).abs() > (4.0 * (ua * ua + ub * ub).sqrt()).max(0.05);
    beyond.then(|| (a * a - b * b) / (2.0 * gravity))
}
