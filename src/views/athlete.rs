//! One athlete: what the coach keeps of him, and his sessions with their trials.
use super::trial::{amount, amount_of};
use crate::advice::gates::{CONDITIONS, GROWTH_PAIN};
use crate::charts::words::{test_name, verdict_word};
use crate::people::{Athlete, ClearedClass, Date, InjuryKind, Sex, Side};
use crate::records::Head;
use crate::screen::State;
use maud::{Markup, html};

/// The athlete's screen.
pub fn screen(state: &State, id: &str) -> Markup {
    let Some(athlete) = state.athletes.get(id).filter(|a| !a.removed) else {
        return html! { h1 { "Athletes" } p { "That athlete is not on this device." } };
    };
    let a = &athlete.body;
    let trials = state.trials_of(id);
    html! {
        article id={ "athlete-" (id) } class="athlete" {
            h1 { (a.name) }
            p class="about" { (about(state, a, &trials)) }
            (answered(state, id))
            @if !state.working() { (super::names::doubts(state)) }
            @if state.jobs.iter().any(|j| j.athlete.as_deref() == Some(id)) { (super::start::files(state)) }
            (super::study::sections(state, id, a))
            (sessions(state, &trials))
            (record(id, a))
            (body_mass(state, id, a))
            (injuries(state, id, a))
            (clearances(state, id, a))
            (erasing(state, id, a, trials.len()))
        }
    }
}

/// What the latest answers close; of another day than today, that nobody has asked since.
fn answered(state: &State, id: &str) -> Markup {
    let Some(answers) = state.last_answers(id, state.today) else { return html! {} };
    let today = answers.date == state.today;
    let closes = if today { answers.closes_jumps() } else { answers.still_closes() };
    html! {
        @match (closes, answers.ends_session().filter(|_| today)) {
            (Some(why), _) if today => p class="trust doubtful" { strong { "No jumps today: " (why) "." } " A clinician decides what is allowed." },
            (Some(why), _) => p class="trust doubtful" { strong { "No jumps: " (why) ", as answered on " (state.locale.day(answers.date)) "." } " Not asked today. New answers or a clinician’s clearance open them." },
            (None, Some(why)) => p class="trust doubtful" { strong { "The session is over today: " (why) "." } @if answers.in_pain() { " A clinician decides what is allowed." } },
            (None, None) => {},
        }
    }
}

fn about(state: &State, a: &Athlete, trials: &[&Head]) -> String {
    let mut parts = Vec::new();
    if let Some(age) = a.age_on(state.today) {
        parts.push(format!("{age} years this year"));
    }
    parts.extend(a.sport.clone());
    if let Some(kg) = a.body_mass_on(state.today) {
        parts.push(state.locale.mass(kg, 1));
    }
    parts.extend(a.labels.iter().cloned());
    parts.push(match trials.len() {
        0 => "no trials yet".into(),
        1 => "1 trial".into(),
        n => format!("{n} trials"),
    });
    if a.age_on(state.today).is_some_and(|age| age < 18) && a.consent.is_none() {
        parts.push("a minor, and no guardian’s consent is noted".into());
    }
    parts.join(" · ")
}

fn sessions(state: &State, trials: &[&Head]) -> Markup {
    html! {
        section id="athlete-sessions" aria-labelledby="sessions-head" {
            h2 id="sessions-head" { "Sessions and trials" }
            @if trials.is_empty() { p { "Nothing yet. Drop a recording, or file one under this name." } }
            @for day in trials.chunk_by(|a, b| state.day_of(a) == state.day_of(b)) {
                @if let Some(first) = day.first() { (one_day(state, first, day)) }
            }
        }
    }
}

fn one_day(state: &State, first: &Head, day: &[&Head]) -> Markup {
    let date = state.day_of(first);
    let (unit, factor) = state.locale.unit("kg");
    let place = state.sessions.get(&*first.session_id).map(|s| s.body.place.as_str()).unwrap_or_default();
    html! {
        table class="saved" {
            caption { @if let Some(date) = date { (state.locale.day(date)) } @else { "No date" } @if !place.is_empty() { ", " (place) } }
            thead { tr { th scope="col" { "Test" } th scope="col" class="num" { "Main figure" } th scope="col" { "Verdict" } th scope="col" { "File" } th scope="col" class="num" { "Body mass, " (unit) } th { span class="sr" { "Remove" } } } }
            tbody {
                @for t in day {
                    tr {
                        th scope="row" { a href={ "#" (t.id) } data-do="open" data-id=(t.id) { (test_name(t.test)) } @if t.number > 0 { ", " (t.number) } span class="quiet" { (amount_of(t)) } }
                        td class="num" { (amount(state, t).unwrap_or_else(|| "–".into())) }
                        td { (verdict_word(t.verdict)) @if t.edited { ", events moved by hand" } }
                        td class="file" { (t.file) }
                        td class="num date" { (state.locale.fixed(t.body_mass_kg * factor, 1)) }
                        td { button type="button" class="link" data-do="remove" data-id=(t.id) aria-label={ "Remove " (test_name(t.test)) ", " (t.file) } { "Remove" } }
                    }
                }
            }
        }
    }
}

/// What the form offers: the rows that close a gate, and growth-spurt pain, which has a gate of its own.
fn conditions() -> impl Iterator<Item = (&'static str, &'static str)> {
    CONDITIONS.iter().copied().chain([(GROWTH_PAIN, "growth-spurt pain")])
}

fn record(id: &str, a: &Athlete) -> Markup {
    let consent = a.consent.as_ref();
    html! {
        section id="record" class="no-print" aria-labelledby="record-head" {
            h2 id="record-head" { "Record" }
            p class="hint" { "Only the name is needed, and it may be a code. Fill in the rest only where you use it: without year of birth, training or body mass, drops and plans are limited as for somebody young, new to training or heavy." }
            form class="stack" data-do="athlete" data-id=(id) {
                label { "Name or code " input id="athlete-name" name="name" autocomplete="off" maxlength="80" required value=(a.name); }
                label { "Sex " select name="sex" {
                    option value="" { "not said" }
                    option value="female" selected[a.sex == Some(Sex::Female)] { "female" }
                    option value="male" selected[a.sex == Some(Sex::Male)] { "male" }
                } }
                label { "Year of birth " input name="birth_year" inputmode="numeric" autocomplete="off" maxlength="4" value=[a.birth_year]; }
                label { "Sport " input name="sport" autocomplete="off" maxlength="80" value=[a.sport.as_deref()]; }
                label { "Labels, separated by commas " input name="labels" autocomplete="off" maxlength="200" value=(a.labels.join(", ")); }
                label { "Years of strength or jump training " input name="training_years" inputmode="decimal" autocomplete="off" value=[a.training_years]; }
                label { "What was trained " textarea name="training_history" rows="2" maxlength="1000" { (a.training_history) } }
                label { "Guardian’s consent, by " input name="consent_by" autocomplete="off" maxlength="80" value=[consent.map(|c| c.by.as_str())]; }
                label { "on " input name="consent_date" type="date" value=[consent.map(|c| c.date)]; }
                fieldset class="columns" {
                    legend { "Told of (these close jumps and maximal pulls until a clinician allows them)" }
                    @for (word, name) in conditions() {
                        @let told = a.conditions.iter().any(|c| c == word);
                        label { input type="checkbox" name="condition" value=(word) checked[told]; " " (name) }
                        // A clearance counts from the day on which the condition was noted.
                        @if told { label { "noted on " input type="date" name={ "noted:" (word) } value=[a.conditions_noted.get(word)]; } }
                    }
                    // What another version knows stays ticked.
                    @for other in a.conditions.iter().filter(|c| !conditions().any(|(word, _)| word == c.as_str())) {
                        label { input type="checkbox" name="condition" value=(other) checked; " " (other.replace('_', " ")) }
                    }
                }
                button type="submit" { "Save the record" }
            }
        }
    }
}

fn take_out(what: &str, id: &str, row: usize) -> Markup {
    html! { button type="button" class="link" data-do={ "drop-" (what) } data-id={ (id) "|" (row) } { "Take out" } }
}

fn body_mass(state: &State, id: &str, a: &Athlete) -> Markup {
    let (unit, factor) = state.locale.unit("kg");
    html! {
        section id="body-mass" class="no-print" aria-labelledby="mass-head" {
            h2 id="mass-head" { "Body mass" }
            @if !a.body_mass.is_empty() {
                table class="narrow" {
                    thead { tr { th scope="col" { "Day" } th scope="col" class="num" { (unit) } th scope="col" { "From" } th { span class="sr" { "Take out" } } } }
                    tbody { @for (row, m) in a.body_mass.iter().enumerate() {
                        tr { th scope="row" { (state.locale.day(m.date)) } td class="num" { (state.locale.fixed(m.mass_kg * factor, 1)) } td { @if m.from_plate { "plates, median of the day" } @else { "typed in" } } td { (take_out("body-mass", id, row)) } }
                    } }
                }
            }
            form class="row" data-do="body-mass" data-id=(id) data-clear="mass_kg" {
                label { "Day " input name="date" type="date" required value=(state.today); }
                label { "Body mass, kg " input name="mass_kg" inputmode="decimal" required autocomplete="off"; }
                button type="submit" { "Note it" }
            }
        }
    }
}

fn injuries(state: &State, id: &str, a: &Athlete) -> Markup {
    let kind = |k| match k {
        InjuryKind::KneeLigamentSurgery => "knee-ligament surgery",
        InjuryKind::OtherSurgery => "other surgery of a leg or the spine",
        InjuryKind::Injury => "injury without surgery",
    };
    let side = |s| match s {
        Side::Left => "left",
        Side::Right => "right",
        Side::Both => "both",
    };
    html! {
        section id="injuries" class="no-print" aria-labelledby="injuries-head" {
            h2 id="injuries-head" { "Injuries and operations" }
            @if !a.injuries.is_empty() {
                table class="narrow" {
                    thead { tr { th scope="col" { "Day" } th scope="col" { "Side" } th scope="col" { "What" } th scope="col" { "Note" } th { span class="sr" { "Take out" } } } }
                    tbody { @for (row, i) in a.injuries.iter().enumerate() {
                        tr { th scope="row" { (state.locale.day(i.date)) } td { (side(i.side)) } td { (kind(i.kind)) } td { (i.note) } td { (take_out("injury", id, row)) } }
                    } }
                }
            }
            form class="row" data-do="injury" data-id=(id) data-clear="note" {
                label { "Day " input name="date" type="date" required value=(state.today); }
                label { "Side " select name="side" { option value="left" { "left" } option value="right" { "right" } option value="both" { "both" } } }
                label { "What " select name="kind" {
                    option value="injury" { "injury without surgery" }
                    option value="knee_ligament_surgery" { "knee-ligament surgery" }
                    option value="other_surgery" { "other surgery of a leg or the spine" }
                } }
                label { "Note " input name="note" autocomplete="off" maxlength="200"; }
                button type="submit" { "Note it" }
            }
        }
    }
}

/// Classes of activity: word of the form, words for a person.
const CLASSES: [(ClearedClass, &str, &str); 5] = [
    (ClearedClass::LowJumps, "low_jumps", "two-leg jumps of low intensity"),
    (ClearedClass::Rebounds, "rebounds", "rebounds and repeated jumps"),
    (ClearedClass::Drops, "drops", "drops and landings from a height"),
    (ClearedClass::OneLegJumps, "one_leg_jumps", "one-leg jumps"),
    (ClearedClass::MaximalIsometrics, "maximal_isometrics", "maximal isometric pushes and pulls"),
];

fn clearances(state: &State, id: &str, a: &Athlete) -> Markup {
    let class = |c: ClearedClass| CLASSES.iter().find(|(k, ..)| *k == c).map_or("", |(_, _, name)| *name);
    let over = |until: Date| until < state.today;
    html! {
        section id="clearances" class="no-print" aria-labelledby="clearances-head" {
            h2 id="clearances-head" { "Clearances" }
            p class="hint" { "What a clinician allowed, for which activity and until when. This page never gives one itself." }
            @if !a.clearances.is_empty() {
                table class="narrow" {
                    thead { tr { th scope="col" { "For" } th scope="col" { "By" } th scope="col" { "From" } th scope="col" { "Until" } th { span class="sr" { "Take out" } } } }
                    tbody { @for (row, c) in a.clearances.iter().enumerate() {
                        tr { th scope="row" { (class(c.class)) } td { (c.by) } td { (state.locale.day(c.date)) } td { (state.locale.day(c.until)) @if over(c.until) { " " strong { "expired" } } } td { (take_out("clearance", id, row)) } }
                    } }
                }
            }
            form class="row" data-do="clearance" data-id=(id) data-clear="by" {
                label { "For " select name="class" { @for (_, word, name) in CLASSES { option value=(word) { (name) } } } }
                label { "By (name and role) " input name="by" required autocomplete="off" maxlength="80"; }
                label { "From " input name="date" type="date" required value=(state.today); }
                label { "Until " input name="until" type="date" required; }
                button type="submit" { "Note it" }
            }
        }
    }
}

fn erasing(state: &State, id: &str, a: &Athlete, trials: usize) -> Markup {
    html! {
        section id="erasing" class="no-print" aria-labelledby="erasing-head" {
            h2 id="erasing-head" { "Erase" }
            @if state.erasing.as_deref() == Some(id) {
                p role="alert" {
                    strong { "Erase " (a.name) " for good?" } " The record, " (trials) @if trials == 1 { " trial" } @else { " trials" }
                    " with their force, answers and blocks go from this browser, from its other tabs and from undo. "
                    "Recordings on disk, backups, tables, prints and links given out before cannot be reached from here."
                }
                p class="actions" {
                    button type="button" data-do="erase-yes" data-id=(id) { "Erase for good" }
                    button type="button" data-do="erase-no" { "Keep" }
                }
            } @else {
                p { button type="button" data-do="erase" data-id=(id) { "Erase this athlete …" } }
            }
        }
    }
}
