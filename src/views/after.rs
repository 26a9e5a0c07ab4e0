//! The block's page after it: what it aimed at, what changed beyond noise and expected drift, what did not, what next.
use super::change::sentence;
use super::judged::{leg, target_name};
use super::say::{change_interval, figure_name, gravity_sentence, in_a_sentence as in_a_sentence_of, size};
use crate::advice::after::Outcome;
use crate::advice::evidence::capital;
use crate::advice::qualities::{in_a_sentence, test_in_a_sentence};
use crate::charts::number::Locale;
use crate::cohort::Verdict;
use maud::{Markup, html};

/// The section.
pub fn screen(outcome: &Outcome, locale: &Locale) -> Markup {
    html! {
        section id="after" aria-labelledby="after-head" {
            h2 id="after-head" { "Before and after" }
            (part(outcome, locale))
        }
    }
}

/// The same without its heading, for the reports.
pub fn part(outcome: &Outcome, locale: &Locale) -> Markup {
    let (moved, still): (Vec<_>, Vec<_>) = outcome.also.iter().partition(|(_, seen)| seen.stands_out);
    html! {
        p { (aim(outcome, locale)) }
        @if let Some(found) = &outcome.gravity { p class="trust doubtful" { (gravity_sentence(found, locale)) } }
        @for line in sentences(outcome, locale) { p class="finding" { (line) } }
        @if outcome.also.is_empty() { p class="quiet" { "No other figure was tested on both days with its variation between days known." } }
        @if !moved.is_empty() {
            p { "Also seen, allowing for how many were looked at:" }
            ul { @for (test, seen) in &moved {
                li { (figure_name(&seen.change.figure)) ", " (test_in_a_sentence(test)) @if let Some(i) = seen.change.beyond_drift() { ": " (change_interval(&seen.change, i, locale)) } }
            } }
        }
        @if !still.is_empty() {
            p { @if moved.is_empty() { "None of " (still.len()) " other figures" } @else { "The other " (still.len()) } " changed beyond noise, allowing for how many were looked at." }
        }
        p { strong { "Next: " } (outcome.next) }
    }
}

/// What the block aimed at, and what is compared.
pub fn aim(outcome: &Outcome, locale: &Locale) -> String {
    let aims = match outcome.aims.as_slice() {
        [] => "general strength".to_owned(),
        aims => aims.iter().map(|a| in_a_sentence(*a)).collect::<Vec<_>>().join(" and "),
    };
    let under_way = if outcome.under_way { " The block is not over yet." } else { "" };
    let both = if outcome.targets.len() > 1 {
        " The intervals of both targets hold together in 95 of 100 cases, so each is wider than alone."
    } else {
        ""
    };
    format!(
        "The block aimed at {aims}. Tests of {} and {} are compared; means, never best trials.{both}{under_way}",
        locale.day(outcome.days.0),
        locale.day(outcome.days.1)
    )
}

/// The same for the athlete, without intervals.
pub fn plain(outcome: &Outcome, locale: &Locale) -> Vec<String> {
    let said = outcome.targets.iter().map(|(target, change)| {
        let name = capital(&in_a_sentence_of(&target.figure));
        let name = leg(target).map_or_else(|| name.clone(), |leg| format!("{name}, {leg}"));
        let Some(change) = change else { return format!("{name}: not tested both times in the same way.") };
        let amount = change.beyond_drift().map_or(String::new(), |i| size(&change.figure, change.scale, i.value.abs(), locale));
        match change.verdict {
            Verdict::WorthwhileBetter => format!("{name}: better by about {amount}, more than good and bad days explain."),
            Verdict::NotSurelyWorthwhile { better: true } => format!("{name}: better by about {amount}; that may be a little or a lot."),
            Verdict::WorthwhileWorse | Verdict::NotSurelyWorthwhile { better: false } => {
                format!("{name}: lower by about {amount}. Tell your coach how you felt that day.")
            }
            Verdict::Trivial => format!("{name}: as it was."),
            Verdict::CannotTell => format!("{name}: cannot be told yet; good and bad days differ too much for one more test to show it."),
            Verdict::CannotSay => format!("{name}: cannot be told yet; how much it differs from day to day is not known."),
        }
    });
    said.collect()
}

/// A sentence a target.
pub fn sentences(outcome: &Outcome, locale: &Locale) -> Vec<String> {
    let said = outcome.targets.iter().map(|(target, change)| match change {
        Some(change) => match leg(target) {
            Some(leg) => format!("{}: {}", capital(leg), sentence(change, locale)),
            None => sentence(change, locale),
        },
        None => format!("{}, {}: not tested on both days under the same protocol.", target_name(target), test_in_a_sentence(&target.test)),
    });
    said.collect()
}
