//! The page's side of the worker. The page keeps the files; a worker that dies is replaced, and `update`
//! decides whether its file is read once more or set aside.
use super::app::dispatch;
use super::words;
use crate::answer::{FileAnswer, Options, Trial};
use crate::people::Date;
use crate::recording::ReadError;
use crate::records::{WindowHead, trial_id};
use crate::screen::{Arrived, Event};
use js_sys::{Array, Function, Reflect, Uint8Array};
use std::cell::RefCell;
use wasm_bindgen::prelude::*;
use web_sys::{ErrorEvent, File, MessageEvent, Worker};

/// A worker's memory never shrinks; above this it is replaced once it rests.
const MOST_BYTES_AT_REST: f64 = 32.0 * 1024.0 * 1024.0;

struct Held {
    worker: Worker,
    /// A worker hears nothing before its module runs.
    ready: bool,
    waiting: Vec<Array>,
    current: u32,
}

thread_local! {
    static WORKER: RefCell<Option<Held>> = const { RefCell::new(None) };
    /// Trials of the file in the worker that have come so far.
    static TRIALS: RefCell<Vec<(Trial, WindowHead, Uint8Array)>> = const { RefCell::new(Vec::new()) };
}

/// A file is being dragged in or chosen: the worker starts, and reads an invented recording, so that its code is compiled
/// once the file is here. Where there is a worker nothing happens.
pub fn expect_file() {
    if WORKER.with(|w| w.borrow().is_none())
        && let Ok(worker) = spawn()
    {
        let root = super::app::document().and_then(|d| d.document_element());
        let whole = root.is_some_and(|root| root.has_attribute("data-whole"));
        let waiting = vec![Array::of2(&"rehearse".into(), &whole.into())];
        WORKER.with(|w| w.replace(Some(Held { worker, ready: false, waiting, current: NO_FILE })));
    }
}

/// The key of no file.
const NO_FILE: u32 = u32::MAX;

/// Sends a file to the worker.
pub fn read_file(key: u32, file: &File, options: &Options) {
    let options = serde_json::to_string(options).unwrap_or_default();
    send(key, Array::of4(&"file".into(), &key.into(), file, &options.into()));
}

/// Has the worker look at a file's columns.
pub fn look(key: u32, file: &File, options: &Options) {
    let options = serde_json::to_string(options).unwrap_or_default();
    send(key, Array::of4(&"look".into(), &key.into(), file, &options.into()));
}

/// Has the worker invent and analyse the demo squad.
pub fn read_demo(key: u32, today: Date) {
    send(key, Array::of3(&"demo".into(), &key.into(), &today.0.into()));
}

/// Ends the worker and what it does.
pub fn stop() {
    TRIALS.with(RefCell::take);
    if let Some(held) = WORKER.with(RefCell::take) {
        held.worker.terminate();
    }
}

fn send(key: u32, message: Array) {
    if WORKER.with(|w| w.borrow().is_none()) {
        match spawn() {
            Ok(worker) => WORKER.with(|w| w.replace(Some(Held { worker, ready: false, waiting: Vec::new(), current: key }))),
            Err(error) => {
                dispatch(Event::WorkerDied(key, words(&error)));
                return;
            }
        };
    }
    let failed = WORKER.with(|w| {
        let mut held = w.borrow_mut();
        let held = held.as_mut()?;
        held.current = key;
        if held.ready {
            return held.worker.post_message(&message).err();
        }
        held.waiting.push(message);
        None
    });
    if let Some(error) = failed {
        died(&words(&error));
    }
}

fn spawn() -> Result<Worker, JsValue> {
    let make: Function = Reflect::get(&js_sys::global(), &"tarsalMakeWorker".into())?.dyn_into()?;
    let worker: Worker = make.call0(&JsValue::NULL)?.dyn_into()?;
    let on_message = Closure::<dyn FnMut(MessageEvent)>::new(|event: MessageEvent| {
        if let Ok(message) = event.data().dyn_into::<Array>() {
            hear(&message);
        }
    });
    let on_error = Closure::<dyn FnMut(ErrorEvent)>::new(|event: ErrorEvent| {
        event.prevent_default();
        died(&event.message());
    });
    worker.set_onmessage(Some(on_message.as_ref().unchecked_ref()));
    worker.set_onerror(Some(on_error.as_ref().unchecked_ref()));
    // A worker lives as long as the page, but for the rare one that dies: two small closures are left behind then.
    on_message.forget();
    on_error.forget();
    Ok(worker)
}

fn died(why: &str) {
    TRIALS.with(RefCell::take);
    if let Some(held) = WORKER.with(RefCell::take) {
        held.worker.terminate();
        dispatch(Event::WorkerDied(held.current, why.to_owned()));
    }
}

fn hear(message: &Array) {
    let key = message.get(1).as_f64().unwrap_or(0.0) as u32;
    match message.get(0).as_string().as_deref() {
        Some("ready") => WORKER.with(|w| {
            if let Some(held) = w.borrow_mut().as_mut() {
                held.ready = true;
                for message in held.waiting.drain(..) {
                    let _ = held.worker.post_message(&message);
                }
            }
        }),
        Some("progress") => dispatch(Event::Progress(key, message.get(2).as_f64().unwrap_or(0.0))),
        Some("trial") => {
            let text = |at: u32| message.get(at).as_string().unwrap_or_default();
            let (trial, head) = (serde_json::from_str(&text(2)), serde_json::from_str(&text(3)));
            match (trial, head, message.get(4).dyn_into::<Uint8Array>()) {
                (Ok(trial), Ok(head), Ok(force)) => TRIALS.with(|t| t.borrow_mut().push((trial, head, force))),
                _ => died("a trial did not arrive whole"),
            }
        }
        Some("analysed") => match arrived(message) {
            Some((parts, arrived)) => {
                // It rests between two files: the moment to let go of a worker that has grown.
                if arrived.athlete.is_none() && message.get(4).as_f64().is_some_and(|bytes| bytes > MOST_BYTES_AT_REST) {
                    stop();
                }
                // Queued in one go: nothing comes between a file's parts.
                parts.into_iter().for_each(|part| dispatch(Event::Arriving(key, Box::new(part))));
                dispatch(Event::Analysed(key, Box::new(arrived)));
            }
            None => died("its answer did not arrive whole"),
        },
        Some("looked") => {
            let looked = message.get(2).as_string().and_then(|text| serde_json::from_str(&text).ok());
            match looked {
                Some(looked) => dispatch(Event::Looked(key, Box::new(looked))),
                None => died("what it saw did not arrive whole"),
            }
        }
        Some("demo-done") => dispatch(Event::DemoDone),
        Some("unreadable") => {
            // What came of the file before it could be read no further belongs to no file.
            TRIALS.with(RefCell::take);
            dispatch(Event::Analysed(key, Box::new(unreadable(&message.get(2).as_string().unwrap_or_default()))));
        }
        Some("died") => died(&message.get(1).as_string().unwrap_or_default()),
        _ => {}
    }
}

/// Trials that the state takes in at once: a few milliseconds' work.
const TRIALS_A_PART: usize = 16;

/// What a file gave: its trials but for the last few, in parts, and the answer with the rest of them.
fn arrived(message: &Array) -> Option<(Vec<Arrived>, Arrived)> {
    let answer: FileAnswer = serde_json::from_str(&message.get(2).as_string()?).ok()?;
    let athlete = message.get(3).as_string();
    let empty = || Arrived { answer: answer.clone(), windows: Vec::new(), athlete: athlete.clone() };
    let (mut parts, mut last) = (Vec::new(), empty());
    for (trial, head, force) in TRIALS.with(RefCell::take) {
        if last.windows.len() == TRIALS_A_PART {
            parts.push(core::mem::replace(&mut last, empty()));
        }
        super::saving::hold(trial_id(&answer.sha256, trial.start_s), force);
        last.answer.trials.push(trial);
        last.windows.push(head);
    }
    Some((parts, last))
}

/// The browser would not give the bytes: the file was moved, changed or unplugged.
fn unreadable(why: &str) -> Arrived {
    let error = ReadError::new(
        "not_given",
        format!("The browser could not read this file ({why})."),
        "Check that the file is still there and not open elsewhere, then drop it again.",
    );
    let answer = FileAnswer {
        file: String::new(),
        sha256: String::new(),
        error: Some(error),
        recording: None,
        left_out: Vec::new(),
        trials: Vec::new(),
    };
    Arrived { answer, windows: Vec::new(), athlete: None }
}
