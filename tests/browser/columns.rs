//! Journey 2: a file whose columns nobody named is looked at, confirmed once, and known the next time. Pictures are taken
//! with `TARSAL_SHOTS=folder`.

use crate::{
    Test,
    context::{Context, IDLE, TRIAL_SHOWN, ensure, same},
    driver::{Browser, Outcome},
};
use std::{fs, path::PathBuf};
use tarsal::invented::Jump;

pub fn tests() -> Vec<Test> {
    vec![("columns_of_eight_unnamed_cells_are_confirmed_and_remembered", eight_cells)]
}

/// Eight load cells without a header: the right plate's first, so that the guess of the sides is wrong and must be put right.
fn file(jump: &Jump) -> Outcome<String> {
    let truth = jump.truth().ok_or("the jump has no motion")?;
    let [left, right] = jump.record(&truth);
    let mut text = String::new();
    for (i, (l, r)) in left.iter().zip(&right).enumerate() {
        let cells: Vec<String> = [r, l].iter().flat_map(|f| [0.31, 0.27, 0.22, 0.20].map(|part| format!("{:.2}", *f * part))).collect();
        text.push_str(&format!("{:.4}\t{}\n", i as f64 / 1000.0, cells.join("\t")));
    }
    Ok(text)
}

fn shot(browser: &mut Browser, name: &str) -> Outcome<()> {
    match std::env::var_os("TARSAL_SHOTS") {
        Some(folder) => browser.screenshot(&PathBuf::from(folder).join(name), true),
        None => Ok(()),
    }
}

fn choose(browser: &mut Browser, name: &str, value: &str) -> Outcome<()> {
    let script = format!(
        "(() => {{ const s = document.querySelector('select[name=\"{name}\"]'); s.value = '{value}'; \
         s.dispatchEvent(new Event('input', {{ bubbles: true }})); }})()"
    );
    browser.eval(&script).map(|_| ())
}

fn eight_cells(context: &Context) -> Outcome<()> {
    let name = "columns_of_eight_unnamed_cells_are_confirmed_and_remembered";
    let folder = context.folder(name)?;
    let write = |file: &str, text: &str| -> Outcome<PathBuf> {
        let path = folder.join(file);
        fs::write(&path, text).map_err(|error| error.to_string())?;
        Ok(path)
    };
    let jump = Jump { share_right: [0.56; 5], noise_n: 0.6, ..Jump::default() };
    let first = write("eight-cells.txt", &file(&jump)?)?;
    let mut browser = context.browser(name)?;
    browser.viewport(1280, 900)?;
    browser.navigate(&context.base_url)?;
    browser.wait_for(IDLE)?;
    browser.choose_files("#file-input", &[&first])?;
    // It is read as a person would guess, and asks.
    browser.wait_for("document.querySelector('[data-asks]')?.textContent.includes('Which plate is left?') === true")?;
    browser.wait_for(IDLE)?;
    browser.click("[data-do=columns]")?;
    browser.wait_for("document.querySelectorAll('.column-table tbody tr').length === 9")?;
    browser.wait_for("document.querySelectorAll('#columns-trace path.line').length === 2")?;
    let roles = "[...document.querySelectorAll('.column-table select[name^=role]')].map((s) => s.value).join(' ')";
    same("the guess", &browser.text(roles)?, &"time left left left left right right right right".to_owned())?;
    browser.eval("document.querySelector('#why-column-1').open = true")?;
    let why = browser.text("document.querySelector('#why-column-1').textContent")?;
    ensure(why.contains("load cells"), || format!("the why says nothing of load cells: {why}"))?;
    shot(&mut browser, "columns-1280.png")?;
    browser.viewport(360, 800)?;
    browser.wait_for("innerWidth === 360")?;
    browser.wait_for(IDLE)?;
    let sideways = browser.text("String(document.documentElement.scrollWidth <= 360)")?;
    same("no sideways scroll at 360 px", &sideways, &"true".to_owned())?;
    shot(&mut browser, "columns-360.png")?;
    browser.viewport(1280, 900)?;
    // Leaving a cell out shows at once in the trace.
    let before = browser.text("document.querySelector('#columns-trace figcaption').textContent")?;
    choose(&mut browser, "role-8", "-")?;
    browser.wait_for(&format!("document.querySelector('#columns-trace figcaption').textContent !== {before:?}"))?;
    choose(&mut browser, "role-8", "right")?;
    browser.wait_for(&format!("document.querySelector('#columns-trace figcaption').textContent === {before:?}"))?;
    browser.click("[data-do=columns-swap]")?;
    browser.wait_for(&format!("({roles}) === 'time right right right right left left left left'"))?;
    browser.click("[data-do=columns-confirm]")?;
    browser.wait_for(TRIAL_SHOWN)?;
    browser.wait_for(IDLE)?;
    let sides = browser.text("document.querySelector('#sides p').textContent")?;
    ensure(sides.contains("Right higher"), || format!("the heavier side is the right one: {sides}"))?;
    // Another file of the same export is read so without a word.
    let second = write("eight-cells-again.txt", &file(&Jump { height_m: 0.27, seed: 3, ..jump })?)?;
    browser.choose_files("#file-input", &[&second])?;
    browser.wait_for("document.querySelector('#trace path.total') !== null && document.querySelector('.about').textContent.includes('eight-cells-again')")?;
    browser.wait_for(IDLE)?;
    let sides = browser.text("document.querySelector('#sides p').textContent")?;
    ensure(sides.contains("Right higher"), || format!("remembered: {sides}"))?;
    // What is remembered is listed, survives a reload, and can be forgotten.
    browser.navigate(&format!("{}#storage", context.base_url))?;
    browser.reload()?;
    browser.wait_for(IDLE)?;
    browser.wait_for("document.querySelector('#layouts')?.textContent.includes('9 columns without a header') === true")?;
    shot(&mut browser, "columns-remembered.png")?;
    browser.click("[data-do=layout-forget]")?;
    browser.wait_for("document.querySelector('#layouts').textContent.includes('None yet')")
}
