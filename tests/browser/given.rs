//! What a coach has in hand at the start of a test: invented recordings as files, and a page that has read one.

use crate::{
    context::{Context, IDLE, TRIAL_SHOWN},
    driver::{Browser, Outcome},
    squad::start,
};
use std::{fs, path::PathBuf};
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
