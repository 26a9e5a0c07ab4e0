//! The worker's side: reads one file as a stream, analyses it, and posts the answer with each trial's window.
//! Messages are arrays: a word, the file's key, and what belongs to it. Cancelling ends the whole worker.
use super::words;
use crate::answer::{Analysis, Options, Stream, analyze};
use crate::invented::{demo_day_count, demo_days};
use crate::people::Date;
use crate::recording::{ReadError, explain, needs_all};
use crate::records::{WindowHead, trial_id};
use js_sys::{Array, Uint8Array};
use std::cell::RefCell;
use wasm_bindgen::prelude::*;
use web_sys::{DedicatedWorkerGlobalScope, File, MessageEvent, ReadableStreamDefaultReader};

/// Progress is told after this many bytes.
const TELL_EVERY: f64 = 1_000_000.0;

thread_local! {
    static SCOPE: RefCell<Option<DedicatedWorkerGlobalScope>> = const { RefCell::new(None) };
}

/// Listens for files.
pub fn start(scope: DedicatedWorkerGlobalScope) {
    std::panic::set_hook(Box::new(|info| {
        console_error_panic_hook::hook(info);
        post(&Array::of2(&"died".into(), &info.to_string().into()));
    }));
    let on_message = Closure::<dyn FnMut(MessageEvent)>::new(|event: MessageEvent| {
        if let Ok(message) = event.data().dyn_into::<Array>() {
            wasm_bindgen_futures::spawn_local(take(message));
        }
    });
    scope.set_onmessage(Some(on_message.as_ref().unchecked_ref()));
    on_message.forget();
    SCOPE.with(|s| s.replace(Some(scope)));
    post(&Array::of1(&"ready".into()));
}

fn post(message: &JsValue) {
    SCOPE.with(|scope| {
        if let Some(scope) = scope.borrow().as_ref() {
            // A message that cannot be copied is a fault of this file, and the page hears of it as silence.
            let _ = scope.post_message(message);
        }
    });
}

async fn take(message: Array) {
    let key = message.get(1);
    match message.get(0).as_string().as_deref() {
        Some("file") => {
            let Ok(file) = message.get(2).dyn_into::<File>() else { return };
            let options = message.get(3).as_string().and_then(|o| serde_json::from_str(&o).ok()).unwrap_or_default();
            match read(&key, &file, &options).await {
                Ok(analysis) => give(&key, analysis, None),
                Err(error) => post(&Array::of3(&"unreadable".into(), &key, &words(&error).into())),
            }
        }
        Some("look") => {
            let Ok(file) = message.get(2).dyn_into::<File>() else { return };
            let options: Options = message.get(3).as_string().and_then(|o| serde_json::from_str(&o).ok()).unwrap_or_default();
            let looked = match head(&file).await {
                Ok((bytes, whole)) => explain(&bytes, whole, &options.reading()),
                Err(error) => Err(ReadError::new("not_given", words(&error), "Drop the file again.")),
            };
            let text = serde_json::to_string(&looked).unwrap_or_default();
            post(&Array::of3(&"looked".into(), &key, &text.into()));
        }
        Some("demo") => {
            let today = Date(message.get(2).as_f64().unwrap_or(0.0) as i32);
            for (i, demo) in demo_days(today).enumerate() {
                post(&Array::of3(&"progress".into(), &key, &(i as f64 / demo_day_count() as f64).into()));
                give(&key, analyze(&demo.name, demo.text.as_bytes(), &demo.options), Some(&demo.athlete));
            }
            post(&Array::of2(&"demo-done".into(), &key));
        }
        _ => {}
    }
}

/// A file's first megabyte, or all of one that must be seen whole; and whether that is all there is.
async fn head(file: &File) -> Result<(Vec<u8>, bool), JsValue> {
    const FIRST: usize = 1 << 20;
    let reader: ReadableStreamDefaultReader = file.stream().get_reader().unchecked_into();
    let mut bytes = Vec::new();
    loop {
        let piece = wasm_bindgen_futures::JsFuture::from(reader.read()).await?;
        if js_sys::Reflect::get(&piece, &"done".into())?.is_truthy() {
            return Ok((bytes, true));
        }
        bytes.extend(js_sys::Reflect::get(&piece, &"value".into())?.dyn_into::<Uint8Array>()?.to_vec());
        if bytes.len() >= FIRST && !needs_all(&bytes) {
            bytes.truncate(FIRST);
            return Ok((bytes, false));
        }
    }
}

async fn read(key: &JsValue, file: &File, options: &Options) -> Result<Analysis, JsValue> {
    let mut stream = Stream::new(&file.name(), options);
    let reader: ReadableStreamDefaultReader = file.stream().get_reader().unchecked_into();
    let (mut bytes, mut told) = (0.0, 0.0);
    loop {
        let piece = wasm_bindgen_futures::JsFuture::from(reader.read()).await?;
        if js_sys::Reflect::get(&piece, &"done".into())?.is_truthy() {
            break;
        }
        let piece = js_sys::Reflect::get(&piece, &"value".into())?.dyn_into::<Uint8Array>()?.to_vec();
        bytes += piece.len() as f64;
        stream.feed(&piece);
        if bytes - told >= TELL_EVERY {
            told = bytes;
            post(&Array::of3(&"progress".into(), key, &bytes.into()));
        }
    }
    Ok(stream.finish())
}

/// Posts each trial by itself with its force, moved and not copied, then the rest of the answer: the page takes each in
/// in a task of its own, and never holds what it does not save.
fn give(key: &JsValue, analysis: Analysis, athlete: Option<&str>) {
    let Analysis { mut answer, windows } = analysis;
    for (trial, window) in std::mem::take(&mut answer.trials).into_iter().zip(windows) {
        let (head, force) = WindowHead::packed(&window);
        drop(window);
        let force = Uint8Array::from(force.as_slice());
        let id = trial_id(&answer.sha256, trial.start_s);
        let text = |value: Result<String, serde_json::Error>| JsValue::from(value.unwrap_or_default());
        let message =
            Array::of5(&"trial".into(), key, &text(serde_json::to_string(&trial)), &text(serde_json::to_string(&head)), &id.into());
        message.push(&force);
        post_moved(&message, &force.buffer());
    }
    let answer = serde_json::to_string(&answer).unwrap_or_default();
    let message = Array::of4(&"analysed".into(), key, &answer.into(), &athlete.map_or(JsValue::NULL, JsValue::from));
    message.push(&memory_bytes().into());
    post(&message);
}

fn post_moved(message: &JsValue, moved: &JsValue) {
    SCOPE.with(|scope| {
        if let Some(scope) = scope.borrow().as_ref() {
            let _ = scope.post_message_with_transfer(message, &Array::of1(moved));
        }
    });
}

/// How much this worker's module holds; it never gives any back.
fn memory_bytes() -> f64 {
    let memory = wasm_bindgen::memory().unchecked_into::<js_sys::WebAssembly::Memory>();
    f64::from(memory.buffer().unchecked_into::<js_sys::ArrayBuffer>().byte_length())
}
