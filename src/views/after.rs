//! The block's page after it: what it aimed at, what changed beyond noise and expected drift, what did not, what next.
use super::argument::figure_name;
use crate::advice::after::{Change, Outcome, Verdict};
use crate::advice::qualities::{in_a_sentence, test_in_a_sentence};
use crate::charts::number::Locale;
use maud::{Markup, html};

/// The page.
pub fn screen(outcome: &Outcome, locale: &Locale) -> Markup {
    let aims = match outcome.aims.as_slice() {
        [] => "general strength".to_owned(),
        aims => aims.iter().map(|a| in_a_sentence(*a)).collect::<Vec<_>>().join(" and "),
    };
    let moved: Vec<_> = outcome.also.iter().filter(|a| a.stands_out).collect();
    html! {
        section id="after" aria-labelledby="after-head" {
            h2 id="after-head" { "Before and after" }
            p { "The block aimed at " (aims) ". Tests of " (outcome.days.0) " and " (outcome.days.1) " are compared; means, never best trials." }
            h3 { "Targets" }
            @for (target, change) in &outcome.targets {
                p { strong { (figure_name(&target.figure)) ", " (test_in_a_sentence(&target.test)) ": " }
                    @match change {
                        Some(c) => { (c.verdict.sentence()) " " (numbers(c, locale)) }
                        None => { "not tested on both days under the same protocol." }
                    }
                }
            }
            h3 { "Also seen" }
            @if outcome.also.is_empty() { p class="quiet" { "No other figure was tested on both days." } }
            @else if moved.is_empty() { p { "None of " (outcome.also.len()) " other figures changed beyond noise, allowing for how many were looked at." } }
            @else { ul { @for a in moved { li { (figure_name(&a.figure)) ", " (test_in_a_sentence(&a.test)) ": " (numbers(&a.change, locale)) } } } }
            h3 { "Next" }
            p { (outcome.next) }
        }
    }
}

/// The change with its interval, drift and what would matter.
fn numbers(c: &Change, locale: &Locale) -> String {
    if c.verdict == Verdict::NoNoise {
        return format!("{} %.", locale.fixed(c.percent, 1));
    }
    let sign = if c.percent > 0.0 { "+" } else { "" };
    let mut text = format!("{sign}{} % (±\u{a0}{})", locale.fixed(c.percent, 1), locale.fixed(c.half_width, 1));
    if c.drift_percent.abs() >= 0.05 {
        text += &format!(", of which {} % would be expected untrained", locale.fixed(c.drift_percent, 1));
    }
    text + &format!("; {} % would matter.", locale.fixed(c.worthwhile_percent, 1))
}
