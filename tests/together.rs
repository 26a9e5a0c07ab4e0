//! Trials together, against values made by SciPy and NumPy (`tests/reference/make_together.py`), and by hand.
use serde_json::Value;
use tarsal::cohort::distributions::{normal_quantile, t_quantile};
use tarsal::cohort::together::{
    DayMean, DropTrial, LoadPoint, Measured, best_drop, between, day_mean, difference_of_larger, force_velocity, odd_one, ratio, summary,
    two_leg_deficit,
};
use tarsal::figures::Better;
use tarsal::invented::Random;

fn reference() -> Value {
    serde_json::from_str(include_str!("data/together_values.json")).expect("the committed values are JSON")
}

fn list(v: &Value) -> Vec<f64> {
    v.as_array().expect("a list").iter().filter_map(Value::as_f64).collect()
}

fn near(found: f64, expected: &Value, tolerance: f64, what: &str) {
    let expected = expected.as_f64().expect("a number");
    assert!((found - expected).abs() <= tolerance * expected.abs().max(1e-3), "{what}: {found}, expected {expected}");
}

fn measured(value: f64, u: f64) -> Measured {
    Measured { value, u }
}

#[test]
fn lines_with_errors_in_both_variables_are_scipys() {
    let all = reference();
    let mut drawn = 0;
    for case in all["lines"].as_array().expect("lines") {
        let (x, y, ux, uy) = (list(&case["x"]), list(&case["y"]), list(&case["ux"]), list(&case["uy"]));
        let points: Vec<LoadPoint> = (0..x.len())
            .map(|i| LoadPoint {
                load_kg: 20.0 * i as f64,
                force: measured(y[i], uy[i]),
                velocity: measured(x[i], ux[i]),
                correlation: case["r"].as_f64().unwrap_or(0.0),
                distance_m: 0.40,
            })
            .collect();
        let chi = case["chi_square"].as_f64().unwrap() / (x.len() as f64 - 2.0);
        match force_velocity(&points) {
            Ok(line) => {
                drawn += 1;
                near(line.slope.value, &case["slope"], 1e-6, "slope");
                near(line.force_at_rest.value, &case["intercept"], 1e-6, "intercept");
                let scale = chi.max(1.0).sqrt();
                // Two ways to a standard error to first order: they part by a few per cent.
                near(line.force_at_rest.u / scale, &case["se_intercept"], 0.06, "se of intercept");
                let half = (line.slope.high - line.slope.low) / 2.0 / scale / case["t"].as_f64().unwrap();
                near(half, &case["se_slope"], 0.06, "se of slope");
                let (f0, v0) = (line.force_at_rest.value, line.velocity_without_force.value);
                assert!((line.most_power - f0 * v0 / 4.0).abs() < 1e-9);
            }
            Err(why) => assert!(why.iter().all(|w| w.contains("slope")), "{why:?}"),
        }
    }
    assert!(drawn >= 3);
}

#[test]
fn a_line_is_refused_with_every_reason() {
    let point = |load: f64, f: f64, v: f64, d: f64| LoadPoint {
        load_kg: load,
        force: measured(f, 0.3),
        velocity: measured(v, 0.02),
        correlation: 0.0,
        distance_m: d,
    };
    let good = [point(0.0, 18.0, 1.5, 0.40), point(20.0, 20.5, 1.3, 0.40), point(40.0, 23.0, 1.1, 0.41), point(60.0, 25.6, 0.9, 0.40)];
    assert!(force_velocity(&good).is_ok());
    let reasons = |p: &[LoadPoint]| force_velocity(p).expect_err("refused").join(" ");
    assert!(reasons(&good[..3]).contains("four loads"));
    assert!(
        reasons(&good.map(|p| LoadPoint { velocity: measured(1.0 + 0.1 * (p.velocity.value - 0.9), 0.02), ..p }))
            .contains("one and a half")
    );
    let mut deep = good;
    deep[3].distance_m = 0.46;
    assert!(reasons(&deep).contains("10 %"));
    let mut scattered = good;
    scattered[1].force.value += 4.0;
    scattered[2].force.value -= 4.0;
    assert!(reasons(&scattered).contains("slope"));
}

#[test]
fn the_best_drop_is_numpys_with_its_interval() {
    for case in reference()["parabolas"].as_array().expect("parabolas") {
        let trials: Vec<DropTrial> =
            list(&case["x"]).into_iter().zip(list(&case["y"])).map(|(drop_m, index)| DropTrial { drop_m, index }).collect();
        let best = best_drop(&trials).expect("bends enough");
        near(best.drop_m.value, &case["top"], 1e-8, "top");
        near(best.drop_m.low, &case["low"], 1e-6, "low");
        near(best.drop_m.high, &case["high"], 1e-6, "high");
    }
    let rising: Vec<DropTrial> = (0..8).map(|i| DropTrial { drop_m: 0.2 + 0.05 * f64::from(i), index: 1.0 + 0.1 * f64::from(i) }).collect();
    assert!(best_drop(&rising).is_err() && best_drop(&rising[..4]).is_err());
}

#[test]
fn ratios_legs_and_deficits() {
    for case in reference()["ratios"].as_array().expect("ratios") {
        let get = |k: &str| case[k].as_f64().expect("a number");
        let found = ratio(measured(get("a"), get("ua")), measured(get("b"), get("ub")), get("t")).expect("bounded");
        near(found.low, &case["low"], 1e-8, "low");
        near(found.high, &case["high"], 1e-8, "high");
    }
    assert_eq!(ratio(measured(1.0, 0.1), measured(0.1, 0.1), 2.0), None);
    // 48 against 52: 7.7 % of the larger, and the sign says which.
    let pair = difference_of_larger(measured(0.48, 0.005), measured(0.52, 0.005)).expect("above zero");
    assert!((pair.value - 7.692).abs() < 1e-3 && pair.u > 0.9 && pair.u < 1.5, "{pair:?}");
    assert!(difference_of_larger(measured(0.52, 0.0), measured(0.48, 0.0)).expect("above zero").value < 0.0);
    let deficit = two_leg_deficit(measured(0.20, 0.004), measured(0.22, 0.004), measured(0.36, 0.004)).expect("above zero");
    assert!((deficit.value + 14.2857).abs() < 1e-3 && deficit.u > 0.9 && deficit.u < 1.7, "{deficit:?}");
}

#[test]
fn means_of_two_tests_have_a_ratio_whose_interval_covers() {
    // Equal relative errors of n trials each: Welch and Satterthwaite give 2(n − 1) degrees of freedom.
    let mean = |value: f64, trials| DayMean { value, u: 0.01 * value, trials };
    let by = |t: f64| ratio(measured(0.36, 0.0036), measured(0.33, 0.0033), t).expect("bounded");
    assert_eq!(between(mean(0.36, 4), mean(0.33, 4)), Ok(by(t_quantile(0.975, 6.0))));
    // The measurement's uncertainty alone is known, not estimated.
    assert_eq!(between(mean(0.36, 1), mean(0.33, 1)), Ok(by(normal_quantile(0.975))));
    assert!(between(mean(0.36, 2), DayMean { value: 0.1, u: 0.05, trials: 2 }).is_err_and(|why| why.contains("too few")));
    assert_eq!(day_mean(&[]), None);
    // Invented days: 4 jumps against 3, each scattering by 3 and 4 % beside a measurement of 1 %.
    let mut random = Random::new(5);
    let (days, mut covers) = (4000, 0);
    for _ in 0..days {
        let mut of = |n: usize, truth: f64, sd: f64| {
            let trials: Vec<(f64, f64)> = (0..n).map(|_| (truth * (1.0 + sd * random.normal()), 0.01 * truth)).collect();
            day_mean(&trials).expect("trials")
        };
        let (above, below) = (of(4, 0.36, 0.03), of(3, 0.33, 0.04));
        let found = between(above, below).expect("bounded");
        covers += u32::from((found.low..=found.high).contains(&(0.36 / 0.33)));
    }
    let percent = 100.0 * f64::from(covers) / f64::from(days);
    // 95 of 100 within three binomial standard errors, and what the floor of the measurement adds.
    println!("{percent:.1} % of the intervals hold the true ratio");
    assert!((94.0..=97.5).contains(&percent), "{percent}");
}

#[test]
fn a_set_has_its_summary_and_its_odd_one() {
    let s = summary(&[0.30, 0.33, 0.31, 0.32], Better::Higher).expect("values");
    assert!((s.mean - 0.315).abs() < 1e-12 && (s.median - 0.315).abs() < 1e-12 && s.best == Some(0.33) && s.n == 4);
    // SD 0.0129099 of 0.315.
    assert!((s.cv_percent.expect("spread") - 4.0984).abs() < 1e-3);
    assert_eq!(summary(&[0.2], Better::Lower).expect("one").sd, None);
    assert_eq!(summary(&[f64::NAN], Better::Lower), None);
    let set = |v: &[f64]| v.iter().map(|v| Some((*v, 0.002))).collect::<Vec<_>>();
    let good = [("jump_height", set(&[0.30, 0.31, 0.32])), ("countermovement_depth", set(&[0.28, 0.29, 0.30]))];
    assert_eq!(odd_one(&good), None);
    let odd = [("jump_height", set(&[0.30, 0.31, 0.32])), ("countermovement_depth", set(&[0.28, 0.29, 0.16]))];
    let found = odd_one(&odd).expect("the third is shallow");
    assert_eq!((found.trial, found.figure.as_str()), (2, "countermovement_depth"));
    assert_eq!(odd_one(&[("jump_height", set(&[0.30, 0.10]))]), None);
}
