//! The package's library, compiled to WebAssembly by the same cargo that runs this program.

use super::{
    BuildOptions,
    error::{SiteError, io},
};
use std::{
    env,
    ffi::OsString,
    fs,
    path::{Path, PathBuf},
    process::{Command, Stdio},
};

pub(super) const TARGET: &str = "wasm32-unknown-unknown";
const PROFILE: &str = "wasm";

/// Compiles the library and returns the module's bytes, not yet bound.
///
/// # Errors
/// When the target's standard library is missing and cannot be added, or the compiler fails.
pub fn compile(options: &BuildOptions) -> Result<Vec<u8>, SiteError> {
    let sysroot = sysroot(&options.root)?;
    ensure_target(&sysroot, &options.root)?;
    let mut build = Command::new(program("CARGO", "cargo"));
    build.args(["build", "--lib", "--target", TARGET, "--profile", PROFILE, "--target-dir"]).arg(&options.target_dir);
    // Flags an outer cargo set for the native build mean nothing here; ours replace them whole.
    build.current_dir(&options.root).env_remove("RUSTFLAGS").env("CARGO_ENCODED_RUSTFLAGS", encoded_flags(&options.root, &sysroot));
    build.stdin(Stdio::null());
    let started = |source| SiteError::Program { name: "cargo".into(), source };
    if options.quiet {
        let done = build.output().map_err(started)?;
        if !done.status.success() {
            return Err(SiteError::Compile { output: String::from_utf8_lossy(&done.stderr).into_owned() });
        }
    } else if !build.status().map_err(started)?.success() {
        return Err(SiteError::Compile { output: String::new() });
    }
    let module = options.target_dir.join(TARGET).join(PROFILE).join("tarsal.wasm");
    fs::read(&module).map_err(io("read", module))
}

/// The program cargo names in `variable`, or the one on the PATH.
fn program(variable: &str, name: &str) -> OsString {
    env::var_os(variable).unwrap_or_else(|| name.into())
}

fn sysroot(root: &Path) -> Result<PathBuf, SiteError> {
    let done = Command::new(program("RUSTC", "rustc"))
        .args(["--print", "sysroot"])
        .current_dir(root)
        .output()
        .map_err(|source| SiteError::Program { name: "rustc".into(), source })?;
    Ok(PathBuf::from(String::from_utf8_lossy(&done.stdout).trim()))
}

/// Looks in the sysroot first, so that no network is touched where the target is already there: also the way a
/// distribution's own package provides it, without rustup.
fn ensure_target(sysroot: &Path, root: &Path) -> Result<(), SiteError> {
    let library = sysroot.join("lib").join("rustlib").join(TARGET).join("lib");
    if library.is_dir() {
        return Ok(());
    }
    eprintln!("Adding the {TARGET} target to this Rust (once) ...");
    let added = Command::new("rustup").args(["target", "add", TARGET]).current_dir(root).status();
    if added.is_ok_and(|status| status.success()) && library.is_dir() { Ok(()) } else { Err(SiteError::NoWasmTarget) }
}

/// Compiler flags that keep this computer's folders out of the module: panic messages carry source paths, and those
/// would tell the reader's browser the builder's user name, and change the build id from folder to folder.
fn encoded_flags(root: &Path, sysroot: &Path) -> OsString {
    let home = env::var_os("HOME").or_else(|| env::var_os("USERPROFILE")).map(PathBuf::from);
    let cargo_home = env::var_os("CARGO_HOME").map(PathBuf::from).or_else(|| home.as_ref().map(|home| home.join(".cargo")));
    // The last prefix that matches wins, so the widest comes first.
    let mut prefixes: Vec<(PathBuf, &str)> = Vec::new();
    prefixes.extend(home.map(|path| (path, "home")));
    prefixes.extend(cargo_home.iter().map(|path| (path.clone(), "crates")));
    if let Some(sources) = cargo_home.map(|path| path.join("registry").join("src")) {
        let mut folders: Vec<PathBuf> = fs::read_dir(sources).into_iter().flatten().flatten().map(|entry| entry.path()).collect();
        folders.sort();
        prefixes.extend(folders.into_iter().map(|path| (path, "crates")));
    }
    prefixes.push((sysroot.to_path_buf(), "rust"));
    prefixes.push((root.to_path_buf(), "tarsal"));
    // For `split`: names that spell out the types a generic function was made for, and which data each function uses.
    let mut flags = OsString::from("-Csymbol-mangling-version=v0\u{1f}-Clink-arg=--emit-relocs");
    for (path, name) in prefixes {
        if path.as_os_str().is_empty() || path == Path::new("/") {
            continue;
        }
        flags.push("\u{1f}--remap-path-prefix=");
        flags.push(path);
        flags.push("=");
        flags.push(name);
    }
    flags
}
