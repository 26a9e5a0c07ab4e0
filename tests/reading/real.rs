//! Two real jumps recorded elsewhere (see `../shared/data/bmclab-jump/PROVENANCE.md`).
use tarsal::recording::{ReadOptions, Reader, Recording, Role};

fn open(name: &str, rate_hz: Option<f64>) -> Option<Recording> {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared/data/bmclab-jump").join(name);
    let here = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/data/bmclab-jump").join(name);
    let Ok(bytes) = std::fs::read(&path).or_else(|_| std::fs::read(here)) else {
        assert!(std::env::var_os("CI").is_none(), "{} is missing", path.display());
        println!("skipped: {} is not here", path.display());
        return None;
    };
    let mut reader = Reader::new(&ReadOptions { rate_hz, ..ReadOptions::default() });
    reader.feed(&bytes).expect("readable");
    Some(reader.finish().expect("readable"))
}

#[test]
fn reads_a_tab_table_with_time() {
    let Some(r) = open("jump1.txt", None) else { return };
    assert_eq!(r.clock.rate_hz, 450.0);
    assert_eq!(r.len(), 4500);
    assert!(r.clock.gaps.is_empty() && r.clock.duplicates == 0, "{:?}", r.clock);
    assert_eq!(r.channels.len(), 1);
    assert_eq!(r.channels[0].report.role, Role::Total);
    assert!(r.notices.is_empty(), "{:?}", r.notices);
    // PROVENANCE.md: weight 692.8 N over 3.2–4.1 s.
    let quiet = &r.channels[0].force_n[(3.2 * 450.0) as usize..(4.1 * 450.0) as usize];
    let mean = quiet.iter().map(|x| f64::from(*x)).sum::<f64>() / quiet.len() as f64;
    assert!((mean - 692.8).abs() < 0.1, "{mean}");
}

#[test]
fn reads_one_column_without_header() {
    let Some(r) = open("GRFZjump.txt", Some(600.0)) else { return };
    assert_eq!((r.len(), r.clock.rate_hz), (1200, 600.0));
    assert_eq!(r.channels[0].force_n[0], 633.21);
    // PROVENANCE.md: unloaded noise to −7.15 N.
    let low = r.channels[0].force_n.iter().copied().fold(0.0, f32::min);
    assert_eq!(low, -7.15);
    assert_eq!(r.channels[0].report.sign, 1.0);
}
