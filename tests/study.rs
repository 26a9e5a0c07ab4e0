//! The demo squad by the whole way: text → reading → records → pool → study → sentence, report, link, block, retest.
#[path = "study/demo.rs"]
mod demo;
#[path = "fixture/imperial.rs"]
mod imperial;

use tarsal::advice::qualities::QualityId;
use tarsal::advice::score::Answer;
use tarsal::charts::number::Locale;
use tarsal::cohort::Group;
use tarsal::cohort::sides::{Against, Directions, SideDifference};
use tarsal::invented::{PEOPLE, Shows, Visits};
use tarsal::people::{Answers, Side};
use tarsal::records::Kept;
use tarsal::records::link::{Include, LONGEST, decode, encode};
use tarsal::screen::judged::left_right;
use tarsal::screen::study::{Choice, Study, study};
use tarsal::screen::{Event, Fields, Screen, State, update};
use tarsal::views::report::{Paper, Reader, file, file_after};

type Studies = Vec<(&'static tarsal::invented::Person, Study)>;

fn studies(squad: &demo::Squad) -> Studies {
    let state = &squad.state;
    let pool = state.pool.as_ref().unwrap();
    PEOPLE.iter().map(|p| (p, study(state, pool, &demo::id_of(p.name)).unwrap())).collect()
}

fn kept(shows: Shows, study: &Study) -> bool {
    match (shows, study.reading.answer) {
        (Shows::Anything, _) => true,
        (Shows::One(a), Answer::One(b)) | (Shows::Manner(a), Answer::Manner(b)) => a == b,
        (Shows::Two(a, b), Answer::Two(c, d)) => (a, b) == (c, d) || (b, a) == (c, d),
        (Shows::Low, Answer::UniformlyLow) | (Shows::High, Answer::UniformlyHigh) => true,
        (Shows::NotEnough(id), Answer::NotEnough) => study.reading.misses.iter().any(|m| m.id == id),
        _ => false,
    }
}

/// One test, because reading the squad is most of the work: the whole of it is read once.
#[test]
fn the_demo_squad_shows_what_its_table_promises() {
    let began = std::time::Instant::now();
    let squad = demo::squad(None);
    println!("squad made and read in {:?}", began.elapsed());
    let began = std::time::Instant::now();
    let all = studies(&squad);
    println!("{} studies in {:?}", all.len(), began.elapsed());
    every_kind_of_test_is_in_the_squad_and_few_files_give_all_of_it(&squad);
    every_answer_is_in_the_squad_as_its_table_promises(&all);
    nobody_is_sent_to_a_test_that_is_on_record(&all);
    days_of_a_group_turned_round_are_said(squad.state.clone());
    what_is_handed_over_is_whole_for_everybody(&all);
    the_operated_athlete_finds_tests_and_rows_closed_with_who_may_open_them(&all);
    the_one_tested_again_comes_with_a_block_and_what_came_of_it(&all);
    invented_people_never_stand_beside_real_ones(&squad.state);
    a_day_of_pain_fatigue_or_doubtful_effort_is_not_read(&squad.state);
    days_read_with_different_gravity_say_so_once(&squad.state);
    left_against_right_is_an_aim_with_evidence_of_its_own(&squad.state, &all);
    no_screen_of_a_reader_of_inches_says_centimetres(squad.state.clone(), &all);
    gates_stand_in_the_proposed_block_of_the_operated(squad.state);
}

/// A last day before the first is taken the other way round, and said; so are ages.
fn days_of_a_group_turned_round_are_said(mut state: State) {
    demo::go(&mut state, Screen::Athlete(demo::id_of("Invented Poplar")));
    let sent = |state: &mut State, fields: [(&str, &str); 4]| {
        tarsal::screen::update(state, tarsal::screen::Event::Form("group".into(), String::new(), fields.into()));
        state.message.as_ref().map(|m| m.text.clone())
    };
    let (early, late) = ("2020-01-02", "2030-01-02");
    let right = sent(&mut state, [("tested_from", early), ("tested_to", late), ("age_from", ""), ("age_to", "")]);
    assert_eq!(right, None);
    let turned = sent(&mut state, [("tested_from", late), ("tested_to", early), ("age_from", "30"), ("age_to", "18")]);
    assert_eq!(turned.as_deref(), Some("The first day lay after the last: compared with those tested from 2020-01-02 up to 2030-01-02."));
    let group = state.choice.group.clone().unwrap();
    assert_eq!((state.choice.tested.0.unwrap().to_string(), group.age), (early.to_owned(), Some((18, 30))));
    // One bound is enough.
    sent(&mut state, [("tested_from", ""), ("tested_to", ""), ("age_from", "18"), ("age_to", "")]);
    assert_eq!(state.choice.group.unwrap().age, Some((18, 120)));
}

/// The one athlete with a drop landing is not sent to drop landings as if there were none: nobody else has any.
fn nobody_is_sent_to_a_test_that_is_on_record(all: &Studies) {
    let mut of_landing = 0;
    for (person, study) in all {
        let text = serde_json::to_string(&study.brief).unwrap();
        let done = study.reading.tested.iter().any(|t| t == "drop_landing");
        of_landing += usize::from(done);
        assert_eq!(done, person.name == "Invented Olive", "{}", person.name);
        assert!(!(done && text.contains("rop landings from one low box")), "{}: {text}", person.name);
        println!("{} {:?}", person.name, study.brief.next);
    }
    assert_eq!(of_landing, 1);
}

fn every_answer_is_in_the_squad_as_its_table_promises(all: &Studies) {
    let mut broken = Vec::new();
    for (person, study) in all {
        let misses: Vec<&str> = study.reading.misses.iter().map(|m| m.id.as_str()).collect();
        println!("{:18} {:?} | {} {misses:?}", person.name, study.reading.answer, study.brief.sentence);
        for s in &study.reading.scored {
            println!(
                "    {:?} z {:.2} error {:.2} r {:.2} standing {:.2} P {:.2} n {} repeats {} {}",
                s.quality,
                s.z,
                s.error,
                s.reliability,
                s.standing,
                s.p_lowest,
                s.n,
                s.repeats,
                if s.scored { "" } else { "not scored" }
            );
        }
        for m in &study.reading.manner {
            println!("    manner: {}", m.words());
        }
        if !kept(person.shows, study) {
            broken.push(format!("{}: {:?}, wanted {:?}", person.name, study.reading.answer, person.shows));
        }
        assert!(study.brief.invented, "{}", person.name);
    }
    assert!(broken.is_empty(), "{broken:#?}");
}

fn every_kind_of_test_is_in_the_squad_and_few_files_give_all_of_it(squad: &demo::Squad) {
    println!("{} files, {} letters, {} trials", squad.files, squad.letters, squad.state.heads.len());
    for (name, why) in &squad.left_out {
        println!("left out: {name}: {why}");
    }
    let tests: std::collections::BTreeSet<&str> = squad.state.heads.values().map(|h| h.test.id()).collect();
    println!("{tests:?}");
    for wanted in [
        "countermovement_jump",
        "squat_jump",
        "drop_jump",
        "countermovement_rebound_jump",
        "drop_landing",
        "rebound_jumps",
        "isometric",
        "quiet_standing",
    ] {
        assert!(tests.contains(wanted), "{wanted}");
    }
    assert!(squad.files <= 115 && squad.letters < 50_000_000);
    assert_eq!(squad.files, tarsal::invented::demo_day_count());
    // Every file was filed under its athlete and its day, and read as what it was made as.
    for head in squad.state.heads.values() {
        assert!(!head.athlete_id.is_empty() && head.invented, "{}", head.file);
        let day = squad.state.day_of(head).unwrap().to_string();
        assert!(head.file.contains(&day), "{} on {day}", head.file);
    }
    assert!(squad.wrong.is_empty(), "{:#?}", squad.wrong);
}

fn what_is_handed_over_is_whole_for_everybody(all: &Studies) {
    for (person, study) in all {
        let link = encode(&study.brief, Include { name: true, injury_notes: false, coach_words: false }).unwrap();
        assert!(link.len() <= LONGEST, "{}: {}", person.name, link.len());
        let seen = decode(&format!("#{link}")).unwrap();
        assert_eq!(
            (&seen.name, seen.answer, &seen.sentence, seen.day),
            (&study.brief.name, study.brief.answer, &study.brief.sentence, study.brief.day)
        );
        assert_eq!(
            decode(&encode(&seen, Include { name: true, injury_notes: true, coach_words: true }).unwrap()).unwrap(),
            seen,
            "{}",
            person.name
        );
        for (reader, paper) in
            [(Reader::Coach, Paper::A4), (Reader::Coach, Paper::Letter), (Reader::Athlete, Paper::A4), (Reader::Athlete, Paper::Letter)]
        {
            let html = file_after(&study.brief, study.outcome.as_ref(), reader, paper, &Locale::default());
            // To be looked at, and printed by hand.
            if let Some(folder) = std::env::var_os("TARSAL_SHOTS") {
                let name = format!("{}-{reader:?}-{paper:?}.html", person.name).to_lowercase().replace(' ', "-");
                std::fs::write(std::path::Path::new(&folder).join(name), &html).unwrap();
            }
            assert!(html.contains(person.name) && html.contains("nvented"), "{}", person.name);
            for word in ["<script", "src=", "href=\"http", "url(http", "@import", "<link"] {
                assert!(!html.contains(word), "{}: {word}", person.name);
            }
        }
    }
}

fn no_screen_of_a_reader_of_inches_says_centimetres(mut state: State, all: &Studies) {
    let inches = Locale { imperial: true, ..Locale::default() };
    state.locale = inches.clone();
    let mut wrong: Vec<String> = Vec::new();
    let mut look = |what: &str, page: String| wrong.extend(imperial::metric_left(&page).into_iter().map(|text| format!("{what}: {text}")));
    for screen in [Screen::Start, Screen::Squad, Screen::Sessions, Screen::Plates, Screen::Storage] {
        update(&mut state, Event::Go(screen.clone()));
        look(&format!("{screen:?}"), tarsal::views::page(&state).into_string());
    }
    let days: Vec<String> = state.sessions.keys().cloned().collect();
    for id in days {
        update(&mut state, Event::Go(Screen::Session(id.clone())));
        look(&id, tarsal::views::page(&state).into_string());
    }
    let mut inched = 0;
    for (person, study) in all {
        let id = demo::id_of(person.name);
        for screen in [Screen::Athlete(id.clone()), Screen::Report(id.clone(), true), Screen::Report(id.clone(), false)] {
            demo::go(&mut state, screen.clone());
            if let Screen::Athlete(_) = screen
                && state.study.as_ref().is_some_and(|s| s.block.is_none())
            {
                update(&mut state, Event::Do("block-propose".into(), id.clone()));
            }
            let page = tarsal::views::page(&state).into_string();
            inched += page.matches(", in<").count();
            look(&format!("{screen:?}"), page);
        }
        for reader in [Reader::Coach, Reader::Athlete] {
            look(person.name, file_after(&study.brief, study.outcome.as_ref(), reader, Paper::A4, &inches));
        }
    }
    assert!(inched > 50, "only {inched} lengths in inches");
    // A trial of each kind that the squad did, with the trials of its day beside it.
    let mut kinds = Vec::new();
    let mut trials = Vec::new();
    for head in state.heads.values() {
        if !kinds.contains(&(head.test, head.side)) {
            kinds.push((head.test, head.side));
            trials.push(head.id.to_string());
        }
    }
    for id in trials {
        update(&mut state, Event::Open(id.clone()));
        update(&mut state, Event::DrawRest);
        update(&mut state, Event::DrawRest);
        look(&format!("{:?}", state.heads[id.as_str()].test), tarsal::views::page(&state).into_string());
    }
    wrong.dedup();
    assert!(wrong.is_empty(), "{wrong:#?}");
    // To be looked at.
    let Some(folder) = std::env::var_os("TARSAL_SHOTS").map(std::path::PathBuf::from) else { return };
    let id = demo::id_of("Invented Poplar");
    for width in [1280.0, 360.0] {
        state.width = width;
        for (name, screen) in
            [("squad", Screen::Squad), ("athlete", Screen::Athlete(id.clone())), ("report", Screen::Report(id.clone(), true))]
        {
            update(&mut state, Event::Go(screen));
            let (css, page) = (include_str!("../www/app.css"), tarsal::views::page(&state).into_string());
            let html = format!(
                "<!doctype html><meta charset=utf-8><meta name=viewport content='width=device-width'><style>{css}</style><div id=app>{page}</div>"
            );
            std::fs::write(folder.join(format!("inches-{name}-{width}.html")), html).unwrap();
        }
    }
}

fn the_operated_athlete_finds_tests_and_rows_closed_with_who_may_open_them(all: &Studies) {
    let (_, study) = all.iter().find(|s| s.0.name == "Invented Elder").unwrap();
    let closed: Vec<&str> = study.brief.closed_tests.iter().map(|c| c.test.as_str()).collect();
    println!("{closed:?}");
    for test in ["countermovement_jump", "drop_jump", "rebound_jumps", "isometric"] {
        assert!(closed.contains(&test), "{test}");
    }
    let html = file(&study.brief, Reader::Coach, Paper::Letter, &Locale::default());
    assert!(html.contains("Knee-ligament surgery less than 24 months ago") && html.contains("clinician"));
}

#[test]
fn a_block_is_proposed_edited_refused_undone_and_its_retest_told() {
    let squad = demo::squad(Some("Invented Poplar"));
    demo::block_and_retest(squad);
}

fn the_one_tested_again_comes_with_a_block_and_what_came_of_it(all: &Studies) {
    let with_block: Vec<&str> = all.iter().filter(|(_, s)| s.block.is_some()).map(|(p, _)| p.name).collect();
    assert_eq!(with_block, ["Invented Poplar"]);
    let (_, study) = all.iter().find(|s| s.0.name == "Invented Poplar").unwrap();
    let outcome = study.outcome.as_ref().expect("an outcome");
    let better = |c: &tarsal::cohort::Change| c.verdict.changed() && c.difference > 0.0;
    assert!(!outcome.targets.is_empty() && outcome.targets.iter().any(|(_, c)| c.as_ref().is_some_and(better)), "{outcome:?}");
}

/// What was answered on the day of the tests stands against every answer, however plain the numbers are.
fn a_day_of_pain_fatigue_or_doubtful_effort_is_not_read(state: &State) {
    let person = PEOPLE.iter().find(|p| matches!(p.shows, Shows::One(_))).unwrap();
    let (id, pool) = (demo::id_of(person.name), state.pool.as_ref().unwrap());
    let plain = study(state, pool, &id).unwrap();
    assert!(matches!(plain.reading.answer, Answer::One(_)));
    let date = *plain.days.last().unwrap();
    let quiet: Answers = serde_json::from_value(serde_json::json!({ "athlete_id": id, "date": date, "pain": 0 })).unwrap();
    let cases = [
        ("fatigue", Answers { fatigue: true, ..quiet.clone() }),
        ("effort", Answers { effort: true, ..quiet.clone() }),
        ("pain", Answers { pain: 4, ..quiet.clone() }),
        ("pain", Answers { pain_rose: true, ..quiet.clone() }),
        ("pain", Answers { swelling_came: true, ..quiet.clone() }),
        ("", Answers { slowed: true, ..quiet }),
    ];
    for (miss, answers) in cases {
        let mut state = state.clone();
        state.questions.insert("q".into(), Kept::new("question", "q", answers, "2026-03-02T08:00:00Z"));
        let made = study(&state, pool, &id).unwrap();
        assert_eq!(made.reading.answer == Answer::NotEnough, !miss.is_empty(), "{miss}");
        assert!(miss.is_empty() || made.brief.misses.iter().any(|m| m.id == miss), "{miss}");
    }
}

/// Plates used at another place: what is compared says so once, beside the result, by how much and what to do; what could not
/// be seen is not told, nor what an unread day or an older one that is not compared was read with.
fn days_read_with_different_gravity_say_so_once(state: &State) {
    const TOLD: &str = "These trials were read with different gravity";
    for (name, again) in [("Invented Birch", false), ("Invented Poplar", true)] {
        let id = demo::id_of(name);
        let days = study(state, state.pool.as_ref().unwrap(), &id).unwrap().days;
        let (before, last) = (days[days.len() - 2], *days.last().unwrap());
        let with = |gravity: f64| {
            let mut state = state.clone();
            let of_day: Vec<_> =
                state.heads.values().filter(|h| *h.athlete_id == *id && state.day_of(h) == Some(last)).map(|h| h.id.clone()).collect();
            assert!(!of_day.is_empty());
            of_day.iter().for_each(|h| state.heads.get_mut(h).unwrap().gravity = gravity);
            demo::go(&mut state, Screen::Athlete(id.clone()));
            state
        };
        assert!(!tarsal::views::page(&with(9.806_65 * 1.0004)).into_string().contains(TOLD), "{name}");
        let state = with(9.780_33);
        let page = tarsal::views::page(&state).into_string().replace('\u{a0}', " ");
        assert_eq!(page.matches(TOLD).count(), 1, "{name}");
        // 9.80665 over 9.78033.
        let said = format!("9.780 m/s² ({}) and 9.807 m/s² ({})", state.locale.day(last), state.locale.day(before));
        assert!(page.contains(&said) && page.contains("per kilogram 0.27 % higher with the second"), "{name}: {said}");
        let made = state.study.as_ref().unwrap();
        assert_eq!(made.outcome.as_ref().is_some_and(|o| o.gravity.is_some()), again, "{name}");
        if again {
            let print = file_after(&made.brief, made.outcome.as_ref(), Reader::Coach, Paper::A4, &Locale::default());
            assert_eq!(print.matches(TOLD).count(), 1);
        }
    }
}

/// Offered beside the qualities, with what speaks for it; judged by one leg's own tests or by nothing.
fn left_against_right_is_an_aim_with_evidence_of_its_own(state: &State, all: &Studies) {
    let read = |percent: f64, against: Against, higher: Option<Side>, right: usize, left: usize| {
        let difference = SideDifference { percent, trials: 3, noise: 3.0, against, higher };
        ("propulsion_impulse".to_owned(), demo::TODAY, difference, Directions { right, left, sessions: right + left })
    };
    let right = Some(Side::Right);
    for (sides, lower) in [
        (vec![], None),
        (vec![read(2.0, Against::Days, None, 4, 0)], None),
        (vec![read(8.0, Against::Measurement, right, 1, 0)], None),
        (vec![read(8.0, Against::Days, right, 1, 2)], None),
        (vec![read(8.0, Against::Days, right, 3, 0), read(-8.0, Against::Days, Some(Side::Left), 0, 3)], None),
        (vec![read(8.0, Against::Days, right, 2, 1)], Some(Side::Left)),
        (vec![read(-8.0, Against::Trials, Some(Side::Left), 0, 1)], Some(Side::Right)),
    ] {
        let said = left_right(&sides);
        assert_eq!(said.lower, lower, "{sides:?}");
        assert_eq!(said.sentence.starts_with("No evidence"), lower.is_none(), "{}", said.sentence);
    }
    for (person, study) in all {
        println!("{:18} {}", person.name, study.left_right.sentence);
        let aim = study.aims.iter().find(|a| a.quality == QualityId::LeftRight);
        assert!(study.block.is_some() || aim.is_none_or(|a| study.left_right.lower.is_some() && a.target.protocol.contains(";leg=")));
    }
    let mut state = state.clone();
    demo::go(&mut state, Screen::Athlete(demo::id_of("Invented Birch")));
    demo::look("aims", &state);
    let page = tarsal::views::page(&state).into_string();
    assert!(page.contains("value=\"left_right\"") && page.contains(&state.study.as_ref().unwrap().left_right.sentence));
    let fields = Fields(vec![("aim".into(), "left_right".into())]);
    update(&mut state, Event::Form("block-plan".into(), demo::id_of("Invented Birch"), fields));
    let block = state.study.as_ref().unwrap().block.clone().unwrap().1;
    assert_eq!(block.aims, [QualityId::LeftRight]);
    assert!(!block.rows.is_empty() && block.targets.iter().all(|t| t.protocol.contains(";leg=")));
}

/// Four of the squad taken for real ones: each side compares with its own kind alone, and the chosen group is the reading's too.
fn invented_people_never_stand_beside_real_ones(state: &State) {
    let mut state = state.clone();
    let real: Vec<String> = ["Alder", "Cedar", "Larch", "Thorn"].map(|n| demo::id_of(&format!("Invented {n}"))).to_vec();
    for head in state.heads.values_mut() {
        head.invented = !real.iter().any(|id| **id == *head.athlete_id);
    }
    let pool = state.pool.clone().unwrap();
    let others = |state: &State, name: &str| {
        let study = study(state, &pool, &demo::id_of(name)).unwrap();
        (study.standings[0].0.group.len(), study.reading.scored.iter().map(|s| s.n).max(), study.brief.invented)
    };
    assert_eq!(others(&state, "Invented Birch"), (15, Some(15), true));
    // Three others are too few for any number of the reading.
    assert_eq!(others(&state, "Invented Alder"), (3, None, false));
    let label = "chosen";
    for name in ["Birch", "Hazel", "Rowan", "Maple", "Willow", "Aspen", "Elder"] {
        state.athletes.get_mut(&demo::id_of(&format!("Invented {name}"))).unwrap().body.labels.push(label.into());
    }
    state.choice.group = Some(Group { labels: vec![label.into()], ..Group::everybody(demo::TODAY) });
    assert_eq!(others(&state, "Invented Birch"), (6, Some(6), true));
    // As tested on the very first day: those who came then, each by that day's value; his own stays that of his last day.
    let [first, _, last, _] = tarsal::invented::demo_dates(demo::TODAY);
    state.choice = Choice { tested: (Some(first), Some(first)), ..Choice::default() };
    let came =
        PEOPLE.iter().filter(|p| p.visits != Visits::Once && p.name != "Invented Birch" && !real.contains(&demo::id_of(p.name))).count();
    assert_eq!(others(&state, "Invented Birch"), (came, Some(came).filter(|n| *n >= 5), true));
    let study = study(&state, &pool, &demo::id_of("Invented Birch")).unwrap();
    assert!(study.standings.iter().all(|(s, _)| s.own.day == last && s.group.len() == came));
    assert_eq!((study.group.span(), study.brief.day), ((first, first), last));
    assert!(study.group.words().ends_with(&format!("tested on {first}")), "{}", study.group.words());
}

fn gates_stand_in_the_proposed_block_of_the_operated(mut state: State) {
    let id = demo::id_of("Invented Elder");
    demo::go(&mut state, Screen::Athlete(id.clone()));
    demo::press(&mut state, "block-propose", &id);
    let study = state.study.as_ref().unwrap();
    let plan = study.brief.plan.as_ref().expect("a block for one quality");
    for row in &plan.rows {
        println!("{} {:?} {:?}", row.exercise, row.doses, row.closed.iter().map(|c| &c.gate).collect::<Vec<_>>());
        assert_eq!(row.closed.is_empty(), !row.doses.is_empty());
    }
    assert!(plan.rows.iter().any(|r| !r.closed.is_empty()), "a row is shown closed");
}
