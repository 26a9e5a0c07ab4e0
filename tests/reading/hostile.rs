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
        let stated = ReadOptions { columns: Some("time,left,right".into()), ..ReadOptions::default() };
        check_same_by_any_way(&name, &bytes, &stated, &[5]);
        seen += 1;
    }
    assert!(seen >= 18, "{seen}");
}
