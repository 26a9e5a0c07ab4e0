//! The table of what was read, asked and refused.
use super::super::truth::{check_same_by_any_way, read};
use super::draw::{Layout, layout};
use super::print::Expected;
use tarsal::recording::{QUESTIONS, ReadError, ReadOptions, Recording, Role};

/// Layouts drawn; more by `TARSAL_LAYOUTS`.
fn count() -> u64 {
    std::env::var("TARSAL_LAYOUTS").ok().and_then(|n| n.parse().ok()).unwrap_or(160)
}

#[derive(Clone, Copy, PartialEq, Debug)]
enum Outcome {
    Right,
    /// Read as a person would have guessed, and asked.
    AskedRight,
    /// Read otherwise, and asked.
    AskedWrong,
    Refused,
    Wrong,
}

fn judge(result: &Result<Recording, ReadError>, expected: &Expected) -> (Outcome, String) {
    let r = match result {
        Ok(r) => r,
        Err(e) => return (Outcome::Refused, format!("{}: {e}", e.code)),
    };
    let asked = r.notices.iter().find(|n| QUESTIONS.contains(&n.code.as_str())).map(|n| n.code.clone());
    let roles: Vec<Role> = r.channels.iter().map(|c| c.report.role).collect();
    let total: Vec<f64> = expected.left.iter().zip(&expected.right).map(|(l, r)| l + r).collect();
    let wanted: Vec<(Role, &[f64])> =
        if expected.total { vec![(Role::Total, &total)] } else { vec![(Role::Left, &expected.left), (Role::Right, &expected.right)] };
    let mut faults = Vec::new();
    if roles != wanted.iter().map(|(role, _)| *role).collect::<Vec<_>>() {
        faults.push(format!("roles {roles:?}"));
    }
    if (r.clock.rate_hz - expected.rate_hz).abs() > 2e-3 * expected.rate_hz {
        faults.push(format!("{} Hz for {}", r.clock.rate_hz, expected.rate_hz));
    }
    if r.len() != expected.left.len() {
        faults.push(format!("{} samples for {}", r.len(), expected.left.len()));
    }
    for (role, truth) in &wanted {
        let Some(read) = r.channel(*role) else { continue };
        let off = |i: usize| expected.holes.contains(&i);
        let worst =
            read.iter().zip(*truth).enumerate().filter(|(i, _)| !off(*i)).map(|(_, (a, b))| (f64::from(*a) - b).abs()).fold(0.0, f64::max);
        if worst > expected.tolerance_n * if expected.total { 2.0 } else { 1.0 } {
            faults.push(format!("{role:?} off by {worst} N (allowed {})", expected.tolerance_n));
        }
    }
    let outcome = match (faults.is_empty(), &asked) {
        (true, None) => Outcome::Right,
        (true, Some(_)) => Outcome::AskedRight,
        (false, Some(_)) => Outcome::AskedWrong,
        (false, None) => Outcome::Wrong,
    };
    (outcome, format!("{} {}", asked.unwrap_or_default(), faults.join(", ")))
}

fn options(expected: &Expected) -> ReadOptions {
    ReadOptions { rate_hz: expected.state_rate.then_some(expected.rate_hz), ..ReadOptions::default() }
}

fn words(l: &Layout) -> String {
    format!(
        "{:?} {} {:?} {:?} {}dec {:?} mark {:?} thousands {:?} quoted {} {:?} {} Hz below {:?} missing {:?} extras {:?} preamble {}{}{}",
        l.plates,
        super::draw::LANGUAGES[l.language][0],
        l.stamp,
        l.units,
        l.decimals,
        l.delimiter,
        l.mark,
        l.thousands,
        l.quoted,
        l.unit.0,
        l.rate_hz,
        l.below,
        l.missing,
        l.extras,
        l.preamble,
        if l.scientific { " scientific" } else { "" },
        if l.broken_header { " broken header" } else { "" },
    )
}

#[test]
fn layouts_at_random_are_read_or_asked_about() {
    let mut counts = [0usize; 5];
    let mut faults = Vec::new();
    let layouts = count();
    for seed in 0..layouts {
        let l = layout(seed);
        let (bytes, expected) = l.print();
        let options = options(&expected);
        if let Ok(folder) = std::env::var("TARSAL_CORPUS") {
            std::fs::write(format!("{folder}/layout-{seed}.txt"), &bytes).expect("a folder to write into");
        }
        let result = read(&bytes, &options);
        let (mut outcome, mut what) = judge(&result, &expected);
        if outcome == Outcome::Refused && result.as_ref().is_err_and(|e| QUESTIONS.contains(&e.code.as_str())) {
            outcome = Outcome::AskedWrong;
        }
        let mut reader = tarsal::recording::Reader::new(&options);
        if let (Ok(()), true) = (reader.feed(&bytes), result.is_ok()) {
            let all = reader.finish_all().map_or(0, |all| all.len());
            if all != expected.recordings {
                (outcome, what) = (Outcome::Wrong, format!("{what} {all} recordings for {}", expected.recordings));
            }
        }
        let at =
            [Outcome::Right, Outcome::AskedRight, Outcome::AskedWrong, Outcome::Refused, Outcome::Wrong].iter().position(|o| *o == outcome);
        counts[at.unwrap_or(4)] += 1;
        println!("{seed:4} {outcome:?}: {} {what}", words(&l));
        if !matches!(outcome, Outcome::Right | Outcome::AskedRight) {
            faults.push(format!("{seed:4} {outcome:?}: {}\n       {what}", words(&l)));
        }
    }
    let [right, asked, asked_wrong, refused, wrong] = counts;
    println!("{layouts} layouts: {right} read, {asked} read as guessed and asked, {asked_wrong} asked, {refused} refused, {wrong} wrong");
    let list = faults.join("\n");
    assert_eq!(wrong, 0, "{list}");
    assert!((right + asked) as f64 >= 0.98 * layouts as f64, "{right} + {asked} of {layouts}\n{list}");
}

#[test]
fn layouts_at_random_read_the_same_by_any_way() {
    for seed in 0..count() {
        let (bytes, expected) = layout(seed).print();
        check_same_by_any_way(&format!("layout {seed}"), &bytes, &options(&expected), &[1000 + 37 * seed as usize]);
    }
}
