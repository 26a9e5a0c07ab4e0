//! Ids in the advice's tables are the catalogue's, and point the same way.
use tarsal::advice::brief::{FIRST_VIEW, MANNER_VIEW};
use tarsal::advice::evidence::speaks;
use tarsal::advice::gates::TESTS;
use tarsal::advice::qualities::{EFFORT, NOT_A_JUMP, QUALITIES};
use tarsal::figures::{Better, PER_KG, definition};

#[test]
fn every_figure_of_the_tables_is_in_the_catalogue_and_points_the_same_way() {
    for quality in QUALITIES {
        for row in quality.evidence {
            let d = definition(row.figure).unwrap_or_else(|| panic!("{} is not in the catalogue", row.figure));
            let wanted = if row.lower { Better::Lower } else { Better::Higher };
            assert_eq!(d.better, wanted, "{} of {:?}", row.figure, quality.id);
            assert!(!row.figure.ends_with(PER_KG) || d.per_kg, "{} has no twin per kg", row.figure);
            assert!(TESTS.iter().any(|t| t.0 == row.test), "{}", row.test);
        }
        for row in quality.manner {
            assert!(definition(row.figure).is_some(), "{}", row.figure);
        }
        assert!(!quality.source.is_empty() && !quality.settle.is_empty() && !quality.plain.is_empty());
    }
    for id in FIRST_VIEW.iter().chain(MANNER_VIEW).chain(EFFORT.iter().map(|e| &e.1)) {
        assert!(definition(id).is_some(), "{id}");
    }
    assert!(NOT_A_JUMP.iter().all(|t| TESTS.iter().any(|known| known.0 == *t)));
    // The position of an isometric push tells what it speaks of.
    assert!(speaks("isometric", "peak_force_per_kg", "depth=mid-thigh") && speaks("isometric", "peak_force_per_kg", "depth=ankle push"));
}
