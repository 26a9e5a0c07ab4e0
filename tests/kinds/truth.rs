//! Errors and coverage by kind and figure. Bars of the project: height 6 mm, drop height 12 mm, contact 4 ms, times of each
//! contact 5 ms; ± 2u covers 90–99 %.
use crate::read;
use tarsal::answer::{Options, TestKind, Trial};
use tarsal::invented::kinds::any::Kind;
use tarsal::invented::{Plates, Random, Scene, contact_truths, truths};
use tarsal::movement::kinds::rebound_jumps::{bosco_mean_power, dalleau_stiffness};

/// Reads one scene as the one trial it is.
fn trial(scene: &Scene, plates: &Plates) -> Trial {
    let options = Options { load_kg: (scene.load_kg > 0.0).then_some(scene.load_kg), ..Options::default() };
    let found = read(scene, plates, &options).answer;
    match found.trials.as_slice() {
        [one] => one.clone(),
        other => panic!("{} trials, left out {:?}", other.len(), found.left_out),
    }
}

/// The truths of a scene; for a set of rebounds those of the contacts that were counted, for a pull those from the onset
/// that was found (how late that is, is told apart).
fn all_truths(scene: &Scene, trial: &Trial) -> Vec<(&'static str, f64)> {
    let g = 9.806_65;
    match trial.test {
        TestKind::ReboundJumps => {
            let contacts = contact_truths(scene);
            let counted: Vec<[f64; 4]> = trial.contacts.iter().zip(contacts).filter(|(c, _)| c.counted).map(|(_, t)| t).collect();
            let n = counted.len() as f64;
            let mean = |of: &dyn Fn(f64, f64) -> f64| counted.iter().map(|c| of(c[0], c[1])).sum::<f64>() / n;
            let (tc, tf) = (mean(&|c, _| c) * n, mean(&|_, f| f) * n);
            vec![
                ("mean_contact_time", tc / n),
                ("mean_flight_time", tf / n),
                ("mean_rebound_height", mean(&|_, f| g * f * f / 8.0)),
                ("mean_reactive_strength_index", mean(&|c, f| g * f * f / 8.0 / c)),
                ("mean_flight_to_contact_ratio", mean(&|c, f| f / c)),
                ("bosco_mean_power", bosco_mean_power(tf, tf + tc, tc, n, g)),
                ("dalleau_stiffness", mean(&|c, f| dalleau_stiffness(scene.mass_kg, c, f))),
            ]
        }
        TestKind::Isometric => {
            let Some(pull) = &scene.pull else { return vec![] };
            let onset = trial.events["onset"];
            let net = |ms: f64| pull.net_n(onset + ms / 1000.0);
            let mut out = truths(scene);
            for (id, value) in &mut out {
                let ms: f64 = id.split('_').find_map(|p| p.parse().ok()).unwrap_or(f64::NAN);
                if id.starts_with("force_at") {
                    *value = net(ms);
                } else if id.starts_with("rate_of") {
                    *value = (net(ms) - net(0.0)) / (ms / 1000.0);
                } else if id.starts_with("impulse") {
                    *value = (0..10_000).map(|k| net(ms * (k as f64 + 0.5) / 10_000.0)).sum::<f64>() * ms / 1e7;
                }
            }
            out
        }
        // A push from a held squat starts by a rule; work, impulse and peaks do not hang on it.
        TestKind::SquatJump => {
            let by_rule = ["propulsion_duration", "mean_propulsion_force", "mean_propulsion_power", "mean_propulsion_velocity"];
            truths(scene).into_iter().filter(|(id, _)| !by_rule.contains(id)).collect()
        }
        _ => truths(scene),
    }
}

#[derive(Default)]
struct Row {
    id: String,
    errors: Vec<f64>,
    covered: usize,
    given: usize,
    withheld: usize,
    twos: Vec<f64>,
    ratios: Vec<f64>,
    /// What each trial's uncertainty is mostly from.
    from: std::collections::BTreeMap<String, usize>,
}

/// Reads `n` scenes of a kind and compares every figure whose truth is known.
fn tally(kind: Kind, n: usize, seed: u64, plates: impl Fn(&mut Random) -> Plates) -> Vec<Row> {
    let mut random = Random::new(seed);
    let mut rows: Vec<Row> = Vec::new();
    for _ in 0..n {
        let scene = kind.scene(&mut random);
        let plates = plates(&mut random);
        let trial = trial(&scene, &plates);
        for (id, truth) in all_truths(&scene, &trial) {
            let Some(figure) = trial.figures.get(id) else { continue };
            let at = match rows.iter().position(|r| r.id == id) {
                Some(at) => at,
                None => {
                    rows.push(Row { id: id.into(), ..Row::default() });
                    rows.len() - 1
                }
            };
            let row = &mut rows[at];
            match figure.value.zip(figure.u) {
                Some((value, u)) => {
                    row.given += 1;
                    row.covered += usize::from((value - truth).abs() <= 2.0 * u);
                    row.errors.push((value - truth).abs());
                    row.twos.push(2.0 * u);
                    *row.from.entry(figure.mostly_from.clone().unwrap_or_else(|| "several".into())).or_default() += 1;
                    row.ratios.push(2.0 * u / (value - truth).abs().max(1e-300));
                }
                None => row.withheld += 1,
            }
        }
    }
    for row in &mut rows {
        row.errors.sort_by(f64::total_cmp);
        row.twos.sort_by(f64::total_cmp);
        row.ratios.sort_by(f64::total_cmp);
    }
    rows
}

fn worst(rows: &[Row], id: &str) -> f64 {
    rows.iter().find(|r| r.id == id).and_then(|r| r.errors.last()).copied().unwrap_or(f64::NAN)
}

fn clean(random: &mut Random) -> Plates {
    Plates { rate_hz: 1000.0, noise_n: 0.4, seed: random.bits(), ..Plates::default() }
}

fn noisy(random: &mut Random) -> Plates {
    Plates { rate_hz: [500.0, 1000.0, 1000.0, 2000.0][(random.bits() % 4) as usize], ..Plates::random(random) }
}

const ALL: [Kind; 9] = [
    Kind::LoadedJump,
    Kind::OneLegJump,
    Kind::SquatJump,
    Kind::DropJump,
    Kind::DropLanding,
    Kind::CountermovementReboundJump,
    Kind::ReboundJumps,
    Kind::Hops,
    Kind::Isometric,
];

/// Of 40 trials a figure must be there in this many: `contact_stiffness` is withheld where the contact is not spring-like
/// (methods §5), nothing else by a rule that sound trials meet. A figure withheld throughout would be within any bar.
const LEAST_GIVEN: usize = 30;

/// How much `± 2u` must cover, %: 95.4 for a calibrated normal error; 90 to 99 are promised, and half a percent is what 400
/// scenes leave to chance at those edges (a third of a binomial standard error at 90, one at 99).
const COVERED: core::ops::RangeInclusive<f64> = 89.5..=99.5;

/// Figures that may be covered always. The highest of many noisy samples is too high by about the noise each time: `u` holds
/// that bias as if it could have either sign, and an error of one size has no tails outside `2u`.
const ALWAYS: [&str; 2] = ["peak_propulsion_force", "peak_force"];

/// What each kind is known by: these must be there and within their bars, whatever else is.
fn named(kind: Kind) -> &'static [(&'static str, f64)] {
    match kind {
        Kind::LoadedJump | Kind::OneLegJump | Kind::SquatJump => &[("jump_height", 0.006)],
        Kind::DropJump => &[("jump_height", 0.006), ("drop_height", 0.012), ("contact_time", 0.004)],
        Kind::DropLanding => &[("drop_height", 0.012)],
        Kind::CountermovementReboundJump => &[("jump_height", 0.006), ("rebound_contact_time", 0.004), ("rebound_jump_height", 0.006)],
        Kind::ReboundJumps | Kind::Hops => &[("mean_contact_time", 0.005), ("mean_flight_time", 0.005), ("mean_rebound_height", 0.006)],
        // 12 N are 0.6 % of a pull of 2000.
        Kind::Isometric => &[("peak_force", 12.0)],
        _ => &[],
    }
}

#[test]
fn quiet_plates_give_every_figure_within_the_bars() {
    let mut bad = Vec::new();
    for kind in ALL {
        let rows = tally(kind, 40, 5, clean);
        println!("{kind:?}");
        for r in &rows {
            let median = r.errors.get(r.errors.len() / 2).copied().unwrap_or(f64::NAN);
            println!("  {:40} worst {:>10.5}, median {median:>10.5}, given {}", r.id, worst(&rows, &r.id), r.given);
            if r.given < LEAST_GIVEN {
                bad.push(format!("{kind:?} {} given {} times of 40", r.id, r.given));
            }
        }
        assert!(!named(kind).is_empty(), "{kind:?}");
        for (id, bar) in named(kind) {
            let found = worst(&rows, id);
            if !(found <= *bar) {
                bad.push(format!("{kind:?} {id} off by {found}"));
            }
        }
    }
    assert!(bad.is_empty(), "{bad:#?}");
}

#[test]
fn the_uncertainty_is_true_for_every_kind() {
    let mut bad = Vec::new();
    for kind in ALL {
        let n = 400;
        let rows = tally(kind, n, 17, noisy);
        println!(
            "{kind:?}\n  {:40} {:>8} {:>9} {:>12} {:>12} {:>6} {:>8}  mostly from",
            "figure", "covered", "withheld", "median error", "median 2u", "ratio", "by trial"
        );
        for r in &rows {
            if r.given < n * LEAST_GIVEN / 40 {
                bad.push(format!("{kind:?} {} given only {} times of {n}", r.id, r.given));
                continue;
            }
            let percent = 100.0 * r.covered as f64 / r.given as f64;
            let (e, u) = (r.errors[r.given / 2], r.twos[r.given / 2]);
            let mostly = r.from.iter().max_by_key(|f| f.1).map_or("", |f| f.0.as_str());
            let by_trial = r.ratios[r.given / 2];
            println!("  {:40} {percent:>7.1}% {:>9} {e:>12.6} {u:>12.6} {:>6.2} {by_trial:>8.2}  {mostly}", r.id, r.withheld, u / e);
            if !(COVERED.contains(&percent) || ALWAYS.contains(&r.id.as_str()) && percent > *COVERED.end()) {
                bad.push(format!("{kind:?} {} {percent:.1} %", r.id));
            }
        }
    }
    assert!(bad.is_empty(), "{bad:#?}");
}

#[test]
fn each_contact_of_a_set_is_timed() {
    let mut random = Random::new(29);
    let (mut worst_contact, mut worst_flight, mut worst_index) = (0.0_f64, 0.0_f64, 0.0_f64);
    for k in 0..80 {
        let kind = if k % 2 == 0 { Kind::ReboundJumps } else { Kind::Hops };
        let scene = kind.scene(&mut random);
        let plates = noisy(&mut random);
        let trial = trial(&scene, &plates);
        assert_eq!(trial.test, TestKind::ReboundJumps);
        let truth = contact_truths(&scene);
        assert_eq!(trial.contacts.len(), truth.len(), "{kind:?}");
        for (c, [contact, flight, ..]) in trial.contacts.iter().zip(truth) {
            let found = c.flight_time.unwrap_or(f64::NAN);
            worst_contact = worst_contact.max((c.contact_time - contact).abs());
            worst_flight = worst_flight.max((found - flight).abs());
            let index = 9.806_65 * flight * flight / 8.0 / contact;
            worst_index = worst_index.max((c.reactive_strength_index.unwrap_or(f64::NAN) / index - 1.0).abs());
        }
        assert!(trial.contacts.iter().filter(|c| c.counted).count() <= 5);
    }
    println!(
        "each contact: worst contact {:.2} ms, flight {:.2} ms, index {:.1} %",
        1e3 * worst_contact,
        1e3 * worst_flight,
        100.0 * worst_index
    );
    assert!(worst_contact <= 0.005 && worst_flight <= 0.005);
}
