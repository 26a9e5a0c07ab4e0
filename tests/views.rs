//! What the page says, read as text: names escaped, nothing that the policy forbids, digits, withheld figures.
mod fixture;

use std::rc::Rc;
use tarsal::charts::Layers;
use tarsal::charts::number::Locale;
use tarsal::recording::ReadError;
use tarsal::records::Record;
use tarsal::screen::{Job, JobState, Open, Screen, State};
use tarsal::views;

fn state() -> State {
    let saved = fixture::saved();
    let mut open = Open::waiting("abc-0");
    let window = fixture::window();
    open.layers = Layers { velocity: true, displacement: true, power: true };
    open.take(window.clone(), &saved);
    if open.curves.time_s.is_empty() {
        let at = |share: f64| {
            window
                .channels
                .iter()
                .map(|c| &c.force_n)
                .fold(vec![0.0; 4000], |sum: Vec<f64>, c| sum.iter().zip(c).map(|(a, b)| a + share * f64::from(*b)).collect())
        };
        open.curves.time_s = (0..4000).map(|i| f64::from(i) / 1000.0).collect();
        (open.curves.force_n, open.curves.left_n, open.curves.right_n) = (at(1.0), at(0.48), at(0.52));
    }
    let screen = Screen::Trial("abc-0".into());
    let mut state = State { width: 1200.0, loaded: true, screen, open: Some(open), ..State::default() };
    state.insert(Record::Trial(Rc::new(saved)));
    state
}

fn html(state: &State) -> String {
    // Spaces that keep a number and its unit together read as spaces here.
    views::page(state).into_string().replace('\u{a0}', " ")
}

#[test]
fn a_trial_is_told_in_words_before_numbers() {
    let page = html(&state());
    assert!(page.contains("Countermovement jump, 31.2 ± 0.6 cm high"));
    assert!(page.contains("Use this trial with care.") && page.contains("Standing still lasted only 0.8 s."));
    assert!(page.contains("stand still for two seconds."));
    assert!(page.contains("not a diagnosis") || page.contains("no diagnosis"));
}

#[test]
fn a_trusted_trial_says_that_flight_time_gives_another_height() {
    let page = |apart_m: f64, u: f64| {
        let mut state = state();
        let mut saved = fixture::saved();
        saved.trial.verdict = tarsal::answer::Verdict::Sound;
        let height = saved.trial.figures["jump_height"].clone();
        let flight = tarsal::answer::Figure { value: height.value.map(|h| h + apart_m), u: Some(u), ..height };
        saved.trial.figures.insert("jump_height_flight_time".into(), flight);
        state.insert(Record::Trial(Rc::new(saved)));
        html(&state)
    };
    // The height of the fixture has u = 3 mm.
    assert!(page(0.0114, 0.002).contains("can be trusted.</strong> By flight time the jump is 1.1 cm more: legs bent at landing."));
    assert!(page(-0.0114, 0.002).contains("By flight time the jump is 1.1 cm less: landed taller than at take-off."));
    // Less than a centimetre, or within both uncertainties, nothing is said.
    assert!(!page(0.009, 0.001).contains("By flight time") && !page(0.011, 0.006).contains("By flight time"));
}

#[test]
fn nothing_on_the_page_needs_what_the_policy_forbids_and_names_are_escaped() {
    let mut start = state();
    start.screen = Screen::Start;
    let error =
        ReadError::new("text", "Line 7 <b>is</b> not a number.", "Export again.").row(7).column(2).found("<i>").expected("a number");
    start.jobs.push(Job { state: JobState::Failed(error), ..Job::waiting(1, "<img>.csv", 9.0) });
    for page in [html(&state()), html(&start)] {
        for forbidden in [" style=", "<script", "javascript:", " onclick", "<img"] {
            assert!(!page.contains(forbidden), "{forbidden} in the page");
        }
    }
    let page = html(&start);
    assert!(page.contains("line 7, column 2") && page.contains("&lt;i&gt;") && page.contains("Export again."));
}

#[test]
fn withheld_figures_are_a_dash_with_the_reason_and_twins_share_a_row() {
    let page = html(&state());
    assert!(page.contains("Force does not rise steadily while braking."));
    assert!(page.contains("id=\"figure-braking_rate_of_force_development\""));
    assert!(page.contains("1543") && page.contains("20.82"));
    assert!(!page.contains("id=\"figure-peak_braking_force_per_kg\""));
}

#[test]
fn figures_of_each_side_say_how_they_are_made_and_after_whom() {
    let page = html(&state());
    let why = page.split("id=\"why-sides\"").nth(1).and_then(|rest| rest.split("</details>").next()).expect("why");
    assert!(why.contains("∫F dt of each plate over braking, cut on the total"), "{why}");
    assert!(why.contains("ours: gross force of each plate") && why.contains("McMahon et al. 2018"), "{why}");
    assert_eq!(why.matches("class=\"formula\"").count(), fixture::trial().sides.len(), "{why}");
}

#[test]
fn the_drawing_has_movable_events_and_named_phases() {
    let page = html(&state());
    // Six events and the reading cursor.
    assert_eq!(page.matches("role=\"slider\"").count(), 7);
    assert!(page.contains("braking 200 ms") && page.contains("flight 500 ms"));
    let mut edited = state();
    edited.insert(Record::Trial(Rc::new(fixture::moved())));
    let page = html(&edited);
    assert!(page.contains("moved by hand (found at 2.3000)") && page.contains("Moved by hand: take-off, which may be why."));
}

#[test]
fn a_comma_locale_writes_commas() {
    let mut state = state();
    state.locale = Locale { decimal: ',', ..Locale::default() };
    assert!(html(&state).contains("31,2 ± 0,6 cm"));
}

#[test]
fn a_reader_of_inches_and_pounds_reads_no_centimetres_and_no_kilograms() {
    let metric = state();
    assert!(!fixture::imperial::metric_left(&html(&metric)).is_empty());
    let mut state = metric.clone();
    state.locale.imperial = true;
    let mut saved = fixture::saved();
    let says = "Flight time gives 2.0 cm more than take-off velocity: usually a landing with bent legs; else the weighing.";
    saved.trial.notices.push(tarsal::recording::Notice::new("bent_landing", says));
    state.insert(Record::Trial(Rc::new(saved)));
    let page = html(&state);
    // 31.23 ± 0.6 cm / 2.54; 73.42 ± 0.1 kg / 0.453 592 37; 2.0 cm / 2.54.
    for says in
        ["Countermovement jump, 12.3 ± 0.2 in high", "body mass 161.9 ± 0.2 lb", "Flight time gives 0.79 in more", "displacement, in<"]
    {
        assert!(page.contains(says), "{says}");
    }
    assert_eq!(fixture::imperial::metric_left(&page), Vec::<String>::new());
    // Forces, what is per kilogram, times and speeds are as they were.
    for same in ["per kg ±", "1543<span class=\"spread\"> ± 12", "velocity, m/s", " ms"] {
        assert!(page.contains(same), "{same}");
    }
    // Every other screen of the same state; the storage screen says what stays.
    for screen in [Screen::Start, Screen::Squad, Screen::Sessions, Screen::Plates, Screen::Storage] {
        state.screen = screen.clone();
        assert_eq!(fixture::imperial::metric_left(&html(&state)), Vec::<String>::new(), "{screen:?}");
    }
    state.screen = Screen::Storage;
    assert!(html(&state).contains("<option value=\"imperial\" selected>"));
    // What is kept is what it was: the page alone is told otherwise.
    assert!(state.trials().all(|t| t.trial.notices.iter().all(|n| !n.message.contains(" in more"))));
}

/// `TARSAL_SHOTS=folder` also leaves the pages there, to be looked at.
#[test]
fn pages_can_be_looked_at() -> std::io::Result<()> {
    let Some(folder) = std::env::var_os("TARSAL_SHOTS").map(std::path::PathBuf::from) else { return Ok(()) };
    for (name, width) in [("wide", 1280.0), ("phone", 360.0)] {
        let mut state = state();
        state.width = width;
        let css = include_str!("../www/app.css");
        let page = format!(
            "<!doctype html><meta charset=utf-8><meta name=viewport content='width=device-width'><style>{css}</style><div id=app>{}</div>",
            html(&state)
        );
        std::fs::write(folder.join(format!("{name}.html")), page)?;
    }
    Ok(())
}
