//! Is the ± true? Over two thousand invented countermovement jumps crossing mass, height, depth, tempo, asymmetry, rate,
//! noise, hum, drift, quantisation and sway, `value ± 2u` must hold the truth in 90–99 of 100, figure by figure; and the
//! first-order `u` must agree with what repeated recording of the same jump scatters by (Monte-Carlo).
use std::collections::BTreeMap;
use std::sync::Mutex;
use tarsal::answer::{FileAnswer, Options, Trial, Verdict, analyze_recording};
use tarsal::invented::{Jump, Plates, Random, Scene, truths};

fn read(scene: &Scene, plates: &Plates) -> Option<Trial> {
    let empty = FileAnswer { file: "x".into(), sha256: String::new(), error: None, recording: None, left_out: vec![], trials: vec![] };
    let mut trials = analyze_recording(empty, &plates.recording(scene), &Options::default()).answer.trials;
    (trials.len() == 1).then(|| trials.remove(0))
}

/// A jump with sway, and plates from 250 to 2000 Hz with ordinary faults.
fn drawn(random: &mut Random) -> (Scene, Plates) {
    let sway = random.between(0.0, 0.02);
    let scene = Jump::random(random).scene().expect("random() keeps only jumps that exist").sway(random, sway);
    let mut pick = |of: [f64; 4]| of[(random.bits() % 4) as usize];
    let (rate_hz, step_n, hum_n, drift) =
        (pick([250.0, 500.0, 1000.0, 2000.0]), pick([0.0, 0.1, 0.5, 1.0]), pick([0.0, 0.0, 0.5, 2.0]), pick([0.0, 0.0, 0.02, 0.05]));
    let plates = Plates {
        rate_hz,
        step_n,
        hum_n,
        hum_hz: if random.unit() < 0.5 { 50.0 } else { 60.0 },
        drift_n_s: [drift * random.between(-1.0, 1.0), drift * random.between(-1.0, 1.0)],
        noise_n: random.between(0.3, 2.5),
        zero_n: [random.between(-6.0, 6.0), random.between(-6.0, 6.0)],
        seed: random.bits(),
        ..Plates::default()
    };
    (scene, plates)
}

/// Onset by its rule on force without noise: the last instant inside a band before the dip, 30 ms back.
fn onset_by_rule(scene: &Scene, band_n: f64) -> f64 {
    let bare = Scene { sway: Vec::new(), ..scene.clone() };
    let (start, down) = (bare.event("movement_start"), bare.event("peak_downward_velocity"));
    let (mut low, mut high) = (start, 0.5 * (start + down));
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if bare.force_n(middle) > bare.weight_n() - band_n { low = middle } else { high = middle }
    }
    low - 0.03
}

/// Figures that hang on onset, from the exact events. Onset is a definition, and the `u` of these figures says how far another
/// reasonable rule would put it: the truth is that of a band of 5 ± 2 standard deviations drawn for each trial.
fn onset_truths(scene: &Scene, band_n: f64) -> Vec<(&'static str, f64)> {
    let onset = onset_by_rule(scene, band_n);
    let [down, off] = ["peak_downward_velocity", "take_off"].map(|e| scene.event(e));
    let v = scene.at(off)[1];
    vec![
        ("time_to_take_off", off - onset),
        ("unweighting_duration", down - onset),
        ("reactive_strength_index_modified", v * v / 2.0 / tarsal::invented::G / (off - onset)),
    ]
}

#[derive(Default)]
struct Row {
    covered: usize,
    errors: Vec<f64>,
    twos: Vec<f64>,
    /// `2u / |error|` trial by trial.
    ratios: Vec<f64>,
    /// What each trial's uncertainty is mostly from.
    from: BTreeMap<String, usize>,
}

/// Rows by figure.
type Table = BTreeMap<&'static str, Row>;

fn add(rows: &mut Table, trial: &Trial, id: &'static str, truth: f64) {
    let Some(figure) = trial.figures.get(id) else { return };
    let (Some(value), Some(u)) = (figure.value, figure.u) else { return };
    let from = figure.mostly_from.clone().unwrap_or_else(|| "several".into());
    enter(rows, id, (value, u), truth, from);
}

fn enter(rows: &mut Table, id: &'static str, (value, u): (f64, f64), truth: f64, from: String) {
    let row = rows.entry(id).or_default();
    let error = (value - truth).abs();
    row.covered += usize::from(error <= 2.0 * u);
    row.errors.push(error);
    row.twos.push(2.0 * u);
    row.ratios.push(2.0 * u / error.max(1e-300));
    *row.from.entry(from).or_default() += 1;
}

const TRIALS: usize = 2000;
/// A ratio of medians of so many is known to 1 %.
const CLEAN_TRIALS: usize = 24_000;

/// A jump from a stance with or without sway, on plates without a fault: 1000 Hz, tenths of a newton, an ordinary noise.
fn clean(random: &mut Random, sway: f64) -> (Scene, Plates) {
    let scene = Jump::random(random).scene().expect("random() keeps only jumps that exist").sway(random, sway);
    let zero_n = [random.between(-6.0, 6.0), random.between(-6.0, 6.0)];
    (scene, Plates { rate_hz: 1000.0, noise_n: 1.0, step_n: 0.1, zero_n, seed: random.bits(), ..Plates::default() })
}

/// Reads as many trials as wished, on four threads: plain figures, those that hang on onset, and how many were sound,
/// doubtful, lost.
fn tables(trials: usize, draw: &(dyn Fn(&mut Random) -> (Scene, Plates) + Sync)) -> (Table, Table, [usize; 3]) {
    let all: Mutex<(Table, Table, [usize; 3])> = Mutex::default();
    std::thread::scope(|scope| {
        for part in 0..4_u64 {
            let all = &all;
            scope.spawn(move || {
                let (mut random, mut rules) = (Random::new(900 + part), Random::new(1900 + part));
                let (mut plain, mut onset, mut count) = (Table::new(), Table::new(), [0; 3]);
                for _ in 0..trials / 4 {
                    let (scene, plates) = draw(&mut random);
                    let Some(trial) = read(&scene, &plates) else {
                        count[2] += 1;
                        continue;
                    };
                    count[usize::from(trial.verdict != Verdict::Sound)] += 1;
                    // Coverage is promised of what is called sound; the rest says itself that it is in doubt.
                    if trial.verdict != Verdict::Sound {
                        continue;
                    }
                    for (id, truth) in truths(&scene) {
                        add(&mut plain, &trial, id, truth);
                    }
                    // Mass is no figure, but told with its uncertainty all the same.
                    if let Some(mass) = trial.system_mass_kg {
                        let truth = scene.weight_n() / tarsal::invented::G;
                        enter(&mut plain, MASS, (mass.value, mass.u), truth, "weighing and zero level".into());
                    }
                    let sd_n = trial.weighing.as_ref().map_or(0.0, |w| w.sd_n);
                    let rule_n = (5.0 + 2.0 * rules.normal()).max(0.0) * sd_n;
                    for (id, truth) in onset_truths(&scene, rule_n.max(plates.step_n).max(2.0)) {
                        add(&mut onset, &trial, id, truth);
                    }
                }
                let mut all = all.lock().expect("no panic holds it");
                for (into, from) in [(0, plain), (1, onset)] {
                    let table = if into == 0 { &mut all.0 } else { &mut all.1 };
                    for (id, row) in from {
                        let sum = table.entry(id).or_default();
                        sum.covered += row.covered;
                        sum.errors.extend(row.errors);
                        sum.twos.extend(row.twos);
                        sum.ratios.extend(row.ratios);
                        row.from.into_iter().for_each(|(name, n)| *sum.from.entry(name).or_default() += n);
                    }
                }
                (0..3).for_each(|k| all.2[k] += count[k]);
            });
        }
    });
    all.into_inner().expect("no panic holds it")
}

/// A figure's coverage in percent, ratio of medians, and 2u for error trial by trial in the middle.
struct Found {
    id: &'static str,
    percent: f64,
    ratio: f64,
    by_trial: f64,
}

/// Prints a table and returns its rows.
fn print(title: &str, table: Table) -> Vec<Found> {
    println!("{title}");
    println!(
        "{:34} {:>8} {:>14} {:>12} {:>7} {:>9} {:>6} mostly from",
        "figure", "covered", "median error", "median 2u", "ratio", "by trial", "rms"
    );
    let row = |(id, mut row): (&'static str, Row)| {
        let square = |x: &[f64]| x.iter().map(|e| e * e).sum::<f64>();
        let rms = (0.25 * square(&row.twos) / square(&row.errors)).sqrt();
        row.errors.sort_by(f64::total_cmp);
        row.twos.sort_by(f64::total_cmp);
        row.ratios.sort_by(f64::total_cmp);
        let mostly = row.from.iter().max_by_key(|f| f.1).map_or("", |f| f.0.as_str());
        let n = row.errors.len();
        let (e, two, by_trial) = (row.errors[n / 2], row.twos[n / 2], row.ratios[n / 2]);
        let percent = 100.0 * row.covered as f64 / n as f64;
        println!("{id:34} {percent:7.1}% {e:14.6} {two:12.6} {:7.2} {by_trial:9.2} {rms:6.2} {mostly}", two / e);
        Found { id, percent, ratio: two / e, by_trial }
    };
    table.into_iter().map(row).collect()
}

/// Figures that are not covered 90–99 times in 100, or are too loose; one binomial standard error at n = 2000 is 0.5 of 100, at
/// 24 000 it is 0.2.
///
/// Mass is held to be covered alone: beside the weighing it has the zero level's `u`, which on faulty plates is some 2 N by
/// allowance or is read from a flight that drifts, and 2u in the middle is 3.2 of its errors there (2.9 on clean ones).
fn missing(found: &[Found], loose: impl Fn(&Found) -> bool) -> Vec<&str> {
    let bad = |f: &&Found| f.percent < 90.0 || f.id != MASS && (f.percent > 99.0 || loose(f));
    found.iter().filter(bad).map(|f| f.id).collect()
}

/// What the system's mass is called among the rows.
const MASS: &str = "system_mass";

/// The median 2u is under three times the median error. Beside it 2u for error trial by trial: its median is 2/0.674 = 2.97 for a
/// calibrated normal error, 2.83 where u itself is known by eight readings (Student's distribution), whatever mixture of trials it
/// is. The ratio of medians is not free of the mixture: jumps whose force falls steeply at take-off are timed several times as well
/// as others.
#[test]
fn the_uncertainty_of_clean_trials_is_tight() {
    let (plain, onset, [sound, ..]) = tables(CLEAN_TRIALS, &|random| clean(random, 0.0));
    let mut found = print(&format!("clean, 1000 Hz: {sound} of {CLEAN_TRIALS} sound"), plain);
    found.extend(print("with the rule of onset:", onset));
    assert_eq!(missing(&found, |f| f.ratio >= 3.0 || f.by_trial >= 3.0), [""; 0]);
}

#[test]
fn the_uncertainty_covers_two_thousand_jumps() {
    let (plain, onset, [sound, doubtful, lost]) = tables(TRIALS, &drawn);
    println!("{TRIALS} jumps: {sound} sound, {doubtful} doubtful, {lost} not read");
    let mut found = print("", plain);
    found.extend(print("with the rule of onset:", onset));
    assert_eq!(missing(&found, |f| f.by_trial > 3.1), [""; 0]);
    assert!(lost * 50 <= TRIALS && sound * 100 >= TRIALS * 90, "{sound} sound, {lost} lost");
}

/// The same jump recorded again and again: other noise, other sway, another place of the samples on it. What the figures
/// scatter by is their standard uncertainty, found without any formula.
#[test]
fn first_order_agrees_with_monte_carlo() {
    let ids = ["jump_height", "flight_time", "countermovement_depth", "mean_propulsion_force", "mean_braking_power", "propulsion_duration"];
    let mut random = Random::new(17);
    let mut ratios: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
    for _ in 0..10 {
        let jump = Jump { quiet_s: 2.0, ..Jump::random(&mut random) };
        let noise_n = random.between(0.6, 2.0);
        let mut found: BTreeMap<&str, (Vec<f64>, Vec<f64>)> = BTreeMap::new();
        for _ in 0..30 {
            let again = Jump { quiet_s: 2.0 + random.between(0.0, 0.001), ..jump.clone() };
            let scene = again.scene().expect("exists").sway(&mut random, 0.008);
            let plates = Plates { noise_n, zero_n: [1.0, -2.0], step_n: 0.1, seed: random.bits(), ..Plates::default() };
            let trial = read(&scene, &plates).expect("read");
            for id in ids {
                let (value, u) = (trial.figures[id].value.unwrap_or(f64::NAN), trial.figures[id].u.unwrap_or(f64::NAN));
                let entry = found.entry(id).or_default();
                entry.0.push(value);
                entry.1.push(u);
            }
        }
        for (id, (values, us)) in found {
            let mean = |x: &[f64]| x.iter().sum::<f64>() / x.len() as f64;
            let m = mean(&values);
            let sd = (values.iter().map(|v| (v - m) * (v - m)).sum::<f64>() / (values.len() - 1) as f64).sqrt();
            ratios.entry(id).or_default().push(mean(&us) / sd);
        }
    }
    println!("{:28} {:>10} (first order / Monte-Carlo, median of 10 jumps)", "figure", "ratio");
    for (id, mut of) in ratios {
        of.sort_by(f64::total_cmp);
        let ratio = of[of.len() / 2];
        println!("{id:28} {ratio:10.2}");
        // Thirty draws know an SD to 13 %; u also holds what does not scatter from take to take (zero, definition), so it
        // may be larger, never much smaller.
        assert!((0.75..2.0).contains(&ratio), "{id}: {ratio}");
    }
}
