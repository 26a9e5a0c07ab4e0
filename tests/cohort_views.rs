//! Standing and change as a person reads them: rules of group size, figures never scored, citations, words before numbers.
//! Pages with the style sheet are written to `target/tmp/cohort-*.html`, to be looked at.
// Invented curves and squads are made on this machine alone.
#![allow(clippy::disallowed_methods)]

use std::path::Path;
use tarsal::charts::bands::Bands;
use tarsal::charts::history::History;
use tarsal::charts::number::Locale;
use tarsal::charts::side_noise::SideNoise;
use tarsal::cohort::change::{Question, Spread};
use tarsal::cohort::curves::{Band, around, band, by_phase, difference_band};
use tarsal::cohort::export;
use tarsal::cohort::kappa::kappa;
use tarsal::cohort::reference::{self, Reference};
use tarsal::cohort::sides::{Directions, difference, directions, legs};
use tarsal::cohort::targets::{Sorted, sort};
use tarsal::cohort::{Change, Chart, Draws, Group, Noise, Observation, Repeatability, Repeats, Standing, Table, change, chart, standing};
use tarsal::people::{Date, Side};
use tarsal::records::tidy::{Flavour, resource_csv};
use tarsal::views::change::{ChangeView, change_view};
use tarsal::views::legs::{LegsView, legs_view};
use tarsal::views::repeatability::repeatability_view;
use tarsal::views::standing::{BRAKING, FirstView, MANNER, PROPULSION, first_view};

/// Usual values of an invented squad, SI (per kg where the figure is).
fn usual(figure: &str) -> f64 {
    match figure {
        "mean_braking_force_per_kg" => 18.5,
        "peak_braking_force_per_kg" => 23.0,
        "mean_braking_power_per_kg" => 9.5,
        "peak_braking_power_per_kg" => 17.0,
        "mean_propulsion_force_per_kg" => 19.5,
        "peak_propulsion_force_per_kg" => 24.0,
        "mean_propulsion_power_per_kg" => 27.0,
        "peak_propulsion_power_per_kg" => 50.0,
        "countermovement_depth" => 0.31,
        "peak_downward_velocity" => 1.25,
        "unweighting_duration" => 0.38,
        "braking_duration" => 0.17,
        _ => 0.26,
    }
}

fn day(text: &str) -> Date {
    Date::parse(text).expect("a date")
}

/// The squad's tables: three days a few days apart in March, one in May; the first athlete is the one looked at.
fn tables(n: usize) -> Vec<Table> {
    let mut draws = Draws::new(40);
    let masses: Vec<f64> = (0..n).map(|_| 74.0 + 11.0 * draws.normal()).collect();
    BRAKING
        .iter()
        .chain(PROPULSION)
        .chain(MANNER)
        .enumerate()
        .map(|(place, figure)| {
            let mut rows = Vec::new();
            for (athlete, mass) in masses.iter().enumerate() {
                let of_mass = if figure.ends_with("power_per_kg") { -0.5 * (mass / 74.0).ln() } else { 0.0 };
                // The first athlete brakes well and pushes off less well than the others.
                let own = if athlete == 0 {
                    [0.08, -0.10, 0.14][if place < 4 {
                        0
                    } else if place < 8 {
                        1
                    } else {
                        2
                    }]
                } else {
                    0.09 * draws.normal()
                };
                let gain = if athlete == 0 && (4..8).contains(&place) { 0.08 } else { 0.0 };
                for (date, after) in [("2026-03-02", 0.0), ("2026-03-05", 0.0), ("2026-03-09", 0.0), ("2026-05-11", gain)] {
                    let that_day = own + of_mass + after + 0.025 * draws.normal();
                    for _ in 0..3 {
                        let value = usual(figure) * (that_day + 0.025 * draws.normal()).exp();
                        rows.push(Observation { athlete, day: day(date), value, u: 0.01, body_mass_kg: *mass, sound: true });
                    }
                }
            }
            Table { figure: (*figure).into(), test: "countermovement_jump".into(), protocol: "hands=hips;load=0.0;box=;side=".into(), rows }
        })
        .collect()
}

fn block() -> Vec<tarsal::cohort::Block> {
    vec![tarsal::cohort::Block { athlete: None, from: day("2026-03-16"), to: day("2026-05-03") }]
}

fn standings(tables: &[Table], n: usize, on: Date) -> Vec<(Standing, Option<Noise>)> {
    let blocks = block();
    let rule = Repeats { blocks: &blocks, first_counts: false };
    tables
        .iter()
        .filter_map(|t| {
            let noise = Noise::of(t, rule);
            Some((standing(t, &Group::everybody(on), &vec![true; n], 0, None, noise.as_ref())?, noise))
        })
        .collect()
}

const REFERENCES: &str = "figure,test,group,unit,mean,sd,n,citation\n\
    peak_propulsion_power_per_kg,countermovement_jump,invented students,W/kg,47.5,5.5,62,\"Invented for this test, 2026\"\n";

fn standing_page(n: usize, width: f64) -> String {
    let (references, errors) = reference::read(REFERENCES);
    assert!(errors.is_empty());
    let standings = standings(&tables(n), n, day("2026-03-31"));
    let view = FirstView {
        name: "Invented athlete 1",
        group: &Group::everybody(day("2026-03-31")).words(),
        trace: maud::html! {},
        standings: &standings,
        references: &references,
    };
    first_view(&view, width, &Locale::default()).into_string()
}

/// A page of its own with the real style sheet, to be looked at.
fn write(name: &str, body: &str) {
    let css = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("www/app.css")).expect("the style sheet");
    let page = format!(
        "<!doctype html><html lang=en><meta charset=utf-8><meta name=viewport content='width=device-width'><style>{css}</style><div id=app>{body}</div>"
    );
    std::fs::write(Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("cohort-{name}.html")), page).expect("target/tmp can be written");
}

#[test]
fn the_first_view_says_what_the_group_can_carry() {
    for (n, width, name) in
        [(6, 1180.0, "standing-5"), (13, 1180.0, "standing-12"), (41, 1180.0, "standing-40"), (41, 328.0, "standing-40-narrow")]
    {
        let page = standing_page(n, width);
        write(name, &page);
        assert_eq!(page.matches("class=\"own\"").count(), 13, "eight figures and five of the manner");
        assert_eq!(page.matches(&format!("n {}<", n - 1)).count(), 13, "n stands at the end of every strip");
        assert_eq!(page.matches("class=\"other\"").count(), 13 * (n - 1), "every other athlete is a tick");
        // Phase order: braking before propulsion, force before power, mean before peak.
        let order: Vec<usize> = [">Braking", ">Mean force", ">Peak force", ">Mean power", ">Peak power", ">Propulsion"]
            .iter()
            .filter_map(|w| page.find(w))
            .collect();
        assert!(order.len() == 6 && order.is_sorted(), "{order:?}");
        assert_eq!(page.contains("higher than"), n == 6);
        assert_eq!(page.contains("SD from mean"), n > 6);
        assert_eq!(page.contains("stands highest in this group"), n == 41);
        assert!(page.contains("Invented for this test, 2026"), "a citation at every use");
        assert!(page.contains("never scored") && !page.contains(" style="));
    }
    let page = standing_page(41, 1180.0);
    assert!(page.contains("Manner differs") && page.contains("peak downward velocity 2.2 SD above the mean"));
    assert!(page.contains("At own body mass") && page.contains("Hollow diamond") && page.contains("class=\"at-mass\""));
    let nobody = FirstView { name: "A", group: "", trace: maud::html! {}, standings: &[], references: &[] };
    assert!(first_view(&nobody, 900.0, &Locale::default()).into_string().contains("Nothing to compare yet"));
}

/// Everything a change view needs, of athlete 0 of forty.
struct Compared {
    sorted: Sorted,
    charts: Vec<(String, Chart)>,
    days_wanted: Option<usize>,
}

fn compared(n: usize, targets: &[&str]) -> Compared {
    let blocks = block();
    let rule = Repeats { blocks: &blocks, first_counts: false };
    let (before, after) = ([day("2026-03-05"), day("2026-03-09")], [day("2026-05-11")]);
    let tables = tables(n);
    let mut days_wanted = None;
    let all: Vec<Change> = tables
        .iter()
        .filter_map(|t| {
            let repeat = Repeatability::of(t, rule, None);
            days_wanted = repeat.days_wanted;
            let group = standing(t, &Group::everybody(before[1]), &vec![true; n], 0, None, None)?;
            let picked = targets.contains(&t.figure.as_str()).then(|| group.place.map(|p| Spread { mean: p.mean, sd: p.sd })).flatten();
            let question = Question { athlete: 0, before: &before, after: &after, picked_in: picked };
            change(t, question, repeat.noise.as_ref(), repeat.smallest_worthwhile)
        })
        .collect();
    let charts = tables
        .iter()
        .filter(|t| targets.contains(&t.figure.as_str()))
        .filter_map(|t| Some((t.figure.clone(), chart(t, 0, Some(before[1]), Noise::of(t, rule).as_ref())?)))
        .collect();
    let targets: Vec<String> = targets.iter().map(|t| (*t).to_owned()).collect();
    Compared { sorted: sort(all, &targets), charts, days_wanted }
}

/// Invented jumps, N: a dip and a hump with small differences from trial to trial; events as samples at 1000 Hz.
fn jumps(n: usize, lift: f64, draws: &mut Draws) -> Vec<(Vec<f64>, [f64; 4])> {
    (0..n)
        .map(|_| {
            let (a, b, c) = (380.0 + 12.0 * draws.normal(), 170.0 + 8.0 * draws.normal(), 265.0 + 9.0 * draws.normal());
            let (dip, top) = (330.0 + 25.0 * draws.normal(), 950.0 + 40.0 * draws.normal());
            let events = [100.0, 100.0 + a, 100.0 + a + b, 100.0 + a + b + c];
            let force = (0..1200)
                .map(|i| {
                    let t = f64::from(i) - 100.0;
                    let wave = |x: f64| (std::f64::consts::PI * x.clamp(0.0, 1.0)).sin();
                    let hump = wave((t - a) / (b + c + 40.0));
                    let leaving = ((a + b + c - t) / 40.0).clamp(0.0, 1.0);
                    leaving * (740.0 - dip * wave(t / a) + (top + lift * ((t - a - b) / c).clamp(0.0, 1.0)) * hump)
                })
                .collect();
            (force, events)
        })
        .collect()
}

struct Curves {
    x: Vec<f64>,
    before: Band,
    after: Band,
    difference: Option<Band>,
}

fn curves(n: usize, in_time: bool) -> Curves {
    let mut draws = Draws::new(5);
    let mut side = |lift| -> Vec<Vec<f64>> {
        jumps(n, lift, &mut draws)
            .iter()
            .filter_map(|(f, e)| if in_time { Some(around(f, 1000.0, e[3], -0.8, 0.0, 0.005)) } else { by_phase(f, e, 50) })
            .collect()
    };
    let (before, after) = (side(0.0), side(160.0));
    let x =
        if in_time { (0..=160).map(|i| -0.8 + 0.005 * f64::from(i)).collect() } else { (0..=150).map(|i| f64::from(i) / 50.0).collect() };
    let difference = difference_band(&before, &after, 1);
    Curves { x, before: band(&before, 1).expect("curves"), after: band(&after, 2).expect("curves"), difference }
}

fn drawn<'a>(c: &'a Curves, phases: &'a [(String, f64, f64)]) -> Bands<'a> {
    Bands { unit: "N", x: &c.x, phases, before: &c.before, after: &c.after, difference: c.difference.as_ref() }
}

fn change_page(n: usize, trials: usize, width: f64) -> String {
    let compared = compared(n, &["mean_propulsion_force_per_kg", "peak_propulsion_power_per_kg"]);
    let histories: Vec<History> = compared
        .charts
        .iter()
        .map(|(figure, chart)| History {
            name: figure.replace('_', " "),
            unit: (if figure.contains("power") { "W/kg" } else { "N/kg" }.into(), 1.0),
            chart,
            side: None,
        })
        .collect();
    let phases: Vec<(String, f64, f64)> = ["unweighting", "braking", "propulsion"]
        .iter()
        .enumerate()
        .map(|(i, name)| ((*name).to_owned(), i as f64, i as f64 + 1.0))
        .collect();
    let (by_phase, in_time) = (curves(trials, false), curves(trials, true));
    let view = ChangeView {
        name: "Invented athlete 1",
        sorted: &compared.sorted,
        histories: &histories,
        by_phase: Some(drawn(&by_phase, &phases)),
        in_time: Some(drawn(&in_time, &[])),
        days_wanted: compared.days_wanted,
        gravity: None,
    };
    change_view(&view, width, &Locale::default()).into_string()
}

#[test]
fn the_change_view_judges_two_and_mentions_the_rest() {
    for (n, trials, width, name) in
        [(5, 4, 1180.0, "change-5"), (12, 6, 1180.0, "change-12"), (40, 8, 1180.0, "change-40"), (40, 8, 328.0, "change-40-narrow")]
    {
        let page = change_page(n, trials, width);
        write(name, &page);
        assert_eq!(page.matches("class=\"finding\"").count(), 2);
        assert_eq!(page.matches("class=\"unclear\"").count() + page.matches("<th scope=\"row\">").count(), 11, "the others are also seen");
        assert!(page.contains("Means of trials, never best trials") && page.contains("80 of 100 cases"));
        assert_eq!(page.contains("No band: 4 and 4 trials"), trials == 4);
        assert!(!page.contains(" style="));
    }
    let page = change_page(40, 8, 1180.0);
    // Plain words in the table; the statistic's name stands in its explanation.
    assert!(page.contains(">By chance, %<") && page.contains("worth asking next") && page.contains("(adjusted p)"));
    assert!(!page.contains("Adjusted p") && !page.contains("tands out"));
    assert!(page.contains("picked as the lowest") && page.contains("beyond the expected drift"));
    assert!(page.contains("Beyond their trials’ spread the curves part in propulsion"));
    // Figures that are never scored are higher or lower.
    let compared = compared(40, &["countermovement_depth"]);
    let words = tarsal::views::change::sentence(&compared.sorted.targets[0], &Locale::default());
    assert!(!words.contains("better") && !words.contains("worse"), "{words}");
}

#[test]
fn every_verdict_has_its_sentence() {
    let compared = compared(40, &["mean_propulsion_force_per_kg"]);
    let mut c = compared.sorted.targets[0].clone();
    c.drift = None;
    c.worthwhile = Some(0.02);
    let said = |c: &Change, low: f64, high: f64| {
        let i = tarsal::cohort::Interval::about((low + high) / 2.0, (high - low) / 2.0);
        let c = Change { interval: Some(i), verdict: tarsal::cohort::change::judge(i, c.better, c.worthwhile), ..c.clone() };
        tarsal::views::change::sentence(&c, &Locale::default())
    };
    for (low, high, words) in [
        (0.03, 0.09, "Mean propulsion force is better by a worthwhile amount"),
        (-0.09, -0.03, "is worse by a worthwhile amount"),
        (-0.01, 0.015, "has not changed by a worthwhile amount"),
        (0.005, 0.06, "is better, but not surely by a worthwhile amount"),
        (-0.02, 0.05, "Cannot tell whether mean propulsion force changed"),
    ] {
        let text = said(&c, low, high);
        assert!(text.contains(words), "{text}");
    }
    let silent = Change { interval: None, verdict: tarsal::cohort::Verdict::CannotSay, ..c };
    assert!(tarsal::views::change::sentence(&silent, &Locale::default()).contains("cannot say"));
}

fn legs_page(n: usize, width: f64) -> String {
    let mut draws = Draws::new(12);
    let mut tables = [Table::default(), Table::default(), Table::default()];
    for athlete in 0..n {
        let lean = if athlete == 0 { 4.0 } else { 3.0 * draws.normal() };
        for (k, date) in ["2026-01-12", "2026-01-15", "2026-02-09", "2026-03-02", "2026-03-30", "2026-04-27"].iter().enumerate() {
            let recovering = if athlete == 0 { 0.5 * k as f64 } else { 0.0 };
            for _ in 0..3 {
                let (l, r) = (10.0 - 0.05 * lean + 0.25 * draws.normal() + recovering * 0.4, 10.0 + 0.05 * lean + 0.25 * draws.normal());
                for (table, value) in tables.iter_mut().zip([l, r, 100.0 * (r - l) / (r + l)]) {
                    table.rows.push(Observation { athlete, day: day(date), value, u: 0.2, body_mass_kg: 75.0, sound: true });
                }
            }
        }
    }
    let first_too = Repeats { first_counts: true, ..Repeats::default() };
    let noise = Noise::of(&tables[2], first_too);
    let [left, right, index] = &tables;
    let legs = legs(
        left,
        right,
        0,
        Some(Side::Left),
        [Noise::of(left, first_too).as_ref(), Noise::of(right, first_too).as_ref()],
        Some(day("2026-01-15")),
    );
    let differences: Vec<(SideNoise, Directions)> = [("Impulse, braking", "2026-01-12"), ("Impulse, propulsion", "2026-04-27")]
        .iter()
        .filter_map(|(name, on)| {
            Some((SideNoise { name: (*name).into(), difference: difference(index, 0, day(on), noise.as_ref())? }, directions(index, 0)))
        })
        .collect();
    let kappa = kappa(index, (day("2026-01-12"), day("2026-01-15")), (day("2026-04-20"), day("2026-04-27")));
    let kappas = [("Impulse, braking".to_owned(), kappa)];
    let between = Some((day("2026-01-15"), day("2026-04-27")));
    let view = LegsView {
        figure: "Mean propulsion force per leg",
        unit: ("N/kg".into(), 1.0),
        legs: &legs,
        differences: &differences,
        kappas: &kappas,
        between,
    };
    legs_view(&view, width, &Locale::default()).into_string()
}

#[test]
fn one_trial_names_a_side_only_beyond_its_own_uncertainty_and_decides_nothing() {
    let page = |percent: f64, u: f64| {
        let row = Observation { athlete: 0, day: day("2026-03-02"), value: percent, u, body_mass_kg: 75.0, sound: true };
        let index = Table { rows: vec![row], ..Table::default() };
        let mark = SideNoise { name: "Impulse, braking".into(), difference: difference(&index, 0, row.day, None).expect("a day") };
        let view = LegsView {
            figure: "",
            unit: ("N/kg".into(), 1.0),
            legs: &[],
            differences: &[(mark, directions(&index, 0))],
            kappas: &[],
            between: None,
        };
        legs_view(&view, 600.0, &Locale::default()).into_string()
    };
    assert!(page(1.8, 0.5).contains("in this one trial right higher by 1.8 % of the total"));
    assert!(!page(1.8, 1.0).contains("right higher by"));
    assert!(page(1.8, 0.5).contains("One trial decides nothing.") && page(1.8, 1.0).contains("One trial decides nothing."));
}

#[test]
fn the_operated_leg_comes_first_and_a_difference_has_its_own_noise() {
    let page = legs_page(20, 1180.0);
    write("legs", &page);
    write("legs-narrow", &legs_page(20, 328.0));
    let (left, right) = (page.find("Left leg (operated)").expect("operated"), page.find("Right leg").expect("the other"));
    assert!(left < right && page.contains("between days") && page.contains("of 6 sessions") && page.contains("κ"));
    assert!(page.contains("custom, not a diagnosis"));
    let few = legs_page(10, 600.0);
    assert!(!few.contains("κ") && few.contains("10 of the group had a direction on both days"), "fewer than fifteen: no agreement");
}

#[test]
fn repeatability_says_where_it_is_from_and_when_it_cannot_say() {
    let blocks = block();
    let rule = Repeats { blocks: &blocks, first_counts: false };
    let mut figures: Vec<Repeatability> = tables(40).iter().map(|t| Repeatability::of(t, rule, None)).collect();
    // Two athletes' days are too few: a published value where there is one, else silence.
    for (place, figure) in [(0, "jump_height"), (1, "mean_braking_force_per_kg")] {
        let few = Table { figure: figure.into(), ..tables(2).remove(place) };
        figures.push(Repeatability::of(&few, rule, None));
    }
    let page = repeatability_view(&figures, &Locale::default()).into_string();
    write("repeatability", &page);
    assert!(page.contains("ICC(1,1) 0.") && page.contains("80 days of 40") && page.contains("PMC7039490") && page.contains("cannot say"));
    assert!(page.contains("For 1 figure nothing can be said yet"));
    let rows: Vec<Vec<String>> = figures.iter().map(|r| export::repeatability_row(&export::Context::default(), r)).collect();
    assert!(rows.iter().all(|r| r.len() == export::REPEATABILITY.len()));
    let error = export::REPEATABILITY.iter().position(|c| c.name == "typical_error").expect("a column");
    assert!(rows[14][error].is_empty() && rows[13][3] == "PMC7039490");
    let true_error = (0.025f64 * 0.025 * (1.0 + 1.0 / 3.0)).sqrt();
    assert!(figures[0].typical_error.expect("own").holds(true_error));
}

#[test]
fn exported_rows_fit_their_columns_and_never_hold_a_made_up_zero() {
    let context = export::Context { athlete: "A, \"1\"".into(), test: "countermovement_jump".into(), ..export::Context::default() };
    for n in [6, 41] {
        let rows: Vec<Vec<String>> = standings(&tables(n), n, day("2026-03-31"))
            .iter()
            .map(|(s, noise)| export::standing_row(&context, s, noise.as_ref()))
            .collect();
        let text = resource_csv(export::STANDING, &rows, Flavour::Plain);
        assert_eq!(text.lines().count(), 14);
        let percentile = export::STANDING.iter().position(|c| c.name == "percentile").expect("a column");
        assert!(rows.iter().all(|r| r.len() == export::STANDING.len() && r[percentile].is_empty() == (n == 6)));
    }
    let one = tarsal::cohort::sides::SideDifference {
        percent: 4.0,
        trials: 3,
        noise: 2.5,
        against: tarsal::cohort::sides::Against::Days,
        higher: Some(Side::Right),
    };
    let row = export::sides_row(&context, "braking_impulse", day("2026-03-02"), &one, None);
    assert_eq!((row.len(), row[9].as_str()), (export::SIDES.len(), "right"));
    assert!(row[10..].iter().all(String::is_empty), "no κ was asked for: {row:?}");
    let pairs: Vec<(bool, bool)> = (0..20).map(|i| (i % 2 == 0, i % 2 == 0 || i == 7)).collect();
    let kappa = tarsal::cohort::kappa::of(&pairs).expect("twenty athletes, both sides");
    let row =
        export::sides_row(&context, "braking_impulse", day("2026-03-02"), &one, Some(((day("2026-01-05"), day("2026-03-02")), &kappa)));
    assert_eq!((row.len(), &row[10..14]), (export::SIDES.len(), &["2026-01-05", "2026-03-02", "20", "19"].map(String::from)[..]));
    // Scott's π by hand: 19 of 20 agree, 21 of 40 directions are right: chance (21² + 19²)/40².
    let chance = (21.0f64 * 21.0 + 19.0 * 19.0) / 1600.0;
    assert!((row[14].parse::<f64>().expect("a number") - (0.95 - chance) / (1.0 - chance)).abs() < 1e-12);
    let compared = compared(40, &["mean_propulsion_force_per_kg"]);
    let rows = export::change_rows(&context, &compared.sorted);
    assert!(rows.iter().all(|r| r.len() == export::CHANGE.len()) && rows[0][4] == "target" && rows[1][4] == "also_seen");
    let text = resource_csv(export::CHANGE, &rows, Flavour::Plain);
    let mut back = csv::Reader::from_reader(text.trim_start_matches('\u{feff}').as_bytes());
    assert_eq!(back.records().filter_map(Result::ok).filter(|r| &r[0] == "A, \"1\"").count(), 13);
}

#[test]
fn a_reference_table_is_taken_line_by_line() {
    let text = "figure,test,mean,sd,unit,n,citation\njump_height,countermovement jump,35,5,cm,40,Somebody 2020\n\
                jump_hight,countermovement_jump,35,5,cm,40,Somebody 2020\njump_height,countermovement_jump,35,x,cm,40,Somebody 2020\n\
                jump_height,countermovement_jump,35,5,N,40,Somebody 2020\njump_height,countermovement_jump,35,5,cm,40,\n";
    let (taken, errors) = reference::read(text);
    assert_eq!(taken.len(), 1);
    assert!((taken[0].mean - 0.35).abs() < 1e-12 && taken[0].test == "countermovement_jump");
    let places: Vec<(usize, &str)> = errors.iter().map(|e| (e.line, e.column.as_str())).collect();
    assert_eq!(places, [(3, "figure"), (4, "sd"), (5, "unit"), (6, "citation")]);
    // Crawford & Howell against its n; the population's own distribution where n is not said.
    let place = taken[0].stand(0.40).expect("spread");
    assert!((place.t - 1.0 / (1.0f64 + 1.0 / 40.0).sqrt()).abs() < 1e-12);
    let unsaid = Reference { n: None, ..taken[0].clone() }.stand(0.40).expect("spread");
    assert!((unsaid.expected_below - 0.841_344_746).abs() < 1e-8 && unsaid.z.low.is_nan());
    assert_eq!(reference::read("a,b\n1,2\n").1.len(), 5);
    assert!(reference::read("").1.iter().any(|e| e.to_string().starts_with("Line 1")));
}
