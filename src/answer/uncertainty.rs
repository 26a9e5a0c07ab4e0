//! Standard uncertainty by re-reading: each input moved by its own uncertainty, the trial read again, first order
//! [JCGM 100:2008, 5.1.3 and note 2 there: numerical sensitivity]. It is the measurement's, not the athlete's.
use super::Figure;
use super::shared::{self, Shared};
use crate::figures::{CATALOGUE, PER_KG};
use crate::force::stats::mean;
use crate::movement::Motion;
use crate::movement::kinds::{Events, Inputs, Kind, Values};
use indexmap::IndexMap;

/// One trial's force and the uncertainty of everything its figures depend on.
pub(crate) struct Reread<'a> {
    /// What it is read as.
    pub kind: &'a dyn Kind,
    /// Zero-corrected total, N.
    pub force_n: &'a [f64],
    /// The same or its low-passed form.
    pub smooth_n: &'a [f64],
    /// The nominal inputs.
    pub inputs: &'a Inputs,
    /// Of weight, N.
    pub weight_u_n: f64,
    /// Of the total's zero level, N.
    pub zero_u_n: f64,
    /// Standard deviation of force noise, sample to sample, N.
    pub noise_n: f64,
    /// Spread of velocity in quiet standing, m/s.
    pub sway_m_s: f64,
    /// External load, kg.
    pub load_kg: f64,
    /// Whether there is a stance to integrate from; without it only the flight's figures are given.
    pub velocity_known: bool,
    /// For a drop: whether its velocity is read backwards from rest, and whether from a flight.
    pub drop: Option<(bool, bool)>,
}

/// Every figure of the catalogue with its uncertainty and the largest part of it, twins included, in order; and how they move
/// together.
pub(crate) fn figures_with_u(r: &Reread<'_>, events: &Events, motion: &Motion) -> (IndexMap<String, Figure>, Option<Shared>) {
    let nominal = r.kind.figures(r.force_n, r.smooth_n, r.inputs, events, motion);
    let mass = body_mass(r, r.inputs);
    let parts = parts(r, events, motion);
    // The largest of many noisy samples is too high. The noise laid on again shows how much: of n draws the first lifts the
    // largest by some amount, the second lifts it by √2 − 1 of that.
    let lifted = |i: usize, nominal: f64| {
        let noisy = parts.iter().find(|p| p.name == "noise")?;
        let values: Vec<f64> = noisy.readings.iter().filter_map(|(_, v)| v.get(i).map(|v| v.1)).filter(|v| v.is_finite()).collect();
        (!values.is_empty()).then(|| (mean(&values) - nominal) / (core::f64::consts::SQRT_2 - 1.0))
    };
    let mut out = IndexMap::new();
    for (i, (id, value)) in nominal.iter().enumerate() {
        let Some(definition) = CATALOGUE.iter().find(|d| d.id == *id) else { continue };
        let known = r.velocity_known || r.kind.without_velocity().contains(id);
        let mut insert = |id: String, unit: String, value: f64, scale: &dyn Fn(&Inputs, f64) -> f64| {
            let figure = if known && value.is_finite() {
                let (mut u, mut largest) = combine(&parts, |(inputs, values)| values.get(i).map(|v| scale(inputs, v.1)), value);
                if definition.formula.starts_with("max")
                    && let Some(lift) = lifted(i, nominal.get(i).map_or(f64::NAN, |v| v.1))
                {
                    let lift = scale(r.inputs, lift);
                    largest = if lift.abs() > u { Some("noise") } else { largest };
                    u = (u * u + lift * lift).sqrt();
                }
                Figure { value: Some(value), u: Some(u), unit, why: None, mostly_from: largest.map(Into::into) }
            } else {
                Figure { value: None, u: None, unit, why: Some(why_not(r, &id, known, events).into()), mostly_from: None }
            };
            out.insert(id, figure);
        };
        insert((*id).to_string(), definition.unit.to_string(), *value, &|_, v| v);
        if definition.per_kg {
            insert(format!("{id}{PER_KG}"), format!("{}/kg", definition.unit), value / mass, &|inputs, v| v / body_mass(r, inputs));
        }
    }
    let moved = shared::shared((r.inputs, &nominal), &out, parts.iter().flat_map(moved), |inputs| body_mass(r, inputs));
    (out, moved)
}

/// A part's readings: up and down as one, or each by itself.
fn moved(part: &Part) -> Vec<shared::Moved<'_>> {
    match part.readings.as_slice() {
        [up, down] if part.both_ways => vec![(part.name, up, Some(down), 1)],
        all => all.iter().map(|one| (part.name, one, None, all.len())).collect(),
    }
}

fn body_mass(r: &Reread<'_>, inputs: &Inputs) -> f64 {
    (inputs.weight_n / inputs.gravity - r.load_kg).max(1.0)
}

fn why_not(r: &Reread<'_>, id: &str, known: bool, events: &Events) -> &'static str {
    let base = id.strip_suffix(PER_KG).unwrap_or(id);
    if !r.inputs.weight_n.is_finite() {
        "weight unknown: nobody stands still before or after it, and none was typed in"
    } else if !known && r.drop.is_some() {
        "no rest after the landing, no flight and no box height to find the velocity of the drop from"
    } else if !known {
        "no quiet standing of half a second before the jump to integrate from"
    } else if id.starts_with("braking_rate") {
        "force falls again during braking, so a two-point rate means nothing"
    } else if let Some(why) = r.kind.why_not(base, events) {
        why
    } else if !r.inputs.lands || !events.at(r.kind.last_touchdown()).is_finite() {
        "the recording ends before the landing"
    } else if id.starts_with("time_to_stab") {
        "the recording ends before force stayed within 5 % of weight for one second"
    } else {
        "the recording ends before the phase does"
    }
}

/// One source of uncertainty: its name, the readings with the input moved, and how many of them make one variance.
struct Part {
    name: &'static str,
    readings: Vec<(Inputs, Values)>,
    /// Two readings at ± u are differenced; else each is compared with the nominal one.
    both_ways: bool,
}

fn parts(r: &Reread<'_>, events: &Events, motion: &Motion) -> Vec<Part> {
    // No figure looks at motion after the landing, and the final stance is most of a window: the re-readings stop half a
    // second after the nominal landing's end, further than any input moves it.
    let landed = events.at("landing_end") + 0.5 * r.inputs.rate_hz;
    let motion_end = if landed.is_finite() { r.inputs.motion_end.min(landed as usize) } else { r.inputs.motion_end };
    // A drop is integrated backwards from the first second of rest.
    let rested = r.inputs.rest.as_ref().filter(|_| r.drop.is_some()).map_or(0, |rest| rest.start + r.inputs.rate_hz.ceil() as usize);
    let motion_end = motion_end.max(rested.min(r.inputs.motion_end));
    let p = &Inputs { motion_end, ..r.inputs.clone() };
    let with = |change: &dyn Fn(&mut Inputs)| {
        let mut inputs = p.clone();
        change(&mut inputs);
        again(r.kind, r.force_n, r.smooth_n, inputs)
    };
    // Where only an event moves, the motion is the nominal one.
    let found = |change: &dyn Fn(&mut Inputs)| {
        let mut inputs = p.clone();
        change(&mut inputs);
        let events = r.kind.find(r.force_n, &inputs, motion).ok()?;
        let values = r.kind.figures(r.force_n, r.smooth_n, &inputs, &events, motion);
        Some((inputs, values))
    };
    // The velocity of a drop hangs on its events, too.
    type Again<'a> = &'a dyn Fn(&dyn Fn(&mut Inputs)) -> Option<(Inputs, Values)>;
    let found: Again<'_> = if r.drop.is_some() { &with } else { &found };
    let both = |name, how: Again<'_>, u: f64, change: &dyn Fn(&mut Inputs, f64)| Part {
        name,
        readings: [how(&|i| change(i, u)), how(&|i| change(i, -u))].into_iter().flatten().collect(),
        both_ways: true,
    };
    let mut parts = vec![
        both("weighing", &with, r.weight_u_n, &|i, u| i.weight_n += u),
        both("sway while standing", &with, r.sway_m_s, &|i, u| i.v0_m_s += u),
        // Take-off and touchdown are read where the fall or rise reaches nothing, so sampling leaves only the bend of that
        // line over an interval or two; peak downward velocity lies on a bend of force itself.
        both("sampling", found, 0.02, &|i, u| i.shift[0] += u),
        both("sampling", found, 0.015, &|i, u| i.shift[1] += u),
        both("sampling", found, 0.08, &|i, u| i.shift[2] += u),
        both("onset rule", found, 2.0, &|i, u| i.onset_sd += u),
        // Another threshold reads the fall on another stretch: what that moves is how far the fall is from straight.
        Part { name: "threshold", readings: found(&|i| i.threshold_n *= 1.3).into_iter().collect(), both_ways: false },
    ];
    let shifted = |u: f64| {
        let force: Vec<f64> = r.force_n.iter().map(|f| f - u).collect();
        let smooth: Vec<f64> = r.smooth_n.iter().map(|f| f - u).collect();
        // The weight was read from the same plate: it moves with the zero level.
        again(r.kind, &force, &smooth, Inputs { weight_n: p.weight_n - u, ..p.clone() })
    };
    parts.push(Part {
        name: "zero level",
        readings: [shifted(r.zero_u_n), shifted(-r.zero_u_n)].into_iter().flatten().collect(),
        both_ways: true,
    });
    match r.drop {
        Some((_, true)) => parts.push(both("posture at landing", &with, super::drop::POSTURE_M.1, &|i, u| i.drop.posture_m += u)),
        Some((false, false)) => parts.push(both("box height", &with, super::drop::BOX_PART_U, &|i, u| {
            i.drop.box_m = i.drop.box_m.map(|b| b * (1.0 + u));
        })),
        _ => {}
    }
    if r.noise_n > 0.0 {
        // One draw as long as the window, turned round by an eighth for each reading: the movement meets other noise every
        // time, and drawing, the dearest part of all this, is done once. Seeded by the weight's own digits: the same trial
        // meets the same noise, no two trials do, so that one odd draw does not tilt them all.
        let n = r.force_n.len();
        let mut noisy = vec![0.0; n];
        let drawn: Vec<f64> = Noise::new(p.weight_n.to_bits(), r.noise_n).take(n).collect();
        let readings = (0..8).filter_map(|k| {
            let (tail, head) = drawn.split_at_checked(k * n / 8)?;
            noisy.copy_from_slice(r.force_n);
            // Two plain loops, which the compiler turns into vector ones; a chained iterator it does not.
            let (early, late) = noisy.split_at_mut_checked(head.len())?;
            early.iter_mut().zip(head).for_each(|(f, e)| *f += e);
            late.iter_mut().zip(tail).for_each(|(f, e)| *f += e);
            again(r.kind, &noisy, &noisy, p.clone())
        });
        parts.push(Part { name: "noise", readings: readings.collect(), both_ways: false });
    }
    parts
}

fn again(kind: &dyn Kind, force_n: &[f64], smooth_n: &[f64], inputs: Inputs) -> Option<(Inputs, Values)> {
    let (events, motion) = kind.read(force_n, &inputs).ok()?;
    let values = kind.figures(force_n, smooth_n, &inputs, &events, &motion);
    Some((inputs, values))
}

/// Root sum of squares over the parts, and the name of the largest where it makes more than half of the variance.
fn combine(parts: &[Part], value_of: impl Fn(&(Inputs, Values)) -> Option<f64>, nominal: f64) -> (f64, Option<&'static str>) {
    let (mut sum, mut largest) = (0.0, (0.0, ""));
    for part in parts {
        let values: Vec<f64> = part.readings.iter().filter_map(&value_of).filter(|v| v.is_finite()).collect();
        let variance = match values.as_slice() {
            [a, b] if part.both_ways => (a - b) * (a - b) / 4.0,
            [] => 0.0,
            all => all.iter().map(|v| (v - nominal) * (v - nominal)).sum::<f64>() / all.len() as f64,
        };
        sum += variance;
        if variance > largest.0 {
            largest = (variance, part.name);
        }
    }
    (sum.sqrt(), (largest.0 > 0.5 * sum).then_some(largest.1))
}

/// Fixed, seeded, nearly normal noise (sum of four uniforms): the same on every machine.
struct Noise {
    state: u64,
    sd: f64,
}

impl Noise {
    fn new(seed: u64, sd: f64) -> Self {
        Self { state: seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1, sd }
    }
}

impl Iterator for Noise {
    type Item = f64;
    fn next(&mut self) -> Option<f64> {
        self.state ^= self.state << 13;
        self.state ^= self.state >> 7;
        self.state ^= self.state << 17;
        let sum: u64 = (0..4).map(|k| (self.state >> (16 * k)) & 0xFFFF).sum();
        // Four uniforms on 0…65535: mean 131070, variance 4·65536²/12.
        Some((sum as f64 - 131_070.0) / 37_837.2 * self.sd)
    }
}

/// How much later the right foot leaves and lands than the left, each plate by the total's rule at half its threshold.
pub(crate) fn push_lags(figures: &mut IndexMap<String, Figure>, left_n: &[f64], right_n: &[f64], p: &Inputs, e: &Events) {
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
