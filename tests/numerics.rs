//! The core's numerics against independent ones (SciPy's, stored by `tests/reference/make_values.py`), against published
//! constants, and against what must hold for any recording: scaled, mirrored, shifted, thinned.
use serde_json::Value;
use tarsal::answer::{FileAnswer, Options, Trial, analyze_recording};
use tarsal::force::math::sin;
use tarsal::force::{filter, gravity};
use tarsal::invented::Jump;
use tarsal::movement::integrate;
use tarsal::recording::{Channel, ChannelReport, Clock, Layout, Recording, Role, Unit};

fn stored() -> Value {
    serde_json::from_str(include_str!("data/scipy_values.json")).expect("the committed values are JSON")
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().expect("a list").iter().map(|v| v.as_f64().expect("a number")).collect()
}

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

/// `found` at the indices `at` against `expected`; the largest difference.
fn largest_difference(found: &[f64], at: &Value, expected: &Value) -> f64 {
    let at = at.as_array().expect("a list").iter().map(|i| i.as_u64().expect("an index") as usize);
    at.zip(numbers(expected)).map(|(i, e)| (found[i] - e).abs()).fold(0.0, f64::max)
}

#[test]
fn motion_is_the_trapezoid_sum() {
    let v = &stored()["motion"];
    let (rate, quiet, mass) = (number(&v["rate_hz"]), v["quiet_samples"].as_u64().expect("a count") as usize, 70.0);
    let weight = mass * gravity::STANDARD_M_S2;
    let force: Vec<f64> = numbers(&v["acceleration_m_s2"]).into_iter().map(|a| weight + mass * a).collect();
    let motion = integrate(&force, 0..quiet, force.len(), weight, mass, rate, 0.0);
    // Through force and back acceleration loses 1e-13; over 1.6 s of sums that stays far below 1e-10.
    let velocity = largest_difference(&motion.velocity_m_s, &v["at"], &v["velocity_m_s"]);
    let displacement = largest_difference(&motion.displacement_m, &v["at"], &v["displacement_m"]);
    assert!(velocity < 1e-10 && displacement < 1e-10, "{velocity:e} m/s, {displacement:e} m");
    // The reference moves: an integral that stayed at nothing would not pass unnoticed.
    assert!(motion.velocity_m_s.iter().copied().fold(0.0, f64::min) < -1.0);
}

#[test]
fn the_low_pass_is_scipys() {
    let all = stored();
    let cases = all["low_pass"].as_array().expect("a list");
    assert_eq!(cases.len(), 7);
    for case in cases {
        let (rate, cut, input) = (number(&case["rate_hz"]), number(&case["cut_hz"]), numbers(&case["input"]));
        let found = filter::low_pass(&input, rate, cut);
        assert_eq!(found.len(), input.len());
        // Coefficients by another route differ in the last digits, amplified by the recursion about (rate/cut)² ≤ 1e4
        // times: forces of 1e3 N agree to 1e3 · 2e-16 · 1e4 = 2e-9 N at worst; a wrong cut-off or end differs by newtons.
        let worst = largest_difference(&found, &case["at"], &case["output"]);
        assert!(worst < 1e-8, "{rate} Hz, cut-off {cut} Hz: {worst:e} N");
    }
}

/// −3 dB of the two passes together at the stated cut-off [Winter 2009, ch. 2: the reason for the correction].
#[test]
fn the_stated_cut_off_is_where_amplitude_falls_to_071() {
    for (rate, cut) in [(1000.0, 10.0), (1000.0, 50.0), (500.0, 100.0)] {
        let wave: Vec<f64> = (0..8000).map(|i| sin(2.0 * std::f64::consts::PI * cut * f64::from(i) / rate)).collect();
        let out = filter::low_pass(&wave, rate, cut);
        let power = |x: &[f64]| x[2000..6000].iter().map(|v| v * v).sum::<f64>();
        let gain = (power(&out) / power(&wave)).sqrt();
        assert!((gain - 0.5_f64.sqrt()).abs() < 1e-4, "{rate} Hz, {cut} Hz: {gain}");
    }
}

/// Normal gravity of GRS 80 [Moritz 2000, J. Geodesy 74:128: table of derived physical constants: γ at the equator, at
/// the pole and at 45°].
#[test]
fn gravity_is_grs80s() {
    for (latitude, expected) in [(0.0, 9.780_326_771_5), (90.0, 9.832_186_368_5), (-90.0, 9.832_186_368_5), (45.0, 9.806_199_203)] {
        // The closed formula's own constants are printed to twelve digits.
        let found = gravity::at(latitude, 0.0);
        assert!((found - expected).abs() < 2e-9, "{latitude}°: {found}, expected {expected}");
    }
    // Free-air term, −3.086e-6 s⁻² [same source, to four digits]: a thousand metres up.
    assert!((gravity::at(45.0, 0.0) - gravity::at(45.0, 1000.0) - 3.086e-3).abs() < 1e-12);
}

/// Standard gravity [CGPM 1901, 3rd meeting]; pound-force and kilogram-force [NIST SP 811 (2008), appendix B.8].
#[test]
fn unit_factors_are_the_published_ones() {
    assert_eq!(gravity::STANDARD_M_S2, 9.806_65);
    assert_eq!(Options::default().gravity, 9.806_65);
    assert_eq!(Unit::PoundForce.newtons(), 4.448_221_615_260_5);
    assert_eq!(Unit::KilogramForce.newtons(), 9.806_65);
    assert_eq!((Unit::Newton.newtons(), Unit::Kilonewton.newtons(), Unit::Millinewton.newtons()), (1.0, 1e3, 1e-3));
}

fn read([left, right]: &[Vec<f64>; 2], rate_hz: f64) -> Trial {
    let channel = |role, column, force: &[f64]| Channel {
        report: ChannelReport { column, header: String::new(), role, unit: Unit::Newton, sign: 1.0, why: String::new() },
        force_n: force.iter().map(|f| *f as f32).collect(),
    };
    let layout = Layout {
        delimiter: ",".into(),
        decimal: ".".into(),
        encoding: "utf-8".into(),
        header_row: None,
        first_data_row: 1,
        confidence: 1.0,
    };
    let recording = Recording {
        start_s: 0.0,
        clock: Clock { rate_hz, jitter_s: 0.0, gaps: vec![], duplicates: 0, source: "test".into() },
        channels: vec![channel(Role::Left, 1, left), channel(Role::Right, 2, right)],
        layout,
        notices: vec![],
    };
    let empty = FileAnswer { file: "x".into(), sha256: String::new(), error: None, recording: None, left_out: vec![], trials: vec![] };
    let found = analyze_recording(empty, &recording, &Options::default());
    assert_eq!(found.answer.trials.len(), 1, "{:?}", found.answer.left_out);
    found.answer.trials[0].clone()
}

/// Noise of 1.5 N a plate keeps every threshold a multiple of the noise, clear of the floors in newtons.
fn jump() -> Jump {
    Jump { mass_kg: 52.0, noise_n: 1.5, zero_n: [2.0, -3.0], share_right: [0.51, 0.53, 0.47, 0.52, 0.55], ..Jump::default() }
}

fn forces(jump: &Jump) -> [Vec<f64>; 2] {
    jump.record(&jump.truth().expect("this jump exists"))
}

fn value(trial: &Trial, id: &str) -> f64 {
    trial.figures[id].value.unwrap_or_else(|| panic!("{id} is given"))
}

#[test]
fn force_times_k_is_mass_times_k_at_the_same_height() {
    let plates = forces(&jump());
    let one = read(&plates, 1000.0);
    // Two is exact in binary, so nothing but the floors in newtons could part the two.
    let two = read(&plates.map(|p| p.into_iter().map(|f| 2.0 * f).collect()), 1000.0);
    let mass = |t: &Trial| t.system_mass_kg.expect("weighed").value;
    assert!((mass(&two) / mass(&one) - 2.0).abs() < 1e-9);
    for id in ["jump_height", "jump_height_flight_time", "time_to_take_off", "countermovement_depth"] {
        assert!((value(&two, id) - value(&one, id)).abs() < 1e-9, "{id}");
    }
    for id in ["mean_propulsion_force", "peak_landing_force", "propulsion_work"] {
        assert!((value(&two, id) / value(&one, id) - 2.0).abs() < 1e-9, "{id}");
    }
}

#[test]
fn swapped_plates_swap_the_sides_and_nothing_else() {
    let [left, right] = forces(&jump());
    let (one, two) = (read(&[left.clone(), right.clone()], 1000.0), read(&[right, left], 1000.0));
    assert_eq!(one.events, two.events);
    assert!(one.sides.len() >= 8);
    for (id, a) in &one.sides {
        let b = &two.sides[id];
        assert_eq!((a.left, a.right), (b.right, b.left), "{id}");
        assert!((a.difference_of_total_percent + b.difference_of_total_percent).abs() < 1e-12, "{id}");
        assert!((a.u - b.u).abs() < 1e-12, "{id}");
    }
    for (id, a) in one.figures.iter().filter(|(id, _)| !id.ends_with("_lag_right")) {
        assert_eq!(Some(a), two.figures.get(id), "{id}");
    }
    for id in ["take_off_lag_right", "touchdown_lag_right"] {
        assert_eq!(value(&one, id), -value(&two, id), "{id}");
    }
}

#[test]
fn a_longer_stance_moves_the_events_and_no_figure() {
    let quiet = Jump { noise_n: 0.0, zero_n: [0.0; 2], ..jump() };
    let (early, late) = (read(&forces(&quiet), 1000.0), read(&forces(&Jump { quiet_s: quiet.quiet_s + 1.5, ..quiet }), 1000.0));
    for (event, at) in &early.events {
        // The stance is stored in f32: weight moves by 1e-5 N, an event by far less than a hundredth of a sample.
        assert!((late.events[event] - at - 1.5).abs() < 1e-5, "{event}");
    }
    for (id, a) in &early.figures {
        if let (Some(x), Some(y)) = (a.value, late.figures[id].value) {
            assert!((x - y).abs() <= 1e-4 * x.abs().max(0.01), "{id}: {x} and {y}");
        }
    }
}

#[test]
fn every_second_sample_tells_the_same_height_within_its_uncertainty() {
    for seed in 1..=10 {
        let plates = forces(&Jump { seed, ..jump() });
        let full = read(&plates, 1000.0);
        let half = read(&plates.map(|p| p.into_iter().step_by(2).collect()), 500.0);
        for id in ["jump_height", "jump_height_flight_time", "countermovement_depth"] {
            let (a, b) = (&full.figures[id], &half.figures[id]);
            let apart = (a.value.unwrap_or(f64::NAN) - b.value.unwrap_or(f64::NAN)).abs();
            // Half the samples are new noise to the other half, so both readings' uncertainties count.
            let (ua, ub) = (a.u.unwrap_or(0.0), b.u.unwrap_or(0.0));
            // Thirty comparisons: one or two lie beyond 2u by chance, none beyond 3.5.
            assert!(apart <= 3.5 * (ua * ua + ub * ub).sqrt(), "{id}: {a:?}, {b:?}");
        }
    }
}
