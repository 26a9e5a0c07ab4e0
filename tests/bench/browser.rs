//! The same in Chromium: a file given to the page until its figures stand there.
//!
//! ```text
//! cargo bench --bench browser
//! ```
//! Files are the invented ones of `cargo bench --bench whole` in `target/bench-data` (run that first). Times are taken
//! inside the page, from the file input's `change` until figures stand there and until every trial is saved, best of
//! three; the longest main-thread task is the browser's own count (0: none of 50 ms); memory is by how much the page's
//! renderer's resident set grew. Half a second before (`TARSAL_DRAG_MS`: longer where other programs
//! keep the worker from rehearsing), a file is dragged over the page, as by a hand. Under each line stands when the
//! messages of the worker came and what was drawn when.
#[path = "../browser/context.rs"]
#[allow(dead_code)]
mod context;
#[path = "../browser/driver/mod.rs"]
#[allow(dead_code)]
mod driver;

use context::Context;
use driver::{Browser, Launcher, Outcome};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};
use tarsal::records::{STAGES, stages};

/// A test's name and body (what `context` calls a test).
#[allow(dead_code)]
type Test = (&'static str, fn(&Context) -> Outcome<()>);

/// Notes when each kind of message first and last came from the worker, when figures stood there, and every long task.
const WATCH: &str = "window.tasks = []; window.marks = {};
new PerformanceObserver(list => list.getEntries().forEach(e => tasks.push([e.startTime, e.duration]))).observe({ type: 'longtask' });
const root = document.documentElement;
const mark = (name) => { const now = performance.now(); (marks[name] ??= [now, now, 0])[1] = now; marks[name][2] += 1; };
const make = globalThis.tarsalMakeWorker;
globalThis.tarsalMakeWorker = () => {
  mark('worker asked for');
  const worker = make();
  worker.addEventListener('message', ({ data }) => { mark(data[0]); if (data[0] === 'analysed') window.memory = data[4]; });
  return worker;
};
document.addEventListener('change', () => { window.from = performance.now(); window.shown = window.saved = null; window.tasks = []; }, true);
new MutationObserver(() => {
  if (document.querySelector('table.figures')) window.shown ??= performance.now();
  if (document.querySelector('#trust')) mark('first drawing');
  if (window.shown && root.dataset.idle === 'true') window.saved ??= performance.now();
}).observe(root, { attributes: true, childList: true, subtree: true }); true";

/// The marks as lines: what, first and last time since the file was given, how many; then the long tasks.
const TOLD: &str = "const at = (t) => String(Math.round(t - from)).padStart(6);
[...Object.entries(marks).sort((a, b) => a[1][0] - b[1][0]).map(([name, [first, last, count]]) => `  ${at(first)} ${at(last)} ${String(count).padStart(5)} ${name}`),
  ...tasks.map(([start, ms]) => `  ${at(start)} ${at(start + ms)}       task of ${Math.round(ms)} ms`),
  `  the worker's module holds ${((window.memory ?? 0) / 1e6).toFixed(1)} MB`].join('\\n')";

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
    targets(&context, &target.join("bench-data/session_20.csv"))?;
    println!("{:22} {:>9} {:>12} {:>12} {:>18} {:>12}", "file", "MB", "figures, ms", "saved, ms", "longest task, ms", "memory, MB");
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

/// Bytes that the two targets are held against each other over: some ten jumps.
const SHORT: usize = 2_000_000;

/// The same work on one thread of both targets, stage by stage: native in this process, the module in Chromium. The best of
/// many runs.
fn targets(context: &Context, file: &Path) -> Outcome<()> {
    let mut bytes = std::fs::read(file).map_err(|_| format!("{} is missing: first run `cargo bench --bench whole`", file.display()))?;
    // Short and often: on a busy machine some of the runs are not interrupted.
    bytes.truncate(SHORT);
    let mut native = [f64::MAX; STAGES.len()];
    let mut digest = String::new();
    for _ in 0..60 {
        let (mut last, mut stage) = (Instant::now(), 0);
        digest = stages(&bytes, &mut || {
            native[stage] = native[stage].min(last.elapsed().as_secs_f64() * 1e3);
            (last, stage) = (Instant::now(), stage + 1);
        });
    }
    let mut browser = context.browser("targets")?;
    browser.navigate(&context.base_url)?;
    browser.wait_for("document.documentElement.dataset.ready === 'true' && 'whole' in document.documentElement.dataset")?;
    browser.eval("document.body.append(Object.assign(document.createElement('input'), { type: 'file', id: 'bench' })); true")?;
    browser.choose_files("#bench", &[file])?;
    let script = "document.querySelector('#bench').files[0].arrayBuffer().then((buffer) => {
           const bytes = new Uint8Array(buffer, 0, SHORT), best = [];
           let digest;
           for (let run = 0; run < 120; run += 1) {
             let stage = 0, last = performance.now();
             digest = wasm_bindgen.stages(bytes, () => {
               const now = performance.now();
               best[stage] = Math.min(best[stage] ?? Infinity, now - last);
               [stage, last] = [stage + 1, now];
             });
           }
           return [digest, ...best].join(' ');
         })";
    let found = browser.text(&script.replace("SHORT", &SHORT.to_string()))?;
    let mut words = found.split(' ');
    if words.next() != Some(&digest) {
        return Err("native and module gave different bytes".into());
    }
    let module: Vec<f64> = words.filter_map(|w| w.parse().ok()).collect();
    println!(
        "{:22} {:>10} {:>10} {:>6}   one thread, {:.0} MB, the same bytes",
        "stage",
        "native, ms",
        "module, ms",
        "ratio",
        bytes.len() as f64 / 1e6
    );
    let told = |name: &str, native: f64, module: f64| println!("{name:22} {native:10.2} {module:10.2} {:6.2}", module / native);
    for ((name, native), module) in STAGES.iter().zip(native).zip(&module) {
        told(name, native, *module);
    }
    // Natively a processor's own instruction hashes, which a module cannot ask for.
    let (native, module): (f64, f64) = (native[..3].iter().sum(), module.iter().take(3).sum());
    told("all but the hash", native, module);
    println!("  {} at most 1.6 times the native time", if module <= 1.6 * native { "met:   " } else { "MISSED:" });
    Ok(())
}

fn one(context: &Context, name: &str, file: &Path) -> Outcome<()> {
    let (mut shown, mut saved, mut longest, mut grown) = (f64::MAX, f64::MAX, f64::MAX, f64::MAX);
    let (mut marks, mut used) = (String::new(), f64::MAX);
    for run in 0..3 {
        // A profile of its own each time: what is saved already is not saved again.
        let mut browser = context.browser(&format!("{name}-{run}"))?;
        browser.navigate(&context.base_url)?;
        browser.wait_for("document.documentElement.dataset.ready === 'true' && document.documentElement.dataset.idle === 'true'")?;
        browser.eval(WATCH)?;
        let before = renderers_mb();
        // A hand drags a file over the page for a while before it lets go, or looks for it in a dialogue.
        browser.eval("document.body.dispatchEvent(new DragEvent('dragenter', { bubbles: true, cancelable: true })); true")?;
        // The wait is the page's own: a worker starts only once this program, as its debugger, has let it.
        let drag_ms = std::env::var("TARSAL_DRAG_MS").unwrap_or_else(|_| "500".into());
        browser.eval(&format!("new Promise((resolve) => setTimeout(() => resolve(true), {drag_ms}))"))?;
        let used_before = processor_ms();
        browser.choose_files("#file-input", &[file])?;
        browser.wait_at_most(Duration::from_secs(60), "window.shown > 0")?;
        grown = grown.min(grown_mb(&before));
        used = used.min(processor_ms() - used_before);
        browser.wait_at_most(Duration::from_secs(60), "window.saved > 0")?;
        let now_shown = number(&mut browser, "window.shown - window.from")?;
        if now_shown < shown {
            shown = now_shown;
            marks = browser.eval(TOLD)?.as_str().unwrap_or_default().to_owned();
        }
        saved = saved.min(number(&mut browser, "window.saved - window.from")?);
        longest = longest.min(number(&mut browser, "Math.max(0, ...window.tasks.map(t => t[1]))")?);
    }
    let size = std::fs::metadata(file).map_or(0.0, |m| m.len() as f64 / 1e6);
    println!(
        "{name:22} {size:9.1} {shown:12.0} {saved:12.0} {longest:18.0} {grown:12.0}\n  processor time of the whole browser until figures stand there: {used:.0} ms\n  ms since given: first, last, count, what (of the quickest run)\n{marks}"
    );
    Ok(())
}

fn number(browser: &mut Browser, expression: &str) -> Outcome<f64> {
    browser.eval(expression)?.as_f64().ok_or_else(|| format!("{expression} is no number"))
}

/// Resident memory of each of this program's renderer processes now, MB.
fn renderers_mb() -> BTreeMap<String, f64> {
    let resident = |pid: &str| -> Option<f64> {
        let pages: f64 = std::fs::read_to_string(format!("/proc/{pid}/statm")).ok()?.split(' ').nth(1)?.parse().ok()?;
        Some(pages * 4096.0 / 1e6)
    };
    of_browser("--type=renderer", resident).collect()
}

/// How much the renderer that has grown most since `before` has grown, MB: the browser keeps others, for pages of its own.
fn grown_mb(before: &BTreeMap<String, f64>) -> f64 {
    renderers_mb().iter().filter_map(|(pid, now)| Some(now - before.get(pid)?)).fold(0.0, f64::max)
}

/// Processor time that all processes of this program's browser have used so far, ms: on a busy machine it says more than a
/// clock on the wall.
fn processor_ms() -> f64 {
    let ticks = |pid: &str| -> Option<f64> {
        let stat = std::fs::read_to_string(format!("/proc/{pid}/stat")).ok()?;
        // User and system time follow the name, which may hold anything, in brackets.
        let times = stat.rsplit_once(") ")?.1.split(' ').skip(11).take(2).filter_map(|t| t.parse::<f64>().ok());
        Some(times.sum())
    };
    of_browser("chrom", ticks).map(|(_, ticks)| ticks).sum::<f64>() * 10.0
}

/// A value of each process of this program's browser whose command holds `word`.
fn of_browser(word: &str, value: impl Fn(&str) -> Option<f64>) -> impl Iterator<Item = (String, f64)> {
    std::fs::read_dir("/proc").into_iter().flatten().flatten().filter_map(move |entry| {
        let pid = entry.file_name().to_string_lossy().into_owned();
        let command = std::fs::read_to_string(format!("/proc/{pid}/cmdline")).ok()?;
        let found = (command.contains(word) && is_ours(&pid)).then(|| value(&pid)).flatten()?;
        Some((pid, found))
    })
}

/// Whether a process descends from this one: other browsers may be running.
fn is_ours(pid: &str) -> bool {
    let parent = |pid: &str| {
        let status = std::fs::read_to_string(format!("/proc/{pid}/status")).ok()?;
        status.lines().find_map(|line| line.strip_prefix("PPid:")).map(|parent| parent.trim().to_owned())
    };
    let own = std::process::id().to_string();
    std::iter::successors(Some(pid.to_owned()), |pid| parent(pid)).take(12).any(|pid| pid == own)
}
