//! Jumps whose every figure is known exactly: closed-form trajectories over mass, height, depth, tempo, asymmetry,
//! rate and noise. Source of truth: Newton's second law, integrated on paper (src/invented/closed_form.rs).
use tarsal::answer::{FileAnswer, Options, Trial, Verdict, analyze_recording};
use tarsal::invented::{Jump, Random, Truth};
use tarsal::recording::{Channel, ChannelReport, Clock, Layout, Recording, Role, Unit};

fn recording([left, right]: [Vec<f64>; 2], rate_hz: f64) -> Recording {
    let channel = |role, column, force: Vec<f64>| Channel {
        report: ChannelReport { column, header: String::new(), role, unit: Unit::Newton, sign: 1.0, why: String::new() },
        force_n: force.into_iter().map(|f| f as f32).collect(),
    };
    Recording {
        start_s: 0.0,
        clock: Clock { rate_hz, jitter_s: 0.0, gaps: vec![], duplicates: 0, source: "test".into() },
        channels: vec![channel(Role::Left, 2, left), channel(Role::Right, 3, right)],
        layout: Layout {
            delimiter: ",".into(),
            decimal: ".".into(),
            encoding: "utf-8".into(),
            header_row: None,
            first_data_row: 1,
            confidence: 1.0,
        },
        notices: vec![],
    }
}

fn read(jump: &Jump, truth: &Truth) -> Result<Trial, String> {
    let empty = FileAnswer { file: "x".into(), sha256: String::new(), error: None, recording: None, left_out: vec![], trials: vec![] };
    let found = analyze_recording(empty, &recording(jump.record(truth), jump.rate_hz), &Options::default());
    match found.answer.trials.as_slice() {
        [one] => Ok(one.clone()),
        other => Err(format!("{} trials, left out {:?}, jump {jump:?}", other.len(), found.answer.left_out)),
    }
}

/// The figures whose truth the path gives directly.
fn truths(truth: &Truth) -> Vec<(&'static str, f64)> {
    let g = 9.806_65;
    let at = |t| truth.path.at(t);
    let v = truth.take_off_velocity();
    let flight = truth.touchdown_s - truth.take_off_s;
    let depth = -at(truth.lowest_point_s)[2];
    let m = truth.mass_kg;
    let brake = truth.lowest_point_s - truth.peak_downward_velocity_s;
    let propel = truth.take_off_s - truth.lowest_point_s;
    let down = at(truth.peak_downward_velocity_s);
    let to = at(truth.take_off_s);
    let net_brake = -m * down[1];
    // Work of the force = change of kinetic and potential energy.
    let brake_work = 0.5 * m * down[1] * down[1] + m * g * (down[2] + depth);
    let propel_work = 0.5 * m * v * v + m * g * (to[2] + depth);
    let f_low = m * (at(truth.lowest_point_s)[0] + g);
    vec![
        ("jump_height", v * v / 2.0 / g),
        ("jump_height_flight_time", g * flight * flight / 8.0),
        ("rise_above_standing", to[2] + v * v / 2.0 / g),
        ("take_off_velocity", v),
        ("take_off_displacement", to[2]),
        ("flight_time", flight),
        ("countermovement_depth", depth),
        ("peak_downward_velocity", -down[1]),
        ("braking_duration", brake),
        ("propulsion_duration", propel),
        ("mean_braking_force", (net_brake / brake) + m * g),
        ("mean_braking_power", brake_work / brake),
        ("braking_work", brake_work),
        ("mean_braking_velocity", (down[2] + depth) / brake),
        ("net_braking_impulse", net_brake),
        ("force_at_lowest_point", f_low),
        ("braking_slope_stiffness", (f_low - m * g) / (down[2] + depth)),
        ("mean_propulsion_force", m * v / propel + m * g),
        ("mean_propulsion_power", propel_work / propel),
        ("propulsion_work", propel_work),
        ("mean_propulsion_velocity", (to[2] + depth) / propel),
        ("net_propulsion_impulse", m * v),
        ("landing_depth", at(truth.touchdown_s)[2] - at(truth.landing_end_s)[2]),
        ("landing_duration", truth.landing_end_s - truth.touchdown_s),
    ]
}

#[test]
fn clean_jumps_are_read_to_the_bars() {
    let mut random = Random::new(7);
    let mut worst = [0.0_f64; 6];
    for _ in 0..300 {
        let jump = Jump::random(&mut random);
        let truth = jump.truth().expect("random() keeps only jumps that exist");
        let trial = read(&jump, &truth).unwrap();
        let height = trial.figures["jump_height"].value.unwrap_or(f64::NAN);
        let off = |name: &str, t: f64| (trial.events[name] - t).abs();
        let errors = [
            (height - truth.take_off_velocity() * truth.take_off_velocity() / 2.0 / 9.806_65).abs(),
            off("take_off", truth.take_off_s),
            off("touchdown", truth.touchdown_s),
            off("lowest_point", truth.lowest_point_s),
            off("peak_downward_velocity", truth.peak_downward_velocity_s),
            off("onset", onset_by_rule(&truth)),
        ];
        for (w, e) in worst.iter_mut().zip(errors) {
            assert!(e.is_finite(), "{jump:?}");
            *w = w.max(e);
        }
        assert_eq!(trial.verdict, Verdict::Sound, "{:?}", trial.notices);
    }
    println!(
        "worst: height {:.2} mm; take-off {:.2}, touchdown {:.2}, lowest {:.2}, peak down {:.2}, onset {:.2} ms",
        worst[0] * 1e3,
        worst[1] * 1e3,
        worst[2] * 1e3,
        worst[3] * 1e3,
        worst[4] * 1e3,
        worst[5] * 1e3
    );
    // Bars of the issue: 5 mm, 5 ms, 5 ms, 8 ms, 8 ms, 5 ms.
    for (w, bar) in worst.iter().zip([0.005, 0.005, 0.005, 0.008, 0.008, 0.005]) {
        assert!(*w <= bar, "{w} over {bar}");
    }
}

/// The rule on noise-free force: last instant inside W − 2 N (the floor of the band) before the dip, then 30 ms back.
fn onset_by_rule(truth: &Truth) -> f64 {
    let w = truth.mass_kg * 9.806_65;
    let (mut low, mut high) = (truth.movement_start_s, 0.5 * (truth.movement_start_s + truth.peak_downward_velocity_s));
    for _ in 0..60 {
        let mid = 0.5 * (low + high);
        if truth.force_n(mid) > w - 2.0 { low = mid } else { high = mid }
    }
    low - 0.03
}

/// Figure, covered, errors, 2u, 2u for error trial by trial.
type Row = (&'static str, usize, Vec<f64>, Vec<f64>, Vec<f64>);

#[test]
fn the_uncertainty_is_true_and_tight() {
    let mut random = Random::new(11);
    let n = 1200;
    let mut tally: Vec<Row> = Vec::new();
    let (mut sound, mut read_ok) = (0, 0);
    for _ in 0..n {
        let mut jump = Jump::random(&mut random);
        jump.rate_hz = [500.0, 1000.0, 1000.0, 2000.0][(random.bits() % 4) as usize];
        jump.noise_n = random.between(0.3, 2.5);
        jump.zero_n = [random.between(-6.0, 6.0), random.between(-6.0, 6.0)];
        jump.step_n = [0.0, 0.1, 0.5][(random.bits() % 3) as usize];
        let truth = jump.truth().expect("random() keeps only jumps that exist");
        let trial = read(&jump, &truth).unwrap();
        read_ok += 1;
        sound += usize::from(trial.verdict == Verdict::Sound);
        for notice in trial.notices.iter().filter(|_| trial.verdict != Verdict::Sound) {
            println!("{}: {}", notice.code, notice.message);
        }
        for (id, true_value) in truths(&truth) {
            let figure = &trial.figures[id];
            let (Some(value), Some(u)) = (figure.value, figure.u) else { panic!("{id} withheld: {figure:?} {jump:?}") };
            let error = (value - true_value).abs();
            let row = match tally.iter_mut().find(|r| r.0 == id) {
                Some(row) => row,
                None => {
                    tally.push((id, 0, vec![], vec![], vec![]));
                    tally.last_mut().expect("just pushed")
                }
            };
            row.1 += usize::from(error <= 2.0 * u);
            row.2.push(error);
            row.3.push(2.0 * u);
            row.4.push(2.0 * u / error.max(1e-300));
        }
    }
    println!(
        "{read_ok} of {n} read, {sound} sound\n{:32} {:>8} {:>14} {:>12} {:>7} {:>9}",
        "figure", "covered", "median error", "median 2u", "ratio", "by trial"
    );
    let mut bad = Vec::new();
    for (id, covered, errors, twos, ratios) in &mut tally {
        errors.sort_by(f64::total_cmp);
        twos.sort_by(f64::total_cmp);
        ratios.sort_by(f64::total_cmp);
        let (e, u, by_trial) = (errors[n / 2], twos[n / 2], ratios[n / 2]);
        let percent = 100.0 * *covered as f64 / n as f64;
        println!("{id:32} {percent:7.1}% {e:14.6} {u:12.6} {:7.2} {by_trial:9.2}", u / e);
        // 90–99 of 100, with one and a half binomial standard errors of n = 1200 at the edges. Tightness trial by trial, where a
        // calibrated normal error gives 2.97 and n = 1200 knows it to 3.4 %; steps of 0.5 N add to it where noise is small. The
        // ratio of medians of this mixture of noises and rates is not one: `tests/coverage.rs` holds the bar on clean trials.
        let slack = 1.0;
        if !(90.0 - slack..=99.0 + slack).contains(&percent) || by_trial > 3.3 || u > 3.5 * e {
            bad.push((*id, percent, u / e));
        }
    }
    assert!(bad.is_empty(), "{bad:?}");
    assert!(sound as f64 >= 0.98 * n as f64);
}

/// Worst and median error of height, and how many were called sound, under one fault each. Bar from the project: 10 mm
/// where a person would still call the recording usable.
#[test]
fn faulty_recordings_keep_the_height_or_lose_the_verdict() {
    type Fault = (&'static str, f64, fn(&mut Jump));
    let faults: [Fault; 10] = [
        ("noise of 3 N a plate", 0.010, |j| j.noise_n = 3.0),
        ("hum of 5 N", 0.010, |j| j.hum_n = 5.0),
        ("zero error of ±40 N", 0.010, |j| j.zero_n = [40.0, -25.0]),
        ("drift of 0.3 N/s a plate", 0.010, |j| j.drift_n_s = 0.3),
        ("steps of 1 N", 0.010, |j| (j.step_n, j.noise_n) = (1.0, 0.2)),
        ("steps of 8 N", 0.010, |j| (j.step_n, j.noise_n) = (8.0, 1.0)),
        ("250 Hz", 0.010, |j| (j.rate_hz, j.noise_n) = (250.0, 1.0)),
        ("200 Hz", 0.012, |j| (j.rate_hz, j.noise_n) = (200.0, 1.0)),
        ("0.8 s of standing", 0.012, |j| (j.quiet_s, j.noise_n) = (0.8, 1.0)),
        ("weight 35 % on the right", 0.010, |j| j.share_right = [0.35; 5]),
    ];
    println!("{:28} {:>6} {:>10} {:>10}", "fault", "sound", "median mm", "worst mm");
    for (name, bar, set) in faults {
        let mut random = Random::new(23);
        let (mut errors, mut sound) = (Vec::new(), 0);
        for _ in 0..100 {
            let mut jump = Jump::random(&mut random);
            set(&mut jump);
            let Some(truth) = jump.truth() else { continue };
            let trial = read(&jump, &truth).unwrap();
            let v = truth.take_off_velocity();
            let Some(height) = trial.figures["jump_height"].value else {
                assert_ne!(trial.verdict, Verdict::Sound, "{name}: withheld and sound");
                continue;
            };
            let error = (height - v * v / 2.0 / 9.806_65).abs();
            sound += usize::from(trial.verdict == Verdict::Sound);
            if trial.verdict == Verdict::Sound {
                assert!(error <= bar, "{name}: {error} m and sound, {jump:?}");
            }
            errors.push(error);
        }
        errors.sort_by(f64::total_cmp);
        let (median, worst) = (errors[errors.len() / 2], errors[errors.len() - 1]);
        println!("{name:28} {sound:>6} {:>10.2} {:>10.2}", 1e3 * median, 1e3 * worst);
        if name.contains("standing") || name.contains("8 N") || name.contains("on the right") {
            assert_eq!(sound, 0, "{name} must be told");
        }
    }
}
