//! Every file of `tests/hostile` (all invented) gives what its name says: an error's code, or `ok`.
use super::truth::{check_same_by_any_way, read, short};
use tarsal::recording::ReadOptions;

#[test]
fn every_hostile_file_gives_what_its_name_says() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/hostile");
    let mut seen = 0;
    for entry in std::fs::read_dir(folder).expect("the folder is there") {
        let path = entry.expect("readable").path();
        let name = path.file_name().and_then(|n| n.to_str()).expect("a plain name").to_string();
        let bytes = std::fs::read(&path).expect("readable");
        let result = read(&bytes, &ReadOptions::default());
        let code = result.as_ref().map_or_else(|e| e.code.as_str(), |_| "ok");
        assert_eq!(name.split('.').next(), Some(code), "{name}: {}", short(&result));
        check_same_by_any_way(&name, &bytes, &ReadOptions::default(), &[1, 5]);
        seen += 1;
    }
    assert!(seen >= 14, "{seen}");
}

/// Found by fuzz: the last line is cut in a cell whose decimal mark only the rows above it settled.
#[test]
fn a_line_cut_after_the_mark_was_settled_is_cut_by_any_way() {
    let rows = "\"0\",\"-10,000\",\"1,256\"\n\"4000\",\"3,404\",\"-7,889\"\n\"8000\",\"-2,769\",\"3";
    let options = ReadOptions { columns: Some("time,left,right".into()), ..ReadOptions::default() };
    check_same_by_any_way("cut", rows.as_bytes(), &options, &[1, 5]);
    let found = read(rows.as_bytes(), &options).expect_err("three rows are no recording").found;
    assert_eq!(found.as_deref(), Some("2 rows"), "the cut one is none");
}
