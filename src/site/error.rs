//! What can go wrong while building, writing or serving, each with its place and its remedy.

use std::{fmt, io, path::PathBuf};

/// Why the site could not be built, written or served.
#[derive(Debug)]
pub enum SiteError {
    /// A file or folder could not be read or written.
    Io {
        /// What was being done, as in "read".
        doing: &'static str,
        /// The file or folder.
        path: PathBuf,
        /// The system's own message.
        source: io::Error,
    },
    /// A program could not be started.
    Program {
        /// The program's name.
        name: String,
        /// The system's own message.
        source: io::Error,
    },
    /// The compiler has no standard library for WebAssembly and it could not be added.
    NoWasmTarget,
    /// The compiler ended with an error.
    Compile {
        /// Its messages, empty where they were already shown.
        output: String,
    },
    /// The binder refused the compiled module.
    Bind(String),
    /// A file of `www/` is not as the builder needs it.
    Www {
        /// The file's name.
        file: String,
        /// What is wrong and what to do.
        problem: String,
    },
    /// The folder holds something this program did not write.
    Foreign {
        /// The folder.
        folder: PathBuf,
        /// The first name found that is not ours.
        found: String,
    },
    /// The port is in use.
    PortTaken {
        /// The port that was asked for.
        port: u16,
    },
    /// The server could not start for another reason.
    Listen(String),
}

impl fmt::Display for SiteError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Io { doing, path, source } => write!(f, "could not {doing} {}: {source}", path.display()),
            Self::Program { name, source } => write!(f, "could not start `{name}`: {source}; is it installed and on the PATH?"),
            Self::NoWasmTarget => write!(
                f,
                "this Rust has no standard library for {target} and `rustup target add` did not add it; \
                 go online once and run `rustup target add {target}`, or install your distribution's package for that target",
                target = super::compile::TARGET
            ),
            Self::Compile { output } if output.is_empty() => write!(f, "the WebAssembly build failed; the compiler's messages are above"),
            Self::Compile { output } => write!(f, "the WebAssembly build failed:\n{output}"),
            Self::Bind(message) => write!(f, "the compiled module could not be bound to JavaScript: {message}"),
            Self::Www { file, problem } => write!(f, "www/{file}: {problem}"),
            Self::Foreign { folder, found } => write!(
                f,
                "{} holds `{found}`, which this program did not write, so nothing was changed there; \
                 name a new or empty folder with `--out DIR`, or move that file away",
                folder.display()
            ),
            Self::PortTaken { port } => write!(
                f,
                "port {port} on this computer is taken, perhaps by this page already running in another window; \
                 close that, or choose another with `cargo run --release -- --port {}` \
                 (what you saved belongs to the address it was saved under, so the other port starts empty)",
                port.checked_add(1).unwrap_or(7374)
            ),
            Self::Listen(message) => write!(f, "the server could not start: {message}"),
        }
    }
}

impl std::error::Error for SiteError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Io { source, .. } | Self::Program { source, .. } => Some(source),
            _ => None,
        }
    }
}

/// Names the action and the path beside the system's message.
pub(super) fn io(doing: &'static str, path: impl Into<PathBuf>) -> impl FnOnce(io::Error) -> SiteError {
    let path = path.into();
    move |source| SiteError::Io { doing, path, source }
}
