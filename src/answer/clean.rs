//! A window → clean force: zero level taken off each channel, the plates summed; and what spoils the force as a whole.
use crate::force::stats::sd;
use crate::force::{Zero, saturation, zero_level};
use crate::movement::Samples;
use crate::recording::{Notice, Recording, Role};
use core::ops::Range;
use std::borrow::Cow;

/// Zero-corrected force of a window.
pub(crate) struct Clean {
    pub total_n: Vec<f64>,
    /// Left and right, where both plates are in the recording.
    pub plates: Option<[Vec<f64>; 2]>,
    /// Zero level of each channel, in the recording's order.
    pub zeros: Vec<Zero>,
    /// Zero level of the total.
    pub zero: Zero,
}

/// The total of a recording as read: left + right where both are there, else the one channel. Of a long recording this would
/// be as much as the recording: it is asked for piece by piece.
pub(crate) struct Total<'a> {
    first: &'a [f32],
    second: Option<&'a [f32]>,
}

impl<'a> Total<'a> {
    pub(crate) fn of(recording: &'a Recording) -> Self {
        match (recording.channel(Role::Left), recording.channel(Role::Right)) {
            (Some(l), Some(r)) => Self { first: l, second: Some(r) },
            _ => Self { first: recording.channels.first().map_or(&[], |c| &c.force_n), second: None },
        }
    }
}

impl Samples for Total<'_> {
    fn count(&self) -> usize {
        self.second.map_or(self.first.len(), |second| second.len().min(self.first.len()))
    }
    fn part(&self, range: Range<usize>) -> Option<Cow<'_, [f64]>> {
        let first = self.first.get(range.clone())?;
        Some(Cow::Owned(match self.second {
            Some(second) => first.iter().zip(second.get(range)?).map(|(l, r)| f64::from(*l) + f64::from(*r)).collect(),
            None => first.iter().map(|f| f64::from(*f)).collect(),
        }))
    }
}

/// The quiet middle of a flight: without its first and last 30 % (ringing, a late foot), at least 40 ms, and whole
/// mains periods where it is long enough, so that hum does not pull the mean.
fn middle(air: &Range<usize>, rate_hz: f64) -> Range<usize> {
    let skip = air.len() * 3 / 10;
    let mut range = air.start + skip..air.end - skip;
    let least = (0.04 * rate_hz).ceil() as usize;
    if range.len() < least {
        let centre = (air.start + air.end) / 2;
        range = centre.saturating_sub(least / 2).max(air.start)..(centre + least.div_ceil(2)).min(air.end);
    }
    // 100 ms is five periods of 50 Hz and six of 60 Hz.
    let periods = (0.1 * rate_hz).round() as usize;
    if periods > 0 && range.len() > periods {
        range.end = range.start + range.len() / periods * periods;
    }
    range
}

/// `empty`: a stretch with nobody on the plates, whose quiet middle is the zero level. Without one the zero error is not
/// known: 0 ± 2 N a plate, as for output cut off at 0.
pub(crate) fn clean(recording: &Recording, empty: Option<&Range<usize>>) -> Clean {
    let rate = recording.clock.rate_hz;
    let quiet = empty.map_or(0..0, |air| middle(air, rate));
    let part = |x: &[f32]| match empty {
        Some(_) => zero_level(&x.get(quiet.clone()).unwrap_or_default().iter().map(|f| f64::from(*f)).collect::<Vec<f64>>()),
        None => Zero { level_n: 0.0, u_n: 2.0, sd_n: 0.0, clamped: false },
    };
    let zeros: Vec<Zero> = recording.channels.iter().map(|c| part(&c.force_n)).collect();
    let corrected = |i: usize| -> Option<Vec<f64>> {
        let level_n = zeros.get(i)?.level_n;
        Some(recording.channels.get(i)?.force_n.iter().map(|f| f64::from(*f) - level_n).collect())
    };
    let place = |role| recording.channels.iter().position(|c| c.report.role == role);
    match (place(Role::Left).and_then(corrected), place(Role::Right).and_then(corrected)) {
        (Some(l), Some(r)) => {
            let total_n: Vec<f64> = l.iter().zip(&r).map(|(l, r)| l + r).collect();
            let u_n = zeros.iter().take(2).map(|z| z.u_n * z.u_n).sum::<f64>().sqrt();
            let zero = Zero {
                level_n: zeros.iter().take(2).map(|z| z.level_n).sum(),
                u_n,
                sd_n: sd(total_n.get(quiet).unwrap_or_default()),
                clamped: zeros.iter().take(2).any(|z| z.clamped),
            };
            Clean { plates: Some([l, r]), total_n, zeros, zero }
        }
        _ => {
            let zero = zeros.first().copied().unwrap_or(Zero { level_n: 0.0, u_n: 0.0, sd_n: 0.0, clamped: false });
            Clean { total_n: corrected(0).unwrap_or_default(), plates: None, zeros, zero }
        }
    }
}

/// The reading's own resolution, N: the smallest step between neighbouring samples of a channel, of the coarser one. Of the
/// channels as they are, not of their sum: where one plate's steps are printed or stored with a little rounding, the sum of two
/// holds differences of that rounding alone.
pub(crate) fn quantum(recording: &Recording) -> f64 {
    recording.channels.iter().map(|c| least_step(&c.force_n)).fold(0.0, f64::max)
}

fn least_step(force: &[f32]) -> f64 {
    // Four steps side by side, as in `least_of`, and none of them kept.
    let step = |a: f32, b: f32| if (b - a).abs() > 1e-6 { (b - a).abs() } else { f32::MAX };
    let least = |a: f32, b: f32| if b < a { b } else { a };
    let mut low = [f32::MAX; 4];
    for five in force.windows(5).step_by(4) {
        if let [a, b, c, d, e] = five {
            let [p, q, r, s] = low;
            low = [least(p, step(*a, *b)), least(q, step(*b, *c)), least(r, step(*c, *d)), least(s, step(*d, *e))];
        }
    }
    let rest = force.get(force.len().saturating_sub(1) / 4 * 4..).unwrap_or_default();
    let step = rest.array_windows().fold(low.into_iter().fold(f32::MAX, least), |low, [a, b]| least(low, step(*a, *b)));
    if step < f32::MAX { f64::from(step) } else { 0.0 }
}

/// Stretches where a channel is stuck at its upper end.
pub(crate) fn saturated(window: &Recording) -> Vec<Range<usize>> {
    let mut out = Vec::new();
    for channel in &window.channels {
        out.extend(saturation(&channel.force_n, window.clock.rate_hz).into_iter().map(|s| s.start..s.start + s.len));
    }
    out
}

/// Tells of a channel that reads one same force from the first sample to the last, to the last digit: no plate under a person does,
/// and the total with it shows a person who never leaves the plates. Nothing, or a little, is what an empty plate reads (*ours*: up
/// to 50 N), as in a test of one leg.
#[inline(never)]
pub(crate) fn stuck(recording: &Recording) -> Option<String> {
    let same = |force: &[f32]| force.first().is_some_and(|first| first.abs() > 50.0 && force.iter().all(|f| f == first));
    let channel = recording.channels.iter().find(|c| same(&c.force_n))?;
    let force = channel.force_n.first()?;
    let plate = match channel.report.role {
        Role::Left => "left plate",
        Role::Right => "right plate",
        _ => "plate",
    };
    let long = recording.len() as f64 >= recording.clock.rate_hz;
    long.then(|| format!("the {plate} reads {force:.1} N all the time, to the last digit: it is stuck, or the column is not its force"))
}

/// A notice the window itself cannot carry.
pub(crate) fn rate_notices(rate_hz: f64) -> Vec<Notice> {
    if rate_hz < 200.0 {
        vec![
            Notice::new(
                "low_rate",
                format!("{rate_hz:.0} samples a second are few: the sampling interval is a large part of every time's uncertainty."),
            )
            .next_time("Record at 1000 Hz where the plate allows it."),
        ]
    } else if rate_hz < 500.0 {
        vec![
            Notice::new("low_rate", format!("Recorded at {rate_hz:.0} Hz; 500 Hz or more resolves take-off and touchdown better."))
                .next_time("Record at 1000 Hz where the plate allows it."),
        ]
    } else {
        Vec::new()
    }
}
