//! Native and WebAssembly give the same document, byte for byte, over the sample folder and the open jumps.

use crate::{
    Test,
    context::{Context, READY, ensure},
    driver::Outcome,
    given::demo,
};
use base64::Engine as _;
use std::{
    fs,
    time::{Duration, Instant},
};
use tarsal::{
    answer::{Options, analyze, document},
    site::serve,
};

pub fn tests() -> Vec<Test> {
    vec![
        ("native_and_wasm_give_the_same_bytes", native_and_wasm_give_the_same_bytes),
        ("the_readmes_page_analyzes_a_file", the_readmes_page_analyzes_a_file),
    ]
}

/// The page that README shows, word for word, in the folder of the built files: none of this one's, and no start of it.
fn the_readmes_page_analyzes_a_file(context: &Context) -> Outcome<()> {
    let readme = fs::read_to_string(context.root.join("README.md")).map_err(|error| error.to_string())?;
    let page = readme.split("```html\n").nth(1).and_then(|rest| rest.split("```").next()).ok_or("README shows no page")?;
    let recording = demo(0)?.text;
    let mut site = context.site.clone();
    site.files.insert("other.html".into(), format!("<!doctype html><meta charset=\"utf-8\">\n{page}").into_bytes());
    site.files.insert("jump.csv".into(), recording.clone().into_bytes());
    let server = serve(site, 0, "/some/club/").map_err(|error| error.to_string())?;
    let mut browser = context.browser("the_readmes_page_analyzes_a_file")?;
    browser.navigate(&format!("{}other.html", server.url()))?;
    let native = analyze("jump.csv", recording.as_bytes(), &Options::default()).answer;
    let trial = native.trials.first().ok_or("no trial")?;
    let height = trial.figures.get("jump_height").ok_or("no height")?;
    let told = format!("countermovement_jump {} {}", height.value.unwrap_or(f64::NAN), height.u.unwrap_or(f64::NAN));
    let deadline = Instant::now() + Duration::from_secs(20);
    while !browser.console().contains(&told) {
        ensure(Instant::now() < deadline, || format!("`{told}` is not in {:?}", browser.console()))?;
        // What the page says comes with the answer to the next question.
        browser.eval("new Promise((done) => setTimeout(done, 50)).then(() => 0)")?;
    }
    Ok(())
}

fn native_and_wasm_give_the_same_bytes(context: &Context) -> Outcome<()> {
    let mut browser = context.browser("same-bytes")?;
    browser.navigate(&context.base_url)?;
    browser.wait_for(READY)?;
    let folders = [context.root.join("examples/recordings"), context.root.join("../shared/data/bmclab-jump")];
    let mut compared = 0;
    for entry in folders.iter().filter_map(|folder| fs::read_dir(folder).ok()).flatten().flatten() {
        let path = entry.path();
        if !path.is_file() {
            continue;
        }
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let bytes = fs::read(&path).map_err(|error| format!("{name}: {error}"))?;
        // A low-pass as well, since the filter is where the two targets' mathematics could part.
        for low_pass_hz in [None, Some(50.0)] {
            let options = Options { rate_hz: name.starts_with("GRFZ").then_some(600.0), low_pass_hz, ..Options::default() };
            let native =
                serde_json::to_string(&document(&options, vec![analyze(&name, &bytes, &options).answer])).map_err(|e| e.to_string())?;
            let encoded = base64::engine::general_purpose::STANDARD.encode(&bytes);
            let options_json = serde_json::to_string(&options).map_err(|e| e.to_string())?;
            let call = format!(
                "wasm_bindgen.analyze({name:?}, Uint8Array.from(atob('{encoded}'), c => c.charCodeAt(0)), {})",
                serde_json::Value::String(options_json)
            );
            let wasm = browser.text(&call)?;
            let parts_at = native.bytes().zip(wasm.bytes()).position(|(a, b)| a != b);
            let around =
                |text: &str| text.get(parts_at.unwrap_or(0).saturating_sub(40)..).unwrap_or_default().chars().take(90).collect::<String>();
            ensure(native == wasm, || format!("{name}: native {:?}, wasm {:?}", around(&native), around(&wasm)))?;
            compared += 1;
        }
    }
    ensure(compared >= 4, || format!("only {compared} documents compared"))
}
