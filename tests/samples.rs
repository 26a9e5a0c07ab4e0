//! The sample recordings in `examples/recordings`: each is what `examples/invent.rs` writes, is read to its truth within
//! its own ±, and gives the same bytes of JSON whatever the pieces it arrives in.
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::PathBuf;
use tarsal::answer::{Options, Stream, analyze, document};

#[allow(dead_code)] // its `main` is the example's
#[path = "../examples/invent.rs"]
mod invent;

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("examples/recordings")
}

/// Every committed recording by name, in order.
fn committed() -> BTreeMap<String, Vec<u8>> {
    let entries = std::fs::read_dir(folder()).expect("the folder is part of the repository");
    let names = entries.map(|e| e.expect("readable").file_name().into_string().expect("plain names"));
    names
        .filter(|n| n != "README.md" && n != "truth.json")
        .map(|n| (n.clone(), std::fs::read(folder().join(n)).expect("readable")))
        .collect()
}

#[test]
fn the_committed_recordings_are_what_the_example_writes() {
    let files = committed();
    let samples = invent::samples();
    assert_eq!(files.len(), samples.len(), "{:?}", files.keys());
    for sample in &samples {
        assert!(sample.name.starts_with("invented-"));
        assert!(sample.text.len() < 250_000, "{}", sample.name);
        assert!(files[sample.name] == sample.text.as_bytes(), "{}: run `cargo run --example invent -- examples/recordings`", sample.name);
    }
    let truth = std::fs::read_to_string(folder().join("truth.json")).expect("committed");
    assert_eq!(truth, invent::truth_json(&samples));
}

#[test]
fn every_recording_is_read_to_its_truth() {
    let truth: Value = serde_json::from_str(&std::fs::read_to_string(folder().join("truth.json")).expect("committed")).expect("JSON");
    for (name, bytes) in committed() {
        let answer = analyze(&name, &bytes, &Options::default()).answer;
        assert_eq!(answer.error, None, "{name}");
        let heights: Vec<f64> = truth[&name]["heights_m"].as_array().expect("listed").iter().filter_map(Value::as_f64).collect();
        assert_eq!(answer.trials.len(), heights.len(), "{name}: {:?}", answer.left_out);
        for (trial, height_m) in answer.trials.iter().zip(heights) {
            assert_eq!(serde_json::to_value(trial.verdict).ok().as_ref(), Some(&truth[&name]["verdict"]), "{name}: {:?}", trial.notices);
            let figure = &trial.figures["jump_height"];
            let (value, u) = (figure.value.expect("given"), figure.u.expect("given"));
            assert!((value - height_m).abs() <= 2.0 * u, "{name}: {value} ± {}, true {height_m}", 2.0 * u);
            // A ± that holds anything says nothing.
            assert!(u < 0.006, "{name}: {u}");
        }
    }
}

#[test]
fn the_layouts_differ_as_they_say() {
    let found: BTreeMap<String, (String, String, f64, usize)> = committed()
        .into_iter()
        .map(|(name, bytes)| {
            let r = analyze(&name, &bytes, &Options::default()).answer.recording.expect("read");
            (name, (r.layout.delimiter, r.layout.decimal, r.rate_hz, r.channels.len()))
        })
        .collect();
    let expect = |name: &str, delimiter: &str, decimal: &str, rate: f64, channels: usize| {
        let (d, m, r, c) = &found[name];
        assert_eq!((d.as_str(), m.as_str(), *c), (delimiter, decimal, channels), "{name}");
        assert!((r / rate - 1.0).abs() < 1e-9, "{name}: {r} Hz");
    };
    expect("invented-comma-two-plates.csv", ",", ".", 1000.0, 2);
    expect("invented-semicolon-decimal-comma.csv", ";", ",", 1000.0, 2);
    expect("invented-tab-milliseconds-kilonewton.txt", "tab", ".", 500.0, 2);
    expect("invented-three-jumps.csv", ",", ".", 500.0, 2);
    let (_, _, rate, channels) = &found["invented-one-plate-rate-stated.txt"];
    assert_eq!((*rate, *channels), (1000.0, 1));
}

#[test]
fn a_stream_in_small_pieces_gives_the_same_bytes() {
    let options = Options::default();
    for (name, bytes) in committed() {
        let whole = analyze(&name, &bytes, &options).answer;
        let mut stream = Stream::new(&name, &options);
        bytes.chunks(1024).for_each(|piece| stream.feed(piece));
        let pieces = stream.finish().answer;
        let json = |answer| serde_json::to_string(&document(&options, vec![answer])).expect("plain data");
        assert_eq!(json(whole), json(pieces), "{name}");
    }
}
