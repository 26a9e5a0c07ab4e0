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
        Some("rehearse") => rehearse().await,
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
    /// Bytes asked for in slices, and bytes given.
    asked: f64,
    given: f64,
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

fn method(of: &JsValue, name: &str) -> Option<Function> {
    Reflect::get(of, &name.into()).ok()?.dyn_into().ok()
}

impl Bytes {
    fn of(file: &File) -> Option<Self> {
        let named = |name: &str, value: JsValue| {
            let object = Object::new();
            Reflect::set(&object, &name.into(), &value).ok().map(|_| object)
        };
        let stream = method(file, "stream")?.call0(file).ok()?;
        let reader = method(&stream, "getReader")?.call1(&stream, &named("mode", "byob".into())?.into()).ok()?;
        Some(Self { read: method(&reader, "read")?, reader, whole: named("min", PIECE.into())? })
    }
    fn ask(&self, spare: Option<ArrayBuffer>) -> Result<JsFuture, JsValue> {
        let empty = spare.map_or_else(|| Uint8Array::new_with_length(PIECE as u32), |spare| Uint8Array::new(&spare));
        Ok(JsFuture::from(self.read.call2(&self.reader, &empty, &self.whole)?.dyn_into::<Promise>()?))
    }
}

impl Drop for Bytes {
    fn drop(&mut self) {
        // Else the file stays open until the browser collects its garbage. What comes of it is nobody's business any more.
        let left = method(&self.reader, "cancel").and_then(|cancel| cancel.call0(&self.reader).ok());
        if let Some(left) = left.and_then(|left| left.dyn_into::<Promise>().ok()) {
            wasm_bindgen_futures::spawn_local(async { drop(JsFuture::from(left).await) });
        }
    }
}

impl<'a> Pieces<'a> {
    fn of(file: &'a File) -> Result<Self, JsValue> {
        let stream = if file.size() < LARGE { None } else { Bytes::of(file) };
        let (coming, held, spare) = (VecDeque::with_capacity(AHEAD), Vec::new(), Vec::new());
        let mut pieces = Self { file, stream, asked: 0.0, given: 0.0, coming, held, came: None, spare };
        (0..AHEAD).try_for_each(|_| pieces.ask())?;
        Ok(pieces)
    }
    fn ask(&mut self) -> Result<(), JsValue> {
        if let Some(came) = self.came.take() {
            self.keep(came);
        }
        if let Some(stream) = &self.stream {
            self.coming.push_back(stream.ask(self.spare.pop())?);
            return Ok(());
        }
        let from = self.asked;
        self.asked = (from + PIECE).min(self.file.size());
        if self.asked > from {
            self.coming.push_back(self.file.slice_with_f64_and_f64(from, self.asked)?.array_buffer().into());
        }
        Ok(())
    }
    /// Keeps a buffer for a piece to come, or gives its bytes back now, where the browser can (`ArrayBuffer.prototype.transfer`):
    /// until it collects its garbage, a hundred megabytes may have gone by.
    fn keep(&mut self, buffer: ArrayBuffer) {
        if self.stream.is_some() && f64::from(buffer.byte_length()) == PIECE {
            self.spare.push(buffer);
        } else if let Some(transfer) = method(&buffer, "transfer") {
            let _ = transfer.call1(&buffer, &0.into());
        }
    }
    async fn next(&mut self) -> Result<Option<&[u8]>, JsValue> {
        let Some(coming) = self.coming.pop_front() else {
            // A stream that only ends would pass the rest of a file off as never there.
            return if self.given < self.file.size() { Err("it ended before its size".into()) } else { Ok(None) };
        };
        let mut came = coming.await?;
        if self.stream.is_some() {
            let ends = Reflect::get(&came, &"done".into())?.is_truthy();
            let view = Reflect::get(&came, &"value".into())?.dyn_into::<Uint8Array>().unwrap_or_default();
            let short = f64::from(view.length()) < PIECE;
            came = if short { view.slice(0, view.length()).buffer() } else { view.buffer() }.into();
            if ends || short {
                // The last one; or the browser knows no least, and slices are the better way there.
                self.asked = self.given + f64::from(view.length());
                (self.stream, self.coming) = (None, VecDeque::new());
                self.spare.clear();
                self.ask()?;
            }
        }
        self.ask()?;
        let piece = Uint8Array::new(&came);
        self.given += f64::from(piece.length());
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

/// From this size on, bytes, a worker beside this one hashes the file (hashing in WebAssembly takes longer than reading) and then
/// reads trials with it, and the file comes as a stream.
const LARGE: f64 = 8e6;

/// Reads and analyses a file, and gives what it finds.
async fn read(key: &JsValue, file: &File, options: &Options) -> Result<(), JsValue> {
    let mut beside = if file.size() < LARGE { None } else { beside::start(options) };
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
        if let Some(beside) = beside.as_mut().filter(|beside| beside.works())
            && let Some(came) = pieces.came.take()
        {
            beside.hash(&came).await.into_iter().for_each(|back| pieces.keep(back));
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
