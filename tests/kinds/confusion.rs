//! What is taken for what: scenes of every kind, noisy, 200–2000 Hz.
use crate::read;
use tarsal::answer::{Options, TestKind};
use tarsal::invented::kinds::any::Kind;
use tarsal::invented::kinds::not_a_trial::NotATrial;
use tarsal::invented::{Plates, Random};

/// A margin from here on is a clear one; the page names the runner-up below it.
const CLEAR: f64 = 0.2;

#[test]
fn every_kind_is_taken_for_what_it_is() {
    let mut random = Random::new(41);
    let kinds: Vec<Kind> = Kind::TRIALS.into_iter().chain(NotATrial::ALL.map(Kind::NotATrial)).collect();
    let each = 50;
    let (mut right, mut all, mut clear_wrong) = (0, 0, Vec::new());
    println!("{:32} {:>6}  taken for", "invented", "right");
    for kind in kinds {
        let mut taken: Vec<(String, usize)> = Vec::new();
        let mut ok = 0;
        for _ in 0..each {
            let scene = kind.scene(&mut random);
            let plates = Plates::random(&mut random);
            let found = read(&scene, &plates, &Options::default()).answer;
            let names: Vec<TestKind> = found.trials.iter().map(|t| t.test).collect();
            let good = match scene.test {
                Some(test) => names == [test],
                None => names.is_empty(),
            };
            ok += usize::from(good);
            if !good {
                let margin = found.trials.first().and_then(|t| t.runner_up.as_ref()).map_or(1.0, |r| r.margin);
                let what = if names.is_empty() {
                    format!("{:?}", found.left_out.iter().map(|l| &l.why).collect::<Vec<_>>())
                } else {
                    format!("{names:?}")
                };
                if !names.is_empty() && margin >= CLEAR {
                    clear_wrong.push(format!("{kind:?} taken for {what} by {margin:.2} at {} Hz", plates.rate_hz));
                }
                match taken.iter_mut().find(|t| t.0 == what) {
                    Some(row) => row.1 += 1,
                    None => taken.push((what, 1)),
                }
            }
            if scene.test.is_none() && names.is_empty() {
                assert!(
                    !found.left_out.is_empty() && found.left_out.iter().all(|l| !l.why.is_empty()),
                    "{kind:?}: left out without a reason"
                );
            }
        }
        println!("{:32} {ok:>3}/{each}  {taken:?}", format!("{kind:?}"));
        right += ok;
        all += each;
    }
    println!("{right} of {all} right ({:.1} %)", 100.0 * right as f64 / all as f64);
    assert!(all >= 500 && right as f64 >= 0.98 * all as f64, "{right} of {all}");
    assert!(clear_wrong.is_empty(), "{clear_wrong:#?}");
}
