//! The sheet of a test day under every gate: the tests that the gate closes say so in their cells, with why, who may open them
//! and until when; all other tests stay open.
use std::collections::BTreeMap;
use tarsal::advice::gates::{CONDITIONS, GATES, TESTS};
use tarsal::answer::{TestKind, Verdict};
use tarsal::charts::words::test_name;
use tarsal::people::{Answers, Athlete, Date, Injury, InjuryKind, PlannedTest, Session, Side};
use tarsal::records::{Head, Kept, Pool};
use tarsal::screen::forms::TESTS as KINDS;
use tarsal::screen::{Event, Fields, Screen, State, update};

const TODAY: Date = Date(20_500);
const NOW: &str = "2026-02-16T08:00:00Z";
const WHO: &str = "athlete-1";

/// Ten years of training, grown up, nothing noted.
fn athlete() -> Athlete {
    Athlete { name: "Invented Yew".into(), birth_year: Some(1998), training_years: Some(5.0), ..Athlete::default() }
}

fn trial(id: &str, session: &str, test: TestKind) -> Head {
    Head {
        id: id.into(),
        rev: 1,
        file: "invented.csv".into(),
        added: NOW.into(),
        athlete_id: WHO.into(),
        session_id: session.into(),
        protocol_key: "".into(),
        method: "".into(),
        test,
        side: b'b',
        verdict: Verdict::Sound,
        invented: false,
        removed: false,
        edited: false,
        number: 1,
        start_s: 0.0,
        figure: "".into(),
        value: (f64::NAN, f64::NAN),
        by_day: false,
        body_mass_kg: 70.0,
        gravity: 9.806_65,
    }
}

/// A test day on which every test is planned, with the athlete as he is.
fn day(athlete: Athlete) -> State {
    let mut state = State { width: 1000.0, now: NOW.into(), ..State::default() };
    update(&mut state, Event::Loaded(Box::default()));
    update(&mut state, Event::Today(TODAY));
    state.athletes.insert(WHO.into(), Kept::new("athlete", WHO, athlete, NOW));
    let tests = KINDS.iter().map(|(test, _)| PlannedTest { test: *test, side: None, trials: 3 }).collect();
    let session = Session { athletes: vec![WHO.into()], tests, ..Session::on(TODAY) };
    state.sessions.insert("today".into(), Kept::new("session", "today", session, NOW));
    update(&mut state, Event::Go(Screen::Session("today".into())));
    state
}

fn answered(mut state: State, fields: &[(&str, &str)]) -> State {
    let fields = [("pain", "0")].iter().chain(fields).rev().map(|(n, v)| ((*n).to_owned(), (*v).to_owned())).collect();
    update(&mut state, Event::Form("questions".into(), format!("{WHO}|{TODAY}"), Fields(fields)));
    state
}

fn injured(kind: InjuryKind) -> State {
    let injury = Injury { date: TODAY.plus_days(-100), side: Side::Left, kind, note: String::new() };
    day(Athlete { injuries: vec![injury], ..athlete() })
}

/// What a gate looks for, as a coach's records have it.
fn behind(gate: &str) -> State {
    match gate {
        "pain_now" => answered(day(athlete()), &[("pain", "5")]),
        "knee_surgery" | "knee_entry" => injured(InjuryKind::KneeLigamentSurgery),
        "surgery" => injured(InjuryKind::OtherSurgery),
        "young_and_new" => day(Athlete { birth_year: Some(2011), training_years: Some(0.3), ..athlete() }),
        "too_soon" => {
            let mut state = day(athlete());
            let yesterday = Session::on(TODAY.plus_days(-1));
            state.sessions.insert("yesterday".into(), Kept::new("session", "yesterday", yesterday, NOW));
            state.heads.insert("jump".into(), trial("jump", "yesterday", TestKind::SquatJump));
            state
        }
        "slow_contact" => {
            let mut state = day(athlete());
            let before = Session::on(TODAY.plus_days(-20));
            state.sessions.insert("before".into(), Kept::new("session", "before", before, NOW));
            let drop = trial("drop", "before", TestKind::DropJump);
            state.heads.insert("drop".into(), drop.clone());
            let columns = BTreeMap::from([("contact_time".to_owned(), vec![0.31, 0.002])]);
            update(&mut state, Event::Pooled(Box::new(Pool { heads: vec![drop], columns })));
            state
        }
        "condition" => day(Athlete { conditions: vec![CONDITIONS[10].0.into()], ..athlete() }),
        "session_turned" => answered(day(athlete()), &[("pain_rose", "on")]),
        other => panic!("no case for the gate {other}: add one"),
    }
}

/// The text of each test's cell.
fn cells(state: &State) -> Vec<(TestKind, String)> {
    let page = tarsal::views::page(state).into_string();
    let row = page.split("<tbody>").find(|part| part.contains("data-test=")).expect("the sheet");
    let cell = |test: TestKind| {
        let from = row.split(&format!("data-test=\"{}\"", test_name(test))).nth(1).expect("a cell of each test");
        (test, from.split("</td>").next().unwrap_or_default().to_owned())
    };
    KINDS.iter().map(|(test, _)| cell(*test)).collect()
}

#[test]
fn every_gate_closes_its_tests_on_the_sheet_of_a_test_day() {
    let free = cells(&day(athlete()));
    assert!(free.iter().all(|(_, text)| text.contains("3 missing") && !text.contains("Closed")), "{free:?}");
    let mut closed = 0;
    for gate in GATES {
        let state = behind(gate.id);
        for (test, text) in cells(&state) {
            let word = KINDS.iter().find(|k| k.0 == test).unwrap().1;
            let demanded = TESTS.iter().find(|t| t.0 == word).unwrap().1;
            // The test that would open a gate stays open, from a low box.
            let should = demanded.iter().any(|a| gate.closes.contains(a)) && gate.spares != Some(word);
            assert!(should || gate.spares != Some(word) || text.contains("3 missing, box at most 30\u{a0}cm"), "{text}");
            assert_eq!(text.contains(gate.reason), should, "{} × {word}: {text}", gate.id);
            if should {
                closed += 1;
                assert!(text.contains("Closed today") && text.contains(gate.who) && !text.contains("3 missing"), "{text}");
                let until = match gate.id {
                    "knee_surgery" | "knee_entry" => Some(TODAY.plus_days(630)),
                    "surgery" => Some(TODAY.plus_days(265)),
                    "too_soon" | "session_turned" => Some(TODAY.plus_days(1)),
                    _ => None,
                };
                assert!(until.is_none_or(|day| text.contains(&format!("Lapses on {day}."))), "{} says until when: {text}", gate.id);
            }
        }
    }
    println!("{closed} cells of {} gates × {} tests closed on the sheet", GATES.len(), KINDS.len());
    assert!(closed > 25);
}

#[test]
fn what_was_answered_before_the_new_questions_is_still_read() {
    let old = r#"{"athlete_id":"a","date":"2026-01-01","pain":1,"swelling":false,"giving_way":false,"limited":false,"note":"x"}"#;
    let read: Answers = serde_json::from_str(old).unwrap();
    assert!(!read.fatigue && !read.effort && read.ends_session().is_none() && !read.in_pain() && read.note == "x");
    let state = answered(day(athlete()), &[("fatigue", "on"), ("effort", "on"), ("slowed", "on")]);
    let said = state.answers(WHO, TODAY).unwrap();
    assert!(said.fatigue && said.effort && said.slowed && !said.in_pain());
    assert_eq!(serde_json::from_str::<Answers>(&serde_json::to_string(said).unwrap()).unwrap(), *said);
    let page = tarsal::views::page(&state).into_string();
    assert!(page.contains(", tired") && page.contains(", effort in doubt") && page.contains("session over: the index fell"));
}

#[test]
fn the_last_jumps_are_those_of_jumps_and_not_of_standing_or_pushing() {
    let mut state = day(athlete());
    let jumps = |state: &State| {
        let s = tarsal::screen::situation::today(state, WHO, &state.athletes[WHO].body);
        (s.last_impact, s.jumped_today)
    };
    let add = |state: &mut State, id: &str, before: i32, test: TestKind| {
        let session = Session::on(TODAY.plus_days(-before));
        state.sessions.insert(id.into(), Kept::new("session", id, session, NOW));
        state.heads.insert(id.into(), trial(id, id, test));
    };
    add(&mut state, "jump", 2, TestKind::CountermovementJump);
    add(&mut state, "stand", 1, TestKind::QuietStanding);
    add(&mut state, "push", 0, TestKind::Isometric);
    assert_eq!(jumps(&state), (Some(TODAY.plus_days(-2)), false));
    add(&mut state, "hop", 0, TestKind::ReboundJumps);
    assert_eq!(jumps(&state), (Some(TODAY.plus_days(-2)), true));
    // Filed under him in no session, a trial counts on the day it came.
    let mut alone = day(athlete());
    alone.heads.insert("alone".into(), trial("alone", "", TestKind::SquatJump));
    assert_eq!(jumps(&alone), (None, true));
}
