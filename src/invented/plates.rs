//! The plates of an invented recording: rate, noise and every fault a recording has, shared by all kinds of test.
use super::scene::Scene;
use crate::force::math::{exp, sin};
use crate::invented::Random;
use crate::recording::{Channel, ChannelReport, Clock, Layout, Recording, Role, Unit};
use core::f64::consts::PI;
use core::fmt::Write;

/// What the plates write down.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Columns {
    /// Left and right plate.
    Both,
    /// One plate under both feet.
    Total,
    /// The left plate only: what is on the right one is lost.
    Left,
    /// The right plate only.
    Right,
}

/// Plates and what is wrong with them. [`Plates::default`] are perfect ones at 1000 Hz.
#[derive(Debug, Clone, PartialEq)]
pub struct Plates {
    /// Samples a second.
    pub rate_hz: f64,
    /// Noise of each plate, N (standard deviation).
    pub noise_n: f64,
    /// Mains hum of each plate, N (amplitude).
    pub hum_n: f64,
    /// Its frequency, Hz.
    pub hum_hz: f64,
    /// Zero error of each plate, N.
    pub zero_n: [f64; 2],
    /// Drift of each plate, N/s.
    pub drift_n_s: [f64; 2],
    /// The reading shifts once: when (s), by how much on each plate (N).
    pub knock: Option<(f64, [f64; 2])>,
    /// Gain of each plate (1: true).
    pub gain: [f64; 2],
    /// Step of each plate's reading, N (0: none).
    pub step_n: f64,
    /// Nothing below 0 is written.
    pub clamped: bool,
    /// Nothing above this is written, N a plate.
    pub ceiling_n: f64,
    /// Ringing of each plate when feet leave it or meet it, N (first swing; 35 Hz, dies away over 60 ms).
    pub ring_n: f64,
    /// Left and right cables are swapped.
    pub swapped: bool,
    /// How much faster the clock says it runs (1: true).
    pub clock: f64,
    /// Rows missing from the text, from … to, s.
    pub gaps: Vec<(f64, f64)>,
    /// What is written.
    pub columns: Columns,
    /// Seed of noise.
    pub seed: u64,
}

impl Default for Plates {
    fn default() -> Self {
        Self {
            rate_hz: 1000.0,
            noise_n: 0.0,
            hum_n: 0.0,
            hum_hz: 50.0,
            zero_n: [0.0; 2],
            drift_n_s: [0.0; 2],
            knock: None,
            gain: [1.0; 2],
            step_n: 0.0,
            clamped: false,
            ceiling_n: f64::INFINITY,
            ring_n: 0.0,
            swapped: false,
            clock: 1.0,
            gaps: Vec::new(),
            columns: Columns::Both,
            seed: 1,
        }
    }
}

impl Plates {
    /// Ordinary plates drawn at random: 200–2000 Hz, up to 2.5 N of noise, some with hum, drift, coarse steps.
    pub fn random(random: &mut Random) -> Self {
        let mut pick = |of: &[f64]| of.get((random.bits() % of.len().max(1) as u64) as usize).copied().unwrap_or(0.0);
        let rate_hz = pick(&[200.0, 250.0, 500.0, 500.0, 1000.0, 1000.0, 1000.0, 2000.0]);
        let step_n = pick(&[0.0, 0.1, 0.5, 1.0]);
        let hum_n = pick(&[0.0, 0.0, 0.0, 2.0]);
        let drift = pick(&[0.0, 0.0, 0.05]);
        Self {
            rate_hz,
            noise_n: random.between(0.3, 2.5),
            hum_n,
            zero_n: [random.between(-6.0, 6.0), random.between(-6.0, 6.0)],
            drift_n_s: [drift * random.between(-1.0, 1.0), drift * random.between(-1.0, 1.0)],
            step_n,
            seed: random.bits(),
            ..Self::default()
        }
    }

    /// Left and right force, N, one value each 1/rate (gaps left in).
    pub fn record(&self, scene: &Scene) -> [Vec<f64>; 2] {
        let n = (scene.end_s() * self.rate_hz) as usize;
        let mut random = Random::new(self.seed);
        let mut out = [Vec::with_capacity(n), Vec::with_capacity(n)];
        let knocks: Vec<f64> = scene.air.iter().flat_map(|(from, to)| [*from, *to]).collect();
        for i in 0..n {
            let t = i as f64 / self.rate_hz;
            let force = scene.force_n(t);
            let share = scene.share_right(t);
            let hum = self.hum_n * sin(2.0 * PI * self.hum_hz * t);
            let ring = if self.ring_n == 0.0 { 0.0 } else { self.ring_n * ringing(&knocks, t) };
            for (side, part) in [1.0 - share, share].into_iter().enumerate() {
                let mut f = force * part * self.gain[side]
                    + self.zero_n[side]
                    + self.drift_n_s[side] * t
                    + hum
                    + self.noise_n * random.normal()
                    + ring;
                if let Some((at, by)) = self.knock
                    && t >= at
                {
                    f += by[side];
                }
                if self.step_n > 0.0 {
                    f = (f / self.step_n).round() * self.step_n;
                }
                f = f.min(self.ceiling_n);
                out[side].push(if self.clamped { f.max(0.0) } else { f });
            }
        }
        if self.swapped {
            out.swap(0, 1);
        }
        out
    }

    fn columns(&self, scene: &Scene) -> Vec<(Role, &'static str, Vec<f64>)> {
        let [left, right] = self.record(scene);
        match self.columns {
            Columns::Both => vec![(Role::Left, "left_force_N", left), (Role::Right, "right_force_N", right)],
            Columns::Left => vec![(Role::Left, "left_force_N", left)],
            Columns::Right => vec![(Role::Right, "right_force_N", right)],
            Columns::Total => vec![(Role::Total, "force_N", left.iter().zip(&right).map(|(l, r)| l + r).collect())],
        }
    }

    /// The recording as the reader would give it (without gaps: those need [`Plates::csv`]).
    pub fn recording(&self, scene: &Scene) -> Recording {
        let channels = self.columns(scene).into_iter().enumerate().map(|(i, (role, header, force))| Channel {
            report: ChannelReport { column: i + 2, header: header.into(), role, unit: Unit::Newton, sign: 1.0, why: "invented".into() },
            force_n: force.into_iter().map(|f| f as f32).collect(),
        });
        Recording {
            start_s: 0.0,
            clock: Clock { rate_hz: self.rate_hz * self.clock, jitter_s: 0.0, gaps: vec![], duplicates: 0, source: "invented".into() },
            channels: channels.collect(),
            layout: Layout {
                delimiter: ",".into(),
                decimal: ".".into(),
                encoding: "utf-8".into(),
                header_row: None,
                first_data_row: 1,
                confidence: 1.0,
            },
            notices: vec![],
        }
    }

    /// A plain table: seconds and newtons, the rows of gaps left out.
    pub fn csv(&self, scene: &Scene) -> String {
        let columns = self.columns(scene);
        let n = columns.first().map_or(0, |c| c.2.len());
        let mut text = String::with_capacity(n * (8 + 7 * columns.len()) + 40);
        text.push_str("time_s");
        for (_, header, _) in &columns {
            let _ = write!(text, ",{header}"); // writing to a String cannot fail
        }
        text.push('\n');
        let decimals = if (self.rate_hz * self.clock) > 1000.0 { 4 } else { 3 };
        for i in 0..n {
            let t = i as f64 / self.rate_hz;
            if self.gaps.iter().any(|(from, to)| t >= *from && t < *to) {
                continue;
            }
            let _ = write!(text, "{:.decimals$}", t / self.clock);
            for (.., force) in &columns {
                let _ = write!(text, ",{:.1}", force.get(i).copied().unwrap_or(0.0));
            }
            text.push('\n');
        }
        text
    }
}

/// Ringing of a struck plate, first swing 1: since the last time that feet left or met it.
fn ringing(knocks: &[f64], t: f64) -> f64 {
    let since = knocks.iter().filter(|k| **k <= t).map(|k| t - k).fold(f64::INFINITY, f64::min);
    if since < 0.6 { exp(-since / 0.06) * sin(2.0 * PI * 35.0 * since) } else { 0.0 }
}
