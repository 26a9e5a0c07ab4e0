//! Tables for other programs: read back by the csv crate here, and by an independent reader in `tests/reference/read_tidy.py`.
use serde_json::Value;
use tarsal::invented::Random;
use tarsal::records::moving::tidy::{Flavour, TidyRow, csv_head, csv_row, json_head, json_row, json_tail, package, unguard};

/// Names meant to hurt spreadsheets, parsers and pages.
const NAMES: [&str; 16] = [
    "Invented Alder",
    "=1+1",
    "=HYPERLINK(\"https://example.invalid\",\"click\")",
    "+49 170",
    "-2",
    "@SUM(A1:A9)",
    "\tcmd",
    "\r=1",
    "\n@x",
    "'quoted",
    "＝1+1",
    "semi;colon, comma",
    "she said \"jump\"",
    " spaces ",
    "Zoë Ångström 🦵",
    "<script>alert(1)</script>",
];

fn rows() -> Vec<TidyRow> {
    let mut random = Random::new(1);
    let mut rows = Vec::new();
    for (i, name) in NAMES.iter().enumerate() {
        for figure in ["jump_height", "take_off_displacement", "braking_rate_of_force_development"] {
            let withheld = i % 5 == 4 && figure.starts_with("braking");
            rows.push(TidyRow {
                athlete: (*name).into(),
                day: if i == 3 { String::new() } else { format!("2026-03-{:02}", i + 1) },
                session: format!("session-{i}"),
                test: "countermovement_jump".into(),
                side: ["both", "left", "right"][i % 3].into(),
                protocol: "hands=hips;cue=as high, and fast;load=0.0".into(),
                trial: format!("{name}-{i}"),
                figure: figure.into(),
                value: (!withheld).then(|| random.between(-0.5, 3000.0)),
                u: (!withheld).then(|| random.between(0.0, 3.0)),
                unit: if figure.contains("rate") { "N/s".into() } else { "m".into() },
                verdict: ["sound", "doubtful", "unusable"][i % 3].into(),
                method: "1.0".into(),
                edited: i.is_multiple_of(4),
                invented: true,
            });
        }
    }
    rows.push(TidyRow { value: Some(-0.25), u: Some(f64::NAN), ..rows[0].clone() });
    rows.push(TidyRow { value: Some(1e-300), u: Some(0.0), ..rows[0].clone() });
    rows.push(TidyRow { value: Some(1e22), u: Some(f64::INFINITY), ..rows[0].clone() });
    for (i, row) in rows.iter_mut().rev().take(3).enumerate() {
        row.figure = format!("odd_number_{i}");
    }
    rows
}

fn csv_text(flavour: Flavour) -> String {
    let mut text = csv_head(flavour);
    rows().iter().for_each(|row| csv_row(&mut text, row, flavour));
    text
}

fn json_text() -> String {
    let mut text = json_head();
    rows().iter().enumerate().for_each(|(i, row)| json_row(&mut text, row, i == 0));
    text + json_tail()
}

#[test]
fn both_flavours_read_back_as_what_was_meant() {
    for flavour in [Flavour::Plain, Flavour::DecimalComma] {
        let text = csv_text(flavour);
        assert_eq!(text.starts_with('\u{feff}'), flavour == Flavour::DecimalComma);
        let text = text.trim_start_matches('\u{feff}');
        let mut reader = csv::ReaderBuilder::new().delimiter(flavour.separator() as u8).from_reader(text.as_bytes());
        let number = |cell: &str| match flavour {
            Flavour::Plain => cell.parse::<f64>().ok(),
            Flavour::DecimalComma => {
                assert!(!cell.contains('.'));
                cell.replace(',', ".").parse().ok()
            }
        };
        let records: Vec<csv::StringRecord> = reader.records().collect::<Result<_, _>>().unwrap();
        assert_eq!(records.len(), rows().len());
        for (record, row) in records.iter().zip(rows()) {
            assert_eq!(unguard(&record[0]), row.athlete);
            assert_eq!(unguard(&record[6]), row.trial);
            assert_eq!((&record[1], &record[3], &record[7]), (row.day.as_str(), row.test.as_str(), row.figure.as_str()));
            // Bit for bit, and empty where there is no number.
            assert_eq!(number(&record[8]).map(f64::to_bits), row.value.map(f64::to_bits));
            assert_eq!(number(&record[9]).map(f64::to_bits), row.u.filter(|u| u.is_finite()).map(f64::to_bits));
            assert_eq!((&record[13], &record[14]), (if row.edited { "true" } else { "false" }, "true"));
        }
    }
}

#[test]
fn no_text_begins_as_a_formula_and_numbers_stay_numbers() {
    for flavour in [Flavour::Plain, Flavour::DecimalComma] {
        let text = csv_text(flavour);
        let mut reader = csv::ReaderBuilder::new().delimiter(flavour.separator() as u8).from_reader(text.as_bytes());
        for record in reader.records().map(Result::unwrap) {
            for (place, cell) in record.iter().enumerate() {
                let formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠']);
                let number = place == 8 || place == 9;
                assert!(!formula || number && cell.replace(',', ".").parse::<f64>().is_ok(), "{cell:?}");
                assert!(!(number && cell.starts_with('\'')), "{cell:?}");
            }
        }
        assert!(text.contains(if flavour == Flavour::Plain { ",-0.25," } else { ";-0,25;" }));
    }
}

#[test]
fn the_json_file_holds_the_same_rows_unguarded_with_their_schema() {
    let package: Value = serde_json::from_str(&json_text()).unwrap();
    let resource = &package["resources"][0];
    let names: Vec<&str> = resource["schema"]["fields"].as_array().unwrap().iter().map(|f| f["name"].as_str().unwrap()).collect();
    assert_eq!(csv_head(Flavour::Plain).trim_end(), names.join(","));
    let data = resource["data"].as_array().unwrap();
    assert_eq!(data.len(), rows().len());
    for (value, row) in data.iter().zip(rows()) {
        assert_eq!((value["athlete"].as_str(), value["value"].as_f64()), (Some(row.athlete.as_str()), row.value));
        assert_eq!(value["u"].as_f64(), row.u.filter(|u| u.is_finite()));
        assert_eq!(value["day"].is_null(), row.day.is_empty());
        assert_eq!(value.as_object().unwrap().len(), names.len());
    }
}

/// The files that `tests/reference/read_tidy.py` reads: written where `TARSAL_TIDY_FOLDER` says, and compared in any case.
#[test]
fn packages_describe_their_files() {
    let folder = std::env::var("TARSAL_TIDY_FOLDER").ok();
    for (name, flavour) in [("plain", Flavour::Plain), ("decimal-comma", Flavour::DecimalComma)] {
        let text = package("figures.csv", flavour);
        let described: Value = serde_json::from_str(&text).unwrap();
        let resource = &described["resources"][0];
        assert_eq!(resource["dialect"]["delimiter"], flavour.separator().to_string());
        let comma = resource["schema"]["fields"][8].get("decimalChar").is_some();
        assert_eq!(comma, flavour == Flavour::DecimalComma);
        if let Some(folder) = &folder {
            let folder = std::path::Path::new(folder).join(name);
            std::fs::create_dir_all(&folder).unwrap();
            std::fs::write(folder.join("datapackage.json"), &text).unwrap();
            std::fs::write(folder.join("figures.csv"), csv_text(flavour)).unwrap();
        }
    }
    if let Some(folder) = &folder {
        let folder = std::path::Path::new(folder);
        std::fs::write(folder.join("whole.json"), json_text()).unwrap();
        let meant: Vec<Value> = rows().iter().map(|r| serde_json::json!([r.athlete, r.trial, r.figure, r.value])).collect();
        std::fs::write(folder.join("meant.json"), Value::from(meant).to_string()).unwrap();
    }
}
