//! Invented squads with a known truth, figure by figure: each figure's logarithm is a quality's true standing, what is
//! the figure's own, depth and tempo, body mass, a day's error and a trial's error. Sizes after the trade's experience:
//! a session mean of three trials repeats between days with a correlation near 0.9.
use tarsal::advice::asked::{Asked, twelve_months};
use tarsal::advice::evidence::Flags;
use tarsal::cohort::Draws as Random;
use tarsal::cohort::{Observation, Table};
use tarsal::force::math::{exp, ln};
use tarsal::people::Date;

/// Qualities that the squads differ in; places in [`FIGURES`].
pub const QUALITIES: usize = 9;

/// One figure of the invented battery: test, protocol, figure, quality's place, direction, base value, spread of its
/// logarithm, effect of depth and of tempo (SD per SD), exponent of body mass.
type Figure = (&'static str, &'static str, &'static str, Option<usize>, f64, f64, f64, f64, f64, f64);

pub const FIGURES: &[Figure] = &[
    ("countermovement_jump", "", "mean_braking_force_per_kg", Some(0), 1.0, 19.0, 0.10, -0.4, 0.3, -0.33),
    ("countermovement_jump", "", "peak_braking_force_per_kg", Some(0), 1.0, 22.0, 0.12, -0.4, 0.3, -0.33),
    ("drop_jump", "", "mean_braking_force_per_kg", Some(0), 1.0, 35.0, 0.12, 0.0, 0.0, -0.33),
    ("drop_jump", "", "peak_braking_force_per_kg", Some(0), 1.0, 50.0, 0.14, 0.0, 0.0, -0.33),
    ("countermovement_jump", "", "mean_braking_power_per_kg", Some(1), 1.0, 9.0, 0.18, 0.2, 0.5, -0.30),
    ("countermovement_jump", "", "peak_braking_power_per_kg", Some(1), 1.0, 16.0, 0.20, 0.2, 0.5, -0.30),
    ("drop_jump", "", "mean_braking_power_per_kg", Some(1), 1.0, 40.0, 0.15, 0.0, 0.0, -0.30),
    ("countermovement_jump", "", "mean_propulsion_force_per_kg", Some(2), 1.0, 19.5, 0.08, -0.5, 0.2, -0.33),
    ("countermovement_jump", "", "peak_propulsion_force_per_kg", Some(2), 1.0, 23.0, 0.10, -0.5, 0.2, -0.33),
    ("squat_jump", "", "mean_propulsion_force_per_kg", Some(2), 1.0, 17.0, 0.08, 0.0, 0.0, -0.33),
    ("squat_jump", "", "peak_propulsion_force_per_kg", Some(2), 1.0, 21.0, 0.10, 0.0, 0.0, -0.33),
    ("countermovement_jump", "", "mean_propulsion_power_per_kg", Some(3), 1.0, 26.0, 0.14, -0.1, 0.2, -0.30),
    ("countermovement_jump", "", "peak_propulsion_power_per_kg", Some(3), 1.0, 50.0, 0.14, -0.1, 0.2, -0.30),
    ("squat_jump", "", "peak_propulsion_power_per_kg", Some(3), 1.0, 48.0, 0.14, 0.0, 0.0, -0.30),
    ("drop_jump", "", "reactive_strength_index", Some(4), 1.0, 1.6, 0.20, 0.0, 0.0, -0.30),
    ("rebound_jumps", "", "mean_reactive_strength_index", Some(4), 1.0, 1.7, 0.18, 0.0, 0.0, -0.30),
    ("isometric", "depth=ankle push", "peak_force_per_kg", Some(4), 1.0, 24.0, 0.15, 0.0, 0.0, -0.33),
    ("countermovement_jump", "", "time_to_stabilisation", Some(5), -1.0, 0.9, 0.25, 0.0, 0.0, 0.0),
    ("drop_landing", "", "time_to_stabilisation", Some(5), -1.0, 0.8, 0.25, 0.0, 0.0, 0.0),
    ("isometric", "depth=mid-thigh pull", "peak_force_per_kg", Some(6), 1.0, 33.0, 0.14, 0.0, 0.0, -0.40),
    ("isometric", "depth=mid-thigh pull", "force_at_250_ms_per_kg", Some(6), 1.0, 25.0, 0.16, 0.0, 0.0, -0.40),
    ("isometric", "depth=mid-thigh pull", "force_at_100_ms_per_kg", Some(7), 1.0, 16.0, 0.18, 0.0, 0.0, -0.40),
    ("isometric", "depth=mid-thigh pull", "peak_rate_of_force_development_per_kg", Some(7), 1.0, 120.0, 0.25, 0.0, 0.0, -0.40),
    ("rebound_jumps", "", "bosco_mean_power", Some(8), 1.0, 30.0, 0.14, 0.0, 0.0, -0.30),
    ("rebound_jumps", "", "rebound_decrement", Some(8), -1.0, 0.12, 0.30, 0.0, 0.0, 0.0),
    // Effort and manner.
    ("countermovement_jump", "", "jump_height", Some(3), 1.0, 0.35, 0.13, 0.1, 0.1, -0.10),
    ("squat_jump", "", "jump_height", Some(3), 1.0, 0.32, 0.13, 0.0, 0.0, -0.10),
    ("drop_jump", "", "jump_height", Some(3), 1.0, 0.31, 0.13, 0.0, 0.0, -0.10),
    ("countermovement_jump", "", "countermovement_depth", None, 1.0, 0.30, 0.15, 1.0, 0.0, 0.0),
    ("countermovement_jump", "", "peak_downward_velocity", None, 1.0, 1.2, 0.12, 0.0, 1.0, 0.0),
    ("drop_jump", "", "contact_time", None, 1.0, 0.19, 0.06, 0.0, 0.0, 0.0),
    ("drop_jump", "", "drop_height", None, 1.0, 0.29, 0.05, 0.0, 0.0, 0.0),
];

/// Tests of the battery with their protocol, in the order of their shared errors.
const TESTS: &[(&str, &str)] = &[
    ("countermovement_jump", ""),
    ("squat_jump", ""),
    ("drop_jump", ""),
    ("rebound_jumps", ""),
    ("isometric", "depth=ankle push"),
    ("isometric", "depth=mid-thigh pull"),
    ("drop_landing", ""),
];

/// Part of a figure's true spread that is its own.
const OWN: f64 = 0.35;
/// Day's and trial's error, in spreads of the figure; half of each variance is shared by a test's figures.
const DAY: f64 = 0.25;
const TRIAL: f64 = 0.30;

/// A person.
#[derive(Debug, Clone)]
pub struct Person {
    /// True standing in each quality, SD of the population.
    pub truth: [f64; QUALITIES],
    own: Vec<f64>,
    pub depth: f64,
    pub tempo: f64,
    pub mass_kg: f64,
}

impl Person {
    /// Somebody of the population: half of the variance of each quality is general.
    pub fn any(random: &mut Random) -> Self {
        let general = random.normal();
        let truth = core::array::from_fn(|_| (general + random.normal()) * 0.5_f64.sqrt());
        Self::with(truth, random)
    }
    /// Equal in all qualities but for a small scatter.
    pub fn even(scatter: f64, random: &mut Random) -> Self {
        let general = random.normal() * 0.5_f64.sqrt();
        let truth = core::array::from_fn(|_| general + scatter * random.normal());
        Self::with(truth, random)
    }
    fn with(truth: [f64; QUALITIES], random: &mut Random) -> Self {
        let own = FIGURES.iter().map(|_| random.normal()).collect();
        // Depth and tempo of the squad are alike within 1 SD more often than not; drawn like everything else.
        Self { truth, own, depth: random.normal(), tempo: random.normal(), mass_kg: (78.0_f64 + 9.0 * random.normal()).clamp(55.0, 105.0) }
    }
}

/// What to put wrong with one trial: test's place, which trial, factor on every figure of it.
pub type Spoiled = Option<(usize, usize, f64)>;

/// Adds a session of `trials` trials of every test in `battery` to the tables.
#[allow(clippy::too_many_arguments, reason = "a session is what it is")]
pub fn session(
    tables: &mut [Table],
    who: usize,
    person: &Person,
    day: Date,
    trials: usize,
    battery: &[usize],
    spoiled: Spoiled,
    random: &mut Random,
) {
    let half = 0.5_f64.sqrt();
    for test in battery {
        let (kind, protocol) = TESTS[*test];
        let shared_day = random.normal();
        let own_day: Vec<f64> = FIGURES.iter().map(|_| random.normal()).collect();
        // A coach repeats a jump until the best two heights agree within 5 %, six trials at most.
        let mut heights: Vec<f64> = Vec::new();
        for trial in 0..6 {
            heights.sort_by(|a, b| b.total_cmp(a));
            if trial >= trials && heights.get(1).is_none_or(|second| *second >= 0.95 * heights[0]) {
                break;
            }
            let shared = random.normal();
            for (place, f) in FIGURES.iter().enumerate().filter(|(_, f)| f.0 == kind && f.1 == protocol) {
                let level = f.3.map_or(0.0, |q| f.4 * person.truth[q]);
                let own = if f.3.is_some() { OWN * person.own[place] } else { 0.0 };
                let manner = f.7 * person.depth + f.8 * person.tempo;
                let error = DAY * half * (shared_day + own_day[place]) + TRIAL * half * (shared + random.normal());
                let mass = f.9 * ln(person.mass_kg / 78.0);
                let wrong = spoiled.filter(|s| s.0 == *test && s.1 == trial).map_or(1.0, |s| s.2);
                let value = f.5 * exp(f.6 * (level + own + manner + error) + mass) * wrong;
                if f.2 == "jump_height" {
                    heights.push(value);
                }
                tables[place].rows.push(Observation { athlete: who, day, value, u: 0.0, body_mass_kg: person.mass_kg, sound: true });
            }
        }
    }
}

/// Empty tables in the order of [`FIGURES`].
pub fn tables() -> Vec<Table> {
    FIGURES.iter().map(|f| Table { figure: f.2.into(), test: f.0.into(), protocol: f.1.into(), rows: Vec::new() }).collect()
}

/// The whole battery.
pub const ALL: &[usize] = &[0, 1, 2, 3, 4, 5, 6];

/// The day the question is asked.
pub const TODAY: Date = Date(20_500);

/// A squad of `n` with two near days each; the athlete asked about is number 0 and not yet in it.
pub fn squad(n: usize, random: &mut Random) -> Vec<Table> {
    let mut all = tables();
    for who in 1..=n {
        let person = Person::any(random);
        session(&mut all, who, &person, TODAY.plus_days(-7), 3, ALL, None, random);
        session(&mut all, who, &person, TODAY.plus_days(-1), 3, ALL, None, random);
    }
    all
}

/// Puts rows into the order the contract asks for.
pub fn sorted(mut tables: Vec<Table>) -> Vec<Table> {
    for table in &mut tables {
        table.rows.sort_by_key(|r| (r.athlete, r.day));
    }
    tables
}

/// 95 % Wilson interval of `k` of `n`, in per cent [Wilson 1927, J. Am. Stat. Assoc. 22:209].
pub fn wilson(k: usize, n: usize) -> (f64, f64) {
    let (k, n, z) = (k as f64, n as f64, 1.959_964);
    if n == 0.0 {
        return (0.0, 100.0);
    }
    let (p, z2) = (k / n, z * z);
    let centre = (p + z2 / (2.0 * n)) / (1.0 + z2 / n);
    let half = z / (1.0 + z2 / n) * (p * (1.0 - p) / n + z2 / (4.0 * n * n)).sqrt();
    (100.0 * (centre - half), 100.0 * (centre + half))
}

/// What is asked of the first athlete today: against twelve months of tests, with nothing known of sides or of the day.
pub fn asked(tables: &[Table], seed: u64) -> Asked<'_> {
    Asked { tables, athlete: 0, day: TODAY, compared: twelve_months(TODAY), newcomers: &[], flags: Flags::default(), sides: &[], seed }
}
