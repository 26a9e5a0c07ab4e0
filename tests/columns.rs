//! The promise: how a file's columns were understood can be read, overruled, confirmed once, and is known the next time.
use tarsal::invented::Jump;
use tarsal::recording::{KnownLayout, ReadOptions, Reader, Recording, Role, explain};
use tarsal::records::Record;
use tarsal::screen::{Effect, Event, Fields, State, update};

/// Eight load cells without a header, the first four of the plate that bears more.
fn eight_cells() -> String {
    let jump = Jump { share_right: [0.44; 5], ..Jump::default() };
    let truth = jump.truth().expect("a default jump has a motion");
    let [left, right] = jump.record(&truth);
    let mut text = String::new();
    for (i, (l, r)) in left.iter().zip(&right).enumerate() {
        text.push_str(&format!("{:.3}", i as f64 / 1000.0));
        for force in [l, r] {
            for part in [0.31, 0.27, 0.22, 0.20] {
                text.push_str(&format!(";{:.2}", force * part));
            }
        }
        text.push('\n');
    }
    text
}

fn read(text: &str, options: &ReadOptions) -> Recording {
    let mut reader = Reader::new(options);
    reader.feed(text.as_bytes()).expect("readable");
    reader.finish().expect("readable")
}

fn first(r: &Recording, role: Role) -> f32 {
    r.channel(role).and_then(|c| c.first()).copied().expect("a sample")
}

#[test]
fn the_guess_says_why_and_what_else_it_could_be() {
    let explained = explain(eight_cells().as_bytes(), true, &ReadOptions::default()).expect("a table");
    let roles: Vec<&str> = explained.columns.iter().map(|c| c.role.as_str()).collect();
    assert_eq!(roles, ["time", "left", "left", "left", "left", "right", "right", "right", "right"]);
    assert!(explained.question.as_deref().is_some_and(|q| q.starts_with("Which plate is left?")), "{:?}", explained.question);
    assert!(explained.runner_up.as_deref().is_some_and(|r| r.contains("total")), "{:?}", explained.runner_up);
    for column in &explained.columns {
        assert!(!column.why.is_empty() && column.values.len() == 4 && column.trace.len() > 100);
        let best = column.scores.first().expect("scores");
        assert!(best.score > 0 && !best.why.is_empty(), "{best:?}");
    }
    // A named file: the header's words carry the score, and nothing is asked.
    let named = "time (s),left (N),right (N)\n".to_string()
        + &(0..200).map(|i| format!("{:.3},350.{},341.2\n", f64::from(i) / 1000.0, i % 10)).collect::<String>();
    let explained = explain(named.as_bytes(), true, &ReadOptions::default()).expect("a table");
    assert_eq!(explained.question, None);
    assert_eq!(explained.columns[1].scores[0].role, "left");
    assert!(explained.columns[1].scores[0].score > explained.columns[1].scores[1].score);
}

#[test]
fn the_scores_look_at_weights_at_repetition_and_at_neighbours() {
    let jump = Jump::default();
    let truth = jump.truth().expect("a default jump has a motion");
    let [left, right] = jump.record(&truth);
    let mut text = String::new();
    for (i, (l, r)) in left.iter().zip(&right).enumerate() {
        // A reference signal of 50 Hz beside two plates.
        let pulse = 400.0 + 380.0 * tarsal::force::math::sin(i as f64 * std::f64::consts::TAU * 0.05);
        text.push_str(&format!("{:.3};{l:.2};{r:.2};{pulse:.2}\n", i as f64 / 1000.0));
    }
    let explained = explain(text.as_bytes(), true, &ReadOptions::default()).expect("a table");
    let of = |column: usize, role: &str| explained.columns[column].scores.iter().find(|s| s.role == role).cloned().expect("the role");
    for column in [1, 2] {
        let left = of(column, "left");
        assert!(left.why.contains("half of it") && left.why.contains("beside it"), "{left:?}");
        assert!(left.score > of(column, "-").score && !left.why.contains("repeats"), "{left:?}");
    }
    let pulse = of(3, "-");
    assert!(pulse.why.contains("repeats itself evenly") && pulse.score > of(3, "total").score, "{pulse:?}");
}

#[test]
fn a_confirmed_layout_is_used_for_files_of_its_kind_alone() {
    let text = eight_cells();
    let guessed = read(&text, &ReadOptions::default());
    let explained = explain(text.as_bytes(), true, &ReadOptions::default()).expect("a table");
    let known = KnownLayout {
        fingerprint: explained.fingerprint,
        name: explained.name,
        columns: "time:s,right:N,right,right,right,left,left,left,left".into(),
        rate_hz: None,
    };
    let options = ReadOptions { known: vec![known], ..ReadOptions::default() };
    let read_so = read(&text, &options);
    assert_eq!(first(&read_so, Role::Right), first(&guessed, Role::Left));
    assert_eq!(first(&read_so, Role::Left), first(&guessed, Role::Right));
    assert!(read_so.notices.iter().all(|n| n.code != "sides_guessed"), "what was confirmed is not asked again");
    assert!(explain(text.as_bytes(), true, &options).expect("a table").known);
    // Two columns without a header are another kind of file.
    let other: String = (0..200).map(|i| format!("{:.3};350.{}0;341.20\n", f64::from(i) / 1000.0, i % 10)).collect();
    assert_eq!(read(&other, &options), read(&other, &ReadOptions::default()));
}

fn analysed_options(effects: &[Effect]) -> Option<&tarsal::answer::Options> {
    effects.iter().find_map(|e| match e {
        Effect::Analyse(_, options) => Some(&**options),
        _ => None,
    })
}

#[test]
fn the_panel_overrules_confirms_and_remembers() {
    let mut state = State { loaded: true, now: "2024-05-01T10:00:00Z".into(), ..State::default() };
    let effects = update(&mut state, Event::Files(vec![(1, "eight.txt".into(), 10.0)]));
    assert!(analysed_options(&effects).is_some_and(|o| o.known.is_empty() && o.columns.is_none()));
    let effects = update(&mut state, Event::Do("columns".into(), "1".into()));
    assert!(matches!(effects[..], [Effect::Look(1, _)]));
    let explained = explain(eight_cells().as_bytes(), true, &ReadOptions::default());
    update(&mut state, Event::Looked(1, Box::new(explained)));
    update(&mut state, Event::Do("columns-swap".into(), String::new()));
    let panel = state.columns.clone().expect("the panel is open");
    assert!(panel.complete() && panel.spec().starts_with("time:s,right,right,right,right,left"), "{}", panel.spec());
    // By hand: the last cell left out, the first turned round.
    let mut fields: Vec<(String, String)> = Vec::new();
    for (k, choice) in panel.choices.iter().enumerate() {
        fields.push((format!("role-{k}"), if k == 8 { "-".into() } else { choice.role.clone() }));
        fields.push((format!("unit-{k}"), if k == 0 { "s".into() } else { "N".into() }));
        fields.push((format!("sign-{k}"), if k == 1 { "down".into() } else { String::new() }));
    }
    fields.push(("remember".into(), "on".into()));
    update(&mut state, Event::Form("columns-draft".into(), String::new(), Fields(fields)));
    let spec = state.columns.as_ref().expect("open").spec();
    assert_eq!(spec, "time:s,right:-N,right:N,right:N,right:N,left:N,left:N,left:N,-");
    // The file is still with the worker; once it has answered, it is read again by the choices.
    state.jobs[0].state = tarsal::screen::JobState::Done(vec![], vec![], 0);
    let effects = update(&mut state, Event::Do("columns-confirm".into(), String::new()));
    assert!(state.columns.is_none());
    assert!(effects.iter().any(|e| matches!(e, Effect::Save(records) if matches!(records[..], [Record::Layout(_)]))));
    let options = analysed_options(&effects).expect("read again");
    assert_eq!(options.columns.as_deref(), Some(spec.as_str()));
    assert_eq!(options.known.len(), 1);
    // Listed, handed over, taken in, changed, forgotten, and the last undone.
    let effects = update(&mut state, Event::Do("layouts-out".into(), String::new()));
    let Some(Effect::Download(_, text)) = effects.first() else { panic!("no file") };
    let mut colleague = State { loaded: true, ..State::default() };
    update(&mut colleague, Event::Form("layouts-in".into(), String::new(), [("layouts", text.as_str())].into()));
    let theirs = tarsal::screen::columns::remembered(&colleague);
    assert_eq!(theirs.iter().map(|(_, k)| k.columns.as_str()).collect::<Vec<_>>(), [spec.as_str()]);
    let id = theirs[0].0.clone();
    update(&mut colleague, Event::Form("layout".into(), id.clone(), [("columns", "time:s,total"), ("rate", "")].into()));
    assert_eq!(tarsal::screen::columns::remembered(&colleague)[0].1.columns, "time:s,total");
    update(&mut colleague, Event::Do("layout-forget".into(), id));
    assert!(tarsal::screen::columns::remembered(&colleague).is_empty());
    update(&mut colleague, Event::Undo);
    assert_eq!(tarsal::screen::columns::remembered(&colleague).len(), 1);
    update(&mut colleague, Event::Form("layouts-in".into(), String::new(), [("layouts", "nonsense")].into()));
    assert!(colleague.message.as_ref().is_some_and(|m| m.text.contains("no columns")));
}
