//! An athlete's study on the page, in the order of an argument: standing, manner and contrasts, what changed, left and
//! right, the answer, the block, and handing it over.
use super::block::editor;
use super::change::{ChangeView, change_view};
use super::judged::judged_by;
use super::legs::{LegsView, legs_view};
use super::repeatability::repeatability_view;
use super::report::{Reader, body_after, file_after, title};
use super::say::{figure_name, unit};
use super::standing::{FirstView, first_view};
use super::trial::drawing;
use super::{after, argument, references, tables};
use crate::advice::blocks::choices;
use crate::advice::brief::Brief;
use crate::advice::qualities::{QUALITIES, QualityId, name};
use crate::charts::bands::Bands;
use crate::charts::history::History;
use crate::charts::side_noise::SideNoise;
use crate::charts::trace;
use crate::people::{Athlete, Sex};
use crate::screen::references::of_test as references_of;
use crate::screen::study::{CMJ, Study, side_name};
use crate::screen::tables::overlay_shown;
use crate::screen::{Pair, Paper, Screen, State, plan, situation};
use maud::{Markup, html};

/// Everything the figures say about an athlete; `a` is his record.
pub fn sections(state: &State, id: &str, a: &Athlete) -> Markup {
    let Some(study) = state.study.as_deref().filter(|s| s.athlete == id) else {
        return html! { @if state.pool.is_none() { p class="quiet" { "Reading the squad’s figures …" } } };
    };
    let (locale, width) = (&state.locale, (state.width - 32.0).clamp(260.0, 1100.0));
    let words = locale.days_in(&study.group.words());
    let published = references_of(state, CMJ);
    let sample = state.sample.as_deref().filter(|s| s.0.athlete_id.as_deref() == Some(id));
    let trace = html! { @if let Some((saved, open)) = sample {
        (trace(&drawing(saved, open, &[], width, false, locale), locale))
        p class="hint" { "The latest countermovement jump, " (saved.file) ": " a href={ "#" (saved.envelope.id) } data-do="open" data-id=(saved.envelope.id) { "open it" } "." }
    } };
    let view = FirstView { name: &a.name, group: &words, trace, standings: &study.standings, references: &published };
    html! {
        (group_form(state, study))
        (first_view(&view, width, locale))
        (references::section(state))
        (argument::contrasts(&study.brief))
        (argument::answer(&study.brief, locale))
        (argument::gates(&study.brief, locale))
        (block(state, id, a, study))
        (argument::next(&study.brief, locale))
        @if let Some(outcome) = &study.outcome { (after::screen(outcome, locale)) }
        (changes(state, a, study, width))
        (legs(state, study, width))
        details class="numbers" id="repeats" {
            summary { "How far figures repeat from day to day" }
            (repeatability_view(&study.repeatability, locale))
        }
        (hand_over(state, id))
    }
}

fn group_form(state: &State, study: &Study) -> Markup {
    let group = &study.group;
    html! {
        details class="no-print" id="group-choice" {
            summary { "Compared with: " (state.locale.days_in(&group.words())) }
            form class="row" data-do="group" data-id=(study.athlete) {
                label { "Sex " select name="sex" {
                    option value="" { "everybody" }
                    option value="female" selected[group.sex == Some(Sex::Female)] { "women" }
                    option value="male" selected[group.sex == Some(Sex::Male)] { "men" }
                } }
                label { "Sport " input name="sport" autocomplete="off" maxlength="80" value=[group.sport.as_deref()]; }
                label { "Labels, all of them (commas between) " input name="label" autocomplete="off" maxlength="200" value=(group.labels.join(", ")); }
                label { "Age from " input name="age_from" inputmode="numeric" maxlength="3" value=[group.age.map(|a| a.0)]; }
                label { "to " input name="age_to" inputmode="numeric" maxlength="3" value=[group.age.map(|a| a.1)]; }
                label { "Tested from " input name="tested_from" type="date" value=[state.choice.tested.0]; }
                label { "up to " input name="tested_to" type="date" value=(group.on); }
                button type="submit" { "Compare with these" }
            }
            p class="hint" { "Only the same test under the same protocol and method counts, himself left out. Of everybody else the latest value on or before the last day chosen counts, none from before the first (twelve months where none is chosen); the athlete stands there with the latest value of all. Invented athletes stand among themselves." @if state.choice.group.is_none() { " Now: everybody tested in the twelve months before." } }
        }
    }
}

fn changes(state: &State, a: &Athlete, study: &Study, width: f64) -> Markup {
    let histories: Vec<History<'_>> = study
        .charts
        .iter()
        .map(|(id, chart)| History { name: figure_name(id), unit: unit(id, &state.locale), chart, side: None })
        .collect();
    let overlay = overlay_shown(state, study);
    let view = ChangeView {
        name: &a.name,
        sorted: &study.sorted,
        histories: &histories,
        by_phase: overlay.and_then(|o| o.by_phase.as_ref()).map(laid),
        in_time: overlay.and_then(|o| o.in_time.as_ref()).map(laid),
        days_wanted: study.days_wanted,
        // Once is enough: not again where it stands beside what came of the block.
        gravity: study.gravity.filter(|_| study.outcome.as_ref().is_none_or(|o| o.gravity.is_none())),
    };
    let chosen = |day: &crate::people::Date, side: bool| {
        let change = study.sorted.targets.first().or(study.sorted.also_seen.first().map(|s| &s.change));
        change.is_some_and(|c| if side { c.after.days.contains(day) } else { c.before.days.contains(day) })
    };
    html! {
        (change_view(&view, width, &state.locale))
        @if study.days.len() > 1 {
            form class="row no-print" data-do="compare-days" data-id=(study.athlete) {
                label { "Compare " select name="before" multiple size=(study.days.len().min(4)) { @for day in &study.days { option value=(day) selected[chosen(day, false)] { (state.locale.day(*day)) } } } }
                label { "with " select name="after" multiple size=(study.days.len().min(4)) { @for day in study.days.iter().rev() { option value=(day) selected[chosen(day, true)] { (state.locale.day(*day)) } } } }
                @for place in 0..2 {
                    label { @if place == 0 { "judging " } @else { "and " } select name="target" {
                        option value="" { "nothing" }
                        @for figure in judged(study) {
                            option value=(figure) selected[study.sorted.targets.get(place).is_some_and(|t| t.figure == figure)] { (figure_name(figure)) }
                        }
                    } }
                }
                button type="submit" { "Compare" }
            }
            p class="hint no-print" { "Days may be several a side (hold Ctrl, or Cmd on a Mac); their means are compared. Comparing also lays the force of both days’ countermovement jumps over each other." }
        }
    }
}

fn laid(pair: &Pair) -> Bands<'_> {
    Bands { unit: "N", x: &pair.x, phases: &pair.phases, before: &pair.before, after: &pair.after, difference: pair.difference.as_ref() }
}

/// Figures that may be judged: those on show, then what else speaks of a quality in the athlete's tests.
fn judged(study: &Study) -> Vec<&str> {
    let mut figures: Vec<&str> = study.standings.iter().map(|s| s.0.figure.as_str()).collect();
    for evidence in QUALITIES.iter().flat_map(|q| q.evidence) {
        let his = study.tables.iter().any(|t| t.figure == evidence.figure && t.test == evidence.test);
        if his && !figures.contains(&evidence.figure) {
            figures.push(evidence.figure);
        }
    }
    figures
}

fn legs(state: &State, study: &Study, width: f64) -> Markup {
    let differences: Vec<_> = study
        .sides
        .iter()
        .map(|(id, _, d, directions)| (SideNoise { name: side_name(id).to_owned(), difference: *d }, *directions))
        .collect();
    let kappas: Vec<_> = study.kappas.iter().map(|(id, k)| (side_name(id).to_owned(), *k)).collect();
    let view = LegsView {
        figure: "peak force in propulsion",
        unit: ("N/kg".into(), 1.0),
        legs: &study.legs,
        differences: &differences,
        kappas: &kappas,
        between: study.kappa_between,
    };
    html! { @if !study.legs.is_empty() || !differences.is_empty() { (legs_view(&view, width, &state.locale)) } }
}

fn block(state: &State, id: &str, a: &Athlete, study: &Study) -> Markup {
    let situation = situation::today(state, id, a);
    html! {
        @match &study.block {
            Some((key, plan)) => {
                (editor(plan, &plan.view(&situation), &choices(&plan.ahead(&situation)), &study.aims, state.refused.as_ref(), &state.locale))
                p class="actions no-print" { button type="button" data-do="block-remove" data-id=(key) { "Remove the block" } }
            }
            None => section id="block" class="no-print" aria-labelledby="block-head" {
                h2 id="block-head" { "Block" }
                p class="actions" { button type="button" data-do="block-propose" data-id=(id) { "Propose a block from this answer" } }
                @if let Some(refused) = &state.refused { p class="trust doubtful" role="alert" { "No block made. " (state.locale.days_in(&refused.reason)) } }
                form class="stack" data-do="block-plan" data-id=(id) {
                    fieldset class="columns" {
                        legend { "Or choose what it aims at, at most two; nothing ticked is general strength" }
                        @for id in QUALITIES.iter().map(|q| q.id).chain([QualityId::LeftRight]) {
                            label {
                                input type="checkbox" name="aim" value=(word(id)); " " (name(id))
                                @if id == QualityId::LeftRight { span class="hint judged" { (study.left_right.sentence) } }
                                @match study.aims.iter().find(|a| a.quality == id) {
                                    Some(aim) => span class="hint judged" { (judged_by(aim, &state.locale)) },
                                    None if id == QualityId::LeftRight => span class="hint judged" { (LEGS_FIRST) },
                                    None => {}
                                }
                            }
                        }
                    }
                    p class="hint" { "Worthwhile: a fifth of the spread between athletes, from ten of them on. The retest shows: the smallest true change that as many trials as on the last day find in 80 of 100 cases. Where that is more than is worthwhile, a change that is worth the while may stay unseen: more trials, or a second day before and after, narrow it." }
                    button type="submit" { "Make this block" }
                }
                p class="hint" { "Suggestions for a coach to judge, not a prescription. Rows that a gate closes stay closed until a named person allows them." }
            }
        }
    }
}

/// Why left against right has no target before each leg was tested.
const LEGS_FIRST: &str = "No target yet: it is judged by the lower leg’s own jumps or pushes, for a difference also shrinks when the better leg gets worse. Test each leg alone.";

fn word(id: QualityId) -> String {
    serde_json::to_value(id).ok().and_then(|v| v.as_str().map(str::to_owned)).unwrap_or_default()
}

fn hand_over(state: &State, id: &str) -> Markup {
    html! {
        section id="hand-over" class="no-print" aria-labelledby="hand-over-head" {
            h2 id="hand-over-head" { "Hand it over" }
            p class="actions" {
                a class="button" href={ "#coach-report/" (id) } data-do="go" data-id={ "coach-report/" (id) } { "Coach’s report" }
                a class="button" href={ "#report/" (id) } data-do="go" data-id={ "report/" (id) } { "Athlete’s page" }
                button type="button" data-do="report-file" data-id="coach" { "Coach’s report as a file" }
                button type="button" data-do="report-file" data-id="athlete" { "Athlete’s page as a file" }
            }
            form class="row" data-do="paper" data-now="" {
                label { "Paper of the files " select name="paper" autocomplete="off" {
                    @for (paper, word, name) in Paper::ALL { option value=(word) selected[paper == state.paper] { (name) } }
                } }
            }
            form class="stack" data-do="link" data-id=(id) {
                fieldset {
                    legend { "A link that holds the summary" }
                    label { input type="checkbox" name="name" checked; " with the name" }
                    label { input type="checkbox" name="injury_notes"; " with why gates are closed, and who opened them" }
                    label { input type="checkbox" name="coach_words"; " with training history and notes" }
                }
                @if state.study.as_ref().is_some_and(|s| s.outcome.is_some()) {
                    p class="hint" { "The link holds the block, and not what came of it: before and after stand in the reports." }
                }
                button type="submit" { "Make the link" }
            }
            @match &state.link {
                Some(Ok(text)) => {
                    p { label for="link-text" { "The link, " (text.len()) " letters" } }
                    input id="link-text" class="wide" readonly value={ (state.base) "#" (text) };
                    p class="trust doubtful" { "Whoever has this link has the data in it: nothing is uploaded, and nothing can be called back. Send it only to the one it is meant for." }
                }
                Some(Err(why)) => p class="trust doubtful" role="alert" { (why) },
                None => {}
            }
            (tables::of_athlete(id, state.study.as_deref().is_some_and(|s| overlay_shown(state, s).is_some())))
        }
    }
}

/// A report on the page, to look at and print.
#[inline(never)]
pub fn report(state: &State) -> Markup {
    let reader = if matches!(state.screen, Screen::Report(_, true)) { Reader::Coach } else { Reader::Athlete };
    let back = match &state.screen {
        Screen::Report(id, _) => format!("athlete/{id}"),
        _ => String::new(),
    };
    html! {
        nav class="trials no-print" aria-label="Report" {
            a href={ "#" (back) } data-do="go" data-id=(back) { "Back" }
            button type="button" data-do="print" { "Print" }
        }
        @match plan::brief(state) {
            Some(brief) => div class="report-page" { (body_after(brief, outcome(state), reader, &state.locale)) },
            None => p class="quiet" { "Reading the squad’s figures …" },
        }
    }
}

/// A summary that came as a link, beside whatever is on this device and apart from it.
#[inline(never)]
pub fn shared(state: &State) -> Markup {
    html! {
        @match &state.shared {
            Some(Ok(brief)) => {
                p class="trust doubtful" { "This came as a link. It is shown only, and nothing of it is saved here; your own recordings are as they were. Keep the link to see it again." }
                h1 { @if brief.name.is_empty() { "An athlete" } @else { (brief.name) } }
                p class="about" { (argument::days(brief, &state.locale)) }
                (argument::screen(brief, &state.locale, (state.width - 32.0).clamp(260.0, 1100.0)))
                @if let Some(plan) = &brief.plan { (super::block::sheet(plan, &state.locale)) (super::block::cautions()) }
            }
            Some(Err(why)) => { h1 { "A link" } p class="trust doubtful" role="alert" { (why) } }
            None => { h1 { "A link" } p { "The summary is no longer here. Open the link again." } }
        }
        p { a href="#" data-do="home" { "To your own recordings" } }
    }
}

/// The report as a file: name and text.
pub fn report_file(state: &State, coach: bool) -> Option<(String, String)> {
    let brief: &Brief = plan::brief(state)?;
    let (reader, word) = if coach { (Reader::Coach, "coach") } else { (Reader::Athlete, "athlete") };
    let plain = |c: char| if c.is_alphanumeric() { c } else { '-' };
    let stem: String = title(brief).to_lowercase().chars().map(plain).take(60).collect();
    let stem = stem.split('-').filter(|part| !part.is_empty()).collect::<Vec<_>>().join("-");
    Some((format!("{stem}-{word}.html"), file_after(brief, outcome(state), reader, state.paper, &state.locale)))
}

fn outcome(state: &State) -> Option<&crate::advice::after::Outcome> {
    state.study.as_ref()?.outcome.as_ref()
}
