//! Spreadsheets and motion capture, by files that other programs wrote (`tests/reference/make_books.py`).
use super::truth::{check_same_by_any_way, read};
use tarsal::recording::{ReadOptions, Recording, Role};

fn folder() -> std::path::PathBuf {
    std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reading/files")
}

fn bytes(name: &str) -> Vec<u8> {
    std::fs::read(folder().join(name)).unwrap_or_else(|e| panic!("{name}: {e}"))
}

fn truth() -> [Vec<f64>; 2] {
    let text = String::from_utf8(bytes("truth.csv")).expect("text");
    let column = |k: usize| text.lines().skip(1).filter_map(|l| l.split(',').nth(k)?.parse().ok()).collect();
    [column(0), column(1)]
}

fn right(name: &str, r: &Recording, tolerance_n: f64, empty: Option<usize>) {
    let [left, right] = truth();
    assert_eq!(r.clock.rate_hz, 200.0, "{name}");
    for (role, truth) in [(Role::Left, left), (Role::Right, right)] {
        let read = r
            .channel(role)
            .unwrap_or_else(|| panic!("{name}: no {role:?}: {:?}", r.channels.iter().map(|c| &c.report).collect::<Vec<_>>()));
        assert_eq!(read.len(), truth.len(), "{name}");
        for (i, (a, b)) in read.iter().zip(&truth).enumerate() {
            assert!((f64::from(*a) - b).abs() <= tolerance_n || Some(i) == empty, "{name}: {role:?} {i}: {a} for {b}");
        }
    }
}

#[test]
fn spreadsheets_read_as_the_truth() {
    for (name, format, empty) in [("openpyxl.xlsx", "xlsx", Some(50)), ("openpyxl-times.xlsx", "xlsx", None), ("odfpy.ods", "ods", None)] {
        let bytes = bytes(name);
        let r = read(&bytes, &ReadOptions::default()).unwrap_or_else(|e| panic!("{name}: {e}"));
        right(name, &r, 1e-4, empty);
        assert_eq!(r.layout.encoding, format);
        check_same_by_any_way(name, &bytes, &ReadOptions::default(), &[1, 997]);
    }
}

#[test]
fn motion_capture_reads_as_the_truth_in_every_form() {
    for (name, tolerance_n) in [
        ("ezc3d.c3d", 1e-4),
        ("intel-float-type2.c3d", 1e-4),
        ("intel-integer-type2.c3d", 0.026),
        ("dec-float-type2.c3d", 1e-4),
        ("dec-integer-type3.c3d", 0.11),
        ("mips-float-type4.c3d", 1e-3),
        ("mips-integer-type3.c3d", 0.11),
    ] {
        let bytes = bytes(name);
        let r = read(&bytes, &ReadOptions::default()).unwrap_or_else(|e| panic!("{name}: {e}"));
        right(name, &r, tolerance_n, None);
        assert!(r.notices.iter().any(|n| n.code == "sides_guessed"), "{name}: plates are numbered, which one is left is asked");
        assert!(r.channels.iter().all(|c| c.report.sign == -1.0), "{name}");
        check_same_by_any_way(name, &bytes, &ReadOptions::default(), &[1, 997]);
    }
}

#[test]
fn cut_and_damaged_books_are_refused_or_read_as_far_as_they_go() {
    let mut random = super::truth::Random(77);
    for name in ["openpyxl.xlsx", "odfpy.ods", "ezc3d.c3d", "dec-integer-type3.c3d", "mips-float-type4.c3d"] {
        let whole = bytes(name);
        for k in 0..60 {
            let mut bytes = whole.clone();
            if k % 2 == 0 {
                bytes.truncate(random.below(whole.len()));
            } else {
                for _ in 0..=random.below(20) {
                    let at = random.below(bytes.len());
                    bytes[at] = random.next() as u8;
                }
            }
            match read(&bytes, &ReadOptions::default()) {
                Ok(r) => assert!(r.len() <= bytes.len() + 10_000, "{name} {k}"),
                Err(e) => assert!(!e.try_next.is_empty()),
            }
        }
        let cut = read(&whole[..whole.len() / 2], &ReadOptions::default());
        assert!(cut.is_err(), "{name}: half a file");
    }
}
