//! The device's store: two object stores of one database, the records' text and the force beside it.
//! Requests run one after another; a save is one strict transaction, refused unless it follows the stored
//! version, and read back before it counts.
use super::app::{self, dispatch};
use super::words;
use crate::recording::Recording;
use crate::records::{Envelope, SavedTrial, WindowHead, decode, pack};
use crate::screen::Event;
use idb::{Database, DatabaseEvent, Factory, ObjectStoreParams, Transaction};
use js_sys::{Array, Function, Object, Reflect, Uint8Array};
use std::cell::{Cell, RefCell};
use std::collections::VecDeque;
use wasm_bindgen::prelude::*;

const NAME: &str = "tarsal";
const RECORDS: &str = "records";
const SAMPLES: &str = "samples";

/// Something to do in the store.
pub enum Request {
    /// Save a record, and its force unless it is there already.
    Save(Box<SavedTrial>, Option<Box<Recording>>),
    /// Read a trial's force.
    Window(String, Box<WindowHead>),
    /// Erase a record and its force.
    Erase(String),
}

thread_local! {
    static DATABASE: RefCell<Option<JsValue>> = const { RefCell::new(None) };
    static QUEUE: RefCell<VecDeque<Request>> = const { RefCell::new(VecDeque::new()) };
    static RUNNING: Cell<bool> = const { Cell::new(false) };
}

/// Opens the store and loads every record; then the page is ready.
pub fn start() {
    app::pending(1);
    wasm_bindgen_futures::spawn_local(async {
        match load().await {
            Ok((records, troubles)) => dispatch(Event::Loaded(records, troubles)),
            Err(why) => {
                let text = format!(
                    "The store of this browser cannot be used ({why}): trials are analysed but not kept. A private window often has none."
                );
                dispatch(Event::Loaded(Vec::new(), vec![text]));
            }
        }
        let id = app::address();
        if !id.is_empty() {
            dispatch(Event::Open(id));
        }
        app::ready();
        app::pending(-1);
    });
}

/// Queues a request.
pub fn request(request: Request) {
    app::pending(1);
    QUEUE.with(|q| q.borrow_mut().push_back(request));
    if !RUNNING.with(|r| r.replace(true)) {
        wasm_bindgen_futures::spawn_local(run());
    }
}

async fn run() {
    while let Some(next) = QUEUE.with(|q| q.borrow_mut().pop_front()) {
        match next {
            Request::Save(saved, window) => {
                let id = saved.envelope.id.clone();
                match save(&saved, window.as_deref()).await {
                    Ok(()) => dispatch(Event::Stored(id)),
                    Err(why) => dispatch(Event::StoreFailed(id, why)),
                }
            }
            Request::Window(id, head) => match window(&id, &head).await {
                Ok(window) => dispatch(Event::Window(id, Box::new(window))),
                Err(why) => dispatch(Event::Failed(why)),
            },
            Request::Erase(id) => {
                if let Err(why) = erase(&id).await {
                    dispatch(Event::Failed(format!("A removed trial could not be erased: {why}")));
                }
            }
        }
        app::pending(-1);
    }
    RUNNING.with(|r| r.set(false));
}

fn text(error: impl std::fmt::Display) -> String {
    error.to_string()
}

async fn open() -> Result<JsValue, String> {
    if let Some(open) = DATABASE.with(|d| d.borrow().clone()) {
        return Ok(open);
    }
    let mut opening = Factory::new().map_err(text)?.open(NAME, Some(1)).map_err(text)?;
    opening.on_upgrade_needed(|event| {
        if let Ok(database) = event.database() {
            // A store that cannot be made shows as a failed transaction, which is told.
            let _ = database.create_object_store(RECORDS, ObjectStoreParams::new());
            let _ = database.create_object_store(SAMPLES, ObjectStoreParams::new());
        }
    });
    let mut database: Database = opening.await.map_err(text)?;
    // Another tab with a newer form waits for this one to let go.
    database.on_version_change(|_| close());
    database.on_close(|_| forget());
    database.forget_callbacks();
    let database: JsValue = database.into();
    DATABASE.with(|d| d.replace(Some(database.clone())));
    Ok(database)
}

fn forget() {
    DATABASE.with(RefCell::take);
}

fn close() {
    if let Some(database) = DATABASE.with(RefCell::take).and_then(|d| Database::try_from(d).ok()) {
        database.close();
    }
}

/// A transaction over both stores; strict where it writes: the browser answers when the disk has it.
async fn transaction(write: bool) -> Result<Transaction, String> {
    let database = open().await?;
    let options = Object::new();
    let set = Reflect::set(&options, &"durability".into(), &if write { "strict" } else { "default" }.into());
    let begin: Function = Reflect::get(&database, &"transaction".into()).and_then(JsCast::dyn_into).map_err(|e| words(&e))?;
    let names = Array::of2(&RECORDS.into(), &SAMPLES.into());
    let begun = set.and_then(|_| begin.call3(&database, &names, &if write { "readwrite" } else { "readonly" }.into(), &options));
    let begun = begun.map_err(|e| {
        forget();
        words(&e)
    })?;
    Ok(Transaction::from(begun.unchecked_into::<web_sys::IdbTransaction>()))
}

async fn get(transaction: &Transaction, store: &str, id: &str) -> Result<Option<JsValue>, String> {
    let store = transaction.object_store(store).map_err(text)?;
    store.get(JsValue::from(id)).map_err(text)?.await.map_err(text)
}

async fn load() -> Result<(Vec<SavedTrial>, Vec<String>), String> {
    let reading = transaction(false).await?;
    let store = reading.object_store(RECORDS).map_err(text)?;
    let all: Vec<JsValue> = store.get_all(None, None).map_err(text)?.await.map_err(text)?;
    let (mut records, mut troubles) = (Vec::new(), Vec::new());
    for record in all {
        match decode(&record.as_string().unwrap_or_default()) {
            Ok(saved) => records.push(saved),
            Err(error) => troubles.push(text(error)),
        }
    }
    Ok((records, troubles))
}

async fn save(saved: &SavedTrial, window: Option<&Recording>) -> Result<(), String> {
    // Made before the transaction opens: it would close by itself while we compute.
    let id = saved.envelope.id.as_str();
    let record = saved.to_text();
    let force = window.map(|w| Uint8Array::from(pack(w.channels.iter().map(|c| c.force_n.as_slice())).as_slice()));
    let writing = transaction(true).await?;
    let stored = get(&writing, RECORDS, id).await?.and_then(|r| r.as_string());
    let stored_rev = stored.and_then(|r| serde_json::from_str::<Envelope>(&r).ok()).map_or(0, |e| e.rev);
    if stored_rev + 1 != saved.envelope.rev {
        let _ = writing.abort();
        return Err("another tab changed this trial meanwhile. Nothing was overwritten. Try: reload this page.".into());
    }
    let key = JsValue::from(id);
    writing.object_store(RECORDS).map_err(text)?.put(&record.as_str().into(), Some(&key)).map_err(text)?.await.map_err(text)?;
    if let Some(force) = &force {
        writing.object_store(SAMPLES).map_err(text)?.put(force, Some(&key)).map_err(text)?.await.map_err(text)?;
    }
    let done = writing.commit().map_err(text)?.await.map_err(text)?;
    if !done.is_committed() {
        return Err("the browser gave the save up (the disk may be full). Try: free some space, then drop the file again.".into());
    }
    let reading = transaction(false).await?;
    let back = get(&reading, RECORDS, id).await?.and_then(|r| r.as_string());
    let length = get(&reading, SAMPLES, id).await?.and_then(|s| s.dyn_into::<Uint8Array>().ok()).map(|s| s.length());
    let whole = length.is_some_and(|l| force.as_ref().is_none_or(|f| f.length() == l));
    if back.as_deref() == Some(record.as_str()) && whole {
        Ok(())
    } else {
        Err("what was read back is not what was saved. Try: save the trial as JSON, then reload.".into())
    }
}

async fn window(id: &str, head: &WindowHead) -> Result<Recording, String> {
    let reading = transaction(false).await?;
    let force = get(&reading, SAMPLES, id).await?.and_then(|s| s.dyn_into::<Uint8Array>().ok());
    head.join(&force.map(|f| f.to_vec()).unwrap_or_default()).map_err(text)
}

async fn erase(id: &str) -> Result<(), String> {
    let writing = transaction(true).await?;
    let key = JsValue::from(id);
    for store in [RECORDS, SAMPLES] {
        writing.object_store(store).map_err(text)?.delete(key.clone()).map_err(text)?.await.map_err(text)?;
    }
    writing.commit().map_err(text)?.await.map_err(text)?;
    Ok(())
}
