//! The browser side: the same module runs in the page and in its worker, and tells them apart on starting.
//!
//! `app` owns the state and takes events in, `effects` carries out what they ask for; `patch` is the only writer of HTML; `listen`
//! and `trace` turn the browser's events into ours; `given` keeps the files a person gave, `address` knows the part of the address
//! that is ours; `worker` talks to `work`, which reads files on the other side, large ones with
//! `beside`, after a `rehearsal`;
//! `store` opens what the device keeps and takes requests (`saving`, `derived`, `migration` under it, `database` under those;
//! `backup` and `export` beside it); `tabs` speaks with other tabs,
//! `means` with what `boot.js` does for the module.
#![cfg_attr(not(test), deny(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing))]

mod address;
mod app;
mod backup;
mod beside;
mod database;
mod derived;
mod effects;
mod export;
mod files;
mod given;
mod listen;
mod means;
mod migration;
mod patch;
mod rehearsal;
mod saving;
mod store;
mod tabs;
mod tasks;
mod trace;
mod work;
mod worker;

use wasm_bindgen::prelude::*;

#[wasm_bindgen]
extern "C" {
    /// Brings the second half of the module, now, where it is not there yet (`src/site/split.rs`). The builder calls
    /// this wherever the first half leads into the second.
    #[wasm_bindgen(js_name = tarsalSecondHalf)]
    fn second_half();
}

/// For other pages that want to know when all of the module is there.
#[wasm_bindgen]
pub fn whole() {
    second_half();
}

/// Called by `boot.js`, once in the page and once in each worker.
#[wasm_bindgen]
pub fn start() {
    let global = js_sys::global();
    if let Some(scope) = global.dyn_ref::<web_sys::DedicatedWorkerGlobalScope>() {
        work::start(scope.clone());
    } else if let Some(window) = web_sys::window() {
        app::start(&window);
    }
}

/// For other pages: one file's bytes and options (JSON, `""` for the defaults) → the document as JSON.
///
/// # Errors
/// Where the options are not valid or cannot be meant; a file that cannot be read is an answer with `error` set.
#[wasm_bindgen]
pub fn analyze(name: &str, bytes: &[u8], options_json: &str) -> Result<String, JsError> {
    let options = if options_json.trim().is_empty() { crate::answer::Options::default() } else { serde_json::from_str(options_json)? };
    options.checked()?;
    let answer = crate::answer::analyze(name, bytes, &options).answer;
    Ok(serde_json::to_string(&crate::answer::document(&options, vec![answer]))?)
}

/// For the benchmark: a file's whole way on this thread; `ended` is called after each stage ([`crate::records::stages`]).
#[wasm_bindgen]
pub fn stages(bytes: &[u8], ended: &js_sys::Function) -> String {
    crate::records::stages(bytes, &mut || drop(ended.call0(&JsValue::NULL)))
}

/// A thrown value in words.
fn words(error: &JsValue) -> String {
    if let Some(error) = error.dyn_ref::<js_sys::Error>() {
        return String::from(error.message());
    }
    error.as_string().unwrap_or_else(|| format!("{error:?}"))
}
