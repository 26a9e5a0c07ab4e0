//! The demo squad taken in as the page takes it in, and a block from proposal to retest.
use tarsal::advice::blocks::Edit;
use tarsal::answer::analyze;
use tarsal::cohort::change::Verdict;
use tarsal::invented::{DemoFile, demo_dates, demo_days};
use tarsal::people::Date;
use tarsal::records::{Pool, SavedTrial, WindowHead, migrate};
use tarsal::screen::study::columns;
use tarsal::screen::{Arrived, Event, Fields, Screen, State, update};

/// The day on which the page is opened, invented: 2026-03-02.
pub const TODAY: Date = Date(20_514);

/// What became of the squad.
pub struct Squad {
    /// The page's state with everything in it.
    pub state: State,
    /// Files read.
    pub files: usize,
    /// Letters in them.
    pub letters: usize,
    /// Stretches that were no trial.
    pub left_out: Vec<(String, String)>,
    /// Files that hold another test than they were made as.
    pub wrong: Vec<String>,
    /// Files kept back: the last day of somebody.
    pub later: Vec<DemoFile>,
}

pub fn id_of(name: &str) -> String {
    migrate::athlete_id_of(name)
}

fn take(squad: &mut Squad, demo: &DemoFile) {
    let analysis = analyze(&demo.name, demo.text.as_bytes(), &demo.options);
    let answer = &analysis.answer;
    assert!(answer.error.is_none(), "{}: {:?}", demo.name, answer.error);
    squad.files += 1;
    squad.letters += demo.text.len();
    squad.left_out.extend(answer.left_out.iter().map(|l| (demo.name.clone(), l.why.clone())));
    if !answer.trials.iter().any(|t| t.test == demo.test) {
        squad.wrong.push(format!("{}: {:?}", demo.name, answer.trials.iter().map(|t| t.test).collect::<Vec<_>>()));
    }
    let windows = analysis.windows.iter().map(|w| WindowHead::packed(w).0).collect();
    let arrived = Arrived { answer: analysis.answer, windows, athlete: Some(demo.athlete.clone()) };
    update(&mut squad.state, Event::Analysed(0, Box::new(arrived)));
}

/// The figures of everything in the state, as the store would give them.
pub fn pool(state: &mut State) {
    let trials: Vec<SavedTrial> = state.trials().cloned().collect();
    let ids = columns();
    let ids: Vec<&str> = ids.iter().map(String::as_str).collect();
    update(state, Event::Pooled(Box::new(Pool::of(&trials, &ids))));
}

/// All files read and filed; with a name, that athlete's last day is kept back.
pub fn squad(but_last_of: Option<&str>) -> Squad {
    let state = State { width: 1000.0, now: "2026-03-02T08:00:00Z".into(), ..State::default() };
    let mut squad = Squad { state, files: 0, letters: 0, left_out: vec![], wrong: vec![], later: vec![] };
    update(&mut squad.state, Event::Loaded(Box::default()));
    update(&mut squad.state, Event::Today(TODAY));
    update(&mut squad.state, Event::Demo);
    let last = demo_dates(TODAY)[3].to_string();
    for demo in demo_days(TODAY) {
        if but_last_of == Some(demo.athlete.as_str()) && demo.date == last {
            squad.later.push(demo);
        } else {
            take(&mut squad, &demo);
        }
    }
    update(&mut squad.state, Event::DemoDone);
    pool(&mut squad.state);
    squad
}

pub fn go(state: &mut State, screen: Screen) {
    update(state, Event::Go(screen));
    assert!(state.study.is_some());
}

pub fn press(state: &mut State, what: &str, id: &str) {
    update(state, Event::Do(what.into(), id.into()));
}

/// Leaves the page where `TARSAL_SHOTS` says, to be looked at.
pub fn look(name: &str, state: &State) {
    let Some(folder) = std::env::var_os("TARSAL_SHOTS").map(std::path::PathBuf::from) else { return };
    let css = include_str!("../../www/app.css");
    for (size, width) in [("1280", 1280.0), ("360", 360.0)] {
        let page = tarsal::views::page(&State { width, ..state.clone() }).into_string();
        let head = "<meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width\">";
        let html =
            format!("<!doctype html><html lang=\"en\" data-ready=\"true\">{head}<style>{css}</style><div id=\"app\">{page}</div></html>");
        std::fs::write(folder.join(format!("{name}-{size}.html")), html).unwrap();
    }
}

fn edit(state: &mut State, edit: &Edit) {
    let id = serde_json::to_string(edit).unwrap();
    press(state, "block-edit", &id);
}

/// A block made on the day after the tests, changed by hand, refused, undone; then five weeks later the retest.
pub fn block_and_retest(mut squad: Squad) {
    let name = "Invented Poplar";
    let id = id_of(name);
    let [_, _, tested, again] = demo_dates(TODAY);
    let state = &mut squad.state;
    // On the day of the tests themselves a block is proposed for when 48 hours are over, and says so.
    update(state, Event::Today(tested));
    go(state, Screen::Athlete(id.clone()));
    press(state, "block-propose", &id);
    let (key, early) = state.study.as_ref().unwrap().block.clone().expect("a block");
    assert_eq!(early.starts, tested.plus_days(2));
    assert!(state.message.as_ref().is_some_and(|m| m.text.contains(&format!("It begins on {}", early.starts))), "{:?}", state.message);
    assert!(state.study.as_ref().unwrap().brief.plan.as_ref().unwrap().rows.iter().all(|r| r.closed.is_empty()));
    press(state, "block-remove", &key);
    assert!(state.study.as_ref().unwrap().block.is_none());
    update(state, Event::Today(tested.plus_days(2)));
    go(state, Screen::Athlete(id.clone()));
    println!("before: {}", state.study.as_ref().unwrap().brief.sentence);
    // Before an aim is chosen it is said what would judge it, from where on it is worthwhile, and what a retest shows.
    let page = |state: &State| tarsal::views::page(state).into_string().replace('\u{a0}', " ");
    let shown = page(state);
    assert!(shown.matches("worthwhile from ").count() >= 4 && shown.matches("the retest shows ").count() >= 4, "{shown}");
    let aims = || ["braking_force", "landing", "rebound"].map(|aim| ("aim".to_owned(), aim.to_owned())).to_vec();
    update(state, Event::Form("block-plan".into(), id.clone(), Fields(aims())));
    assert!(page(state).contains("A block aims at most at two; 3 are ticked.") && state.study.as_ref().unwrap().block.is_none());
    press(state, "block-propose", &id);
    let (key, block) = state.study.as_ref().unwrap().block.clone().expect("a block");
    assert_eq!(block.tested_on, tested);
    assert!(!block.targets.is_empty() && block.targets.len() <= 2 && block.retest > block.starts);
    for target in &block.targets {
        println!("target {} before {} smallest {:?} %", target.figure, target.before, target.smallest_percent);
        assert!(target.before.is_finite() && target.smallest_percent.is_some_and(|p| p > 0.0));
    }
    // Before the block nothing is judged by its targets: the figure was picked on this very day.
    assert!(state.study.as_ref().unwrap().sorted.targets.is_empty());
    let sets = block.rows[0].doses[0].sets;
    edit(state, &Edit::Sets { row: 0, week: 0, sets: 1 });
    let now = |state: &State| state.study.as_ref().unwrap().block.clone().unwrap().1;
    assert_eq!(now(state).rows[0].doses[0].sets, 1);
    assert_eq!(state.blocks[&key].envelope.rev, 2);
    edit(state, &Edit::Sets { row: 0, week: 0, sets: 250 });
    assert!(state.refused.is_some() && now(state).rows[0].doses[0].sets == 1);
    update(
        state,
        Event::Form("block-field".into(), r#"{"edit":"sets","row":0,"week":0}"#.into(), Fields(vec![("sets".into(), "many".into())])),
    );
    // What was typed stays in its field, with the reason at it; the next entry that is taken clears both.
    let shown = page(state);
    let field = shown.split("id=\"block-0-sets-0\"").nth(1).unwrap().split("</span>").next().unwrap();
    assert!(field.contains("value=\"many\"") && field.contains("aria-invalid") && field.contains("That is no number"), "{field}");
    update(state, Event::Form("block-field".into(), r#"{"edit":"note"}"#.into(), Fields(vec![("note".into(), "indoors".into())])));
    assert!(state.refused.is_none() && !page(state).contains("value=\"many\"") && page(state).contains("Judged by"));
    update(state, Event::Undo);
    update(state, Event::Undo);
    assert_eq!(now(state).rows[0].doses[0].sets, sets);
    targets_are_chosen_and_taken_out(state);

    // Five weeks later.
    update(&mut squad.state, Event::Today(again.plus_days(1)));
    for demo in std::mem::take(&mut squad.later) {
        take(&mut squad, &demo);
    }
    pool(&mut squad.state);
    let study = squad.state.study.as_ref().unwrap();
    assert_eq!(study.days.last(), Some(&again));
    assert_eq!((study.sorted.targets.len(), study.block.is_some()), (block.targets.len(), true));
    // What it aimed at is judged beyond the drift that a figure picked for being low shows untrained, the rest is seen beside it.
    for change in &study.sorted.targets {
        let name = &block.targets.iter().find(|t| t.figure == change.figure).unwrap().name;
        println!(
            "{name}: {:.3} → {:.3}, drift {:?}, {:?} {:?}",
            change.before.value,
            change.after.value,
            change.drift,
            change.beyond_drift(),
            change.verdict
        );
        assert_eq!((change.before.days.as_slice(), change.after.days.as_slice()), ([tested].as_slice(), [again].as_slice()));
        assert!(change.drift.is_some_and(|d| d > 0.0) && change.interval.is_some() && change.worthwhile.is_some());
        assert!(matches!(change.verdict, Verdict::WorthwhileBetter | Verdict::NotSurelyWorthwhile { better: true }));
    }
    assert!(!study.sorted.also_seen.is_empty());
    let html = tarsal::views::page(&squad.state).into_string();
    assert!(
        html.contains("Remove the block") && html.contains(&block.targets[0].name.to_lowercase()) || html.contains(&block.targets[0].name)
    );
}

/// Another target from the list, none, and the first ones again; a row swapped and swapped back.
fn targets_are_chosen_and_taken_out(state: &mut State) {
    let page = |state: &State| tarsal::views::page(state).into_string();
    let now = |state: &State| state.study.as_ref().unwrap().block.clone().unwrap().1;
    let first = now(state);
    let aims = state.study.as_ref().unwrap().aims.clone();
    println!("{} figures to judge the block by", aims.len());
    assert!(first.targets.iter().all(|t| aims.iter().any(|a| a.target == *t)) && aims.len() > 10);
    let other = aims.iter().map(|a| &a.target).find(|t| !first.targets.contains(t)).unwrap();
    let choose = |state: &mut State, value: String| {
        let fields = Fields(vec![("target".into(), value)]);
        update(state, Event::Form("block-field".into(), r#"{"edit":"target","place":0}"#.into(), fields))
    };
    choose(state, serde_json::to_string(other).unwrap());
    assert_eq!(now(state).targets[0], *other);
    let shown = page(state);
    let chosen = shown.split("id=\"block-target-0\"").nth(1).unwrap().split("</select>").next().unwrap();
    assert!(chosen.matches(" selected").count() == 1 && chosen.contains("worthwhile from") && chosen.contains("the retest shows"));
    update(state, Event::Undo);
    look("block", state);
    while !now(state).targets.is_empty() {
        edit(state, &Edit::Target { place: 0, target: None });
    }
    assert!(page(state).contains("No target figure chosen yet"));
    first.targets.iter().for_each(|_| drop(update(state, Event::Undo)));
    let swapped = Fields(vec![("exercise".into(), "heavy_squat".into())]);
    update(state, Event::Form("block-field".into(), r#"{"edit":"swap","row":0}"#.into(), swapped));
    assert_eq!(now(state).rows[0].exercise, "heavy_squat");
    update(state, Event::Undo);
    assert_eq!(now(state), first);
}
