//! Whose a dropped file is, and what filing does to the athlete's body mass.
use std::rc::Rc;
use tarsal::answer::{Analysis, Options, Verdict, analyze};
use tarsal::invented::demo_files;
use tarsal::people::{BodyMass, Date};
use tarsal::records::WindowHead;
use tarsal::screen::{Arrived, Effect, Event, Fields, Screen, State, update};
use tarsal::views;

const TODAY: Date = Date(20_454);

fn start() -> State {
    let mut state = State { width: 1000.0, now: "2026-01-01T00:00:00Z".into(), ..State::default() };
    update(&mut state, Event::Loaded(Box::default()));
    update(&mut state, Event::Today(TODAY));
    state
}

fn form(state: &mut State, name: &str, id: &str, fields: impl Into<Fields>) -> Vec<Effect> {
    update(state, Event::Form(name.into(), id.into(), fields.into()))
}

/// A demo recording under another file's name.
fn named(name: &str, which: usize) -> Analysis {
    analyze(name, demo_files()[which].text.as_bytes(), &Options::default())
}

fn drop_files(state: &mut State, all: &[Analysis]) {
    read_files(state, all, Event::Files);
}

fn read_files(state: &mut State, all: &[Analysis], come: fn(Vec<(u32, String, f64)>) -> Event) {
    let first = 100 * (1 + state.made as u32);
    let keys = (first..).zip(all);
    update(state, come(keys.clone().map(|(k, a)| (k, a.answer.file.clone(), 10.0)).collect()));
    for (key, analysis) in keys {
        let windows = analysis.windows.iter().map(|w| WindowHead::packed(w).0).collect();
        update(state, Event::Analysed(key, Box::new(Arrived { answer: analysis.answer.clone(), windows, athlete: None })));
    }
}

fn athlete(state: &State, name: &str) -> String {
    state.athlete_named(name).map(|a| a.envelope.id.clone()).unwrap_or_default()
}

fn squad(names: &str) -> State {
    let mut state = start();
    form(&mut state, "new-athletes", "", [("names", names)]);
    state
}

fn filed(state: &State, name: &str) -> usize {
    state.trials_of(&athlete(state, name)).len()
}

#[test]
fn what_is_dropped_on_an_athletes_screen_is_his_unless_its_name_says_somebody_else() {
    let mut state = squad("Ada\nBen");
    let ada = athlete(&state, "Ada");
    update(&mut state, Event::Go(Screen::Athlete(ada.clone())));
    // Names of nobody, and his own: filed at once.
    drop_files(&mut state, &[named("CMJ_1.csv", 0), named("ADA_CMJ_2.csv", 1)]);
    assert_eq!((filed(&state, "Ada"), state.doubts.len()), (2, 0));
    assert_eq!(state.screen, Screen::Athlete(ada.clone()));
    // Somebody else's, known or not: nothing is filed before it is said, and one step answers for all.
    state.jobs.clear();
    drop_files(&mut state, &[named("Ben_CMJ_1.csv", 2), named("Cleo_CMJ_1.csv", 3), named("Cleo_CMJ_2.csv", 4)]);
    assert_eq!((filed(&state, "Ada"), filed(&state, "Ben"), state.doubts.len()), (2, 0, 3));
    let page = views::page(&state).into_string();
    assert_eq!((page.matches("<select id=\"whose:").count(), page.contains("Whose are these?")), (2, true), "{page}");
    // They are not asked about a second time among the unfiled.
    assert!(tarsal::screen::unfiled_names(&state).is_empty());
    let ben = athlete(&state, "Ben");
    let answers = [(format!("whose:{ada}:ben"), ben), (format!("whose:{ada}:cleo"), "new".to_owned())];
    let effects = form(&mut state, "whose", "", Fields(answers.to_vec()));
    assert!(matches!(effects.as_slice(), [Effect::Save(_), ..]), "{effects:?}");
    assert_eq!((filed(&state, "Ada"), filed(&state, "Ben"), filed(&state, "Cleo"), state.doubts.len()), (2, 1, 2, 0));
    assert_eq!(state.trials_of(&athlete(&state, "Cleo")).iter().map(|h| h.number).max(), Some(2));
    update(&mut state, Event::Undo);
    assert_eq!((filed(&state, "Ben"), state.athlete_named("Cleo").is_none()), (0, true));
}

#[test]
fn trials_filed_by_an_answer_are_asked_of_their_day() {
    let mut state = squad("Ada");
    let ada = athlete(&state, "Ada");
    update(&mut state, Event::Go(Screen::Athlete(ada.clone())));
    // Two of one person, one of them five kilograms heavier.
    let files = demo_files();
    let own = files.iter().enumerate().filter(|(_, f)| f.athlete == files[0].athlete && f.test == files[0].test).map(|(at, _)| at);
    let mut all: Vec<Analysis> = own.take(2).enumerate().map(|(k, at)| named(&format!("Cleo_CMJ_{k}.csv"), at)).collect();
    all[1].answer.trials[0].body_mass_kg = all[1].answer.trials[0].body_mass_kg.map(|kg| kg + 5.0);
    drop_files(&mut state, &all);
    form(&mut state, "whose", "", Fields(vec![(format!("whose:{ada}:cleo"), "new".into())]));
    assert_eq!(filed(&state, "Cleo"), 2);
    let told = state.trials().filter(|s| s.trial.notices.iter().any(|n| n.code == "weight_against_day"));
    assert_eq!(told.map(|s| s.trial.verdict).collect::<Vec<_>>(), [Verdict::Doubtful]);
}

#[test]
fn what_is_here_unfiled_is_filed_when_dropped_on_an_athletes_screen() {
    let mut state = squad("Ada");
    let ada = athlete(&state, "Ada");
    update(&mut state, Event::Home);
    let file = [named("CMJ_1.csv", 0)];
    drop_files(&mut state, &file);
    assert_eq!((filed(&state, "Ada"), state.heads.len()), (0, 1));
    state.jobs.clear();
    update(&mut state, Event::Go(Screen::Athlete(ada)));
    // It is asked for first where it is not at hand whole.
    let mut away = state.clone();
    away.saved.clear();
    drop_files(&mut away, &file);
    assert_eq!(filed(&away, "Ada"), 0);
    drop_files(&mut state, &file);
    assert_eq!((filed(&state, "Ada"), state.heads.len()), (1, 1));
}

#[test]
fn left_for_later_is_left_among_the_unfiled_and_erasing_forgets_the_question() {
    let mut state = squad("Ada\nBen");
    let ada = athlete(&state, "Ada");
    update(&mut state, Event::Go(Screen::Athlete(ada.clone())));
    drop_files(&mut state, &[named("Ben_CMJ_1.csv", 0)]);
    assert_eq!(state.doubts.len(), 1);
    let mut later = state.clone();
    form(&mut later, "whose", "", Fields(vec![(format!("whose:{ada}:ben"), "later".into())]));
    assert_eq!((later.doubts.len(), tarsal::screen::unfiled_names(&later).len()), (0, 1));
    update(&mut state, Event::Do("erase".into(), ada.clone()));
    update(&mut state, Event::Do("erase-yes".into(), ada));
    assert!(state.doubts.is_empty());
}

#[test]
fn a_watched_folder_fills_by_names_whatever_is_looked_at() {
    let mut state = squad("Ada");
    update(&mut state, Event::Watching(Some("plates".into())));
    let ada = athlete(&state, "Ada");
    update(&mut state, Event::Go(Screen::Athlete(ada)));
    read_files(&mut state, &[named("CMJ_1.csv", 0)], Event::Appeared);
    assert_eq!((filed(&state, "Ada"), state.doubts.len()), (0, 0));
    // What is dropped by hand meanwhile is hers as ever.
    let ada = athlete(&state, "Ada");
    state.jobs.clear();
    update(&mut state, Event::Go(Screen::Athlete(ada)));
    drop_files(&mut state, &[named("CMJ_2.csv", 1)]);
    assert_eq!((filed(&state, "Ada"), state.doubts.len()), (1, 0));
}

#[test]
fn filing_by_hand_asks_for_the_test_day_and_keeps_it() {
    let mut state = squad("Ada");
    update(&mut state, Event::Home);
    drop_files(&mut state, &[named("Cleo_2025-11-03_CMJ_1.csv", 0)]);
    let id = state.heads.keys().next().expect("a trial").to_string();
    let offered = |state: &State| {
        let mut shown = state.clone();
        update(&mut shown, Event::Open(id.clone()));
        shown.partial = 0;
        let page = views::page(&shown).into_string();
        page.split("id=\"filed-on\"").nth(1).and_then(|rest| rest.split("value=\"").nth(1)?.split('"').next().map(str::to_owned))
    };
    // The day of the file's name, where it says one.
    assert_eq!(offered(&state).as_deref(), Some("2025-11-03"));
    form(&mut state, "file-under", &id, [("athlete", "Ada"), ("date", "2025-11-05")]);
    let on = |state: &State| state.heads.get(id.as_str()).and_then(|h| state.day_of(h)).map(|d| d.to_string());
    assert_eq!((on(&state).as_deref(), filed(&state, "Ada")), (Some("2025-11-05"), 1));
    assert_eq!(offered(&state).as_deref(), Some("2025-11-05"));
    // Another day of the same athlete moves it; the same day changes nothing.
    form(&mut state, "file-under", &id, [("athlete", "Ada"), ("date", "2025-11-06")]);
    assert_eq!(on(&state).as_deref(), Some("2025-11-06"));
    assert!(form(&mut state, "file-under", &id, [("athlete", "Ada"), ("date", "2025-11-06")]).is_empty());
    update(&mut state, Event::Undo);
    assert_eq!(on(&state).as_deref(), Some("2025-11-05"));
    // Filed by names, a day is asked for where the name says none.
    let mut state = squad("Ada");
    update(&mut state, Event::Home);
    drop_files(&mut state, &[named("Cleo_CMJ_1.csv", 0), named("Cleo_2025-11-03_CMJ_2.csv", 1)]);
    assert!(views::page(&state).into_string().contains("Test day, where the name says none"));
    form(&mut state, "file-names", "", [("who:cleo", "new"), ("day", "2025-11-04")]);
    let mut days: Vec<String> = state.days().iter().map(|s| s.body.date.to_string()).collect();
    days.sort();
    assert_eq!(days, ["2025-11-03", "2025-11-04"]);
}

#[test]
fn a_sheet_shows_load_and_leg_and_links_of_a_mixed_file_name_their_kind() {
    let mut state = squad("Ada");
    form(&mut state, "new-session", "", [("date", "2026-01-01")]);
    let session = state.days()[0].envelope.id.clone();
    form(&mut state, "session-tests", &session, [("countermovement_jump:both", "3")]);
    let test = demo_files().iter().position(|f| f.test == tarsal::answer::TestKind::CountermovementJump).expect("a jump");
    let mut loaded = named("Ada_CMJ_20kg_2.csv", test);
    loaded.answer.sha256 = "f".repeat(64);
    drop_files(&mut state, &[named("Ada_CMJ_1.csv", test), loaded]);
    update(&mut state, Event::Go(Screen::Session(session)));
    let page = views::page(&state).into_string().replace('\u{a0}', " ");
    assert_eq!((page.matches("trial-mark").count(), page.matches("+ 20 kg").count()), (2, 1), "{page}");
    assert!(page.contains("aria-label=\"Countermovement jump with 20 kg, "));
    // Trials of one file, one of them loaded, name what they are; alike they are numbered alone.
    let ids: Vec<String> = state.heads.keys().map(ToString::to_string).collect();
    let links = |state: &State| {
        let mut shown = state.clone();
        update(&mut shown, Event::Open(ids[0].clone()));
        let page = views::page(&shown).into_string().replace('\u{a0}', " ");
        page.split("aria-label=\"Trials of this file\"").nth(1).and_then(|r| r.split("</nav>").next()).unwrap_or_default().to_owned()
    };
    let mut one_file = state.clone();
    let mut second = one_file.trial(&ids[0]).expect("the first trial").clone();
    second.envelope.id = format!("{}-9", ids[0].rsplit_once('-').expect("a key").0);
    second.trial.start_s += 9.0;
    one_file.insert(tarsal::records::Record::Trial(Rc::new(second.clone())));
    assert!(links(&one_file).contains("Trial 1, 3") && !links(&one_file).contains("countermovement"), "{}", links(&one_file));
    second.set_protocol(tarsal::people::Protocol { load_kg: 40.0, ..second.protocol.clone() });
    one_file.insert(tarsal::records::Record::Trial(Rc::new(second)));
    assert!(links(&one_file).contains("Trial 2, countermovement jump with 40 kg, "), "{}", links(&one_file));
}

fn from_plates(state: &State, id: &str) -> Vec<(Date, f64)> {
    state.athletes[id].body.body_mass.iter().filter(|m| m.from_plate).map(|m| (m.date, m.mass_kg)).collect()
}

#[test]
fn the_plates_body_mass_of_the_day_goes_into_the_athletes_record_and_out_again() {
    let mut state = squad("Ada");
    let ada = athlete(&state, "Ada");
    form(&mut state, "body-mass", &ada, [("date", "2026-01-01"), ("mass_kg", "61,2")]);
    let typed = BodyMass { date: TODAY, mass_kg: 61.2, from_plate: false };
    update(&mut state, Event::Home);
    // Three of one person: a weight unlike the day's others would be doubted.
    let files = demo_files();
    let first = &files[0];
    let own = files.iter().enumerate().filter(|(_, f)| f.athlete == first.athlete && f.test == first.test).map(|(at, _)| at);
    let all: Vec<Analysis> = own.take(3).map(|at| named(&format!("x{at}.csv"), at)).collect();
    drop_files(&mut state, &all);
    let ids: Vec<String> = state.heads.values().filter(|h| h.verdict == Verdict::Sound).map(|h| h.id.to_string()).collect();
    let mut masses: Vec<f64> = ids.iter().map(|id| state.heads[id.as_str()].body_mass_kg).collect();
    assert!(ids.len() >= 3, "{ids:?}");
    for id in ids.iter().take(3) {
        update(&mut state, Event::FileUnder(id.clone(), "Ada".into(), None));
    }
    masses.truncate(3);
    masses.sort_by(f64::total_cmp);
    let rounded = |kg: f64| (kg * 100.0).round() / 100.0;
    // One row a day: the median; what was typed in stays and is what counts.
    assert_eq!(from_plates(&state, &ada), [(TODAY, rounded(masses[1]))]);
    assert!(state.athletes[&ada].body.body_mass.contains(&typed));
    assert_eq!(state.athletes[&ada].body.body_mass_on(TODAY), Some(61.2));
    assert!(
        views::page(&State { screen: Screen::Athlete(ada.clone()), ..state.clone() }).into_string().contains("plates, median of the day")
    );
    // Undo takes the last trial out of it, and each before.
    update(&mut state, Event::Undo);
    let two: Vec<f64> = ids.iter().take(2).map(|id| state.heads[id.as_str()].body_mass_kg).collect();
    assert_eq!(from_plates(&state, &ada), [(TODAY, rounded((two[0] + two[1]) / 2.0))]);
    update(&mut state, Event::Undo);
    update(&mut state, Event::Undo);
    assert_eq!(state.athletes[&ada].body.body_mass, [typed]);
    // Filed on one day and moved to another with its session; removed, it is gone.
    update(&mut state, Event::FileUnder(ids[0].clone(), "Ada".into(), None));
    let session = state.days()[0].envelope.id.clone();
    form(&mut state, "session", &session, [("date", "2025-12-30")]);
    assert_eq!(from_plates(&state, &ada), [(Date(20_452), rounded(state.heads[ids[0].as_str()].body_mass_kg))]);
    update(&mut state, Event::Remove(ids[0].clone()));
    assert!(from_plates(&state, &ada).is_empty());
}

#[test]
fn a_clearance_says_by_whom_for_what_and_when_it_ends() {
    let mut state = squad("Ada");
    let ada = athlete(&state, "Ada");
    let row = |until: &'static str| [("class", "drops"), ("by", "J. Doe, physiotherapist"), ("date", "2025-12-01"), ("until", until)];
    // One that ends before it begins, and one by nobody, are none.
    form(&mut state, "clearance", &ada, row("2025-11-01"));
    form(&mut state, "clearance", &ada, [("class", "drops"), ("by", " "), ("date", "2025-12-01"), ("until", "2026-02-01")]);
    assert!(state.athletes[&ada].body.clearances.is_empty());
    form(&mut state, "clearance", &ada, row("2026-01-01"));
    update(&mut state, Event::Go(Screen::Athlete(ada.clone())));
    let page = views::page(&state).into_string();
    assert!(page.contains("J. Doe, physiotherapist") && page.contains("2026-01-01") && !page.contains(">expired<"));
    // The day after its last it says so.
    update(&mut state, Event::Today(Date(TODAY.0 + 1)));
    assert!(views::page(&state).into_string().contains("<strong>expired</strong>"));
}

#[test]
fn a_minor_without_a_guardians_consent_is_named_as_such() {
    let mut state = squad("Ada");
    let ada = athlete(&state, "Ada");
    let page = |state: &mut State, fields: &[(&str, &str)]| {
        let fields = fields.iter().map(|(n, v)| ((*n).to_owned(), (*v).to_owned())).collect();
        form(state, "athlete", &ada, Fields(fields));
        update(state, Event::Go(Screen::Athlete(ada.clone())));
        views::page(state).into_string()
    };
    let missing = "no guardian’s consent is noted";
    assert!(page(&mut state, &[("birth_year", "2010")]).contains(missing));
    assert!(!page(&mut state, &[("birth_year", "2010"), ("consent_by", "A. Parent"), ("consent_date", "2025-12-01")]).contains(missing));
    assert!(!page(&mut state, &[("birth_year", "1998")]).contains(missing));
}

#[test]
fn days_are_written_as_the_browser_does_and_fields_keep_iso() {
    let mut state = squad("Ada");
    state.locale.date = "d.m.y".into();
    update(&mut state, Event::Home);
    drop_files(&mut state, &[named("Ada_2025-11-03_CMJ_1.csv", 0)]);
    let ada = athlete(&state, "Ada");
    let session = state.days()[0].envelope.id.clone();
    for screen in [Screen::Start, Screen::Sessions, Screen::Session(session), Screen::Squad, Screen::Athlete(ada)] {
        update(&mut state, Event::Go(screen.clone()));
        let page = views::page(&state).into_string();
        assert!(page.contains("03.11.2025"), "{screen:?}: {page}");
        // Outside tags no day is left in ISO but in the file's own name.
        let text: String = page.split('<').filter_map(|part| part.split_once('>').map(|p| p.1)).collect::<Vec<_>>().join(" ");
        assert!(!text.replace("Ada_2025-11-03", "").contains("2025-11-03"), "{screen:?}: {text}");
    }
    let session = state.days()[0].envelope.id.clone();
    update(&mut state, Event::Go(Screen::Session(session)));
    assert!(views::page(&state).into_string().contains("type=\"date\" name=\"date\" required value=\"2025-11-03\""));
    assert_eq!(views::title(&state), "Test day 03.11.2025 – Tarsal");
}
