//! What a person gave: files by key until they are read, the backup that was chosen, folders and published tables.
use super::app::{dispatch, pending};
use super::means;
use crate::screen::Event;
use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use wasm_bindgen::prelude::*;
use web_sys::File;

struct Given {
    files: RefCell<BTreeMap<u32, File>>,
    /// The backup that was chosen.
    backup: RefCell<Option<File>>,
    next_key: Cell<u32>,
}

thread_local! {
    static GIVEN: Given = Given { files: RefCell::default(), backup: RefCell::default(), next_key: Cell::new(1) };
}

/// Keeps the backup that was chosen.
pub fn keep_backup(file: Option<File>) {
    GIVEN.with(|given| given.backup.replace(file));
}

/// The backup that was chosen.
pub fn backup() -> Option<File> {
    GIVEN.with(|given| given.backup.borrow().clone())
}

/// Takes files in that a person gave.
pub fn take_files(files: Vec<File>) {
    if !files.is_empty() {
        dispatch(Event::Files(kept(files)));
    }
}

/// Keeps files under keys, names them for the queue.
pub fn kept(files: Vec<File>) -> Vec<(u32, String, f64)> {
    GIVEN.with(|given| {
        let keep = |file: File| {
            let key = given.next_key.get();
            given.next_key.set(key + 1);
            let named = (key, file.name(), file.size());
            given.files.borrow_mut().insert(key, file);
            named
        };
        files.into_iter().map(keep).collect()
    })
}

/// The file of a key, where it is still at hand.
pub fn file(key: u32) -> Option<File> {
    GIVEN.with(|given| given.files.borrow().get(&key).cloned())
}

/// Lets go of a file.
pub fn release(key: u32) {
    GIVEN.with(|given| given.files.borrow_mut().remove(&key));
}

/// Takes in what was dropped with folders.
pub fn take_entries(entries: js_sys::Array) {
    pending(1);
    wasm_bindgen_futures::spawn_local(async move {
        match means::call("inside", &js_sys::Array::of1(&entries)).await {
            Ok(files) => take_files(js_sys::Array::from(&files).iter().filter_map(|f| f.dyn_into().ok()).collect()),
            Err(why) => dispatch(Event::Failed(format!("The folder could not be read ({why})."))),
        }
        pending(-1);
    });
}

/// A published table is a few lines; what is larger is something else.
const REFERENCE_BYTES: f64 = 1e6;

/// Takes in a file with a published table.
pub fn take_reference(file: &File) {
    if file.size() > REFERENCE_BYTES {
        dispatch(Event::Failed("A table of published groups is text of at most 1 MB; this file is larger.".into()));
        return;
    }
    let text = file.text();
    pending(1);
    wasm_bindgen_futures::spawn_local(async move {
        match wasm_bindgen_futures::JsFuture::from(text).await.ok().and_then(|t| t.as_string()) {
            Some(text) => dispatch(Event::Form("reference".into(), String::new(), crate::screen::Fields(vec![("table".into(), text)]))),
            None => dispatch(Event::Failed("The file could not be read. Paste its text instead.".into())),
        }
        pending(-1);
    });
}
