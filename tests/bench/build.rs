//! How long a build takes: cold (every crate, as on a fresh machine whose crates are downloaded) and after one line of
//! the library changed, for the native program and for the module as the site builder makes it.
//! `cargo bench --bench build`; several minutes. The source tree is copied, so nothing here is touched.
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;

const PARTS: [(&str, &[&str]); 2] = [
    ("native program", &["build", "--release", "--locked", "--quiet"]),
    ("WebAssembly module", &["build", "--lib", "--locked", "--quiet", "--target", "wasm32-unknown-unknown", "--profile", "wasm"]),
];

fn main() {
    let copy = std::env::temp_dir().join(format!("tarsal-build-bench-{}", std::process::id()));
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    std::fs::create_dir_all(&copy).expect("the temporary folder can be written");
    for name in ["Cargo.toml", "Cargo.lock", "rust-toolchain.toml", "src", "www", "tests"] {
        copy_into(&root.join(name), &copy.join(name));
    }
    println!("{:20} {:>8} {:>22}", "part", "cold s", "after one change s");
    for (part, arguments) in PARTS {
        let cold = build(&copy, arguments);
        let library = copy.join("src/lib.rs");
        let text = std::fs::read_to_string(&library).expect("just copied");
        std::fs::write(&library, format!("{text}\n/// A change, {part}.\npub const CHANGED: &str = {part:?};\n")).expect("just copied");
        println!("{part:20} {cold:8.1} {:22.1}", build(&copy, arguments));
        std::fs::write(&library, text).expect("just copied");
    }
    std::fs::remove_dir_all(&copy).expect("our own copy");
}

/// Seconds of one build in the copy, with a target folder of its own.
fn build(copy: &Path, arguments: &[&str]) -> f64 {
    let start = Instant::now();
    let mut cargo = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    cargo.args(arguments).current_dir(copy).env("CARGO_TARGET_DIR", copy.join("target"));
    assert!(cargo.status().expect("cargo runs").success(), "the copy builds");
    start.elapsed().as_secs_f64()
}

fn copy_into(from: &Path, to: &Path) {
    if from.is_dir() {
        std::fs::create_dir_all(to).expect("the temporary folder can be written");
        let entries: Vec<PathBuf> = std::fs::read_dir(from).expect("a folder").flatten().map(|e| e.path()).collect();
        for entry in entries {
            copy_into(&entry, &to.join(entry.file_name().unwrap_or_default()));
        }
    } else if from.is_file() {
        std::fs::copy(from, to).expect("the temporary folder can be written");
    }
}
