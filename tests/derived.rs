//! The derived table says what the records say, however it came to be: at once, bit by bit, through bytes.
mod stores;

use serde_json::{Value, json};
use std::collections::BTreeMap;
use tarsal::invented::Random;
use tarsal::people::Date;
use tarsal::records::derived::{Column, Derived, Question, SEGMENT, Segment, TrialRow};

fn day(session: &str) -> Option<Date> {
    session.strip_prefix("session-")?.parse().ok().map(Date)
}

/// An invented record; what varies is the caller's.
fn text(random: &mut Random, id: usize, athlete: usize, change: impl Fn(&mut Value)) -> String {
    let mut all: Value = serde_json::from_str(&stores::trial(random, &format!("t{id}"), &format!("athlete-{athlete:03}"))).unwrap();
    all["session_id"] = format!("session-{}", 20_000 + id % 50).into();
    all["trial"]["side"] = "both".into();
    change(&mut all);
    all.to_string()
}

fn question(figure: &str) -> Question<'_> {
    Question { figure, test: "countermovement_jump", side: "both", protocol: "hands=hips", method: "1.0", invented: false }
}

/// Through bytes and back, as the store does it.
fn stored(table: &Derived) -> Derived {
    let read = |segment: &Segment| {
        let mut back = Segment::from_spine(&segment.spine_bytes()).unwrap();
        for (figure, column) in &segment.columns {
            back.columns.insert(figure.clone(), Column::from_bytes(&column.to_bytes()).unwrap());
        }
        back
    };
    Derived::of(table.segments().iter().map(read).collect())
}

#[test]
fn a_record_gives_its_line_and_what_must_not_count_gives_none() {
    let mut random = Random::new(1);
    let whole = text(&mut random, 7, 3, |_| {});
    let row = TrialRow::read(&whole, &day).unwrap();
    let all: Value = serde_json::from_str(&whole).unwrap();
    assert_eq!((row.trial.as_str(), row.athlete.as_str(), row.day, row.sound), ("t7", "athlete-003", Date(20_007), true));
    assert_eq!(row.figures.len(), 40);
    for (figure, value, u) in &row.figures {
        let said = &all["trial"]["figures"][figure];
        assert_eq!((Some(*value), Some(*u)), (said["value"].as_f64(), said["u"].as_f64()));
    }
    let withheld = text(&mut random, 7, 3, |all| all["trial"]["figures"]["figure_3"] = json!({ "value": null, "u": null, "why": "…" }));
    assert_eq!(TrialRow::read(&withheld, &day).unwrap().figures.len(), 39);
    let without_session = text(&mut random, 7, 3, |all| all["session_id"] = Value::Null);
    let added: Value = serde_json::from_str(&without_session).unwrap();
    assert_eq!(TrialRow::read(&without_session, &day).map(|r| r.day), Date::parse(added["added"].as_str().unwrap()));
    for change in [
        |all: &mut Value| all["removed"] = true.into(),
        |all: &mut Value| all["trial"]["verdict"] = "unusable".into(),
        |all: &mut Value| all["kind"] = "song".into(),
        |all: &mut Value| (all["added"], all["session_id"]) = ("some day".into(), Value::Null),
    ] {
        assert_eq!(TrialRow::read(&text(&mut random, 7, 3, change), &day), None);
    }
    assert_eq!(TrialRow::read(&whole[..90], &day), None);
}

#[test]
fn a_figure_comes_out_by_athlete_and_day_and_nothing_is_mixed() {
    let mut random = Random::new(2);
    let rows: Vec<TrialRow> = (0..1500)
        .map(|id| {
            let athlete = (random.bits() % 40) as usize;
            let mut row = TrialRow::read(&text(&mut random, id, athlete, |_| {}), &day).unwrap();
            match id % 10 {
                0 => row.protocol = "hands=free".into(),
                1 => row.side = "left".into(),
                2 => row.invented = true,
                3 => row.method = "0.9".into(),
                4 => row.athlete = String::new(),
                5 => row.test = "squat_jump".into(),
                6 => row.sound = false,
                _ => {}
            }
            row
        })
        .collect();
    let (table, athletes) = stored(&Derived::rebuilt(&rows)).table(&question("figure_5"));
    // The same by hand: filter, sort, look up.
    let asked = |r: &&TrialRow| {
        (r.protocol.as_str(), r.side.as_str(), r.method.as_str(), r.test.as_str()) == ("hands=hips", "both", "1.0", "countermovement_jump")
            && !r.invented
            && !r.athlete.is_empty()
    };
    let mut by_hand: Vec<&TrialRow> = rows.iter().filter(asked).collect();
    by_hand.sort_by(|a, b| (&a.athlete, a.day).cmp(&(&b.athlete, b.day)));
    assert_eq!(table.rows.len(), by_hand.len());
    assert!(by_hand.len() > 500);
    for (row, hand) in table.rows.iter().zip(by_hand) {
        let figure = hand.figures.iter().find(|(id, ..)| id == "figure_5").unwrap();
        assert_eq!((&athletes[row.athlete], row.day, row.value, row.u), (&hand.athlete, hand.day, figure.1, figure.2));
        assert_eq!((row.sound, row.body_mass_kg), (hand.sound, hand.body_mass_kg));
    }
    assert_eq!(table.figure, "figure_5");
    assert!(stored(&Derived::rebuilt(&rows)).table(&question("no such figure")).0.rows.is_empty());
}

/// Random saves, changes and removals, segment by segment as the store would write them, against a plain map.
#[test]
fn bit_by_bit_is_the_same_as_at_once() {
    for seed in 0..6 {
        let mut random = Random::new(seed);
        let (mut table, mut plain): (Derived, BTreeMap<String, TrialRow>) = Default::default();
        let mut spines: BTreeMap<usize, Vec<u8>> = BTreeMap::new();
        let mut columns: BTreeMap<(usize, String), Vec<u8>> = BTreeMap::new();
        for step in 0..3000 {
            let id = format!("t{}", random.bits() % 900);
            let changed = if random.bits().is_multiple_of(5) {
                plain.remove(&id);
                table.remove(&id)
            } else {
                let figures =
                    (0..8).filter(|_| random.bits() % 3 > 0).map(|f| (format!("figure_{f}"), step as f64 + f as f64, 0.5)).collect();
                let row = TrialRow {
                    trial: id.clone(),
                    athlete: format!("a{}", random.bits() % 20),
                    day: Date((random.bits() % 99) as i32),
                    test: "countermovement_jump".into(),
                    side: "both".into(),
                    protocol: "hands=hips".into(),
                    method: "1.0".into(),
                    body_mass_kg: 70.0,
                    sound: true,
                    invented: false,
                    figures,
                };
                plain.insert(id, row.clone());
                table.put(&row)
            };
            // Only what is said to have changed is written.
            assert!(changed.spines.len() <= 2);
            for number in &changed.spines {
                spines.insert(*number, table.segments()[*number].spine_bytes());
            }
            if let Some((number, figures)) = changed.columns {
                for figure in figures {
                    let bytes = table.segments()[number].columns[&figure].to_bytes();
                    columns.insert((number, figure), bytes);
                }
            }
        }
        let segments = spines.values().enumerate().map(|(number, bytes)| {
            let mut segment = Segment::from_spine(bytes).unwrap();
            for ((_, figure), bytes) in columns.iter().filter(|((n, _), _)| *n == number) {
                segment.columns.insert(figure.clone(), Column::from_bytes(bytes).unwrap());
            }
            segment
        });
        let read = Derived::of(segments.collect());
        assert_eq!(read.segments(), table.segments());
        assert!(read.is_loose() && !read.packed().is_loose());
        assert_eq!(read.len(), plain.len());
        assert!(read.packed().segments().len() == plain.len().div_ceil(SEGMENT));
        let at_once = Derived::rebuilt(plain.values());
        for figure in ["figure_0", "figure_7"] {
            let values: Vec<f64> = plain.values().flat_map(|r| &r.figures).filter(|f| f.0 == figure).map(|f| f.1).collect();
            assert_eq!(read.sum(figure), (values.iter().sum(), values.len()));
            assert_eq!(read.packed().sum(figure), read.sum(figure));
            let sorted = |table: &Derived| {
                let (table, athletes) = table.table(&question(figure));
                let mut rows: Vec<_> = table.rows.iter().map(|r| (athletes[r.athlete].clone(), r.day, r.value.to_bits())).collect();
                rows.sort();
                rows
            };
            assert_eq!(sorted(&read), sorted(&at_once));
            assert_eq!(sorted(&read.packed()), sorted(&at_once));
        }
    }
}

#[test]
fn damaged_bytes_are_told_and_cost_nothing() {
    let mut random = Random::new(4);
    let rows: Vec<TrialRow> = (0..60).map(|id| TrialRow::read(&text(&mut random, id, id / 6, |_| {}), &day).unwrap()).collect();
    let table = Derived::rebuilt(&rows);
    let segment = &table.segments()[0];
    let (spine, column) = (segment.spine_bytes(), segment.columns["figure_1"].to_bytes());
    assert!(Segment::from_spine(&column).is_none() && Column::from_bytes(&spine).is_none());
    for bytes in [&spine, &column] {
        for cut in 0..bytes.len() {
            assert!(Segment::from_spine(&bytes[..cut]).is_none() && Column::from_bytes(&bytes[..cut]).is_none());
        }
        for _ in 0..2000 {
            let mut hurt = bytes.clone();
            let at = (random.bits() % bytes.len() as u64) as usize;
            hurt[at] ^= 1 << (random.bits() % 8);
            assert!(Segment::from_spine(&hurt).is_none() && Column::from_bytes(&hurt).is_none());
        }
    }
}
