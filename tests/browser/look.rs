//! Pictures of the page for a person to look at: `TARSAL_SHOTS=folder cargo test --test browser look`.

use crate::{Test, context::Context, driver::Outcome};
use std::{fs, path::PathBuf};

const IDLE: &str = "document.documentElement.dataset.ready === 'true' && document.documentElement.dataset.idle === 'true'";

pub fn tests() -> Vec<Test> {
    if std::env::var_os("TARSAL_SHOTS").is_some() { vec![("look", look)] } else { vec![] }
}

fn look(context: &Context) -> Outcome<()> {
    let folder = PathBuf::from(std::env::var_os("TARSAL_SHOTS").unwrap_or_default());
    let mut browser = context.browser("look")?;
    browser.viewport(1280, 800)?;
    browser.navigate(&context.base_url)?;
    browser.wait_for(IDLE)?;
    browser.screenshot(&folder.join("empty.png"), true)?;
    browser.click("[data-do=demo]")?;
    browser.wait_for("document.querySelectorAll('#saved tbody tr').length > 0")?;
    browser.wait_for(IDLE)?;
    browser.screenshot(&folder.join("saved.png"), true)?;
    browser.click("#saved tbody a")?;
    browser.wait_for("document.querySelector('#trace path.total') !== null")?;
    browser.wait_for(IDLE)?;
    for (width, scheme) in [(1280, "light"), (1280, "dark"), (360, "light")] {
        browser.viewport(width, 900)?;
        browser.media("screen", scheme)?;
        browser.wait_for(&format!("innerWidth === {width}"))?;
        browser.wait_for(IDLE)?;
        browser.screenshot(&folder.join(format!("trial-{width}-{scheme}.png")), true)?;
    }
    browser.click(".wordmark")?;
    browser.wait_for(IDLE)?;
    browser.screenshot(&folder.join("saved-360.png"), true)?;
    browser.eval("history.back()")?;
    browser.viewport(1280, 900)?;
    browser.wait_for("document.querySelector('#trace path.total') !== null")?;
    browser.wait_for(IDLE)?;
    browser.viewport(700, 1000)?;
    browser.media("print", "light")?;
    browser.screenshot(&folder.join("print.png"), true)?;
    browser.viewport(1280, 900)?;
    browser.media("", "light")?;
    let pdf = browser.print()?;
    fs::write(folder.join("trial.pdf"), pdf).map_err(|error| error.to_string())?;
    browser.click("[data-id=velocity]")?;
    browser.click("[data-id=displacement]")?;
    browser.click("[data-id=power]")?;
    browser.eval("document.querySelector('#why-jump_height').open = true")?;
    browser.click("#why-jump_height [data-do=highlight]")?;
    browser.wait_for(IDLE)?;
    browser.screenshot(&folder.join("trial-strips.png"), true)?;
    browser.eval("history.back()")?;
    browser.click(".wordmark")?;
    browser.wait_for(IDLE)?;
    browser
        .eval("[...document.querySelectorAll('#saved tr')].find((r) => r.textContent.includes('doubtful')).querySelector('a').click()")?;
    browser.wait_for("document.querySelector('#trace path.total') !== null")?;
    browser.wait_for(IDLE)?;
    browser.screenshot(&folder.join("trial-doubtful.png"), true)
}
