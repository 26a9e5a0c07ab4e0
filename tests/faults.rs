//! Faults put into a good recording by hand, through the whole path from text: each must cost the trial its verdict,
//! with the right cause named, and none may invent a jump.
use tarsal::answer::{FileAnswer, Options, TestKind, Verdict, analyze};

/// The rows of a committed sample: seconds, left, right.
fn sample() -> Vec<[f64; 3]> {
    let text = include_str!("../examples/recordings/invented-comma-two-plates.csv");
    let row = |line: &str| -> Option<[f64; 3]> {
        let cells: Vec<f64> = line.split(',').map_while(|c| c.parse().ok()).collect();
        cells.try_into().ok()
    };
    text.lines().filter_map(row).collect()
}

fn read(rows: &[[f64; 3]]) -> FileAnswer {
    let mut text = String::from("time (s),left (N),right (N)\n");
    for [t, l, r] in rows {
        text += &format!("{t},{l},{r}\n");
    }
    analyze("fault.csv", text.as_bytes(), &Options::default()).answer
}

/// The one trial has this verdict and leads with (or names) this cause.
fn told(rows: &[[f64; 3]], verdict: Verdict, code: &str) {
    let answer = read(rows);
    let [trial] = answer.trials.as_slice() else { panic!("{code}: {} trials, {:?}", answer.trials.len(), answer.left_out) };
    assert_eq!(trial.verdict, verdict, "{code}: {:?}", trial.notices);
    assert!(trial.notices.iter().any(|n| n.code == code && n.next_time.is_some()), "{code}: {:?}", trial.notices);
    if verdict == Verdict::Unusable {
        assert!(trial.figures.values().all(|f| f.value.is_none() && f.why.is_some()));
    }
}

#[test]
fn the_sample_itself_is_sound() {
    let answer = read(&sample());
    assert_eq!(answer.trials.iter().map(|t| t.verdict).collect::<Vec<_>>(), [Verdict::Sound]);
}

#[test]
fn a_cut_top_makes_it_unusable() {
    let rows: Vec<_> = sample().into_iter().map(|[t, l, r]| [t, l.min(600.0), r.min(600.0)]).collect();
    told(&rows, Verdict::Unusable, "clipped");
}

#[test]
fn a_hole_at_an_event_makes_it_unusable() {
    let rows: Vec<_> = sample().into_iter().filter(|[t, ..]| !(2.60..2.66).contains(t)).collect();
    told(&rows, Verdict::Unusable, "gap");
}

#[test]
fn a_recording_that_ends_in_the_air_is_doubtful() {
    let rows: Vec<_> = sample().into_iter().filter(|[t, ..]| *t < 3.0).collect();
    told(&rows, Verdict::Doubtful, "no_landing");
}

#[test]
fn one_dead_plate_is_doubtful() {
    let rows: Vec<_> = sample().into_iter().map(|[t, _, r]| [t, 0.0, r]).collect();
    told(&rows, Verdict::Doubtful, "uneven_standing");
}

#[test]
fn a_plate_that_shifts_in_flight_is_doubtful() {
    // Half a percent of weight more from the landing on, as a plate does that was knocked.
    let rows: Vec<_> = sample().into_iter().map(|[t, l, r]| [t, if t > 3.3 { l + 12.0 } else { l }, r]).collect();
    told(&rows, Verdict::Doubtful, "closure");
}

#[test]
fn walking_across_invents_no_jump() {
    // Four steps: contacts of 0.65 s with a pause of 0.35 s between, each a double hump about a weight of 700 N.
    let eighth = |y: f64| (y * y) * (y * y) * (y * y) * (y * y);
    let hump = |x: f64| 700.0 * (1.0 - eighth(2.0 * x - 1.0)) * (1.0 - 0.25 * (1.0 - (4.0 * x - 2.0).abs()).max(0.0));
    let force = |t: f64| if (t % 1.0) < 0.65 && t < 4.0 { hump((t % 1.0) / 0.65) } else { 0.0 };
    let rows: Vec<_> = (0..6000).map(|i| i as f64 / 1000.0).map(|t| [t, 0.5 * force(t), 0.5 * force(t)]).collect();
    let answer = read(&rows);
    assert!(answer.trials.is_empty(), "{:?}", answer.trials.iter().map(|t| t.verdict).collect::<Vec<_>>());
    assert!(!answer.left_out.is_empty());
}

#[test]
fn stepping_on_and_off_invents_no_jump() {
    let force = |t: f64| if (1.0..5.0).contains(&t) { 700.0 * ((t - 1.0) / 0.4).min(1.0).min((5.0 - t) / 0.4) } else { 0.0 };
    let rows: Vec<_> = (0..6000).map(|i| i as f64 / 1000.0).map(|t| [t, 0.5 * force(t), 0.5 * force(t)]).collect();
    let answer = read(&rows);
    assert!(answer.trials.is_empty() && answer.left_out.iter().all(|part| !part.why.is_empty()));
}

#[test]
fn a_test_that_it_cannot_be_is_said_and_not_passed_off() {
    let bytes = include_bytes!("../examples/recordings/invented-comma-two-plates.csv");
    let read_as = |test| analyze("jump.csv", bytes, &Options { test: Some(test), ..Options::default() }).answer;
    let other = read_as(TestKind::DropJump);
    assert!(other.trials.is_empty() && other.left_out.iter().any(|part| part.why.contains("empty plates")));
    assert_eq!(read_as(TestKind::CountermovementJump).trials.len(), 1);
}
