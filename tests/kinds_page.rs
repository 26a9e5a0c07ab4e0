//! Every kind of test on its page: the phases drawn, the first sentence, the tables behind the pictures, the marks of
//! doubts. The trials are put together from invented scenes' own truth, so the page is tested whatever the analysis says.
//!
//! `TARSAL_SHOTS=folder cargo test --test kinds_page look` also leaves the pages there, to be looked at.
mod fixture;

use fixture::kinds::{every, page_of, read};
use fixture::together;
use tarsal::answer::TestKind;
use tarsal::charts::number::Locale;

#[test]
fn every_kind_has_its_phases_its_first_sentence_and_a_table_behind_each_picture() {
    for (name, saved, window) in every() {
        let page = page_of(&saved, &window, 1280.0);
        assert!(!saved.trial.phases.is_empty(), "{name}");
        let drawn = page.split("class=\"dimensions\"").nth(1).and_then(|rest| rest.split("</g>").next()).unwrap_or_default();
        for phase in &saved.trial.phases {
            assert!(drawn.contains(&format!("{} ", phase.name)), "{name}: phase {} in {drawn}", phase.name);
        }
        let headline = tarsal::views::headline(&saved.trial, &Locale::default()).replace('\u{a0}', " ");
        assert!(page.contains(&headline), "{name}: {headline}");
        assert!(headline.contains(" ± "), "{name}: no main figure in {headline:?}");
        assert!(!page.contains("{}") && !page.contains("NaN"), "{name}");
        let drawings = page.matches("<svg").count() - page.matches("class=\"inline-flag\"").count();
        let told = page.matches("role=\"group\" aria-label=").count() + page.matches("role=\"img\" aria-label=").count();
        assert!(told >= drawings, "{name}: a drawing says nothing to those who cannot see it");
        for forbidden in [" style=", "<script", "javascript:", " onclick"] {
            assert!(!page.contains(forbidden), "{name}: {forbidden}");
        }
    }
}

#[test]
fn every_notice_with_a_place_is_marked_on_the_trace_and_refers_to_its_sentence() {
    for (name, saved, window) in every() {
        let page = page_of(&saved, &window, 1280.0);
        let print = page.split("class=\"print-only\"").nth(1).unwrap_or_default();
        let screen = page.split("class=\"print-only\"").next().unwrap_or_default();
        for (i, notice) in saved.trial.notices.iter().enumerate() {
            let (number, mark) = (i + 1, format!("class=\"doubt\" data-doubt=\"{}\"", i + 1));
            assert!(page.contains(&format!("id=\"note-{number}\"")), "{name}: sentence {number}");
            assert_eq!(screen.contains(&mark), notice.at_s.is_some(), "{name}: mark {number} on the screen's trace");
            assert_eq!(print.contains(&mark), notice.at_s.is_some(), "{name}: mark {number} on the printed trace");
        }
    }
}

#[test]
fn kinds_say_what_only_they_have() {
    let page = |test: TestKind| {
        let (_, saved, window) = every().into_iter().find(|(_, s, _)| s.trial.test == test && s.trial.notices.is_empty()).expect("a trial");
        page_of(&saved, &window, 1280.0)
    };
    let drop = page(TestKind::DropJump);
    assert!(drop.contains("from a box of 30 cm") && drop.contains("(height from take-off velocity)"));
    assert!(drop.contains("id=\"drop\"") && drop.contains("of fall apart"));
    let rebounds = page(TestKind::ReboundJumps);
    assert!(rebounds.contains("Means of the 5 best of 10 contacts") && rebounds.contains("id=\"contacts\""));
    assert_eq!(rebounds.matches("no: others are better").count(), 5);
    assert!(page(TestKind::Isometric).contains("net peak") && page(TestKind::SquatJump).contains("No dip of more than 1 cm"));
    assert!(page(TestKind::DropLanding).contains("Steady after"));
}

#[test]
fn hostile_values_never_stop_the_page() {
    for (name, saved, window) in every() {
        for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300, -1e300, 0.0] {
            let mut saved = saved.clone();
            saved.options.gravity = bad;
            for figure in saved.trial.figures.values_mut() {
                (figure.value, figure.u) = (Some(bad), Some(bad));
            }
            for event in saved.trial.events.values_mut() {
                *event = bad;
            }
            for phase in &mut saved.trial.phases {
                (phase.from_s, phase.to_s) = (bad, -bad);
            }
            for notice in &mut saved.trial.notices {
                notice.at_s = Some(bad);
            }
            for contact in &mut saved.trial.contacts {
                (contact.touchdown, contact.take_off, contact.contact_time) = (bad, bad, bad);
            }
            for side in saved.trial.sides.values_mut() {
                (side.left, side.right, side.u, side.difference_of_total_percent) = (bad, -bad, bad, bad);
            }
            if let Some(drop) = &mut saved.trial.drop {
                (drop.box_m, drop.touchdown_velocity.value) = (Some(bad), bad);
            }
            assert!(page_of(&saved, &window, 360.0).len() > 1000, "{name}");
        }
    }
}

#[test]
fn every_kind_that_the_analysis_reads_has_its_page() {
    let all = read();
    let mut tests: Vec<TestKind> = all.iter().map(|(_, s, _)| s.trial.test).collect();
    tests.sort();
    tests.dedup();
    for (name, saved, window) in &all {
        let page = page_of(saved, window, 1280.0);
        assert!(page.contains("id=\"trace\"") && page.contains("id=\"figures\""), "{name}");
        assert!(!page.contains("NaN") && !page.contains("{}"), "{name}");
        for id in saved.trial.figures.keys() {
            assert!(tarsal::figures::definition(id).is_some(), "{name}: {id} is not in the catalogue");
        }
        let headline = tarsal::views::headline(&saved.trial, &Locale::default());
        assert!(saved.trial.verdict == tarsal::answer::Verdict::Unusable || headline.contains('±'), "{name}: {headline}");
    }
    assert!(tests.len() >= 8, "only {tests:?} were read");
}

#[test]
fn trials_together_say_what_does_not_belong_and_refuse_a_line_with_the_reason() {
    let page = together::page(1100.0);
    assert!(page.contains("4 trials, one of which does not belong to the others; it is left out of the mean."));
    assert!(page.contains("Trial 3 does not belong to the others: its height"));
    assert!(page.contains("Jump height is higher on the right leg by 12 ± 3 % of the larger"));
    assert!(!page.contains("mean force, propulsion is higher"));
    assert!(page.contains("highest for a drop of 36 cm; between 27 and 45 cm"));
    let mut loads = together::loads();
    loads.line = None;
    loads.refused = vec!["Three loads cannot carry a line".into()];
    let refused = tarsal::views::series::force_velocity(&loads, 600.0, &Locale::default()).into_string();
    assert!(refused.contains("No line is drawn. Three loads cannot carry a line.") && !refused.contains("class=\"line\""));
    assert_eq!(
        page.matches("<svg").count() - page.matches("inline-flag").count(),
        page.matches("role=\"img\"").count() - page.matches("inline-flag").count()
    );
}

#[test]
fn every_test_has_its_card_and_none_gives_clearance() {
    let all = tarsal::views::cards(None).into_string();
    for test in
        ["countermovement-jump", "squat-jump", "drop-jump", "drop-landing", "repeated-rebound-jumps", "isometric-test", "quiet-standing"]
    {
        assert!(all.contains(&format!("id=\"card-{test}\"")), "{test}");
    }
    assert!(all.contains("a clinician decides") && all.contains("any pain"));
    let one = tarsal::views::cards(Some(TestKind::DropJump)).into_string();
    assert_eq!(one.matches("class=\"card\"").count(), 1);
}

/// Leaves the pages of every kind in a folder.
#[test]
fn look() -> std::io::Result<()> {
    let Some(folder) = std::env::var_os("TARSAL_SHOTS").map(std::path::PathBuf::from) else { return Ok(()) };
    std::fs::create_dir_all(&folder)?;
    for (name, saved, window) in every().into_iter().chain(read()) {
        for (size, width) in [("1280", 1280.0), ("360", 360.0)] {
            std::fs::write(folder.join(format!("{name}-{size}.html")), fixture::kinds::document(&page_of(&saved, &window, width)))?;
        }
    }
    for (size, width) in [("1280", 1180.0), ("360", 328.0)] {
        std::fs::write(folder.join(format!("together-{size}.html")), together::looks(width))?;
        let cards = format!("<main>{}</main>", tarsal::views::cards(None).into_string());
        std::fs::write(folder.join(format!("cards-{size}.html")), fixture::kinds::document(&cards))?;
    }
    Ok(())
}
