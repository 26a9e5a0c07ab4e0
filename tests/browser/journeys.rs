//! What a coach does, from the first click to the saved result, on the built page in a real browser.

use crate::{
    Test,
    context::{Context, IDLE, TRIAL_SHOWN, ensure, same},
    driver::{Browser, Outcome},
    given::{HEADLINE, demo, recording, with_trial, write},
    squad::{contains, start},
};
use std::{fs, path::PathBuf, time::Duration};

pub fn tests() -> Vec<Test> {
    vec![
        ("first_jump_by_the_file_button", first_jump_by_the_file_button),
        ("first_jump_by_dropping", first_jump_by_dropping),
        ("first_jump_opened_by_the_system", first_jump_opened_by_the_system),
        ("a_file_that_is_no_recording_says_what_to_try", a_file_that_is_no_recording_says_what_to_try),
        ("what_a_file_does_not_say_can_be_stated", what_a_file_does_not_say_can_be_stated),
        ("reading_can_be_cancelled", reading_can_be_cancelled),
        ("a_killed_browser_loses_nothing", a_killed_browser_loses_nothing),
        ("a_trial_is_filed_and_removed_and_both_undone", a_trial_is_filed_and_removed_and_both_undone),
        ("an_event_is_moved_by_keys_and_undone", an_event_is_moved_by_keys_and_undone),
        ("an_event_is_dragged", an_event_is_dragged),
        ("why_this_number_opens_and_stays_open", why_this_number_opens_and_stays_open),
        ("the_demo_squad_says_that_it_is_invented", the_demo_squad_says_that_it_is_invented),
        ("a_phone_needs_no_sideways_scroll", a_phone_needs_no_sideways_scroll),
        ("the_document_is_handed_over", the_document_is_handed_over),
        ("the_trace_is_zoomed_and_shifted", the_trace_is_zoomed_and_shifted),
        ("two_tabs_do_not_overwrite_each_other", two_tabs_do_not_overwrite_each_other),
        ("a_dead_worker_is_replaced", a_dead_worker_is_replaced),
        ("other_pages_can_call_the_module", other_pages_can_call_the_module),
        ("the_address_leads_back_to_a_trial", the_address_leads_back_to_a_trial),
    ]
}

fn trial_is_complete(browser: &mut Browser) -> Outcome<()> {
    let headline = browser.text(HEADLINE)?;
    contains(&headline, "Countermovement jump")?;
    contains(&headline, "±")?;
    contains(&browser.text("document.querySelector('#trust').textContent")?, "can be trusted")?;
    contains(&browser.text("document.querySelector('#trace').textContent")?, "propulsion")?;
    contains(&browser.text("document.querySelector('#save-state').textContent")?, "Saved on this device")?;
    browser.wait_for("document.querySelectorAll('#figures tbody tr').length >= 15")?;
    browser.wait_for("document.querySelectorAll('#sides svg rect.noise').length >= 2")?;
    same("styles in attributes", &browser.text("String(document.querySelectorAll('[style]').length)")?, &"0".to_owned())
}

fn first_jump_by_the_file_button(context: &Context) -> Outcome<()> {
    let name = "first_jump_by_the_file_button";
    let mut browser = with_trial(context, name)?;
    trial_is_complete(&mut browser)?;
    let before = browser.text(HEADLINE)?;
    browser.reload()?;
    browser.wait_for(IDLE)?;
    browser.wait_for(TRIAL_SHOWN)?;
    same("headline after reloading", &browser.text(HEADLINE)?, &before)?;
    browser.click(".wordmark")?;
    browser.wait_for("document.querySelectorAll('#saved tbody tr').length === 1")?;
    contains(&browser.text("document.querySelector('#saved').textContent")?, "Not filed yet")?;
    // The same file again is the same trial, not a second one.
    browser.choose_files("#file-input", &[&recording(context, name)?])?;
    browser.wait_for(TRIAL_SHOWN)?;
    browser.click(".wordmark")?;
    browser.wait_for("document.querySelectorAll('#saved tbody tr').length === 1")
}

/// What an operating system does with a file for the installed page: it hands a handle over before the page is ready. The queue is
/// the test's own, for only an installed page has one that is filled; page, file and reading are real.
fn first_jump_opened_by_the_system(context: &Context) -> Outcome<()> {
    let mut browser = context.browser("first_jump_opened_by_the_system")?;
    let text = serde_json::Value::String(demo(0)?.text);
    let source = format!(
        "const queue = {{ setConsumer(consumer) {{
            const file = new File([{text}], 'opened.csv', {{ type: 'text/csv' }});
            consumer({{ files: [{{ getFile: async () => file }}] }});
            consumer({{ files: [] }});
        }} }};
        Object.defineProperty(globalThis, 'launchQueue', {{ value: queue }});"
    );
    browser.call("Page.enable", serde_json::json!({}))?;
    browser.call("Page.addScriptToEvaluateOnNewDocument", serde_json::json!({ "source": source }))?;
    browser.navigate(&context.base_url)?;
    browser.wait_for(TRIAL_SHOWN)?;
    browser.wait_for(IDLE)?;
    trial_is_complete(&mut browser)?;
    let manifest: serde_json::Value = context
        .site
        .files
        .get("manifest.webmanifest")
        .and_then(|bytes| serde_json::from_slice(bytes).ok())
        .ok_or("the manifest is JSON")?;
    let kinds = manifest["file_handlers"][0]["accept"].to_string();
    [".csv", ".txt", ".tsv", ".xlsx", ".ods", ".c3d"].iter().try_for_each(|kind| contains(&kinds, kind))
}

fn first_jump_by_dropping(context: &Context) -> Outcome<()> {
    let name = "first_jump_by_dropping";
    let mut browser = start(context, name)?;
    browser.drop_files("#welcome h1", &[&recording(context, name)?])?;
    browser.wait_for(TRIAL_SHOWN)?;
    browser.wait_for(IDLE)?;
    trial_is_complete(&mut browser)
}

fn a_file_that_is_no_recording_says_what_to_try(context: &Context) -> Outcome<()> {
    let name = "a_file_that_is_no_recording_says_what_to_try";
    let mut browser = start(context, name)?;
    let poem = write(context, name, "poem.csv", "The plate is cold\nthe hall is wide\nand nobody has jumped\n")?;
    let empty = write(context, name, "empty.csv", "")?;
    let good = recording(context, name)?;
    browser.choose_files("#file-input", &[&poem, &empty, &good])?;
    browser.wait_for("document.querySelectorAll('.error').length === 2")?;
    browser.wait_for(IDLE)?;
    for (i, file) in ["poem.csv", "empty.csv"].iter().enumerate() {
        let text = browser.text(&format!("document.querySelectorAll('#files li:has(.error)')[{i}].textContent"))?;
        contains(&text, file)?;
        contains(&text, "Try")?;
    }
    // The good one beside them is saved all the same.
    browser.wait_for("document.querySelectorAll('#saved tbody tr').length === 1")
}

fn what_a_file_does_not_say_can_be_stated(context: &Context) -> Outcome<()> {
    let name = "what_a_file_does_not_say_can_be_stated";
    let mut browser = start(context, name)?;
    let no_time: String = demo(0)?.text.lines().filter_map(|line| line.split_once(',')).map(|(_, forces)| format!("{forces}\n")).collect();
    browser.choose_files("#file-input", &[&write(context, name, "no-time.csv", &no_time)?])?;
    browser.wait_for("document.querySelector('.error[data-code=no_rate]') !== null")?;
    browser.click("input[name=rate]")?;
    browser.type_text("1000")?;
    browser.press("Enter")?;
    browser.wait_for(TRIAL_SHOWN)?;
    contains(&browser.text(HEADLINE)?, "Countermovement jump")
}

/// A long recording: a standing athlete for most of an hour.
fn long_recording(context: &Context, name: &str) -> Outcome<PathBuf> {
    let mut text = String::from("time_s,left_force_N,right_force_N\n");
    for i in 0..3_000_000_u32 {
        text.push_str(&format!("{:.3},{},{}\n", f64::from(i) / 1000.0, 350 + i % 3, 351 + i % 2));
    }
    write(context, name, "long.csv", &text)
}

fn reading_can_be_cancelled(context: &Context) -> Outcome<()> {
    let name = "reading_can_be_cancelled";
    let mut browser = start(context, name)?;
    let long = long_recording(context, name)?;
    browser.choose_files("#file-input", &[&long])?;
    browser.click("[data-do=cancel]")?;
    browser.wait_for("document.querySelector('#message')?.textContent.includes('Stopped')")?;
    browser.wait_for(IDLE)?;
    // The next file is read by a new worker.
    browser.choose_files("#file-input", &[&recording(context, name)?])?;
    browser.wait_for(TRIAL_SHOWN)
}

fn a_killed_browser_loses_nothing(context: &Context) -> Outcome<()> {
    let name = "a_killed_browser_loses_nothing";
    let mut browser = with_trial(context, name)?;
    let before = browser.text(HEADLINE)?;
    browser.kill();
    let mut browser = start(context, name)?;
    browser.wait_for("document.querySelectorAll('#saved tbody tr').length === 1")?;
    browser.click("#saved tbody a")?;
    browser.wait_for(TRIAL_SHOWN)?;
    same("headline after a crash", &browser.text(HEADLINE)?, &before)
}

fn a_trial_is_filed_and_removed_and_both_undone(context: &Context) -> Outcome<()> {
    let mut browser = with_trial(context, "a_trial_is_filed_and_removed_and_both_undone")?;
    browser.click("#athlete")?;
    browser.type_text("Invented Person")?;
    browser.press("Enter")?;
    browser.wait_for("document.querySelector('#filing').textContent.includes('filed under Invented Person')")?;
    browser.wait_for(IDLE)?;
    browser.reload()?;
    browser.wait_for(IDLE)?;
    browser.click(".wordmark")?;
    browser.wait_for("document.querySelector('#saved caption')?.textContent.includes('Invented Person')")?;
    browser.click("[data-do=remove]")?;
    browser.wait_for("!document.querySelector('#saved')")?;
    browser.click("[data-do=undo]")?;
    browser.wait_for("document.querySelector('#saved caption')?.textContent.includes('Invented Person')")?;
    browser.wait_for(IDLE)?;
    browser.reload()?;
    browser.wait_for("document.querySelector('#saved caption')?.textContent.includes('Invented Person')")
}

fn an_event_is_moved_by_keys_and_undone(context: &Context) -> Outcome<()> {
    let mut browser = with_trial(context, "an_event_is_moved_by_keys_and_undone")?;
    let before = browser.text("document.querySelector('#figure-time_to_take_off td').textContent")?;
    browser.eval("document.querySelector('#event-onset').focus()")?;
    for _ in 0..3 {
        browser.press("ArrowLeft")?;
        browser.wait_for(IDLE)?;
    }
    contains(&browser.text("document.querySelector('#trust').textContent")?, "Moved by hand")?;
    contains(&browser.text("document.querySelector('[data-event-row=onset]').textContent")?, "moved by hand")?;
    ensure(browser.text("document.querySelector('#figure-time_to_take_off td').textContent")? != before, || {
        "the figure did not change".into()
    })?;
    same("what has the focus", &browser.text("document.activeElement.id")?, &"event-onset".to_owned())?;
    for _ in 0..3 {
        browser.click("[data-do=undo]")?;
        browser.wait_for(IDLE)?;
    }
    same("after undo", &browser.text("document.querySelector('#figure-time_to_take_off td').textContent")?, &before)?;
    ensure(!browser.text("document.querySelector('#trust').textContent")?.contains("Moved by hand"), || "still marked as moved".into())
}

fn an_event_is_dragged(context: &Context) -> Outcome<()> {
    let mut browser = with_trial(context, "an_event_is_dragged")?;
    let place = browser.eval(
        "(() => { document.querySelector('#trace').scrollIntoView({ block: 'center', behavior: 'instant' }); \
         const r = document.querySelector('#event-onset .grip').getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; })()",
    )?;
    let (x, y) = (place[0].as_f64().unwrap_or_default(), place[1].as_f64().unwrap_or_default());
    for (kind, dx) in [("mouseMoved", 0.0), ("mousePressed", 0.0), ("mouseMoved", -10.0), ("mouseMoved", -20.0), ("mouseReleased", -20.0)] {
        let point = serde_json::json!({ "type": kind, "x": x + dx, "y": y, "button": "left", "buttons": 1, "clickCount": 1 });
        browser.call("Input.dispatchMouseEvent", point)?;
    }
    browser.wait_for(IDLE)?;
    contains(&browser.text("document.querySelector('[data-event-row=onset]').textContent")?, "moved by hand")
}

fn why_this_number_opens_and_stays_open(context: &Context) -> Outcome<()> {
    let mut browser = with_trial(context, "why_this_number_opens_and_stays_open")?;
    browser.click("#why-jump_height summary")?;
    browser.wait_for("document.querySelector('#why-jump_height').open")?;
    let text = browser.text("document.querySelector('#why-jump_height').textContent")?;
    for part in ["Formula", "Source", "Uncertainty", "mostly from", "Read from"] {
        contains(&text, part)?;
    }
    browser.click("#why-jump_height [data-do=highlight]")?;
    browser.wait_for("document.querySelector('#trace .highlight')?.getAttribute('width') > 5")?;
    browser.wait_for("document.querySelector('#why-jump_height').open")
}

fn the_demo_squad_says_that_it_is_invented(context: &Context) -> Outcome<()> {
    let mut browser = start(context, "the_demo_squad_says_that_it_is_invented")?;
    contains(&browser.text("document.querySelector('#welcome').textContent")?, "invented")?;
    browser.click("[data-do=demo]")?;
    browser.wait_for("document.querySelectorAll('#saved tbody tr').length >= 20 && !document.getElementById('job-0')")?;
    browser.wait_for(IDLE)?;
    browser.wait_for("[...document.querySelectorAll('#saved caption')].every((c) => c.textContent.includes('invented'))")?;
    browser.click("#saved tbody a")?;
    browser.wait_for(TRIAL_SHOWN)?;
    contains(&browser.text("document.querySelector('.about').textContent")?, "invented demo data")
}

fn a_phone_needs_no_sideways_scroll(context: &Context) -> Outcome<()> {
    const FITS: &str = "document.documentElement.scrollWidth <= 360";
    let mut browser = context.browser("a_phone_needs_no_sideways_scroll")?;
    browser.viewport(360, 740)?;
    browser.navigate(&context.base_url)?;
    browser.wait_for(IDLE)?;
    browser.wait_for(FITS)?;
    browser.click("[data-do=demo]")?;
    browser.wait_for("document.querySelectorAll('#saved tbody tr').length > 0")?;
    browser.wait_for(IDLE)?;
    browser.wait_for(FITS)?;
    browser.click("#saved tbody a")?;
    browser.wait_for(TRIAL_SHOWN)?;
    browser.wait_for(FITS)?;
    browser.eval("document.querySelectorAll('details').forEach((d) => { d.open = true; })")?;
    browser.wait_for(FITS)
}

fn a_dead_worker_is_replaced(context: &Context) -> Outcome<()> {
    let name = "a_dead_worker_is_replaced";
    let mut browser = start(context, name)?;
    // The first worker dies as soon as it starts; then a working one is made.
    browser.eval(
        "(() => { const make = tarsalMakeWorker; let made = 0; globalThis.tarsalMakeWorker = () => \
         made++ ? make() : new Worker(URL.createObjectURL(new Blob(['throw new Error(\"out of memory\")']))); })()",
    )?;
    browser.choose_files("#file-input", &[&recording(context, name)?])?;
    browser.wait_for(TRIAL_SHOWN)?;
    browser.reload()?;
    browser.wait_for(IDLE)?;
    browser.click(".wordmark")?;
    // All of them die: the file is set aside, and says so.
    browser
        .eval("globalThis.tarsalMakeWorker = () => new Worker(URL.createObjectURL(new Blob(['throw new Error(\"out of memory\")'])))")?;
    browser.choose_files("#file-input", &[&recording(context, name)?])?;
    browser.wait_for("document.querySelector('.error[data-code=stopped_twice]') !== null")
}

fn other_pages_can_call_the_module(context: &Context) -> Outcome<()> {
    let mut browser = start(context, "other_pages_can_call_the_module")?;
    let text = serde_json::to_string(&demo(0)?.text).map_err(|error| error.to_string())?;
    let json = browser.text(&format!("wasm_bindgen.analyze('a.csv', new TextEncoder().encode({text}), '')"))?;
    let document: tarsal::answer::Document = serde_json::from_str(&json).map_err(|error| error.to_string())?;
    same("schema", &document.schema, &1)?;
    let native = tarsal::answer::analyze("a.csv", demo(0)?.text.as_bytes(), &tarsal::answer::Options::default()).answer;
    same("native and WebAssembly", &document.files, &vec![native])?;
    contains(
        &browser.text("(() => { try { wasm_bindgen.analyze('a', new Uint8Array(), '{') } catch (e) { return String(e) } })()")?,
        "Error",
    )
}

fn the_address_leads_back_to_a_trial(context: &Context) -> Outcome<()> {
    let mut browser = with_trial(context, "the_address_leads_back_to_a_trial")?;
    browser.click(".wordmark")?;
    browser.wait_for("document.querySelector('#saved') !== null")?;
    browser.eval("history.back()")?;
    browser.wait_for(TRIAL_SHOWN)?;
    browser.eval("history.forward()")?;
    browser.wait_at_most(Duration::from_secs(10), "document.querySelector('#saved') !== null")
}

fn the_document_is_handed_over(context: &Context) -> Outcome<()> {
    let name = "the_document_is_handed_over";
    let mut browser = with_trial(context, name)?;
    let folder = context.folder(&format!("{name}-downloads"))?;
    browser.download_to(&folder)?;
    browser.click("[data-do=download]")?;
    let deadline = std::time::Instant::now() + Duration::from_secs(10);
    let file = loop {
        let found = fs::read_dir(&folder).map_err(|error| error.to_string())?.flatten().map(|entry| entry.path());
        if let Some(file) = found.into_iter().find(|path| path.extension().is_some_and(|end| end == "json")) {
            break file;
        }
        ensure(std::time::Instant::now() < deadline, || "no file arrived".into())?;
        std::thread::sleep(Duration::from_millis(50));
    };
    let text = fs::read_to_string(file).map_err(|error| error.to_string())?;
    let document: tarsal::answer::Document = serde_json::from_str(&text).map_err(|error| error.to_string())?;
    let native = tarsal::answer::analyze("jump.csv", demo(0)?.text.as_bytes(), &tarsal::answer::Options::default()).answer;
    same("trials", &document.files.first().map(|file| &file.trials), &Some(&native.trials))
}

fn the_trace_is_zoomed_and_shifted(context: &Context) -> Outcome<()> {
    const WIDTH: &str = "(() => { const t = document.querySelector('#trace').dataset; return t.to - t.from; })()";
    let mut browser = with_trial(context, "the_trace_is_zoomed_and_shifted")?;
    let width = |browser: &mut Browser| browser.eval(WIDTH).map(|value| value.as_f64().unwrap_or_default());
    let whole = width(&mut browser)?;
    browser.click("[data-do=zoom-in]")?;
    browser.wait_for(IDLE)?;
    let near = width(&mut browser)?;
    ensure((near - whole / 2.0).abs() < 1e-6, || format!("zoomed from {whole} to {near}"))?;
    let from = browser.eval("Number(document.querySelector('#trace').dataset.from)")?.as_f64().unwrap_or_default();
    browser.click("[data-do=later]")?;
    browser.wait_for(&format!("Number(document.querySelector('#trace').dataset.from) > {from}"))?;
    browser.click("[data-do=layer][data-id=velocity]")?;
    browser.wait_for("document.querySelector('#trace path.velocity') !== null")?;
    browser.click("[data-do=whole]")?;
    browser.wait_for(&format!("{WIDTH} > {whole}"))
}

fn two_tabs_do_not_overwrite_each_other(context: &Context) -> Outcome<()> {
    let mut browser = with_trial(context, "two_tabs_do_not_overwrite_each_other")?;
    // Another tab files the trial meanwhile: here, its record is changed under the page.
    browser.eval(
        "new Promise((done, failed) => { const o = indexedDB.open('tarsal'); o.onerror = failed; o.onsuccess = () => { \
         const t = o.result.transaction('trials', 'readwrite'); const s = t.objectStore('trials'); const g = s.getAllKeys(); \
         g.onsuccess = () => { const key = g.result[0]; const r = s.get(key); r.onsuccess = () => { const v = JSON.parse(r.result); \
         v.rev += 1; v.number = 7; s.put(JSON.stringify(v), key); }; }; t.oncomplete = () => { o.result.close(); done(true); }; }; })",
    )?;
    browser.click("#athlete")?;
    browser.type_text("This Tab")?;
    browser.press("Enter")?;
    browser.wait_for("document.querySelector('.trouble')?.textContent.includes('another tab changed it')")?;
    contains(&browser.text("document.querySelector('#save-state').textContent")?, "Not saved")?;
    browser.reload()?;
    browser.wait_for(TRIAL_SHOWN)?;
    contains(&browser.text("document.querySelector('#filing').textContent")?, "not filed yet")
}
