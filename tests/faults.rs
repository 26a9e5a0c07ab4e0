//! Faults put into a good recording by hand, through the whole path from text: each must cost the trial its verdict,
//! with the right cause named, and none may invent a jump.
#[allow(dead_code)] // its `main` is the example's
#[path = "../examples/analyze.rs"]
mod program;

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

#[test]
fn a_unit_that_no_person_weighs_in_is_asked_about() {
    let scaled = |factor: f64, header: &str| {
        let mut text = header.to_string();
        for [t, l, r] in sample() {
            text += &format!("{t},{:.3},{:.3}\n", l * factor, r * factor);
        }
        analyze("unit.csv", text.as_bytes(), &Options::default()).answer
    };
    let asked = |answer: &FileAnswer| -> Vec<String> {
        let notices = &answer.recording.as_ref().expect("read").notices;
        notices.iter().filter(|n| n.code == "unit_unclear" && n.next_time.is_some()).map(|n| n.message.clone()).collect()
    };
    let (unnamed, newtons) = ("time (s),left,right\n", "time (s),left (N),right (N)\n");
    // Kilograms, pounds and millinewtons without their name, and kilograms called newtons.
    for (factor, header) in [(1.0 / 9.80665, unnamed), (1.0 / 9.80665, newtons), (1.0 / 4.4482216, unnamed), (1000.0, unnamed)] {
        let answer = scaled(factor, header);
        let asked = asked(&answer);
        assert!(asked.len() == 1 && asked[0].starts_with("Which unit is this?"), "{factor} {header}: {asked:?}");
        assert!(answer.trials.iter().all(|t| t.verdict != Verdict::Sound), "{factor} {header}");
    }
    for (factor, header) in [(1.0, unnamed), (1.0, newtons), (0.5, newtons), (2.0, newtons)] {
        assert_eq!(asked(&scaled(factor, header)), Vec::<String>::new(), "{factor} {header}");
    }
}

#[test]
fn options_that_cannot_be_meant_are_refused_before_a_file_is_read() {
    let call = |words: &str| program::arguments(words.split(' ').map(String::from).chain(["a.csv".to_string()]));
    for (words, found, expected) in [
        ("--gravity 0", "\"0\"", "9.7 to 9.9"),
        ("--gravity -9.8", "\"-9.8\"", "9.7 to 9.9"),
        ("--gravity 1e300", "", "9.7 to 9.9"),
        ("--gravity nan", "nan", "a number"),
        ("--latitude 500", "\"500\"", "-90 to 90 degrees"),
        ("--altitude 100", "an altitude alone", "a latitude"),
        ("--latitude 50 --altitude inf", "inf", "a number"),
        ("--low-pass -3", "\"-3\"", "1 to 1000 Hz"),
        ("--low-pass 1e9", "\"1000000000\"", "1 to 1000 Hz"),
        ("--rate 0", "\"0\"", "10 to 200000 Hz"),
        ("--rate 1e30", "", "10 to 200000 Hz"),
        ("--mass 0", "\"0\"", "10 to 300 kg"),
        ("--onset-sd -1", "\"-1\"", "1 to 50"),
        ("--box -1", "\"-1\"", "0.01 to 2 m"),
        ("--load -5", "\"-5\"", "0 to 500 kg"),
        ("--load 501", "\"501\"", "0 to 500 kg"),
    ] {
        let Err(message) = call(words) else { panic!("{words} is taken") };
        assert!(message.contains(found) && message.contains(expected), "{words}: {message}");
    }
    for words in
        ["--gravity 9.81", "--latitude -33.9 --altitude 1700", "--low-pass 50", "--rate 1000", "--mass 72.5", "--load 0", "--box 0.3"]
    {
        let (options, _, files) = call(words).unwrap_or_else(|e| panic!("{words}: {e}"));
        assert!(options.checked().is_ok() && files == ["a.csv"], "{words}");
    }
    // What came as numbers that are none is refused, too: a page may hand over anything.
    for bad in [f64::NAN, f64::INFINITY] {
        assert!(Options { mass_kg: Some(bad), ..Options::default() }.checked().is_err());
        assert!(Options { gravity: bad, ..Options::default() }.checked().is_err());
    }
}
