//! The device's store: it is opened, and its requests run one after another.
use super::app::{self, dispatch};
use super::database::{BOOK, DIRTY, OLD, TABLE, TRIALS, batch, get, get_each, keys, locked, store, text, transaction};
use super::derived::{pool, renew};
use super::migration::migrate_all;
use super::saving::{erase, save, window};
use super::{backup, export, tabs, tasks};
use crate::answer::reread;
use crate::records::{Head, Record, SavedTrial, WindowHead, decode, decode_trial, heads_from_bytes};
use crate::screen::storage::{Choices, Progress};
use crate::screen::{Event, Opening};
use js_sys::Uint8Array;
use std::cell::{Cell, RefCell};
use std::collections::{BTreeSet, VecDeque};
use std::pin::Pin;
use wasm_bindgen::prelude::*;

/// Something to do in the store.
pub enum Request {
    /// Save records, with the force that waits for them.
    Save(Vec<Record>),
    /// Read trials' records, then take the event again.
    Fetch(Vec<String>, Event),
    /// Read a trial's force.
    Window(String, Box<WindowHead>),
    /// Read trials with their force.
    Windows(Vec<String>),
    /// Compute a trial again.
    Recompute(String),
    /// Erase records and their force quietly.
    Purge(Vec<String>),
    /// Erase everything of an athlete: keys, and whose.
    Erase(Vec<String>, String),
    /// Bring the derived table up to date.
    Renew,
    /// Read columns of the derived table, brought up to date.
    Pool(Vec<String>),
    /// Write a backup.
    Backup(String, String),
    /// Compare a backup.
    Compare(web_sys::File, String),
    /// Take a backup in.
    Merge(web_sys::File, String, Choices),
    /// Write a table.
    Export(String, crate::records::tidy::Flavour, bool),
}

/// The table is brought up to date once this many trials are newer than it.
const MOST_DIRTY: usize = 400;
/// Saved records told to other tabs before the browser gets a turn.
const TOLD_AT_A_TURN: usize = 32;
/// Records read together.
pub const BATCH: u32 = 200;

thread_local! {
    static QUEUE: RefCell<VecDeque<Request>> = const { RefCell::new(VecDeque::new()) };
    static RUNNING: Cell<bool> = const { Cell::new(false) };
}

/// Opens the store and loads what a list needs; then the page is ready.
pub fn start() {
    app::pending(1);
    wasm_bindgen_futures::spawn_local(async {
        let began = js_sys::Date::now();
        tabs::enter().await;
        load(false).await;
        let opened_ms = js_sys::Date::now() - began;
        super::address::arrive();
        app::ready(opened_ms);
        app::pending(-1);
        tabs::start();
    });
}

async fn load(fresh: bool) {
    let mut opening = match opening().await {
        Ok(opening) => opening,
        Err(why) => Opening {
            troubles: vec![format!(
                "The store of this browser cannot be used ({why}): trials are analysed but not kept. A private window often has none."
            )],
            ..Opening::default()
        },
    };
    opening.fresh = fresh;
    opening.others = tabs::others().await;
    opening.settings = tabs::settings();
    dispatch(Event::Loaded(Box::new(opening)));
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
        one(next).await;
        app::pending(-1);
    }
    RUNNING.with(|r| r.set(false));
}

async fn one(request: Request) {
    match request {
        Request::Save(records) => saved(&records).await,
        other => boxed(all_but_saving(other)).await,
    }
}

/// Behind a pointer, so that its code is not made part of what waits for it: a first visit does without (`site/rooms`).
fn boxed<'a, T>(future: impl Future<Output = T> + 'a) -> Pin<Box<dyn Future<Output = T> + 'a>> {
    Box::pin(future)
}

async fn saved(records: &[Record]) {
    let ids = records.iter().map(|r| r.id().to_owned()).collect();
    match locked(false, save(records)).await {
        Ok(texts) => {
            dispatch(Event::Stored(ids));
            for part in texts.chunks(TOLD_AT_A_TURN) {
                tabs::tell(part, &[]);
                tasks::turn().await;
            }
        }
        Err(why) => dispatch(Event::StoreFailed(ids, why)),
    }
}

async fn all_but_saving(request: Request) {
    match request {
        // Done by `one`.
        Request::Save(_) => {}
        Request::Fetch(ids, event) => {
            let (found, lost) = fetch(&ids).await;
            dispatch(Event::Fetched(found));
            for (id, why) in lost {
                dispatch(Event::Lost(vec![id], why));
            }
            dispatch(event);
        }
        Request::Window(id, head) => match window(&id, &head).await {
            Ok(window) => dispatch(Event::Window(id, Box::new(window))),
            Err(why) => dispatch(Event::Failed(why)),
        },
        Request::Windows(ids) => {
            let (found, _) = fetch(&ids).await;
            let mut trials = Vec::with_capacity(found.len());
            for saved in found {
                // A trial whose force cannot be read is left out; its own screen says why.
                if let Ok(force) = window(&saved.envelope.id, &saved.window).await {
                    trials.push((saved, force));
                }
            }
            dispatch(Event::Windows(trials));
        }
        Request::Recompute(id) => {
            let (found, _) = fetch(core::slice::from_ref(&id)).await;
            let mut trial = None;
            if let Some(saved) = found.first()
                && let Ok(window) = window(&id, &saved.window).await
            {
                trial = reread(&window, &saved.options).map(Box::new);
            }
            dispatch(Event::Fetched(found));
            dispatch(Event::Recomputed(id, trial));
        }
        Request::Purge(ids) => match locked(true, erase(&ids)).await {
            Ok(()) => tabs::tell(&[], &ids),
            Err(why) => dispatch(Event::Failed(format!("What was removed earlier could not be erased: {why}"))),
        },
        Request::Erase(ids, name) => {
            let erased = locked(true, async {
                erase(&ids).await?;
                renew().await
            });
            match erased.await {
                Ok(()) => {
                    tabs::tell(&[], &ids);
                    dispatch(Event::Erased(name));
                }
                Err(why) => {
                    dispatch(Event::Failed(format!("Not everything of {name} could be erased: {why}. Reload the page and try again.")))
                }
            }
        }
        Request::Renew => {
            if let Err(why) = locked(true, renew()).await {
                dispatch(Event::Failed(format!("The table of figures could not be brought up to date: {why}")));
            }
        }
        Request::Pool(columns) => match pool(&columns).await {
            Ok(pool) => dispatch(Event::Pooled(Box::new(pool))),
            Err(why) => dispatch(Event::Failed(format!("The figures of all trials could not be read: {why}"))),
        },
        Request::Backup(name, passphrase) => tell(backup::write(&name, &passphrase).await.map(Progress::BackedUp)),
        Request::Compare(file, passphrase) => match backup::compare(&file, &passphrase).await {
            Ok(event) => dispatch(event),
            Err(why) => dispatch(Event::Storage(Progress::Failed(why))),
        },
        Request::Merge(file, passphrase, choices) => {
            let merged = locked(true, backup::merge(&file, &passphrase, &choices)).await;
            load(true).await;
            tabs::tell_reload();
            tell(merged.map(Progress::Done));
        }
        Request::Export(name, flavour, json) => tell(export::write(&name, flavour, json).await.map(Progress::Done)),
    }
}

fn tell(outcome: Result<Progress, String>) {
    dispatch(Event::Storage(outcome.unwrap_or_else(Progress::Failed)));
}

/// The store of a record's kind.
pub fn store_of(kind: &str) -> &'static str {
    if kind == "trial" { TRIALS } else { BOOK }
}

async fn opening() -> Result<Opening, String> {
    let mut opening = Opening::default();
    if !keys(OLD).await?.is_empty() {
        boxed(locked(true, migrate_all())).await?;
    }
    let reading = transaction(&[TRIALS, BOOK, TABLE, DIRTY], false).await?;
    let heads = get(&store(&reading, TABLE)?, "heads").await?.and_then(|b| b.dyn_into::<Uint8Array>().ok());
    let dirty = store(&reading, DIRTY)?.get_all_keys(None, None).map_err(text)?.await.map_err(text)?;
    let book = store(&reading, BOOK)?.get_all(None, None).map_err(text)?.await.map_err(text)?;
    for record in book {
        match decode(&record.as_string().unwrap_or_default()) {
            Ok(record) => opening.records.push(record),
            Err(error) => opening.troubles.push(error.to_string()),
        }
    }
    let dirty: Vec<String> = dirty.iter().filter_map(JsValue::as_string).collect();
    match heads.and_then(|bytes| heads_from_bytes(&bytes.to_vec())) {
        Some(heads) => boxed(take_heads(&mut opening, heads, &dirty)).await,
        // No table yet, or one of another form: the records are truth.
        None => {
            each_trial(|trial| match trial {
                Ok(trial) => opening.heads.push(Head::of(&trial)),
                Err(why) => opening.troubles.push(why),
            })
            .await?
        }
    }
    if dirty.len() > MOST_DIRTY {
        request(Request::Renew);
    }
    Ok(opening)
}

/// The heads of the derived table, and those of trials that are newer than it.
async fn take_heads(opening: &mut Opening, heads: Vec<Head>, dirty: &[String]) {
    let newer: BTreeSet<&String> = dirty.iter().collect();
    opening.heads = heads.into_iter().filter(|h| !newer.contains(&h.id.to_string())).collect();
    let (found, lost) = fetch(dirty).await;
    opening.heads.extend(found.iter().map(Head::of));
    opening.troubles.extend(lost.into_iter().filter(|(_, why)| !why.is_empty()).map(|(_, why)| why));
}

/// Every trial, in order of their keys.
///
/// # Errors
/// When the store does not open, or the browser fails to read; a damaged trial is given to `take` as its own error.
pub async fn each_trial(mut take: impl FnMut(Result<SavedTrial, String>)) -> Result<(), String> {
    let mut after: Option<String> = None;
    loop {
        let entries = batch(TRIALS, after.as_deref(), BATCH).await?;
        let Some((last, _)) = entries.last() else { return Ok(()) };
        after = Some(last.clone());
        for (_, value) in &entries {
            take(decode_trial(&value.as_string().unwrap_or_default()).map_err(text));
        }
    }
}

/// The trials of some keys, and why the others cannot be opened (empty where they are simply gone).
pub async fn fetch(ids: &[String]) -> (Vec<SavedTrial>, Vec<(String, String)>) {
    let read = async {
        let reading = transaction(&[TRIALS], false).await?;
        let wanted: Vec<&str> = ids.iter().map(String::as_str).collect();
        get_each(&store(&reading, TRIALS)?, &wanted).await
    };
    let (mut found, mut lost) = (Vec::new(), Vec::new());
    match read.await {
        Ok(values) => {
            for (id, value) in ids.iter().zip(values) {
                match value.and_then(|v| v.as_string()).map(|t| decode_trial(&t)) {
                    Some(Ok(trial)) => found.push(trial),
                    Some(Err(error)) => lost.push((id.clone(), error.to_string())),
                    None => lost.push((id.clone(), String::new())),
                }
            }
        }
        Err(why) => lost.extend(ids.iter().map(|id| (id.clone(), why.clone()))),
    }
    (found, lost)
}
