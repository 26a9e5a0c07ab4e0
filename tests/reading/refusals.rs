//! Bad files: each is refused with its code, and with row and column where there is one.
use super::truth::{Code, PLAIN, Print, Time, check_same_by_any_way, read, short, truth};
use tarsal::recording::ReadOptions;

struct Bad {
    name: &'static str,
    bytes: Vec<u8>,
    code: &'static str,
    row: Option<u64>,
    column: Option<u64>,
    rate_hz: Option<f64>,
    columns: Option<&'static str>,
}

fn bad(name: &'static str, bytes: impl AsRef<[u8]>, code: &'static str, row: Option<u64>, column: Option<u64>) -> Bad {
    Bad { name, bytes: bytes.as_ref().to_vec(), code, row, column, rate_hz: None, columns: None }
}

/// Rows of `time,left,right` with one line of the file replaced.
fn with_line(line: usize, text: &str) -> String {
    let bytes = PLAIN.bytes(&truth(0.5));
    let whole = String::from_utf8(bytes).unwrap();
    let lines: Vec<&str> = whole.lines().enumerate().map(|(i, l)| if i + 1 == line { text } else { l }).collect();
    lines.join("\n") + "\n"
}

fn rows(n: usize, row: impl Fn(usize) -> String) -> String {
    (0..n).map(row).collect()
}

fn files() -> Vec<Bad> {
    let rate = |b: Bad, rate_hz: f64| Bad { rate_hz: Some(rate_hz), ..b };
    let list = |columns: &'static str, column: Option<u64>| Bad {
        columns: Some(columns),
        ..bad("list of columns", PLAIN.bytes(&truth(0.1)), "columns_option", None, column)
    };
    let untimed = Print { cells: "lr", time: Time::Absent, above: "left,right\n", ..PLAIN };
    let mut binary: Vec<u8> = (0..4000u32).map(|i| (i.wrapping_mul(2_654_435_761) >> 13) as u8).collect();
    binary.insert(0, 0);
    vec![
        bad("nothing", "", "empty", None, None),
        bad("blank lines", "\n\n  \r\n\t\n", "empty", None, None),
        bad("a mark and no text", b"\xEF\xBB\xBF", "empty", None, None),
        bad("header alone", "time,left,right\n", "header_only", Some(2), None),
        bad("header and unit row", "Zeit;Links;Rechts\ns;N;N\n", "header_only", Some(3), None),
        bad("a letter", "Dear coach,\nhere are the results we spoke of.\nThe plates were wet.\n", "no_numbers", Some(1), None),
        bad("text after blank lines", "\n\nonly words\nand more words\n", "no_numbers", Some(3), None),
        bad("web page", "<!DOCTYPE html>\n<html><body>Log in</body></html>\n", "html", Some(1), None),
        bad("XML", "<?xml version=\"1.0\"?>\n<trial><f>1</f></trial>\n", "xml", Some(1), None),
        bad("JSON object", "{\"force\": [1, 2, 3]}\n", "json", Some(1), None),
        bad("JSON list", "[[1, 2], [3, 4]]\n", "json", Some(1), None),
        bad("PDF", "%PDF-1.7\n%\u{E2}\n1 0 obj\n", "pdf", Some(1), None),
        bad("zip", b"PK\x03\x04\x14\x00\x00\x00", "zip", Some(1), None),
        bad("gzip", b"\x1F\x8B\x08\x00\x00\x00", "zip", Some(1), None),
        bad("picture", b"\x89PNG\r\n\x1A\n\x00\x00", "image", Some(1), None),
        bad("photograph", b"\xFF\xD8\xFF\xE0\x00\x10", "image", Some(1), None),
        bad("office document", b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", "binary", Some(1), None),
        bad("binary", binary, "binary", Some(1), None),
        bad(
            "no force",
            rows(50, |i| {
                if i == 0 { "time (s),angle (deg),speed (m/s),x (mm)\n".into() } else { format!("{:.3},1.5,2.5,3.5\n", i as f64 / 1000.0) }
            }),
            "no_force_column",
            Some(1),
            None,
        ),
        bad("no rate", untimed.bytes(&truth(0.5)), "no_rate", Some(1), None),
        rate(bad("a rate below zero", untimed.bytes(&truth(0.5)), "bad_rate", None, None), -5.0),
        rate(bad("a rate that is none", untimed.bytes(&truth(0.5)), "bad_rate", None, None), f64::NAN),
        rate(bad("a rate too low", untimed.bytes(&truth(0.5)), "rate_too_low", None, None), 5.0),
        bad(
            "slow clock",
            rows(60, |i| format!("{:.1},{}.25\n", i as f64 * 0.5, 700 + i % 5)).replacen("0.0,", "time (s),force (N)\n0.0,", 1),
            "rate_too_low",
            Some(2),
            None,
        ),
        bad(
            "time stands still",
            rows(60, |i| if i == 0 { "time,force\n".into() } else { format!("0.5,70{}.2\n", i % 7) }),
            "time_constant",
            Some(2),
            Some(1),
        ),
        bad("time runs backwards", with_line(200, "0.0100,350.10,330.20"), "time_backwards", Some(200), Some(1)),
        bad("a word in a force cell", with_line(321, "0.3190,351.22,over"), "bad_number", Some(321), Some(3)),
        bad("two points in a number", with_line(77, "0.0750,35.1.22,340.00"), "bad_number", Some(77), Some(2)),
        bad("text in the midst", with_line(300, "second trial"), "text_in_data", Some(300), Some(1)),
        bad(
            "rows without their last cell",
            rows(200, |i| {
                if i == 0 {
                    "time,left,right\n".into()
                } else if i % 3 == 2 {
                    format!("0.{i:03},350.1\n")
                } else {
                    format!("0.{i:03},350.1,349.{i}\n")
                }
            }),
            "ragged",
            Some(3),
            Some(3),
        ),
        bad(
            "a force column of nothing",
            rows(100, |i| if i == 0 { "time,left,right\n".into() } else { format!("0.{i:03},350.1,NaN\n") }),
            "no_values",
            Some(2),
            Some(3),
        ),
        bad("few rows", "time,force\n0.001,700.1\n0.002,700.2\n0.003,700.3\n", "too_short", Some(2), None),
        bad("one line without end", vec![b'7'; 3 << 20], "line_too_long", Some(1), None),
        bad("a line without end after rows", [PLAIN.bytes(&truth(4.0)), vec![b'7'; 2 << 20]].concat(), "line_too_long", Some(4002), None),
        bad(
            "pauses longer than the recording",
            rows(100, |i| format!("{}.{:03},70{}.5\n", if i > 50 { 90_000 } else { 0 }, i, i % 9)),
            "gap_too_long",
            Some(1),
            Some(1),
        ),
        bad("UTF-16 words", Print { code: Code::Utf16Le, ..PLAIN }.bytes(&truth(0.0)), "header_only", Some(2), None),
        list("time,left,middle", Some(3)),
        list("time,left:stone,right", Some(2)),
        list("time,left,right,total", None),
        list("time,-,-", None),
        list("time,time,left", Some(2)),
        list("time:N,left,right", Some(1)),
        list("time,left:ms,right", Some(2)),
    ]
}

#[test]
fn every_bad_file_is_named_and_placed() {
    let files = files();
    assert!(files.len() >= 25);
    let mut faults = Vec::new();
    for f in &files {
        let options = ReadOptions { rate_hz: f.rate_hz, columns: f.columns.map(str::to_string), ..ReadOptions::default() };
        match read(&f.bytes, &options) {
            Ok(r) => faults.push(format!("{} ({:?}): read as {}", f.name, f.columns, short(&Ok(r)))),
            Err(e) => {
                if (e.code.as_str(), e.row, e.column) != (f.code, f.row, f.column) {
                    faults.push(format!(
                        "{} ({:?}): {} {:?} {:?} for {} {:?} {:?}",
                        f.name, f.columns, e.code, e.row, e.column, f.code, f.row, f.column
                    ));
                }
                assert!(!e.message.is_empty() && !e.try_next.is_empty() && e.expected.is_some(), "{}: {e:?}", f.name);
                assert!(e.row.is_none() || e.found.is_some(), "{}: {e:?}", f.name);
            }
        }
        if f.bytes.len() < 200_000 && f.rate_hz.is_none_or(f64::is_finite) {
            check_same_by_any_way(f.name, &f.bytes, &options, &[1, 7, 4096]);
        }
    }
    assert!(faults.is_empty(), "{} of {}:\n{}", faults.len(), files.len(), faults.join("\n"));
}

/// The sample's rows from `at` on written otherwise.
fn changes(at: usize, from: &Print, to: &Print) -> Vec<u8> {
    let [first, second] = [from, to].map(|print| String::from_utf8(print.bytes(&truth(4.0))).expect("plain"));
    let lines = first.lines().take(at).chain(second.lines().skip(at));
    lines.map(|line| line.to_string() + "\n").collect::<String>().into_bytes()
}

#[test]
fn numbers_that_change_their_look_midway_are_refused_there() {
    let above = "time (s);left (N);right (N)\n";
    let point = Print { delimiter: ";", above, ..PLAIN };
    let comma = Print { mark: ',', ..point };
    let tab = Print { delimiter: "\t", ..point };
    let comma_cells = Print { above: "time (s),left (N),right (N)\n", ..PLAIN };
    for (name, from, to) in [
        ("point to comma", point, comma),
        ("comma to point", comma, point),
        ("semicolon to tab", point, tab),
        ("comma to semicolon", comma_cells, point),
        ("both", comma_cells, comma),
        ("tab to both", tab, comma),
    ] {
        // Within the lines that are looked at first, and far behind them.
        for at in [5, 301, 550, 2701, 3990] {
            let bytes = changes(at, &from, &to);
            check_same_by_any_way(name, &bytes, &ReadOptions::default(), &[997]);
            match read(&bytes, &ReadOptions::default()) {
                Ok(r) => panic!("{name} at {at}: {}", short(&Ok(r))),
                Err(e) => assert_eq!((e.code.as_str(), e.row), ("bad_number", Some(at as u64 + 1)), "{name} at {at}: {e}"),
            }
        }
    }
}

#[test]
fn marks_in_turns_are_refused_at_the_second_row() {
    let row = |i: usize| format!("0.{i:03};35{}.1;34{}.9\n", i % 7, i % 5);
    let text = "time (s);left (N);right (N)\n".to_string() + &rows(400, |i| if i % 2 == 0 { row(i) } else { row(i).replace('.', ",") });
    let e = read(text.as_bytes(), &ReadOptions::default()).expect_err("two marks");
    assert_eq!((e.code.as_str(), e.row), ("bad_number", Some(3)), "{e}");
}

#[test]
fn a_few_numbers_written_otherwise_below_the_table_are_a_footer() {
    let below = "Mean;0,5;350,2\nMax;4,0;900,1\n1,5;2,5;3,5\n";
    let bytes = Print { delimiter: ";", above: "time (s);left (N);right (N)\n", below, ..PLAIN }.bytes(&truth(2.0));
    let r = read(&bytes, &ReadOptions::default()).expect("readable");
    assert_eq!((r.len(), r.notices.iter().map(|n| n.code.as_str()).collect::<Vec<_>>()), (2000, vec!["footer"]));
}

#[test]
fn commas_for_cells_and_decimals_are_refused() {
    let row = |i: usize| format!("0,{i:03},35{},1,34{},9\n", i % 7, i % 5);
    let text = format!("time (s),left (N),right (N)\n{}", rows(400, row));
    let e = read(text.as_bytes(), &ReadOptions::default()).expect_err("commas twice");
    assert_eq!((e.code.as_str(), e.row), ("commas_twice", Some(2)), "{e}");
    check_same_by_any_way("commas twice", text.as_bytes(), &ReadOptions::default(), &[100]);
}

#[test]
fn a_long_line_is_named_by_its_own_number() {
    for before in [0, 1, 2, 5] {
        let text = "time,left,right\n".repeat(before) + &"7".repeat(3 << 20);
        let e = read(text.as_bytes(), &ReadOptions::default()).expect_err("a long line");
        assert_eq!((e.code.as_str(), e.row), ("line_too_long", Some(before as u64 + 1)));
    }
}

#[test]
fn a_stated_rate_that_cannot_be_is_refused_where_it_is_stated() {
    let file = |rate: &str| format!("Athlete: invented\nSampling rate: {rate}\nForce (N)\n{}", "705.2\n".repeat(200));
    for (rate, code, found) in [
        ("0 Hz", "bad_rate", "0"),
        ("-1000 Hz", "bad_rate", "-1000"),
        ("1e30 Hz", "rate_too_high", "more than 1000000000 Hz"),
        ("2 Hz", "rate_too_low", "2.000 Hz"),
    ] {
        let e = read(file(rate).as_bytes(), &ReadOptions::default()).expect_err(rate);
        assert_eq!((e.code.as_str(), e.row, e.found.as_deref()), (code, Some(2), Some(found)), "{e}");
        assert!(!e.try_next.contains("time:"), "{e}");
    }
    assert_eq!(read(file("1000 Hz").as_bytes(), &ReadOptions::default()).expect("readable").clock.rate_hz, 1000.0);
    // A filter that is off is no rate.
    let off = file("1000 Hz").replace("Athlete: invented", "Filter frequency: 0 Hz");
    assert_eq!(read(off.as_bytes(), &ReadOptions::default()).expect("readable").clock.rate_hz, 1000.0);
    assert!(read(b"", &ReadOptions::default()).expect_err("nothing").found.is_some());
}

#[test]
fn a_total_that_is_not_left_and_right_is_told() {
    let signal = truth(3.0);
    let file = |gain: f64| -> String {
        let force = |i: usize| (signal.left[i], signal.right[i], gain * (signal.left[i] + signal.right[i]));
        let row = |i: usize| {
            let (l, r, total) = force(i);
            format!("{:.3},{total:.1},{l:.1},{r:.1}\n", i as f64 / 1000.0)
        };
        "time (s),total (N),left (N),right (N)\n".to_string() + &rows(3000, row)
    };
    let codes = |gain: f64| -> Vec<String> {
        read(file(gain).as_bytes(), &ReadOptions::default()).expect("readable").notices.into_iter().map(|n| n.code).collect()
    };
    assert!(codes(1.0).is_empty() && codes(1.01).is_empty());
    assert_eq!((codes(1.1), codes(0.9)), (vec!["total_differs".to_string()], vec!["total_differs".to_string()]));
}
