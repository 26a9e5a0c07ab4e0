//! Ten years of a squad: 200 athletes × 50 sessions × 6 trials. How long one figure over all of them takes from the derived
//! table's bytes, beside the same from the records by `serde_json` in the same run (typed, reading only what is asked,
//! and as plain values). Then the cost of one save, and of a backup.
//! `cargo bench --bench records`; best of five each, of three for the records.
use serde::Deserialize;
use std::collections::BTreeMap;
use std::hint::black_box;
use std::time::Instant;
use tarsal::invented::Random;
use tarsal::people::Date;
use tarsal::records::derived::{Column, Derived, Question, Segment, TrialRow};
use tarsal::records::moving::backup::{Header, Item, Store, read, write};

const FIGURES: usize = 40;

fn record(random: &mut Random, id: usize, athlete: usize, session: usize) -> String {
    let figures: serde_json::Map<String, serde_json::Value> = (0..FIGURES)
        .map(|i| {
            let figure = serde_json::json!({
                "value": random.between(0.0, 2000.0), "u": random.between(0.0, 9.0), "unit": "N", "mostly_from": "weighing",
            });
            (format!("invented_figure_number_{i}"), figure)
        })
        .collect();
    serde_json::json!({
        "schema": 2, "kind": "trial", "id": format!("{id:016x}-1000"), "rev": 1, "made_by": "tarsal 0.1.0", "method": "1.0",
        "updated": "2026-01-02T03:04:05Z", "added": "2026-01-02T03:04:05Z", "file": format!("invented-{athlete}-{session}.csv"),
        "athlete_id": format!("athlete-{athlete:04}"), "session_id": session.to_string(), "protocol_key": "hands=hips;cue=;depth=",
        "trial": { "test": "countermovement_jump", "side": "both", "verdict": "sound", "body_mass_kg": 71.5, "figures": figures },
    })
    .to_string()
}

/// Best of so many, in milliseconds, and what it gave.
fn best<T>(times: usize, mut run: impl FnMut() -> T) -> (f64, T) {
    let mut least = f64::INFINITY;
    let mut last = None;
    for _ in 0..times {
        let start = Instant::now();
        let given = black_box(run());
        least = least.min(start.elapsed().as_secs_f64() * 1000.0);
        last = Some(given);
    }
    (least, last.expect("run at least once"))
}

#[derive(Deserialize)]
struct Lean {
    trial: LeanTrial,
}

#[derive(Deserialize)]
struct LeanTrial {
    figures: LeanFigures,
}

#[derive(Deserialize)]
struct LeanFigures {
    invented_figure_number_7: LeanFigure,
}

#[derive(Deserialize)]
struct LeanFigure {
    value: f64,
}

fn main() {
    let figure = "invented_figure_number_7";
    let day = |session: &str| session.parse().ok().map(|n: i32| Date(20_000 + n));
    let mut previous = 0.0;
    for athletes in [50, 100, 200] {
        let mut random = Random::new(1);
        let records: Vec<String> = (0..athletes * 300).map(|id| record(&mut random, id, id % athletes, id / athletes / 6)).collect();
        let bytes: usize = records.iter().map(String::len).sum();
        let (made, table) = best(1, || {
            let rows = records.iter().filter_map(|text| TrialRow::read(text, &day));
            let mut table = Derived::default();
            rows.for_each(|row| drop(table.put(&row)));
            table
        });
        let spines: Vec<Vec<u8>> = table.segments().iter().map(Segment::spine_bytes).collect();
        let columns: Vec<Vec<u8>> = table.segments().iter().map(|s| s.columns[figure].to_bytes()).collect();
        let size = |parts: &[Vec<u8>]| parts.iter().map(Vec::len).sum::<usize>() as f64 / 1e6;
        println!(
            "{} trials, {:.0} MB of records: table made in {made:.0} ms; spines {:.2} MB, one column {:.2} MB",
            records.len(),
            bytes as f64 / 1e6,
            size(&spines),
            size(&columns),
        );
        let (column_ms, sum) = best(5, || {
            let read = columns.iter().filter_map(|bytes| Column::from_bytes(bytes));
            read.fold((0.0, 0), |(sum, n), column| (sum + column.values().iter().sum::<f64>(), n + column.values().len()))
        });
        let open = || {
            let parts = spines.iter().zip(&columns).filter_map(|(spine, column)| {
                let mut segment = Segment::from_spine(spine)?;
                segment.columns = BTreeMap::from([(figure.to_owned(), Column::from_bytes(column)?)]);
                Some(segment)
            });
            Derived::of(parts.collect())
        };
        let (open_ms, read_back) = best(5, open);
        let question = Question {
            figure,
            test: "countermovement_jump",
            side: "both",
            protocol: "hands=hips;cue=;depth=",
            method: "1.0",
            invented: false,
        };
        let (table_ms, cohort) = best(5, || read_back.table(&question));
        let (lean_ms, lean) = best(3, || {
            let values = records.iter().filter_map(|text| serde_json::from_str::<Lean>(text).ok());
            values.map(|r| r.trial.figures.invented_figure_number_7.value).fold((0.0, 0), |(sum, n), value| (sum + value, n + 1))
        });
        let (value_ms, _) = best(1, || {
            let values = records.iter().filter_map(|text| serde_json::from_str::<serde_json::Value>(text).ok());
            values.filter_map(|r| r["trial"]["figures"][figure]["value"].as_f64()).sum::<f64>()
        });
        assert!(sum.1 == records.len() && lean.1 == sum.1 && (lean.0 - sum.0).abs() < 1e-6 * sum.0);
        assert_eq!((read_back.sum(figure).1, cohort.0.rows.len(), cohort.1.len()), (records.len(), records.len(), athletes));
        println!("  one column read and summed            {column_ms:9.2} ms");
        println!("  spines and column opened              {open_ms:9.2} ms");
        println!("  by athlete and day, as a cohort table {table_ms:9.2} ms");
        println!("  records, serde_json, typed            {lean_ms:9.2} ms   {:.0} ×", lean_ms / column_ms);
        println!("  records, serde_json, values           {value_ms:9.2} ms   {:.0} ×", value_ms / column_ms);
        if previous > 0.0 {
            println!("  twice the trials, column              {:9.2} ×", column_ms / previous);
        }
        previous = column_ms;
        let mut growing = table.clone();
        let row = TrialRow::read(&records[17], &day).expect("an invented trial");
        let (save_ms, written) = best(5, || {
            let changed = growing.put(&row);
            let spines: usize = changed.spines.iter().map(|n| growing.segments()[*n].spine_bytes().len()).sum();
            let (number, figures) = changed.columns.expect("figures");
            spines + figures.iter().map(|f| growing.segments()[number].columns[f].to_bytes().len()).sum::<usize>()
        });
        println!("  one save                              {save_ms:9.2} ms, {written} bytes written");
    }
    backup();
}

/// 600 trials of 8 s on two plates at 1000 Hz.
fn backup() {
    let mut random = Random::new(2);
    let mut items = Vec::new();
    for id in 0..600 {
        items.push(Item { store: Store::Record, key: format!("{id:04}"), bytes: record(&mut random, id, id / 18, id / 6).into_bytes() });
    }
    for id in 0..600 {
        let mut level = 350.0;
        let step = |_| {
            level += random.between(-4.0, 4.0);
            ((level * 10.0_f64).round() / 10.0) as f32
        };
        let bytes = (0..16_000).map(step).flat_map(f32::to_le_bytes).collect();
        items.push(Item { store: Store::Force, key: format!("{id:04}"), bytes });
    }
    let bytes: usize = items.iter().map(|i| i.bytes.len()).sum();
    let (write_ms, file) = best(3, || {
        let mut file = Vec::new();
        write(Header::new(2, None), &items, None, &mut |piece| file.extend(piece)).expect("items that fit");
        file
    });
    let (read_ms, count) = best(3, || {
        let mut count = 0;
        let pieces = file.chunks(1 << 16);
        read(pieces, None, &mut |_| count += 1).expect("whole");
        count
    });
    assert_eq!(count, items.len());
    let mb = bytes as f64 / 1e6;
    println!(
        "backup of {mb:.1} MB: written in {write_ms:.0} ms ({:.0} MB/s) as {:.1} MB, read and checked in {read_ms:.0} ms ({:.0} MB/s)",
        mb / write_ms * 1000.0,
        file.len() as f64 / 1e6,
        mb / read_ms * 1000.0,
    );
}
