//! One athlete's whole study over 60 000 trials: standing, change, left and right, what is least developed with its
//! jackknife, on this computer (not in Chromium).
//!
//! ```text
//! cargo bench --bench study
//! ```
//! 200 invented athletes, 50 days a week apart, 6 trials a day: half countermovement jumps, half isometric pulls. Best of three;
//! nothing is asserted about time.
use std::rc::Rc;
use std::time::Instant;
use tarsal::answer::{METHOD_VERSION, TestKind, Verdict};
use tarsal::invented::Random;
use tarsal::people::{Athlete, Date, Protocol, Session};
use tarsal::records::table::DIFFERENCE;
use tarsal::records::{Head, Kept, Pool};
use tarsal::screen::State;
use tarsal::screen::study::{columns, study};

const ATHLETES: usize = 200;
const DAYS: i32 = 50;
const TRIALS: usize = 6;

fn main() {
    let mut state = State { today: Date(7 * DAYS), now: "2026-01-01T00:00:00Z".into(), ..State::default() };
    let ids: Vec<String> = columns();
    let mut random = Random::new(7);
    let mut pool = Pool { heads: Vec::new(), columns: ids.iter().map(|id| (id.clone(), Vec::new())).collect() };
    let protocol: Rc<str> = Protocol::default().key().into();
    for day in 0..DAYS {
        let id = format!("session-{day}");
        state.sessions.insert(id.clone(), Kept::new("session", &id, Session::on(Date(7 * day)), ""));
    }
    for a in 0..ATHLETES {
        let id = format!("athlete-{a:03}");
        let body = Athlete { id: id.clone(), name: format!("Invented {a}"), ..Athlete::default() };
        state.athletes.insert(id.clone(), Kept::new("athlete", &id, body, ""));
        let mass = random.between(55.0, 100.0);
        let mut own: Vec<f64> = ids.iter().map(|_| 20.0 * (1.0 + 0.12 * random.normal())).collect();
        if a == 17 {
            // Low in isometric force alone, so that the answer is a quality and has to hold without every trial and member.
            own = ids.iter().map(|id| if id == "peak_force_per_kg" || id == "force_at_250_ms_per_kg" { 11.0 } else { 21.0 }).collect();
        }
        for day in 0..DAYS {
            for trial in 0..TRIALS {
                let jump = trial < TRIALS / 2;
                let head = Head {
                    id: format!("trial-{a}-{day}-{trial}").into(),
                    rev: 1,
                    file: "invented.csv".into(),
                    added: "".into(),
                    athlete_id: id.as_str().into(),
                    session_id: format!("session-{day}").into(),
                    protocol_key: Rc::clone(&protocol),
                    method: METHOD_VERSION.into(),
                    test: if jump { TestKind::CountermovementJump } else { TestKind::Isometric },
                    side: b'b',
                    verdict: Verdict::Sound,
                    invented: true,
                    removed: false,
                    edited: false,
                    by_day: false,
                    number: trial as u32 + 1,
                    start_s: 0.0,
                    figure: "".into(),
                    value: (f64::NAN, f64::NAN),
                    body_mass_kg: mass,
                    gravity: 9.806_65,
                };
                for ((name, column), own) in pool.columns.iter_mut().zip(&own) {
                    let pull = name.starts_with("force_at") || name.starts_with("peak_rate") || name == "peak_force_per_kg";
                    let value = if name.starts_with(DIFFERENCE) {
                        2.0 * random.normal()
                    } else if pull == jump {
                        f64::NAN
                    } else {
                        own * (1.0 + if a == 17 { 0.01 } else { 0.04 } * random.normal())
                    };
                    column.extend([value, 0.1]);
                }
                state.heads.insert(Rc::clone(&head.id), head.clone());
                pool.heads.push(head);
            }
        }
    }
    println!("{} trials, {} columns", pool.heads.len(), pool.columns.len());
    let mut best = f64::MAX;
    for _ in 0..3 {
        let began = Instant::now();
        let made = study(&state, &pool, "athlete-017").expect("a study");
        best = best.min(began.elapsed().as_secs_f64() * 1000.0);
        let misses: Vec<&str> = made.reading.misses.iter().map(|m| m.id.as_str()).collect();
        println!("{:?} {misses:?}, {} standings, {} changes", made.reading.answer, made.standings.len(), made.sorted.also_seen.len());
    }
    println!("{:28} {best:>9.1} ms", "one study");
}
