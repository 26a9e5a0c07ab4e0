//! Saving and erasing. A save is one strict transaction over all its records, refused unless each follows the stored version,
//! and read back before it counts. Erasing leaves a tombstone for each record, in the same transaction; saving takes it away.
use super::database::{BOOK, DIRTY, GRAVES, SAMPLES, TRIALS, batch, commit, delete, get, get_each, put, store, text, transaction};
use super::tasks::turn;
use crate::people::Date;
use crate::recording::Recording;
use crate::records::tombstone::{Tombstone, Tombstones, mark};
use crate::records::{Envelope, Record, WindowHead};
use js_sys::Uint8Array;
use std::cell::RefCell;
use std::collections::BTreeMap;
use wasm_bindgen::prelude::*;

/// Records made into text, written or compared before the browser gets a turn.
const AT_A_TURN: usize = 16;

thread_local! {
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

/// Every tombstone.
///
/// # Errors
/// When the store does not open, or the browser fails to read.
pub async fn tombstones() -> Result<Tombstones, String> {
    let all = batch(GRAVES, None, u32::MAX).await?;
    Ok(Tombstones(all.into_iter().filter_map(|(key, value)| Some((key, Tombstone::of_text(&value.as_string()?)?))).collect()))
}

/// Saves records with the force that waits for them; gives their texts.
///
/// # Errors
/// When the store does not open, another tab has saved one of them since, or the disk does not take them; then none is saved.
pub async fn save(records: &[Record]) -> Result<Vec<String>, String> {
    // What was read is drawn first.
    turn().await;
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
    let writing = transaction(&[TRIALS, BOOK, SAMPLES, DIRTY, GRAVES], true).await?;
    let graves = store(&writing, GRAVES)?;
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
    let written = async {
        for (at, ((record, text), force)) in records.iter().zip(&texts).zip(&force).enumerate() {
            if at % AT_A_TURN == AT_A_TURN - 1 {
                // A turn for the browser that does not end the transaction: it lives while one of its requests is under way.
                get(&dirty, record.id()).await?;
            }
            let id = record.id();
            put(if is_trial(record) { &trials } else { &book }, id, &text.as_str().into())?;
            if let Some(force) = force {
                put(&samples, id, force)?;
            }
            if record.envelope().rev == 1 {
                // Made anew by the reader's own hand, as by dropping its file again: no longer erased.
                delete(&graves, &mark(id))?;
            }
            if is_trial(record) {
                put(&dirty, id, &(record.envelope().rev as f64).into())?;
            }
        }
        Ok::<(), String>(())
    };
    if let Err(why) = written.await {
        // What was put so far would be kept otherwise.
        let _ = writing.abort();
        return Err(why);
    }
    commit(writing).await?;
    let reading = transaction(&[TRIALS, BOOK, SAMPLES], false).await?;
    for (of_trials, name) in [(true, TRIALS), (false, BOOK)] {
        let (stored, samples) = (store(&reading, name)?, store(&reading, SAMPLES)?);
        let mine: Vec<_> = records.iter().zip(&texts).zip(&force).filter(|((r, _), _)| is_trial(r) == of_trials).collect();
        // The next are asked for as soon as these are compared: the transaction goes on, and few are ever held twice.
        for part in mine.chunks(AT_A_TURN) {
            let ids: Vec<&str> = part.iter().map(|((r, _), _)| r.id()).collect();
            let back = get_each(&stored, &ids).await?;
            let stored_force = if of_trials { get_each(&samples, &ids).await? } else { vec![None; ids.len()] };
            for ((((_, text), force), back), stored) in part.iter().zip(back).zip(stored_force) {
                let length = stored.and_then(|s| s.dyn_into::<Uint8Array>().ok()).map(|s| s.length());
                let whole = !of_trials || length.is_some_and(|l| force.as_ref().is_none_or(|f| f.length() == l));
                if back.and_then(|b| b.as_string()).as_deref() != Some(text.as_str()) || !whole {
                    return Err("what was read back is not what was saved. Try: save the trial as JSON, then reload.".into());
                }
            }
        }
    }
    WAITING.with(|w| {
        let mut waiting = w.borrow_mut();
        records.iter().for_each(|r| drop(waiting.remove(r.id())));
    });
    Ok(texts)
}

/// A trial's force.
///
/// # Errors
/// When the store does not open, or the force there is not the trial's.
pub async fn window(id: &str, head: &WindowHead) -> Result<Recording, String> {
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

/// Erases records and their force; a tombstone stays of each.
///
/// # Errors
/// When the store does not open or the browser gives up; then none is erased.
pub async fn erase(ids: &[String]) -> Result<(), String> {
    WAITING.with(|w| ids.iter().for_each(|id| drop(w.borrow_mut().remove(id))));
    let today = String::from(js_sys::Date::new_0().to_iso_string());
    let day = Date::parse(&today).ok_or("the clock of this computer cannot be read")?;
    let marks: Vec<String> = ids.iter().map(|id| mark(id)).collect();
    let writing = transaction(&[TRIALS, BOOK, SAMPLES, DIRTY, GRAVES], true).await?;
    let keys: Vec<&str> = ids.iter().map(String::as_str).collect();
    let mut saves: BTreeMap<usize, u64> = BTreeMap::new();
    for name in [TRIALS, BOOK] {
        for (at, stored) in get_each(&store(&writing, name)?, &keys).await?.into_iter().enumerate() {
            if let Some(stored) = stored {
                let envelope = stored.as_string().and_then(|t| serde_json::from_str::<Envelope>(&t).ok());
                saves.insert(at, envelope.map_or(0, |e| e.rev));
            }
        }
    }
    let graves = store(&writing, GRAVES)?;
    for (at, (id, mark)) in ids.iter().zip(&marks).enumerate() {
        for name in [TRIALS, BOOK, SAMPLES] {
            delete(&store(&writing, name)?, id)?;
        }
        if let Some(rev) = saves.get(&at) {
            put(&graves, mark, &Tombstone { day, rev: *rev }.to_text().into())?;
        }
        // The table still has its row until it is brought up to date.
        put(&store(&writing, DIRTY)?, id, &0.0.into())?;
    }
    commit(writing).await
}
