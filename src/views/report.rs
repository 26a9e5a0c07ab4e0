//! What is handed over: the coach's report (two pages) and the athlete's (one page, plain words), for print on A4 or Letter and
//! as one HTML file that needs nothing else: style inside, drawings as vectors, no script, no request.
use super::after;
use super::argument::{
    argument_part, closed_tests, days, figure_table, manner_sentence, misses, opened, side_sentences, standing_table, strips,
};
use super::block::{cautions, dose_words, sheet, week_words};
use crate::advice::after::Outcome;
use crate::advice::argument::{Argument, Statement};
use crate::advice::brief::{Brief, Plan};
use crate::advice::exercises::exercise;
use crate::advice::qualities::{plain, test_in_a_sentence};
use crate::advice::score::Answer;
use crate::charts::number::Locale;
use crate::charts::words::spoken;
use crate::charts::{Strip, standing_strips};
pub use crate::screen::Paper;
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// Who reads it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reader {
    /// Two pages, terms of the trade.
    Coach,
    /// One page, plain words.
    Athlete,
}

const STYLE: &str = include_str!("report.css");

/// The report as a file of its own.
#[inline(never)]
pub fn file(brief: &Brief, reader: Reader, paper: Paper, locale: &Locale) -> String {
    file_after(brief, None, reader, paper, locale)
}

/// The same with what came of the block.
pub fn file_after(brief: &Brief, outcome: Option<&Outcome>, reader: Reader, paper: Paper, locale: &Locale) -> String {
    // A file that names no size is printed on the printer's paper.
    let size = match paper {
        Paper::Printer => "@page { margin: 12mm 14mm; }",
        Paper::A4 => "@page { size: A4; margin: 13mm 14mm; }",
        Paper::Letter => "@page { size: letter; margin: 12mm 15mm; }",
    };
    let whole = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                // Nothing is fetched and nothing runs, whoever opens it wherever.
                meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title(brief)) }
                style { (PreEscaped(size)) (PreEscaped(STYLE)) }
            }
            body { (body_after(brief, outcome, reader, locale)) }
        }
    };
    whole.into_string()
}

/// Title of the document and of its file.
pub fn title(brief: &Brief) -> String {
    if brief.name.is_empty() { format!("Jump tests, {}", brief.day) } else { format!("{}, jump tests, {}", brief.name, brief.day) }
}

/// The report without its frame, for printing from the page.
#[inline(never)]
pub fn body(brief: &Brief, reader: Reader, locale: &Locale) -> Markup {
    body_after(brief, None, reader, locale)
}

/// The same with what came of the block.
pub fn body_after(brief: &Brief, outcome: Option<&Outcome>, reader: Reader, locale: &Locale) -> Markup {
    match reader {
        Reader::Coach => coach(brief, outcome, locale),
        Reader::Athlete => athlete(brief, outcome, locale),
    }
}

/// Body mass is for the coach: an athlete's page may lie about.
fn head(brief: &Brief, what: &str, body_mass_kg: Option<f64>, locale: &Locale) -> Markup {
    html! {
        header class="report-head" {
            h1 { @if brief.name.is_empty() { "Athlete" } @else { (brief.name) } }
            p { (what) " · tests of " (days(brief, locale)) @if let Some(kg) = body_mass_kg { " · " (locale.mass(kg, 1)) } " · compared with " (locale.days_in(&brief.group)) }
            @if brief.invented { p class="invented" { "Invented data: this athlete does not exist." } }
        }
    }
}

fn foot() -> Markup {
    html! {
        footer class="report-foot" {
            p { "Vertical force only. Suggestions for training: no diagnosis and no clearance to play. Every ± covers about 95 %, with what days vary by in it. Made with Tarsal " (env!("CARGO_PKG_VERSION")) " on the coach’s own device." }
        }
    }
}

fn coach(brief: &Brief, outcome: Option<&Outcome>, locale: &Locale) -> Markup {
    html! {
        article class="report coach" {
            div {
                (head(brief, "Coach’s report", brief.body_mass_kg, locale))
                p class="answer" { (brief.sentence) }
                @if !brief.misses.is_empty() { (misses(brief, locale)) }
                section {
                    h2 { "Standing" }
                    @if brief.standings.is_empty() { p { "No quality can be compared yet." } } @else {
                        div class="two" {
                            (standing_strips(&strips(brief), 430.0, true, locale))
                            (standing_table(brief, locale))
                        }
                        (contrast_list(brief))
                    }
                }
                @if !(brief.figures.is_empty() && brief.manner.is_empty()) { section {
                    h2 { "Figures and manner" }
                    div class="two wide-left" {
                        @if !brief.figures.is_empty() { (figure_table("Countermovement jump", &brief.figures, locale)) }
                        div {
                            @if !brief.manner.is_empty() { (figure_table("Depth and tempo", &brief.manner, locale)) p { (manner_sentence(brief)) } }
                        }
                    }
                } }
                section {
                    h2 { "Why" }
                    @for argument in without_repeats(&brief.arguments) { (argument_part(&argument, brief)) }
                    @if brief.arguments.is_empty() { p { "No single quality is named, so none is argued for." } }
                }
                @if !(brief.closed_tests.is_empty() && brief.opened.is_empty()) {
                    section { h2 { "Closed and opened now" } (closed_tests(&brief.closed_tests, locale)) (opened(&brief.opened, locale)) }
                }
                section {
                    h2 { @if is_over(outcome) { "Block, as it was planned" } @else { "Block" } }
                    @match &brief.plan {
                        Some(plan) => { (sheet(plan, locale)) @if let Some(waits) = brief.retest_waits() { p class="trust doubtful" { (locale.told(waits)) } } },
                        None => p { (no_plan(brief.answer)) },
                    }
                }
                @if let Some(outcome) = outcome { section { h2 { "Before and after" } (after::part(outcome, locale)) } }
                @if brief.plan.is_none() && brief.misses.is_empty() && !brief.next.is_empty() { section { h2 { "Next test" } ul { @for sentence in &brief.next { li { (locale.told(sentence)) } } } } }
                (cautions())
                (foot())
            }
        }
    }
}

/// What was said of the first quality is not printed again for the second.
fn without_repeats(arguments: &[Argument]) -> Vec<Argument> {
    let first = arguments.first();
    let said =
        |s: &Statement| first.is_some_and(|a| a.speaks_for.iter().chain(&a.against).chain(&a.otherwise).any(|other| other.text == s.text));
    arguments
        .iter()
        .enumerate()
        .map(|(i, argument)| {
            let mut argument = argument.clone();
            if i > 0 {
                for list in [&mut argument.speaks_for, &mut argument.against, &mut argument.otherwise] {
                    list.retain(|s| !said(s));
                }
                argument.beside.clear();
            }
            argument
        })
        .collect()
}

fn contrast_list(brief: &Brief) -> Markup {
    html! {
        @if !(brief.contrasts.is_empty() && brief.sides.is_empty()) {
            ul class="contrasts" { @for sentence in &brief.contrasts { li { (sentence) } } @for sentence in side_sentences(brief) { li { (sentence) } } }
        }
    }
}

fn no_plan(answer: Answer) -> &'static str {
    match answer {
        Answer::UniformlyHigh => "No block: train by the sport’s demand.",
        Answer::Manner(_) => "No block yet: repeat the jumps with a set depth and cue.",
        _ => "No block yet.",
    }
}

/// The stop rules without terms of art.
const PLAIN_STOPS: &[&str] = &[
    "Stop when your jumps get lower or your feet stay on the ground longer than at the start of the set.",
    "Stop when your heels hit the ground in springy hops, or your landings get loud.",
    "Leave at least two days between sessions with jumps; testing counts as one.",
];

/// Where one stands, in words that need no statistics.
fn place_words(z: f64) -> &'static str {
    match z {
        z if z <= -1.5 => "well below most of the group",
        z if z <= -0.5 => "below most of the group",
        z if z < 0.5 => "about in the middle of the group",
        z if z < 1.5 => "above most of the group",
        _ => "well above most of the group",
    }
}

fn athlete(brief: &Brief, outcome: Option<&Outcome>, locale: &Locale) -> Markup {
    let over = is_over(outcome);
    html! {
        article class="report athlete" {
            div {
                (head(brief, "Your tests", None, locale))
                p class="answer" { (plain_answer(brief)) }
                @if let Some(line) = height_line(brief, locale) { p { (line) } }
                @if !brief.standings.is_empty() {
                    section {
                        h2 { "Where you stand" }
                        div class="two" {
                            (standing_strips(&plain_strips(brief), 430.0, true, locale))
                            div {
                                p { "Each thin line is somebody of the group; the filled mark is you. The line through your mark shows how much you may differ from one day to the next." }
                                ul { @for s in extremes(brief) { li { (crate::advice::evidence::capital(plain(s.quality))) ": " (place_words(s.z)) "." } } }
                            }
                        }
                    }
                }
                @if !over {
                    section {
                        h2 { "What to do" }
                        @match &brief.plan {
                            Some(plan) => { (plain_plan(plan, locale)) p { "Your next tests: " strong { (locale.day(plan.retest)) } "." @if brief.retest_waits().is_some() { " They need a new yes from whoever treats you; ask your coach first." } } },
                            None => { p { (locale.told(&plain_next(brief))) } },
                        }
                    }
                }
                @if let Some(outcome) = outcome {
                    section {
                        h2 { "What came of it" }
                        @for line in after::plain(outcome, locale) { p { (line) } }
                        @if over { p { "What you do next is for your coach to plan with you." } }
                    }
                }
                @if let Some(plan) = brief.plan.as_ref().filter(|_| over) { section { h2 { "What you did" } (plain_plan(plan, locale)) } }
                section class="stop" {
                    h2 { "Take care" }
                    @if !brief.closed_tests.is_empty() {
                        p { "Closed for you for now, as tests and in training: " (brief.closed_tests.iter().map(|t| test_in_a_sentence(&t.test)).collect::<Vec<_>>().join(", ")) ". Your coach knows why and who can open them." }
                    }
                    ul { li { "If something hurts more than a little, swells, gives way or locks: no jumping, and tell your coach. A doctor or physiotherapist decides." } @for line in PLAIN_STOPS { li { (line) } } }
                    p { "These numbers say how you jumped on these days. They are no diagnosis, and a good jump does not rule out an injury." }
                }
                (foot())
            }
        }
    }
}

/// How high the athlete jumped, the number that he asks for first.
fn height_line(brief: &Brief, locale: &Locale) -> Option<String> {
    let height = brief.figures.iter().find(|f| f.figure == "jump_height")?;
    let (unit, factor) = locale.unit(&height.unit);
    let days = if brief.days.len() == 1 { "on this day" } else { "on these days" };
    let value = locale.with_uncertainty(height.value * factor, height.error.unwrap_or(0.0) * factor);
    Some(format!("You jumped {value} {unit} high {days}, on average."))
}

fn plain_answer(brief: &Brief) -> String {
    match brief.answer {
        Answer::One(one) => format!("Most room to grow, compared with this group: {}.", plain(one)),
        Answer::Two(one, two) => format!("Most room to grow, compared with this group: {}, or {}.", plain(one), plain(two)),
        Answer::UniformlyLow => "You can grow in everything that was tested: getting stronger comes first.".into(),
        Answer::UniformlyHigh => "You are ahead of this group in everything that was tested: train for what your sport asks.".into(),
        Answer::Manner(_) => {
            "You jumped in another way than most of the group, deeper, shallower, faster or slower, so the numbers cannot be compared yet."
                .into()
        }
        Answer::NotEnough => "There is not yet enough to say what you should work on most.".into(),
    }
}

/// Few strips: what is named, and the ends.
fn plain_strips(brief: &Brief) -> Vec<Strip> {
    let ends: Vec<_> = extremes(brief).iter().map(|s| s.quality).collect();
    brief
        .standings
        .iter()
        .zip(strips(brief))
        .filter(|(s, strip)| strip.named || ends.contains(&s.quality))
        .map(|(s, strip)| Strip { name: crate::advice::evidence::capital(plain(s.quality)), ..strip })
        .collect()
}

/// The highest two and the lowest two.
fn extremes(brief: &Brief) -> Vec<&crate::advice::brief::Standing> {
    let mut order: Vec<_> = brief.standings.iter().collect();
    order.sort_by(|a, b| b.z.total_cmp(&a.z));
    let from = order.len().saturating_sub(2).max(2);
    order.iter().take(2).chain(order.iter().skip(from)).copied().collect()
}

fn plain_plan(plan: &Plan, locale: &Locale) -> Markup {
    let open = plan.rows.iter().filter(|r| r.closed.is_empty());
    let closed = plan.rows.iter().filter(|r| !r.closed.is_empty()).count();
    html! {
        p { "For " (plan.weeks) " weeks from " (locale.day(plan.starts)) ", " (plan.sessions) " times a week, at least two days apart." }
        table class="plan" {
            thead { tr { th scope="col" { "Exercise" } @for week in 1..=plan.weeks { th scope="col" class="num" { "Week " (week) } } } }
            tbody { @for row in open {
                @let e = exercise(&row.exercise);
                tr {
                    th scope="row" { (e.map_or_else(|| spoken(&row.exercise), |e| e.plain.to_owned())) span class="how" { (row.load) } }
                    @for (week, dose) in row.doses.iter().enumerate() { td class="num" { (week_words(row, plan, week, &dose_words(dose, e), locale)) } }
                }
            } }
        }
        @if let Some(from) = plan.rows.iter().filter_map(|r| r.waits.as_ref()).map(|w| w.from).min() {
            p { strong { "Not without a new yes: " } "what “waits” in the table, from " (locale.day(from)) " on, needs a new yes from whoever treats you. Ask your coach first." }
        }
        @if closed > 0 { p { (closed) @if closed == 1 { " exercise is" } @else { " exercises are" } " closed for you for now; your coach knows why and who can open it." } }
    }
}

/// Whether the block lies behind the tests.
fn is_over(outcome: Option<&Outcome>) -> bool {
    outcome.is_some_and(|o| !o.under_way)
}

fn plain_next(brief: &Brief) -> String {
    match brief.answer {
        Answer::UniformlyHigh => "Train for what your sport asks, and test again in some weeks.".into(),
        Answer::Manner(_) => "Do the jumps once more, each to the same depth and with the same instruction.".into(),
        // What would settle the question may be closed for this athlete.
        _ if !brief.closed_tests.is_empty() => "Your coach plans your next test with you: some tests are closed for you for now.".into(),
        _ => brief.next.first().map_or_else(
            || "Test again on another day.".to_owned(),
            |first| {
                let first = first.strip_prefix("If it matters: ").and_then(|f| f.split(". Else ").next()).unwrap_or(first);
                format!("Next: {}.", first.trim_end_matches('.'))
            },
        ),
    }
}
