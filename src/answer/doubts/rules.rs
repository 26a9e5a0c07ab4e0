//! The sentences of what was [`super::Seen`]: rows of data like those of `answer/rules`.
use super::super::TestKind;
use super::super::Verdict;
use super::super::rules::Rule;

/// The rules.
pub(crate) const RULES: &[Rule] = &[
    Rule {
        code: "two_take_offs",
        severity: Verdict::Doubtful,
        next_time: "Leave the plates once, both feet together, and land on both.",
        applies: |f| {
            let at = f.seen.earlier_take_off?;
            Some((
                "The feet leave the plates twice: force goes to nothing, comes back, and goes again before the flight.".into(),
                f.time(at),
            ))
        },
    },
    Rule {
        code: "stirred_before",
        severity: Verdict::Doubtful,
        next_time: "Step on, then stand still for two seconds before the jump: no hop, no trial dip.",
        applies: |f| {
            let (at, by) = f.seen.stirred?;
            let message = format!(
                "Force moves by {by:+.0} N within a second and a half before the jump: a hop, a step or a dip; the body was not at rest."
            );
            Some((message, f.time(at)))
        },
    },
    Rule {
        code: "hop_first",
        severity: Verdict::Doubtful,
        next_time: "Stand still for two seconds before the jump, without a hop.",
        applies: |f| {
            let (first, second) = (f.value("jump_height_flight_time")?, f.value("rebound_jump_height_flight_time")?);
            (f.test == TestKind::CountermovementReboundJump && first < 0.08 && second > 2.0 * first).then(|| {
                let message = format!("The first of the two jumps is only {:.0} cm high: a hop before the jump?", 100.0 * first);
                (message, f.time(f.events.at("take_off")))
            })
        },
    },
    Rule {
        code: "restless_weighing",
        severity: Verdict::Doubtful,
        next_time: "Stand still and silent, hands on the hips or at the sides, for two seconds before the jump.",
        applies: |f| {
            let spread = f.seen.restless_n?;
            let message = format!("Force wanders by {spread:.0} N while being weighed: swaying, talking or shifting weight.");
            Some((message, f.weighing()))
        },
    },
    Rule {
        code: "one_foot_off",
        severity: Verdict::Doubtful,
        next_time: "Stand with one foot fully on each plate before and after; on one leg, note it as a test of that leg.",
        applies: |f| {
            let (at, plate) = f.seen.one_foot_off?;
            let message = format!(
                "The {plate} plate carries nothing while the other carries the whole person: a foot is off its plate in standing. \
                 Left against right says nothing here."
            );
            Some((message, f.time(at)))
        },
    },
    Rule {
        code: "gain_differs",
        severity: Verdict::Doubtful,
        next_time: "Check both plates with the same known mass, at centre and corners.",
        applies: |f| {
            let (gain, u) = f.seen.gain_apart?;
            (gain.abs() > (4.0 * u).max(0.02)).then(|| {
                let (more, percent) = (if gain > 0.0 { "right" } else { "left" }, 100.0 * gain.abs());
                let message = format!(
                    "When weight shifts from foot to foot the total should stay; here the {more} plate reads about {percent:.0} % more than the other. \
                     Left against right is off by half of that."
                );
                (message, f.weighing())
            })
        },
    },
    Rule {
        code: "clock_against_mains",
        severity: Verdict::Doubtful,
        next_time: "Check the sampling rate set in the device against the one in the file.",
        applies: |f| {
            let hum = f.seen.hum?;
            let off = hum.clock_off()?;
            let message = format!(
                "Mains hum lies at {:.1} Hz by this recording's clock. If it is the mains, the clock is {:.1} % off, and every height twice that.",
                hum.hz,
                100.0 * off.abs()
            );
            Some((message, f.weighing()))
        },
    },
    Rule {
        code: "stepped_off",
        severity: Verdict::Sound,
        next_time: "Stay on the plates for two seconds after the landing.",
        applies: |f| {
            let at = f.seen.stepped_off?;
            Some((
                "Somebody steps off right after the landing: no final rest to check the weighing on, no time to stabilisation.".into(),
                f.time(at),
            ))
        },
    },
    Rule {
        code: "ringing",
        severity: Verdict::Sound,
        next_time: "Set the plate on a hard floor, and check its feet.",
        applies: |f| {
            let ringing = f.seen.ringing_n?;
            let message =
                format!("The plate rings by {ringing:.0} N after take-off; the zero level is taken from the quiet middle of the flight.");
            Some((message, f.time(f.last_take_off)))
        },
    },
    Rule {
        code: "hum",
        severity: Verdict::Sound,
        next_time: "Keep the plate's cable away from mains leads, and plug both into one socket.",
        applies: |f| {
            let hum = f.seen.hum?;
            (hum.amplitude_n > (0.0015 * f.combined.value).max(1.0)).then(|| {
                let message = format!(
                    "Mains hum of {:.1} N at {:.1} Hz: it averages out of weight and heights, and adds to peaks and to onset's band.",
                    hum.amplitude_n, hum.hz
                );
                (message, f.weighing())
            })
        },
    },
];
