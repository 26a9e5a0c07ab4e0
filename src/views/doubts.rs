//! Doubts where they act: one numbered list of sentences; the numbers stand on the trace at the place, in the rows of
//! the figures a doubt touches, and in the first sentence.
use crate::answer::Trial;
use crate::charts::number::Locale;
use crate::charts::{DoubtMark, inline_flag};
use crate::recording::Notice;
use crate::records::SavedTrial;
use maud::{Markup, html};

/// A notice and its number in the list, from 1.
#[derive(Debug, Clone, Copy)]
pub struct Doubt<'a> {
    /// Its number.
    pub number: usize,
    /// What is said.
    pub notice: &'a Notice,
    /// Where it is marked on the trace, s.
    pub at_s: Option<f64>,
}

/// Doubts of a whole recording, of the plates or of the day, which know no place of their own, act somewhere in each trial all
/// the same: a slow clock on the instant of take-off, a zero level on what is weighed. What speaks of the file's text alone (a
/// footer, a cut row, a header met twice) has no place.
const ACTS: &[(&[&str], &[&str])] = &[
    (
        &["low_rate", "rate_differs", "clock_bends", "rate_guessed", "duplicates", "rows_doubled", "gaps", "joined_guessed"],
        &["take_off", "contact_start", "touchdown", "onset"],
    ),
    (&["zero_drift", "plates_off", "plates_differ", "plates_crossed", "plates_swapped", "weight_against_day"], &["weighing"]),
    (&["sides_guessed", "unit_unclear", "total_differs", "columns_guessed", "cells_guessed"], &["weighing"]),
];

/// Where a notice is marked on a trial's trace, s: at its own place, else where it acts in every trial.
pub fn place_of(notice: &Notice, trial: &Trial) -> Option<f64> {
    let weighing = || trial.weighing.as_ref().filter(|w| w.to_s > w.from_s).map(|w| w.to_s - (0.5 * (w.to_s - w.from_s)).min(0.25));
    let first = || trial.events.values().copied().filter(|t| t.is_finite()).min_by(f64::total_cmp);
    let event = |name: &&str| match *name {
        "weighing" => weighing(),
        name => trial.events.get(name).copied().filter(|t| t.is_finite()),
    };
    notice.at_s.filter(|at| at.is_finite()).or_else(|| {
        let (_, places) = ACTS.iter().find(|(codes, _)| codes.contains(&notice.code.as_str()))?;
        places.iter().find_map(event).or_else(first)
    })
}

/// Every notice of the trial, then those of its recording, then what the plates' own check says, numbered.
pub fn all<'a>(saved: &'a SavedTrial, of_plates: &'a [Notice]) -> Vec<Doubt<'a>> {
    let read = saved.recording.iter().flat_map(|r| &r.notices).filter(|n| !saved.trial.notices.contains(n));
    let doubt = |(i, notice): (usize, &'a Notice)| Doubt { number: i + 1, notice, at_s: place_of(notice, &saved.trial) };
    saved.trial.notices.iter().chain(read).chain(of_plates).enumerate().map(doubt).collect()
}

/// Parts of figure ids that mark what a doubt touches, and parts that take a figure out again.
struct Touch {
    codes: &'static [&'static str],
    figures: &'static [&'static str],
    but: &'static [&'static str],
}

/// What is integrated from force above weight: a fault of weight or zero level grows with time.
const INTEGRATED: &[&str] = &[
    "jump_height",
    "rise_above",
    "velocity",
    "displacement",
    "depth",
    "power",
    "work",
    "stiffness",
    "distance",
    "reactive",
    "drop_height",
    "net_",
];
/// What is read from times of flight and contact alone.
const TIMED: &[&str] = &[
    "flight_time",
    "mean_flight",
    "mean_rebound",
    "mean_reactive",
    "best_reactive",
    "flight_to",
    "bosco",
    "dalleau",
    "rebound_decrement",
    "standing",
];

/// Everything: no figure of the trial is clear of it.
const EVERYTHING: &[&str] = &[""];

const TOUCHES: &[Touch] = &[
    touch(
        &[
            "short_weighing",
            "closure",
            "final_rest",
            "final_place",
            "take_off_posture",
            "coarse_steps",
            "weighed_after",
            "zero_clamped",
            "zero_level",
            "zero_drift",
            "zero_unknown",
            "zero_moved",
            "hidden_zero",
            "weighed_wrong",
            "restless_weighing",
            "stirred_before",
            "hum",
            "force_lost",
            "cannot_tell",
        ],
        INTEGRATED,
        TIMED,
    ),
    // Whatever is read is read of that test: no figure is in doubt by itself.
    touch(&["read_as_said"], &[], &[]),
    touch(&["mass_differs", "plate_stuck", "unit_unclear", "rate_differs", "gap", "clipped", "clock_against_mains"], EVERYTHING, &[]),
    touch(&["weight_unknown", "weight_against_day", "weight_odd"], EVERYTHING, TIMED),
    touch(&["load_large"], &["_per_kg"], &[]),
    touch(
        &["depth_unlike_own"],
        &["jump_height", "depth", "time_to_take_off", "modified", "contraction", "unweighting", "braking", "propulsion"],
        &[],
    ),
    touch(&["gap_at_peak"], &["peak", "contact", "reactive", "flight_to", "bosco", "dalleau", "rebound", "loading_rate", "landing"], &[]),
    touch(&["plates_off"], &["_force", "force_", "power", "work", "impulse", "stiffness", "loading_rate", "standing_weight"], TIMED),
    touch(&["bent_landing", "tall_landing", "late_foot"], &["flight_time", "flight_to"], &[]),
    touch(&["heights_apart"], &["jump_height", "flight_time", "flight_to", "reactive"], &[]),
    touch(
        &["clipped_landing", "no_landing", "landing_cut_short", "never_settles", "stepped_off", "stood_wrong_after"],
        &["landing", "stabilisation"],
        &[],
    ),
    touch(&["preload_rise", "hop_first"], &["time_to_take_off", "modified", "contraction", "unweighting", "countermovement_depth"], &[]),
    touch(&["hidden_dip"], &["jump_height", "propulsion", "take_off_velocity", "time_to_take_off"], &[]),
    touch(
        &["threshold_capped", "low_rate", "ringing", "two_take_offs"],
        &["flight", "contact_time", "duration", "reactive", "rate_of_force", "loading_rate"],
        &[],
    ),
    touch(&["impact_spike"], &["peak_contact_force", "peak_braking_force", "contact_stiffness", "loading_rate"], &[]),
    touch(&["slow_contact", "all_contacts_slow"], &["contact_time", "reactive", "flight_to_contact"], &["modified"]),
    touch(
        &["drop_readings_apart", "drop_from_box", "off_the_box"],
        &["drop_height", "touchdown_velocity", "contact_depth", "contact_stiffness", "braking"],
        &["duration"],
    ),
    touch(
        &["high_pre_tension", "unsteady_pre_tension", "dip_before_pull"],
        &["pre_tension", "force_at_", "rate_of_force", "impulse_"],
        &[],
    ),
    touch(&["rates_shown_only"], &["rate_of_force"], &[]),
    touch(
        &["sides_guessed", "uneven_standing", "gain_differs", "one_foot_off", "plates_swapped", "plates_differ", "plates_crossed"],
        &["lag", SIDES],
        &[],
    ),
];

const fn touch(codes: &'static [&'static str], figures: &'static [&'static str], but: &'static [&'static str]) -> Touch {
    Touch { codes, figures, but }
}

/// Stands for every row of the table of both sides.
pub const SIDES: &str = "side:";

/// Whether a doubt touches a figure, by the figure's id (twins per kg as their base figure).
pub fn touches(code: &str, id: &str) -> bool {
    let has = |parts: &[&str]| parts.iter().any(|part| id.contains(part));
    TOUCHES.iter().any(|t| t.codes.contains(&code) && has(t.figures) && !has(t.but))
}

/// The marks of the doubts that touch a figure; nothing where none does.
pub fn marks(doubts: &[Doubt<'_>], id: &str) -> Markup {
    html! {
        @for d in doubts.iter().filter(|d| touches(&d.notice.code, id)) { " " (inline_flag(d.number, &d.notice.message)) }
    }
}

/// The mark of one notice, where it is in the list.
pub fn mark_of(doubts: &[Doubt<'_>], notice: &Notice) -> Markup {
    html! { @if let Some(d) = doubts.iter().find(|d| d.notice == notice) { (inline_flag(d.number, &notice.message)) } }
}

/// The doubts that have a place, for the trace.
pub fn places(doubts: &[Doubt<'_>]) -> Vec<DoubtMark> {
    let place = |d: &Doubt<'_>| Some(DoubtMark { number: d.number, at_s: d.at_s?, says: d.notice.message.clone() });
    doubts.iter().filter_map(place).collect()
}

/// The list that the numbers refer to.
pub fn section(doubts: &[Doubt<'_>], locale: &Locale) -> Markup {
    html! {
        @if !doubts.is_empty() {
            section id="notices" aria-labelledby="notices-head" {
                h2 id="notices-head" { "What to know about this trial" }
                ol class="noted" {
                    @for d in doubts {
                        li id={ "note-" (d.number) } data-code=(d.notice.code) tabindex="-1" {
                            (inline_flag(d.number, "this one"))
                            span {
                                (d.notice.message)
                                @if let Some(at) = d.at_s { " (marked at " (locale.fixed(at, 2)) "\u{a0}s)" }
                                @if let Some(advice) = &d.notice.next_time { " " em { "Next time: " (advice) } }
                            }
                        }
                    }
                }
            }
        }
    }
}
