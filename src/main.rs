//! `cargo run --release`: builds the page and serves it on this computer.
#![forbid(unsafe_code)]

use std::{env, fmt, path::PathBuf, process::ExitCode};
use tarsal::site::{BuildOptions, SiteError, build_site, ensure_free, serve, write};

const PORT: u16 = 7373;
const HELP: &str = "\
Builds the page and serves it on this computer.

  cargo run --release                     build, write target/site, serve, open the browser
  cargo run --release -- --port 7374      serve on another port (another port is another, empty store)
  cargo run --release -- --no-open        do not open the browser (also: TARSAL_NO_OPEN=1)
  cargo run --release -- --base /a/b/     serve below a path, as some hosts do
  cargo run --release -- --out DIR        only write the site into DIR, a new or empty folder or one written before
";

/// What the command line asks for.
#[derive(Debug)]
struct Wishes {
    port: u16,
    base: String,
    out: Option<PathBuf>,
    open: bool,
}

fn main() -> ExitCode {
    let wishes = match parse(env::args().skip(1)) {
        Ok(Some(wishes)) => wishes,
        Ok(None) => {
            print!("{HELP}");
            return ExitCode::SUCCESS;
        }
        Err(problem) => {
            eprintln!("{problem}\n\n{HELP}");
            return ExitCode::from(2);
        }
    };
    match run(&wishes) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("Error: {error}");
            ExitCode::FAILURE
        }
    }
}

/// `None` asks for help.
fn parse(mut arguments: impl Iterator<Item = String>) -> Result<Option<Wishes>, String> {
    let open = env::var_os("TARSAL_NO_OPEN").is_none_or(|value| value.is_empty() || value == "0");
    let mut wishes = Wishes { port: PORT, base: "/".into(), out: None, open };
    while let Some(argument) = arguments.next() {
        let (name, inline) = match argument.split_once('=') {
            Some((name, value)) => (name.to_owned(), Some(value.to_owned())),
            None => (argument, None),
        };
        let mut value = |what: &str| inline.clone().or_else(|| arguments.next()).ok_or_else(|| format!("{name} needs {what}"));
        match name.as_str() {
            "--port" => {
                let text = value("a port number")?;
                wishes.port = text.parse().map_err(|_| format!("--port: `{text}` is not a port; give a number from 1 to 65535"))?;
            }
            "--base" => wishes.base = value("a path such as /sub/path/")?,
            "--out" => wishes.out = Some(value("a folder")?.into()),
            "--no-open" => wishes.open = false,
            "--help" | "-h" => return Ok(None),
            other => return Err(format!("`{other}` is not known here")),
        }
    }
    Ok(Some(wishes))
}

fn run(wishes: &Wishes) -> Result<(), SiteError> {
    if wishes.out.is_none() {
        // Before the build, so that nobody waits for it only to read this.
        ensure_free(wishes.port)?;
    }
    let root = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    let site = build_site(&BuildOptions::new(&root))?;
    let folder = wishes.out.clone().unwrap_or_else(|| root.join("target").join("site"));
    match write(&site, &folder) {
        Ok(()) => say(format_args!("Build {}: {} files in {}", site.build_id, site.files.len(), folder.display())),
        // Serving needs no folder; only whoever asked for one must have it.
        Err(refused @ SiteError::Foreign { .. }) if wishes.out.is_none() => say(format_args!("Not written to disk: {refused}")),
        Err(error) => return Err(error),
    }
    if wishes.out.is_some() {
        return Ok(());
    }
    let server = serve(site, wishes.port, &wishes.base)?;
    let url = server.url();
    say(format_args!("Serving {url} on this computer only; stop with Ctrl-C."));
    if wishes.open {
        open_browser(&url);
    }
    server.wait();
    Ok(())
}

/// A closed standard output is no reason to stop serving.
fn say(line: fmt::Arguments<'_>) {
    use std::io::Write as _;
    let _ = writeln!(std::io::stdout(), "{line}");
}

/// Asks the desktop to show the page; where there is none, the printed address is enough.
fn open_browser(url: &str) {
    use std::process::{Command, Stdio};
    let (program, arguments): (&str, &[&str]) = if cfg!(target_os = "windows") {
        ("cmd", &["/C", "start", ""])
    } else if cfg!(target_os = "macos") {
        ("open", &[])
    } else {
        ("xdg-open", &[])
    };
    let _ = Command::new(program).args(arguments).arg(url).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null()).spawn();
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parsed(arguments: &[&str]) -> Result<Option<Wishes>, String> {
        parse(arguments.iter().map(|argument| (*argument).to_owned()))
    }

    #[test]
    fn options_are_read_in_both_spellings() {
        let spaced = parsed(&["--port", "8000", "--base", "/a/", "--out", "site", "--no-open"]).unwrap().unwrap();
        let joined = parsed(&["--port=8000", "--base=/a/", "--out=site", "--no-open"]).unwrap().unwrap();
        assert_eq!(format!("{spaced:?}"), format!("{joined:?}"));
        assert_eq!((spaced.port, spaced.base.as_str(), spaced.open), (8000, "/a/", false));
        assert_eq!(parsed(&[]).unwrap().unwrap().port, PORT);
    }

    #[test]
    fn what_is_wrong_is_named() {
        assert!(parsed(&["--port", "many"]).unwrap_err().contains("`many`"));
        assert!(parsed(&["--port"]).unwrap_err().contains("--port"));
        assert!(parsed(&["--prot"]).unwrap_err().contains("`--prot`"));
        assert!(parsed(&["--help"]).unwrap().is_none());
    }
}
