//! Leaving one out by taking him off the sums is the same as adding everybody else up.
use super::squads::{ALL, Person, TODAY, asked, session, sorted, squad};
use tarsal::advice::asked::Asked;
use tarsal::advice::chance::{DRAWS, Dice, Place, Sums, standings};
use tarsal::advice::evidence::trial_places;
use tarsal::advice::prepare::{Column, column, prepare};
use tarsal::advice::qualities::QualityId;
use tarsal::advice::sheet::Sheet;
use tarsal::cohort::{Draws, Table};

#[test]
fn taken_off_the_sums_is_added_up_without() {
    let mut random = Draws::new(12);
    let mut tables = squad(18, &mut random);
    let person = Person::any(&mut random);
    session(&mut tables, 0, &person, TODAY.plus_days(-5), 3, ALL, None, &mut random);
    session(&mut tables, 0, &person, TODAY, 3, ALL, None, &mut random);
    let mut tables = sorted(tables);
    // Somebody without one test, and somebody tested once.
    tables[4].rows.retain(|r| r.athlete != 7);
    tables.iter_mut().for_each(|t| t.rows.retain(|r| r.athlete != 9 || r.day == TODAY.plus_days(-1)));
    let asked = asked(&tables, 3);
    let sheet = Sheet::of(&asked, false);
    let prepared = prepare(&sheet);
    let dice = Dice::new(3, &prepared);
    let sums = Sums::of(&sheet, &prepared, &dice);
    let columns = |sheet: &Sheet, gone: Option<usize>| -> Vec<Column> {
        sheet.qualities.iter().filter_map(|(id, families)| column(*id, families, sheet, gone)).collect()
    };
    let mut compared = 0;
    for gone in (0..sheet.members.len()).map(Some).chain([None]) {
        let columns = columns(&sheet, gone);
        let used: Vec<Place> = columns.iter().map(Place::of).filter(Place::is_scored).collect();
        assert!(used.len() >= 6);
        let (fast, slow) = (sums.standings(&used, gone).unwrap(), standings(&used, &dice));
        for (a, b) in fast.iter().flatten().zip(slow.iter().flatten()) {
            assert!((a - b).abs() < 1e-7, "{gone:?}: {a} {b}");
            compared += 1;
        }
    }
    assert!(compared >= 19 * DRAWS * 6);
    // A trial of the athlete: the sheet without it is the sheet of tables that never had it.
    for place in trial_places(&asked, &prepared).iter().step_by(5) {
        let mut without = tables.clone();
        for table in without.iter_mut().filter(|t| t.test == place.test && t.protocol == place.protocol) {
            let at = table.rows.iter().position(|r| r.athlete == 0 && r.day == place.day).unwrap() + place.place;
            table.rows.remove(at);
        }
        let again = Sheet::of(&Asked { tables: &without, ..asked }, false);
        let own = |sheet: &Sheet| -> Vec<f64> { columns(sheet, None).iter().map(|c| c.own).collect() };
        for (a, b) in own(&sheet.without_trial(&asked, place)).iter().zip(own(&again)) {
            assert!((a - b).abs() < 1e-9, "{place:?}: {a} {b}");
        }
    }
}

/// methods §5: rates whose trials vary by more than 15 % are shown, never scored.
#[test]
fn a_rate_that_varies_from_trial_to_trial_is_not_scored() {
    let mut random = Draws::new(5);
    let mut tables = squad(12, &mut random);
    let person = Person::any(&mut random);
    session(&mut tables, 0, &person, TODAY, 3, ALL, None, &mut random);
    let mut tables = sorted(tables);
    let families = |tables: &[Table]| -> Vec<&'static str> {
        let sheet = Sheet::of(&asked(tables, 3), false);
        let of = sheet.qualities.iter().find(|q| q.0 == QualityId::IsometricRate).map(|q| &q.1);
        of.into_iter().flatten().map(|f| f.name).collect()
    };
    let steepest = tables.iter().position(|t| t.figure == "peak_rate_of_force_development_per_kg").expect("pulls are among all");
    let own: Vec<usize> = (0..tables[steepest].rows.len()).filter(|i| tables[steepest].rows[*i].athlete == 0).collect();
    let mut set = |values: [f64; 3]| {
        own.iter().zip(values).for_each(|(i, value)| tables[steepest].rows[*i].value = value);
        families(&tables)
    };
    // 14 % and 16 % of 100.
    assert_eq!(set([86.0, 100.0, 114.0]), ["isometric early force", "isometric steepest rise"]);
    assert_eq!(set([84.0, 100.0, 116.0]), ["isometric early force"]);
}
