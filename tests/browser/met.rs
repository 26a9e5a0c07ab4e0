//! Writes down what no first visit runs, for `src/site/rooms.rs`. It checks nothing, so it is there only where `TARSAL_MEET`
//! asks for it; `halves.rs` holds what it writes to a real first visit.

use crate::{
    Test,
    context::Context,
    driver::{Browser, Outcome},
};
use std::{
    collections::BTreeSet,
    env, fs,
    path::{Path, PathBuf},
};
use tarsal::{
    answer::TestKind,
    invented::demo_files,
    site::{BuildOptions, counted, serve},
};

const READY: &str = "document.documentElement.dataset.ready === 'true'";
const IDLE: &str = "document.documentElement.dataset.idle === 'true'";
const FIGURES: &str = "document.querySelectorAll('#figures tbody tr').length >= 15";
/// What any hand does to a page it is looking at.
const TOUCHED: &str = "(() => {
    const at = { bubbles: true, cancelable: true, clientX: 300, clientY: 300 };
    const on = [document.body, document.querySelector('#trace'), document.querySelector('main')].filter(Boolean);
    for (const element of on) {
        for (const kind of ['pointermove', 'pointerover', 'pointerdown', 'pointerup', 'pointercancel']) element.dispatchEvent(new PointerEvent(kind, at));
        for (const kind of ['mousemove', 'click']) element.dispatchEvent(new MouseEvent(kind, at));
        for (const key of ['Tab', 'Shift', 'a', 'Escape']) element.dispatchEvent(new KeyboardEvent('keydown', { ...at, key }));
        for (const kind of ['dragenter', 'dragover', 'dragleave']) element.dispatchEvent(new DragEvent(kind, at));
        for (const kind of ['input', 'change', 'paste', 'focusin', 'focusout']) element.dispatchEvent(new Event(kind, at));
        element.dispatchEvent(new WheelEvent('wheel', { ...at, deltaY: 10 }));
    }
    dispatchEvent(new Event('resize'));
    dispatchEvent(new PopStateEvent('popstate'));
})()";

pub fn tests() -> Vec<Test> {
    if env::var_os("TARSAL_MEET").is_some() { vec![("what_first_visits_meet", what_first_visits_meet)] } else { Vec::new() }
}

fn what_first_visits_meet(context: &Context) -> Outcome<()> {
    let words = |error: &dyn std::fmt::Display| error.to_string();
    let options = BuildOptions { quiet: true, ..BuildOptions::new(&context.root) };
    let counted = counted(&options).map_err(|error| words(&error))?;
    let server = serve(counted.site.clone(), 0, "/").map_err(|error| words(&error))?;
    let mut met = BTreeSet::new();
    let files = files(context)?;
    // Each file first, then one after another in one visit: lists that are not empty are another matter.
    for (number, visited) in files.chunks(1).chain([files.as_slice()]).enumerate() {
        let mut browser = context.browser(&format!("what_first_visits_meet-{number}"))?;
        browser.navigate(&server.url())?;
        browser.wait_for(READY)?;
        let before = met.len();
        for (place, file) in visited.iter().enumerate() {
            visit(&mut browser, file, (number + place) % 2 == 0)?;
        }
        // Marks are looked at now and then.
        browser.eval("new Promise((resolve) => setTimeout(resolve, 500))")?;
        met.extend(browser.text("[...tarsalMet].join(' ')")?.split(' ').filter_map(|mark| mark.parse::<usize>().ok()));
        println!("{} files: {} marks of {} are new", visited.len(), met.len() - before, met.len());
    }
    for (idle, all, name) in counted.waste(&met).into_iter().take(60) {
        println!("{idle:>6} of {all:>6} instructions not met: {name}");
    }
    let list = counted.unmet(&met).map_err(|error| words(&error))?;
    fs::write(context.root.join("src/site/unmet.txt"), list).map_err(|error| words(&error))
}

const HELD: &str = "document.querySelector('#app').dispatchEvent(new DragEvent('dragenter', { bubbles: true, cancelable: true }));
    new Promise((resolve) => setTimeout(resolve, 1500))";

/// A file, looked at, and the list it stands in.
fn visit(browser: &mut Browser, file: &Path, dropped: bool) -> Outcome<()> {
    browser.eval(TOUCHED)?;
    if dropped {
        // Held over the page for as long as some rehearsals take.
        browser.eval(HELD)?;
        browser.drop_files("#app", &[file])?;
    } else {
        browser.choose_files("#file-input", &[file])?;
    }
    browser.wait_for(FIGURES)?;
    browser.wait_for(IDLE)?;
    browser.eval(TOUCHED)?;
    browser.click(".wordmark")?;
    browser.wait_for("document.querySelectorAll('#saved tbody tr').length > 0")?;
    browser.wait_for(IDLE)
}

/// First files: the samples, and a few jumps of invented athletes.
fn files(context: &Context) -> Outcome<Vec<PathBuf>> {
    let words = |error: &dyn std::fmt::Display| error.to_string();
    let samples = fs::read_dir(context.root.join("examples/recordings")).map_err(|error| words(&error))?;
    let is_text = |path: &PathBuf| path.extension().is_some_and(|end| end == "csv" || end == "txt");
    let mut files: Vec<PathBuf> = samples.filter_map(|entry| Some(entry.ok()?.path())).filter(is_text).collect();
    files.sort();
    let folder = context.folder("what_first_visits_meet")?;
    for demo in demo_files().into_iter().filter(|demo| demo.test == TestKind::CountermovementJump).step_by(3).take(5) {
        let path = folder.join(demo.name);
        fs::write(&path, demo.text).map_err(|error| words(&error))?;
        files.push(path);
    }
    Ok(files)
}
