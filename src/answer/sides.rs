//! Left and right of one trial: the leg or legs it was done on, the figures of both plates, how much later the right foot leaves
//! and lands than the left.
use super::clean::Clean;
use super::{Figure, Options, Side, SideFigure};
use crate::figures;
use crate::force::stats::mean;
use crate::movement::kinds::{Events, Inputs};
use crate::recording::{Recording, Role};
use indexmap::IndexMap;

/// The leg or legs it was done on: as told; else both, unless one plate carries nearly nothing all along and still lives
/// (a plate that reads one and the same number is off, not unloaded).
pub(super) fn side_of(window: &Recording, clean: &Clean, events: &Events, weight_n: f64, options: &Options) -> Side {
    if let Some(side) = options.side {
        return side;
    }
    let Some([left, right]) = &clean.plates else { return Side::Both };
    let (first, last) = events.span();
    let loaded = |x: &[f64]| -> f64 {
        let part = x.get(first.max(0.0) as usize..last.max(0.0) as usize).unwrap_or_default();
        mean(part)
    };
    let (l, r) = (loaded(left), loaded(right));
    let share = r / (l + r);
    let lives = |role| window.channel(role).is_some_and(|x| x.windows(2).any(|w| w.first() != w.last()));
    match share {
        s if s > 0.95 && l + r > 0.2 * weight_n && lives(Role::Left) => Side::Right,
        s if s < 0.05 && l + r > 0.2 * weight_n && lives(Role::Right) => Side::Left,
        _ => Side::Both,
    }
}

/// One figure of both sides for the document. An impulse grows with its phase: what the phase's length is uncertain by, in
/// proportion, both sides are too (their difference is not: both move alike).
pub(super) fn side_answer(side: figures::Side, figures: &IndexMap<String, Figure>) -> SideFigure {
    let length = figures.get(&side.id.replace("impulse", "duration")).filter(|_| side.id.ends_with("impulse"));
    let stretched = length.and_then(|f| Some(f.u? / f.value?)).filter(|r| r.is_finite()).unwrap_or(0.0);
    let whole = |value: f64, own: f64| Some((own * own + value * stretched * value * stretched).sqrt()).filter(|u| u.is_finite());
    let (left, right) = (side.left, side.right);
    SideFigure {
        left,
        right,
        unit: side.unit.into(),
        share_right_percent: 100.0 * right / (left + right),
        difference_of_total_percent: 100.0 * (right - left) / (right + left),
        u_left: whole(left, side.u_each[0]),
        u_right: whole(right, side.u_each[1]),
        covariance: Some(left * right * stretched * stretched).filter(|c| c.is_finite()),
        u: side.u,
    }
}

/// How much later the right foot leaves and lands than the left, each plate by the total's rule at half its threshold.
pub(super) fn push_lags(figures: &mut IndexMap<String, Figure>, left_n: &[f64], right_n: &[f64], p: &Inputs, e: &Events) {
    let half = Inputs { threshold_n: p.threshold_n / 2.0, by_hand: Vec::new(), ..p.clone() };
    let near = |force: &[f64], at: f64, falling: bool| -> f64 {
        if !at.is_finite() {
            return f64::NAN;
        }
        let reach = (0.1 * half.rate_hz) as usize;
        let centre = at.max(0.0) as usize;
        let range = centre.saturating_sub(reach).max(1)..(centre + reach).min(force.len());
        let crosses = |i: &usize| match (force.get(*i - 1), force.get(*i)) {
            (Some(a), Some(b)) if falling => *a >= half.threshold_n && *b < half.threshold_n,
            (Some(a), Some(b)) => *a < half.threshold_n && *b >= half.threshold_n,
            _ => false,
        };
        let i = if falling { range.clone().find(crosses) } else { range.clone().rfind(crosses) };
        i.map_or(f64::NAN, |i| i as f64)
    };
    for (id, at, falling) in [("take_off_lag_right", e.at("take_off"), true), ("touchdown_lag_right", e.at("touchdown"), false)] {
        let lag = (near(right_n, at, falling) - near(left_n, at, falling)) / p.rate_hz;
        let known = lag.is_finite();
        figures.insert(
            id.into(),
            Figure {
                value: known.then_some(lag),
                // Two crossings, each uniform over one sample.
                u: known.then(|| (2.0 / 12.0_f64).sqrt() / p.rate_hz),
                unit: "s".into(),
                why: (!known).then(|| "one plate does not cross its threshold within 0.1 s of the event".into()),
                mostly_from: known.then(|| "sampling".into()),
            },
        );
    }
}
