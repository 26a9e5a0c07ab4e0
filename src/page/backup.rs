//! Backups written and read piece by piece. Nothing is held whole but the file that the browser keeps.
use super::app::{dispatch, with_state};
use super::database::{BOOK, DIRTY, GRAVES, SAMPLES, TRIALS, batch, commit, delete, get_each, keys, put, store, transaction};
use super::saving::tombstones;
use super::store::store_of;
use super::{files, means, words};
use crate::records::backup::{FORMAT, FRAME_BYTES, Found, Header, Item, Lock, Reader, Store, Writer, items, put_item};
use crate::records::merge::{Fate, Graves, compare as fate, gather, take_theirs, what};
use crate::records::tombstone::{Tombstone, Tombstones, mark};
use crate::records::{Envelope, SCHEMA, decode, hex};
use crate::screen::Event;
use crate::screen::storage::{Choices, Compared, Progress};
use js_sys::{Reflect, Uint8Array};
use std::collections::{BTreeMap, BTreeSet};
use wasm_bindgen::prelude::*;
use web_sys::{Blob, File, ReadableStreamDefaultReader};

/// Rounds of key making [the 2023 advice of the Open Worldwide Application Security Project for PBKDF2-HMAC-SHA-256].
const ROUNDS: u32 = 600_000;
/// Most rounds that a file may ask for.
const MOST_ROUNDS: u32 = 10_000_000;

/// A file that grows: pieces are handed to the browser as they come.
pub struct Growing {
    whole: Option<Blob>,
    pieces: js_sys::Array,
    bytes: usize,
}

impl Growing {
    /// Nothing yet.
    pub fn new() -> Self {
        Self { whole: None, pieces: js_sys::Array::new(), bytes: 0 }
    }
    /// The next piece.
    ///
    /// # Errors
    /// When the browser has no room for the file so far.
    pub fn push(&mut self, bytes: &[u8]) -> Result<(), String> {
        self.pieces.push(&Uint8Array::from(bytes));
        self.bytes += bytes.len();
        if self.bytes > 8 << 20 { self.fold() } else { Ok(()) }
    }
    fn fold(&mut self) -> Result<(), String> {
        let all = js_sys::Array::new();
        if let Some(whole) = &self.whole {
            all.push(whole);
        }
        let all = all.concat(&self.pieces);
        self.whole = Some(Blob::new_with_blob_sequence(&all).map_err(|e| words(&e))?);
        self.pieces = js_sys::Array::new();
        self.bytes = 0;
        Ok(())
    }
    /// The whole file.
    ///
    /// # Errors
    /// When the browser has no room for the file.
    pub fn finish(mut self) -> Result<Blob, String> {
        self.fold()?;
        self.whole.ok_or_else(|| "no file was made".into())
    }
}

fn nonce(lock: &Lock, frame: u64) -> Vec<u8> {
    let mut nonce = unhex(&lock.nonce);
    nonce.extend(frame.to_be_bytes());
    nonce
}

fn unhex(text: &str) -> Vec<u8> {
    text.as_bytes().chunks(2).filter_map(|pair| u8::from_str_radix(core::str::from_utf8(pair).ok()?, 16).ok()).collect()
}

/// Writes a backup and hands it over.
///
/// # Errors
/// In words.
pub async fn write(name: &str, passphrase: &str) -> Result<String, String> {
    let mut locked: Option<(Lock, JsValue)> = None;
    if !passphrase.is_empty() {
        let (salt, nonce) = (means::random(16).await?, means::random(4).await?);
        let key = means::key(passphrase, &salt, ROUNDS).await?;
        let lock = Lock {
            kdf: "PBKDF2-HMAC-SHA-256".into(),
            iterations: ROUNDS,
            salt: hex(&salt),
            cipher: "AES-256-GCM".into(),
            nonce: hex(&nonce),
        };
        locked = Some((lock, key));
    }
    let mut writer = Writer::default();
    let mut file = Growing::new();
    let header = Header { format: FORMAT, schema: SCHEMA, lock: locked.as_ref().map(|(lock, _)| lock.clone()) };
    file.push(&writer.begin(&header))?;
    let (mut payload, mut in_frame, mut records) = (Vec::new(), 0_u64, 0_usize);
    for (name, kind) in [(GRAVES, Store::Tombstone), (BOOK, Store::Record), (TRIALS, Store::Record), (SAMPLES, Store::Samples)] {
        let mut after: Option<String> = None;
        loop {
            let entries = batch(name, after.as_deref(), 40).await?;
            let Some((last, _)) = entries.last() else { break };
            after = Some(last.clone());
            for (key, value) in &entries {
                let bytes = match kind {
                    Store::Tombstone | Store::Record => value.as_string().unwrap_or_default().into_bytes(),
                    Store::Samples => value.dyn_ref::<Uint8Array>().map(Uint8Array::to_vec).unwrap_or_default(),
                };
                records += usize::from(kind == Store::Record);
                put_item(&mut payload, kind, key, &bytes);
                in_frame += 1;
                if payload.len() >= FRAME_BYTES {
                    close_frame(&mut writer, &mut file, &mut payload, &mut in_frame, locked.as_ref()).await?;
                }
            }
            dispatch(Event::Storage(Progress::Busy(format!("Writing the backup: {records} records …"))));
        }
    }
    if in_frame > 0 {
        close_frame(&mut writer, &mut file, &mut payload, &mut in_frame, locked.as_ref()).await?;
    }
    file.push(&writer.end())?;
    let blob = file.finish()?;
    let megabytes = with_state(|s| s.locale.fixed(blob.size() / 1e6, 1)).unwrap_or_default();
    files::hand_over(name, &blob).map_err(|e| words(&e))?;
    Ok(format!("The backup {name} holds {records} records ({megabytes} MB). Keep it on another disk than this one."))
}

async fn close_frame(
    writer: &mut Writer,
    file: &mut Growing,
    payload: &mut Vec<u8>,
    count: &mut u64,
    locked: Option<&(Lock, JsValue)>,
) -> Result<(), String> {
    let bytes = match locked {
        Some((lock, key)) => means::seal(key, &nonce(lock, writer.next_frame()), payload, true).await?,
        None => std::mem::take(payload),
    };
    file.push(&writer.data(&bytes, *count))?;
    payload.clear();
    *count = 0;
    Ok(())
}

/// Reads a backup's items, frame by frame.
struct Incoming {
    stream: ReadableStreamDefaultReader,
    reader: Reader,
    waiting: std::collections::VecDeque<Found>,
    passphrase: String,
    lock: Option<(Lock, JsValue)>,
    read: f64,
    size: f64,
}

impl Incoming {
    fn new(file: &File, passphrase: &str) -> Self {
        Self {
            stream: file.stream().get_reader().unchecked_into(),
            reader: Reader::default(),
            waiting: std::collections::VecDeque::new(),
            passphrase: passphrase.to_owned(),
            lock: None,
            read: 0.0,
            size: file.size(),
        }
    }
    /// The items of the next frame; none at the end.
    async fn next(&mut self) -> Result<Option<Vec<Item>>, String> {
        loop {
            match self.waiting.pop_front() {
                Some(Found::Header(header)) => self.unlock(header.lock).await?,
                Some(Found::Data(frame, payload)) => {
                    let payload = match &self.lock {
                        Some((lock, key)) => {
                            let opened = means::seal(key, &nonce(lock, frame), &payload, false).await;
                            opened.map_err(|_| "The passphrase does not open this backup. Nothing was changed.".to_owned())?
                        }
                        None => payload,
                    };
                    return items(&payload).map(Some).ok_or_else(|| "This backup is damaged inside. Try: another copy of the file.".into());
                }
                Some(Found::End) => {}
                None => {
                    let piece = wasm_bindgen_futures::JsFuture::from(self.stream.read()).await.map_err(|e| words(&e))?;
                    if Reflect::get(&piece, &"done".into()).is_ok_and(|d| d.is_truthy()) {
                        self.reader.finish().map_err(|e| e.to_string())?;
                        return Ok(None);
                    }
                    let bytes = Reflect::get(&piece, &"value".into()).and_then(|v| v.dyn_into::<Uint8Array>()).map_err(|e| words(&e))?;
                    self.read += f64::from(bytes.length());
                    self.waiting.extend(self.reader.feed(&bytes.to_vec()).map_err(|e| e.to_string())?);
                }
            }
        }
    }
    async fn unlock(&mut self, lock: Option<Lock>) -> Result<(), String> {
        let Some(lock) = lock else { return Ok(()) };
        if lock.kdf != "PBKDF2-HMAC-SHA-256" || lock.cipher != "AES-256-GCM" || lock.iterations > MOST_ROUNDS {
            return Err("This backup is locked in a way that this version does not know. Try: reload the page while online.".into());
        }
        if self.passphrase.is_empty() {
            return Err("This backup is locked. Type its passphrase, then compare again.".into());
        }
        let key = means::key(&self.passphrase, &unhex(&lock.salt), lock.iterations).await?;
        self.lock = Some((lock, key));
        Ok(())
    }
    fn tell(&self, what: &str) {
        let percent = if self.size > 0.0 { (100.0 * self.read / self.size).round() } else { 0.0 };
        dispatch(Event::Storage(Progress::Busy(format!("{what}: {percent} % read …"))));
    }
}

/// The store that holds a record's text, by what the text says; what cannot be read goes with the trials.
fn home(text: &str) -> &'static str {
    serde_json::from_str::<Envelope>(text).map_or(TRIALS, |e| store_of(&e.kind))
}

/// What is stored under the keys of some incoming records.
async fn stored(texts: &[(String, String)]) -> Result<Vec<Option<String>>, String> {
    let reading = transaction(&[TRIALS, BOOK], false).await?;
    let keys: Vec<&str> = texts.iter().map(|(key, _)| key.as_str()).collect();
    let trials = get_each(&store(&reading, TRIALS)?, &keys).await?;
    let book = get_each(&store(&reading, BOOK)?, &keys).await?;
    let text = |value: Option<JsValue>| value.and_then(|v| v.as_string());
    Ok(trials.into_iter().zip(book).map(|(t, b)| text(t).or_else(|| text(b))).collect())
}

fn record_texts(items: &[Item]) -> Vec<(String, String)> {
    let records = items.iter().filter(|i| i.store == Store::Record);
    records.map(|i| (i.key.clone(), String::from_utf8_lossy(&i.value).into_owned())).collect()
}

/// The tombstones of a frame, by mark.
fn tombstones_in(items: &[Item]) -> Vec<(&str, Tombstone)> {
    let stones = items.iter().filter(|i| i.store == Store::Tombstone);
    stones.filter_map(|i| Some((i.key.as_str(), Tombstone::of_text(core::str::from_utf8(&i.value).ok()?)?))).collect()
}

/// The keys of everything here, by the mark that would stay of them; made once, and only for a file that has tombstones.
struct Living(Option<BTreeMap<String, String>>);

impl Living {
    async fn at(&mut self, mark_of: &str) -> Result<Option<String>, String> {
        if self.0.is_none() {
            let all = keys(BOOK).await?.into_iter().chain(keys(TRIALS).await?);
            self.0 = Some(all.map(|id| (mark(&id), id)).collect());
        }
        Ok(self.0.as_ref().and_then(|all| all.get(mark_of).cloned()))
    }
}

/// Compares a backup with what is here; changes nothing.
///
/// # Errors
/// In words.
pub async fn compare(file: &File, passphrase: &str) -> Result<Event, String> {
    let mut incoming = Incoming::new(file, passphrase);
    let (stones, nobody) = (tombstones().await?, BTreeSet::new());
    let graves = Graves { stones: &stones, back: &nobody };
    let (mut found, mut living) = (Compared::default(), Living(None));
    while let Some(items) = incoming.next().await? {
        let texts = record_texts(&items);
        for ((key, theirs), mine) in texts.iter().zip(stored(&texts).await?) {
            match fate(key, mine.as_deref(), theirs, graves) {
                Fate::New(_) => found.new += 1,
                Fate::Same => found.same += 1,
                Fate::Differs(conflict) => found.conflicts.push(*conflict),
                Fate::Erased(erased) => gather(&mut found.erased, *erased),
                Fate::LeftOut(why) => found.left_out.push(why),
            }
        }
        for (mark, stone) in tombstones_in(&items) {
            if let Some(id) = living.at(mark).await? {
                let here = stored(&[(id, String::new())]).await?.pop().flatten();
                // Trials go with their athlete: naming each would hide him.
                if let Some(record) = here.and_then(|t| decode(&t).ok()).filter(|r| r.athlete_id().is_none()) {
                    found.erased_there.push((what(&record), stone.day));
                }
            }
        }
        incoming.tell("Comparing");
    }
    Ok(Event::Compared(Box::new(found)))
}

/// Takes a backup in: what is new, and what the reader chose among the conflicts and the erased. One transaction a frame.
///
/// # Errors
/// In words; what was taken before stays, and taking the file in again goes on from there.
pub async fn merge(file: &File, passphrase: &str, choices: &Choices) -> Result<String, String> {
    let mut incoming = Incoming::new(file, passphrase);
    let stones: Tombstones = tombstones().await?;
    let graves = Graves { stones: &stones, back: &choices.back };
    let (mut new, mut replaced, mut living) = (0, 0, Living(None));
    let (mut theirs_force, mut erased, mut unreadable) = (BTreeSet::new(), BTreeSet::new(), BTreeSet::new());
    while let Some(items) = incoming.next().await? {
        let texts = record_texts(&items);
        let mut puts: Vec<(String, String)> = Vec::new();
        for ((key, theirs), mine) in texts.iter().zip(stored(&texts).await?) {
            match fate(key, mine.as_deref(), theirs, graves) {
                Fate::New(text) => {
                    new += 1;
                    theirs_force.insert(key.clone());
                    puts.push((key.clone(), text));
                }
                Fate::Differs(_) if choices.theirs.contains(key) => {
                    let rev = mine.and_then(|m| serde_json::from_str::<Envelope>(&m).ok()).map_or(0, |e| e.rev);
                    replaced += 1;
                    theirs_force.insert(key.clone());
                    puts.push((key.clone(), take_theirs(theirs, rev, graves).map_err(|e| e.to_string())?));
                }
                Fate::Erased(_) => drop(erased.insert(key.clone())),
                Fate::LeftOut(_) if mine.is_none() => drop(unreadable.insert(key.clone())),
                Fate::Same | Fate::Differs(_) | Fate::LeftOut(_) => {}
            }
        }
        let mut buried = Vec::new();
        for (mark, stone) in tombstones_in(&items) {
            // What is here lives on, and the tombstones here are the ones that count.
            if !stones.0.contains_key(mark) && living.at(mark).await?.is_none() {
                buried.push((mark, stone));
            }
        }
        let force: Vec<&Item> =
            items.iter().filter(|i| i.store == Store::Samples && !erased.contains(&i.key) && !unreadable.contains(&i.key)).collect();
        let writing = transaction(&[TRIALS, BOOK, SAMPLES, DIRTY, GRAVES], true).await?;
        let (samples, all_graves) = (store(&writing, SAMPLES)?, store(&writing, GRAVES)?);
        let force_keys: Vec<&str> = force.iter().map(|i| i.key.as_str()).collect();
        let force_here = get_each(&samples, &force_keys).await?;
        for (mark, stone) in buried {
            put(&all_graves, mark, &stone.to_text().into())?;
        }
        for (key, text) in &puts {
            let home = home(text);
            put(&store(&writing, home)?, key, &text.as_str().into())?;
            delete(&all_graves, &mark(key))?;
            if home == TRIALS {
                put(&store(&writing, DIRTY)?, key, &1.0.into())?;
            }
        }
        for (item, here) in force.iter().zip(force_here) {
            if here.is_none() || theirs_force.contains(&item.key) {
                put(&samples, &item.key, &Uint8Array::from(item.value.as_slice()))?;
            }
        }
        commit(writing).await?;
        incoming.tell("Taking it in");
    }
    let left = match erased.len() {
        0 => String::new(),
        1 => " One record that was erased here stays out.".into(),
        n => format!(" {n} records that were erased here stay out."),
    };
    let damaged = match unreadable.len() {
        0 => String::new(),
        1 => " One record of the file is damaged and was left out.".into(),
        n => format!(" {n} records of the file are damaged and were left out."),
    };
    Ok(format!("Taken in: {new} new records, {replaced} replaced by the file’s version. Everything else is as it was.{left}{damaged}"))
}
