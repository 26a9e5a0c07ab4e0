//! Every crate that ends up in the page or in the builder has a licence that `deny.toml` allows.

use serde_json::Value;
use std::{collections::BTreeSet, env, fs, path::Path, process::Command};

/// The licences between `allow = [` and `]` in `deny.toml`.
fn allowed(root: &Path) -> BTreeSet<String> {
    let text = fs::read_to_string(root.join("deny.toml")).expect("deny.toml");
    let list = text.split_once("allow = [").and_then(|(_, rest)| rest.split_once(']')).expect("a list of allowed licences").0;
    list.split('"').skip(1).step_by(2).map(str::to_owned).collect()
}

/// Whether an SPDX expression is met by the allowed licences: one side of each `OR`, both of each `AND`.
/// `AND` binds tighter; the old spelling with `/` means `OR`.
fn meets(expression: &str, allowed: &BTreeSet<String>) -> bool {
    let expression = expression.replace('/', " OR ");
    let (met, rest) = any_of(expression.replace('(', " ( ").replace(')', " ) ").split_whitespace().collect::<Vec<_>>().as_slice(), allowed);
    met && rest == 0
}

/// Result, and how many words are left unread.
fn any_of(words: &[&str], allowed: &BTreeSet<String>) -> (bool, usize) {
    let (mut met, mut left) = all_of(words, allowed);
    while words.get(words.len() - left) == Some(&"OR") {
        let (next, remaining) = all_of(&words[words.len() - left + 1..], allowed);
        met |= next;
        left = remaining;
    }
    (met, left)
}

fn all_of(words: &[&str], allowed: &BTreeSet<String>) -> (bool, usize) {
    let (mut met, mut left) = one(words, allowed);
    while words.get(words.len() - left) == Some(&"AND") {
        let (next, remaining) = one(&words[words.len() - left + 1..], allowed);
        met &= next;
        left = remaining;
    }
    (met, left)
}

fn one(words: &[&str], allowed: &BTreeSet<String>) -> (bool, usize) {
    match words {
        ["(", inner @ ..] => {
            let (met, left) = any_of(inner, allowed);
            (met, left.saturating_sub(1))
        }
        [name, "WITH", exception, rest @ ..] => {
            (allowed.contains(&format!("{name} WITH {exception}")) || allowed.contains(*name), rest.len())
        }
        [name, rest @ ..] => (allowed.contains(*name), rest.len()),
        [] => (false, 0),
    }
}

/// Packages of the dependency graph for one target, from cargo itself and without a network.
fn packages(root: &Path, target: &str) -> Vec<Value> {
    let cargo = env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let done = Command::new(cargo)
        .args(["metadata", "--offline", "--locked", "--format-version", "1", "--filter-platform", target])
        .current_dir(root)
        .output()
        .expect("cargo runs");
    assert!(done.status.success(), "cargo metadata: {}", String::from_utf8_lossy(&done.stderr));
    let metadata: Value = serde_json::from_slice(&done.stdout).expect("JSON");
    // Only what the graph for this target reaches; `packages` may hold more.
    let reached: BTreeSet<&str> =
        metadata["resolve"]["nodes"].as_array().into_iter().flatten().filter_map(|node| node["id"].as_str()).collect();
    let listed = metadata["packages"].as_array().into_iter().flatten();
    listed.filter(|package| package["id"].as_str().is_some_and(|id| reached.contains(id))).cloned().collect()
}

fn host() -> String {
    let rustc = env::var_os("RUSTC").unwrap_or_else(|| "rustc".into());
    let done = Command::new(rustc).arg("-vV").output().expect("rustc runs");
    let text = String::from_utf8_lossy(&done.stdout).into_owned();
    text.lines().find_map(|line| line.strip_prefix("host: ")).expect("a host").to_owned()
}

#[test]
fn every_crate_has_an_allowed_licence() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let allowed = allowed(root);
    let mut seen = 0;
    let mut refused = BTreeSet::new();
    for target in [host().as_str(), "wasm32-unknown-unknown"] {
        for package in packages(root, target) {
            seen += 1;
            let licence = package["license"].as_str().unwrap_or("none given");
            if !meets(licence, &allowed) {
                refused.insert(format!("{} {}: {licence}", package["name"], package["version"]));
            }
        }
    }
    assert!(seen > 50, "only {seen} packages were listed");
    assert!(refused.is_empty(), "not allowed by deny.toml: {refused:#?}");
}

#[test]
fn expressions_are_read_as_spdx_means_them() {
    let allowed = BTreeSet::from(["MIT".to_owned(), "Zlib".to_owned()]);
    for met in ["MIT", "MIT OR Apache-2.0", "Apache-2.0/MIT", "(Apache-2.0 OR MIT) AND Zlib", "GPL-3.0 AND X OR MIT", "MIT AND (Zlib OR X)"]
    {
        assert!(meets(met, &allowed), "{met}");
    }
    for refused in ["Apache-2.0", "MIT AND GPL-3.0", "(MIT OR X) AND Y", "none given", "", "MIT Zlib"] {
        assert!(!meets(refused, &allowed), "{refused}");
    }
}
