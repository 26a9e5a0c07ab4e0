//! Confident calls against the known truth.
use super::squads::{ALL, FIGURES, Person, QUALITIES, Spoiled, TODAY, asked, session, sorted, squad, wilson};
use std::collections::BTreeMap;
use tarsal::advice::qualities::QUALITIES as TABLE;
use tarsal::advice::score::{Answer, read};
use tarsal::cohort::Draws as Random;

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    None,
    Mimic,
    HeavyNone,
    HeavyLimited,
    SpoiledNone,
    SpoiledLimited,
    SmallNone,
    SmallLimited,
    Limited,
    TwoLimited,
}

/// The mix: how many are right among those called depends on how many have nothing that limits them.
const PLAN: &[(Kind, usize)] = &[
    (Kind::None, 90),
    (Kind::Mimic, 40),
    (Kind::HeavyNone, 20),
    (Kind::HeavyLimited, 20),
    (Kind::SpoiledNone, 15),
    (Kind::SpoiledLimited, 15),
    (Kind::SmallNone, 15),
    (Kind::SmallLimited, 15),
    (Kind::Limited, 180),
    (Kind::TwoLimited, 30),
];

/// Which quality's place is limiting, and the answer.
fn one(kind: Kind, number: usize) -> (Vec<usize>, Answer, Vec<String>, f64) {
    let mut random = Random::new(1_000 * number as u64 + 17);
    let n = if matches!(kind, Kind::SmallNone | Kind::SmallLimited) { 12 + number % 6 } else { 15 + (number * 7) % 31 };
    let mut tables = squad(n, &mut random);
    let limited = matches!(kind, Kind::Limited | Kind::TwoLimited | Kind::HeavyLimited | Kind::SpoiledLimited | Kind::SmallLimited);
    let mut person = Person::even(if limited { 0.3 } else { 0.15 }, &mut random);
    let mut low: Vec<usize> = if limited { vec![number % QUALITIES] } else { Vec::new() };
    if kind == Kind::TwoLimited {
        low.push((number + 3) % QUALITIES);
    }
    let size = random.between(1.2, 3.2);
    for q in &low {
        person.truth[*q] -= size;
    }
    match kind {
        // Deep or slow: forces and powers are low for the manner alone.
        Kind::Mimic if number.is_multiple_of(2) => person.depth = random.between(2.0, 3.5),
        Kind::Mimic => person.tempo = -random.between(2.0, 3.5),
        _ => {}
    }
    if matches!(kind, Kind::HeavyNone | Kind::HeavyLimited) {
        person.mass_kg = random.between(112.0, 135.0);
    }
    let spoiled: Spoiled =
        matches!(kind, Kind::SpoiledNone | Kind::SpoiledLimited).then(|| (number % 7, number % 3, random.between(0.65, 0.85)));
    session(&mut tables, 0, &person, TODAY.plus_days(-5), 3, ALL, None, &mut random);
    session(&mut tables, 0, &person, TODAY, 3, ALL, spoiled, &mut random);
    let tables = sorted(tables);
    let reading = read(&asked(&tables, number as u64));
    let misses = reading.misses.iter().map(|m| m.id.clone()).collect();
    (low, reading.answer, misses, size)
}

#[test]
fn confident_calls_are_rare_where_nothing_limits_and_right_where_they_are_made() {
    let mut number = 0;
    let (mut none, mut none_called, mut none_two, mut called, mut right, mut limited, mut two, mut two_right) = (0, 0, 0, 0, 0, 0, 0, 0);
    let mut table: BTreeMap<(Kind, String), usize> = BTreeMap::new();
    let mut why: BTreeMap<String, usize> = BTreeMap::new();
    let mut big = (0, 0);
    // The mix this many times over; more by `TARSAL_SQUADS`.
    let times = std::env::var("TARSAL_SQUADS").ok().and_then(|n| n.parse().ok()).unwrap_or(4);
    let everybody: Vec<Kind> = PLAN.iter().flat_map(|(kind, count)| vec![*kind; *count * times]).collect();
    // Each athlete has a seed of his own, so two threads give the same answers as one.
    let half = everybody.len() / 2;
    let run = |from: usize, to: usize| (from..to).map(|i| one(everybody[i], i + 1)).collect::<Vec<_>>();
    let answers = std::thread::scope(|scope| {
        let second = scope.spawn(|| run(half, everybody.len()));
        let mut all = run(0, half);
        all.extend(second.join().unwrap());
        all
    });
    {
        for (kind, (low, answer, misses, size)) in everybody.iter().zip(answers) {
            number += 1;
            let quality = low.first();
            let is = |id| low.iter().any(|q| TABLE[*q].id == id);
            let word = match answer {
                Answer::One(id) if is(id) => "one, right",
                Answer::One(_) => "one, wrong",
                Answer::Two(a, b) if is(a) && is(b) => "two, both right",
                Answer::Two(a, b) if is(a) || is(b) => "two, it among them",
                Answer::Two(..) => "two, wrong",
                Answer::UniformlyLow => "uniformly low",
                Answer::UniformlyHigh => "uniformly high",
                Answer::Manner(_) => "manner",
                Answer::NotEnough => "not enough",
            };
            *table.entry((*kind, word.into())).or_default() += 1;
            if answer == Answer::NotEnough {
                for miss in misses {
                    *why.entry(miss).or_default() += 1;
                }
            }
            let (is_one, is_two) = (matches!(answer, Answer::One(_)), matches!(answer, Answer::Two(..)));
            none += usize::from(quality.is_none());
            none_called += usize::from(quality.is_none() && is_one);
            none_two += usize::from(quality.is_none() && is_two);
            limited += usize::from(quality.is_some());
            called += usize::from(is_one);
            right += usize::from(word == "one, right");
            two += usize::from(is_two);
            two_right += usize::from(word.starts_with("two, ") && word != "two, wrong");
            if quality.is_some() && size > 2.2 && *kind == Kind::Limited {
                big.0 += usize::from(word == "one, right");
                big.1 += 1;
            }
        }
    }
    println!("{number} invented athletes, {} figures, squads of 12 to 45", FIGURES.len());
    for ((kind, word), count) in &table {
        println!("  {kind:?}: {word}: {count}");
    }
    println!("not enough, because: {why:?}");
    let share = |k: usize, n: usize| {
        let (low, high) = wilson(k, n);
        format!("{k}/{n} = {:.1} % (95 % Wilson {low:.1}–{high:.1})", 100.0 * k as f64 / n.max(1) as f64)
    };
    println!("confident calls (one quality) among those without a limiting quality: {}", share(none_called, none));
    println!("two named among them: {}", share(none_two, none));
    println!("right among confident calls: {}", share(right, called));
    println!("called and right among the limited: {}", share(right, limited));
    println!("  … limited by more than 2.2 SD, sound and light: {}", share(big.0, big.1));
    println!("two named: it is one of them: {}", share(two_right, two));
    assert!(number >= 300);
    // The intervals' ends, not the rates alone, lie on the right side of the bars.
    assert!(wilson(none_called, none).1 <= 5.0, "too many confident calls where nothing limits");
    assert!(wilson(right, called).0 >= 85.0, "too few right, or too few called to tell");
}
