//! Marks on the trace under the keyboard and the pointer: the reading cursor, and a doubt that leads to its sentence.

use crate::{
    Test,
    context::{Context, IDLE, ensure, same},
    driver::{Browser, Outcome},
};
use std::path::Path;

pub fn tests() -> Vec<Test> {
    vec![("the_trace_is_read_by_keys", the_trace_is_read_by_keys), ("a_doubt_leads_to_its_sentence", a_doubt_leads_to_its_sentence)]
}

/// Opens a sample recording with a doubt that has a place: it begins right before the jump.
fn doubtful(context: &Context, name: &str) -> Outcome<Browser> {
    let mut browser = context.browser(name)?;
    browser.navigate(&context.base_url)?;
    browser.wait_for(IDLE)?;
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/recordings/invented-fault-short-standing.csv");
    browser.choose_files("#file-input", &[&file])?;
    browser.wait_for("document.querySelector('#trace path.total')?.getAttribute('d').length > 100")?;
    browser.wait_for(IDLE)?;
    Ok(browser)
}

fn number(browser: &mut Browser, expression: &str) -> Outcome<f64> {
    browser.text(&format!("String({expression})"))?.parse().map_err(|error| format!("{expression}: {error}"))
}

fn the_trace_is_read_by_keys(context: &Context) -> Outcome<()> {
    let mut browser = doubtful(context, "the_trace_is_read_by_keys")?;
    const AT: &str = "document.querySelector('#cursor').getAttribute('aria-valuenow')";
    const SAYS: &str = "document.querySelector('#cursor').getAttribute('aria-valuetext')";
    browser.eval("document.querySelector('#cursor').focus()")?;
    // Whether focus alone places it hangs on the window having the focus too; the first key places it in any case.
    browser.press("ArrowRight")?;
    let start = number(&mut browser, AT)?;
    let (from, to) = (
        number(&mut browser, "document.querySelector('#trace').dataset.from")?,
        number(&mut browser, "document.querySelector('#trace').dataset.to")?,
    );
    ensure((start - (from + to) / 2.0).abs() < 0.01, || format!("the cursor begins at {start}, not between {from} and {to}"))?;
    browser.press("ArrowRight")?;
    browser.press("ArrowRight")?;
    // The sample file has 500 samples a second.
    let moved = number(&mut browser, AT)?;
    ensure((moved - start - 0.004).abs() < 2e-4, || format!("two presses moved it by {}", moved - start))?;
    let says = browser.text(SAYS)?;
    ensure(says.contains("total") && says.contains(" N"), || format!("it says {says:?}"))?;
    same("the line below the trace", &browser.text("document.querySelector('#readout').textContent")?, &says)?;
    // After a zoom it stands at the same time, elsewhere on the screen, and keeps the focus.
    const X: &str = "document.querySelector('#cursor-line').getAttribute('x1')";
    browser.press("ArrowLeft")?;
    for _ in 0..40 {
        browser.press("ArrowLeft")?;
    }
    let (time, x) = (number(&mut browser, AT)?, number(&mut browser, X)?);
    browser.press("+")?;
    browser.wait_for(IDLE)?;
    same("its time after a zoom", &number(&mut browser, AT)?, &time)?;
    browser.wait_for(&format!("{X} !== '{x:.1}' && {X} !== '{x}'"))?;
    same("what has the focus", &browser.text("document.activeElement.id")?, &"cursor".to_owned())
}

fn a_doubt_leads_to_its_sentence(context: &Context) -> Outcome<()> {
    let mut browser = doubtful(context, "a_doubt_leads_to_its_sentence")?;
    browser.wait_for("document.querySelector('#trace .doubt') !== null")?;
    let mark = browser.text("document.querySelector('#trace .doubt').dataset.doubt")?;
    let focused = format!("document.activeElement.id === 'note-{mark}'");
    browser.eval("document.querySelector('#trace .doubt').focus()")?;
    browser.press("Enter")?;
    browser.wait_for(&focused)?;
    browser.eval("document.activeElement.blur()")?;
    browser.eval("document.querySelector('h1').scrollIntoView()")?;
    browser.click(&format!("h1 [data-doubt='{mark}'], #trust [data-doubt='{mark}']"))?;
    browser.wait_for(&focused)?;
    // A mark in a figure's row leads there too, and does not open the definition.
    browser.click(&format!("#figure-jump_height [data-doubt='{mark}']"))?;
    browser.wait_for(&focused)?;
    same("an opened definition", &browser.text("String(document.querySelector('#why-jump_height').open)")?, &"false".to_owned())
}
