//! May the trial be trusted? Rows of data: what is looked at, how bad it is, what to say, what to do next time.
use super::asked::in_words;
use super::doubts::{Seen, rules};
use super::pattern::Cause;
use super::{Figure, TestKind, Valued, Verdict};
use crate::force::Zero;
use crate::movement::Weight;
use crate::movement::kinds::Events;
use crate::recording::{Gap, Notice};
use core::ops::Range;
use indexmap::IndexMap;

/// What the rules look at.
pub(crate) struct Facts<'a> {
    pub test: TestKind,
    /// What it looks like, where the reader said otherwise.
    pub recognised: Option<TestKind>,
    /// Whether velocity is integrated from a stance before the movement.
    pub needs_stance: bool,
    pub has_flight: bool,
    pub rate_hz: f64,
    pub weight: &'a Weight,
    pub known_weight_n: Option<f64>,
    pub combined: Valued,
    /// Whether there is a weight at all.
    pub weighed: bool,
    pub closure: Option<(f64, f64)>,
    pub weighed_before: bool,
    pub velocity_known: bool,
    pub final_velocity_m_s: Option<f64>,
    /// How far from where it stood the body comes to rest, m, with its standard uncertainty.
    pub final_place_m: Option<(f64, f64)>,
    /// Where single contacts begin and end and where force is highest in each phase, samples.
    pub besides: Vec<f64>,
    pub figures: &'a IndexMap<String, Figure>,
    pub standing_share_right: Option<f64>,
    pub events: &'a Events,
    pub last_take_off: f64,
    pub last_touchdown: f64,
    pub lands: bool,
    /// From the last touchdown to where the stance ends, s.
    pub after_landing_s: f64,
    pub box_m: Option<f64>,
    /// How far apart the two readings of a drop are, m of height, where beyond chance.
    pub drop_apart_m: Option<f64>,
    pub drop_from_box: bool,
    pub zero: Zero,
    /// Nobody ever left the plates: the zero level cannot be read.
    pub zero_unknown: bool,
    pub threshold_capped: bool,
    pub quantum_n: f64,
    pub gaps: &'a [Gap],
    pub saturated: Vec<Range<usize>>,
    pub start_s: f64,
    /// Last sample of the trial.
    pub last: f64,
    /// Quiet stretch after the last landing.
    pub rest: Option<Range<usize>>,
    /// Where nobody is on the plates and the zero level was read.
    pub empty: Option<Range<usize>>,
    /// What force itself shows.
    pub seen: &'a Seen,
}

impl Facts<'_> {
    pub(super) fn value(&self, id: &str) -> Option<f64> {
        self.figures.get(id)?.value
    }
    fn u(&self, id: &str) -> f64 {
        self.figures.get(id).and_then(|f| f.u).unwrap_or(0.0)
    }
    fn quiet_s(&self) -> f64 {
        self.weight.stretch.len() as f64 / self.rate_hz
    }
    pub(super) fn time(&self, at: f64) -> Option<f64> {
        at.is_finite().then(|| self.start_s + at / self.rate_hz)
    }
    /// Inside a stretch, s: a quarter of a second from its start or from its end, whichever is next to the movement and so in
    /// sight when the trial is opened; its middle where it is shorter. None of an empty one.
    fn inside(&self, r: &Range<usize>, ends: bool) -> Option<f64> {
        let deep = (0.25 * self.rate_hz).min(0.5 * r.len() as f64);
        let at = if ends { r.end as f64 - deep } else { r.start as f64 + deep };
        if r.is_empty() { None } else { self.time(at) }
    }
    /// Where a fault of the weighing shows: at the end of the stretch weighed on; where weight is from elsewhere, as the movement
    /// begins.
    pub(super) fn weighing(&self) -> Option<f64> {
        let before = self.weighed_before || self.events.all.is_empty();
        self.inside(&self.weight.stretch, before).or_else(|| self.time(self.events.span().0))
    }
    /// Where a fault of the zero level shows: in the middle of the stretch with nobody on the plates; else where weight is read.
    fn unloaded(&self) -> Option<f64> {
        self.empty.as_ref().and_then(|r| self.time(0.5 * (r.start + r.end) as f64)).or_else(|| self.weighing())
    }
    /// Where a fault of the stance after the landing shows.
    fn resting(&self) -> Option<f64> {
        self.rest.as_ref().and_then(|r| self.inside(r, false)).or_else(|| self.time(self.last_touchdown))
    }
    /// Where the feet first meet the plates: of a drop, a rebound, a set.
    fn first_contact(&self) -> Option<f64> {
        ["contact_start", "touchdown"].into_iter().find_map(|name| self.time(self.events.at(name)))
    }
    /// Where the doubt that heights and weights together point at acts.
    fn acts(&self, cause: Cause) -> Option<f64> {
        match cause {
            Cause::WeighedWrong => self.weighing(),
            Cause::ZeroMoved | Cause::HiddenZero => self.unloaded(),
            Cause::StoodWrongAfter => self.resting(),
            Cause::BentLanding | Cause::TallLanding => self.time(self.last_touchdown),
            // Which foot, where force was lost, or what it was is not told apart: the heights that disagree are read at take-off.
            Cause::LateFoot | Cause::ForceLost | Cause::CannotTell => self.time(self.last_take_off),
        }
    }
    /// The last take-off; the end of the movement where nobody leaves the plates.
    fn last_take_off_or_start(&self) -> f64 {
        if self.last_take_off.is_finite() { self.last_take_off } else { self.events.span().1 }
    }
    fn of(&self, tests: &[TestKind]) -> bool {
        tests.contains(&self.test)
    }
    fn sign(&self, code: &str) -> Option<(f64, f64)> {
        self.events.sign(code)
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
pub(super) type Found = Option<(String, Option<f64>)>;

/// One rule.
pub(super) struct Rule {
    pub code: &'static str,
    pub severity: Verdict,
    pub next_time: &'static str,
    pub applies: fn(&Facts<'_>) -> Found,
}

const RULES: &[Rule] = &[
    Rule {
        code: "weight_unknown",
        severity: Verdict::Doubtful,
        next_time: "Stand still for two seconds on the plates before or after, or type in the body mass.",
        applies: |f| {
            (!f.weighed).then(|| {
                ("Nobody stands still in this recording: weight is unknown, and only times can be given.".into(), f.time(f.events.span().0))
            })
        },
    },
    Rule {
        code: "clipped",
        severity: Verdict::Unusable,
        next_time: "Set the plate to a wider range, or use plates rated for the load.",
        applies: |f| {
            let (from, _) = f.events.span();
            let hit = f.saturated.iter().find(|r| (r.start as f64) < f.last_take_off_or_start() && r.end as f64 > from)?;
            Some(("Force is cut off at the top of the plate's range between onset and take-off.".into(), f.time(hit.start as f64)))
        },
    },
    Rule {
        code: "clipped_landing",
        severity: Verdict::Doubtful,
        next_time: "Set the plate to a wider range, or land softer.",
        applies: |f| {
            let hit = f.saturated.iter().find(|r| r.start as f64 > f.last_take_off_or_start())?;
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
        code: "gap_at_peak",
        severity: Verdict::Doubtful,
        next_time: "Record again; check cable, battery or wireless link.",
        applies: |f| {
            let reach = 0.05 * f.rate_hz;
            let near = |g: &Gap, at: f64| at >= g.start as f64 - reach && at <= (g.start + g.len) as f64 + reach;
            let hit = f.gaps.iter().find(|g| g.len > 2 && f.besides.iter().any(|at| near(g, *at)))?;
            let ms = 1000.0 * hit.len as f64 / f.rate_hz;
            let message = format!(
                "{ms:.0} ms next to a peak or a contact are missing, and were filled by a straight line: peak forces and that contact may be off."
            );
            Some((message, f.time(hit.start as f64)))
        },
    },
    Rule {
        code: "no_landing",
        severity: Verdict::Doubtful,
        next_time: "Keep recording until two seconds after the landing.",
        applies: |f| {
            if f.has_flight && !f.lands {
                return Some((
                    "The recording ends in the air: no flight time, no landing, no check of the weighing.".into(),
                    f.time(f.last),
                ));
            }
            // Nobody comes to rest within a tenth of a second: what is cut there has no landing and nothing to check against.
            (f.has_flight && f.after_landing_s < 0.1).then(|| {
                ("The recording ends right after touchdown: no landing, no check of the weighing.".into(), f.time(f.last_touchdown))
            })
        },
    },
    Rule {
        code: "weighed_after",
        severity: Verdict::Doubtful,
        next_time: "Stand still for two seconds before the jump.",
        applies: |f| {
            (f.needs_stance && !f.weighed_before).then(|| {
                (
                    "There is no quiet standing before the jump: only the flight can be read, and weight is from after the landing.".into(),
                    f.time(f.events.span().0),
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
            (f.needs_stance && f.weighed_before && s < 0.995)
                .then(|| (format!("Only {s:.2} s of quiet standing to weigh on{velocity}."), f.weighing()))
        },
    },
    Rule {
        code: "weight_odd",
        severity: Verdict::Doubtful,
        next_time: "Check the unit of force that the file was read in, and type in the body mass.",
        applies: |f| {
            // Custom: no person who jumps weighs less than 20 kg or, bar included, more than 300 kg.
            let odd = f.weighed && !(200.0..=3000.0).contains(&f.combined.value);
            odd.then(|| (format!("Is the unit right? By it {:.0} N stand on the plates.", f.combined.value), f.weighing()))
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
                (format!("The plates weigh {percent:+.1} % against the mass given."), f.weighing())
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
            super::weigh::closure_disagrees(apart.abs(), joint, f.weight.mean_n).then(|| {
                (format!("Weight before the jump and weight from rest to rest differ by {apart:+.1} N: drift, a foot off the plate, or hands on something."), f.weighing())
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
                    f.resting(),
                )
            })
        },
    },
    Rule {
        code: "final_place",
        severity: Verdict::Doubtful,
        next_time: "Stand still and upright for two seconds before the jump and after it.",
        applies: |f| {
            let (s, u) = f.final_place_m?;
            // A jump from a held squat begins there, and ends standing: its rest is higher by the squat's depth.
            (f.velocity_known && !f.of(&[TestKind::SquatJump]) && s.abs() > (3.0 * u).max(0.03)).then(|| {
                let (cm, side) = (100.0 * s.abs(), if s < 0.0 { "below" } else { "above" });
                let message = format!("After the landing the body should stand as before, but integration leaves it {cm:.1} cm {side}: another stance, or weight or zero level moved.");
                (message, f.resting())
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
                let text = if apart > 0.05 {
                    format!("Flight time gives {cm:.1} cm more than take-off velocity: legs tucked in the air, or a landing with bent legs.")
                } else if apart > 0.0 {
                    format!("Flight time gives {cm:.1} cm more than take-off velocity: usually a landing with bent legs; else the weighing.")
                } else {
                    format!("Flight time gives {cm:.1} cm less than take-off velocity: a weighing or zero fault, or landing taller than take-off.")
                };
                (text, f.time(f.last_touchdown))
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
                let (cm, where_to) = (100.0 * s.abs(), if s < 0.0 { "below" } else { "above" });
                (format!("At take-off the centre of mass is {cm:.1} cm {where_to} standing; adults reach 5 to 20 cm above. Doubt the weighing, or the stance before."), f.time(f.events.at("take_off")))
            })
        },
    },
    Rule {
        code: "preload_rise",
        severity: Verdict::Doubtful,
        next_time: "Sink straight from standing still, without rising first.",
        applies: |f| {
            let (rise, at) = f.sign("preload_rise")?;
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
            let share = f.standing_share_right.filter(|_| f.seen.one_foot_off.is_none())?;
            (!(40.0..=60.0).contains(&share))
                .then(|| (format!("While standing, {share:.0} % of the weight is on the right plate."), f.weighing()))
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
                    f.weighing(),
                )
            })
        },
    },
    Rule {
        code: "hidden_dip",
        severity: Verdict::Doubtful,
        next_time: "Hold the squat for two seconds, then drive straight up without sinking first.",
        applies: |f| {
            let (dip, at) = f.sign("hidden_dip")?;
            Some((
                format!("Before the push the body sinks by {:.1} cm: a countermovement, which a squat jump must not have.", 100.0 * dip),
                f.time(at),
            ))
        },
    },
    Rule {
        code: "impact_spike",
        severity: Verdict::Sound,
        next_time: "Meet the plates with the forefoot and stiff ankles, if a quick rebound is wanted.",
        applies: |f| {
            let (times, at) = f.sign("impact_spike")?;
            Some((format!("A first impact of {times:.1} times weight comes before the push: heels, or a stiff first touch."), f.time(at)))
        },
    },
    Rule {
        code: "slow_contact",
        severity: Verdict::Sound,
        next_time: "Leave the ground as if it were hot; a lower box helps.",
        applies: |f| {
            let contact = f.value("contact_time").or_else(|| f.value("rebound_contact_time"))?;
            (contact > 0.25).then(|| {
                let ms = 1000.0 * contact;
                (
                    format!("Contact lasts {ms:.0} ms: longer than the 250 ms custom allows a fast rebound, so read it as a slow one."),
                    f.first_contact(),
                )
            })
        },
    },
    Rule {
        code: "all_contacts_slow",
        severity: Verdict::Doubtful,
        next_time: "Keep every contact under 250 ms: stiff ankles, quick off the ground.",
        applies: |f| {
            let none = f.test == TestKind::ReboundJumps && f.value("mean_contact_time").is_none();
            none.then(|| {
                ("No contact of the set is as short as 250 ms: there is nothing to count as a fast rebound.".into(), f.first_contact())
            })
        },
    },
    Rule {
        code: "drop_readings_apart",
        severity: Verdict::Doubtful,
        next_time: "Stand still for two seconds after the landing, and land as tall as you left.",
        applies: |f| {
            let apart = f.drop_apart_m?;
            Some((
                format!(
                    "The two readings of the drop differ by {:.1} cm of height: a bent landing, or weight or zero moved.",
                    100.0 * apart.abs()
                ),
                f.first_contact(),
            ))
        },
    },
    Rule {
        code: "drop_from_box",
        severity: Verdict::Doubtful,
        next_time: "Keep recording until two seconds of standing still after the landing.",
        applies: |f| {
            (f.drop_from_box && f.box_m.is_some()).then(|| {
                ("The speed of the drop is only what the box gives: a step down or a jump off it cannot be seen.".into(), f.first_contact())
            })
        },
    },
    Rule {
        code: "off_the_box",
        severity: Verdict::Doubtful,
        next_time: "Step forward off the box with a straight leg: neither jump up nor lower yourself.",
        applies: |f| {
            if f.drop_from_box {
                return None;
            }
            let (box_m, drop, u) = (f.box_m?, f.value("drop_height")?, f.u("drop_height"));
            let apart = drop - box_m;
            let beyond = apart.abs() > (2.0 * u).max(0.12 * box_m);
            beyond.then(|| {
                let what = if apart > 0.0 { "a jump up off it" } else { "a step down from it" };
                (format!("The body fell {:.0} cm from a box of {:.0} cm: {what}.", 100.0 * drop, 100.0 * box_m), f.first_contact())
            })
        },
    },
    Rule {
        code: "landing_cut_short",
        severity: Verdict::Sound,
        next_time: "Hold the landing for two seconds, and keep recording as long.",
        applies: |f| {
            let short = f.has_flight || f.test == TestKind::DropLanding;
            (short && f.lands && f.after_landing_s < 1.5 && f.value("time_to_stabilisation").is_none()).then(|| {
                (
                    format!("Only {:.1} s are left after the landing: whether it settles cannot be seen.", f.after_landing_s),
                    f.time(f.last_touchdown),
                )
            })
        },
    },
    Rule {
        code: "never_settles",
        severity: Verdict::Doubtful,
        next_time: "Land and stand still at once, feet where they landed, for two seconds.",
        applies: |f| {
            let held = f.of(&[TestKind::DropLanding]);
            (held && f.after_landing_s >= 2.5 && f.value("landing_duration").is_some() && f.value("time_to_stabilisation").is_none()).then(
                || {
                    (
                        format!("In {:.1} s after the landing force never stays within 5 % of weight for one second.", f.after_landing_s),
                        f.time(f.last_touchdown),
                    )
                },
            )
        },
    },
    Rule {
        code: "high_pre_tension",
        severity: Verdict::Doubtful,
        next_time: "Take up the slack only: less than 50 N above body weight before the pull.",
        applies: |f| {
            let (above, at) = f.sign("high_pre_tension")?;
            Some((format!("Before the pull {above:.0} N are already on: the first rates are too low, and onset is late."), f.time(at)))
        },
    },
    Rule {
        code: "unsteady_pre_tension",
        severity: Verdict::Doubtful,
        next_time: "Hold a small steady tension for a second, then pull as fast and hard as possible.",
        applies: |f| {
            let (slope, at) = f.sign("unsteady_pre_tension")?;
            Some((
                format!("Force creeps by {slope:+.0} N/s in the moment before the pull: there is no steady pre-tension to start from."),
                f.time(at),
            ))
        },
    },
    Rule {
        code: "dip_before_pull",
        severity: Verdict::Doubtful,
        next_time: "Do not let go or sink before the pull: from steady tension straight into it.",
        applies: |f| {
            let (depth, at) = f.sign("dip_before_pull")?;
            Some((
                format!("Force dips by {depth:.0} N right before the pull: a countermovement, which makes the first rates too high."),
                f.time(at),
            ))
        },
    },
    Rule {
        code: "rates_shown_only",
        severity: Verdict::Sound,
        next_time: "Record pulls at 1000 Hz or more.",
        applies: |f| {
            let low = f.test == TestKind::Isometric && f.rate_hz < 995.0;
            low.then(|| {
                (
                    format!("At {:.0} samples a second the rates of force development are shown, but not to be judged by.", f.rate_hz),
                    f.time(f.events.at("onset")),
                )
            })
        },
    },
    Rule {
        code: "read_as_said",
        severity: Verdict::Sound,
        next_time: "Say so only where you saw it done.",
        applies: |f| {
            let looks = f.recognised?;
            Some((
                format!("Read as {} because you said so; it looks like {}.", in_words(f.test), in_words(looks)),
                f.time(f.events.span().0),
            ))
        },
    },
    Rule {
        code: "zero_unknown",
        severity: Verdict::Sound,
        next_time: "Let the recording begin with a second of empty plates.",
        applies: |f| {
            f.zero_unknown.then(|| {
                ("Nobody ever leaves the plates, so their zero level cannot be read; 2 N a plate are allowed for it.".into(), f.weighing())
            })
        },
    },
    Rule {
        code: "threshold_capped",
        severity: Verdict::Sound,
        next_time: "Look for loose feet of the plate, vibration, or mains hum.",
        applies: |f| {
            f.threshold_capped
                .then(|| ("Force in flight is so noisy that the take-off threshold was limited to 3 % of weight.".into(), f.unloaded()))
        },
    },
    Rule {
        code: "zero_clamped",
        severity: Verdict::Sound,
        next_time: "Zero the plates before the test, and export signed force if the device allows.",
        applies: |f| {
            f.zero
                .clamped
                .then(|| ("The device cuts force off at 0, so its zero error cannot be seen; 2 N are allowed for it.".into(), f.unloaded()))
        },
    },
    Rule {
        code: "zero_level",
        severity: Verdict::Sound,
        next_time: "Zero the plates with nobody on them before the test.",
        applies: |f| {
            let zero = f.zero.level_n;
            (zero.abs() > 0.01 * f.combined.value)
                .then(|| (format!("With nobody on them the plates read {zero:+.1} N; this was taken off."), f.unloaded()))
        },
    },
];

/// How bad what a notice's code says is. What is not known here is doubted.
fn severity(code: &str) -> Verdict {
    let rule = RULES.iter().chain(rules::RULES).find(|r| r.code == code).map(|r| r.severity);
    rule.unwrap_or(match code {
        "stood_wrong_after" | "plates_swapped" => Verdict::Sound,
        _ => Verdict::Doubtful,
    })
}

/// The verdict that these notices alone give: their worst.
pub fn verdict_of(notices: &[Notice]) -> Verdict {
    notices.iter().map(|n| severity(&n.code)).max().unwrap_or(Verdict::Sound)
}

/// The verdict and every notice that applies, worst first.
pub(crate) fn judge(facts: &Facts<'_>) -> (Verdict, Vec<Notice>) {
    let mut found: Vec<(Verdict, Notice)> = Vec::new();
    // The cause comes before the differences that it was seen in.
    if let Some(cause) = facts.seen.cause {
        let severity = if cause == Cause::StoodWrongAfter { Verdict::Sound } else { Verdict::Doubtful };
        let told = Notice::new(cause.code(), cause.message()).next_time(cause.next_time());
        found.push((severity, Notice { at_s: facts.acts(cause), ..told }));
    }
    for rule in RULES.iter().chain(rules::RULES) {
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
