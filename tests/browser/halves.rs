//! The module comes in two halves: the first reads and shows a recording by itself, the second joins it whenever it comes.

use crate::{
    Test,
    context::{Context, IDLE, OFFLINE, PANIC_SHOWN, READY, ensure},
    driver::Outcome,
};
use tarsal::site::{LATER, serve};

const WHOLE: &str = "document.documentElement.hasAttribute('data-whole')";
const NOT_OFFLINE: &str = "document.documentElement.dataset.offline === 'unavailable'";
const FIGURES: &str = "document.querySelectorAll('#figures tbody tr').length >= 15";
const SQUAD_SHOWN: &str = "document.querySelector('main h1, main h2').textContent.includes('Athletes')";
const TO_SQUAD: &str = "nav.ways a[href='#squad']";

pub fn tests() -> Vec<Test> {
    vec![
        ("a_first_visit_needs_the_first_half_only", a_first_visit_needs_the_first_half_only),
        ("the_second_half_joins_by_itself", the_second_half_joins_by_itself),
        ("halves_of_two_builds_refuse_each_other", halves_of_two_builds_refuse_each_other),
    ]
}

/// While the second half is not to be had, nothing that asks for it could go on.
fn a_first_visit_needs_the_first_half_only(context: &Context) -> Outcome<()> {
    let mut without = context.site.clone();
    without.files.remove(LATER);
    let server = serve(without, 0, "/").map_err(|error| error.to_string())?;
    let mut browser = context.browser("a_first_visit_needs_the_first_half_only")?;
    browser.navigate(&server.url())?;
    browser.wait_for(READY)?;
    // Held over the page for some rehearsals: they do without it, too.
    browser.eval(
        "document.querySelector('#app').dispatchEvent(new DragEvent('dragenter', { bubbles: true, cancelable: true }));
         new Promise((resolve) => setTimeout(resolve, 700))",
    )?;
    for name in ["invented-comma-two-plates.csv", "invented-one-plate-rate-stated.txt", "invented-three-jumps.csv"] {
        browser.drop_files("#app", &[&context.root.join("examples/recordings").join(name)])?;
        browser.wait_for(FIGURES)?;
        browser.wait_for(IDLE)?;
        ensure(browser.eval(PANIC_SHOWN)? == false, || format!("{name} needed the second half"))?;
        browser.click(".wordmark")?;
        browser.wait_for("document.querySelectorAll('#saved tbody tr').length > 0")?;
    }
    ensure(browser.eval(WHOLE)? == false, || "the second half came from nowhere".into())?;
    // Now it is there, and is fetched the moment it is needed.
    server.replace(context.site.clone());
    browser.click(TO_SQUAD)?;
    browser.wait_for(SQUAD_SHOWN)?;
    ensure(browser.eval(WHOLE)? == true, || "the squad shows without the second half".into())?;
    ensure(browser.eval(PANIC_SHOWN)? == false, || "the page stopped".into())
}

fn the_second_half_joins_by_itself(context: &Context) -> Outcome<()> {
    let server = context.server("/some/club/")?;
    let mut browser = context.browser("the_second_half_joins_by_itself")?;
    browser.navigate(&server.url())?;
    browser.wait_for(READY)?;
    browser.wait_for(WHOLE)?;
    browser.wait_for(OFFLINE)?;
    drop(server);
    browser.reload()?;
    browser.wait_for(READY)?;
    ensure(browser.eval(WHOLE)? == true, || "kept on this device, both halves must be there from the start".into())?;
    browser.click(TO_SQUAD)?;
    browser.wait_for(SQUAD_SHOWN)?;
    ensure(browser.eval(PANIC_SHOWN)? == false, || "the page stopped".into())
}

fn halves_of_two_builds_refuse_each_other(context: &Context) -> Outcome<()> {
    let mut mixed = context.site.clone();
    let later = mixed.files.get_mut(LATER).ok_or("no second half")?;
    // Both halves call the table by a name made from their build: here a letter of it is another.
    let name = b"\x05first\x10";
    let at = later.windows(name.len()).position(|part| part == name).ok_or("the name of the shared table was not found")? + name.len();
    later[at] = if later[at] == b'0' { b'1' } else { b'0' };
    let server = serve(mixed, 0, "/").map_err(|error| error.to_string())?;
    let mut browser = context.browser("halves_of_two_builds_refuse_each_other")?;
    browser.navigate(&server.url())?;
    browser.wait_for(READY)?;
    // Nor does the service worker keep such a build.
    browser.wait_for(NOT_OFFLINE)?;
    ensure(browser.eval(WHOLE)? == false, || "a half of another build joined".into())?;
    browser.click(TO_SQUAD)?;
    browser.wait_for(PANIC_SHOWN)
}
