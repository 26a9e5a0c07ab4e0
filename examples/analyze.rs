//! Files in, figures out: a readable table, or the machine-readable document with `--json`.
//!
//! ```text
//! cargo run --release --example analyze -- [options] FILE…
//! ```
//! Options: `--json`, `--test KIND` (instead of recognising it), `--mass KG`, `--load KG`, `--box M`, `--side left|right|both`, `--gravity G`, or `--latitude DEG --altitude M`,
//! `--rate HZ` (where the file states none), `--help`, `--columns SPEC` (when guessing fails: `time,left,right,-`, each with an
//! optional `:unit`), `--decimal .|,` (where numbers read two ways), `--low-pass HZ`, `--onset-sd N`. Exit status 1 if any file could not be read, 2 for a bad call.
use core::mem::ManuallyDrop;
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::io::{Read, Write};
use std::process::ExitCode;
use std::sync::mpsc::sync_channel;
use tarsal::answer::{FileAnswer, Options, Stream, Trial, document, hex};
use tarsal::figures::{SIDES, definition};
use tarsal::recording::ReadError;

fn main() -> ExitCode {
    if std::env::args().skip(1).any(|arg| arg == "--help" || arg == "-h") {
        // A closed pipe is the reader's choice here, too.
        let _ = writeln!(std::io::stdout(), "{USAGE}\n{HELP}");
        return ExitCode::SUCCESS;
    }
    let (options, json, files) = match arguments(std::env::args().skip(1)) {
        Ok(found) => found,
        Err(message) => {
            eprintln!("analyze: {message}\n{USAGE}\nAll options: analyze --help");
            return ExitCode::from(2);
        }
    };
    let answers: Vec<FileAnswer> = files.iter().map(|path| read(path, &options)).collect();
    // Never dropped: the process ends below, and taking a long session apart string by string would only keep its reader waiting.
    let document = ManuallyDrop::new(document(&options, answers));
    let failed = document.files.iter().any(|a| a.error.is_some());
    let text = if json {
        match serde_json::to_string_pretty(&*document) {
            Ok(text) => text + "\n",
            Err(error) => {
                eprintln!("analyze: {error}");
                return ExitCode::FAILURE;
            }
        }
    } else {
        document.files.iter().map(table).collect()
    };
    // A closed pipe (`| head`) is the reader's choice, not an error.
    let _ = std::io::stdout().write_all(text.as_bytes());
    if failed { ExitCode::FAILURE } else { ExitCode::SUCCESS }
}

const USAGE: &str = "usage: analyze [--json] [--mass KG] [--load KG] [--rate HZ] [--columns SPEC] … FILE…";

const HELP: &str = "
Reads force recordings and prints each trial's figures with their uncertainty (two standard uncertainties),
or with --json the document that the page exports (one standard uncertainty).

  --json               the document instead of a table
  --test KIND          take every trial for this test: countermovement_jump, squat_jump, drop_jump,
                       countermovement_rebound_jump, drop_landing, rebound_jumps, isometric, quiet_standing
  --side SIDE          left, right or both, where the plates cannot tell
  --mass KG            known body mass: the weighing is held against it (10 to 300)
  --load KG            weight carried beside the body (0 to 500)
  --box M              height of the box of a drop (0.01 to 2)
  --gravity G          local gravity, m/s² (9.7 to 9.9; 9.80665 where nothing is stated)
  --latitude DEG       gravity by the place instead (−90 to 90) …
  --altitude M         … and its height above the sea (−500 to 9000)
  --rate HZ            samples a second, for files that state none (10 to 200000)
  --columns SPEC       what each column is: time, sample, left, right, total or -, each with an optional
                       :unit, for example time:ms,left:N,right:N,-
  --decimal MARK       . or , where numbers read two ways
  --low-pass HZ        zero-lag low-pass for the figures that may be filtered (1 to 1000)
  --onset-sd N         onset threshold in standard deviations of quiet standing (1 to 50; 5 where nothing is stated)
  --help, -h           this

Exit status: 0 all read, 1 some file could not be read, 2 a call that cannot be meant (then nothing is read).";

/// What `--test` takes.
const TESTS: &str =
    "countermovement_jump, squat_jump, drop_jump, countermovement_rebound_jump, drop_landing, rebound_jumps, isometric, quiet_standing";

/// Options, whether JSON is asked for, and the files' names.
///
/// # Errors
/// What cannot be meant, in words.
pub fn arguments(args: impl Iterator<Item = String>) -> Result<(Options, bool, Vec<String>), String> {
    let (mut options, mut json, mut files) = (Options::default(), false, Vec::new());
    let mut args = args;
    while let Some(arg) = args.next() {
        if !arg.starts_with("--") {
            files.push(arg);
            continue;
        }
        if arg == "--json" {
            json = true;
            continue;
        }
        let value = args.next().ok_or_else(|| format!("{arg} needs a value"))?;
        let number = || value.parse::<f64>().ok().filter(|v| v.is_finite()).ok_or_else(|| format!("{arg} needs a number, found {value:?}"));
        match arg.as_str() {
            "--mass" => options.mass_kg = Some(number()?),
            "--load" => options.load_kg = Some(number()?),
            "--box" => options.box_m = Some(number()?),
            "--side" => {
                let side = serde_json::from_value(serde_json::Value::String(value.clone()));
                options.side = Some(side.map_err(|_| format!("--side {value:?} is not left, right or both"))?);
            }
            "--gravity" => options.gravity = number()?,
            "--latitude" => options.latitude_deg = Some(number()?),
            "--altitude" => options.altitude_m = Some(number()?),
            "--rate" => options.rate_hz = Some(number()?),
            "--decimal" => {
                let mark = match value.as_str() {
                    "." => '.',
                    "," => ',',
                    _ => return Err(format!("--decimal {value:?} is neither . nor ,")),
                };
                options.decimal = Some(mark);
            }
            "--low-pass" => options.low_pass_hz = Some(number()?),
            "--onset-sd" => options.onset_sd = number()?,
            "--columns" => options.columns = Some(value.clone()),
            "--test" => {
                let kind = serde_json::from_value(serde_json::Value::String(value.clone()));
                options.test = Some(kind.map_err(|_| format!("--test {value:?} is not a test: one of {TESTS}"))?);
            }
            _ => return Err(format!("no option {arg}")),
        }
    }
    options.checked().map_err(|error| error.to_string())?;
    if files.is_empty() { Err("no file named".into()) } else { Ok((options, json, files)) }
}

fn read(path: &str, options: &Options) -> FileAnswer {
    let mut stream = Stream::unhashed(path, options);
    let read = std::fs::File::open(path).and_then(|file| feed(file, &mut stream));
    match read {
        Ok(sha256) => FileAnswer { sha256, ..stream.answer() },
        Err(error) => FileAnswer {
            file: path.into(),
            sha256: String::new(),
            error: Some(
                ReadError::new("unreadable", format!("The file cannot be opened: {error}."), "Check the path and the permissions.")
                    .found(path)
                    .expected("a file that can be read"),
            ),
            recording: None,
            left_out: vec![],
            trials: vec![],
        },
    }
}

/// Bytes a piece.
const PIECE: usize = 1 << 20;

/// Gives a file to a stream, and its SHA-256 back. The next piece is fetched and hashed by a thread of its own while one is used;
/// two go to and fro.
fn feed(mut file: std::fs::File, stream: &mut Stream) -> std::io::Result<String> {
    let (full, filled) = sync_channel::<Vec<u8>>(2);
    let (used, empty) = sync_channel::<Vec<u8>>(2);
    std::thread::scope(|scope| {
        let reading = scope.spawn(move || {
            let mut sha = Sha256::new();
            for fresh in [Vec::new(), Vec::new()].into_iter().chain(empty) {
                let mut piece = fresh;
                piece.clear();
                let n = Read::by_ref(&mut file).take(PIECE as u64).read_to_end(&mut piece)?;
                sha.update(&piece);
                // Where nobody listens any more nothing is to be read.
                if n == 0 || full.send(piece).is_err() {
                    break;
                }
            }
            Ok(hex(&sha.finalize()))
        });
        for piece in filled {
            stream.feed(&piece);
            let _ = used.send(piece);
        }
        reading.join().unwrap_or_else(|_| Err(std::io::ErrorKind::Other.into()))
    })
}

fn table(answer: &FileAnswer) -> String {
    let mut out = format!("{}\n", answer.file);
    if let Some(error) = &answer.error {
        let _ = writeln!(out, "  cannot be read: {error}\n");
        return out;
    }
    if let Some(r) = &answer.recording {
        let jitter = r.jitter_s.filter(|j| *j > 0.0).map(|j| format!(", stamps scatter by {:.3} ms", 1e3 * j)).unwrap_or_default();
        let filled = r.samples_filled.filter(|n| *n > 0).map(|n| format!(", {n} samples filled")).unwrap_or_default();
        let dropped = r.duplicates.filter(|n| *n > 0).map(|n| format!(", {n} repeated rows dropped")).unwrap_or_default();
        let _ = writeln!(out, "  {:.1} Hz, {:.2} s{jitter}{filled}{dropped}", r.rate_hz, r.duration_s);
        for c in &r.channels {
            let _ = writeln!(out, "  column {} {:?}: {:?}, {}", c.report.column, c.report.header, c.report.role, c.report.why);
        }
        for n in &r.notices {
            let _ = writeln!(out, "  note: {}", n.message);
        }
    }
    for part in &answer.left_out {
        let _ = writeln!(out, "  left out {:.2}–{:.2} s: {}", part.start_s, part.end_s, part.why);
    }
    // Writing a long session's numbers takes as long as reading them: each core writes its share.
    let share = answer.trials.len().div_ceil(std::thread::available_parallelism().map_or(1, |n| n.get())).max(20);
    std::thread::scope(|scope| {
        let parts = answer.trials.chunks(share).enumerate();
        let written: Vec<_> = parts.map(|(k, part)| scope.spawn(move || trials(part, 1 + k * share))).collect();
        out.extend(written.into_iter().filter_map(|part| part.join().ok()));
    });
    out.push('\n');
    out
}

/// Trials numbered from `first`.
fn trials(trials: &[Trial], first: usize) -> String {
    let mut out = String::new();
    for (trial, number) in trials.iter().zip(first..) {
        let side = if trial.side == "both" { String::new() } else { format!(", {} leg", trial.side) };
        let next = trial.runner_up.as_ref().map(|r| format!(" (next best {:?}, {:.2} behind)", r.test, r.margin)).unwrap_or_default();
        let _ = writeln!(out, "  trial {number}: {:?}{side}, {:?}{next}", trial.test, trial.verdict);
        rows(&mut out, trial);
    }
    out
}

/// Four decimals. The standard library asks, digit by digit, what the number's exact binary value rounds to; of a long session's
/// numbers that took as long as reading a tenth of it. Here a half may round up that lies a hair below.
fn four(x: f64) -> String {
    let (sign, parts) = (if x < 0.0 { "-" } else { "" }, (x.abs() * 1e4).round());
    if parts < 1e15 { format!("{sign}{}.{:04}", parts as u64 / 10_000, parts as u64 % 10_000) } else { format!("{x:.4}") }
}

fn rows(out: &mut String, trial: &Trial) {
    for n in &trial.notices {
        let _ = writeln!(out, "    {} {}", n.message, n.next_time.as_deref().unwrap_or(""));
    }
    if let Some(m) = trial.system_mass_kg {
        let _ = writeln!(out, "    {:40} {:>10.2} ± {:.2} kg", "mass", m.value, 2.0 * m.u);
    }
    if let Some(w) = &trial.weighing {
        let _ = writeln!(out, "    {:40} {:>10.2} ± {:.2} N, {}", "weight", w.weight_n.value, 2.0 * w.weight_n.u, w.source);
    }
    if let Some(d) = &trial.drop {
        let part = |v: &Option<tarsal::answer::Valued>| v.map_or("–".into(), |v| format!("{:.3} ± {:.3}", v.value, 2.0 * v.u));
        let (v, back, flight) = (d.touchdown_velocity, part(&d.backward), part(&d.from_flight));
        let _ = writeln!(
            out,
            "    {:40} {:>10.4} ± {:.4} m/s, {} (backward {back}, from flight {flight})",
            "velocity of the drop",
            v.value,
            2.0 * v.u,
            d.method
        );
    }
    for c in &trial.contacts {
        let rest = c.flight_time.zip(c.reactive_strength_index).map_or("–".into(), |(f, r)| format!("flight {f:.3} s, index {r:.2} m/s"));
        let counted = if c.counted { ", counted" } else { "" };
        let _ = writeln!(out, "    contact at {:.3} s: {:.3} s, {rest}{counted}", c.touchdown, c.contact_time);
    }
    for (name, at) in &trial.events {
        let _ = writeln!(out, "    {:40} {:>10} s", name.replace('_', " "), four(*at));
    }
    for (id, figure) in &trial.figures {
        let name = definition(id).map_or(id.as_str(), |d| d.name);
        let name = if id.ends_with("_per_kg") { format!("{name}, per kg") } else { name.to_string() };
        let _ = match (figure.value, figure.u) {
            (Some(v), Some(u)) => writeln!(out, "    {name:40} {:>10} ± {} {}", four(v), four(2.0 * u), figure.unit),
            _ => writeln!(out, "    {name:40} {:>10} {}", "–", figure.why.as_deref().unwrap_or("")),
        };
    }
    for (id, s) in &trial.sides {
        let name = SIDES.iter().find(|d| d.0 == id).map_or(id.as_str(), |d| d.1);
        let _ = writeln!(
            out,
            "    {name:40} left {:.1}, right {:.1} {}: right {:.1} %, difference {:+.1} ± {:.1} % of the total",
            s.left,
            s.right,
            s.unit,
            s.share_right_percent,
            s.difference_of_total_percent,
            2.0 * s.u
        );
    }
}
