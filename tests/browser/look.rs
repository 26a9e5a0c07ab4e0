//! Pictures of the page for a person to look at: `TARSAL_SHOTS=folder cargo test --test browser look`.

use crate::{
    Test,
    context::{Context, IDLE},
    driver::{Browser, Outcome},
    squad::{fill, go, settled, start},
};
use std::{
    fs,
    path::{Path, PathBuf},
};
use tarsal::invented::demo_files;

pub fn tests() -> Vec<Test> {
    if std::env::var_os("TARSAL_SHOTS").is_some() { vec![("look", look), ("squad_look_at_a_test_day", look_at_a_test_day)] } else { vec![] }
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

/// Twenty athletes, some of whose three jumps are still missing, one of whose files is no recording.
fn partly_filled(folder: &Path) -> Outcome<Vec<PathBuf>> {
    const NAMES: [&str; 20] = [
        "Ada", "Ben", "Cleo", "Dan", "Eve", "Finn", "Gus", "Hana", "Ivo", "Jo", "Kim", "Lea", "Max", "Nora", "Oskar", "Pia", "Quinn",
        "Rosa", "Sam", "Tia",
    ];
    let jumps: Vec<String> = demo_files().into_iter().filter(|f| f.name.contains("countermovement")).map(|f| f.text).collect();
    let mut files = Vec::new();
    for (i, name) in NAMES.iter().enumerate() {
        for trial in 0..3_usize {
            if (i + 2 * trial) % 5 == 4 {
                continue;
            }
            let text = match (i, trial) {
                (8, 1) => "the plate was off\n".to_owned(),
                _ => jumps[(i + 20 * trial) % jumps.len()].replacen('\n', &format!("{}\n", " ".repeat(3 * i + trial + 1)), 1),
            };
            let path = folder.join(format!("{name}_CMJ_{}.csv", trial + 1));
            fs::write(&path, text).map_err(|error| error.to_string())?;
            files.push(path);
        }
    }
    Ok(files)
}

/// A whole test day: the sheet while it fills, an athlete, plates and cards, storage; wide, narrow, dark and printed.
fn look_at_a_test_day(context: &Context) -> Outcome<()> {
    let folder = PathBuf::from(std::env::var_os("TARSAL_SHOTS").unwrap_or_default());
    let files = partly_filled(&context.folder("look_at_a_test_day")?)?;
    let paths: Vec<&Path> = files.iter().map(PathBuf::as_path).collect();
    let elsewhere = context.folder("look_elsewhere")?.join("Zoe_CMJ_1.csv");
    fs::write(&elsewhere, demo_files()[0].text.replacen('\n', "        \n", 1)).map_err(|error| error.to_string())?;
    let mut browser = start(context, "look_at_a_test_day")?;
    browser.viewport(1280, 900)?;
    go(&mut browser, "sessions")?;
    fill(&mut browser, "input[name=place]", "Sports hall")?;
    browser.press("Enter")?;
    browser.wait_for("document.querySelector('#day-names') !== null")?;
    browser.screenshot(&folder.join("day-empty.png"), true)?;
    browser.choose_files("#file-input", &paths)?;
    browser.wait_for("document.querySelectorAll('#files .trial-links').length > 5")?;
    browser.screenshot(&folder.join("day-reading.png"), true)?;
    browser.wait_for(&format!("document.querySelectorAll('#names .preview tbody tr').length === {}", files.len() - 1))?;
    settled(&mut browser)?;
    browser.screenshot(&folder.join("day-names.png"), true)?;
    browser.click("#names form[data-do=file-names] [type=submit]")?;
    browser.wait_for("document.querySelectorAll('#sheet tbody tr').length === 20")?;
    settled(&mut browser)?;
    browser.click("#sheet tr:has(.missing) .questions summary")?;
    fill(&mut browser, "#sheet tr:has(.missing) .questions input[name=pain]", "4")?;
    browser.click("#sheet tr:has(.missing) .questions button")?;
    browser.wait_for("document.querySelector('#sheet').textContent.includes('Closed today')")?;
    settled(&mut browser)?;
    let all_sizes = |browser: &mut Browser, name: &str| -> Outcome<()> {
        for (width, medium, scheme) in
            [(1280, "screen", "light"), (1280, "screen", "dark"), (360, "screen", "light"), (700, "print", "light")]
        {
            browser.viewport(width, 900)?;
            browser.media(medium, scheme)?;
            settled(browser)?;
            browser
                .screenshot(&folder.join(format!("{name}-{width}-{scheme}{}.png", if medium == "print" { "-print" } else { "" })), true)?;
        }
        browser.viewport(1280, 900)?;
        browser.media("", "light")?;
        settled(browser)
    };
    all_sizes(&mut browser, "day")?;
    browser.click("#choose-tests summary")?;
    browser.click("#about-day summary")?;
    browser.screenshot(&folder.join("day-plan.png"), true)?;
    browser.click("#sheet tbody th a")?;
    browser.wait_for("document.querySelector('#athlete-sessions') !== null")?;
    // Two files of others are dropped on her screen.
    browser.choose_files("#file-input", &[&files[5], &elsewhere])?;
    browser.wait_for("document.querySelector('#whose') !== null")?;
    settled(&mut browser)?;
    all_sizes(&mut browser, "athlete")?;
    for screen in ["squad", "sessions", "plates", "storage"] {
        go(&mut browser, screen)?;
        if screen == "plates" {
            browser.click("#new-check summary")?;
        }
        all_sizes(&mut browser, screen)?;
    }
    Ok(())
}
