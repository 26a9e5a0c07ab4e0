//! An athlete's other trials beside one: the set's curves over each other though its trials are not at hand, plates swapped
//! against earlier days, a weight unlike the day's, a trial weighed by another of the day, and the plates' own check.
//!
//! `TARSAL_SHOTS=folder cargo test --test day_page look` also leaves the pages there, to be looked at.
mod fixture;

use fixture::day::{TODAY, day, page, plates, run, saved, state};
use fixture::kinds::document;
use tarsal::answer::{BY_DAY, Trial, Verdict, reread};
use tarsal::invented::Jump;
use tarsal::invented::kinds::drop::Drop;
use tarsal::invented::kinds::isometric::Isometric;
use tarsal::invented::kinds::squat_jump::SquatJump;
use tarsal::people::{PLACES, PlateCheck, PlateReading, Side};
use tarsal::recording::Recording;
use tarsal::records::{Head, Kept, Record, SavedTrial};
use tarsal::screen::{Event, Screen, State};

/// Jumps of one day; the `odd`th is a third lower.
fn jumps(n: usize, odd: Option<usize>) -> Vec<(SavedTrial, Recording)> {
    let one = |k: usize| {
        let (height_m, depth_m) =
            ([0.310, 0.314, 0.309, 0.306, 0.313, 0.311, 0.307][k % 7], [0.29, 0.299, 0.278, 0.297, 0.293, 0.28, 0.301][k % 7]);
        let height_m = if odd == Some(k) { 0.21 } else { height_m };
        let jump = Jump { height_m, depth_m, ..Jump::default() };
        saved(k + 1, &jump.scene().expect("exists"), &plates(k as u64 + 3), Some("a1"), TODAY)
    };
    (0..n).map(one).collect()
}

fn laid(trials: &[(SavedTrial, Recording)], width: f64) -> (State, String) {
    let mut state = state(trials, width);
    let id = trials[1].0.envelope.id.clone();
    run(&mut state, trials, Event::Open(id.clone()));
    run(&mut state, trials, Event::DrawRest);
    let asks = page(&state);
    let button = asks.split("data-do=\"lay-set\" data-id=\"").nth(1).and_then(|t| t.split('"').next()).expect("the set's button");
    run(&mut state, trials, Event::Do("lay-set".into(), button.into()));
    (state, id)
}

#[test]
fn a_set_whose_trials_are_not_at_hand_is_fetched_and_laid_over_each_other() {
    let trials = jumps(7, Some(4));
    let (mut state, _) = laid(&trials, 1280.0);
    let shown = page(&state);
    assert!(shown.contains("7 trials, one of which does not belong to the others"), "the table holds the whole set");
    let curves = shown.split("id=\"set-curves\"").nth(1).expect("the curves");
    assert!(curves.contains("Trial 5: does not belong to the others") && curves.contains("s from take-off"));
    // Six belong: the mean has its band, phase by phase; loops name their phases and leave the flight out.
    assert!(curves.contains("Mean of 6 trials. Shaded") && curves.contains("class=\"band\"") && curves.contains("left out."));
    for phase in ["unweighting", "braking", "propulsion", "flight", "landing"] {
        assert!(curves.contains(&format!("{phase} ")), "{phase}");
    }
    assert!(curves.contains("displacement, cm (0: standing)") && !curves.contains("NaN"));
    assert_eq!(state.set.as_ref().and_then(|s| s.laid.as_ref()).map(|l| l.trials.len()), Some(7));
    // Means of curves aligned at take-off: nobody presses at 0, everybody before it.
    for word in ["velocity", "displacement"] {
        run(&mut state, &trials, Event::Do("set-quantity".into(), word.into()));
        let shown = page(&state);
        assert!(shown.contains(&format!("data-id=\"{word}\" aria-pressed=\"true\"")) && shown.contains(&format!("{word}, ")));
    }
    state.locale.imperial = true;
    let shown = page(&state);
    assert!(shown.contains("displacement, in (0: standing)") && fixture::imperial::metric_left(&shown).is_empty());
    // Another trial's screen does not show them.
    run(&mut state, &trials, Event::Open(trials[2].0.envelope.id.clone()));
    assert!(state.set.is_none() && page(&state).contains("data-do=\"lay-set\""));
}

/// The same recording read at two places: height and force per kilogram go with gravity (`h = J²/(2 m²g)` with `m = W/g`), and a
/// set of both says so.
#[test]
fn a_set_read_with_different_gravity_says_so() {
    const TOLD: &str = "These trials were read with different gravity";
    let told = |gravity: f64| {
        let mut trials = jumps(3, None);
        let (saved, window) = &mut trials[2];
        saved.options.gravity = gravity;
        let before = saved.trial.clone();
        saved.trial = reread(window, &saved.options).expect("a jump");
        for id in ["jump_height", "mean_propulsion_force_per_kg"] {
            let value = |t: &Trial| t.figures[id].value.expect("given");
            let ratio = value(&saved.trial) / value(&before);
            assert!((ratio / (gravity / 9.806_65) - 1.0).abs() < 1e-4, "{id}: {ratio}");
        }
        assert_eq!(Head::of(saved).gravity.to_bits(), gravity.to_bits());
        page(&laid(&trials, 1280.0).0).replace('\u{a0}', " ")
    };
    assert!(!told(9.806_65).contains(TOLD) && !told(9.806_65 * 1.0004).contains(TOLD));
    let shown = told(9.832_19);
    assert_eq!(shown.matches(TOLD).count(), 1);
    // 9.83219 over 9.80665.
    assert!(shown.contains("9.807 m/s² and 9.832 m/s²") && shown.contains("per kilogram 0.26 % higher with the second"));
}

#[test]
fn few_trials_have_a_mean_and_no_band() {
    let trials = jumps(3, None);
    let (state, _) = laid(&trials, 1280.0);
    let shown = page(&state);
    assert!(shown.contains("Mean of 3 trials; a band needs six.") && !shown.contains("class=\"band\""));
}

#[test]
fn other_kinds_are_laid_at_their_own_instant() {
    let pulls: Vec<_> = (0..3)
        .map(|k| {
            let pull = Isometric { peak_n: 1500.0 + 40.0 * k as f64, ..Isometric::default() };
            saved(k + 1, &pull.scene(), &plates(k as u64), Some("a1"), TODAY)
        })
        .collect();
    let shown = page(&laid(&pulls, 360.0).0);
    assert!(shown.contains("s from onset") && shown.contains("rise "));
    let drops: Vec<_> =
        (0..2).map(|k| saved(k + 1, &Drop::default().scene().expect("exists"), &plates(k as u64), Some("a1"), TODAY)).collect();
    assert!(page(&laid(&drops, 360.0).0).contains("s from take-off"));
}

fn leaning(key: usize, right: f64, on: &str, athlete: Option<&str>) -> (SavedTrial, Recording) {
    let jump = Jump { share_right: [right; 5], ..Jump::default() };
    saved(key, &jump.scene().expect("exists"), &plates(key as u64), athlete, on)
}

#[test]
fn swapped_plates_are_told_when_a_trial_is_filed() {
    let mut trials: Vec<_> = (1..6).map(|k| leaning(k, 0.54 + 0.003 * k as f64, "2026-04-11", Some("a1"))).collect();
    trials.push(leaning(10, 0.45, TODAY, None));
    trials.push(leaning(11, 0.552, TODAY, None));
    let mut state = state(&trials, 1280.0);
    for (key, told) in [(5, true), (6, false)] {
        let id = trials[key].0.envelope.id.clone();
        run(&mut state, &trials, Event::FileUnder(id.clone(), "Ada Invented".into(), None));
        let now = &state.saved[&id].trial;
        assert_eq!(now.notices.iter().any(|n| n.code == "plates_swapped"), told, "{:?}", now.notices);
        // Heights do not care which plate is which.
        assert_eq!(now.verdict, Verdict::Sound);
        run(&mut state, &trials, Event::Open(id.clone()));
        run(&mut state, &trials, Event::DrawRest);
        let sides = page(&state);
        let sides = sides.split("id=\"sides\"").nth(1).expect("both sides");
        assert_eq!(sides.contains("Left and right have changed places"), told);
        // What was told stays when an event is moved.
        let earlier = state.saved[&id].trial.events["onset"] - 0.01;
        run(&mut state, &trials, Event::MoveEvent("onset".into(), Some(earlier)));
        assert_eq!(state.saved[&id].trial.notices.iter().any(|n| n.code == "plates_swapped"), told);
    }
}

/// A jump of a depth on a day, without an athlete where none is named.
fn deep(key: usize, depth_m: f64, on: &str, athlete: Option<&str>) -> (SavedTrial, Recording) {
    saved(key, &Jump { depth_m, ..Jump::default() }.scene().expect("exists"), &plates(key as u64), athlete, on)
}

/// Six jumps of an earlier day are 30 cm deep with a standard deviation of 1 cm: beyond two of those is told (methods §6), within
/// is not, and of another athlete's habit or of five jumps nothing is.
#[test]
fn a_depth_unlike_the_athletes_own_is_told_when_a_trial_is_filed() {
    let depths = [0.290, 0.292, 0.298, 0.302, 0.308, 0.310];
    let file = |earlier: usize, of: &str, depth_m: f64| {
        let mut trials: Vec<_> = depths.iter().take(earlier).zip(1..).map(|(d, k)| deep(k, *d, "2026-04-11", Some(of))).collect();
        trials.push(deep(20, depth_m, TODAY, None));
        let id = trials[earlier].0.envelope.id.clone();
        let mut state = state(&trials, 1280.0);
        run(&mut state, &trials, Event::FileUnder(id.clone(), "Ada Invented".into(), None));
        (state, trials, id)
    };
    let notice = |state: &State, id: &str| state.saved[id].trial.notices.iter().find(|n| n.code == "depth_unlike_own").cloned();
    for (earlier, of, depth_m, told) in [
        (6, "a1", 0.30, false),
        (6, "a1", 0.312, false),
        (6, "a1", 0.335, true),
        (6, "a1", 0.26, true),
        (5, "a1", 0.40, false),
        (6, "a2", 0.40, false),
    ] {
        let (state, _, id) = file(earlier, of, depth_m);
        let now = &state.saved[&id].trial;
        assert_eq!(notice(&state, &id).is_some(), told, "{earlier} of {of}, {depth_m}: {:?}", now.notices);
        assert_eq!(now.verdict, if told { Verdict::Doubtful } else { Verdict::Sound }, "{:?}", now.notices);
    }
    let (mut state, trials, id) = file(6, "a1", 0.36);
    let said = notice(&state, &id).expect("told");
    assert!(said.message.contains("36.0 cm deep") && said.message.contains("last 6") && said.message.contains("30.0 cm"), "{said:?}");
    assert!(said.message.contains("deviation of 0.8 cm") && said.next_time.is_some() && said.at_s.is_some(), "{said:?}");
    // It is kept with the record and when an event is moved; it is taken back where the trial leaves the athlete.
    let kept = serde_json::to_string(&*state.saved[&id]).expect("JSON");
    assert!(serde_json::from_str::<SavedTrial>(&kept).is_ok_and(|s| s.trial.notices.contains(&said)));
    run(&mut state, &trials, Event::Open(id.clone()));
    run(&mut state, &trials, Event::DrawRest);
    assert!(page(&state).contains("Another depth is another movement"));
    let earlier = state.saved[&id].trial.events["onset"] - 0.01;
    run(&mut state, &trials, Event::MoveEvent("onset".into(), Some(earlier)));
    assert!(notice(&state, &id).is_some() && state.saved[&id].trial.verdict == Verdict::Doubtful);
    run(&mut state, &trials, Event::FileUnder(id.clone(), "Ben Invented".into(), None));
    assert!(notice(&state, &id).is_none() && state.saved[&id].trial.verdict == Verdict::Sound, "{:?}", state.saved[&id].trial.notices);
}

#[test]
fn a_trial_without_a_weighing_is_weighed_by_another_of_the_day_when_asked_to() {
    let drop = Drop { after_s: 0.0, ..Drop::default() };
    let mut trials = vec![saved(1, &drop.scene().expect("exists"), &plates(4), Some("a1"), TODAY)];
    trials.extend([
        saved(2, &Jump::default().scene().expect("exists"), &plates(2), Some("a1"), TODAY),
        saved(3, &Jump { mass_kg: 90.0, ..Jump::default() }.scene().expect("exists"), &plates(3), Some("a2"), TODAY),
    ]);
    let id = trials[0].0.envelope.id.clone();
    let mut state = state(&trials, 1280.0);
    run(&mut state, &trials, Event::Open(id.clone()));
    run(&mut state, &trials, Event::DrawRest);
    assert!(state.saved[&id].trial.weighing.is_none(), "nothing happens unasked");
    let shown = page(&state);
    assert!(shown.contains("Weight unknown") && shown.contains("data-do=\"weigh-by-day\"") && shown.contains("weighed 72.0"));
    run(&mut state, &trials, Event::Do("weigh-by-day".into(), id.clone()));
    let trial = &state.saved[&id].trial;
    let weighing = trial.weighing.as_ref().expect("weighed now");
    assert_eq!(weighing.source, "in another trial of the same day");
    assert!((trial.body_mass_kg.expect("known") - 72.0).abs() < 0.1 && weighing.weight_n.u > 0.9, "{:?}", weighing.weight_n);
    let height = trial.figures["jump_height"].value.zip(trial.figures["jump_height"].u).expect("a height");
    let truth = tarsal::invented::truths(&drop.scene().expect("exists")).into_iter().find(|t| t.0 == "jump_height").expect("a truth").1;
    assert!((height.0 - truth).abs() < 2.0 * height.1.max(0.002), "{height:?}, true {truth}");
    assert!(page(&state).contains("Weighed in another trial of the same day (countermovement jump of the same day, invented-2.csv)"));
    // What another trial weighed is no second weighing of the day.
    let plates_say: Vec<f64> = state.athletes["a1"].body.body_mass.iter().map(|m| m.mass_kg).collect();
    assert_eq!(plates_say, [(100.0 * trials[1].0.trial.body_mass_kg.expect("known")).round() / 100.0]);
    // Nor where it is not at hand whole: with the one trial that weighs gone, the plates say nothing.
    let mut away = state.clone();
    away.saved.clear();
    run(&mut away, &trials, Event::Remove(trials[1].0.envelope.id.clone()));
    assert!(away.heads[id.as_str()].by_day && away.athletes["a1"].body.body_mass.is_empty(), "{:?}", away.athletes["a1"].body.body_mass);
    // Filed under another athlete it is read again without this one's weight; undo takes back both.
    run(&mut state, &trials, Event::FileUnder(id.clone(), "Ben Invented".into(), None));
    let moved = &state.saved[&id];
    assert!(moved.options.day_mass.is_none() && moved.trial.weighing.is_none(), "{:?}", moved.trial.weighing);
    run(&mut state, &trials, Event::Undo);
    assert!(state.saved[&id].options.day_mass.is_some() && state.saved[&id].trial.weighing.is_some());
    // Undo gives the trial back as it was.
    run(&mut state, &trials, Event::Undo);
    assert!(state.saved[&id].trial.weighing.is_none());
}

#[test]
fn a_weight_unlike_the_days_is_told() {
    let light = Jump { mass_kg: 69.5, ..Jump::default() };
    let mut trials = jumps(3, None);
    trials.push(saved(9, &light.scene().expect("exists"), &plates(4), None, TODAY));
    let id = trials[3].0.envelope.id.clone();
    let mut state = state(&trials, 1280.0);
    run(&mut state, &trials, Event::FileUnder(id.clone(), "Ada Invented".into(), None));
    let trial = &state.saved[&id].trial;
    assert!(told(trial).is_some() && trial.verdict == Verdict::Doubtful, "{:?}", trial.notices);
    // A jump is read by its own weighing: no other weight is offered, and the warning stays.
    let source = trial.weighing.as_ref().expect("weighed").source.clone();
    run(&mut state, &trials, Event::Open(id.clone()));
    run(&mut state, &trials, Event::DrawRest);
    assert!(!page(&state).contains("data-do=\"weigh-by-day\""));
    run(&mut state, &trials, Event::Do("weigh-by-day".into(), id.clone()));
    let trial = &state.saved[&id].trial;
    assert!(told(trial).is_some() && trial.weighing.as_ref().is_some_and(|w| w.source == source && source != BY_DAY));
    // Taken out of the athlete's file, nothing of his day is left on it.
    run(&mut state, &trials, Event::FileUnder(id.clone(), String::new(), None));
    let trial = &state.saved[&id].trial;
    assert_eq!((told(trial), trial.verdict), (None, Verdict::Sound));
}

/// What is told about a trial's weight against the day's.
fn told(trial: &Trial) -> Option<&str> {
    trial.notices.iter().find(|n| n.code == "weight_against_day").map(|n| n.message.as_str())
}

#[test]
fn a_doubted_pull_weighed_by_the_day_is_doubted_no_more() {
    let mut trials = jumps(2, None);
    let pull = Isometric { mass_kg: 68.0, ..Isometric::default() };
    trials.push(saved(9, &pull.scene(), &plates(4), None, TODAY));
    let (id, before) = (trials[2].0.envelope.id.clone(), trials[2].0.trial.verdict);
    let mut state = state(&trials, 1280.0);
    run(&mut state, &trials, Event::FileUnder(id.clone(), "Ada Invented".into(), None));
    assert!(told(&state.saved[&id].trial).is_some() && state.saved[&id].trial.verdict == Verdict::Doubtful);
    run(&mut state, &trials, Event::Open(id.clone()));
    run(&mut state, &trials, Event::DrawRest);
    assert!(page(&state).contains("data-do=\"weigh-by-day\""));
    run(&mut state, &trials, Event::Do("weigh-by-day".into(), id.clone()));
    let trial = &state.saved[&id].trial;
    assert_eq!(trial.weighing.as_ref().map(|w| w.source.as_str()), Some(BY_DAY));
    assert_eq!((told(trial), trial.verdict, before), (None, Verdict::Sound, Verdict::Sound), "{:?}", trial.notices);
}

#[test]
fn a_wrong_first_weighing_does_not_condemn_the_rest_of_the_day() {
    let one = |k: usize, mass_kg: f64| {
        let jump = Jump { mass_kg, ..Jump::default() };
        saved(k, &jump.scene().expect("exists"), &plates(k as u64), None, TODAY)
    };
    let trials = vec![one(1, 69.5), one(2, 72.0), one(3, 72.0)];
    let id = |k: usize| trials[k].0.envelope.id.clone();
    let mut state = state(&trials, 1280.0);
    let file = |state: &mut State, k: usize, name: &str| drop(run(state, &trials, Event::FileUnder(id(k), name.into(), None)));
    let said = |state: &State| [0, 1, 2].map(|k| state.trial(&id(k)).is_some_and(|s| told(&s.trial).is_some()));
    file(&mut state, 0, "Ada Invented");
    assert_eq!(said(&state), [false; 3]);
    // Of two nobody knows which is wrong: the later says so, and neither weighs for another.
    file(&mut state, 1, "Ada Invented");
    assert_eq!(said(&state), [false, true, false]);
    assert!(told(&state.saved[&id(1)].trial).is_some_and(|m| m.contains("one of the two is wrong")));
    // The third decides.
    file(&mut state, 2, "Ada Invented");
    assert_eq!(said(&state), [true, false, false]);
    let verdicts = [0, 1, 2].map(|k| state.saved[&id(k)].trial.verdict);
    assert_eq!(verdicts, [Verdict::Doubtful, Verdict::Sound, Verdict::Sound]);
    let plates_say: Vec<f64> = state.athletes["a1"].body.body_mass.iter().map(|m| m.mass_kg).collect();
    assert!(plates_say.len() == 1 && (plates_say[0] - 72.0).abs() < 0.2, "{plates_say:?}");
    // Its filing taken back, the others are asked again, and filed again it decides again.
    run(&mut state, &trials, Event::Undo);
    assert_eq!(said(&state), [false, true, false]);
    file(&mut state, 2, "Ada Invented");
    assert_eq!(said(&state), [true, false, false]);
    // Gone to another athlete, it decides no more.
    file(&mut state, 2, "Ben Invented");
    assert_eq!(said(&state), [false, true, false]);
    file(&mut state, 1, "");
    assert_eq!(said(&state), [false; 3]);
}

fn check(left: f64, right: f64, on: &str) -> Kept<PlateCheck> {
    let reading = |plate, place, percent: f64| PlateReading { plate, place, shown_kg: 20.0 * (1.0 + percent / 100.0) };
    let readings = PLACES.into_iter().flat_map(|p| [reading(Side::Left, p, left), reading(Side::Right, p, right)]).collect();
    let body = PlateCheck { date: day(on), plates: "pair A".into(), known_kg: 20.0, readings, left_is_left: Some(true) };
    Kept::new("plate_check", &format!("check-{on}"), body, "")
}

#[test]
fn a_trial_refers_to_the_plates_check_before_it() {
    let trials = jumps(1, None);
    let id = trials[0].0.envelope.id.clone();
    let shown = |checks: &[Kept<PlateCheck>]| {
        let mut state = state(&trials, 1280.0);
        checks.iter().for_each(|c| state.insert(Record::PlateCheck(c.clone())));
        run(&mut state, &trials, Event::Open(id.clone()));
        run(&mut state, &trials, Event::DrawRest);
        page(&state)
    };
    assert!(shown(&[]).contains("No check of the plates is noted before this trial"));
    // A later check says nothing about an earlier trial; of two before it the later one counts.
    let page = shown(&[check(2.0, 2.0, "2026-06-01"), check(3.0, 0.0, "2026-03-01"), check(-0.1, 0.4, "2026-05-01")]);
    assert!(page.contains("Plates (pair A) checked on 2026-05-01: left −0.1 %, right +0.4 %"), "the check is named");
    assert!(!page.contains("The check of"));
    let off = shown(&[check(0.2, 2.4, "2026-05-01")]);
    assert!(off.contains("found the right plate reading 2.2 % more than the other") && off.contains("off by about 1.1 % of the total"));
    assert!(off.contains("found the plates reading 1.3 % too much"));
}

/// Jumps with and without a countermovement, and two pulls, of one day; key, what, and how its record differs.
fn tested() -> Vec<(SavedTrial, Recording)> {
    let mut out = Vec::new();
    for (k, height_m) in [0.340, 0.346, 0.352].into_iter().enumerate() {
        let jump = Jump { height_m, ..Jump::default() };
        out.push(saved(k + 1, &jump.scene().expect("exists"), &plates(k as u64), Some("a1"), TODAY));
    }
    for (k, height_m) in [0.310, 0.319, 0.313].into_iter().enumerate() {
        let squat = SquatJump { height_m, after_s: 2.0, ..SquatJump::default() };
        out.push(saved(k + 11, &squat.scene().expect("exists"), &plates(10 + k as u64), Some("a1"), TODAY));
    }
    for (k, peak_n) in [2000.0, 2060.0].into_iter().enumerate() {
        let pull = Isometric { peak_n, ..Isometric::default() };
        out.push(saved(k + 21, &pull.scene(), &plates(20 + k as u64), Some("a1"), TODAY));
    }
    out
}

/// The page of the first of them, once all are at hand.
fn against(trials: &[(SavedTrial, Recording)], width: f64) -> String {
    let mut state = fixture::day::state(trials, width);
    run(&mut state, trials, Event::Open(trials[0].0.envelope.id.clone()));
    run(&mut state, trials, Event::DrawRest);
    run(&mut state, trials, Event::DrawRest);
    page(&state)
}

#[test]
fn one_test_of_the_day_is_held_against_another() {
    let trials = tested();
    let mean = |from: usize, to: usize, id: &str| {
        let of = trials[from..to].iter().map(|t| t.0.trial.figures[id].value.expect("given"));
        of.sum::<f64>() / (to - from) as f64
    };
    let heights = mean(0, 3, "jump_height") / mean(3, 6, "jump_height");
    let forces = mean(0, 3, "peak_propulsion_force") / mean(6, 8, "gross_peak_force");
    assert!((heights - 0.346 / 0.314).abs() < 0.01, "{heights}");
    let shown = against(&trials, 1280.0);
    assert!(shown.contains("id=\"between-tests\""));
    assert!(
        shown.contains(&format!("The countermovement jump reached {heights:.2} times the height of the squat jump (95 % interval 1.0"))
    );
    assert!(shown.contains(&format!("reached {forces:.2} times the peak force, body weight included, of the isometric test")));
    assert!(shown.contains("(3 trials)") && shown.contains("(2 trials)") && shown.contains("shown, not scored"));
    // A dip makes a squat jump no squat jump; another load, leg, day or athlete is another question.
    let dip = SquatJump { height_m: 0.40, dip_m: 0.04, after_s: 2.0, ..SquatJump::default() };
    let high = SquatJump { height_m: 0.40, after_s: 2.0, ..SquatJump::default() };
    let mut more = trials.clone();
    more.push(saved(31, &dip.scene().expect("exists"), &plates(31), Some("a1"), TODAY));
    more.push(saved(32, &high.scene().expect("exists"), &plates(32), Some("a2"), TODAY));
    more.push(saved(33, &high.scene().expect("exists"), &plates(33), Some("a1"), "2026-04-11"));
    for (key, change) in [(34, true), (35, false)] {
        let (mut other, window) = saved(key, &high.scene().expect("exists"), &plates(key as u64), Some("a1"), TODAY);
        if change {
            other.trial.load_kg = 10.0
        } else {
            other.trial.side = "left".into()
        }
        more.push((other, window));
    }
    let section = |page: &str| page.split("id=\"between-tests\"").nth(1).and_then(|s| s.split("</section>").next()).map(str::to_owned);
    assert_eq!(section(&against(&more, 1280.0)), section(&shown));
    // Squat jumps of two protocols are not pooled, and it is said; the force's ratio stays.
    let mut two = trials.clone();
    let mut protocol = two[3].0.protocol.clone();
    protocol.cue = "as high as you can".into();
    two[3].0.set_protocol(protocol);
    let said = against(&two, 1280.0);
    assert!(said.contains("is not held against the squat jump: more than one protocol of the squat jump that day"));
    assert!(said.contains(&format!("reached {forces:.2} times")));
    // One test alone is held against nothing.
    assert_eq!(section(&against(&trials[..3], 1280.0)), None);
}

/// Leaves the pages in a folder.
#[test]
fn look() -> std::io::Result<()> {
    let Some(folder) = std::env::var_os("TARSAL_SHOTS").map(std::path::PathBuf::from) else { return Ok(()) };
    std::fs::create_dir_all(&folder)?;
    for (size, width) in [("1280", 1280.0), ("360", 360.0)] {
        let (state, _) = laid(&jumps(7, Some(4)), width);
        std::fs::write(folder.join(format!("set-curves-{size}.html")), document(&page(&state)))?;
        std::fs::write(folder.join(format!("between-tests-{size}.html")), document(&against(&tested(), width)))?;
        let trials = vec![leaning(1, 0.66, TODAY, Some("a1"))];
        let mut state = fixture::day::state(&trials, width);
        state.insert(Record::PlateCheck(check(0.2, 2.4, "2026-05-01")));
        run(&mut state, &trials, Event::Open(trials[0].0.envelope.id.clone()));
        run(&mut state, &trials, Event::DrawRest);
        assert!(matches!(state.screen, Screen::Trial(_)));
        std::fs::write(folder.join(format!("plates-checked-{size}.html")), document(&page(&state)))?;
    }
    Ok(())
}
