//! Build and serve the static site: what `cargo run --release` does.
//!
//! The steps, one file each: [`compile()`] makes the WebAssembly from this same package, [`bind()`] adds the JavaScript
//! glue and parts the module in two, [`assemble()`] puts both beside the files of `www/` under one build id and folds all of it into one HTML file
//! as well, [`write()`] stores the result in a folder without harming what is there, [`serve()`] answers browsers from
//! memory.

mod assemble;
mod bind;
mod compile;
mod copies;
mod count;
mod digest;
mod error;
mod links;
mod order;
mod policy;
mod rooms;
mod serve;
mod single;
mod split;
mod write;

pub use assemble::{ASIDE, GLUE, LATER, SINGLE, Site, WASM, assemble};
pub use bind::{Bound, bind};
pub use compile::compile;
pub use count::{Counted, counted};
pub use error::SiteError;
pub use policy::HOSTED_POLICY;
pub use serve::{Server, ensure_free, serve};
pub use write::{LIST, write};

use std::path::{Path, PathBuf};

/// Where to build from and where the compiler may work.
#[derive(Clone, Debug)]
pub struct BuildOptions {
    /// The folder with `Cargo.toml`, `src/` and `www/`.
    pub root: PathBuf,
    /// The compiler's own target folder for WebAssembly, apart from the native one so that a `cargo run` or
    /// `cargo test` that waits for this build holds no lock it needs.
    pub target_dir: PathBuf,
    /// Keep the compiler silent unless it fails.
    pub quiet: bool,
}

impl BuildOptions {
    /// The usual folders under a project root: `target/wasm` for the compiler.
    pub fn new(root: &Path) -> Self {
        Self { root: root.to_path_buf(), target_dir: root.join("target").join("wasm"), quiet: false }
    }
}

/// Compiles, binds and assembles the whole site in memory; nothing is written but the compiler's own files.
///
/// # Errors
/// When the WebAssembly target is missing and cannot be added, when the compiler or the binder fails, or when a file
/// of `www/` is missing or cannot be folded into the single file.
pub fn build_site(options: &BuildOptions) -> Result<Site, SiteError> {
    let compiled = compile(options)?;
    let bound = bind(&compiled)?;
    assemble(&bound, &options.root.join("www"))
}
