//! May the trial be trusted? Rows of data: what is looked at, how bad it is, what to say, what to do next time.
use super::{Figure, Valued, Verdict};
use crate::force::Zero;
use crate::movement::Weight;
use crate::movement::kinds::Events;
use crate::recording::{Gap, Notice};
use core::ops::Range;
use indexmap::IndexMap;

/// What the rules look at.
pub(crate) struct Facts<'a> {
    pub rate_hz: f64,
    pub weight: &'a Weight,
    pub known_weight_n: Option<f64>,
    pub combined: Valued,
    pub closure: Option<(f64, f64)>,
    pub weighed_before: bool,
    pub velocity_known: bool,
    pub final_velocity_m_s: Option<f64>,
    pub figures: &'a IndexMap<String, Figure>,
    pub standing_share_right: Option<f64>,
    pub events: &'a Events,
    pub lands: bool,
    pub zero: Zero,
    pub threshold_capped: bool,
    pub quantum_n: f64,
    pub gaps: &'a [Gap],
    pub saturated: Vec<Range<usize>>,
    pub start_s: f64,
}

impl Facts<'_> {
    fn value(&self, id: &str) -> Option<f64> {
        self.figures.get(id)?.value
    }
    fn u(&self, id: &str) -> f64 {
        self.figures.get(id).and_then(|f| f.u).unwrap_or(0.0)
    }
    fn quiet_s(&self) -> f64 {
        self.weight.stretch.len() as f64 / self.rate_hz
    }
    fn time(&self, at: f64) -> Option<f64> {
        at.is_finite().then(|| self.start_s + at / self.rate_hz)
    }
    fn last_take_off(&self) -> f64 {
        self.events.at("take_off")
    }
    /// Flight-time height minus velocity height, m, with its standard uncertainty.
    fn heights_apart(&self) -> Option<(f64, f64)> {
        let (a, b) = (self.value("jump_height_flight_time")?, self.value("jump_height")?);
        let (ua, ub) = (self.u("jump_height_flight_time"), self.u("jump_height"));
        Some((a - b, (ua * ua + ub * ub).sqrt()))
    }
    fn movement(&self) -> Range<f64> {
        let (from, to) = self.events.span();
        from..to
    }
}

/// A sentence and its place, when the rule applies.
type Found = Option<(String, Option<f64>)>;

/// One rule.
struct Rule {
    code: &'static str,
    severity: Verdict,
    next_time: &'static str,
    applies: fn(&Facts<'_>) -> Found,
}

const RULES: &[Rule] = &[
    Rule {
        code: "clipped",
        severity: Verdict::Unusable,
        next_time: "Set the plate to a wider range, or use plates rated for the load.",
        applies: |f| {
            let (from, _) = f.events.span();
            let hit = f.saturated.iter().find(|r| (r.start as f64) < f.last_take_off() && r.end as f64 > from)?;
            Some(("Force is cut off at the top of the plate's range between onset and take-off.".into(), f.time(hit.start as f64)))
        },
    },
    Rule {
        code: "clipped_landing",
        severity: Verdict::Doubtful,
        next_time: "Set the plate to a wider range, or land softer.",
        applies: |f| {
            let hit = f.saturated.iter().find(|r| r.start as f64 > f.last_take_off())?;
            Some((
                "Force is cut off at the top of the plate's range in landing: the landing figures are too low.".into(),
                f.time(hit.start as f64),
            ))
        },
    },
    Rule {
        code: "gap",
        severity: Verdict::Unusable,
        next_time: "Record again; check cable, battery or wireless link.",
        applies: |f| {
            let near = |g: &&Gap| {
                let reach = 0.05 * f.rate_hz;
                let (from, to) = (g.start as f64 - reach, (g.start + g.len) as f64 + reach);
                g.len > 2 && f.events.named().any(|(_, at)| at >= from && at <= to)
            };
            let long = |g: &&Gap| {
                let m = f.movement();
                g.len as f64 > 0.02 * f.rate_hz && (g.start as f64) < m.end && (g.start + g.len) as f64 > m.start
            };
            let hit = f.gaps.iter().find(near).or_else(|| f.gaps.iter().find(long))?;
            let ms = 1000.0 * hit.len as f64 / f.rate_hz;
            Some((format!("{ms:.0} ms of the movement are missing from the recording."), f.time(hit.start as f64)))
        },
    },
    Rule {
        code: "no_landing",
        severity: Verdict::Doubtful,
        next_time: "Keep recording until two seconds after the landing.",
        applies: |f| {
            (!f.lands).then(|| ("The recording ends in the air: no flight time, no landing, no check of the weighing.".into(), None))
        },
    },
    Rule {
        code: "weighed_after",
        severity: Verdict::Doubtful,
        next_time: "Stand still for two seconds before the jump.",
        applies: |f| {
            (!f.weighed_before).then(|| {
                (
                    "There is no quiet standing before the jump: only the flight can be read, and weight is from after the landing.".into(),
                    None,
                )
            })
        },
    },
    Rule {
        code: "short_weighing",
        severity: Verdict::Doubtful,
        next_time: "Stand still for two seconds before the jump.",
        applies: |f| {
            let s = f.quiet_s();
            let velocity = if f.velocity_known { "" } else { "; the height from velocity cannot be given" };
            (f.weighed_before && s < 0.995)
                .then(|| (format!("Only {s:.2} s of quiet standing to weigh on{velocity}."), f.time(f.weight.stretch.start as f64)))
        },
    },
    Rule {
        code: "mass_differs",
        severity: Verdict::Doubtful,
        next_time: "Check the load entered, both feet on the plates, and the plate with a known mass.",
        applies: |f| {
            let known = f.known_weight_n?;
            let apart = (f.combined.value - known).abs();
            (apart > (0.015 * known).max(9.8)).then(|| {
                let percent = 100.0 * (f.combined.value - known) / known;
                (format!("The plates weigh {percent:+.1} % against the mass given."), None)
            })
        },
    },
    Rule {
        code: "closure",
        severity: Verdict::Doubtful,
        next_time: "Stand still before and after, hands off everything, both feet fully on the plates.",
        applies: |f| {
            let (weight, u) = f.closure?;
            let apart = weight - f.weight.mean_n;
            let joint = (u * u + f.weight.u_n * f.weight.u_n).sqrt();
            super::trial::closure_disagrees(apart.abs(), joint, f.weight.mean_n).then(|| {
                (format!("Weight before the jump and weight from rest to rest differ by {apart:+.1} N: drift, a foot off the plate, or hands on something."), None)
            })
        },
    },
    Rule {
        code: "final_rest",
        severity: Verdict::Doubtful,
        next_time: "Stand still for two seconds before and after the jump.",
        applies: |f| {
            let v = f.final_velocity_m_s?;
            (f.velocity_known && v.abs() > 0.03).then(|| {
                (
                    format!(
                        "After the landing the body should be at rest, but integration leaves {v:+.3} m/s: weight or zero level moved."
                    ),
                    None,
                )
            })
        },
    },
    Rule {
        code: "heights_apart",
        severity: Verdict::Doubtful,
        next_time: "Stand still before the jump, and land toes first, as tall as at take-off.",
        applies: |f| {
            let (apart, u) = f.heights_apart()?;
            (apart.abs() > (3.0 * u).max(0.02)).then(|| {
                let cm = 100.0 * apart.abs();
                let text = if apart > 0.0 {
                    format!("Flight time gives {cm:.1} cm more than take-off velocity: usually a landing with bent legs; else the weighing.")
                } else {
                    format!("Flight time gives {cm:.1} cm less than take-off velocity: a weighing or zero fault, or landing taller than take-off.")
                };
                (text, f.time(f.events.at("touchdown")))
            })
        },
    },
    Rule {
        code: "take_off_posture",
        severity: Verdict::Doubtful,
        next_time: "Stand still and upright for two seconds before the jump.",
        applies: |f| {
            let s = f.value("take_off_displacement")?;
            (!(0.05..=0.20).contains(&s)).then(|| {
                let cm = 100.0 * s;
                (format!("At take-off the centre of mass is {cm:.1} cm above standing; adults reach 5 to 20 cm. Doubt the weighing, or the stance before."), f.time(f.events.at("take_off")))
            })
        },
    },
    Rule {
        code: "preload_rise",
        severity: Verdict::Doubtful,
        next_time: "Sink straight from standing still, without rising first.",
        applies: |f| {
            let (rise, at) = f.events.sign("preload_rise")?;
            Some((
                format!("Force rises by {rise:.0} N right before the dip: a push or a rise onto the toes before the movement."),
                f.time(at),
            ))
        },
    },
    Rule {
        code: "uneven_standing",
        severity: Verdict::Doubtful,
        next_time: "Stand with the weight on both feet, one foot fully on each plate.",
        applies: |f| {
            let share = f.standing_share_right?;
            (!(40.0..=60.0).contains(&share)).then(|| (format!("While standing, {share:.0} % of the weight is on the right plate."), None))
        },
    },
    Rule {
        code: "coarse_steps",
        severity: Verdict::Doubtful,
        next_time: "Export force with at least one decimal, or set the plate to a finer range.",
        applies: |f| {
            // Three thousandths of weight are about 2 N; a newton of weight is 5 to 9 mm of height.
            let coarse = f.quantum_n > 0.003 * f.combined.value;
            coarse.then(|| {
                (
                    format!(
                        "Force comes in steps of {:.1} N, too coarse to weigh on: the height may be off by a centimetre or more.",
                        f.quantum_n
                    ),
                    None,
                )
            })
        },
    },
    Rule {
        code: "threshold_capped",
        severity: Verdict::Sound,
        next_time: "Look for loose feet of the plate, vibration, or mains hum.",
        applies: |f| {
            f.threshold_capped
                .then(|| ("Force in flight is so noisy that the take-off threshold was limited to 3 % of weight.".into(), None))
        },
    },
    Rule {
        code: "zero_clamped",
        severity: Verdict::Sound,
        next_time: "Zero the plates before the test, and export signed force if the device allows.",
        applies: |f| {
            f.zero
                .clamped
                .then(|| ("The device cuts force off at 0, so its zero error cannot be seen; 2 N are allowed for it.".into(), None))
        },
    },
    Rule {
        code: "zero_level",
        severity: Verdict::Sound,
        next_time: "Zero the plates with nobody on them before the test.",
        applies: |f| {
            let zero = f.zero.level_n;
            (zero.abs() > 0.01 * f.combined.value)
                .then(|| (format!("With nobody on them the plates read {zero:+.1} N; this was taken off."), None))
        },
    },
];

/// The verdict and every notice that applies, worst first.
pub(crate) fn judge(facts: &Facts<'_>) -> (Verdict, Vec<Notice>) {
    let mut found: Vec<(Verdict, Notice)> = Vec::new();
    for rule in RULES {
        if let Some((message, at_s)) = (rule.applies)(facts) {
            found.push((rule.severity, Notice { code: rule.code.into(), message, at_s, next_time: Some(rule.next_time.into()) }));
        }
    }
    found.sort_by_key(|(severity, _)| core::cmp::Reverse(*severity));
    let verdict = found.first().map_or(Verdict::Sound, |f| f.0);
    // What makes a trial unusable also upsets every check after it: those would only lead away from the cause.
    found.retain(|f| verdict != Verdict::Unusable || f.0 != Verdict::Doubtful);
    (verdict, found.into_iter().map(|f| f.1).collect())
}
