//! Rules for any kind of test: force that was lost, a weighing that cannot be had or trusted, and what must close after it.
use super::super::weigh::closure_disagrees;
use super::super::{TestKind, Verdict};
use super::Rule;
use crate::recording::Gap;

/// The rules, in the order in which equally bad ones are told.
pub(super) const RULES: &[Rule] = &[
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
        code: "plate_stuck",
        severity: Verdict::Unusable,
        next_time: "Press on each plate by hand and watch its force move.",
        applies: |f| {
            let why = f.stuck.as_ref()?;
            Some((format!("Nothing can be read of this: {why}."), f.weighing()))
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
        code: "load_large",
        severity: Verdict::Doubtful,
        next_time: "Enter the external load alone, without the body.",
        applies: |f| {
            // Ours: nobody is asked to jump with more than he weighs himself, and one who pulls is on the plates alone.
            (f.weighed && f.load_kg > 0.5 * f.system_kg).then(|| {
                let (load, all) = (f.load_kg, f.system_kg);
                (
                    format!("The external load stated, {load:.1} kg, is more than half of the {all:.1} kg that stood on the plates."),
                    f.weighing(),
                )
            })
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
            closure_disagrees(apart.abs(), joint, f.weight.mean_n).then(|| {
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
];
