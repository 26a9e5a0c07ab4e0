//! Mains hum, from the spectrum of quiet standing.
//!
//! A person standing still makes force below some 20 Hz; the mains makes it at 50 or 60 Hz exactly, through the cable or the
//! amplifier. So a line there that stands clear of its neighbours is not the athlete's. It averages out of weight and of
//! impulses (whole periods), but rides on every single sample: onset's band, peak forces, take-off's threshold.
//!
//! The mains itself keeps its frequency within 0.4 % (grid codes allow ± 0.2 Hz in ordinary operation; common practice, no
//! source looked up). A clear line a little beside 50 or 60 Hz therefore speaks of the recording's clock — the one witness
//! against a wrong clock that a recording carries.
use crate::force::math::{cos, sin};
use crate::force::stats::{line, median};
use core::f64::consts::PI;

/// A line found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Hum {
    /// Amplitude, N.
    pub amplitude_n: f64,
    /// Frequency by the recording's clock, Hz.
    pub hz: f64,
    /// How many times the line stands above its neighbours' median.
    pub above: f64,
}

/// Longest stretch looked at, s: resolution is its inverse, work grows with its square.
const LONGEST_S: f64 = 2.0;

/// The strongest line between 45 and 65 Hz in quiet standing, where it stands five times above its neighbours; none below
/// 150 Hz of rate or 0.7 s of standing.
pub(crate) fn hum(quiet_n: &[f64], rate_hz: f64) -> Option<Hum> {
    let longest = (LONGEST_S * rate_hz) as usize;
    let part = quiet_n.get(quiet_n.len().saturating_sub(longest)..)?;
    let length_s = part.len() as f64 / rate_hz;
    if !(rate_hz >= 150.0 && length_s >= 0.7) {
        return None;
    }
    // Hann's window on what is left of a straight line: leakage from sway, far below, falls off with the cube of distance.
    let (a, b) = line(part);
    let n = part.len() as f64;
    // The window's cosine is turned on from sample to sample: two thousand of them cost more than the rest of this.
    let (mut c, mut s) = (cos(PI / n), sin(PI / n));
    let (turn_c, turn_s) = (cos(2.0 * PI / n), sin(2.0 * PI / n));
    let weigh = |(i, f): (usize, &f64)| {
        let weighed = (f - a - b * i as f64) * (1.0 - c);
        (c, s) = (c * turn_c - s * turn_s, s * turn_c + c * turn_s);
        weighed
    };
    let windowed: Vec<f64> = part.iter().enumerate().map(weigh).collect();
    let step = 1.0 / length_s;
    let bins: Vec<f64> = (0..).map(|k| 45.0 + step * f64::from(k)).take_while(|hz| *hz <= 65.0).collect();
    let of = |hz: &[f64]| amplitudes(&windowed, hz, rate_hz);
    let coarse: Vec<f64> = bins.chunks(LANES).flat_map(of).take(bins.len()).collect();
    let top = (0..coarse.len()).max_by(|i, j| coarse.get(*i).unwrap_or(&0.0).total_cmp(coarse.get(*j).unwrap_or(&0.0)))?;
    let [low, high, beyond] = [*coarse.get(top.checked_sub(1)?)?, *coarse.get(top)?, *coarse.get(top + 1)?];
    let others = median(&coarse).max(1e-9);
    // Half-way between two bins the window leaves 0.85 of a line: one that stands out five times is seen as 4.2 at
    // least, but for noise.
    if high < 4.0 * others {
        return None;
    }
    let (hz, half) = (*bins.get(top)?, 0.5 * step);
    let [left, right, ..] = of(&[hz - half, hz + half]);
    let (hz, [left, high, right]) = if left > high && left >= right {
        (hz - half, [low, left, high])
    } else if right > high {
        (hz + half, [high, right, beyond])
    } else {
        (hz, [left, high, right])
    };
    // Vertex of the parabola through the top and its neighbours.
    let bend = left - 2.0 * high + right;
    let shift = if bend < 0.0 { 0.5 * (left - right) / bend } else { 0.0 };
    let hz = hz + half * shift.clamp(-0.5, 0.5);
    let above = high / others;
    (above >= 5.0).then_some(Hum { amplitude_n: high - 0.25 * (left - right) * shift, hz, above })
}

/// Waves looked for side by side: each one's recurrence waits for its own last step, and eight wait no longer than one.
const LANES: usize = 8;

/// Goertzel's recurrence for one wave [1958, Am. Math. Mon. 65:34].
#[derive(Default)]
struct Wave {
    twice: f64,
    before: f64,
    last: f64,
}

impl Wave {
    #[inline(always)] // a build for size would call it for every sample and wave
    fn step(&mut self, x: f64) {
        // In this order only one product and one sum wait for the step before.
        let next = (x - self.before) + self.twice * self.last;
        self.before = self.last;
        self.last = next;
    }
}

/// Amplitudes of up to [`LANES`] waves in windowed values.
fn amplitudes(windowed: &[f64], hz: &[f64], rate_hz: f64) -> [f64; LANES] {
    let wave = |k: usize| Wave { twice: 2.0 * cos(2.0 * PI * hz.get(k).copied().unwrap_or(0.0) / rate_hz), ..Wave::default() };
    let [mut a, mut b, mut c, mut d, mut e, mut f, mut g, mut h] = core::array::from_fn(wave);
    for x in windowed {
        a.step(*x);
        b.step(*x);
        c.step(*x);
        d.step(*x);
        e.step(*x);
        f.step(*x);
        g.step(*x);
        h.step(*x);
    }
    [a, b, c, d, e, f, g, h].map(|w| {
        let power = (w.last * w.last + w.before * w.before - w.twice * w.last * w.before).max(0.0);
        // The window's mean is 1.
        2.0 * power.sqrt() / windowed.len().max(1) as f64
    })
}

impl Hum {
    /// How far the clock is off, as a part, if the line is the mains: where it is strong and 0.8–5 % beside 50 or 60 Hz.
    pub fn clock_off(&self) -> Option<f64> {
        let off = [50.0, 60.0].map(|mains| self.hz / mains - 1.0).into_iter().min_by(|a, b| a.abs().total_cmp(&b.abs()))?;
        (self.above >= 15.0 && (0.008..0.05).contains(&off.abs())).then_some(off)
    }
}
