//! The worker's side: reads one file as a stream, analyses it, and posts the answer with each trial's window.
//! Messages are arrays: a word, the file's key, and what belongs to it. Cancelling ends the whole worker.
use super::beside;
use super::rehearsal::rehearse;
use super::words;
use crate::answer::{FileAnswer, Options, Stream, hex};
use crate::invented::{demo_day_count, demo_days};
use crate::people::Date;
use crate::recording::{ReadError, Recording, explain, needs_all};
use crate::records::WindowHead;
use js_sys::{Array, ArrayBuffer, Function, Object, Promise, Reflect, Uint8Array};
use sha2::{Digest, Sha256};
use std::cell::{Cell, RefCell};
use std::collections::VecDeque;
use std::pin::Pin;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;
use web_sys::{DedicatedWorkerGlobalScope, File, MessageEvent};

thread_local! {
    static SCOPE: RefCell<Option<DedicatedWorkerGlobalScope>> = const { RefCell::new(None) };
    /// Whether there is something to do: rehearsing is over then.
    static WANTED: Cell<bool> = const { Cell::new(false) };
}

/// Whether something was asked for that is no rehearsal.
pub(super) fn wanted() -> bool {
    WANTED.get()
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

pub(super) fn post(message: &JsValue) {
    SCOPE.with(|scope| {
        if let Some(scope) = scope.borrow().as_ref() {
            // A message that cannot be copied is a fault of this file, and the page hears of it as silence.
            let _ = scope.post_message(message);
        }
    });
}

async fn take(message: Array) {
    let key = message.get(1);
    let word = message.get(0).as_string();
    WANTED.set(word.as_deref() != Some("rehearse"));
    match word.as_deref() {
        Some("file") => {
            let Ok(file) = message.get(2).dyn_into::<File>() else { return };
            let options = message.get(3).as_string().and_then(|o| serde_json::from_str(&o).ok()).unwrap_or_default();
            if let Err(error) = read(&key, &file, &options).await {
                post(&Array::of3(&"unreadable".into(), &key, &words(&error).into()));
            }
        }
        Some("rehearse") => rehearse(key.is_truthy()).await,
        Some(word @ ("with" | "hash" | "sum" | "window")) => beside::serve(word, &message),
        Some(other) => take_rarer(other.to_owned(), key, message).await,
        None => {}
    }
}

/// Behind a pointer, so that its code is not made part of what waits for it: a first visit does without (`site/rooms`).
fn take_rarer(word: String, key: JsValue, message: Array) -> Pin<Box<dyn Future<Output = ()>>> {
    Box::pin(rarer(word, key, message))
}

async fn rarer(word: String, key: JsValue, message: Array) {
    match word.as_str() {
        "look" => {
            let Ok(file) = message.get(2).dyn_into::<File>() else { return };
            let options: Options = message.get(3).as_string().and_then(|o| serde_json::from_str(&o).ok()).unwrap_or_default();
            let looked = match head(&file).await {
                Ok((bytes, whole)) => explain(&bytes, whole, &options.reading()),
                Err(error) => Err(ReadError::new("not_given", words(&error), "Drop the file again.")),
            };
            let text = serde_json::to_string(&looked).unwrap_or_default();
            post(&Array::of3(&"looked".into(), &key, &text.into()));
        }
        "demo" => {
            let today = Date(message.get(2).as_f64().unwrap_or(0.0) as i32);
            for (i, demo) in demo_days(today).enumerate() {
                post(&Array::of3(&"progress".into(), &key, &(i as f64 / demo_day_count() as f64).into()));
                let mut stream = Stream::new(&demo.name, &demo.options);
                stream.feed(demo.text.as_bytes());
                let answer = give_trials(&key, stream);
                give(&key, &answer, Some(&demo.athlete));
            }
            post(&Array::of2(&"demo-done".into(), &key));
        }
        _ => {}
    }
}

/// Bytes of a file, piece by piece; the next pieces are on their way while one is used, and few are ever held.
struct Pieces<'a> {
    file: &'a File,
    /// Reads into memory of ours, where the browser can: half the work of slices, each of which it opens the file for.
    stream: Option<Bytes>,
    asked: f64,
    coming: VecDeque<JsFuture>,
    held: Vec<u8>,
    /// The last piece as it came.
    came: Option<ArrayBuffer>,
    /// What a piece came in and nobody needs any more: the next may.
    spare: Vec<ArrayBuffer>,
}

/// Bytes a piece.
const PIECE: f64 = 2_097_152.0;
/// Pieces on their way: reading one takes the browser about as long as this worker needs for it, but not evenly.
const AHEAD: usize = 2;

/// A file's own stream of bytes.
struct Bytes {
    reader: JsValue,
    read: Function,
    /// No less than a piece at a time.
    whole: Object,
}

impl Bytes {
    fn of(file: &File) -> Option<Self> {
        let get = |from: &JsValue, name: &str| Reflect::get(from, &name.into()).ok()?.dyn_into::<Function>().ok();
        let named = |name: &str, value: JsValue| {
            let object = Object::new();
            Reflect::set(&object, &name.into(), &value).ok().map(|_| object)
        };
        let stream = get(file, "stream")?.call0(file).ok()?;
        let reader = get(&stream, "getReader")?.call1(&stream, &named("mode", "byob".into())?.into()).ok()?;
        Some(Self { read: get(&reader, "read")?, reader, whole: named("min", PIECE.into())? })
    }
    fn ask(&self, spare: Option<ArrayBuffer>) -> Result<JsFuture, JsValue> {
        let spare = spare.filter(|spare| f64::from(spare.byte_length()) == PIECE);
        let empty = spare.map_or_else(|| Uint8Array::new_with_length(PIECE as u32), |spare| Uint8Array::new(&spare));
        Ok(JsFuture::from(self.read.call2(&self.reader, &empty, &self.whole)?.dyn_into::<Promise>()?))
    }
}

impl<'a> Pieces<'a> {
    fn of(file: &'a File) -> Result<Self, JsValue> {
        let stream = if file.size() < SHARED { None } else { Bytes::of(file) };
        let mut pieces =
            Self { file, stream, asked: 0.0, coming: VecDeque::with_capacity(AHEAD), held: Vec::new(), came: None, spare: Vec::new() };
        (0..AHEAD).try_for_each(|_| pieces.ask())?;
        Ok(pieces)
    }
    fn ask(&mut self) -> Result<(), JsValue> {
        if let Some(stream) = &self.stream {
            let spare = self.came.take().or_else(|| self.spare.pop());
            self.coming.push_back(stream.ask(spare)?);
            return Ok(());
        }
        let from = self.asked;
        self.asked = (from + PIECE).min(self.file.size());
        if self.asked > from {
            self.coming.push_back(self.file.slice_with_f64_and_f64(from, self.asked)?.array_buffer().into());
        }
        Ok(())
    }
    async fn next(&mut self) -> Result<Option<&[u8]>, JsValue> {
        let Some(coming) = self.coming.pop_front() else { return Ok(None) };
        let mut came = coming.await?;
        let mut ends = false;
        if self.stream.is_some() {
            ends = Reflect::get(&came, &"done".into())?.is_truthy();
            let view = Reflect::get(&came, &"value".into())?.dyn_into::<Uint8Array>().unwrap_or_default();
            if ends && view.length() == 0 {
                return Ok(None);
            }
            let buffer = view.buffer();
            came = if view.length() == buffer.byte_length() {
                buffer
            } else {
                // The last one; of browsers that know no least, every one.
                self.spare.push(buffer);
                view.slice(0, view.length()).buffer()
            }
            .into();
        }
        if ends {
            self.coming.clear();
        } else {
            self.ask()?;
        }
        let piece = Uint8Array::new(&came);
        self.held.resize(piece.length() as usize, 0);
        piece.copy_to(&mut self.held);
        self.came = came.dyn_into().ok();
        Ok(Some(&self.held))
    }
}

/// A file's first megabyte, or all of one that must be seen whole; and whether that is all there is.
async fn head(file: &File) -> Result<(Vec<u8>, bool), JsValue> {
    const FIRST: usize = 1 << 20;
    let mut pieces = Pieces::of(file)?;
    let mut bytes = Vec::new();
    while let Some(piece) = pieces.next().await? {
        bytes.extend_from_slice(piece);
        if bytes.len() > FIRST && !needs_all(&bytes) {
            bytes.truncate(FIRST);
            return Ok((bytes, false));
        }
    }
    Ok((bytes, true))
}

/// From this size on a worker beside this one hashes the file, bytes (hashing in WebAssembly takes longer than reading), and
/// then reads trials with it.
const SHARED: f64 = 8e6;

/// Reads and analyses a file, and gives what it finds.
async fn read(key: &JsValue, file: &File, options: &Options) -> Result<(), JsValue> {
    let mut beside = if file.size() < SHARED { None } else { beside::start(options) };
    let new = if beside.is_some() { Stream::unhashed } else { Stream::new };
    let mut stream = new(&file.name(), options);
    stream.expect(file.size());
    let mut pieces = Pieces::of(file)?;
    let (mut bytes, mut told) = (0.0, 0.0);
    while let Some(piece) = pieces.next().await? {
        stream.feed(piece);
        bytes += piece.len() as f64;
        // Each is drawn: of a large file a dozen are enough.
        if told == 0.0 || bytes - told > file.size() / 12.0 {
            told = bytes;
            post(&Array::of3(&"progress".into(), key, &bytes.into()));
        }
        if let (Some(beside), Some(came)) = (&mut beside, pieces.came.take()) {
            pieces.spare.extend(beside.hash(&came).await);
        }
    }
    drop(pieces);
    let mut answer = match beside {
        Some(beside) => beside.share(key, stream.unread(), options).await,
        None => give_trials(key, stream),
    };
    if answer.sha256.is_empty() {
        // The other worker has failed.
        answer.sha256 = hash(file).await?;
    }
    give(key, &answer, None);
    Ok(())
}

/// SHA-256 of a file.
async fn hash(file: &File) -> Result<String, JsValue> {
    let mut sha = Sha256::new();
    let mut pieces = Pieces::of(file)?;
    while let Some(piece) = pieces.next().await? {
        sha.update(piece);
    }
    Ok(hex(&sha.finalize()))
}

/// Posts each trial by itself, as soon as it is read.
fn give_trials(key: &JsValue, stream: Stream) -> FileAnswer {
    stream.finish_each(&mut |trial, window| Packed::of(&window).give(key, &serde_json::to_string(&trial).unwrap_or_default()))
}

/// A window as the page keeps it.
pub(super) struct Packed {
    pub head: JsValue,
    pub force: Uint8Array,
}

impl Packed {
    pub(super) fn of(window: &Recording) -> Self {
        let (head, force) = WindowHead::packed(window);
        Self { head: serde_json::to_string(&head).unwrap_or_default().into(), force: Uint8Array::from(force.as_slice()) }
    }
    /// Gives the page its trial with it, the force moved and not copied: the page takes each in in a task of its own, and neither
    /// side holds all of them twice.
    pub(super) fn give(self, key: &JsValue, trial: &str) {
        post_moved(&Array::of5(&"trial".into(), key, &trial.into(), &self.head, &self.force), &self.force.buffer());
    }
}

pub(super) fn post_moved(message: &JsValue, moved: &JsValue) {
    SCOPE.with(|scope| {
        if let Some(scope) = scope.borrow().as_ref() {
            let _ = scope.post_message_with_transfer(message, &Array::of1(moved));
        }
    });
}

/// Posts the rest of an answer.
fn give(key: &JsValue, answer: &FileAnswer, athlete: Option<&str>) {
    let answer = serde_json::to_string(answer).unwrap_or_default();
    let message = Array::of4(&"analysed".into(), key, &answer.into(), &athlete.map_or(JsValue::NULL, JsValue::from));
    message.push(&memory_bytes().into());
    post(&message);
}

/// How much this worker's module holds; it never gives any back.
fn memory_bytes() -> f64 {
    let memory = wasm_bindgen::memory().unchecked_into::<js_sys::WebAssembly::Memory>();
    f64::from(memory.buffer().unchecked_into::<js_sys::ArrayBuffer>().byte_length())
}
