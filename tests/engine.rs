//! Physics that is not ours: a general-purpose rigid-body engine jumped, dropped, landed and hopped on two plates
//! (`tests/reference/engine_jumps.py`, made on demand; truth from the engine's own state). Our errors are printed beside a
//! plain NumPy/SciPy reading of the same files, whose values the script committed, and must be smaller than its.
use serde_json::Value;
use std::collections::BTreeMap;
use tarsal::answer::{Options, TestKind, Trial, analyze};

fn folder() -> std::path::PathBuf {
    std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/engine")
}

/// One quantity of one file: ours, the plain script's, the truth.
struct Row {
    file: String,
    quantity: &'static str,
    truth: f64,
    ours: f64,
    u: f64,
    plain: Option<f64>,
}

fn number(v: &Value) -> Option<f64> {
    v.as_f64()
}

/// Bar of the project for a quantity, SI, read from recordings with a little noise: what is asked at 1000 Hz or 500 Hz.
fn bar(quantity: &str) -> f64 {
    match quantity {
        "mass_kg" => 0.3,
        "jump_height" | "jump_height_flight_time" => 0.010,
        "countermovement_depth" => 0.010,
        "drop_height" => 0.012,
        "take_off" | "touchdown" => 0.003,
        "contact_time" => 0.004,
        "flight_time_of_contact" => 0.005,
        _ => 0.008,
    }
}

/// The quantities that the engine's state and the trial both give.
fn rows(file: &str, truth: &Value, trial: &Trial) -> Vec<Row> {
    let figure = |id: &str| trial.figures.get(id).map_or((f64::NAN, f64::NAN), |f| (f.value.unwrap_or(f64::NAN), f.u.unwrap_or(f64::NAN)));
    let event = |id: &str| (trial.events.get(id).copied().unwrap_or(f64::NAN), f64::NAN);
    let plain = |key: &str| number(&truth["plain"][key]);
    let kind = truth["kind"].as_str().expect("a kind");
    let flights = truth["flights"].as_array().expect("flights");
    let mut out = Vec::new();
    let mut push = |quantity, truth: Option<f64>, (ours, u): (f64, f64), plain| {
        if let Some(truth) = truth {
            out.push(Row { file: file.into(), quantity, truth, ours, u, plain });
        }
    };
    let mass = trial.system_mass_kg.map_or((f64::NAN, f64::NAN), |m| (m.value, m.u));
    push("mass_kg", number(&truth["mass_kg"]), mass, plain("mass_kg"));
    let jump = match kind {
        "drop jump" => &flights[1],
        "drop landing" => &Value::Null,
        _ => &flights[0],
    };
    if kind != "hops" {
        push("jump_height", number(&jump["height_m"]), figure("jump_height"), plain("jump_height_m"));
        push("take_off", number(&jump["take_off_s"]), event("take_off"), None);
        push("touchdown", number(&jump["touchdown_s"]), event("touchdown"), None);
    }
    push("countermovement_depth", number(&truth["depth_m"]), figure("countermovement_depth"), plain("countermovement_depth_m"));
    let time = |key: &str| number(&truth[key]);
    if let (Some(down), Some(low)) = (time("peak_downward_velocity_s"), time("lowest_point_s")) {
        push("peak_downward_velocity", Some(down), event("peak_downward_velocity"), None);
        push("lowest_point", Some(low), event("lowest_point"), None);
        push("braking_duration", Some(low - down), figure("braking_duration"), plain("braking_duration_s"));
        let propulsion = number(&jump["take_off_s"]).map(|to| to - low);
        push("propulsion_duration", propulsion, figure("propulsion_duration"), plain("propulsion_duration_s"));
    }
    if kind.starts_with("drop") {
        push("drop_height", time("drop_m"), figure("drop_height"), plain("drop_m"));
    }
    if kind == "drop jump" {
        let contact = number(&flights[1]["take_off_s"]).zip(number(&flights[0]["touchdown_s"])).map(|(to, td)| to - td);
        push("contact_time", contact, figure("contact_time"), plain("contact_s"));
    }
    if kind == "hops" {
        // Contact k lies between flight k and flight k + 1.
        for (k, pair) in flights.windows(2).enumerate() {
            let at = |flight: &Value, key: &str| number(&flight[key]).unwrap_or(f64::NAN);
            let (down, off, next) = (at(&pair[0], "touchdown_s"), at(&pair[1], "take_off_s"), at(&pair[1], "touchdown_s"));
            let found = trial.contacts.get(k);
            let plain = |key: &str| number(&truth["plain"][key][k]);
            push("contact_time", Some(off - down), (found.map_or(f64::NAN, |c| c.contact_time), f64::NAN), plain("contacts_s"));
            let flight = found.and_then(|c| c.flight_time).unwrap_or(f64::NAN);
            push("flight_time_of_contact", Some(next - off), (flight, f64::NAN), plain("flights_s"));
        }
    }
    out
}

/// What the engine's scene is called here.
fn wanted(kind: &str) -> TestKind {
    match kind {
        "squat" => TestKind::SquatJump,
        "drop jump" => TestKind::DropJump,
        "drop landing" => TestKind::DropLanding,
        "hops" => TestKind::ReboundJumps,
        _ => TestKind::CountermovementJump,
    }
}

#[test]
fn what_an_engine_made_is_read_to_the_bars_and_better_than_by_a_plain_script() {
    let text = std::fs::read_to_string(folder().join("truth.json")).expect("committed");
    let truths: BTreeMap<String, Value> = serde_json::from_str(&text).expect("JSON");
    assert!(truths.len() >= 14);
    let mut table = Vec::new();
    for (name, truth) in truths.iter() {
        let bytes = std::fs::read(folder().join(format!("{name}.csv"))).expect("committed");
        let answer = analyze(name, &bytes, &Options::default()).answer;
        let [trial] = answer.trials.as_slice() else { panic!("{name}: {} trials, {:?}", answer.trials.len(), answer.left_out) };
        assert_eq!(Some(trial.test), truth["kind"].as_str().map(wanted), "{name}");
        println!("{name:20} {:?} {:?}", trial.verdict, trial.notices.iter().map(|n| n.code.as_str()).collect::<Vec<_>>());
        table.extend(rows(name, truth, trial));
    }
    println!("{:20} {:26} {:>10} {:>10} {:>10} {:>10}", "file", "quantity", "truth", "our error", "our 2u", "plain's");
    let mut sums: BTreeMap<&str, (f64, f64, f64, usize)> = BTreeMap::new();
    for row in &table {
        let error = (row.ours - row.truth).abs();
        let other = row.plain.map(|p| (p - row.truth).abs());
        println!(
            "{:20} {:26} {:10.4} {:10.5} {:10.5} {:>10}",
            row.file,
            row.quantity,
            row.truth,
            error,
            2.0 * row.u,
            other.map_or(String::from("–"), |e| format!("{e:.5}"))
        );
        assert!(error <= bar(row.quantity), "{}: {} off by {error}", row.file, row.quantity);
        let sum = sums.entry(row.quantity).or_default();
        sum.0 = sum.0.max(error);
        if let Some(other) = other {
            *sum = (sum.0, sum.1 + error, sum.2 + other, sum.3 + 1);
        }
    }
    println!("\n{:26} {:>10} {:>12} {:>14}", "quantity", "worst", "ours, mean", "plain's, mean");
    for (quantity, (worst, ours, plain, n)) in &sums {
        let mean = |sum: f64| if *n > 0 { format!("{:.5}", sum / *n as f64) } else { String::from("–") };
        println!("{quantity:26} {worst:10.5} {:>12} {:>14}", mean(*ours), mean(*plain));
        assert!(*n == 0 || ours < plain, "{quantity}: {ours} against the plain script's {plain}");
    }
}
