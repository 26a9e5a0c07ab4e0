//! Athletes who did nothing and are tested again; the gap test and Student's t against SciPy; its false alarms.
use super::squads::{ALL, FIGURES, Person, TODAY, session, sorted, squad, wilson};
use serde_json::Value;
use tarsal::advice::after::{changed, outcome};
use tarsal::advice::blocks::{Block, Target};
use tarsal::advice::contrast::unusual;
use tarsal::cohort::Draws as Draw;
use tarsal::cohort::distributions::t_cdf;
use tarsal::cohort::targets::adjust;
use tarsal::cohort::{Change, Line, Repeats, Table, Verdict};

fn reference() -> Value {
    serde_json::from_str(include_str!("../data/advice_values.json")).unwrap()
}

#[test]
fn student_and_the_gap_agree_with_scipy() {
    let known = reference();
    let numbers = |v: &Value| v.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect::<Vec<f64>>();
    for row in known["t_below"].as_array().unwrap() {
        let v = numbers(row);
        assert!((t_cdf(v[0], v[1]) - v[2]).abs() < 1e-9, "{v:?}");
    }
    for row in known["gap"].as_array().unwrap() {
        let v = numbers(row);
        let own = unusual(v[0], v[1], v[2], v[3] as usize).unwrap();
        assert!((own.t.abs() - v[4]).abs() < 1e-9 && (own.p - v[5]).abs() < 1e-9, "{v:?} {own:?}");
        assert_eq!(own.t < 0.0, v[0] < v[1]);
    }
    assert!(unusual(f64::NAN, 0.0, 0.5, 20).is_none() && unusual(0.0, 0.0, 1.0, 20).is_none() && unusual(0.0, 0.0, 0.5, 2).is_none());
}

/// Crawford & Garthwaite's own Monte-Carlo found false alarms near 5 % for every n and r (from memory of their tables).
#[test]
fn the_gap_test_gives_five_false_alarms_in_a_hundred() {
    let mut draw = Draw::new(5);
    for (n, r) in [(5, 0.0_f64), (15, 0.5), (20, 0.8), (50, 0.3)] {
        let rounds = 8000;
        let pair = |draw: &mut Draw| {
            let (a, b): (f64, f64) = (draw.normal(), draw.normal());
            (a, r * a + (1.0 - r * r).sqrt() * b)
        };
        let mut alarms = 0;
        for _ in 0..rounds {
            let group: Vec<(f64, f64)> = (0..n).map(|_| pair(&mut draw)).collect();
            let (x, y): (Vec<f64>, Vec<f64>) = group.into_iter().unzip();
            let (mean, sd) = (tarsal::force::stats::mean, tarsal::force::stats::sd);
            let correlation = Line::of(&x, &y).r;
            let person = pair(&mut draw);
            let test = unusual((person.0 - mean(&x)) / sd(&x), (person.1 - mean(&y)) / sd(&y), correlation, n).unwrap();
            alarms += usize::from(test.p < 0.05);
        }
        let share = 100.0 * alarms as f64 / rounds as f64;
        println!("n = {n}, r = {r}: {share:.1} % false alarms");
        // ± 4 standard errors of 8000 draws is 1 %; at n = 5 the published approximation itself strays by half a point.
        assert!((share - 5.0).abs() < 1.2, "{share}");
    }
}

/// The squads' near days are no first sessions: everybody knew the tests before.
const RULE: Repeats<'static> = Repeats { blocks: &[], first_counts: true };

fn better(c: &Change) -> bool {
    matches!(c.verdict, Verdict::WorthwhileBetter | Verdict::NotSurelyWorthwhile { better: true })
}

/// The family's figure that was lowest, as a target.
fn target(table: &Table) -> Target {
    Target {
        figure: table.figure.clone(),
        name: table.figure.clone(),
        test: table.test.clone(),
        protocol: table.protocol.clone(),
        unit: String::new(),
        before: 0.0,
        smallest_percent: None,
    }
}

#[test]
fn untrained_athletes_tested_again_are_seldom_called_improved() {
    let (mut figures, mut improved, mut athletes, mut any, mut also, mut looked) = (0, 0, 0, 0, 0, 0);
    for number in 0..2000 {
        let mut random = Draw::new(77_000 + number);
        let n = 16 + (number as usize * 5) % 25;
        let mut tables = squad(n, &mut random);
        let person = Person::any(&mut random);
        session(&mut tables, 0, &person, TODAY, 3, ALL, None, &mut random);
        session(&mut tables, 0, &person, TODAY.plus_days(28), 3, ALL, None, &mut random);
        let tables = sorted(tables);
        // Picked for being low: the two figures of quality lowest against the group on the first day.
        let mut low: Vec<(f64, usize)> = tables
            .iter()
            .enumerate()
            .filter(|(i, _)| FIGURES[*i].3.is_some())
            .filter_map(|(i, t)| {
                let day = |who: usize| t.rows.iter().filter(|r| r.athlete == who && r.day <= TODAY).map(|r| r.value.ln_like()).next_back();
                let others: Vec<f64> = (1..=n).filter_map(day).collect();
                let z = (day(0)? - tarsal::force::stats::mean(&others)) / tarsal::force::stats::sd(&others);
                Some((FIGURES[i].4 * z, i))
            })
            .collect();
        low.sort_by(|a, b| a.0.total_cmp(&b.0));
        let block = Block {
            id: String::new(),
            aims: Vec::new(),
            starts: TODAY,
            tested_on: TODAY,
            test_contacts: 0,
            weeks: 4,
            sessions: 2,
            rows: Vec::new(),
            reduce: Vec::new(),
            targets: low.iter().take(2).map(|l| target(&tables[l.1])).collect(),
            retest: TODAY.plus_days(28),
            note: String::new(),
        };
        let outcome = outcome(&block, &tables, 0, TODAY.plus_days(28), RULE);
        let count = outcome.targets.iter().filter(|(_, c)| c.as_ref().is_some_and(better)).count();
        figures += outcome.targets.len();
        improved += count;
        athletes += 1;
        any += usize::from(count > 0);
        looked += outcome.also.len();
        also += outcome.also.iter().filter(|(_, seen)| seen.stands_out).count();
        assert!(!outcome.next.is_empty());
    }
    let print = |what: &str, k: usize, n: usize| {
        let (low, high) = wilson(k, n);
        println!("{what}: {k}/{n} = {:.1} % (95 % Wilson {low:.1}–{high:.1})", 100.0 * k as f64 / n as f64);
    };
    print("untrained target figures called improved", improved, figures);
    print("untrained athletes with a target called improved", any, athletes);
    print("other figures that stand out (false discovery 0.10)", also, looked);
    assert!(wilson(any, athletes).1 <= 6.0, "{any} of {athletes}");
}

/// Log of a positive number, for ordering figures here.
trait LnLike {
    fn ln_like(self) -> f64;
}
impl LnLike for f64 {
    fn ln_like(self) -> f64 {
        tarsal::force::math::ln(self)
    }
}

#[test]
fn a_real_change_is_found_and_called_by_its_size() {
    let mut random = Draw::new(31);
    let mut found = [0; 2];
    for number in 0..60 {
        let mut tables = squad(25, &mut random);
        let mut person = Person::any(&mut random);
        session(&mut tables, 0, &person, TODAY, 3, ALL, None, &mut random);
        // Two standard deviations better in one quality, five weeks later.
        person.truth[number % 5] += 2.0;
        session(&mut tables, 0, &person, TODAY.plus_days(35), 3, ALL, None, &mut random);
        let tables = sorted(tables);
        let place = FIGURES.iter().position(|f| f.3 == Some(number % 5)).unwrap();
        let c = changed(&tables, &tables[place], 0, (TODAY, TODAY.plus_days(35)), RULE, true).unwrap();
        found[0] += usize::from(better(&c));
        found[1] += usize::from(c.verdict == Verdict::WorthwhileWorse);
        let design = c.design.unwrap();
        assert!(design.smallest > design.half && design.half > 0.0 && c.worthwhile.unwrap() > 0.0 && c.drift.is_some());
    }
    println!("a change of 2 SD is called better in {} of 60", found[0]);
    assert!(found[0] >= 50 && found[1] == 0);
}

#[test]
fn false_discoveries_are_limited_as_published() {
    // Benjamini & Hochberg 1995, section 3: fifteen p values, rate 0.05 → the four smallest count (from memory of the paper).
    let p = [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0];
    let found = |rate: f64| adjust(&p).iter().filter(|q| **q <= rate).count();
    assert_eq!(found(0.05), 4);
    assert!(adjust(&[0.9, 0.8]).iter().all(|q| *q > 0.1) && adjust(&[]).is_empty());
}
