//! What a coach has in hand at the start of a test: invented recordings as files, and a page that has read one.

use crate::{
    context::{Context, IDLE, TRIAL_SHOWN},
    driver::{Browser, Outcome},
    squad::{contains, start},
};
use std::{
    fs,
    path::{Path, PathBuf},
};
use tarsal::invented::{DemoFile, demo_files};

/// A recording of the demo squad.
pub fn demo(index: usize) -> Outcome<DemoFile> {
    demo_files().into_iter().nth(index).ok_or_else(|| format!("the demo squad has no recording {index}"))
}

/// An invented recording as a file that does not say so: the page must not know it from the demo.
pub fn recording(context: &Context, name: &str) -> Outcome<PathBuf> {
    write(context, name, "jump.csv", &demo(0)?.text)
}

/// A file in the test's own folder.
pub fn write(context: &Context, name: &str, file: &str, text: &str) -> Outcome<PathBuf> {
    let path = context.folder(name)?.join(file);
    fs::write(&path, text).map_err(|error| error.to_string())?;
    Ok(path)
}

/// Reads one recording in and waits until it is drawn and saved.
pub fn with_trial(context: &Context, name: &str) -> Outcome<Browser> {
    let mut browser = start(context, name)?;
    browser.choose_files("#file-input", &[&recording(context, name)?])?;
    browser.wait_for(TRIAL_SHOWN)?;
    browser.wait_for(IDLE)?;
    Ok(browser)
}

/// What the page says of the trial it shows.
pub const HEADLINE: &str = "document.querySelector('h1').textContent";

/// Two invented jumps, of two athletes.
pub fn two_recordings(context: &Context, name: &str) -> Outcome<[PathBuf; 2]> {
    let files = format!("{name}-files");
    Ok([write(context, &files, "first.csv", &demo(0)?.text)?, write(context, &files, "second.csv", &demo(5)?.text)?])
}

/// Drops a file, waits for its figures and for the store, and returns what the page says of it.
pub fn read_and_save(browser: &mut Browser, file: &Path) -> Outcome<String> {
    let file_name = file.file_name().unwrap_or_default().to_string_lossy().into_owned();
    browser.wait_for(IDLE)?;
    browser.drop_files("h1", &[file])?;
    browser.wait_for(&format!("document.title.includes('{file_name}') && {TRIAL_SHOWN}"))?;
    browser.wait_for(IDLE)?;
    browser.wait_for("document.querySelectorAll('#figures tbody tr').length >= 15")?;
    contains(&browser.text("document.querySelector('#save-state').textContent")?, "Saved on this device")?;
    browser.text(HEADLINE)
}

/// The list of recordings holds so many trials, and the first opens with its force and figures.
pub fn saved(browser: &mut Browser, count: usize) -> Outcome<()> {
    browser.wait_for(IDLE)?;
    browser.click(".wordmark")?;
    browser.wait_for(&format!("document.querySelectorAll('#saved tbody tr').length === {count}"))?;
    browser.click("#saved tbody a")?;
    browser.wait_for(TRIAL_SHOWN)?;
    browser.wait_for("document.querySelectorAll('#figures tbody tr').length >= 15")
}
