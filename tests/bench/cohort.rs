//! Standing and change over 60 000 trials, thirteen figures each (the athlete's first view), beside a plain pandas
//! script over the same numbers in the same run.
//!
//! ```text
//! cargo bench --bench cohort
//! ```
//! 400 invented athletes, 50 days of 3 trials each; best of five. The script is `tests/reference/standing_script.py`, run
//! by `$TARSAL_PYTHON` or python3; reading its file does not count.
use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;
use std::time::Instant;
use tarsal::cohort::change::{Question, change};
use tarsal::cohort::{Draws, Group, Noise, Observation, Repeatability, Repeats, Table, standing};
use tarsal::people::Date;

const FIGURES: &[&str] = &[
    "mean_braking_force_per_kg",
    "peak_braking_force_per_kg",
    "mean_braking_power_per_kg",
    "peak_braking_power_per_kg",
    "mean_propulsion_force_per_kg",
    "peak_propulsion_force_per_kg",
    "mean_propulsion_power_per_kg",
    "peak_propulsion_power_per_kg",
    "countermovement_depth",
    "peak_downward_velocity",
    "unweighting_duration",
    "braking_duration",
    "propulsion_duration",
];
const ATHLETES: usize = 400;
const DAYS: i32 = 50;
const TRIALS: usize = 3;

fn main() {
    let tables = tables();
    let trials = tables.first().map_or(0, |t| t.rows.len());
    println!("{trials} trials, {} figures", tables.len());
    let group = Group::everybody(Date(7 * DAYS));
    let members = vec![true; ATHLETES];
    let noises: Vec<Option<Noise>> = tables.iter().map(|t| Noise::of(t, Repeats::default())).collect();
    let standing_ms = best(|| {
        let all: Vec<_> = tables.iter().zip(&noises).filter_map(|(t, n)| standing(t, &group, &members, 17, None, n.as_ref())).collect();
        assert_eq!(all.len(), FIGURES.len());
    });
    // Everything a change needs from scratch: noise between days, smallest worthwhile change, the change.
    let question = Question { athlete: 17, before: &[Date(0)], after: &[Date(7 * (DAYS - 1))], picked_in: None };
    let change_ms = best(|| {
        let all: Vec<_> = tables
            .iter()
            .filter_map(|t| {
                let repeat = Repeatability::of(t, Repeats::default(), None);
                change(t, question, repeat.noise.as_ref(), repeat.smallest_worthwhile)
            })
            .collect();
        assert_eq!(all.len(), FIGURES.len());
    });
    println!("{:28} {standing_ms:>9.1} ms", "standing, all figures");
    println!("{:28} {change_ms:>9.1} ms", "change, all figures");
    told("standing under 100 ms", standing_ms < 100.0);
    told("change under 100 ms", change_ms < 100.0);
    let Some((their_standing, their_change)) = script(&tables) else {
        println!("  the script is not measured: python3 with pandas and scipy is missing");
        return;
    };
    println!("{:28} {their_standing:>9.1} ms\n{:28} {their_change:>9.1} ms", "script: standing", "script: change");
    println!("  times as fast: standing {:.1}, change {:.1}", their_standing / standing_ms, their_change / change_ms);
}

fn told(target: &str, met: bool) {
    println!("  {} {target}", if met { "met:   " } else { "MISSED:" });
}

fn best(mut work: impl FnMut()) -> f64 {
    let once = |work: &mut dyn FnMut()| {
        let start = Instant::now();
        work();
        start.elapsed().as_secs_f64() * 1000.0
    };
    (0..5).map(|_| once(&mut work)).fold(f64::MAX, f64::min)
}

fn tables() -> Vec<Table> {
    let mut draws = Draws::new(60_000);
    let table = |figure: &&str| {
        let mut rows = Vec::with_capacity(ATHLETES * DAYS as usize * TRIALS);
        for athlete in 0..ATHLETES {
            let usual = 20.0 * (1.0 + 0.1 * draws.normal());
            for day in 0..DAYS {
                let that_day = usual * (1.0 + 0.03 * draws.normal());
                for _ in 0..TRIALS {
                    let value = that_day * (1.0 + 0.03 * draws.normal());
                    rows.push(Observation {
                        athlete,
                        day: Date(7 * day),
                        value,
                        u: 0.1,
                        body_mass_kg: 60.0 + athlete as f64 / 10.0,
                        sound: true,
                    });
                }
            }
        }
        Table { figure: (*figure).into(), test: "countermovement_jump".into(), protocol: String::new(), rows }
    };
    FIGURES.iter().map(table).collect()
}

fn script(tables: &[Table]) -> Option<(f64, f64)> {
    let own = std::env::current_exe().ok()?;
    let folder = own.ancestors().nth(3)?.join("bench-data");
    std::fs::create_dir_all(&folder).ok()?;
    let path = folder.join("cohort.csv");
    let mut text = String::from("figure,athlete,day,value,mass\n");
    for table in tables {
        for r in &table.rows {
            let _ = writeln!(text, "{},{},{},{},{}", table.figure, r.athlete, r.day.0, r.value, r.body_mass_kg);
        }
    }
    std::fs::write(&path, text).ok()?;
    let python = std::env::var("TARSAL_PYTHON").unwrap_or_else(|_| "python3".into());
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/standing_script.py");
    let out = Command::new(python).arg(script).arg(&path).arg("17").output().ok()?;
    let said = String::from_utf8(out.stdout).ok()?;
    let mut times = said.split_whitespace().filter_map(|t| t.parse().ok());
    Some((times.next()?, times.next()?))
}
