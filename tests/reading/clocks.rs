//! Time: rounded, repeated and packed stamps, gaps, duplicates, missing cells, cut files.
use super::truth::{PLAIN, Random, check_same_by_any_way, read, truth};
use tarsal::recording::{Gap, ReadOptions, Recording};

fn recording(name: &str, stamps: &[f64], decimals: usize) -> Recording {
    let truth = truth(stamps.len() as f64 / 1000.0 + 0.01);
    let mut text = String::from("time (s),force (N)\n");
    for (t, f) in stamps.iter().zip(&truth.left) {
        text.push_str(&format!("{t:.decimals$},{f:.2}\n"));
    }
    check_same_by_any_way(name, text.as_bytes(), &ReadOptions::default(), &[13, 4096]);
    read(text.as_bytes(), &ReadOptions::default()).unwrap_or_else(|e| panic!("{name}: {e}"))
}

/// The text of a force column at these stamps.
fn table(stamps: &[f64], decimals: usize) -> String {
    let truth = truth(stamps.len() as f64 / 1000.0 + 0.01);
    let rows = stamps.iter().zip(&truth.left).map(|(t, f)| format!("{t:.decimals$},{f:.2}\n"));
    "time (s),force (N)\n".to_string() + &rows.collect::<String>()
}

fn codes(r: &Recording) -> Vec<&str> {
    r.notices.iter().map(|n| n.code.as_str()).collect()
}

#[test]
fn rounded_stamps_give_the_true_rate() {
    for (rate, decimals) in [
        (1200.0, 3),
        (900.0, 3),
        (2000.0, 3),
        (450.0, 4),
        (600.0, 3),
        (300.0, 3),
        (960.0, 6),
        (100.0, 2),
        (50.0, 2),
        (2400.0, 9),
        // Skips that look like lost samples of a rounder rate.
        (999.0, 3),
        (998.0, 3),
        (990.0, 3),
        (960.0, 3),
        (1001.0, 3),
        (1010.0, 3),
        (96.0, 2),
        (99.0, 2),
        (240.0, 3),
        (512.0, 3),
    ] {
        let stamps: Vec<f64> = (0..5000).map(|i| f64::from(i) / rate).collect();
        let r = recording("rounded", &stamps, decimals);
        assert_eq!(r.clock.rate_hz, rate, "{decimals} decimals");
        assert!(
            r.clock.gaps.is_empty() && r.clock.duplicates == 0,
            "{rate}: {} gaps, {} duplicates",
            r.clock.gaps.len(),
            r.clock.duplicates
        );
        assert!(r.clock.jitter_s <= 0.6 / (0..decimals).fold(1.0, |power, _| power * 10.0), "{rate}: {}", r.clock.jitter_s);
    }
}

#[test]
fn samples_lost_at_uneven_places_are_no_other_clock() {
    let mut random = Random(7);
    for case in 0..40 {
        let lost: Vec<usize> = (0..3 + case % 10).map(|_| 50 + (4900.0 * random.unit()) as usize).collect();
        let stamps: Vec<f64> = (0..5000usize).filter(|i| !lost.contains(i)).map(|i| i as f64 / 1000.0).collect();
        let r = recording("lost", &stamps, 3);
        assert_eq!((r.len(), r.clock.rate_hz), (5000, 1000.0), "{lost:?}: {:?}", r.clock);
    }
}

#[test]
fn packets_and_scatter_give_the_true_rate() {
    let mut random = Random(99);
    let packets: Vec<f64> = (0..6000).map(|i| f64::from(i / 10) * 0.010).collect();
    let late: Vec<f64> = (0..6000).map(|i| f64::from(i) * 0.001 + 0.0004 * random.unit()).collect();
    let packets_late: Vec<f64> = (0..6000).map(|i| (f64::from(i / 10) * 0.010) + 0.0009 * ((i / 10 * 7919) % 100) as f64 / 100.0).collect();
    for (name, stamps) in [("packets", packets), ("scatter", late), ("scattered packets", packets_late)] {
        let r = recording(name, &stamps, 6);
        assert!((r.clock.rate_hz - 1000.0).abs() < 1.0, "{name}: {}", r.clock.rate_hz);
        assert!(r.clock.gaps.is_empty() && r.clock.duplicates == 0, "{name}: {:?}", r.clock);
    }
}

#[test]
fn real_gaps_are_found_filled_and_told() {
    for decimals in [3, 6] {
        let stamps: Vec<f64> = (0..4000usize)
            .filter(|i| !(1000..1005).contains(i) && *i != 2000 && !(3000..3100).contains(i))
            .map(|i| i as f64 / 1000.0)
            .collect();
        let r = recording("gaps", &stamps, decimals);
        assert_eq!(r.clock.gaps, [Gap { start: 1000, len: 5 }, Gap { start: 2000, len: 1 }, Gap { start: 3000, len: 100 }]);
        assert_eq!((r.len(), r.clock.rate_hz), (4000, 1000.0));
        assert_eq!(codes(&r), ["gap", "gap"]);
        assert_eq!(r.notices[0].at_s, Some(1.0));
        let f = &r.channels[0].force_n;
        for k in 0..5 {
            let line = f64::from(f[999]) + (f64::from(f[1005]) - f64::from(f[999])) * f64::from(k + 1) / 6.0;
            assert!((f64::from(f[1000 + k as usize]) - line).abs() < 1e-3);
        }
    }
}

#[test]
fn a_lost_packet_is_a_gap_and_a_late_stamp_is_not() {
    let lost: Vec<f64> = (0..6000).filter(|i| !(3000..3010).contains(i)).map(|i| f64::from(i / 10) * 0.010).collect();
    let r = recording("lost packet", &lost, 3);
    assert_eq!(r.clock.gaps, [Gap { start: 3000, len: 10 }]);
    let mut late: Vec<f64> = (0..3000).map(|i| f64::from(i) / 1000.0).collect();
    late[1500] += 0.0008;
    let r = recording("late stamp", &late, 6);
    assert!(r.clock.gaps.is_empty());
    assert_eq!(r.clock.rate_hz, 1000.0);
}

#[test]
fn repeated_rows_are_dropped() {
    let bytes = PLAIN.bytes(&truth(2.0));
    let whole = String::from_utf8(bytes.clone()).unwrap();
    let mut text = String::new();
    for (i, line) in whole.lines().enumerate() {
        text.push_str(line);
        text.push('\n');
        if i == 500 || i == 1200 {
            text.push_str(line);
            text.push('\n');
        }
    }
    check_same_by_any_way("repeated", text.as_bytes(), &ReadOptions::default(), &[100]);
    let (r, truth) = (read(text.as_bytes(), &ReadOptions::default()).unwrap(), read(&bytes, &ReadOptions::default()).unwrap());
    assert_eq!(r.clock.duplicates, 2);
    assert_eq!(r.channels, truth.channels);
    assert_eq!(codes(&r), ["duplicates"]);
}

#[test]
fn missing_cells_are_filled_and_told() {
    let whole = String::from_utf8(PLAIN.bytes(&truth(1.0))).unwrap();
    let empty = |line: &str, cell: &str| {
        let p: Vec<&str> = line.split(',').collect();
        format!("{},{cell},{}", p[0], p[2])
    };
    let text: String = whole.lines().enumerate().map(|(i, l)| if (301..305).contains(&i) { empty(l, "") } else if i == 401 { empty(l, "NaN") } else { l.into() } + "\n").collect();
    check_same_by_any_way("missing", text.as_bytes(), &ReadOptions::default(), &[100]);
    let r = read(text.as_bytes(), &ReadOptions::default()).unwrap();
    assert_eq!(r.clock.gaps, [Gap { start: 300, len: 4 }, Gap { start: 400, len: 1 }]);
    assert_eq!(codes(&r), ["gap"]);
    assert!(r.channels.iter().all(|c| c.force_n.iter().all(|x| x.is_finite())));
}

#[test]
fn long_stamps_exponents_and_odd_numbers_read_exactly() {
    let text: String =
        (0..50).map(|i| format!("{:.17},{}\n", f64::from(i) / 3000.0, if i % 2 == 0 { "7.125e2" } else { "+712.50" })).collect();
    check_same_by_any_way("odd numbers", text.as_bytes(), &ReadOptions::default(), &[3]);
    let r = read(text.as_bytes(), &ReadOptions::default()).unwrap();
    assert_eq!(r.clock.rate_hz, 3000.0);
    assert!(r.channels[0].force_n.iter().all(|x| *x == 712.5));
}

#[test]
fn a_cut_file_is_a_prefix() {
    let bytes = PLAIN.bytes(&truth(5.0));
    let whole = read(&bytes, &ReadOptions::default()).unwrap();
    let mut random = Random(7);
    for _ in 0..200 {
        let cut = 1000 + random.below(bytes.len() - 1000);
        let part = read(&bytes[..cut], &ReadOptions::default()).unwrap();
        let n = part.len();
        assert!(n > 0 && n <= whole.len());
        for (a, b) in part.channels.iter().zip(&whole.channels) {
            assert_eq!(a.force_n[..], b.force_n[..n], "cut at {cut}");
        }
        // Every whole line is read; only the begun one may be missing.
        let lines = bytes[..cut].iter().filter(|b| **b == b'\n').count() - 1;
        assert!(n == lines || n == lines + 1, "{n} samples of {lines} lines");
        let begun = bytes[cut - 1] != b'\n' && n == lines;
        assert_eq!(codes(&part).contains(&"cut_row"), begun);
    }
}

#[test]
fn a_last_row_without_a_line_end_is_kept_where_it_is_whole() {
    let table = |header: &str, row: &dyn Fn(u32) -> String, last: &str| {
        let rows: String = (0..50).map(row).collect();
        format!("{header}\n{rows}{last}")
    };
    let whole_newtons = |i: u32| format!("0.{i:03},{}\n", 700 + i % 7);
    let decimals = |i: u32| format!("0.{i:03},{}.50\n", 700 + i % 7);
    let more = |i: u32| format!("0.{i:03},{}.50,{i}.25\n", 700 + i % 7);
    let (two, three) = ("time (s),force (N)", "time (s),force (N),moment (Nm)");
    for (name, text, kept) in [
        ("whole numbers", table(two, &whole_newtons, "0.050,703"), true),
        ("all decimals", table(two, &decimals, "0.050,703.25"), true),
        ("fewer decimals", table(two, &decimals, "0.050,703.2"), false),
        ("no decimals", table(two, &decimals, "0.050,70"), false),
        ("no last cell", table(two, &whole_newtons, "0.050,"), false),
        ("one cell", table(two, &whole_newtons, "0.05"), false),
        ("cut behind the force", table(three, &more, "0.050,703.25,"), true),
        ("cut in what is not read", table(three, &more, "0.050,703.25,50.2"), true),
        ("cut in the force", table(three, &more, "0.050,703.2"), false),
    ] {
        check_same_by_any_way(name, text.as_bytes(), &ReadOptions::default(), &[7]);
        let r = read(text.as_bytes(), &ReadOptions::default()).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!(r.len(), if kept { 51 } else { 50 }, "{name}");
        assert_eq!(codes(&r).contains(&"cut_row"), !kept, "{name}");
    }
}

/// Stamps of `before` rows at 1000 Hz and 4000 rows at another rate.
fn two_rates(before: usize, rate: f64) -> Vec<f64> {
    let first = (0..before).map(|i| i as f64 / 1000.0);
    let last = before as f64 / 1000.0;
    first.chain((0..4000).map(|i| last + f64::from(i) / rate)).collect()
}

#[test]
fn a_rate_that_changes_is_refused_where_it_does() {
    for before in [2600, 5000] {
        for (rate, decimals) in [
            (990.0, 5),
            (950.0, 4),
            (950.0, 6),
            (800.0, 5),
            (500.0, 3),
            (500.0, 6),
            (250.0, 4),
            (1050.0, 6),
            (2000.0, 4),
            (1200.0, 5),
            (800.0, 3),
        ] {
            let text = table(&two_rates(before, rate), decimals);
            check_same_by_any_way("two rates", text.as_bytes(), &ReadOptions::default(), &[1013]);
            let e = read(text.as_bytes(), &ReadOptions::default()).expect_err("two rates are no clock");
            assert_eq!((e.code.as_str(), e.column), ("rate_changes", Some(1)), "{rate}: {e}");
            // The row with the first new step: behind the header, the rows before, and the one at the change itself.
            let row = e.row.expect("placed") as usize;
            let off = if decimals == 3 { 20 } else { 4 };
            assert!(row.abs_diff(before + 3) <= off, "{rate} from row {before}: {e}");
            assert!(e.message.contains("1000.") || e.message.contains("999."), "{e}");
        }
    }
}

#[test]
fn stamps_that_bend_a_little_are_told() {
    let bent = |part: f64| -> Vec<f64> {
        let wave = |t: f64| 6.75 / std::f64::consts::PI * tarsal::force::math::sin(std::f64::consts::PI * t / 6.75);
        (0..6700).map(|i| f64::from(i) / 1000.0).map(|t| t + part * wave(t)).collect()
    };
    let r = recording("bent", &bent(0.0015), 5);
    assert!((r.clock.rate_hz - 1000.0).abs() < 0.5, "{}", r.clock.rate_hz);
    assert_eq!(codes(&r), ["clock_bends"]);
    assert!(r.clock.gaps.is_empty());
    let e = read(table(&bent(0.01), 5).as_bytes(), &ReadOptions::default()).expect_err("a rate that changes by 2 %");
    assert_eq!(e.code, "rate_changes", "{e}");
}

#[test]
fn scatter_that_falls_back_by_less_than_a_row_is_scatter() {
    let mut random = Random(3);
    let mut gauss = || (0..12).map(|_| random.unit()).sum::<f64>() - 6.0;
    let mut stamps: Vec<f64> = (0..6000).map(|i| f64::from(i) / 1000.0 + 1.5e-4 * gauss()).collect();
    stamps[4000] = stamps[3999] - 6e-5;
    let r = recording("falls back", &stamps, 6);
    assert!((r.clock.rate_hz - 1000.0).abs() < 0.01, "{}", r.clock.rate_hz);
    assert!(r.clock.gaps.is_empty() && (1.4e-4..1.7e-4).contains(&r.clock.jitter_s), "{:?}", r.clock);
    // By more than a row, or again and again, it is another order.
    let mut back = stamps.clone();
    back[3000] -= 0.0025;
    let swapped: Vec<f64> = (0..6000).map(|i| f64::from(i ^ 1) / 1000.0).collect();
    for stamps in [back, swapped] {
        let e = read(table(&stamps, 6).as_bytes(), &ReadOptions::default()).expect_err("backwards");
        assert_eq!(e.code, "time_backwards", "{e}");
    }
}

#[test]
fn rows_that_all_stand_twice_are_told() {
    let whole = String::from_utf8(PLAIN.bytes(&truth(3.0))).unwrap();
    let doubled: String = whole.lines().enumerate().map(|(i, line)| format!("{line}\n").repeat(if i == 0 { 1 } else { 2 })).collect();
    check_same_by_any_way("doubled", doubled.as_bytes(), &ReadOptions::default(), &[999]);
    let r = read(doubled.as_bytes(), &ReadOptions::default()).expect("readable");
    assert_eq!((r.clock.rate_hz, codes(&r)), (2000.0, vec!["rows_doubled"]));
}

#[test]
fn the_document_reports_jitter_gaps_and_duplicates() {
    use tarsal::answer::{Options, analyze};
    let mut random = Random(5);
    let mut stamps: Vec<f64> = (0..6000).map(|i| f64::from(i) / 1000.0 + 1e-4 * random.unit()).collect();
    stamps.drain(3000..3040);
    let report = analyze("a.csv", table(&stamps, 6).as_bytes(), &Options::default()).answer.recording.expect("read");
    // A rectangle of 0.1 ms has a standard deviation of 0.1 ms over the root of 12.
    assert!(report.jitter_s.is_some_and(|j| (j - 1e-4 / 12f64.sqrt()).abs() < 2e-6), "{:?}", report.jitter_s);
    assert_eq!((report.duplicates, report.gaps, report.samples_filled), (Some(0), Some(1), Some(40)));
    let stated = format!("Sampling rate: 1000 Hz\nForce (N)\n{}", "705.2\n".repeat(50));
    let report = analyze("b.csv", stated.as_bytes(), &Options::default()).answer.recording.expect("read");
    assert_eq!((report.jitter_s, report.gaps), (None, Some(0)));
    // Documents from before have none of these, and are read.
    let mut old = serde_json::to_value(&report).expect("JSON");
    for name in ["duplicates", "gaps", "samples_filled"] {
        assert!(old.as_object_mut().expect("an object").remove(name).is_some());
    }
    let old: tarsal::answer::RecordingReport = serde_json::from_value(old).expect("an older document");
    assert_eq!((old.gaps, old.rate_hz), (None, report.rate_hz));
}
