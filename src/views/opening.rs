//! The first sentence of a trial: what it was and its main figure; then what else a coach asks first of this kind.
//! What is said of which kind is a table of data.
use super::doubts::{Doubt, marks};
use crate::answer::{Figure, TestKind, Trial, Verdict};
use crate::charts::number::Locale;
use crate::charts::words::trial_name;
use crate::movement::kinds::squat_jump::HIDDEN_DIP_M;
use crate::recording::Letters as _;
use maud::{Markup, html};

/// A figure and the words around it; `{}` is the value with its ± and unit.
struct Says {
    id: &'static str,
    words: &'static str,
    /// What comes before the reason where the figure is withheld; empty: then nothing is said.
    without: &'static str,
}

const fn says(id: &'static str, words: &'static str) -> Says {
    Says { id, words, without: "" }
}

/// What is said of a kind.
struct Opening {
    test: TestKind,
    /// The main figure; where it is withheld, the next.
    main: &'static [Says],
    /// Clauses of the sentence after it.
    more: &'static [Says],
}

const OPENINGS: &[Opening] = &[
    Opening {
        test: TestKind::CountermovementJump,
        main: &[says("jump_height", "{} high"), says("jump_height_flight_time", "{} high (from flight time)")],
        more: &[says("countermovement_depth", "went {} deep"), says("time_to_take_off", "took {} to take-off")],
    },
    Opening {
        test: TestKind::SquatJump,
        main: &[says("jump_height", "{} high"), says("jump_height_flight_time", "{} high (from flight time)")],
        more: &[says("propulsion_duration", "pushed for {}"), says("mean_propulsion_force_per_kg", "with {} on average")],
    },
    Opening {
        test: TestKind::DropJump,
        main: &[
            says("reactive_strength_index", "reactive strength index {}"),
            says("jump_height", "{} high"),
            says("jump_height_flight_time", "{} high (from flight time)"),
        ],
        more: &[
            says("contact_time", "on the plates for {}"),
            says("jump_height", "jumped {} high"),
            Says { id: "drop_height", words: "fell {}", without: "the drop is not known: " },
        ],
    },
    Opening {
        test: TestKind::CountermovementReboundJump,
        main: &[says("jump_height", "{} high"), says("jump_height_flight_time", "{} high (from flight time)")],
        more: &[
            says("rebound_contact_time", "on the plates for {}"),
            says("rebound_jump_height", "rebounded {} high"),
            says("rebound_reactive_strength_index", "reactive strength index of the rebound {}"),
        ],
    },
    Opening {
        test: TestKind::DropLanding,
        main: &[says("peak_landing_force_per_kg", "peak force {}"), says("peak_landing_force", "peak force {}")],
        more: &[
            Says { id: "time_to_stabilisation", words: "steady after {}", without: "time to stabilisation not given: " },
            says("drop_height", "fell {}"),
        ],
    },
    Opening {
        test: TestKind::ReboundJumps,
        main: &[
            says("mean_reactive_strength_index", "mean reactive strength index {}"),
            says("best_reactive_strength_index", "best reactive strength index {}"),
        ],
        more: &[
            Says { id: "mean_contact_time", words: "contact {}", without: "no mean: " },
            says("mean_rebound_height", "{} high (from flight time)"),
        ],
    },
    Opening {
        test: TestKind::Isometric,
        main: &[says("peak_force", "net peak {}")],
        more: &[says("force_at_100_ms", "{} after 100 ms"), says("peak_rate_of_force_development", "steepest rise {}")],
    },
    Opening {
        test: TestKind::QuietStanding,
        main: &[says("standing_weight", "weight {}")],
        more: &[says("standing_force_spread", "force varied by {} (standard deviation)")],
    },
];

fn opening(test: TestKind) -> Option<&'static Opening> {
    OPENINGS.iter().find(|o| o.test == test)
}

/// A centimetre between two heights of one jump: less than that nobody acts on.
const HEIGHTS_APART_M: f64 = 0.01;

/// How far flight time makes the jump another height than velocity does, where that is a centimetre or more and more than
/// both their uncertainties (k = 2) explain; the cause is a posture's, for a fault of weighing moves the trial's verdict.
pub fn by_flight_time(trial: &Trial, locale: &Locale) -> Option<String> {
    let height = |id: &str| trial.figures.get(id).and_then(|f| Some((f.value?, f.u.unwrap_or(0.0))));
    let ((flight_m, a), (velocity_m, b)) = (height("jump_height_flight_time")?, height("jump_height")?);
    let apart_m = flight_m - velocity_m;
    (apart_m.abs() >= HEIGHTS_APART_M && apart_m.abs() > 2.0 * (a * a + b * b).sqrt()).then(|| {
        let (more, posture) = if apart_m > 0.0 { ("more", "legs bent at landing") } else { ("less", "landed taller than at take-off") };
        format!("By flight time the jump is {} {more}: {posture}.", locale.length(apart_m.abs(), 1))
    })
}

/// Ids of what is said first of a kind, the main figure first: what a set of its trials is compared by.
pub fn figures_of(test: TestKind) -> Vec<&'static str> {
    let mut ids: Vec<&'static str> = Vec::new();
    for s in opening(test).into_iter().flat_map(|o| o.main.iter().take(1).chain(o.more)) {
        if !ids.contains(&s.id) {
            ids.push(s.id);
        }
    }
    ids
}

/// The main figure of a trial: the first of its kind's list that has a value.
fn main(trial: &Trial) -> Option<(&'static Says, &Figure)> {
    let given = |s: &'static Says| trial.figures.get(s.id).filter(|f| f.value.is_some_and(f64::is_finite)).map(|f| (s, f));
    opening(trial.test)?.main.iter().find_map(given)
}

/// A figure with its ± and unit, kept on one line.
fn amount(figure: &Figure, locale: &Locale) -> String {
    let (unit, factor) = locale.unit(&figure.unit);
    let number = locale.with_uncertainty(figure.value.unwrap_or(f64::NAN) * factor, figure.u.unwrap_or(0.0) * factor);
    format!("{number} {unit}").trim_end().replace(' ', "\u{a0}")
}

/// Whether a figure is the one the headline gives.
pub fn is_main(trial: &Trial, id: &str) -> bool {
    main(trial).is_some_and(|(says, _)| says.id == id)
}

/// What it was and its main figure.
pub fn headline(trial: &Trial, locale: &Locale) -> String {
    let name = trial_name(trial, locale);
    let Some((says, figure)) = main(trial) else { return name };
    format!("{name}, {}{}", says.words.replace("{}", &amount(figure, locale)), aside(trial, says.id, locale))
}

/// The headline with the marks of the doubts that touch its figure.
pub fn head(trial: &Trial, doubts: &[Doubt<'_>], locale: &Locale) -> Markup {
    html! {
        h1 { (headline(trial, locale)) @if let Some((says, _)) = main(trial) { (marks(doubts, says.id)) } }
        (more(trial, doubts, locale))
    }
}

/// What the figure's number needs beside it to be understood.
fn aside(trial: &Trial, id: &str, locale: &Locale) -> String {
    let source = trial.height_source.as_deref().map(|source| source.replace('_', " ").replace("take off", "take-off"));
    match (id, source, trial.drop.as_ref().and_then(|d| d.box_m).filter(|b| b.is_finite())) {
        ("reactive_strength_index" | "rebound_reactive_strength_index", Some(source), _) => format!(" (height from {source})"),
        ("drop_height", _, Some(box_m)) => format!(" from a box of {}", locale.length(box_m, 0)),
        _ => String::new(),
    }
}

/// The sentence after the headline: its clauses, what was counted, and what was looked for and not found.
fn more(trial: &Trial, doubts: &[Doubt<'_>], locale: &Locale) -> Markup {
    let Some(opening) = opening(trial.test) else { return html! {} };
    let clause = |s: &Says| -> Option<String> {
        let figure = trial.figures.get(s.id)?;
        if figure.value.is_some_and(f64::is_finite) {
            return Some(format!("{}{}", s.words.replace("{}", &amount(figure, locale)), aside(trial, s.id, locale)));
        }
        let why = figure.why.as_deref().filter(|_| !s.without.is_empty() && trial.verdict != Verdict::Unusable)?;
        Some(format!("{}{why}", s.without))
    };
    let clauses: Vec<(String, &str)> =
        opening.more.iter().filter(|s| !is_main(trial, s.id)).filter_map(|s| Some((clause(s)?, s.id))).collect();
    html! {
        @if !clauses.is_empty() {
            p id="facts" class="facts" {
                @for (i, (text, id)) in clauses.iter().enumerate() {
                    @if i == 0 { (capital(text)) } @else { "; " (text) }
                    (marks(doubts, id))
                }
                "."
                @if let Some(text) = counted(trial) { " " (text) }
                @if no_dip(trial) { " No dip of more than " (locale.length(HIDDEN_DIP_M, 0)) " before the push." }
            }
        }
    }
}

/// How many contacts the means of a set are made of.
fn counted(trial: &Trial) -> Option<String> {
    let (all, counted) = (trial.contacts.len(), trial.contacts.iter().filter(|c| c.counted).count());
    let one = |n: usize| if n == 1 { "contact" } else { "contacts" };
    (all > 0).then(|| match counted {
        0 => format!("None of {all} {} counts.", one(all)),
        n if n == all => format!("Means of all {all} {}.", one(all)),
        n => format!("Means of the {n} best of {all} contacts; the opening jump is not counted."),
    })
}

/// Whether a jump from a held squat was looked at for a dip (which needs its velocity) and none was found.
fn no_dip(trial: &Trial) -> bool {
    let seen = trial.figures.get("jump_height").is_some_and(|f| f.value.is_some_and(f64::is_finite));
    seen && trial.test == TestKind::SquatJump && trial.verdict != Verdict::Unusable && !trial.notices.iter().any(|n| n.code.contains("dip"))
}

/// The text with its first letter as a capital.
fn capital(text: &str) -> String {
    text.capital()
}
