//! Rules of single kinds of test: what only a squat jump, a rebound, a drop, a landing or a pull can be doubted for.
use super::super::{TestKind, Verdict};
use super::Rule;

/// The rules, in the order in which equally bad ones are told.
pub(super) const RULES: &[Rule] = &[
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
];
