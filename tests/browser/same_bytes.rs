//! Native and WebAssembly give the same document, byte for byte, over the sample folder and the open jumps.

use crate::{
    Test,
    context::{Context, READY, ensure},
    driver::Outcome,
};
use base64::Engine as _;
use std::fs;
use tarsal::answer::{Options, analyze, document};

pub fn tests() -> Vec<Test> {
    vec![("native_and_wasm_give_the_same_bytes", native_and_wasm_give_the_same_bytes)]
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
