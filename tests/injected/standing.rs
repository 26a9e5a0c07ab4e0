//! Standing that cannot be weighed on: lost and filled by a straight line, or not in the recording; and what a weight is uncertain
//! by. Truth is the invented jump's own weight.
use super::{empty, read};
use crate::Case;
use tarsal::answer::{FileAnswer, Options, Trial, Verdict, analyze_recording};
use tarsal::invented::kinds::rebounds::{Bounce, Rebounds};
use tarsal::invented::{G, Jump, Plates, Scene};
use tarsal::recording::Recording;

fn plates() -> Plates {
    Plates { noise_n: 1.0, step_n: 0.1, zero_n: [1.6, -2.3], seed: 5, ..Plates::default() }
}

fn scene() -> Scene {
    Jump { quiet_s: 2.0, after_s: 2.5, ..Jump::default() }.scene().expect("exists")
}

/// How far the mass is from the truth, and its uncertainty, kg.
fn mass_off(trial: &Trial, scene: &Scene) -> (f64, f64) {
    let mass = trial.system_mass_kg.expect("a mass");
    ((mass.value - scene.weight_n() / G).abs(), mass.u)
}

fn says(trial: &Trial, code: &str) -> bool {
    trial.notices.iter().any(|n| n.code == code)
}

/// An output cut at 0 hides a zero error of up to some newtons a plate (methods §1.4), and that stands under the weight.
#[test]
fn a_hidden_zero_error_is_within_the_uncertainty_of_mass() {
    for zero_n in [-3.0, -1.9, -1.0, 1.0] {
        let scene = scene();
        let plates = Plates { clamped: zero_n < 0.0, zero_n: [zero_n; 2], ..plates() };
        let trial = read(&Case { scene: scene.clone(), plates, options: Options::default() }).expect("read");
        let (off, u) = mass_off(&trial, &scene);
        assert!(off <= 2.2 * u, "{zero_n} N a plate: {off:.3} kg with u {u:.3}");
        // Both tell the same weight.
        let weight = trial.weighing.as_ref().expect("weighed").weight_n;
        assert!((weight.u / G - u).abs() < 1e-9 && (weight.value / G - trial.system_mass_kg.expect("a mass").value).abs() < 1e-9);
        // Where the zero level is read, a weight is known to some tens of grams.
        assert!(if zero_n > 0.0 { u < 0.06 } else { u > 0.2 }, "{zero_n}: {u}");
    }
}

/// A straight line stands stiller than anybody. Standing that was lost does not count: 1 s of what was recorded is sound, half a
/// second gives a height in doubt, less none (methods §2).
#[test]
fn lost_standing_is_not_stood_still() {
    let begins = scene().event("movement_start");
    // From … to, s; the least and the most seconds of standing that are recorded after it.
    for (from, to) in
        [(0.05, begins - 0.15), (0.2, begins - 0.2), (0.3, begins - 0.11), (0.5, begins - 0.4), (0.5, begins - 0.8), (0.2, 0.6)]
    {
        let case = Case { scene: scene(), plates: Plates { gaps: vec![(from, to)], ..plates() }, options: Options::default() };
        let trial = read(&case).unwrap_or_else(|| panic!("{from}–{to}: not read"));
        let left = begins - to;
        let height = trial.figures["jump_height"].value;
        let what = format!("{from}–{to}: {:?}, {height:?}, {:?}", trial.verdict, trial.notices);
        assert_eq!(trial.verdict == Verdict::Sound, left > 1.1, "{what}");
        assert_eq!(height.is_some(), left > 0.6, "{what}");
        assert!(trial.figures["jump_height_flight_time"].value.is_some(), "{what}");
        assert!(left > 1.1 || says(&trial, "short_weighing") || says(&trial, "weighed_after"), "{what}");
        let (off, u) = mass_off(&trial, &case.scene);
        assert!(off <= 3.0 * u, "{what}: {off} kg with u {u}");
        let weighing = trial.weighing.as_ref().expect("weighed");
        assert!(weighing.to_s <= from + 0.01 || weighing.from_s >= to - 0.01, "{what}: {weighing:?}");
    }
}

/// A plate that reads one number all the time is told as that: not as a person who never left the plates, and not as sound standing.
#[test]
fn a_stuck_plate_is_named() {
    let stuck = |mut recording: Recording, channels: &[usize]| {
        channels.iter().for_each(|c| recording.channels[*c].force_n.fill(353.0));
        analyze_recording(empty(), &recording, &Options::default()).answer
    };
    let whole = plates().recording(&scene());
    for (channels, plate) in [(&[1][..], "right plate reads 353.0 N"), (&[0], "left plate reads 353.0 N")] {
        let answer = stuck(whole.clone(), channels);
        assert!(answer.trials.is_empty() && !answer.left_out.is_empty(), "{:?}", answer.trials);
        assert!(answer.left_out.iter().all(|l| l.why.contains(plate)), "{:?}", answer.left_out);
    }
    // A person who stands, on one stuck plate and on two.
    for channels in [&[0][..], &[0, 1]] {
        let standing = stuck(whole.window(0, 1900).clone(), channels);
        for trial in &standing.trials {
            assert_eq!(trial.verdict, Verdict::Unusable, "{:?}", trial.notices);
        }
        let standing = stuck(Plates { noise_n: 1.0, ..plates() }.recording(&long()).window(0, 5000), channels);
        let [trial] = standing.trials.as_slice() else { panic!("{:?}", standing.left_out) };
        assert!(trial.verdict == Verdict::Unusable && says(trial, "plate_stuck"), "{:?}", trial.notices);
    }
    // The other plate of a test of one leg reads nothing, and that is no fault.
    let one_leg = {
        let mut recording = whole.clone();
        let sum: Vec<f32> = recording.channels[0].force_n.iter().zip(&recording.channels[1].force_n).map(|(l, r)| l + r).collect();
        recording.channels[0].force_n = sum;
        recording.channels[1].force_n.fill(0.0);
        analyze_recording(empty(), &recording, &Options::default()).answer
    };
    assert!(one_leg.trials.iter().all(|t| !says(t, "plate_stuck")) && one_leg.trials.len() == 1, "{:?}", one_leg.left_out);
}

/// Five seconds of standing before a jump.
fn long() -> Scene {
    Jump { quiet_s: 6.0, ..Jump::default() }.scene().expect("exists")
}

/// In a set of hops cut out of its middle nobody stands still: weight is unknown, and nothing is given by the kilogram.
#[test]
fn without_a_weight_nothing_is_given_per_kilogram() {
    let scene = Rebounds { bounces: vec![Bounce { contact_s: 0.18, height_m: 0.2 }; 7], ..Rebounds::default() }.scene().expect("exists");
    let middle = |air: &(f64, f64)| air.1 + 0.09;
    let (from, to) = (middle(&scene.air[1]), middle(&scene.air[6]));
    let answer = cut(&scene, from, to);
    let [trial] = answer.trials.as_slice() else { panic!("{:?}", answer.left_out) };
    assert!(says(trial, "weight_unknown") && trial.verdict == Verdict::Doubtful && trial.system_mass_kg.is_none(), "{:?}", trial.notices);
    assert!(trial.figures["mean_contact_time"].value.is_some());
    for (id, figure) in trial.figures.iter().filter(|f| f.0.ends_with("_per_kg")) {
        assert!(figure.value.is_none() && figure.why.is_some(), "{id}: {figure:?}");
    }
}

/// The jump as recorded from `from_s` on, to `to_s`.
fn cut(scene: &Scene, from_s: f64, to_s: f64) -> FileAnswer {
    let whole = plates().recording(scene);
    let at = |s: f64| ((s * whole.clock.rate_hz) as usize).min(whole.len());
    analyze_recording(empty(), &whole.window(at(from_s), at(to_s)), &Options::default()).answer
}

/// A recording that was started too late: every tenth of a second from the stance to the flight. What is left is read by the
/// stance after the landing, and what needs the one before is withheld with its why.
#[test]
fn a_recording_started_late_is_weighed_after_the_landing() {
    for depth_m in [0.2, 0.3, 0.4] {
        let scene = Jump { quiet_s: 2.0, after_s: 2.5, depth_m, ..Jump::default() }.scene().expect("exists");
        let (begins, off) = (scene.event("movement_start"), scene.event("take_off"));
        let starts = (0..).map(|k| 0.5 + 0.1 * f64::from(k)).take_while(|s| *s < off - 0.02);
        for from_s in starts {
            let answer = cut(&scene, from_s, scene.end_s());
            let [trial] = answer.trials.as_slice() else { panic!("from {from_s}: {:?}", answer.left_out) };
            let figure = |id: &str| trial.figures.get(id).unwrap_or_else(|| panic!("{id} from {from_s}"));
            let what = format!("depth {depth_m}, from {from_s} (moves at {begins:.2}, off at {off:.2}): {:?}", trial.notices);
            assert!(answer.left_out.is_empty(), "{what} {:?}", answer.left_out);
            let (wrong, u) = mass_off(trial, &scene);
            assert!(wrong <= 3.0 * u, "{what}: mass off by {wrong:.3} with u {u:.3}");
            let flight = figure("jump_height_flight_time").value.expect("a flight");
            let t = scene.event("touchdown") - off;
            assert!((flight - G * t * t / 8.0).abs() < 0.005, "{what}: {flight}");
            if from_s > begins - 0.5 {
                assert_eq!(trial.verdict, Verdict::Doubtful, "{what}");
                let height = figure("jump_height");
                assert!(height.value.is_none() && height.why.as_deref().is_some_and(|w| w.contains("quiet standing")), "{what} {height:?}");
                assert!(says(trial, "weighed_after") || says(trial, "short_weighing"), "{what}");
                // A quarter of a second of standing, of which a tenth is the guard before the movement, is not none.
                assert!(from_s > begins - 0.25 || says(trial, "short_weighing"), "{what}");
            }
        }
    }
}

/// The same where it was stopped in the landing as well: nobody stands still in it. It is refused, and for that.
#[test]
fn a_recording_of_the_jump_alone_is_refused_for_its_true_reason() {
    let scene = scene();
    let off = scene.event("take_off");
    let starts = (0..).map(|k| 1.3 + 0.1 * f64::from(k)).take_while(|s| *s < off - 0.02);
    for from_s in starts {
        let answer = cut(&scene, from_s, scene.event("touchdown") + 0.15);
        for trial in &answer.trials {
            assert!(trial.verdict != Verdict::Sound, "from {from_s}: {:?}", trial.notices);
            let (wrong, u) = mass_off(trial, &scene);
            assert!(wrong <= (3.0 * u).max(0.02 * scene.weight_n() / G), "from {from_s}: {wrong} with {u}");
        }
        for left in &answer.left_out {
            assert!(left.why.contains("quiet standing"), "from {from_s}: {}", left.why);
        }
        assert!(answer.trials.len() + answer.left_out.len() == 1, "from {from_s}: {:?}", answer.left_out);
    }
}
