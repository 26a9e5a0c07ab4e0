//! The same in Chromium: a file given to the page until its figures stand there.
//!
//! ```text
//! cargo bench --bench browser
//! ```
//! Files are the invented ones of `cargo bench --bench whole` in `target/bench-data` (run that first). Times are taken
//! inside the page, from the file input's `change` to the page's own signal that the trial is drawn and saved, best of
//! three; main-thread tasks over 50 ms are counted by the browser; memory is the renderer's resident set, grown.
#[path = "../browser/context.rs"]
#[allow(dead_code)]
mod context;
#[path = "../browser/driver.rs"]
#[allow(dead_code)]
mod driver;

use context::Context;
use driver::{Browser, Launcher, Outcome};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// A test's name and body (what `context` calls a test).
#[allow(dead_code)]
type Test = (&'static str, fn(&Context) -> Outcome<()>);

const WATCH: &str = "window.tasks = []; new PerformanceObserver(list => list.getEntries().forEach(e => tasks.push(e.duration))).observe({ type: 'longtask' });
const root = document.documentElement;
document.addEventListener('change', () => { window.from = performance.now(); window.until = null; window.busy = false; }, true);
new MutationObserver(() => { if (root.dataset.idle !== 'true') window.busy = true; else if (window.busy) window.until ??= performance.now(); })
  .observe(root, { attributes: true, attributeFilter: ['data-idle'] }); true";

fn main() {
    if let Err(error) = run() {
        println!("browser bench: {error}");
        std::process::exit(1);
    }
}

fn run() -> Outcome<()> {
    let target = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("target");
    let scratch = target.join("bench-browser");
    let launcher = Launcher::find(&scratch).ok_or("Chromium is missing; install it or name it in TARSAL_CHROMIUM")?;
    let context = Context::new(launcher, scratch)?;
    first_load(&context);
    println!("{:22} {:>9} {:>12} {:>22} {:>16}", "file", "MB", "ms", "longest task, ms", "memory, MB");
    for name in ["ten_seconds.csv", "session_100.csv"] {
        let file = target.join("bench-data").join(name);
        if !file.is_file() {
            return Err(format!("{} is missing: first run `cargo bench --bench whole`", file.display()));
        }
        one(&context, name, &file)?;
    }
    Ok(())
}

/// Bytes of the first visit, as a host that compresses would send them.
fn first_load(context: &Context) {
    let mut total = 0;
    for file in ["index.html", "boot.js", "app.css", "tarsal.js", "tarsal.wasm", "sw.js", "manifest.webmanifest", "icon.svg"] {
        let Some(bytes) = context.site.files.get(file) else { continue };
        let mut packed = Vec::new();
        let quality = brotli::enc::BrotliEncoderParams { quality: 11, ..Default::default() };
        total += brotli::BrotliCompress(&mut bytes.as_slice(), &mut packed, &quality).unwrap_or(0);
    }
    println!("first load, brotli: {:.1} kB", total as f64 / 1000.0);
}

fn one(context: &Context, name: &str, file: &Path) -> Outcome<()> {
    let mut browser = context.browser(name)?;
    let (mut best, mut longest) = (f64::MAX, 0.0_f64);
    let mut grown = 0.0;
    for _ in 0..3 {
        browser.navigate(&context.base_url)?;
        browser.wait_for("document.documentElement.dataset.ready === 'true' && document.documentElement.dataset.idle === 'true'")?;
        browser.eval(WATCH)?;
        let before = renderers_mb();
        browser.choose_files("input[type=file]", &[file])?;
        browser.wait_at_most(Duration::from_secs(60), "window.until !== null && window.until > 0")?;
        grown = renderers_mb() - before;
        best = best.min(number(&mut browser, "window.until - window.from")?);
        longest = longest.max(number(&mut browser, "Math.max(0, ...window.tasks)")?);
    }
    let size = std::fs::metadata(file).map_or(0.0, |m| m.len() as f64 / 1e6);
    println!("{name:22} {size:9.1} {best:12.1} {longest:22.0} {grown:16.0}");
    Ok(())
}

fn number(browser: &mut Browser, expression: &str) -> Outcome<f64> {
    browser.eval(expression)?.as_f64().ok_or_else(|| format!("{expression} is no number"))
}

/// Resident memory of all renderer processes now, MB.
fn renderers_mb() -> f64 {
    let pages = |pid: &str| -> Option<f64> {
        let command = std::fs::read_to_string(format!("/proc/{pid}/cmdline")).ok()?;
        let resident = std::fs::read_to_string(format!("/proc/{pid}/statm")).ok()?;
        command.contains("--type=renderer").then_some(())?;
        resident.split(' ').nth(1)?.parse().ok()
    };
    let processes = std::fs::read_dir("/proc").into_iter().flatten().flatten();
    processes.filter_map(|e| pages(&e.file_name().to_string_lossy())).sum::<f64>() * 4096.0 / 1e6
}
