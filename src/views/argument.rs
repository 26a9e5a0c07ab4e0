//! The athlete's screen as an argument: standing, manner, contrasts, answer, what is missing, next test. Pure: a summary in,
//! HTML out; the same for one's own records and for a link that was opened.
use crate::advice::argument::{Argument, RULES, Statement};
use crate::advice::brief::{Brief, ClosedTest, Shown};
use crate::advice::evidence::ONE_TRIAL;
use crate::advice::gates::{Closed, Opened};
use crate::advice::qualities::{QualityId, name, test_in_a_sentence};
use crate::advice::score::Answer;
use crate::charts::number::Locale;
use crate::charts::words::spoken;
use crate::charts::{Strip, standing_strips};
use crate::figures::{PER_KG, definition};
use maud::{Markup, html};

/// All sections. `width` is the room for drawings, px.
pub fn screen(brief: &Brief, locale: &Locale, width: f64) -> Markup {
    html! {
        div class="argument" {
            (standing(brief, locale, width))
            (manner(brief, locale))
            (contrasts(brief))
            (answer(brief, locale))
            (gates(brief, locale))
            (next(brief, locale))
        }
    }
}

/// Whether the answer names a quality.
pub fn names(answer: Answer, quality: QualityId) -> bool {
    match answer {
        Answer::One(one) | Answer::Manner(one) => one == quality,
        Answer::Two(one, two) => one == quality || two == quality,
        _ => false,
    }
}

/// The strips of the qualities.
pub fn strips(brief: &Brief) -> Vec<Strip> {
    brief
        .standings
        .iter()
        .map(|s| Strip {
            name: name(s.quality).to_owned(),
            z: s.z,
            half_width: s.half_width,
            others: s.others.clone(),
            n: s.n,
            named: names(brief.answer, s.quality),
        })
        .collect()
}

/// Standing: drawing and table.
pub fn standing(brief: &Brief, locale: &Locale, width: f64) -> Markup {
    html! {
        section id="standing" aria-labelledby="standing-head" {
            h2 id="standing-head" { "Standing" }
            @if brief.standings.is_empty() {
                p { "No quality can be compared yet: that needs the same tests of at least five others." }
            } @else {
                p class="quiet" { "Compared with " (locale.days_in(&brief.group)) ", the athlete left out; tests of " (days(brief, locale)) ". Whiskers: what two such days may differ by (k = 2)." }
                div class="both" {
                    div { (standing_strips(&strips(brief), width.clamp(260.0, 560.0), true, locale)) }
                    div class="wide" { (standing_table(brief, locale)) }
                }
                @if !brief.figures.is_empty() { (figure_table("Phase figures of the countermovement jump", &brief.figures, locale)) }
            }
        }
    }
}

/// The days in words.
pub fn days(brief: &Brief, locale: &Locale) -> String {
    brief.days.iter().map(|d| locale.day(*d)).collect::<Vec<_>>().join(" and ")
}

/// The strips' numbers.
pub fn standing_table(brief: &Brief, locale: &Locale) -> Markup {
    html! {
        table class="figures plain" {
            caption { "The same as numbers" }
            thead { tr {
                th scope="col" { "Quality" } th scope="col" class="num" { "SD from the group ±" } th scope="col" class="num" { "Lowest with probability, %" } th scope="col" class="num" { "n" }
            } }
            tbody { @for s in &brief.standings {
                tr class=[names(brief.answer, s.quality).then_some("set-off")] {
                    th scope="row" { (name(s.quality)) }
                    td class="num" { (locale.fixed(s.z, 1)) @if let Some(half) = s.half_width { span class="spread" { " ± " (locale.fixed(half, 1)) } } }
                    td class="num" { @if let Some(p) = s.p_lowest { (percent(p, locale)) } @else { "not scored" } }
                    td class="num" { (s.n) }
                }
            } }
        }
    }
}

fn percent(p: f64, locale: &Locale) -> String {
    if p > 0.0 && p < 0.005 { format!("under {}", locale.fixed(0.5, 1)) } else { locale.fixed(100.0 * p, 0) }
}

/// Figures with their standing; upwards is more, not better.
pub fn figure_table(caption: &str, figures: &[Shown], locale: &Locale) -> Markup {
    let same = figures.first().map(|f| f.n).filter(|n| figures.iter().all(|f| f.n == *n));
    let placed = figures.iter().any(Shown::placed);
    html! {
        table class="figures plain" {
            caption { (caption) @if let Some(n) = same.filter(|_| placed) { ", n = " (n) } }
            thead { tr {
                th scope="col" { "Figure, unit" } th scope="col" class="num" { "Mean ±" } @if placed { th scope="col" class="num" { "SD from the group ±" } } @if placed && same.is_none() { th scope="col" class="num" { "n" } }
            } }
            tbody { @for s in figures {
                @let (unit, factor) = unit_of(s, locale);
                tr {
                    th scope="row" { (figure_name(&s.figure)) @if !unit.is_empty() { span class="unit" { ", " (unit) } } }
                    td class="num" {
                        @let (value, spread) = locale.parts(s.value * factor, s.error.unwrap_or(0.0) * factor);
                        (value) @if let Some(spread) = spread { span class="spread" { " ± " (spread) } }
                    }
                    @if placed { td class="num" { (locale.fixed(s.z, 1)) @if let Some(e) = s.z_error { span class="spread" { " ± " (locale.fixed(2.0 * e, 1)) } } } }
                    @if placed && same.is_none() { td class="num" { (s.n) } }
                }
            } }
        }
    }
}

fn unit_of(s: &Shown, locale: &Locale) -> (String, f64) {
    let (unit, factor) = locale.unit(&s.unit);
    (unit.to_owned(), factor)
}

/// A figure's name in a list; a twin per kg has its figure's.
pub fn figure_name(id: &str) -> String {
    let base = id.strip_suffix(PER_KG).unwrap_or(id);
    definition(id).map_or_else(|| spoken(base), |d| d.name.to_owned())
}

/// Manner beside.
pub fn manner(brief: &Brief, locale: &Locale) -> Markup {
    html! {
        @if !brief.manner.is_empty() {
            section id="manner" aria-labelledby="manner-head" {
                h2 id="manner-head" { "Manner of jumping" }
                p { (manner_sentence(brief)) }
                (figure_table("Depth and tempo of the countermovement jump", &brief.manner, locale))
            }
        }
    }
}

/// Manner in one sentence.
pub fn manner_sentence(brief: &Brief) -> String {
    let far: Vec<String> = brief
        .manner
        .iter()
        .filter(|s| s.z.abs() > 1.0)
        .map(|s| format!("{} ({} than the group)", figure_name(&s.figure).to_lowercase(), if s.z < 0.0 { "smaller" } else { "larger" }))
        .collect();
    if !brief.manner.iter().any(Shown::placed) {
        return String::new();
    }
    if far.is_empty() {
        return "Depth and tempo are within 1 SD of the group: forces and powers can be compared.".into();
    }
    format!("More than 1 SD from the group: {}. Depth and tempo change force and power at equal height.", far.join(", "))
}

/// Contrasts and left against right.
pub fn contrasts(brief: &Brief) -> Markup {
    html! {
        @if !(brief.contrasts.is_empty() && brief.sides.is_empty()) {
            section id="contrasts" aria-labelledby="contrasts-head" {
                h2 id="contrasts-head" { "Contrasts" }
                ul { @for sentence in &brief.contrasts { li { (sentence) } } @for sentence in side_sentences(brief) { li { (sentence) } } }
            }
        }
    }
}

/// Left against right, a sentence a figure.
pub fn side_sentences(brief: &Brief) -> Vec<String> {
    let side = |d: f64| if d < 0.0 { "left" } else { "right" };
    brief
        .sides
        .iter()
        .map(|s| {
            let size = format!("{:.1} % of the {}", s.difference_percent.abs(), s.of);
            if s.figure.ends_with(ONE_TRIAL) {
                format!("{}: {size} apart.", s.figure)
            } else if s.beyond_noise {
                format!("{}: {} higher by {size}, beyond its noise.", s.figure, side(s.difference_percent))
            } else {
                format!("{}: {size} apart, within noise.", s.figure)
            }
        })
        .collect()
}

/// The answer with its argument.
pub fn answer(brief: &Brief, locale: &Locale) -> Markup {
    html! {
        section id="answer" aria-labelledby="answer-head" {
            h2 id="answer-head" { "Answer" }
            p class="trust answer" { strong { (brief.sentence) } }
            @if !brief.misses.is_empty() { (misses(brief, locale)) }
            @for argument in &brief.arguments { (argument_part(argument, brief)) }
            p class="hint" { "A vertical force names no muscle. This is a suggestion for training: no diagnosis and no clearance." }
        }
    }
}

/// What is missing, each with what settles it.
pub fn misses(brief: &Brief, locale: &Locale) -> Markup {
    html! {
        ul class="misses" { @for miss in &brief.misses { li { (locale.told(&miss.sentence)) " " span class="settle" { (locale.told(&miss.settle)) } } } }
        @if !brief.closed_tests.is_empty() { p { (ONLY_OPEN) } }
    }
}

/// One quality's argument.
pub fn argument_part(argument: &Argument, brief: &Brief) -> Markup {
    let list = |head: &str, statements: &[Statement], none: &str| {
        html! {
            div {
                h4 { (head) }
                @if statements.is_empty() { p class="quiet" { (none) } } @else {
                    ul { @for s in statements { li title=(source(s)) { (s.text) } } }
                }
            }
        }
    };
    html! {
        div class="one-argument" {
            h3 { (name(argument.quality)) @if !names(brief.answer, argument.quality) { ": what the numbers lean to, no more" } }
            div class="sides-of-it" {
                (list("For", &argument.speaks_for, "Nothing."))
                div {
                    (list("Against", &argument.against, "Nothing seen."))
                    (list("What else it could be", &argument.otherwise, "Nothing seen that would explain it."))
                }
            }
            @if !argument.settle.is_empty() { p { strong { "What would settle it: " } (argument.settle) @if !brief.closed_tests.is_empty() { (ONLY_OPEN) } } }
            @if !argument.beside.is_empty() && brief.arguments.first().is_none_or(|a| a.quality == argument.quality) { p class="beside" { strong { "Trained so far, in the coach’s words (beside the evidence, not part of it): " } (argument.beside) } }
            details class="sources" { summary { "Where these rules come from" }
                ul { @for s in argument.speaks_for.iter().chain(&argument.against).chain(&argument.otherwise) { li { (s.text) " — " (source(s)) } } }
            }
        }
    }
}

fn source(s: &Statement) -> &str {
    if s.source.is_empty() { RULES.iter().find(|r| r.id == s.rule).map_or("", |r| r.source) } else { &s.source }
}

/// What a suggestion of a test says where some are closed.
const ONLY_OPEN: &str = " A test that is closed waits until it is opened, even where it would settle this.";

/// Tests that are closed, and what was opened.
pub fn gates(brief: &Brief, locale: &Locale) -> Markup {
    html! {
        @if !(brief.closed_tests.is_empty() && brief.opened.is_empty()) {
            section id="gates" aria-labelledby="gates-head" {
                h2 id="gates-head" { "Closed now" }
                @if !brief.closed_tests.is_empty() { (closed_tests(&brief.closed_tests, locale)) }
                @if !brief.opened.is_empty() { (opened(&brief.opened, locale)) }
            }
        }
    }
}

/// The list of closed tests; those closed for the same reasons share a line.
pub fn closed_tests(tests: &[ClosedTest], locale: &Locale) -> Markup {
    let mut groups: Vec<(Vec<&str>, String)> = Vec::new();
    for t in tests {
        let words = locale.told(&closed_sentence(&t.closed));
        match groups.iter_mut().find(|g| g.1 == words) {
            Some(group) => group.0.push(&t.test),
            None => groups.push((vec![&t.test], words)),
        }
    }
    html! {
        ul class="closed-list" { @for (tests, words) in groups {
            li { strong { (crate::advice::evidence::capital(&tests.iter().map(|t| test_in_a_sentence(t)).collect::<Vec<_>>().join(", "))) ": closed. " } (words) }
        } }
    }
}

/// One gate closes several activities of a test: said once.
pub fn unique(closed: &[Closed]) -> Vec<&Closed> {
    let mut seen: Vec<&Closed> = Vec::new();
    for c in closed {
        if !seen.iter().any(|s| s.gate == c.gate) {
            seen.push(c);
        }
    }
    seen
}

/// Why, by whom, until when; what several gates share is said once.
pub fn closed_sentence(closed: &[Closed]) -> String {
    let gates = unique(closed);
    let mut words: Vec<String> = Vec::new();
    for (i, c) in gates.iter().enumerate() {
        words.push(c.reason.clone());
        let next = gates.get(i + 1);
        if next.is_some_and(|n| n.who == c.who && n.until == c.until) {
            continue;
        }
        if !c.who.is_empty() {
            words.push(format!("Opens: {}.", c.who));
        }
        if let Some(until) = c.until {
            words.push(format!("Lapses on {until}."));
        }
    }
    words.join(" ")
}

/// Gates that somebody opened; one clearance for several gates is said once.
pub fn opened(opened: &[Opened], locale: &Locale) -> Markup {
    let mut lines: Vec<String> = opened
        .iter()
        .map(|o| {
            format!(
                "{}: opened by {} on {}, until {}.",
                crate::advice::evidence::capital(o.activity.name()),
                o.by,
                locale.day(o.date),
                locale.day(o.until)
            )
        })
        .collect();
    lines.dedup();
    html! {
        @if !lines.is_empty() { ul class="closed-list" { @for line in &lines { li { (line) } } } }
    }
}

/// Next tests: what is asked for, else what would settle the answer that there is.
pub fn next(brief: &Brief, locale: &Locale) -> Markup {
    let settle = brief.arguments.iter().map(|a| a.settle.as_str()).filter(|s| brief.next.is_empty() && !s.is_empty());
    let next: Vec<&str> = brief.next.iter().map(String::as_str).chain(settle).collect();
    html! {
        @if !next.is_empty() {
            section id="next-test" aria-labelledby="next-head" {
                h2 id="next-head" { "Next test" }
                ul { @for sentence in next { li { (locale.told(sentence)) } } }
                @if !brief.closed_tests.is_empty() { p class="hint" { (ONLY_OPEN) } }
            }
        }
    }
}
