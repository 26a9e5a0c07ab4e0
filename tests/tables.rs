//! What the squad's figures are written and shown as: tables for other programs, published groups, force of two days over each
//! other, how far figures repeat, what came of a block. The files of tables are written to `target/tmp/tidy`, where
//! `tests/reference/read_tidy.py` reads them with other people's programs.
#[path = "study/demo.rs"]
#[allow(dead_code, reason = "shared with the test of the squad")]
mod demo;

use std::fs;
use std::path::Path;
use tarsal::answer::analyze;
use tarsal::invented::{demo_dates, demo_days};
use tarsal::people::Date;
use tarsal::recording::Recording;
use tarsal::records::tidy::{Flavour, resource};
use tarsal::records::{Record, SavedTrial, WindowHead, decode};
use tarsal::screen::tables::{What, of_squad, of_study};
use tarsal::screen::{Effect, Event, Fields, Screen, State, update};

/// The squad as the page has it once all files are in.
fn squad() -> State {
    demo::squad(None).state
}

const NAME: &str = "Invented Poplar";
const ALL: [What; 5] = [What::Standing, What::Change, What::Repeatability, What::Sides, What::History];

fn at_the_athlete() -> (State, String) {
    let (mut state, id) = (squad(), demo::id_of(NAME));
    demo::go(&mut state, Screen::Athlete(id.clone()));
    (state, id)
}

fn form(state: &mut State, name: &str, fields: &[(&str, &str)]) -> Vec<Effect> {
    let fields = fields.iter().map(|(n, v)| ((*n).to_owned(), (*v).to_owned())).collect();
    update(state, Event::Form(name.into(), demo::id_of(NAME), Fields(fields)))
}

fn page(state: &State) -> String {
    tarsal::views::page(state).into_string()
}

fn downloaded(effects: Vec<Effect>) -> (String, String) {
    match effects.as_slice() {
        [Effect::Download(name, text)] => (name.clone(), text.clone()),
        other => panic!("{other:?}"),
    }
}

/// Rows of a CSV text, header first.
fn rows(text: &str, delimiter: u8) -> Vec<Vec<String>> {
    let text = text.strip_prefix('\u{feff}').expect("the mark of UTF-8");
    let mut reader = csv::ReaderBuilder::new().has_headers(false).delimiter(delimiter).from_reader(text.as_bytes());
    reader.records().map(|r| r.expect("rows of one length").iter().map(str::to_owned).collect()).collect()
}

/// Where `tests/reference/read_tidy.py` finds the tables.
fn put(name: &str, text: &str) {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("tidy");
    fs::create_dir_all(&folder).unwrap();
    fs::write(folder.join(name), text).unwrap();
}

/// Saves a table of the athlete in all its forms, holds them against each other and keeps them to be read by other programs.
fn of_the_athlete(state: &mut State, what: What) {
    let plain = downloaded(form(state, "export-study", &[("table", what.word()), ("form", "csv")]));
    let comma = downloaded(form(state, "export-study", &[("table", what.word()), ("form", "csv"), ("flavour", "comma")]));
    let json = downloaded(form(state, "export-study", &[("table", what.word()), ("form", "json")]));
    // A reader of inches and pounds hands over the same.
    state.locale.imperial = true;
    assert_eq!(downloaded(form(state, "export-study", &[("table", what.word()), ("form", "csv")])), plain);
    assert_eq!(downloaded(form(state, "export-study", &[("table", what.word()), ("form", "json")])), json);
    state.locale.imperial = false;
    let (a, b) = (rows(&plain.1, b','), rows(&comma.1, b';'));
    let columns = what.columns();
    assert_eq!(a[0], columns.iter().map(|c| c.name).collect::<Vec<_>>());
    assert!(a.len() > 1 && a.len() == b.len(), "{what:?}");
    let kept = of_study(state, state.study.as_ref().unwrap(), what);
    let data: serde_json::Value = serde_json::from_str(&json.1).unwrap();
    for (i, own) in kept.iter().enumerate() {
        for (j, column) in columns.iter().enumerate() {
            let (plain, comma, cell) = (&a[i + 1][j], &b[i + 1][j], &data["data"][i + 1][j]);
            match column.kind {
                "number" | "integer" if own[j].is_empty() => assert!(plain.is_empty() && comma.is_empty() && cell.is_null()),
                "number" | "integer" => {
                    let value: f64 = own[j].parse().unwrap();
                    assert_eq!((plain.parse(), comma.replace(',', ".").parse(), cell.as_f64()), (Ok(value), Ok(value), Some(value)));
                    assert!(!comma.contains('.'));
                }
                "boolean" => assert!(own[j].is_empty() == cell.is_null() && (cell.is_null() || cell.is_boolean())),
                _ => assert!(plain == own[j].as_str() || *plain == format!("'{}", own[j]), "{plain}"),
            }
        }
    }
    if columns[0].name == "athlete" {
        assert!(a[1][0].starts_with("'=1+1") && data["data"][1][0] == "=1+1; \"Poplar\"");
    }
    for (name, text, flavour) in [("plain", &plain.1, Flavour::Plain), ("comma", &comma.1, Flavour::DecimalComma)] {
        let path = format!("{}-{name}.csv", what.word());
        put(&path, text);
        put(&format!("{}-{name}.resource.json", what.word()), &resource(what.word(), &path, columns, flavour).to_string());
    }
    put(&format!("{}.json", what.word()), &json.1);
}

#[test]
fn tables_of_the_athlete_and_of_everybody_are_written_and_read_back() {
    let (mut state, id) = at_the_athlete();
    // A name that a spreadsheet would calculate.
    state.athletes.get_mut(&id).unwrap().body.name = "=1+1; \"Poplar\"".into();
    for what in ALL {
        of_the_athlete(&mut state, what);
    }
    // Everybody's, from the storage page: first the figures are asked for, then the file is handed over.
    update(&mut state, Event::Go(Screen::Storage));
    assert!(page(&state).contains("how far figures repeat"));
    for what in ALL {
        let asked = form(&mut state, "export", &[("table", what.word()), ("form", "csv")]);
        assert!(matches!(asked.as_slice(), [Effect::Pool(_)]) && state.storage.busy.is_some());
        let pool = state.pool.clone().unwrap();
        let (_, text) = downloaded(update(&mut state, Event::Pooled(Box::new(pool.clone()))));
        assert!(state.storage.busy.is_none() && state.storage.wanted.is_none());
        let all = rows(&text, b',');
        assert_eq!(all.len(), of_squad(&state, &pool, what).len() + 1);
        println!("{what:?}: {} rows of everybody", all.len() - 1);
        assert!(all.len() > if what == What::Repeatability { 10 } else { 20 }, "{what:?} {}", all.len());
        put(&format!("squad-{}-plain.csv", what.word()), &text);
        let path = format!("squad-{}-plain.csv", what.word());
        put(
            &format!("squad-{}-plain.resource.json", what.word()),
            &resource(what.word(), &path, what.columns(), Flavour::Plain).to_string(),
        );
    }
    // Each leg's own days and the limits of the chart on the page are in the history.
    let study = state.study.clone().unwrap_or_else(|| {
        demo::go(&mut state, Screen::Athlete(id.clone()));
        state.study.clone().unwrap()
    });
    let history = of_study(&state, &study, What::History);
    let days: usize = study.charts.iter().map(|c| c.1.points.len()).chain(study.legs.iter().map(|l| l.chart.points.len())).sum();
    assert!(history.len() == days && ["left", "right"].iter().all(|side| history.iter().any(|r| r[4] == *side)));
    let (figure, chart) = &study.charts[0];
    for (row, point) in history.iter().filter(|r| r[3] == *figure && r[4].is_empty()).zip(&chart.points) {
        assert_eq!((row[5].as_str(), row[10].as_str()), (point.day.to_string().as_str(), if point.outside { "true" } else { "false" }));
        let limits = (row[8].parse().unwrap_or(f64::NAN), row[9].parse().unwrap_or(f64::NAN));
        assert!((limits.0, limits.1) == (chart.centre.low, chart.centre.high) || chart.centre.low.is_nan());
    }
    // The squad's standing is the page's own, where the group is everybody.
    state.athletes.get_mut(&id).unwrap().body.name = NAME.into();
    demo::go(&mut state, Screen::Athlete(id));
    let own = of_study(&state, state.study.as_ref().unwrap(), What::Standing);
    let all = of_squad(&state, state.pool.as_ref().unwrap(), What::Standing);
    let figure = |rows: &[Vec<String>]| rows.iter().find(|r| r[0] == NAME && r[4] == "mean_braking_force_per_kg").cloned();
    assert_eq!(figure(&own), figure(&all));
    assert!(figure(&own).is_some());
}

const TABLE: &str = "figure,test,group,mean,sd,unit,n,citation\n\
    mean_braking_force_per_kg,countermovement_jump,an invented league,19,2,N/kg,40,Nobody 2020 (invented)\n\
    jump_height,countermovement_jump,an invented league,35,5,cm,40,Nobody 2020 (invented)\n\
    jump_hight,countermovement_jump,an invented league,35,5,cm,40,Nobody 2020\n";

#[test]
fn published_groups_are_kept_shown_with_their_source_removed_and_brought_back() {
    let (mut state, _) = at_the_athlete();
    let effects = form(&mut state, "reference", &[("table", TABLE)]);
    let [Effect::Save(saved)] = effects.as_slice() else { panic!("{effects:?}") };
    assert_eq!(decode(&saved[0].to_text()).unwrap(), saved[0]);
    let Record::Reference(kept) = &saved[0] else { panic!() };
    assert_eq!((kept.body.rows.len(), state.not_taken.len()), (2, 1));
    let shown = page(&state);
    assert!(
        shown.contains("Beside published groups") && shown.matches("Nobody 2020 (invented)").count() == 3,
        "{}",
        shown.matches("Nobody").count()
    );
    assert!(shown.contains("Line 4, column figure"));
    // Sent again, nothing comes twice.
    assert!(form(&mut state, "reference", &[("table", TABLE)]).is_empty() && state.references.len() == 1);
    let id = kept.envelope.id.clone();
    update(&mut state, Event::Do("remove-reference".into(), id.clone()));
    assert!(!page(&state).contains("Nobody 2020 (invented)") && state.references[&id].removed);
    update(&mut state, Event::Undo);
    assert!(page(&state).contains("Nobody 2020 (invented)"));
    assert!(form(&mut state, "reference", &[("table", "not a table")]).is_empty());
    assert!(!state.not_taken.is_empty());
}

fn overlay_of(state: &State) -> &tarsal::screen::Overlay {
    state.overlay.as_ref().expect("curves")
}

/// The force of an athlete's countermovement jumps of two days, as the store would give it.
fn windows(state: &State, days: (Date, Date)) -> Vec<(SavedTrial, Recording)> {
    let wanted = [days.0.to_string(), days.1.to_string()];
    let mut found = Vec::new();
    for file in demo_days(demo::TODAY).filter(|f| f.athlete == NAME && wanted.contains(&f.date)) {
        for window in analyze(&file.name, file.text.as_bytes(), &file.options).windows {
            let head = WindowHead::packed(&window).0;
            let saved = state.trials().find(|s| s.window == head && s.file == file.name);
            found.extend(saved.map(|s| (s.clone(), window.clone())));
        }
    }
    found
}

#[test]
fn two_days_of_force_are_laid_over_each_other_once_compared() {
    let (mut state, _) = at_the_athlete();
    let dates = demo_dates(demo::TODAY);
    let (before, after) = (dates[1].to_string(), dates[3].to_string());
    assert!(!page(&state).contains("Curves over each other"));
    let effects = form(&mut state, "compare-days", &[("before", &before), ("after", &after)]);
    let [Effect::Windows(ids)] = effects.as_slice() else { panic!("{effects:?}") };
    let all = windows(&state, (dates[1], dates[3]));
    let trials: Vec<_> = all.into_iter().filter(|(saved, _)| ids.contains(&saved.envelope.id)).collect();
    assert_eq!(trials.len(), ids.len(), "every trial asked for is a countermovement jump of those days");
    update(&mut state, Event::Windows(trials.clone()));
    let overlay = state.overlay.clone().unwrap();
    let pair = overlay.by_phase.as_ref().unwrap();
    println!("{} before, {} after", pair.before.trials, pair.after.trials);
    assert_eq!((pair.x.len(), pair.phases.len()), (91, 3));
    assert!(pair.before.mean.iter().chain(&pair.after.mean).all(|f| f.is_finite() && (0.0..10_000.0).contains(f)));
    // At take-off nobody pushes: the force there is the threshold's, far below body weight.
    let weight_n = trials[0].0.trial.body_mass_kg.unwrap() * 9.81;
    let time = overlay.in_time.as_ref().unwrap();
    let at = time.x.iter().position(|t| t.abs() < 1e-9).unwrap();
    assert!(time.after.mean[at] < 0.1 * weight_n, "{}", time.after.mean[at]);
    assert!((pair.before.mean[0] / weight_n - 1.0).abs() < 0.1, "at the onset he stands");
    assert!(page(&state).contains("Curves over each other"));
    // With six trials a side there is a band (the same trials twice: only that it is drawn is asked here).
    let twice: Vec<_> = (0..6).flat_map(|_| trials.clone()).collect();
    update(&mut state, Event::Windows(twice));
    let band = state.overlay.as_ref().unwrap().by_phase.as_ref().unwrap();
    assert!(band.difference.is_some() && band.before.trials >= 6 && page(&state).contains("spread the curves part"));
    // Their points with the bands are a table of their own.
    let points: usize = [&overlay_of(&state).by_phase, &overlay_of(&state).in_time].into_iter().flatten().map(|p| 3 * p.x.len()).sum();
    assert!(page(&state).contains("value=\"curves\""));
    state.athletes.get_mut(&demo::id_of(NAME)).unwrap().body.name = "=1+1; \"Poplar\"".into();
    of_the_athlete(&mut state, What::Curves);
    let rows = of_study(&state, state.study.as_ref().unwrap(), What::Curves);
    assert_eq!(rows.len(), points);
    assert!(rows.iter().all(|r| r[10].parse::<f64>().unwrap() <= r[9].parse().unwrap() && !r[11].is_empty()));
    assert!(rows.iter().filter(|r| r[3] == "phases").all(|r| !r[8].is_empty()));
    // Another comparison takes them away.
    form(&mut state, "compare-days", &[("before", &dates[0].to_string()), ("after", &after)]);
    assert!(state.overlay.is_none() && !page(&state).contains("Curves over each other"));
}

#[test]
fn how_far_figures_repeat_stands_on_the_page_with_its_source() {
    let (state, _) = at_the_athlete();
    let study = state.study.as_ref().unwrap();
    let figures: std::collections::BTreeSet<&str> = study.repeatability.iter().map(|r| r.figure.as_str()).collect();
    assert!(figures.len() == study.repeatability.len() && figures.len() == study.standings.len(), "each figure once");
    let shown = page(&state);
    assert!(shown.contains("How far figures repeat") && shown.contains("Typical error"));
    assert!(study.repeatability.iter().any(|r| r.noise.is_some()));
}

#[test]
fn what_came_of_a_block_stands_under_it_and_in_both_reports() {
    let (mut state, id) = at_the_athlete();
    let dates = demo_dates(demo::TODAY);
    // The squad's own block makes way for one of the reader's.
    state.blocks.clear();
    update(&mut state, Event::Today(demo::TODAY));
    demo::press(&mut state, "block-propose", &id);
    if state.study.as_ref().unwrap().block.is_none() {
        form(&mut state, "block-plan", &[("aim", "propulsion_force")]);
    }
    assert!(state.study.as_ref().unwrap().outcome.is_none(), "no later test yet");
    // As if it had been made after the day before the last.
    let (key, mut plan) = state.study.as_ref().unwrap().block.clone().unwrap();
    (plan.tested_on, plan.starts, plan.weeks) = (dates[2], dates[2].plus_days(1), 3);
    let block = state.blocks.get_mut(&key).unwrap();
    block.body.as_object_mut().unwrap().insert("plan".into(), serde_json::to_value(&plan).unwrap());
    update(&mut state, Event::Today(demo::TODAY));
    let outcome = state.study.as_ref().unwrap().outcome.clone().expect("a later test");
    assert_eq!(outcome.days, (dates[2], dates[3]));
    assert_eq!(outcome.targets.len(), plan.targets.len());
    for (target, change) in &outcome.targets {
        println!("{}: {:?}", target.figure, change.as_ref().map(|c| c.verdict));
        assert!(change.is_some());
    }
    let shown = page(&state);
    assert!(shown.contains("Before and after") && shown.contains(&outcome.next));
    for (coach, heading) in [(true, "Before and after"), (false, "What came of it")] {
        let (_, text) = tarsal::views::report_file(&state, coach).unwrap();
        // The coach's page says what next; the athlete's has no intervals and leaves that to the coach.
        assert!(text.contains(heading) && text.contains(&outcome.next) == coach);
        assert!(coach || outcome.under_way || text.contains("What you did") && text.contains("for your coach to plan"));
        // To be looked at: its pages are counted by eye.
        let name = format!("after-{}.html", if coach { "coach" } else { "athlete" });
        fs::write(Path::new(env!("CARGO_TARGET_TMPDIR")).join(name), text).unwrap();
    }
}
