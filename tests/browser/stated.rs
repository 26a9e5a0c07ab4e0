//! What a person states of a trial, on the built page: read with at once, kept over a reload, taken back, and offered to the
//! next trial of a later visit.

use crate::{
    Test,
    context::{Context, IDLE, TRIAL_SHOWN, ensure},
    driver::{Browser, Outcome},
};
use std::fs;
use tarsal::invented::demo_files;

pub fn tests() -> Vec<Test> {
    vec![("stated_of_a_trial_and_read_with", stated_of_a_trial_and_read_with)]
}

const ABOUT: &str = "document.querySelector('p.about').textContent";

fn says(browser: &mut Browser, expression: &str, part: &str) -> Outcome<()> {
    let text = browser.text(expression)?;
    ensure(text.contains(part), || format!("`{part}` is not in `{text}`"))
}

fn stated_of_a_trial_and_read_with(context: &Context) -> Outcome<()> {
    let name = "stated_of_a_trial_and_read_with";
    let files = demo_files();
    let write = |k: usize| {
        let path = context.folder(name)?.join(format!("jump-{k}.csv"));
        let text = files.get(k).map(|f| f.text.clone()).ok_or("the demo squad is too small")?;
        fs::write(&path, text).map(|()| path).map_err(|error| error.to_string())
    };
    let mut browser = context.browser(name)?;
    browser.navigate(&context.base_url)?;
    browser.wait_for(IDLE)?;
    browser.choose_files("#file-input", &[&write(0)?])?;
    browser.wait_for(TRIAL_SHOWN)?;
    browser.wait_for(IDLE)?;
    let light = browser.text(ABOUT)?;
    ensure(light.contains("body mass"), || light.clone())?;
    let send = "(() => { const form = document.querySelector('#protocol form'); form.closest('details').open = true; \
                form.load_kg.value = '10'; form.cue.value = 'As high as you can'; form.requestSubmit(); return true; })()";
    browser.wait_for("document.querySelector('#protocol form') !== null")?;
    browser.eval(send)?;
    browser.wait_for(&format!("{ABOUT}.includes('body and load')"))?;
    browser.wait_for(IDLE)?;
    // It is what was saved.
    browser.reload()?;
    browser.wait_for(&format!("document.querySelector('p.about') !== null && {ABOUT}.includes('body and load')"))?;
    browser.wait_for(IDLE)?;
    // A later visit offers the protocol to the next trial of the test, but not the load.
    browser.click("a.wordmark")?;
    browser.wait_for(IDLE)?;
    browser.choose_files("#file-input", &[&write(1)?])?;
    browser.wait_for(TRIAL_SHOWN)?;
    browser.wait_for("document.querySelector('#protocol form') !== null")?;
    says(&mut browser, "document.querySelector('#protocol').textContent", "As for the last countermovement jump")?;
    says(&mut browser, "document.querySelector('#protocol form').cue.value", "As high as you can")?;
    let load = browser.text("document.querySelector('#protocol form').load_kg.value")?;
    ensure(load.is_empty(), || format!("the load {load} is another trial's"))?;
    // The test said to be another, and taken back.
    browser.eval("(() => { const form = document.querySelector('#protocol form'); form.test.value = 'squat_jump'; form.requestSubmit(); return true; })()")?;
    browser.wait_for("document.querySelector('h1').textContent.includes('Squat jump')")?;
    says(&mut browser, "document.querySelector('#notices').textContent", "because you said so; it looks like a countermovement jump")?;
    browser.click("[data-do='undo']")?;
    browser.wait_for("document.querySelector('h1').textContent.includes('Countermovement jump')")?;
    browser.wait_for(IDLE)
}
