//! The device's store. Requests run one after another; a save is one strict transaction over all its records, refused
//! unless each follows the stored version, and read back before it counts.
use super::app::{self, dispatch};
use super::database::{
    BOOK, DIRTY, OLD, SAMPLES, TABLE, TRIALS, batch, commit, delete, get, get_each, keys, locked, put, store, text, transaction,
};
use super::tasks::turn;
use super::{backup, tabs};
use crate::answer::reread;
use crate::recording::Recording;
use crate::records::{
    Envelope, Head, Pool, Record, SavedTrial, WindowHead, decode, decode_trial, heads_from_bytes, heads_to_bytes, migrate, table,
};
use crate::screen::storage::{Choices, Progress};
use crate::screen::{Event, Opening};
use js_sys::Uint8Array;
use std::cell::{Cell, RefCell};
use std::collections::{BTreeMap, BTreeSet, VecDeque};
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
/// Records written or compared before the browser gets a turn.
const AT_A_TURN: usize = 40;
/// Records read together.
pub const BATCH: u32 = 200;

thread_local! {
    static QUEUE: RefCell<VecDeque<Request>> = const { RefCell::new(VecDeque::new()) };
    static RUNNING: Cell<bool> = const { Cell::new(false) };
    /// Force that came from the worker and is not on the disk yet, by trial.
    static WAITING: RefCell<BTreeMap<String, Uint8Array>> = const { RefCell::new(BTreeMap::new()) };
}

/// Keeps a trial's force until it is saved or let go.
pub fn hold(id: String, force: Uint8Array) {
    WAITING.with(|w| w.borrow_mut().insert(id, force));
}

/// Lets go of the force of trials that are not to be saved.
pub fn let_go(wanted: impl Fn(&str) -> bool) {
    WAITING.with(|w| w.borrow_mut().retain(|id, _| wanted(id)));
}

/// The window of a trial whose force is not on the disk yet.
pub fn waiting(id: &str, head: &WindowHead) -> Option<Recording> {
    let force = WAITING.with(|w| w.borrow().get(id).cloned())?;
    head.join(&force.to_vec()).ok()
}

/// Opens the store and loads what a list needs; then the page is ready.
pub fn start() {
    app::pending(1);
    wasm_bindgen_futures::spawn_local(async {
        let began = js_sys::Date::now();
        load(false).await;
        let opened_ms = js_sys::Date::now() - began;
        app::arrive();
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
        Request::Save(records) => {
            let ids = records.iter().map(|r| r.id().to_owned()).collect();
            match locked(false, save(&records)).await {
                Ok(texts) => {
                    dispatch(Event::Stored(ids));
                    tabs::tell(&texts, &[]);
                }
                Err(why) => dispatch(Event::StoreFailed(ids, why)),
            }
        }
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
        Request::Purge(ids) => {
            if let Err(why) = erase(&ids).await {
                dispatch(Event::Failed(format!("What was removed earlier could not be erased: {why}")));
            }
        }
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
        Request::Export(name, flavour, json) => tell(backup::export(&name, flavour, json).await.map(Progress::Done)),
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
        locked(true, migrate_all()).await?;
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
        Some(heads) => {
            let newer: BTreeSet<&String> = dirty.iter().collect();
            opening.heads = heads.into_iter().filter(|h| !newer.contains(&h.id.to_string())).collect();
            let (found, lost) = fetch(&dirty).await;
            opening.heads.extend(found.iter().map(Head::of));
            opening.troubles.extend(lost.into_iter().filter(|(_, why)| !why.is_empty()).map(|(_, why)| why));
        }
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

/// Every trial, in order of their keys.
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
async fn fetch(ids: &[String]) -> (Vec<SavedTrial>, Vec<(String, String)>) {
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

async fn save(records: &[Record]) -> Result<Vec<String>, String> {
    // Made before the transaction opens: it would close by itself while we compute.
    let mut texts: Vec<String> = Vec::with_capacity(records.len());
    for record in records {
        texts.push(record.to_text());
        if texts.len().is_multiple_of(AT_A_TURN) {
            turn().await;
        }
    }
    let force: Vec<Option<Uint8Array>> = WAITING.with(|w| {
        let waiting = w.borrow();
        records.iter().map(|r| waiting.get(r.id()).cloned()).collect()
    });
    let writing = transaction(&[TRIALS, BOOK, SAMPLES, DIRTY], true).await?;
    let (trials, book, samples, dirty) =
        (store(&writing, TRIALS)?, store(&writing, BOOK)?, store(&writing, SAMPLES)?, store(&writing, DIRTY)?);
    let is_trial = |record: &Record| matches!(record, Record::Trial(_));
    for (of_trials, store) in [(true, &trials), (false, &book)] {
        let mine: Vec<&Record> = records.iter().filter(|r| is_trial(r) == of_trials).collect();
        let ids: Vec<&str> = mine.iter().map(|r| r.id()).collect();
        for (record, stored) in mine.iter().zip(get_each(store, &ids).await?) {
            let stored = stored.and_then(|s| s.as_string());
            let rev = stored.and_then(|r| serde_json::from_str::<Envelope>(&r).ok()).map_or(0, |e| e.rev);
            if rev + 1 != record.envelope().rev {
                let _ = writing.abort();
                return Err("another tab changed it meanwhile. Nothing was overwritten. Try: reload this page.".into());
            }
        }
    }
    for ((record, text), force) in records.iter().zip(&texts).zip(&force) {
        let id = record.id();
        put(if is_trial(record) { &trials } else { &book }, id, &text.as_str().into())?;
        if let Some(force) = force {
            put(&samples, id, force)?;
        }
        if is_trial(record) {
            put(&dirty, id, &(record.envelope().rev as f64).into())?;
        }
    }
    commit(writing).await?;
    let reading = transaction(&[TRIALS, BOOK, SAMPLES], false).await?;
    for (of_trials, name) in [(true, TRIALS), (false, BOOK)] {
        let mine = || records.iter().zip(&texts).zip(&force).filter(|((r, _), _)| is_trial(r) == of_trials);
        let ids: Vec<&str> = mine().map(|((r, _), _)| r.id()).collect();
        let back = get_each(&store(&reading, name)?, &ids).await?;
        let lengths = if of_trials { get_each(&store(&reading, SAMPLES)?, &ids).await? } else { vec![None; ids.len()] };
        for (at, ((((record, text), force), back), length)) in mine().zip(back).zip(lengths).enumerate() {
            if at % AT_A_TURN == AT_A_TURN - 1 {
                turn().await;
            }
            let length = length.and_then(|s| s.dyn_into::<Uint8Array>().ok()).map(|s| s.length());
            let whole = !is_trial(record) || length.is_some_and(|l| force.as_ref().is_none_or(|f| f.length() == l));
            if back.and_then(|b| b.as_string()).as_deref() != Some(text.as_str()) || !whole {
                return Err("what was read back is not what was saved. Try: save the trial as JSON, then reload.".into());
            }
        }
    }
    WAITING.with(|w| {
        let mut waiting = w.borrow_mut();
        records.iter().for_each(|r| drop(waiting.remove(r.id())));
    });
    Ok(texts)
}

async fn window(id: &str, head: &WindowHead) -> Result<Recording, String> {
    let waiting = WAITING.with(|w| w.borrow().get(id).cloned());
    let force = match waiting {
        Some(force) => Some(force),
        None => {
            let reading = transaction(&[SAMPLES], false).await?;
            get(&store(&reading, SAMPLES)?, id).await?.and_then(|s| s.dyn_into::<Uint8Array>().ok())
        }
    };
    head.join(&force.map(|f| f.to_vec()).unwrap_or_default()).map_err(text)
}

async fn erase(ids: &[String]) -> Result<(), String> {
    WAITING.with(|w| ids.iter().for_each(|id| drop(w.borrow_mut().remove(id))));
    let writing = transaction(&[TRIALS, BOOK, SAMPLES, DIRTY], true).await?;
    for id in ids {
        for name in [TRIALS, BOOK, SAMPLES] {
            delete(&store(&writing, name)?, id)?;
        }
        // The table still has its row until it is brought up to date.
        put(&store(&writing, DIRTY)?, id, &0.0.into())?;
    }
    commit(writing).await
}

/// Brings the derived table up to date with the trials that are newer than it.
async fn renew() -> Result<(), String> {
    let reading = transaction(&[TABLE, DIRTY], false).await?;
    let heads = get(&store(&reading, TABLE)?, "heads").await?.and_then(|b| b.dyn_into::<Uint8Array>().ok());
    let dirty = batch(DIRTY, None, u32::MAX).await?;
    let old = heads.and_then(|bytes| heads_from_bytes(&bytes.to_vec()));
    let (old, changed) = match old {
        Some(old) => (old, dirty.iter().map(|(id, _)| id.clone()).collect()),
        // From nothing: every trial is newer.
        None => (Vec::new(), keys(TRIALS).await?),
    };
    let (trials, lost) = fetch(&changed).await;
    let gone: BTreeSet<String> = lost.into_iter().map(|(id, _)| id).collect();
    let renewal = table::renew(&old, &trials, &gone);
    let mut figures = table::figures(&trials);
    figures.extend(keys(TABLE).await?.into_iter().filter_map(|k| k.strip_prefix("figure:").map(str::to_owned)));
    let heads = Uint8Array::from(heads_to_bytes(renewal.heads.iter()).as_slice());
    let writing = transaction(&[TABLE, DIRTY], true).await?;
    let (table, marks) = (store(&writing, TABLE)?, store(&writing, DIRTY)?);
    let ids: Vec<&str> = dirty.iter().map(|(id, _)| id.as_str()).collect();
    let now = get_each(&marks, &ids).await?;
    for figure in &figures {
        let key = format!("figure:{figure}");
        let before = get(&table, &key).await?.and_then(|c| c.dyn_into::<js_sys::Float64Array>().ok());
        let column = renewal.column(figure, &before.map(|c| c.to_vec()).unwrap_or_default(), &trials);
        put(&table, &key, &js_sys::Float64Array::from(column.as_slice()))?;
    }
    put(&table, "heads", &heads)?;
    for ((id, mark), now) in dirty.iter().zip(now) {
        // What another tab saved meanwhile stays marked.
        if now.as_ref() == Some(mark) {
            delete(&marks, id)?;
        }
    }
    commit(writing).await
}

/// Heads and the columns asked for, with trials that are newer than the table laid over it in memory: the table itself is
/// rewritten once a visit at most, not whenever an athlete is looked at.
async fn pool(columns: &[String]) -> Result<Pool, String> {
    let reading = transaction(&[TABLE, DIRTY], false).await?;
    let stored = store(&reading, TABLE)?;
    let names: Vec<String> = columns.iter().map(|id| format!("figure:{id}")).collect();
    let names: Vec<&str> = core::iter::once("heads").chain(names.iter().map(String::as_str)).collect();
    let mut found = get_each(&stored, &names).await?.into_iter();
    let dirty = store(&reading, DIRTY)?.get_all_keys(None, None).map_err(text)?.await.map_err(text)?;
    let heads = found.next().flatten().and_then(|b| b.dyn_into::<Uint8Array>().ok());
    let heads = heads.and_then(|bytes| heads_from_bytes(&bytes.to_vec()));
    let changed = match &heads {
        Some(_) => dirty.iter().filter_map(JsValue::as_string).collect(),
        None => keys(TRIALS).await?,
    };
    let (newer, lost) = fetch(&changed).await;
    let gone: BTreeSet<String> = lost.into_iter().map(|(id, _)| id).collect();
    let renewal = table::renew(&heads.unwrap_or_default(), &newer, &gone);
    let column = |value: Option<JsValue>| value.and_then(|c| c.dyn_into::<js_sys::Float64Array>().ok()).map(|c| c.to_vec());
    let renewed = |(id, value): (&String, Option<JsValue>)| (id.clone(), renewal.column(id, &column(value).unwrap_or_default(), &newer));
    let columns = columns.iter().zip(found).map(renewed).collect();
    Ok(Pool { heads: renewal.heads, columns })
}

/// Form 1 → form 2: copied, read back, and only then is the old copy let go. Stopped half-way it begins again.
async fn migrate_all() -> Result<(), String> {
    let old = batch(OLD, None, u32::MAX).await?;
    let mut names: BTreeMap<String, String> = BTreeMap::new();
    let mut moved: Vec<(String, String)> = Vec::with_capacity(old.len());
    for (id, value) in &old {
        let before = value.as_string().unwrap_or_default();
        if let Some(name) = migrate::name_in(&before) {
            names.entry(migrate::athlete_id_of(&name)).or_insert(name);
        }
        // What cannot be opened, or is newer, goes over byte for byte.
        moved.push((id.clone(), decode_trial(&before).map_or(before, |trial| trial.to_text())));
    }
    let now = String::from(js_sys::Date::new_0().to_iso_string());
    let writing = transaction(&[TRIALS, BOOK, DIRTY], true).await?;
    let (trials, book, dirty) = (store(&writing, TRIALS)?, store(&writing, BOOK)?, store(&writing, DIRTY)?);
    let known: Vec<&str> = names.keys().map(String::as_str).collect();
    let known = get_each(&book, &known).await?;
    for (id, text) in &moved {
        put(&trials, id, &text.as_str().into())?;
        put(&dirty, id, &1.0.into())?;
    }
    for ((id, name), known) in names.iter().zip(known) {
        if known.is_none() {
            put(&book, id, &Record::Athlete(migrate::athlete(name, &now)).to_text().as_str().into())?;
        }
    }
    commit(writing).await?;
    let reading = transaction(&[TRIALS], false).await?;
    let ids: Vec<&str> = moved.iter().map(|(id, _)| id.as_str()).collect();
    let back = get_each(&store(&reading, TRIALS)?, &ids).await?;
    if !moved.iter().zip(back).all(|((_, text), back)| back.and_then(|b| b.as_string()).as_ref() == Some(text)) {
        return Err("the records could not be brought to this version’s form; they are left as they were".into());
    }
    let writing = transaction(&[OLD], true).await?;
    store(&writing, OLD)?.clear().map_err(text)?;
    commit(writing).await
}
