//! What all browser tests share.

use crate::driver::{Browser, Launcher, Outcome};
use std::{
    fs,
    path::{Path, PathBuf},
};
use tarsal::site::{BuildOptions, SINGLE, Server, Site, build_site, serve, write};

/// True once the page can be used.
pub const READY: &str = "document.documentElement.dataset.ready === 'true'";
/// True while nothing is being read, computed or saved.
pub const IDLE: &str = "document.documentElement.dataset.ready === 'true' && document.documentElement.dataset.idle === 'true'";
/// True once the page says that it works without a network.
pub const OFFLINE: &str = "document.documentElement.dataset.offline === 'ready'";
/// True once a trial's trace is drawn.
pub const TRIAL_SHOWN: &str = "document.querySelector('#trace path.total')?.getAttribute('d').length > 100";
/// True while the bar stands there that tells of a failure.
pub const PANIC_SHOWN: &str = "document.getElementById('panic-bar').getClientRects().length > 0";

/// The built site, served, and a way to start browsers.
pub struct Context {
    /// The site as built from this source.
    pub site: Site,
    /// Where it is served, at the root of its own port, for as long as the tests run.
    pub base_url: String,
    /// The self-contained file, on disk.
    pub single_file: PathBuf,
    /// The folder with `Cargo.toml`.
    pub root: PathBuf,
    /// An existing folder that is removed after the last test.
    pub temp: PathBuf,
    launcher: Launcher,
    // Serves for as long as this lives.
    _server: Server,
}

impl Context {
    /// Builds and serves the site.
    pub fn new(launcher: Launcher, temp: PathBuf) -> Outcome<Self> {
        let root = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
        let words = |error: &dyn std::fmt::Display| error.to_string();
        let site = build_site(&BuildOptions { quiet: true, ..BuildOptions::new(&root) }).map_err(|error| words(&error))?;
        fs::create_dir_all(&temp).map_err(|error| words(&error))?;
        let folder = temp.join("site");
        write(&site, &folder).map_err(|error| words(&error))?;
        let server = serve(site.clone(), 0, "/").map_err(|error| words(&error))?;
        Ok(Self { base_url: server.url(), single_file: folder.join(SINGLE), site, root, temp, launcher, _server: server })
    }

    /// A browser of the test's own; `name` must be the test's.
    pub fn browser(&self, name: &str) -> Outcome<Browser> {
        self.launcher.launch(name)
    }

    /// A new folder for the test's own files.
    pub fn folder(&self, name: &str) -> Outcome<PathBuf> {
        let folder = self.temp.join(name);
        fs::create_dir_all(&folder).map_err(|error| format!("{}: {error}", folder.display()))?;
        Ok(folder)
    }

    /// A server of the test's own, which it may stop or give another build.
    pub fn server(&self, base: &str) -> Outcome<Server> {
        serve(self.site.clone(), 0, base).map_err(|error| error.to_string())
    }
}

/// The address of a file on disk.
pub fn file_url(path: &Path) -> String {
    format!("file://{}", path.display())
}

/// Fails with both values when they differ.
pub fn same<T: PartialEq + std::fmt::Debug>(what: &str, found: &T, expected: &T) -> Outcome<()> {
    if found == expected { Ok(()) } else { Err(format!("{what}: found {found:?}, expected {expected:?}")) }
}

/// Fails with the sentence when the condition does not hold.
pub fn ensure(holds: bool, sentence: impl FnOnce() -> String) -> Outcome<()> {
    if holds { Ok(()) } else { Err(sentence()) }
}
