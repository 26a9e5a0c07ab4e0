//! Test days: the list of them, and the sheet of one (athletes × tests × trials, and who is next).
use super::argument::closed_sentence;
use super::trial::{amount, listed_name};
use crate::advice::gates::{Closed, box_of_test, test_closed};
use crate::answer::Verdict;
use crate::charts::words::{load_words, test_name, verdict_word};
use crate::people::{Athlete, PlannedTest, Session, Side};
use crate::records::{Head, Kept};
use crate::screen::State;
use crate::screen::forms::TESTS;
use crate::screen::situation::Around;
use maud::{Markup, html};

/// The list of test days.
#[inline(never)]
pub fn days(state: &State) -> Markup {
    html! {
        h1 { "Test days" }
        section aria-labelledby="new-day" {
            h2 id="new-day" { "Open a test day" }
            form class="row" data-do="new-session" {
                label { "Day " input type="date" name="date" required value=(state.today); }
                label { "Place " input name="place" autocomplete="off" maxlength="80"; }
                button type="submit" { "Open" }
            }
            p class="hint" { "Athletes and tests of the last test day are taken over; change them on the sheet." }
        }
        @let all = state.days();
        @if !all.is_empty() {
            table id="days" {
                caption { "Earlier days" }
                thead { tr { th scope="col" { "Day" } th scope="col" { "Place" } th scope="col" class="num" { "Athletes" } th scope="col" class="num" { "Trials" } } }
                tbody {
                    @for s in all {
                        @let address = format!("session/{}", s.envelope.id);
                        tr {
                            th scope="row" { a href={ "#" (address) } data-do="go" data-id=(address) { (state.locale.day(s.body.date)) } }
                            td { (s.body.place) }
                            td class="num" { (s.body.athletes.len()) }
                            td class="num" { (state.heads.values().filter(|h| !h.removed && *h.session_id == *s.envelope.id).count()) }
                        }
                    }
                }
            }
        }
    }
}

/// One cell of the sheet.
struct Cell<'a> {
    trials: Vec<&'a Head>,
    missing: u32,
    /// What closes the test for this athlete today.
    closed: Vec<Closed>,
    /// Highest box of a test that starts from one, m.
    box_m: Option<f64>,
}

/// One row of the sheet.
struct Row<'a> {
    athlete: &'a Kept<Athlete>,
    cells: Vec<Cell<'a>>,
    others: Vec<&'a Head>,
    asked: bool,
}

fn side_letter(planned: &PlannedTest) -> Option<u8> {
    match planned.side {
        Some(Side::Left) => Some(b'l'),
        Some(Side::Right) => Some(b'r'),
        _ => None,
    }
}

fn rows<'a>(state: &'a State, id: &str, session: &Session) -> Vec<Row<'a>> {
    let of_day: Vec<&Head> = state.heads.values().filter(|h| !h.removed && *h.session_id == *id).collect();
    let around = Around::day(state, session.date, None);
    let row = |athlete_id: &String| {
        let athlete = state.athletes.get(athlete_id).filter(|a| !a.removed)?;
        let mut mine: Vec<&Head> = of_day.iter().copied().filter(|h| *h.athlete_id == **athlete_id).collect();
        mine.sort_by(|a, b| {
            a.number
                .cmp(&b.number)
                .then_with(|| a.added.cmp(&b.added))
                .then_with(|| a.file.cmp(&b.file))
                .then(a.start_s.total_cmp(&b.start_s))
        });
        let answers = state.answers(athlete_id, session.date);
        let situation = around.situation(state, athlete_id, &athlete.body, session.date);
        let cells = session.tests.iter().map(|planned| {
            let fits = |h: &&&Head| h.test == planned.test && side_letter(planned).is_none_or(|side| h.side == side);
            let trials: Vec<&Head> = mine.iter().filter(fits).copied().collect();
            let sound = trials.iter().filter(|h| h.verdict == Verdict::Sound).count();
            let word = TESTS.iter().find(|(kind, _)| *kind == planned.test).map_or("", |(_, word)| *word);
            let closed = test_closed(word, side_letter(planned).is_some(), &situation);
            let box_m = box_of_test(word, &situation);
            Cell { missing: planned.trials.saturating_sub(u32::try_from(sound).unwrap_or(u32::MAX)), trials, closed, box_m }
        });
        let cells: Vec<Cell> = cells.collect();
        let placed = |h: &Head| cells.iter().any(|c| c.trials.iter().any(|t| t.id == h.id));
        let others = mine.iter().copied().filter(|h| !placed(h)).collect();
        Some(Row { athlete, others, asked: answers.is_some(), cells })
    };
    session.athletes.iter().filter_map(row).collect()
}

/// The sheet of one day.
pub fn screen(state: &State, id: &str) -> Markup {
    let Some(session) = state.sessions.get(id).filter(|s| !s.removed) else {
        return html! { h1 { "Test days" } p { "That test day is not on this device." } };
    };
    let s = &session.body;
    let rows = rows(state, id, s);
    html! {
        h1 { "Test day " span class="date" { (state.locale.day(s.date)) } @if !s.place.is_empty() { ", " (s.place) } }
        @if !s.note.is_empty() { p class="quiet" { (s.note) } }
        (next_up(s, &rows))
        div class="actions no-print" {
            label class="button" for="file-input" { "Choose files" }
            label class="button" for="folder-input" { "Choose a folder" }
            @match &state.watching {
                Some(folder) => { span class="quiet" id="watching" { "Watching the folder " (folder) ": new files are read as they appear." } button type="button" data-do="unwatch" { "Stop watching" } },
                None => button type="button" data-do="watch" data-needs="folders" { "Watch a folder" },
            }
            button type="button" data-do="print" { "Print the sheet" }
        }
        @if state.working() { (super::start::files(state)) } @else { (super::names::panel(state)) }
        @if rows.is_empty() { p { "Nobody is expected yet: choose the athletes below." } }
        @else { (sheet(state, id, s, &rows)) }
        @if !state.jobs.is_empty() && !state.working() { (super::start::files(state)) }
        (athletes(state, id, s))
        (plan(id, s))
        (about(id, s))
    }
}

/// Who comes next, in one sentence.
fn next_up(session: &Session, rows: &[Row]) -> Markup {
    let next = rows.iter().find_map(|r| {
        let at = r.cells.iter().position(|c| c.missing > 0 && c.closed.is_empty())?;
        Some((r, session.tests.get(at)?, r.cells.get(at)?))
    });
    html! {
        p id="next-up" class="trust" {
            @match next {
                Some((row, planned, cell)) => {
                    strong { "Next: " (row.athlete.body.name) }
                    ", " (planned_name(planned).to_lowercase()) ", " (cell.missing) @if cell.missing == 1 { " sound trial" } @else { " sound trials" } " missing."
                    @if !row.asked { " Ask the questions first." }
                },
                None if rows.is_empty() => "Choose athletes and tests, then drop the first recording.",
                None if rows.iter().any(|r| r.cells.iter().any(|c| c.missing > 0)) => "What is still missing is closed today.",
                None => "Every planned trial of this day is here.",
            }
        }
    }
}

fn planned_name(planned: &PlannedTest) -> String {
    let side = match planned.side {
        Some(Side::Left) => ", left leg",
        Some(Side::Right) => ", right leg",
        _ => "",
    };
    format!("{}{side}", test_name(planned.test))
}

fn sheet(state: &State, id: &str, session: &Session, rows: &[Row]) -> Markup {
    let others = rows.iter().any(|r| !r.others.is_empty());
    html! {
        div class="wide" {
            table id="sheet" class="sheet" {
                caption class="sr" { "Main figure of each trial; trials to be repeated and missing ones in words" }
                thead { tr {
                    th scope="col" { "Athlete" }
                    @for planned in &session.tests { th scope="col" { (planned_name(planned)) ", " (planned.trials) @if planned.trials == 1 { " trial" } @else { " trials" } } }
                    @if others { th scope="col" { "Not planned" } }
                } }
                tbody {
                    @for row in rows {
                        @let address = format!("athlete/{}", row.athlete.envelope.id);
                        tr {
                            th scope="row" {
                                a href={ "#" (address) } data-do="go" data-id=(address) { (row.athlete.body.name) }
                                (questions(state, id, session, row))
                            }
                            @for (cell, planned) in row.cells.iter().zip(&session.tests) { (cell_view(state, cell, planned)) }
                            @if others { td data-test=[(!row.others.is_empty()).then_some("Not planned")] { @for t in &row.others { (unplanned(state, t)) } } }
                        }
                    }
                }
            }
        }
        p class="hint" { "The main figure of each trial (jump height, reactive strength index of drops and rebounds, peak force) with its ±, in their order. A trial that is doubtful or not usable says " em { "repeat" } " and does not count." }
    }
}

fn cell_view(state: &State, cell: &Cell, planned: &PlannedTest) -> Markup {
    html! {
        td data-test=(planned_name(planned)) {
            @for t in &cell.trials { span class="trial-done" { (mark(state, t)) (beside(state, t, planned.side.is_none())) } " " }
            @match (cell.missing, cell.closed.is_empty()) {
                (0, _) => {},
                (_, false) => span class="closed" { "Closed today. " (state.locale.told(&closed_sentence(&cell.closed))) },
                (n, true) => span class="missing" { (n) " missing" @if let Some(box_m) = cell.box_m { ", box at most " (state.locale.length(box_m, 0)) } },
            }
        }
    }
}

/// A trial of no planned test: nothing above it says which it is.
fn unplanned(state: &State, head: &Head) -> Markup {
    html! { span class="unplanned" { span class="quiet" { (listed_name(state, head)) " " } (mark(state, head)) } }
}

/// The load that a trial of a planned test was done with, and its leg where the column does not say it.
fn beside(state: &State, head: &Head, leg: bool) -> Markup {
    let load = head.load_kg();
    let leg = match head.side {
        b'l' if leg => "left",
        b'r' if leg => "right",
        _ => "",
    };
    html! {
        @if load > 0.0 || !leg.is_empty() {
            span class="quiet trial-with" { (leg) @if load > 0.0 { @if !leg.is_empty() { ", " } "+\u{a0}" (load_words(load, &state.locale)) } }
        }
    }
}

fn mark(state: &State, head: &Head) -> Markup {
    let value = amount(state, head);
    let sound = head.verdict == Verdict::Sound;
    html! {
        a class={ "trial-mark" @if !sound { " again" } } href={ "#" (head.id) } data-do="open" data-id=(head.id) aria-label={ (listed_name(state, head)) ", " (value.as_deref().unwrap_or("no figure")) ", " (verdict_word(head.verdict)) } {
            (value.as_deref().unwrap_or("–")) @if !sound { " repeat" }
        }
    }
}

/// The questions of the day, folded away once they are answered: three before the test that close tests, two that a reading
/// asks for, and what ends a session when it is seen.
fn questions(state: &State, id: &str, session: &Session, row: &Row) -> Markup {
    let athlete_id = &row.athlete.envelope.id;
    let answers = state.answers(athlete_id, session.date);
    html! {
        details class="questions no-print" id={ "questions-" (athlete_id) } {
            summary {
                @match answers {
                    Some(a) => {
                        "answers: pain " (a.pain) " of 10"
                        @if a.swelling { ", a swollen joint" } @if a.giving_way { ", a joint that gives way" } @if a.limited { ", limits by a clinician" }
                        @if a.fatigue { ", tired" } @if a.effort { ", effort in doubt" }
                        @if let Some(why) = a.ends_session() { "; session over: " (why) }
                    },
                    None => "questions before the test",
                }
            }
            form class="stack" data-do="questions" data-id={ (athlete_id) "|" (session.date) } data-session=(id) data-close="" {
                label { "Pain now, 0 none to 10 worst " input name="pain" type="number" min="0" max="10" required value=[answers.map(|a| a.pain)]; }
                label { input type="checkbox" name="swelling" checked[answers.is_some_and(|a| a.swelling)]; " a swollen joint" }
                label { input type="checkbox" name="giving_way" checked[answers.is_some_and(|a| a.giving_way)]; " a joint that gives way or locks" }
                label { input type="checkbox" name="limited" checked[answers.is_some_and(|a| a.limited)]; " a clinician has set limits" }
                label { input type="checkbox" name="fatigue" checked[answers.is_some_and(|a| a.fatigue)]; " tired: a match, a hard session or an illness in the last two days" }
                label { input type="checkbox" name="effort" checked[answers.is_some_and(|a| a.effort)]; " effort in doubt: not able or not willing to go all out" }
                fieldset {
                    legend { "Seen in the session: ends it for today" }
                    label { input type="checkbox" name="pain_rose" checked[answers.is_some_and(|a| a.pain_rose)]; " pain rose" }
                    label { input type="checkbox" name="swelling_came" checked[answers.is_some_and(|a| a.swelling_came)]; " a joint swelled" }
                    label { input type="checkbox" name="slowed" checked[answers.is_some_and(|a| a.slowed)]; " within a set the index fell by 10 % or contacts grew by 10 %" }
                }
                label { "Note " input name="note" autocomplete="off" maxlength="200" value=[answers.map(|a| a.note.as_str())]; }
                button type="submit" { "Save the answers" }
            }
        }
    }
}

fn athletes(state: &State, id: &str, session: &Session) -> Markup {
    html! {
        // Another key once somebody is chosen: what opened by itself closes by itself.
        details id=(if session.athletes.is_empty() { "choose-first-athletes" } else { "choose-athletes" }) class="no-print" open[session.athletes.is_empty()] {
            summary { "Athletes of this day: " (session.athletes.len()) }
            form class="stack" data-do="session-athletes" data-id=(id) data-clear="names" data-close="" {
                @let squad = state.squad();
                @if !squad.is_empty() {
                    fieldset class="columns" {
                        legend { "Who is expected" }
                        @for a in squad {
                            label { input type="checkbox" name="athlete" value=(a.envelope.id) checked[session.athletes.contains(&a.envelope.id)]; " " (a.body.name) }
                        }
                    }
                }
                label for="day-names" { "New names or codes, one a line" }
                textarea id="day-names" name="names" rows="3" autocomplete="off" {}
                button type="submit" { "Save the athletes" }
            }
        }
    }
}

fn plan(id: &str, session: &Session) -> Markup {
    let planned = |word: &str, side: Option<Side>| {
        let kind = TESTS.iter().find(|(_, w)| *w == word).map(|(k, _)| *k);
        session.tests.iter().find(|t| Some(t.test) == kind && t.side == side).map(|t| t.trials)
    };
    html! {
        details id="choose-tests" class="no-print" {
            summary { "Tests of this day: " (session.tests.iter().map(|t| format!("{} × {}", t.trials, planned_name(t).to_lowercase())).collect::<Vec<_>>().join("; ")) }
            form class="stack" data-do="session-tests" data-id=(id) {
                table class="readings" {
                    caption { "Sound trials wanted of each athlete" }
                    thead { tr { th scope="col" { "Test" } th scope="col" { "Both legs" } th scope="col" { "Left" } th scope="col" { "Right" } } }
                    tbody {
                        @for (test, word) in TESTS {
                            tr {
                                th scope="row" { (test_name(test)) }
                                @for (name, side) in [("both", None), ("left", Some(Side::Left)), ("right", Some(Side::Right))] {
                                    td { input type="number" min="0" max="20" name={ (word) ":" (name) } value=[planned(word, side)] aria-label={ (test_name(test)) ", " (name) }; }
                                }
                            }
                        }
                    }
                }
                button type="submit" { "Save the plan" }
            }
        }
    }
}

fn about(id: &str, session: &Session) -> Markup {
    html! {
        details id="about-day" class="no-print" {
            summary { "Day, place and note" }
            form class="stack" data-do="session" data-id=(id) {
                label { "Day " input type="date" name="date" required value=(session.date); }
                label { "Place " input name="place" autocomplete="off" maxlength="80" value=(session.place); }
                label { "Note " input name="note" autocomplete="off" maxlength="400" value=(session.note); }
                button type="submit" { "Save" }
            }
            p { button type="button" data-do="remove-session" data-id=(id) { "Remove this test day" } }
        }
    }
}
