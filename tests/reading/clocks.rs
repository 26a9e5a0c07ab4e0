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
