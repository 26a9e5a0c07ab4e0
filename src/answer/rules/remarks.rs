//! What is said of any trial and doubts nothing: how it was read, and what its zero level and its noise allow.
use super::super::Verdict;
use super::super::asked::in_words;
use super::Rule;

/// The rules, in the order in which equally bad ones are told.
pub(super) const RULES: &[Rule] = &[
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
