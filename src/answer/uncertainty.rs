//! Standard uncertainty by re-reading: each input moved by its own uncertainty, the trial read again, first order
//! [JCGM 100:2008, 5.1.3 and note 2 there: numerical sensitivity]. It is the measurement's, not the athlete's.
use super::Figure;
use super::noise::{calmed, lay, noise, ride, topped, wave};
use super::shared::{self, Shared};
use crate::figures::{CATALOGUE, PER_KG};
use crate::force::stats::{sum_of, sum_of_three};
use crate::movement::Motion;
use crate::movement::kinds::crossings::edge_u;
use crate::movement::kinds::{Events, Inputs, Kind, Values};
use core::ops::Range;
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
    /// Standard deviation of force noise, sample to sample, N; hum included.
    pub noise_n: f64,
    /// Mains hum: frequency, Hz, and amplitude, N. It rides on peaks as noise does, but sums to nothing over an impulse.
    pub hum: Option<(f64, f64)>,
    /// What samples the weight is a mean of.
    pub weighed_over: Option<WeighedOver>,
    /// Spread of velocity in quiet standing, m/s.
    pub sway_m_s: f64,
    /// External load, kg.
    pub load_kg: f64,
    /// Whether there is a stance to integrate from; without it only the flight's figures are given.
    pub velocity_known: bool,
    /// For a drop: whether its velocity is read backwards from rest, and whether from a flight.
    pub drop: Option<(bool, bool)>,
    /// Whether weight was read in this window: then it moves with the zero level, which a weight from elsewhere does not.
    pub weighed_here: bool,
}

/// The weight as a weighted sum of samples: the mean of the window stood still in, and, with a share, the weight from rest to
/// rest across the movement. The same noise is in the weight and in the movement: a draw that lifts the one lifts the other, and
/// what is integrated from their difference moves by less than both apart would say [JCGM 100:2008, 5.2.2: correlated inputs].
#[derive(Debug, Clone)]
pub(crate) struct WeighedOver {
    pub window: Range<usize>,
    /// The rest after the movement, where there is one; empty else.
    pub rest: Range<usize>,
    pub across_share: f64,
}

impl WeighedOver {
    /// What each sample of `span` has in the weight. From rest to rest the weight parts the mean impulse of one whole stretch
    /// from that of the other, so a sample counts the more the further into the first it lies, fully between the two, and the
    /// less the further into the second.
    fn of_each(&self, span: &Range<usize>) -> Vec<f64> {
        let mut out = vec![0.0; span.len()];
        let of =
            |part: &Range<usize>| part.start.clamp(span.start, span.end) - span.start..part.end.clamp(span.start, span.end) - span.start;
        let (a, b) = (&self.window, &self.rest);
        let one = (1.0 - self.across_share) / a.len().max(1) as f64;
        out.get_mut(of(a)).unwrap_or_default().iter_mut().for_each(|w| *w += one);
        if self.across_share > 0.0 && b.start >= a.end && !b.is_empty() {
            let apart = (b.start - a.end) as f64 + 0.5 * (a.len() + b.len()) as f64;
            let whole = self.across_share / apart;
            let inside = of(&(a.start..b.end));
            for (w, i) in out.get_mut(inside.clone()).unwrap_or_default().iter_mut().zip(span.start + inside.start..) {
                let into = ((i - a.start) as f64 / a.len() as f64).min(1.0);
                let left = ((b.end - i) as f64 / b.len() as f64).min(1.0);
                *w += whole * into.min(left);
            }
        }
        out
    }
}

/// Every figure of the catalogue with its uncertainty and the largest part of it, twins included, in order; and how they move
/// together.
pub(crate) fn figures_with_u(r: &Reread<'_>, events: &Events, motion: &Motion) -> (IndexMap<String, Figure>, Option<Shared>) {
    let nominal = r.kind.figures(r.force_n, r.smooth_n, r.inputs, events, motion);
    let mass = body_mass(r, r.inputs);
    // The largest of many noisy samples is too high, by as much as the highest of the draws near a top. Noise laid on the noisy
    // force itself does not show it: the very draw that lifted the top most hides the others. So peaks are read again from a
    // calmed curve with fresh noise on it, and compared with the calmed one's own.
    let calm = calmed(r.force_n, events.span(), r.inputs.rate_hz);
    let calmest = r.kind.figures(r.force_n, &calm, r.inputs, events, motion);
    let mut parts = parts(r, &nominal, events, motion, &calm);
    let between = r.kind.figures(r.force_n, &topped(&calm, &peaked(r, events)), r.inputs, events, motion);
    parts.push(Part { name: BETWEEN, readings: vec![(r.inputs.clone(), between)], both_ways: false });
    // A steepest rate is read from the noisy force: of n draws the first lifts the largest by some amount, the second lifts it
    // by √2 − 1 of that.
    let lifted = |i: usize, nominal: f64| {
        let noisy = parts.iter().find(|p| p.name == "noise")?;
        let values = noisy.readings.iter().filter_map(|(_, v)| v.get(i).map(|v| v.1)).filter(|v| v.is_finite());
        let (sum, n) = values.fold((0.0, 0.0), |(sum, n), v| (sum + v, n + 1.0));
        (n > 0.0).then(|| (sum / n - nominal) / (core::f64::consts::SQRT_2 - 1.0))
    };
    let mut out = IndexMap::new();
    for (i, (id, value)) in nominal.iter().enumerate() {
        let Some(definition) = CATALOGUE.iter().find(|d| d.id == *id) else { continue };
        let known = r.velocity_known || r.kind.without_velocity().contains(id);
        let mut insert = |id: String, unit: String, value: f64, scale: &dyn Fn(&Inputs, f64) -> f64| {
            let figure = if known && value.is_finite() {
                // What the noise's readings are compared with: a peak with the calmed curve's, all else with itself.
                let bare = calmest.get(i).map_or(value, |v| scale(r.inputs, v.1));
                let peak = bare.is_finite() && bare != value;
                let of = |(inputs, values): &(Inputs, Values)| values.get(i).map(|v| scale(inputs, v.1));
                let (mut u, mut largest) = combine(&parts, of, value, if peak { bare } else { value });
                if definition.formula.starts_with("max")
                    && !peak
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
    let moved = shared::shared(
        (r.inputs, &nominal),
        &out,
        parts.iter().filter(|p| p.name != THRESHOLD).flat_map(|part| moved(part, &nominal, &calmest)),
        |inputs| body_mass(r, inputs),
    );
    (out, moved)
}

/// A part's readings: up and down as one, or each by itself against what [`combine`] compares it with.
fn moved<'a>(part: &'a Part, nominal: &'a Values, calmest: &'a Values) -> Vec<shared::Moved<'a>> {
    let from = if part.against_calm() { calmest } else { nominal };
    match part.readings.as_slice() {
        [up, down] if part.both_ways => vec![(part.name, up, Some(down), 1.0, nominal)],
        all => {
            let known = if part.name == "noise" { KNOWN_BY_EIGHT } else { 1.0 };
            all.iter().map(|one| (part.name, one, None, known / (all.len() as f64).sqrt(), from)).collect()
        }
    }
}

/// What of the weight is the body, kg; not a number where the load stated leaves nobody.
fn body_mass(r: &Reread<'_>, inputs: &Inputs) -> f64 {
    let body = inputs.weight_n / inputs.gravity - r.load_kg;
    if body > 0.0 { body } else { f64::NAN }
}

fn why_not(r: &Reread<'_>, id: &str, known: bool, events: &Events) -> &'static str {
    let base = id.strip_suffix(PER_KG).unwrap_or(id);
    if !r.inputs.weight_n.is_finite() {
        "weight unknown: nobody stands still before or after it, and none was typed in"
    } else if !known && r.drop.is_some() {
        "no rest after the landing, no flight and no box height to find the velocity of the drop from"
    } else if !known {
        "no quiet standing of half a second before the jump to integrate from"
    } else if base != id && !body_mass(r, r.inputs).is_finite() {
        "the load stated leaves no body mass to divide by"
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

/// The part that a top between two samples has in a peak.
const BETWEEN: &str = "sampling of the peak";
/// The part that a fall or rise of force which is not straight has in take-off and touchdown. It is read on other samples than
/// the nominal event, which carry other noise: only what that noise does not account for is the fall's.
const THRESHOLD: &str = "threshold";

/// Of all multiples of the root mean square of eight normal draws, the one that comes nearest to their standard deviation in the
/// mean square: `E(s)/E(s²)`, which is `Γ(4.5)/Γ(4)·√(2/8)`. Without it the middle trial's `2u` is over three of its errors where
/// trials differ in how well they can be timed.
const KNOWN_BY_EIGHT: f64 = 0.9693;

/// One source of uncertainty: its name, the readings with the input moved, and how many of them make one variance.
struct Part {
    name: &'static str,
    readings: Vec<(Inputs, Values)>,
    /// Two readings at ± u are differenced; else each is compared with the nominal one.
    both_ways: bool,
}

impl Part {
    /// Whether a peak's readings are held against the calmed curve's.
    fn against_calm(&self) -> bool {
        self.name == "noise" || self.name == BETWEEN
    }
}

/// The part of a window that the movement is read from, from half a second before the motion on, as far as
/// stabilisation is looked for; all of it where nothing moves. Noise and zero level are moved in there alone.
fn span(r: &Reread<'_>, motion_end: usize, nominal: &Values, events: &Events, motion: &Motion) -> Range<usize> {
    let n = r.force_n.len();
    if motion.velocity_m_s.is_empty() {
        return 0..n;
    }
    let samples = |s: f64| s * r.inputs.rate_hz;
    let stable = nominal.iter().find(|v| v.0 == "time_to_stabilisation").map_or(f64::NAN, |v| v.1);
    let stable = events.at(r.kind.last_touchdown()) + samples(stable + 1.5);
    let to = if stable.is_finite() { motion_end.max(stable as usize).min(n) } else { n };
    motion.start.saturating_sub(samples(0.5) as usize).min(to)..to
}

/// The samples that peaks are looked for in: from the first event to the last, and further beyond than noise moves those (*ours*).
fn peaked(r: &Reread<'_>, events: &Events) -> Range<usize> {
    let (n, beside) = (r.force_n.len(), 0.05 * r.inputs.rate_hz + 4.0);
    match events.span() {
        (from, to) if to >= from => (from - beside).max(0.0) as usize..((to + beside) as usize).min(n),
        _ => 0..n,
    }
}

fn parts<'a>(r: &Reread<'a>, nominal: &Values, events: &Events, motion: &Motion, calm: &[f64]) -> Vec<Part> {
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
    let edges = |falling: bool, ends: &str| {
        let of = events.named().filter(|(name, _)| name.ends_with(ends)).map(|(_, at)| edge_u(r.force_n, p, at, falling));
        of.fold(edge_u(r.force_n, p, f64::NAN, falling), f64::max)
    };
    let (off_u, on_u) = (edges(true, "take_off"), edges(false, "touchdown").max(edges(false, "contact_start")));
    let span = span(r, motion_end, nominal, events, motion);
    // The noise's own part of the weight is laid on with the noise below.
    let hum_variance = r.hum.map_or(0.0, |(_, amplitude)| 0.5 * amplitude * amplitude);
    let white_n = (r.noise_n * r.noise_n - hum_variance).max(0.01 * r.noise_n * r.noise_n).sqrt();
    let in_weight = r.weighed_over.as_ref().map_or_else(Vec::new, |w| w.of_each(&span));
    let by_noise = sum_of(&in_weight, |w| w * w) * white_n * white_n;
    let weight_u_n = (r.weight_u_n * r.weight_u_n - by_noise).max(0.0).sqrt();
    let mut parts = vec![
        both("weighing", &with, weight_u_n, &|i, u| i.weight_n += u),
        both("sway while standing", &with, r.sway_m_s, &|i, u| i.v0_m_s += u),
        both("sampling", found, off_u, &|i, u| i.shift[0] += u),
        both("sampling", found, on_u, &|i, u| i.shift[1] += u),
        // A parabola through 20 ms of force leaves of its third derivative a hundredth of a millisecond (force that swings once
        // a second or slower).
        both("sampling", found, 1e-5 * r.inputs.rate_hz, &|i, u| i.shift[2] += u),
        both("onset rule", found, 2.0, &|i, u| i.onset_sd += u),
        // Another threshold reads the fall on another stretch: what that moves, beyond what noise does, is how far the fall is
        // from straight.
        Part { name: THRESHOLD, readings: found(&|i| i.threshold_n *= 1.3).into_iter().collect(), both_ways: false },
    ];
    // One copy of the force, moved again for each reading.
    let part = |x: &'a [f64]| x.get(span.clone()).unwrap_or_default();
    let (plain, plain_smooth) = (part(r.force_n), part(r.smooth_n));
    let mut moved = r.force_n.to_vec();
    let mut moved_smooth = (!core::ptr::eq(r.force_n, r.smooth_n)).then(|| r.smooth_n.to_vec());
    let mut shifted = |u: f64| {
        let shift = |to: &mut [f64], from: &[f64]| to.iter_mut().zip(from).for_each(|(to, f)| *to = f - u);
        shift(moved.get_mut(span.clone())?, plain);
        if let Some(smooth) = &mut moved_smooth {
            shift(smooth.get_mut(span.clone())?, plain_smooth);
        }
        let weight_n = if r.weighed_here { p.weight_n - u } else { p.weight_n };
        again(r.kind, &moved, moved_smooth.as_deref().unwrap_or(&moved), Inputs { weight_n, ..p.clone() })
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
        // One draw twice as long as what is read, turned round by an eighth for each reading: the movement meets other noise
        // every time, and drawing is done once. Seeded by the weight's own digits: the same trial meets the same noise, no two
        // trials do, so that one odd draw does not tilt them all.
        let n = 2 * plain.len();
        let drawn = noise(p.weight_n.to_bits(), white_n, n);
        let hum = r.hum.map(|(hz, amplitude)| (wave(hz / p.rate_hz, plain.len()), amplitude));
        let peaked = peaked(r, events);
        let mut peaks = calm.to_vec();
        // The threshold is five standard deviations of force in flight, and that force is now √2 as noisy: with the old one, noise
        // laid on noise would pass for a foot still on the plate, as the noise of the recording alone does not.
        let twice = 5.0 * core::f64::consts::SQRT_2 * white_n;
        let threshold_n = p.threshold_n.max(twice.min((0.03 * p.weight_n).max(5.0)));
        let readings = (0..8).filter_map(|k| {
            let (tail, head) = drawn.split_at_checked(k * n / 8)?;
            lay(moved.get_mut(span.clone())?, plain, head, tail)?;
            if let Some((waves, amplitude)) = &hum {
                ride(moved.get_mut(span.clone())?, waves, *amplitude, k);
            }
            // The same noise and hum on the calmed curve.
            let (from, to) = (r.force_n.get(peaked.clone())?, moved.get(peaked.clone())?);
            let curves = peaks.get_mut(peaked.clone())?.iter_mut().zip(calm.get(peaked.clone())?);
            curves.zip(to.iter().zip(from)).for_each(|((peak, calm), (to, from))| *peak = calm + (to - from));
            let weight = sum_of_three(&in_weight, moved.get(span.clone())?, plain, |w, to, from| w * (to - from));
            again(r.kind, &moved, &peaks, Inputs { weight_n: p.weight_n + weight, threshold_n, ..p.clone() })
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
/// Noise and tops between samples are compared with `noiseless`, everything else with `nominal`.
fn combine(
    parts: &[Part],
    value_of: impl Fn(&(Inputs, Values)) -> Option<f64>,
    nominal: f64,
    noiseless: f64,
) -> (f64, Option<&'static str>) {
    let variance = |part: &Part| {
        let values = || part.readings.iter().filter_map(&value_of).filter(|v| v.is_finite());
        let mut first = values();
        match (first.next(), first.next(), first.next()) {
            (None, ..) => 0.0,
            (Some(a), Some(b), None) if part.both_ways => (a - b) * (a - b) / 4.0,
            _ => {
                let from = if part.against_calm() { noiseless } else { nominal };
                let add = |(sum, squares, n), v: f64| (sum + (v - from), squares + (v - from) * (v - from), n + 1.0);
                let (sum, squares, n) = values().fold((0.0, 0.0, 0.0_f64), add);
                match part.name {
                    // Noise lifts a peak, on average by what the draws do. How far one recording lies from that is known by eight
                    // draws only: the variance of Student's distribution about their mean [JCGM 101:2008, 6.4.9].
                    "noise" if noiseless != nominal => sum * sum / (n * n) + (squares - sum * sum / n).max(0.0) / (n - 3.0).max(1.0),
                    "noise" => KNOWN_BY_EIGHT * KNOWN_BY_EIGHT * squares / n,
                    _ => squares / n,
                }
            }
        }
    };
    let noise = parts.iter().find(|p| p.name == "noise").map_or(0.0, variance);
    let (mut sum, mut largest) = (0.0, (0.0, ""));
    for part in parts {
        let variance = match part.name {
            "noise" => noise,
            THRESHOLD => (variance(part) - noise).max(0.0),
            _ => variance(part),
        };
        sum += variance;
        if variance > largest.0 {
            largest = (variance, part.name);
        }
    }
    (sum.sqrt(), (largest.0 > 0.5 * sum).then_some(largest.1))
}
