//! The browser's database: opening it, transactions, and the few requests that the store makes of it.
//!
//! `trials` and `book` hold the records' texts (trials apart, for there may be very many), `samples` the force, `table`
//! the derived table, `dirty` the trials that are newer than it, `records` what form 1 of
//! the database held, `graves` (since form 3) the tombstones of what was erased.
use super::words;
use idb::{Database, DatabaseEvent, Factory, KeyRange, ObjectStore, ObjectStoreParams, Query, Transaction};
use js_sys::{Array, Function, Object, Promise, Reflect};
use std::cell::RefCell;
use wasm_bindgen::prelude::*;

const NAME: &str = "tarsal";
const VERSION: u32 = 3;
/// Form 1's only store of records.
pub const OLD: &str = "records";
/// Trials' records.
pub const TRIALS: &str = "trials";
/// Other records.
pub const BOOK: &str = "book";
/// Force.
pub const SAMPLES: &str = "samples";
/// The derived table.
pub const TABLE: &str = "table";
/// Keys of trials that are newer than the table.
pub const DIRTY: &str = "dirty";
/// Tombstones of what was erased.
pub const GRAVES: &str = "graves";
const ALL: [&str; 7] = [OLD, SAMPLES, TRIALS, BOOK, TABLE, DIRTY, GRAVES];

thread_local! {
    static DATABASE: RefCell<Option<JsValue>> = const { RefCell::new(None) };
}

/// An error in words.
pub fn text(error: impl std::fmt::Display) -> String {
    error.to_string()
}

async fn open() -> Result<JsValue, String> {
    if let Some(open) = DATABASE.with(|d| d.borrow().clone()) {
        return Ok(open);
    }
    let mut opening = Factory::new().map_err(text)?.open(NAME, Some(VERSION)).map_err(text)?;
    opening.on_upgrade_needed(|event| {
        if let Ok(database) = event.database() {
            let there = database.store_names();
            for name in ALL.into_iter().filter(|name| !there.iter().any(|t| t == name)) {
                // A store that cannot be made shows as a failed transaction, which is told.
                let _ = database.create_object_store(name, ObjectStoreParams::new());
            }
        }
    });
    opening.on_blocked(|_| {
        let text =
            "Another tab holds the store in an older form. Close or reload the other tabs of this page, and this one goes on by itself.";
        super::app::dispatch(crate::screen::Event::Failed(text.into()));
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
        let text = "Another tab runs a newer version of this page, so this one no longer saves. Reload it to go on.";
        super::app::dispatch(crate::screen::Event::Failed(text.into()));
    }
}

/// A transaction over some stores; strict where it writes: the browser answers when the disk has it.
///
/// # Errors
/// When the store does not open (it may be a newer version's, or the browser keeps none) or lacks one of these stores.
pub async fn transaction(stores: &[&str], write: bool) -> Result<Transaction, String> {
    let database = open().await?;
    let options = Object::new();
    let set = Reflect::set(&options, &"durability".into(), &if write { "strict" } else { "default" }.into());
    let begin: Function = Reflect::get(&database, &"transaction".into()).and_then(JsCast::dyn_into).map_err(|e| words(&e))?;
    let names: Array = stores.iter().map(|name| JsValue::from(*name)).collect();
    let begun = set.and_then(|_| begin.call3(&database, &names, &if write { "readwrite" } else { "readonly" }.into(), &options));
    let begun = begun.map_err(|e| {
        forget();
        words(&e)
    })?;
    Ok(Transaction::from(begun.unchecked_into::<web_sys::IdbTransaction>()))
}

/// A store of a transaction.
///
/// # Errors
/// When the transaction does not reach over a store of this name.
pub fn store(transaction: &Transaction, name: &str) -> Result<ObjectStore, String> {
    transaction.object_store(name).map_err(text)
}

/// The values of some keys, in their order; all asked for before the first is waited for.
///
/// # Errors
/// When the transaction has ended, or the browser fails to read.
pub async fn get_each(store: &ObjectStore, keys: &[&str]) -> Result<Vec<Option<JsValue>>, String> {
    let mut asked = Vec::with_capacity(keys.len());
    for key in keys {
        asked.push(store.get(JsValue::from(*key)).map_err(text)?.into_future());
    }
    let mut out = Vec::with_capacity(keys.len());
    for answer in asked {
        out.push(answer.await.map_err(text)?.filter(|value| !value.is_undefined()));
    }
    Ok(out)
}

/// The value of a key.
///
/// # Errors
/// When the transaction has ended, or the browser fails to read.
pub async fn get(store: &ObjectStore, key: &str) -> Result<Option<JsValue>, String> {
    Ok(store.get(JsValue::from(key)).map_err(text)?.await.map_err(text)?.filter(|value| !value.is_undefined()))
}

/// Puts a value under a key; failing shows at the commit.
///
/// # Errors
/// When the transaction only reads or has ended, or the value cannot be kept; a full disk shows at the commit.
pub fn put(store: &ObjectStore, key: &str, value: &JsValue) -> Result<(), String> {
    store.put(value, Some(&JsValue::from(key))).map(drop).map_err(text)
}

/// Deletes a key; failing shows at the commit.
///
/// # Errors
/// When the transaction only reads or has ended.
pub fn delete(store: &ObjectStore, key: &str) -> Result<(), String> {
    store.delete(JsValue::from(key)).map(drop).map_err(text)
}

/// Ends a transaction and waits until the disk has it.
///
/// # Errors
/// When the browser gave the save up: nothing of the transaction is kept then.
pub async fn commit(transaction: Transaction) -> Result<(), String> {
    const FULL: &str = "the browser gave the save up (the disk may be full). Try: free some space, then save again.";
    match transaction.commit().map_err(text)?.await {
        Ok(done) if done.is_committed() => Ok(()),
        Ok(_) => Err(FULL.into()),
        Err(error) => Err(format!("{FULL} ({error})")),
    }
}

/// Every key of a store.
///
/// # Errors
/// When the store does not open, or the browser fails to read.
pub async fn keys(name: &str) -> Result<Vec<String>, String> {
    let reading = transaction(&[name], false).await?;
    let keys = store(&reading, name)?.get_all_keys(None, None).map_err(text)?.await.map_err(text)?;
    Ok(keys.iter().filter_map(JsValue::as_string).collect())
}

/// Up to `most` entries of a store after a key, in order of their keys.
///
/// # Errors
/// When the store does not open, or the browser fails to read.
pub async fn batch(name: &str, after: Option<&str>, most: u32) -> Result<Vec<(String, JsValue)>, String> {
    let range = || match after {
        Some(key) => KeyRange::lower_bound(&JsValue::from(key), Some(true)).map(|r| Some(Query::from(r))).map_err(text),
        None => Ok(None),
    };
    let reading = transaction(&[name], false).await?;
    let store = store(&reading, name)?;
    let keys = store.get_all_keys(range()?, Some(most)).map_err(text)?.into_future();
    let values = store.get_all(range()?, Some(most)).map_err(text)?.into_future();
    let keys: Vec<JsValue> = keys.await.map_err(text)?;
    Ok(keys.iter().filter_map(JsValue::as_string).zip(values.await.map_err(text)?).collect())
}

/// Runs a task under the store's lock: alone, or together with others that share it. Without locks it just runs.
pub async fn locked<T>(alone: bool, task: impl Future<Output = T>) -> T {
    let request = || -> Result<(Promise, Function), JsValue> {
        let locks = Reflect::get(&web_sys::window().ok_or("no window")?.navigator(), &"locks".into())?;
        let ask: Function = Reflect::get(&locks, &"request".into())?.dyn_into()?;
        let mut release = None;
        // Held for as long as this promise is open.
        let held = Promise::new(&mut |resolve, _| release = Some(resolve));
        let mut got = None;
        let granted = Promise::new(&mut |resolve, _| got = Some(resolve));
        let (release, got) = (release.ok_or("no promise")?, got.ok_or("no promise")?);
        let on_granted = Closure::once_into_js(move || {
            let _ = got.call0(&JsValue::NULL);
            held
        });
        let options = Object::new();
        Reflect::set(&options, &"mode".into(), &if alone { "exclusive" } else { "shared" }.into())?;
        ask.call3(&locks, &"tarsal-store".into(), &options, &on_granted)?;
        Ok((granted, release))
    };
    match request() {
        Ok((granted, release)) => {
            let _ = wasm_bindgen_futures::JsFuture::from(granted).await;
            let done = task.await;
            let _ = release.call0(&JsValue::NULL);
            done
        }
        Err(_) => task.await,
    }
}
